/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Numerics: roots, interpolation, random numbers, banded linear algebra. GSL stays in this room. */
#ifndef KNEEPOINT_NUM_NUM_H
#define KNEEPOINT_NUM_NUM_H

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

/** A seed of its own for every (seed, stream, index, item), well mixed: sample 17 is the same whichever thread draws it
    and whatever was drawn before. */
unsigned long long kp_random_mix(unsigned long long seed, unsigned stream, unsigned long long index, unsigned item);

/* ---- a pool of threads (pool.c) --------------------------------------------------------------------------------- */

/** One piece of work. index: which, 0 to count-1; workspace: the worker's own. What it writes must depend on index
    alone, and go where no other index writes: then the result is the same bits for any number of threads. */
typedef kp_status (*kp_task)(size_t index, void *workspace, void *context, kp_error *error);

/** Threads that a pool of 0 takes. */
size_t kp_pool_threads(size_t asked);
/** Runs task for every index from 0 up, and returns when all threads have ended. The calling thread works too, so that
    one thread starts none.
    Returned: completed (may be NULL): pieces 0 to completed-1 are done, whatever happened.
    Errors:   that of the lowest index that failed, whichever thread met it; KP_INTERRUPTED when stop said so;
              KP_OUT_OF_RANGE for more than KP_MAX_THREADS. A machine that gives fewer threads is no error. */
kp_status kp_pool_run(const kp_pool *pool, size_t count, kp_task task, void *context, size_t *completed,
                      kp_error *error);

/* ---- samples: quantiles and variance shares (sample.c) ------------------------------------------------------------
 */

/** Given:    values [n] ascending, 0 < share < 1, n >= 1
    Returned: value by straight interpolation between order statistics, (n-1) share; low and high are the order
              statistics n share -/+ 1.96 sqrt(n share (1 - share)), cut at the ends
    Source:   binomial order-statistic interval, any text; normal approximation of the binomial */
kp_quantile kp_sample_quantile(size_t n, const double *values, double share);
/** Sorts ascending. */
void kp_sample_sort(size_t n, double *values);

/** Variance shares by pick-freeze. Given: answers f at two independent samples a, b [n], and ab [n] at sample a with
    this one cause taken from b. Needs n >= 40.
    Returned: first = mean(f_b (f_ab - f_a))/V, with f centred on the mean of a and b; total = mean((f_a - f_ab)^2)/2V;
              V the variance of a and b together; errors by jackknife over 20 blocks. Shares 0 when V is 0.
    Accuracy: sampling error of order 1/sqrt(n), in the errors
    Source:   Saltelli et al., Comput. Phys. Commun. 181 (2010) 259, table 2 (b) and (f); Jansen, Comput. Phys. Commun.
              117 (1999) 35 (both from memory; held against analytic cases in the tests). */
kp_status kp_sample_variance_share(size_t n, const double *a, const double *b, const double *ab, kp_variance_share *out,
                                   kp_error *error);

/* ---- banded symmetric positive definite systems (banded.c) --------------------------------------------- */

enum { KP_BANDED_WIDEST = 7 };

/** Row-packed upper band, width at most KP_BANDED_WIDEST: entry (i, j), i <= j <= i+width, at a[i*(width+1) + j-i];
 * those beyond the last row zero. */
/** In-place Cholesky, A = U' U; false when a pivot is not positive (then a is spoilt). */
bool kp_banded_factor(size_t n, size_t width, double *a);
/** U' y = b for rows >= first (b zero before first); in place. */
void kp_banded_forward(size_t n, size_t width, const double *upper, size_t first, double *b);
/** U x = y; in place. */
void kp_banded_backward(size_t n, size_t width, const double *upper, double *b);

/* ---- vectors side by side (beside.c): entry i of vector k at b[i*stride + k], stride a multiple of KP_BATCH -------
 */

enum { KP_BATCH = 4 };

/** kp_banded_forward for many right-hand sides at once. The first started[i] of them have begun at row i; started never
    falls, and before its beginning a vector is zero, as are those that fill the stride up. */
void kp_batch_forward(size_t n, size_t width, const double *upper, const size_t *started, size_t stride, double *b);
/** product[k][m] = sum over rows of a[k] x b[m]: KP_BATCH vectors from a on with as many from b on. */
void kp_batch_multiply(size_t rows, size_t stride, const double *a, const double *b,
                       double product[KP_BATCH][KP_BATCH]);
/** sum[k] = sum over rows i of x[i] x b[i*stride + k], for `lanes` vectors; a multiple of KP_BATCH, as below. */
void kp_batch_sum(size_t rows, size_t lanes, size_t stride, const double *b, const double *x, double *sum);
/** to[i] += sum over vectors k of x[k] x b[i*stride + k]. */
void kp_batch_spread(size_t rows, size_t lanes, size_t stride, const double *b, const double *x, double *to);
/** Sum of a[i] x b[i]. */
double kp_batch_dot(size_t n, const double *a, const double *b);

/* ---- a Cholesky factor that rows join and leave (skyline.c) ---------------------------------------------------------
 */

/** Its arrays are the caller's. Vectors by position have room for KP_SKYLINE_MORE more than `most`. */
typedef struct kp_skyline {
    size_t most;    /* rows that there can be                                    */
    size_t stride;  /* KP_SKYLINE_STRIDE(most)                                   */
    size_t count;   /* rows that there are ...                                   */
    size_t ordered; /* ... and that were appended; those behind joined           */
    size_t *place;  /* [most] line of a position                                 */
    size_t *reach;  /* [most] entries below the diagonal of an appended column   */
    double *lines;  /* [most][stride]                                            */
} kp_skyline;
enum { KP_SKYLINE_MORE = 4 };
#define KP_SKYLINE_STRIDE(most) ((most) + 1 + KP_SKYLINE_MORE)

/** No row yet. */
void kp_skyline_begin(kp_skyline *skyline, size_t most);
/** Only the first `count` rows, all of them appended ones. */
void kp_skyline_cut(kp_skyline *skyline, size_t count);
/** One row more behind appended ones only. row: the matrix's from its first entry to the diagonal, by position; what
    lies behind is overwritten, as are they. false: its pivot is not above `least`, and it is not taken. */
bool kp_skyline_append(kp_skyline *skyline, size_t first, double *row, double least);
/** L x = b, b zero before `first`, and L' x = b; in place. */
void kp_skyline_forward(const kp_skyline *skyline, size_t first, double *b);
void kp_skyline_backward(const kp_skyline *skyline, double *b);
/** A row joins behind all others: what kp_skyline_forward makes of the matrix's, and what is left of its diagonal, > 0.
 */
void kp_skyline_add_row(kp_skyline *skyline, const double *row, double pivot);
/** A row leaves. scratch [most]. */
void kp_skyline_remove_row(kp_skyline *skyline, size_t position, double *scratch);

/* ---- rows that are zero but for two runs of four neighbours (fours.c) --------------------------------------------
 */

typedef struct kp_two_block_row {
    double c[2][4]; /* the coefficients ...                   */
    int at[2];      /* ... and which the first of each run is */
} kp_two_block_row;
/** sum[i] = start[i] + row i . x, n of them; sum may be start. */
void kp_two_block_rows_times(size_t n, const kp_two_block_row *rows, const double *x, const double *start, double *sum);

/* A row that turns with x: its function is value . x - turning (slope . x)^2 / 2 of each run. */
typedef struct kp_tilted_row {
    double value[2][4], slope[2][4], turning[2];
} kp_tilted_row;
/** Straightens such functions at x: coefficients of the rows, and what they leave is added to start. The rows' runs
    stay where they are. */
void kp_two_block_rows_linearise(size_t n, const kp_tilted_row *turns, const double *x, kp_two_block_row *rows,
                                 double *start);

/* ---- elements in a row (element.c): functions e to e + 3 are not zero in element e, which has four points ---- */

typedef struct kp_element {
    double at[4][4]; /* of each function, what it is at each point */
} kp_element;
/** value[e][p] = sum over i of shape[e].at[i][p] x c[e + i], n elements. */
void kp_element_values(size_t n, const kp_element *shape, const double *c, double (*value)[4]);
/** load[e + i] += sum over p of shape[e].at[i][p] x value[e][p]. */
void kp_element_loads(size_t n, const kp_element *shape, const double (*value)[4], double *load);
/** Adds to the upper band, of width 3, of one field for each element the sum over p of weight[e][p] shape_i shape_j. */
void kp_element_square(size_t n, const kp_element *shape, const double (*weight)[4], double *band);
/** Adds to the upper band, of width 7, of two fields whose coefficients alternate: for each element, between the first
    field's i and j the sum over p of own[e][p] first_i first_j, between the second's i and the first's j that of
    mixed[e][p] second_i first_j. */
void kp_element_band(size_t n, const kp_element *first, const kp_element *second, const double (*own)[4],
                     const double (*mixed)[4], double *band);

enum { KP_DIAGONALS_PAD = 3 };

/** Room that kp_diagonals_times needs, of the diagonals and of x; y needs KP_DIAGONALS_PAD more than it has entries. */
#define KP_DIAGONALS_ROOM(n) (5 * (size_t)KP_DIAGONALS_PAD + 4 * (n))
#define KP_DIAGONALS_LONG(n) (3 * (size_t)KP_DIAGONALS_PAD + (n))
/** The diagonals of a row-packed upper band of width 3, with zeros between them. */
void kp_diagonals_of(size_t n, const double *band, double *diagonals);
/** y = A x of such a symmetric matrix; returns x . y. x begins with KP_DIAGONALS_PAD zeros that are no entries and ends
    with twice as many; y begins at its first entry, and beyond its last is spoilt. */
double kp_diagonals_times(size_t n, const double *diagonals, const double *x, double *y);

/* ---- interpolation (hermite.c) ----------------------------------------------------------------------------- */

/** Limits slopes so that the cubic Hermite interpolant is monotone wherever the data are (Fritsch and Carlson,
    SIAM J. Numer. Anal. 17 (1980) 238, from memory). x [n] strictly ascending. */
void kp_hermite_limit(size_t n, const double *x, const double *y, double *slope);
/** Value and slope at x, x[0] <= x <= x[n-1]; returns the interval used. */
size_t kp_hermite_at(size_t n, const double *xs, const double *ys, const double *slopes, double x, double *value,
                     double *slope);

/** Weights of a function's values at n places, and of its slope at the first (returned), in its value at `at`:
   Hermite's interpolation, the first place taken twice. */
double kp_hermite_weights(size_t n, const double *x, double at, double *weight);

#endif
