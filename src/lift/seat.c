/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A table's points as long as the seat holds the stack, and the cracking pressure.

   From the seated stack at rest the load goes up. With the lift at the seat standing still, the seat's force falls
   nearly in proportion to the load; its value and its change with pressure say where it will be gone, so where the
   stack cracks, better with each point. There the free stack is the held one, and it is solved until its lift is the
   dish. */
#include "lift/lift_internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The cracking pressure is found when the lift is this near the dish; the last part goes by the slope. [-] */
#define CRACKING_NEAR        3e-6
#define CRACKING_NEAR_COARSE 1e-3
/* ... or when this narrow a bracket holds it: a lift of rings that pinch one another is no better than that. [-] */
#define CRACKING_BRACKET 1e-10
/* A lift so near the dish says what to expect of the next. [-] */
#define CRACKING_ABOUT 0.1
/* Lift up to which power says little of the stretching. [-] of that where both are even */
#define TOO_STRAIGHT 0.1
/* No shim bears a pressure of this part of its Young's modulus. [-] Thick rings pinched on a dished seat want more. */
#define MOST_PRESSURE 0.2
enum { BELOW_CRACKING = 4, BELOW_CRACKING_COARSE = 1, CRACKING_STEPS = 60 };

static double most_pressure(const kp_lift_table *t)
{
    return MOST_PRESSURE * kp_stack_of(t->workspace)->discs[0].material.young;
}

/* Pressure at which a stack that rises so far at this one, with this power, would rise to the target. */
static double lead_to(const kp_lift_table *t, double pressure, double rise, double power, double target)
{
    if (!(rise > 0 && power > 0)) {
        return pressure;
    }
    if (power < KP_POWER_MEMBRANE) {
        return pressure * pow(target / rise, 1 / power);
    }
    kp_lift_reference local = kp_lift_reference_through(pressure, rise, power);
    if (rise < TOO_STRAIGHT * t->reference.lift) { /* its power does not say where it bends */
        local.lift = t->reference.lift;
        local.pressure = 1;
    }
    return pressure * kp_lift_reference_pressure(&local, target) / kp_lift_reference_pressure(&local, rise);
}

/* Pressure at which the free stack lifts the land's inner edge to the dish, looked for from a guess. Left as the point
   being read. */
static kp_status find_cracking(kp_lift_table *t, double guess, kp_lift_node *out, kp_error *error)
{
    double target = t->dish - t->unloaded, most = most_pressure(t);
    double low = 0, high = INFINITY, pressure = fmin(guess, most);
    double near = t->coarse ? CRACKING_NEAR_COARSE : CRACKING_NEAR;
    for (int step = 0; step < CRACKING_STEPS && low < most; step++) {
        kp_status status = kp_lift_solve(t, pressure, KP_SEAT_ABSENT, error);
        if (status != KP_OK) {
            return status;
        }
        double rise = kp_stack_seat_lift(t->workspace) - t->unloaded;
        double power = kp_stack_seat_compliance(t->workspace) * pressure / rise;
        low = rise < target ? pressure : low;
        high = rise < target ? high : pressure;
        double next = lead_to(t, pressure, rise, power, target);
        if (fabs(rise - target) <= near * target || (isfinite(high) && high - low <= CRACKING_BRACKET * high)) {
            t->reference = kp_lift_reference_through(next, target, power);
            *out = kp_lift_read_free(t, next, target);
            t->cracking = next;
            return KP_OK;
        }
        pressure = next > low && next < high ? next : isfinite(high) ? 0.5 * (low + high) : 2 * low;
        pressure = fmin(pressure, most);
        if (t->unloaded == 0 && pressure == next && fabs(rise - target) <= CRACKING_ABOUT * target) {
            kp_stack_expect_lift(t->workspace, t->dish);
        }
    }
    return kp_error_set(error, KP_NO_SOLUTION,
                        "lift table: the stack did not reach its dish of %g mm: lift stuck at %g MPa", t->dish * 1e3,
                        pressure / 1e6);
}

/* Points with the seat's force, latest first. */
typedef struct relief {
    size_t count;
    double pressure[BELOW_CRACKING]; /* [Pa] */
    double force[BELOW_CRACKING];    /* [N]  */
} relief;

/* Takes the last solution in. Returns the pressure at which the force will be gone; 0 where that cannot be said. */
static double relieve(relief *r, kp_stack_workspace *ws, double pressure)
{
    memmove(r->pressure + 1, r->pressure, r->count * sizeof *r->pressure);
    memmove(r->force + 1, r->force, r->count * sizeof *r->force);
    r->pressure[0] = pressure;
    r->force[0] = kp_stack_seat_force(ws);
    r->count++;
    double weight[BELOW_CRACKING];
    double guess = kp_hermite_weights(r->count, r->force, 0, weight) / kp_stack_seat_force_rate(ws);
    for (size_t i = 0; i < r->count; i++) {
        guess += weight[i] * r->pressure[i];
    }
    return r->force[0] > 0 && isfinite(guess) && guess > pressure ? guess : 0;
}

static kp_status add_point(kp_lift_table *t, size_t at, double pressure, kp_error *error)
{
    kp_status status = kp_lift_solve(t, pressure, KP_SEAT_HOLDS, error);
    if (status == KP_OK) {
        kp_lift_node n = kp_lift_read_held(t, pressure, pressure);
        status = kp_lift_insert(t, at, &n, error);
    }
    return status;
}

/* From rest upward. *guess: where the stack cracks, 0 where that cannot be said. Stops where that is too much. */
static kp_status climb(kp_lift_table *t, int points, double *guess, kp_error *error)
{
    relief r = {0};
    double pressure = 0;
    kp_status status = KP_OK;
    *guess = relieve(&r, t->workspace, 0);
    for (int left = points; status == KP_OK && left > 1 && *guess > 0 && *guess < most_pressure(t); left--) {
        pressure += (*guess - pressure) / left;
        status = add_point(t, t->count, pressure, error);
        if (status == KP_OK) {
            *guess = relieve(&r, t->workspace, pressure);
        }
    }
    return status;
}

kp_status kp_lift_add_held(kp_lift_table *t, kp_error *error)
{
    int points = t->coarse ? BELOW_CRACKING_COARSE : BELOW_CRACKING;
    double guess;
    kp_status status = climb(t, points, &guess, error);
    bool climbed = status == KP_OK && guess > 0;
    if (status == KP_OK && !climbed) {
        t->count = 1;
        status = kp_lift_find_compliance(t, error);
        guess = kp_lift_reference_pressure(&t->reference, t->dish - t->unloaded);
    }
    kp_lift_node cracks = {0};
    status = status == KP_OK ? find_cracking(t, guess, &cracks, error) : status;
    if (status == KP_OK && !(t->node[t->count - 1].pressure < t->cracking)) {
        t->count = 1;
        climbed = false;
    }
    status = status == KP_OK ? kp_lift_insert(t, t->count, &cracks, error) : status;
    for (int i = 1; status == KP_OK && i < points && !climbed; i++) {
        status = add_point(t, t->count - 1, t->cracking * i / points, error);
    }
    if (status == KP_OK) {
        t->held = t->settled = t->count - 1;
        for (size_t i = 0; i < t->held; i++) {
            kp_lift_choose_run(t, i);
        }
    }
    return status;
}

/* Without the seat, and then with it, which is the low end of the stress cycle. */
kp_status kp_lift_look_at_rest(kp_lift_table *t, bool *below, kp_error *error)
{
    const kp_stack *s = kp_stack_of(t->workspace);
    double height = s->discs[0].thickness;
    size_t each = kp_lift_read_count(t);
    bool inside = kp_stack_interferes_at_rest(t->workspace, false, KP_LIFT_PRESSED);
    *below = s->dish > 0;
    kp_status status = KP_OK;
    if (inside) {
        status = kp_lift_solve(t, 0, KP_SEAT_ABSENT, error);
    }
    if (status == KP_OK && inside) {
        double lift = kp_stack_seat_lift(t->workspace);
        t->unloaded = fabs(lift) > KP_LIFT_PRESSED * height ? lift : 0;
        t->unloaded_edge = kp_stack_lift_at(t->workspace, 0, s->discs[0].outer_radius);
        *below =
            lift < s->dish - KP_LIFT_PRESSED * height; /* a loose ring can press the stack on a flat seat as well */
        kp_stack_start_afresh(t->workspace); /* a stack that is not on its seat yet says little of one that is */
    }
    if (status == KP_OK && (inside || kp_stack_interferes_at_rest(t->workspace, true, KP_LIFT_PRESSED))) {
        status = kp_lift_solve(t, 0, KP_SEAT_HOLDS, error);
        if (status == KP_OK) {
            kp_stack_mark_rest(t->workspace);
            kp_lift_read_held(t, 0, -kp_stack_seat_force(t->workspace) / kp_stack_seat_force_rate(t->workspace));
            memcpy(t->reads, t->reads + t->capacity * each, each * sizeof *t->reads);
        }
    }
    return status;
}
