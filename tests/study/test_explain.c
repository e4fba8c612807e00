/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Explain: shares sum to the whole; each sensitivity is a run that anyone can do; threads change no bit; lessons start
   from the damper as it is. */
#include "kneepoint/study.h"
#include "fixtures.h"
#include "num/num.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* Shares are quotients of numbers that sum to 1e-13: a thousand roundings. [-] */
static const double SUM = 1e-12;

static kp_damper_data data;
static kp_speed_limits limits;
static kp_explanation found;

/* The van with a dished seat in compression, a flat one in rebound, a two-way and a one-way bleed. */
static void begin(void)
{
    static const fixture_shims firm[] = {
        {3, 40e-3, 0.20e-3}, {1, 22e-3, 0.10e-3}, {2, 38e-3, 0.20e-3}, {1, 26e-3, 0.25e-3}};
    limits = kp_speed_limits_default();
    data = fixture_body();
    data.leak = (kp_leak_data){.clearance = 0.03e-3, .length = 8e-3, .eccentricity = 0.5};
    data.friction = 53;
    data.bleed_count = 2;
    data.bleeds[0] = (kp_bleed){.ports = 4, .plugged = 1, .diameter = 1.5e-3, .length = 9e-3};
    data.bleeds[1] =
        (kp_bleed){.ports = 1, .plugged = 0, .diameter = 1.2e-3, .length = 9e-3, .flows = KP_FLOWS_REBOUND};
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        data.valves[d].dish = d == KP_COMPRESSION ? 0.25e-3 : 0;
        fixture_set_stack(&data.valves[d], 4, firm);
    }
}

static void end(void)
{
    kp_explanation_free(&found);
}

TestSuite(explain, .init = begin, .fini = end);

static void explain(size_t threads)
{
    kp_error error = {0};
    kp_pool pool = {.threads = threads};
    kp_explanation_free(&found);
    cr_assert_eq(kp_explain(&data, limits, KP_UNITS_METRIC, &pool, &found, &error), KP_OK, "%s", error.message);
    cr_assert_eq(found.shown_count, found.sensitivity_count);
}

/* At every speed, cavitating ones too, and the power is hydraulic force times speed. */
Test(explain, shares_sum_to_the_whole)
{
    data.gas.charge_pressure = 4e5;
    kp_error error = {0};
    kp_damper *damper = NULL;
    bool cavitated = false;
    cr_assert_eq(kp_damper_begin(&data, 2.0, &damper, &error), KP_OK, "%s", error.message);
    for (double v = 0.011; v < 2.0; v *= 1.37) {
        for (int sign = -1; sign <= 1; sign += 2) {
            kp_curve_point point;
            cr_assert_eq(kp_curve_at(damper, sign * v, &point, &error), KP_OK, "%s", error.message);
            kp_path_shares s = kp_explain_shares(&point);
            cavitated = cavitated || point.cavitates;
            cr_assert(fabs(s.bleed_flow + s.leak_flow + s.valve_flow + s.void_flow - 1) <= SUM);
            cr_assert(fabs(s.port_drop + s.disc_drop - 1) <= SUM);
            cr_assert(fabs(s.bleed_power + s.leak_power + s.port_power + s.disc_power + s.void_power +
                           s.reservoir_power - 1) <= SUM);
            /* against the ledger itself: power under the shims is disc pressure times valve flow */
            double power = fabs(point.hydraulic_force) * v;
            cr_assert(fabs(s.disc_power - point.disc_pressure * point.valve_flow / power) <= 1e-9);
            cr_assert(fabs(s.bleed_power - point.piston_drop * point.bleed_flow / power) <= 1e-9);
            cr_assert(s.disc_drop > 0 && s.disc_drop <= 1 + SUM && s.port_drop >= -SUM);
        }
    }
    cr_assert(cavitated);
    kp_damper_free(damper);
}

/* With a reservoir the rod's oil takes work too: all of it is hydraulic force times speed. */
static void add_reservoir(void)
{
    kp_valve_data *valve = &data.valves[KP_RESERVOIR_VALVE];
    data.reservoir =
        (kp_reservoir_data){.given = true,
                            .has_valve = true,
                            .has_return = true,
                            .return_check = {.seat = 11e-3, .plate = {.preload = 3, .rate = 1300, .lift = 1.7e-3}},
                            .has_hose = true,
                            .hose = {.length = 0.31, .bore = 7.3e-3}};
    *valve = data.valves[KP_REBOUND];
    valve->port_inner = 12e-3;
    valve->land_inner = 24e-3;
    valve->land_outer = 25e-3;
    valve->clamp_washer = 10e-3;
    valve->line_count = 2;
    valve->lines[0] = (kp_shim_line){.count = 2, .outside = 27e-3, .thickness = 0.20e-3};
    valve->lines[1] = (kp_shim_line){.count = 1, .outside = 17e-3, .thickness = 0.20e-3};
}

Test(explain, the_reservoir_has_its_share)
{
    add_reservoir();
    for (int short_of_gas = 0; short_of_gas < 2; short_of_gas++) {
        data.gas.charge_pressure = short_of_gas == 0 ? 60e5 : 3e5;
        kp_error error = {0};
        kp_damper *damper = NULL;
        bool cavitated = false;
        cr_assert_eq(kp_damper_begin(&data, 2.0, &damper, &error), KP_OK, "%s", error.message);
        for (double v = 0.013; v < 2.0; v *= 1.37) {
            for (int sign = -1; sign <= 1; sign += 2) {
                kp_curve_point point;
                cr_assert_eq(kp_curve_at(damper, sign * v, &point, &error), KP_OK, "%s", error.message);
                kp_path_shares s = kp_explain_shares(&point);
                cavitated = cavitated || point.cavitates;
                double power = fabs(point.hydraulic_force) * v;
                double rod = 3.14159265358979323846 / 4 * data.rod * data.rod * v;
                cr_assert(fabs(s.bleed_power + s.leak_power + s.port_power + s.disc_power + s.void_power +
                               s.reservoir_power - 1) <= SUM);
                cr_assert(fabs(s.reservoir_power - point.reservoir_drop * rod / power) <= 1e-9, "%g m/s: %g, not %g",
                          sign * v, s.reservoir_power, point.reservoir_drop * rod / power);
                cr_assert(fabs(s.disc_power - point.disc_pressure * point.valve_flow / power) <= 1e-9);
                cr_assert(s.reservoir_power > 0);
            }
        }
        cr_assert(cavitated == (short_of_gas == 1));
        kp_damper_free(damper);
    }
}

static const kp_sensitivity *find(const char *part, const char *change)
{
    for (size_t i = 0; i < found.sensitivity_count; i++) {
        if (strcmp(found.sensitivities[i].part, part) == 0 && strcmp(found.sensitivities[i].change, change) == 0) {
            return &found.sensitivities[i];
        }
    }
    cr_assert_fail("no `%s`, `%s`", part, change);
    return NULL;
}

/* changed is built here by hand, not by the room: to the bit. */
static void expect_run(const kp_sensitivity *one, const kp_damper_data *changed)
{
    kp_error error = {0};
    kp_damper *now = NULL, *then = NULL;
    cr_assert(one->solved, "%s: %s", one->part, one->why_not);
    cr_assert_eq(kp_damper_begin(&data, limits.top, &now, &error), KP_OK);
    cr_assert_eq(kp_damper_begin(changed, limits.top, &then, &error), KP_OK);
    bool moves = false;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (int at = 0; at < KP_EXPLAIN_SPEEDS; at++) {
            double speed = d == KP_COMPRESSION ? found.speeds[at] : -found.speeds[at];
            kp_curve_point before, after;
            cr_assert_eq(kp_curve_at(now, speed, &before, &error), KP_OK);
            cr_assert_eq(kp_curve_at(then, speed, &after, &error), KP_OK);
            double change = fabs(after.hydraulic_force) - fabs(before.hydraulic_force);
            cr_assert_eq(one->change_of_force[d][at], change, "%s, %s: %.17g is not %.17g", one->part, one->change,
                         one->change_of_force[d][at], change);
            cr_assert(one->acts[d] || change == 0);
            moves = moves || change != 0;
        }
    }
    cr_assert(moves, "%s, %s moves nothing", one->part, one->change);
    kp_damper_free(now);
    kp_damper_free(then);
}

Test(explain, a_sensitivity_is_a_run_of_its_own)
{
    explain(2);
    kp_damper_data changed = data;
    changed.valves[KP_COMPRESSION].lines[0].count = 2;
    expect_run(find("compression shims 1 to 3 (40 x 0.20 mm)", "one taken out"), &changed);

    changed = data; /* the crossover: its line goes with it */
    changed.valves[KP_REBOUND].lines[1] = data.valves[KP_REBOUND].lines[2];
    changed.valves[KP_REBOUND].lines[2] = data.valves[KP_REBOUND].lines[3];
    changed.valves[KP_REBOUND].line_count = 3;
    expect_run(find("rebound shim 4 (22 x 0.10 mm)", "taken out"), &changed);

    changed = data;
    changed.valves[KP_REBOUND].lines[3].count = 2;
    expect_run(find("rebound shim 7 (26 x 0.25 mm)", "one more"), &changed);

    changed = data; /* one of two 38 x 0.20 becomes 0.25 */
    kp_valve_data *valve = &changed.valves[KP_COMPRESSION];
    valve->lines[4] = valve->lines[3];
    valve->lines[2].count = 1;
    valve->lines[3] = (kp_shim_line){.count = 1, .outside = 38e-3, .thickness = 0.20e-3 + 0.05e-3};
    valve->line_count = 5;
    expect_run(find("compression shims 5 and 6 (38 x 0.20 mm)", "one 0.25 mm thick"), &changed);

    changed = data;
    changed.bleeds[0].plugged = 0;
    expect_run(find("bleed ports of 1.5 mm", "one more opened (4 open)"), &changed);
    changed = data;
    changed.bleeds[1].plugged = 1;
    expect_run(find("bleed ports of 1.2 mm, rebound only", "one more plugged (0 open)"), &changed);
    changed = data;
    changed.valves[KP_COMPRESSION].clamp_washer = 16e-3 + 2e-3;
    expect_run(find("compression clamp washer", "18 mm"), &changed);
    changed = data;
    changed.valves[KP_COMPRESSION].dish = 0.25e-3 + 0.05e-3;
    expect_run(find("compression dish", "0.3 mm"), &changed);
}

Test(explain, the_reservoirs_parts_are_varied_too)
{
    data.gas.charge_pressure = 60e5;
    add_reservoir();
    data.has_adjuster = true;
    data.adjuster = (kp_adjuster_data){.clicks = 7,
                                       .max_clicks = 20,
                                       .seat = 4e-3,
                                       .discharge = 0.7,
                                       .flows = KP_FLOWS_REBOUND,
                                       .area_per_click = 0.15e-6};
    explain(2);
    kp_damper_data changed = data;
    changed.valves[KP_RESERVOIR_VALVE].lines[0].count = 1;
    expect_run(find("reservoir shims 1 and 2 (27 x 0.20 mm)", "one taken out"), &changed);
    changed = data;
    changed.adjuster.clicks = 8;
    expect_run(find("adjuster of the piston", "8 clicks from closed"), &changed);
}

/* A plate on a spring has no shims to teach on. */
Test(explain, lessons_know_a_plate_from_a_stack)
{
    kp_error error = {0};
    kp_lesson lesson;
    kp_pool pool = {.threads = 1};
    data.valves[KP_REBOUND].has_plate = true;
    data.valves[KP_REBOUND].plate = (kp_spring_plate){.preload = 20, .rate = 40e3, .lift = 1.5e-3};
    data.valves[KP_REBOUND].line_count = 0;
    explain(1);
    cr_assert_eq(kp_lesson_run(&data, KP_LESSON_THICKNESS, KP_REBOUND, limits, KP_UNITS_METRIC, &pool, &lesson, &error),
                 KP_ANSWER_NO);
    cr_assert_eq(kp_lesson_run(&data, KP_LESSON_BLEED, KP_REBOUND, limits, KP_UNITS_METRIC, &pool, &lesson, &error),
                 KP_OK);
    kp_lesson_free(&lesson);
}

Test(explain, threads_change_no_bit)
{
    explain(1);
    kp_explanation one = found;
    memset(&found, 0, sizeof found);
    explain(3);
    cr_assert_eq(one.sensitivity_count, found.sensitivity_count);
    for (size_t i = 0; i < one.sensitivity_count; i++) {
        cr_assert_eq(memcmp(one.sensitivities[i].change_of_force, found.sensitivities[i].change_of_force,
                            sizeof one.sensitivities[i].change_of_force),
                     0, "%s", one.sensitivities[i].part);
    }
    kp_explanation_free(&one);
}

/* Directions of the trade (common practice, no source), on the invented damper. */
Test(explain, says_what_moves_which_end)
{
    data.gas.charge_pressure = 60e5; /* so that nothing cavitates: a cut-off force moves with nothing */
    explain(2);
    const kp_sensitivity *plugged = find("bleed ports of 1.5 mm", "one more plugged (2 open)");
    double share[KP_EXPLAIN_SPEEDS];
    for (int at = 0; at < KP_EXPLAIN_SPEEDS; at++) {
        share[at] = plugged->change_of_force[0][at] / fabs(found.points[0][at].hydraulic_force);
    }
    cr_assert(share[KP_AT_LOW] > share[KP_AT_MID] && share[KP_AT_MID] > share[KP_AT_HIGH] && share[KP_AT_HIGH] > 0,
              "%g %g %g", share[0], share[1], share[2]);
    const kp_sensitivity *strongest = kp_explain_strongest(&found, KP_COMPRESSION, KP_AT_HIGH);
    for (size_t i = 0; i < found.sensitivity_count; i++) {
        cr_assert(!found.sensitivities[i].solved || !found.sensitivities[i].acts[0] ||
                  fabs(found.sensitivities[i].change_of_force[0][KP_AT_HIGH]) <=
                      fabs(strongest->change_of_force[0][KP_AT_HIGH]));
    }
    cr_assert(found.cracking[KP_COMPRESSION] > 0 && found.cracking[KP_REBOUND] == 0);
    /* at the cracking speed the disc pressure is the cracking pressure */
    kp_error error = {0};
    kp_damper *damper = NULL;
    kp_curve_point point;
    cr_assert_eq(kp_damper_begin(&data, limits.top, &damper, &error), KP_OK);
    cr_assert_eq(kp_curve_at(damper, found.cracking_speed[KP_COMPRESSION], &point, &error), KP_OK);
    cr_assert(fabs(point.disc_pressure / found.cracking[KP_COMPRESSION] - 1) < 1e-4);
    kp_damper_free(damper);
}

/* The invented damper's shims fold within its range: at the speed that is said the onset's pressure is on them, and the
   change is that of a damper whose valves are held round, run apart. Where both are held round nothing folds. */
Test(explain, says_where_the_shims_fold_and_what_that_changes)
{
    kp_error error = {0};
    kp_damper *damper = NULL, *round = NULL;
    data.gas.charge_pressure = 60e5; /* so that nothing cavitates */
    explain(2);
    kp_damper_data held = data;
    held.valves[KP_COMPRESSION].held_round = held.valves[KP_REBOUND].held_round = true;
    cr_assert_eq(kp_damper_begin(&data, limits.top, &damper, &error), KP_OK, "%s", error.message);
    cr_assert_eq(kp_damper_begin(&held, limits.top, &round, &error), KP_OK, "%s", error.message);

    int folded = 0;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        const kp_folding *folding = &found.folding[d];
        double sign = d == KP_COMPRESSION ? 1 : -1;
        kp_curve_point point, other;
        cr_assert_eq(kp_curve_at(damper, sign * found.speeds[KP_AT_HIGH], &point, &error), KP_OK);
        cr_assert_eq(kp_curve_at(round, sign * found.speeds[KP_AT_HIGH], &other, &error), KP_OK);
        folded += folding->folds;
        if (folding->folds) {
            cr_assert(folding->lobes >= 2 && folding->lobes <= 7 && folding->has_speed && folding->has_change);
            cr_assert(fabs(folding->change - (fabs(point.hydraulic_force) / fabs(other.hydraulic_force) - 1)) < 1e-12);
            cr_assert(folding->change < -0.005, "no softer folded: %g", folding->change);
            cr_assert_eq(kp_curve_at(damper, sign * folding->speed, &point, &error), KP_OK);
            cr_assert(fabs(point.disc_pressure / folding->pressure - 1) < 1e-4, "%g Pa of %g Pa", point.disc_pressure,
                      folding->pressure);
            cr_assert(folding->pressure >= found.cracking[d]);
        }
    }
    cr_assert(folded > 0);
    kp_damper_free(damper);
    kp_damper_free(round);

    data = held;
    explain(1);
    cr_assert(!found.folding[KP_COMPRESSION].folds && !found.folding[KP_REBOUND].folds);

    /* Four ports fold the shims in fours as they open. */
    data.valves[KP_COMPRESSION].held_round = false;
    data.valves[KP_COMPRESSION].has_ports = data.valves[KP_COMPRESSION].has_port_share = true;
    data.valves[KP_COMPRESSION].port_count = 4;
    data.valves[KP_COMPRESSION].port_share = 0.6;
    data.valves[KP_COMPRESSION].has_load_coverage = false;
    explain(1);
    cr_assert(found.folding[KP_COMPRESSION].by_ports && found.folding[KP_COMPRESSION].lobes == 4);
    cr_assert(found.folding[KP_COMPRESSION].pressure == found.cracking[KP_COMPRESSION]);
}

/* A stack of one shim cannot lose it: listed with the reason, not run, and no error. */
Test(explain, says_what_cannot_be)
{
    data.valves[KP_REBOUND].line_count = 1;
    data.valves[KP_REBOUND].lines[0].count = 1;
    explain(2);
    const kp_sensitivity *one = find("rebound shim 1 (40 x 0.20 mm)", "taken out");
    cr_assert(!one->solved && one->why_not[0] != '\0');
}

static bool stop_at_once(void *watcher)
{
    (void)watcher;
    return true;
}

Test(explain, an_interrupt_keeps_what_was_done)
{
    kp_error error = {0};
    kp_pool pool = {.threads = 1, .stop = stop_at_once};
    cr_assert_eq(kp_explain(&data, limits, KP_UNITS_METRIC, &pool, &found, &error), KP_INTERRUPTED);
    cr_assert_eq(found.shown_count, (size_t)0);
    cr_assert(found.sensitivity_count > 20);
}

Test(explain, lessons_start_from_the_damper)
{
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        kp_error error = {0};
        kp_damper *damper = NULL;
        kp_curve_point point;
        cr_assert_eq(kp_damper_begin(&data, limits.top, &damper, &error), KP_OK);
        cr_assert_eq(kp_curve_at(damper, d == KP_COMPRESSION ? 0.26 : -0.26, &point, &error), KP_OK);
        for (int topic = 0; topic < KP_LESSON_COUNT; topic++) {
            kp_lesson lesson;
            kp_pool pool = {.threads = 2};
            cr_assert_eq(kp_lesson_run(&data, (kp_lesson_topic)topic, (kp_direction)d, limits, KP_UNITS_METRIC, &pool,
                                       &lesson, &error),
                         KP_OK, "%s: %s", kp_lesson_name((kp_lesson_topic)topic), error.message);
            cr_assert(lesson.step_count >= 3);
            size_t as_found = 0, moved = 0;
            for (size_t i = 0; i < lesson.step_count; i++) {
                const kp_lesson_step *step = &lesson.steps[i];
                cr_assert(step->solved, "%s, %s: %s", kp_lesson_name((kp_lesson_topic)topic), step->label,
                          step->why_not);
                kp_curve_point its;
                cr_assert_eq(kp_curve_at(step->damper, d == KP_COMPRESSION ? 0.26 : -0.26, &its, &error), KP_OK);
                as_found += step->as_found;
                moved += its.force != point.force;
                cr_assert(!step->as_found || its.force == point.force, "%s: not the damper of the file", step->label);
            }
            cr_assert_eq(as_found, (size_t)1, "%s: %zu steps are the file", kp_lesson_name((kp_lesson_topic)topic),
                         as_found);
            cr_assert_eq(moved, lesson.step_count - 1);
            cr_assert(strlen(lesson.answer) > 40 && strlen(lesson.answer) + 1 < sizeof lesson.answer);
            kp_lesson_free(&lesson);
        }
        kp_damper_free(damper);
    }
}

Test(explain, lessons_refuse_what_they_cannot_show)
{
    kp_error error = {0};
    kp_lesson lesson;
    kp_pool pool = {.threads = 1};
    data.valves[KP_REBOUND].line_count = 1;
    data.valves[KP_REBOUND].lines[0].count = 1;
    cr_assert_eq(kp_lesson_run(&data, KP_LESSON_TAPER, KP_REBOUND, limits, KP_UNITS_METRIC, &pool, &lesson, &error),
                 KP_ANSWER_NO);
    cr_assert_eq(kp_lesson_run(&data, KP_LESSON_CROSSOVER, KP_REBOUND, limits, KP_UNITS_METRIC, &pool, &lesson, &error),
                 KP_ANSWER_NO);
    cr_assert(strstr(error.message, "single shim") != NULL, "%s", error.message);
    data.bleed_count = 0; /* the lesson puts one in, and names it */
    cr_assert_eq(kp_lesson_run(&data, KP_LESSON_BLEED, KP_REBOUND, limits, KP_UNITS_METRIC, &pool, &lesson, &error),
                 KP_OK);
    cr_assert(lesson.made_up[0] != '\0' && lesson.steps[0].as_found);
    kp_lesson_free(&lesson);
    /* never above the maximum charge, nor above the charge when there is none */
    for (int named = 0; named < 2; named++) {
        data.has_maximum_charge = named == 1;
        data.maximum_charge = 17e5 + KP_ATMOSPHERE;
        cr_assert_eq(
            kp_lesson_run(&data, KP_LESSON_CHARGE, KP_REBOUND, limits, KP_UNITS_METRIC, &pool, &lesson, &error), KP_OK);
        for (size_t i = 0; i < lesson.step_count; i++) {
            cr_assert(lesson.steps[i].data->gas.charge_pressure <=
                      (named == 1 ? data.maximum_charge : data.gas.charge_pressure) * (1 + 1e-12));
        }
        kp_lesson_free(&lesson);
    }
}

/* Sixty kinds of shims a side: twelve of each stack are changed, the face shim and the last among them, and it is said
   how many are not. */
Test(explain, of_a_large_stack_twelve_lines_are_changed)
{
    kp_damper_data large = fixture_van(0.0);
    kp_valve_data *valve = &large.valves[KP_REBOUND];
    kp_shim_line face = valve->lines[0];
    double room = face.outside - valve->clamp_washer - 2e-3;
    for (size_t i = 0; i < 60; i++) {
        valve->lines[i] = (kp_shim_line){.count = 1,
                                         .outside = face.outside - room * (double)i / 60.0,
                                         .thickness = 0.10e-3 + 0.01e-3 * (double)(i % 4)};
    }
    valve->line_count = 60;

    kp_error error = {0};
    kp_explanation explanation = {0};
    kp_pool none = {.threads = 1, .stop = stop_at_once};
    cr_assert_eq(kp_explain(&large, kp_speed_limits_default(), KP_UNITS_METRIC, &none, &explanation, &error),
                 KP_INTERRUPTED, "%s", error.message);
    cr_expect_eq(explanation.lines_left_out, 48);
    size_t shims = 0;
    bool first = false, last = false;
    for (size_t i = 0; i < explanation.sensitivity_count; i++) {
        const char *part = explanation.sensitivities[i].part;
        shims += strstr(part, "rebound shim") != NULL ? 1 : 0;
        first = first || strncmp(part, "rebound shim 1 ", strlen("rebound shim 1 ")) == 0;
        last = last || strncmp(part, "rebound shim 60 ", strlen("rebound shim 60 ")) == 0;
    }
    cr_expect_eq(shims, 3 * 12);
    cr_expect(first && last);
    kp_explanation_free(&explanation);
}
