/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The report as a whole, its lines and its rows. */
#include "report/report_internal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LONGEST_LINE    4096
#define LONGEST_WARNING 1024

/* ---- lines ------------------------------------------------------------------------------------------------------- */

void kp_lines_add(kp_lines *lines, const char *format, ...)
{
    if (lines->count == lines->capacity) {
        size_t capacity = lines->capacity == 0 ? 16 : 2 * lines->capacity;
        kp_line *grown = realloc(lines->items, capacity * sizeof *grown);
        if (grown == NULL) {
            lines->failed = true;
            return;
        }
        lines->items = grown;
        lines->capacity = capacity;
    }

    /* The line is printed into a long buffer first, because its length is only known then. */
    char text[LONGEST_LINE];
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);

    /* Most lines are far shorter than the longest. */
    char *copy = malloc(strlen(text) + 1);
    if (copy == NULL) {
        lines->failed = true;
        return;
    }

    memcpy(copy, text, strlen(text) + 1);
    lines->items[lines->count++] = (kp_line){.text = copy};
}

void kp_lines_free(kp_lines *lines)
{
    for (size_t i = 0; i < lines->count; i++) {
        free(lines->items[i].text);
    }
    free(lines->items);
    memset(lines, 0, sizeof *lines);
}

void kp_report_warn(kp_report *report, const char *format, ...)
{
    char text[LONGEST_WARNING];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    kp_lines_add(&report->warnings, "%s", text);
}

void kp_append(char *text, size_t size, const char *format, ...)
{
    size_t used = strlen(text);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text + used, size - used, format, arguments);
    va_end(arguments);
}

/* ---- the report -------------------------------------------------------------------------------------------------- */

void kp_report_begin(kp_report *report, kp_request *request)
{
    memset(report, 0, sizeof *report);
    report->request = request;
    report->extra = cJSON_CreateObject();
}

const char *kp_report_json_version(void)
{
    return cJSON_Version();
}

void kp_report_free(kp_report *report)
{
    kp_lines_free(&report->top);
    kp_lines_free(&report->foot);
    kp_lines_free(&report->warnings);

    for (size_t i = 0; i < KP_COUNT(report->sections); i++) {
        kp_lines_free(&report->sections[i].heading);
        kp_table_free(&report->sections[i].table);
    }

    kp_table_free(&report->data);
    cJSON_Delete(report->extra);
    kp_figure_free(&report->figure);
}

kp_status kp_report_status(const kp_report *report, kp_error *error)
{
    if (report->failure.status != KP_OK) {
        if (error != NULL) {
            *error = report->failure;
        }
        return report->failure.status;
    }

    kp_status status = kp_table_status(&report->data, error);
    bool failed = report->extra == NULL || report->top.failed || report->foot.failed || report->warnings.failed;

    /* Tables keep their own failures. */
    for (size_t i = 0; status == KP_OK && i < report->section_count; i++) {
        status = kp_table_status(&report->sections[i].table, error);
        failed = failed || report->sections[i].heading.failed;
    }

    return status == KP_OK && failed ? kp_error_set(error, KP_NO_MEMORY, "memory ran out while the answer was written")
                                     : status;
}

kp_section *kp_report_section(kp_report *report, const char *format, ...)
{
    if (report->section_count == KP_MAX_SECTIONS) {
        kp_error_set(&report->failure, KP_OUT_OF_RANGE, "more than %d tables for one answer", KP_MAX_SECTIONS);
        kp_table_free(&report->sections[KP_MAX_SECTIONS].table);
        return &report->sections[KP_MAX_SECTIONS];
    }

    kp_section *section = &report->sections[report->section_count++];

    char text[LONGEST_LINE];
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    kp_lines_add(&section->heading, "%s", text);
    return section;
}

/* ---- rows -------------------------------------------------------------------------------------------------------- */

kp_row kp_row_add(kp_table *table)
{
    kp_row row = {.table = table};
    kp_table_add_row(table, &row.row, NULL);
    return row;
}

void kp_row_number(kp_row *row, double si_value)
{
    kp_table_set(row->table, row->row, row->column++, si_value);
}

void kp_row_numbers(kp_row *row, const double *si_values, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        kp_row_number(row, si_values[i]);
    }
}

void kp_row_text(kp_row *row, const char *text)
{
    kp_table_set_text(row->table, row->row, row->column++, text, NULL);
}

void kp_row_signed(kp_row *row, double shown, int decimals)
{
    char text[32];
    if (isfinite(shown)) {
        snprintf(text, sizeof text, "%+7.*f", decimals, shown);
    } else {
        snprintf(text, sizeof text, "%7s", "-");
    }
    kp_row_text(row, text);
}
