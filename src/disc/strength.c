/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stress over a cycle. The low end matters: a stack on a dished seat is stressed at rest. */
#include "stack_internal.h"

#include <math.h>
#include <string.h>

void kp_stack_mark_rest(kp_stack_workspace *ws)
{
    ws->rests_strained = true;
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        memcpy(plate->rest, plate->state, plate->unknowns * sizeof *plate->rest);
    }
}

/* Goodman's straight line between fatigue and tensile strength (Shigley's Mechanical Engineering Design, from memory);
   a compressive mean is given no credit. */
static void consider(const kp_material *m, double low_radial, double low_hoop, double high_radial, double high_hoop,
                     double radius, bool piston_side, kp_cycle *worst)
{
    double amplitude = kp_von_mises(0.5 * (high_radial - low_radial), 0.5 * (high_hoop - low_hoop));
    double mean_radial = 0.5 * (high_radial + low_radial);
    double mean_hoop = 0.5 * (high_hoop + low_hoop);
    double mean = copysign(kp_von_mises(mean_radial, mean_hoop), mean_radial + mean_hoop);
    double use = amplitude / m->fatigue + fmax(mean, 0) / m->tensile;
    if (use > worst->use) {
        *worst = (kp_cycle){mean, amplitude, use, radius, piston_side};
    }
}

kp_cycle kp_stack_cycle(const kp_stack_workspace *ws, size_t disc)
{
    kp_cycle worst = {0};
    const kp_plate *plate = kp_stack_plate(ws, disc);
    if (!plate || !(ws->discs[disc].material.fatigue > 0) || !(ws->discs[disc].material.tensile > 0)) {
        return worst;
    }
    for (size_t k = 0; k <= 2 * (plate->nodes - 1); k++) {
        kp_disc_stress high;
        double radius = kp_stack_sample(ws, plate, plate->state, k, &high);
        kp_disc_stress low;
        kp_stack_sample(ws, plate, plate->rest, k, &low);
        const kp_material *m = &ws->discs[disc].material;
        consider(m, low.piston_side_radial, low.piston_side_hoop, high.piston_side_radial, high.piston_side_hoop,
                 radius, true, &worst);
        consider(m, low.far_side_radial, low.far_side_hoop, high.far_side_radial, high.far_side_hoop, radius, false,
                 &worst);
    }
    return worst;
}

/* The largest von Mises surface stress of a disc and the most that a cycle uses up, in one pass for the lift table. */
kp_peaks kp_stack_peaks(const kp_stack_workspace *ws, size_t disc, bool trial)
{
    kp_peaks most = {0};
    kp_cycle worst = {0};
    const kp_plate *plate = kp_stack_plate(ws, disc);
    const kp_material *m = &ws->discs[disc].material;
    bool cycles = m->fatigue > 0 && m->tensile > 0;
    for (size_t k = 0; plate && k <= 2 * (plate->nodes - 1); k++) {
        kp_disc_stress high, low = {0};
        double radius = kp_stack_sample(ws, plate, trial ? plate->trial : plate->state, k, &high);
        most.stress = fmax(most.stress, kp_von_mises(high.piston_side_radial, high.piston_side_hoop));
        most.stress = fmax(most.stress, kp_von_mises(high.far_side_radial, high.far_side_hoop));
        if (cycles && ws->rests_strained) {
            kp_stack_sample(ws, plate, plate->rest, k, &low);
        }
        if (cycles) {
            consider(m, low.piston_side_radial, low.piston_side_hoop, high.piston_side_radial, high.piston_side_hoop,
                     radius, true, &worst);
            consider(m, low.far_side_radial, low.far_side_hoop, high.far_side_radial, high.far_side_hoop, radius, false,
                     &worst);
        }
    }
    most.use = worst.use;
    return most;
}
