/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Low-pressure dampers: an open cartridge against arithmetic done by hand, and a charge of 0 bar gauge. */
#include "fixtures.h"
#include "kneepoint/damper.h"

#include <criterion/criterion.h>
#include <math.h>

static const double PI = 3.14159265358979323846;

/* A fork cartridge whose valves stay shut, so that all oil passes the piston band: bore 36 mm, rod 12 mm, a concentric
   gap of 0.15 mm over 30 mm, oil of 15 mm2/s and 860 kg/m3 at 40 degC. */
static kp_damper_data cartridge(void)
{
    kp_damper_data data = fixture_body();
    data.bore = 36e-3;
    data.rod = 12e-3;
    data.stroke = 0.12;
    data.position = 0.041;
    data.friction = 7.5;
    data.friction_given = true;
    data.bleed_count = 0;
    data.leak = (kp_leak_data){.clearance = 0.15e-3, .length = 30e-3};
    data.oil = (kp_oil){.temperature_1 = 313.15,
                        .viscosity_1 = 15e-6,
                        .temperature_2 = 373.15,
                        .viscosity_2 = 3.8e-6,
                        .density = 860,
                        .density_temperature = 313.15,
                        .expansion = 8e-4};
    data.oil_temperature = 313.15;
    data.gas_open = true;
    data.release_pressure = 0.217e5;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        kp_valve_data *valve = &data.valves[d];
        valve->has_plate = true;
        valve->line_count = 0;
        valve->dish = 0;
        valve->land_inner = 20e-3;
        valve->land_outer = 22e-3;
        valve->port_inner = 10e-3;
        valve->port_area = 90e-6;
        valve->plate = (kp_spring_plate){.preload = 5e3, .rate = 1e6, .lift = 1e-3}; /* shut up to 150 bar */
    }
    return data;
}

/* By hand: of the flow v (A - a) the wall drags pi D c v/2 through the gap, the rest needs
   dp = 12 mu L Q/(pi D c^3). The gas is at the air's pressure, so its force is 0 and the margin of the chamber at risk
   is p_atm - dp - p_release in compression and p_atm - p_release in rebound. Left out: the losses at the gap's ends, at
   these speeds below rho u^2/2 over dp = 0.05 %. */
Test(open, a_cartridge_equals_arithmetic_by_hand)
{
    static const double speeds[] = {0.0013, 0.0027, 0.0041};
    kp_damper_data data = cartridge();
    kp_error error = {0};
    kp_damper *damper = NULL;
    cr_assert_eq(kp_damper_fault(&data, &error), KP_OK, "%s", error.message);
    cr_assert_eq(kp_damper_begin(&data, 0.5, &damper, &error), KP_OK, "%s", error.message);

    double area = PI / 4 * (36e-3 * 36e-3 - 12e-3 * 12e-3);
    double viscosity = 15e-6 * 860;
    for (int i = 0; i < 6; i++) {
        double v = speeds[i / 2], sign = i % 2 == 0 ? 1 : -1;
        double flow = v * (area - PI * 36e-3 * 0.15e-3 / 2);
        double drop = 12 * viscosity * 30e-3 * flow / (PI * 36e-3 * 0.15e-3 * 0.15e-3 * 0.15e-3);
        double margin = 101325 - data.release_pressure - (sign > 0 ? drop : 0);
        kp_curve_point point;
        cr_assert_eq(kp_curve_at(damper, sign * v, &point, &error), KP_OK, "%s", error.message);
        cr_expect(fabs(point.piston_drop - drop) <= 1e-3 * drop, "%g m/s: %g Pa, by hand %g", v, point.piston_drop,
                  drop);
        cr_expect(fabs(point.damping_force - sign * (drop * area + 7.5)) <= 1e-3 * (drop * area), "%g m/s: %g N", v,
                  point.damping_force);
        cr_expect_eq(point.gas_force, 0.0);
        cr_expect_eq(point.force, point.damping_force);
        cr_expect(fabs(point.cavitation_margin - margin) <= 1e-3 * drop, "%g m/s: margin %g Pa, by hand %g", v,
                  point.cavitation_margin, margin);
        cr_expect_eq(kp_point_risks(&point), 0U);
    }

    /* Faster, the drop would be more than the air's pressure leaves: in compression it stands still there. */
    kp_curve_point fast;
    cr_assert_eq(kp_curve_at(damper, 0.04, &fast, &error), KP_OK, "%s", error.message);
    double held = (101325 - data.release_pressure) * area + 7.5;
    cr_expect(fast.cavitates && fabs(fast.damping_force - held) <= 1e-9 * held, "%g N, by hand %g", fast.damping_force,
              held);
    kp_damper_free(damper);

    /* Neither position nor temperature nor a charge left in the data changes the gas. */
    double pressure;
    data.position = data.stroke;
    data.oil_temperature = 273.15;
    data.gas.charge_pressure = 15e5;
    cr_assert_eq(kp_damper_gas_pressure(&data, &pressure, &error), KP_OK);
    cr_expect_eq(pressure, 101325.0);
}

/* A charge of 0 bar gauge is air shut in: Boyle's law by hand, at the charge's temperature and with exponent 1. */
Test(open, a_charge_of_nothing_is_air_shut_in)
{
    kp_damper_data data = cartridge();
    kp_error error = {0};
    kp_damper *damper = NULL;
    data.gas_open = false;
    data.gas = (kp_gas){.charge_pressure = KP_ATMOSPHERE, .charge_temperature = 313.15, .volume = 60e-6, .exponent = 1};
    cr_assert_eq(kp_damper_fault(&data, &error), KP_OK, "%s", error.message);
    cr_assert_eq(kp_damper_begin(&data, 0.5, &damper, &error), KP_OK, "%s", error.message);
    kp_curve_point point;
    cr_assert_eq(kp_curve_at(damper, -0.0027, &point, &error), KP_OK, "%s", error.message);
    double rod = PI / 4 * 12e-3 * 12e-3, volume = rod * 0.041;
    double pressure = 101325 * 60e-6 / (60e-6 - volume);
    cr_expect(fabs(point.gas_force - (pressure - 101325) * rod) <= 1e-9 * point.gas_force, "%g N", point.gas_force);
    cr_expect(fabs(point.cavitation_margin - (pressure - data.release_pressure)) <= 1e-6 * pressure, "%g Pa",
              point.cavitation_margin);
    kp_damper_free(damper);

    data.gas.charge_pressure = KP_ATMOSPHERE - 2e3;
    cr_expect_eq(kp_damper_fault(&data, &error), KP_BAD_INPUT, "a vacuum");
    data.gas_open = true;
    data.release_pressure = 1.02e5;
    cr_expect_eq(kp_damper_fault(&data, &error), KP_BAD_INPUT, "it cavitates at rest");
}
