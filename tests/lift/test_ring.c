/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A ring of force at the land beside the pressure: the table's equivalent pressure against the stack solved with both.
 */
#include "kneepoint/lift.h"
#include "random_stack.h"
#include "simple.h"
#include "num/num.h"

#include <math.h>
#include <stdlib.h>

static const unsigned long long SEED = 2026011421;
static const double TOLERANCE = 0.01; /* [-] of the opening, or of a tenth of the face shim's thickness */

/* Of the solved opening; negative: not compared (the seat holds, or the stack is not solved). */
static double difference(const kp_stack *stack, const kp_lift_table *table, double pressure, double share)
{
    kp_lift lift;
    kp_error error = {0};
    double ring = share * pressure * kp_lift_table_ring_area(table, pressure * sqrt(1 - share), NULL);
    cr_assert_eq(kp_lift_table_at(table, (1 - share) * pressure, &lift, &error), KP_OK);

    kp_stack_options options = {.tolerance = TIGHT, .land_load = -ring / pressure};
    kp_stack_workspace *w = NULL;
    cr_assert_eq(kp_stack_begin(stack, &options, &w, &error), KP_OK, "%s", error.message);
    double solved = -1;
    if (kp_stack_solve(w, pressure, KP_SEAT_ABSENT, &error) == KP_OK) {
        solved = kp_stack_seat_lift(w) - stack->dish;
    }
    kp_stack_free(w);

    double size = fmax(solved, 0.1 * stack->discs[0].thickness);
    return solved > 0 ? fabs(lift.opening - solved) / size : -1;
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The compliance itself: against a small ring on one solved stack, by a central difference. */
Test(ring, has_the_area_that_a_small_force_shows)
{
    const kp_disc discs[] = {shim(2, 40, 0.20), shim(1, 34, 0.20), shim(1, 26, 0.20)};
    kp_stack stack = stack_of(discs, 3);
    kp_lift_table *table = NULL;
    kp_error error = {0};
    cr_assert_eq(kp_lift_table_build(&stack, 2e6, &table, &error), KP_OK, "%s", error.message);

    for (double pressure = 2e4; pressure < 2e6; pressure *= 4.1) {
        kp_lift lift;
        double lifts[2], area = kp_lift_table_ring_area(table, pressure, NULL);
        cr_assert_eq(kp_lift_table_at(table, pressure, &lift, &error), KP_OK);
        for (int side = 0; side < 2; side++) {
            kp_stack_options options = {.land_load = (side ? 1e-3 : -1e-3) * area};
            kp_stack_workspace *w = begin(&stack, &options);
            solve_at(w, pressure, KP_SEAT_ABSENT);
            lifts[side] = kp_stack_seat_lift(w);
            kp_stack_free(w);
        }
        double by_force = (lifts[1] - lifts[0]) / (2e-3 * area * pressure);
        cr_assert(fabs(lift.opening_slope / by_force / area - 1) <= 0.01, "at %g Pa: %g of %g", pressure,
                  lift.opening_slope / by_force, area);
    }
    kp_lift_table_free(table);
}

Test(ring, acts_as_its_equivalent_pressure)
{
    enum { STACKS = 100, POINTS = 3 };
    static double errors[STACKS * POINTS];
    kp_random random;
    kp_random_seed(&random, SEED);
    size_t count = 0;

    for (int i = 0; i < STACKS; i++) {
        random_stack made;
        random_stack_make(&random, &made);
        kp_lift_table *table = NULL;
        kp_error error = {0};
        double reach = 1e6 * pow(8, kp_random_uniform(&random, 0, 1));
        kp_status status = kp_lift_table_build(&made.stack, reach, &table, &error);
        cr_assert(status == KP_OK || status == KP_NOT_MODELLED, "%s", error.message);
        for (int k = 0; k < POINTS; k++) {
            double pressure = reach * pow(0.05, kp_random_uniform(&random, 0, 1));
            double share = kp_random_uniform(&random, 0.05, 0.5);
            double found = status == KP_OK ? difference(&made.stack, table, pressure, share) : -1;
            if (found >= 0) {
                errors[count++] = found;
            }
        }
        kp_lift_table_free(table);
    }

    qsort(errors, count, sizeof *errors, ascending);
    double median = errors[count / 2], most = errors[count * 80 / 100];
    cr_log_info("%zu openings: median %.3f %%, 80th percentile %.2f %%, worst %.2f %%", count, 100 * median, 100 * most,
                100 * errors[count - 1]);
    cr_assert(count > STACKS);
    cr_assert(median <= 0.2 * TOLERANCE && most <= TOLERANCE);
}
