/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Bad input: each kind at its line and column, with what would be right, and nothing of it taken. */
#include "files.h"

#include <criterion/criterion.h>

/** Messages of one reading, joined by line ends. */
static char reported[40000];

static kp_status read_files(const memory_file *files, const char *const *settings, size_t count, size_t *faults)
{
    kp_error error = {0};
    kp_messages messages = {0};
    static kp_damper_data damper, before;
    memset(&damper, 0x5A, sizeof damper);
    before = damper;
    kp_status status = kp_file_read_damper_from(open_in_memory, (void *)files, files[0].name, settings, count, &damper,
                                                &messages, &error);
    size_t used = 0;
    reported[0] = '\0';
    *faults = 0;
    const char *first = NULL;

    for (size_t i = 0; i < messages.count; i++) {
        *faults += messages.items[i].fault ? 1 : 0;
        first = first == NULL && messages.items[i].fault ? messages.items[i].text : first;
        used += (size_t)snprintf(reported + used, sizeof reported - used, "%s\n", messages.items[i].text);
    }

    if (status != KP_OK) {
        cr_expect(memcmp(&damper, &before, sizeof damper) == 0, "the output was changed by a bad file");
        cr_expect_eq(kp_status_exit(status), 3, "exit status of %s", error.message);
        cr_expect(first != NULL && strncmp(error.message, first, strlen(error.message)) == 0,
                  "the error is the first fault: %s", error.message);
    }

    kp_messages_free(&messages);
    return status;
}

/** One bad file: exactly this many faults, and this message begins a line. */
static void expect(const memory_file *files, const char *message, size_t expected_faults, const char *what)
{
    size_t faults = 0;
    kp_status status = read_files(files, NULL, 0, &faults);
    cr_expect_eq(status, KP_BAD_INPUT, "%s was taken", what);
    cr_expect_eq(faults, expected_faults, "%s: %zu faults, not %zu:\n%s", what, faults, expected_faults, reported);
    const char *found = strstr(reported, message);
    cr_expect(found != NULL && (found == reported || found[-1] == '\n'), "%s: not \"%s\", but\n%s", what, message,
              reported);
}

Test(bad, sound_file_is_sound)
{
    static char text[4000];
    size_t faults = 9;
    write_sound(text, sizeof text, 0, "");
    memory_file files[] = {{"v.yaml", text, 0}, {NULL, NULL, 0}};
    cr_assert_eq(read_files(files, NULL, 0, &faults), KP_OK, "%s", reported);
    cr_assert(faults == 0 && reported[0] == '\0', "%s", reported);
}

/* One line of the sound file replaced. */
Test(bad, one_line)
{
    static const struct {
        size_t line;
        const char *replacement, *message;
    } cases[] = {
        {6, "frictoin: 60 N", "v.yaml:6:1: frictoin: unknown key (did you mean `friction`?)"},
        {3, "body:   {bor: 63.5 mm, bore: 63.5 mm, rod: 22 mm, stroke: 250 mm}",
         "v.yaml:3:10: body.bor: unknown key (did you mean `bore`?)"},
        {13, "    load_coverage: 100 %",
         "v.yaml:13:5: piston.compression.load_coverage: unknown key (did you mean `load coverage`?)"},
        {6, "dish: 0.3 mm", "v.yaml:6:1: dish: unknown key (it belongs here: piston.compression.dish)"},
        {15, "    quux: 3", "v.yaml:15:5: piston.compression.quux: unknown key (possible here: port, land,"},
        /* wrong dimension, missing unit, numbers that are none */
        {15, "    dish: 0.25 kg",
         "v.yaml:15:11: piston.compression.dish: `0.25 kg`: `kg` is the unit of a mass; a length is wanted"},
        {15, "    dish: 0.25",
         "v.yaml:15:11: piston.compression.dish: `0.25`: the unit is missing; a length is wanted, "
         "such as `40 mm`"},
        {15, "    dish: nan mm", "v.yaml:15:11: piston.compression.dish: `nan mm`: not a finite number"},
        {15, "    dish: .inf", "v.yaml:15:11: piston.compression.dish: `.inf`: not a finite number"},
        {15, "    dish: 1e999 mm", "v.yaml:15:11: piston.compression.dish: `1e999 mm`: the number is too large"},
        {15, "    dish:", "v.yaml:15:10: piston.compression.dish: ``: nothing stands here; a length is wanted"},
        {15, "    dish: 0,25 mm",
         "v.yaml:15:11: piston.compression.dish: a decimal number has a point, not a comma; type `dish: 0.25 mm`"},
        {15, "    dish: {a: 1}",
         "v.yaml:15:11: piston.compression.dish: expected a single value, such as 40 mm, found a "
         "map of keys"},
        {3, "body: 63.5 mm",
         "v.yaml:3:7: body: expected a map of keys, such as keys bore, rod or stroke, found a single "
         "value"},
        {9, "    ports: 4",
         "v.yaml:9:5: piston.bleed: expected a list, such as lines that begin with `- `, found a map of keys"},
        {9, "    - {ports: 4.5, diameter: 1.5 mm, length: 9 mm}",
         "v.yaml:9:15: piston.bleed[0].ports: `4.5`: a whole number is wanted"},
        {9, "    - {ports: 4, plugged: 5, diameter: 1.5 mm, length: 9 mm}",
         "v.yaml:9:27: piston.bleed[0].plugged: 5 plugged of 4 ports: 0 to 4 is possible"},
        {9, "    - {ports: 4, length: 9 mm}", "v.yaml:9:7: piston.bleed[0].diameter: this key is missing"},
        {9, "    - {ports: 4, diameter: 1.5 mm, length: 9 mm, flows: up}",
         "v.yaml:9:57: piston.bleed[0].flows: expected `both`, `compression` or `rebound`, found `up`"},
        /* shims */
        {18, "      - 12 x 40 x 0.20",
         "v.yaml:18:9: piston.compression.stack[0]: `12 x 40 x 0.20`: three bare sizes can be read two ways, as shims "
         "are also sold as hole x outside x thickness; write COUNT of OUTSIDE x THICKNESS unit, such as `1 of 40 x "
         "0.20 mm`"},
        {18, "      - 1 of 12 x 40 x 0.20 mm",
         "v.yaml:18:9: piston.compression.stack[0]: `1 of 12 x 40 x 0.20 mm`: a shim line has two sizes"},
        {18, "      - 40 mm", "v.yaml:18:9: piston.compression.stack[0]: `40 mm`: a shim line is COUNT of OUTSIDE"},
        {18, "      - 40 x 0.20", "v.yaml:18:9: piston.compression.stack[0]: `0.20`: the unit is missing"},
        {18, "      - three of 40 x 0.20 mm",
         "v.yaml:18:9: piston.compression.stack[0]: `three of 40 x 0.20 mm`: COUNT"},
        {18, "      - 0 of 40 x 0.20 mm", "v.yaml:18:9: piston.compression.stack[0]: `0 of 40 x 0.20 mm`: COUNT"},
        {18, "      - 1.5 of 40 x 0.20 mm", "v.yaml:18:9: piston.compression.stack[0]: `1.5 of 40 x 0.20 mm`: COUNT"},
        {18, "      - 3 of 40 x 0.20", "v.yaml:18:9: piston.compression.stack[0]: `0.20`: the unit is missing"},
        {18, "      - 3 of 40 x 0,20 mm",
         "v.yaml:18:9: piston.compression.stack[0]: a decimal number has a point, not a comma; type `3 of 40 x 0.20 "
         "mm`"},
        {18, "      - 3 of 40 mm", "v.yaml:18:9: piston.compression.stack[0]: `3 of 40 mm`: a shim line has two sizes"},
        {18, "      - 3 of 40 kg x 0.20 mm",
         "v.yaml:18:9: piston.compression.stack[0]: `40 kg`: `kg` is the unit of a"},
        /* holes: no unit, no number, larger than the shim, a face shim that nothing holds, twice */
        {18, "      - 3 of 40 x 0.20 mm, hole 12",
         "v.yaml:18:9: piston.compression.stack[0]: `12`: the unit is missing"},
        {18, "      - 3 of 40 x 0.20 mm, hole", "v.yaml:18:9: piston.compression.stack[0]: ``: nothing stands here"},
        {18, "      - 3 of 40 x 0.20 mm, hole 41 mm",
         "v.yaml:18:9: piston.compression.stack[0]: face shim: hole 41 mm must be larger than 0 and smaller than the "
         "outside, 40 mm"},
        {18, "      - 3 of 40 x 0.20 mm, hole 17 mm",
         "v.yaml:18:9: piston.compression.stack[0]: face shim: its hole, 17 mm, is larger than what clamps it, 16 mm"},
        {18, "      - 3 of 40 x 0.20 mm, hole 12 mm, hole 11 mm",
         "v.yaml:18:9: piston.compression.stack[0]: `3 of 40 x 0.20 mm, hole 12 mm, hole 11 mm`: hole is there twice"},
        /* slots */
        {18, "      - 3 of 40 x 0.20 mm, slots 2 mm",
         "v.yaml:18:9: piston.compression.stack[0]: `3 of 40 x 0.20 mm, slots 2 mm`: slots are N x WIDTH"},
        {18, "      - 3 of 40 x 0.20 mm, slots 4.5 x 2 mm",
         "v.yaml:18:9: piston.compression.stack[0]: `3 of 40 x 0.20 mm, slots 4.5 x 2 mm`: slots are N x WIDTH"},
        {18, "      - 3 of 40 x 0.20 mm, slots 40 x 2 mm",
         "v.yaml:18:9: piston.compression.stack[0]: face shim: 40 slots of 2 mm, in to 29 mm, take more than 80 %"},
        {19, "      - 1 of 22 x 0.10 mm, slots 4 x 1 mm",
         "v.yaml:19:9: piston.compression.stack[1]: shim line 2: slots without a depth end one width inside the land, "
         "at 31 mm, which this shim of 22 mm does not reach: give a depth, such as `slots 4 x 1 x 4 mm`"},
        {19, "      - 1 of 22 x 0.10 mm, slots 4 x 1 x 0 mm",
         "v.yaml:19:9: piston.compression.stack[1]: shim line 2: slots of width 1 mm and their depth"},
        /* materials */
        {18, "      - 3 of 40 x 0.20 mm, material",
         "v.yaml:18:9: piston.compression.stack[0]: `3 of 40 x 0.20 mm, material`: material is followed by its name"},
        {18, "      - 3 of 40 x 0.20 mm, material sprung steel",
         "v.yaml:18:9: piston.compression.stack[0]: face shim: the file has no material `sprung steel` under "
         "`materials` (did you mean `spring steel`?)"},
        {6,
         "materials: {bronze: {young: 110 MPa, poisson: 0.34, yield: 500 MPa, tensile: 600 MPa, fatigue: 200 MPa}}\n"
         "friction: 60 N",
         "v.yaml:6:29: materials.bronze.young: Young's modulus 0.11 GPa is outside 1 to 1000 GPa (GPa meant, MPa "
         "written?)"},
        {6, "materials: {bronze: {young: 110 GPa, yield: 500 MPa, tensile: 600 MPa, fatigue: 200 MPa}}\nfriction: 60 N",
         "v.yaml:6:21: materials.bronze.poisson: this key is missing: Poisson's ratio."},
        {6, "materials: {bronze: {young: 110 GPa, poisson: 0.34, yield: 600 MPa, tensile: 500 MPa}}\nfriction: 60 N",
         "v.yaml:6:78: materials.bronze.tensile: tensile strength 500 MPa is below the yield, 600 MPa"},
        {6, "materials: {a.b: {young: 110 GPa, poisson: 0.34, yield: 600 MPa}}\nfriction: 60 N",
         "v.yaml:6:13: materials.a.b: a name has 1 to 31 letters, digits, blanks or hyphens"},
        {6, "materials: 210 GPa\nfriction: 60 N",
         "v.yaml:6:12: materials: expected a map of keys, such as names, each with its keys, found a single value"},
        /* clamp */
        {16, "    clamp: {washer: 16 mm, hole: 16 mm}",
         "v.yaml:16:34: piston.compression.clamp.hole: hole 16 mm is not smaller than the clamp washer, 16 mm"},
        {16, "    clamp: {washer: 16 mm, nut load: 12 mm}",
         "v.yaml:16:38: piston.compression.clamp.nut load: `12 mm`: `mm` is the unit of a length; a force is wanted"},
        {16, "    clamp: {washer: 16 mm, friction: 1.2}",
         "v.yaml:16:38: piston.compression.clamp.friction: friction coefficient 1.2 is outside 0 to 1"},
        {16, "    clamp: {washer: 16 mm, nut load: -1 N}",
         "v.yaml:16:38: piston.compression.clamp.nut load: nut load -1 N must not be negative"},
        /* backing washer */
        {17, "    backing: {profile: [{diameter: 15 mm, gap: 0 mm}, {diameter: 20 mm, gap: 0.3 mm}]}\n    stack:",
         "v.yaml:17:36: piston.compression.backing.profile[0].diameter: 15 mm lies inside the clamp washer, 16 mm"},
        {17, "    backing: {profile: [{diameter: 18 mm, gap: 0 mm}, {diameter: 17 mm, gap: 0.3 mm}]}\n    stack:",
         "v.yaml:17:66: piston.compression.backing.profile[1].diameter: 17 mm lies inside the point before it, 18 mm"},
        {17, "    backing: {profile: [{diameter: 18 mm, gap: -0.1 mm}]}\n    stack:",
         "v.yaml:17:48: piston.compression.backing.profile[0].gap: gap -0.1 mm must not be negative"},
        {17, "    backing: {profile: [{diameter: 18 mm}]}\n    stack:",
         "v.yaml:17:25: piston.compression.backing.profile[0].gap: this key is missing"},
        {17,
         "    stop: {outside: 30 mm, gap: 1 mm}\n    backing: {profile: [{diameter: 18 mm, gap: 0 mm}]}\n"
         "    stack:",
         "v.yaml:18:5: piston.compression.backing: a lift stop and a backing washer are one thing to the shims"},
        {17, "    stop: {outside: 40 mm, gap: 0.04 mm}\n    stack:",
         "v.yaml:17:33: piston.compression.stop.gap: the shims over the land are jammed between seat and lift stop: "
         "0.11 mm is missing there"},
        {18, "      - 3 of 40 x 0.20 mm, shiny",
         "v.yaml:18:9: piston.compression.stack[0]: `3 of 40 x 0.20 mm, shiny`: "
         "nothing that could stand behind the comma is known: hole SIZE, slots N x WIDTH x DEPTH or material NAME"},
        {18, "      - 3 of 40 x 0 mm",
         "v.yaml:18:9: piston.compression.stack[0]: face shim: thickness 0 mm must be "
         "larger than 0"},
        {18, "      - 3 of 40 x -0.20 mm",
         "v.yaml:18:9: piston.compression.stack[0]: face shim: thickness -0.2 mm must "
         "be larger than 0"},
        {20, "      - 1 of 38 x 15 mm",
         "v.yaml:20:9: piston.compression.stack[2]: shim line 3: thickness 15 mm is "
         "outside 0.02 to 3 mm (did you mean 0.15 mm?)"},
        {18, "      - 10000 of 40 x 0.20 mm",
         "v.yaml:18:9: piston.compression.stack[0]: face shim: this makes 10000 "
         "shims in the stack; at most 64 are possible"},
        {18, "      - 3 of 16 x 0.20 mm",
         "v.yaml:18:9: piston.compression.stack[0]: face shim: outside 16 mm is no "
         "larger than the clamp washer, 16 mm"},
        {18, "      - 3 of 34 x 0.20 mm",
         "v.yaml:12:34: piston.compression.land.outer: land outer 35 mm lies outside "
         "the face shim, 34 mm"},
        {11, "    port:  {area: 240 mm2, inner: 15 mm}",
         "v.yaml:11:35: piston.compression.port.inner: port inner 15 mm "
         "lies inside the clamp washer, 16 mm"},
        {3, "body:   {bore: 63.5 mm, rod: 63.5 mm, stroke: 20 mm}",
         "v.yaml:3:30: body.rod: rod 63.5 mm is not smaller than the bore 63.5 mm"},
        /* ports and flatness */
        {11, "    port:  {area: 240 mm2, inner: 20 mm, ports: 4}",
         "v.yaml:11:49: piston.compression.port.ports: `ports` goes with `share`, the share of the circle that they "
         "cover under the shim, such as `share: 60 %`"},
        {24, "      inner: 20 mm\n      share: 60 %",
         "v.yaml:25:14: piston.rebound.port.share: `share` goes with `ports`, their number; where the ports are uneven "
         "or unknown, `load coverage` stands in"},
        {24, "      inner: 20 mm\n      ports: 1\n      share: 60 %",
         "v.yaml:25:14: piston.rebound.port.ports: 1 ports: 2 to 24 evenly spaced ones are possible; for any others "
         "leave `ports` and `share` out and give `load coverage`"},
        {24, "      inner: 20 mm\n      ports: 4\n      share: 120 %",
         "v.yaml:26:14: piston.rebound.port.share: share 1.2 must be larger than 0 and at most 1 (100 %)"},
        {24, "      inner: 20 mm\n      ports: four\n      share: 60 %",
         "v.yaml:25:14: piston.rebound.port.ports: `four`: a whole number is wanted"},
        {24, "      inner: 20 mm\n      ports: 4\n      share: 60 mm",
         "v.yaml:26:14: piston.rebound.port.share: `60 mm`: this has no unit; a plain number is wanted"},
        {11, "    port:  {area: 240 mm2, inner: 20 mm, ports: 4, share: 60 %}",
         "v.yaml:13:20: piston.compression.load coverage: load coverage stands in where ports are uneven or unknown; "
         "here `port.ports` is given, so leave it out (in a trial: `load coverage: none`)"},
        {15, "    flatness: -0.01 mm\n    dish: 0.25 mm",
         "v.yaml:15:15: piston.compression.flatness: flatness -0.01 mm must not be negative; 0 mm is a perfect shim"},
        {15, "    flatness: 0.11 mm\n    dish: 0.25 mm",
         "v.yaml:15:15: piston.compression.flatness: flatness 0.11 mm is more than half the face shim's thickness, "
         "0.2 mm: a shim so far out of flat is not solved; replace it"},
        {15, "    flatness: 10 %\n    dish: 0.25 mm",
         "v.yaml:15:15: piston.compression.flatness: `10 %`: per cent is no unit here; a length is wanted"},
        {15, "    flatnes: 0.01 mm\n    dish: 0.25 mm",
         "v.yaml:15:5: piston.compression.flatnes: unknown key (did you mean `flatness`?)"},
        /* gas and oil */
        {5, "gas:    {charge: 14 bar at 20 degC, volume: 350 cm3}",
         "v.yaml:5:18: gas.charge: `14 bar`: say whether this is gauge or absolute; a gas pressure is wanted, such as "
         "`14 bar gauge`"},
        {5, "gas:    {charge: 14 bar gauge at 20 bar, volume: 350 cm3}",
         "v.yaml:5:18: gas.charge: `20 bar`: `bar` is "
         "the unit of a pressure; a temperature"},
        {5, "gas:    {charge: 21 bar gauge at 20 degC, maximum charge: 20 bar gauge, volume: 350 cm3}",
         "v.yaml:5:18: gas.charge: charge 21 bar gauge is above the maximum charge, 20 bar gauge: dry nitrogen only"},
        {4, "oil:    {viscosity: 15 mm2/s, density: 860 kg/m3}",
         "v.yaml:4:21: oil.viscosity: a viscosity goes with its temperature"},
        {4, "oil:    {grade: ISO VG 15, viscosity: {40 degC: 15 mm2/s, 100 degC: 3.8 mm2/s}, density: 860 kg/m3}",
         "v.yaml:4:17: oil.grade: viscosity is given both by a grade and by numbers"},
        {4, "oil:    {viscosity: {40 degC: 15 mm2/s, 100: 3.8 mm2/s}, density: 860 kg/m3}",
         "v.yaml:4:41: oil.viscosity: `100`: the unit is missing; a temperature is wanted"},
        {4, "oil:    {viscosity: {40 degC: 15 mm2/s, 100 degC: 3.8 mm}, density: 860 kg/m3}",
         "v.yaml:4:51: oil.viscosity: `3.8 mm`: `mm` is the unit of a length; a kinematic viscosity is wanted"},
        /* refused by name: what is not modelled, then what comes later */
        {6, "friction between shims: 0.1", "v.yaml:6:1: friction between shims: not modelled: friction between shims"},
        {6, "discrete ports: 6", "v.yaml:6:1: discrete ports: not modelled: discrete three-dimensional ports"},
        {6, "base valve: {hose: 3}", "v.yaml:6:20: reservoir.hose: "},
        {6, "reservoir: {}\nbase valve: {}",
         "v.yaml:7:1: base valve: `reservoir` and `base valve` are one and the same"},
        {6, "twin-tube: yes", "v.yaml:6:1: twin-tube: not modelled: the outer tube of a twin-tube damper"},
        {5, "gas:    shut",
         "v.yaml:5:9: gas: expected `open`, or a block of keys charge, maximum charge, volume, divider or exponent, "
         "found `shut`"},
        {6, "bypass tubes: 3", "v.yaml:6:1: bypass tubes: not modelled: bypass tubes"},
        {6, "Hydraulic_Bump-Zone: 3", "v.yaml:6:1: Hydraulic_Bump-Zone: not modelled: a hydraulic bump zone"},
        {6, "frequency-selective valve: 3",
         "v.yaml:6:1: frequency-selective valve: not modelled: a frequency-selective valve"},
        {6, "reservoir valve: {}", "v.yaml:6:1: reservoir valve: unknown key"},
        /* the hydraulic circuit: adjusters, charge, oil, divider */
        {6, "friction: 60 N\nreservoir: {adjuster: {clicks: 31, most clicks: 30, seat: 4 mm, area per click: 0.1 mm2}}",
         "v.yaml:7:32: reservoir.adjuster.clicks: 31 clicks: this adjuster has 0 (closed) to 30"},
        {6, "friction: 60 N\nreservoir: {adjuster: {clicks: 3, most clicks: 30, seat: 4 mm}}",
         "v.yaml:7:13: reservoir.adjuster.areas: this key is missing"},
        {7, "piston:\n  adjuster: {clicks: 3, most clicks: 9, seat: 4 mm, areas: {0: 0 mm2, 5: 2 mm2, 9: 1.9 mm2}}",
         "v.yaml:8:81: piston.adjuster.areas: 9 clicks with 1.9 mm2 after 5 clicks with 2 mm2: clicks must rise, and "
         "the "
         "area must never fall with them"},
        {7, "piston:\n  adjuster: {clicks: 3, most clicks: 9, seat: 4 mm, areas: {0: 0 mm2, 5: 2 bar}}",
         "v.yaml:8:74: piston.adjuster.areas: `2 bar`: `bar` is the unit of"},
        {7, "piston:\n  adjuster: {clicks: 3, most clicks: 9, seat: 4 mm, areas: {zero: 0 mm2, 5: 2 mm2}}",
         "v.yaml:8:61: piston.adjuster.areas: `zero`: a whole number of clicks with its area is wanted"},
        {5, "gas:    {charge: -0.1 bar gauge at 20 degC, volume: 350 cm3}",
         "v.yaml:5:18: gas.charge: charge -0.1 bar gauge is below the air's pressure"},
        {5, "gas:    {charge: 0 bar absolute at 20 degC, volume: 350 cm3}",
         "v.yaml:5:18: gas.charge: charge 0 bar absolute must be larger than 0"},
        {5, "gas:    {charge: 14 bar gauge at 20 degC}", "v.yaml:5:1: gas.volume: this key is missing"},
        {5,
         "gas:    {charge: 14 bar gauge at 20 degC, volume: 350 cm3, divider: {bore: 50 mm, depth: 160 mm, "
         "travel: 90 mm}}",
         "v.yaml:5:51: gas.volume: the gas volume follows from the divider's bore and depth"},
        {5, "gas:    {charge: 14 bar gauge at 20 degC, divider: {bore: 50 mm, depth: 160 mm, travel: 40 mm}}",
         "v.yaml:5:89: gas.divider.travel: at full stroke and 40 degC the rod (no oil volume is given, so without the "
         "oil's expansion) push the divider 48.4 mm, more than its travel of 40 mm"},
        {4, "oil:    {viscosity: {40 degC: 3.8 mm2/s, 100 degC: 15 mm2/s}, density: 860 kg/m3}",
         "v.yaml:4:10: oil.viscosity: oil thins as it warms"},
        {4, "oil:    {grade: ISO VG 17, viscosity index: 140}",
         "v.yaml:4:17: oil.grade: `ISO VG 17`: a grade of ISO 3448 is wanted"},
        {4, "oil:    {grade: ISO VG 5}", "v.yaml:4:17: oil.grade: viscosity index 0 with 4.6 mm2/s at 40 degC"},
        {4, "oil:    {viscosity: {40 degC: 15 mm2/s, 100 degC: 3.8 mm2/s}, density: 860 kg/m3, viscosity index: 140}",
         "v.yaml:4:100: oil.viscosity index: a viscosity index goes with a grade"},
        {4, "oil:    {density: 860 kg/m3}", "v.yaml:4:1: oil.viscosity: this key is missing"},
        {9,
         "    - {ports: 4, diameter: 1.5 mm, length: 9 mm, check: {seat: 8 mm, preload: 3 N, rate: 2 N/mm, lift: 1 "
         "mm}}",
         "v.yaml:9:7: piston.bleed[0].flows: a check valve lets oil one way only"},
        {9, "    - {ports: 4, plugged: 1, jetted: 4, jet: 1 mm, diameter: 1.5 mm, length: 9 mm}",
         "v.yaml:9:38: piston.bleed[0].jetted: 4 jetted of 3 open ports: 0 to 3 is possible"},
        {16, "    clamp: {washer: 16 mm, grip: sliding}",
         "v.yaml:16:34: piston.compression.clamp.grip: a sliding grip needs the shims' hole: say `hole: 12 mm`"},
        {16, "    clamp: {washer: 16 mm, grip: loose}",
         "v.yaml:16:34: piston.compression.clamp.grip: expected `held` or `sliding`, found `loose`"},
        /* structure */
        {6, "friction: 60 N\nfriction: 70 N", "v.yaml:7:1: key `friction` is there twice: the first is on line 6"},
        {6, "friction: &f 60 N", "v.yaml:6:11: anchors (&) are not accepted"},
        {6, "friction: !!str 60 N", "v.yaml:6:11: tags (!) are not accepted"},
        {1, "format: 2", "v.yaml:1:9: format: format `2` is not known; this program reads format 1"},
        {1, "", "v.yaml:2:1: format: this key is missing"},
        {2, "name: \"a\\u0007b\"", "v.yaml:2:7: name: control character 0x07"},
        {2, "name: \"a\\0b\"", "v.yaml:2:7: a value contains the character NUL"},
        {2, "name: ''", "v.yaml:2:7: name: 0 bytes of text; 1 to 127 are possible"},
        {16, "", "v.yaml:10:3: piston.compression.clamp: this key is missing"},
        {22, "    port: none\n    prt:", "v.yaml:21:3: piston.rebound.port: this key is missing"},
        {29, "      gap: -1 mm", "v.yaml:29:12: piston.rebound.stop.gap: gap -1 mm must not be negative"},
        {7, "temperature: -300 degC\npiston:", "v.yaml:7:14: temperature: `-300 degC`: no temperature lies below"},
    };
    static char text[6000];
    memory_file files[] = {{"v.yaml", text, 0}, {NULL, NULL, 0}};

    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        write_sound(text, sizeof text, cases[i].line, cases[i].replacement);
        bool two = strstr(cases[i].replacement, "prt:") != NULL; /* one missing, one unknown */
        expect(files, cases[i].message, two ? 2 : 1, cases[i].replacement);
    }
}

/* Whole files that are none. */
Test(bad, whole_file)
{
    static char deep[100001], large[300000];
    memset(deep, '[', sizeof deep - 1);
    memset(large, '#', sizeof large - 1);
    static char bomb[] = "a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\nd: [*c, *c]\n";
    static const struct {
        const char *bytes;
        size_t size, faults;
        const char *message;
    } cases[] = {
        {"", 0, 1, "v.yaml:1:1: the file is empty"},
        {"# nothing but a comment\n", 0, 1, "v.yaml:1:1: the file is empty"},
        {"\x7F"
         "ELF\x02\x01\x01\0\0\0",
         10, 1, "v.yaml:1:1: byte 0x7F is not text"},
        {"format: 1\nname: caf\xE9 bar\n", 0, 1, "v.yaml:2:10: byte 0xE9 is not text"},
        {"format: 1\nname: \xE2\x82", 0, 1, "v.yaml:2:7: byte 0xE2 is not text"},
        {"format: 1\nname: \xC3\xC3\xA4\n", 0, 1, "v.yaml:2:7: byte 0xC3 is not text"},
        {"format: 1\nname: \xED\xA0\x80\n", 0, 1, "v.yaml:2:7: byte 0xED is not text"},
        {"format: 1\nname: \xC3\xA4\xC3\xA4\0\n", 21, 1, "v.yaml:2:9: byte 0x00 is not text"},
        {"format: 1\nbody:\n\tbore: 3 mm\n", 0, 1, "v.yaml:3:1: this is not YAML"},
        {"body: [1\nfoo: }\n", 0, 1, "v.yaml:2:4: this is not YAML"},
        {"- a\n- b\n", 0, 1, "v.yaml:1:1: this is no damper file"},
        {"word\n", 0, 1, "v.yaml:1:1: this is no damper file"},
        {"format: 1\n---\nformat: 1\n", 0, 1, "v.yaml:2:1: a second document begins here"},
        {"? [a, b]\n: c\n", 0, 1, "v.yaml:1:3: a key must be a word"},
        {"format: 1\n<<: {body: {bore: 3 mm}}\n", 0, 6, "v.yaml:2:1: merge keys are not accepted"},
        {"*a : 3\n", 0, 7, "v.yaml:1:1: aliases (*) are not accepted"},
        {"%TAG ! tag:x,2000:\n---\nformat: 1\n", 0, 6, "v.yaml:1:1: tags (%TAG) are not accepted"},
        {"'': 3\n", 0, 7, "v.yaml:1:1: a key is missing in front of the colon"},
        {deep, 0, 1, "v.yaml:1:33: more than 32 lists or maps inside each other"},
        {bomb, 0, 19, "v.yaml:2:8: aliases (*) are not accepted"},
    };
    memory_file files[] = {{"v.yaml", NULL, 0}, {NULL, NULL, 0}};

    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        files[0].bytes = cases[i].bytes;
        files[0].size = cases[i].size;
        expect(files, cases[i].message, cases[i].faults, cases[i].message);
    }
}

/* 10 000 shims as 10 000 lines; 300 bleed entries; 300 keys. */
Test(bad, too_many)
{
    static char text[300000];
    size_t used = 0;
    memory_file files[] = {{"v.yaml", text, 0}, {NULL, NULL, 0}};
    static char lines[260000];
    used = (size_t)snprintf(lines, sizeof lines, "    stack:");

    for (int i = 0; i < 10000; i++) {
        used += (size_t)snprintf(lines + used, sizeof lines - used, "\n      - 1 of 36 x 0.2 mm");
    }

    write_sound(text, sizeof text, 30, lines);
    expect(files, "v.yaml:31:7: piston.rebound.stack: 10002 entries; at most 64 are possible", 1, "10 000 lines");

    used = (size_t)snprintf(lines, sizeof lines, "  bleed:");
    for (int i = 0; i < 300; i++) {
        used += (size_t)snprintf(lines + used, sizeof lines - used, "\n    - {ports: 1, diameter: 1 mm, length: 9 mm}");
    }

    write_sound(text, sizeof text, 8, lines);
    expect(files, "v.yaml:9:5: piston.bleed: 301 entries; at most 16 are possible", 1, "300 bleeds");

    used = 0;
    for (int i = 0; i < 300; i++) {
        used += (size_t)snprintf(text + used, sizeof text - used, "k%d: 1\n", i);
    }

    expect(files, "v.yaml:257:1: more than 256 keys in one map", 1, "300 keys");

    used = 0;
    for (int i = 0; i < 250; i++) {
        used += (size_t)snprintf(text + used, sizeof text - used, "k%d: 1\n", i);
    }

    size_t faults = 0;
    cr_assert_eq(read_files(files, NULL, 0, &faults), KP_BAD_INPUT);
    cr_assert(strstr(reported, " further messages are left out") != NULL, "250 unknown keys");
}

/* All faults of a file at once, in order of line and column. */
Test(bad, all_at_once)
{
    static char text[6000];
    static const char replacement[] = "body: {bore: 63.5, rod: 22 kg, strok: 250 mm}\nquux: 1";
    write_sound(text, sizeof text, 3, replacement);
    char *shim = strstr(text, "3 of 40 x 0.20 mm");
    memcpy(shim, "3 of 40 x 9.20 mm", 17);
    memory_file files[] = {{"v.yaml", text, 0}, {NULL, NULL, 0}};
    size_t faults = 0;
    cr_assert_eq(read_files(files, NULL, 0, &faults), KP_BAD_INPUT);
    static const char *const expected[] = {
        "v.yaml:3:1: body.stroke: this key is missing",
        "v.yaml:3:14: body.bore: `63.5`: the unit is missing",
        "v.yaml:3:25: body.rod: `22 kg`: `kg` is the unit of a mass",
        "v.yaml:3:32: body.strok: unknown key (did you mean `stroke`?)",
        "v.yaml:4:1: quux: unknown key",
        "v.yaml:19:9: piston.compression.stack[0]: face shim: thickness 9.2 mm is outside 0.02 to 3 mm",
    };
    cr_assert_eq(faults, 6, "%s", reported);
    const char *at = reported;

    for (size_t i = 0; i < 6; i++) {
        cr_expect_eq(strncmp(at, expected[i], strlen(expected[i])), 0, "not \"%s\" but %s", expected[i], at);
        at = strchr(at, '\n') + 1;
    }
}

Test(bad, trials)
{
    static char whole[6000];
    write_sound(whole, sizeof whole, 0, "");
    static const struct {
        const char *trial, *other, *message;
    } cases[] = {
        {"based on: a/t.yaml\n", "x: 1\n", "a/t.yaml:1:11: based on: a/a/t.yaml cannot be opened: No such file"},
        {"based on: b.yaml\n", "based on: t.yaml\n",
         "a/b.yaml:1:11: based on: a loop: a/t.yaml -> a/b.yaml -> a/t.yaml"},
        {"based on: t.yaml\n", "x: 1\n", "a/t.yaml:1:11: based on: a loop: a/t.yaml -> a/t.yaml"},
        {"based on: [b.yaml]\n", "x: 1\n", "a/t.yaml:1:11: based on: one file name is wanted"},
        {"based on:\n", "x: 1\n", "a/t.yaml:1:10: based on: one file name is wanted"},
        {"based on: v.yaml\nbody: {bore: 20 mm, rdo: 3 mm}\n", "x: 1\n",
         "a/t.yaml:2:21: body.rdo: unknown key (did you mean `rod`?)"},
        /* what the trial changes makes the base's line wrong: the base's place */
        {"based on: v.yaml\nbody: {bore: 21 mm}\n", "x: 1\n",
         "a/v.yaml:3:30: body.rod: rod 22 mm is not smaller than the bore 21 mm"},
        {"based on: v.yaml\nfriction: none\npiston: {compression: {clamp: none}}\n", "x: 1\n",
         "a/t.yaml:3:10: piston.compression.clamp: this key is missing"},
    };
    memory_file files[] = {{"a/t.yaml", NULL, 0}, {"a/b.yaml", NULL, 0}, {"a/v.yaml", whole, 0}, {NULL, NULL, 0}};

    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        files[0].bytes = cases[i].trial;
        files[1].bytes = cases[i].other;
        size_t faults = 0;
        cr_expect_eq(read_files(files, NULL, 0, &faults), KP_BAD_INPUT, "%s", cases[i].trial);
        cr_expect(strstr(reported, cases[i].message) != NULL, "%s: not \"%s\" but\n%s", cases[i].trial,
                  cases[i].message, reported);
    }

    /* a chain of 20 files */
    static char names[20][20], texts[20][40];
    memory_file chain[21] = {{NULL, NULL, 0}};
    for (int i = 0; i < 20; i++) {
        snprintf(names[i], sizeof names[i], "c%d.yaml", i);
        snprintf(texts[i], sizeof texts[i], "based on: c%d.yaml\n", i + 1);
        chain[i] = (memory_file){names[i], texts[i], 0};
    }

    expect(chain, "c15.yaml:1:11: based on: more than 16 files based on each other", 1, "a chain of 20");
}

Test(bad, settings)
{
    static char whole[6000];
    write_sound(whole, sizeof whole, 0, "");
    memory_file files[] = {{"v.yaml", whole, 0}, {NULL, NULL, 0}};
    static const struct {
        const char *setting, *message;
    } cases[] = {
        {"piston.compression.dish=0.3 kg", "--set piston.compression.dish: `0.3 kg`: `kg` is the unit of a mass"},
        {"piston.compression.dish", "--set piston.compression.dish: KEY=VALUE is wanted"},
        {"piston.compression.dish=", "--set piston.compression.dish: nothing stands behind the ="},
        {"piston..dish=1 mm", "--set piston..dish: KEY=VALUE is wanted"},
        {"=3", "--set : KEY=VALUE is wanted"},
        {"body.bor=3 mm", "--set body.bor: unknown key (did you mean `bore`?)"},
        {"piston.bleed[3].plugged=4", "--set piston.bleed[3].plugged: there is no entry [3]: the list has 1, counted"},
        {"piston.bleed[x].plugged=4", "--set piston.bleed[x].plugged: KEY=VALUE is wanted"},
        {"piston.bleed.plugged=4", "--set piston.bleed.plugged: `plugged` cannot be a key here: this is a list"},
        {"body.bore.x=4", "--set body.bore.x: `x` cannot be a key here: this is a single value"},
        {"piston.bleed[0].plugged=5", "--set piston.bleed[0].plugged: 5 plugged of 4 ports"},
        {"piston.compression.stack=[1 of 16 x 0.2 mm]", "--set piston.compression.stack: piston.compression.stack[0]: "
                                                        "face shim: outside 16 mm is no larger than the clamp"},
        {"body={rod: 64 mm, stroke: 20 mm}", "--set body: body.rod: rod 64 mm is not smaller than the bore 63.5 mm"},
        {"body={rod: 20 mm", "--set body: this is not YAML"},
        {"body.rod=*x", "--set body.rod: aliases (*) are not accepted"},
        {"based on=w.yaml", "--set based on: what a file is based on cannot be set"},
        {"base valve=1", "--set base valve: reservoir: "},
        {"gas.charge=none", "v.yaml:5:1: gas.charge: this key is missing"},
    };

    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        size_t faults = 0;
        cr_expect_eq(read_files(files, &cases[i].setting, 1, &faults), KP_BAD_INPUT, "%s", cases[i].setting);
        cr_expect_eq(faults, 1, "%s: %s", cases[i].setting, reported);
        cr_expect_eq(strncmp(reported, cases[i].message, strlen(cases[i].message)), 0, "%s: not \"%s\" but %s",
                     cases[i].setting, cases[i].message, reported);
    }
}
