/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Needle of an adjuster: a sharp-edged opening in a seat's bore. Discharge coefficient against the flow number
   lambda = (D_h/nu) sqrt(2 drop/rho), which needs no flow:

       C = C_max tanh(2 lambda/lambda_c)

   The tanh is a smooth passage between the two ends in common use, neither derived nor measured here. lambda_c is set
   so that the laminar end is Merritt's C = delta sqrt(Re): on the actual velocity Re = C lambda, so C = delta^2 lambda,
   and 2 C_max/lambda_c = delta^2 gives lambda_c = 2 C_max/delta^2. delta = 0.157 for a slot: Merritt, Hydraulic Control
   Systems, 1967, sec. 3-4, from memory (the value that curtain.c has). C_max = pi/(pi + 2) = 0.611: read, Rabie, Fluid
   Power Engineering, 2009, eq. 2.39, citing Merritt. */
#include "flow/flow.h"

#include <math.h>

static const double SLOT_DELTA = 0.157; /* [-] */

double kp_needle_discharge(const kp_needle *needle, double flow_number, double *log_slope)
{
    double x = flow_number * SLOT_DELTA * SLOT_DELTA / needle->discharge; /* 2 lambda/lambda_c */
    double c = needle->discharge * tanh(x);
    if (log_slope != NULL) {
        /* d ln tanh x/d ln x = 2 x/sinh 2x, 1 at 0; beyond x = 300 the sinh would overflow and the slope is 0 */
        *log_slope = x > 300 ? 0 : x > 0 ? 2 * x / sinh(2 * x) : 1;
    }
    return c;
}

kp_flow kp_needle_flow(const kp_needle *needle, const kp_flow_oil *oil, double drop)
{
    const double delta = SLOT_DELTA * SLOT_DELTA;

    /* flow = C A sqrt(2 drop/rho), C -> delta^2 lambda: the straight line at zero drop */
    double laminar = delta * needle->area * needle->hydraulic_diameter / oil->viscosity * 2 / oil->density;
    if (!(drop > 0)) {
        return (kp_flow){.flow = 0, .slope = laminar};
    }

    double ideal = sqrt(2 * drop / oil->density), log_slope;
    double c = kp_needle_discharge(needle, ideal * needle->hydraulic_diameter / oil->viscosity, &log_slope);
    double flow = c * needle->area * ideal;
    return (kp_flow){.flow = flow, .slope = flow / drop * 0.5 * (1 + log_slope)};
}
