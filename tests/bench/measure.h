/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Clocks, instructions, memory: of a piece of work in this process, and of whole processes. */
#ifndef KNEEPOINT_TESTS_MEASURE_H
#define KNEEPOINT_TESTS_MEASURE_H

#include <stdbool.h>

/** Ends the program with a sentence on stderr. */
_Noreturn void bench_stop(const char *what, const char *why);

double bench_wall(void);      /* [s] since some moment                                 */
double bench_processor(void); /* [s] this process has had, all its threads together */

/** A figure over many repeats. A shared machine only ever makes a run longer, and its own noise is not ours: the spread
    says how busy it was. */
typedef struct bench_spread {
    double median, low, high; /* low and high: the 10th and the 90th percentile */
} bench_spread;
/** Sorts values [n], n >= 1. */
bench_spread bench_spread_of(int n, double *values);

/** Runs work repeats times (at most 101). Returned: processor seconds of one. */
bench_spread bench_time(int repeats, void (*work)(void *), void *context);

/** A fixed small kernel that has nothing of ours in it, so that it stays the same while the solver does not: the
    machine's own yardstick. A time divided by its time can be carried from one machine to another. */
void bench_yardstick(void *unused);

/** A whole process. */
typedef struct bench_process {
    double wall, processor; /* [s] */
    double peak_memory;     /* [bytes] largest resident size, but never less than its parent's: see bench_memory */
} bench_process;
/** Output is thrown away; a process that fails ends the program. arguments end with NULL; [0] is looked for in PATH. */
bench_process bench_run(char *const *arguments);
/** Peak memory of a whole process [bytes]. Linux counts what the parent held when it started the child, so the child is
    started by this program run anew (self, BENCH_MEMORY_OPTION), which holds next to nothing yet. */
double bench_memory(char *self, char *const *arguments);
/** What self does for that: runs the rest of its arguments, prints the bytes, and returns its exit status. */
int bench_memory_helper(char *const *arguments);
#define BENCH_MEMORY_OPTION "--memory"

/** What valgrind's callgrind counts: the figure that a busy machine does not change. */
typedef struct bench_count {
    double instructions; /* [-] NAN: there is no valgrind             */
    double calls;        /* [-] of the watched function; NAN likewise */
} bench_count;
/** watched: a function that is never inlined, or NULL. */
bench_count bench_instructions(char *const *arguments, const char *watched);

#endif
