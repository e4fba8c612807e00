/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fixtures.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

Test(model, turns_diameters_into_radii)
{
    kp_damper_data d = fixture_sound();
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
    cr_expect(stack.ports == 0 && stack.flatness == v->flatness);
    v->has_ports = v->has_port_share = true;
    v->port_count = 5;
    v->port_share = 0.61;
    v->flatness = 0.013e-3;
    stack = kp_damper_stack(&d, KP_REBOUND, discs);
    cr_expect(stack.ports == 5 && stack.port_share == 0.61 && stack.load_coverage == 0.61 &&
              stack.flatness == 0.013e-3);
    cr_expect_eq(stack.grip, KP_GRIP_SLIDING);
    cr_assert_str_eq(kp_direction_name(KP_COMPRESSION), "compression");
    cr_assert_str_eq(kp_direction_name(KP_REBOUND), "rebound");
}

/* Holes, slots, materials, grip and a profile: each in its own place. */
Test(model, maps_what_is_special)
{
    kp_damper_data d = fixture_sound();
    kp_valve_data *v = &d.valves[KP_COMPRESSION];
    d.material_count = 2;
    d.materials[0] = (kp_material_data){.name = "bronze", .material = {.young = 113e9, .poisson = 0.34, .yield = 5e8}};
    d.materials[1] =
        (kp_material_data){.name = "spring steel", .material = {.young = 201e9, .poisson = 0.28, .yield = 13e8}};
    v->grip = KP_GRIP_SLIDING;
    v->has_hole = true;
    v->hole = 11.7e-3;
    v->nut_load = 9300;
    v->nut_friction = 0.13;
    v->backing_count = 4;
    v->backing[0] = (kp_backing_point){15.9e-3, 0};
    v->backing[1] = (kp_backing_point){18.1e-3, 0};
    v->backing[2] = (kp_backing_point){18.1e-3, 0.2e-3};
    v->backing[3] = (kp_backing_point){21.3e-3, 0.37e-3};
    v->lines[1].has_hole = true;
    v->lines[1].hole = 17.3e-3;
    v->lines[2].slot_count = 4;
    v->lines[2].slot_width = 2.1e-3;
    strcpy(v->lines[2].material, "bronze");
    kp_disc discs[KP_MAX_STACK_LINES];
    kp_stack stack = kp_damper_stack(&d, KP_COMPRESSION, discs);
    cr_expect(discs[0].hole_radius == 5.85e-3 && discs[1].hole_radius == 8.65e-3 && discs[2].hole_radius == 5.85e-3);
    cr_expect(discs[0].slot_count == 0 && discs[2].slot_count == 4 && discs[2].slot_width == 2.1e-3);
    cr_expect(fabs(discs[2].slot_inner - (16.55e-3 - 2.1e-3)) < 1e-15, "one width inside the land's inner edge");
    cr_expect(discs[0].material.young == 201e9 && discs[2].material.young == 113e9, "a file's spring steel is its own");
    cr_expect(stack.grip == KP_GRIP_SLIDING && stack.nut_load == 9300 && stack.nut_friction == 0.13);
    cr_assert_eq(stack.stop_count, 4);
    cr_expect(stack.stop_radius[0] > stack.clamp_radius && stack.stop_radius[0] < stack.clamp_radius * 1.0001);
    cr_expect(stack.stop_radius[2] > stack.stop_radius[1] && stack.stop_radius[2] < stack.stop_radius[1] * 1.0001);
    cr_expect(stack.stop_gap[1] == 0 && stack.stop_gap[2] == 0.2e-3 && stack.stop_radius[3] == 10.65e-3);
    v->lines[2].has_slot_depth = true;
    v->lines[2].slot_depth = 3.7e-3;
    kp_damper_stack(&d, KP_COMPRESSION, discs);
    cr_expect(fabs(discs[2].slot_inner - (18.95e-3 - 3.7e-3)) < 1e-15, "a depth is measured from the edge");
    kp_shim_part parts[KP_MAX_STACK_LINES];
    double clamps[KP_MAX_STACK_LINES];
    v->lines[1].hole = 15.1e-3;
    v->line_count = 4;
    v->lines[3] = (kp_shim_line){.count = 1, .outside = 15.3e-3, .thickness = 0.3e-3};
    v->lines[1].hole = 15.4e-3;
    kp_valve_parts(v, parts, clamps);
    cr_expect(parts[3] == KP_SHIM_SPACER && parts[2] == KP_SHIM_PLATE && parts[1] == KP_SHIM_RING);
    cr_expect(clamps[3] == 15.9e-3 && clamps[2] == 15.3e-3 && clamps[0] == 15.3e-3, "the last small shim clamps");
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
        cr_expect(!v->has_curtain_discharge && v->curtain_scale == 1 && v->flow_force_scale == 1, "as computed");
        cr_expect(v->velocity_head_share >= 0 && v->velocity_head_share <= 1);
        cr_expect(v->load_coverage == 1 && v->curtain_coverage == 1 && v->dish == 0 && !v->has_stop);
        cr_expect(!v->has_ports && !v->has_load_coverage && !v->has_flatness && v->flatness == 1e-5);
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
