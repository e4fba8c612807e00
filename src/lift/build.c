/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which loads of a stack are solved for its table. */
#include "lift/lift_internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Ratio of neighbouring loads on a smooth stack. [-] */
#define RATIO        2.6
#define RATIO_COARSE 4.0
/* The first load lifts so far that stretching is felt. [-] of the stack's thickness that counts */
#define FIRST_LIFT 0.4
/* Where a kink comes earlier, the first load goes down by this factor, until no opening is worth it. [-] */
#define FIRST_LESS 0.35
/* A gap so many times the first lift does not close by then. [-] */
#define FAR_OPEN 4
/* A start that was not certain told the rise of a lower point so well, and its power. [-] */
#define START_OFF  3e-4
#define START_BENT 2e-3
/* Lift at which stretching carries as much as bending. [-] of the thickness that counts */
#define EVEN_LIFT 2.4
enum { YIELD_HALVINGS = 30, POINTS_MOST = 2000 };

/* Lowest pressure at which some shim's stress passes its yield. */
static void find_yield(kp_lift_table *t)
{
    size_t each = kp_lift_read_count(t);
    t->yields_from = INFINITY;
    for (size_t i = 0; i < t->count && !isfinite(t->yields_from); i++) {
        for (size_t disc = 0; disc < t->disc_count; disc++) {
            if (t->reads[i * each + 1 + disc].value <= t->yield[disc]) {
                continue;
            }
            double low = i > 0 ? t->node[i - 1].pressure : 0, high = t->node[i].pressure;
            for (int halving = 0; i > 0 && halving < YIELD_HALVINGS; halving++) {
                double slope, middle = 0.5 * (low + high);
                double rise = kp_lift_rise(t, i - 1, middle, &slope);
                bool past = kp_lift_read_at(t, i - 1, 1 + disc, middle, rise) > t->yield[disc];
                low = past ? low : middle;
                high = past ? middle : high;
            }
            if (high < t->yields_from) {
                t->yields_from = high;
                t->yielding_disc = disc;
            }
        }
    }
}

/* Splits stretches until each is known to keep the bar. */
static kp_status settle(kp_lift_table *t, kp_error *error)
{
    kp_status status = KP_OK;
    while (status == KP_OK && t->settled + 1 < t->count) {
        if (t->coarse || kp_lift_is_bounded(t, t->settled)) {
            t->settled++;
        } else if (t->count >= POINTS_MOST) {
            status = kp_error_set(error, KP_OUT_OF_RANGE, "lift table: more than %d points up to %g MPa", POINTS_MOST,
                                  t->next / 1e6);
        } else {
            status = kp_lift_solve_free(t, t->settled + 1, kp_lift_split(t, t->settled), error);
        }
    }
    return status;
}

kp_status kp_lift_solve_to(kp_lift_table *t, double pressure_max, kp_error *error)
{
    kp_status status = settle(t, error);
    while (status == KP_OK && t->node[t->count - 1].pressure < pressure_max) {
        status = kp_lift_solve_free(t, t->count, t->next, error);
        t->next *= t->coarse ? RATIO_COARSE : RATIO;
        status = status == KP_OK ? settle(t, error) : status;
    }
    if (status == KP_OK) {
        find_yield(t);
    }
    return status;
}

/* Thickness that counts for where stretching begins: bending goes with the sum of t^3, stretching with that of t. */
/* together: times the face shim's bending stiffness. */
static double counting_thickness(const kp_stack *s, double *together)
{
    double bending = 0, stretching = 0;
    for (size_t i = 0; i < s->disc_count; i++) {
        const kp_disc *d = &s->discs[i];
        if (d->outer_radius > s->clamp_radius) {
            bending += d->count * pow(d->thickness, 3);
            stretching += d->count * d->thickness;
        }
    }
    *together = bending / pow(s->discs[0].thickness, 3);
    return sqrt(bending / stretching);
}

/* Of the shims laid together, were they all of the face shim's size. */
static kp_lift_reference stiff_reference(const kp_stack *s)
{
    const kp_disc *face = &s->discs[0];
    double together, lift = EVEN_LIFT * counting_thickness(s, &together);
    return (kp_lift_reference){.pressure = kp_lift_pressure_alone(s) * together * lift / face->thickness, .lift = lift};
}

/* Whether all contacts are shut at rest, or so far open that the first load does not matter to them: then the stack
   begins straight, for certain. */
static bool begins_straight(const kp_stack_workspace *ws, double lift)
{
    return !kp_stack_has_gap_within(ws, KP_LIFT_PRESSED, FAR_OPEN * lift);
}

/* Whether the start from the second point told of the first: what is not certain is looked at twice. */
static bool told(const kp_lift_table *t, double rise, double slope)
{
    const kp_lift_node *n = &t->node[1];
    return fabs(rise - n->rise) <= START_OFF * n->rise && fabs(slope * n->pressure / n->rise - n->power) <= START_BENT;
}

/* A stack that nothing presses on its seat: the first load, less where a kink comes before it. */
static kp_status add_start(kp_lift_table *t, kp_error *error)
{
    double together, lift = FIRST_LIFT * counting_thickness(kp_stack_of(t->workspace), &together);
    double pressure = kp_lift_reference_pressure(&t->reference, lift);
    bool certain = t->coarse || begins_straight(t->workspace, lift);
    for (;;) {
        double rise = 0, slope = 0;
        bool served = t->count > 1 && t->node[0].run == KP_RUN_START;
        if (served) {
            rise = kp_lift_rise(t, 0, pressure, &slope);
        }
        kp_status status = kp_lift_solve_free(t, 1, pressure, error);
        if (status != KP_OK) {
            return status;
        }
        if (t->count == 2) {
            t->reference = kp_lift_reference_through(pressure, t->node[1].rise, t->node[1].power);
            kp_lift_refer(t, &t->node[1]);
            kp_lift_choose_run(t, 0);
            t->next = pressure * (t->coarse ? RATIO_COARSE : RATIO);
        }
        bool serves = t->node[0].run == KP_RUN_START && (certain || (served && told(t, rise, slope)));
        if (serves || t->coarse || t->node[1].rise < t->worth) {
            t->settled = 1;
            return KP_OK;
        }
        pressure *= FIRST_LESS;
    }
}

kp_status kp_lift_solve_first(kp_lift_table *t, kp_error *error)
{
    bool below;
    kp_lift_node rest = {.pressure = 0};
    t->reference = stiff_reference(kp_stack_of(t->workspace));
    kp_status status = kp_lift_insert(t, 0, &rest, error);
    status = status == KP_OK ? kp_lift_look_at_rest(t, &below, error) : status;
    if (status == KP_OK && below) {
        status = kp_lift_add_held(t, error);
        t->next = t->cracking * (t->coarse ? RATIO_COARSE : RATIO);
        return status;
    }
    status = status == KP_OK ? kp_lift_find_compliance(t, error) : status;
    return status == KP_OK ? add_start(t, error) : status;
}
