/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The named-column table: what every command hands to the writers of table, CSV and JSON. */
#include "kneepoint/base.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FIRST_ROWS = 32 /* [-] rows made room for at first; doubled when they run out */ };

static kp_status no_memory(kp_error *error)
{
    return kp_error_set(error, KP_NO_MEMORY, "memory ran out while a table was made");
}

kp_status kp_table_begin(kp_table *table, kp_error *error)
{
    (void)error; /* nothing is allocated before the first column */
    *table = (kp_table){0};
    return KP_OK;
}

void kp_table_free(kp_table *table)
{
    for (size_t i = 0; i < table->column_count; i++) {
        kp_column *column = &table->columns[i];
        for (size_t row = 0; column->texts != NULL && row < table->row_count; row++) {
            free(column->texts[row]);
        }
        free(column->texts);
        free(column->values);
    }
    free(table->columns);
    *table = (kp_table){0};
}

static kp_status add_column(kp_table *table, const char *name, const char *heading, kp_column made, size_t *column,
                            kp_error *error)
{
    if (strlen(name) >= sizeof made.name || strlen(heading) >= sizeof made.heading) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "column name `%s` or heading `%s` is longer than %zu bytes", name,
                            heading, sizeof made.name - 1);
    }
    if (table->row_count > 0) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "column `%s` comes after the first row", name);
    }
    kp_column *columns = realloc(table->columns, (table->column_count + 1) * sizeof *columns);
    if (columns == NULL) {
        return no_memory(error);
    }
    snprintf(made.name, sizeof made.name, "%s", name);
    snprintf(made.heading, sizeof made.heading, "%s", heading);
    columns[table->column_count] = made;
    table->columns = columns;
    if (column != NULL) {
        *column = table->column_count;
    }
    table->column_count++;
    return KP_OK;
}

kp_status kp_table_add_column(kp_table *table, const char *name, const char *heading, kp_dimension dimension,
                              int decimals, size_t *column, kp_error *error)
{
    return add_column(table, name, heading, (kp_column){.dimension = dimension, .decimals = decimals}, column, error);
}

kp_status kp_table_add_text_column(kp_table *table, const char *name, const char *heading, size_t *column,
                                   kp_error *error)
{
    return add_column(table, name, heading, (kp_column){.dimension = KP_DIM_NONE, .is_text = true}, column, error);
}

static kp_status grow(kp_table *table, kp_error *error)
{
    size_t capacity = table->row_capacity == 0 ? FIRST_ROWS : 2 * table->row_capacity;
    for (size_t i = 0; i < table->column_count; i++) {
        kp_column *column = &table->columns[i];
        size_t cell = column->is_text ? sizeof *column->texts : sizeof *column->values;
        void *old = column->is_text ? (void *)column->texts : (void *)column->values;
        void *cells = realloc(old, capacity * cell);
        if (cells == NULL) {
            return no_memory(error); /* columns already grown stay so: row_capacity still tells what all of them hold */
        }
        if (column->is_text) {
            column->texts = cells;
        } else {
            column->values = cells;
        }
    }
    table->row_capacity = capacity;
    return KP_OK;
}

kp_status kp_table_add_row(kp_table *table, size_t *row, kp_error *error)
{
    if (table->row_count == table->row_capacity) {
        kp_status status = grow(table, error);
        if (status != KP_OK) {
            return status;
        }
    }
    for (size_t i = 0; i < table->column_count; i++) {
        kp_column *column = &table->columns[i];
        if (column->is_text) {
            column->texts[table->row_count] = NULL;
        } else {
            column->values[table->row_count] = (double)NAN;
        }
    }
    if (row != NULL) {
        *row = table->row_count;
    }
    table->row_count++;
    return KP_OK;
}

void kp_table_set(kp_table *table, size_t row, size_t column, double si_value)
{
    assert(row < table->row_count && column < table->column_count && !table->columns[column].is_text);
    table->columns[column].values[row] = si_value;
}

kp_status kp_table_set_text(kp_table *table, size_t row, size_t column, const char *text, kp_error *error)
{
    assert(row < table->row_count && column < table->column_count && table->columns[column].is_text);
    size_t size = strlen(text) + 1;
    char *copy = malloc(size);
    if (copy == NULL) {
        return no_memory(error);
    }
    memcpy(copy, text, size);
    free(table->columns[column].texts[row]);
    table->columns[column].texts[row] = copy;
    return KP_OK;
}
