/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Private to src/disc, the second half of stack_internal.h, which includes it: how a stack is solved. */
#ifndef KNEEPOINT_STEPS_INTERNAL_H
#define KNEEPOINT_STEPS_INTERNAL_H

#include "stack_internal.h"

/* ---- one step of Newton's method (stack.c) ---- */
/* Says why there is no answer: which shim is furthest from one, or, for a gap that no shape keeps open, which that is.
 */
kp_status kp_stack_no_solution(const kp_stack_workspace *workspace, double pressure, size_t no_room, kp_error *error);
/* Below this part of the energy a step is near the answer. [-] A lift wrong by about a per cent. */
#define KP_DECREMENT_NEAR 1e-4
/* Below this part the energies differ by rounding only and the full step is taken unseen. [-] */
#define KP_DECREMENT_ROUNDING 1e-10
/* Least fall a step must bring, of what its slope promises. [-] Armijo's usual figure. */
#define KP_SEARCH_SLOPE 1e-4
/* A gap that is shut by more than this is not where a search on the potential alone may start. [-] of the pack's height
 */
#define KP_OPEN_ENOUGH 1e-9

/* How the potential would fall along the step, and d.K d: what the step itself is worth. The two differ by the work of
   the contact forces on gaps that were shut only to rounding, which would otherwise pass for a step to be taken. */
typedef struct kp_promise {
    double slope, size; /* [-] */
} kp_promise;

/* Energy of state or trial less the pressure's work on it. */
double kp_stack_potential(const kp_stack_workspace *workspace, bool trial);
/* trial = state + part of the step; state and trial change places. */
void kp_stack_make_trial(kp_stack_workspace *workspace, double part);
void kp_stack_accept_trial(kp_stack_workspace *workspace);
/* Forces and factored tangents of all plates at the state; false where a tangent is not positive. */
bool kp_stack_make_tangents(kp_stack_workspace *workspace);
kp_promise kp_stack_promise(const kp_stack_workspace *workspace);
/* Stored energy and work of the pressure: what decrements are measured by. */
double kp_stack_energy_scale(const kp_stack_workspace *workspace);
/* Part of that which the last step may be worth. */
double kp_stack_enough(const kp_stack_workspace *workspace);
/* Whether no gap is shut, as last straightened. */
bool kp_stack_is_open(const kp_stack_workspace *workspace);
/* Keeps the state in `start`, or puts it back. */
void kp_stack_keep(kp_stack_workspace *workspace, bool put_back);
/* The equilibrium at the workspace's pressure from any state, slower and surer (descent.c). */
bool kp_stack_descend(kp_stack_workspace *workspace);
/* The same from no state at all, surest of all. false: none found; *no_room: that gap cannot be kept open by any shape,
   or gap_count where that was not shown. */
bool kp_stack_harden(kp_stack_workspace *workspace, size_t *no_room);

/* ---- where the next solution is looked for (predict.c) ---- */
/* Makes the state what the latest solutions and their tangent say of the pressure `target`; false: they say nothing.
   Overwrites it all the same. */
bool kp_stack_predict(kp_stack_workspace *workspace, double from, double target);
/* The solution that `start` holds, at the pressure `from`, becomes the latest past one. */
void kp_stack_remember(kp_stack_workspace *workspace, double from);
/* Weights of a function's values at n places, and of its slope at the first, in its value at `at`. */
double kp_tangent_weights(size_t n, const double *x, double at, double *weight);

/* For at most so many active contacts (programme_begin.c). */
kp_status kp_programme_begin(kp_programme *programme, const kp_stack_workspace *workspace, size_t most,
                             kp_error *error);
void kp_programme_free(kp_programme *programme);
/* Newton step of least energy that keeps every enabled gap open: fills each
   plate's step. false: the contacts contradict each other. */
bool kp_programme_solve(kp_stack_workspace *workspace);
/* What the state would do if the contact forces of the last programme stayed as they are: fills each plate's step. */
void kp_programme_relax(kp_stack_workspace *workspace);
/* Its parts: L^-1 of the forces or of unit pressure's load into each plate's free; step = L'^-1 (free + columns x
   direction), which returns its d.K d; gaps after the step; the largest one of an active contact, open or shut, with
   what would shut them all in direction; largest lift of step or state. */
void kp_programme_start_free(kp_stack_workspace *workspace, bool loads_only);
double kp_programme_step_by(kp_stack_workspace *workspace);
void kp_programme_evaluate(kp_stack_workspace *workspace);
double kp_programme_active_gap(const kp_stack_workspace *workspace);
double kp_programme_lift_size(const kp_stack_workspace *workspace, bool of_step);

/* ---- steps by the last tangents (chord.c) ---- */
/* From the state after a full step that was worth `full` [-] of the energy `scale` [-], straightened: at the tilt that
   it started from. true: the state is an equilibrium; false: a full step is needed. */
bool kp_stack_chords(kp_stack_workspace *workspace, double full, bool straightened, double scale);
/* Change of the state with pressure, active contacts kept: fills each plate's
 * step, unless it is there already. */
void kp_programme_tangent(kp_stack_workspace *workspace);

#endif
