/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `compare --band`: at which speeds two stacks differ by more than the noise. */
#include "report/report_internal.h"

#define SPEED_WORDS 900 /* [bytes] */

/* "0.052 to 0.131 m/s, 1.047 m/s": the ranges of speeds for which it holds. */
static void speed_words(const kp_band *band, const bool *holds, kp_unit_system units, char text[SPEED_WORDS])
{
    text[0] = '\0';

    for (size_t i = 0; i < band->speed_count; i++) {
        if (!holds[i]) {
            continue;
        }

        /* Neighbouring speeds for which it holds make one range. */
        size_t last = i;
        while (last + 1 < band->speed_count && holds[last + 1]) {
            last++;
        }

        kp_append(text, SPEED_WORDS, "%s%s", text[0] != '\0' ? ", " : "",
                  KP_SHOW(band->speeds[i], KP_DIM_SPEED, 3, units));
        if (last > i) {
            kp_append(text, SPEED_WORDS, " to %s", KP_SHOW(band->speeds[last], KP_DIM_SPEED, 3, units));
        }

        i = last;
    }
}

static void add_json(kp_report *report, cJSON *list, size_t file, kp_direction direction, double speed,
                     const kp_band_difference *found)
{
    cJSON *object = kp_json_object(report, list, NULL);
    kp_json_number(report, object, "file", (double)file + 1);
    kp_json_text(report, object, "direction", kp_direction_name(direction));
    kp_json_number(report, object, "speed_m_s", speed);
    kp_json_number(report, object, "change_middle_N", found->median.value);
    kp_json_number(report, object, "change_least_N", found->lower.value);
    kp_json_number(report, object, "change_most_N", found->upper.value);
    kp_json_bool(report, object, "beyond_noise", found->beyond_noise);
}

/* One further file in one direction: a table and a sentence. */
static void add_file(kp_report *report, const kp_band *bands, size_t file, kp_direction direction, cJSON *list)
{
    static const kp_column_spec columns[] = {KP_NUMBER_COLUMN("speed", "speed", KP_DIM_SPEED, 3),
                                             KP_NUMBER_COLUMN("middle", "change, middle", KP_DIM_FORCE, 0),
                                             KP_NUMBER_COLUMN("min", "2.5 %", KP_DIM_FORCE, 0),
                                             KP_NUMBER_COLUMN("max", "97.5 %", KP_DIM_FORCE, 0),
                                             KP_TEXT_COLUMN("verdict", "")};

    const kp_band *band = &bands[file];
    bool beyond[KP_MAX_LIST] = {false};
    kp_section *section = kp_report_section(
        report, "%s: change from 1 to %zu, build by build: middle, and where 95 of 100 pairs of builds lie",
        kp_direction_capital(direction), file + 1);
    kp_table_add_columns(&section->table, columns, KP_COUNT(columns));

    for (size_t i = 0; i < band->speed_count; i++) {
        kp_band_difference found;
        if (report->failure.status != KP_OK ||
            kp_band_compare(&bands[0], band, direction, i, &found, &report->failure) != KP_OK) {
            return;
        }

        beyond[i] = found.beyond_noise;
        const double values[] = {band->speeds[i], found.median.value, found.lower.value, found.upper.value};

        kp_row row = kp_row_add(&section->table);
        kp_row_numbers(&row, values, KP_COUNT(values));
        kp_row_text(&row, beyond[i] ? "beyond the noise" : "within the noise");
        add_json(report, list, file, direction, band->speeds[i], &found);
    }

    /* The sentence comes last, when it is known which speeds are beyond the noise. */
    char words[SPEED_WORDS];

    speed_words(band, beyond, report->request->units, words);
    kp_lines_add(&report->top, "%s: number %zu differs from number 1 by more than the noise %s%s.",
                 kp_direction_capital(direction), file + 1, words[0] != '\0' ? "at " : "at no speed", words);
}

void kp_report_compare_bands(kp_report *report, const kp_band *bands, size_t count, const kp_band_options *used)
{
    cJSON *list = kp_json_array(report, report->extra, "beyond_noise");

    /* Every further file against the first. */
    for (size_t file = 1; file < count; file++) {
        for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
            add_file(report, bands, file, (kp_direction)d, list);
        }
    }

    kp_lines_add(&report->foot,
                 "Noise: the stacks are taken as built into one and the same damper (piston, holes, oil, charge, "
                 "grip as they happen to be), with other shims from the same strip lots.");
    kp_add_band_method(report, &bands[count - 1], used);
}
