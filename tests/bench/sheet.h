/* SPDX-License-Identifier: GPL-3.0-or-later */
/** One table of numbers, printed as text or as JSON. */
#ifndef KNEEPOINT_TESTS_SHEET_H
#define KNEEPOINT_TESTS_SHEET_H

#include <stdbool.h>
#include <stddef.h>

enum { SHEET_COLUMNS = 12 };

typedef struct sheet_column {
    const char *key;     /* in JSON; values there are in SI units */
    const char *heading; /* in text, with its unit */
    double scale;        /* from SI to the unit in text; 0: in JSON only */
    int decimals;
} sheet_column;

typedef struct sheet {
    const char *key, *title;
    const sheet_column *columns;
    size_t column_count;
    bool json;
    size_t rows; /* printed so far */
} sheet;

void sheet_begin(sheet *s);
/** Given: values [column_count]; NAN is unknown and printed as "-" or null. */
void sheet_row(sheet *s, const char *name, const double *values);
/** Given: note, a line under the table in text, or NULL. */
void sheet_end(sheet *s, const char *note);

#endif
