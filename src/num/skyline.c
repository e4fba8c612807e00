/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Envelope (skyline) Cholesky of a symmetric positive definite matrix, A = L L', with rows added and removed.

   A row that is appended in order has zeros before its first entry, and so has L: these rows are the envelope, stored
   by columns, each as far down as it is not zero (George and Liu, Computer Solution of Large Sparse Positive Definite
   Systems, chapter 4, from memory). A row added later is dense; it is stored as a row, behind the envelope. Removing a
   row deletes its row and column of L; what stands behind it becomes the factor of L L' + v v', v the column that went,
   by one Givens rotation a column (Golub and Van Loan, Matrix Computations, section 6.5, from memory; stable, because
   v v' is added).

   Own code: GSL has dense and banded Cholesky factors, no envelope and no updates. */
#include "num/num.h"

#include "vector.h"

#include <math.h>
#include <string.h>

/* Line of an envelope column: the diagonal's reciprocal, the entries below it, KP_SKYLINE_MORE zeros.
   Line of a dense row: the entries before the diagonal, the diagonal's reciprocal. */
VECTOR_INLINE double *line_at(const kp_skyline *s, size_t position)
{
    return s->storage + s->line[position] * s->stride;
}

void kp_skyline_begin(kp_skyline *s, size_t max_rows)
{
    s->max_rows = max_rows;
    s->stride = KP_SKYLINE_STRIDE(max_rows);
    s->count = s->envelope_rows = 0;

    for (size_t i = 0; i < max_rows; i++) {
        s->line[i] = i;
    }
}

void kp_skyline_cut(kp_skyline *s, size_t count)
{
    s->count = s->envelope_rows = count;

    /* Columns end at the last row left; what was below is zero again. */
    for (size_t j = 0; j < count; j++) {
        if (j + s->bandwidth[j] >= count) {
            double *line = line_at(s, j);
            memset(line + count - j, 0, (s->bandwidth[j] + 1 - (count - j)) * sizeof *line);
            s->bandwidth[j] = count - 1 - j;
        }
    }
}

/* ---- both substitutions, four envelope columns at once ---------------------------------------------------------

   The four share each load and store of the right-hand side behind them; one at a time, the loads would wait for the
   stores of the column before. A column ends no higher than those before it. */
enum { BLOCK = 4 };

typedef struct block {
    const double *column[BLOCK]; /* from the first row behind the block on                         */
    double corner[BLOCK][BLOCK]; /* [row][column] within the block; the diagonal as its reciprocal */
    size_t common;               /* rows behind the block that all columns have, with their zeros  */
} block;

VECTOR_INLINE block block_at(const kp_skyline *s, size_t i)
{
    block k;
    for (size_t c = 0; c < BLOCK; c++) {
        const double *line = line_at(s, i + c);
        for (size_t r = c; r < BLOCK; r++) {
            k.corner[r][c] = r - c <= s->bandwidth[i + c] ? line[r - c] : 0;
        }
        k.column[c] = line + BLOCK - c;
    }

    k.common = s->bandwidth[i] < BLOCK ? 0 : (s->bandwidth[i] - (BLOCK - 1) + 3) / 4 * 4;
    return k;
}

/* Rows behind the block in which its column c is not zero. */
VECTOR_INLINE size_t rows_behind(const kp_skyline *s, size_t i, size_t c)
{
    size_t below = c + s->bandwidth[i + c];
    return below < BLOCK ? 0 : below - (BLOCK - 1);
}

/* L x = b by the envelope columns from `first` up to `end`. */
VECTOR_INLINE void forward(const kp_skyline *s, size_t first, size_t end, double *b)
{
    size_t i = first;
    for (; i + BLOCK <= end; i += BLOCK) {
        block k = block_at(s, i);
        double x[BLOCK], *behind = b + i + BLOCK;

        /* Solve within the block. */
        for (size_t r = 0; r < BLOCK; r++) {
            double sum = b[i + r];
            for (size_t c = 0; c < r; c++) {
                sum -= k.corner[r][c] * x[c];
            }
            b[i + r] = x[r] = sum * k.corner[r][r];
        }

        /* Subtract its columns from the rows behind: first those common to all, then each column's own. */
        for (size_t row = 0; row < k.common; row += 4) {
            v4d sum = V4D_LOAD(behind + row);
            for (size_t c = 0; c < BLOCK; c++) {
                sum -= V4D_ALL(x[c]) * V4D_LOAD(k.column[c] + row);
            }
            V4D_STORE(behind + row, sum);
        }
        for (size_t c = 0; c < BLOCK; c++) {
            for (size_t row = k.common; row < rows_behind(s, i, c); row++) {
                behind[row] -= x[c] * k.column[c][row];
            }
        }
    }

    /* Fewer than four columns are left. */
    for (; i < end; i++) {
        const double *column = line_at(s, i);
        double x = b[i] * column[0];
        b[i] = x;
        v4d_subtract_multiple(s->bandwidth[i], x, column + 1, b + i + 1);
    }
}

/* L' x = b in the four columns from i on; what stands behind them is solved. */
VECTOR_INLINE void backward_block(const kp_skyline *s, size_t i, double *b)
{
    block k = block_at(s, i);
    const double *behind = b + i + BLOCK;

    /* Products of the rows behind with each column: first those common to all, then each column's own. */
    v4d sums[BLOCK] = {{0}};
    for (size_t row = 0; row < k.common; row += 4) {
        v4d x = V4D_LOAD(behind + row);
        for (size_t c = 0; c < BLOCK; c++) {
            sums[c] += x * V4D_LOAD(k.column[c] + row);
        }
    }

    double sum[BLOCK];
    for (size_t c = 0; c < BLOCK; c++) {
        sum[c] = b[i + c] - V4D_SUM(sums[c]);
        for (size_t row = k.common; row < rows_behind(s, i, c); row++) {
            sum[c] -= behind[row] * k.column[c][row];
        }
    }

    /* Solve within the block. */
    for (size_t c = BLOCK; c-- > 0;) {
        for (size_t r = c + 1; r < BLOCK; r++) {
            sum[c] -= k.corner[r][c] * b[i + r];
        }
        b[i + c] = sum[c] * k.corner[c][c];
    }
}

KP_WIDE void kp_skyline_forward(const kp_skyline *s, size_t first, double *b)
{
    forward(s, first, s->envelope_rows, b);
    for (size_t i = s->envelope_rows; i < s->count; i++) {
        const double *row = line_at(s, i);
        b[i] = (b[i] - v4d_dot(i, row, b)) * row[i];
    }
}

KP_WIDE void kp_skyline_backward(const kp_skyline *s, double *b)
{
    memset(b + s->count, 0, KP_SKYLINE_MORE * sizeof *b); /* a column's zeros times a NaN there would be NaN */

    /* Dense rows: each result is subtracted from all before it. */
    size_t i = s->count;
    while (i > s->envelope_rows) {
        const double *row = line_at(s, --i);
        b[i] *= row[i];
        v4d_subtract_multiple(i, b[i], row, b);
    }

    /* Single columns down to a multiple of four, then blocks. */
    while (i % BLOCK > 0) {
        const double *column = line_at(s, --i);
        b[i] = (b[i] - v4d_dot(s->bandwidth[i], column + 1, b + i + 1)) * column[0];
    }
    while (i > 0) {
        i -= BLOCK;
        backward_block(s, i, b);
    }
}

/* ---- rows come and go --------------------------------------------------------------------------------------- */

KP_WIDE bool kp_skyline_append(kp_skyline *s, size_t first, double *row, double min_pivot)
{
    size_t i = s->count;
    double pivot = row[i];

    /* The new row of L solves L l = a; its pivot is a_ii - l.l. */
    memset(row + i, 0, (1 + KP_SKYLINE_MORE) * sizeof *row);
    forward(s, first, i, row);
    pivot -= v4d_dot(i - first, row + first, row + first);

    if (!(pivot > min_pivot)) {
        return false;
    }

    /* Each column from `first` on gets one entry at its foot. */
    for (size_t j = first; j < i; j++) {
        double *column = line_at(s, j);
        for (size_t k = s->bandwidth[j] + 1 + KP_SKYLINE_MORE; k <= i - j + KP_SKYLINE_MORE; k++) {
            column[k] = 0;
        }

        column[i - j] = row[j];
        s->bandwidth[j] = i - j;
    }

    double *own = line_at(s, i);
    own[0] = 1 / sqrt(pivot);
    memset(own + 1, 0, KP_SKYLINE_MORE * sizeof *own);
    s->bandwidth[i] = 0;
    s->count = s->envelope_rows = i + 1;
    return true;
}

void kp_skyline_add_row(kp_skyline *s, const double *row, double pivot)
{
    double *line = line_at(s, s->count);
    memcpy(line, row, s->count * sizeof *line);
    line[s->count++] = 1 / sqrt(pivot);
}

/* Deletes row and column `gone` of L. v gets the column, numbered by the positions that are left. */
static void delete_position(kp_skyline *s, size_t gone, double *v)
{
    memset(v, 0, s->count * sizeof *v);
    if (gone < s->envelope_rows) {
        memcpy(v + gone, line_at(s, gone) + 1, s->bandwidth[gone] * sizeof *v);
    }

    /* Its entries in the envelope columns before it ... */
    for (size_t j = 0; j < gone && j < s->envelope_rows; j++) {
        size_t at = gone - j;

        if (s->bandwidth[j] >= at) {
            double *column = line_at(s, j);
            memmove(column + at, column + at + 1, (s->bandwidth[j] - at) * sizeof *column);
            column[s->bandwidth[j]--] = 0;
        }
    }

    /* ... and in the dense rows behind it. */
    for (size_t i = s->envelope_rows > gone + 1 ? s->envelope_rows : gone + 1; i < s->count; i++) {
        double *row = line_at(s, i);
        v[i - 1] = row[gone];
        memmove(row + gone, row + gone + 1, (i - gone) * sizeof *row);
    }

    /* Its line goes behind those in use, for the next row. */
    size_t line = s->line[gone];
    s->count--;
    memmove(s->line + gone, s->line + gone + 1, (s->count - gone) * sizeof *s->line);
    s->line[s->count] = line;

    if (gone < s->envelope_rows) {
        s->envelope_rows--;
        memmove(s->bandwidth + gone, s->bandwidth + gone + 1, (s->envelope_rows - gone) * sizeof *s->bandwidth);
    }
}

/* The Givens rotation of one column of L and v that zeroes v's entry at the diagonal; r = sqrt(L^2 + v^2). */
typedef struct rotation {
    double tangent, secant, cosine; /* [-] v/L, r/L, L/r */
} rotation;

static inline rotation rotate_diagonal(double *reciprocal, double v)
{
    double tangent = v * *reciprocal;
    double secant = sqrt(1 + tangent * tangent);
    *reciprocal /= secant;
    return (rotation){tangent, secant, 1 / secant};
}

static inline void rotate(rotation r, double *entry, double *v)
{
    *entry = (*entry + r.tangent * *v) * r.cosine;
    *v = r.secant * *v - r.tangent * *entry;
}

void kp_skyline_remove_row(kp_skyline *s, size_t gone, double *v)
{
    delete_position(s, gone, v);

    for (size_t j = gone; j < s->count; j++) {
        if (v[j] == 0) {
            continue;
        }

        double *line = line_at(s, j);
        bool in_envelope = j < s->envelope_rows;
        rotation r = rotate_diagonal(in_envelope ? line : line + j, v[j]);

        /* Below the diagonal: in the column's own line if it is in the envelope, then in each dense row. */
        for (size_t k = 1; in_envelope && k <= s->bandwidth[j]; k++) {
            rotate(r, line + k, v + j + k);
        }
        for (size_t i = in_envelope ? s->envelope_rows : j + 1; i < s->count; i++) {
            rotate(r, line_at(s, i) + j, v + i);
        }
    }
}
