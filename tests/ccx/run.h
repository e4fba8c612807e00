/* SPDX-License-Identifier: GPL-3.0-or-later */
/** One run of ccx in a temporary folder. */
#ifndef KNEEPOINT_TESTS_RUN_H
#define KNEEPOINT_TESTS_RUN_H

#include "elements.h"

enum { RUN_PATH = 1024 };

typedef struct run_folder {
    char path[RUN_PATH];
} run_folder;

/** Makes a folder under TMPDIR. Returned: its deck.inp, open for writing. */
FILE *run_begin(run_folder *at);
/** Path of a file in the folder. */
void run_path(const run_folder *at, const char *name, char out[2 * RUN_PATH]);
/** Runs ccx on deck.inp, on one core. */
elements_seconds run_ccx(const run_folder *at);
/** Removes the folder. */
void run_end(const run_folder *at);
/** Ends the test with a message and what ccx complained of. */
_Noreturn void run_give_up(const run_folder *at, const char *what);

#endif
