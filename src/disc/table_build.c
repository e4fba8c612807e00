/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which loads of a stack are solved for its table. */
#include "stack_internal.h"
#include "table_internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Ratio of neighbouring loads on a smooth stack. [-] */
#define RATIO           2.6
#define RATIO_SCREENING 4.0
/* Hardly any load: of the pressure that bends the face shim alone. [-] */
#define HARDLY 1e-4
/* A little load lifts so far: it hardly stretches anything, and the overlap allowed for (contact.c) goes with the lift
   already, where the least share of it makes a stack that hardly lifts 0.5 % softer. [-] of the face shim's thickness
 */
#define LITTLE_LIFT  0.012
#define LITTLE_LEAST 0.002
#define LITTLE_MOST  0.04
/* What little_load() reckons with; 1 000 drawn tapers lift 0.2 to 1.2 times that. [-] */
#define TAPER_LIFT 0.5
/* The first load lifts so far that stretching is felt. [-] of the stack's thickness that counts */
#define FIRST_LIFT 0.4
/* Where a kink comes earlier, the first load goes down by this factor, until no opening is worth it. [-] */
#define FIRST_LESS 0.35
/* A gap so many times the first lift does not close by then. [-] */
#define FAR_OPEN 4
/* A start that was not certain told the rise of a lower point so well, and its power. [-] */
#define START_OFF  3e-4
#define START_BENT 2e-3
/* No stack is so many times stiffer than all its shims together, were they of the face shim's size. [-] */
#define STIFFEST 100
/* Lift at which stretching carries as much as bending. [-] of the thickness that counts */
#define EVEN_LIFT 2.4
enum { LITTLE_TRIES = 3, YIELD_HALVINGS = 30, POINTS_MOST = 2000 };

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
        if (t->screening || kp_lift_is_bounded(t, t->settled)) {
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
        t->next *= t->screening ? RATIO_SCREENING : RATIO;
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

/* Its order is what bends the face shim alone. */
static double pressure_alone(const kp_stack *s)
{
    const kp_disc *face = &s->discs[0];
    return face->material.young * pow(face->thickness / face->outer_radius, 4) / s->load_coverage;
}

/* Of the shims laid together, were they all of the face shim's size. */
static kp_lift_reference stiff_reference(const kp_stack *s)
{
    const kp_disc *face = &s->discs[0];
    double together, lift = EVEN_LIFT * counting_thickness(s, &together);
    return (kp_lift_reference){.pressure = pressure_alone(s) * together * lift / face->thickness, .lift = lift};
}

/* Pressure that lifts a taper about LITTLE_LIFT: each shim's bending stiffness by how far it reaches, squared. */
static double little_load(const kp_stack *s)
{
    const kp_disc *face = &s->discs[0];
    double span = face->outer_radius - s->clamp_radius, bending = 0;
    for (size_t i = 0; i < s->disc_count; i++) {
        const kp_disc *d = &s->discs[i];
        double reach = fmin(1, (d->outer_radius - s->clamp_radius) / span);
        bending += reach > 0 ? d->count * pow(d->thickness / face->thickness, 3) * reach * reach : 0;
    }
    return LITTLE_LIFT / TAPER_LIFT * pressure_alone(s) * bending / pow(span / face->outer_radius, 4);
}

/* From a little load. *compliance: 0 where none was found that lifts little. */
static kp_status look_at_little(kp_lift_table *t, double *compliance, kp_error *error)
{
    const kp_stack *s = kp_stack_of(t->workspace);
    double thickness = s->discs[0].thickness;
    double pressure = little_load(s);
    *compliance = 0;
    for (int tries = 0; tries < LITTLE_TRIES; tries++) {
        kp_status status = kp_lift_solve(t, pressure, KP_SEAT_ABSENT, error);
        if (status != KP_OK) {
            return status;
        }
        double rise = kp_stack_seat_lift(t->workspace);
        if (rise >= LITTLE_LEAST * thickness && rise <= LITTLE_MOST * thickness) {
            double part = rise / t->reference.lift;
            *compliance = rise / pressure * (1 + part * part);
            break;
        }
        if (!(rise > 0)) {
            break;
        }
        t->workspace->expected_lift = LITTLE_LIFT * thickness;
        pressure *= LITTLE_LIFT * thickness / rise;
    }
    return KP_OK;
}

/* Of the free stack. One that is pressed together at rest knows its contacts at hardly any load; that pressure's order
   is the face shim's alone. */
kp_status kp_lift_find_compliance(kp_lift_table *t, kp_error *error)
{
    double little = HARDLY * pressure_alone(kp_stack_of(t->workspace));
    kp_status status = KP_OK;
    if (t->unloaded == 0 && !t->screening) {
        status = look_at_little(t, &t->compliance, error);
    }
    if (status == KP_OK && !(t->compliance > 0)) {
        status = kp_lift_solve(t, little, KP_SEAT_ABSENT, error);
        if (status == KP_OK) {
            t->compliance =
                t->unloaded != 0 ? kp_stack_seat_compliance(t->workspace) : kp_stack_seat_lift(t->workspace) / little;
        }
    }
    if (status == KP_OK) {
        double meant = t->reference.lift / t->compliance;
        if (meant > 0 && meant < STIFFEST * t->reference.pressure) {
            t->reference.pressure = meant;
        }
    }
    return status;
}

/* Whether all contacts are shut at rest, or so far open that the first load does not matter to them: then the stack
   begins straight, for certain. */
static bool begins_straight(const kp_stack_workspace *ws, double lift)
{
    for (size_t g = 0; g < ws->gap_count; g++) {
        double rest = ws->gaps[g].rest * ws->height;
        if (fabs(rest) > KP_LIFT_PRESSED * ws->height && rest < FAR_OPEN * lift &&
            ws->gaps[g].lower != KP_CONTACT_SEAT) {
            return false;
        }
    }
    return true;
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
    bool certain = t->screening || begins_straight(t->workspace, lift);
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
            t->next = pressure * (t->screening ? RATIO_SCREENING : RATIO);
        }
        bool serves = t->node[0].run == KP_RUN_START && (certain || (served && told(t, rise, slope)));
        if (serves || t->screening || t->node[1].rise < t->worth) {
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
        t->next = t->cracking * (t->screening ? RATIO_SCREENING : RATIO);
        return status;
    }
    status = status == KP_OK ? kp_lift_find_compliance(t, error) : status;
    return status == KP_OK ? add_start(t, error) : status;
}
