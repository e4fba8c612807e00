/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which loads of a stack are solved for its table. */
#include "lift/lift_internal.h"

#include <math.h>

/* Ratio of neighbouring loads on a smooth stack. [-] The curve between them is good to 1e-4. */
static const double RATIO = 2.6;
static const double RATIO_COARSE = 4.0;
/* Lift of the first load: membrane tension can be felt there. [-] of the stack's effective thickness */
static const double FIRST_LIFT = 0.4;
/* Where a kink comes before the first load, the load is reduced by this factor until the start interval is accepted, or
   no opening matters. [-] */
static const double FIRST_REDUCTION = 0.35;
/* A gap wider than this multiple of the first lift does not close by then. [-] */
static const double WIDE_GAP = 4;
/* Tolerance within which the start interval is accepted: rise predicted from the point above against solved rise. [-]
   of the rise */
static const double START_RISE_TOLERANCE = 3e-4;
/* The same for the power. [-] */
static const double START_POWER_TOLERANCE = 2e-3;
/* Lift at which membrane tension carries as much as bending. [-] of the effective thickness */
static const double EVEN_LIFT = 2.4;
enum {
    YIELD_HALVINGS = 30, /* of an interval: 1e-9 of it */
    POINTS_MAX = 2000    /* in a table                 */
};

/* ---- yield ------------------------------------------------------------------------------------------------------- */

/* Pressure in the interval below point i at which a disc's stress passes its yield, which it has passed at point i. */
static double yield_pressure(const kp_lift_table *t, size_t i, size_t disc)
{
    double low = i > 0 ? t->node[i - 1].pressure : 0, high = t->node[i].pressure;

    for (int halving = 0; i > 0 && halving < YIELD_HALVINGS; halving++) {
        double slope, middle = 0.5 * (low + high);
        double rise = kp_lift_rise(t, i - 1, middle, &slope);
        bool yields = kp_lift_quantity_at(t, i - 1, 1 + disc, middle, rise) > t->build.yield[disc];
        low = yields ? low : middle;
        high = yields ? middle : high;
    }

    return high;
}

/* Lowest pressure at which some disc's stress passes its yield: below the first point at which one does. */
static void find_yield(kp_lift_table *t)
{
    t->yields_from = INFINITY;

    for (size_t i = 0; i < t->count && !isfinite(t->yields_from); i++) {
        for (size_t disc = 0; disc < t->disc_count; disc++) {
            if (kp_lift_row(t, i)[1 + disc].value <= t->build.yield[disc]) {
                continue;
            }

            double pressure = yield_pressure(t, i, disc);
            if (pressure < t->yields_from) {
                t->yields_from = pressure;
                t->yielding_disc = disc;
            }
        }
    }
}

/* ---- upward from the first points -------------------------------------------------------------------------------- */

static double ratio(const kp_lift_table *t)
{
    return t->coarse ? RATIO_COARSE : RATIO;
}

/* Splits intervals until all are verified. */
static kp_status verify_all(kp_lift_table *t, kp_error *error)
{
    kp_lift_build *b = &t->build;
    kp_status status = KP_OK;

    while (status == KP_OK && b->verified + 1 < t->count) {
        if (t->coarse || kp_lift_is_verified(t, b->verified)) {
            b->verified++;
        } else if (t->count >= POINTS_MAX) {
            status = kp_error_set(error, KP_OUT_OF_RANGE, "lift table: more than %d points up to %g MPa", POINTS_MAX,
                                  b->next_pressure / 1e6);
        } else {
            status = kp_lift_solve_free(t, b->verified + 1, kp_lift_split_pressure(t, b->verified), error);
        }
    }

    return status;
}

kp_status kp_lift_solve_to(kp_lift_table *t, double pressure_max, kp_error *error)
{
    kp_status status = verify_all(t, error);

    while (status == KP_OK && t->node[t->count - 1].pressure < pressure_max) {
        status = kp_lift_solve_free(t, t->count, t->build.next_pressure, error);
        t->build.next_pressure *= ratio(t);
        status = status == KP_OK ? verify_all(t, error) : status;
    }

    if (status == KP_OK) {
        find_yield(t);
    }
    return status;
}

/* ---- the first points -------------------------------------------------------------------------------------------- */

/* Effective thickness, with which membrane tension begins to matter: bending stiffness is proportional to the sum of
   t^3, membrane stiffness to that of t. *together: the bending stiffness of all over that of the face shim. */
static double effective_thickness(const kp_stack *s, double *together)
{
    double bending = 0, membrane = 0;

    for (size_t i = 0; i < s->disc_count; i++) {
        const kp_disc *d = &s->discs[i];
        if (d->outer_radius > s->clamp_radius) {
            bending += d->count * pow(d->thickness, 3);
            membrane += d->count * d->thickness;
        }
    }

    *together = bending / pow(s->discs[0].thickness, 3);
    return sqrt(bending / membrane);
}

/* The first reference: of all shims together, as if they were of the face shim's size. */
static kp_lift_reference stiff_reference(const kp_stack *s)
{
    const kp_disc *face = &s->discs[0];
    double together, lift = EVEN_LIFT * effective_thickness(s, &together);
    return (kp_lift_reference){.pressure = kp_lift_face_pressure(s) * together * lift / face->thickness, .lift = lift};
}

/* Whether the rise at point 1 is what the start interval from the point above predicted. */
static bool is_predicted(const kp_lift_table *t, double rise, double slope)
{
    const kp_lift_node *n = &t->node[1];
    return fabs(rise - n->rise) <= START_RISE_TOLERANCE * n->rise &&
           fabs(slope * n->pressure / n->rise - n->power) <= START_POWER_TOLERANCE;
}

/* Makes the reference that of the first point, and corrects the point to it. */
static void refer_to_first(kp_lift_table *t, double pressure)
{
    t->reference = kp_lift_reference_through(pressure, t->node[1].rise, t->node[1].power);
    kp_lift_set_correction(t, &t->node[1]);
    kp_lift_choose_interval(t, 0);
    t->build.next_pressure = pressure * ratio(t);
}

/* Adds the first point of a stack that nothing presses on its seat, and further points below it until the start
   interval is accepted. */
static kp_status add_start(kp_lift_table *t, kp_error *error)
{
    double together, lift = FIRST_LIFT * effective_thickness(kp_stack_of(t->build.workspace), &together);
    double pressure = kp_lift_reference_pressure(&t->reference, lift);

    /* No kink comes before the first load when all contacts are closed at rest, or too wide to close by then. */
    bool smooth = t->coarse || !kp_stack_has_gap_within(t->build.workspace, KP_LIFT_PRESSED, WIDE_GAP * lift);

    for (;;) {
        /* What the start interval so far predicts at this load. */
        double rise = 0, slope = 0;
        bool predicts = t->count > 1 && t->node[0].interval == KP_INTERVAL_START;
        if (predicts) {
            rise = kp_lift_rise(t, 0, pressure, &slope);
        }

        /* The point itself. The first one makes the reference. */
        kp_status status = kp_lift_solve_free(t, 1, pressure, error);
        if (status != KP_OK) {
            return status;
        }
        if (t->count == 2) {
            refer_to_first(t, pressure);
        }

        bool starts = t->node[0].interval == KP_INTERVAL_START;
        bool accepted = starts && (smooth || (predicts && is_predicted(t, rise, slope)));
        if (accepted || t->coarse || t->node[1].rise < t->build.smallest_opening) {
            t->build.verified = 1;
            return KP_OK;
        }
        pressure *= FIRST_REDUCTION;
    }
}

kp_status kp_lift_solve_first(kp_lift_table *t, kp_error *error)
{
    bool pressed = false;
    kp_lift_node rest = {.pressure = 0};
    t->reference = stiff_reference(kp_stack_of(t->build.workspace));

    /* The point at rest, and what presses the stack there. */
    kp_status status = kp_lift_insert(t, 0, &rest, error);
    status = status == KP_OK ? kp_lift_solve_rest(t, &pressed, error) : status;

    /* Upward on the seat as far as cracking, or without it from the first load. */
    if (status == KP_OK && pressed) {
        status = kp_lift_add_held(t, error);
        t->build.next_pressure = t->cracking * ratio(t);
        return status;
    }

    status = status == KP_OK ? kp_lift_find_compliance(t, error) : status;
    return status == KP_OK ? add_start(t, error) : status;
}
