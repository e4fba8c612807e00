/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Hermite interpolation and quadrature rules against polynomials, for which they are exact. */
#include "num/num.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

enum { MAX_PLACES = 6 };

/* Value and slope of sum over k of c[k] x^k. */
static double polynomial(size_t count, const double *c, double x, double *slope)
{
    double value = 0;
    *slope = 0;
    for (size_t k = count; k-- > 0;) {
        *slope = *slope * x + value;
        value = value * x + c[k];
    }
    return value;
}

Test(interpolation, hermite_gives_back_cubics_and_straight_lines)
{
    enum { N = 5 };
    const double xs[N] = {-1.7, -0.31, 0.4, 2.385, 2.9}, c[4] = {7.13, -2.385, 0.731, 0.471};
    double ys[N], slopes[N], value, slope, want_slope;
    for (size_t i = 0; i < N; i++)
        ys[i] = polynomial(4, c, xs[i], &slopes[i]);

    for (int i = 0; i <= 1000; i++) {
        double x = xs[0] + (xs[N - 1] - xs[0]) * i / 1000.0, want = polynomial(4, c, x, &want_slope);
        size_t interval = kp_hermite_at(N, xs, ys, slopes, x, &value, &slope);
        cr_assert(interval < N - 1 && xs[interval] <= x && x <= xs[interval + 1]);
        cr_assert(fabs(value - want) <= 2e-14 && fabs(slope - want_slope) <= 1e-13, "%g: %g, %g", x, value - want,
                  slope - want_slope);
    }

    for (size_t i = 0; i < N; i++) {
        kp_hermite_at(N, xs, ys, slopes, xs[i], &value, NULL);
        cr_assert(fabs(value - ys[i]) <= 2e-15 * fabs(ys[i]));
    }
    cr_assert_eq(kp_hermite_at(N, xs, ys, slopes, xs[0], NULL, NULL), (size_t)0);
    cr_assert_eq(kp_hermite_at(N, xs, ys, slopes, xs[2], NULL, NULL), (size_t)2);
    cr_assert_eq(kp_hermite_at(N, xs, ys, slopes, xs[N - 1], NULL, NULL), (size_t)N - 2);

    kp_cubic line = kp_hermite_cubic(0.75, 2.25, 3, 3, 0.3);
    cr_assert(line.rise == 0.75 * 0.3 * 3 && line.slope == 3);
}

Test(interpolation, limited_slopes_make_the_interpolant_monotone)
{
    enum { N = 8 };
    kp_random random;
    kp_random_seed(&random, 2025112604);
    int cut = 0;
    for (int number = 0; number < 200; number++) {
        double xs[N] = {0}, ys[N] = {0}, slopes[N], before[N];
        for (size_t i = 0; i < N; i++) {
            xs[i] = (i > 0 ? xs[i - 1] : 0) + kp_random_uniform(&random, 0.1, 2);
            ys[i] =
                (i > 0 ? ys[i - 1] : 0) + (i == 4 ? 0 : kp_random_uniform(&random, 0, 3)); /* one stretch is level */
            slopes[i] = kp_random_uniform(&random, -1, 20);
        }
        memcpy(before, slopes, sizeof before);
        kp_hermite_limit(N, xs, ys, slopes);
        cr_assert(slopes[3] == 0 && slopes[4] == 0);

        double last = ys[0];
        for (int i = 0; i <= 2000; i++) {
            double value, slope, x = fmin(xs[0] + (xs[N - 1] - xs[0]) * i / 2000.0, xs[N - 1]);
            kp_hermite_at(N, xs, ys, slopes, x, &value, &slope);
            cr_assert(value >= last - 1e-13 && slope >= -1e-12, "%d at %g: %g, slope %g", number, x, value - last,
                      slope);
            last = value;
        }
        for (size_t i = 0; i < N; i++) {
            cr_assert(slopes[i] == before[i] || fabs(slopes[i]) < fabs(before[i]));
            cut += slopes[i] != before[i];
        }
    }
    cr_assert(cut > 200 && cut < 200 * N, "%d", cut);
}

/* n places, the first double: exact up to degree n. */
Test(interpolation, weights_give_back_polynomials)
{
    kp_random random;
    kp_random_seed(&random, 2025112605);
    for (size_t n = 1; n <= MAX_PLACES; n++) {
        for (int number = 0; number < 100; number++) {
            double x[MAX_PLACES], c[MAX_PLACES + 1], weight[MAX_PLACES], slope, none;
            for (size_t i = 0; i < n; i++)
                x[i] = 1.3 * (double)((i * 5) % 6) + kp_random_uniform(&random, -0.3, 0.3); /* in no order */
            for (size_t k = 0; k <= n; k++)
                c[k] = kp_random_uniform(&random, -1, 1);

            double at = kp_random_uniform(&random, -1, 8), sum = 0, size = 0;
            double slope_weight = kp_hermite_weights(n, x, at, weight);
            for (size_t i = 0; i < n; i++) {
                double term = weight[i] * polynomial(n + 1, c, x[i], &none);
                sum += term;
                size += fabs(term);
            }
            polynomial(n + 1, c, x[0], &slope);
            sum += slope_weight * slope;
            size += fabs(slope_weight * slope);
            cr_assert(fabs(sum - polynomial(n + 1, c, at, &none)) <= 1e-12 * size, "%zu places: %g of %g", n,
                      sum - polynomial(n + 1, c, at, &none), size);
        }
    }
}

Test(interpolation, gauss_rules_integrate_polynomials)
{
    double points[KP_GAUSS_MAX_POINTS], weights[KP_GAUSS_MAX_POINTS];
    kp_error error = {0};
    for (size_t n = 1; n <= KP_GAUSS_MAX_POINTS; n++) {
        cr_assert_eq(kp_gauss_legendre(n, points, weights, &error), KP_OK, "%s", error.message);
        for (size_t degree = 0; degree <= 2 * n; degree++) {
            double sum = 0;
            for (size_t i = 0; i < n; i++)
                sum += weights[i] * pow(points[i], (double)degree);
            double want = degree % 2 == 0 ? 2.0 / ((double)degree + 1) : 0;
            bool exact = fabs(sum - want) <= 4e-15;
            cr_assert(exact == (degree < 2 * n), "%zu points, degree %zu: %g", n, degree, sum - want);
        }
        for (size_t i = 0; i + 1 < n; i++)
            cr_assert(points[i] < points[i + 1]);
    }

    cr_assert_eq(kp_gauss_legendre(0, points, weights, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_gauss_legendre(KP_GAUSS_MAX_POINTS + 1, points, weights, &error), KP_OUT_OF_RANGE);
}

/* The rules of four and six points to the last bit: Abramowitz and Stegun, table 25.4 (from memory). Plates and loads
   are made with them, and their printed results are reproduced bit for bit. */
Test(interpolation, gauss_rules_are_the_tabulated_ones)
{
    const double point4[2] = {0.33998104358485626480, 0.86113631159405257522};
    const double weight4[2] = {0.65214515486254614263, 0.34785484513745385737};
    const double point6[3] = {0.23861918608319690863, 0.66120938646626451366, 0.93246951420315202781};
    const double weight6[3] = {0.46791393457269104739, 0.36076157304813860757, 0.17132449237917034504};
    double points[6], weights[6];
    cr_assert_eq(kp_gauss_legendre(4, points, weights, NULL), KP_OK);
    for (size_t i = 0; i < 2; i++) {
        cr_assert(points[2 + i] == point4[i] && points[1 - i] == -point4[i]);
        cr_assert(weights[2 + i] == weight4[i] && weights[1 - i] == weight4[i]);
    }
    cr_assert_eq(kp_gauss_legendre(6, points, weights, NULL), KP_OK);
    for (size_t i = 0; i < 3; i++) {
        cr_assert(points[3 + i] == point6[i] && points[2 - i] == -point6[i]);
        cr_assert(weights[3 + i] == weight6[i] && weights[2 - i] == weight6[i]);
    }
}
