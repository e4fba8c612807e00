/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The change of the state with pressure, the active contacts held closed:

       K d = load + C' n,   C d = 0,

   n the change of the contact forces. The factors at hand are those of the last full step. Where the state has moved on
   since, the d and n that they give are corrected once: the equations' residual at the state, taken by a central
   difference of the forces along d, goes through the same factors. */
#include "stack/lobed.h"

#include <string.h>

/* [-] of the pressure: half the interval of the central difference. */
static const double DIFFERENCE = 1e-4;

/* Adds the change of the contact forces as the plates tilt along the step. */
static void add_tilt_forces(kp_stack_workspace *ws)
{
    const kp_qp *p = &ws->qp;
    double scale = ws->height * ws->height / (ws->length * ws->length);
    for (size_t i = 0; i < p->count; i++) {
        size_t g = p->active[i];
        for (size_t k = 0; k < 2; k++) {
            const kp_side *side = &ws->gaps[g].side[k];
            if (side->plate < 0 || ws->plates[side->plate].ring) {
                continue;
            }
            kp_plate *plate = &ws->plates[side->plate];
            /* A contact force F on a face tilted by w' has the moment F t w'/2 on the plate. */
            double turn =
                p->multiplier[g] * scale * plate->thickness / 2 * kp_plate_sum(side->slope, plate->step + side->base);
            for (size_t j = 0; j < KP_LOCAL; j++) {
                plate->force[side->base + KP_PAIR * j] -= turn * side->slope[j];
            }
        }
    }
}

/* Forces a part of the step further on, with as much more pressure. The state stays. */
static void forces_along(kp_stack_workspace *ws, double part)
{
    kp_stack_make_trial(ws, part);
    kp_stack_accept_trial(ws);
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate_force(&ws->plates[i], ws->pressure + part);
    }
    kp_stack_accept_trial(ws); /* changes places back */
}

/* Fills each plate's force with its derivative along the step, the pressure rising by one with it. */
static void differentiate_forces(kp_stack_workspace *ws, double part)
{
    forces_along(ws, -part);
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        memcpy(plate->free, plate->force, plate->unknowns * sizeof *plate->free);
    }

    /* Central difference; `free` holds the lower value. */
    forces_along(ws, part);
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        for (size_t k = 0; k < plate->unknowns; k += KP_PAIR) {
            plate->force[k] = (plate->force[k] - plate->free[k]) / (2 * part);
        }
    }
}

/* The seat's share of the contact forces in `direction`. */
static double seat_force_in_direction(const kp_stack_workspace *ws)
{
    const kp_qp *p = &ws->qp;
    double sum = 0;
    for (size_t i = 0; i < p->count; i++) {
        sum += ws->gaps[p->active[i]].lower == KP_CONTACT_SEAT ? p->direction[i] : 0;
    }
    return sum;
}

/* The tangent step by the factors at hand. */
static void solve_tangent(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    kp_qp_free_step_of_load(ws);
    kp_schur_free_gaps(ws, NULL);

    /* n from S n = - the gaps that the load alone would open. */
    for (size_t i = 0; i < p->count; i++) {
        p->direction[i] = -p->free_gap[p->active[i]];
    }

    kp_schur_solve(p, p->direction);
    kp_qp_finish_step(ws);
    ws->seat_force_rate = seat_force_in_direction(ws);
}

/* One frozen step of the tangent's own equations: the trial holds the step that is corrected. */
static void correct_tangent(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    memcpy(p->row, p->direction, p->count * sizeof *p->row);

    /* The residual at the state: forces along the step, with those of contacts and of their tilt. */
    differentiate_forces(ws, DIFFERENCE * ws->pressure);
    kp_stack_add_contact_forces(ws, p->row);
    add_tilt_forces(ws);

    /* The gaps' residual: the step opens them by the state's own coefficients. */
    for (size_t i = 0; i < p->count; i++) {
        p->value[p->active[i]] = kp_gap_increment(ws, &ws->gaps[p->active[i]]);
    }

    /* The correction is a step of its own, and added. */
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        memcpy(plate->trial, plate->step, plate->unknowns * sizeof *plate->trial);
    }

    kp_stack_frozen_solve(ws);
    ws->seat_force_rate += seat_force_in_direction(ws);
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        for (size_t k = 0; k < plate->unknowns; k++) {
            plate->step[k] += plate->trial[k];
        }
    }
}

void kp_stack_make_tangent_step(kp_stack_workspace *ws)
{
    if (ws->has_tangent || ws->folded) {
        return; /* a solution with lobes comes with its rate */
    }

    ws->has_tangent = true;
    solve_tangent(ws);
    if (ws->factors_trail_state && ws->pressure > 0) {
        correct_tangent(ws);
    }
}

void kp_stack_trial_along_tangent(kp_stack_workspace *workspace, double scaled_step)
{
    kp_stack_workspace *ws = kp_stack_solution(workspace);
    if (ws->folded) {
        kp_lobed_trial_along_rate(ws, scaled_step);
    } else {
        kp_stack_make_trial(ws, scaled_step);
    }
}

/* ---- rates ---- */

double kp_stack_seat_lift_rate(kp_stack_workspace *workspace)
{
    kp_stack_workspace *ws = kp_stack_solution(workspace);
    kp_stack_make_tangent_step(ws);
    double rate, amplitude;
    if (ws->folded) {
        kp_lobed_seat_rate(ws, &rate, &amplitude);
    } else if (ws->gap_count == 0) {
        rate = kp_plate_lift(&ws->plates[0], ws->plates[0].step, ws->stack.land_inner_radius / ws->length);
    } else {
        rate = kp_gap_increment(ws, &ws->gaps[0]);
    }

    return rate * ws->height;
}

double kp_stack_seat_compliance(kp_stack_workspace *ws)
{
    return kp_stack_seat_lift_rate(ws) / kp_stack_pressure_unit(ws);
}

double kp_stack_seat_force_rate(kp_stack_workspace *workspace)
{
    kp_stack_workspace *ws = kp_stack_solution(workspace);
    kp_stack_make_tangent_step(ws);
    double rate = ws->folded ? kp_lobed_seat_force_rate(ws) : ws->seat_force_rate;
    return rate * kp_stack_energy_unit(ws) / ws->height / kp_stack_pressure_unit(ws);
}
