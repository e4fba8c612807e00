/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Curtain between land and lifted shim: perimeter P, opening y, land width w, mean velocity u = Q/(P y).

       drop = (rho/2) (u/C)^2  +  (rho nu u/(4 y)) (1/delta^2)  +  12 mu w u/y^2
              jet                 laminar sharp slot               plane channel over the land

   Jet: C is an input. Plane channel: exact for parallel faces; over a ring its width is r_i ln(r_o/r_i), which is also
   the logarithmic pressure fall over the land that the stack solver loads the shim with.
   Laminar sharp slot: C_d = delta sqrt(Re) at small Re = 2 y u/nu, delta = 0.157 for a slot: Merritt, Hydraulic Control
   Systems, 1967, sec. 3-4, from memory. Put into drop = (rho/2)(u/C_d)^2 it gives the term above.
   That the parts add is our assumption, the same in form as Merritt's laminar short tube, C_d = [2.28 + 64 L/(Re
   d)]^(-1/2) (read: Rabie, Fluid Power Engineering, 2009, eq. 2.41). It makes the drop quadratic in the flow: explicit,
   smooth, with a finite slope at zero drop, flow ~ y^3 at small opening on a land, y^2 on a sharp seat, and y at large
   opening. */
#include "flow/flow.h"

static const double SLOT_DELTA = 0.157; /* [-] from memory, see above */

kp_resistance kp_curtain_resistance(const kp_curtain *curtain, const kp_flow_oil *oil, double opening)
{
    double y = opening, p = curtain->perimeter;

    /* The three terms of the equation above: the jet's is quadratic in Q, the other two are linear. */
    double mu = oil->density * oil->viscosity;                      /* [Pa s] */
    double jet = p * curtain->discharge * y;                        /* [m2] */
    double slot = mu / (4 * SLOT_DELTA * SLOT_DELTA * p) / (y * y); /* b = rho nu/(4 delta^2 P y^2) */
    double channel = 12 * mu * curtain->land_width / p / (y * y * y);
    double quadratic = 0.5 * oil->density / (jet * jet);

    return (kp_resistance){
        .quadratic = quadratic,
        .linear = slot + channel,
        .quadratic_slope = -2 * quadratic / y,
        .linear_slope = -(2 * slot + 3 * channel) / y,
    };
}
