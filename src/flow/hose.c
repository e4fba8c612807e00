/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Hose between the body and the reservoir, length L, bore d, mean velocity u = Q/A:

       drop = (laminar^m + turbulent^m)^(1/m) + K (rho/2) u^2

   laminar = 128 mu L Q/(pi d^4): Hagen-Poiseuille, exact. turbulent = f (L/d)(rho/2) u^2 with f = 0.316 Re^(-1/4):
   Blasius, from memory, a smooth bore to Re = 1e5. m = 8 keeps either within 0.1 % where they are a factor 1.8 apart;
   they are equal at Re = 1190, so between 1200 and some 2300 this states up to 1.6 times the drop of a flow that stays
   laminar: the safe side for cavitation. K = 0.5 + 1: sharp-edged entrance and exit (Idelchik, Handbook of
   Hydraulic Resistance, read as restated). Straight hose, rigid wall. Slope: termwise; the turbulent part goes with
   Q^(7/4). */
#include "flow/flow.h"

#include <math.h>

static const double BLEND = 8.0;      /* [-] m above */
static const double END_LOSSES = 1.5; /* [-] K above */

kp_drop kp_hose_drop(const kp_hose *hose, const kp_flow_oil *oil, double flow)
{
    const double d = hose->bore, area = KP_PI / 4 * d * d;
    double mu = oil->density * oil->viscosity; /* [Pa s] */
    double linear = 128 * mu * hose->length / (KP_PI * d * d * d * d);

    if (!(flow > 0)) {
        return (kp_drop){.drop = 0, .slope = linear};
    }

    /* Hagen-Poiseuille at low Reynolds number and Blasius at high, blended as above. */
    double u = flow / area, head = 0.5 * oil->density * u * u, reynolds = u * d / oil->viscosity;
    double laminar = linear * flow;
    double turbulent = 0.316 * pow(reynolds, -0.25) * hose->length / d * head;
    double ratio = pow(turbulent / laminar, BLEND); /* 1e80 at most: no overflow */

    /* The ends lose a fixed number of velocity heads on top. */
    double wall = laminar * pow(1 + ratio, 1 / BLEND);
    double exponent = (1 + 1.75 * ratio) / (1 + ratio); /* d ln wall/d ln flow */

    return (kp_drop){.drop = wall + END_LOSSES * head, .slope = (exponent * wall + 2 * END_LOSSES * head) / flow};
}
