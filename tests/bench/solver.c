/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Load paths and lift tables of 1, 4, 8 and 16 distinct shims, and of the eight shims of the speed target. */
#include "bench.h"

#include <math.h>
#include <stdio.h>

enum { REPEATS = 41, CASES = 5, GROWTH_FROM = 1, GROWTH_TO = 3 };
static const int discs_of[CASES] = {1, 4, 8, 16, WORK_TARGET};

/* Kept to fit how the cost grows with the number of discs. */
typedef struct cost {
    double seconds[CASES], instructions[CASES];
} cost;

static void name_of(int discs, char name[48])
{
    if (discs == WORK_TARGET)
        snprintf(name, 48, "8 discs of the target");
    else
        snprintf(name, 48, "%d disc%s", discs, discs == 1 ? "" : "s");
}

static void which_of(int discs, char which[16])
{
    snprintf(which, 16, "%d", discs);
}

static void paths(const bench *b, cost *out)
{
    static const sheet_column columns[] = {
        {"seconds", "median ms", 1e3, 3},          {"seconds_low", "10 % ms", 1e3, 3},
        {"seconds_high", "90 % ms", 1e3, 3},       {"setup_seconds", "set-up ms", 1e3, 3},
        {"instructions", "M instr.", 1e-6, 2},     {"setup_instructions", "set-up M", 1e-6, 2},
        {"newton_steps", "Newton steps", 1, 0},    {"yardsticks", "yardsticks", 1, 3},
        {"peak_memory_bytes", "peak MB", 1e-6, 2},
    };
    char title[160];
    snprintf(title, sizeof title,
             "One load path, %d loads from %g to %g MPa, set-up included: processor time of one core (%d repeats)",
             WORK_LOADS, 1e-6 * work_pressure_first, 1e-6 * work_pressure_last, REPEATS);
    sheet s = {"load_paths", title, columns, sizeof columns / sizeof columns[0], b->json, 0};
    sheet_begin(&s);
    for (int i = 0; i < CASES; i++) {
        work_case c;
        char name[48], which[16];
        work_taper(discs_of[i], &c);
        name_of(discs_of[i], name);
        which_of(discs_of[i], which);
        bench_spread time = bench_time(REPEATS, work_named("path"), &c);
        bench_spread setup = bench_time(REPEATS, work_named("setup"), &c);
        out->seconds[i] = time.median;
        out->instructions[i] = bench_count_work(b, "path", which, NULL).instructions;
        const double values[] = {time.median,
                                 time.low,
                                 time.high,
                                 setup.median,
                                 out->instructions[i],
                                 bench_count_work(b, "setup", which, NULL).instructions,
                                 c.newton_steps,
                                 time.median / b->yardstick,
                                 bench_memory_of_work(b, "path", which)};
        sheet_row(&s, name, values);
    }
    sheet_end(&s, "peak MB: of a process that does only this");
}

static void tables(const bench *b, const work_mode *mode, cost *out)
{
    static const sheet_column columns[] = {
        {"seconds", "median ms", 1e3, 3},
        {"seconds_low", "10 % ms", 1e3, 3},
        {"seconds_high", "90 % ms", 1e3, 3},
        {"instructions", "M instr.", 1e-6, 2},
        {"solves", "solves", 1, 0},
        {"yardsticks", "yardsticks", 1, 3},
        {"peak_memory_bytes", "peak MB", 1e-6, 2},
    };
    char title[160], key[48];
    snprintf(title, sizeof title, "A whole lift table to %g MPa, %s: processor time of one core (%d repeats)",
             1e-6 * work_pressure_last, mode->name, REPEATS);
    snprintf(key, sizeof key, "lift_tables_%s", mode->name);
    sheet s = {key, title, columns, sizeof columns / sizeof columns[0], b->json, 0};
    sheet_begin(&s);
    for (int i = 0; i < CASES; i++) {
        work_case c;
        char name[48], which[16];
        work_taper(discs_of[i], &c);
        name_of(discs_of[i], name);
        which_of(discs_of[i], which);
        bench_spread time = bench_time(REPEATS, work_named(mode->table), &c);
        bench_count count = bench_count_work(b, mode->table, which, "kp_stack_solve");
        out->seconds[i] = time.median;
        out->instructions[i] = count.instructions;
        const double values[] = {time.median,
                                 time.low,
                                 time.high,
                                 count.instructions,
                                 count.calls,
                                 time.median / b->yardstick,
                                 bench_memory_of_work(b, mode->table, which)};
        sheet_row(&s, name, values);
    }
    sheet_end(&s, "solves: loads solved for the table, counted by callgrind");
}

/* Slope of ln cost against ln discs by least squares over 4, 8 and 16. */
static double growth(const double *of)
{
    double n = 0, x = 0, y = 0, xx = 0, xy = 0;
    for (int i = GROWTH_FROM; i <= GROWTH_TO; i++) {
        double u = log(discs_of[i]), v = log(of[i]);
        n++;
        x += u;
        y += v;
        xx += u * u;
        xy += u * v;
    }
    return (n * xy - x * y) / (n * xx - x * x);
}

void bench_solver(const bench *b)
{
    static const sheet_column columns[] = {{"exponent_of_seconds", "of time", 1, 3},
                                           {"exponent_of_instructions", "of instructions", 1, 3}};
    cost path, table[WORK_MODES];
    paths(b, &path);
    for (size_t m = 0; m < WORK_MODES; m++)
        tables(b, &work_modes[m], &table[m]);
    sheet s = {"growth", "Cost as a power of the number of distinct discs, fitted over 4, 8 and 16",
               columns,  sizeof columns / sizeof columns[0],
               b->json,  0};
    sheet_begin(&s);
    sheet_row(&s, "load path", (double[]){growth(path.seconds), growth(path.instructions)});
    for (size_t m = 0; m < WORK_MODES; m++) {
        char name[48];
        snprintf(name, sizeof name, "lift table, %s", work_modes[m].name);
        sheet_row(&s, name, (double[]){growth(table[m].seconds), growth(table[m].instructions)});
    }
    sheet_end(&s, NULL);
}
