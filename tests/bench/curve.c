/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Computing a curve in this process, and the whole process `kneepoint curve`. */
#include "bench.h"

#include <stdio.h>

enum { REPEATS = 21 };
static const char *const files[] = {"van-rear-linear.yaml", "van-rear-digressive.yaml"};
enum { FILES = sizeof files / sizeof files[0] };

static void in_process(const bench *b)
{
    static const sheet_column columns[] = {
        {"seconds", "median ms", 1e3, 3},      {"seconds_low", "10 % ms", 1e3, 3}, {"seconds_high", "90 % ms", 1e3, 3},
        {"instructions", "M instr.", 1e-6, 2}, {"solves", "solves", 1, 0},         {"yardsticks", "yardsticks", 1, 3},
    };
    sheet s = {"curves", "A curve by the library: file read, tables made, 12 points, both summaries (processor time)",
               columns,  sizeof columns / sizeof columns[0],
               b->json,  0};
    sheet_begin(&s);
    for (size_t i = 0; i < FILES; i++) {
        work_case c;
        snprintf(c.file, sizeof c.file, "%s/stacks/%s", KP_SOURCE_DIR, files[i]);
        bench_spread time = bench_time(REPEATS, work_named("curve"), &c);
        bench_count count = bench_count_work(b, "curve", c.file, "kp_stack_solve");
        sheet_row(
            &s, files[i],
            (double[]){time.median, time.low, time.high, count.instructions, count.calls, time.median / b->yardstick});
    }
    sheet_end(&s, NULL);
}

static void whole(const bench *b, sheet *s, const char *file)
{
    char program[] = KP_PROGRAM, command[] = "curve", format[] = "--format", csv[] = "csv", path[1024];
    snprintf(path, sizeof path, "%s/stacks/%s", KP_SOURCE_DIR, file);
    char *arguments[] = {program, command, path, format, csv, NULL};
    double wall[REPEATS], processor[REPEATS];
    for (size_t i = 0; i < REPEATS; i++) {
        bench_process process = bench_run(arguments);
        wall[i] = process.wall;
        processor[i] = process.processor;
    }
    bench_spread spread = bench_spread_of(REPEATS, wall);
    double used = bench_spread_of(REPEATS, processor).median;
    char name[64];
    snprintf(name, sizeof name, "curve %s", file);
    sheet_row(s, name,
              (double[]){spread.median, spread.low, spread.high, used, bench_instructions(arguments, NULL).instructions,
                         used / b->yardstick, bench_memory(b->self, arguments)});
}

void bench_curve(const bench *b)
{
    static const sheet_column columns[] = {
        {"wall_seconds", "wall ms", 1e3, 2},       {"wall_seconds_low", "10 % ms", 1e3, 2},
        {"wall_seconds_high", "90 % ms", 1e3, 2},  {"processor_seconds", "processor ms", 1e3, 2},
        {"instructions", "M instr.", 1e-6, 2},     {"yardsticks", "yardsticks", 1, 3},
        {"peak_memory_bytes", "peak MB", 1e-6, 2},
    };
    in_process(b);
    sheet s = {
        "processes", "Whole processes, from start to end", columns, sizeof columns / sizeof columns[0], b->json, 0};
    sheet_begin(&s);
    for (size_t i = 0; i < FILES; i++)
        whole(b, &s, files[i]);
    sheet_end(&s, NULL);
}
