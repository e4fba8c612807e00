/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Variance shares against two functions whose shares are known in closed form, and quantiles against the normal's. */
#include "num/num.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>

enum { N = 4000, CAUSES = 3 };

static const double PI = 3.14159265358979323846;
/* A mean lies within this many of its standard errors: 1 in 2 000 a comparison, and the seeds are fixed. [-] */
static const double SIGMAS = 3.5;

typedef double (*function)(const double x[CAUSES]);

static const double slopes[CAUSES] = {2.385, -1.13, 0.471};

static double linear(const double x[CAUSES])
{
    return 1734.2 + slopes[0] * x[0] + slopes[1] * x[1] + slopes[2] * x[2];
}

/* Ishigami's function with a = 7, b = 0.1 on (-pi, pi): the usual trial of such estimators; x[2] acts only through its
   interaction with x[0]. Shares worked out by hand from its integrals. */
static double ishigami(const double x[CAUSES])
{
    return sin(x[0]) + 7 * sin(x[1]) * sin(x[1]) + 0.1 * pow(x[2], 4) * sin(x[0]);
}

static void shares_of(function f, bool uniform, unsigned long long seed, kp_variance_share out[CAUSES])
{
    double *answers[2 + CAUSES];
    for (int k = 0; k < 2 + CAUSES; k++) {
        answers[k] = malloc(N * sizeof(double));
    }
    for (size_t i = 0; i < N; i++) {
        double x[2][CAUSES];
        for (unsigned m = 0; m < 2; m++) {
            for (unsigned c = 0; c < CAUSES; c++) {
                kp_random random;
                kp_random_seed(&random, kp_random_mix(seed, m, i, c));
                x[m][c] = uniform ? kp_random_uniform(&random, -PI, PI) : kp_random_normal(&random, 0, 1);
            }
            answers[m][i] = f(x[m]);
        }
        for (int c = 0; c < CAUSES; c++) {
            double mixed[CAUSES] = {x[0][0], x[0][1], x[0][2]};
            mixed[c] = x[1][c];
            answers[2 + c][i] = f(mixed);
        }
    }
    for (int c = 0; c < CAUSES; c++) {
        cr_assert_eq(kp_sample_variance_share(N, answers[0], answers[1], answers[2 + c], &out[c], NULL), KP_OK);
    }
    for (int k = 0; k < 2 + CAUSES; k++) {
        free(answers[k]);
    }
}

/* Over many seeds: the estimates scatter about the true share, and as widely as they say. Every comparison is between
   independent numbers, so that a bias or a wrong error shows. */
static void expect_shares(function f, bool uniform, const double *first, const double *total)
{
    enum { SEEDS = 25 };
    double sum[2 * CAUSES] = {0}, squares[2 * CAUSES] = {0}, stated[2 * CAUSES] = {0};
    for (unsigned long long seed = 0; seed < SEEDS; seed++) {
        kp_variance_share share[CAUSES];
        shares_of(f, uniform, seed, share);
        for (int c = 0; c < CAUSES; c++) {
            double misses[2] = {share[c].first - first[c], share[c].total - total[c]};
            double errors[2] = {share[c].first_error, share[c].total_error};
            for (int k = 0; k < 2; k++) {
                sum[2 * c + k] += misses[k] / SEEDS;
                squares[2 * c + k] += misses[k] * misses[k] / SEEDS;
                stated[2 * c + k] += errors[k] * errors[k] / SEEDS;
            }
        }
    }
    for (int i = 0; i < 2 * CAUSES; i++) {
        double scatter = sqrt(squares[i]);
        double said = sqrt(stated[i]);
        cr_assert(said < 0.04, "%d: error %g", i, said);
        cr_assert(fabs(sum[i]) <= SIGMAS * said / sqrt(SEEDS), "%d: bias %g, error %g", i, sum[i], said);
        /* 25 seeds know their scatter to 14 %: 3 of these either way */
        cr_assert(scatter >= 0.58 * said && scatter <= 1.42 * said, "%d: scatter %g, said %g", i, scatter, said);
    }
}

Test(sample, variance_shares_of_a_linear_model)
{
    double share[CAUSES], all = 0;
    for (int c = 0; c < CAUSES; c++) {
        all += slopes[c] * slopes[c];
    }
    for (int c = 0; c < CAUSES; c++) {
        share[c] = slopes[c] * slopes[c] / all;
    }
    expect_shares(linear, false, share, share);
}

Test(sample, variance_shares_with_interaction)
{
    double p4 = pow(PI, 4), p8 = p4 * p4;
    double first[CAUSES] = {0.5 + 0.1 * p4 / 5 + 0.01 * p8 / 50, 49.0 / 8, 0};
    double third = 8 * 0.01 * p8 / 225;
    double all = first[0] + first[1] + third;
    double total[CAUSES] = {(first[0] + third) / all, first[1] / all, third / all};
    for (int c = 0; c < CAUSES; c++) {
        first[c] /= all;
    }
    expect_shares(ishigami, true, first, total);
    kp_variance_share share;
    cr_assert_eq(kp_sample_variance_share(39, NULL, NULL, NULL, &share, NULL), KP_OUT_OF_RANGE);
}

Test(sample, a_constant_has_no_shares)
{
    double same[50];
    for (int i = 0; i < 50; i++) {
        same[i] = 73.25;
    }
    kp_variance_share share;
    cr_assert_eq(kp_sample_variance_share(50, same, same, same, &share, NULL), KP_OK);
    cr_assert(share.first == 0 && share.total == 0);
}

/* The interval is what it says: of 400 samples of a normal variable some 95 % hold the true quantile. */
Test(sample, quantiles_hold_the_true_one)
{
    static double values[1000];
    const double share = 0.95, truth = 1.6448536269514722; /* normal quantile, any table */
    int held = 0;
    for (unsigned long long trial = 0; trial < 400; trial++) {
        for (size_t i = 0; i < 1000; i++) {
            kp_random random;
            kp_random_seed(&random, kp_random_mix(trial, 1, i, 0));
            values[i] = kp_random_normal(&random, 0, 1);
        }
        kp_sample_sort(1000, values);
        kp_quantile quantile = kp_sample_quantile(1000, values, share);
        cr_assert(quantile.low <= quantile.value && quantile.value <= quantile.high);
        held += quantile.low <= truth && truth <= quantile.high;
    }
    /* binomial: 380 wanted, sigma 4.4; the interval errs on the wide side by a rank at each end */
    cr_assert(held >= 366 && held <= 398, "%d of 400", held);
}
