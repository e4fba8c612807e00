/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `compare --band`: at which speeds two stacks differ by more than the noise. */
#include "cli/band.h"
#include "cli/pool.h"

#include <math.h>
#include <stdio.h>

enum { SPEEDS_TEXT = 900 };

/* "0.052 to 0.131 m/s, 1.047 m/s": the runs of speeds for which it holds. */
static void speed_words(const kp_band *band, const bool *holds, kp_unit_system units, char *text, size_t size)
{
    size_t used = 0;
    text[0] = '\0';
    for (size_t i = 0; i < band->speed_count && used < size; i++) {
        char from[KP_SHOWN];
        char to[KP_SHOWN];
        size_t last = i;
        if (!holds[i]) {
            continue;
        }
        while (last + 1 < band->speed_count && holds[last + 1]) {
            last++;
        }
        kp_show(band->speeds[i], KP_DIM_SPEED, 3, units, from);
        kp_show(band->speeds[last], KP_DIM_SPEED, 3, units, to);
        int wrote = last > i ? snprintf(text + used, size - used, "%s%s to %s", used > 0 ? ", " : "", from, to)
                             : snprintf(text + used, size - used, "%s%s", used > 0 ? ", " : "", from);
        used += wrote > 0 ? (size_t)wrote : 0;
        i = last;
    }
}

static kp_status add_columns(kp_table *table, kp_error *error)
{
    static const char *const names[] = {"change", "change_least", "change_most"};
    static const char *const headings[] = {"change, middle", "2.5 %", "97.5 %"};
    kp_status status = kp_table_add_column(table, "speed", "speed", KP_DIM_SPEED, 3, NULL, error);
    for (int i = 0; status == KP_OK && i < 3; i++) {
        status = kp_table_add_column(table, names[i], headings[i], KP_DIM_FORCE, 0, NULL, error);
    }
    return status == KP_OK ? kp_table_add_text_column(table, "verdict", "", NULL, error) : status;
}

static bool add_json(cJSON *list, size_t file, kp_direction direction, double speed, const kp_band_difference *found)
{
    cJSON *object = cJSON_CreateObject();
    return object != NULL && cJSON_AddItemToArray(list, object) &&
           kp_json_add_number(object, "file", (double)file + 1) &&
           kp_json_add_text(object, "direction", kp_direction_name(direction)) &&
           kp_json_add_number(object, "speed_m_s", speed) &&
           kp_json_add_number(object, "change_middle_N", found->median.value) &&
           kp_json_add_number(object, "change_least_N", found->lower.value) &&
           kp_json_add_number(object, "change_most_N", found->upper.value) &&
           cJSON_AddBoolToObject(object, "beyond_noise", found->beyond_noise) != NULL;
}

/* One further file in one direction: a table and a sentence. */
static kp_status compare_one(kp_output *output, const kp_band *first, const kp_band *band, size_t file,
                             kp_direction direction, cJSON *list, kp_error *error)
{
    bool beyond[KP_MAX_LIST] = {false};
    char heading[200];
    char words[SPEEDS_TEXT];
    snprintf(heading, sizeof heading,
             "%s: change from 1 to %zu, build by build: middle, and where 95 of 100 pairs of builds lie",
             direction == KP_COMPRESSION ? "Compression" : "Rebound", file + 1);
    kp_section *section = kp_output_section(output, heading);
    kp_status status = section == NULL ? kp_error_set(error, KP_NO_MEMORY, "too many tables for one answer")
                                       : add_columns(&section->table, error);
    for (size_t i = 0; status == KP_OK && i < band->speed_count; i++) {
        kp_band_difference found;
        size_t row;
        status = kp_band_compare(first, band, direction, i, &found, error);
        status = status == KP_OK ? kp_table_add_row(&section->table, &row, error) : status;
        if (status != KP_OK) {
            break;
        }
        beyond[i] = found.beyond_noise;
        kp_table_set(&section->table, row, 0, band->speeds[i]);
        kp_table_set(&section->table, row, 1, found.median.value);
        kp_table_set(&section->table, row, 2, found.lower.value);
        kp_table_set(&section->table, row, 3, found.upper.value);
        status = kp_table_set_text(&section->table, row, 4, beyond[i] ? "beyond the noise" : "within the noise", error);
        if (status == KP_OK && !add_json(list, file, direction, band->speeds[i], &found)) {
            status = kp_error_set(error, KP_NO_MEMORY, "memory ran out while the answer was put together");
        }
    }
    if (status == KP_OK) {
        speed_words(band, beyond, output->options->units, words, sizeof words);
        kp_lines_add(&output->top, "%s: number %zu differs from number 1 by more than the noise %s%s.",
                     direction == KP_COMPRESSION ? "Compression" : "Rebound", file + 1,
                     words[0] != '\0' ? "at " : "at no speed", words);
    }
    return status;
}

kp_status kp_compare_bands(kp_output *output, const kp_run *runs, size_t count, bool *interrupted, kp_error *error)
{
    double speeds[KP_MAX_LIST] = {0};
    kp_band_options used;
    kp_band bands[KP_MAX_FILES] = {0};
    kp_watch watch;
    kp_status status = KP_OK;
    *interrupted = false;
    kp_cli_band_options(output->options, speeds, &used);
    kp_pool pool = kp_watch_begin(&watch, "compare", output->options);
    for (size_t file = 0; status == KP_OK && file < count; file++) {
        used.build = (unsigned)file;
        status = kp_band_run(&runs[file].data, &used, &pool, &bands[file], error);
        *interrupted = *interrupted || status == KP_INTERRUPTED;
        if (status == KP_INTERRUPTED && bands[file].done > 0 && file + 1 == count) {
            status = KP_OK; /* the last one: what was sampled of all can be compared */
        }
    }
    kp_watch_end(&watch);
    cJSON *list = status == KP_OK ? cJSON_AddArrayToObject(output->extra, "beyond_noise") : NULL;
    if (status == KP_OK && list == NULL) {
        status = kp_error_set(error, KP_NO_MEMORY, "memory ran out while the answer was put together");
    }
    for (size_t file = 1; status == KP_OK && file < count; file++) {
        for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
            status = compare_one(output, &bands[0], &bands[file], file, (kp_direction)d, list, error);
        }
    }
    if (status == KP_OK) {
        kp_lines_add(&output->foot,
                     "Noise: the stacks are taken as built into one and the same damper (piston, holes, oil, charge, "
                     "grip as they happen to be), with other shims from the same strip lots.");
        kp_band_say_method(&output->foot, &bands[count - 1], &used);
    }
    for (size_t file = 0; file < count; file++) {
        kp_band_free(&bands[file]);
    }
    return status;
}
