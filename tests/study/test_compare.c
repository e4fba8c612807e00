/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What differs in the parts, in words. The sentences are what hands will do, so each is checked word for word; and for
    random stacks the sentences are carried out on the first stack and must give the second. */
#include "num/num.h"
#include "kneepoint/study.h"
#include "fixtures.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

static kp_damper_data first, second;
static kp_differences found;

/* The van with a dished stack and one bleed entry; what differs is the test's. */
static void begin(void)
{
    static const fixture_shims lines[] = {{3, 40e-3, 0.20e-3}, {1, 22e-3, 0.10e-3}, {2, 38e-3, 0.20e-3}};
    first = fixture_body();
    first.bleed_count = 1;
    first.bleeds[0] = (kp_bleed){.ports = 4, .plugged = 1, .diameter = 1.5e-3, .length = 9e-3};
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        first.valves[d].dish = 0.25e-3;
        fixture_set_stack(&first.valves[d], 3, lines);
    }
    second = first;
}

static void end(void)
{
    kp_differences_free(&found);
}

TestSuite(compare, .init = begin, .fini = end);

static void compare(kp_unit_system system)
{
    kp_error error = {0};
    kp_differences_free(&found);
    cr_assert_eq(kp_compare_parts(&first, &second, system, &found, &error), KP_OK, "%s", error.message);
}

static void expect_only(size_t count, const char *const *sentences)
{
    compare(KP_UNITS_METRIC);
    cr_expect_eq(found.count, count, "%zu sentences, %zu wanted", found.count, count);
    for (size_t i = 0; i < count && i < found.count; i++) {
        cr_expect_str_eq(found.items[i], sentences[i]);
    }
}
#define EXPECT(...)                                                                                                    \
    do {                                                                                                               \
        const char *const wanted[] = {__VA_ARGS__};                                                                    \
        expect_only(sizeof wanted / sizeof wanted[0], wanted);                                                         \
        second = first;                                                                                                \
    } while (0)

#define COMPRESSION (&second.valves[KP_COMPRESSION])
#define REBOUND     (&second.valves[KP_REBOUND])

Test(compare, nothing_differs)
{
    compare(KP_UNITS_METRIC);
    cr_expect_eq(found.count, 0);
    /* the same sizes by way of inches: rounding is no difference */
    COMPRESSION->lines[0].outside = 40.0 / 25.4 * 25.4e-3;
    COMPRESSION->dish = 0.25 / 25.4 * 25.4 * 1e-3;
    snprintf(second.name, sizeof second.name, "another name is no other part");
    compare(KP_UNITS_METRIC);
    cr_expect_eq(found.count, 0);
}

Test(compare, shims_added_and_taken_out)
{
    fixture_set_stack(
        COMPRESSION, 4,
        (fixture_shims[]){{3, 40e-3, 0.2e-3}, {1, 38e-3, 0.2e-3}, {1, 22e-3, 0.1e-3}, {2, 38e-3, 0.2e-3}});
    EXPECT("compression stack: 1 of 38 x 0.20 mm added above shim 3");
    fixture_set_stack(REBOUND, 3, (fixture_shims[]){{4, 40e-3, 0.2e-3}, {1, 22e-3, 0.1e-3}, {2, 38e-3, 0.2e-3}});
    EXPECT("rebound stack: 1 of 40 x 0.20 mm added above shim 3");
    fixture_set_stack(
        COMPRESSION, 4,
        (fixture_shims[]){{2, 42e-3, 0.15e-3}, {3, 40e-3, 0.2e-3}, {1, 22e-3, 0.1e-3}, {2, 38e-3, 0.2e-3}});
    EXPECT("compression stack: 2 of 42 x 0.15 mm added below shim 1, on the seat");
    fixture_set_stack(COMPRESSION, 2, (fixture_shims[]){{3, 40e-3, 0.2e-3}, {2, 38e-3, 0.2e-3}});
    EXPECT("compression stack: 1 of 22 x 0.10 mm taken out (shim 4)");
    fixture_set_stack(COMPRESSION, 3, (fixture_shims[]){{1, 40e-3, 0.2e-3}, {1, 22e-3, 0.1e-3}, {2, 38e-3, 0.2e-3}});
    EXPECT("compression stack: 2 of 40 x 0.20 mm taken out (shims 2 and 3)");
}

Test(compare, what_is_special_in_a_shim)
{
    kp_shim_line *third = &COMPRESSION->lines[2];
    third->has_hole = true;
    third->hole = 19.3e-3;
    third->slot_count = 4;
    third->slot_width = 2.1e-3;
    strcpy(third->material, "bronze");
    EXPECT("compression stack: shims 5 and 6 change from 38 x 0.20 mm to 38 x 0.20 mm, hole 19.3 mm, slots 4 x 2.1 mm, "
           "material bronze");
    REBOUND->lines[0].slot_count = 6;
    REBOUND->lines[0].slot_width = 1e-3;
    REBOUND->lines[0].has_slot_depth = true;
    REBOUND->lines[0].slot_depth = 4e-3;
    EXPECT("rebound stack: shims 1 to 3 change from 40 x 0.20 mm to 40 x 0.20 mm, slots 6 x 1 x 4 mm");
}

Test(compare, clamp_and_backing)
{
    COMPRESSION->has_hole = true;
    COMPRESSION->hole = 12.3e-3;
    COMPRESSION->nut_load = 9300;
    COMPRESSION->nut_friction = 0.1;
    EXPECT("compression nut load changes from 0 N to 9300 N",
           "compression friction of the clamped faces changes from 0.12 to 0.1",
           "compression shims: only the second names their hole, 12.3 mm");
    first.valves[KP_REBOUND].has_hole = REBOUND->has_hole = true;
    first.valves[KP_REBOUND].hole = 12e-3;
    REBOUND->hole = 11.9e-3;
    EXPECT("rebound shims: hole changes from 12 mm to 11.9 mm");
    COMPRESSION->backing_count = 2;
    COMPRESSION->backing[0] = (kp_backing_point){16e-3, 0};
    COMPRESSION->backing[1] = (kp_backing_point){20e-3, 0.3e-3};
    EXPECT("compression backing washer added: gap 0 mm at 16 mm, 0.3 mm at 20 mm");
    first.valves[KP_COMPRESSION].has_stop = true;
    first.valves[KP_COMPRESSION].stop_outside = 30e-3;
    first.valves[KP_COMPRESSION].stop_gap = 1e-3;
    COMPRESSION->backing_count = 1;
    COMPRESSION->backing[0] = (kp_backing_point){30e-3, 1e-3};
    compare(KP_UNITS_METRIC);
    cr_expect_eq(found.count, 0, "a flat stop is a profile of one point");
    second = first;
    first.material_count = second.material_count = 1;
    first.materials[0] = (kp_material_data){.name = "spring steel", .material = {206e9, 0.3, 15e8, 17e8, 55e7}};
    second.materials[0] = first.materials[0];
    second.materials[0].material.young = 201e9;
    EXPECT("compression shims of spring steel: Young's modulus changes from 206000 MPa to 201000 MPa",
           "rebound shims of spring steel: Young's modulus changes from 206000 MPa to 201000 MPa");
}

Test(compare, shims_changed)
{
    fixture_set_stack(COMPRESSION, 3, (fixture_shims[]){{3, 40e-3, 0.25e-3}, {1, 22e-3, 0.1e-3}, {2, 38e-3, 0.2e-3}});
    EXPECT("compression stack: shims 1 to 3 change from 40 x 0.20 mm to 40 x 0.25 mm");
    fixture_set_stack(COMPRESSION, 3, (fixture_shims[]){{3, 40e-3, 0.2e-3}, {1, 24e-3, 0.125e-3}, {2, 38e-3, 0.2e-3}});
    EXPECT("compression stack: shim 4 changes from 22 x 0.10 mm to 24 x 0.125 mm");
    fixture_set_stack(COMPRESSION, 3, (fixture_shims[]){{3, 40e-3, 0.2e-3}, {1, 22e-3, 0.1e-3}, {3, 36e-3, 0.2e-3}});
    EXPECT("compression stack: shims 5 and 6 change from 38 x 0.20 mm to 36 x 0.20 mm",
           "compression stack: 1 of 36 x 0.20 mm added above shim 6");
    /* the same shims written in other lines are the same stack */
    fixture_set_stack(
        COMPRESSION, 4,
        (fixture_shims[]){{1, 40e-3, 0.2e-3}, {2, 40e-3, 0.2e-3}, {1, 22e-3, 0.1e-3}, {2, 38e-3, 0.2e-3}});
    compare(KP_UNITS_METRIC);
    cr_expect_eq(found.count, 0);
}

Test(compare, bleeds)
{
    second.bleeds[0].plugged = 3;
    EXPECT("2 more bleed ports of 1.5 mm plugged (3 open before, 1 after); these flow both ways, so compression and "
           "rebound both change");
    second.bleeds[0].plugged = 0;
    EXPECT("1 more bleed port of 1.5 mm opened (3 open before, 4 after); these flow both ways, so compression and "
           "rebound both change");
    second.bleeds[0].diameter = 1.2e-3;
    EXPECT("bleed ports of entry 1: diameter changes from 1.5 mm to 1.2 mm; these flow both ways, so compression and "
           "rebound both change");
    second.bleed_count = 0;
    EXPECT("4 bleed ports of 1.5 mm, 9 mm long, 1 of them plugged, are no longer there; these flow both ways, so "
           "compression and rebound both change");
    second.bleed_count = 2;
    second.bleeds[1] = (kp_bleed){.ports = 1, .diameter = 2e-3, .length = 5e-3, .flows = KP_FLOWS_REBOUND};
    EXPECT("1 bleed port of 2 mm, 5 mm long, 0 of them plugged, are new");
    /* one way: the other direction is left alone, and nothing says otherwise */
    first.bleeds[0].flows = second.bleeds[0].flows = KP_FLOWS_COMPRESSION;
    second.bleeds[0].plugged = 2;
    EXPECT("1 more compression bleed port of 1.5 mm plugged (3 open before, 2 after)");
}

Test(compare, other_parts)
{
    COMPRESSION->dish = 0.3e-3;
    EXPECT("compression dish changes from 0.25 mm to 0.3 mm");
    REBOUND->port_area = 300e-6;
    REBOUND->clamp_washer = 17e-3;
    REBOUND->land_inner = 34e-3;
    EXPECT("rebound port area changes from 240 mm2 to 300 mm2", "rebound land inner edge changes from 33 mm to 34 mm",
           "rebound clamp washer changes from 16 mm to 17 mm");
    second.gas.charge_pressure = 16e5 + KP_ATMOSPHERE;
    EXPECT("charge changes from 14 bar gauge to 16 bar gauge");
    second.oil_temperature = 353.15;
    EXPECT("oil temperature changes from 40 degC to 80 degC");
    second.bore = 60e-3;
    second.friction = 60;
    EXPECT("bore changes from 63.5 mm to 60 mm", "friction changes from 0 N to 60 N");
    second.oil.viscosity_1 = 22e-6;
    EXPECT("oil viscosity changes from 15 mm2/s at 40 degC and 3.8 mm2/s at 100 degC to 22 mm2/s at 40 degC and 3.8 "
           "mm2/s at 100 degC");
    COMPRESSION->load_coverage = 0.8;
    EXPECT("compression load coverage changes from 1 to 0.8");
    REBOUND->flatness = 0.02e-3;
    EXPECT("rebound flatness of the face shim changes from 0.01 mm to 0.02 mm");
    COMPRESSION->has_ports = COMPRESSION->has_port_share = true;
    COMPRESSION->port_count = 4;
    COMPRESSION->port_share = 0.6;
    EXPECT("compression: number and share of evenly spaced ports added",
           "compression share of the circle under pressure changes from 1 to 0.6");
    for (int k = 0; k < 2; k++) {
        kp_valve_data *valve = &(k == 0 ? &first : &second)->valves[KP_COMPRESSION];
        valve->has_ports = valve->has_port_share = true;
        valve->port_count = k == 0 ? 4 : 3;
        valve->port_share = 0.6;
    }
    EXPECT("compression evenly spaced ports changes from 4 to 3");
    COMPRESSION->grip = KP_GRIP_SLIDING;
    EXPECT("compression clamp: the shims' inner edges slide instead of being held");
    COMPRESSION->has_stop = true;
    COMPRESSION->stop_outside = 36e-3;
    COMPRESSION->stop_gap = 0.8e-3;
    EXPECT("compression lift stop of 36 mm added, 0.8 mm above the stack");
    /* a difference beyond four digits is still seen as one */
    second.bore = 63.5004e-3;
    EXPECT("bore changes from 63.5 mm to 63.5004 mm");
}

Test(compare, in_inches)
{
    COMPRESSION->dish = 0.3e-3;
    COMPRESSION->lines[2].count = 3;
    compare(KP_UNITS_INCH);
    cr_assert_eq(found.count, 2);
    cr_expect_str_eq(found.items[0], "compression stack: 1 of 1.496 x 0.00787 in added above shim 6");
    cr_expect_str_eq(found.items[1], "compression dish changes from 0.009843 in to 0.01181 in");
}

/* ---- carrying the sentences out --------------------------------------------------------------------------- */

typedef struct kp_pile {
    size_t count;
    char shims[200][40];
} kp_pile;

static void pile_of(const kp_valve_data *valve, kp_pile *pile)
{
    pile->count = 0;
    for (size_t i = 0; i < valve->line_count; i++) {
        for (int k = 0; k < valve->lines[i].count; k++) {
            snprintf(pile->shims[pile->count++], sizeof pile->shims[0], "%.0f x %.2f mm", 1e3 * valve->lines[i].outside,
                     1e3 * valve->lines[i].thickness);
        }
    }
}

/* What a reader of the sentences does to the old pile. Marks: "" taken out; additions are kept per place. */
static void carry_out(const kp_pile *old, kp_pile *made)
{
    static kp_pile changed, added[KP_MAX_SHIMS + 1];
    changed = *old;
    memset(added, 0, sizeof added);
    for (size_t s = 0; s < found.count; s++) {
        const char *text = found.items[s];
        size_t n = 1, from = 0, to = 0;
        char a[40] = "", b[40] = "", word[8] = "";
        if (sscanf(text, "compression stack: %zu of %39[0-9. x]mm added above shim %zu", &n, a, &from) == 3 ||
            (strstr(text, "below shim 1") != NULL &&
             sscanf(text, "compression stack: %zu of %39[0-9. x]mm added", &n, a) == 2)) {
            for (size_t k = 0; k < n; k++) {
                snprintf(added[from].shims[added[from].count++], 40, "%smm", a);
            }
        } else if (sscanf(text, "compression stack: %zu of %39[0-9. x]mm taken out (shim%*[s ]%zu %7[a-z] %zu", &n, a,
                          &from, word, &to) >= 3) {
            to = to == 0 ? from : to;
            cr_expect_eq(to - from + 1, n, "%s", text);
            for (size_t k = from; k <= to; k++) {
                changed.shims[k - 1][0] = '\0';
            }
        } else if (sscanf(text, "compression stack: shims %zu %7[a-z] %zu change from %39[0-9. x]mm to %39[0-9. x]",
                          &from, word, &to, a, b) == 5 ||
                   (sscanf(text, "compression stack: shim %zu changes from %39[0-9. x]mm to %39[0-9. x]", &from, a,
                           b) == 3 &&
                    (to = from) > 0)) {
            for (size_t k = from; k <= to; k++) {
                snprintf(changed.shims[k - 1], 40, "%smm", b);
            }
        } else {
            cr_expect_fail("not understood: %s", text);
        }
    }
    made->count = 0;
    for (size_t i = 0; i <= old->count; i++) {
        if (i > 0 && changed.shims[i - 1][0] != '\0') {
            snprintf(made->shims[made->count++], 40, "%s", changed.shims[i - 1]);
        }
        for (size_t k = 0; k < added[i].count; k++) {
            snprintf(made->shims[made->count++], 40, "%s", added[i].shims[k]);
        }
    }
}

static void random_stack(kp_random *random, kp_valve_data *valve)
{
    valve->line_count = (size_t)kp_random_int(random, 1, 7);
    for (size_t i = 0; i < valve->line_count; i++) {
        valve->lines[i] = (kp_shim_line){.count = kp_random_int(random, 1, 4),
                                         .outside = 1e-3 * kp_random_int(random, 20, 24),
                                         .thickness = 1e-5 * 5 * kp_random_int(random, 2, 4)};
    }
}

/* Two stacks of a few sizes have many shims in common: the hard case for finding what stays. */
Test(compare, sentences_carried_out_give_the_other_stack)
{
    kp_random random;
    static kp_pile old, wanted, made;
    size_t sentences = 0;
    kp_random_seed(&random, 20260801);
    for (int trial = 0; trial < 3000; trial++) {
        random_stack(&random, &first.valves[KP_COMPRESSION]);
        random_stack(&random, COMPRESSION);
        if (trial % 3 == 0) { /* one line changed: what a tuner does */
            *COMPRESSION = first.valves[KP_COMPRESSION];
            size_t line = (size_t)kp_random_int(&random, 0, (int)COMPRESSION->line_count - 1);
            COMPRESSION->lines[line].count += 1;
        }
        compare(KP_UNITS_METRIC);
        pile_of(&first.valves[KP_COMPRESSION], &old);
        pile_of(COMPRESSION, &wanted);
        carry_out(&old, &made);
        sentences += found.count;
        cr_expect(trial % 3 != 0 || found.count == 1, "trial %d: one shim more takes %zu sentences", trial,
                  found.count);
        cr_expect_eq(made.count, wanted.count, "trial %d: %zu shims, %zu wanted", trial, made.count, wanted.count);
        for (size_t i = 0; i < made.count && i < wanted.count; i++) {
            cr_expect_str_eq(made.shims[i], wanted.shims[i], "trial %d, shim %zu", trial, i + 1);
        }
    }
    cr_expect_gt(sentences, 3000);
}

/* Every part of the circuit: changed alone it is a sentence of its own, and nothing goes unsaid. */
Test(compare, hydraulics)
{
    kp_adjuster_data needle = {.clicks = 8, .max_clicks = 20, .seat = 4e-3, .area_per_click = 0.2e-6};
    kp_check_data check = {.seat = 14e-3, .plate = {.preload = 2, .rate = 1e3, .lift = 2e-3}};
    first.has_adjuster = true;
    first.adjuster = needle;
    first.reservoir = (kp_reservoir_data){.given = true,
                                          .has_adjuster = true,
                                          .adjuster = needle,
                                          .has_valve = true,
                                          .has_return = true,
                                          .return_check = check,
                                          .has_hose = true,
                                          .hose = {0.4, 9e-3}};
    first.valves[KP_RESERVOIR_VALVE] = first.valves[KP_COMPRESSION];
    second = first;
    expect_only(0, NULL);
    second.adjuster.clicks = 14;
    second.reservoir.hose.bore = 6e-3;
    expect_only(2, (const char *const[]){"rebound adjuster: clicks from closed changes from 8 to 14",
                                         "hose bore changes from 9 mm to 6 mm"});
    second = first;
    second.reservoir.adjuster.area_per_click = 0.3e-6;
    second.reservoir.return_check.plate.preload = 5;
    expect_only(2, (const char *const[]){
                       "compression adjuster: another area against clicks, 6 mm2 instead of 4 mm2 at 20 clicks",
                       "return check: preload changes from 2 N to 5 N"});
    second = first;
    second.bleeds[0].jetted = 2;
    second.bleeds[0].jet = 1e-3;
    second.has_adjuster = false;
    second.valves[KP_RESERVOIR_VALVE].dish = 0;
    second.valves[KP_REBOUND].port_entry = 100e-6;
    expect_only(
        4, (const char *const[]){"rebound port entry area (0 = as wide as the ports) changes from 0 mm2 to 100 mm2",
                                 "rebound adjuster taken out", "bleed entry 1: jetted ports changes from 0 to 2",
                                 "reservoir valve dish changes from 0.25 mm to 0 mm"});
    second = first;
    second.reservoir = (kp_reservoir_data){0};
    expect_only(1, (const char *const[]){"reservoir taken out"});
}
