/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Points of a stack that is pressed on its seat, and its cracking pressure.

   The load rises from zero with the stack seated. The lift at the seat is constant, and the seat's force falls nearly
   in proportion to the load: its value and its derivative predict the pressure at which it is zero, better with each
   point. That is the cracking pressure, at which the stack without its seat has the same shape. So from there on the
   stack is solved without the seat, until its lift is the dish. */
#include "lift/lift_internal.h"

#include <math.h>
#include <string.h>

/* The cracking pressure is found when the lift is this near the dish; the tangent gives the rest. [-] of the rise */
static const double CRACKING_TOLERANCE = 3e-6;
static const double CRACKING_TOLERANCE_COARSE = 1e-3;
/* ... or when a bracket is this narrow: the lift of rings that pinch one another is no more accurate. [-] */
static const double CRACKING_BRACKET = 1e-10;
/* A lift this near the dish is used to tell the solver what to expect of the next one. [-] of the rise */
static const double EXPECTATION_RANGE = 0.1;
/* Rise below which the power says little of membrane tension. [-] of the reference's lift */
static const double STRAIGHT_RISE = 0.1;
/* Largest pressure tried: no shim bears it, though thick rings pinched on a dished seat ask for more. [-] of Young's
   modulus */
static const double PRESSURE_MAX = 0.2;
enum {
    HELD_POINTS = 4,        /* from zero load to cracking */
    HELD_POINTS_COARSE = 1, /* the same, coarse           */
    CRACKING_STEPS = 60     /* loads tried                */
};

static double max_pressure(const kp_lift_table *t)
{
    return PRESSURE_MAX * kp_stack_of(t->build.workspace)->discs[0].material.young;
}

/* ---- the cracking pressure --------------------------------------------------------------------------------------- */

/* Pressure at which a stack with that rise and power at `pressure` would have the target's rise. */
static double extrapolate_to(const kp_lift_table *t, double pressure, double rise, double power, double target)
{
    if (!(rise > 0 && power > 0)) {
        return pressure;
    }
    if (power < KP_POWER_MEMBRANE) {
        return pressure * pow(target / rise, 1 / power);
    }

    /* Along the reference through the point; at small rise along the table's own. */
    kp_lift_reference local = kp_lift_reference_through(pressure, rise, power);
    if (rise < STRAIGHT_RISE * t->reference.lift) {
        local.lift = t->reference.lift;
        local.pressure = 1;
    }
    return pressure * kp_lift_reference_pressure(&local, target) / kp_lift_reference_pressure(&local, rise);
}

/* Finds the pressure at which the stack without its seat lifts the land's inner edge to the dish. Leaves it in the
   table, with a reference through that point, and the point in out. */
static kp_status find_cracking(kp_lift_table *t, double guess, kp_lift_node *out, kp_error *error)
{
    kp_stack_workspace *ws = t->build.workspace;
    double target = t->dish - t->unloaded_lift, max = max_pressure(t);
    double low = 0, high = INFINITY, pressure = fmin(guess, max);
    double tolerance = t->coarse ? CRACKING_TOLERANCE_COARSE : CRACKING_TOLERANCE;

    for (int step = 0; step < CRACKING_STEPS && low < max; step++) {
        kp_status status = kp_lift_solve(t, pressure, KP_SEAT_ABSENT, error);
        if (status != KP_OK) {
            return status;
        }

        /* The bracket. */
        double rise = kp_stack_seat_lift(ws) - t->unloaded_lift;
        double power = kp_stack_seat_compliance(ws) * pressure / rise;
        low = rise < target ? pressure : low;
        high = rise < target ? high : pressure;

        double next = extrapolate_to(t, pressure, rise, power, target);
        bool bracketed = isfinite(high) && high - low <= CRACKING_BRACKET * high;
        if (fabs(rise - target) <= tolerance * target || bracketed) {
            t->reference = kp_lift_reference_through(next, target, power);
            *out = kp_lift_free_node(t, next, target);
            t->cracking = next;
            return KP_OK;
        }

        /* The extrapolation inside the bracket, else bisection, or twice the load while there is no bracket. */
        pressure = next > low && next < high ? next : isfinite(high) ? 0.5 * (low + high) : 2 * low;
        pressure = fmin(pressure, max);
        if (t->unloaded_lift == 0 && pressure == next && fabs(rise - target) <= EXPECTATION_RANGE * target) {
            kp_stack_expect_lift(ws, t->dish);
        }
    }

    return kp_error_set(error, KP_NO_SOLUTION,
                        "lift table: the stack did not reach its dish of %g mm: lift stuck at %g MPa", t->dish * 1e3,
                        pressure / 1e6);
}

/* ---- points below it --------------------------------------------------------------------------------------------- */

/* Points with the seat's force, latest first. */
typedef struct seat_forces {
    size_t count;
    double pressure[HELD_POINTS]; /* [Pa] */
    double force[HELD_POINTS];    /* [N]  */
} seat_forces;

/* Adds the last solution. Returns the pressure at which the force is predicted to be zero, by Hermite's interpolation
   of the pressure over the force; 0 where there is no such prediction. */
static double predict_cracking(seat_forces *s, kp_stack_workspace *ws, double pressure)
{
    memmove(s->pressure + 1, s->pressure, s->count * sizeof *s->pressure);
    memmove(s->force + 1, s->force, s->count * sizeof *s->force);
    s->pressure[0] = pressure;
    s->force[0] = kp_stack_seat_force(ws);
    s->count++;

    double weight[HELD_POINTS];
    double guess = kp_hermite_weights(s->count, s->force, 0, weight) / kp_stack_seat_force_rate(ws);
    for (size_t i = 0; i < s->count; i++) {
        guess += weight[i] * s->pressure[i];
    }

    return s->force[0] > 0 && isfinite(guess) && guess > pressure ? guess : 0;
}

static kp_status add_point(kp_lift_table *t, size_t at, double pressure, kp_error *error)
{
    kp_status status = kp_lift_solve(t, pressure, KP_SEAT_HOLDS, error);
    if (status == KP_OK) {
        kp_lift_node n = kp_lift_held_node(t, pressure, pressure);
        status = kp_lift_insert(t, at, &n, error);
    }
    return status;
}

/* Adds points from rest upward, each at its share of the way to the predicted cracking pressure. *guess: that pressure,
   0 where there is no prediction. Stops before the largest pressure. */
static kp_status climb(kp_lift_table *t, int points, double *guess, kp_error *error)
{
    seat_forces forces = {0};
    double pressure = 0;
    kp_status status = KP_OK;
    *guess = predict_cracking(&forces, t->build.workspace, 0);

    for (int left = points; status == KP_OK && left > 1 && *guess > 0 && *guess < max_pressure(t); left--) {
        pressure += (*guess - pressure) / left;
        status = add_point(t, t->count, pressure, error);
        if (status == KP_OK) {
            *guess = predict_cracking(&forces, t->build.workspace, pressure);
        }
    }

    return status;
}

kp_status kp_lift_add_held(kp_lift_table *t, kp_error *error)
{
    int points = t->coarse ? HELD_POINTS_COARSE : HELD_POINTS;
    double guess;
    kp_status status = climb(t, points, &guess, error);

    /* Without a prediction the cracking pressure is guessed from the compliance, and the points are added afterwards.
     */
    bool climbed = status == KP_OK && guess > 0;
    if (status == KP_OK && !climbed) {
        t->count = 1;
        status = kp_lift_find_compliance(t, error);
        guess = kp_lift_reference_pressure(&t->reference, t->dish - t->unloaded_lift);
    }

    /* Points that turn out to lie above the cracking pressure are discarded, and added again below it. */
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

    /* The seat holds in all intervals so far. */
    if (status == KP_OK) {
        t->held = t->build.verified = t->count - 1;
        for (size_t i = 0; i < t->held; i++) {
            kp_lift_choose_interval(t, i);
        }
    }
    return status;
}

/* ---- zero load --------------------------------------------------------------------------------------------------- */

/* Without the seat: how the shims press one another, and whether that or the dish presses them on the seat. */
static kp_status solve_unseated_rest(kp_lift_table *t, bool *pressed, kp_error *error)
{
    kp_stack_workspace *ws = t->build.workspace;
    const kp_stack *s = kp_stack_of(ws);
    double height = s->discs[0].thickness;

    kp_status status = kp_lift_solve(t, 0, KP_SEAT_ABSENT, error);
    if (status != KP_OK) {
        return status;
    }

    double lift = kp_stack_seat_lift(ws);
    t->unloaded_lift = fabs(lift) > KP_LIFT_PRESSED * height ? lift : 0;
    t->unloaded_edge = kp_stack_lift_at(ws, 0, s->discs[0].outer_radius);
    *pressed = lift < s->dish - KP_LIFT_PRESSED * height; /* a loose ring can do so on a flat seat as well */

    kp_stack_start_afresh(ws); /* the shape without the seat is no start for the one on it */
    return KP_OK;
}

kp_status kp_lift_solve_rest(kp_lift_table *t, bool *pressed, kp_error *error)
{
    kp_stack_workspace *ws = t->build.workspace;
    kp_status status = KP_OK;

    bool shims_press = kp_stack_shims_interfere_at_rest(ws, KP_LIFT_PRESSED);
    *pressed = kp_stack_of(ws)->dish > 0;
    if (shims_press) {
        status = solve_unseated_rest(t, pressed, error);
    }

    /* With the seat: the low end of the stress cycle, and the quantities of the point at rest. */
    if (status == KP_OK && (shims_press || kp_stack_seat_interferes_at_rest(ws, KP_LIFT_PRESSED))) {
        status = kp_lift_solve(t, 0, KP_SEAT_HOLDS, error);
        if (status == KP_OK) {
            kp_stack_mark_rest(ws);
            kp_lift_held_node(t, 0, -kp_stack_seat_force(ws) / kp_stack_seat_force_rate(ws));
            memcpy(kp_lift_row(t, 0), kp_lift_row(t, t->build.capacity),
                   kp_lift_quantity_count(t) * sizeof *t->quantity);
        }
    }

    return status;
}
