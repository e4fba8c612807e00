/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Flow in the thin annular gap between piston band and bore; see flow.h for the data sheet.

       drop = flow/G + K (rho/2) (flow/A)^2,   G = pi D c^3 (1 + 1.5 e^2)/(12 mu L),   A = pi D c

   The first part is the laminar gap. The second is what oil loses on its way in and out, K = 0.5 + 1 (sharp-edged
   entrance and exit: Idelchik, Handbook of Hydraulic Resistance, read as restated). It is negligible in a tight gap;
   without it a worn ring would pass more than its annular opening can. That the parts add is our assumption, as in
   curtain.c. Shear on the band (mu pi D L V/c, about 1 N at 1 m/s) is left out of the force: it is far below seal
   friction. */
#include "flow/flow.h"

#include <math.h>

static const double END_LOSSES = 1.5; /* [-] K above */

kp_flow kp_leak_flow(const kp_leak *leak, const kp_flow_oil *oil, double drop)
{
    double mu = oil->density * oil->viscosity; /* [Pa s] */
    double c = leak->clearance, e = leak->eccentricity;

    if (!(c > 0)) {
        return (kp_flow){0};
    }

    /* Laminar flow in an eccentric annulus, c^3 (1 + 3/2 e^2), in series with the losses at its two ends. */
    double conductance = KP_PI * leak->diameter * c * c * c / (12 * mu * leak->length) * (1 + 1.5 * e * e);
    double area = KP_PI * leak->diameter * c;
    kp_resistance gap = {.linear = 1 / conductance, .quadratic = END_LOSSES * 0.5 * oil->density / (area * area)};

    return kp_resistance_flow(&gap, drop, NULL);
}

double kp_leak_couette(const kp_leak *leak, double speed)
{
    return 0.5 * KP_PI * leak->diameter * leak->clearance * fabs(speed);
}
