/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cubic Hermite interpolation with given slopes. GSL's interpolants work out slopes of their own (gsl_interp_cspline,
   _akima, _steffen), and here the slopes are known; its search for the interval is taken. */
#include "num/num.h"

#include <math.h>

#include <gsl/gsl_interp.h>

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
    size_t low = gsl_interp_bsearch(xs, x, 0, n - 1);

    double h = xs[low + 1] - xs[low];
    kp_cubic cubic = kp_hermite_cubic(h, ys[low + 1] - ys[low], slopes[low], slopes[low + 1], (x - xs[low]) / h);

    if (value != NULL) {
        *value = ys[low] + cubic.rise;
    }
    if (slope != NULL) {
        *slope = cubic.slope;
    }
    return low;
}

/* The place j has the weight w_j = prod over k of (at - x_k)/(x_j - x_k), and (at - x_0)/(x_j - x_0) once more for the
   double place. At x_0 that product L(at) is 1 but has the slope p = sum 1/(x_0 - x_j); the value's weight
   L (1 - (at - x_0) p) takes that out, and the slope's weight is (at - x_0) L.

   Own code: gsl_poly_dd_hermite_init takes every place twice, and gives divided differences, no weights. */
double kp_hermite_weights(size_t n, const double *x, double at, double *weight)
{
    double off = at - x[0], product_slope = 0;

    weight[0] = 1;
    for (size_t j = 1; j < n; j++) {
        weight[0] *= (at - x[j]) / (x[0] - x[j]);
        product_slope += 1 / (x[0] - x[j]);

        /* The factor of the double place, squared, times those of the others. */
        double part = off / (x[j] - x[0]);
        weight[j] = part * part;
        for (size_t k = 1; k < n; k++) {
            weight[j] *= k == j ? 1 : (at - x[k]) / (x[j] - x[k]);
        }
    }

    double slope_weight = off * weight[0];
    weight[0] *= 1 - off * product_slope;
    return slope_weight;
}
