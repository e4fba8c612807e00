/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Our time against finite elements: recorded times of the reference decks, and CalculiX run now. */
#include "bench.h"

#include "cases.h"

#include <math.h>
#include <stdio.h>

enum { REPEATS = 41 };

void bench_decks(const bench *b)
{
    static const sheet_column columns[] = {
        {"loads", "loads", 1, 0},           {"seconds", "median ms", 1e3, 3},
        {"yardsticks", "yardsticks", 1, 3}, {"elements_seconds", "CalculiX s", 1, 0},
        {"ratio", "times", 1, 0},
    };
    sheet s = {
        "decks",
        "The reference decks, set-up and all loads: our processor time, and CalculiX' wall time as recorded when "
        "the tables were made",
        columns,
        sizeof columns / sizeof columns[0],
        b->json,
        0};
    truth decks = truth_read("decks.csv"), times = truth_read("elements_wall_time.csv");
    sheet_begin(&s);
    for (size_t row = 0; row < times.rows; row++) {
        work_case c;
        const char *name = truth_text(&times, row, "deck");
        work_deck(&decks, name, &c);
        bench_spread time = bench_time(REPEATS, work_named("path"), &c);
        double elements = truth_number(&times, row, "seconds");
        sheet_row(
            &s, name,
            (double[]){(double)c.loads, time.median, time.median / b->yardstick, elements, elements / time.median});
    }
    sheet_end(&s, "the recorded times are from another machine, which is not named");
    truth_free(&decks);
    truth_free(&times);
}

/* Largest relative difference between the two lifts of the face shim, to show that both solve the same problem. */
static double disagreement(const work_case *c, const elements_lift *theirs)
{
    kp_error error = {0};
    kp_stack_workspace *workspace = NULL;
    double max = 0;
    kp_status status = kp_stack_begin(&c->stack, NULL, &workspace, &error);
    for (size_t i = 0; status == KP_OK && i < c->loads; i++) {
        status = kp_stack_solve(workspace, c->pressures[i], c->seat, &error);
        double ours = status == KP_OK ? kp_stack_lift_at(workspace, 0, c->stack.land_inner_radius) : NAN;
        max = fmax(max, fabs(ours / theirs[i].seat - 1));
    }
    kp_stack_free(workspace);
    if (status != KP_OK)
        bench_stop("a stack of the finite elements", error.message);
    return max;
}

static void live(const bench *b, sheet *s, const elements_case *from)
{
    _Static_assert((int)WORK_DISCS >= (int)ELEMENTS_DISCS && (int)WORK_MAX_LOADS >= (int)ELEMENTS_LOADS,
                   "a case must fit");
    work_case c = {.seat = KP_SEAT_ABSENT};
    elements_lift lifts[ELEMENTS_LOADS];
    c.loads = elements_case_stack(from, &c.stack, c.discs);
    for (size_t i = 0; i < c.loads; i++)
        c.pressures[i] = from->pressures[i];
    elements_seconds theirs = elements_solve(&c.stack, from->contact, c.loads, c.pressures, lifts);
    bench_spread time = bench_time(REPEATS, work_named("path"), &c);
    sheet_row(s, from->name,
              (double[]){(double)c.loads, time.median, time.median / b->yardstick, theirs.wall, theirs.processor,
                         theirs.wall / time.median, theirs.processor / time.median, disagreement(&c, lifts)});
}

void bench_elements(const bench *b)
{
    static const sheet_column columns[] = {
        {"loads", "loads", 1, 0},
        {"seconds", "median ms", 1e3, 3},
        {"yardsticks", "yardsticks", 1, 3},
        {"elements_wall_seconds", "CalculiX s", 1, 2},
        {"elements_processor_seconds", "processor s", 1, 2},
        {"ratio", "times", 1, 0},
        {"processor_ratio", "by processor time", 1, 0},
        {"disagreement", "lifts differ %", 100, 2},
    };
    sheet s = {"elements",
               "The small stacks of tests/ccx, set-up and all loads: our processor time, and CalculiX run now on one "
               "core",
               columns,
               sizeof columns / sizeof columns[0],
               b->json,
               0};
    sheet_begin(&s);
    if (elements_available()) {
        for (size_t i = 0; i < elements_case_count; i++) {
            if (!elements_cases[i].full)
                live(b, &s, &elements_cases[i]);
        }
    }
    sheet_end(&s, elements_available() ? "times: their wall time over our processor time" : "ccx is missing");
}
