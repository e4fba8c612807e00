/* SPDX-License-Identifier: GPL-3.0-or-later */
/** One table of figures, printed for people or as JSON: the same numbers, once. */
#ifndef KNEEPOINT_TESTS_SHEET_H
#define KNEEPOINT_TESTS_SHEET_H

#include <stdbool.h>
#include <stddef.h>

enum { SHEET_COLUMNS = 12 };

typedef struct sheet_column {
    const char *key;     /* in JSON; SI                                */
    const char *heading; /* for people, with its unit              */
    double scale;        /* what people's unit makes of it; 0: in JSON only */
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
/** values [column_count]; NAN: not known, "-" or null. */
void sheet_row(sheet *s, const char *name, const double *values);
/** note: a line under the table, for people only; NULL for none. */
void sheet_end(sheet *s, const char *note);

#endif
