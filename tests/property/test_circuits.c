/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random hydraulic circuits, 10 000 of them (ten times with KP_FULL set; a quarter under the sanitizers): every kind of
   branch, plates on springs for stacks. For each, at some speeds in both directions: flows at each chamber sum to zero,
   the force's slope is that of a central difference, and the power that goes in is the sum of drops times flows (and of
   the gas pressure times the void, where one opens). A smaller lot has stacks of shims. */
#include "random_damper.h"

#include "kneepoint/damper.h"
#include "num/num.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

static const double PI = 3.14159265358979323846;
static const unsigned long long SEED = 4091777;

enum { CIRCUITS = SANITIZED ? 2500 : 10000, STACKED = SANITIZED ? 30 : 120, FULL_FACTOR = 10, SPEEDS = 2 };

/* A thousand roundings of the flow that leaves or enters the compression chamber. */
static const double BALANCE = 1e-12; /* [-] */
/* The same for power; its terms are differences of pressures that may be ten times larger. */
static const double POWER_BALANCE = 1e-11; /* [-] */
/* Central difference over this share of the speed, and what it may miss: its own rounding, 1e-13/STEP of force over
   speed, and its curvature. Where the step lies across a corner of a spring's stop or preload, a thousandth of its
   pressure wide, the slope itself turns by up to STEP over that: rarely, and counted. */
static const double STEP = 1e-6;           /* [-] */
static const double SLOPE_ROUNDING = 1e-7; /* [-] of force over speed */
static const double SLOPE_SMOOTH = 1e-5;   /* [-] of the slope */
static const double SLOPE_CORNER = 1e-3;   /* [-] of the slope */

typedef struct tally {
    int circuits, refused, points, void_behind, void_before, with_reservoir, slopes, different, corners;
    double worst_balance, worst_power, worst_slope;
} tally;

static void check_balance(const kp_damper_data *d, const kp_curve_point *p, const char *who, tally *t)
{
    double v = fabs(p->speed), rod = PI / 4 * d->rod * d->rod, whole = PI / 4 * d->bore * d->bore;
    double passed = p->bleed_flow + p->leak_flow + p->valve_flow;
    /* rebound chamber: what it loses or gains; compression chamber: what passes the piston and the rod's path */
    double behind = passed + p->void_flow - v * (whole - rod);
    double before = passed + p->reservoir_flow + p->rod_void_flow - v * whole;
    double miss = fmax(fabs(behind), fabs(before)) / (v * whole);
    t->worst_balance = fmax(t->worst_balance, miss);
    cr_assert(miss <= BALANCE, "%s: nodes off by %g and %g of %g m3/s", who, behind, before, v * whole);
    double room = p->direction == KP_COMPRESSION ? p->compression_margin - p->reservoir_drop
                                                 : fmax(0, p->compression_margin) + p->reservoir_drop;
    double spent =
        p->piston_drop * passed + p->reservoir_drop * p->reservoir_flow + room * (p->void_flow + p->rod_void_flow);
    double given = fabs(p->hydraulic_force) * v;
    miss = fabs(spent - given) / given;
    t->worst_power = fmax(t->worst_power, miss);
    cr_assert(miss <= POWER_BALANCE, "%s: %.15g W go in, %.15g W are spent", who, given, spent);
    cr_assert(p->rebound_margin >= p->cavitation_margin * (1 + 1e-12) - 1e-3 || p->direction == KP_COMPRESSION, "%s",
              who);
    cr_assert(p->cavitates == (p->cavitation_margin <= 0) && p->force_slope >= 0, "%s", who);
}

static void check_slope(const kp_damper *damper, const kp_curve_point *p, const char *who, tally *t)
{
    kp_curve_point above, below;
    kp_error error = {0};
    double h = STEP * p->speed;
    cr_assert_eq(kp_curve_at(damper, p->speed + h, &above, &error), KP_OK, "%s: %s", who, error.message);
    cr_assert_eq(kp_curve_at(damper, p->speed - h, &below, &error), KP_OK, "%s: %s", who, error.message);
    if (above.cavitates != below.cavitates) {
        return;
    }
    double central = (above.hydraulic_force - below.hydraulic_force) / (2 * h);
    double rounding = SLOPE_ROUNDING * fabs(p->hydraulic_force / p->speed);
    double miss = fabs(central - p->force_slope);
    cr_assert(miss <= rounding + SLOPE_CORNER * p->force_slope, "%s: slope %.12g, central difference %.12g N s/m", who,
              p->force_slope, central);
    t->corners += miss > rounding + SLOPE_SMOOTH * p->force_slope;
    t->worst_slope = fmax(t->worst_slope, (miss - rounding) / p->force_slope);
    t->slopes++;
    t->different += central != p->force_slope;
}

static void check_circuit(kp_random *random, int index, bool with_stacks, tally *t)
{
    kp_damper_data data = random_damper(random);
    random_hydraulics(random, &data, with_stacks);
    double largest = kp_random_uniform(random, 0.5, 2);
    kp_error error = {0};
    kp_damper *damper = NULL;
    char who[120];
    kp_status status = kp_damper_begin(&data, largest, &damper, &error);
    t->circuits++;
    if (status == KP_OUT_OF_RANGE) { /* so narrow that the pressure would be beyond reason */
        t->refused++;
        return;
    }
    cr_assert_eq(status, KP_OK, "seed %llu, circuit %d: %s", SEED, index, error.message);
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (int i = 0; i < SPEEDS; i++) {
            double speed = largest * (1 - 2 * STEP) * exp(-kp_random_uniform(random, 0, 6));
            kp_curve_point p;
            snprintf(who, sizeof who, "seed %llu, circuit %d at %.17g m/s", SEED, index, d == 0 ? speed : -speed);
            cr_assert_eq(kp_curve_at(damper, d == 0 ? speed : -speed, &p, &error), KP_OK, "%s: %s", who, error.message);
            check_balance(&data, &p, who, t);
            check_slope(damper, &p, who, t);
            t->points++;
            t->void_behind += p.void_flow > 0;
            t->void_before += p.rod_void_flow > 0;
            t->with_reservoir += p.reservoir_drop > 0;
        }
    }
    kp_damper_free(damper);
}

static void run(int count, bool with_stacks)
{
    kp_random random;
    kp_random_seed(&random, SEED + with_stacks);
    tally t = {0};
    struct timespec from, to;
    clock_gettime(CLOCK_MONOTONIC, &from);
    for (int i = 0; i < count; i++) {
        check_circuit(&random, i, with_stacks, &t);
    }
    clock_gettime(CLOCK_MONOTONIC, &to);
    printf("random circuits%s: seed %llu, %d (%d too narrow), %d points (%d with a reservoir, %d and %d with a void), "
           "nodes to %.1e, power to %.1e, %d slopes (worst off by %.1e, %d at corners), %.1f s\n",
           with_stacks ? " with stacks" : "", SEED + with_stacks, t.circuits, t.refused, t.points, t.with_reservoir,
           t.void_behind, t.void_before, t.worst_balance, t.worst_power, t.slopes, t.worst_slope, t.corners,
           (double)(to.tv_sec - from.tv_sec) + 1e-9 * (double)(to.tv_nsec - from.tv_nsec));
    /* it must have met what it is about */
    cr_assert(t.refused < t.circuits / 4 && t.with_reservoir > t.points / 4 && t.void_behind > t.points / 100 &&
              t.slopes > t.points / 2 && t.different > t.slopes / 2);
    cr_assert(t.corners <= t.slopes / 1000);
    cr_assert(with_stacks || t.void_before > t.points / 500);
}

Test(circuits, balance_and_have_exact_slopes)
{
    int factor = getenv("KP_FULL") ? FULL_FACTOR : 1;
    run(CIRCUITS * factor, false);
    run(STACKED * factor, true);
}
