/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The table of sensitivities: what is hard to measure, and how far it moves the pressure that opens the seat. */
#include "report/lift_report.h"

#include <math.h>
#include <stdio.h>

#define WORDS_SIZE 120

static const kp_column_spec mark_column = KP_TEXT_COLUMN("mark", "");
static const kp_column_spec columns[] = {KP_TEXT_COLUMN("sensitivity", "sensitivity"),
                                         {"opening", "opening", KP_DIM_LENGTH, 3, false, true},
                                         KP_NUMBER_COLUMN("pressure", "pressure", KP_DIM_PRESSURE, 2),
                                         KP_NUMBER_COLUMN("change_percent", "change, %", KP_DIM_NONE, 1),
                                         {"past_yield", "past yield", KP_DIM_NONE, 0, false, true},
                                         KP_TEXT_COLUMN("note", "")};

/* "clamp 1.0 mm larger" */
static const char *write_words(const kp_lift_sensitivity *row, kp_unit_system units, char words[WORDS_SIZE])
{
    const char *step = KP_SHOW(fabs(row->step), KP_DIM_LENGTH, row->parameter == KP_LIFT_THICKNESS ? 3 : 1, units);
    bool larger = row->step > 0.0;

    switch (row->parameter) {
    case KP_LIFT_GRIP:
        if (row->grip == KP_GRIP_HELD) {
            return "grip held instead of sliding";
        }
        snprintf(words, WORDS_SIZE, "grip sliding instead of held (hole %s%s)",
                 KP_SHOW(row->hole, KP_DIM_LENGTH, 1, units), row->hole_assumed ? ", assumed" : "");
        return words;
    case KP_LIFT_CLAMP:
    case KP_LIFT_LAND:
        snprintf(words, WORDS_SIZE, "%s %s %s", row->parameter == KP_LIFT_CLAMP ? "clamp" : "land", step,
                 larger ? "larger" : "smaller");
        return words;
    case KP_LIFT_THICKNESS:
        snprintf(words, WORDS_SIZE, "every shim %s %s", step, larger ? "thicker" : "thinner");
        return words;
    default:
        return "as in the file";
    }
}

/* In the data a row has the same name in every system of units. */
static void add_rows(kp_table *table, const kp_lift_sensitivity *rows, double opening, bool people,
                     kp_unit_system units)
{
    kp_table_add_columns(table, &mark_column, people ? 1 : 0);
    kp_table_add_columns(table, columns, KP_COUNT(columns));

    for (size_t i = 0; i < KP_LIFT_SENSITIVITIES; i++) {
        const kp_lift_sensitivity *row = &rows[i];
        kp_row out = kp_row_add(table);
        char words[WORDS_SIZE];
        char note[WORDS_SIZE] = "";

        if (row->past_yield) {
            snprintf(note, sizeof note, "a shim would set or break");
        } else if (!row->solved) {
            snprintf(note, sizeof note, "impossible: %.100s", row->why_not);
        }

        if (people) {
            kp_row_text(&out, row->past_yield ? "!" : "");
        }
        kp_row_text(&out, write_words(row, people ? units : KP_UNITS_METRIC, words));

        /* The nominal row has no change to show; in the data it is 0. */
        kp_row_number(&out, opening);
        kp_row_number(&out, row->pressure);
        kp_row_number(&out, people && row->parameter == KP_LIFT_NOMINAL ? (double)NAN : 100.0 * row->change);
        kp_row_number(&out, row->past_yield ? 1.0 : 0.0);
        kp_row_text(&out, note);
    }
}

void kp_report_lift_sensitivity(kp_report *report, const kp_lift_study *study, const kp_damper_data *data)
{
    double opening = report->request->sensitivity_lift;
    kp_unit_system units = report->request->units;
    kp_lift_sensitivity rows[KP_LIFT_SENSITIVITIES];
    if (kp_lift_sensitivities(data, study->direction, opening, rows, &report->failure) != KP_OK) {
        return;
    }

    kp_section *section = kp_report_section(
        report, "Pressure that opens the seat by %s, and how it changes with what is hard to measure.",
        KP_SHOW(opening, KP_DIM_LENGTH, 3, units));
    add_rows(&report->data, rows, opening, false, units);
    add_rows(&section->table, rows, opening, true, units);

    kp_lines_add(
        &report->foot,
        "Sizes of clamp and land are diameters. Thickness: 0.008 mm is the precision tolerance of 0.20 to 0.25 "
        "mm stainless strip in EN ISO 9445, whose normal one is 0.015 mm; shims of one strip share it, so all "
        "are changed together.");
}
