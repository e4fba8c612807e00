/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Numerics: roots, interpolation, random numbers, samples, threads, small linear algebra. GSL is used in this room
    only. Functions that return a kp_status leave their outputs unchanged on error. */
#ifndef KNEEPOINT_NUM_NUM_H
#define KNEEPOINT_NUM_NUM_H

#include "kneepoint/base.h"

/** Version of GSL, "2.7". */
const char *kp_num_gsl_version(void);

/* ---- roots (root.c) ------------------------------------------------------------------------------------------- */

/** f(x); a value that is not finite ends the search with KP_NOT_FINITE. */
typedef double (*kp_function)(double x, void *context);

/** Root of a continuous function by Brent's method.
    Given:    f(low) and f(high) of opposite sign or one of them 0, low < high; x_absolute [unit of x] and
              x_relative [-]: widths of the last bracket
    Returned: root, low <= root <= high
    Accuracy: |root - exact| <= x_absolute + x_relative |root|
    Errors:   KP_OUT_OF_RANGE: not bracketed; KP_NOT_FINITE; KP_NO_SOLUTION: not found in 200 steps; KP_NO_MEMORY
    Source:   GSL, gsl_root_fsolver_brent */
kp_status kp_root_bracketed(kp_function f, void *context, double low, double high, double x_absolute, double x_relative,
                            double *root, kp_error *error);

/** f(x) >= 0 and its slope through value and slope. */
typedef kp_status (*kp_rising_function)(double x, void *context, double *value, double *slope, kp_error *error);

/** Where a rising function meets a target: Newton's method on ln f against ln x, exact in one step for a power law,
    inside a bracket that only shrinks.
    Given:    f(low) <= target <= f(high), target > 0, 0 <= low < high; start in (low, high), anything else means none;
              relative [-]: tolerance on f
    Returned: root, the last x at which f was evaluated
    Accuracy: |f(root) - target| <= relative target, or root is within the spacing of doubles of the exact one
    Errors:   those of f; KP_OUT_OF_RANGE: f(high) < target, or an argument is not as above; KP_NO_SOLUTION: not found
              in 200 steps; KP_NOT_FINITE
    Source:   own; derivation in root.c */
kp_status kp_root_rising(kp_rising_function f, void *context, double target, double start, double low, double high,
                         double relative, double *root, kp_error *error);

/* ---- random numbers (random.c) -------------------------------------------------------------------------------- */

typedef struct kp_random {
    unsigned long long state[4];
} kp_random;

/** Starts a sequence.
    Given:    any seed
    Returned: the state; the same seed gives the same sequence on every machine
    Source:   splitmix64, by Vigna */
void kp_random_seed(kp_random *random, unsigned long long seed);

/** Uniform draw.
    Given:    low < high, finite
    Returned: low <= x < high, of 2^53 equally likely places; the same bits on every machine
    Source:   xoshiro256**, by Blackman and Vigna */
double kp_random_uniform(kp_random *random, double low, double high);

/** Uniform whole number.
    Given:    low <= high
    Returned: low to high, both included, exactly equally likely; the same on every machine */
int kp_random_int(kp_random *random, int low, int high);

/** Normal draw.
    Given:    mean, sigma >= 0, in one unit
    Returned: x; its last bit depends on the C library's log
    Source:   polar method, Marsaglia and Bray, SIAM Review 6 (1964) 260 (from memory) */
double kp_random_normal(kp_random *random, double mean, double sigma);

/** A seed of its own for every (seed, stream, index, item): draw 17 is the same whichever thread makes it and whatever
    was drawn before.
    Returned: a seed for kp_random_seed; two that differ in one bit of an argument are unrelated */
unsigned long long kp_random_mix(unsigned long long seed, unsigned stream, unsigned long long index, unsigned item);

/* ---- a pool of threads (pool.c) ------------------------------------------------------------------------------- */

/** One piece of work. index: which, 0 to count-1; workspace: the worker's own. What it writes must depend on index
    alone, and go where no other index writes: then the result is the same bits for any number of threads. */
typedef kp_status (*kp_task)(size_t index, void *workspace, void *context, kp_error *error);

/** Threads that a pool uses.
    Given:    asked: number wanted; 0: one for each processor
    Returned: 1 to KP_MAX_THREADS */
size_t kp_pool_threads(size_t asked);

/** Runs a task for every index from 0 up, and returns when all threads have ended. The calling thread works too, so
    that one thread starts none. A machine that gives fewer threads is no error.
    Given:    pool: threads, a workspace for each (or none), stop and progress (or none)
    Returned: completed (may be NULL), set on errors too: pieces 0 to completed-1 are done
    Errors:   that of the lowest index that failed, whichever thread met it; KP_INTERRUPTED when stop said so;
              KP_OUT_OF_RANGE for more than KP_MAX_THREADS; KP_SYSTEM when there is no lock */
kp_status kp_pool_run(const kp_pool *pool, size_t count, kp_task task, void *context, size_t *completed,
                      kp_error *error);

/* ---- samples: quantiles and shares of variance (sample.c) ------------------------------------------------------- */

/** Sorts ascending.
    Given:    values [n], none of them NaN
    Source:   GSL, gsl_sort */
void kp_sample_sort(size_t n, double *values);

/** Quantile of a sample with its 95 % confidence interval.
    Given:    values [n] ascending, n >= 1, 0 < probability < 1
    Returned: value, linear between the order statistics at (n-1) probability; low and high, the order statistics
              n probability -/+ 1.96 sqrt(n probability (1 - probability)), at most the first and the last
    Accuracy: the interval is at most one rank wider at each end than the binomial's normal approximation
    Source:   binomial order-statistic interval, any text */
kp_quantile kp_sample_quantile(size_t n, const double *values, double probability);

/** Shares of variance of one cause, by pick-freeze.
    Given:    answers [n] of f at two independent samples, a and b, and ab at sample a with this one cause taken from b;
              n >= 40
    Returned: first = mean(f_b (f_ab - f_a))/V, with f centred on the mean of a and b; total = mean((f_a - f_ab)^2)/2V;
              V the variance of a and b together; errors by jackknife over 20 blocks. Shares 0 when V is 0.
    Accuracy: sampling error of order 1/sqrt(n), in the errors
    Errors:   KP_OUT_OF_RANGE: n < 40; KP_NOT_FINITE
    Source:   Saltelli et al., Comput. Phys. Commun. 181 (2010) 259, table 2 (b) and (f); Jansen, Comput. Phys. Commun.
              117 (1999) 35 (both from memory; checked against analytic cases in the tests) */
kp_status kp_sample_variance_share(size_t n, const double *a, const double *b, const double *ab, kp_variance_share *out,
                                   kp_error *error);

/* ---- banded symmetric positive definite systems (banded.c) ------------------------------------------------------

   Row-packed upper band of `width` diagonals beside the main one, width <= KP_BANDED_MAX_WIDTH: entry (i, j),
   i <= j <= i+width, at a[i*(width+1) + j-i]. Entries beyond the last row are there and zero. */

enum { KP_BANDED_MAX_WIDTH = 7 };

/** Cholesky factor A = U' U, in place; the diagonal of U as its reciprocal.
    Given:    a [n (width+1)], the band of A
    Returned: a, the band of U; false: a pivot is not positive to rounding or not finite, and a is spoilt
    Accuracy: backward stable
    Source:   Golub and Van Loan, Matrix Computations, section 4.3 (from memory) */
bool kp_banded_factor(size_t n, size_t width, double *a);

/** Solves U' y = b in place.
    Given:    upper, from kp_banded_factor; b [n], zero before entry `first` */
void kp_banded_forward(size_t n, size_t width, const double *upper, size_t first, double *b);

/** Solves U x = y in place.
    Given:    upper, from kp_banded_factor; b [n] */
void kp_banded_backward(size_t n, size_t width, const double *upper, double *b);
/** Makes unknown i of a packed band that of a fixed value: its row and column vanish, its diagonal is 1. */
void kp_band_fix(double *band, size_t width, size_t i);

/* ---- batched right-hand sides (batched.c) -----------------------------------------------------------------------

   Entry i of column k at b[i*stride + k]. stride is a multiple of KP_BATCH; columns that fill it up are zero. `columns`
   is a multiple of KP_BATCH too. */

enum { KP_BATCH = 4 };

/** kp_banded_forward for many right-hand sides at once.
    Given:    started [n], not falling: the first started[i] columns begin at row i or before, and are zero before
              their first row; b [n][stride]
    Returned: b, each column with the same bits for any number of columns */
void kp_batch_forward(size_t n, size_t width, const double *upper, const size_t *started, size_t stride, double *b);

/** Products of KP_BATCH columns from a on with KP_BATCH columns from b on.
    Given:    a, b [rows][stride]
    Returned: product[k][m] = sum over i of a[i*stride + k] b[i*stride + m] */
void kp_batch_multiply(size_t rows, size_t stride, const double *a, const double *b,
                       double product[KP_BATCH][KP_BATCH]);

/** Product of the transposed batch with a vector.
    Given:    b [rows][stride], x [rows]
    Returned: sum[k] = sum over i of x[i] b[i*stride + k], k < columns */
void kp_batch_sum(size_t rows, size_t columns, size_t stride, const double *b, const double *x, double *sum);

/** Adds the product of the batch with a vector.
    Given:    b [rows][stride], x [columns]
    Returned: to[i] += sum over k of x[k] b[i*stride + k], i < rows */
void kp_batch_spread(size_t rows, size_t columns, size_t stride, const double *b, const double *x, double *to);

/** Dot product of a and b [n], in an order that n alone decides. */
double kp_batch_dot(size_t n, const double *a, const double *b);

/* ---- envelope (skyline) Cholesky with rows added and removed (skyline.c) -------------------------------------------

   L L' = A. Rows appended in order make up the envelope; rows added later are dense and stand behind it; any row can be
   removed again, by Givens rotations. A row is known by its position, 0 to count-1. */

/** The factor. Its arrays are the caller's. Vectors by position, such as right-hand sides, have room for max_rows +
    KP_SKYLINE_MORE entries. */
typedef struct kp_skyline {
    size_t max_rows;      /* [-] rows that there is room for                                      */
    size_t stride;        /* [-] KP_SKYLINE_STRIDE(max_rows)                                      */
    size_t count;         /* [-] rows of A at present                                             */
    size_t envelope_rows; /* [-] the first of them, which make up the envelope                    */
    size_t *line;         /* [max_rows] line of storage that holds a position                     */
    size_t *bandwidth;    /* [max_rows] lower bandwidth of an envelope column: entries below the diagonal */
    double *storage;      /* [max_rows][stride] an envelope column of L or a dense row a line     */
} kp_skyline;
enum { KP_SKYLINE_MORE = 4 };
#define KP_SKYLINE_STRIDE(max_rows) ((max_rows) + 1 + KP_SKYLINE_MORE)

/** Empties the factor.
    Given:    line, bandwidth and storage of the sizes above */
void kp_skyline_begin(kp_skyline *skyline, size_t max_rows);

/** Removes all rows from position `count` on.
    Given:    count <= envelope_rows */
void kp_skyline_cut(kp_skyline *skyline, size_t count);

/** Appends a row to the envelope.
    Given:    no dense row; row [count + 1 + KP_SKYLINE_MORE]: the row of A by position, from its first entry that is
              not zero to the diagonal
    Returned: row is overwritten; false: the pivot is not above min_pivot [unit of A], and the factor is unchanged
    Source:   George and Liu, Computer Solution of Large Sparse Positive Definite Systems, chapter 4 (from memory) */
bool kp_skyline_append(kp_skyline *skyline, size_t first, double *row, double min_pivot);

/** Solves L x = b in place.
    Given:    b by position, zero before `first` */
void kp_skyline_forward(const kp_skyline *skyline, size_t first, double *b);

/** Solves L' x = b in place.
    Given:    b by position; the KP_SKYLINE_MORE entries behind its last are overwritten with zeros */
void kp_skyline_backward(const kp_skyline *skyline, double *b);

/** Adds a dense row behind all others.
    Given:    row [count]: what kp_skyline_forward makes of the row of A; pivot > 0: the diagonal of A less row.row */
void kp_skyline_add_row(kp_skyline *skyline, const double *row, double pivot);

/** Removes a row of either kind; those behind it move up by one position.
    Given:    position < count; scratch [max_rows]
    Accuracy: backward stable
    Source:   Golub and Van Loan, Matrix Computations, section 6.5 (from memory) */
void kp_skyline_remove_row(kp_skyline *skyline, size_t position, double *scratch);

/* ---- sparse rows of two blocks (two_block.c) ----------------------------------------------------------------------
 */

/** A row that is zero but for two blocks of four neighbouring coefficients; the blocks may overlap, and then add up. */
typedef struct kp_two_block_row {
    double c[2][4]; /* coefficients of each block    */
    int at[2];      /* index of each block's first   */
} kp_two_block_row;

/** Product of the rows with a vector.
    Given:    rows [n], x, start [n]
    Returned: sum[i] = start[i] + row i . x; sum may be start */
void kp_two_block_rows_times(size_t n, const kp_two_block_row *rows, const double *x, const double *start, double *sum);

/** A quadratic row: of each block the function value . x - turning (slope . x)^2/2, x being the block's own four. */
typedef struct kp_tilted_row {
    double value[2][4], slope[2][4], turning[2];
} kp_tilted_row;

/** Linearises quadratic rows at x.
    Given:    turns [n]; rows [n], whose `at` say where the blocks stand; start [n]
    Returned: rows' coefficients: the gradient at x; start[i] += the tangent's value at 0 */
void kp_two_block_rows_linearise(size_t n, const kp_tilted_row *turns, const double *x, kp_two_block_row *rows,
                                 double *start);

/* ---- finite elements in a row (element.c) ------------------------------------------------------------------------

   n elements of n + 3 shape functions; functions e to e + 3 are not zero in element e, which has four quadrature
   points. */

/** Shape functions of one element, or their derivatives, at its quadrature points: at[i][p] is function e + i at p. */
typedef struct kp_element {
    double at[4][4];
} kp_element;

/** Values of a field at the quadrature points.
    Given:    shape [n], coefficients c [n + 3]
    Returned: value[e][p] = sum over i of shape[e].at[i][p] c[e + i] */
void kp_element_values(size_t n, const kp_element *shape, const double *c, double (*value)[4]);

/** Adds the load vector of values at the quadrature points, the transpose of kp_element_values.
    Given:    shape [n], value [n][4]
    Returned: load[e + i] += sum over p of shape[e].at[i][p] value[e][p], load [n + 3] */
void kp_element_loads(size_t n, const kp_element *shape, const double (*value)[4], double *load);

/** Adds the matrix of a weighted square to the upper band, of width 3, of one field.
    Given:    shape [n], weight [n][4]
    Returned: entry (e + i, e + j) of band += sum over p of weight[e][p] shape[e].at[i][p] shape[e].at[j][p], j >= i;
              band [n + 3][4]. Entries beyond the last column get + 0. */
void kp_element_square(size_t n, const kp_element *shape, const double (*weight)[4], double *band);

/** Adds a matrix to the upper band, of width 7, of two fields whose coefficients alternate, the first field's first.
    Given:    first, second [n]: shape functions of either field; own, mixed [n][4]
    Returned: between the first field's i and j: += sum over p of own[e][p] first_i first_j; between the second's i and
              the first's j: += sum over p of mixed[e][p] second_i first_j; band [2 (n + 3)][8] */
void kp_element_band(size_t n, const kp_element *first, const kp_element *second, const double (*own)[4],
                     const double (*mixed)[4], double *band);

/* A symmetric matrix of width 3 by its diagonals, with zeros between them, and a vector between zeros: its products
   need no special first and last rows. */
enum { KP_DIAGONALS_PAD = 3 };
#define KP_DIAGONALS_ROOM(n) (5 * (size_t)KP_DIAGONALS_PAD + 4 * (n)) /* doubles of the diagonals */
#define KP_DIAGONALS_LONG(n) (3 * (size_t)KP_DIAGONALS_PAD + (n))     /* doubles of the vector    */

/** The diagonals of a row-packed upper band.
    Given:    band [n][4]
    Returned: diagonals [KP_DIAGONALS_ROOM(n)] */
void kp_diagonals_of(size_t n, const double *band, double *diagonals);

/** y = A x.
    Given:    diagonals, from kp_diagonals_of; x [KP_DIAGONALS_LONG(n)]: KP_DIAGONALS_PAD zeros, the n entries, twice as
              many zeros
    Returned: x . y; y [n + KP_DIAGONALS_PAD], the last KP_DIAGONALS_PAD of no meaning */
double kp_diagonals_times(size_t n, const double *diagonals, const double *x, double *y);

/* ---- quadrature (quadrature.c) ---------------------------------------------------------------------------------- */

enum { KP_GAUSS_MAX_POINTS = 20 }; /* more are computed by GSL, to 1e-10 only */

/** Gauss-Legendre rule on -1..1.
    Given:    n, 1 to KP_GAUSS_MAX_POINTS
    Returned: points [n] ascending, weights [n], of sum 2
    Accuracy: tabulated values, rounded once; the rule is exact for polynomials of degree 2 n - 1
    Errors:   KP_OUT_OF_RANGE; KP_NO_MEMORY
    Source:   GSL, gsl_integration_glfixed_table_alloc */
kp_status kp_gauss_legendre(size_t n, double *points, double *weights, kp_error *error);

/* ---- interpolation (hermite.c) ---------------------------------------------------------------------------------- */

/** A cubic between two points: rise above the left one, and slope there. */
typedef struct kp_cubic {
    double rise, slope;
} kp_cubic;

/** Cubic Hermite interpolant over one interval, in Newton's form from the left end.
    Given:    width > 0 of the interval, rise over it, slopes left and right at its ends; s = 0 to 1 along it [-]
    Accuracy: exact at the left end, and for a straight line */
static inline kp_cubic kp_hermite_cubic(double width, double rise, double left, double right, double s)
{
    double secant = rise / width;
    double a = secant - left;
    double b = left + right - 2 * secant;
    return (kp_cubic){width * s * (left + s * (a - (1 - s) * b)), left + s * (2 * a - (2 - 3 * s) * b)};
}

/** Limits slopes so that the cubic Hermite interpolant is monotone wherever the data are.
    Given:    x [n] strictly ascending, y [n], slope [n]
    Returned: slope [n]: of each neighbouring secant's sign and at most three times as steep, else cut, or 0
    Source:   Fritsch and Carlson, SIAM J. Numer. Anal. 17 (1980) 238 (from memory) */
void kp_hermite_limit(size_t n, const double *x, const double *y, double *slope);

/** Piecewise cubic Hermite interpolant.
    Given:    xs [n] strictly ascending, n >= 2, ys [n], slopes [n]; xs[0] <= x <= xs[n-1]
    Returned: value and slope (either may be NULL) at x; the function's, the interval used
    Accuracy: exact at the points, and between them for a straight line */
size_t kp_hermite_at(size_t n, const double *xs, const double *ys, const double *slopes, double x, double *value,
                     double *slope);

/** Weights of Hermite interpolation in n places, the first of them double: there the slope is known too.
    Given:    x [n], all different; at: where the value is wanted
    Returned: weight [n] of the values; the function's, the weight of the slope at x[0]
    Accuracy: exact for polynomials of degree n */
double kp_hermite_weights(size_t n, const double *x, double at, double *weight);

#endif
