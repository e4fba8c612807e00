/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One table per stack: what it does from no pressure to more than the curve
   needs.

   Opening comes from the stack without its seat, with the exact slope at every
   point (one more solve with the factored tangent), so cubic Hermite between
   points a factor of 1.5 apart is good to some 2e-4 of p^(1/3). The cracking
   pressure is a point of its own, and points crowd behind it, since an opening
   that starts at zero is small there. Below cracking the seat holds the face
   shim: that branch is solved too, for its stress. */
#include "kneepoint/disc.h"

#include "kneepoint/num.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Ratio of neighbouring pressures. [-] */
#define RATIO 1.5
/* First pressure: lifts the seat by this part of a face shim's thickness in
 * small deflection. [-] */
#define FIRST_LIFT 0.05
/* No stack is so many times stiffer than its face shim alone. [-] */
#define FIRST_STIFFEST 1e5
/* First point behind cracking and points below it. [-] of the cracking pressure
 */
#define BEHIND_CRACKING 0.02
/* How far apart the powers at the two ends of a stretch may be, and how far their mean from the stretch's own. [-]
 * Smooth stacks stay below both; with three times as much 1 opening in 300 of random stacks missed its 0.1 %, by up to
   four times. */
#define POWER_CHANGE 0.04
#define POWER_MISS   0.004
/* How far the slopes at both ends of the stretch behind cracking may be from its own. [-] */
#define STRAIGHT 0.01
/* Slope at no load is that of this part of the first pressure: without load no contact says which shims share it. [-]
 */
#define FIRST_SLOPE 1e-3
/* Times a stretch is halved where it does not run smoothly, plus one. */
enum { LEVELS = 8 };
enum { BELOW_CRACKING = 6, CRACKING_STEPS = 60, POINTS_MOST = 2000 };
/* Cracking is found when the free lift is this near the dish. [-] of the dish
 */
#define CRACKING_ENOUGH 1e-10
/* ... or when this narrow a bracket holds it: a lift of rings that pinch one another is no better than that. [-] of the
   pressure */
#define CRACKING_BRACKET 1e-10

/* Without pressure a stack lies this far below its seat when something presses it. [-] of the face shim's thickness */
#define PRESSED 1e-9

typedef struct point {
    double pressure, seat_lift, edge_lift; /* [Pa], [m], [m]     */
    double slope;                          /* [m/Pa] of free seat lift */
    double peak_stress;                    /* [Pa]              */
    size_t peak_disc;
    double fatigue_use; /* [-] */
    size_t fatigue_disc;
    const double *disc_stress; /* [disc_count] [Pa] of every shim; NULL for a given point */
} point;

struct kp_lift_table {
    kp_stack_workspace *workspace; /* NULL when made from points  */
    double dish;                   /* [m]                        */
    double cracking;               /* [Pa]                       */
    size_t disc_count;
    double *yield;        /* [disc_count] [Pa]          */
    double *last_stress;  /* [disc_count] [Pa] at the last point appended */
    double *level_stress; /* [LEVELS][disc_count] [Pa] of points solved and not yet appended */
    double yields_from;   /* [Pa] lowest pressure with a stress past yield;
                             INFINITY: none */
    size_t yielding_disc;
    size_t count, held, capacity; /* points; those with the seat holding come first */
    double *pressure, *lift, *slope, *edge, *edge_slope, *stress, *stress_slope, *fatigue,
        *fatigue_slope;               /* [capacity] */
    size_t *peak_disc, *fatigue_disc; /* [capacity] */
};

static kp_status grow(kp_lift_table *t, kp_error *error)
{
    if (t->count < t->capacity) {
        return KP_OK;
    }
    size_t capacity = t->capacity ? 2 * t->capacity : 64;
    double **arrays[] = {&t->pressure, &t->lift,         &t->slope,   &t->edge,         &t->edge_slope,
                         &t->stress,   &t->stress_slope, &t->fatigue, &t->fatigue_slope};
    for (size_t i = 0; i < sizeof arrays / sizeof *arrays; i++) {
        double *larger = realloc(*arrays[i], capacity * sizeof *larger);
        if (!larger) {
            return kp_error_set(error, KP_NO_MEMORY, "lift table: no memory for %zu points", capacity);
        }
        *arrays[i] = larger;
    }
    size_t **discs[] = {&t->peak_disc, &t->fatigue_disc};
    for (size_t i = 0; i < sizeof discs / sizeof *discs; i++) {
        size_t *larger = realloc(*discs[i], capacity * sizeof *larger);
        if (!larger) {
            return kp_error_set(error, KP_NO_MEMORY, "lift table: no memory for %zu points", capacity);
        }
        *discs[i] = larger;
    }
    t->capacity = capacity;
    return KP_OK;
}

/* Notes the lowest pressure at which some shim's stress passes its yield, straight between that shim's own points. */
static void watch_yield(kp_lift_table *t, double pressure, size_t disc, double stress)
{
    double before = t->last_stress[disc];
    double from = t->count ? t->pressure[t->count - 1] : 0;
    t->last_stress[disc] = stress;
    if (stress <= t->yield[disc]) {
        return;
    }
    double part = before < t->yield[disc] ? (t->yield[disc] - before) / (stress - before) : 0;
    double passes = from + part * (pressure - from);
    if (passes < t->yields_from) {
        t->yields_from = passes;
        t->yielding_disc = disc;
    }
}

static kp_status append(kp_lift_table *t, const point *p, kp_error *error)
{
    kp_status status = grow(t, error);
    if (status != KP_OK) {
        return status;
    }
    t->pressure[t->count] = p->pressure;
    t->lift[t->count] = p->seat_lift;
    t->slope[t->count] = p->slope;
    t->edge[t->count] = p->edge_lift;
    t->stress[t->count] = p->peak_stress;
    t->peak_disc[t->count] = p->peak_disc;
    t->fatigue[t->count] = p->fatigue_use;
    t->fatigue_disc[t->count] = p->fatigue_disc;
    for (size_t i = 0; p->disc_stress && i < t->disc_count; i++) {
        watch_yield(t, p->pressure, i, p->disc_stress[i]);
    }
    t->count++;
    return KP_OK;
}

/* Solves and reads one point. level: whose stresses are kept where, until the point is appended. */
static kp_status solve_point(kp_lift_table *t, const kp_stack *s, double pressure, kp_seat seat, size_t level,
                             point *out, kp_error *error)
{
    double *disc_stress = t->level_stress + level * t->disc_count;
    kp_status status = kp_stack_solve(t->workspace, pressure, seat, error);
    if (status != KP_OK) {
        return status;
    }
    *out = (point){.pressure = pressure, .disc_stress = disc_stress};
    out->seat_lift = kp_stack_seat_lift(t->workspace);
    out->edge_lift = kp_stack_lift_at(t->workspace, 0, s->discs[0].outer_radius);
    out->slope = kp_stack_seat_compliance(t->workspace);
    for (size_t i = 0; i < s->disc_count; i++) {
        double stress;
        kp_stack_peak_stress(t->workspace, i, &stress, NULL, NULL);
        disc_stress[i] = stress;
        if (stress > out->peak_stress) {
            out->peak_stress = stress;
            out->peak_disc = i;
        }
        double use = kp_stack_cycle(t->workspace, i).use;
        if (use > out->fatigue_use) {
            out->fatigue_use = use;
            out->fatigue_disc = i;
        }
    }
    return KP_OK;
}

static kp_status add_solved(kp_lift_table *t, const kp_stack *s, double pressure, kp_seat seat, kp_error *error)
{
    point p;
    kp_status status = solve_point(t, s, pressure, seat, 0, &p, error);
    return status == KP_OK ? append(t, &p, error) : status;
}

/* Between two points lift goes about as a power of the pressure beyond cracking, and the power changes little. Where it
   jumps, shims came to touch in between: there a cubic over a factor of RATIO errs by per cents. */
static bool runs_smoothly(const kp_lift_table *t, const point *upper)
{
    size_t last = t->count - 1;
    double dish = fmax(0, t->dish);
    double from = t->pressure[last] - t->cracking;
    double to = upper->pressure - t->cracking;
    double low = t->lift[last] - dish;
    double high = upper->seat_lift - dish;
    if (from <= 0 && t->cracking > 0 && high > 0) { /* just behind cracking: straight, or not short enough */
        return fabs(t->slope[last] * to - high) <= STRAIGHT * high && fabs(upper->slope * to - high) <= STRAIGHT * high;
    }
    if (!(from > 0 && low > 0 && high > 0)) {
        return true; /* the first stretch begins at nothing: it is short, and straight */
    }
    double power = log(high / low) / log(to / from);
    double begins = t->slope[last] * from / low;
    double ends = upper->slope * to / high;
    return fabs(power - 0.5 * (begins + ends)) <= POWER_MISS && fabs(begins - ends) <= POWER_CHANGE;
}

/* Appends a solved point, and before it as many as the stretch up to it needs. */
static kp_status add_smoothly(kp_lift_table *t, const kp_stack *s, const point *upper, size_t level, kp_error *error)
{
    kp_status status = KP_OK;
    if (level + 1 < LEVELS && !runs_smoothly(t, upper)) {
        double from = t->pressure[t->count - 1] - t->cracking;
        double to = upper->pressure - t->cracking;
        double middle = t->cracking + (from > 0 ? sqrt(from * to) : 0.25 * to);
        point p;
        status = solve_point(t, s, middle, KP_SEAT_ABSENT, level + 1, &p, error);
        status = status == KP_OK ? add_smoothly(t, s, &p, level + 1, error) : status;
        return status == KP_OK ? add_smoothly(t, s, upper, level + 1, error) : status;
    }
    return append(t, upper, error);
}

/* Pressure at which the free stack lifts the land's inner edge to the dish:
   Newton with the exact slope, from below by halving where it overshoots the
   bracket. */
static kp_status find_cracking(kp_lift_table *t, const kp_stack *s, double first, kp_error *error)
{
    double low = 0;
    double high = INFINITY;
    double pressure = first;
    for (int step = 0; step < CRACKING_STEPS; step++) {
        kp_status status = kp_stack_solve(t->workspace, pressure, KP_SEAT_ABSENT, error);
        if (status != KP_OK) {
            return status;
        }
        double miss = kp_stack_seat_lift(t->workspace) - s->dish;
        if (fabs(miss) <= CRACKING_ENOUGH * (s->dish > 0 ? s->dish : s->discs[0].thickness)) {
            t->cracking = pressure;
            return KP_OK;
        }
        low = miss < 0 ? pressure : low;
        high = miss < 0 ? high : pressure;
        if (isfinite(high) && high - low <= CRACKING_BRACKET * high) {
            t->cracking = pressure;
            return KP_OK;
        }
        double next = pressure - miss / kp_stack_seat_compliance(t->workspace);
        if (!(next > low && next < high)) {
            next = isfinite(high) ? 0.5 * (low + high) : 2 * low;
        }
        pressure = next;
    }
    return kp_error_set(error, KP_NO_SOLUTION,
                        "lift table: the stack did not reach its dish of %g mm: "
                        "lift stuck at %g MPa",
                        s->dish * 1e3, pressure / 1e6);
}

/* Slopes of stress and edge lift from neighbours; all three curves monotone
 * where their points are. */
static void finish(kp_lift_table *t)
{
    double *with[3] = {t->edge, t->stress, t->fatigue};
    double *slope[3] = {t->edge_slope, t->stress_slope, t->fatigue_slope};
    for (size_t k = 0; k < 3; k++) {
        for (size_t i = 0; i < t->count; i++) {
            size_t a = i > 0 ? i - 1 : 0;
            size_t b = i + 1 < t->count ? i + 1 : i;
            slope[k][i] = b > a ? (with[k][b] - with[k][a]) / (t->pressure[b] - t->pressure[a]) : 0;
        }
        kp_hermite_limit(t->count, t->pressure, with[k], slope[k]);
    }
    kp_hermite_limit(t->count - t->held, t->pressure + t->held, t->lift + t->held, t->slope + t->held);
}

static kp_status extend(kp_lift_table *t, const kp_stack *s, double pressure_max, kp_error *error)
{
    double step = BEHIND_CRACKING;
    while (t->pressure[t->count - 1] < pressure_max) {
        double last = t->pressure[t->count - 1];
        double next = last * RATIO;
        if (t->cracking > 0 && last < t->cracking * RATIO) {
            next = fmin(next, t->cracking * (1 + step));
            step *= 2.5;
            if (next <= last) {
                continue;
            }
        }
        if (t->count >= POINTS_MOST) {
            return kp_error_set(error, KP_OUT_OF_RANGE, "lift table: more than %d points up to %g MPa", POINTS_MOST,
                                pressure_max / 1e6);
        }
        point p;
        kp_status status = solve_point(t, s, next, KP_SEAT_ABSENT, 0, &p, error);
        status = status == KP_OK ? add_smoothly(t, s, &p, 0, error) : status;
        if (status != KP_OK) {
            return status;
        }
    }
    finish(t);
    return KP_OK;
}

/* The seat holds: from the seated stack at rest to just at cracking. */
static kp_status add_held(kp_lift_table *t, const kp_stack *s, kp_error *error)
{
    for (int i = 0; i < BELOW_CRACKING; i++) {
        double pressure = t->cracking * i / BELOW_CRACKING;
        kp_status status = add_solved(t, s, pressure, KP_SEAT_HOLDS, error);
        if (status != KP_OK) {
            return status;
        }
        t->slope[t->count - 1] = 0;
    }
    t->held = t->count;
    return add_solved(t, s, t->cracking, KP_SEAT_ABSENT, error);
}

/* A stack that nothing presses on its seat: no load, hardly any, and the first pressure. */
static kp_status add_start(kp_lift_table *t, const kp_stack *s, double first, kp_error *error)
{
    kp_status status = add_solved(t, s, 0, KP_SEAT_ABSENT, error);
    status = status == KP_OK ? add_solved(t, s, FIRST_SLOPE * first, KP_SEAT_ABSENT, error) : status;
    if (status != KP_OK) {
        return status;
    }
    t->slope[0] = (t->lift[1] - t->lift[0]) / t->pressure[1];
    point p;
    status = solve_point(t, s, first, KP_SEAT_ABSENT, 0, &p, error);
    return status == KP_OK ? add_smoothly(t, s, &p, 0, error) : status;
}

/* Pressure at which the table begins, from the compliance at no load: without load nothing says which shims touch, and
   that can be any, below zero too (seen once in 8 000). The pressure that bends the face shim alone is then meant. */
static double first_pressure(const kp_stack *s, double compliance)
{
    const kp_disc *face = &s->discs[0];
    double alone = face->material.young * pow(face->thickness / face->outer_radius, 4) / s->load_coverage;
    double meant = face->thickness / compliance;
    return FIRST_LIFT * (meant > 0 && meant < FIRST_STIFFEST * alone ? meant : alone);
}

static kp_status fill(kp_lift_table *t, double pressure_max, kp_error *error)
{
    const kp_stack *s = kp_stack_of(t->workspace);
    /* Small-deflection compliance of the stack: where the table begins. */
    kp_status status = kp_stack_solve(t->workspace, 0, KP_SEAT_HOLDS, error);
    if (status == KP_OK) {
        kp_stack_mark_rest(t->workspace);
        status = kp_stack_solve(t->workspace, 0, KP_SEAT_ABSENT, error);
    }
    if (status != KP_OK) {
        return status;
    }
    /* A loose ring can press the stack on a flat seat as well. */
    bool pressed = kp_stack_seat_lift(t->workspace) < s->dish - PRESSED * s->discs[0].thickness;
    double first = first_pressure(s, kp_stack_seat_compliance(t->workspace));
    if (s->dish > 0 || pressed) {
        status = find_cracking(t, s, first, error);
        status = status == KP_OK ? add_held(t, s, error) : status;
    } else {
        status = add_start(t, s, first, error);
    }
    return status == KP_OK ? extend(t, s, pressure_max, error) : status;
}

kp_status kp_lift_table_build(const kp_stack *stack, double pressure_max, kp_lift_table **out, kp_error *error)
{
    if (!(pressure_max > 0) || !isfinite(pressure_max)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "lift table: largest pressure %g Pa must be positive",
                            pressure_max);
    }
    kp_lift_table *t = calloc(1, sizeof *t);
    if (!t) {
        return kp_error_set(error, KP_NO_MEMORY, "lift table: no memory");
    }
    t->dish = stack->dish;
    t->yields_from = INFINITY;
    t->disc_count = stack->disc_count;
    kp_status status = kp_stack_begin(stack, NULL, &t->workspace, error);
    if (status == KP_OK) {
        t->yield = malloc(stack->disc_count * sizeof *t->yield);
        t->last_stress = calloc(stack->disc_count, sizeof *t->last_stress);
        t->level_stress = calloc(LEVELS * stack->disc_count, sizeof *t->level_stress);
        if (!t->yield || !t->last_stress || !t->level_stress) {
            status = kp_error_set(error, KP_NO_MEMORY, "lift table: no memory for %zu shims", stack->disc_count);
        }
        for (size_t i = 0; status == KP_OK && i < stack->disc_count; i++) {
            t->yield[i] = stack->discs[i].material.yield;
        }
    }
    status = status == KP_OK ? fill(t, pressure_max, error) : status;
    if (status != KP_OK) {
        kp_lift_table_free(t);
        return status;
    }
    *out = t;
    return KP_OK;
}

kp_status kp_lift_table_from_points(size_t n, const double *pressure, const double *opening, kp_lift_table **out,
                                    kp_error *error)
{
    bool ordered = n >= 2 && pressure[0] == 0 && opening[0] >= 0;
    for (size_t i = 1; ordered && i < n; i++) {
        ordered = pressure[i] > pressure[i - 1] && opening[i] >= opening[i - 1];
    }
    if (!ordered) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "lift table: %zu points given; need two or more, "
                            "pressures rising from 0, openings from 0 "
                            "or more and never falling",
                            n);
    }
    kp_lift_table *t = calloc(1, sizeof *t);
    kp_status status = t ? KP_OK : kp_error_set(error, KP_NO_MEMORY, "lift table: no memory");
    for (size_t i = 0; status == KP_OK && i < n; i++) {
        size_t a = i > 0 ? i - 1 : 0;
        size_t b = i + 1 < n ? i + 1 : i;
        point p = {.pressure = pressure[i], .seat_lift = opening[i], .edge_lift = opening[i]};
        p.slope = (opening[b] - opening[a]) / (pressure[b] - pressure[a]);
        status = append(t, &p, error);
    }
    if (status != KP_OK) {
        kp_lift_table_free(t);
        return status;
    }
    t->yields_from = INFINITY;
    finish(t);
    *out = t;
    return KP_OK;
}

kp_status kp_lift_table_cover(kp_lift_table *t, double pressure, kp_error *error)
{
    if (pressure <= kp_lift_table_reach(t)) {
        return KP_OK;
    }
    if (!t->workspace || !isfinite(pressure)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "lift table: made from points up to %g MPa, asked for %g MPa",
                            kp_lift_table_reach(t) / 1e6, pressure / 1e6);
    }
    return extend(t, kp_stack_of(t->workspace), pressure, error);
}

double kp_lift_table_reach(const kp_lift_table *t)
{
    return t->pressure[t->count - 1];
}

double kp_lift_table_cracking(const kp_lift_table *t)
{
    return t->cracking;
}

kp_status kp_lift_table_at(const kp_lift_table *t, double pressure, kp_lift *out, kp_error *error)
{
    if (!(pressure >= 0 && pressure <= kp_lift_table_reach(t))) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "lift table: %g MPa is outside 0 to %g MPa", pressure / 1e6,
                            kp_lift_table_reach(t) / 1e6);
    }
    kp_lift lift = {0};
    size_t i = kp_hermite_at(t->count, t->pressure, t->edge, t->edge_slope, pressure, &lift.edge_lift, NULL);
    kp_hermite_at(t->count, t->pressure, t->stress, t->stress_slope, pressure, &lift.peak_stress, NULL);
    kp_hermite_at(t->count, t->pressure, t->fatigue, t->fatigue_slope, pressure, &lift.fatigue_use, NULL);
    size_t nearer = pressure - t->pressure[i] > t->pressure[i + 1] - pressure ? i + 1 : i;
    lift.peak_disc = t->peak_disc[nearer];
    lift.fatigue_disc = t->fatigue_disc[nearer];
    if (pressure < t->cracking) {
        lift.seat_lift = t->dish;
        lift.opening = 0;
    } else {
        kp_hermite_at(t->count - t->held, t->pressure + t->held, t->lift + t->held, t->slope + t->held, pressure,
                      &lift.seat_lift, &lift.opening_slope);
        lift.opening = fmax(0, lift.seat_lift - t->dish);
    }
    *out = lift;
    return KP_OK;
}

bool kp_lift_table_yields(const kp_lift_table *t, double *pressure, size_t *disc)
{
    if (!isfinite(t->yields_from)) {
        return false;
    }
    if (pressure) {
        *pressure = t->yields_from;
    }
    if (disc) {
        *disc = t->yielding_disc;
    }
    return true;
}

void kp_lift_table_free(kp_lift_table *t)
{
    if (!t) {
        return;
    }
    kp_stack_free(t->workspace);
    free(t->yield);
    free(t->last_stress);
    free(t->level_stress);
    free(t->pressure);
    free(t->lift);
    free(t->slope);
    free(t->edge);
    free(t->edge_slope);
    free(t->stress);
    free(t->stress_slope);
    free(t->fatigue);
    free(t->fatigue_slope);
    free(t->peak_disc);
    free(t->fatigue_disc);
    free(t);
}
