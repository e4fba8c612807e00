/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What every solver of a stack shares: its units, its state and trial, the potential, the tangents, and the measures by
   which a step is judged. */
#include "stack/stack_internal.h"

#include <math.h>
#include <string.h>

/* [-] Newton ends when the step would lower the energy by less than this part of it. The step is taken all the same,
   and Newton squares the remaining error: lifts within 1e-5 in 99 of 100 random loads. */
static const double DECREMENT_TOLERANCE = 2e-5;
/* [-] An energy to count as none: that of a lift of 1e-8 t0. A loose ring moving to its place without load leaves steps
   of 1e-27 by rounding; DECREMENT_TOLERANCE of this is a lift wrong by 1e-13 t0. */
static const double NO_ENERGY = 1e-16;
/* [-] A last full step with a smaller decrement leaves tangents that are right to 1e-6. */
static const double FACTORS_CURRENT = 1e-12;
/* [-] A coarse solve, with at least this tolerance, may reuse the tangents of any last full step. */
static const double COARSE_TOLERANCE = 1e-3;

/* ---- units ---- */

double kp_stack_energy_unit(const kp_stack_workspace *ws)
{
    return KP_TWO_PI * ws->modulus * pow(ws->height, 5) / (ws->length * ws->length);
}

double kp_stack_pressure_unit(const kp_stack_workspace *ws)
{
    return ws->modulus * pow(ws->height / ws->length, 4) / ws->stack.load_coverage;
}

double kp_stack_scaled_pressure(const kp_stack_workspace *ws)
{
    return ws->pressure;
}

/* ---- state, trial and start ---- */

void kp_stack_make_trial(kp_stack_workspace *ws, double part)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        for (size_t k = 0; k < plate->unknowns; k += KP_PAIR) {
            plate->trial[k] = plate->state[k] + part * plate->step[k];
        }
        kp_plate_condense(plate, plate->trial);
    }
}

void kp_stack_accept_trial(kp_stack_workspace *ws)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        double *swap = ws->plates[i].state;
        ws->plates[i].state = ws->plates[i].trial;
        ws->plates[i].trial = swap;
    }
}

void kp_stack_save_state(kp_stack_workspace *ws)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        memcpy(plate->start, plate->state, plate->unknowns * sizeof *plate->start);
    }
}

void kp_stack_restore_state(kp_stack_workspace *ws)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        memcpy(plate->state, plate->start, plate->unknowns * sizeof *plate->state);
    }
}

bool kp_stack_is_open(const kp_stack_workspace *ws)
{
    kp_gap_values(ws, ws->gap_scratch);
    for (size_t g = 0; g < ws->gap_count; g++) {
        if (ws->gap_scratch[g] < -KP_PENETRATION_TOLERANCE * ws->pack && ws->gaps[g].enabled) {
            return false;
        }
    }
    return true;
}

static double max_lift_coefficient(const kp_plate *plate, const double *q, double max)
{
    for (size_t k = 0; k < plate->unknowns; k += KP_PAIR) {
        max = fmax(max, fabs(q[k]));
    }
    return max;
}

double kp_stack_max_lift(const kp_stack_workspace *ws)
{
    double max = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        max = max_lift_coefficient(&ws->plates[i], ws->plates[i].state, max);
    }
    return max;
}

double kp_stack_max_step(const kp_stack_workspace *ws)
{
    double max = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        max = max_lift_coefficient(&ws->plates[i], ws->plates[i].step, max);
    }
    return max;
}

/* ---- potential and tangents ---- */

double kp_stack_potential(const kp_stack_workspace *ws, kp_stack_shape shape)
{
    double sum = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        const double *q = shape == KP_STACK_TRIAL ? plate->trial : plate->state;
        sum += kp_plate_energy(plate, q);
        /* Only the face shim is loaded. */
        for (size_t k = 0; i == 0 && k < plate->unknowns; k++) {
            sum -= ws->pressure * plate->load[k] * q[k];
        }
    }

    return sum;
}

/* A tangent that is not positive, for compressive tension, is assembled again without that tension. */
bool kp_stack_factor_tangents(kp_stack_workspace *ws)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate_force(&ws->plates[i], ws->pressure);
        kp_plate_assemble(&ws->plates[i], false);
    }

    kp_contact_add_tilt(ws, KP_NO_PLATE);

    for (size_t i = 0; i < ws->plate_count; i++) {
        /* Not positive: compression may buckle the plate. */
        if (!kp_plate_factor(&ws->plates[i])) {
            kp_plate_assemble(&ws->plates[i], true);
            kp_contact_add_tilt(ws, i);
            if (!kp_plate_factor(&ws->plates[i])) {
                return false;
            }
        }
    }

    return true;
}

/* ---- measures of a step ---- */

kp_predicted_decrease kp_stack_predicted_decrease(const kp_stack_workspace *ws)
{
    kp_predicted_decrease p = {0};
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        for (size_t k = 0; k < plate->unknowns; k += KP_PAIR) {
            p.slope += plate->force[k] * plate->step[k];
        }
    }

    /* d.K d = f.d + m.(C d), by the step's own equation. */
    p.size = p.slope;
    for (size_t i = 0; i < ws->qp.count; i++) {
        size_t g = ws->qp.active[i];
        const kp_gap *gap = &ws->gaps[g];
        p.size += ws->qp.multiplier[g] * kp_gap_increment(ws, gap);
    }

    return p;
}

double kp_stack_energy_scale(const kp_stack_workspace *ws)
{
    double energy = NO_ENERGY;
    double work = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        energy += plate->energy;
        for (size_t k = 0; k < plate->unknowns; k += KP_PAIR) {
            work += ws->pressure * plate->load[k] * plate->state[k];
        }
    }

    return energy + fabs(work);
}

double kp_stack_decrement_tolerance(const kp_stack_workspace *ws)
{
    return ws->tolerance > 0 ? ws->tolerance : DECREMENT_TOLERANCE;
}

/* Frozen steps of a Newton iteration that failed leave the mark set: the tangent's correction is then one too many,
   which does no harm. */
void kp_stack_record_full_step(kp_stack_workspace *ws, double size)
{
    ws->record.residual = size;
    ws->factors_trail_state = ws->record.frozen_steps > 0 ||
                              !(size <= FACTORS_CURRENT || kp_stack_decrement_tolerance(ws) >= COARSE_TOLERANCE);
}
