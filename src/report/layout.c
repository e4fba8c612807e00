/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Lays a report out as lines of text for people: running text broken at blanks, tables in columns. */
#include "report/report_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define CELL           96   /* [bytes] */
#define ROW            4096 /* [bytes] */
#define WIDEST_HEADING 9    /* [letters] of a heading on one line */
#define MAX_COLUMNS    64
#define MAX_INDENT     8 /* [letters] */

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

/* Adds a cell to the row; blanks at the row's end are dropped when it is finished. */
static void add_cell(char row[ROW], const char *text, int width, bool left)
{
    size_t used = strlen(row);
    int blank = width - letters(text);
    blank = blank > 0 ? blank : 0;
    snprintf(row + used, ROW - used, "%*s%s%*s", left ? 0 : blank, "", text, (left ? blank : 0) + 2, "");
}

static void finish_row(kp_lines *page, char row[ROW], bool heading)
{
    size_t length = strlen(row);

    while (length > 0 && row[length - 1] == ' ') {
        length--;
    }

    kp_lines_add(page, "%.*s", (int)length, row);
    if (page->count > 0) {
        page->items[page->count - 1].heading = heading;
    }

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

    /* The width is that of the widest cell. */
    int width = letters(head->first);

    width = letters(head->second) > width ? letters(head->second) : width;
    width = letters(head->unit) > width ? letters(head->unit) : width;

    for (size_t row = 0; row < rows; row++) {
        cell_text(column, row, units, cell);
        width = letters(cell) > width ? letters(cell) : width;
    }

    head->width = width;
}

static size_t choose_columns(const kp_table *table, const kp_column *chosen[MAX_COLUMNS])
{
    size_t count = 0;
    for (size_t i = 0; i < table->column_count && count < MAX_COLUMNS; i++) {
        if (!table->columns[i].hidden) {
            chosen[count++] = &table->columns[i];
        }
    }
    return count;
}

static void add_table(kp_lines *page, const kp_table *table, kp_unit_system units)
{
    const kp_column *columns[MAX_COLUMNS];
    kp_head heads[MAX_COLUMNS];
    size_t count = choose_columns(table, columns);

    /* Every cell is measured first: a column is as wide as its widest. */
    bool two_lines = false;
    bool has_units = false;

    for (size_t i = 0; i < count; i++) {
        measure(columns[i], table->row_count, units, &heads[i]);
        two_lines = two_lines || heads[i].first[0] != '\0';
        has_units = has_units || heads[i].unit[0] != '\0';
    }

    char text[ROW] = "";

    /* Heading in one or two lines, then the units. */
    for (int line = two_lines ? 0 : 1; line < (has_units ? 3 : 2); line++) {
        for (size_t i = 0; i < count; i++) {
            const char *word = line == 0 ? heads[i].first : line == 1 ? heads[i].second : heads[i].unit;
            add_cell(text, word, heads[i].width, columns[i]->is_text);
        }

        finish_row(page, text, line < 2);
    }

    /* The rows under it. */
    for (size_t row = 0; row < table->row_count; row++) {
        for (size_t i = 0; i < count; i++) {
            char cell[CELL];
            cell_text(columns[i], row, units, cell);
            add_cell(text, cell, heads[i].width, columns[i]->is_text);
        }
        finish_row(page, text, false);
    }
}

/* ---- running text ------------------------------------------------------------------------------------------------ */

/* A number stays with its unit, and a shim's outside with its thickness. */
static bool may_break(const char *line, size_t at)
{
    bool behind_number = at > 0 && line[at - 1] >= '0' && line[at - 1] <= '9';
    bool in_shim = at > 1 && line[at - 1] == 'x' && line[at - 2] == ' ';
    bool before_word = (line[at + 1] >= 'a' && line[at + 1] <= 'z') || (line[at + 1] >= 'A' && line[at + 1] <= 'Z') ||
                       line[at + 1] == '%';
    return line[at] == ' ' && !in_shim && !(behind_number && before_word);
}

/* Words of one line, broken at blanks so that none is cut at the edge of a terminal. What goes on is indented as far
   as the words of an item ("   - ...") are. */
static void add_wrapped(kp_lines *page, const char *line, size_t width)
{
    size_t indent = strspn(line, " -");
    indent = indent > MAX_INDENT ? MAX_INDENT : indent;
    size_t margin = 0;

    while (strlen(line) + margin > width) {
        size_t at = width - margin;
        size_t first = margin == 0 ? indent : 0;

        /* Back to the last blank at which the line may break. */
        while (at > first && !may_break(line, at)) {
            at--;
        }

        if (at <= first) {
            break; /* a path or the like: longer than a line, left whole */
        }

        kp_lines_add(page, "%*s%.*s", (int)margin, "", (int)at, line);
        line += at + 1;
        margin = indent;
    }

    kp_lines_add(page, "%*s%s", (int)margin, "", line);
}

static void add_lines(kp_lines *page, const kp_lines *lines, size_t width)
{
    for (size_t i = 0; i < lines->count; i++) {
        add_wrapped(page, lines->items[i].text, width);
    }
}

void kp_report_text(const kp_report *report, size_t width, kp_lines *page)
{
    add_lines(page, &report->top, width);

    for (size_t i = 0; i < report->section_count; i++) {
        kp_lines_add(page, "%s", "");
        add_lines(page, &report->sections[i].heading, width);
        add_table(page, &report->sections[i].table, report->request->units);
    }

    if (report->foot.count > 0) {
        kp_lines_add(page, "%s", "");
        add_lines(page, &report->foot, width);
    }
}
