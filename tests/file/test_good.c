/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Good input: every key lands where it belongs, trials merge by the rules, settings come last. */
#include "files.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <unistd.h>

static kp_damper_data d;

static void read_good(const memory_file *files, const char *const *settings, size_t count, size_t expected_warnings)
{
    kp_error error = {0};
    kp_messages messages = {0};
    memset(&d, 0x5A, sizeof d);
    kp_status status =
        kp_file_read_damper_from(open_in_memory, (void *)files, files[0].name, settings, count, &d, &messages, &error);
    cr_assert_eq(status, KP_OK, "%s", error.message);
    cr_expect_eq(messages.count, expected_warnings, "%s", messages.count > 0 ? messages.items[0].text : "no warning");
    kp_messages_free(&messages);
}

/* Sizes go through a unit's factor: one rounding of each [relative]. */
static bool is(double value, double expected)
{
    return fabs(value - expected) <= 5e-16 * fabs(expected);
}

Test(good, every_key_lands_in_its_field)
{
    static const char text[] =
        "format: 1\n"
        "name: \"Every key \xC3\xA4\"\n"
        "body: {bore: 2.5 in, rod: 21.7 mm, stroke: 24.7 cm}\n"
        "oil:\n"
        "  viscosity: {104 degF: 15.3 cSt, 100 degC: 3.71 mm2/s}\n"
        "  density: 857 kg/m3 at 17.3 degC\n"
        "  expansion: 7.9e-4 1/K\n"
        "  release pressure: 0.47 bar absolute\n"
        "gas: {charge: 203.7 psi gauge at 18.3 degC, maximum charge: 19.3 bar absolute, volume: 341 cm3, exponent: "
        "1.17}\n"
        "friction: 57 N\n"
        "temperature: 43.7 degC\n"
        "position: 97 mm\n"
        "leak: {clearance: 0.031 mm, length: 7.7 mm, eccentricity: 43 %}\n"
        "materials:\n"
        "  bronze: {young: 113 GPa, poisson: 0.34, yield: 510 MPa, tensile: 617 MPa, fatigue: 213 MPa}\n"
        "  soft steel: {young: 3e7 psi, poisson: 0.29, yield: 61 ksi, tensile: 71 ksi, fatigue: 31 ksi}\n"
        "piston:\n"
        "  bleed:\n"
        "    - {ports: 5, plugged: 3, diameter: 1.53 mm, length: 8.7 mm, flows: rebound}\n"
        "    - {ports: 2, diameter: 1.1 mm, length: 4.3 mm}\n"
        "  compression:\n"
        "    port: {area: 243 mm2, inner: 20.3 mm, discharge coefficient: 0.73}\n"
        "    land: {inner: 33.1 mm, outer: 34.9 mm}\n"
        "    load coverage: 91 %\n"
        "    curtain coverage: 0.77\n"
        "    curtain discharge coefficient: 0.67\n"
        "    flow force scale: 0.85\n"
        "    velocity head share: 0.31\n"
        "    dish: 0.253 mm +/- 0.031 mm measured\n"
        "    flatness: 0.017 mm\n"
        "    clamp: {washer: 15.9 mm, grip: held}\n"
        "    stop: {outside: 29.3 mm, gap: 1.37 mm}\n"
        "    stack: [3 of 39.7 x 0.203 mm, \"1 of 22.1 x 0.102 mm\", 2 of 1.5 in x 8 mil, 1 of 30x0.3 mm, "
        "1 of 28 mm \xC3\x97 12 thou]\n"
        "  rebound:\n"
        "    port: {area: 181 mm2, inner: 20.1 mm, ports: 7, share: 63 %}\n"
        "    land: {inner: 32.9 mm, outer: 32.9 mm}\n"
        "    clamp: {washer: 16.1 mm, grip: sliding, hole: 11.7 mm, nut load: 9.3 kN, friction: 0.13}\n"
        "    backing: {profile: [{diameter: 16.1 mm, gap: 0 mm}, {diameter: 21.3 mm, gap: 0.37 mm}]}\n"
        "    stack:\n"
        "      - 4 of 38.3 x 0.253 mm\n"
        "      - 1 of 36.1 x 0.153 mm, hole 29.3 mm\n"
        "      - 1 of 37.3 x 0.203 mm, slots 4 x 2.1 mm, material bronze, hole 0.47 in\n"
        "      - 1 of 30.3 x 0.203 mm, slots 6 x 1.3 x 3.7 mm, material soft steel\n";
    memory_file files[] = {{"v.yaml", text, 0}, {NULL, NULL, 0}};
    read_good(files, NULL, 0, 0);
    cr_expect_str_eq(d.name, "Every key \xC3\xA4");
    cr_expect(is(d.bore, 63.5e-3) && is(d.rod, 21.7e-3) && is(d.stroke, 247e-3));
    cr_expect(is(d.oil.temperature_1, 313.15) && is(d.oil.viscosity_1, 15.3e-6));
    cr_expect(is(d.oil.temperature_2, 373.15) && is(d.oil.viscosity_2, 3.71e-6));
    cr_expect(is(d.oil.density, 857) && is(d.oil.density_temperature, 290.45) && is(d.oil.expansion, 7.9e-4));
    cr_expect(is(d.release_pressure, 47e3));
    cr_expect(fabs(d.gas.charge_pressure - (203.7 * 6894.757293168 + 101325)) < 1e-5 && d.charge_was_gauge);
    cr_expect(is(d.gas.charge_temperature, 291.45) && is(d.gas.volume, 341e-6) && is(d.gas.exponent, 1.17));
    cr_expect(d.has_maximum_charge && is(d.maximum_charge, 19.3e5));
    cr_expect(d.friction == 57 && d.friction_given && is(d.oil_temperature, 316.85) && is(d.position, 97e-3));
    cr_expect(is(d.leak.clearance, 31e-6) && is(d.leak.length, 7.7e-3) && is(d.leak.eccentricity, 0.43));
    cr_assert_eq(d.bleed_count, 2);
    cr_expect(d.bleeds[0].ports == 5 && d.bleeds[0].plugged == 3 && d.bleeds[0].flows == KP_FLOWS_REBOUND);
    cr_expect(is(d.bleeds[0].diameter, 1.53e-3) && is(d.bleeds[0].length, 8.7e-3));
    cr_expect(d.bleeds[1].ports == 2 && d.bleeds[1].plugged == 0 && d.bleeds[1].flows == KP_FLOWS_BOTH);
    const kp_valve_data *c = &d.valves[KP_COMPRESSION], *r = &d.valves[KP_REBOUND];
    cr_expect(is(c->port_area, 243e-6) && is(c->port_inner, 20.3e-3) && is(c->port_discharge, 0.73));
    cr_expect(is(c->land_inner, 33.1e-3) && is(c->land_outer, 34.9e-3));
    cr_expect(is(c->load_coverage, 0.91) && is(c->curtain_coverage, 0.77) && is(c->curtain_discharge, 0.67));
    cr_expect(c->has_curtain_discharge && c->curtain_scale == 1 && is(c->flow_force_scale, 0.85));
    cr_expect(is(c->velocity_head_share, 0.31) && is(c->dish, 0.253e-3));
    cr_expect(!c->has_ports && !c->has_port_share && c->has_load_coverage && c->has_flatness && is(c->flatness, 17e-6));
    cr_expect(r->has_ports && r->port_count == 7 && r->has_port_share && is(r->port_share, 0.63));
    cr_expect(!r->has_load_coverage && !r->has_flatness && is(r->flatness, 10e-6), "the default");
    cr_expect(is(kp_valve_load_share(c), 0.91) && is(kp_valve_load_share(r), 0.63));
    cr_expect(is(c->clamp_washer, 15.9e-3) && c->grip == KP_GRIP_HELD);
    cr_expect(c->has_stop && is(c->stop_outside, 29.3e-3) && is(c->stop_gap, 1.37e-3));
    cr_assert_eq(c->line_count, 5);
    static const struct {
        int count;
        double outside, thickness;
    } lines[] = {{3, 39.7e-3, 0.203e-3},
                 {1, 22.1e-3, 0.102e-3},
                 {2, 38.1e-3, 0.2032e-3},
                 {1, 30e-3, 0.3e-3},
                 {1, 28e-3, 0.3048e-3}};

    for (size_t i = 0; i < 5; i++) {
        cr_expect(c->lines[i].count == lines[i].count && is(c->lines[i].outside, lines[i].outside) &&
                      is(c->lines[i].thickness, lines[i].thickness),
                  "line %zu: %d of %g x %g", i, c->lines[i].count, c->lines[i].outside, c->lines[i].thickness);
    }

    cr_expect(!c->has_hole && c->nut_load == 0 && c->nut_friction == 0.12 && c->backing_count == 0);
    cr_expect(r->grip == KP_GRIP_SLIDING && r->has_hole && is(r->hole, 11.7e-3));
    cr_expect(is(r->nut_load, 9300) && is(r->nut_friction, 0.13));
    cr_assert_eq(r->backing_count, 2);
    cr_expect(is(r->backing[0].diameter, 16.1e-3) && r->backing[0].gap == 0);
    cr_expect(is(r->backing[1].diameter, 21.3e-3) && is(r->backing[1].gap, 0.37e-3));
    cr_assert(r->line_count == 4 && d.material_count == 2);
    const kp_shim_line *plain = &r->lines[0], *ring = &r->lines[1], *slotted = &r->lines[2], *deep = &r->lines[3];
    cr_expect(!plain->has_hole && plain->slot_count == 0 && plain->material[0] == '\0');
    cr_expect(ring->has_hole && is(ring->hole, 29.3e-3) && ring->slot_count == 0);
    cr_expect(slotted->has_hole && is(slotted->hole, 11.938e-3) && slotted->slot_count == 4);
    cr_expect(is(slotted->slot_width, 2.1e-3) && !slotted->has_slot_depth);
    cr_expect(deep->slot_count == 6 && is(deep->slot_width, 1.3e-3) && deep->has_slot_depth);
    cr_expect(is(deep->slot_depth, 3.7e-3) && !deep->has_hole);
    cr_expect_str_eq(slotted->material, "bronze");
    cr_expect_str_eq(deep->material, "soft steel");
    cr_expect_str_eq(d.materials[1].name, "soft steel");
    cr_expect(is(d.materials[0].material.young, 113e9) && is(d.materials[0].material.fatigue, 213e6));
    cr_expect(fabs(d.materials[1].material.young / (3e7 * 6894.757293168) - 1) < 1e-12);
    cr_expect(fabs(d.materials[1].material.yield / (61e3 * 6894.757293168) - 1) < 1e-12);
    cr_expect(!r->has_stop && r->dish == 0 && r->load_coverage == 1 && is(r->lines[0].thickness, 0.253e-3));
}

Test(good, trials_merge_by_the_rules)
{
    static char whole[6000];
    write_sound(whole, sizeof whole, 0, "");
    static const char middle[] = "based on: ../v.yaml\n"
                                 "name: Middle\n"
                                 "gas: {charge: 15.3 bar gauge at 17.3 degC}\n"
                                 "piston:\n"
                                 "  compression:\n"
                                 "    stack:\n"
                                 "      - 2 of 39 x 0.23 mm\n"
                                 "  rebound: {stop: none, dish: 0.17 mm}\n";
    static const char trial[] =
        "based on: sub/m.yaml\n"
        "format: 1\n"
        "friction: none\n"
        "piston: {bleed: [{ports: 3, diameter: 1.27 mm, length: 9.3 mm}], rebound: {dish: none}}\n";
    memory_file files[] = {
        {"t.yaml", trial, 0}, {"sub/m.yaml", middle, 0}, {"sub/../v.yaml", whole, 0}, {NULL, NULL, 0}};
    read_good(files, NULL, 0, 1); /* the friction that was taken away */
    cr_expect_str_eq(d.name, "Middle");
    cr_expect(is(d.gas.charge_pressure, 1631325) && is(d.gas.volume, 350e-6), "maps merge key by key");
    cr_expect(d.valves[KP_COMPRESSION].line_count == 1 && is(d.valves[KP_COMPRESSION].lines[0].thickness, 0.23e-3),
              "a list is replaced whole");
    cr_expect(d.bleed_count == 1 && d.bleeds[0].ports == 3 && d.bleeds[0].plugged == 0);
    cr_expect(!d.valves[KP_REBOUND].has_stop && d.valves[KP_REBOUND].dish == 0 && !d.friction_given, "none removes");
    cr_expect(is(d.valves[KP_COMPRESSION].dish, 0.25e-3) && d.valves[KP_REBOUND].line_count == 2, "the rest stays");
    cr_expect(is(d.position, 0.125), "mid-stroke when left out");
}

/* A tolerance goes with its number, wherever that stands; a number without one has none. */
Test(good, tolerances_stay_with_their_numbers)
{
    static char whole[6000];
    write_sound(whole, sizeof whole, 0, "");
    memory_file files[] = {{"v.yaml", whole, 0}, {NULL, NULL, 0}};
    static const char *const settings[] = {"piston.compression.dish=0.31 mm +/- 0.027 mm",
                                           "piston.rebound.stack=[3 of 39.3 x 0.25 mm, 1 of 33.3 x 0.21 mm +/- 7 um]",
                                           "gas.charge=13.7 bar gauge +/- 0.6 bar at 18 degC"};
    read_good(files, settings, sizeof settings / sizeof settings[0], 0);
    double tolerance = 0;
    cr_expect(kp_damper_tolerance(&d, &d.valves[KP_COMPRESSION].dish, &tolerance) && is(tolerance, 0.027e-3));
    cr_expect(!kp_damper_tolerance(&d, &d.valves[KP_REBOUND].dish, &tolerance));
    cr_expect(!kp_damper_tolerance(&d, &d.valves[KP_REBOUND].lines[0].thickness, &tolerance));
    cr_expect(kp_damper_tolerance(&d, &d.valves[KP_REBOUND].lines[1].thickness, &tolerance) && is(tolerance, 7e-6));
    cr_expect(kp_damper_tolerance(&d, &d.gas.charge_pressure, &tolerance) && is(tolerance, 0.6e5));
    kp_damper_data copy = d; /* places go along */
    cr_expect(kp_damper_tolerance(&copy, &copy.gas.charge_pressure, &tolerance));
    cr_expect(!kp_damper_tolerance(&copy, &d.gas.charge_pressure, &tolerance), "a number of another damper");
}

Test(good, settings_come_last)
{
    static char whole[6000];
    write_sound(whole, sizeof whole, 0, "");
    memory_file files[] = {{"v.yaml", whole, 0}, {NULL, NULL, 0}};
    static const char *const settings[] = {"piston.compression.dish=0.31 mm",
                                           "piston.bleed[0].plugged=4",
                                           "piston.rebound.stack=[3 of 39.3 x 0.25 mm, 1 of 1.3 in x 8 mil]",
                                           "piston.compression.stack[1]=2 of 24 x 0.15 mm",
                                           "piston.rebound.stop=none",
                                           "piston.compression.stop={outside: 31 mm, gap: 1.7 mm}",
                                           "oil={density: 843 kg/m3}",
                                           "leak.clearance=0.02 mm",
                                           "leak.length=7 mm",
                                           "piston.compression.dish=0.29 mm",
                                           "name=Set = once"};
    read_good(files, settings, sizeof settings / sizeof settings[0], 0);
    cr_expect(is(d.valves[KP_COMPRESSION].dish, 0.29e-3), "the last one wins");
    cr_expect(d.bleeds[0].plugged == 4 && d.bleeds[0].ports == 4);
    cr_expect(d.valves[KP_REBOUND].line_count == 2 && is(d.valves[KP_REBOUND].lines[1].outside, 33.02e-3));
    cr_expect(d.valves[KP_COMPRESSION].line_count == 3 && d.valves[KP_COMPRESSION].lines[1].count == 2);
    cr_expect(!d.valves[KP_REBOUND].has_stop && d.valves[KP_COMPRESSION].has_stop);
    cr_expect(is(d.oil.density, 843) && is(d.oil.viscosity_1, 15e-6), "a map merges");
    cr_expect(is(d.leak.clearance, 20e-6), "a map that was not there is made");
    cr_expect_str_eq(d.name, "Set = once");
}

/* Ports in place of a load coverage, in a trial and for one run. */
Test(good, ports_take_the_place_of_load_coverage)
{
    static char whole[6000];
    write_sound(whole, sizeof whole, 0, "");
    static const char trial[] =
        "based on: v.yaml\n"
        "piston: {compression: {load coverage: none, flatness: 0 mm, port: {ports: 4, share: 60 %}}}\n";
    memory_file files[] = {{"t.yaml", trial, 0}, {"v.yaml", whole, 0}, {NULL, NULL, 0}};
    static const char *const settings[] = {"piston.rebound.port={ports: 3, share: 0.47}",
                                           "piston.compression.port.share=55 % +/- 3 %"};
    read_good(files, settings, sizeof settings / sizeof settings[0], 0);
    const kp_valve_data *c = &d.valves[KP_COMPRESSION], *r = &d.valves[KP_REBOUND];
    cr_expect(c->has_ports && c->port_count == 4 && is(c->port_share, 0.55) && is(c->port_area, 240e-6));
    cr_expect(c->flatness == 0 && c->has_flatness);
    cr_expect(r->has_ports && r->port_count == 3 && is(r->port_share, 0.47) && is(r->port_inner, 20e-3));
    double tolerance = 0;
    cr_expect(kp_damper_tolerance(&d, &c->port_share, &tolerance) && is(tolerance, 0.03));
}

Test(good, warnings_do_not_stop)
{
    static char whole[6000];
    write_sound(whole, sizeof whole, 5, "gas:    {charge: 14 bar gauge, volume: 350 cm3}");
    memory_file files[] = {{"v.yaml", whole, 0}, {NULL, NULL, 0}};
    kp_error error = {0};
    kp_messages messages = {0};
    cr_assert_eq(kp_file_read_damper_from(open_in_memory, files, "v.yaml", NULL, 0, &d, &messages, &error), KP_OK);
    cr_assert(messages.count == 1 && !messages.items[0].fault);
    cr_assert_str_eq(messages.items[0].text,
                     "v.yaml:5:18: gas.charge: the temperature of the charge is not given and taken as 20 degC; "
                     "`14 bar gauge at 20 degC` would be whole");
    cr_assert(is(d.gas.charge_temperature, 293.15));
    kp_messages_free(&messages);
}

/* Line ends of other systems, a byte order mark, a directive, a document end. */
Test(good, is_text_from_anywhere)
{
    static char whole[6000], crlf[8000], marked[8000];
    write_sound(whole, sizeof whole, 0, "");
    size_t used = 0;

    for (const char *c = whole; *c != '\0'; c++) {
        if (*c == '\n') {
            crlf[used++] = '\r';
        }
        crlf[used++] = *c;
    }

    crlf[used] = '\0';
    memory_file files[] = {{"v.yaml", crlf, 0}, {NULL, NULL, 0}};
    read_good(files, NULL, 0, 0);
    cr_expect(is(d.bore, 63.5e-3) && d.valves[KP_REBOUND].line_count == 2);
    snprintf(marked, sizeof marked, "\xEF\xBB\xBF%%YAML 1.2\n---\n%s...\n", whole);
    files[0].bytes = marked;
    read_good(files, NULL, 0, 0);
    cr_expect(is(d.bore, 63.5e-3));
}

/* The shipped dampers, from disk: no fault, no warning. */
Test(good, shipped_files_have_nothing_to_say)
{
    static const char *const names[] = {"van-rear-linear",
                                        "van-rear-linear-firmer",
                                        "van-rear-digressive",
                                        "van-rear-digressive-firmer",
                                        "van-rear-digressive-comfort",
                                        "trail-ambulance-inch"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char path[400];
        snprintf(path, sizeof path, "%s/stacks/%s.yaml", KP_SOURCE_DIR, names[i]);
        kp_error error = {0};
        kp_messages messages = {0};
        cr_expect_eq(kp_file_read_damper(path, NULL, 0, &d, &messages, &error), KP_OK, "%s", error.message);
        cr_expect_eq(messages.count, 0, "%s", messages.count > 0 ? messages.items[0].text : "");
        cr_expect(strlen(d.name) > 5 && d.valves[KP_REBOUND].line_count >= 3);
        kp_messages_free(&messages);
    }
}

/* The real file system: not there, a folder, a pipe nobody writes to, a device, a loop through a link. */
Test(good, real_files_that_are_none)
{
    char folder[] = "/tmp/kneepoint-files-XXXXXX";
    cr_assert_not_null(mkdtemp(folder));
    char command[500];
    snprintf(command, sizeof command,
             "cd %s && mkfifo pipe && mkdir sub && printf 'based on: link.yaml\\n' >a.yaml && ln a.yaml link.yaml",
             folder);
    cr_assert_eq(system(command), 0);
    static const struct {
        const char *name, *says;
    } cases[] = {{"not-there", "cannot be opened: No such file"},
                 {"pipe", "is not a file with text in it"},
                 {"sub", "is not a file with text in it"},
                 {"a.yaml", "a.yaml:1:11: based on: a loop"}};

    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char path[300];
        snprintf(path, sizeof path, "%s/%s", folder, cases[i].name);
        kp_error error = {0};
        kp_messages messages = {0};
        cr_expect_eq(kp_file_read_damper(path, NULL, 0, &d, &messages, &error), KP_BAD_INPUT);
        cr_expect(messages.count == 1 && strstr(messages.items[0].text, cases[i].says) != NULL, "%s", error.message);
        kp_messages_free(&messages);
    }

    snprintf(command, sizeof command, "rm -rf %s", folder);
    cr_assert_eq(system(command), 0);
}

/* A reservoir, adjusters, divider and a graded oil, all keys of them. */
Test(good, reads_the_whole_circuit)
{
    static char text[6000];
    static const char more[] =
        "gas: {charge: 14 bar gauge at 20 degC, divider: {bore: 50 mm, depth: 180 mm, travel: 100 mm, travel out: 9 "
        "mm}}\n"
        "reservoir:\n"
        "  bore: 46 mm\n"
        "  bleed: [{ports: 2, diameter: 1.2 mm, length: 4 mm, flows: rebound, check: {seat: 6 mm, preload: 2 N, rate: "
        "3 "
        "N/mm, lift: 1 mm}}]\n"
        "  adjuster: {clicks: 8, most clicks: 20, seat: 4 mm, area per click: 0.15 mm2, closed area: 0.1 mm2, flows: "
        "compression}\n"
        "  valve:\n"
        "    port: {area: 90 mm2, inner: 10 mm, entry area: 70 mm2}\n"
        "    land: {inner: 14 mm, outer: 15 mm}\n"
        "    plate: {preload: 60 N, rate: 25 N/mm, lift: 2 mm}\n"
        "  return check: {seat: 11 mm, preload: 4 N, rate: 1.5 N/mm, lift: 1.5 mm}\n"
        "  hose: {length: 400 mm, bore: 8 mm}";
    write_sound(text, sizeof text, 5, more);
    char *oil = strstr(text, "viscosity: {40 degC: 15 mm2/s, 100 degC: 3.8 mm2/s}, density: 860 kg/m3");
    cr_assert_not_null(oil);
    static char whole[6000];
    snprintf(
        whole, sizeof whole, "%.*s%s%s", (int)(oil - text), text,
        "grade: ISO VG 22, viscosity index: 140, density: 860 kg/m3, volume: 0.9 L, fill temperature: 25 degC, range: "
        "{from: -30 degC, to: 110 degC}",
        oil + strlen("viscosity: {40 degC: 15 mm2/s, 100 degC: 3.8 mm2/s}, density: 860 kg/m3"));
    memory_file files[] = {{"v.yaml", whole, 0}, {NULL, NULL, 0}};
    read_good(files, NULL, 0, 0);
    kp_error error = {0};
    const kp_reservoir_data *r = &d.reservoir;
    cr_assert(r->given && r->has_valve && r->has_adjuster && r->has_return && r->has_hose && r->bleed_count == 1);
    cr_assert(r->bleeds[0].has_check && r->bleeds[0].flows == KP_FLOWS_REBOUND);
    cr_assert(fabs(r->bleeds[0].check.plate.rate - 3e3) < 1e-9 && fabs(r->hose.length - 0.4) < 1e-12);
    cr_assert(r->adjuster.clicks == 8 && r->adjuster.flows == KP_FLOWS_COMPRESSION);
    cr_assert(fabs(kp_adjuster_area(&r->adjuster, 8) - 1.3e-6) < 1e-15);
    const kp_valve_data *v = &d.valves[KP_RESERVOIR_VALVE];
    cr_assert(v->has_plate && v->line_count == 0 && fabs(v->plate.preload - 60) < 1e-12);
    cr_assert(fabs(v->port_entry - 70e-6) < 1e-15 && fabs(v->land_inner - 0.014) < 1e-12);
    cr_assert(fabs(r->return_check.seat - 0.011) < 1e-12 && fabs(r->bore - 0.046) < 1e-12);
    cr_assert(d.divider.given && fabs(d.gas.volume - 0.78539816339744830962 * 0.050 * 0.050 * 0.180) < 1e-12);
    cr_assert(fabs(d.oil_volume - 0.9e-3) < 1e-12 && fabs(d.fill_temperature - 298.15) < 1e-9 && d.has_oil_range);
    double index = 0;
    cr_assert_eq(kp_viscosity_index(d.oil.viscosity_1, d.oil.viscosity_2, &index, &error), KP_OK);
    cr_assert(fabs(index - 140) < 1e-6 && fabs(d.oil.viscosity_1 - 22e-6) < 1e-15);
}
