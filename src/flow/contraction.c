/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Contraction of the jet behind a round opening d in a bore D:

       C_c {1 + (2/pi) [D/(C_c d) - C_c d/D] atan(C_c d/D)} = 1

   Read: Rabie, Fluid Power Engineering, 2009, eq. 2.38, citing Merritt 1967; pi/(pi + 2) at d/D = 0, 1 at d/D = 1. The
   left side rises with C_c between them, so the root is found by halving. */
#include "flow/flow.h"

#include <math.h>

static double left_side(double c, double ratio)
{
    double x = c * ratio;
    /* (1/x - x) atan(x) -> 1 at x = 0 */
    double bracket = x > 1e-8 ? (1 / x - x) * atan(x) : 1;
    return c * (1 + 2 / KP_PI * bracket);
}

double kp_contraction(double diameter_ratio)
{
    double low = 0.5, high = 1;
    for (int i = 0; i < 60; i++) { /* halves to below a double's rounding */
        double middle = 0.5 * (low + high);
        if (left_side(middle, diameter_ratio) < 1) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return 0.5 * (low + high);
}
