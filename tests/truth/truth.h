/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Reader of the outside numbers in tests/truth: comma-separated, `#` comment lines, one header line, columns by name.
    For tests only: any fault of a file, row or column ends the test with a message on stderr, so that no test continues
    with a missing number. */
#ifndef KNEEPOINT_TESTS_TRUTH_H
#define KNEEPOINT_TESTS_TRUTH_H

#include <stdbool.h>
#include <stddef.h>

typedef struct truth {
    char name[64];        /* file name, for messages */
    size_t columns, rows; /* [-] without the header  */
    char **cells;         /* [(rows + 1) x columns], row 0 the header */
} truth;

/** Reads KP_TRUTH_DIR/name ("single.csv"). Free with truth_free. */
truth truth_read(const char *name);
void truth_free(truth *table);

/** True when the table has the column. */
bool truth_has_column(const truth *table, const char *column);
/** True when the cell is not empty. An oracle that does not give a number leaves its cell empty. */
bool truth_has(const truth *table, size_t row, const char *column);
/** The cell as a finite number. Any other content ends the test. */
double truth_number(const truth *table, size_t row, const char *column);
/** The cell as text. */
const char *truth_text(const truth *table, size_t row, const char *column);
/** One unit of the last digit of a number ("0.00231" gives 1e-5, "5.3209e-3" gives 1e-7). Every comparison must allow
    for half of it, the rounding. */
double truth_last_digit(const truth *table, size_t row, const char *column);

#endif
