/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Monotone cubic Hermite interpolation with given slopes. */
#include "num/num.h"

#include <math.h>

/* Fritsch and Carlson's sufficient condition: both end slopes at most three secants, and of the secant's sign. */
static double limited(double slope, double secant)
{
    if (slope * secant <= 0) {
        return 0;
    }
    return fabs(slope) > 3 * fabs(secant) ? 3 * secant : slope;
}

void kp_hermite_limit(size_t n, const double *x, const double *y, double *slope)
{
    for (size_t i = 0; i + 1 < n; i++) {
        double secant = (y[i + 1] - y[i]) / (x[i + 1] - x[i]);
        slope[i] = limited(slope[i], secant);
        slope[i + 1] = limited(slope[i + 1], secant);
    }
}

size_t kp_hermite_at(size_t n, const double *xs, const double *ys, const double *slopes, double x, double *value,
                     double *slope)
{
    size_t low = 0;
    size_t high = n - 1;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (xs[middle] <= x) {
            low = middle;
        } else {
            high = middle;
        }
    }
    double h = xs[high] - xs[low];
    double s = (x - xs[low]) / h;
    double secant = (ys[high] - ys[low]) / h;
    double m0 = slopes[low];
    double m1 = slopes[high];
    /* Newton form from the left end: exact at both ends, and exact for a straight line. */
    double a = secant - m0;
    double b = m0 + m1 - 2 * secant;
    if (value) {
        *value = ys[low] + h * s * (m0 + s * (a - (1 - s) * b));
    }
    if (slope) {
        *slope = m0 + s * (2 * a - (2 - 3 * s) * b);
    }
    return low;
}

/* Hermite's interpolation, the first place taken twice. */
double kp_hermite_weights(size_t n, const double *x, double at, double *weight)
{
    double off = at - x[0], pull = 0;
    weight[0] = 1;
    for (size_t j = 1; j < n; j++) {
        weight[0] *= (at - x[j]) / (x[0] - x[j]);
        pull += 1 / (x[0] - x[j]);
        double part = off / (x[j] - x[0]);
        weight[j] = part * part;
        for (size_t k = 1; k < n; k++) {
            weight[j] *= k == j ? 1 : (at - x[k]) / (x[j] - x[k]);
        }
    }
    double slope = off * weight[0];
    weight[0] *= 1 - off * pull;
    return slope;
}
