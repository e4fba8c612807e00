/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A table extended once or several times has the same bits as one built that far at once. Random stacks, dished and
   flat; the first reach below the cracking pressure, just above it and far above. */
#include "kneepoint/lift.h"
#include "kneepoint/stack.h"
#include "random_stack.h"
#include "sizes.h"
#include "num/num.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>

static const double FAR = 6e6; /* [Pa] */

static kp_lift_table *build(const kp_stack *stack, double reach)
{
    kp_lift_table *table = NULL;
    kp_error error = {0};
    cr_assert(kp_lift_table_build(stack, reach, &table, &error) == KP_OK, "%s", error.message);
    return table;
}

static bool same(const kp_lift *a, const kp_lift *b)
{
    return a->seat_lift == b->seat_lift && a->opening == b->opening && a->opening_slope == b->opening_slope &&
           a->edge_lift == b->edge_lift && a->peak_stress == b->peak_stress && a->peak_disc == b->peak_disc &&
           a->fatigue_use == b->fatigue_use && a->fatigue_disc == b->fatigue_disc;
}

Test(extend, same_bits_as_built_at_once)
{
    kp_random random;
    kp_random_seed(&random, 2025112514);
    int count = sized(60, 2000), below = 0, done = 0;
    for (int i = 0; i < count; i++) {
        random_stack made;
        random_stack_make(&random, &made);
        bool ring = false;
        for (size_t k = 0; k < made.stack.disc_count; k++)
            ring = ring || made.discs[k].hole_radius > made.stack.clamp_radius;
        double reach = 1e3 * pow(4e3, kp_random_uniform(&random, 0, 1));
        int parts = kp_random_int(&random, 1, 4);
        if (ring)
            continue;
        kp_lift_table *whole = build(&made.stack, FAR), *grown = build(&made.stack, reach);
        kp_error error = {0};
        below += reach < kp_lift_table_cracking(whole);
        for (int k = 1; k <= parts; k++) {
            double to = k == parts ? FAR : reach * pow(FAR / reach, (double)k / parts);
            cr_assert(kp_lift_table_extend(grown, to, &error) == KP_OK, "%s", error.message);
            cr_assert(kp_lift_table_reach(grown) >= to);
        }
        cr_assert(kp_lift_table_reach(grown) == kp_lift_table_reach(whole) &&
                      kp_lift_table_cracking(grown) == kp_lift_table_cracking(whole),
                  "stack %d: reaches %.17g and %.17g Pa", i, kp_lift_table_reach(grown), kp_lift_table_reach(whole));
        for (double pressure = 0; pressure <= FAR; pressure = 1.07 * pressure + 37) {
            kp_lift a, b;
            cr_assert(kp_lift_table_at(whole, pressure, &a, &error) == KP_OK);
            cr_assert(kp_lift_table_at(grown, pressure, &b, &error) == KP_OK);
            cr_assert(same(&a, &b), "stack %d, first to %g Pa, in %d parts, at %g Pa: opening %.17g and %.17g m", i,
                      reach, parts, pressure, a.opening, b.opening);
        }
        double yields[2] = {0};
        size_t disc[2] = {0};
        cr_assert(kp_lift_table_yields(whole, &yields[0], &disc[0]) ==
                  kp_lift_table_yields(grown, &yields[1], &disc[1]));
        cr_assert(yields[0] == yields[1] && disc[0] == disc[1]);
        kp_lift_table_free(whole);
        kp_lift_table_free(grown);
        done++;
    }
    printf("extended: %d tables, %d of them begun below cracking\n", done, below);
    cr_assert(below > done / 10 && below < done);
}
