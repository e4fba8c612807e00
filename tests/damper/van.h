/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A made-up rear damper of a loaded 4x4 rescue van, as data: the tests of this room start from it. */
#ifndef KNEEPOINT_TESTS_VAN_H
#define KNEEPOINT_TESTS_VAN_H

#include "kneepoint/damper.h"

#include <criterion/criterion.h>

static inline kp_valve_data van_valve(double dish)
{
    kp_damper_data defaults;
    kp_damper_defaults(&defaults);
    kp_valve_data v = defaults.valves[KP_COMPRESSION];
    v.port_area = 240e-6;
    v.port_inner = 0.020;
    v.land_inner = 0.033;
    v.land_outer = 0.035;
    v.curtain_coverage = 0.75;
    v.dish = dish;
    v.clamp_washer = 0.016;
    v.line_count = 3;
    v.lines[0] = (kp_shim_line){.count = 1, .outside = 0.040, .thickness = 0.20e-3};
    v.lines[1] = (kp_shim_line){.count = 1, .outside = 0.036, .thickness = 0.20e-3};
    v.lines[2] = (kp_shim_line){.count = 1, .outside = 0.030, .thickness = 0.20e-3};
    return v;
}

static inline kp_damper_data van_damper(double dish)
{
    kp_damper_data d;
    kp_damper_defaults(&d);
    d.bore = 0.0635;
    d.rod = 0.022;
    d.stroke = 0.250;
    d.position = 0.110;
    d.oil = (kp_oil){.temperature_1 = 313.15,
                     .viscosity_1 = 15e-6,
                     .temperature_2 = 373.15,
                     .viscosity_2 = 3.8e-6,
                     .density = 860,
                     .density_temperature = 288.15,
                     .expansion = 8.3e-4};
    d.gas = (kp_gas){.charge_pressure = 1.513e6, .charge_temperature = 293.15, .volume = 350e-6, .exponent = 1};
    d.friction = 60;
    d.friction_given = true;
    d.bleed_count = 1;
    d.bleeds[0] = (kp_bleed){.ports = 4, .plugged = 2, .diameter = 1.5e-3, .length = 9e-3, .flows = KP_FLOWS_BOTH};
    d.leak = (kp_leak_data){.clearance = 30e-6, .length = 0.012, .eccentricity = 0.5};
    d.valves[KP_COMPRESSION] = van_valve(dish);
    d.valves[KP_REBOUND] = van_valve(dish);
    d.valves[KP_REBOUND].lines[1].count = 3;
    return d;
}

static inline kp_damper *van_begin(const kp_damper_data *data, double largest_speed)
{
    kp_error error = {0};
    kp_damper *damper = NULL;
    cr_assert_eq(kp_damper_begin(data, largest_speed, &damper, &error), KP_OK, "%s", error.message);
    return damper;
}

static inline kp_curve_point van_point(const kp_damper *damper, double speed)
{
    kp_error error = {0};
    kp_curve_point point = {0};
    cr_assert_eq(kp_curve_at(damper, speed, &point, &error), KP_OK, "%s", error.message);
    return point;
}

/* |hydraulic force| at a speed of a damper made for this one question [N]. */
static inline double van_force(const kp_damper_data *data, double speed)
{
    kp_damper *damper = van_begin(data, 1.2);
    kp_curve_point point = van_point(damper, speed);
    kp_damper_free(damper);
    return point.hydraulic_force < 0 ? -point.hydraulic_force : point.hydraulic_force;
}

#endif
