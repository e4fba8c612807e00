/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A table for people, and the same kind of table as CSV. */
#include "cli/output.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { CELL = 96, WIDEST_HEADING = 9, MOST_COLUMNS = 64 };

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

static void cell_text(const kp_column *column, size_t row, kp_unit_system units, char cell[CELL])
{
    if (column->is_text) {
        const char *text = column->texts[row];
        snprintf(cell, CELL, "%s", text != NULL ? text : "");
    } else if (!isfinite(column->values[row])) {
        snprintf(cell, CELL, "-");
    } else {
        double shown = kp_unit_convert(column->values[row], column->dimension, units);
        int decimals = kp_decimals_for(column->dimension, column->decimals, units);
        snprintf(cell, CELL, "%.*f", decimals, shown);
        /* "-0" frightens; it is rounding */
        if (cell[0] == '-' && strspn(cell, "-0.") == strlen(cell)) {
            memmove(cell, cell + 1, strlen(cell));
        }
    }
}

/* Letters, not bytes: a heading may hold more than ASCII. */
static int letters(const char *text)
{
    int count = 0;
    for (; *text != '\0'; text++) {
        count += ((unsigned char)*text & 0xC0) != 0x80;
    }
    return count;
}

/* A long heading of several words stands on two lines. */
static void split_heading(const char *heading, char first[CELL], char second[CELL])
{
    const char *space = strlen(heading) > WIDEST_HEADING ? strchr(heading, ' ') : NULL;
    if (space == NULL) {
        snprintf(first, CELL, "%s", "");
        snprintf(second, CELL, "%s", heading);
        return;
    }
    /* the break that leaves the two lines most alike */
    size_t length = strlen(heading);
    for (const char *next = space; next != NULL; next = strchr(next + 1, ' ')) {
        size_t before = (size_t)(next - heading);
        size_t best = (size_t)(space - heading);
        size_t widest_now = before > length - before - 1 ? before : length - before - 1;
        size_t widest_best = best > length - best - 1 ? best : length - best - 1;
        space = widest_now < widest_best ? next : space;
    }
    snprintf(first, CELL, "%.*s", (int)(space - heading), heading);
    snprintf(second, CELL, "%s", space + 1);
}

enum { ROW = 4096 };

/* Adds a cell to the row; blanks at the row's end are dropped when it is printed. */
static void add_cell(char row[ROW], const char *text, int width, bool left)
{
    size_t used = strlen(row);
    int blank = width - letters(text);
    blank = blank > 0 ? blank : 0;
    snprintf(row + used, ROW - used, "%*s%s%*s", left ? 0 : blank, "", text, (left ? blank : 0) + 2, "");
}

static void print_row(char row[ROW], bool bold)
{
    size_t length = strlen(row);
    while (length > 0 && row[length - 1] == ' ') {
        length--;
    }
    printf("%s%.*s%s\n", bold ? kp_bold(false) : "", (int)length, row, bold ? kp_plain(false) : "");
    row[0] = '\0';
}

/** The lines of a table's head. */
typedef struct kp_head {
    char first[CELL], second[CELL], unit[CELL];
    int width; /* letters, of the whole column */
} kp_head;

static void measure(const kp_column *column, size_t rows, kp_unit_system units, kp_head *head)
{
    char cell[CELL];
    split_heading(column->heading, head->first, head->second);
    const char *unit = column->is_text ? "" : kp_unit_name(column->dimension, units);
    snprintf(head->unit, CELL, "%s", unit);
    int width = letters(head->first);
    width = letters(head->second) > width ? letters(head->second) : width;
    width = letters(head->unit) > width ? letters(head->unit) : width;
    for (size_t row = 0; row < rows; row++) {
        cell_text(column, row, units, cell);
        width = letters(cell) > width ? letters(cell) : width;
    }
    head->width = width;
}

static size_t choose_columns(const kp_table *table, const kp_column *chosen[MOST_COLUMNS])
{
    size_t count = 0;
    for (size_t i = 0; i < table->column_count && count < MOST_COLUMNS; i++) {
        if (!table->columns[i].hidden) {
            chosen[count++] = &table->columns[i];
        }
    }
    return count;
}

void kp_table_print(const kp_table *table, kp_unit_system units)
{
    const kp_column *columns[MOST_COLUMNS];
    kp_head heads[MOST_COLUMNS];
    size_t count = choose_columns(table, columns);
    bool two_lines = false;
    bool has_units = false;
    for (size_t i = 0; i < count; i++) {
        measure(columns[i], table->row_count, units, &heads[i]);
        two_lines = two_lines || heads[i].first[0] != '\0';
        has_units = has_units || heads[i].unit[0] != '\0';
    }
    char text[ROW] = "";
    for (int line = two_lines ? 0 : 1; line < (has_units ? 3 : 2); line++) {
        for (size_t i = 0; i < count; i++) {
            const char *word = line == 0 ? heads[i].first : line == 1 ? heads[i].second : heads[i].unit;
            add_cell(text, word, heads[i].width, columns[i]->is_text);
        }
        print_row(text, line < 2);
    }
    for (size_t row = 0; row < table->row_count; row++) {
        for (size_t i = 0; i < count; i++) {
            char cell[CELL];
            cell_text(columns[i], row, units, cell);
            add_cell(text, cell, heads[i].width, columns[i]->is_text);
        }
        print_row(text, false);
    }
}

void kp_column_full_name(const kp_column *column, char *name, size_t size)
{
    const char *suffix = column->is_text ? "" : kp_unit_column_suffix(column->dimension);
    snprintf(name, size, "%s%s%s", column->name, suffix[0] != '\0' ? "_" : "", suffix);
}

/* RFC 4180: quoted when it must be, quotes doubled. */
static void print_csv_text(const char *text)
{
    if (strpbrk(text, ",\"\r\n") == NULL) {
        printf("%s", text);
        return;
    }
    putchar('"');
    for (; *text != '\0'; text++) {
        if (*text == '"') {
            putchar('"');
        }
        putchar(*text);
    }
    putchar('"');
}

void kp_table_print_csv(const kp_table *table)
{
    char text[64];
    for (size_t i = 0; i < table->column_count; i++) {
        kp_column_full_name(&table->columns[i], text, sizeof text);
        printf("%s%s", i > 0 ? "," : "", text);
    }
    putchar('\n');
    for (size_t row = 0; row < table->row_count; row++) {
        for (size_t i = 0; i < table->column_count; i++) {
            const kp_column *column = &table->columns[i];
            printf("%s", i > 0 ? "," : "");
            if (column->is_text) {
                print_csv_text(column->texts[row] != NULL ? column->texts[row] : "");
            } else if (isfinite(column->values[row])) {
                kp_number_write(column->values[row], text, sizeof text);
                printf("%s", text);
            }
        }
        putchar('\n');
    }
}
