/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The named-column table: what every command hands to the writers of table, CSV and JSON. The first failure stays in
    the table, so that a caller may add and set without looking and ask once. */
#include "kneepoint/base.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FIRST_ROWS = 32 /* [-] rows made room for at first; doubled when they run out */ };

static void no_memory(kp_table *table)
{
    kp_error_set(&table->failure, KP_NO_MEMORY, "memory ran out while a table was made");
}

kp_status kp_table_begin(kp_table *table, kp_error *error)
{
    (void)error; /* nothing is allocated before the first column */
    *table = (kp_table){0};
    return KP_OK;
}

kp_status kp_table_status(const kp_table *table, kp_error *error)
{
    if (table->failure.status != KP_OK && error != NULL) {
        *error = table->failure;
    }
    return table->failure.status;
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

/** Appends one column, or records in the table why it could not. Returned through column: its index, or 0. */
static void add_column(kp_table *table, const kp_column_spec *spec, size_t *column)
{
    kp_column made = {
        .dimension = spec->dimension, .decimals = spec->decimals, .is_text = spec->is_text, .hidden = spec->hidden};
    if (column != NULL) {
        *column = 0;
    }
    if (table->failure.status != KP_OK) {
        return;
    }

    if (strlen(spec->name) >= sizeof made.name || strlen(spec->heading) >= sizeof made.heading) {
        kp_error_set(&table->failure, KP_OUT_OF_RANGE, "column name `%s` or heading `%s` is longer than %zu bytes",
                     spec->name, spec->heading, sizeof made.name - 1);
        return;
    }
    if (table->row_count > 0) {
        kp_error_set(&table->failure, KP_OUT_OF_RANGE, "column `%s` comes after the first row", spec->name);
        return;
    }

    kp_column *columns = realloc(table->columns, (table->column_count + 1) * sizeof *columns);
    if (columns == NULL) {
        no_memory(table);
        return;
    }

    /* Only now does the table change, so that a failure leaves it as it was. */
    snprintf(made.name, sizeof made.name, "%s", spec->name);
    snprintf(made.heading, sizeof made.heading, "%s", spec->heading);
    columns[table->column_count] = made;
    table->columns = columns;
    if (column != NULL) {
        *column = table->column_count;
    }
    table->column_count++;
}

void kp_table_add_columns(kp_table *table, const kp_column_spec *specs, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        add_column(table, &specs[i], NULL);
    }
}

kp_status kp_table_add_column(kp_table *table, const char *name, const char *heading, kp_dimension dimension,
                              int decimals, size_t *column, kp_error *error)
{
    const kp_column_spec spec = {.name = name, .heading = heading, .dimension = dimension, .decimals = decimals};
    add_column(table, &spec, column);
    return kp_table_status(table, error);
}

kp_status kp_table_add_text_column(kp_table *table, const char *name, const char *heading, size_t *column,
                                   kp_error *error)
{
    const kp_column_spec spec = {.name = name, .heading = heading, .dimension = KP_DIM_NONE, .is_text = true};
    add_column(table, &spec, column);
    return kp_table_status(table, error);
}

/** Makes room for more rows in every column. When memory runs out midway, some columns hold more than row_capacity
    says, which is harmless. */
static void grow(kp_table *table)
{
    size_t capacity = table->row_capacity == 0 ? FIRST_ROWS : 2 * table->row_capacity;
    for (size_t i = 0; i < table->column_count; i++) {
        kp_column *column = &table->columns[i];
        size_t cell = column->is_text ? sizeof *column->texts : sizeof *column->values;
        void *old = column->is_text ? (void *)column->texts : (void *)column->values;
        void *cells = realloc(old, capacity * cell);
        if (cells == NULL) {
            no_memory(table);
            return;
        }

        /* The old cells have moved into the new block. */
        if (column->is_text) {
            column->texts = cells;
        } else {
            column->values = cells;
        }
    }

    table->row_capacity = capacity;
}

kp_status kp_table_add_row(kp_table *table, size_t *row, kp_error *error)
{
    if (row != NULL) {
        *row = 0;
    }

    if (table->failure.status == KP_OK && table->row_count == table->row_capacity) {
        grow(table);
    }
    if (table->failure.status != KP_OK) {
        return kp_table_status(table, error);
    }

    /* A cell is without a value until one is set. */
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
    if (table->failure.status != KP_OK) {
        return;
    }
    assert(row < table->row_count && column < table->column_count && !table->columns[column].is_text);
    table->columns[column].values[row] = si_value;
}

kp_status kp_table_set_text(kp_table *table, size_t row, size_t column, const char *text, kp_error *error)
{
    if (table->failure.status != KP_OK) {
        return kp_table_status(table, error);
    }
    assert(row < table->row_count && column < table->column_count && table->columns[column].is_text);

    /* The copy is made first, so that a cell keeps its old text when memory runs out. */
    size_t size = strlen(text) + 1;
    char *copy = malloc(size);
    if (copy == NULL) {
        no_memory(table);
        return kp_table_status(table, error);
    }

    memcpy(copy, text, size);
    free(table->columns[column].texts[row]);
    table->columns[column].texts[row] = copy;
    return KP_OK;
}
