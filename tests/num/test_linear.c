/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small linear algebra against the same written out plainly. */
#include "num/num.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { MAX_ROWS = 40, CASES = 200 };
#define NEAR 1e-11

/* Largest difference, of the largest entry. */
static double apart(size_t n, const double *a, const double *b)
{
    double most = 0, size = 0;
    for (size_t i = 0; i < n; i++) {
        most = fmax(most, fabs(a[i] - b[i]));
        size = fmax(size, fabs(b[i]));
    }
    return most / fmax(size, 1e-300);
}

/* Gauss's elimination of the full matrix. */
static void solve_plainly(size_t n, double a[MAX_ROWS][MAX_ROWS], double *b)
{
    for (size_t i = 0; i < n; i++) {
        for (size_t r = i + 1; r < n; r++) {
            double part = a[r][i] / a[i][i];
            for (size_t c = i; c < n; c++)
                a[r][c] -= part * a[i][c];
            b[r] -= part * b[i];
        }
    }
    for (size_t i = n; i-- > 0;) {
        for (size_t c = i + 1; c < n; c++)
            b[i] -= a[i][c] * b[c];
        b[i] /= a[i][i];
    }
}

static void draw(kp_random *random, size_t n, double *values)
{
    for (size_t i = 0; i < n; i++)
        values[i] = kp_random_uniform(random, -1, 1);
}

/* A positive definite matrix whose rows are zero before their first entries. */
typedef struct drawn {
    size_t n, first[MAX_ROWS];
    double a[MAX_ROWS][MAX_ROWS];
} drawn;

static drawn draw_matrix(kp_random *random)
{
    drawn d = {.n = (size_t)kp_random_int(random, 1, MAX_ROWS)};
    for (size_t i = 0; i < d.n; i++) {
        d.first[i] = (size_t)kp_random_int(random, 0, (int)i); /* in any order, as a large shim over small ones makes */
        d.a[i][i] = 3;
        for (size_t j = d.first[i]; j < i; j++) {
            d.a[i][j] = d.a[j][i] = kp_random_uniform(random, -1, 1) / 4;
            d.a[i][i] += fabs(d.a[i][j]);
            d.a[j][j] += fabs(d.a[i][j]);
        }
    }
    return d;
}

/* The factor of rows that were added and removed, and the rows of the matrix that it now stands for. */
typedef struct factor {
    kp_skyline s;
    size_t line[MAX_ROWS], bandwidth[MAX_ROWS];
    double storage[MAX_ROWS * KP_SKYLINE_STRIDE(MAX_ROWS)];
    size_t row_of[MAX_ROWS];
} factor;

static void begin(factor *f)
{
    f->s = (kp_skyline){.line = f->line, .bandwidth = f->bandwidth, .storage = f->storage};
    for (size_t i = 0; i < sizeof f->storage / sizeof f->storage[0]; i++)
        f->storage[i] = NAN; /* what is read must have been written */
    kp_skyline_begin(&f->s, MAX_ROWS);
}

/* Appends rows of the matrix from the factor's end up to row `to`. */
static void append(factor *f, const drawn *d, size_t to)
{
    while (f->s.count < to) {
        size_t i = f->s.count;
        double row[MAX_ROWS + KP_SKYLINE_MORE];
        for (size_t j = 0; j < MAX_ROWS + KP_SKYLINE_MORE; j++)
            row[j] = j >= d->first[i] && j <= i ? d->a[i][j] : NAN;
        cr_assert(kp_skyline_append(&f->s, d->first[i], row, 0));
        f->row_of[i] = i;
    }
}

static void add_row(factor *f, const drawn *d, size_t row)
{
    double l[MAX_ROWS + KP_SKYLINE_MORE] = {0}, pivot = d->a[row][row];
    for (size_t j = 0; j < f->s.count; j++)
        l[j] = d->a[row][f->row_of[j]];
    kp_skyline_forward(&f->s, 0, l);
    for (size_t j = 0; j < f->s.count; j++)
        pivot -= l[j] * l[j];
    f->row_of[f->s.count] = row;
    kp_skyline_add_row(&f->s, l, pivot);
}

static void remove_row(factor *f, size_t position)
{
    double scratch[MAX_ROWS];
    kp_skyline_remove_row(&f->s, position, scratch);
    memmove(f->row_of + position, f->row_of + position + 1, (f->s.count - position) * sizeof *f->row_of);
}

static void check(const factor *f, const drawn *d, kp_random *random, int number)
{
    double a[MAX_ROWS][MAX_ROWS], want[MAX_ROWS], got[MAX_ROWS + KP_SKYLINE_MORE];
    size_t n = f->s.count;
    draw(random, n, want);
    for (size_t i = 0; i < MAX_ROWS + KP_SKYLINE_MORE; i++)
        got[i] = i < n ? want[i] : NAN;
    for (size_t i = 0; i < n; i++) {
        for (size_t j = 0; j < n; j++)
            a[i][j] = d->a[f->row_of[i]][f->row_of[j]];
    }
    solve_plainly(n, a, want);
    kp_skyline_forward(&f->s, 0, got);
    kp_skyline_backward(&f->s, got);
    double off = apart(n, got, want);
    cr_assert(off <= NEAR, "matrix %d, %zu rows: %g off", number, n, off);
}

Test(linear, rows_are_added_and_removed)
{
    kp_random random;
    kp_random_seed(&random, 2025112601);
    size_t removed = 0, added = 0;
    for (int number = 0; number < CASES; number++) {
        drawn d = draw_matrix(&random);
        static factor f;
        begin(&f);
        size_t begun = (size_t)kp_random_int(&random, 0, (int)d.n);
        append(&f, &d, begun);
        kp_skyline_cut(&f.s, begun / 2);
        append(&f, &d, begun);
        check(&f, &d, &random, number);
        for (size_t next = begun; next < d.n || f.s.count > 0;) {
            if (next < d.n && kp_random_uniform(&random, 0, 1) < 0.6) {
                add_row(&f, &d, next++);
                added++;
            } else if (f.s.count > 0) {
                remove_row(&f, (size_t)kp_random_int(&random, 0, (int)f.s.count - 1));
                removed++;
            }
            check(&f, &d, &random, number);
        }
    }
    cr_assert(removed > CASES && added > CASES);
}

Test(linear, a_dependent_row_is_refused)
{
    static factor f;
    begin(&f);
    double first[1 + KP_SKYLINE_MORE] = {4}, second[2 + KP_SKYLINE_MORE] = {2, 1}, third[2 + KP_SKYLINE_MORE] = {2, 3};
    cr_expect(kp_skyline_append(&f.s, 0, first, 1e-12));
    cr_expect(!kp_skyline_append(&f.s, 0, second, 1e-12), "it is half of the first");
    cr_expect(f.s.count == 1);
    cr_expect(kp_skyline_append(&f.s, 0, third, 1e-12));
    double b[2 + KP_SKYLINE_MORE] = {10, 9}, want[2] = {1.5, 2}; /* 4 x + 2 y = 10, 2 x + 3 y = 9 */
    kp_skyline_forward(&f.s, 0, b);
    kp_skyline_backward(&f.s, b);
    cr_expect(apart(2, b, want) <= NEAR);
}

/* ---- bands --------------------------------------------------------------------------------------- */

static void check_band(kp_random *random, size_t n, size_t width)
{
    double plain[MAX_ROWS][MAX_ROWS] = {{0}}, band[MAX_ROWS * (KP_BANDED_MAX_WIDTH + 1)] = {0}, want[MAX_ROWS],
           got[MAX_ROWS];
    for (size_t i = 0; i < n; i++)
        plain[i][i] = 2 * (double)width + 1;
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 1; k <= width && i + k < n; k++)
            band[i * (width + 1) + k] = plain[i][i + k] = plain[i + k][i] = kp_random_uniform(random, -1, 1);
        band[i * (width + 1)] = plain[i][i];
    }
    draw(random, n, want);
    memcpy(got, want, sizeof got);
    solve_plainly(n, plain, want);
    cr_assert(kp_banded_factor(n, width, band));
    kp_banded_forward(n, width, band, 0, got);
    kp_banded_backward(n, width, band, got);
    double off = apart(n, got, want);
    cr_assert(off <= NEAR, "%zu rows, width %zu: %g off", n, width, off);
}

Test(linear, bands_are_solved)
{
    kp_random random;
    kp_random_seed(&random, 2025112602);
    for (size_t n = 1; n <= MAX_ROWS; n++) {
        for (size_t width = 1; width <= KP_BANDED_MAX_WIDTH; width++)
            check_band(&random, n, width);
    }
    double not_positive[2 * 4] = {1, 2, 0, 0, 1, 0, 0, 0};
    cr_expect(!kp_banded_factor(2, 3, not_positive));
}

/* ---- batched right-hand sides -------------------------------------------------------------------------- */

Test(linear, batched_columns_are_what_each_is_alone)
{
    enum { WIDTH = 7, COLUMNS = 13, STRIDE = 16 };
    kp_random random;
    kp_random_seed(&random, 2025112603);
    for (size_t n = 1; n <= MAX_ROWS; n++) {
        double band[MAX_ROWS * (WIDTH + 1)] = {0}, batch[MAX_ROWS * STRIDE] = {0}, alone[COLUMNS][MAX_ROWS] = {{0}};
        size_t first[COLUMNS], started[MAX_ROWS] = {0};
        for (size_t i = 0; i < n; i++) {
            for (size_t k = 0; k <= WIDTH && i + k < n; k++)
                band[i * (WIDTH + 1) + k] = k == 0 ? 20 : kp_random_uniform(&random, -1, 1);
        }
        cr_assert(kp_banded_factor(n, WIDTH, band));
        for (size_t column = 0; column < COLUMNS; column++) {
            first[column] = n * column / COLUMNS;
            for (size_t i = first[column]; i < n; i++) {
                batch[i * STRIDE + column] = alone[column][i] = kp_random_uniform(&random, -1, 1);
                started[i] = column + 1;
            }
            kp_banded_forward(n, WIDTH, band, first[column], alone[column]);
        }
        kp_batch_forward(n, WIDTH, band, started, STRIDE, batch);
        double x[MAX_ROWS], sum[STRIDE], weight[STRIDE] = {0}, spread[MAX_ROWS], want_spread[MAX_ROWS];
        draw(&random, n, x);
        draw(&random, COLUMNS, weight);
        draw(&random, n, spread);
        memcpy(want_spread, spread, sizeof spread);
        kp_batch_sum(n, STRIDE, STRIDE, batch, x, sum);
        kp_batch_spread(n, STRIDE, STRIDE, batch, weight, spread);
        for (size_t column = 0; column < COLUMNS; column++) {
            double got[MAX_ROWS], want_sum = 0;
            for (size_t i = 0; i < n; i++) {
                got[i] = batch[i * STRIDE + column];
                want_sum += x[i] * alone[column][i];
                want_spread[i] += weight[column] * alone[column][i];
            }
            cr_assert(apart(n, got, alone[column]) <= NEAR, "%zu rows, column %zu", n, column);
            cr_assert(fabs(sum[column] - want_sum) <= NEAR, "%zu rows, column %zu: %g, not %g", n, column, sum[column],
                      want_sum);
        }
        cr_assert(apart(n, spread, want_spread) <= NEAR, "%zu rows", n);
        double product[KP_BATCH][KP_BATCH];
        kp_batch_multiply(n, STRIDE, batch, batch + KP_BATCH, product);
        for (size_t k = 0; k < KP_BATCH; k++) {
            for (size_t m = 0; m < KP_BATCH; m++) {
                double want = 0;
                for (size_t i = 0; i < n; i++)
                    want += alone[k][i] * alone[KP_BATCH + m][i];
                cr_assert(fabs(product[k][m] - want) <= NEAR);
            }
        }
    }
}
