/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the next solution is looked for: polynomials through the latest solutions, and through the change of the last
   one with pressure (chord.c), which costs a small part of a Newton step. What they run over depends on what is known:

   the seat holds:      the state, over the pressure. The lift at the seat stands still, and with it most of what bends
                        and stretches: all is nearly straight in the pressure up to cracking, a little behind it too.
   a lift is expected:  the shape for a lift of one, over the logarithm of the lift. It changes little and steadily,
                        whatever the loads are apart; one solution is enough.
   neither:             the state, over the logarithm of the pressure: lifts there go as powers. */
#include "stack/stack_internal.h"

#include <math.h>
#include <string.h>

/* Pressures of neighbouring solutions may differ by this factor for a prediction, and their steps be unlike by that. */
#define PREDICT_RATIO  2.0
#define PREDICT_UNLIKE 3.0
/* Lifts of solutions that a shape is extrapolated over differ by this factor at least, and so many are used. */
#define EXPECT_APART 1.1
enum { EXPECT_MOST = 3 };
/* Pressures of solutions that the seat holds differ by this part of the step at least. [-] No round number: loads are,
   and a tie would be settled by rounding. */
#define HELD_APART 0.17
/* How far behind the pressure at which the seat's force would be gone a held state is followed, [-] of the way there.
 */
#define HELD_BEHIND 0.5
/* Loose rings are not looked for so many times further up than clamped shims, and a thickness. [-] */
#define RING_FAR 2.0

/* What the prediction is made of: so much of each solution, the state first, and of the tangent. */
typedef struct blend {
    size_t count;
    double weight[KP_PAST + 1];
    double tangent;
} blend;

/* The pressure `target` is looked for from `from`, both [-]. */
static bool over_held(kp_stack_workspace *ws, double from, double target, blend *b)
{
    kp_stack_make_tangent_step(ws);
    double force = 0;
    for (size_t i = 0; i < ws->qp.count; i++) {
        size_t g = ws->qp.active[i];
        force += ws->gaps[g].lower == KP_CONTACT_SEAT ? ws->qp.multiplier[g] : 0;
    }
    if (!(force + ws->seat_force_rate * (target - from) >= -HELD_BEHIND * force)) {
        return false;
    }
    double x[KP_PAST + 1] = {from};
    double apart = HELD_APART * fabs(target - from);
    for (b->count = 1; b->count <= ws->past_count && ws->past_held[b->count - 1]; b->count++) {
        x[b->count] = ws->past_pressure[b->count - 1];
        if (!(fabs(x[b->count] - x[b->count - 1]) >= apart)) {
            break;
        }
    }
    b->tangent = kp_hermite_weights(b->count, x, target, b->weight);
    return true;
}

static bool over_lift(kp_stack_workspace *ws, blend *b)
{
    double x[KP_PAST + 1];
    double lift[KP_PAST + 1] = {ws->start_lift};
    memcpy(lift + 1, ws->past_lift, sizeof ws->past_lift);
    size_t n = 0;
    while (n <= ws->past_count && n < EXPECT_MOST && lift[n] > 0 && (n == 0 || !ws->past_held[n - 1]) &&
           (n == 0 || lift[n] < lift[n - 1] / EXPECT_APART || lift[n] > lift[n - 1] * EXPECT_APART)) {
        x[n] = log(lift[n] / lift[0]);
        n++;
    }
    if (n == 0) {
        return false;
    }
    double rise = kp_stack_seat_lift_rate(ws);
    double wanted = ws->expected_lift;
    double target = log(wanted / lift[0]);
    double slope = kp_hermite_weights(n, x, target, b->weight);
    b->count = n;
    for (size_t i = 0; i < n; i++) {
        b->weight[i] *= wanted / lift[i];
    }
    b->tangent = slope * wanted / rise;
    b->weight[0] -= slope * wanted / lift[0];
    return true;
}

static bool over_pressure(kp_stack_workspace *ws, double from, double target, blend *b)
{
    double x[KP_PAST + 1];
    if (!(from > 0) || !(target > from) || !(target < PREDICT_RATIO * from)) {
        return false;
    }
    x[0] = log(from);
    double step = log(target) - x[0];
    size_t count = 1;
    while (count <= ws->past_count && ws->past_pressure[count - 1] > 0 && !ws->past_held[count - 1]) {
        x[count] = log(ws->past_pressure[count - 1]);
        double back = x[count - 1] - x[count];
        if (!(back > step / PREDICT_UNLIKE && back < PREDICT_UNLIKE * step && back < log(PREDICT_RATIO))) {
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

/* Largest lift of the clamped shims, or of the loose rings, in the trial. */
static double largest(const kp_stack_workspace *ws, bool rings)
{
    double most = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        for (size_t k = 0; plate->ring == rings && k < plate->unknowns; k += KP_PAIR) {
            most = fmax(most, fabs(plate->trial[k]));
        }
    }
    return most;
}

bool kp_stack_predict(kp_stack_workspace *ws, double from, double target)
{
    blend b = {0};
    ws->start_lift = kp_stack_seat_lift(ws);
    ws->start_held = is_held(ws);
    bool done = ws->start_held          ? over_held(ws, from, target, &b)
                : ws->expected_lift > 0 ? over_lift(ws, &b)
                                        : over_pressure(ws, from, target, &b);
    if (!done) {
        return false;
    }
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        for (size_t k = 0; k < plate->unknowns; k += KP_PAIR) {
            double sum = b.weight[0] * plate->state[k] + (b.tangent != 0 ? b.tangent * plate->step[k] : 0);
            for (size_t m = 1; m < b.count; m++) {
                sum += b.weight[m] * plate->past[m - 1][k];
            }
            plate->trial[k] = sum;
        }
        kp_plate_condense(plate, plate->trial);
    }
    /* A ring that nothing holds is anywhere, and what is read from that grows from load to load until it is far off. */
    if (largest(ws, true) > RING_FAR * (1 + largest(ws, false))) {
        return false;
    }
    kp_stack_accept_trial(ws);
    return true;
}

void kp_stack_remember(kp_stack_workspace *ws, double from)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        double *oldest = plate->past[KP_PAST - 1];
        memmove(plate->past + 1, plate->past, (KP_PAST - 1) * sizeof *plate->past);
        plate->past[0] = plate->start;
        plate->start = oldest;
    }
    memmove(ws->past_pressure + 1, ws->past_pressure, (KP_PAST - 1) * sizeof *ws->past_pressure);
    memmove(ws->past_lift + 1, ws->past_lift, (KP_PAST - 1) * sizeof *ws->past_lift);
    memmove(ws->past_held + 1, ws->past_held, (KP_PAST - 1) * sizeof *ws->past_held);
    ws->past_pressure[0] = from;
    ws->past_lift[0] = ws->start_lift;
    ws->past_held[0] = ws->start_held;
    ws->past_count += ws->past_count < KP_PAST;
}
