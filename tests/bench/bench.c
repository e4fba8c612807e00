/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measures time, instructions and memory, and prints tables or JSON. It asserts nothing, because times on a shared
   machine are not reproducible. tests/bench/run.sh builds and runs it; tests/bench/compare.py compares two runs.

       bench [--json] [solver] [curve] [rate] [decks] [elements]     all without a name
       bench --work NAME WHICH TIMES                                 does one piece of work, for callgrind to count
       bench --memory PROGRAM ARGUMENTS                              prints the peak memory of a process [bytes] */
#include "bench.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { YARDSTICK_REPEATS = 101 };

static const struct {
    const char *name;
    void (*run)(const bench *b);
} parts[] = {{"solver", bench_solver},
             {"curve", bench_curve},
             {"rate", bench_rate},
             {"decks", bench_decks},
             {"elements", bench_elements}};
enum { PARTS = sizeof parts / sizeof parts[0] };

bench_count bench_count_work(const bench *b, const char *work, const char *which, const char *watched)
{
    char option[] = "--work", name[32], copy[1024], once[] = "1", twice[] = "2";
    snprintf(name, sizeof name, "%s", work);
    snprintf(copy, sizeof copy, "%s", which);
    char *arguments[] = {b->self, option, name, copy, once, NULL};
    bench_count one = bench_instructions(arguments, watched);
    arguments[4] = twice;
    bench_count two = bench_instructions(arguments, watched);
    return (bench_count){two.instructions - one.instructions, two.calls - one.calls};
}

double bench_memory_of_work(const bench *b, const char *work, const char *which)
{
    char option[] = "--work", name[32], copy[1024], once[] = "1";
    snprintf(name, sizeof name, "%s", work);
    snprintf(copy, sizeof copy, "%s", which);
    return bench_memory(b->self, (char *[]){b->self, option, name, copy, once, NULL});
}

/* Runs before and after everything else; the difference shows how steady the machine was. */
static double yardstick(const bench *b, const char *key, const char *title, bool counted)
{
    static const sheet_column columns[] = {
        {"seconds", "median ms", 1e3, 3},
        {"seconds_low", "10 % ms", 1e3, 3},
        {"seconds_high", "90 % ms", 1e3, 3},
        {"instructions", "M instr.", 1e-6, 2},
    };
    sheet s = {key, title, columns, sizeof columns / sizeof columns[0], b->json, 0};
    bench_spread time = bench_time(YARDSTICK_REPEATS, bench_yardstick, NULL);
    sheet_begin(&s);
    sheet_row(&s, "dense factor of 96 rows, 24 times",
              (double[]){time.median, time.low, time.high,
                         counted ? bench_count_work(b, "yardstick", "0", NULL).instructions : NAN});
    sheet_end(&s,
              counted ? "a time in yardsticks, the time divided by this one, can be compared between machines" : NULL);
    return time.median;
}

static int work(char **argv)
{
    static work_case c;
    work_function function = work_named(argv[2]);
    if (function == NULL)
        bench_stop(argv[2], "no such piece of work");
    if (strcmp(argv[2], "curve") == 0)
        snprintf(c.file, sizeof c.file, "%s", argv[3]);
    else
        work_taper((int)strtol(argv[3], NULL, 10), &c); /* 0: the target stack */
    for (long n = strtol(argv[4], NULL, 10); n > 0; n--)
        function(&c);
    return 0;
}

int main(int argc, char **argv)
{
    bench b = {.self = argv[0]};
    bool wanted[PARTS] = {false}, any = false;
    if (argc == 5 && strcmp(argv[1], "--work") == 0)
        return work(argv);
    if (argc > 2 && strcmp(argv[1], BENCH_MEMORY_OPTION) == 0)
        return bench_memory_helper(argv + 2);
    for (int i = 1; i < argc; i++) {
        bool known = strcmp(argv[i], "--json") == 0;
        b.json = b.json || known;
        for (size_t k = 0; k < PARTS; k++) {
            if (strcmp(argv[i], parts[k].name) == 0)
                known = any = wanted[k] = true;
        }
        if (!known) {
            fprintf(stderr, "usage: bench [--json] [solver] [curve] [rate] [decks] [elements]\n");
            return 2;
        }
    }
    if (b.json)
        printf("{\n  \"version\": \"%s\"", KP_VERSION);
    b.yardstick = yardstick(&b, "yardstick", "Yardstick of this machine", true);
    for (size_t k = 0; k < PARTS; k++) {
        if (wanted[k] || !any)
            parts[k].run(&b);
    }
    (void)yardstick(&b, "yardstick_after", "The yardstick again, after all measurements", false);
    if (b.json)
        printf("\n}\n");
    return 0;
}
