/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Effective bulk modulus of oil with entrained air. No other file calls it yet: a stroke in the time domain will, where
   the oil's compression takes part in the flow.

   alpha: air volume over liquid volume at atmospheric pressure p_a; p absolute; the air polytropic with exponent n. The
   mixture's volume is V = V_l [1 + alpha (p_a/p)^(1/n)], and -dV/dp = V_l/E_l + V_l alpha (p_a/p)^(1/n)/(n p), so that
       E = V/(-dV/dp) = E_l [1 + alpha (p_a/p)^(1/n)] / [1 + alpha (p_a/p)^(1/n) E_l/(n p)].
   Trap: a second form, 1/B = alpha/(n P) + (1 - alpha)/B_l (read: Rabie, Fluid Power Engineering, 2009, eq. 2.57), is
   the same only with alpha the air's share *at the pressure P*; with the share at atmospheric pressure, as that book
   defines it, it is 2.4 to 4.8 times too soft at 0.5 to 5 MPa. */
#include "kneepoint/fluid.h"

#include <math.h>

kp_status kp_oil_bulk_modulus(double liquid, double air, double exponent, double gauge_pressure, double *modulus,
                              kp_error *error)
{
    double p = KP_ATMOSPHERE + gauge_pressure;
    if (!(liquid > 0) || !(air >= 0) || !(air < 1) || !(exponent >= 1 && exponent <= 1.4) || !(p > 0) || !isfinite(p) ||
        !isfinite(liquid)) {
        return kp_error_set(
            error, KP_OUT_OF_RANGE,
            "bulk modulus %g Pa with %g of air, exponent %g, at %g Pa gauge: need a positive modulus, 0 "
            "to 1 of air by volume, an exponent of 1 to 1.4 and an absolute pressure above 0",
            liquid, air, exponent, gauge_pressure);
    }

    /* Liquid and air each shrink under pressure: the air polytropically, p V^n = const. */
    double compressed = air * pow(KP_ATMOSPHERE / p, 1 / exponent); /* the air's volume now */
    *modulus = liquid * (1 + compressed) / (1 + compressed * liquid / (exponent * p));
    return KP_OK;
}
