/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Measures time, instructions and memory of a piece of work in this process, and of whole processes. */
#ifndef KNEEPOINT_TESTS_MEASURE_H
#define KNEEPOINT_TESTS_MEASURE_H

#include <stdbool.h>

/** Ends the program with a message on stderr. */
_Noreturn void bench_stop(const char *what, const char *why);

double bench_wall(void);      /* [s] since an arbitrary moment */
double bench_processor(void); /* [s] used by all threads of this process */

/** A quantity over many repeats. Other load can only make a run longer; the spread shows how busy the machine was. */
typedef struct bench_spread {
    double median, low, high; /* low and high: the 10th and the 90th percentile */
} bench_spread;
/** Sorts values [n], n >= 1. */
bench_spread bench_spread_of(int n, double *values);

/** Runs work repeats times, at most 101. Returned: processor time of one run [s]. */
bench_spread bench_time(int repeats, void (*work)(void *), void *context);

/** A small fixed kernel that contains no code of the solver, so that it stays the same when the solver changes. A time
    divided by the time of this yardstick can be compared between machines. */
void bench_yardstick(void *unused);

/** A whole process. */
typedef struct bench_process {
    double wall, processor; /* [s] */
    double peak_memory;     /* [bytes] largest resident size, at least that of its parent: see bench_memory */
} bench_process;
/** Runs a process and discards its output; its failure ends the program. Given: arguments, ending with NULL; [0] is
    searched in PATH. */
bench_process bench_run(char *const *arguments);
/** Peak memory of a whole process [bytes]. Linux includes the memory of the parent at the start of the child. A new
    process of this program (self, BENCH_MEMORY_OPTION), which is still small, therefore starts it. */
double bench_memory(char *self, char *const *arguments);
/** What that new process does: runs its remaining arguments, prints the peak memory, and returns its exit status. */
int bench_memory_helper(char *const *arguments);
#define BENCH_MEMORY_OPTION "--memory"

/** Counts of valgrind's callgrind, which do not depend on the load of the machine. */
typedef struct bench_count {
    double instructions; /* [-] NAN without valgrind */
    double calls;        /* [-] of the function watched; NAN without one or without valgrind */
} bench_count;
/** Counts a whole process. watched: name of a function that is never inlined, or NULL. */
bench_count bench_instructions(char *const *arguments, const char *watched);

#endif
