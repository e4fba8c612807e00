/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the room stack offers to lift beyond its public header. Pressures called scaled are in the unit of
   kp_stack_pressure_unit. */
#ifndef KNEEPOINT_STACK_STACK_H
#define KNEEPOINT_STACK_STACK_H

#include "kneepoint/stack.h"
#include "plate/plate.h"

/* ---- pressure and its tangent ---- */

/* [Pa] of a scaled pressure of 1. */
double kp_stack_pressure_unit(const kp_stack_workspace *workspace);
/* [-] the scaled pressure of the last solution. */
double kp_stack_scaled_pressure(const kp_stack_workspace *workspace);
/* d(seat force)/d(pressure) at the last solution [N/Pa]. Uses the workspace's scratch. */
double kp_stack_seat_force_rate(kp_stack_workspace *workspace);

/* d(seat lift)/d(force) [m/N] of a ring of force at the land's inner edge, at the last solution with the active
   contacts held. Forgets the tangent step. Uses the workspace's scratch. */
double kp_stack_ring_compliance(kp_stack_workspace *workspace);

/* Makes each plate's step the change of the state with scaled pressure at the last solution (tangent.c). */
void kp_stack_make_tangent_step(kp_stack_workspace *workspace);
/* Puts the state a step of scaled pressure further along its tangent into the trial. Needs the tangent step, or a rate,
   to have been made since the last solution. */
void kp_stack_trial_along_tangent(kp_stack_workspace *workspace, double scaled_step);

/* ---- where the next solution starts ---- */

/* Tells the next solution about where its seat lift will be [m]; the prediction starts from there. */
void kp_stack_expect_lift(kp_stack_workspace *workspace, double seat_lift);
/* Makes the next solution start from the flat stack instead of the last solution. */
void kp_stack_start_afresh(kp_stack_workspace *workspace);

/* ---- reading the last solution, or the trial that kp_stack_trial_along_tangent made ---- */

typedef enum kp_stack_shape { KP_STACK_STATE = 0, KP_STACK_TRIAL = 1 } kp_stack_shape;

/* Lift of the face shim's rim [m]. */
double kp_stack_rim_lift(const kp_stack_workspace *workspace, kp_stack_shape shape);
/* Largest stress and fatigue use of one disc: kp_stack_peak_stress's and kp_stack_cycle's in one pass. */
kp_peaks kp_stack_peaks(const kp_stack_workspace *workspace, size_t disc, kp_stack_shape shape);
/* Whether two discs have the same peaks: merged into one plate, with the same strengths. */
bool kp_stack_same_peaks(const kp_stack_workspace *workspace, size_t a, size_t b);

/* ---- gaps at rest ---- */

/* Whether some gap at the seat, or some other gap, is a penetration at rest of more than a tolerance [-] of the face
   shim's thickness. */
bool kp_stack_seat_interferes_at_rest(const kp_stack_workspace *workspace, double tolerance);
bool kp_stack_shims_interfere_at_rest(const kp_stack_workspace *workspace, double tolerance);
/* Whether some gap between shims, or to the stop, is at rest neither closed to a tolerance [-] of the face shim's
   thickness nor open by `far` [m]. */
bool kp_stack_has_gap_within(const kp_stack_workspace *workspace, double tolerance, double far);

#endif
