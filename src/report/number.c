/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Numbers and texts of a report, and its data as CSV. */
#include "report/report_internal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int kp_decimals_for(kp_dimension dimension, int decimals, kp_unit_system units)
{
    if (units == KP_UNITS_METRIC || dimension == KP_DIM_NONE) {
        return decimals;
    }
    /* differences, so that a scale with a zero of its own (degC) drops out */
    double metric = kp_unit_convert(1.0, dimension, KP_UNITS_METRIC) - kp_unit_convert(0.0, dimension, KP_UNITS_METRIC);
    double other = kp_unit_convert(1.0, dimension, units) - kp_unit_convert(0.0, dimension, units);
    int shifted = decimals - (int)lround(log10(other / metric));
    return shifted < 0 ? 0 : shifted;
}

const char *kp_show(double si_value, kp_dimension dimension, int decimals, kp_unit_system units, char *buffer)
{
    if (!isfinite(si_value)) {
        snprintf(buffer, KP_SHOWN, "-");
        return buffer;
    }

    const char *unit = kp_unit_name(dimension, units);
    double shown = kp_unit_convert(si_value, dimension, units);
    snprintf(buffer, KP_SHOWN, "%.*f%s%s", kp_decimals_for(dimension, decimals, units), shown,
             unit[0] != '\0' ? " " : "", unit);
    return buffer;
}

void kp_column_full_name(const kp_column *column, char *name, size_t size)
{
    const char *suffix = column->is_text ? "" : kp_unit_column_suffix(column->dimension);
    snprintf(name, size, "%s%s%s", column->name, suffix[0] != '\0' ? "_" : "", suffix);
}

/* ---- CSV --------------------------------------------------------------------------------------------------------- */

/** Text that grows. */
typedef struct kp_csv {
    char *text;
    size_t used, capacity;
    bool failed;
} kp_csv;

static void put(kp_csv *csv, const char *text, size_t length)
{
    if (csv->failed) {
        return;
    }

    /* Room doubles, so that the text is copied seldom. */
    if (csv->used + length >= csv->capacity) {
        size_t capacity = 2 * (csv->used + length) + 1024;
        char *grown = realloc(csv->text, capacity);
        if (grown == NULL) {
            csv->failed = true;
            return;
        }

        csv->text = grown;
        csv->capacity = capacity;
    }

    memcpy(csv->text + csv->used, text, length);
    csv->used += length;
    csv->text[csv->used] = '\0';
}

/* RFC 4180: quoted when it must be, quotes doubled. What would steer a terminal, and what is not UTF-8, becomes `?`:
   the table may be read in a terminal, and a cell of a person's words has no need of it. */
static void put_text(kp_csv *csv, const char *text)
{
    bool quoted = strpbrk(text, ",\"") != NULL;
    put(csv, "\"", quoted ? 1 : 0);

    while (*text != '\0') {
        bool steers;
        size_t length = kp_text_character(text, &steers);
        put(csv, "\"\"", *text == '"' ? 1 : 0);
        if (length == 0 || steers) {
            put(csv, "?", 1);
        } else {
            put(csv, text, length);
        }
        text += length > 0 ? length : 1;
    }

    put(csv, "\"", quoted ? 1 : 0);
}

char *kp_report_csv(const kp_report *report, kp_error *error)
{
    const kp_table *table = &report->data;
    kp_csv csv = {0};
    char text[64];

    /* One row of column names, each with its unit. */
    for (size_t i = 0; i < table->column_count; i++) {
        kp_column_full_name(&table->columns[i], text, sizeof text);
        put(&csv, ",", i > 0 ? 1 : 0);
        put(&csv, text, strlen(text));
    }

    put(&csv, "\n", 1);

    /* A value that is not finite is an empty cell. */
    for (size_t row = 0; row < table->row_count; row++) {
        for (size_t i = 0; i < table->column_count; i++) {
            const kp_column *column = &table->columns[i];
            put(&csv, ",", i > 0 ? 1 : 0);
            if (column->is_text) {
                put_text(&csv, column->texts[row] != NULL ? column->texts[row] : "");
            } else if (isfinite(column->values[row])) {
                kp_number_write(column->values[row], text, sizeof text);
                put(&csv, text, strlen(text));
            }
        }

        put(&csv, "\n", 1);
    }

    if (csv.failed) {
        free(csv.text);
        kp_error_set(error, KP_NO_MEMORY, "memory ran out while the CSV was written");
        return NULL;
    }

    return csv.text;
}
