/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The stack at one pressure: Newton's method on the condensed energy, contacts
   by a quadratic programme a step, a line search on the total potential energy
   (a residual search stalls: bending and membrane residuals scale apart). */
#include "stack/stack_internal.h"

#include "num/num.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What is near for the first step from a prediction: the next one is then worth some 1e-5 of this. [-] */
#define DECREMENT_PREDICTED 5e-3
/* What a full step may be worth for the rest to go by its tangents. [-] */
#define CHORD_NEAR 1e-2

/* Lifts that hardly stretch anything. [-] of t0 */
#define LITTLE_LIFT 0.05

/* Neighbours that are this near at rest touch. [-] of t0 */
#define SHUT_AT_REST 1e-9

/* NEWTON_MOST: loads that take more than a few steps go to and fro; descent.c takes those. */
enum { NEWTON_MOST = 16, SEARCH_MOST = 40, HALVINGS_MOST = 4 };

/* Shortest of the steps tried that lowers the potential as promised; false when
 * none does. */
static bool search(kp_stack_workspace *ws, double decrement)
{
    double before = kp_stack_potential(ws, false);
    double part = 1;
    for (int k = 0; k < SEARCH_MOST; k++) {
        kp_stack_make_trial(ws, part);
        double after = kp_stack_potential(ws, true);
        if (after <= before - KP_ARMIJO * part * decrement) {
            return true;
        }
        /* Least of the parabola through value, slope and trial, kept between a
         * tenth and a half. */
        double curve = after - before + part * decrement;
        double next = curve > 0 ? part * part * decrement / (2 * curve) : part / 10;
        part = fmin(fmax(next, part / 10), part / 2);
    }
    return false;
}

/* near: the state is a good prediction. The tilt of the faces is taken anew at each step that starts near the answer;
   such a step is taken in full, as is one from a state that is not open (the seat has just been put under the stack).
 */
static bool newton(kp_stack_workspace *ws, bool near)
{
    double enough = kp_stack_decrement_tolerance(ws);
    for (int step = 0; step < NEWTON_MOST; step++) {
        if (near) {
            kp_contact_linearise(ws, 1);
        }
        if (!kp_stack_factor_tangents(ws) || !kp_qp_solve(ws)) {
            return false;
        }
        ws->record.newton_steps++;
        kp_predicted_decrease fall = kp_stack_predicted_decrease(ws);
        double scale = kp_stack_energy_scale(ws);
        double size = fabs(fall.size) / scale;
        if (!isfinite(size)) {
            return false;
        }
        ws->record.chord_steps = 0; /* those since the last tangents */
        if (near || size <= KP_DECREMENT_ROUNDING || !kp_stack_is_open(ws)) {
            kp_stack_make_trial(ws, 1);
        } else if (!search(ws, fall.slope)) {
            return false;
        }
        kp_stack_accept_trial(ws);
        ws->record.residual = size;
        /* A contact that was let stay a little shut is settled by the next step, unless it comes and goes for ever. */
        if (near && size <= enough && (!ws->qp.loosened || step + 1 == NEWTON_MOST)) {
            return true;
        }
        if (size <= CHORD_NEAR && kp_stack_frozen_steps(ws, size, near, scale)) {
            return true;
        }
        near = size <= (near && step == 0 ? DECREMENT_PREDICTED : KP_DECREMENT_NEAR);
    }
    return false;
}

/* Contacts that are shut at rest, so that a stack begins as one that lies together: most of them stay shut at little
   load, and the programme lets go of the others all at once. */
static void begin_shut(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    p->count = 0;
    for (size_t g = 0; g < ws->gap_count && p->count < p->most; g++) {
        const kp_gap *gap = &ws->gaps[g];
        if (gap->enabled && gap->allowance == 0 && fabs(gap->rest) <= SHUT_AT_REST) {
            p->active[p->count++] = g;
        }
    }
}

/* The small-deflection answer with contact: from anywhere, open, and close
 * enough for Newton. */
static bool restart(kp_stack_workspace *ws)
{
    begin_shut(ws);
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        memset(plate->state, 0, plate->unknowns * sizeof *plate->state);
    }
    kp_contact_linearise(ws, 1);
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        kp_plate_force(plate, ws->pressure);
        kp_plate_assemble_linear(plate);
        if (!kp_plate_factor(plate)) {
            return false;
        }
    }
    if (!kp_qp_solve(ws)) {
        return false;
    }
    kp_stack_make_trial(ws, 1);
    kp_stack_accept_trial(ws);
    return true;
}

static void set_seat(kp_stack_workspace *ws, kp_seat seat)
{
    ws->seat = seat;
    for (size_t g = 0; g < ws->gap_count; g++) {
        if (ws->gaps[g].lower == KP_CONTACT_SEAT) {
            ws->gaps[g].enabled = seat == KP_SEAT_HOLDS;
        }
    }
}

/* Newton from where the latest solutions point. Such a state may overlap a little; its first step is a full one. When
   it fails the state is what it was. */
static bool predict(kp_stack_workspace *ws, double from, double target)
{
    kp_stack_keep(ws, false);
    if (!kp_stack_predict(ws, from, target)) {
        return false;
    }
    ws->pressure = target;
    ws->record.load_steps++;
    if (newton(ws, true)) {
        return true;
    }
    kp_stack_keep(ws, true);
    ws->pressure = from;
    return false;
}

/* The equilibrium at the workspace's pressure from a state near it. When it fails the state is that of `start`. */
static bool reach(kp_stack_workspace *ws)
{
    kp_stack_keep(ws, false);
    ws->record.load_steps++;
    if (newton(ws, false)) {
        return true;
    }
    kp_stack_keep(ws, true);
    if (kp_stack_descend(ws)) {
        return true;
    }
    kp_stack_keep(ws, true);
    return false;
}

/* From the state at `from` to the target, halving the load step where both fail. */
static bool follow(kp_stack_workspace *ws, double from, double target)
{
    double reached = from;
    double next = target;
    for (int halvings = 0; halvings <= HALVINGS_MOST;) {
        ws->pressure = next;
        if (reach(ws)) {
            if (next == target) {
                return true;
            }
            reached = next;
            next = target;
            continue;
        }
        next = reached + (next - reached) / 2;
        halvings++;
    }
    return false;
}

/* From the last solution. One that is not open (the seat has just been put under it) is where only a descent may start.
 */
static bool go_on(kp_stack_workspace *ws, double target)
{
    double from = ws->pressure;
    if (!kp_stack_is_open(ws)) {
        ws->past_count = 0;
        ws->pressure = target;
        ws->record.load_steps++;
        return kp_stack_descend(ws);
    }
    bool done = predict(ws, from, target) || follow(ws, from, target);
    if (done && ws->record.load_steps == 1) {
        kp_stack_remember(ws, from);
    } else {
        ws->past_count = 0;
    }
    return done;
}

/* From nothing. Where little lifts, the small-deflection answer is one but for the tilt of the faces. */
static bool begin_anew(kp_stack_workspace *ws)
{
    if (!restart(ws)) {
        return false;
    }
    if (kp_stack_max_lift(ws, false) <= LITTLE_LIFT) {
        kp_stack_keep(ws, false);
        ws->record.load_steps++;
        if (newton(ws, true)) {
            return true;
        }
        kp_stack_keep(ws, true);
    }
    return reach(ws);
}

/* Which shim is furthest from equilibrium, for the message. */
static size_t worst_shim(const kp_stack_workspace *ws)
{
    size_t worst = 0;
    double most = -1;
    for (size_t i = 0; i < ws->stack.disc_count; i++) {
        if (ws->plate_of[i] == KP_NO_PLATE) {
            continue;
        }
        const kp_plate *plate = &ws->plates[ws->plate_of[i]];
        double sum = 0;
        for (size_t k = 0; k < plate->unknowns; k++) {
            sum += plate->step[k] * plate->force[k];
        }
        if (fabs(sum) > most) {
            most = fabs(sum);
            worst = i;
        }
    }
    return worst;
}

static kp_status no_solution(const kp_stack_workspace *ws, double pressure, size_t no_room, kp_error *error)
{
    if (no_room < ws->gap_count) {
        const kp_gap *gap = &ws->gaps[no_room];
        return kp_error_set(
            error, KP_NOT_MODELLED,
            "stack: it cannot be clamped flat: whatever shape its shims take, they would pass through "
            "each other, most of all at line %d, %.4g mm across; a loose ring is too thick or too close "
            "to the clamp, or the seat too close to what lies above",
            kp_stack_line_of(ws, gap->lower < 0 ? gap->upper : gap->lower, true) + 1, 2e3 * gap->rho * ws->length);
    }
    size_t shim = worst_shim(ws);
    return kp_error_set(
        error, KP_NO_SOLUTION, "stack: no equilibrium found at %.6g MPa; furthest from it is line %zu, %g x %g mm",
        pressure / 1e6, shim + 1, 2e3 * ws->stack.discs[shim].outer_radius, 1e3 * ws->stack.discs[shim].thickness);
}

kp_status kp_stack_solve(kp_stack_workspace *ws, double pressure, kp_seat seat, kp_error *error)
{
    double target = pressure / kp_stack_pressure_unit(ws);
    if (!isfinite(target) || target < 0) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "stack: pressure %g Pa: must be finite and not negative", pressure);
    }
    ws->record = (kp_stack_record){0};
    ws->qp.changes = 0;
    set_seat(ws, seat);
    if (!ws->solved) {
        ws->pressure = 0;
    }
    bool done = ws->solved && go_on(ws, target);
    size_t no_room = ws->gap_count;
    if (!done) {
        ws->pressure = target;
        ws->past_count = 0;
        done = begin_anew(ws) || kp_stack_penalty_continuation(ws, &no_room);
    }
    ws->solved = done;
    ws->expected_lift = 0;
    ws->has_tangent = false;
    ws->record.set_changes = ws->qp.changes;
    ws->record.active_contacts = (int)ws->qp.count;
    if (!done) {
        ws->pressure = 0;
        return no_solution(ws, pressure, no_room, error);
    }
    return KP_OK;
}

void kp_stack_expect_lift(kp_stack_workspace *ws, double seat_lift)
{
    ws->expected_lift = seat_lift;
}

void kp_stack_start_afresh(kp_stack_workspace *ws)
{
    ws->solved = false;
}
