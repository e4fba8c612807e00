/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `compare`: what differs in the parts, and what that does at each speed. */
#include "report/report_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define HEADLINE_SPEED   0.524 /* [m/s] stands for a curve on many dynos (common practice, no source) */
#define SMALLEST_FORCE   0.5   /* [N] what a table would show as 0 is not said */
#define SMALLEST_PERCENT 0.5   /* [%] the same */

/** Runs side by side: each further one is compared with the first. */
typedef struct kp_runs {
    const kp_run *runs;
    size_t count;
} kp_runs;

static double change_of(const kp_runs *all, size_t file, int direction, size_t i)
{
    return kp_point_damping(&all->runs[file].points[direction][i]) -
           kp_point_damping(&all->runs[0].points[direction][i]);
}

/* Against nothing there is no percentage. */
static double percent_of(const kp_runs *all, size_t file, int direction, size_t i)
{
    double first = kp_point_damping(&all->runs[0].points[direction][i]);
    return first > 0.0 ? 100.0 * change_of(all, file, direction, i) / first : (double)NAN;
}

/* "2: cavitates", for every file that has something to say at this point. */
static void add_notes(kp_row *row, const kp_runs *all, int direction, size_t i)
{
    char text[KP_MAX_FILES * KP_NOTE] = "";
    for (size_t file = 0; file < all->count; file++) {
        char note[KP_NOTE];
        if (kp_point_note(&all->runs[file], &all->runs[file].points[direction][i], note)[0] != '\0') {
            kp_append(text, sizeof text, "%s%zu: %s", text[0] != '\0' ? "; " : "", file + 1, note);
        }
    }
    kp_row_text(row, text);
}

/* A column of one file: "force2", "force 2". */
static void add_column(kp_table *table, const char *what, size_t file, const char *ending, const char *heading,
                       kp_dimension dimension, int decimals)
{
    char name[48];
    char full_heading[48];
    snprintf(name, sizeof name, "%s%zu%s", what, file, ending);
    snprintf(full_heading, sizeof full_heading, "%s %zu", heading, file);
    kp_table_add_column(table, name, full_heading, dimension, decimals, NULL, NULL);
}

/* ---- data -------------------------------------------------------------------------------------------------------- */

static void add_data(kp_report *report, const kp_runs *all)
{
    kp_table *table = &report->data;

    kp_table_add_text_column(table, "direction", "direction", NULL, NULL);
    kp_table_add_column(table, "speed", "speed", KP_DIM_SPEED, 3, NULL, NULL);

    for (size_t file = 1; file <= all->count; file++) {
        add_column(table, "force", file, "", "force", KP_DIM_FORCE, 0);
        add_column(table, "damping", file, "", "damping", KP_DIM_FORCE, 0);
    }

    for (size_t file = 2; file <= all->count; file++) {
        add_column(table, "change", file, "", "change", KP_DIM_FORCE, 0);
        add_column(table, "change", file, "_percent", "change, %", KP_DIM_NONE, 1);
    }

    kp_table_add_text_column(table, "note", "", NULL, NULL);

    /* The cells follow the columns: force and damping of every file, then the changes against the first. */
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (size_t i = 0; i < all->runs[0].count; i++) {
            kp_row row = kp_row_add(table);
            kp_row_text(&row, kp_direction_name((kp_direction)d));
            kp_row_number(&row, fabs(all->runs[0].points[d][i].speed));

            for (size_t file = 0; file < all->count; file++) {
                kp_row_number(&row, all->runs[file].points[d][i].force);
                kp_row_number(&row, kp_point_damping(&all->runs[file].points[d][i]));
            }

            for (size_t file = 1; file < all->count; file++) {
                kp_row_number(&row, change_of(all, file, d, i));
                kp_row_number(&row, percent_of(all, file, d, i));
            }

            add_notes(&row, all, d, i);
        }
    }
}

/* ---- tables for people ------------------------------------------------------------------------------------------- */

static void add_section_columns(kp_table *table, size_t count, kp_unit_system units)
{
    kp_table_add_text_column(table, "mark", "", NULL, NULL);
    kp_table_add_column(table, "speed", "speed", KP_DIM_SPEED, 3, NULL, NULL);

    for (size_t file = 1; file <= count; file++) {
        add_column(table, "damping", file, "", "damping", KP_DIM_FORCE, 0);
    }

    for (size_t file = 2; file <= count; file++) {
        char number[24] = "";
        char heading[48];
        /* With two files the heading needs no number. */
        if (count > 2) {
            snprintf(number, sizeof number, " %zu", file);
        }

        snprintf(heading, sizeof heading, "change%s, %s", number, kp_unit_name(KP_DIM_FORCE, units));
        kp_table_add_text_column(table, heading, heading, NULL, NULL);
        snprintf(heading, sizeof heading, "change%s, %%", number);
        kp_table_add_text_column(table, heading, heading, NULL, NULL);
    }

    kp_table_add_text_column(table, "note", "", NULL, NULL);
}

static void add_direction(kp_report *report, const kp_runs *all, int direction)
{
    kp_unit_system units = report->request->units;
    int decimals = kp_decimals_for(KP_DIM_FORCE, 0, units);
    kp_section *section =
        kp_report_section(report, "%s: damping force (oil and friction, gas left out); + is firmer, - softer",
                          kp_direction_capital((kp_direction)direction));
    add_section_columns(&section->table, all->count, units);

    for (size_t i = 0; i < all->runs[0].count; i++) {
        /* Marked when any file is not sound at this speed. */
        bool bad = false;
        for (size_t file = 0; file < all->count; file++) {
            const kp_curve_point *point = &all->runs[file].points[direction][i];
            bad = bad || kp_point_risks(point) != 0;
        }

        kp_row row = kp_row_add(&section->table);
        kp_row_text(&row, bad ? "!" : "");
        kp_row_number(&row, fabs(all->runs[0].points[direction][i].speed));

        for (size_t file = 0; file < all->count; file++) {
            kp_row_number(&row, kp_point_damping(&all->runs[file].points[direction][i]));
        }

        /* + is firmer, in newtons and in per cent of the first file. */
        for (size_t file = 1; file < all->count; file++) {
            kp_row_signed(&row, kp_unit_convert(change_of(all, file, direction, i), KP_DIM_FORCE, units), decimals);
            kp_row_signed(&row, percent_of(all, file, direction, i), 1);
        }

        add_notes(&row, all, direction, i);
    }
}

/* ---- sentences --------------------------------------------------------------------------------------------------- */

/* What one further file changes in the parts. */
static void add_parts(kp_report *report, const kp_runs *all, size_t file, cJSON *list)
{
    const kp_run *first = &all->runs[0];
    const kp_run *run = &all->runs[file];
    kp_differences differences = {0};
    if (report->failure.status != KP_OK ||
        kp_compare_parts(&first->data, &run->data, report->request->units, &differences, &report->failure) != KP_OK) {
        return;
    }

    kp_lines_add(&report->top, "%zu  %s, against 1:", file + 1, kp_title_of(&run->data, run->path));
    cJSON *entry = kp_json_object(report, list, NULL);
    cJSON *words = kp_json_array(report, entry, "parts");
    kp_json_text(report, entry, "file", run->path);

    for (size_t i = 0; i < differences.count; i++) {
        kp_lines_add(&report->top, "   - %s", differences.items[i]);
        kp_json_text(report, words, NULL, differences.items[i]);
    }

    if (differences.count == 0) {
        kp_lines_add(&report->top, "   - no difference in the parts");
    }

    /* The tables leave the gas force out, so its change is said here. */
    double gas = run->points[0][0].gas_force - first->points[0][0].gas_force;
    if (fabs(gas) >= SMALLEST_FORCE) {
        kp_lines_add(&report->top, "   - gas force changes by %s%s at every speed", gas > 0.0 ? "+" : "",
                     KP_SHOW(gas, KP_DIM_FORCE, 0, report->request->units));
    }

    kp_differences_free(&differences);
}

/* "At 0.524 m/s number 2 is 12 % firmer in compression and 3 % softer in rebound." */
static void add_verdict(kp_report *report, const kp_runs *all, size_t file)
{
    size_t i = kp_run_nearest(&all->runs[0], HEADLINE_SPEED);
    char words[KP_DIRECTION_COUNT][64];

    /* Per cent of the first file's damping at the headline's speed. */
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        double percent = percent_of(all, file, d, i);
        if (!isfinite(percent) || fabs(percent) < SMALLEST_PERCENT) {
            snprintf(words[d], sizeof words[d], "about the same");
        } else {
            snprintf(words[d], sizeof words[d], "%.0f %% %s", fabs(percent), percent > 0.0 ? "firmer" : "softer");
        }
    }

    kp_lines_add(&report->top, "At %s number %zu is %s in compression and %s in rebound.%s",
                 KP_SHOW(all->runs[0].speeds[i], KP_DIM_SPEED, 3, report->request->units), file + 1,
                 words[KP_COMPRESSION], words[KP_REBOUND],
                 kp_run_risks(&all->runs[file]) != 0 ? " NOT SOUND: see the warnings." : "");
}

/* Gas and oil of every file; once when they are the same. */
static void add_states(kp_report *report, const kp_runs *all)
{
    kp_lines states = {0};
    bool alike = true;

    /* The states as lines, so that equal ones are seen. */
    for (size_t file = 0; file < all->count; file++) {
        kp_add_state(&states, &all->runs[file].data, all->runs[file].gas_pressure, report->request->units);
        alike = alike && states.count == file + 1 && strcmp(states.items[file].text, states.items[0].text) == 0;
    }

    /* One line stands for all when all are alike. */
    for (size_t file = 0; file < states.count && (file == 0 || !alike); file++) {
        char whose[32] = "";
        if (!alike) {
            snprintf(whose, sizeof whose, "%zu: ", file + 1);
        }
        kp_lines_add(&report->foot, "%s%s", whose, states.items[file].text);
    }

    report->foot.failed = report->foot.failed || states.failed;
    kp_lines_free(&states);
}

/* ---- all of it --------------------------------------------------------------------------------------------------- */

void kp_report_compare(kp_report *report, const kp_run *runs, size_t count)
{
    const kp_runs all = {runs, count};
    cJSON *names = kp_json_array(report, report->extra, "names");

    for (size_t i = 0; i < count; i++) {
        kp_json_text(report, names, NULL, kp_title_of(&runs[i].data, runs[i].path));
    }

    cJSON *list = kp_json_array(report, report->extra, "differences");

    /* The verdicts come first, then what differs in the parts. */
    for (size_t file = 1; file < count; file++) {
        add_verdict(report, &all, file);
    }

    if (kp_run_risks(&runs[0]) != 0) {
        kp_lines_add(&report->top, "Number 1 itself is NOT SOUND: see the warnings.");
    }

    kp_lines_add(&report->top, "%s", kp_estimate_note);
    kp_lines_add(&report->top, "%s", "");
    kp_lines_add(&report->top, "1  %s", kp_title_of(&runs[0].data, runs[0].path));

    for (size_t file = 1; file < count; file++) {
        add_parts(report, &all, file, list);
    }

    add_data(report, &all);

    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        add_direction(report, &all, d);
    }

    add_states(report, &all);
    kp_lines_add(&report->foot, "%s", kp_charge_caution);
}

void kp_figure_of_compare(kp_report *report, const kp_run *runs, size_t count)
{
    kp_draw_overlay(report, "Force against shaft speed", runs, count);
}
