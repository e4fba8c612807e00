/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `curve` as a family: one damper at several oil temperatures, charges or clicks. The shims are solved once. */
#include "cli/run.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { LABEL = 96 };

typedef struct kp_members {
    size_t count;
    kp_sweep sweep;
    kp_damper_data data[KP_MAX_MEMBERS];
    char labels[KP_MAX_MEMBERS][LABEL];
    char paths[KP_MAX_MEMBERS][LABEL + 256]; /* file and label, for warnings */
    kp_run runs[KP_MAX_MEMBERS];
} kp_members;

static kp_adjuster_data *adjuster_of(kp_damper_data *data, kp_direction which)
{
    if (which == KP_REBOUND) {
        return data->has_adjuster ? &data->adjuster : NULL;
    }
    return data->reservoir.given && data->reservoir.has_adjuster ? &data->reservoir.adjuster : NULL;
}

static double force_change(const kp_curve_point *from, const kp_curve_point *to)
{
    double percent = 100.0 * (fabs(to->hydraulic_force) / fabs(from->hydraulic_force) - 1.0); /* [%] */
    return fabs(percent) < 0.05 ? 0.0 : percent;                                              /* no -0.0 */
}

/* The damper with one adjuster fully open, at the low-speed bound; false when it cannot be worked out (an adjuster that
   opens only one way at a bad place): then there is nothing to say. */
static bool forces_at(const kp_run *run, const kp_options *options, kp_direction which, int clicks,
                      kp_curve_point points[KP_DIRECTION_COUNT])
{
    kp_damper_data data = run->data;
    kp_damper *damper = NULL;
    kp_error ignored = {0};
    kp_findings findings = {0};
    adjuster_of(&data, which)->clicks = clicks;
    bool good = kp_damper_validate(&data, &findings, &ignored) == KP_OK && kp_findings_fault_count(&findings) == 0 &&
                kp_damper_variant(run->damper, &data, &damper, &ignored) == KP_OK;
    for (int d = 0; good && d < KP_DIRECTION_COUNT; d++) {
        double speed = d == KP_COMPRESSION ? options->limits.low : -options->limits.low;
        good = kp_curve_at(damper, speed, &points[d], &ignored) == KP_OK;
    }
    kp_damper_free(damper);
    kp_findings_free(&findings);
    return good;
}

kp_status kp_say_cross_talk(kp_lines *lines, const kp_run *run, const kp_options *options, kp_error *error)
{
    (void)error;
    for (int which = 0; which < KP_DIRECTION_COUNT; which++) {
        kp_damper_data data = run->data;
        const kp_adjuster_data *adjuster = adjuster_of(&data, (kp_direction)which);
        kp_curve_point now[KP_DIRECTION_COUNT];
        kp_curve_point open[KP_DIRECTION_COUNT];
        if (adjuster == NULL || !forces_at(run, options, (kp_direction)which, adjuster->clicks, now) ||
            !forces_at(run, options, (kp_direction)which, adjuster->max_clicks, open)) {
            continue;
        }
        char speed[KP_SHOWN];
        int other = 1 - which;
        bool both = adjuster->flows == KP_FLOWS_BOTH;
        kp_lines_add(
            lines,
            "%s adjuster at %d of %d clicks from closed. Fully open, %s at %s would change by %+.1f %%, and %s by "
            "%+.1f %% (oil's force)%s.",
            which == KP_COMPRESSION ? "Compression" : "Rebound", adjuster->clicks, adjuster->max_clicks,
            kp_direction_name((kp_direction)which),
            kp_show(options->limits.low, KP_DIM_SPEED, 3, options->units, speed),
            force_change(&now[which], &open[which]), kp_direction_name((kp_direction)other),
            force_change(&now[other], &open[other]), both ? ": no check stands in it, so it is open both ways" : "");
    }
    return KP_OK;
}

/* ---- members ---------------------------------------------------------------------------------------------------- */

static void set_temperatures(kp_members *members, const kp_options *options, const kp_damper_data *base)
{
    members->sweep = (kp_sweep){.name = "temperature", .dimension = KP_DIM_TEMPERATURE};
    members->count = options->temperatures.count;
    for (size_t i = 0; i < members->count; i++) {
        members->data[i] = *base;
        members->data[i].oil_temperature = members->sweep.values[i] = options->temperatures.values[i];
        kp_show(options->temperatures.values[i], KP_DIM_TEMPERATURE, 0, options->units, members->labels[i]);
    }
}

static void set_charges(kp_members *members, const kp_options *options, const kp_damper_data *base)
{
    members->sweep = (kp_sweep){.name = "charge", .dimension = KP_DIM_PRESSURE};
    members->count = options->charges.count;
    for (size_t i = 0; i < members->count; i++) {
        members->data[i] = *base;
        members->data[i].gas.charge_pressure = members->sweep.values[i] = options->charges.values[i];
        members->data[i].charge_was_gauge = options->charges_gauge;
        char shown[KP_SHOWN];
        double shift = options->charges_gauge ? KP_ATMOSPHERE : 0.0;
        snprintf(members->labels[i], LABEL, "%s %s",
                 kp_show(options->charges.values[i] - shift, KP_DIM_PRESSURE, 1, options->units, shown),
                 options->charges_gauge ? "gauge" : "absolute");
    }
}

/* Six places from closed to open, fewer when there are fewer clicks. */
static kp_status set_sweep(kp_members *members, const kp_options *options, const kp_damper_data *base, kp_error *error)
{
    enum { STEPS = 5 };
    kp_damper_data copy = *base;
    const kp_adjuster_data *adjuster = adjuster_of(&copy, options->sweep);
    if (adjuster == NULL) {
        return kp_error_set(error, KP_BAD_INPUT, "--clicks-sweep %s: the file has no %s adjuster (%s)",
                            kp_direction_name(options->sweep), kp_direction_name(options->sweep),
                            options->sweep == KP_REBOUND ? "piston.adjuster" : "reservoir.adjuster");
    }
    members->sweep = (kp_sweep){.name = "clicks", .dimension = KP_DIM_NONE};
    int last = -1;
    for (int i = 0; i <= STEPS; i++) {
        int clicks = (adjuster->max_clicks * i + STEPS / 2) / STEPS;
        if (clicks == last) {
            continue;
        }
        last = clicks;
        members->data[members->count] = *base;
        adjuster_of(&members->data[members->count], options->sweep)->clicks = clicks;
        members->sweep.values[members->count] = clicks;
        snprintf(members->labels[members->count], LABEL, "%d click%s", clicks, clicks == 1 ? "" : "s");
        members->count++;
    }
    return KP_OK;
}

static kp_status work_out(kp_members *members, const kp_run *base, const kp_options *options, kp_lines *warnings,
                          kp_error *error)
{
    kp_status status = KP_OK;
    const char *only = options->temperatures.count > 0 ? "temperature"
                       : options->charges.count > 0    ? "gas."
                                                       : "piston.";
    for (size_t i = 0; status == KP_OK && i < members->count; i++) {
        status = kp_cli_validate(base->path, &members->data[i], only, warnings, error);
        if (status == KP_OK) {
            status = kp_run_begin_variant(&members->runs[i], base, &members->data[i], options, error);
        }
        if (status != KP_OK) {
            return kp_error_prefix(error, "%s: ", members->labels[i]);
        }
        snprintf(members->paths[i], sizeof members->paths[i], "%.250s, %s", base->path, members->labels[i]);
        members->runs[i].path = members->paths[i];
        kp_run_warn(&members->runs[i], options->units, warnings);
        snprintf(members->runs[i].data.name, sizeof members->runs[i].data.name, "%s", members->labels[i]);
    }
    return status;
}

/* ---- what is said ------------------------------------------------------------------------------------------------ */

/* Force at each speed, one column a member. */
static kp_status fill_forces(kp_section *section, const kp_members *members, kp_direction direction, kp_error *error)
{
    kp_table *table = &section->table;
    kp_status status = kp_table_add_column(table, "speed", "speed", KP_DIM_SPEED, 3, NULL, error);
    for (size_t m = 0; status == KP_OK && m < members->count; m++) {
        char name[32];
        snprintf(name, sizeof name, "force_%zu", m);
        status = kp_table_add_column(table, name, members->labels[m], KP_DIM_FORCE, 0, NULL, error);
    }
    for (size_t i = 0; status == KP_OK && i < members->runs[0].count; i++) {
        size_t row;
        status = kp_table_add_row(table, &row, error);
        for (size_t m = 0; status == KP_OK && m < members->count; m++) {
            const kp_curve_point *point = &members->runs[m].points[direction][i];
            kp_table_set(table, row, 0, fabs(point->speed));
            kp_table_set(table, row, 1 + m, point->force);
        }
    }
    return status;
}

/* The margin of each member: where it is gone, or what is left. */
static kp_status fill_margins(kp_section *section, const kp_members *members, const kp_options *options,
                              kp_error *error)
{
    kp_table *table = &section->table;
    static const char *const names[] = {"member", "gas", "compression", "rebound"};
    static const char *const headings[] = {"", "gas here, absolute", "compression cavitates", "rebound cavitates"};
    kp_status status = KP_OK;
    for (size_t i = 0; status == KP_OK && i < sizeof names / sizeof names[0]; i++) {
        status = kp_table_add_text_column(table, names[i], headings[i], NULL, error);
    }
    for (size_t m = 0; status == KP_OK && m < members->count; m++) {
        const kp_run *run = &members->runs[m];
        char shown[KP_SHOWN];
        size_t row;
        status = kp_table_add_row(table, &row, error);
        status = status == KP_OK ? kp_table_set_text(table, row, 0, members->labels[m], error) : status;
        if (status == KP_OK) {
            kp_show(run->gas_pressure, KP_DIM_PRESSURE, 1, options->units, shown);
            status = kp_table_set_text(table, row, 1, shown, error);
        }
        for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
            const kp_curve_summary *summary = &run->summaries[d];
            char words[2 * KP_SHOWN];
            snprintf(words, sizeof words, "%s%s", summary->margin_goes ? "! from " : "no, to ",
                     kp_show(summary->margin_goes ? summary->margin_speed : options->limits.top, KP_DIM_SPEED, 3,
                             options->units, shown));
            status = kp_table_set_text(table, row, 2 + (size_t)d, words, error);
        }
    }
    return status;
}

static bool fill_extra(cJSON *extra, const kp_members *members)
{
    cJSON *list = NULL;
    bool good = extra != NULL && kp_json_add_text(extra, "family", members->sweep.name) &&
                (list = cJSON_AddArrayToObject(extra, "members")) != NULL;
    for (size_t m = 0; good && m < members->count; m++) {
        cJSON *object = cJSON_CreateObject();
        char name[64];
        kp_column column = {.dimension = members->sweep.dimension};
        snprintf(column.name, sizeof column.name, "%s", members->sweep.name);
        kp_column_full_name(&column, name, sizeof name);
        good = object != NULL && cJSON_AddItemToArray(list, object) &&
               kp_json_add_text(object, "label", members->labels[m]) &&
               kp_json_add_number(object, name, members->sweep.values[m]) &&
               kp_json_add_number(object, "gas_pressure_absolute_Pa", members->runs[m].gas_pressure) &&
               kp_curve_summary_json(object, &members->runs[m], KP_COMPRESSION) &&
               kp_curve_summary_json(object, &members->runs[m], KP_REBOUND);
    }
    return good && kp_json_add_text(extra, "caution", kp_charge_caution);
}

static kp_status fill_output(kp_output *output, const kp_run *base, const kp_members *members, kp_error *error)
{
    const kp_options *options = output->options;
    kp_status status = kp_curve_fill_data(&output->data, members->runs, members->count, &members->sweep, error);
    kp_lines_add(&output->top, "%s, %zu curves by %s%s. %s", kp_title_of(&base->data, base->path), members->count,
                 options->has_sweep ? kp_direction_name(options->sweep) : "",
                 options->has_sweep ? " clicks from closed" : members->sweep.name, kp_estimate_note);
    kp_section *sections[3] = {kp_output_section(output, "Compression, force with gas and friction"),
                               kp_output_section(output, "Rebound, force with gas and friction"),
                               kp_output_section(output, "Cavitation margin")};
    for (int i = 0; status == KP_OK && i < 3; i++) {
        if (sections[i] == NULL) {
            status = kp_error_set(error, KP_NO_MEMORY, "memory ran out while the tables were made");
        } else {
            status = i < 2 ? fill_forces(sections[i], members, (kp_direction)i, error)
                           : fill_margins(sections[i], members, options, error);
        }
    }
    if (status == KP_OK) {
        status = kp_say_cross_talk(&output->foot, base, options, error);
    }
    if (options->charges.count > 0) {
        kp_lines_add(&output->foot, "Charge changes damping only through gas force, seal drag and lost margin.");
    }
    kp_lines_add(&output->foot, "%s", kp_charge_caution);
    output->extra = cJSON_CreateObject();
    if (status == KP_OK && !fill_extra(output->extra, members)) {
        status = kp_error_set(error, KP_NO_MEMORY, "memory ran out while the answer was put together");
    }
    return status;
}

kp_status kp_curve_sweep(const kp_options *options, kp_error *error)
{
    kp_run base = {0};
    kp_output output;
    kp_members *members = calloc(1, sizeof *members);
    kp_status status = kp_output_begin(&output, options, error);
    if (status == KP_OK && members == NULL) {
        status = kp_error_set(error, KP_NO_MEMORY, "memory ran out for a family of curves");
    }
    if (status == KP_OK) {
        status = kp_run_begin(&base, options->files[0], options, &output.warnings, error);
    }
    if (status == KP_OK && options->has_sweep) {
        status = set_sweep(members, options, &base.data, error);
    } else if (status == KP_OK && options->temperatures.count > 0) {
        set_temperatures(members, options, &base.data);
    } else if (status == KP_OK) {
        set_charges(members, options, &base.data);
    }
    if (status == KP_OK) {
        status = work_out(members, &base, options, &output.warnings, error);
    }
    if (status == KP_OK) {
        status = fill_output(&output, &base, members, error);
    }
    if (status == KP_OK && options->plot) {
        status = kp_figure_of_compare(&output, members->runs, members->count, error);
        snprintf(output.figure.title, sizeof output.figure.title, "%s, by %s%s", kp_title_of(&base.data, base.path),
                 options->has_sweep ? kp_direction_name(options->sweep) : "",
                 options->has_sweep ? " clicks from closed" : members->sweep.name);
    }
    if (status == KP_OK) {
        status = kp_output_print(&output, error);
    }
    for (size_t m = 0; members != NULL && m < members->count; m++) {
        kp_run_free(&members->runs[m]);
    }
    free(members);
    kp_run_free(&base);
    kp_output_free(&output);
    return status;
}
