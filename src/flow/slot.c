/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Slots cut into a face shim, over the land: total width B, height y, land width w, mean velocity u = Q/(B y):

       drop = (rho/2) (u/C)^2  +  (rho nu u/(4 y)) (1/delta^2)  +  12 mu w u/y^2
              jet                 laminar sharp slot               plane channel over the land

   Jet: C is an input. Plane channel: exact for parallel faces. Laminar sharp slot: C_d = delta sqrt(Re) at small Re = 2
   y u/nu, delta = 0.157 for a slot: Merritt, Hydraulic Control Systems, 1967, sec. 3-4, from memory. That the parts add
   is our assumption, the same in form as Merritt's laminar short tube, C_d = [2.28 + 64 L/(Re d)]^(-1/2) (read: Rabie,
   Fluid Power Engineering, 2009, eq. 2.41). */
#include "flow/flow.h"

static const double SLOT_DELTA = 0.157; /* [-] from memory, see above */

kp_resistance kp_slot_resistance(const kp_slot *slot, const kp_flow_oil *oil)
{
    double y = slot->height, b = slot->width;
    double mu = oil->density * oil->viscosity; /* [Pa s] */
    double jet = b * slot->discharge * y;      /* [m2] */
    double edge = mu / (4 * SLOT_DELTA * SLOT_DELTA * b) / (y * y);
    double channel = 12 * mu * slot->land_width / b / (y * y * y);

    return (kp_resistance){.quadratic = 0.5 * oil->density / (jet * jet), .linear = edge + channel};
}
