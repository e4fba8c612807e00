/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Tolerance band: the published tolerances, agreement between seeds and with a share that is known in closed form, the
    same bits for any number of threads, and what an interrupt leaves. */
#include "kneepoint/study.h"
#include "fixtures.h"
#include "num/num.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SPEEDS = 5 };

static const double speeds[SPEEDS] = {0.031, 0.113, 0.262, 0.524, 1.047};
static kp_damper_data data;
static kp_band_options options;

static bool full(void)
{
    const char *asked = getenv("KP_FULL");
    return asked != NULL && asked[0] == '1';
}

/* The van with a dished seat in compression with a crossover, a flat one in rebound. */
static void begin(void)
{
    static const fixture_shims firm[] = {
        {2, 40e-3, 0.20e-3}, {1, 22e-3, 0.10e-3}, {2, 38e-3, 0.20e-3}, {1, 26e-3, 0.25e-3}};
    data = fixture_body();
    data.gas.charge_pressure = 40e5 + KP_ATMOSPHERE;
    data.leak = (kp_leak_data){.clearance = 0.03e-3, .length = 8e-3, .eccentricity = 0.5};
    data.friction = 53;
    data.bleed_count = 1;
    data.bleeds[0] = (kp_bleed){.ports = 4, .plugged = 1, .diameter = 1.5e-3, .length = 9e-3};
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        data.valves[d].dish = d == KP_COMPRESSION ? 0.25e-3 : 0;
        data.valves[d].port_area = 340e-6;
        fixture_set_stack(&data.valves[d], 4, firm);
    }
    options = kp_band_options_default();
    options.samples = full() ? 2000 : 600;
    options.speed_count = SPEEDS;
    options.speeds = speeds;
}

static void end(void)
{
}

TestSuite(band, .init = begin, .fini = end);

static void sample(kp_band *band, size_t threads)
{
    kp_error error = {0};
    kp_pool pool = {.threads = threads};
    cr_assert_eq(kp_band_run(&data, &options, &pool, band, &error), KP_OK, "%s", error.message);
    cr_assert_eq(band->done, options.samples);
}

/* The tables as they were read: EN 10140 class B to 0.15 mm, EN ISO 9445 fine from 0.15 mm. [mm] */
Test(band, strip_tolerances_are_the_published_ones)
{
    static const double table[][2] = {{0.08, 0.006}, {0.10, 0.006}, {0.12, 0.008}, {0.17, 0.010},
                                      {0.20, 0.012}, {0.23, 0.012}, {0.25, 0.012}, {0.27, 0.012},
                                      {0.30, 0.015}, {0.35, 0.015}, {0.40, 0.015}};
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        double tolerance = kp_strip_tolerance(table[i][0] * 1e-3);
        cr_assert(fabs(tolerance - table[i][1] * 1e-3) <= 1e-12, "%g mm: %g", table[i][0], tolerance);
    }
    cr_assert_eq(kp_strip_tolerance(8 * 25.4e-6), kp_strip_tolerance(0.2032e-3)); /* 8 thou */
}

Test(band, threads_change_no_bit)
{
    kp_band one, many;
    options.samples = 430;
    sample(&one, 1);
    sample(&many, 3);
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        cr_assert_eq(memcmp(one.damping[d], many.damping[d], one.done * SPEEDS * sizeof(double)), 0);
        for (int i = 0; i < SPEEDS; i++) {
            const kp_band_point *a = &one.points[d][i], *b = &many.points[d][i];
            cr_assert(a->lower.value == b->lower.value && a->upper.high == b->upper.high && a->nominal == b->nominal);
            cr_assert_eq(memcmp(a->shares, b->shares, sizeof a->shares), 0);
        }
    }
    cr_assert(one.verification_error == many.verification_error);
    kp_band_free(&one);
    kp_band_free(&many);
}

/* Stated: each limit within low to high with 95 %. Two seeds differ by the root of the sum of their squares then; over
   some 20 comparisons of a fixed pair of seeds 3.5 standard errors must hold. */
Test(band, seeds_agree_within_the_stated_error)
{
    kp_band a, b;
    options.samples = full() ? 10000 : 1200;
    sample(&a, 2);
    options.seed = 7301;
    sample(&b, 2);
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (int i = 0; i < SPEEDS; i++) {
            const kp_quantile *pairs[3][2] = {{&a.points[d][i].lower, &b.points[d][i].lower},
                                              {&a.points[d][i].median, &b.points[d][i].median},
                                              {&a.points[d][i].upper, &b.points[d][i].upper}};
            for (int k = 0; k < 3; k++) {
                double errors[2];
                for (int s = 0; s < 2; s++) {
                    errors[s] = (pairs[k][s]->high - pairs[k][s]->low) / (2 * 1.96);
                    cr_assert(errors[s] > 0);
                }
                double apart = fabs(pairs[k][0]->value - pairs[k][1]->value);
                cr_assert(apart > 0 && apart <= 3.5 * hypot(errors[0], errors[1]), "%d, %g m/s: %g N apart", d,
                          speeds[i], apart);
            }
            cr_assert(a.points[d][i].lower.high < a.points[d][i].upper.low);
        }
    }
    kp_band_free(&a);
    kp_band_free(&b);
}

/* The polynomial against whole solutions, on builds that were not used to make it. The largest error of any build may
   move a limit no more than sampling 1000 builds does: sqrt(0.025 x 0.975/1000)/0.058 = 0.085 standard deviations, or
   4.3 % of the half width of 1.96. [-] */
static const double SAMPLING_OF_1000 = 0.043;

Test(band, solved_stacks_confirm_the_surrogate)
{
    kp_band band;
    sample(&band, 2);
    cr_assert(band.verification_count >= 20);
    cr_assert(band.verification_error > 0 && band.verification_error < SAMPLING_OF_1000, "%g of the half width",
              band.verification_error);
    kp_band_free(&band);
}

/* Friction enters the force as it stands and the charge through the gas force alone, p = p_charge times a constant
   (exponent 1): the force is linear in both, so the ratio of their shares is known:
   (sigma_charge d(gas force)/d(charge))^2 / sigma_friction^2. */
Test(band, shares_of_linear_causes_are_the_analytic_ones)
{
    const double friction = 83, charge = 3.1e5; /* [N], [Pa] */
    cr_assert(kp_damper_keep_tolerance(&data, &data.friction, friction));
    data.friction = 400; /* never cut at 0 */
    cr_assert(kp_damper_keep_tolerance(&data, &data.gas.charge_pressure, charge));
    data.gas.exponent = 1;
    kp_error error = {0};
    double low, high;
    kp_gas gas = data.gas;
    double rod_area = 3.14159265358979323846 / 4 * data.rod * data.rod;
    cr_assert_eq(kp_gas_pressure(&gas, rod_area * data.position, data.oil_temperature, &low, &error), KP_OK);
    gas.charge_pressure += 1e5;
    cr_assert_eq(kp_gas_pressure(&gas, rod_area * data.position, data.oil_temperature, &high, &error), KP_OK);
    double expected = pow(charge * rod_area * (high - low) / 1e5 / friction, 2);
    /* the oil's temperature moves the gas too, by its own cause; held fast here, so that charge acts alone */
    cr_assert(kp_damper_keep_tolerance(&data, &data.oil_temperature, 1e-9));
    kp_band band;
    options.samples = full() ? 10000 : 1600;
    sample(&band, 2);
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (int i = 0; i < SPEEDS; i++) {
            const kp_variance_share *c = &band.points[d][i].shares[KP_CAUSE_CHARGE];
            const kp_variance_share *f = &band.points[d][i].shares[KP_CAUSE_FRICTION];
            double error_first = c->first / f->first * hypot(c->first_error / c->first, f->first_error / f->first);
            double error_total = c->total / f->total * hypot(c->total_error / c->total, f->total_error / f->total);
            cr_assert(fabs(c->total / f->total - expected) <= 3.5 * error_total, "%g, wanted %g +/- %g",
                      c->total / f->total, expected, error_total);
            if (c->first > 0.1 && f->first > 0.1) { /* else the quotient is not normal */
                cr_assert(fabs(c->first / f->first - expected) <= 3.5 * error_first, "%g, wanted %g +/- %g",
                          c->first / f->first, expected, error_first);
            }
            /* nothing interacts with them */
            cr_assert(fabs(c->total - c->first) <= 3.5 * hypot(c->total_error, c->first_error));
        }
    }
    cr_assert(band.points[0][0].shares[KP_CAUSE_FRICTION].first > 0.1);
    kp_band_free(&band);
}

/* Shims of one lot that vary together scatter more than shims that do not. */
Test(band, correlation_widens_the_band)
{
    double share[2];
    for (int together = 0; together < 2; together++) {
        kp_band band;
        options.correlation = together;
        sample(&band, 2);
        const kp_variance_share *thickness = &band.points[KP_REBOUND][2].shares[KP_CAUSE_THICKNESS];
        const kp_variance_share *grip = &band.points[KP_REBOUND][2].shares[KP_CAUSE_GRIP];
        share[together] = thickness->total / grip->total; /* grip is the yardstick: the same in both */
        kp_band_free(&band);
    }
    cr_assert(share[1] > 1.3 * share[0], "%g, %g", share[0], share[1]);
}

Test(band, tolerances_of_the_file_come_first)
{
    kp_band band;
    options.samples = 200;
    sample(&band, 2);
    cr_assert(band.causes[KP_CAUSE_DISH].acts && !band.causes[KP_CAUSE_DISH].from_file);
    cr_assert(!band.causes[KP_CAUSE_FRICTION].acts);
    cr_assert(strstr(band.causes[KP_CAUSE_THICKNESS].spread, "0.2 mm +/- 0.012 mm") != NULL);
    kp_band_free(&band);
    cr_assert(kp_damper_keep_tolerance(&data, &data.valves[KP_COMPRESSION].dish, 0)); /* "+/- 0 mm": exact */
    cr_assert(kp_damper_keep_tolerance(&data, &data.bleeds[0].diameter, 0.07e-3));
    sample(&band, 2);
    cr_assert(!band.causes[KP_CAUSE_DISH].acts);
    cr_assert_eq(band.points[0][2].shares[KP_CAUSE_DISH].total, 0);
    cr_assert(band.causes[KP_CAUSE_HOLE].from_file);
    cr_assert_str_eq(band.causes[KP_CAUSE_HOLE].spread, "1.5 mm +/- 0.07 mm (file)");
    kp_band_free(&band);
}

typedef struct stopper {
    size_t asked;
} stopper;

static bool stop_later(void *watcher)
{
    stopper *s = watcher;
    return s->asked++ >= 220; /* past the stacks, into the samples */
}

/* What is reported after an interrupt is the band of the samples done: that of a shorter run, to the bit. */
Test(band, an_interrupt_keeps_what_was_done)
{
    kp_error error = {0};
    kp_band band, shorter;
    stopper s = {0};
    kp_pool pool = {.threads = 1, .stop = stop_later, .watcher = &s};
    options.samples = 20000;
    cr_assert_eq(kp_band_run(&data, &options, &pool, &band, &error), KP_INTERRUPTED, "%s", error.message);
    cr_assert(band.done >= 100 && band.done < 20000, "%zu done", band.done);
    options.samples = band.done;
    sample(&shorter, 2);
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (int i = 0; i < SPEEDS; i++) {
            cr_assert_eq(memcmp(&band.points[d][i], &shorter.points[d][i], sizeof(kp_band_point)), 0);
        }
    }
    kp_band_free(&band);
    kp_band_free(&shorter);
    s.asked = 1000; /* at once: nothing to report */
    cr_assert_eq(kp_band_run(&data, &options, &pool, &band, &error), KP_INTERRUPTED);
}

Test(band, stacks_are_told_apart_from_noise)
{
    kp_error error = {0};
    kp_band first, again, other, firmer;
    kp_band_difference found;
    options.samples = 400;
    sample(&first, 2);
    sample(&again, 2);
    options.build = 1;
    sample(&other, 2);
    data.valves[KP_COMPRESSION].lines[0].count++;
    sample(&firmer, 2);
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (size_t i = 0; i < SPEEDS; i++) {
            cr_assert_eq(kp_band_compare(&first, &again, (kp_direction)d, i, &found, &error), KP_OK);
            cr_assert(found.lower.value == 0 && found.upper.value == 0 && !found.beyond_noise);
            cr_assert_eq(kp_band_compare(&first, &other, (kp_direction)d, i, &found, &error), KP_OK);
            cr_assert(found.lower.value < 0 && found.upper.value > 0 && !found.beyond_noise, "%d, %g", d, speeds[i]);
            cr_assert_eq(kp_band_compare(&first, &firmer, (kp_direction)d, i, &found, &error), KP_OK);
            cr_assert(d == KP_COMPRESSION || !found.beyond_noise);
            cr_assert(d != KP_COMPRESSION || i < 2 || (found.beyond_noise && found.median.value > 0));
        }
    }
    cr_assert_eq(kp_band_compare(&first, &firmer, KP_REBOUND, SPEEDS, &found, &error), KP_OUT_OF_RANGE);
    kp_band_free(&first);
    kp_band_free(&again);
    kp_band_free(&other);
    kp_band_free(&firmer);
}

Test(band, refuses_what_makes_no_sense)
{
    kp_error error = {0};
    kp_pool pool = {.threads = 1};
    kp_band band;
    kp_band_options good = options;
    options.samples = 39;
    cr_assert_eq(kp_band_run(&data, &options, &pool, &band, &error), KP_OUT_OF_RANGE);
    options = good;
    options.correlation = 1.1;
    cr_assert_eq(kp_band_run(&data, &options, &pool, &band, &error), KP_OUT_OF_RANGE);
    options.correlation = NAN;
    cr_assert_eq(kp_band_run(&data, &options, &pool, &band, &error), KP_OUT_OF_RANGE);
    options = good;
    const double falling[2] = {0.3, 0.2};
    options.speeds = falling;
    options.speed_count = 2;
    cr_assert_eq(kp_band_run(&data, &options, &pool, &band, &error), KP_OUT_OF_RANGE);
    cr_assert(strstr(error.message, "rising") != NULL);
}

/* Twenty kinds of shims, which the surrogate takes in groups: the stacks solved with each line by itself confirm it, at
   a cost of 4 to 6 % of the half width where neighbours differ up to threefold in thickness, as here. */
Test(band, groups_of_lines_stand_for_their_lines)
{
    fixture_shims many[20];
    for (int i = 0; i < 20; i++) {
        many[i] = (fixture_shims){1 + i % 2, 40e-3 - 0.9e-3 * i, 0.08e-3 + 0.03e-3 * (i * 7 % 5)};
    }
    fixture_set_stack(&data.valves[KP_COMPRESSION], 20, many);
    options.samples = 200;
    kp_band band;
    sample(&band, 2);
    cr_expect(band.verification_error > 0 && band.verification_error < 0.08, "%g of the half width",
              band.verification_error);
    cr_expect_eq(band.nearer, 0);
    kp_band_free(&band);
}

/* A clamp 0.02 mm from its port: the tolerance of its edge, 0.1 mm, is cut there, and nothing else is. */
Test(band, a_tolerance_is_cut_at_the_possible)
{
    data.valves[KP_REBOUND].port_inner = data.valves[KP_REBOUND].clamp_washer + 0.02e-3;
    kp_band band, wide;
    sample(&band, 2);
    cr_expect(band.causes[KP_CAUSE_CLAMP].cut);
    cr_expect_not(band.causes[KP_CAUSE_THICKNESS].cut);
    cr_expect_not(band.causes[KP_CAUSE_DISH].cut);
    cr_expect_eq(band.nearer, 0);
    data.valves[KP_REBOUND].port_inner = data.valves[KP_REBOUND].clamp_washer + 1.2e-3;
    sample(&wide, 2);
    cr_expect_not(wide.causes[KP_CAUSE_CLAMP].cut);

    /* What the clamp's edge is worth becomes less, in the middle of the curve. */
    double cut = band.points[KP_REBOUND][3].shares[KP_CAUSE_CLAMP].first;
    double free_edge = wide.points[KP_REBOUND][3].shares[KP_CAUSE_CLAMP].first;
    cr_expect(cut < 0.5 * free_edge, "%g, %g", cut, free_edge);
    kp_band_free(&band);
    kp_band_free(&wide);
}
