/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the next solution is looked for: polynomials through the latest solutions, and through the change of the last
   one with pressure (tangent.c), which costs a small part of a Newton step. What they are polynomials in depends on
   what is known:

   the seat holds:      the state, in the pressure. The lift at the seat is fixed, and with it most of what bends and
                        stretches: all is nearly linear in the pressure up to cracking, and somewhat past it.
   a lift is expected:  the shape divided by the lift, in the logarithm of the lift. It changes little and steadily,
                        however far apart the loads are; one solution is enough.
   neither:             the state, in the logarithm of the pressure: lifts grow as powers of it. */
#include "stack/stack_internal.h"

#include <math.h>
#include <string.h>

/* [-] Largest ratio of pressures of neighbouring solutions for a prediction. */
static const double MAX_PRESSURE_RATIO = 2.0;
/* [-] Largest ratio of neighbouring steps, in the logarithm of the pressure, for extrapolation. */
static const double MAX_STEP_RATIO = 3.0;
/* [-] Least ratio of lifts of solutions that a shape is extrapolated from; nearer ones amplify their errors. */
static const double MIN_LIFT_RATIO = 1.1;
/* Solutions that a shape is extrapolated from. */
enum { MAX_SHAPES = 3 };
/* [-] of the step: least difference of pressures of solutions that the seat holds. Not a round number: loads are, and
   rounding would decide ties. */
static const double MIN_HELD_STEP = 0.17;
/* [-] of the way to the pressure at which the seat's force would vanish: a held state is predicted so far past it. */
static const double MAX_PAST_CRACKING = 0.5;
/* [-] Largest lift of a loose ring in a prediction, over that of the clamped shims plus a thickness. */
static const double MAX_RING_LIFT = 2.0;

/* The prediction as a weighted sum: of the state, the previous solutions and the tangent. */
typedef struct blend {
    size_t count;               /* solutions used, the state first */
    double weight[KP_PAST + 1]; /* [-] */
    double tangent;             /* [-] of the change by a scaled pressure of 1 */
} blend;

/* The seat holds. Predicts for the pressure `target` from `from`, both [-]. */
static bool blend_held(kp_stack_workspace *ws, double from, double target, blend *b)
{
    kp_stack_make_tangent_step(ws);
    double force = 0;
    for (size_t i = 0; i < ws->qp.count; i++) {
        size_t g = ws->qp.active[i];
        force += ws->gaps[g].lower == KP_CONTACT_SEAT ? ws->qp.multiplier[g] : 0;
    }

    /* Far past cracking the seat does not hold, and this prediction is none. */
    if (!(force + ws->seat_force_rate * (target - from) >= -MAX_PAST_CRACKING * force)) {
        return false;
    }

    /* Solutions that the seat held too, far enough apart. */
    double x[KP_PAST + 1] = {from};
    double apart = MIN_HELD_STEP * fabs(target - from);
    for (b->count = 1; b->count <= ws->previous_count && ws->previous_held[b->count - 1]; b->count++) {
        x[b->count] = ws->previous_pressure[b->count - 1];
        if (!(fabs(x[b->count] - x[b->count - 1]) >= apart)) {
            break;
        }
    }

    b->tangent = kp_hermite_weights(b->count, x, target, b->weight);
    return true;
}

/* A lift is expected. Each solution's shape is its state divided by its lift at the seat. */
static bool blend_by_lift(kp_stack_workspace *ws, blend *b)
{
    double x[KP_PAST + 1];
    double lift[KP_PAST + 1] = {ws->start_lift};
    memcpy(lift + 1, ws->previous_lift, sizeof ws->previous_lift);

    /* Free solutions whose lifts are far enough apart, latest first. */
    size_t n = 0;

    while (n <= ws->previous_count && n < MAX_SHAPES && lift[n] > 0 && (n == 0 || !ws->previous_held[n - 1]) &&
           (n == 0 || lift[n] < lift[n - 1] / MIN_LIFT_RATIO || lift[n] > lift[n - 1] * MIN_LIFT_RATIO)) {
        x[n] = log(lift[n] / lift[0]);
        n++;
    }

    if (n == 0) {
        return false;
    }

    /* Hermite interpolation of the shapes, then times the wanted lift. */
    double rate = kp_stack_seat_lift_rate(ws);
    double wanted = ws->expected_lift;
    double target = log(wanted / lift[0]);
    double slope = kp_hermite_weights(n, x, target, b->weight);
    b->count = n;

    for (size_t i = 0; i < n; i++) {
        b->weight[i] *= wanted / lift[i];
    }

    /* d(state/lift)/d(log lift) = (d state/d p)/(d lift/d p) - state/lift. */
    b->tangent = slope * wanted / rate;
    b->weight[0] -= slope * wanted / lift[0];
    return true;
}

/* Neither: predicts for the pressure `target` from `from`, both [-]. */
static bool blend_by_pressure(kp_stack_workspace *ws, double from, double target, blend *b)
{
    double x[KP_PAST + 1];
    if (!(from > 0) || !(target > from) || !(target < MAX_PRESSURE_RATIO * from)) {
        return false;
    }

    /* Free solutions at steps of about this length, latest first. */
    x[0] = log(from);
    double step = log(target) - x[0];
    size_t count = 1;

    while (count <= ws->previous_count && ws->previous_pressure[count - 1] > 0 && !ws->previous_held[count - 1]) {
        x[count] = log(ws->previous_pressure[count - 1]);
        double back = x[count - 1] - x[count];
        if (!(back > step / MAX_STEP_RATIO && back < MAX_STEP_RATIO * step && back < log(MAX_PRESSURE_RATIO))) {
            break;
        }
        count++;
    }

    kp_stack_make_tangent_step(ws);
    b->count = count;
    b->tangent = from * kp_hermite_weights(count, x, log(target), b->weight);
    return true;
}

static bool is_held(const kp_stack_workspace *ws)
{
    for (size_t i = 0; i < ws->qp.count; i++) {
        if (ws->gaps[ws->qp.active[i]].lower == KP_CONTACT_SEAT) {
            return true;
        }
    }
    return false;
}

/* Largest lift of the trial, of the loose rings or of the clamped shims. */
static double max_trial_lift(const kp_stack_workspace *ws, bool rings)
{
    double max = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        for (size_t k = 0; plate->ring == rings && k < plate->unknowns; k += KP_PAIR) {
            max = fmax(max, fabs(plate->trial[k]));
        }
    }

    return max;
}

/* trial = the weighted sum. */
static void make_prediction(kp_stack_workspace *ws, const blend *b)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        for (size_t k = 0; k < plate->unknowns; k += KP_PAIR) {
            double sum = b->weight[0] * plate->state[k] + (b->tangent != 0 ? b->tangent * plate->step[k] : 0);
            for (size_t m = 1; m < b->count; m++) {
                sum += b->weight[m] * plate->past[m - 1][k];
            }
            plate->trial[k] = sum;
        }
        kp_plate_condense(plate, plate->trial);
    }
}

bool kp_stack_predict(kp_stack_workspace *ws, double from, double target)
{
    blend b = {0};
    ws->start_lift = kp_stack_seat_lift(ws);
    ws->start_held = is_held(ws);

    /* The three cases above. */
    bool predicted = ws->start_held          ? blend_held(ws, from, target, &b)
                     : ws->expected_lift > 0 ? blend_by_lift(ws, &b)
                                             : blend_by_pressure(ws, from, target, &b);

    if (!predicted) {
        return false;
    }

    make_prediction(ws, &b);

    /* A ring that nothing holds has no determined place: extrapolation would amplify it from load to load. */
    if (max_trial_lift(ws, true) > MAX_RING_LIFT * (1 + max_trial_lift(ws, false))) {
        return false;
    }

    kp_stack_accept_trial(ws);
    return true;
}

void kp_stack_remember(kp_stack_workspace *ws, double from)
{
    /* The arrays rotate: the oldest becomes the next start. */
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        double *oldest = plate->past[KP_PAST - 1];
        memmove(plate->past + 1, plate->past, (KP_PAST - 1) * sizeof *plate->past);
        plate->past[0] = plate->start;
        plate->start = oldest;
    }

    memmove(ws->previous_pressure + 1, ws->previous_pressure, (KP_PAST - 1) * sizeof *ws->previous_pressure);
    memmove(ws->previous_lift + 1, ws->previous_lift, (KP_PAST - 1) * sizeof *ws->previous_lift);
    memmove(ws->previous_held + 1, ws->previous_held, (KP_PAST - 1) * sizeof *ws->previous_held);
    ws->previous_pressure[0] = from;
    ws->previous_lift[0] = ws->start_lift;
    ws->previous_held[0] = ws->start_held;
    ws->previous_count += ws->previous_count < KP_PAST;
}
