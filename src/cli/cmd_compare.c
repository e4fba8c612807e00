/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `compare`: what differs in the parts, and what that does at each speed. */
#include "cli/band.h"

#include "kneepoint/study.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Damping force without the gas, >= 0 when it resists the motion: what most dynos show. [N] */
static double damping_of(const kp_curve_point *point)
{
    double sign = point->direction == KP_COMPRESSION ? 1.0 : -1.0;
    return sign * (point->force - point->gas_force);
}

static double change_of(const kp_run *runs, size_t file, int direction, size_t i)
{
    return damping_of(&runs[file].points[direction][i]) - damping_of(&runs[0].points[direction][i]);
}

/* Against nothing there is no percentage. */
static double percent_of(const kp_run *runs, size_t file, int direction, size_t i)
{
    double first = damping_of(&runs[0].points[direction][i]);
    return first > 0.0 ? 100.0 * change_of(runs, file, direction, i) / first : (double)NAN;
}

/* Is the i-th point of some file not to be driven? */
static bool any_bad(const kp_run *runs, size_t count, int direction, size_t i)
{
    bool bad = false;
    for (size_t file = 0; file < count; file++) {
        const kp_curve_point *point = &runs[file].points[direction][i];
        bad = bad || point->past_yield || point->cavitates;
    }
    return bad;
}

/* "2: cavitates", for every file that has something to say at this point. */
static void notes_of(const kp_run *runs, size_t count, int direction, size_t i, char *text, size_t size)
{
    size_t used = 0;
    text[0] = '\0';
    for (size_t file = 0; file < count && used < size; file++) {
        char note[KP_NOTE];
        if (kp_point_note(&runs[file], &runs[file].points[direction][i], note)[0] != '\0') {
            int wrote = snprintf(text + used, size - used, "%s%zu: %s", used > 0 ? "; " : "", file + 1, note);
            used += wrote > 0 ? (size_t)wrote : 0;
        }
    }
}

static kp_status add_number_column(kp_table *table, const char *what, size_t file, const char *ending,
                                   const char *heading, kp_dimension dimension, int decimals, kp_error *error)
{
    char name[48];
    char full_heading[48];
    snprintf(name, sizeof name, "%s%zu%s", what, file, ending);
    snprintf(full_heading, sizeof full_heading, "%s %zu", heading, file);
    return kp_table_add_column(table, name, full_heading, dimension, decimals, NULL, error);
}

static kp_status add_data_columns(kp_table *table, size_t count, kp_error *error)
{
    kp_status status = kp_table_add_text_column(table, "direction", "direction", NULL, error);
    if (status == KP_OK) {
        status = kp_table_add_column(table, "speed", "speed", KP_DIM_SPEED, 3, NULL, error);
    }
    for (size_t file = 1; status == KP_OK && file <= count; file++) {
        status = add_number_column(table, "force", file, "", "force", KP_DIM_FORCE, 0, error);
        if (status == KP_OK) {
            status = add_number_column(table, "damping", file, "", "damping", KP_DIM_FORCE, 0, error);
        }
    }
    for (size_t file = 2; status == KP_OK && file <= count; file++) {
        status = add_number_column(table, "change", file, "", "change", KP_DIM_FORCE, 0, error);
        if (status == KP_OK) {
            status = add_number_column(table, "change", file, "_percent", "change, %", KP_DIM_NONE, 1, error);
        }
    }
    return status == KP_OK ? kp_table_add_text_column(table, "note", "", NULL, error) : status;
}

static kp_status fill_data(kp_table *table, const kp_run *runs, size_t count, kp_error *error)
{
    kp_status status = add_data_columns(table, count, error);
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (size_t i = 0; status == KP_OK && i < runs[0].count; i++) {
            size_t row;
            size_t column = 0;
            char note[KP_MAX_FILES * KP_NOTE];
            status = kp_table_add_row(table, &row, error);
            if (status == KP_OK) {
                status = kp_table_set_text(table, row, column++, kp_direction_name((kp_direction)d), error);
            }
            if (status != KP_OK) {
                break;
            }
            kp_table_set(table, row, column++, fabs(runs[0].points[d][i].speed));
            for (size_t file = 0; file < count; file++) {
                kp_table_set(table, row, column++, runs[file].points[d][i].force);
                kp_table_set(table, row, column++, damping_of(&runs[file].points[d][i]));
            }
            for (size_t file = 1; file < count; file++) {
                kp_table_set(table, row, column++, change_of(runs, file, d, i));
                kp_table_set(table, row, column++, percent_of(runs, file, d, i));
            }
            notes_of(runs, count, d, i, note, sizeof note);
            status = kp_table_set_text(table, row, column, note, error);
        }
    }
    return status;
}

/* "+12" carries the direction of the change even where colour and column are lost. */
static kp_status set_signed(kp_table *table, size_t row, size_t column, double value, int decimals, kp_error *error)
{
    char text[32];
    if (!isfinite(value)) {
        snprintf(text, sizeof text, "%7s", "-");
    } else {
        snprintf(text, sizeof text, "%+7.*f", decimals, value);
    }
    return kp_table_set_text(table, row, column, text, error);
}

static kp_status add_section_columns(kp_table *table, size_t count, const kp_options *options, kp_error *error)
{
    char heading[48];
    kp_status status = kp_table_add_text_column(table, "mark", "", NULL, error);
    status = status == KP_OK ? kp_table_add_column(table, "speed", "speed", KP_DIM_SPEED, 3, NULL, error) : status;
    for (size_t file = 1; status == KP_OK && file <= count; file++) {
        status = add_number_column(table, "damping", file, "", "damping", KP_DIM_FORCE, 0, error);
    }
    for (size_t file = 2; status == KP_OK && file <= count; file++) {
        char number[24] = "";
        if (count > 2) {
            snprintf(number, sizeof number, " %zu", file);
        }
        snprintf(heading, sizeof heading, "change%s, %s", number, kp_unit_name(KP_DIM_FORCE, options->units));
        status = kp_table_add_text_column(table, heading, heading, NULL, error);
        snprintf(heading, sizeof heading, "change%s, %%", number);
        status = status == KP_OK ? kp_table_add_text_column(table, heading, heading, NULL, error) : status;
    }
    return status == KP_OK ? kp_table_add_text_column(table, "note", "", NULL, error) : status;
}

static kp_status fill_section(kp_section *section, const kp_run *runs, size_t count, int direction,
                              const kp_options *options, kp_error *error)
{
    kp_table *table = &section->table;
    int decimals = kp_decimals_for(KP_DIM_FORCE, 0, options->units);
    kp_status status = add_section_columns(table, count, options, error);
    for (size_t i = 0; status == KP_OK && i < runs[0].count; i++) {
        size_t row;
        size_t column = 0;
        char note[KP_MAX_FILES * KP_NOTE];
        notes_of(runs, count, direction, i, note, sizeof note);
        status = kp_table_add_row(table, &row, error);
        status = status == KP_OK
                     ? kp_table_set_text(table, row, column++, any_bad(runs, count, direction, i) ? "!" : "", error)
                     : status;
        if (status != KP_OK) {
            break;
        }
        kp_table_set(table, row, column++, fabs(runs[0].points[direction][i].speed));
        for (size_t file = 0; file < count; file++) {
            kp_table_set(table, row, column++, damping_of(&runs[file].points[direction][i]));
        }
        for (size_t file = 1; status == KP_OK && file < count; file++) {
            double change = kp_unit_convert(change_of(runs, file, direction, i), KP_DIM_FORCE, options->units);
            status = set_signed(table, row, column++, change, decimals, error);
            status = status == KP_OK ? set_signed(table, row, column++, percent_of(runs, file, direction, i), 1, error)
                                     : status;
        }
        status = status == KP_OK ? kp_table_set_text(table, row, column, note, error) : status;
    }
    return status;
}

/* What one further file changes in the parts. */
static kp_status say_parts(kp_output *output, const kp_run *runs, size_t file, cJSON *list, kp_error *error)
{
    kp_differences differences = {0};
    kp_status status = kp_compare_parts(&runs[0].data, &runs[file].data, output->options->units, &differences, error);
    if (status != KP_OK) {
        return status;
    }
    kp_lines_add(&output->top, "%zu  %s, against 1:", file + 1, kp_title_of(&runs[file].data, runs[file].path));
    cJSON *entry = cJSON_CreateObject();
    cJSON *words = entry != NULL ? cJSON_AddArrayToObject(entry, "parts") : NULL;
    bool good = words != NULL && kp_json_add_text(entry, "file", runs[file].path);
    for (size_t i = 0; good && i < differences.count; i++) {
        kp_lines_add(&output->top, "   - %s", differences.items[i]);
        cJSON *text = cJSON_CreateString(differences.items[i]);
        good = text != NULL && cJSON_AddItemToArray(words, text);
    }
    if (differences.count == 0) {
        kp_lines_add(&output->top, "   - no difference in the parts");
    }
    double gas = runs[file].points[0][0].gas_force - runs[0].points[0][0].gas_force;
    char gas_text[KP_SHOWN];
    if (fabs(gas) >= 0.5) { /* [N] what the table would show as 0 is not said */
        kp_lines_add(&output->top, "   - gas force changes by %s%s at every speed", gas > 0.0 ? "+" : "",
                     kp_show(gas, KP_DIM_FORCE, 0, output->options->units, gas_text));
    }
    if (!good || !cJSON_AddItemToArray(list, entry)) {
        cJSON_Delete(entry);
        status = kp_error_set(error, KP_NO_MEMORY, "memory ran out while the answer was put together");
    }
    kp_differences_free(&differences);
    return status;
}

/* "At 0.524 m/s compression is 12 % firmer, rebound 3 % softer." */
static void say_verdict(kp_output *output, const kp_run *runs, size_t file)
{
    size_t middle = 0;
    char speed[KP_SHOWN];
    char words[KP_DIRECTION_COUNT][64];
    const double headline_speed = 0.524; /* [m/s] stands for a curve on many dynos (common practice, no source) */
    for (size_t i = 1; i < runs[0].count; i++) {
        double now = fabs(fabs(runs[0].points[0][i].speed) - headline_speed);
        double before = fabs(fabs(runs[0].points[0][middle].speed) - headline_speed);
        middle = now < before ? i : middle;
    }
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        double percent = percent_of(runs, file, d, middle);
        if (!isfinite(percent) || fabs(percent) < 0.5) {
            snprintf(words[d], sizeof words[d], "about the same");
        } else {
            snprintf(words[d], sizeof words[d], "%.0f %% %s", fabs(percent), percent > 0.0 ? "firmer" : "softer");
        }
    }
    kp_lines_add(&output->top, "At %s number %zu is %s in compression and %s in rebound.%s",
                 kp_show(fabs(runs[0].points[0][middle].speed), KP_DIM_SPEED, 3, output->options->units, speed),
                 file + 1, words[KP_COMPRESSION], words[KP_REBOUND],
                 kp_run_unsound(&runs[file]) ? " NOT SOUND: see the warnings." : "");
}

/* Gas and oil of every file; once when they are the same. */
static void say_states(kp_output *output, const kp_run *runs, size_t count)
{
    kp_lines states = {0};
    bool alike = count > 0;
    for (size_t file = 0; file < count; file++) {
        kp_state_line(&states, "", &runs[file].data, runs[file].gas_pressure, output->options->units);
        alike = alike && states.count == file + 1 && strcmp(states.items[file], states.items[0]) == 0;
    }
    for (size_t file = 0; file < states.count && (file == 0 || !alike); file++) {
        char whose[32] = "";
        if (!alike) {
            snprintf(whose, sizeof whose, "%zu: ", file + 1);
        }
        kp_lines_add(&output->foot, "%s%s", whose, states.items[file]);
    }
    output->foot.failed = output->foot.failed || states.failed;
    kp_lines_free(&states);
}

static bool add_names(cJSON *extra, const kp_run *runs, size_t count)
{
    cJSON *names = cJSON_AddArrayToObject(extra, "names");
    bool good = names != NULL;
    for (size_t i = 0; good && i < count; i++) {
        cJSON *name = cJSON_CreateString(kp_title_of(&runs[i].data, runs[i].path));
        good = name != NULL && cJSON_AddItemToArray(names, name);
    }
    return good;
}

static kp_status fill_output(kp_output *output, const kp_run *runs, size_t count, kp_error *error)
{
    output->extra = cJSON_CreateObject();
    cJSON *list = NULL;
    if (output->extra == NULL || !add_names(output->extra, runs, count) ||
        (list = cJSON_AddArrayToObject(output->extra, "differences")) == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out while the answer was put together");
    }
    for (size_t file = 1; file < count; file++) {
        say_verdict(output, runs, file);
    }
    if (kp_run_unsound(&runs[0])) {
        kp_lines_add(&output->top, "Number 1 itself is NOT SOUND: see the warnings.");
    }
    kp_lines_add(&output->top, "%s", kp_estimate_note);
    kp_lines_add(&output->top, "%s", "");
    kp_lines_add(&output->top, "1  %s", kp_title_of(&runs[0].data, runs[0].path));
    kp_status status = KP_OK;
    for (size_t file = 1; status == KP_OK && file < count; file++) {
        status = say_parts(output, runs, file, list, error);
    }
    if (status == KP_OK) {
        status = fill_data(&output->data, runs, count, error);
    }
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        kp_section *section = kp_output_section(
            output, d == KP_COMPRESSION
                        ? "Compression: damping force (oil and friction, gas left out); + is firmer, - softer"
                        : "Rebound: damping force (oil and friction, gas left out); + is firmer, - softer");
        status = section == NULL ? kp_error_set(error, KP_NO_MEMORY, "memory ran out while the tables were made")
                                 : fill_section(section, runs, count, d, output->options, error);
    }
    say_states(output, runs, count);
    kp_lines_add(&output->foot, "%s", kp_charge_caution);
    return status;
}

kp_status kp_cmd_compare(const kp_options *options, kp_error *error)
{
    kp_run runs[KP_MAX_FILES] = {0};
    kp_output output;
    kp_error first = {0};
    kp_status status = kp_output_begin(&output, options, error);
    /* Every file is read, so that the faults of all are seen at once. */
    kp_status reading = KP_OK;
    for (size_t i = 0; status == KP_OK && i < options->file_count; i++) {
        kp_error one = {0};
        kp_status now = kp_run_begin(&runs[i], options->files[i], options, &output.warnings, &one);
        if (now != KP_OK && reading == KP_OK) {
            reading = now;
            first = one;
        } else if (now != KP_OK && one.message[0] != '\0') {
            kp_say_error("compare", one.message);
        }
    }
    if (status == KP_OK && reading != KP_OK) {
        *error = first;
        status = reading;
    }
    for (size_t i = 0; status == KP_OK && i < options->file_count; i++) {
        kp_run_warn(&runs[i], options->units, &output.warnings);
    }
    if (status == KP_OK) {
        status = fill_output(&output, runs, options->file_count, error);
    }
    bool interrupted = false;
    if (status == KP_OK && options->band) {
        status = kp_compare_bands(&output, runs, options->file_count, &interrupted, error);
    }
    if (status == KP_OK && options->plot) {
        status = kp_figure_of_compare(&output, runs, options->file_count, error);
    }
    if (status == KP_OK) {
        status = kp_output_print(&output, error);
    }
    for (size_t i = 0; i < options->file_count; i++) {
        kp_run_free(&runs[i]);
    }
    kp_output_free(&output);
    return status == KP_OK && interrupted ? KP_INTERRUPTED : status;
}
