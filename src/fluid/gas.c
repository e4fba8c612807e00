/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Gas charge: an ideal gas brought to its temperature at its charged volume, then compressed along p V^n = const by
   the rod that comes in. Nitrogen at damper pressures is ideal within 0.3 % (SOURCES.md section 9: Z of Span et al.
   2000, computed), and rounding the exponent to 1.4 costs 0.4 % of pressure over a stroke. */
#include "kneepoint/fluid.h"

#include <math.h>

/* Gas pressure with some rod in the oil.
   Given:    gas (absolute pressure at its charge temperature, rod fully out), rod_volume [m3] >= 0,
             temperature [K] of the gas before the rod comes in
   Returned: pressure [Pa absolute] = p0 (T/T0) (V0/(V0 - rod_volume))^n
   Valid:    rod_volume < V0. The oil's own expansion, which takes gas volume as it warms, is not in it: a hot
             damper's pressure is higher than this says (0.9 L oil, +60 K takes about 45 cm3)
   Accuracy: the ideal gas; against Span et al. 0.04 % isothermal, 0.4 % isentropic at 1.2 times compression
   Status:   KP_OUT_OF_RANGE with the numbers
   Source:   polytropic gas, any text */
kp_status kp_gas_pressure(const kp_gas *gas, double rod_volume, double temperature, double *pressure, kp_error *error)
{
    if (!(gas->charge_pressure > 0) || !(gas->charge_temperature > 0) || !(gas->volume > 0) || !(temperature > 0) ||
        !(gas->exponent >= 1) || !(gas->exponent <= 1.4) || !isfinite(temperature)) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "gas: charge %g Pa absolute at %g K in %g m3, exponent %g, wanted at %g K: need positive "
                            "numbers and an exponent of 1 to 1.4",
                            gas->charge_pressure, gas->charge_temperature, gas->volume, gas->exponent, temperature);
    }
    if (!(rod_volume >= 0) || !(rod_volume < gas->volume)) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "gas: the rod takes %g cm3 and the gas has %g cm3: more gas volume or less rod is needed",
                            rod_volume * 1e6, gas->volume * 1e6);
    }
    double p = gas->charge_pressure * (temperature / gas->charge_temperature) *
               pow(gas->volume / (gas->volume - rod_volume), gas->exponent);
    if (!isfinite(p)) {
        return kp_error_set(error, KP_NOT_FINITE, "gas: the pressure at %g m3 of rod is not finite", rod_volume);
    }
    *pressure = p;
    return KP_OK;
}
