/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Numerics: roots, interpolation, random numbers, banded linear algebra. GSL stays in this room. */
#ifndef KNEEPOINT_NUM_H
#define KNEEPOINT_NUM_H

#include "kneepoint/base.h"

/** Turns GSL's aborting error handler off, once per process; call before threads start. */
void kp_num_begin(void);

/* ---- roots (root.c) -------------------------------------------------------------------------------- */

/** f(x); a non-finite value ends the search with KP_NOT_FINITE. */
typedef double (*kp_function)(double x, void *context);
/** Root of a continuous f with f(low) and f(high) of opposite sign (Brent, GSL). Given: x_tolerance [unit of x]
    absolute and relative. Errors: KP_OUT_OF_RANGE when not bracketed, KP_NO_SOLUTION after 200 steps. */
kp_status kp_root_bracketed(kp_function f, void *context, double low, double high, double x_absolute, double x_relative,
                            double *root, kp_error *error);

/** f(x) >= 0 and its slope through value and slope. */
typedef kp_status (*kp_rising_function)(double x, void *context, double *value, double *slope, kp_error *error);
/** Where a function that rises from f(low) <= target meets a target, low < x <= high, high > 0, low >= 0.
    Newton's method on ln f against ln x (exact in one step for a power law) inside a bracket that only shrinks.
    Given: target > 0; start in (0, high] or anything else for none; relative [-] tolerance on f: |f - target| <=
    relative x target ends the search, as does a bracket that double numbers cannot split.
    Errors: what f reports; KP_OUT_OF_RANGE when f(high) < target; KP_NO_SOLUTION after 200 steps; KP_NOT_FINITE. */
kp_status kp_root_rising(kp_rising_function f, void *context, double target, double start, double low, double high,
                         double relative, double *root, kp_error *error);

/* ---- random numbers (random.c): seeded, the same on every machine ------------------------------------- */

typedef struct kp_random {
    unsigned long long state[4];
} kp_random;
void kp_random_seed(kp_random *random, unsigned long long seed);
double kp_random_uniform(kp_random *random, double low, double high); /* [low, high) */
int kp_random_int(kp_random *random, int low, int high);              /* low..high, both included */
double kp_random_normal(kp_random *random, double mean, double sigma);

/* ---- banded symmetric positive definite systems (banded.c) --------------------------------------------- */

/** Row-packed lower band: entry (i, j), i-width <= j <= i, at a[i*(width+1) + (j - i + width)]. */
/** In-place Cholesky; false when a pivot is not positive (then a is spoilt). */
bool kp_banded_factor(size_t n, size_t width, double *a);
/** L y = b for rows >= first (b zero before first); in place. */
void kp_banded_forward(size_t n, size_t width, const double *factor, size_t first, double *b);
/** L^T x = y; in place. */
void kp_banded_backward(size_t n, size_t width, const double *factor, double *b);

/* ---- interpolation (hermite.c) ----------------------------------------------------------------------------- */

/** Limits slopes so that the cubic Hermite interpolant is monotone wherever the data are (Fritsch and Carlson,
    SIAM J. Numer. Anal. 17 (1980) 238, from memory). x [n] strictly ascending. */
void kp_hermite_limit(size_t n, const double *x, const double *y, double *slope);
/** Value and slope at x, x[0] <= x <= x[n-1]; returns the interval used. */
size_t kp_hermite_at(size_t n, const double *xs, const double *ys, const double *slopes, double x, double *value,
                     double *slope);

#endif
