/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Reader of the outside numbers in tests/truth: comma-separated, `#` comment lines, one header line, columns by name.
    It serves tests only: anything wrong with a file, a row or a column ends the test with a sentence on stderr, so a
    test can never go on with a number that is not there. */
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

/** Is there such a column? */
bool truth_has_column(const truth *table, const char *column);
/** Does the cell hold anything? (Oracles that do not know a number leave its cell empty.) */
bool truth_has(const truth *table, size_t row, const char *column);
/** The cell as a finite number; a cell that is empty or not wholly a number ends the test. */
double truth_number(const truth *table, size_t row, const char *column);
/** The cell as text. */
const char *truth_text(const truth *table, size_t row, const char *column);
/** One unit of the last digit a number was given to ("0.00231" gives 1e-5, "5.3209e-3" 1e-7): half of it is the
    rounding that any comparison must allow. */
double truth_last_digit(const truth *table, size_t row, const char *column);

#endif
