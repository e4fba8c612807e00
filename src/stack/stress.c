/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stresses of a solved stack's discs, in SI. */
#include "stack/stack_internal.h"

#include <math.h>

/* [Pa] Unit of kp_surface_stress. */
static double stress_unit(const kp_stack_workspace *ws, const kp_plate *plate)
{
    double ratio = ws->height / ws->length;
    return ws->modulus * plate->young / (1 - plate->nu * plate->nu) * ratio * ratio;
}

void kp_stack_mark_rest(kp_stack_workspace *ws)
{
    ws->rest_is_marked = true;
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_surface_stress(&ws->plates[i], ws->plates[i].state, ws->plates[i].rest);
    }
}

kp_disc_stress kp_stack_stress_at(const kp_stack_workspace *ws, size_t disc, double r)
{
    const kp_plate *plate = kp_stack_plate(ws, disc);
    if (!plate) {
        return (kp_disc_stress){0};
    }

    double rho = fmin(fmax(r / ws->length, plate->rho[0]), plate->outer);
    kp_disc_stress s = kp_surface_stress_at(plate, plate->state, rho);
    double unit = stress_unit(ws, plate);
    return (kp_disc_stress){unit * s.piston_side_radial, unit * s.piston_side_hoop, unit * s.far_side_radial,
                            unit * s.far_side_hoop};
}

void kp_stack_peak_stress(const kp_stack_workspace *ws, size_t disc, double *stress, double *radius, bool *piston_side)
{
    const kp_plate *plate = kp_stack_plate(ws, disc);
    size_t place = 0;
    bool side = true;
    double max = plate ? kp_plate_peak_stress(plate, stress_unit(ws, plate), &place, &side) : 0;

    if (stress) {
        *stress = max;
    }

    if (radius) {
        *radius = max > 0 ? kp_surface_radius(plate, place) * ws->length : 0;
    }

    if (piston_side) {
        *piston_side = side;
    }
}

kp_cycle kp_stack_cycle(const kp_stack_workspace *ws, size_t disc)
{
    const kp_plate *plate = kp_stack_plate(ws, disc);
    if (!plate) {
        return (kp_cycle){0};
    }

    kp_cycle cycle = kp_plate_cycle(plate, &ws->discs[disc].material, stress_unit(ws, plate));
    cycle.radius *= ws->length;
    return cycle;
}

kp_peaks kp_stack_peaks(const kp_stack_workspace *ws, size_t disc, kp_stack_shape shape)
{
    const kp_plate *plate = kp_stack_plate(ws, disc);
    if (!plate) {
        return (kp_peaks){0};
    }

    return kp_plate_peaks(plate, shape == KP_STACK_TRIAL ? plate->trial : plate->state, &ws->discs[disc].material,
                          stress_unit(ws, plate), ws->rest_is_marked);
}

bool kp_stack_same_peaks(const kp_stack_workspace *ws, size_t a, size_t b)
{
    const kp_material *m = &ws->discs[a].material, *n = &ws->discs[b].material;
    return kp_stack_plate(ws, a) == kp_stack_plate(ws, b) && m->fatigue == n->fatigue && m->tensile == n->tensile;
}
