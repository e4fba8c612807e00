/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The tables of `lift`: the face shim against pressure, and every shim. */
#include "cli/lift.h"
#include "cli/messages.h"

#include <stdio.h>
#include <string.h>

static const struct {
    const char *name;
    kp_dimension dimension;
} disc_stresses[] = {{"peak_stress", KP_DIM_STRESS},
                     {"mean_stress", KP_DIM_STRESS},
                     {"alternating_stress", KP_DIM_STRESS},
                     {"fatigue_use", KP_DIM_NONE}};
enum { DISC_STRESSES = sizeof disc_stresses / sizeof disc_stresses[0] };

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
        for (size_t k = 0; status == KP_OK && k < DISC_STRESSES; k++) {
            snprintf(name, sizeof name, "disc%zu_%s", i + 1, disc_stresses[k].name);
            status = kp_table_add_column(table, name, name, disc_stresses[k].dimension, 2, NULL, error);
        }
    }
    if (status == KP_OK) {
        status = kp_table_add_column(table, "fatigue_use", "fatigue use", KP_DIM_NONE, 2, NULL, error);
    }
    if (status == KP_OK) {
        status = kp_table_add_column(table, "past_yield", "past yield", KP_DIM_NONE, 0, NULL, error);
    }
    return status == KP_OK ? kp_table_add_text_column(table, "note", "", NULL, error) : status;
}

static bool any_yields(const kp_lift_study *study, const kp_lift_row *row)
{
    bool any = false;
    for (size_t i = 0; i < study->valve->line_count; i++) {
        any = any || kp_lift_row_yields(study, row, i);
    }
    return any;
}

static kp_status fill_data(kp_table *table, bool discs, const kp_lift_study *study, const kp_lift_row *rows,
                           size_t count, kp_error *error)
{
    for (size_t i = 0; i < count; i++) {
        size_t row;
        size_t column = 0;
        char note[KP_LIFT_NOTE];
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
                kp_table_set(table, row, column++, rows[i].line_cycle[line].mean);
                kp_table_set(table, row, column++, rows[i].line_cycle[line].amplitude);
                kp_table_set(table, row, column++, rows[i].line_cycle[line].use);
            }
        }
        kp_lift_note(study, &rows[i], note);
        kp_table_set(table, row, column++, rows[i].fatigue_use);
        kp_table_set(table, row, column++, any_yields(study, &rows[i]) ? 1.0 : 0.0);
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
    enum { MARK, PRESSURE, SEAT, OPENING, EDGE, SMALL, STRESS, CRACKING, FATIGUE, YIELD, NOTE };
    table->columns[CRACKING].hidden = true;
    table->columns[YIELD].hidden = true;
    for (size_t i = 0; status == KP_OK && i < count; i++) {
        size_t row;
        char note[KP_LIFT_NOTE];
        status = kp_table_add_row(table, &row, error);
        if (status != KP_OK) {
            break;
        }
        kp_lift_note(study, &rows[i], note);
        const double values[] = {rows[i].pressure,  rows[i].seat_lift,       rows[i].opening,
                                 rows[i].edge_lift, rows[i].small_edge_lift, rows[i].peak_stress};
        for (size_t j = 0; j < sizeof values / sizeof values[0]; j++) {
            kp_table_set(table, row, PRESSURE + j, values[j]);
        }
        kp_table_set(table, row, CRACKING, study->cracking);
        bool past = any_yields(study, &rows[i]);
        kp_table_set(table, row, FATIGUE, rows[i].fatigue_use);
        kp_table_set(table, row, YIELD, past ? 1.0 : 0.0);
        status = kp_table_set_text(table, row, MARK, past ? "!" : "", error);
        if (status == KP_OK) {
            if (rows[i].held) {
                size_t used = strlen(note);
                snprintf(note + used, sizeof note - used, "%sseat holds it shut", used > 0 ? "; " : "");
            }
            status = kp_table_set_text(table, row, NOTE, note, error);
        }
    }
    return status;
}

enum {
    DISC_MARK,
    DISC_PRESSURE,
    DISC_SHIM,
    DISC_SIZE,
    DISC_EDGE,
    DISC_PEAK,
    DISC_MEAN,
    DISC_ALTERNATING,
    DISC_USE,
    DISC_NOTE
};

static kp_status add_disc_columns(kp_table *table, kp_error *error)
{
    static const struct {
        const char *name, *heading;
        kp_dimension dimension;
        int decimals;
    } columns[] = {{"edge_lift", "edge lift", KP_DIM_LENGTH, 3},
                   {"stress", "peak stress", KP_DIM_STRESS, 0},
                   {"mean", "mean stress", KP_DIM_STRESS, 0},
                   {"alternating", "alternating stress", KP_DIM_STRESS, 0},
                   {"use", "fatigue use", KP_DIM_NONE, 2}};
    kp_status status = kp_table_add_text_column(table, "mark", "", NULL, error);
    status =
        status == KP_OK ? kp_table_add_column(table, "pressure", "pressure", KP_DIM_PRESSURE, 2, NULL, error) : status;
    status = status == KP_OK ? kp_table_add_column(table, "shim", "shim", KP_DIM_NONE, 0, NULL, error) : status;
    status = status == KP_OK ? kp_table_add_text_column(table, "size", "size", NULL, error) : status;
    for (size_t i = 0; status == KP_OK && i < sizeof columns / sizeof columns[0]; i++) {
        status = kp_table_add_column(table, columns[i].name, columns[i].heading, columns[i].dimension,
                                     columns[i].decimals, NULL, error);
    }
    return status == KP_OK ? kp_table_add_text_column(table, "note", "", NULL, error) : status;
}

static const char *disc_note(const kp_lift_study *study, const kp_lift_row *row, size_t line)
{
    if (study->parts[line] == KP_SHIM_SPACER) {
        return "clamped whole";
    }
    return kp_lift_row_yields(study, row, line)  ? "would set or break"
           : kp_lift_row_tires(study, row, line) ? "would tire"
                                                 : "";
}

static kp_status add_disc_row(kp_table *table, const kp_lift_study *study, const kp_lift_row *from, size_t line,
                              size_t shim, const char *size, kp_error *error)
{
    size_t row;
    kp_status status = kp_table_add_row(table, &row, error);
    if (status != KP_OK) {
        return status;
    }
    kp_table_set(table, row, DISC_PRESSURE, from->pressure);
    kp_table_set(table, row, DISC_SHIM, (double)shim);
    kp_table_set(table, row, DISC_EDGE, from->line_edge_lift[line]);
    kp_table_set(table, row, DISC_PEAK, from->line_stress[line]);
    kp_table_set(table, row, DISC_MEAN, from->line_cycle[line].mean);
    kp_table_set(table, row, DISC_ALTERNATING, from->line_cycle[line].amplitude);
    kp_table_set(table, row, DISC_USE, from->line_cycle[line].use);
    status = kp_table_set_text(table, row, DISC_MARK, kp_lift_row_yields(study, from, line) ? "!" : "", error);
    status = status == KP_OK ? kp_table_set_text(table, row, DISC_SIZE, size, error) : status;
    return status == KP_OK ? kp_table_set_text(table, row, DISC_NOTE, disc_note(study, from, line), error) : status;
}

/* Every shim by itself: a block of rows for each pressure. */
static kp_status fill_discs_section(kp_output *output, const kp_lift_study *study, const kp_lift_row *rows,
                                    size_t count, kp_error *error)
{
    kp_section *section = kp_output_section(output, "Every shim; shim 1 lies on the seat.");
    if (section == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out while the table was made");
    }
    kp_status status = add_disc_columns(&section->table, error);
    for (size_t i = 0; i < count; i++) {
        size_t shim = 0;
        for (size_t line = 0; line < study->valve->line_count; line++) {
            char size[KP_SHIM_WORDS];
            kp_shim_words(&study->valve->lines[line], output->options->units, size);
            for (int k = 0; status == KP_OK && k < study->valve->lines[line].count; k++) {
                status = add_disc_row(&section->table, study, &rows[i], line, ++shim, size, error);
            }
        }
    }
    return status;
}

kp_status kp_lift_table_fill(kp_output *output, const kp_lift_study *study, const kp_lift_row *rows, size_t count,
                             kp_error *error)
{
    bool discs = output->options->discs;
    kp_status status = add_data_columns(&output->data, discs, study, error);
    if (status == KP_OK) {
        status = fill_data(&output->data, discs, study, rows, count, error);
    }
    kp_section *section = kp_output_section(output, "Face shim against pressure.");
    if (status == KP_OK && section == NULL) {
        status = kp_error_set(error, KP_NO_MEMORY, "memory ran out while the table was made");
    }
    if (status == KP_OK) {
        status = fill_section(section, study, rows, count, error);
    }
    kp_lines_add(&output->foot, "%s", kp_fatigue_words);
    return status == KP_OK && discs ? fill_discs_section(output, study, rows, count, error) : status;
}
