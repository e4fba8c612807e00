/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A lift table made from points: through every point, never falling, nothing beyond its neighbours, and its slope is
   that of its opening. Plateaus and jumps among the points: a spring's stop, a plate that lets go. */
#include "kneepoint/lift.h"
#include "kneepoint/stack.h"
#include "num/num.h"
#include "sizes.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>

enum { POINTS_MAX = 9, BETWEEN = 40 };

static size_t random_points(kp_random *random, double pressure[], double opening[])
{
    size_t n = (size_t)kp_random_int(random, 2, POINTS_MAX);
    pressure[0] = 0;
    opening[0] = kp_random_uniform(random, 0, 1) < 0.7 ? 0 : 0.13e-3;
    for (size_t i = 1; i < n; i++) {
        double kind = kp_random_uniform(random, 0, 1);
        pressure[i] = pressure[i - 1] + 1e3 * pow(1e3, kp_random_uniform(random, 0, 1));
        opening[i] = opening[i - 1] + (kind < 0.3   ? 0
                                       : kind < 0.5 ? kp_random_uniform(random, 0.3e-3, 1e-3)
                                                    : kp_random_uniform(random, 0, 0.1e-3));
    }
    return n;
}

Test(points, never_fall_and_meet_every_point)
{
    const double rounding = 1e-17; /* [m] of openings up to some mm */
    kp_random random;
    kp_random_seed(&random, 2025112513);
    int count = sized(2000, 50000), plateaus = 0, corners = 0;
    for (int i = 0; i < count; i++) {
        double pressure[POINTS_MAX], opening[POINTS_MAX];
        size_t n = random_points(&random, pressure, opening);
        kp_lift_table *table = NULL;
        kp_error error = {0};
        cr_assert(kp_lift_table_from_points(n, pressure, opening, &table, &error) == KP_OK, "%s", error.message);
        cr_assert(kp_lift_table_reach(table) == pressure[n - 1] && kp_lift_table_cracking(table) == 0);
        for (size_t k = 0; k + 1 < n; k++) {
            double before = opening[k], width = pressure[k + 1] - pressure[k];
            for (int m = 0; m <= BETWEEN; m++) {
                double p = m == BETWEEN ? pressure[k + 1] : pressure[k] + width * m / BETWEEN;
                kp_lift at;
                cr_assert(kp_lift_table_at(table, p, &at, &error) == KP_OK, "%s", error.message);
                cr_assert(at.opening >= before - rounding && at.opening <= opening[k + 1] + rounding,
                          "table %d at %g Pa: opening %.12g m after %.12g m, before %.12g m", i, p, at.opening, before,
                          opening[k + 1]);
                cr_assert(at.opening_slope >= -rounding / width, "table %d at %g Pa: slope %g", i, p, at.opening_slope);
                cr_assert(m > 0 || fabs(at.opening - opening[k]) <= rounding, "table %d misses point %zu", i, k);
                before = at.opening;
                if (m == 0 || m == BETWEEN)
                    continue;
                double h = 1e-5 * width; /* a cubic's central difference is off by h^2 only */
                kp_lift low, high;
                cr_assert(kp_lift_table_at(table, p - h, &low, &error) == KP_OK);
                cr_assert(kp_lift_table_at(table, p + h, &high, &error) == KP_OK);
                double slope = (high.opening - low.opening) / (2 * h), size = (opening[k + 1] - opening[k]) / width;
                cr_assert(fabs(slope - at.opening_slope) <= 1e-6 * size + rounding / h,
                          "table %d at %g Pa: %g, %g m/Pa", i, p, at.opening_slope, slope);
            }
            plateaus += opening[k + 1] == opening[k];
            corners += k > 0 && opening[k + 1] - opening[k] > 3 * (opening[k] - opening[k - 1]);
        }
        kp_lift_table_free(table);
    }
    printf("tables of points: %d, %d plateaus, %d corners\n", count, plateaus, corners);
    cr_assert(plateaus > count / 2 && corners > count / 2);
}

Test(points, refused)
{
    static const double p[] = {0, 1e5, 3e5}, down[] = {0, 2e-4, 1e-4}, same[] = {0, 1e5, 1e5}, late[] = {10, 1e5, 3e5};
    static const double up[] = {0, 1e-4, 2e-4}, below[] = {-1e-6, 1e-4, 2e-4}, none[] = {0, NAN, 3e5};
    const struct {
        size_t n;
        const double *pressure, *opening;
    } bad[] = {{3, p, down}, {3, same, up}, {3, late, up}, {3, p, below},
               {1, p, up},   {0, p, up},    {3, none, up}, {3, p, none}};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        kp_lift_table *table = NULL;
        kp_error error = {0};
        cr_expect(kp_lift_table_from_points(bad[i].n, bad[i].pressure, bad[i].opening, &table, &error) ==
                      KP_OUT_OF_RANGE,
                  "points %zu", i);
        cr_expect(table == NULL && error.message[0] != 0);
    }
}
