/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The stack at one pressure: Newton's method on the condensed energy, contacts by a quadratic programme a step, a line
   search on the total potential energy (a residual search stalls: bending and membrane residuals scale apart).

   The order of attempts: from a prediction; from the last solution, by Newton's method, then by a descent, then with
   the load step halved; from the small-deflection answer; by penalty continuation from the flat stack. */
#include "stack/stack_internal.h"

#include "num/num.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* [-] of the energy: decrement of the first step from a prediction below which the next step is near; its decrement is
   some 1e-5 of this. */
static const double DECREMENT_PREDICTED = 5e-3;
/* [-] of the energy: decrement of a full step below which the remaining steps reuse its Jacobian. */
static const double DECREMENT_FROZEN = 1e-2;
/* [-] of t0: lifts up to this hardly stretch anything. */
static const double SMALL_LIFT = 0.05;
/* [-] of t0: neighbours whose gap at rest is below this touch. */
static const double CLOSED_AT_REST = 1e-9;
/* Loads that take more Newton steps than a few cycle; descent.c solves those. */
enum { MAX_NEWTON_STEPS = 16, MAX_SEARCH_STEPS = 40, MAX_HALVINGS = 4 };

/* ---- Newton's method ---- */

/* Backtracking: makes the trial of the first part of the step that lowers the potential enough (Armijo); false when
   none does. */
static bool search(kp_stack_workspace *ws, double decrement)
{
    double before = kp_stack_potential(ws, KP_STACK_STATE);
    double part = 1;
    for (int k = 0; k < MAX_SEARCH_STEPS; k++) {
        kp_stack_make_trial(ws, part);
        double after = kp_stack_potential(ws, KP_STACK_TRIAL);
        if (after <= before - KP_ARMIJO * part * decrement) {
            return true;
        }
        /* Minimum of the parabola through value, slope and trial, kept between a tenth and a half of the part. */
        double curve = after - before + part * decrement;
        double next = curve > 0 ? part * part * decrement / (2 * curve) : part / 10;
        part = fmin(fmax(next, part / 10), part / 2);
    }

    return false;
}

typedef enum start { START_FAR, START_NEAR } start;

/* START_NEAR: the state is a good prediction. The gaps are linearised anew at each step that starts near the answer;
   such a step is taken in full, as is one from a state that is not open (the seat has just been put under the stack).
 */
static bool newton(kp_stack_workspace *ws, start from)
{
    bool near = from == START_NEAR;
    double tolerance = kp_stack_decrement_tolerance(ws);
    for (int step = 0; step < MAX_NEWTON_STEPS; step++) {
        if (near) {
            kp_contact_linearise(ws, 1);
        }

        if (!kp_stack_factor_tangents(ws) || !kp_qp_solve(ws)) {
            return false;
        }

        ws->record.newton_steps++;

        /* Its decrement measures the distance from the answer. */
        kp_predicted_decrease predicted = kp_stack_predicted_decrease(ws);
        double scale = kp_stack_energy_scale(ws);
        double size = fabs(predicted.size) / scale;
        if (!isfinite(size)) {
            return false;
        }

        ws->record.frozen_steps = 0; /* counted from the last full step */

        /* A full step, or as much of it as lowers the potential. */
        if (near || size <= KP_DECREMENT_ROUNDING || !kp_stack_is_open(ws)) {
            kp_stack_make_trial(ws, 1);
        } else if (!search(ws, predicted.slope)) {
            return false;
        }

        kp_stack_accept_trial(ws);
        kp_stack_record_full_step(ws, size);

        /* A contact that kept a small penetration is resolved by the next step, unless the set cycles. */
        if (near && size <= tolerance && (!ws->qp.tolerance_relaxed || step + 1 == MAX_NEWTON_STEPS)) {
            return true;
        }

        /* Near the answer the remaining steps reuse its Jacobian. */
        if (size <= DECREMENT_FROZEN && kp_stack_frozen_steps(ws, size, near, scale)) {
            return true;
        }

        near = size <= (near && step == 0 ? DECREMENT_PREDICTED : KP_DECREMENT_NEAR);
    }

    return false;
}

/* ---- where an iteration starts ---- */

/* Makes active the contacts that are closed at rest, so that a stack begins as one that lies together: at small load
   most of them stay closed, and the programme drops the others all at once. */
static void activate_closed_gaps(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    p->count = 0;
    for (size_t g = 0; g < ws->gap_count && p->count < p->max_active; g++) {
        const kp_gap *gap = &ws->gaps[g];
        if (gap->enabled && gap->allowance == 0 && fabs(gap->rest) <= CLOSED_AT_REST) {
            p->active[p->count++] = g;
        }
    }
}

/* Makes the state the small-deflection answer with contact, whatever it was: open, and close enough for Newton. */
static bool solve_linear(kp_stack_workspace *ws)
{
    activate_closed_gaps(ws);
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        memset(plate->state, 0, plate->unknowns * sizeof *plate->state);
    }

    kp_contact_linearise(ws, 1);

    /* The tangents of the flat stack; then contacts as in any Newton step. */
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

/* Newton from the prediction by the latest solutions, which may be a small penetration; its first step is a full one.
   When it fails the state is what it was. */
static bool solve_predicted(kp_stack_workspace *ws, double from, double target)
{
    kp_stack_save_state(ws);
    if (!kp_stack_predict(ws, from, target)) {
        return false;
    }

    ws->pressure = target;
    ws->record.load_steps++;
    if (newton(ws, START_NEAR)) {
        return true;
    }

    kp_stack_restore_state(ws);
    ws->pressure = from;
    return false;
}

/* The equilibrium at the workspace's pressure from a state near it. When it fails the state is what it was. */
static bool solve_from_state(kp_stack_workspace *ws)
{
    kp_stack_save_state(ws);
    ws->record.load_steps++;
    if (newton(ws, START_FAR)) {
        return true;
    }

    kp_stack_restore_state(ws);
    if (kp_stack_descend(ws)) {
        return true;
    }

    kp_stack_restore_state(ws);
    return false;
}

/* From the state at `from` to the target, halving the load step where both methods fail. */
static bool solve_by_load_steps(kp_stack_workspace *ws, double from, double target)
{
    double reached = from;
    double next = target;
    for (int halvings = 0; halvings <= MAX_HALVINGS;) {
        ws->pressure = next;
        if (solve_from_state(ws)) {
            if (next == target) {
                return true;
            }
            reached = next;
            next = target;
            continue;
        }
        /* Half the way from the last pressure that was reached. */
        next = reached + (next - reached) / 2;
        halvings++;
    }

    return false;
}

/* From the last solution. Where it is not open, since the seat has just been put under it, only a descent may start. */
static bool continue_from_last(kp_stack_workspace *ws, double target)
{
    double from = ws->pressure;
    if (!kp_stack_is_open(ws)) {
        ws->previous_count = 0;
        ws->pressure = target;
        ws->record.load_steps++;
        return kp_stack_descend(ws);
    }

    /* After several attempts `start` need not be the state at `from`: nothing to extrapolate from. */
    bool done = solve_predicted(ws, from, target) || solve_by_load_steps(ws, from, target);
    if (done && ws->record.load_steps == 1) {
        kp_stack_remember(ws, from);
    } else {
        ws->previous_count = 0;
    }

    return done;
}

/* From the small-deflection answer. At small lifts it is the answer but for the tilt of the faces. */
static bool start_from_linear(kp_stack_workspace *ws)
{
    if (!solve_linear(ws)) {
        return false;
    }

    if (kp_stack_max_lift(ws) <= SMALL_LIFT) {
        kp_stack_save_state(ws);
        ws->record.load_steps++;
        if (newton(ws, START_NEAR)) {
            return true;
        }
        kp_stack_restore_state(ws);
    }

    return solve_from_state(ws);
}

/* ---- the message of a failure ---- */

/* Which shim is furthest from equilibrium. */
static size_t worst_shim(const kp_stack_workspace *ws)
{
    size_t worst = 0;
    double max = -1;
    for (size_t i = 0; i < ws->stack.disc_count; i++) {
        if (ws->plate_of[i] == KP_NO_PLATE) {
            continue;
        }
        const kp_plate *plate = &ws->plates[ws->plate_of[i]];
        double sum = 0;
        for (size_t k = 0; k < plate->unknowns; k++) {
            sum += plate->step[k] * plate->force[k];
        }
        if (fabs(sum) > max) {
            max = fabs(sum);
            worst = i;
        }
    }

    return worst;
}

static kp_status no_solution(const kp_stack_workspace *ws, double pressure, size_t infeasible_gap, kp_error *error)
{
    if (infeasible_gap < ws->gap_count) {
        const kp_gap *gap = &ws->gaps[infeasible_gap];
        return kp_error_set(
            error, KP_NOT_MODELLED,
            "stack: it cannot be clamped flat: whatever shape its shims take, they would pass through "
            "each other, most of all at line %d, %.4g mm across; a loose ring is too thick or too close "
            "to the clamp, or the seat too close to what lies above",
            kp_stack_last_line(ws, gap->lower < 0 ? gap->upper : gap->lower) + 1, 2e3 * gap->rho * ws->length);
    }

    size_t shim = worst_shim(ws);
    return kp_error_set(
        error, KP_NO_SOLUTION, "stack: no equilibrium found at %.6g MPa; furthest from it is line %zu, %g x %g mm",
        pressure / 1e6, shim + 1, 2e3 * ws->stack.discs[shim].outer_radius, 1e3 * ws->stack.discs[shim].thickness);
}

/* ---- the solution at one pressure ---- */

void kp_stack_set_seat(kp_stack_workspace *ws, kp_seat seat)
{
    ws->seat = seat;
    for (size_t g = 0; g < ws->gap_count; g++) {
        if (ws->gaps[g].lower == KP_CONTACT_SEAT) {
            ws->gaps[g].enabled = seat == KP_SEAT_HOLDS;
        }
    }
}

kp_status kp_stack_solve_shape(kp_stack_workspace *ws, double pressure, kp_seat seat, kp_error *error)
{
    double target = pressure / kp_stack_pressure_unit(ws);
    if (!isfinite(target) || target < 0) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "stack: pressure %g Pa: must be finite and not negative", pressure);
    }

    ws->record = (kp_stack_record){0};
    ws->factors_trail_state = false; /* a prediction takes the tangent as the factors give it */
    ws->qp.changes = 0;
    kp_stack_set_seat(ws, seat);

    if (!ws->solved) {
        ws->pressure = 0;
    }

    /* From the last solution, or else from none. */
    bool done = ws->solved && continue_from_last(ws, target);
    size_t infeasible_gap = ws->gap_count;
    if (!done) {
        ws->pressure = target;
        ws->previous_count = 0;
        done = start_from_linear(ws) || kp_stack_penalty_continuation(ws, &infeasible_gap);
    }

    /* What was asked for this solution does not hold for the next. */
    ws->solved = done;
    ws->expected_lift = 0;
    ws->has_tangent = false;
    ws->record.set_changes = ws->qp.changes;
    ws->record.active_contacts = (int)ws->qp.count;

    if (!done) {
        ws->pressure = 0;
        return no_solution(ws, pressure, infeasible_gap, error);
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
