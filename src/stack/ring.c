/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A second load: a ring of force at the land's inner edge, where the flow sucks the disc down. */
#include "stack/lobed.h"

#include <string.h>

void kp_stack_add_ring_load(kp_stack_workspace *ws, double force)
{
    kp_plate *face = &ws->plates[0];
    double n[4], d[4];
    size_t element = kp_plate_shape(face, ws->stack.land_inner_radius / ws->length, n, d);

    for (size_t i = 0; i < KP_LOCAL; i++) {
        size_t unknown = KP_PAIR * (element + i);
        if (!kp_plate_is_fixed(face, unknown)) {
            face->load[unknown] += force * ws->height / kp_stack_energy_unit(ws) * n[i];
        }
    }
}

/* The tangent by the load, with the ring in the pressure's place. The forces of the state enter the tangent by their
   change along it only, so that the state's own pressure may have either load. */
double kp_stack_ring_compliance(kp_stack_workspace *workspace)
{
    kp_stack_workspace *ws = kp_stack_solution(workspace);
    kp_plate *face = &ws->plates[0];
    size_t size = face->unknowns * sizeof *face->load;
    double force = kp_stack_energy_unit(ws) / ws->height; /* [N] of a scaled load of 1 */

    double kept[KP_PAIR * KP_MAX_SPLINES];
    memcpy(kept, face->load, size);
    memset(face->load, 0, size);
    kp_stack_add_ring_load(ws, force);
    ws->has_tangent = false;
    double rate = ws->folded ? ws->height * kp_lobed_seat_rate_of(ws, face->load) : kp_stack_seat_lift_rate(ws);

    /* The pressure's load again, and no tangent of it yet. */
    memcpy(face->load, kept, size);
    ws->has_tangent = false;
    return rate / force;
}
