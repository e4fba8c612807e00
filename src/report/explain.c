/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `explain`: which path rules at which speed, where the knee is and why, and sensitivities to each part. */
#include "report/report_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static double change_at(const kp_sensitivity *sensitivity, kp_direction direction, int at)
{
    return sensitivity->solved ? sensitivity->change_of_force[direction][at] : (double)NAN;
}

static bool has_knee(const kp_sensitivity *sensitivity, kp_direction direction)
{
    return sensitivity->solved && sensitivity->summaries[direction].has_knee;
}

static const char *note_of(const kp_sensitivity *sensitivity)
{
    if (!sensitivity->solved) {
        return sensitivity->why_not;
    }
    return kp_risk_words(sensitivity->risks);
}

/* ---- CSV and "columns": sensitivities ---------------------------------------------------------------------------- */

static void add_data_row(kp_table *table, const kp_explanation *explanation, const kp_sensitivity *sensitivity,
                         kp_direction direction)
{
    const kp_curve_summary *summary = &sensitivity->summaries[direction];
    bool knee = has_knee(sensitivity, direction);
    kp_row row = kp_row_add(table);

    kp_row_text(&row, kp_direction_name(direction));
    kp_row_text(&row, sensitivity->part);
    kp_row_text(&row, sensitivity->change);

    for (int at = 0; at < KP_EXPLAIN_SPEEDS; at++) {
        kp_row_number(&row, change_at(sensitivity, direction, at));
        kp_row_number(&row, kp_sensitivity_percent(explanation, sensitivity, direction, at));
    }

    /* The knee of the changed damper, where it has one. */
    kp_row_number(&row, knee ? summary->knee_speed : (double)NAN);
    kp_row_number(&row, knee ? summary->knee_force : (double)NAN);
    kp_row_text(&row, note_of(sensitivity));
}

static void add_data(kp_report *report, const kp_explanation *explanation)
{
    static const kp_column_spec columns[] = {
        KP_TEXT_COLUMN("direction", "direction"),
        KP_TEXT_COLUMN("part", "part"),
        KP_TEXT_COLUMN("change", "change"),
        KP_NUMBER_COLUMN("change_low", "change_low", KP_DIM_FORCE, 0),
        KP_NUMBER_COLUMN("change_low_percent", "change_low_percent", KP_DIM_NONE, 1),
        KP_NUMBER_COLUMN("change_mid", "change_mid", KP_DIM_FORCE, 0),
        KP_NUMBER_COLUMN("change_mid_percent", "change_mid_percent", KP_DIM_NONE, 1),
        KP_NUMBER_COLUMN("change_high", "change_high", KP_DIM_FORCE, 0),
        KP_NUMBER_COLUMN("change_high_percent", "change_high_percent", KP_DIM_NONE, 1),
        KP_NUMBER_COLUMN("knee_speed", "knee", KP_DIM_SPEED, 3),
        KP_NUMBER_COLUMN("knee_force", "knee", KP_DIM_FORCE, 0),
        KP_TEXT_COLUMN("note", ""),
    };
    kp_table_add_columns(&report->data, columns, KP_COUNT(columns));

    /* A row for each change and each direction in which its part acts. */
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (size_t i = 0; i < explanation->shown_count; i++) {
            if (explanation->sensitivities[i].acts[d]) {
                add_data_row(&report->data, explanation, &explanation->sensitivities[i], (kp_direction)d);
            }
        }
    }
}

/* ---- shares by speed --------------------------------------------------------------------------------------------- */

/** One share by its place, and what it is called. */
typedef struct kp_share_column {
    const char *name, *heading;
    size_t offset; /* [bytes] */
    bool shown;    /* in the table for people */
} kp_share_column;

static const kp_share_column share_columns[] = {
    {"bleed_flow_share", "bleed", offsetof(kp_path_shares, bleed_flow), true},
    {"leak_flow_share", "leak", offsetof(kp_path_shares, leak_flow), true},
    {"valve_flow_share", "shims", offsetof(kp_path_shares, valve_flow), true},
    {"void_flow_share", "void", offsetof(kp_path_shares, void_flow), false},
    {"port_drop_share", "drop: port", offsetof(kp_path_shares, port_drop), true},
    {"disc_drop_share", "shim gap", offsetof(kp_path_shares, disc_drop), true},
    {"bleed_power_share", "work: bleed", offsetof(kp_path_shares, bleed_power), true},
    {"leak_power_share", "leak", offsetof(kp_path_shares, leak_power), true},
    {"port_power_share", "port", offsetof(kp_path_shares, port_power), true},
    {"disc_power_share", "shim gap", offsetof(kp_path_shares, disc_power), true},
    {"reservoir_power_share", "reserv.", offsetof(kp_path_shares, reservoir_power), true},
    {"void_power_share", "void", offsetof(kp_path_shares, void_power), false},
};

static double share_at(const kp_path_shares *shares, const kp_share_column *column)
{
    double value;
    memcpy(&value, (const char *)shares + column->offset, sizeof value);
    return value;
}

/* Where each stack folds; numbers that do not exist are null. */
static void add_folding(kp_report *report, const kp_explanation *explanation)
{
    cJSON *list = kp_json_array(report, report->extra, "folding");
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        const kp_folding *folding = &explanation->folding[d];
        cJSON *object = kp_json_object(report, list, NULL);
        kp_json_text(report, object, "direction", kp_direction_name((kp_direction)d));
        kp_json_number(report, object, "lobes", folding->lobes);
        kp_json_bool(report, object, "by_ports", folding->by_ports);
        kp_json_number(report, object, "pressure_Pa", folding->folds ? folding->pressure : (double)NAN);
        kp_json_number(report, object, "speed_m_s", folding->has_speed ? folding->speed : (double)NAN);
        kp_json_number(report, object, "change_from_round_percent",
                       folding->has_change ? 100.0 * folding->change : (double)NAN);
    }
}

static void add_json(kp_report *report, const kp_run *run, const kp_explanation *explanation)
{
    cJSON *speeds = kp_json_object(report, report->extra, "speeds");
    kp_json_text(report, report->extra, "name", run->data.name);

    for (int at = 0; at < KP_EXPLAIN_SPEEDS; at++) {
        char name[32];
        snprintf(name, sizeof name, "%s_m_s", kp_range_names[at]);
        kp_json_number(report, speeds, name, explanation->speeds[at]);
    }

    add_folding(report, explanation);

    /* Shares of every point, in the order of the curve. */
    cJSON *list = kp_json_array(report, report->extra, "shares");

    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (size_t i = 0; i < run->count; i++) {
            kp_path_shares shares = kp_explain_shares(&run->points[d][i]);

            cJSON *object = kp_json_object(report, list, NULL);
            kp_json_text(report, object, "direction", kp_direction_name((kp_direction)d));
            kp_json_number(report, object, "speed_m_s", fabs(run->points[d][i].speed));
            kp_json_number(report, object, "force_N", run->points[d][i].force);

            for (size_t j = 0; j < KP_COUNT(share_columns); j++) {
                kp_json_number(report, object, share_columns[j].name, share_at(&shares, &share_columns[j]));
            }
        }
    }
}

/* Which path takes most of the work at a point. */
static const char *ruler(const kp_path_shares *shares)
{
    const struct {
        const char *name;
        double share;
    } paths[] = {{"bleed", shares->bleed_power},         {"leak", shares->leak_power},
                 {"port", shares->port_power},           {"shims", shares->disc_power},
                 {"reservoir", shares->reservoir_power}, {"void: cavitates", shares->void_power}};

    /* The largest share of the power. */
    size_t best = 0;

    for (size_t i = 1; i < KP_COUNT(paths); i++) {
        best = paths[i].share > paths[best].share ? i : best;
    }

    return paths[best].name;
}

static void add_shares(kp_report *report, const kp_run *run, kp_direction direction)
{
    static const kp_column_spec first[] = {KP_NUMBER_COLUMN("speed", "speed", KP_DIM_SPEED, 3),
                                           KP_NUMBER_COLUMN("force", "force", KP_DIM_FORCE, 0),
                                           KP_TEXT_COLUMN("rules", "rules")};
    kp_section *section = kp_report_section(
        report, "%s: where the oil goes, where the shims' oil loses its pressure, who takes the work, in %%",
        kp_direction_capital(direction));
    kp_table *table = &section->table;
    kp_table_add_columns(table, first, KP_COUNT(first));

    /* Shares of the void are in the data alone. */
    for (size_t j = 0; j < KP_COUNT(share_columns); j++) {
        if (share_columns[j].shown) {
            kp_table_add_column(table, share_columns[j].name, share_columns[j].heading, KP_DIM_NONE, 0, NULL, NULL);
        }
    }

    for (size_t i = 0; i < run->count; i++) {
        const kp_curve_point *point = &run->points[direction][i];
        kp_path_shares shares = kp_explain_shares(point);

        kp_row row = kp_row_add(table);
        kp_row_number(&row, fabs(point->speed));
        kp_row_number(&row, point->force);
        kp_row_text(&row, ruler(&shares));

        for (size_t j = 0; j < KP_COUNT(share_columns); j++) {
            if (share_columns[j].shown) {
                kp_row_number(&row, 100.0 * share_at(&shares, &share_columns[j]));
            }
        }
    }
}

/* ---- sensitivities for people ------------------------------------------------------------------------------------ */

static void add_sensitivity_row(kp_table *table, const kp_explanation *explanation, const kp_sensitivity *sensitivity,
                                kp_direction direction, kp_unit_system units)
{
    const char *name = kp_direction_name(direction);
    bool own = strncmp(sensitivity->part, name, strlen(name)) == 0; /* the heading has said the direction */
    kp_row row = kp_row_add(table);

    kp_row_text(&row, sensitivity->part + (own ? strlen(name) + 1 : 0));
    kp_row_text(&row, sensitivity->change);

    /* Force, then per cent, at low, mid and high speed. */
    for (int at = 0; at < KP_EXPLAIN_SPEEDS; at++) {
        double change = kp_unit_convert(change_at(sensitivity, direction, at), KP_DIM_FORCE, units);
        kp_row_signed(&row, change, kp_decimals_for(KP_DIM_FORCE, 0, units));
    }

    for (int at = 0; at < KP_EXPLAIN_SPEEDS; at++) {
        kp_row_signed(&row, kp_sensitivity_percent(explanation, sensitivity, direction, at), 1);
    }

    kp_row_number(&row, has_knee(sensitivity, direction) ? sensitivity->summaries[direction].knee_speed : (double)NAN);
    kp_row_text(&row, note_of(sensitivity));
}

static void add_sensitivities(kp_report *report, const kp_explanation *explanation, kp_direction direction)
{
    kp_unit_system units = report->request->units;
    kp_section *section = kp_report_section(
        report,
        "Effect of each part of %s: change of the oil's force at low %s, mid %s, high %s, each a run of its own; "
        "+ is firmer",
        kp_direction_name(direction), KP_SHOW(explanation->speeds[KP_AT_LOW], KP_DIM_SPEED, 3, units),
        KP_SHOW(explanation->speeds[KP_AT_MID], KP_DIM_SPEED, 3, units),
        KP_SHOW(explanation->speeds[KP_AT_HIGH], KP_DIM_SPEED, 3, units));
    kp_table *table = &section->table;

    kp_table_add_text_column(table, "part", "part", NULL, NULL);
    kp_table_add_text_column(table, "change", "change", NULL, NULL);

    /* Change in newtons at the three speeds, then in per cent. */
    for (int k = 0; k < 2 * KP_EXPLAIN_SPEEDS; k++) {
        char heading[48];
        snprintf(heading, sizeof heading, "%s, %s", kp_range_names[k % KP_EXPLAIN_SPEEDS],
                 k < KP_EXPLAIN_SPEEDS ? kp_unit_name(KP_DIM_FORCE, units) : "%");
        kp_table_add_text_column(table, heading, heading, NULL, NULL);
    }

    kp_table_add_column(table, "knee", "knee", KP_DIM_SPEED, 3, NULL, NULL);
    kp_table_add_text_column(table, "note", "", NULL, NULL);

    for (size_t i = 0; i < explanation->shown_count; i++) {
        if (explanation->sensitivities[i].acts[direction]) {
            add_sensitivity_row(table, explanation, &explanation->sensitivities[i], direction, units);
        }
    }
}

/* ---- all of it --------------------------------------------------------------------------------------------------- */

void kp_report_explain(kp_report *report, const kp_run *run, const kp_explanation *explanation)
{
    add_json(report, run, explanation);
    add_data(report, explanation);

    unsigned risks = kp_run_risks(run);
    if (risks != 0) {
        kp_lines_add(&report->top, "NOT SOUND: %s; see the warnings.", kp_risk_words(risks));
    }

    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        kp_add_reasons(report, run, explanation, (kp_direction)d);
    }

    kp_lines_add(&report->top, "%s", kp_estimate_note);
    /* The reasons hold for what was run; an interrupted run has fewer of them. */
    if (explanation->shown_count < explanation->sensitivity_count) {
        kp_lines_add(&report->top, "INTERRUPTED: %zu of %zu changes were run.", explanation->shown_count,
                     explanation->sensitivity_count);
    }

    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        add_shares(report, run, (kp_direction)d);
    }

    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        add_sensitivities(report, explanation, (kp_direction)d);
    }

    kp_lines_add(
        &report->foot,
        "Shares sum to 100 %%: they are read from one and the same point. The effects of parts do not: "
        "two shims together do more, or less, than each alone would suggest, as they share seat, clamp and contact.");
    if (explanation->lines_left_out > 0) {
        kp_lines_add(
            &report->foot,
            "These stacks are large: %zu of their kinds of shims were not changed; those that were stand evenly "
            "between face and clamp.",
            explanation->lines_left_out);
    }
    kp_lines_add(&report->foot, "%s.", kp_knee_definition());
    kp_add_state(&report->foot, &run->data, run->gas_pressure, report->request->units);
    kp_lines_add(&report->foot, "%s", kp_charge_caution);
}
