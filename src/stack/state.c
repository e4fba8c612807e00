/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What every solver of a stack shares: its units, its state and trial, the potential, the tangents, and the measures by
   which a step is judged. */
#include "stack/stack_internal.h"

#include <math.h>
#include <string.h>

static const double two_pi = 6.28318530717958647693;

/* Newton ends when the step would lower the energy by less than this part of it. [-] The step is taken all the same,
   and Newton squares what is left: lifts right to 1e-5 in 99 of 100 random loads. kp_stack_options.tolerance asks
   for less. */
#define DECREMENT_TOLERANCE 2e-5
/* Energy that is none: a lift of 1e-8 t0. [-] A loose ring finding its place without load leaves steps worth 1e-27 by
   rounding; DECREMENT_TOLERANCE of this is a lift wrong by 1e-13 t0. */
#define NO_ENERGY 1e-16

double kp_stack_energy_unit(const kp_stack_workspace *ws)
{
    return two_pi * ws->modulus * pow(ws->height, 5) / (ws->length * ws->length);
}

double kp_stack_pressure_unit(const kp_stack_workspace *ws)
{
    return ws->modulus * pow(ws->height / ws->length, 4) / ws->stack.load_coverage;
}

double kp_stack_scaled_pressure(const kp_stack_workspace *ws)
{
    return ws->pressure;
}

const kp_plate *kp_stack_plate(const kp_stack_workspace *ws, size_t disc)
{
    size_t plate = disc < ws->stack.disc_count ? ws->plate_of[disc] : KP_NO_PLATE;
    return plate == KP_NO_PLATE ? NULL : &ws->plates[plate];
}

/* First shim line of a merged plate, last one for the far side. */
int kp_stack_line_of(const kp_stack_workspace *ws, int plate, bool last)
{
    int line = plate;
    for (size_t i = 0; plate >= 0 && i < ws->stack.disc_count; i++) {
        if (ws->plate_of[i] == (size_t)plate) {
            line = (int)i;
            if (!last) {
                break;
            }
        }
    }
    return line;
}

double kp_stack_potential(const kp_stack_workspace *ws, bool trial)
{
    double sum = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        const double *q = trial ? plate->trial : plate->state;
        sum += kp_plate_energy(plate, q);
        for (size_t k = 0; i == 0 && k < plate->unknowns; k++) {
            sum -= ws->pressure * plate->load[k] * q[k];
        }
    }
    return sum;
}

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

bool kp_stack_is_open(const kp_stack_workspace *ws)
{
    kp_gap_values(ws, ws->now);
    for (size_t g = 0; g < ws->gap_count; g++) {
        if (ws->now[g] < -KP_PENETRATION_TOLERANCE * ws->pack && ws->gaps[g].enabled) {
            return false;
        }
    }
    return true;
}

bool kp_stack_factor_tangents(kp_stack_workspace *ws)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate_force(&ws->plates[i], ws->pressure);
        kp_plate_assemble(&ws->plates[i], false);
    }
    kp_contact_add_tilt(ws, KP_NO_PLATE);
    for (size_t i = 0; i < ws->plate_count; i++) {
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

kp_predicted_decrease kp_stack_predicted_decrease(const kp_stack_workspace *ws)
{
    kp_predicted_decrease p = {0};
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        for (size_t k = 0; k < plate->unknowns; k += KP_PAIR) {
            p.slope += plate->force[k] * plate->step[k];
        }
    }
    p.size = p.slope;
    for (size_t i = 0; i < ws->qp.count; i++) {
        size_t g = ws->qp.active[i];
        const kp_gap *gap = &ws->gaps[g];
        p.size += ws->qp.multiplier[g] * kp_gap_increment(ws, gap);
    }
    return p;
}

/* Stored energy and work of the pressure: what decrements are measured by. Where forces were last taken. */
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

double kp_stack_max_lift(const kp_stack_workspace *ws, bool of_step)
{
    double most = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        for (size_t k = 0; k < plate->unknowns; k += KP_PAIR) {
            most = fmax(most, fabs(of_step ? plate->step[k] : plate->state[k]));
        }
    }
    return most;
}

void kp_stack_keep(kp_stack_workspace *ws, bool put_back)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        memcpy(put_back ? plate->state : plate->start, put_back ? plate->start : plate->state,
               plate->unknowns * sizeof *plate->state);
    }
}
