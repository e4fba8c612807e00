/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The parts of the benchmark; each prints its tables. */
#ifndef KNEEPOINT_TESTS_BENCH_H
#define KNEEPOINT_TESTS_BENCH_H

#include "measure.h"
#include "sheet.h"
#include "work.h"

typedef struct bench {
    bool json;
    char *self;       /* path of this program, to start it again */
    double yardstick; /* [s] median time of the fixed kernel on this machine */
} bench;

/** Instructions of one repeat of a piece of work, and calls of the function watched in it, counted by callgrind. The
    count is that of two repeats minus that of one, which cancels the start of the process. */
bench_count bench_count_work(const bench *b, const char *work, const char *which, const char *watched);
/** Peak memory of a process of this program that does a piece of work once [bytes]. */
double bench_memory_of_work(const bench *b, const char *work, const char *which);

void bench_solver(const bench *b);   /* load paths and lift tables of 1 to 16 discs, and how their cost grows */
void bench_curve(const bench *b);    /* a curve in this process, and whole processes                         */
void bench_rate(const bench *b);     /* stacks a second on 1 and 2 threads                                   */
void bench_decks(const bench *b);    /* our time against the recorded times of the reference decks */
void bench_elements(const bench *b); /* our time against that of CalculiX, run now */

#endif
