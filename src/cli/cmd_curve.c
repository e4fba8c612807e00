/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `curve`: force against shaft speed in both directions. */
#include "cli/run.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/** One number of a point, by its place in the struct, and the column it fills. */
typedef struct kp_point_column {
    const char *name, *heading;
    kp_dimension dimension;
    size_t offset; /* [bytes] */
} kp_point_column;

static const kp_point_column point_columns[] = {
    {"force", "force", KP_DIM_FORCE, offsetof(kp_curve_point, force)},
    {"gas_force", "gas force", KP_DIM_FORCE, offsetof(kp_curve_point, gas_force)},
    {"piston_drop", "piston drop", KP_DIM_PRESSURE, offsetof(kp_curve_point, piston_drop)},
    {"disc_pressure", "disc pressure", KP_DIM_PRESSURE, offsetof(kp_curve_point, disc_pressure)},
    {"bleed_flow", "bleed flow", KP_DIM_FLOW, offsetof(kp_curve_point, bleed_flow)},
    {"leak_flow", "leak flow", KP_DIM_FLOW, offsetof(kp_curve_point, leak_flow)},
    {"valve_flow", "valve flow", KP_DIM_FLOW, offsetof(kp_curve_point, valve_flow)},
    {"seat_lift", "seat lift", KP_DIM_LENGTH, offsetof(kp_curve_point, seat_lift)},
    {"peak_stress", "peak stress", KP_DIM_STRESS, offsetof(kp_curve_point, peak_stress)},
    {"cavitation_margin", "margin", KP_DIM_PRESSURE, offsetof(kp_curve_point, cavitation_margin)},
    {"friction_force", "friction", KP_DIM_FORCE, offsetof(kp_curve_point, friction_force)},
    {"hydraulic_force", "hydraulic force", KP_DIM_FORCE, offsetof(kp_curve_point, hydraulic_force)},
    {"force_slope", "slope", KP_DIM_DAMPING, offsetof(kp_curve_point, force_slope)},
    {"opening", "opening", KP_DIM_LENGTH, offsetof(kp_curve_point, opening)},
    {"edge_lift", "edge lift", KP_DIM_LENGTH, offsetof(kp_curve_point, edge_lift)},
    {"void_flow", "void flow", KP_DIM_FLOW, offsetof(kp_curve_point, void_flow)},
    {"couette_flow", "wall drag flow", KP_DIM_FLOW, offsetof(kp_curve_point, couette_flow)},
    {"fatigue_use", "fatigue use", KP_DIM_NONE, offsetof(kp_curve_point, fatigue_use)},
    {"reservoir_flow", "reservoir flow", KP_DIM_FLOW, offsetof(kp_curve_point, reservoir_flow)},
    {"reservoir_drop", "reservoir drop", KP_DIM_PRESSURE, offsetof(kp_curve_point, reservoir_drop)},
    {"hose_drop", "hose drop", KP_DIM_PRESSURE, offsetof(kp_curve_point, hose_drop)},
    {"rod_void_flow", "void flow, compression chamber", KP_DIM_FLOW, offsetof(kp_curve_point, rod_void_flow)},
    {"compression_chamber_margin", "margin, compression chamber", KP_DIM_PRESSURE,
     offsetof(kp_curve_point, compression_margin)},
    {"rebound_chamber_margin", "margin, rebound chamber", KP_DIM_PRESSURE, offsetof(kp_curve_point, rebound_margin)},
    {"reservoir_peak_stress", "peak stress, reservoir", KP_DIM_STRESS, offsetof(kp_curve_point, reservoir_peak_stress)},
};
enum { POINT_COLUMNS = sizeof point_columns / sizeof point_columns[0] };

static double number_at(const kp_curve_point *point, size_t offset)
{
    double value;
    memcpy(&value, (const char *)point + offset, sizeof value);
    return value;
}

/* Columns of a point, behind direction, speed and, in a family, what its members differ in. */
typedef struct kp_point_places {
    size_t member, first, past_yield, cavitates, note;
} kp_point_places;

static kp_status add_point_columns(kp_table *table, const kp_sweep *family, kp_point_places *places, kp_error *error)
{
    kp_status status = kp_table_add_text_column(table, "direction", "direction", NULL, error);
    if (status == KP_OK) {
        status = kp_table_add_column(table, "speed", "speed", KP_DIM_SPEED, 3, NULL, error);
    }
    if (status == KP_OK && family != NULL) {
        status = kp_table_add_column(table, family->name, family->name, family->dimension, 3, &places->member, error);
    }
    places->first = family != NULL ? 3 : 2;
    for (size_t i = 0; status == KP_OK && i < POINT_COLUMNS; i++) {
        status = kp_table_add_column(table, point_columns[i].name, point_columns[i].heading, point_columns[i].dimension,
                                     3, NULL, error);
    }
    if (status == KP_OK) {
        status = kp_table_add_column(table, "past_yield", "past yield", KP_DIM_NONE, 0, &places->past_yield, error);
    }
    if (status == KP_OK) {
        status = kp_table_add_column(table, "cavitates", "cavitates", KP_DIM_NONE, 0, &places->cavitates, error);
    }
    return status == KP_OK ? kp_table_add_text_column(table, "note", "", &places->note, error) : status;
}

static kp_status add_point(kp_table *table, const kp_run *run, const kp_curve_point *point, const double *member,
                           const kp_point_places *places, kp_error *error)
{
    size_t row;
    char note[KP_NOTE];
    kp_status status = kp_table_add_row(table, &row, error);
    if (status == KP_OK) {
        status = kp_table_set_text(table, row, 0, kp_direction_name(point->direction), error);
    }
    if (status != KP_OK) {
        return status;
    }
    kp_table_set(table, row, 1, fabs(point->speed));
    if (member != NULL) {
        kp_table_set(table, row, places->member, *member);
    }
    for (size_t j = 0; j < POINT_COLUMNS; j++) {
        kp_table_set(table, row, places->first + j, number_at(point, point_columns[j].offset));
    }
    kp_table_set(table, row, places->past_yield, point->past_yield ? 1.0 : 0.0);
    kp_table_set(table, row, places->cavitates, point->cavitates ? 1.0 : 0.0);
    return kp_table_set_text(table, row, places->note, kp_point_note(run, point, note), error);
}

kp_status kp_curve_fill_data(kp_table *table, const kp_run *runs, size_t count, const kp_sweep *family, kp_error *error)
{
    kp_point_places places = {0};
    kp_status status = add_point_columns(table, family, &places, error);
    for (size_t r = 0; r < count; r++) {
        for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
            for (size_t i = 0; status == KP_OK && i < runs[r].count; i++) {
                status = add_point(table, &runs[r], &runs[r].points[d][i], family != NULL ? &family->values[r] : NULL,
                                   &places, error);
            }
        }
    }
    return status;
}

/* One direction for people: flows as shares, so that the eye sees who carries what. */
static kp_status fill_section(kp_section *section, const kp_run *run, kp_direction direction, kp_error *error)
{
    enum { MARK, SPEED };
    static const struct {
        const char *name, *heading;
        kp_dimension dimension;
        int decimals;
    } columns[] = {{"speed", "speed", KP_DIM_SPEED, 3},
                   {"force", "force", KP_DIM_FORCE, 0},
                   {"drop", "piston drop", KP_DIM_PRESSURE, 1},
                   {"bleed", "bleed flow, %", KP_DIM_NONE, 0},
                   {"leak", "leak flow, %", KP_DIM_NONE, 0},
                   {"valve", "shims flow, %", KP_DIM_NONE, 0},
                   {"lift", "seat lift", KP_DIM_LENGTH, 3},
                   {"stress", "peak stress", KP_DIM_STRESS, 0},
                   {"margin", "cavit. margin", KP_DIM_PRESSURE, 1},
                   {"reservoir", "reserv. drop", KP_DIM_PRESSURE, 1}};
    const size_t shown = sizeof columns / sizeof columns[0] - (run->data.reservoir.given ? 0 : 1);
    const size_t note_column = SPEED + shown;
    kp_table *table = &section->table;
    kp_status status = kp_table_add_text_column(table, "mark", "", NULL, error);
    for (size_t i = 0; status == KP_OK && i < shown; i++) {
        status = kp_table_add_column(table, columns[i].name, columns[i].heading, columns[i].dimension,
                                     columns[i].decimals, NULL, error);
    }
    if (status == KP_OK) {
        status = kp_table_add_text_column(table, "note", "", NULL, error);
    }
    for (size_t i = 0; status == KP_OK && i < run->count; i++) {
        const kp_curve_point *point = &run->points[direction][i];
        double all = point->bleed_flow + point->leak_flow + point->valve_flow + point->void_flow;
        const double values[] = {fabs(point->speed),
                                 point->force,
                                 point->piston_drop,
                                 100.0 * point->bleed_flow / all,
                                 100.0 * point->leak_flow / all,
                                 100.0 * point->valve_flow / all,
                                 point->seat_lift,
                                 point->peak_stress,
                                 point->cavitation_margin,
                                 point->reservoir_drop};
        size_t row;
        char note[KP_NOTE];
        status = kp_table_add_row(table, &row, error);
        if (status != KP_OK) {
            break;
        }
        for (size_t j = 0; j < shown; j++) {
            kp_table_set(table, row, SPEED + j, values[j]);
        }
        bool marked = point->past_yield || point->cavitates || point->reservoir_past_yield;
        status = kp_table_set_text(table, row, MARK, marked ? "!" : "", error);
        if (status == KP_OK) {
            status = kp_table_set_text(table, row, note_column, kp_point_note(run, point, note), error);
        }
    }
    return status;
}

/* The point nearest to 0.52 m/s, the speed that stands for a curve on many dynos (common practice, no source). */
static size_t headline_point(const kp_run *run)
{
    const double headline_speed = 0.524; /* [m/s] */
    size_t best = 0;
    for (size_t i = 1; i < run->count; i++) {
        double now = fabs(fabs(run->points[0][i].speed) - headline_speed);
        double before = fabs(fabs(run->points[0][best].speed) - headline_speed);
        best = now < before ? i : best;
    }
    return best;
}

/* A force that stands still because the oil cavitates has no shape worth a name. */
static const char *shape_of(const kp_curve_summary *summary)
{
    return summary->margin_goes ? "cut off" : kp_shape_name(summary->shape_index);
}

static void say_verdict(kp_output *output, const kp_run *run)
{
    kp_unit_system units = output->options->units;
    size_t i = headline_point(run);
    char compression[KP_SHOWN];
    char rebound[KP_SHOWN];
    char speed[KP_SHOWN];
    char margin[KP_SHOWN];
    char shape[120];
    const char *shapes[KP_DIRECTION_COUNT];
    bool yields = false;
    bool cavitates = false;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        shapes[d] = shape_of(&run->summaries[d]);
        yields = yields || run->summaries[d].past_yield;
        cavitates = cavitates || run->summaries[d].margin_goes;
        for (size_t k = 0; k < run->count; k++) {
            yields = yields || run->points[d][k].past_yield;
            cavitates = cavitates || run->points[d][k].cavitates;
        }
    }
    if (strcmp(shapes[KP_COMPRESSION], shapes[KP_REBOUND]) == 0) {
        snprintf(shape, sizeof shape, "both %s", shapes[0]);
    } else {
        snprintf(shape, sizeof shape, "compression %s, rebound %s", shapes[KP_COMPRESSION], shapes[KP_REBOUND]);
    }
    kp_show(fabs(run->points[KP_COMPRESSION][i].force), KP_DIM_FORCE, 0, units, compression);
    kp_show(fabs(run->points[KP_REBOUND][i].force), KP_DIM_FORCE, 0, units, rebound);
    kp_show(fabs(run->points[KP_COMPRESSION][i].speed), KP_DIM_SPEED, 3, units, speed);
    kp_show(kp_run_least_margin(run), KP_DIM_PRESSURE, 1, units, margin);
    const char *helps = run->points[KP_REBOUND][i].force > 0.0 ? " (gas force wins, it still pushes out)" : "";
    kp_lines_add(&output->top, "%s%s%s%s%sompression %s, rebound %s%s at %s; %s%s%s.",
                 yields || cavitates ? "NOT SOUND: " : "", yields ? "a shim would set or break" : "",
                 yields && cavitates ? ", " : "", cavitates ? "it cavitates" : "", yields || cavitates ? ". C" : "C",
                 compression, rebound, helps, speed, shape, cavitates ? "" : "; cavitation margin stays above ",
                 cavitates ? "" : margin);
}

/* "0.140 m/s, 610 N" and the like for the two columns of the summary. */
static kp_status add_summary_row(kp_table *table, const char *what, const char *compression, const char *rebound,
                                 kp_error *error)
{
    size_t row;
    kp_status status = kp_table_add_row(table, &row, error);
    if (status == KP_OK) {
        status = kp_table_set_text(table, row, 0, what, error);
    }
    if (status == KP_OK) {
        status = kp_table_set_text(table, row, 1, compression, error);
    }
    return status == KP_OK ? kp_table_set_text(table, row, 2, rebound, error) : status;
}

static void knee_words(const kp_curve_summary *summary, kp_unit_system units, char *text, size_t size)
{
    char speed[KP_SHOWN];
    char force[KP_SHOWN];
    if (!summary->has_knee) {
        snprintf(text, size, "none");
        return;
    }
    snprintf(text, size, "%s, %s", kp_show(summary->knee_speed, KP_DIM_SPEED, 3, units, speed),
             kp_show(summary->knee_force, KP_DIM_FORCE, 0, units, force));
}

/* A slope or an index over a range that is not to be driven up to its end must not look like a sound one. */
static const char *range_mark(const kp_curve_summary *summary, double range_end)
{
    if (summary->margin_goes && summary->margin_speed < range_end) {
        return " ! cavitates";
    }
    return summary->past_yield && summary->yield_speed < range_end ? " ! past yield" : "";
}

static kp_status add_slope_row(kp_table *table, const kp_run *run, const char *what, size_t offset, double range_end,
                               kp_unit_system units, kp_error *error)
{
    char shown[KP_DIRECTION_COUNT][2 * KP_SHOWN];
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        double value;
        memcpy(&value, (const char *)&run->summaries[d] + offset, sizeof value);
        kp_show(value, KP_DIM_DAMPING, 0, units, shown[d]);
        size_t used = strlen(shown[d]);
        snprintf(shown[d] + used, sizeof shown[d] - used, "%s", range_mark(&run->summaries[d], range_end));
    }
    return add_summary_row(table, what, shown[KP_COMPRESSION], shown[KP_REBOUND], error);
}

static kp_status fill_summary(kp_section *section, const kp_run *run, const kp_options *options, kp_error *error)
{
    kp_table *table = &section->table;
    kp_unit_system units = options->units;
    char what[120];
    char from[KP_SHOWN];
    char to[KP_SHOWN];
    char texts[KP_DIRECTION_COUNT][120];
    kp_status status = kp_table_add_text_column(table, "what", "summary", NULL, error);
    status = status == KP_OK ? kp_table_add_text_column(table, "compression", "compression", NULL, error) : status;
    status = status == KP_OK ? kp_table_add_text_column(table, "rebound", "rebound", NULL, error) : status;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        knee_words(&run->summaries[d], units, texts[d], sizeof texts[d]);
    }
    status = status == KP_OK ? add_summary_row(table, "knee", texts[0], texts[1], error) : status;
    kp_show(options->limits.low, KP_DIM_SPEED, 3, units, from);
    kp_show(options->limits.high, KP_DIM_SPEED, 3, units, to);
    snprintf(what, sizeof what, "low-speed slope, up to %s", from);
    status = status == KP_OK ? add_slope_row(table, run, what, offsetof(kp_curve_summary, low_slope),
                                             options->limits.low, units, error)
                             : status;
    snprintf(what, sizeof what, "mid-speed slope, %s to %s", from, to);
    status = status == KP_OK ? add_slope_row(table, run, what, offsetof(kp_curve_summary, mid_slope),
                                             options->limits.high, units, error)
                             : status;
    kp_show(options->limits.top, KP_DIM_SPEED, 3, units, from);
    snprintf(what, sizeof what, "high-speed slope, %s to %s", to, from);
    status = status == KP_OK ? add_slope_row(table, run, what, offsetof(kp_curve_summary, high_slope),
                                             options->limits.top, units, error)
                             : status;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        snprintf(texts[d], sizeof texts[d], "%.2f, %s%s", run->summaries[d].shape_index, shape_of(&run->summaries[d]),
                 range_mark(&run->summaries[d], run->summaries[d].shape_to));
    }
    kp_show(run->summaries[0].shape_from, KP_DIM_SPEED, 3, units, from);
    kp_show(run->summaries[0].shape_to, KP_DIM_SPEED, 3, units, to);
    snprintf(what, sizeof what, "shape index, %s to %s", from, to);
    return status == KP_OK ? add_summary_row(table, what, texts[0], texts[1], error) : status;
}

static double or_nothing(bool there, double value)
{
    return there ? value : (double)NAN;
}

bool kp_curve_summary_json(cJSON *parent, const kp_run *run, kp_direction direction)
{
    const kp_curve_summary *s = &run->summaries[direction];
    cJSON *object = cJSON_AddObjectToObject(parent, kp_direction_name(direction));
    return object != NULL && kp_json_add_number(object, "knee_speed_m_s", or_nothing(s->has_knee, s->knee_speed)) &&
           kp_json_add_number(object, "knee_force_N", or_nothing(s->has_knee, s->knee_force)) &&
           kp_json_add_number(object, "low_slope_N_s_m", s->low_slope) &&
           kp_json_add_number(object, "mid_slope_N_s_m", s->mid_slope) &&
           kp_json_add_number(object, "high_slope_N_s_m", s->high_slope) &&
           kp_json_add_number(object, "low_force_N", s->low_force) &&
           kp_json_add_number(object, "mid_force_N", s->mid_force) &&
           kp_json_add_number(object, "high_force_N", s->high_force) &&
           kp_json_add_number(object, "shape_index", s->shape_index) &&
           kp_json_add_text(object, "shape", kp_shape_name(s->shape_index)) &&
           kp_json_add_number(object, "shape_from_m_s", s->shape_from) &&
           kp_json_add_number(object, "shape_to_m_s", s->shape_to) &&
           kp_json_add_number(object, "margin_gone_speed_m_s", or_nothing(s->margin_goes, s->margin_speed)) &&
           kp_json_add_number(object, "margin_shortfall_Pa", s->margin_goes ? s->margin_shortfall : 0.0) &&
           kp_json_add_number(object, "charge_needed_Pa", or_nothing(s->has_charge_needed, s->charge_needed)) &&
           kp_json_add_number(object, "yield_speed_m_s", or_nothing(s->past_yield, s->yield_speed));
}

static bool fill_extra(cJSON *extra, const kp_run *run, const kp_options *options)
{
    cJSON *summary = NULL;
    cJSON *limits = NULL;
    cJSON *state = NULL;
    bool good = extra != NULL && kp_json_add_text(extra, "name", run->data.name) &&
                (summary = cJSON_AddObjectToObject(extra, "summary")) != NULL &&
                (limits = cJSON_AddObjectToObject(summary, "limits")) != NULL &&
                kp_json_add_number(limits, "low_m_s", options->limits.low) &&
                kp_json_add_number(limits, "high_m_s", options->limits.high) &&
                kp_json_add_number(limits, "top_m_s", options->limits.top) &&
                kp_json_add_text(summary, "knee_definition", kp_knee_definition()) &&
                kp_curve_summary_json(summary, run, KP_COMPRESSION) &&
                kp_curve_summary_json(summary, run, KP_REBOUND) &&
                (state = cJSON_AddObjectToObject(extra, "state")) != NULL &&
                kp_json_add_number(state, "charge_absolute_Pa", run->data.gas.charge_pressure) &&
                kp_json_add_number(state, "charge_temperature_K", run->data.gas.charge_temperature) &&
                kp_json_add_number(state, "gas_pressure_absolute_Pa", run->gas_pressure) &&
                kp_json_add_number(state, "position_m", run->data.position) &&
                kp_json_add_number(state, "oil_temperature_K", run->data.oil_temperature) &&
                kp_json_add_text(extra, "caution", kp_charge_caution);
    return good;
}

static kp_status fill_output(kp_output *output, const kp_run *run, kp_error *error)
{
    const kp_options *options = output->options;
    kp_status status = kp_curve_fill_data(&output->data, run, 1, NULL, error);
    say_verdict(output, run);
    kp_lines_add(&output->top, "%s. %s", kp_title_of(&run->data, run->path), kp_estimate_note);
    kp_state_line(&output->top, "", &run->data, run->gas_pressure, options->units);
    kp_section *summary =
        kp_output_section(output, "Slopes and knee are of the oil's force, without gas and friction.");
    kp_section *compression = kp_output_section(output, "Compression (force with gas and friction)");
    kp_section *rebound = kp_output_section(output, "Rebound (force with gas and friction)");
    if (status == KP_OK && (summary == NULL || compression == NULL || rebound == NULL)) {
        status = kp_error_set(error, KP_NO_MEMORY, "memory ran out while the tables were made");
    }
    if (status == KP_OK) {
        status = fill_summary(summary, run, options, error);
    }
    if (status == KP_OK) {
        status = fill_section(compression, run, KP_COMPRESSION, error);
    }
    if (status == KP_OK) {
        status = fill_section(rebound, run, KP_REBOUND, error);
    }
    if (status == KP_OK) {
        status = kp_say_cross_talk(&output->foot, run, options, error);
    }
    kp_lines_add(&output->foot, "%s.", kp_knee_definition());
    kp_lines_add(&output->foot,
                 "Cavitation margin: pressure left in the chamber at risk before air leaves the oil. ! marks a point "
                 "that is not to be driven.");
    bool tires = false;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (size_t i = 0; i < run->count; i++) {
            tires = tires || kp_point_tires(&run->points[d][i]);
        }
    }
    if (tires) {
        kp_lines_add(&output->foot, "%s", kp_fatigue_words);
    }
    kp_lines_add(&output->foot, "%s", kp_charge_caution);
    output->extra = cJSON_CreateObject();
    if (status == KP_OK && !fill_extra(output->extra, run, options)) {
        status = kp_error_set(error, KP_NO_MEMORY, "memory ran out while the answer was put together");
    }
    return status;
}

kp_status kp_cmd_curve(const kp_options *options, kp_error *error)
{
    if (options->temperatures.count > 0 || options->charges.count > 0 || options->has_sweep) {
        return kp_curve_sweep(options, error);
    }
    kp_run run = {0};
    kp_output output;
    kp_status status = kp_output_begin(&output, options, error);
    if (status == KP_OK) {
        status = kp_run_begin(&run, options->files[0], options, &output.warnings, error);
    }
    if (status == KP_OK) {
        kp_run_warn(&run, options->units, &output.warnings);
        status = fill_output(&output, &run, error);
    }
    if (status == KP_OK && options->plot) {
        status = kp_figure_of_curve(&output, &run, error);
    }
    if (status == KP_OK) {
        status = kp_output_print(&output, error);
    }
    kp_run_free(&run);
    kp_output_free(&output);
    return status;
}
