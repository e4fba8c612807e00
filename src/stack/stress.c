/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stresses of a solved stack's discs, in SI. */
#include "stack/lobed.h"

#include <math.h>

/* [Pa] Unit of kp_surface_stress. */
static double stress_unit(const kp_stack_workspace *ws, const kp_plate *plate)
{
    double ratio = ws->height / ws->length;
    return ws->modulus * plate->young / (1 - plate->nu * plate->nu) * ratio * ratio;
}

void kp_stack_mark_rest(kp_stack_workspace *ws)
{
    /* A stack at rest is round: the pressure on its ports is none, and the seat holds it. */
    ws->rest_is_marked = true;
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_surface_stress(&ws->plates[i], ws->plates[i].state, ws->plates[i].rest);
    }
}

kp_disc_stress kp_stack_stress_at(const kp_stack_workspace *workspace, size_t disc, double r)
{
    const kp_stack_workspace *ws = kp_stack_solution(workspace);
    const kp_plate *plate = kp_stack_plate(ws, disc);
    if (!plate) {
        return (kp_disc_stress){0};
    }

    double rho = fmin(fmax(r / ws->length, plate->rho[0]), plate->outer);
    const double *x = NULL;
    const kp_lobed *lobed = ws->folded ? kp_lobed_at(kp_stack_solution(ws), plate, KP_STACK_STATE, &x) : NULL;
    kp_disc_stress s =
        lobed ? kp_lobed_stress_at(lobed, x, rho, KP_CREST) : kp_surface_stress_at(plate, plate->state, rho);
    double unit = stress_unit(ws, plate);
    return (kp_disc_stress){unit * s.piston_side_radial, unit * s.piston_side_hoop, unit * s.far_side_radial,
                            unit * s.far_side_hoop};
}

void kp_stack_peak_stress(const kp_stack_workspace *workspace, size_t disc, double *stress, double *radius,
                          bool *piston_side)
{
    const kp_stack_workspace *ws = kp_stack_solution(workspace);
    const kp_plate *plate = kp_stack_plate(ws, disc);
    size_t place = 0;
    bool side = true;
    const double *x = NULL;
    const kp_lobed *lobed = plate && ws->folded ? kp_lobed_at(kp_stack_solution(ws), plate, KP_STACK_STATE, &x) : NULL;
    double max = !plate  ? 0
                 : lobed ? kp_lobed_peak_stress(lobed, x, stress_unit(ws, plate), &place, &side)
                         : kp_plate_peak_stress(plate, stress_unit(ws, plate), &place, &side);

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

kp_cycle kp_stack_cycle(const kp_stack_workspace *workspace, size_t disc)
{
    const kp_stack_workspace *ws = kp_stack_solution(workspace);
    const kp_plate *plate = kp_stack_plate(ws, disc);
    if (!plate) {
        return (kp_cycle){0};
    }

    const double *x = NULL;
    const kp_lobed *lobed = ws->folded ? kp_lobed_at(kp_stack_solution(ws), plate, KP_STACK_STATE, &x) : NULL;
    const kp_material *material = &ws->discs[disc].material;
    kp_cycle cycle = lobed ? kp_lobed_cycle(lobed, x, material, stress_unit(ws, plate))
                           : kp_plate_cycle(plate, material, stress_unit(ws, plate));
    cycle.radius *= ws->length;
    return cycle;
}

kp_peaks kp_stack_peaks(const kp_stack_workspace *workspace, size_t disc, kp_stack_shape shape)
{
    const kp_stack_workspace *ws = kp_stack_solution(workspace);
    const kp_plate *plate = kp_stack_plate(ws, disc);
    if (!plate) {
        return (kp_peaks){0};
    }

    if (ws->folded) {
        const double *x;
        const kp_lobed *l = kp_lobed_at(kp_stack_solution(ws), plate, shape, &x);
        return kp_lobed_peaks(l, x, &ws->discs[disc].material, stress_unit(ws, plate), ws->rest_is_marked);
    }
    return kp_plate_peaks(plate, shape == KP_STACK_TRIAL ? plate->trial : plate->state, &ws->discs[disc].material,
                          stress_unit(ws, plate), ws->rest_is_marked);
}

bool kp_stack_same_peaks(const kp_stack_workspace *ws, size_t a, size_t b)
{
    const kp_material *m = &ws->discs[a].material, *n = &ws->discs[b].material;
    return kp_stack_plate(ws, a) == kp_stack_plate(ws, b) && m->fatigue == n->fatigue && m->tensile == n->tensile;
}
