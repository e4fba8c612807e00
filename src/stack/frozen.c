/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Newton steps with a frozen Jacobian (Ortega and Rheinboldt, Iterative Solution of Nonlinear Equations in Several
   Variables, section 7.1, from memory).

   A Newton step costs its tangents, the contacts' columns and their Schur complement; near the answer those hardly
   change. A frozen step evaluates forces, contact forces and gaps anew, at the state's own tilt, and reuses the rest
   from the last full step:

       K0 d = f + C1' m + C0' n,   c1 + C1 d = 0,

   m the contact forces so far and n their change. At its fixed point d and n are zero and the state is an equilibrium,
   whatever K0 and C0 were; its error is the last step times the relative error of the tangents. It keeps the active
   set: where a contact would have to pull, or another closes, the step is not taken and a full step is.

   Measured by instructions counted with these steps and without them: they save 16.5 % of a lift table, 7.3 % of a load
   path of far-apart loads and 0.5 % of coarse tables. Removing them would change the last digits of results. */
#include "stack/stack_internal.h"

#include "num/num.h"

#include <math.h>
#include <string.h>

/* [-] Largest decrement of a frozen step over that of the step before it. Larger means that the Jacobian has aged. */
static const double MAX_RATIO = 1e-2;
/* [-] Decrement tolerances below this are left to full steps, whose error falls quadratically. */
static const double MIN_TOLERANCE = 1e-9;
/* [-] of a thickness plus the largest lift: gap of an active contact, and penetration of another, after a frozen step.
 */
static const double GAP_TOLERANCE = 1e-11;
/* More steps than MAX_STEPS are no cheaper than a full step; nor are more refinements of one. */
enum { MAX_STEPS = 4, MAX_REFINEMENTS = 3 };

void kp_stack_add_contact_forces(kp_stack_workspace *ws, const double *multiplier)
{
    const kp_qp *p = &ws->qp;
    for (size_t i = 0; i < p->count; i++) {
        for (size_t k = 0; k < 2; k++) {
            const kp_side *side = &ws->gaps[p->active[i]].side[k];
            if (side->plate < 0) {
                continue;
            }
            double *force = ws->plates[side->plate].force + side->base;
            for (size_t j = 0; j < KP_LOCAL; j++) {
                force[KP_PAIR * j] += multiplier[i] * side->shape[j];
            }
        }
    }
}

double kp_stack_frozen_solve(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    kp_qp_free_step_of_forces(ws);
    kp_schur_free_gaps(ws, p->value);

    /* n from S n = - the gaps of the free step. */
    for (size_t i = 0; i < p->count; i++) {
        p->direction[i] = -p->free_gap[p->active[i]];
    }

    kp_schur_solve(p, p->direction);
    memcpy(p->row, p->direction, p->count * sizeof *p->row);
    return kp_qp_finish_step(ws);
}

/* Refines the step until active gaps are closed by their own coefficients C1, not the columns' C0. */
static bool close_active_gaps(kp_stack_workspace *ws, double tolerance)
{
    kp_qp *p = &ws->qp;
    kp_qp_evaluate_gaps(ws);
    for (int k = 0; kp_qp_max_active_gap(ws) > tolerance; k++) {
        if (k == MAX_REFINEMENTS) {
            return false;
        }
        kp_schur_solve(p, p->direction);
        for (size_t i = 0; i < p->count; i++) {
            p->direction[i] += p->row[i];
            p->row[i] = p->direction[i];
        }
        kp_qp_finish_step(ws);
        kp_qp_evaluate_gaps(ws);
    }

    return true;
}

/* Adds the change of the contact forces, if after the step no active contact pulls and no other gap is a penetration.
 */
static bool update_multipliers(kp_stack_workspace *ws, double tolerance)
{
    kp_qp *p = &ws->qp;
    for (size_t i = 0; i < p->count; i++) {
        if (!(p->multiplier[p->active[i]] + p->row[i] >= 0)) {
            return false;
        }
    }

    for (size_t g = 0; g < ws->gap_count; g++) {
        if (p->value[g] < -tolerance && ws->gaps[g].enabled && !p->skipped[g]) {
            return false;
        }
    }

    /* The active set stays as it is. */
    for (size_t i = 0; i < p->count; i++) {
        p->multiplier[p->active[i]] += p->row[i];
    }

    return true;
}

/* One frozen step, not taken when its decrement is more than `max_size`, [-] of the energy `scale`. */
static bool frozen_step(kp_stack_workspace *ws, double scale, double max_size, double *size)
{
    kp_qp *p = &ws->qp;

    /* f + C1' m and c1, at the state's own tilt. */
    kp_contact_linearise(ws, 1);
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate_force(&ws->plates[i], ws->pressure);
    }

    for (size_t i = 0; i < p->count; i++) {
        p->row[i] = p->multiplier[p->active[i]];
    }

    kp_stack_add_contact_forces(ws, p->row);
    kp_gap_values(ws, p->rest_value);
    memcpy(p->value, p->rest_value, ws->gap_count * sizeof *p->value);

    /* K0 d = ..., with the frozen factors and columns. */
    *size = kp_stack_frozen_solve(ws) / scale;
    if (!(*size <= max_size)) {
        return false;
    }

    double tolerance = GAP_TOLERANCE * (1 + kp_stack_max_lift(ws));
    if (!close_active_gaps(ws, tolerance) || !update_multipliers(ws, tolerance)) {
        return false;
    }

    /* The step is whole, as Newton's last ones are. */
    kp_stack_make_trial(ws, 1);
    kp_stack_accept_trial(ws);
    return true;
}

bool kp_stack_frozen_steps(kp_stack_workspace *ws, double full, bool linearised_here, double scale)
{
    double tolerance = kp_stack_decrement_tolerance(ws);
    if (tolerance < MIN_TOLERANCE || ws->qp.tolerance_relaxed) {
        return false;
    }

    /* Steps are compared by the root of their decrement. The full step's own error and the tangents' error both grow as
       the full step does, the first about half as fast: the first frozen step's contraction counts twice. Where the
       full step kept an older tilt, the first frozen step says nothing of the next. */
    double before = full, max_size = linearised_here ? MAX_RATIO * full : KP_DECREMENT_NEAR;
    double factor = linearised_here ? 2 : 0;

    for (int k = 0; k < MAX_STEPS; k++) {
        double size;
        if (!frozen_step(ws, scale, max_size, &size)) {
            return false;
        }

        ws->record.frozen_steps++;
        ws->record.residual = size;
        ws->factors_trail_state = true;

        /* What remains after this step: its size times the contraction seen. */
        double contraction = factor > 0 ? factor * sqrt(size / before) : 1;
        if (sqrt(size) * contraction <= tolerance) {
            return true;
        }

        before = size;
        max_size = MAX_RATIO * size;
        factor = 1;
    }

    return false;
}
