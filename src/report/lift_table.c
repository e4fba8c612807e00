/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The tables of lift against pressure: the face shim, and every shim. */
#include "report/lift_report.h"

#include <stdio.h>
#include <stdlib.h>

/* From where a flat stack begins to lift to the end of a hard compression. [Pa] */
static const double usual_pressures[] = {0.5e5, 1e5, 2e5, 5e5, 10e5, 20e5, 30e5, 50e5};

const double *kp_lift_pressures(const kp_request *request, size_t *count)
{
    bool given = request->pressures.count > 0;
    *count = given ? request->pressures.count : KP_COUNT(usual_pressures);
    return given ? request->pressures.values : usual_pressures;
}

#define NOTE_SIZE 320

/* ---- notes ------------------------------------------------------------------------------------------------------- */

static bool yields(const kp_lift_line *line)
{
    return line->yields;
}

static bool tires(const kp_lift_line *line)
{
    return line->tires;
}

/* Names the shims for which a test holds, neighbouring lines together. */
static void add_shims(const kp_lift_study *study, const kp_lift_row *row, bool (*holds)(const kp_lift_line *),
                      const char *words, char note[NOTE_SIZE])
{
    const char *separator = note[0] != '\0' ? "; " : "";
    bool any = false;

    for (size_t i = 0; i < study->valve->line_count; i++) {
        size_t last = i;
        char shims[KP_SHOWN];
        if (!holds(&row->lines[i])) {
            continue;
        }

        /* The run of lines from i for which it holds, as one group. */
        while (last + 1 < study->valve->line_count && holds(&row->lines[last + 1])) {
            last++;
        }
        kp_append(note, NOTE_SIZE, "%s%s", any ? ", " : separator, kp_shim_numbers(study->valve, i, last, shims));
        any = true;
        i = last;
    }

    if (any) {
        kp_append(note, NOTE_SIZE, " %s", words);
    }
}

/* "shims 1 to 3 would set or break; shim 4 would tire" */
static const char *write_note(const kp_lift_study *study, const kp_lift_row *row, char note[NOTE_SIZE])
{
    note[0] = '\0';
    add_shims(study, row, yields, "would set or break", note);
    add_shims(study, row, tires, "would tire", note);
    return note;
}

/* ---- the face shim ----------------------------------------------------------------------------------------------- */

static const kp_column_spec mark_column = KP_TEXT_COLUMN("mark", "");

static const kp_column_spec face_columns[] = {
    KP_NUMBER_COLUMN("pressure", "pressure", KP_DIM_PRESSURE, 2),
    KP_NUMBER_COLUMN("seat_lift", "seat lift", KP_DIM_LENGTH, 3),
    KP_NUMBER_COLUMN("seat_lift_crest", "at a crest", KP_DIM_LENGTH, 3),
    {"seat_lift_valley", "in a valley", KP_DIM_LENGTH, 3, false, true},
    KP_NUMBER_COLUMN("opening", "opening", KP_DIM_LENGTH, 3),
    {"opening_max", "largest opening", KP_DIM_LENGTH, 3, false, true},
    KP_NUMBER_COLUMN("lobes", "lobes", KP_DIM_NONE, 0),
    KP_NUMBER_COLUMN("edge_lift", "edge lift", KP_DIM_LENGTH, 3),
    KP_NUMBER_COLUMN("round_edge_lift", "held round", KP_DIM_LENGTH, 3),
    KP_NUMBER_COLUMN("small_deflection_edge_lift", "edge lift, small deflection", KP_DIM_LENGTH, 3),
    KP_NUMBER_COLUMN("peak_stress", "peak stress", KP_DIM_STRESS, 0),
    {"cracking_pressure", "cracking pressure", KP_DIM_PRESSURE, 2, false, true}};

static const kp_column_spec verdict_columns[] = {KP_NUMBER_COLUMN("fatigue_use", "fatigue use", KP_DIM_NONE, 2),
                                                 {"past_yield", "past yield", KP_DIM_NONE, 0, false, true},
                                                 KP_TEXT_COLUMN("note", "")};

/* Columns of the data for each shim, named "disc1_edge_lift". */
static void add_shim_columns(kp_table *table, size_t shim_count)
{
    static const kp_column_spec columns[] = {KP_NUMBER_COLUMN("edge_lift", "", KP_DIM_LENGTH, 3),
                                             KP_NUMBER_COLUMN("peak_stress", "", KP_DIM_STRESS, 2),
                                             KP_NUMBER_COLUMN("mean_stress", "", KP_DIM_STRESS, 2),
                                             KP_NUMBER_COLUMN("alternating_stress", "", KP_DIM_STRESS, 2),
                                             KP_NUMBER_COLUMN("fatigue_use", "", KP_DIM_NONE, 2)};

    for (size_t i = 0; i < shim_count; i++) {
        for (size_t k = 0; k < KP_COUNT(columns); k++) {
            char name[48];
            kp_column_spec column = columns[k];
            snprintf(name, sizeof name, "disc%zu_%s", i + 1, column.name);
            column.name = column.heading = name;
            kp_table_add_columns(table, &column, 1);
        }
    }
}

static void add_line_numbers(kp_row *out, const kp_lift_line *line)
{
    const double values[] = {line->edge_lift, line->peak_stress, line->cycle.mean, line->cycle.amplitude,
                             line->cycle.use};
    kp_row_numbers(out, values, KP_COUNT(values));
}

static void add_face_row(kp_table *table, const kp_lift_study *study, const kp_lift_row *row, bool people, bool discs)
{
    kp_row out = kp_row_add(table);
    char note[NOTE_SIZE];
    if (people) {
        kp_row_text(&out, row->past_yield ? "!" : "");
    }

    const double values[] = {row->pressure,        row->seat_lift,       row->seat_lift_crest, row->seat_lift_valley,
                             row->opening,         row->opening_max,     (double)row->lobes,   row->edge_lift,
                             row->round_edge_lift, row->small_edge_lift, row->peak_stress,     study->cracking};
    kp_row_numbers(&out, values, KP_COUNT(values));

    /* The shims of a line share its numbers. */
    for (size_t line = 0; discs && line < study->valve->line_count; line++) {
        for (int k = 0; k < study->valve->lines[line].count; k++) {
            add_line_numbers(&out, &row->lines[line]);
        }
    }

    kp_row_number(&out, row->fatigue_use);
    kp_row_number(&out, row->past_yield ? 1.0 : 0.0);

    write_note(study, row, note);
    if (people && row->held) {
        kp_append(note, sizeof note, "%sseat holds it shut", note[0] != '\0' ? "; " : "");
    }
    kp_row_text(&out, note);
}

/* For people: a mark in front, and the constant cracking pressure hidden, since a sentence gives it. */
static void add_face(kp_table *table, const kp_lift_study *study, const kp_lift_row *rows, size_t count, bool people,
                     bool discs)
{
    kp_table_add_columns(table, &mark_column, people ? 1 : 0);
    kp_table_add_columns(table, face_columns, KP_COUNT(face_columns));
    add_shim_columns(table, discs ? study->shim_count : 0);
    kp_table_add_columns(table, verdict_columns, KP_COUNT(verdict_columns));

    for (size_t i = 0; i < count; i++) {
        add_face_row(table, study, &rows[i], people, discs);
    }
}

/* ---- every shim -------------------------------------------------------------------------------------------------- */

static const kp_column_spec disc_columns[] = {KP_TEXT_COLUMN("mark", ""),
                                              KP_NUMBER_COLUMN("pressure", "pressure", KP_DIM_PRESSURE, 2),
                                              KP_NUMBER_COLUMN("shim", "shim", KP_DIM_NONE, 0),
                                              KP_TEXT_COLUMN("size", "size"),
                                              KP_NUMBER_COLUMN("edge_lift", "edge lift", KP_DIM_LENGTH, 3),
                                              KP_NUMBER_COLUMN("stress", "peak stress", KP_DIM_STRESS, 0),
                                              KP_NUMBER_COLUMN("mean", "mean stress", KP_DIM_STRESS, 0),
                                              KP_NUMBER_COLUMN("alternating", "alternating stress", KP_DIM_STRESS, 0),
                                              KP_NUMBER_COLUMN("use", "fatigue use", KP_DIM_NONE, 2),
                                              KP_TEXT_COLUMN("note", "")};

static const char *disc_note(const kp_lift_study *study, const kp_lift_row *row, size_t line)
{
    return study->parts[line] == KP_SHIM_SPACER ? "clamped whole"
           : row->lines[line].yields            ? "would set or break"
           : row->lines[line].tires             ? "would tire"
                                                : "";
}

/* A block of rows for each pressure. */
static void add_discs(kp_table *table, const kp_lift_study *study, const kp_lift_row *rows, size_t count,
                      kp_unit_system units)
{
    kp_table_add_columns(table, disc_columns, KP_COUNT(disc_columns));

    for (size_t i = 0; i < count; i++) {
        size_t shim = 0;
        for (size_t line = 0; line < study->valve->line_count; line++) {
            char size[KP_SHIM_WORDS];
            kp_shim_words(&study->valve->lines[line], units, size);

            for (int k = 0; k < study->valve->lines[line].count; k++) {
                kp_row out = kp_row_add(table);
                kp_row_text(&out, rows[i].lines[line].yields ? "!" : "");
                kp_row_number(&out, rows[i].pressure);
                kp_row_number(&out, (double)++shim);
                kp_row_text(&out, size);
                add_line_numbers(&out, &rows[i].lines[line]);
                kp_row_text(&out, disc_note(study, &rows[i], line));
            }
        }
    }
}

void kp_report_lift_table(kp_report *report, const kp_lift_study *study)
{
    const kp_request *request = report->request;
    size_t count;
    const double *pressures = kp_lift_pressures(request, &count);
    kp_lift_row *rows = calloc(count, sizeof *rows);
    if (rows == NULL) {
        kp_error_set(&report->failure, KP_NO_MEMORY, "memory ran out for %zu pressures", count);
        return;
    }

    if (kp_lift_study_rows(study, pressures, count, request->free, rows, NULL, NULL, &report->failure) == KP_OK) {
        /* The data has every shim in columns, the reader's table only the face shim. */
        add_face(&report->data, study, rows, count, false, request->discs);
        kp_section *face = kp_report_section(report, "Face shim against pressure.");
        add_face(&face->table, study, rows, count, true, false);
        kp_lines_add(&report->foot, "%s", kp_fatigue_words);

        if (request->discs) {
            kp_section *discs = kp_report_section(report, "Every shim; shim 1 lies on the seat.");
            add_discs(&discs->table, study, rows, count, request->units);
        }
    }
    free(rows);
}
