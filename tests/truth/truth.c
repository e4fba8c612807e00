/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "truth.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TRUTH_MAX_LINE = 4096 };

static _Noreturn void fail(const truth *table, const char *format, ...) __attribute__((format(printf, 2, 3)));

static _Noreturn void fail(const truth *table, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    fprintf(stderr, "tests/truth/%s: ", table->name);
    vfprintf(stderr, format, arguments);
    fputc('\n', stderr);
    va_end(arguments);
    abort();
}

static char *copy(const truth *table, const char *from, size_t length)
{
    char *text = malloc(length + 1);
    if (text == NULL)
        fail(table, "memory ran out");
    memcpy(text, from, length);
    text[length] = '\0';
    return text;
}

static size_t count_cells(const char *line)
{
    size_t count = 1;
    for (; *line != '\0'; line++)
        count += *line == ',';
    return count;
}

/* Appends the cells of a line as the next row. Every row must have as many cells as the header. */
static void add_row(truth *table, size_t line_number, size_t rows_so_far, const char *line)
{
    size_t count = count_cells(line);
    if (rows_so_far == 0)
        table->columns = count;
    else if (count != table->columns)
        fail(table, "line %zu has %zu cells, the header has %zu", line_number, count, table->columns);
    char **grown = realloc(table->cells, (rows_so_far + 1) * table->columns * sizeof *grown);
    if (grown == NULL)
        fail(table, "memory ran out");
    table->cells = grown;
    const char *from = line;
    for (size_t column = 0; column < table->columns; column++) {
        size_t length = strcspn(from, ",");
        table->cells[rows_so_far * table->columns + column] = copy(table, from, length);
        from += length + 1;
    }
}

truth truth_read(const char *name)
{
    truth table = {0};
    snprintf(table.name, sizeof table.name, "%s", name);
    char path[1024];
    if ((size_t)snprintf(path, sizeof path, "%s/%s", KP_TRUTH_DIR, name) >= sizeof path)
        fail(&table, "path too long");
    FILE *file = fopen(path, "r");
    if (file == NULL)
        fail(&table, "cannot be opened at %s", path);
    char line[TRUTH_MAX_LINE];
    size_t line_number = 0, rows = 0;
    while (fgets(line, sizeof line, file) != NULL) {
        line_number++;
        size_t length = strlen(line);
        if (length + 1 == sizeof line)
            fail(&table, "line %zu is longer than %d bytes", line_number, TRUTH_MAX_LINE - 2);
        while (length > 0 && isspace((unsigned char)line[length - 1]))
            line[--length] = '\0';
        if (length == 0 || line[0] == '#')
            continue;
        add_row(&table, line_number, rows, line);
        rows++;
    }
    if (ferror(file) != 0)
        fail(&table, "reading failed");
    fclose(file);
    if (rows < 2)
        fail(&table, "holds no data");
    table.rows = rows - 1;
    return table;
}

void truth_free(truth *table)
{
    for (size_t i = 0; table->cells != NULL && i < (table->rows + 1) * table->columns; i++)
        free(table->cells[i]);
    free(table->cells);
    *table = (truth){0};
}

static bool find_column(const truth *table, const char *column, size_t *index)
{
    for (size_t i = 0; i < table->columns; i++) {
        if (strcmp(table->cells[i], column) == 0) {
            *index = i;
            return true;
        }
    }
    return false;
}

bool truth_has_column(const truth *table, const char *column)
{
    size_t index;
    return find_column(table, column, &index);
}

const char *truth_text(const truth *table, size_t row, const char *column)
{
    size_t index;
    if (!find_column(table, column, &index))
        fail(table, "has no column %s", column);
    if (row >= table->rows)
        fail(table, "has no row %zu: %zu rows", row, table->rows);
    return table->cells[(row + 1) * table->columns + index];
}

bool truth_has(const truth *table, size_t row, const char *column)
{
    return truth_text(table, row, column)[0] != '\0';
}

double truth_number(const truth *table, size_t row, const char *column)
{
    const char *text = truth_text(table, row, column);
    char *end;
    double value = strtod(text, &end);
    if (end == text || *end != '\0' || !isfinite(value))
        fail(table, "row %zu, column %s: \"%s\" is no finite number", row, column, text);
    return value;
}

double truth_last_digit(const truth *table, size_t row, const char *column)
{
    const char *text = truth_text(table, row, column);
    (void)truth_number(table, row, column);
    const char *point = strchr(text, '.');
    const char *power = strpbrk(text, "eE");
    const char *digits_end = power != NULL ? power : text + strlen(text);
    double decimals = point != NULL ? (double)(digits_end - point - 1) : 0;
    return pow(10, (power != NULL ? strtod(power + 1, NULL) : 0) - decimals);
}
