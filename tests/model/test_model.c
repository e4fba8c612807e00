/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sound.h"

#include <criterion/criterion.h>
#include <string.h>

Test(model, turns_diameters_into_radii)
{
    kp_damper_data d = sound_damper();
    kp_valve_data *v = &d.valves[KP_REBOUND];
    v->has_stop = true;
    v->stop_outside = 31.3e-3;
    v->stop_gap = 0.83e-3;
    v->load_coverage = 0.87;
    v->grip = KP_GRIP_SLIDING;
    kp_disc discs[KP_MAX_STACK_LINES];
    kp_stack stack = kp_damper_stack(&d, KP_REBOUND, discs);
    cr_assert(stack.discs == discs && stack.disc_count == 3);
    for (size_t i = 0; i < 3; i++) {
        cr_expect_eq(discs[i].outer_radius, v->lines[i].outside / 2);
        cr_expect_eq(discs[i].thickness, v->lines[i].thickness);
        cr_expect_eq(discs[i].count, v->lines[i].count);
        cr_expect_eq(discs[i].material.young, 206e9);
        cr_expect_eq(discs[i].material.poisson, 0.3);
    }
    cr_expect_eq(stack.clamp_radius, 7.95e-3);
    cr_expect_eq(stack.port_inner_radius, 10.15e-3);
    cr_expect_eq(stack.land_inner_radius, 16.55e-3);
    cr_expect_eq(stack.land_outer_radius, 17.45e-3);
    cr_expect(stack.stop_count == 1 && stack.stop_radius[0] == 15.65e-3 && stack.stop_gap[0] == 0.83e-3);
    cr_expect(stack.dish == 0.21e-3 && stack.load_coverage == 0.87);
    cr_expect_eq(stack.grip, KP_GRIP_SLIDING);
    cr_assert_str_eq(kp_direction_name(KP_COMPRESSION), "compression");
    cr_assert_str_eq(kp_direction_name(KP_REBOUND), "rebound");
}

/* Each default is the one its standing is given for in src/model/defaults.c. */
Test(model, has_the_defaults_it_states)
{
    kp_damper_data d;
    memset(&d, 0x5A, sizeof d); /* whatever was there before is gone */
    kp_damper_defaults(&d);
    cr_expect_eq(d.oil.expansion, 8.3e-4, "MIL-H-5606, 0.00046 per degF (read)");
    cr_expect_eq(d.oil.density_temperature, 288.15);
    cr_expect_eq(d.oil_temperature, 313.15);
    cr_expect_eq(d.gas.charge_temperature, 293.15);
    cr_expect_eq(d.gas.exponent, 1.0);
    cr_expect_eq(d.release_pressure, 101325.0);
    cr_expect(d.bleed_count == 0 && d.leak.clearance == 0 && d.friction == 0 && !d.friction_given);
    cr_expect(!d.has_maximum_charge && d.position == 0 && d.name[0] == '\0');
    for (int i = 0; i < KP_DIRECTION_COUNT; i++) {
        const kp_valve_data *v = &d.valves[i];
        cr_expect(v->port_discharge > 0.611 && v->port_discharge < 0.827, "between a sharp edge and a long tube");
        cr_expect(v->curtain_discharge >= 0.60 && v->curtain_discharge <= 0.80, "the range of disc valves (memory)");
        cr_expect(v->velocity_head_share >= 0 && v->velocity_head_share <= 1);
        cr_expect(v->load_coverage == 1 && v->curtain_coverage == 1 && v->dish == 0 && !v->has_stop);
        cr_expect_eq(v->grip, KP_GRIP_HELD);
    }
}

Test(model, keeps_findings_whole)
{
    kp_findings found = {0};
    char long_text[1000];
    memset(long_text, 'x', sizeof long_text - 1);
    long_text[sizeof long_text - 1] = '\0';
    for (int i = 0; i < 100; i++) {
        cr_assert_eq(kp_findings_add(&found, i % 3 == 0, long_text, NULL, "%d %s", i, long_text), KP_OK);
    }
    cr_assert_eq(found.count, 100);
    cr_assert_eq(kp_findings_fault_count(&found), 34);
    cr_assert_eq(strlen(found.items[99].text), sizeof found.items[99].text - 1);
    cr_assert_eq(strlen(found.items[99].path), sizeof found.items[99].path - 1);
    cr_assert_eq(strncmp(found.items[99].text, "99 xxx", 6), 0);
    kp_findings_free(&found);
}
