/* SPDX-License-Identifier: GPL-3.0-or-later */
/** One verdict: over random dampers, reservoirs with stacks and with plates among them, every command says the same of
    whether a point and a damper are sound. The oracle is the point itself: yield of either stack, margin of either
    chamber. */
#include "random_damper.h"
#include "report/report_internal.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const unsigned long long SEED = 9043317226;

enum { DAMPERS = SANITIZED ? 25 : 100, SPEEDS = 4 };

static const double speeds[SPEEDS] = {0.071, 0.293, 0.877, 1.31}; /* [m/s] */

typedef struct tally {
    int runs, unsound, by_reservoir, points;
} tally;

static bool point_is_unsound(const kp_curve_point *p)
{
    return p->past_yield || p->reservoir_past_yield || !(p->compression_margin > 0) || !(p->rebound_margin > 0);
}

static bool summary_is_unsound(const kp_curve_summary *s)
{
    return s->past_yield || s->reservoir_past_yield || s->margin_goes;
}

static size_t column_of(const kp_table *table, const char *name)
{
    size_t at = 0;
    while (at < table->column_count && strcmp(table->columns[at].name, name) != 0) {
        at++;
    }
    cr_assert(at < table->column_count, "no column %s", name);
    return at;
}

static bool says(const kp_lines *lines, const char *words)
{
    bool found = false;
    for (size_t i = 0; i < lines->count; i++) {
        found = found || strstr(lines->items[i].text, words) != NULL;
    }
    return found;
}

/* Marks in the first column of the tables of both directions, which stand last among the sections. */
static void check_marks(const kp_report *report, const kp_run *run, const char *who)
{
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        const kp_table *table = &report->sections[report->section_count - 2 + (size_t)d].table;
        cr_assert_eq(table->row_count, run->count, "%s", who);
        for (size_t i = 0; i < run->count; i++) {
            bool marked = strcmp(table->columns[0].texts[i], "!") == 0;
            cr_expect_eq(marked, point_is_unsound(&run->points[d][i]), "%s: point %zu of %d", who, i, d);
        }
    }
}

static void check_curve(kp_request *request, const kp_run *run, bool unsound, const char *who)
{
    kp_report report;
    kp_report_begin(&report, request);
    kp_report_curve(&report, run);
    kp_figure_of_curve(&report, run);
    cr_assert_eq(report.failure.status, KP_OK, "%s: %s", who, report.failure.message);
    cr_expect_eq(says(&report.top, "NOT SOUND"), unsound, "%s: curve says %s", who, report.top.items[0].text);
    check_marks(&report, run, who);

    const kp_column *sound = &report.data.columns[column_of(&report.data, "sound")];
    for (size_t i = 0; i < report.data.row_count; i++) {
        const kp_curve_point *p = &run->points[i / run->count][i % run->count];
        cr_expect_eq(sound->values[i] == 1.0, !point_is_unsound(p), "%s: row %zu", who, i);
    }

    /* Crosses and rings in the plot, which reaches to the largest speed: the last point drawn is the last asked for. */
    bool crossed = false, expected = false;
    const kp_panel *panel = &report.figure.panels[0];
    for (size_t s = 0; s < panel->series_count; s++) {
        const char *label = panel->series[s].label;
        crossed = crossed || strcmp(label, "a shim would set or break") == 0 || strcmp(label, "cavitates") == 0;
    }
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (size_t i = 0; i < run->count; i++) {
            expected = expected || point_is_unsound(&run->points[d][i]);
        }
    }
    cr_expect(crossed || !expected, "%s: an unsound point is not marked in the plot", who);
    cr_expect(unsound || !crossed, "%s: a sound damper is marked in the plot", who);
    kp_report_free(&report);
}

static void check_compare(kp_request *request, const kp_run *run, bool unsound, const char *who)
{
    kp_run pair[2] = {*run, *run};
    kp_report report;
    kp_report_begin(&report, request);
    kp_report_compare(&report, pair, 2);
    cr_assert_eq(report.failure.status, KP_OK, "%s: %s", who, report.failure.message);
    cr_expect_eq(says(&report.top, "NOT SOUND"), unsound, "%s: compare", who);
    check_marks(&report, run, who);
    kp_report_free(&report);
}

static void check_warnings(kp_request *request, const kp_run *run, bool unsound, const char *who)
{
    kp_report report;
    kp_report_begin(&report, request);
    kp_report_risks(&report, run);
    size_t risks = report.warnings.count;
    kp_report_check(&report, run, 0, 0);
    cr_expect_eq(risks > 0, unsound, "%s: %zu risks", who, risks);
    cr_expect_eq(says(&report.top, "NOT SOUND"), unsound, "%s: check", who);
    kp_report_free(&report);

    /* explain, without its runs: the headline goes by the run. */
    kp_explanation nothing = {.speeds = {0.05, 0.2, 1.0}};
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        nothing.summaries[d] = run->summaries[d];
        for (int at = 0; at < KP_EXPLAIN_SPEEDS; at++) {
            nothing.points[d][at] = run->points[d][at];
        }
    }
    kp_report_begin(&report, request);
    kp_report_explain(&report, run, &nothing);
    cr_expect_eq(says(&report.top, "NOT SOUND"), unsound, "%s: explain", who);
    kp_report_free(&report);
}

static bool check_damper(int number, tally *t)
{
    char who[40];
    kp_random random;
    kp_random_seed(&random, kp_random_mix(SEED, (unsigned)number, 0, 0));
    kp_damper_data data = random_special_damper(&random);
    random_hydraulics(&random, &data, number % 3 != 0);
    snprintf(who, sizeof who, "damper %d", number);

    kp_request request = {.files = {who}, .file_count = 1, .limits = kp_speed_limits_default()};
    kp_run run = {0};
    kp_error error = {0};
    if (kp_run_begin(&run, who, &data, speeds, SPEEDS, request.limits, &error) != KP_OK) {
        kp_run_free(&run);
        return false;
    }

    bool unsound = false, elsewhere = false, reservoir = false;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        const kp_curve_summary *s = &run.summaries[d];
        unsound = unsound || summary_is_unsound(s);
        elsewhere = elsewhere || s->past_yield || s->margin_goes;
        reservoir = reservoir || s->reservoir_past_yield;
        for (size_t i = 0; i < SPEEDS; i++) {
            unsound = unsound || point_is_unsound(&run.points[d][i]);
            elsewhere = elsewhere || run.points[d][i].past_yield || run.points[d][i].cavitates;
            t->points++;
        }
    }
    t->runs++;
    t->unsound += unsound;
    t->by_reservoir += reservoir && !elsewhere;

    cr_expect_eq(kp_run_risks(&run) != 0, unsound, "%s", who);
    check_curve(&request, &run, unsound, who);
    check_compare(&request, &run, unsound, who);
    check_warnings(&request, &run, unsound, who);
    kp_run_free(&run);
    return true;
}

Test(verdict, every_command_says_the_same, .timeout = 600)
{
    tally t = {0};
    for (int i = 0; i < DAMPERS; i++) {
        check_damper(i, &t);
    }
    printf("%d dampers, %d not sound, %d by the reservoir's shims alone\n", t.runs, t.unsound, t.by_reservoir);
    cr_expect(t.runs > DAMPERS / 2 && t.unsound > t.runs / 10 && t.unsound < t.runs, "%d of %d", t.unsound, t.runs);
}

/* A reservoir's shims alone: what the commands used to forget. */
Test(verdict, the_reservoirs_shims_count)
{
    kp_curve_point point = {.compression_margin = 1e5, .rebound_margin = 1e5, .cavitation_margin = 1e5};
    cr_expect_eq(kp_point_risks(&point), 0U);
    point.reservoir_past_yield = true;
    cr_expect_eq(kp_point_risks(&point), (unsigned)KP_RISK_RESERVOIR_YIELD);
    point.compression_margin = -2.0;
    cr_expect_eq(kp_point_risks(&point), (unsigned)KP_RISK_RESERVOIR_YIELD | KP_RISK_CAVITATION);
    cr_expect_str_eq(kp_risk_words(KP_RISK_RESERVOIR_YIELD), "a shim of the reservoir's valve would set or break");
    for (unsigned risks = 1; risks < 8; risks++) {
        cr_expect_eq(strstr(kp_risk_words(risks), "cavitates") != NULL, (risks & KP_RISK_CAVITATION) != 0);
        cr_expect_eq(strstr(kp_risk_words(risks), "reservoir") != NULL, (risks & KP_RISK_RESERVOIR_YIELD) != 0);
        cr_expect_eq(strstr(kp_risk_words(risks), "would set") != NULL, (risks & 3U) != 0);
    }
    kp_curve_summary summary = {.reservoir_past_yield = true};
    cr_expect_eq(kp_summary_risks(&summary), (unsigned)KP_RISK_RESERVOIR_YIELD);
}
