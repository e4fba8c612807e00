/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A sound damper, its numbers invented, for tests to spoil one by one. */
#ifndef KP_TESTS_MODEL_SOUND_H
#define KP_TESTS_MODEL_SOUND_H

#include "kneepoint/model.h"

static inline kp_damper_data sound_damper(void)
{
    kp_damper_data d;
    kp_damper_defaults(&d);
    d.bore = 63.47e-3;
    d.rod = 21.9e-3;
    d.stroke = 247e-3;
    d.position = 119e-3;
    d.friction = 57;
    d.friction_given = true;
    d.oil.temperature_1 = 313.15;
    d.oil.viscosity_1 = 15.3e-6;
    d.oil.temperature_2 = 373.15;
    d.oil.viscosity_2 = 3.71e-6;
    d.oil.density = 857;
    d.gas.charge_pressure = 14.7e5;
    d.gas.volume = 341e-6;
    d.bleed_count = 1;
    d.bleeds[0] = (kp_bleed){.ports = 4, .plugged = 1, .diameter = 1.53e-3, .length = 8.7e-3};
    for (int i = 0; i < KP_DIRECTION_COUNT; i++) {
        kp_valve_data *v = &d.valves[i];
        v->port_area = 243e-6;
        v->port_inner = 20.3e-3;
        v->land_inner = 33.1e-3;
        v->land_outer = 34.9e-3;
        v->dish = 0.21e-3;
        v->clamp_washer = 15.9e-3;
        v->line_count = 3;
        v->lines[0] = (kp_shim_line){.count = 3, .outside = 39.7e-3, .thickness = 0.203e-3};
        v->lines[1] = (kp_shim_line){.count = 1, .outside = 22.1e-3, .thickness = 0.102e-3};
        v->lines[2] = (kp_shim_line){.count = 1, .outside = 37.9e-3, .thickness = 0.203e-3};
    }
    return d;
}

#endif
