/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `curve`: the verdict, the summary, and the points of both directions. */
#include "report/report_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define HEADLINE_SPEED 0.524 /* [m/s] stands for a curve on many dynos (common practice, no source) */

/* A force that stays constant because the oil cavitates is given no shape. */
static const char *shape_of(const kp_curve_summary *summary)
{
    return summary->margin_goes ? "cut off" : kp_shape_name(summary->shape_index);
}

/* ---- the verdict ------------------------------------------------------------------------------------------------- */

/* "slightly digressive (index 0.82)", or why there is no index to speak of. */
static const char *shape_words(const kp_curve_summary *summary, char words[KP_SHOWN])
{
    if (summary->margin_goes) {
        return shape_of(summary);
    }
    snprintf(words, KP_SHOWN, "%s (index %.2f)", shape_of(summary), summary->shape_index);
    return words;
}

static void add_verdict(kp_report *report, const kp_run *run)
{
    kp_unit_system units = report->request->units;
    size_t i = kp_run_nearest(run, HEADLINE_SPEED);
    const kp_curve_point *in = &run->points[KP_COMPRESSION][i];
    const kp_curve_point *out = &run->points[KP_REBOUND][i];
    unsigned risks = kp_run_risks(run);

    /* Gas force can be more than the oil holds back: the rod is still pushed out in rebound. */
    bool gas = report->request->with_gas;
    const char *helps = gas && out->force > 0.0 ? " (gas force wins, it still pushes out)" : "";
    kp_lines_add(&report->top, "%s%s%s%s %s in compression, %s in rebound%s at %s; gas force, %s, %s.",
                 risks != 0 ? "NOT SOUND: " : "", kp_risk_words(risks), risks != 0 ? ". " : "",
                 gas ? "Force" : "Damping", KP_SHOW(fabs(kp_shown_force(report, in)), KP_DIM_FORCE, 0, units),
                 KP_SHOW(fabs(kp_shown_force(report, out)), KP_DIM_FORCE, 0, units), helps,
                 KP_SHOW(run->speeds[i], KP_DIM_SPEED, 3, units), KP_SHOW(in->gas_force, KP_DIM_FORCE, 0, units),
                 gas ? "included" : "left out");

    /* The word, its index and its range; then what is left of the margin. */
    char words[KP_DIRECTION_COUNT][KP_SHOWN];
    bool cavitates = (risks & KP_RISK_CAVITATION) != 0;
    kp_lines_add(&report->top, "Shape from %s to %s: compression %s, rebound %s%s%s.",
                 KP_SHOW(run->summaries[0].shape_from, KP_DIM_SPEED, 3, units),
                 KP_SHOW(run->summaries[0].shape_to, KP_DIM_SPEED, 3, units),
                 shape_words(&run->summaries[KP_COMPRESSION], words[0]),
                 shape_words(&run->summaries[KP_REBOUND], words[1]),
                 cavitates ? "" : "; cavitation margin stays above ",
                 cavitates ? "" : KP_SHOW(kp_run_min_margin(run), KP_DIM_PRESSURE, 1, units));
}

/* ---- the summary ------------------------------------------------------------------------------------------------- */

/** One line of the summary: what, and the words of each direction. */
typedef struct kp_summary_line {
    char what[120];
    char words[KP_DIRECTION_COUNT][120];
} kp_summary_line;

static void add_line(kp_section *section, const kp_summary_line *line)
{
    kp_row row = kp_row_add(&section->table);
    kp_row_text(&row, line->what);
    kp_row_text(&row, line->words[KP_COMPRESSION]);
    kp_row_text(&row, line->words[KP_REBOUND]);
}

/* A slope or an index over a range that is not to be driven up to its end must not look like a sound one. */
static const char *range_mark(const kp_curve_summary *summary, double range_end)
{
    if (summary->margin_goes && summary->margin_speed < range_end) {
        return " ! cavitates";
    }
    return summary->past_yield && summary->yield_speed < range_end ? " ! past yield" : "";
}

static void add_knee(kp_section *section, const kp_run *run, kp_unit_system units)
{
    kp_summary_line line = {.what = "knee", .words = {"none", "none"}};

    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        const kp_curve_summary *summary = &run->summaries[d];
        if (summary->has_knee) {
            snprintf(line.words[d], sizeof line.words[d], "%s, %s",
                     KP_SHOW(summary->knee_speed, KP_DIM_SPEED, 3, units),
                     KP_SHOW(summary->knee_force, KP_DIM_FORCE, 0, units));
        }
    }

    add_line(section, &line);
}

/* slopes [N s/m] of both directions over a range that ends at range_end [m/s]. */
static void add_slopes(kp_section *section, const kp_run *run, kp_summary_line *line, const double *slopes,
                       double range_end, kp_unit_system units)
{
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        snprintf(line->words[d], sizeof line->words[d], "%s%s", KP_SHOW(slopes[d], KP_DIM_DAMPING, 0, units),
                 range_mark(&run->summaries[d], range_end));
    }
    add_line(section, line);
}

static void add_all_slopes(kp_section *section, const kp_run *run, kp_unit_system units)
{
    const kp_curve_summary *c = &run->summaries[0];
    const kp_curve_summary *r = &run->summaries[1];
    const char *low = KP_SHOW(run->limits.low, KP_DIM_SPEED, 3, units);
    const char *high = KP_SHOW(run->limits.high, KP_DIM_SPEED, 3, units);
    const char *top = KP_SHOW(run->limits.top, KP_DIM_SPEED, 3, units);
    kp_summary_line line;

    snprintf(line.what, sizeof line.what, "low-speed slope, up to %s", low);
    add_slopes(section, run, &line, (const double[]){c->low_slope, r->low_slope}, run->limits.low, units);
    snprintf(line.what, sizeof line.what, "mid-speed slope, %s to %s", low, high);
    add_slopes(section, run, &line, (const double[]){c->mid_slope, r->mid_slope}, run->limits.high, units);
    snprintf(line.what, sizeof line.what, "high-speed slope, %s to %s", high, top);
    add_slopes(section, run, &line, (const double[]){c->high_slope, r->high_slope}, run->limits.top, units);
}

static void add_shapes(kp_section *section, const kp_run *run, kp_unit_system units)
{
    kp_summary_line line;
    snprintf(line.what, sizeof line.what, "shape index, %s to %s",
             KP_SHOW(run->summaries[0].shape_from, KP_DIM_SPEED, 3, units),
             KP_SHOW(run->summaries[0].shape_to, KP_DIM_SPEED, 3, units));

    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        const kp_curve_summary *summary = &run->summaries[d];
        snprintf(line.words[d], sizeof line.words[d], "%.2f, %s%s", summary->shape_index, shape_of(summary),
                 range_mark(summary, summary->shape_to));
    }

    add_line(section, &line);
}

static void add_summary(kp_report *report, const kp_run *run)
{
    static const kp_column_spec columns[] = {KP_TEXT_COLUMN("what", "summary"),
                                             KP_TEXT_COLUMN("compression", "compression"),
                                             KP_TEXT_COLUMN("rebound", "rebound")};
    kp_unit_system units = report->request->units;
    kp_section *section =
        kp_report_section(report, "Slopes and knee are of the oil's force, without gas and friction.");

    kp_table_add_columns(&section->table, columns, KP_COUNT(columns));
    add_knee(section, run, units);
    add_all_slopes(section, run, units);
    add_shapes(section, run, units);
}

/* ---- the points -------------------------------------------------------------------------------------------------- */

/* One direction for people: flows as shares, so that the eye sees who carries what. */
static void add_direction(kp_report *report, const kp_run *run, kp_direction direction)
{
    const bool gas = report->request->with_gas;
    const kp_column_spec columns[] = {KP_TEXT_COLUMN("mark", ""),
                                      KP_NUMBER_COLUMN("speed", "speed", KP_DIM_SPEED, 3),
                                      {"force", gas ? "force" : "damping", KP_DIM_FORCE, 0, false, false},
                                      KP_NUMBER_COLUMN("gas_force", "gas force", KP_DIM_FORCE, 0),
                                      KP_NUMBER_COLUMN("drop", "piston drop", KP_DIM_PRESSURE, 1),
                                      KP_NUMBER_COLUMN("bleed", "bleed flow, %", KP_DIM_NONE, 0),
                                      KP_NUMBER_COLUMN("leak", "leak flow, %", KP_DIM_NONE, 0),
                                      KP_NUMBER_COLUMN("valve", "shims flow, %", KP_DIM_NONE, 0),
                                      KP_NUMBER_COLUMN("lift", "seat lift", KP_DIM_LENGTH, 3),
                                      KP_NUMBER_COLUMN("stress", "peak stress", KP_DIM_STRESS, 0),
                                      KP_NUMBER_COLUMN("margin", "cavit. margin", KP_DIM_PRESSURE, 1),
                                      KP_NUMBER_COLUMN("reservoir", "reserv. drop", KP_DIM_PRESSURE, 1)};
    static const kp_column_spec note_column = KP_TEXT_COLUMN("note", "");
    const size_t shown = KP_COUNT(columns) - (run->data.reservoir.given ? 0 : 1);
    kp_section *section =
        kp_report_section(report, "%s (%s)", kp_direction_capital(direction), kp_shown_force_words(report));

    /* Only a damper with a reservoir has a column for its drop. */
    kp_table_add_columns(&section->table, columns, shown);
    kp_table_add_columns(&section->table, &note_column, 1);

    for (size_t i = 0; i < run->count; i++) {
        const kp_curve_point *point = &run->points[direction][i];
        double all = point->bleed_flow + point->leak_flow + point->valve_flow + point->void_flow;
        const double values[] = {fabs(point->speed),
                                 kp_shown_force(report, point),
                                 point->gas_force,
                                 point->piston_drop,
                                 100.0 * point->bleed_flow / all,
                                 100.0 * point->leak_flow / all,
                                 100.0 * point->valve_flow / all,
                                 point->seat_lift,
                                 point->peak_stress,
                                 point->cavitation_margin,
                                 point->reservoir_drop};

        char note[KP_NOTE];
        kp_row row = kp_row_add(&section->table);
        kp_row_text(&row, kp_point_risks(point) != 0 ? "!" : "");
        kp_row_numbers(&row, values, shown - 1);
        kp_row_text(&row, kp_point_note(run, point, note));
    }
}

/* ---- all of it --------------------------------------------------------------------------------------------------- */

static void add_json(kp_report *report, const kp_run *run)
{
    kp_json_text(report, report->extra, "name", run->data.name);
    cJSON *summary = kp_json_object(report, report->extra, "summary");
    cJSON *limits = kp_json_object(report, summary, "limits");

    kp_json_number(report, limits, "low_m_s", run->limits.low);
    kp_json_number(report, limits, "high_m_s", run->limits.high);
    kp_json_number(report, limits, "top_m_s", run->limits.top);
    kp_json_text(report, summary, "knee_definition", kp_knee_definition());
    kp_json_summary(report, summary, run, KP_COMPRESSION);
    kp_json_summary(report, summary, run, KP_REBOUND);

    /* What every force depends on, apart from the parts. */
    cJSON *state = kp_json_object(report, report->extra, "state");

    bool open = run->data.gas_open;
    kp_json_bool(report, state, "gas_open", open);
    kp_json_number(report, state, "charge_absolute_Pa", open ? (double)NAN : run->data.gas.charge_pressure);
    kp_json_number(report, state, "charge_temperature_K", open ? (double)NAN : run->data.gas.charge_temperature);
    kp_json_number(report, state, "gas_pressure_absolute_Pa", run->gas_pressure);
    kp_json_number(report, state, "position_m", run->data.position);
    kp_json_number(report, state, "oil_temperature_K", run->data.oil_temperature);
    kp_json_text(report, report->extra, "caution", kp_charge_caution);
}

static bool any_tires(const kp_run *run)
{
    bool tires = false;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (size_t i = 0; i < run->count; i++) {
            tires = tires || kp_point_tires(&run->points[d][i]);
        }
    }
    return tires;
}

void kp_report_curve(kp_report *report, const kp_run *run)
{
    kp_add_points(report, run, 1, NULL);
    add_json(report, run);

    add_verdict(report, run);
    kp_lines_add(&report->top, "%s. %s", kp_title_of(&run->data, run->path), kp_estimate_note);
    kp_add_state(&report->top, &run->data, run->gas_pressure, report->request->units);

    add_summary(report, run);
    add_direction(report, run, KP_COMPRESSION);
    add_direction(report, run, KP_REBOUND);

    /* Explanations stand below the tables, and only those that the tables need. */
    kp_add_adjuster_effects(report, run);
    kp_lines_add(&report->foot, "%s.", kp_knee_definition());
    kp_lines_add(&report->foot,
                 "Cavitation margin: pressure left in the chamber at risk before air leaves the oil. ! marks a point "
                 "that is not to be driven.");

    if (any_tires(run)) {
        kp_lines_add(&report->foot, "%s", kp_fatigue_words);
    }

    kp_lines_add(&report->foot, "%s", kp_charge_caution);
}
