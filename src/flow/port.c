/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Orifice of fixed coefficient, and the flow through any quadratic-and-linear resistance; see flow.h. */
#include "flow/flow.h"

#include <math.h>

kp_resistance kp_port_resistance(const kp_port *port, const kp_flow_oil *oil)
{
    double effective = port->area * port->discharge;
    return (kp_resistance){.quadratic = 0.5 * oil->density / (effective * effective)};
}

/* Positive root of a q^2 + b q = drop in the form that does not cancel: q = 2 drop/(b + sqrt(b^2 + 4 a drop)).
   Slopes by implicit differentiation: (2 a q + b) dq = d(drop) - (a' q^2 + b' q) d(opening). */
kp_flow kp_resistance_flow(const kp_resistance *resistance, double drop, double *opening_slope)
{
    double a = resistance->quadratic, b = resistance->linear;
    double root = sqrt(b * b + 4 * a * drop); /* = 2 a q + b */
    double q = root > 0 ? 2 * drop / (b + root) : 0;
    if (opening_slope != NULL) {
        *opening_slope = root > 0 ? -(resistance->quadratic_slope * q + resistance->linear_slope) * q / root : 0;
    }
    return (kp_flow){.flow = q, .slope = 1 / root};
}
