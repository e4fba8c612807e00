/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Every fault and warning: spoil one thing of a sound damper, and exactly that is found, at its key. */
#include "fixtures.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static kp_damper_data d; /* the damper under test: sound before each spoiling */

static kp_valve_data *const compression = &d.valves[KP_COMPRESSION];
static kp_valve_data *const rebound = &d.valves[KP_REBOUND];

/** Is there exactly one fault, at this path, that says this? */
static void expect_fault(const char *path, const char *says, int line)
{
    kp_error error = {0};
    kp_findings found = {0};
    cr_assert_eq(kp_damper_validate(&d, &found, &error), KP_OK, "%s", error.message);
    cr_expect_eq(kp_findings_fault_count(&found), 1, "line %d: %zu faults", line, kp_findings_fault_count(&found));
    bool seen = false;

    for (size_t i = 0; i < found.count; i++) {
        seen = seen || (found.items[i].fault && strcmp(found.items[i].path, path) == 0 &&
                        strstr(found.items[i].text, says) != NULL);
    }

    cr_expect(seen, "line %d: no fault at %s that says \"%s\"; first is %s: %s", line, path, says,
              found.count > 0 ? found.items[0].path : "", found.count > 0 ? found.items[0].text : "");
    kp_findings_free(&found);
    d = fixture_sound();
}

static void expect_warning(const char *path, const char *says, int line)
{
    kp_error error = {0};
    kp_findings found = {0};
    cr_assert_eq(kp_damper_validate(&d, &found, &error), KP_OK, "%s", error.message);
    cr_expect_eq(kp_findings_fault_count(&found), 0, "line %d: a fault, %s", line, found.items[0].text);
    bool seen = false;
    for (size_t i = 0; i < found.count; i++) {
        seen = seen || (strcmp(found.items[i].path, path) == 0 && strstr(found.items[i].text, says) != NULL);
    }
    cr_expect(seen, "line %d: no warning at %s that says \"%s\"", line, path, says);
    kp_findings_free(&found);
    d = fixture_sound();
}

#define FAULT(spoil, path, says)                                                                                       \
    do {                                                                                                               \
        spoil;                                                                                                         \
        expect_fault((path), (says), __LINE__);                                                                        \
    } while (0)
#define WARNING(spoil, path, says)                                                                                     \
    do {                                                                                                               \
        spoil;                                                                                                         \
        expect_warning((path), (says), __LINE__);                                                                      \
    } while (0)

static void begin(void)
{
    d = fixture_sound();
}

TestSuite(validate, .init = begin);

Test(validate, finds_nothing_in_a_sound_damper)
{
    kp_error error = {0};
    kp_findings found = {0};
    cr_assert_eq(kp_damper_validate(&d, &found, &error), KP_OK);
    cr_assert_eq(found.count, 0, "%s: %s", found.items[0].path, found.items[0].text);
    d.valves[KP_COMPRESSION].land_outer = d.valves[KP_COMPRESSION].land_inner; /* a sharp seat */
    d.valves[KP_REBOUND].lines[2].outside = 14.3e-3;                           /* a spacer inside the clamp */
    d.valves[KP_REBOUND].lines[1].outside = 44.3e-3;                           /* larger over smaller */
    d.valves[KP_COMPRESSION].dish = -0.11e-3;                                  /* a permanent gap */
    d.bleeds[0].plugged = 3;
    cr_assert_eq(kp_damper_validate(&d, &found, &error), KP_OK);
    cr_assert_eq(found.count, 0, "%s: %s", found.items[0].path, found.items[0].text);
}

Test(validate, body_and_oil)
{
    FAULT(d.bore = -63e-3, "body.bore", "larger than 0");
    FAULT(d.bore = NAN, "body.bore", "larger than 0");
    FAULT(d.rod = INFINITY, "body.rod", "larger than 0");
    FAULT(d.rod = d.bore; d.gas.volume = 1e-3, "body.rod", "rod 63.47 mm is not smaller than the bore 63.47 mm");
    FAULT(d.stroke = 0, "body.stroke", "larger than 0");
    FAULT(d.position = 251e-3, "position", "outside the stroke, 0 to 247 mm");
    FAULT(d.position = NAN, "position", "outside the stroke");
    FAULT(d.friction = -3, "friction", "negative");
    WARNING(d.friction_given = false, "friction", "taken as 0 N");
    WARNING(d.friction = 5000, "friction", "more than");
    FAULT(d.oil_temperature = -1, "temperature", "absolute zero");
    WARNING(d.oil_temperature = 450, "temperature", "outside -40 to 150 degC");
    FAULT(d.oil.viscosity_1 = 0, "oil.viscosity", "larger than 0");
    FAULT(d.oil.temperature_2 = 313.2, "oil.viscosity", "must differ");
    FAULT(d.oil.viscosity_2 = 17e-6, "oil.viscosity", "are the two points swapped?");
    FAULT(d.oil.density = NAN, "oil.density", "larger than 0");
    WARNING(d.oil.density = 8570, "oil.density", "700 to 1100");
    FAULT(d.oil.expansion = -1e-4, "oil.expansion", "outside 0 to");
    FAULT(d.release_pressure = -1, "oil.release pressure", "negative");
}

Test(validate, gas_leak_bleed)
{
    FAULT(d.gas.charge_pressure = 0, "gas.charge", "larger than 0");
    FAULT(d.has_maximum_charge = true; d.maximum_charge = 13e5, "gas.charge", "above the maximum charge");
    FAULT(d.has_maximum_charge = true; d.maximum_charge = 13e5, "gas.charge", "dry nitrogen only");
    FAULT(d.has_maximum_charge = true; d.maximum_charge = NAN, "gas.maximum charge", "larger than 0");
    WARNING(d.gas.charge_pressure = 61e5, "gas.charge", "dry nitrogen only, never air or oxygen");
    WARNING(d.release_pressure = 15.5e5, "gas.charge", "cavitates as soon as it moves");
    FAULT(d.release_pressure = 19e5, "gas.charge", "cavitates at rest"); /* as the damper refuses it */
    FAULT(d.gas.charge_pressure = 101325 - 50, "gas.charge", "below the air's pressure");
    FAULT(d.gas.charge_pressure = 0.9e5, "gas.charge", "dry nitrogen only");
    FAULT(d.gas.charge_temperature = 0, "gas.charge", "absolute zero");
    FAULT(d.gas.exponent = 1.7, "gas.exponent", "outside 1 to 1.4");
    FAULT(d.gas.volume = -1, "gas.volume", "larger than 0");
    FAULT(d.gas.volume = 91e-6, "gas.volume", "the rod could not go in");
    WARNING(d.gas.volume = 111e-6, "gas.volume", "rises");
    FAULT(d.leak.clearance = -1e-5, "leak.clearance", "negative");
    FAULT(d.leak.clearance = 2e-5, "leak.length", "larger than 0");
    FAULT(d.leak.eccentricity = 1.3, "leak.eccentricity", "outside 0 to 1");
    WARNING(d.leak.clearance = 0.8e-3; d.leak.length = 8e-3, "leak.clearance", "diametral");
    FAULT(d.bleeds[0].ports = 0; d.bleeds[0].plugged = 0; d.leak.clearance = 2e-5;
          d.leak.length = 8e-3, "piston.bleed[0].ports", "at least 1");
    FAULT(d.bleeds[0].plugged = 5, "piston.bleed[0].plugged", "5 plugged of 4 ports: 0 to 4");
    FAULT(d.bleeds[0].diameter = 0, "piston.bleed[0].diameter", "larger than 0");
    FAULT(d.bleeds[0].diameter = 33e-3, "piston.bleed[0].diameter", "more area than the bore");
    FAULT(d.bleeds[0].length = -1e-3, "piston.bleed[0].length", "larger than 0");
    FAULT(d.bleed_count = 2; d.bleeds[1] = d.bleeds[0]; d.bleeds[1].length = NAN, "piston.bleed[1].length", "larger");
    WARNING(d.bleeds[0].length = 17e-3, "piston.bleed[0].length", "11.1 diameters");
    WARNING(d.bleeds[0].plugged = 4, "piston.bleed", "in rebound neither");
    WARNING(d.bleeds[0].flows = KP_FLOWS_REBOUND, "piston.bleed", "in compression neither");
}

Test(validate, valve)
{
    FAULT(compression->port_area = 0, "piston.compression.port.area", "larger than 0");
    FAULT(rebound->port_area = 3200e-6, "piston.rebound.port.area", "not smaller than that of the bore");
    FAULT(compression->port_inner = 14.9e-3, "piston.compression.port.inner", "lies inside the clamp washer, 15.9 mm");
    FAULT(compression->port_inner = 33.1e-3, "piston.compression.port.inner", "not smaller than land inner, 33.1 mm");
    FAULT(compression->land_outer = 32.9e-3, "piston.compression.land.outer", "smaller than land inner");
    FAULT(rebound->land_outer = 40.1e-3, "piston.rebound.land.outer", "outside the face shim, 39.7 mm");
    FAULT(rebound->land_outer = NAN, "piston.rebound.land.outer", "larger than 0");
    FAULT(compression->load_coverage = 1.2, "piston.compression.load coverage", "at most 1");
#define PORTS compression->has_ports = compression->has_port_share = true, compression->port_count = 4
    FAULT(PORTS; compression->port_share = 0, "piston.compression.port.share", "larger than 0 and at most 1");
    FAULT(PORTS; compression->port_share = NAN, "piston.compression.port.share", "larger than 0 and at most 1");
    FAULT(PORTS; compression->port_share = 0.6;
          compression->has_port_share = false, "piston.compression.port.ports", "goes with `share`");
    FAULT(PORTS; compression->port_share = 0.6;
          compression->has_ports = false, "piston.compression.port.share", "goes with `ports`");
    FAULT(PORTS; compression->port_share = 0.6;
          compression->port_count = 25, "piston.compression.port.ports", "25 ports: 2 to 24");
    FAULT(PORTS; compression->port_share = 0.6;
          compression->has_load_coverage = true, "piston.compression.load coverage", "leave it out");
#undef PORTS
    FAULT(compression->flatness = NAN, "piston.compression.flatness", "negative");
    FAULT(compression->flatness = 0.11e-3, "piston.compression.flatness", "half the face shim's thickness");
    WARNING(compression->has_flatness = true;
            compression->flatness = 0.04e-3, "piston.compression.flatness", "more than 0.15 of");
    FAULT(compression->curtain_coverage = 0, "piston.compression.curtain coverage", "larger than 0");
    FAULT(compression->port_discharge = NAN, "piston.compression.port.discharge coefficient", "larger than 0");
    FAULT(compression->has_curtain_discharge = true;
          compression->curtain_discharge = -1, "piston.compression.curtain discharge coefficient", "larger than 0");
    FAULT(compression->curtain_scale = 0.1, "piston.compression.curtain scale", "outside 0.2 to 5");
    FAULT(compression->curtain_scale = NAN, "piston.compression.curtain scale", "outside 0.2 to 5");
    FAULT(compression->flow_force_scale = -0.1, "piston.compression.flow force scale", "outside 0 to 5");
    FAULT(compression->has_curtain_discharge = true; compression->curtain_discharge = 0.7;
          compression->curtain_scale = 1.1, "piston.compression.curtain scale", "give one of them");
    FAULT(compression->velocity_head_share = 1.5, "piston.compression.velocity head share", "outside 0 to 1");
    FAULT(compression->dish = 3.1e-3, "piston.compression.dish", "free width");
    FAULT(compression->dish = NAN, "piston.compression.dish", "free width");
    WARNING(compression->dish = 1.3e-3, "piston.compression.dish", "up to 1 mm is common");
    FAULT(compression->clamp_washer = 0, "piston.compression.clamp.washer", "larger than 0");
    FAULT(compression->has_stop = true, "piston.compression.stop.outside", "larger than 0");
    FAULT(compression->has_stop = true; compression->stop_outside = 30e-3;
          compression->stop_gap = -1e-3, "piston.compression.stop.gap", "negative");
    WARNING(compression->has_stop = true;
            compression->stop_outside = 12e-3, "piston.compression.stop.outside", "no shim can reach it");
}

static void bronze(void)
{
    d.material_count = 1;
    d.materials[0] = (kp_material_data){.name = "bronze", .material = {113e9, 0.34, 510e6, 617e6, 213e6}};
}

static void bevel(void)
{
    compression->backing_count = 2;
    compression->backing[0] = (kp_backing_point){15.9e-3, 0};
    compression->backing[1] = (kp_backing_point){20.3e-3, 0.3e-3};
}

Test(validate, clamp_and_specialities)
{
    kp_shim_line *face = &compression->lines[0], *second = &compression->lines[1];
    FAULT(compression->grip = KP_GRIP_SLIDING, "piston.compression.clamp.grip", "needs the shims' hole");
    FAULT(compression->has_hole = true; compression->hole = 0, "piston.compression.clamp.hole", "larger than 0");
    FAULT(compression->has_hole = true; compression->hole = 16e-3, "piston.compression.clamp.hole", "no shim would be");
    FAULT(compression->nut_load = NAN, "piston.compression.clamp.nut load", "negative");
    WARNING(compression->nut_load = 9e3, "piston.compression.clamp.nut load",
            "changes nothing while the grip is `held`");
    FAULT(compression->nut_friction = -0.1, "piston.compression.clamp.friction", "outside 0 to 1");
    FAULT(face->has_hole = true; face->hole = 16.1e-3, "piston.compression.stack[0]", "nothing would hold it");
    WARNING(compression->line_count = 2; second->has_hole = true;
            second->hole = 19e-3, "piston.compression.stack[1]",
            "nothing above this loose ring reaches out to its hole");
    FAULT(second->has_hole = true; second->hole = 22.1e-3, "piston.compression.stack[1]", "smaller than the outside");
    FAULT(second->has_hole = true; second->hole = -1e-3, "piston.compression.stack[1]", "larger than 0");
    FAULT(face->slot_count = 4; face->slot_width = 0, "piston.compression.stack[0]", "must be larger than 0");
    FAULT(face->slot_count = 50; face->slot_width = 2e-3, "piston.compression.stack[0]", "take more than 80 %");
    FAULT(second->slot_count = 4; second->slot_width = 1e-3, "piston.compression.stack[1]", "give a depth");
    WARNING(second->slot_count = 4; second->slot_width = 1e-3; second->has_slot_depth = true;
            second->slot_depth = 4e-3, "piston.compression.stack[1]", "under what clamps it");
    FAULT(strcpy(face->material, "springsteel"), "piston.compression.stack[0]", "did you mean `spring steel`?");
    FAULT(bronze(); d.materials[0].material.young = 0.113e9, "materials.bronze.young", "outside 1 to 1000 GPa");
    FAULT(bronze(); d.materials[0].material.poisson = 0.5, "materials.bronze.poisson", "outside 0 to 0.49");
    FAULT(bronze(); d.materials[0].material.yield = 0, "materials.bronze.yield", "larger than 0");
    FAULT(bronze(); d.materials[0].material.tensile = 500e6, "materials.bronze.tensile", "below the yield");
    FAULT(bronze();
          d.materials[0].material.fatigue = 700e6, "materials.bronze.fatigue", "between 0 and the tensile strength");
    WARNING(bronze(); d.materials[0].material.fatigue = 0, "materials.bronze", "is not assessed");
    WARNING(bronze(); d.materials[0].material.young = 40e9, "materials.bronze.young", "60 to 230 GPa is common");
    FAULT(bevel();
          compression->backing[0].diameter = 15.8e-3, "piston.compression.backing.profile[0].diameter", "clamp washer");
    FAULT(bevel();
          compression->backing[1].diameter = 15.8e-3, "piston.compression.backing.profile[1].diameter", "point before");
    FAULT(bevel(); compression->backing[1].gap = -1e-6, "piston.compression.backing.profile[1].gap", "negative");
    FAULT(bevel(); compression->backing[1].gap = NAN, "piston.compression.backing.profile[1].gap", "negative");
    FAULT(bevel(); compression->has_stop = true; compression->stop_outside = 30e-3;
          compression->stop_gap = 1e-3, "piston.compression.backing", "one thing to the shims");
    FAULT(bevel(); compression->backing_count = 9, "piston.compression.backing.profile", "at most 8");
    FAULT(bevel(); compression->backing[1].diameter = 38e-3;
          compression->backing[1].gap = 0.1e-3, "piston.compression.backing", "jammed between seat and backing washer");
    bronze();
    bevel();
    compression->grip = KP_GRIP_SLIDING;
    compression->has_hole = true;
    compression->hole = 11.7e-3;
    kp_findings found = {0};
    cr_assert_eq(kp_damper_validate(&d, &found, NULL), KP_OK);
    cr_expect_eq(found.count, 0, "all of it sound: %s", found.count > 0 ? found.items[0].text : "");
    kp_findings_free(&found);
}

/* A small last shim clamps in the washer's place: the port may then reach in to it. */
Test(validate, last_shim_clamps)
{
    compression->port_inner = 15.1e-3;
    compression->line_count = 4;
    compression->lines[3] = (kp_shim_line){.count = 1, .outside = 14.7e-3, .thickness = 0.3e-3};
    kp_findings found = {0};
    cr_assert_eq(kp_damper_validate(&d, &found, NULL), KP_OK);
    cr_expect_eq(found.count, 0, "%s", found.count > 0 ? found.items[0].text : "");
    kp_findings_free(&found);
    FAULT(compression->port_inner = 14.1e-3, "piston.compression.port.inner",
          "inside the last shims that clamp, 14.7 mm");
}

Test(validate, shims)
{
    kp_shim_line *face = &compression->lines[0], *third = &compression->lines[2];
    FAULT(compression->line_count = 0, "piston.compression.stack", "at least the face shim");
    FAULT(compression->line_count = 65, "piston.compression.stack", "at most 64");
    FAULT(face->outside = 15.9e-3, "piston.compression.stack[0]",
          "outside 15.9 mm is no larger than the clamp washer, 15.9 mm");
    FAULT(third->thickness = 15e-3, "piston.compression.stack[2]",
          "shim line 3: thickness 15 mm is outside 0.02 to 3 mm (did you mean 0.15 mm?)");
    FAULT(third->thickness = 4e-3, "piston.compression.stack[2]", "did you mean 0.4 mm?");
    FAULT(third->thickness = 0.008e-3, "piston.compression.stack[2]", "did you mean 0.008 in?");
    FAULT(third->thickness = 37.9e-3; third->outside = 0.2e-3, "piston.compression.stack[2]", "swapped?");
    FAULT(third->thickness = 0, "piston.compression.stack[2]", "larger than 0");
    FAULT(third->thickness = -0.2e-3, "piston.compression.stack[2]", "thickness -0.2 mm must be larger than 0");
    FAULT(third->thickness = NAN, "piston.compression.stack[2]", "larger than 0");
    FAULT(third->thickness = INFINITY, "piston.compression.stack[2]", "outside 0.02 to 3 mm");
    FAULT(third->outside = NAN, "piston.compression.stack[2]", "larger than 0");
    FAULT(third->outside = 64e-3, "piston.compression.stack[2]", "does not fit into the bore, 63.47 mm");
    FAULT(face->outside = 64e-3, "piston.compression.stack[0]", "face shim: outside 64 mm does not fit into the bore");
    FAULT(third->outside = 1.5e-3, "piston.compression.stack[2]", "did you mean 1.5 in?");
    FAULT(third->outside = 1.6 * 25.4e-6, "piston.compression.stack[2]", "did you mean 1.6 in, with a unit");
    FAULT(third->thickness = 38e-3; third->outside = 5.1e-3, "piston.compression.stack[2]", "outside 0.02 to 3 mm");
    FAULT(third->count = 0, "piston.compression.stack[2]", "at least 1");
    FAULT(third->count = 10000, "piston.compression.stack[2]", "makes 10004 shims in the stack; at most 64");
    FAULT(third->count = 61, "piston.compression.stack[2]", "makes 65 shims");
    WARNING(face->outside = 62.9e-3, "piston.compression.stack[0]", "chokes the flow");

    /* the thickest and the thinnest are still good, whatever the unit they were written in */
    third->count = 60;
    third->thickness = 0.02e-3;
    compression->lines[1].thickness = 3.0000000001e-3;
    kp_findings found = {0};
    cr_assert_eq(kp_damper_validate(&d, &found, NULL), KP_OK);
    cr_assert_eq(found.count, 0, "%s", found.items[0].text);
}

/* Many faults at once: each is there, in the order of the file, and one mistake is not reported twice. */
Test(validate, finds_all_at_once)
{
    d.bore = 0;
    d.oil.density = 0;
    d.gas.exponent = 2;
    d.bleeds[0].plugged = 9;
    compression->lines[0].thickness = 0;
    rebound->land_inner = 0;
    kp_findings found = {0};
    cr_assert_eq(kp_damper_validate(&d, &found, NULL), KP_OK);
    static const char *const paths[] = {"body.bore",
                                        "oil.density",
                                        "gas.exponent",
                                        "piston.bleed[0].plugged",
                                        "piston.compression.stack[0]",
                                        "piston.rebound.land.inner"};
    size_t faults = 0;

    for (size_t i = 0; i < found.count; i++) {
        if (found.items[i].fault && faults < 6) {
            cr_expect_str_eq(found.items[i].path, paths[faults]);
            faults++;
        }
    }

    cr_assert_eq(kp_findings_fault_count(&found), 6);
    kp_findings_free(&found);
    cr_assert(found.items == NULL && found.count == 0);
}

Test(validate, adjusters_and_checks)
{
#define A d.has_adjuster = true, d.adjuster = fixture_adjuster()
    FAULT(A; d.adjuster.clicks = 21, "piston.adjuster.clicks", "21 clicks: this adjuster has 0 (closed) to 20");
    FAULT(A; d.adjuster.max_clicks = 0; d.adjuster.clicks = 0, "piston.adjuster.most clicks", "1 to 500");
    FAULT(A; d.adjuster.seat = 0, "piston.adjuster.seat", "larger than 0");
    FAULT(A; d.adjuster.point_area[2] = 1e-6, "piston.adjuster.areas", "must never fall");
    FAULT(A; d.adjuster.area_per_click = 1e-7, "piston.adjuster.area per click", "both given");
    FAULT(A; d.adjuster.point_count = 0, "piston.adjuster.areas", "no area");
    FAULT(A; d.adjuster.point_count = 0;
          d.adjuster.area_per_click = -1e-7, "piston.adjuster.area per click", "larger than 0");
    FAULT(d.bleeds[0].has_jet_length = true;
          d.bleeds[0].jet_length = 1, "piston.bleed[0].jet length", "is more than its port's");
    FAULT(A; d.adjuster.discharge = 1.2, "piston.adjuster.discharge coefficient", "outside 0 to 1");
    WARNING(A; d.adjuster.max_clicks = 24, "piston.adjuster.areas", "level outside");
    WARNING(A; d.adjuster.point_area[2] = 14e-6, "piston.adjuster.seat", "lets through");
#undef A
    FAULT(d.bleeds[0].jetted = 4; d.bleeds[0].jet = 1e-3, "piston.bleed[0].jetted", "0 to 3");
    FAULT(d.bleeds[0].jetted = 1; d.bleeds[0].jet = 1.6e-3, "piston.bleed[0].jet", "not smaller than its port");
    WARNING(d.bleeds[0].jetted = 1; d.bleeds[0].jet = 1.4e-3, "piston.bleed[0].jet", "only the jet is counted");
    FAULT(d.bleeds[0].has_check = true; d.bleeds[0].check = fixture_check(), "piston.bleed[0].flows", "one way only");
#define C d.bleeds[0].has_check = true, d.bleeds[0].flows = KP_FLOWS_REBOUND, d.bleeds[0].check = fixture_check()
    FAULT(C; d.bleeds[0].check.plate.rate = 0, "piston.bleed[0].check.rate", "would jump open");
    FAULT(C; d.bleeds[0].check.plate.lift = 0, "piston.bleed[0].check.lift", "larger than 0");
    FAULT(C; d.bleeds[0].check.seat = 70e-3, "piston.bleed[0].check.seat", "does not fit");
#undef C
}

Test(validate, plates_reservoir_divider_oil)
{
#define P                                                                                                              \
    d.valves[1].has_plate = true, d.valves[1].line_count = 0, d.valves[1].dish = 0,                                    \
    d.valves[1].plate = (kp_spring_plate){100, 20e3, 2e-3}
    FAULT(P; d.valves[1].dish = 1e-4, "piston.rebound.dish", "no dish");
    FAULT(P; d.valves[1].has_flatness = true, "piston.rebound.flatness", "does not bend");
    FAULT(P; d.valves[1].line_count = 3, "piston.rebound.stack", "leave one of them out");
    FAULT(P; d.valves[1].plate.preload = -1, "piston.rebound.plate.preload", "negative");
#undef P
    FAULT(d.valves[0].has_port_entry = true;
          d.valves[0].port_entry = -1, "piston.compression.port.entry area", "negative");
#define R                                                                                                              \
    d.reservoir.given = true, d.reservoir.has_adjuster = true, d.reservoir.adjuster = fixture_adjuster(),              \
    d.reservoir.has_return = true, d.reservoir.return_check = fixture_check(), d.reservoir.has_hose = true,            \
    d.reservoir.hose = (kp_hose_data){0.4, 8e-3}
    FAULT(R; d.reservoir.adjuster.clicks = 0, "reservoir", "out in compression");
    FAULT(R; d.reservoir.has_return = false;
          d.reservoir.adjuster.flows = KP_FLOWS_COMPRESSION, "reservoir", "back in rebound");
    FAULT(R; d.reservoir.adjuster.clicks = 33, "reservoir.adjuster.clicks", "0 (closed) to 20");
    FAULT(R; d.reservoir.hose.bore = 0, "reservoir.hose.bore", "larger than 0");
    FAULT(R; d.reservoir.return_check.plate.preload = NAN, "reservoir.return check.preload", "negative");
    WARNING(R; d.reservoir.hose.length = 4, "reservoir.hose.length", "unusual");
    WARNING(R; d.reservoir.has_adjuster = false, "reservoir.return check", "does nothing");
    FAULT(R; d.reservoir.has_valve = true; d.valves[2] = d.valves[0];
          d.valves[2].line_count = 0, "reservoir.valve.stack", "no shim");
#undef R
#define D d.divider = (kp_divider_data){.given = true, .bore = 52e-3, .depth = 160e-3, .travel = 70e-3}
    FAULT(D; d.divider.travel = 40e-3, "gas.divider.travel", "the damper locks before it bottoms");
    FAULT(D; d.has_oil_volume = true; d.oil_volume = 0.9e-3; d.fill_temperature = 293.15;
          d.oil_temperature = 383.15, "gas.divider.travel", "oil's expansion");
    WARNING(D; d.divider.travel = 47e-3, "gas.divider.travel", "of its 47 mm");
    FAULT(D; d.divider.travel = 161e-3, "gas.divider.travel", "no gas would be left");
    FAULT(D; d.divider.has_travel_out = true; d.divider.travel_out = 1e-3; d.has_oil_volume = true;
          d.oil_volume = 0.9e-3; d.fill_temperature = 293.15;
          d.oil_temperature = 253.15, "gas.divider.travel out", "no longer press");
#undef D
    WARNING(d.has_oil_range = true; d.oil_coldest = 253.15;
            d.oil_hottest = 303.15, "temperature", "40 degC is outside the oil's range, -20 to 30 degC");
    FAULT(d.has_oil_range = true; d.oil_coldest = 353.15; d.oil_hottest = 303.15, "oil.range", "the colder");
}
