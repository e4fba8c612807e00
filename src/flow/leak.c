/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laminar flow in the thin annular gap between piston band and bore; see flow.h for the data sheet.
   Shear on the band (mu pi D L V/c, about 1 N at 1 m/s) is left out of the force: it is far below seal friction. */
#include "kneepoint/flow.h"

#include <math.h>

static const double PI = 3.14159265358979323846;

kp_flow kp_leak_flow(const kp_leak *leak, const kp_flow_oil *oil, double drop)
{
    double mu = oil->density * oil->viscosity; /* [Pa s] */
    double c = leak->clearance, e = leak->eccentricity;
    double conductance = PI * leak->diameter * c * c * c / (12 * mu * leak->length) * (1 + 1.5 * e * e);
    return (kp_flow){.flow = conductance * drop, .slope = conductance};
}

double kp_leak_couette(const kp_leak *leak, double speed)
{
    return 0.5 * PI * leak->diameter * leak->clearance * fabs(speed);
}
