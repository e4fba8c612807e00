/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Steps by the tangents of the step before (the chord method: Ortega and Rheinboldt, Iterative Solution of Nonlinear
   Equations in Several Variables, section 7.1, from memory), and the change of the state with pressure.

   A Newton step costs its tangents, the contacts' columns and their Schur complement; near the answer those hardly
   change. A chord step takes forces, contact forces and gaps anew, at the state's own tilt, and all the rest as the
   last full step left it:

       K0 d = f + C1' m + C0' n,   c1 + C1 d = 0,

   m the contact forces so far and n their change. Where it ends d and n are nothing and the state is an equilibrium,
   whatever K0 and C0 were; what it leaves is the last step times the part by which the tangents are off. It keeps
   the active set; where a contact would have to pull, or another closes, it is not taken and a full step is. */
#include "stack/stack_internal.h"

#include "num/num.h"

#include <math.h>
#include <string.h>

/* A chord step may be worth this part of what the full step before it was. [-] */
#define CHORD_WORTH 1e-2
/* More than this many are no cheaper than a full step. */
enum { CHORDS_MOST = 4, REFINEMENTS_MOST = 3 };
/* Tolerances below this are not what chords are for. [-] */
#define EXACTLY 1e-9
/* What gaps may be shut by after it, and active ones open. [-] of a thickness plus the largest lift */
#define CHORD_SHUT 1e-11
/* A last full step worth less leaves the tangents right to 1e-6. [-] of the energy */
#define AS_FACTORED 1e-12
/* To whom this is enough of a solution those tangents are as well. [-] Screening */
#define TOLERANCE_AS_FACTORED 1e-3
/* Part of the pressure over which forces are compared for the tangent. [-] */
#define NEARBY 1e-4

/* Adds to the forces what active contacts do: multipliers by position. */
static void add_contact_forces(kp_stack_workspace *ws, const double *multiplier)
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

/* The step that the forces make while each active gap changes by what p->value says, as a first guess of the change of
   the contact forces in p->direction and p->row. Returns its d.K d. */
static double step_to(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    kp_qp_start_free(ws, false);
    kp_schur_free_gaps(ws, p->value);
    for (size_t i = 0; i < p->count; i++) {
        p->direction[i] = -p->free_gap[p->active[i]];
    }
    kp_schur_solve(p, p->direction);
    memcpy(p->row, p->direction, p->count * sizeof *p->row);
    return kp_qp_finish_step(ws);
}

/* Corrects the step until active gaps are shut by their own coefficients, not the columns'. */
static bool shut_active(kp_stack_workspace *ws, double enough)
{
    kp_qp *p = &ws->qp;
    kp_qp_evaluate_gaps(ws);
    for (int k = 0; kp_qp_max_active_gap(ws) > enough; k++) {
        if (k == REFINEMENTS_MOST) {
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

/* Whether no active contact pulls after the step and no other is shut; takes the contact forces if so. */
static bool keeps_set(kp_stack_workspace *ws, double enough)
{
    kp_qp *p = &ws->qp;
    for (size_t i = 0; i < p->count; i++) {
        if (!(p->multiplier[p->active[i]] + p->row[i] >= 0)) {
            return false;
        }
    }
    for (size_t g = 0; g < ws->gap_count; g++) {
        if (p->value[g] < -enough && ws->gaps[g].enabled && !p->passed_over[g]) {
            return false;
        }
    }
    for (size_t i = 0; i < p->count; i++) {
        p->multiplier[p->active[i]] += p->row[i];
    }
    return true;
}

/* One chord step, not taken when it is worth more than `most`, [-] of the energy `scale`. */
static bool chord(kp_stack_workspace *ws, double scale, double most, double *size)
{
    kp_qp *p = &ws->qp;
    kp_contact_linearise(ws, 1);
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate_force(&ws->plates[i], ws->pressure);
    }
    for (size_t i = 0; i < p->count; i++) {
        p->row[i] = p->multiplier[p->active[i]];
    }
    add_contact_forces(ws, p->row);
    kp_gap_values(ws, p->rest_value);
    memcpy(p->value, p->rest_value, ws->gap_count * sizeof *p->value);
    *size = step_to(ws) / scale;
    if (!(*size <= most)) {
        return false;
    }
    double enough = CHORD_SHUT * (1 + kp_stack_max_lift(ws, false));
    if (!shut_active(ws, enough) || !keeps_set(ws, enough)) {
        return false;
    }
    kp_stack_make_trial(ws, 1);
    kp_stack_accept_trial(ws);
    return true;
}

bool kp_stack_frozen_steps(kp_stack_workspace *ws, double full, bool straightened, double scale)
{
    double enough = kp_stack_decrement_tolerance(ws);
    if (enough < EXACTLY || ws->qp.loosened) {
        return false;
    }
    /* The full step's own error and the tangents' both go as it does: the first is some half of the second times it.
       Where the full step kept an older tilt, the first says nothing. */
    double before = full, most = straightened ? CHORD_WORTH * full : KP_DECREMENT_NEAR;
    double times = straightened ? 2 : 0;
    for (int k = 0; k < CHORDS_MOST; k++) {
        double size;
        if (!chord(ws, scale, most, &size)) {
            return false;
        }
        ws->record.chord_steps++;
        ws->record.residual = size;
        double left = times > 0 ? times * sqrt(size / before) : 1;
        if (sqrt(size) * left <= enough) {
            return true;
        }
        before = size;
        most = CHORD_WORTH * size;
        times = 1;
    }
    return false;
}

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
            double turn =
                p->multiplier[g] * scale * plate->thickness / 2 * kp_plate_sum(side->slope, plate->step + side->base);
            for (size_t j = 0; j < KP_LOCAL; j++) {
                plate->force[side->base + KP_PAIR * j] -= turn * side->slope[j];
            }
        }
    }
}

/* Forces a part of the step on, with as much more pressure. The state stays. */
static void forces_along(kp_stack_workspace *ws, double part)
{
    kp_stack_make_trial(ws, part);
    kp_stack_accept_trial(ws);
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate_force(&ws->plates[i], ws->pressure + part);
    }
    kp_stack_accept_trial(ws); /* back */
}

/* Fills each plate's force with how it changes along the step, per part of it, and the pressure with it by one. */
static void differentiate_forces(kp_stack_workspace *ws, double part)
{
    forces_along(ws, -part);
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        memcpy(plate->free, plate->force, plate->unknowns * sizeof *plate->free);
    }
    forces_along(ws, part);
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        for (size_t k = 0; k < plate->unknowns; k += KP_PAIR) {
            plate->force[k] = (plate->force[k] - plate->free[k]) / (2 * part);
        }
    }
}

/* Of the contact forces by position in `direction`, those of the seat. */
static double of_seat(const kp_stack_workspace *ws)
{
    const kp_qp *p = &ws->qp;
    double sum = 0;
    for (size_t i = 0; i < p->count; i++) {
        sum += ws->gaps[p->active[i]].lower == KP_CONTACT_SEAT ? p->direction[i] : 0;
    }
    return sum;
}

void kp_stack_make_tangent_step(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    if (ws->has_tangent) {
        return;
    }
    ws->has_tangent = true;
    kp_qp_start_free(ws, true);
    kp_schur_free_gaps(ws, NULL);
    for (size_t i = 0; i < p->count; i++) {
        p->direction[i] = -p->free_gap[p->active[i]];
    }
    kp_schur_solve(p, p->direction);
    kp_qp_finish_step(ws);
    ws->seat_force_rate = of_seat(ws);
    bool as_factored = ws->record.chord_steps == 0 && (ws->record.residual <= AS_FACTORED ||
                                                       kp_stack_decrement_tolerance(ws) >= TOLERANCE_AS_FACTORED);
    if (as_factored || !(ws->pressure > 0)) {
        return;
    }
    /* The factors are those of a state a little way off: one chord step of the tangent's own equations. */
    memcpy(p->row, p->direction, p->count * sizeof *p->row);
    differentiate_forces(ws, NEARBY * ws->pressure);
    add_contact_forces(ws, p->row);
    add_tilt_forces(ws);
    for (size_t i = 0; i < p->count; i++) {
        p->value[p->active[i]] = kp_gap_increment(ws, &ws->gaps[p->active[i]]);
    }
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        memcpy(plate->trial, plate->step, plate->unknowns * sizeof *plate->trial);
    }
    step_to(ws);
    ws->seat_force_rate += of_seat(ws);
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        for (size_t k = 0; k < plate->unknowns; k++) {
            plate->step[k] += plate->trial[k];
        }
    }
}

void kp_stack_trial_along_tangent(kp_stack_workspace *ws, double scaled_step)
{
    kp_stack_make_trial(ws, scaled_step);
}
