/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Gas charge: an ideal gas brought to its temperature at its charged volume, then compressed along p V^n = const by
   the rod that comes in. Nitrogen at damper pressures is ideal within 0.3 % (compression factor calculated by the
   reference equation of Span, Lemmon, Jacobsen, Wagner and Yokozeki, J. Phys. Chem. Ref. Data 29(6), 2000), and
   rounding the exponent to 1.4 costs 0.4 % of pressure over a stroke. */
#include "kneepoint/fluid.h"

#include <math.h>

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

    /* Ideal gas: warmed at constant volume, then compressed polytropically by the rod. */
    double p = gas->charge_pressure * (temperature / gas->charge_temperature) *
               pow(gas->volume / (gas->volume - rod_volume), gas->exponent);
    if (!isfinite(p)) {
        return kp_error_set(error, KP_NOT_FINITE, "gas: the pressure at %g m3 of rod is not finite", rod_volume);
    }

    *pressure = p;
    return KP_OK;
}
