/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A file written as the trade writes, and the slips of one who has never seen YAML: each with the value read, or with
    the message that names the cause and the line as it should be typed. */
#include "files.h"

#include "file/keys.h"
#include "file/manual.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stddef.h>
#include <stdlib.h>

static kp_damper_data damper;
static char reported[8000];
static size_t faults;

static kp_status read_text(const char *text)
{
    memory_file files[] = {{"v.yaml", text, 0}, {NULL, NULL, 0}};
    kp_error error = {0};
    kp_messages messages = {0};
    kp_status status = kp_file_read_damper_from(open_in_memory, files, "v.yaml", NULL, 0, &damper, &messages, &error);
    size_t used = 0;
    reported[0] = '\0';
    faults = 0;
    for (size_t i = 0; i < messages.count; i++) {
        faults += messages.items[i].fault ? 1 : 0;
        used += (size_t)snprintf(reported + used, sizeof reported - used, "%s\n", messages.items[i].text);
    }
    kp_messages_free(&messages);
    return status;
}

#define AT(field)      offsetof(kp_damper_data, field)
#define SHIM(i, field) offsetof(kp_damper_data, valves[KP_COMPRESSION].lines[i].field)
#define INCH           0.0254

/* One line of the sound file replaced by what a workshop may write, and the number [SI] that it must give. */
Test(wording, is_read)
{
    static const struct {
        size_t line;
        const char *replacement;
        size_t offset;
        double value;
    } cases[] = {
        {18, "      - 40 x 0.20 mm", SHIM(0, outside), 0.040},
        {18, "      - 39 x 0.20mm", SHIM(0, outside), 0.039},
        {18, "      - 3 OF 39 X 0.23 MM", SHIM(0, thickness), 0.23e-3},
        {18, "      - 3 of 39 \xC3\x97 0.23 mm", SHIM(0, thickness), 0.23e-3},
        {18, "      - 39 \xC3\x97 0.23 mm, hole 12 mm", SHIM(0, hole), 0.012},
        {18, "      - 2 of 1-5/8 in x 8 mil", SHIM(0, outside), 1.625 * INCH},
        {18, "      - 2 of 1.5\" x 0.008\"", SHIM(0, thickness), 0.008 * INCH},
        {18, "      - 2 of 1-1/2 x 0.008 in", SHIM(0, outside), 1.5 * INCH},
        {18, "      - 2 of 39 x 0.2 mm, HOLE 12.3 mm", SHIM(0, hole), 0.0123},
        {3, "body:   {bore: 2-1/2 in, rod: 7/8 in, stroke: 250 mm}", AT(bore), 2.5 * INCH},
        {3, "body:   {bore: 2.5\", rod: 7/8\", stroke: 9-7/8\"}", AT(rod), 0.875 * INCH},
        {3, "BODY:   {BORE: 63.5 MM, Rod: 21 Mm, Stroke: 250 MM}", AT(rod), 0.021},
        {3, "Body:\n  Bore: 63.5 mm\n  Rod: 21.3 mm\n  Stroke: 250 mm", AT(rod), 0.0213},
        {15, "    Dish: 0.23 mm", AT(valves[KP_COMPRESSION].dish), 0.23e-3},
        {15, "    dish: 1/64 in", AT(valves[KP_COMPRESSION].dish), INCH / 64.0},
        {15, "    dish: 0.008\"", AT(valves[KP_COMPRESSION].dish), 0.008 * INCH},
        {16, "    Clamp: {Washer: 16.3 mm, Grip: HELD}", AT(valves[KP_COMPRESSION].clamp_washer), 0.0163},
        {5, "gas:    {charge: 203 psig at 68 F, volume: 350 cm3}", AT(gas.charge_pressure),
         203.0 * 6894.757293168361 + 101325.0},
        {5, "gas:    {charge: 203 psig at 68 F, volume: 350 cm3}", AT(gas.charge_temperature), 293.15},
        {5, "gas:    {charge: 13 barg AT 21 C, volume: 350 cm3}", AT(gas.charge_pressure), 13e5 + 101325.0},
        {5, "gas:    {charge: 13 Bar Gauge at 21 C, volume: 350 CC}", AT(gas.charge_temperature), 294.15},
        {5, "gas:    {charge: 15 bara at 20 degC, volume: 350 cm3}", AT(gas.charge_pressure), 15e5},
        {4, "oil:    {viscosity: {40 C: 15 CST, 100 C: 3.8 CST}, density: 860 kg/m3}", AT(oil.viscosity_1), 15e-6},
        {4, "oil:    {viscosity: {104 F: 15 cSt, 212 F: 3.8 cSt}, density: 860 kg/m3}", AT(oil.temperature_2), 373.15},
        {4, "oil:    {grade: iso vg 15, viscosity index: 150, density: 861 kg/m3}", AT(oil.density), 861.0},
        {6, "friction: 61 N\ntemperature: 70 F", AT(oil_temperature), (70.0 + 459.67) * 5.0 / 9.0},
        {6, "Friction: 61 N\nTemperature: 41 C", AT(oil_temperature), 314.15},
        {6, "friction: None", AT(friction), 0.0},
        {9, "    - {Ports: 4, Plugged: 2, Diameter: 1/16 in, Length: 3/8 in, Flows: Rebound}", AT(bleeds[0].diameter),
         INCH / 16.0},
        /* a name may have any sign */
        {2, "name: \xE2\x80\x9CThe van\xE2\x80\x9D, 2,5 in", AT(rod), 0.022},
    };
    static char text[6000];

    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        write_sound(text, sizeof text, cases[i].line, cases[i].replacement);
        cr_expect_eq(read_text(text), KP_OK, "%s: %s", cases[i].replacement, reported);
        double value = *(const double *)(const void *)((const char *)&damper + cases[i].offset);
        cr_expect(fabs(value - cases[i].value) <= 1e-14 * fabs(cases[i].value), "%s: %.17g, not %.17g",
                  cases[i].replacement, value, cases[i].value);
    }
}

Test(wording, one_shim_without_a_count)
{
    static char text[6000];
    write_sound(text, sizeof text, 18, "      - 40 x 0.20 mm");
    cr_assert_eq(read_text(text), KP_OK, "%s", reported);
    cr_assert_eq(damper.valves[KP_COMPRESSION].lines[0].count, 1);
    cr_assert_eq(damper.valves[KP_COMPRESSION].line_count, 3);
}

enum { LAST = 30 /* the last stack: its lines go with it */ };

/* One line of the sound file replaced by a slip: exactly one fault, with the line as it should be typed. */
Test(wording, slips_say_what_to_type)
{
    static const struct {
        size_t line;
        const char *replacement, *message;
    } cases[] = {
        /* decimal commas */
        {15, "    dish: 0,25 mm",
         "v.yaml:15:11: piston.compression.dish: a decimal number has a point, not a comma; "
         "type `dish: 0.25 mm`"},
        {3, "body:   {bore: 63,5 mm, rod: 22 mm, stroke: 250 mm}",
         "v.yaml:3:16: body.bore: a decimal number has a point, not a comma; type `bore: 63.5 mm`"},
        {3, "body:   {bore: 63 mm, rod: 22 mm, stroke: 250,5 mm}",
         "v.yaml:3:43: body.stroke: a decimal number has a point, not a comma; type `stroke: 250.5 mm`"},
        {4, "oil:    {viscosity: {40 degC: 15 mm2/s, 100 degC: 3,8 mm2/s}, density: 860 kg/m3}",
         "v.yaml:4:51: oil.viscosity.100 degC: a decimal number has a point, not a comma; type `100 degC: 3.8 mm2/s`"},
        {18, "      - 3 of 40 x 0,20 mm",
         "v.yaml:18:9: piston.compression.stack[0]: a decimal number has a point, not a comma; type `3 of 40 x 0.20 "
         "mm`"},
        {LAST, "    stack: [2 of 40 x 0,20 mm, 1 of 38 x 0.2 mm]",
         "v.yaml:30:13: piston.rebound.stack[0]: a decimal number has a point, not a comma; type `2 of 40 x 0.20 mm`"},
        /* no blank behind the colon, no colon */
        {15, "    dish:0.3 mm",
         "v.yaml:15:5: a key is parted from its value by a colon and a blank; type `dish: 0.3 mm`"},
        {6, "friction:60 N",
         "v.yaml:6:1: a key is parted from its value by a colon and a blank; type `friction: 60 N`"},
        {15, "    dish 0.3 mm",
         "v.yaml:15:5: a key is parted from its value by a colon and a blank; type `dish: 0.3 mm`"},
        {15, "    Dish:0.3 mm    # as measured",
         "v.yaml:15:5: a key is parted from its value by a colon and a blank; type `Dish: 0.3 mm`"},
        {3, "body:   {bore:63.5 mm, rod: 22 mm, stroke: 250 mm}",
         "v.yaml:3:10: body.bore: a key is parted from its value by a colon and a blank; type `bore: 63.5 mm`"},
        {26, "    clamp: {washer:16 mm}",
         "v.yaml:26:13: piston.rebound.clamp.washer: a key is parted from its value by a colon and a blank; type "
         "`washer: 16 mm`"},
        /* no-break and thin spaces */
        {15, "    dish: 0.25\xC2\xA0mm",
         "v.yaml:15:11: piston.compression.dish: a no-break space stands here, as word processors and web pages write "
         "it; type `dish: 0.25 mm`"},
        {13,
         "    load\xC2\xA0"
         "coverage: 100 %",
         "v.yaml:13:5: piston.compression.load coverage: a no-break space stands here, as word processors and web "
         "pages write it; type `load coverage: 100 %`"},
        {18,
         "      - 3 of 40\xE2\x80\xAFx\xE2\x80\x89"
         "0.20 mm",
         "v.yaml:18:9: piston.compression.stack[0]: a no-break space stands here, as word processors and web pages "
         "write it; type `3 of 40 x 0.20 mm`"},
        /* typographic marks */
        {15,
         "    dish: \xE2\x80\x9C"
         "0.25 mm\xE2\x80\x9D",
         "v.yaml:15:11: piston.compression.dish: typographic quotation marks stand here, as word processors write "
         "them; type `dish: 0.25 mm`"},
        {15, "    dish: 0.008\xE2\x80\x9D",
         "v.yaml:15:11: piston.compression.dish: typographic quotation marks stand here, as word processors write "
         "them; type `dish: 0.008\"`"},
        {18, "      - 3 of 1.5\xE2\x80\x9D x 0.008\xE2\x80\x9D",
         "v.yaml:18:9: piston.compression.stack[0]: typographic quotation marks stand here, as word processors write "
         "them; type `3 of 1.5\" x 0.008\"`"},
        {15,
         "    dish: \xE2\x88\x92"
         "0.05 mm",
         "v.yaml:15:11: piston.compression.dish: a typographic minus stands here in place of a hyphen; type `dish: "
         "-0.05 mm`"},
        /* bullets */
        {LAST, "    stack:\n      \xE2\x80\xA2 2 of 40 x 0.20 mm\n      \xE2\x80\xA2 1 of 38 x 0.20 mm",
         "v.yaml:31:7: piston.rebound.stack: a line of a list begins with a hyphen and a blank; type `- 2 of 40 x 0.20 "
         "mm`"},
        {LAST, "    stack:\n      -2 of 40 x 0.20 mm\n      -1 of 38 x 0.20 mm",
         "v.yaml:31:7: piston.rebound.stack: a line of a list begins with a hyphen and a blank; type `- 2 of 40 x 0.20 "
         "mm`"},
        {LAST, "    stack:\n      * 2 of 40 x 0.20 mm\n      * 1 of 38 x 0.20 mm",
         "v.yaml:31:7: a line of a list begins with a hyphen and a blank; type `- 2 of 40 x 0.20 mm`"},
        {LAST, "    stack:\n      \xE2\x80\x93 2 of 40 x 0.20 mm",
         "v.yaml:31:7: piston.rebound.stack: a line of a list begins with a hyphen and a blank; type `- 2 of 40 x 0.20 "
         "mm`"},
        /* other words of the trade */
        {6, "friction: 60 N\nshims: 3",
         "v.yaml:7:1: shims: unknown key (this is called `stack`, and belongs here: piston.compression.stack)"},
        {6, "friction: 60 N\nrod: 22 mm", "v.yaml:7:1: rod: unknown key (it belongs here: body.rod)"},
        {6, "friction: 60 N\nshaft: 22 mm",
         "v.yaml:7:1: shaft: unknown key (this is called `rod`, and belongs here: body.rod)"},
        {6, "friction: 60 N\nnitrogen: 14 bar",
         "v.yaml:7:1: nitrogen: unknown key (this is called `charge`, and belongs here: gas.charge)"},
        {6, "friction: 60 N\nIFP depth: 40 mm",
         "v.yaml:7:1: IFP depth: unknown key (this is called `depth`, and belongs here: gas.divider.depth)"},
        {5, "gas:    {charge: 14 bar gauge at 20 degC, volume: 350 cm3, IFP: 3}",
         "v.yaml:5:60: gas.IFP: unknown key (this is called `divider`; write `divider: {bore: 60 mm, depth: 124 mm, "
         "travel: 70 mm}`)"},
        {3, "body:   {bore: 63.5 mm, rod: 22 mm, stroke: 250 mm, shaft: 22 mm}",
         "v.yaml:3:53: body.shaft: unknown key (this is called `rod`; write `rod: 22 mm`)"},
        {15, "    seat height: 0.25 mm",
         "v.yaml:15:5: piston.compression.seat height: unknown key (this is called `dish`; write `dish: 0.40 mm`)"},
        {13, "    float: 0.25 mm", "v.yaml:13:5: piston.compression.float: unknown key (this is called `dish`;"},
        {6, "friction: 60 N\nstiction: 60 N",
         "v.yaml:7:1: stiction: unknown key (this is called `friction`; write "
         "`friction: 60 N`)"},
        {6, "friction: 60 N\nfluid: 15 cSt",
         "v.yaml:7:1: fluid: unknown key (this is called `oil`; write `oil: "
         "{viscosity: {40 degC: 15 mm2/s, 100 degC: 3.8 mm2/s}, density: 860 "
         "kg/m3}`)"},
        {8, "  bleeds: 4\n  bleed:",
         "v.yaml:8:3: piston.bleeds: unknown key (this is called `bleed`; write `bleed: "
         "[{ports: 6, plugged: 2, diameter: 1.8 mm, length: 9 mm}]`)"},
        /* capitals of one key beside the same in small letters */
        {6, "friction: 60 N\nFriction: 61 N", "v.yaml:7:1: Friction: unknown key (did you mean `friction`?)"},
        /* thousands: nothing is guessed */
        {6, "friction: 1,200 N", "v.yaml:6:11: friction: `1,200 N`: a decimal number has a point, not a comma"},
    };
    static char text[6000];

    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        write_sound(text, sizeof text, cases[i].line, cases[i].replacement);
        if (cases[i].line == LAST) {
            strstr(text, cases[i].replacement)[strlen(cases[i].replacement)] = '\0';
        }
        cr_expect_eq(read_text(text), KP_BAD_INPUT, "%s was taken", cases[i].replacement);
        cr_expect_eq(faults, 1, "%s: %zu faults:\n%s", cases[i].replacement, faults, reported);
        cr_expect_eq(strncmp(reported, cases[i].message, strlen(cases[i].message)), 0, "%s: not \"%s\", but\n%s",
                     cases[i].replacement, cases[i].message, reported);
    }
}

/* A key that is missing: an example line; a block that is missing: the whole block. Written as the message says, the
   file is right. */
Test(wording, what_is_missing_is_shown_whole)
{
    static const struct {
        size_t line;
        const char *replacement, *typed;
    } cases[] = {
        {2, "#", "name: Rescue van, rear"},
        {3, "body: {rod: 22 mm, stroke: 250 mm}", "bore: 63.5 mm"},
        {3, "#", "body: {bore: 63.5 mm, rod: 22 mm, stroke: 250 mm}"},
        {4, "#", "oil: {viscosity: {40 degC: 15 mm2/s, 100 degC: 3.8 mm2/s}, density: 860 kg/m3}"},
        {4, "oil: {density: 860 kg/m3}", "viscosity: {40 degC: 15 mm2/s, 100 degC: 3.8 mm2/s}"},
        {5, "#", "gas: {charge: 14 bar gauge at 20 degC, volume: 350 cm3}"},
        {9, "    - {ports: 4, length: 9 mm}", "diameter: 1.8 mm"},
        {11, "#", "port: {area: 520 mm2, inner: 24 mm}"},
        {16, "#", "clamp: {washer: 18 mm}"},
        {26, "    clamp: {grip: held}", "washer: 18 mm"},
    };
    static char text[6000];

    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char expected[400];
        snprintf(expected, sizeof expected, " Write `%s`\n", cases[i].typed);
        write_sound(text, sizeof text, cases[i].line, cases[i].replacement);
        cr_expect_eq(read_text(text), KP_BAD_INPUT, "%s was taken", cases[i].replacement);
        cr_expect(faults == 1 && strstr(reported, "this key is missing") != NULL && strstr(reported, expected) != NULL,
                  "%s: not \"%s\", but\n%s", cases[i].replacement, expected, reported);
    }

    /* A file of one line says everything that is missing; with all of it typed it is sound. */
    cr_assert_eq(read_text("format: 1\n"), KP_BAD_INPUT);
    size_t used = (size_t)snprintf(text, sizeof text, "format: 1\nfriction: 60 N\n");
    size_t count = 0;
    for (const char *at = strstr(reported, "Write `"); at != NULL; at = strstr(at + 1, "Write `")) {
        used += (size_t)snprintf(text + used, sizeof text - used, "%.*s\n", (int)strcspn(at + 7, "`"), at + 7);
        count++;
    }
    cr_assert_eq(count, faults, "%s", reported);
    cr_assert_eq(read_text(text), KP_OK, "%s\n%s", text, reported);
}

/* Slips that YAML stops at are mended as well: one reading says all of them, and what else is wrong. */
Test(wording, slips_of_the_text_hide_no_other)
{
    static char text[6000];
    write_sound(text, sizeof text, 6, "friction:60 N\nshaft: 22 mm");
    char *dish = strstr(text, "dish: 0.25 mm");
    memcpy(dish, "dish 0.25 kg ", 13);
    char *list = strstr(text, "- 2 of 1.575");
    list[0] = '*';
    strstr(list, "- 2 of 36")[0] = '*';
    cr_assert_eq(read_text(text), KP_BAD_INPUT);
    cr_expect_eq(faults, 5, "%s", reported);
    cr_expect(strstr(reported, "v.yaml:6:1: a key is parted") != NULL &&
                  strstr(reported, "7:1: shaft: unknown") != NULL &&
                  strstr(reported, "v.yaml:16:5: a key is parted") != NULL &&
                  strstr(reported, "dish: `0.25 kg`: `kg` is the unit of a mass") != NULL &&
                  strstr(reported, "v.yaml:32:7: a line of a list begins") != NULL,
              "%s", reported);
}

/* Several slips at once are all reported, and nothing more. */
Test(wording, slips_hide_no_other)
{
    static char text[6000];
    write_sound(text, sizeof text, 3, "body:   {bore: 63,5 mm, rod:22 mm, stroke: 250\xC2\xA0mm}\nshaft: 22 mm");
    cr_assert_eq(read_text(text), KP_BAD_INPUT);
    cr_expect_eq(faults, 4, "%s", reported);
    cr_expect(strstr(reported, "type `bore: 63.5 mm`") != NULL && strstr(reported, "type `rod: 22 mm`") != NULL &&
                  strstr(reported, "type `stroke: 250 mm`") != NULL && strstr(reported, "called `rod`") != NULL,
              "%s", reported);
}

/* Values as a workshop has them, and the warnings that state what was assumed. */
Test(wording, values_of_a_workshop)
{
    static const struct {
        size_t line;
        const char *replacement;
        size_t offset;
        double value;        /* by hand */
        const char *warning; /* NULL: none */
    } cases[] = {
        /* pi/4 8^2 = 50.26548; 12.7^2 pi/4 = 126.6769 */
        {11, "    port:  {area: 6 x 8 mm, inner: 20 mm}", AT(valves[KP_COMPRESSION].port_area), 301.592895e-6, NULL},
        {11, "    port:  {area: 3 \xC3\x97 1/2 in, inner: 20 mm}", AT(valves[KP_COMPRESSION].port_area), 380.030609e-6,
         NULL},
        {11, "    port:  {area: 6 x 4 x 12 mm, inner: 20 mm}", AT(valves[KP_COMPRESSION].port_area), 288e-6, NULL},
        {11, "    port:  {area: 6x4 mm x 1.2 cm, inner: 20 mm}", AT(valves[KP_COMPRESSION].port_area), 288e-6, NULL},
        {11, "    port:  {area: 240 mm2, entry area: 4 X 7 MM, inner: 20 mm}", AT(valves[KP_COMPRESSION].port_entry),
         153.938040e-6, NULL},
        {4, "oil:    {viscosity: 15 cSt at 40 degC, density: 860 kg/m3}", AT(oil.viscosity_1), 15e-6,
         "v.yaml:4:21: oil.viscosity: one viscosity is given, and the viscosity index taken as 150"},
        {4, "oil:    {viscosity: 15 cSt at 104 F, viscosity index: 97, density: 860 kg/m3}", AT(oil.viscosity_1), 15e-6,
         NULL},
        {9, "    - {ports: 4, plugged: 2, diameter: 1.5 mm}", AT(bleeds[0].length), 7.5e-3,
         "v.yaml:9:7: piston.bleed[0].length: not given, and taken as 7.5 mm, an assumption: five diameters"},
        {12, "    land:  {inner: 33 mm}", AT(valves[KP_COMPRESSION].land_outer), 34.32e-3,
         "v.yaml:12:5: piston.compression.land.outer: not given, and taken as 34.32 mm, an assumption: a narrow land"},
        {5, "gas:    {charge: 14 bar gauge at 20 degC, divider: {depth: 110 mm}}", AT(gas.volume), 348.361392e-6,
         "v.yaml:5:43: gas.divider.bore: not given, and taken as 63.5 mm, an assumption: the bore of the body\n"
         "v.yaml:5:43: gas.divider.travel: not given, and taken as 99 mm, an assumption: nine tenths of its depth"},
    };
    static char text[6000];

    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        write_sound(text, sizeof text, cases[i].line, cases[i].replacement);
        cr_expect_eq(read_text(text), KP_OK, "%s: %s", cases[i].replacement, reported);
        double value = *(const double *)(const void *)((const char *)&damper + cases[i].offset);
        cr_expect(fabs(value - cases[i].value) <= 1e-8 * cases[i].value, "%s: %.10g, not %.10g", cases[i].replacement,
                  value, cases[i].value);
        const char *warning = cases[i].warning == NULL ? "" : cases[i].warning;
        cr_expect(strncmp(reported, warning, strlen(warning)) == 0 && (cases[i].warning != NULL || reported[0] == '\0'),
                  "%s: not \"%s\", but\n%s", cases[i].replacement, warning, reported);
    }

    static const struct {
        size_t line;
        const char *replacement, *message;
    } wrong[] = {
        {11, "    port:  {area: 6 x 8, inner: 20 mm}", "v.yaml:11:19: piston.compression.port.area: `8`: the unit is"},
        {11, "    port:  {area: 6.5 x 8 mm, inner: 20 mm}",
         "v.yaml:11:19: piston.compression.port.area: `6.5 x 8 mm`: holes are NUMBER x DIAMETER"},
        {11, "    port:  {area: 6 x 8 x 3 x 2 mm, inner: 20 mm}",
         "v.yaml:11:19: piston.compression.port.area: `6 x 8 x 3 x 2 mm`: holes are NUMBER x DIAMETER"},
        {11, "    port:  {area: 6 x 0 mm, inner: 20 mm}",
         "v.yaml:11:19: piston.compression.port.area: `6 x 0 mm`: holes are NUMBER x DIAMETER"},
        {4, "oil:    {viscosity: 15 cSt, density: 860 kg/m3}",
         "v.yaml:4:21: oil.viscosity: a viscosity goes with its temperature, `15 cSt at 40 degC`"},
        {4, "oil:    {viscosity: 15 cSt at 40 degC, grade: ISO VG 15, density: 860 kg/m3}",
         "v.yaml:4:47: oil.grade: viscosity is given both by a grade and by numbers"},
        {4, "oil:    {viscosity: 0.5 cSt at 100 degC, density: 860 kg/m3}",
         "v.yaml:4:21: oil.viscosity: no oil of viscosity index 150 has this viscosity there"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        write_sound(text, sizeof text, wrong[i].line, wrong[i].replacement);
        cr_expect_eq(read_text(text), KP_BAD_INPUT, "%s was taken", wrong[i].replacement);
        cr_expect(faults == 1 && strncmp(reported, wrong[i].message, strlen(wrong[i].message)) == 0,
                  "%s: not \"%s\", but\n%s", wrong[i].replacement, wrong[i].message, reported);
    }

    /* One viscosity away from 40 degC: the oil found has it there, and the index. */
    write_sound(text, sizeof text, 4,
                "oil:    {viscosity: 3.7 cSt at 97 degC, viscosity index: 123, density: 860 kg/m3}");
    cr_assert_eq(read_text(text), KP_OK, "%s", reported);
    double viscosity = 0.0, index = 0.0;
    cr_assert_eq(kp_oil_viscosity(&damper.oil, 370.15, &viscosity, NULL), KP_OK);
    cr_assert_eq(kp_viscosity_index(damper.oil.viscosity_1, damper.oil.viscosity_2, &index, NULL), KP_OK);
    cr_expect(fabs(viscosity - 3.7e-6) < 1e-14, "%.17g", viscosity);
    cr_expect(fabs(index - 123.0) < 1e-6, "%.17g", index);
}

/* Every key has a note, every note a key. */
static size_t count_keys(const kp_key_table *table)
{
    size_t count = 0;
    for (size_t i = 0; i < table->count; i++) {
        const kp_key *key = &table->keys[i];
        const kp_key_note *note = kp_key_note_of(table, key);
        cr_expect(note != NULL && note->measure[0] != '\0', "no note on %s in %s", key->name, table->name);
        cr_expect(note == NULL || (key->required && key->unless == NULL) == (note->without[0] == '\0') ||
                      key->unless != NULL,
                  "%s in %s: what holds without it?", key->name, table->name);
        char example[800];
        for (int j = KP_UNITS_METRIC; j <= KP_UNITS_INCH; j++) {
            cr_expect(kp_key_example(table, key, (kp_unit_system)j, example, sizeof example) > strlen(key->name) + 2,
                      "no example of %s in %s", key->name, table->name);
        }
        const kp_key_table *inside = kp_key_inside(key);
        count += 1 + (inside == NULL ? 0 : count_keys(inside));
    }
    return count;
}

Test(wording, every_key_has_a_note)
{
    cr_expect_gt(count_keys(&kp_damper_keys), 100);
}
