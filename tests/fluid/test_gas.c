/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kneepoint/fluid.h"

#include <criterion/criterion.h>
#include <math.h>

/* Stroke check COMPUTED for this project (SciPy, with the nitrogen equation of Span et al. 2000, coefficients READ):
   60 cm3 at 1.4 MPa absolute and 293.15 K, a 14 mm rod 60 mm in (9.236282 cm3). Ideal gas: 1.654725 MPa at n = 1,
   1.769151 MPa at n = 1.4. Real nitrogen: 1.654011 MPa isothermal, 1.776214 MPa isentropic. */
Test(gas, agrees_with_the_stroke_check)
{
    const double rod_volume = 3.14159265358979 / 4 * 0.014 * 0.014 * 0.060;
    kp_gas gas = {.charge_pressure = 1.4e6, .charge_temperature = 293.15, .volume = 60e-6, .exponent = 1};
    kp_error error = {0};
    double isothermal = 0, adiabatic = 0;
    cr_assert_eq(kp_gas_pressure(&gas, rod_volume, 293.15, &isothermal, &error), KP_OK);
    gas.exponent = 1.4;
    cr_assert_eq(kp_gas_pressure(&gas, rod_volume, 293.15, &adiabatic, &error), KP_OK);
    cr_assert(fabs(isothermal - 1.654725e6) <= 1.0);
    cr_assert(fabs(adiabatic - 1.769151e6) <= 1.0);
    cr_assert(fabs(isothermal / 1.654011e6 - 1) <= 0.0005, "real nitrogen, isothermal");
    cr_assert(fabs(adiabatic / 1.776214e6 - 1) <= 0.005, "real nitrogen, isentropic");
}

Test(gas, warms_at_its_volume)
{
    kp_gas gas = {.charge_pressure = 1.513e6, .charge_temperature = 291.7, .volume = 350e-6, .exponent = 1.23};
    kp_error error = {0};
    double pressure = 0;
    cr_assert_eq(kp_gas_pressure(&gas, 0, 350.04, &pressure, &error), KP_OK);
    cr_assert(fabs(pressure - 1.513e6 * 1.2) <= 1e-9 * pressure); /* 350.04/291.7 = 1.2 */
}

Test(gas, refuses_with_its_output_unchanged)
{
    const kp_gas good = {.charge_pressure = 1.5e6, .charge_temperature = 292, .volume = 350e-6, .exponent = 1.2};
    kp_error error = {0};
    double pressure = 17.25;
    cr_assert_eq(kp_gas_pressure(&good, 350e-6, 300, &pressure, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_gas_pressure(&good, -1e-6, 300, &pressure, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_gas_pressure(&good, NAN, 300, &pressure, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_gas_pressure(&good, 0, NAN, &pressure, &error), KP_OUT_OF_RANGE);
    kp_gas bad = good;
    bad.charge_pressure = 0;
    cr_assert_eq(kp_gas_pressure(&bad, 0, 300, &pressure, &error), KP_OUT_OF_RANGE);
    bad = good;
    bad.exponent = 1.7;
    cr_assert_eq(kp_gas_pressure(&bad, 0, 300, &pressure, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(pressure, 17.25);
}
