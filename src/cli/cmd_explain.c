/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `explain`: which path rules at which speed, where the knee is and why, what each part is worth. */
#include "cli/explain.h"
#include "cli/pool.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- CSV and "columns": what each part is worth --------------------------------------------------------------- */

static const char *const range_names[KP_EXPLAIN_SPEEDS] = {"low", "mid", "high"};

static kp_status add_data_columns(kp_table *table, kp_error *error)
{
    static const char *const texts[] = {"direction", "part", "change"};
    kp_status status = KP_OK;
    for (size_t i = 0; status == KP_OK && i < sizeof texts / sizeof texts[0]; i++) {
        status = kp_table_add_text_column(table, texts[i], texts[i], NULL, error);
    }
    for (int at = 0; status == KP_OK && at < KP_EXPLAIN_SPEEDS; at++) {
        char name[48];
        snprintf(name, sizeof name, "change_%s", range_names[at]);
        status = kp_table_add_column(table, name, name, KP_DIM_FORCE, 0, NULL, error);
        snprintf(name, sizeof name, "change_%s_percent", range_names[at]);
        status = status == KP_OK ? kp_table_add_column(table, name, name, KP_DIM_NONE, 1, NULL, error) : status;
    }
    status = status == KP_OK ? kp_table_add_column(table, "knee_speed", "knee", KP_DIM_SPEED, 3, NULL, error) : status;
    status = status == KP_OK ? kp_table_add_column(table, "knee_force", "knee", KP_DIM_FORCE, 0, NULL, error) : status;
    return status == KP_OK ? kp_table_add_text_column(table, "note", "", NULL, error) : status;
}

static const char *note_of(const kp_sensitivity *worth)
{
    if (!worth->solved) {
        return worth->why_not;
    }
    if (worth->past_yield) {
        return worth->cavitates ? "a shim would set or break; cavitates" : "a shim would set or break";
    }
    return worth->cavitates ? "cavitates" : "";
}

static kp_status add_data_row(kp_table *table, const kp_explanation *explanation, const kp_sensitivity *worth,
                              kp_direction direction, kp_error *error)
{
    const kp_curve_summary *summary = &worth->summaries[direction];
    size_t row;
    size_t column = 0;
    kp_status status = kp_table_add_row(table, &row, error);
    status = status == KP_OK ? kp_table_set_text(table, row, column++, kp_direction_name(direction), error) : status;
    status = status == KP_OK ? kp_table_set_text(table, row, column++, worth->part, error) : status;
    status = status == KP_OK ? kp_table_set_text(table, row, column++, worth->change, error) : status;
    if (status != KP_OK) {
        return status;
    }
    for (int at = 0; at < KP_EXPLAIN_SPEEDS; at++) {
        kp_table_set(table, row, column++, worth->solved ? worth->change_of_force[direction][at] : (double)NAN);
        kp_table_set(table, row, column++, kp_sensitivity_percent(explanation, worth, direction, at));
    }
    bool knee = worth->solved && summary->has_knee;
    kp_table_set(table, row, column++, knee ? summary->knee_speed : (double)NAN);
    kp_table_set(table, row, column++, knee ? summary->knee_force : (double)NAN);
    return kp_table_set_text(table, row, column, note_of(worth), error);
}

static kp_status fill_data(kp_table *table, const kp_explanation *explanation, kp_error *error)
{
    kp_status status = add_data_columns(table, error);
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (size_t i = 0; status == KP_OK && i < explanation->shown_count; i++) {
            if (explanation->sensitivities[i].acts[d]) {
                status = add_data_row(table, explanation, &explanation->sensitivities[i], (kp_direction)d, error);
            }
        }
    }
    return status;
}

/* ---- JSON: shares by speed ------------------------------------------------------------------------------------ */

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
enum { SHARE_COLUMNS = sizeof share_columns / sizeof share_columns[0] };

static double share_at(const kp_path_shares *shares, size_t offset)
{
    double value;
    memcpy(&value, (const char *)shares + offset, sizeof value);
    return value;
}

static bool add_shares_json(cJSON *extra, const kp_run *run)
{
    cJSON *list = cJSON_AddArrayToObject(extra, "shares");
    bool good = list != NULL;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (size_t i = 0; good && i < run->count; i++) {
            kp_path_shares shares = kp_explain_shares(&run->points[d][i]);
            cJSON *object = cJSON_CreateObject();
            good = object != NULL && cJSON_AddItemToArray(list, object) &&
                   kp_json_add_text(object, "direction", kp_direction_name((kp_direction)d)) &&
                   kp_json_add_number(object, "speed_m_s", fabs(run->points[d][i].speed)) &&
                   kp_json_add_number(object, "force_N", run->points[d][i].force);
            for (size_t j = 0; good && j < SHARE_COLUMNS; j++) {
                good = kp_json_add_number(object, share_columns[j].name, share_at(&shares, share_columns[j].offset));
            }
        }
    }
    return good;
}

static bool add_extra(cJSON *extra, const kp_run *run, const kp_explanation *explanation)
{
    cJSON *speeds = cJSON_AddObjectToObject(extra, "speeds");
    bool good = speeds != NULL && kp_json_add_text(extra, "name", run->data.name);
    for (int at = 0; good && at < KP_EXPLAIN_SPEEDS; at++) {
        char name[32];
        snprintf(name, sizeof name, "%s_m_s", range_names[at]);
        good = kp_json_add_number(speeds, name, explanation->speeds[at]);
    }
    return good && add_shares_json(extra, run);
}

/* ---- tables for people ---------------------------------------------------------------------------------------- */

/* Which path takes most of the work at a point. */
static const char *ruler(const kp_path_shares *shares)
{
    const struct {
        const char *name;
        double share;
    } paths[] = {{"bleed", shares->bleed_power},         {"leak", shares->leak_power},
                 {"port", shares->port_power},           {"shims", shares->disc_power},
                 {"reservoir", shares->reservoir_power}, {"void: cavitates", shares->void_power}};
    size_t best = 0;
    for (size_t i = 1; i < sizeof paths / sizeof paths[0]; i++) {
        best = paths[i].share > paths[best].share ? i : best;
    }
    return paths[best].name;
}

static kp_status fill_shares(kp_section *section, const kp_run *run, kp_direction direction, kp_error *error)
{
    kp_table *table = &section->table;
    kp_status status = kp_table_add_column(table, "speed", "speed", KP_DIM_SPEED, 3, NULL, error);
    status = status == KP_OK ? kp_table_add_column(table, "force", "force", KP_DIM_FORCE, 0, NULL, error) : status;
    status = status == KP_OK ? kp_table_add_text_column(table, "rules", "rules", NULL, error) : status;
    for (size_t j = 0; status == KP_OK && j < SHARE_COLUMNS; j++) {
        if (share_columns[j].shown) {
            status = kp_table_add_column(table, share_columns[j].name, share_columns[j].heading, KP_DIM_NONE, 0, NULL,
                                         error);
        }
    }
    for (size_t i = 0; status == KP_OK && i < run->count; i++) {
        const kp_curve_point *point = &run->points[direction][i];
        kp_path_shares shares = kp_explain_shares(point);
        size_t row;
        size_t column = 3;
        status = kp_table_add_row(table, &row, error);
        status = status == KP_OK ? kp_table_set_text(table, row, 2, ruler(&shares), error) : status;
        if (status != KP_OK) {
            break;
        }
        kp_table_set(table, row, 0, fabs(point->speed));
        kp_table_set(table, row, 1, point->force);
        for (size_t j = 0; j < SHARE_COLUMNS; j++) {
            if (share_columns[j].shown) {
                kp_table_set(table, row, column++, 100.0 * share_at(&shares, share_columns[j].offset));
            }
        }
    }
    return status;
}

static kp_status set_signed(kp_table *table, size_t row, size_t column, double value, int decimals, kp_error *error)
{
    char text[32];
    if (isfinite(value)) {
        snprintf(text, sizeof text, "%+7.*f", decimals, value);
    } else {
        snprintf(text, sizeof text, "%7s", "-");
    }
    return kp_table_set_text(table, row, column, text, error);
}

static kp_status fill_sensitivities(kp_section *section, const kp_explanation *explanation, kp_direction direction,
                                    const kp_options *options, kp_error *error)
{
    kp_table *table = &section->table;
    char heading[48];
    kp_status status = kp_table_add_text_column(table, "part", "part", NULL, error);
    status = status == KP_OK ? kp_table_add_text_column(table, "change", "change", NULL, error) : status;
    for (int k = 0; k < 2 * KP_EXPLAIN_SPEEDS; k++) {
        snprintf(heading, sizeof heading, "%s, %s", range_names[k % KP_EXPLAIN_SPEEDS],
                 k < KP_EXPLAIN_SPEEDS ? kp_unit_name(KP_DIM_FORCE, options->units) : "%");
        status = status == KP_OK ? kp_table_add_text_column(table, heading, heading, NULL, error) : status;
    }
    status = status == KP_OK ? kp_table_add_column(table, "knee", "knee", KP_DIM_SPEED, 3, NULL, error) : status;
    status = status == KP_OK ? kp_table_add_text_column(table, "note", "", NULL, error) : status;
    size_t skip = strlen(kp_direction_name(direction));
    for (size_t i = 0; status == KP_OK && i < explanation->shown_count; i++) {
        const kp_sensitivity *worth = &explanation->sensitivities[i];
        size_t row;
        if (!worth->acts[direction]) {
            continue;
        }
        bool own = strncmp(worth->part, kp_direction_name(direction), skip) == 0;
        status = kp_table_add_row(table, &row, error);
        status = status == KP_OK ? kp_table_set_text(table, row, 0, worth->part + (own ? skip + 1 : 0), error) : status;
        status = status == KP_OK ? kp_table_set_text(table, row, 1, worth->change, error) : status;
        for (int at = 0; status == KP_OK && at < KP_EXPLAIN_SPEEDS; at++) {
            double change = worth->solved ? worth->change_of_force[direction][at] : (double)NAN;
            status = set_signed(table, row, 2 + (size_t)at, kp_unit_convert(change, KP_DIM_FORCE, options->units),
                                kp_decimals_for(KP_DIM_FORCE, 0, options->units), error);
            double percent = kp_sensitivity_percent(explanation, worth, direction, at);
            status = status == KP_OK ? set_signed(table, row, 2 + KP_EXPLAIN_SPEEDS + (size_t)at, percent, 1, error)
                                     : status;
        }
        if (status == KP_OK) {
            bool knee = worth->solved && worth->summaries[direction].has_knee;
            kp_table_set(table, row, 2 + 2 * KP_EXPLAIN_SPEEDS,
                         knee ? worth->summaries[direction].knee_speed : (double)NAN);
            status = kp_table_set_text(table, row, 3 + 2 * KP_EXPLAIN_SPEEDS, note_of(worth), error);
        }
    }
    return status;
}

static kp_status add_sections(kp_output *output, const kp_run *run, const kp_explanation *explanation, kp_error *error)
{
    kp_status status = KP_OK;
    kp_unit_system units = output->options->units;
    char low[KP_SHOWN];
    char mid[KP_SHOWN];
    char high[KP_SHOWN];
    kp_show(explanation->speeds[KP_AT_LOW], KP_DIM_SPEED, 3, units, low);
    kp_show(explanation->speeds[KP_AT_MID], KP_DIM_SPEED, 3, units, mid);
    kp_show(explanation->speeds[KP_AT_HIGH], KP_DIM_SPEED, 3, units, high);
    for (int kind = 0; status == KP_OK && kind < 2; kind++) {
        for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
            char heading[320];
            const char *name = kp_direction_name((kp_direction)d);
            if (kind == 0) {
                snprintf(heading, sizeof heading,
                         "%s: where the oil goes, where the shims' oil loses its pressure, who takes the work, in %%",
                         d == KP_COMPRESSION ? "Compression" : "Rebound");
            } else {
                snprintf(heading, sizeof heading,
                         "What each part of %s is worth: change of the oil's force at low %s, mid %s, high %s, each a "
                         "run of its own; + is firmer",
                         name, low, mid, high);
            }
            kp_section *section = kp_output_section(output, heading);
            if (section == NULL) {
                return kp_error_set(error, KP_NO_MEMORY, "memory ran out while the tables were made");
            }
            status = kind == 0 ? fill_shares(section, run, (kp_direction)d, error)
                               : fill_sensitivities(section, explanation, (kp_direction)d, output->options, error);
        }
    }
    return status;
}

static kp_status fill_output(kp_output *output, const kp_run *run, const kp_explanation *explanation, kp_error *error)
{
    output->extra = cJSON_CreateObject();
    if (output->extra == NULL || !add_extra(output->extra, run, explanation)) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out while the answer was put together");
    }
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        kp_explain_say(output, run, explanation, (kp_direction)d);
    }
    kp_lines_add(&output->top, "%s", kp_estimate_note);
    if (explanation->shown_count < explanation->sensitivity_count) {
        kp_lines_add(&output->top, "INTERRUPTED: %zu of %zu changes were run.", explanation->shown_count,
                     explanation->sensitivity_count);
    }
    kp_status status = fill_data(&output->data, explanation, error);
    status = status == KP_OK ? add_sections(output, run, explanation, error) : status;
    kp_lines_add(
        &output->foot,
        "Shares sum to 100 %%: they are read from one and the same point. What parts are worth does not sum: "
        "two shims together do more, or less, than both by themselves, as they share seat, clamp and contact.");
    kp_lines_add(&output->foot, "%s.", kp_knee_definition());
    kp_state_line(&output->foot, "", &run->data, run->gas_pressure, output->options->units);
    kp_lines_add(&output->foot, "%s", kp_charge_caution);
    return status;
}

kp_status kp_cmd_explain(const kp_options *options, kp_error *error)
{
    if (options->has_lesson) {
        return kp_explain_lesson(options, error);
    }
    kp_run run = {0};
    kp_explanation explanation = {0};
    kp_output output;
    kp_status status = kp_output_begin(&output, options, error);
    status = status == KP_OK ? kp_run_begin(&run, options->files[0], options, &output.warnings, error) : status;
    kp_status sensitivities = KP_OK;
    if (status == KP_OK) {
        kp_watch watch;
        kp_run_warn(&run, options->units, &output.warnings);
        kp_pool pool = kp_watch_begin(&watch, "explain", options);
        sensitivities = kp_explain(&run.data, options->limits, options->units, &pool, &explanation, error);
        kp_watch_end(&watch);
        status = sensitivities == KP_INTERRUPTED ? KP_OK : sensitivities;
    }
    status = status == KP_OK ? fill_output(&output, &run, &explanation, error) : status;
    if (status == KP_OK && options->plot) {
        status = kp_figure_of_explain(&output, &run, error);
    }
    status = status == KP_OK ? kp_output_print(&output, error) : status;
    kp_explanation_free(&explanation);
    kp_run_free(&run);
    kp_output_free(&output);
    return status == KP_OK ? sensitivities : status;
}
