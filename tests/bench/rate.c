/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stacks per second: random tapers, each with its own lift table, run by the thread pool. */
#include "bench.h"

#include "num/num.h"
#include "kneepoint/lift.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { STACKS = 2000, MAX_THREADS = 2 };

typedef struct rate_job {
    const work_mode *mode;
    double *opening; /* [STACKS] [m] at the table's end */
} rate_job;

static kp_status solve_one(size_t index, void *workspace, void *context, kp_error *error)
{
    (void)workspace;
    const rate_job *job = context;
    work_case c;
    kp_lift lift;
    kp_lift_table *table = NULL;
    work_drawn_taper(index, &c);
    kp_status status = job->mode->build(&c.stack, work_pressure_last, &table, error);
    if (status == KP_OK)
        status = kp_lift_table_at(table, work_pressure_last, &lift, error);
    if (status == KP_OK)
        job->opening[index] = lift.opening;
    kp_lift_table_free(table);
    return status;
}

static void measure(const bench *b, sheet *s, rate_job *job, size_t threads, double instructions)
{
    kp_error error = {0};
    kp_pool pool = {.threads = threads};
    double wall = bench_wall(), processor = bench_processor();
    if (kp_pool_run(&pool, STACKS, solve_one, job, NULL, &error) != KP_OK)
        bench_stop("stacks a second", error.message);
    wall = bench_wall() - wall;
    processor = bench_processor() - processor;
    char name[64];
    snprintf(name, sizeof name, "%s, %zu thread%s", job->mode->name, threads, threads == 1 ? "" : "s");
    sheet_row(s, name,
              (double[]){STACKS, wall, processor, STACKS / wall, STACKS * (double)threads / processor,
                         processor / STACKS / b->yardstick, instructions});
}

void bench_rate(const bench *b)
{
    static const sheet_column columns[] = {
        {"stacks", "stacks", 1, 0},
        {"wall_seconds", "wall s", 1, 2},
        {"processor_seconds", "processor s", 1, 2},
        {"stacks_a_second", "stacks/s", 1, 0},
        {"stacks_a_second_undisturbed", "undisturbed stacks/s", 1, 0},
        {"yardsticks", "yardsticks each", 1, 3},
        {"instructions", "M instr. each", 1e-6, 2},
    };
    char title[160];
    snprintf(title, sizeof title, "Random tapers of 4 to 12 sizes, half of them dished, one lift table each, to %g MPa",
             1e-6 * work_pressure_last);
    sheet s = {"rates", title, columns, sizeof columns / sizeof columns[0], b->json, 0};
    double *first = calloc(STACKS, sizeof *first), *again = calloc(STACKS, sizeof *again);
    if (first == NULL || again == NULL)
        bench_stop("stacks a second", "no memory");
    sheet_begin(&s);
    for (size_t m = 0; m < WORK_MODES; m++) {
        double each = bench_count_work(b, work_modes[m].drawn, "0", NULL).instructions / WORK_DRAWN;
        for (size_t threads = 1; threads <= MAX_THREADS; threads++) {
            rate_job job = {&work_modes[m], threads == 1 ? first : again};
            measure(b, &s, &job, threads, each);
        }
        if (memcmp(first, again, STACKS * sizeof *first) != 0)
            bench_stop(work_modes[m].name, "two threads give other numbers than one");
    }
    sheet_end(&s,
              "undisturbed: from processor time, as if each thread had its own core; M instr. each: mean of the first "
              "16. One and two threads give the same bits");
    free(first);
    free(again);
}
