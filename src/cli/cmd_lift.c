/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `lift`: one stack's mechanics against pressure, beside the handbook's small-deflection answer. */
#include "cli/lift.h"
#include "cli/talk.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* When no pressures are given: from where a flat stack begins to lift to where a hard compression ends. [Pa] */
static const double usual_pressures[] = {0.5e5, 1e5, 2e5, 5e5, 10e5, 20e5, 30e5, 50e5};

static kp_status add_data_columns(kp_table *table, bool discs, const kp_lift_study *study, kp_error *error)
{
    static const struct {
        const char *name, *heading;
        kp_dimension dimension;
        int decimals;
    } columns[] = {{"pressure", "pressure", KP_DIM_PRESSURE, 2},
                   {"seat_lift", "seat lift", KP_DIM_LENGTH, 3},
                   {"opening", "opening", KP_DIM_LENGTH, 3},
                   {"edge_lift", "edge lift", KP_DIM_LENGTH, 3},
                   {"small_deflection_edge_lift", "edge lift, small deflection", KP_DIM_LENGTH, 3},
                   {"peak_stress", "peak stress", KP_DIM_STRESS, 0},
                   {"cracking_pressure", "cracking pressure", KP_DIM_PRESSURE, 2}};
    kp_status status = KP_OK;
    for (size_t i = 0; status == KP_OK && i < sizeof columns / sizeof columns[0]; i++) {
        status = kp_table_add_column(table, columns[i].name, columns[i].heading, columns[i].dimension,
                                     columns[i].decimals, NULL, error);
    }
    for (size_t i = 0; status == KP_OK && discs && i < study->shim_count; i++) {
        char name[48];
        snprintf(name, sizeof name, "disc%zu_edge_lift", i + 1);
        status = kp_table_add_column(table, name, name, KP_DIM_LENGTH, 3, NULL, error);
        snprintf(name, sizeof name, "disc%zu_peak_stress", i + 1);
        if (status == KP_OK) {
            status = kp_table_add_column(table, name, name, KP_DIM_STRESS, 0, NULL, error);
        }
    }
    if (status == KP_OK) {
        status = kp_table_add_column(table, "past_yield", "past yield", KP_DIM_NONE, 0, NULL, error);
    }
    return status == KP_OK ? kp_table_add_text_column(table, "note", "", NULL, error) : status;
}

/* "shims 1 to 3 would set or break": the lines past their yield, neighbours taken together. */
static void yield_note(const kp_lift_study *study, const kp_lift_row *row, char *note, size_t size)
{
    size_t used = 0;
    note[0] = '\0';
    for (size_t i = 0; i < study->valve->line_count && used < size; i++) {
        size_t last = i;
        char shims[KP_SHOWN];
        if (!kp_lift_row_yields(study, row, i)) {
            continue;
        }
        while (last + 1 < study->valve->line_count && kp_lift_row_yields(study, row, last + 1)) {
            last++;
        }
        int wrote = snprintf(note + used, size - used, "%s%s", used > 0 ? ", " : "",
                             kp_shim_numbers(study->valve, i, last, shims));
        used += wrote > 0 ? (size_t)wrote : 0;
        i = last;
    }
    if (used > 0 && used < size) {
        snprintf(note + used, size - used, " would set or break");
    }
}

static kp_status fill_data(kp_table *table, bool discs, const kp_lift_study *study, const kp_lift_row *rows,
                           size_t count, kp_error *error)
{
    for (size_t i = 0; i < count; i++) {
        size_t row;
        size_t column = 0;
        char note[200];
        kp_status status = kp_table_add_row(table, &row, error);
        if (status != KP_OK) {
            return status;
        }
        const double values[] = {rows[i].pressure,        rows[i].seat_lift,   rows[i].opening, rows[i].edge_lift,
                                 rows[i].small_edge_lift, rows[i].peak_stress, study->cracking};
        for (size_t j = 0; j < sizeof values / sizeof values[0]; j++) {
            kp_table_set(table, row, column++, values[j]);
        }
        for (size_t line = 0; discs && line < study->valve->line_count; line++) {
            for (int k = 0; k < study->valve->lines[line].count; k++) {
                kp_table_set(table, row, column++, rows[i].line_edge_lift[line]);
                kp_table_set(table, row, column++, rows[i].line_stress[line]);
            }
        }
        yield_note(study, &rows[i], note, sizeof note);
        kp_table_set(table, row, column++, note[0] != '\0' ? 1.0 : 0.0);
        status = kp_table_set_text(table, row, column, note, error);
        if (status != KP_OK) {
            return status;
        }
    }
    return KP_OK;
}

/* The table for people: the same numbers, the mark in front, the constant cracking pressure left to the heading. */
static kp_status fill_section(kp_section *section, const kp_lift_study *study, const kp_lift_row *rows, size_t count,
                              kp_error *error)
{
    kp_table *table = &section->table;
    kp_status status = kp_table_add_text_column(table, "mark", "", NULL, error);
    if (status == KP_OK) {
        status = add_data_columns(table, false, study, error);
    }
    if (status != KP_OK) {
        return status;
    }
    enum { MARK, PRESSURE, SEAT, OPENING, EDGE, SMALL, STRESS, CRACKING, YIELD, NOTE };
    table->columns[CRACKING].hidden = true;
    table->columns[YIELD].hidden = true;
    for (size_t i = 0; status == KP_OK && i < count; i++) {
        size_t row;
        char note[200];
        status = kp_table_add_row(table, &row, error);
        if (status != KP_OK) {
            break;
        }
        yield_note(study, &rows[i], note, sizeof note);
        const double values[] = {rows[i].pressure,  rows[i].seat_lift,       rows[i].opening,
                                 rows[i].edge_lift, rows[i].small_edge_lift, rows[i].peak_stress};
        for (size_t j = 0; j < sizeof values / sizeof values[0]; j++) {
            kp_table_set(table, row, PRESSURE + j, values[j]);
        }
        kp_table_set(table, row, CRACKING, study->cracking);
        kp_table_set(table, row, YIELD, note[0] != '\0' ? 1.0 : 0.0);
        status = kp_table_set_text(table, row, MARK, note[0] != '\0' ? "!" : "", error);
        if (status == KP_OK) {
            if (note[0] == '\0' && rows[i].held) {
                snprintf(note, sizeof note, "seat holds it shut");
            }
            status = kp_table_set_text(table, row, NOTE, note, error);
        }
    }
    return status;
}

/* Every shim by itself: a block of rows for each pressure. */
static kp_status fill_discs_section(kp_output *output, const kp_lift_study *study, const kp_lift_row *rows,
                                    size_t count, kp_error *error)
{
    kp_section *section = kp_output_section(output, "Every shim; shim 1 lies on the seat.");
    if (section == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out while the table was made");
    }
    kp_table *table = &section->table;
    enum { MARK, PRESSURE, SHIM, SIZE, EDGE, STRESS, NOTE };
    kp_status status = kp_table_add_text_column(table, "mark", "", NULL, error);
    status =
        status == KP_OK ? kp_table_add_column(table, "pressure", "pressure", KP_DIM_PRESSURE, 2, NULL, error) : status;
    status = status == KP_OK ? kp_table_add_column(table, "shim", "shim", KP_DIM_NONE, 0, NULL, error) : status;
    status = status == KP_OK ? kp_table_add_text_column(table, "size", "size", NULL, error) : status;
    status =
        status == KP_OK ? kp_table_add_column(table, "edge_lift", "edge lift", KP_DIM_LENGTH, 3, NULL, error) : status;
    status =
        status == KP_OK ? kp_table_add_column(table, "stress", "peak stress", KP_DIM_STRESS, 0, NULL, error) : status;
    status = status == KP_OK ? kp_table_add_text_column(table, "note", "", NULL, error) : status;
    for (size_t i = 0; i < count; i++) {
        size_t shim = 0;
        for (size_t line = 0; line < study->valve->line_count; line++) {
            bool past = kp_lift_row_yields(study, &rows[i], line);
            char size[KP_SHOWN];
            kp_shim_words(&study->valve->lines[line], output->options->units, size);
            for (int k = 0; status == KP_OK && k < study->valve->lines[line].count; k++) {
                size_t row;
                status = kp_table_add_row(table, &row, error);
                if (status != KP_OK) {
                    break;
                }
                kp_table_set(table, row, PRESSURE, rows[i].pressure);
                kp_table_set(table, row, SHIM, (double)++shim);
                kp_table_set(table, row, EDGE, rows[i].line_edge_lift[line]);
                kp_table_set(table, row, STRESS, rows[i].line_stress[line]);
                status = kp_table_set_text(table, row, MARK, past ? "!" : "", error);
                status = status == KP_OK ? kp_table_set_text(table, row, SIZE, size, error) : status;
                status = status == KP_OK ? kp_table_set_text(table, row, NOTE, past ? "would set or break" : "", error)
                                         : status;
            }
        }
    }
    return status;
}

static void say_top(kp_output *output, const kp_lift_study *study, const kp_damper_data *data)
{
    kp_unit_system units = output->options->units;
    char words[KP_STACK_WORDS];
    char cracking[KP_SHOWN];
    char clamp[KP_SHOWN];
    char dish[KP_SHOWN];
    kp_lines_add(&output->top, "%s: %s stack%s", kp_title_of(data, output->options->files[0]),
                 kp_direction_name(study->direction), output->options->free ? ", without its seat" : "");
    kp_lines_add(&output->top, "From the piston face outward: %s.", kp_stack_words(study->valve, units, words));
    kp_lines_add(&output->top, "Clamp %s, dish %s.",
                 kp_show(study->valve->clamp_washer, KP_DIM_LENGTH, 2, units, clamp),
                 kp_show(study->valve->dish, KP_DIM_LENGTH, 3, units, dish));
    if (study->cracking > 0.0) {
        kp_lines_add(&output->top, "It cracks at %s%s.", kp_show(study->cracking, KP_DIM_PRESSURE, 2, units, cracking),
                     output->options->free ? " on its seat" : "");
    }
    kp_lines_add(&output->top, "%s", kp_estimate_note);
    if (!output->options->has_direction) {
        kp_lines_add(&output->foot, "The other stack: --direction rebound.");
    }
    kp_lines_add(&output->foot, "Small deflection: %s", kp_lift_small_words(study));
}

static kp_status fill_output(kp_output *output, const kp_lift_study *study, const kp_damper_data *data,
                             const kp_lift_row *rows, size_t count, kp_error *error)
{
    const kp_options *options = output->options;
    kp_status status = add_data_columns(&output->data, options->discs, study, error);
    if (status == KP_OK) {
        status = fill_data(&output->data, options->discs, study, rows, count, error);
    }
    if (status != KP_OK) {
        return status;
    }
    say_top(output, study, data);
    kp_section *section = kp_output_section(output, "Face shim against pressure.");
    if (section == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out while the table was made");
    }
    status = fill_section(section, study, rows, count, error);
    if (status == KP_OK && options->discs) {
        status = fill_discs_section(output, study, rows, count, error);
    }
    output->extra = cJSON_CreateObject();
    if (status == KP_OK && (output->extra == NULL || !kp_json_add_text(output->extra, "name", data->name) ||
                            !kp_json_add_text(output->extra, "direction", kp_direction_name(study->direction)) ||
                            cJSON_AddBoolToObject(output->extra, "free", options->free) == NULL ||
                            !kp_json_add_text(output->extra, "small_deflection", kp_lift_small_words(study)))) {
        status = kp_error_set(error, KP_NO_MEMORY, "memory ran out while the answer was put together");
    }
    return status;
}

kp_status kp_cmd_lift(const kp_options *options, kp_error *error)
{
    kp_damper_data data;
    kp_output output;
    kp_lift_study study = {0};
    kp_status status = kp_output_begin(&output, options, error);
    if (status == KP_OK) {
        status = kp_cli_read_damper(options->files[0], options, &data, &output.warnings, error);
    }
    size_t count = options->pressures.count;
    const double *pressures = options->pressures.values;
    if (count == 0) {
        count = sizeof usual_pressures / sizeof usual_pressures[0];
        pressures = usual_pressures;
    }
    kp_lift_row *rows = calloc(count, sizeof *rows);
    if (status == KP_OK && rows == NULL) {
        status = kp_error_set(error, KP_NO_MEMORY, "memory ran out for %zu pressures", count);
    }
    double most = 0.0;
    for (size_t i = 0; i < count; i++) {
        most = fmax(most, pressures[i]);
    }
    if (status == KP_OK) {
        status = kp_lift_study_begin(&data, options->direction, &study, error);
    }
    if (status == KP_OK) {
        status = kp_lift_study_rows(&study, pressures, count, options->free, rows, error);
    }
    if (status != KP_OK && error->message[0] != '\0' && study.valve != NULL) {
        kp_error_prefix(error, "%s: ", options->files[0]);
    }
    if (status == KP_OK) {
        status = fill_output(&output, &study, &data, rows, count, error);
    }
    if (status == KP_OK && options->plot) {
        status = kp_figure_of_lift(&output, &study, kp_title_of(&data, options->files[0]),
                                   most > 0.0 ? most : usual_pressures[0], error);
    }
    if (status == KP_OK) {
        status = kp_output_print(&output, error);
    }
    kp_lift_study_end(&study);
    free(rows);
    kp_output_free(&output);
    return status;
}
