/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Cholesky factor L of a symmetric positive definite matrix that rows join and leave.

   Rows that are appended in order hold nothing before their first entry, nor does L: these stand by columns, each as
   far as it reaches (an envelope: George and Liu, Computer Solution of Large Sparse Positive Definite Systems, chapter
   4, from memory). A row that joins later stands by itself behind them, coupled with all before it. One that leaves
   takes its row and column along; the rest changes by its column v to that of L L' + v v', by a rotation a column
   (Golub and Van Loan, Matrix Computations, section 6.5, from memory: stable, as something is added). */
#include "num/num.h"

#include "pair.h"

#include <math.h>
#include <string.h>

/* Column of an appended row: reciprocal diagonal, then the entries below, then KP_SKYLINE_MORE zeros.
   Row of one that joined: entries before, then the reciprocal diagonal. */
PAIR_INLINE double *line_of(const kp_skyline *s, size_t position)
{
    return s->lines + s->place[position] * s->stride;
}

void kp_skyline_begin(kp_skyline *s, size_t most)
{
    s->most = most;
    s->stride = KP_SKYLINE_STRIDE(most);
    s->count = s->ordered = 0;
    for (size_t i = 0; i < most; i++) {
        s->place[i] = i;
    }
}

void kp_skyline_cut(kp_skyline *s, size_t count)
{
    s->count = s->ordered = count;
    for (size_t j = 0; j < count; j++) {
        if (j + s->reach[j] >= count) {
            double *line = line_of(s, j);
            memset(line + count - j, 0, (s->reach[j] + 1 - (count - j)) * sizeof *line);
            s->reach[j] = count - 1 - j;
        }
    }
}

/* Solved four columns at once, which share what they take from or give to the rows behind them: read back from memory
   at once, vectors of results would wait for the stores. Columns reach no less far than those before them. */
enum { BLOCK = 4 };

typedef struct block {
    const double *column[BLOCK]; /* from the row behind the block's last on, less far-off ones */
    double corner[BLOCK][BLOCK]; /* entries within the block: of row, column; reciprocal diagonal */
    size_t common;               /* rows behind the block that all reach, filled up with zeros     */
} block;

PAIR_INLINE block block_at(const kp_skyline *s, size_t i)
{
    block k;
    for (size_t c = 0; c < BLOCK; c++) {
        const double *line = line_of(s, i + c);
        for (size_t r = c; r < BLOCK; r++) {
            k.corner[r][c] = r - c <= s->reach[i + c] ? line[r - c] : 0;
        }
        k.column[c] = line + BLOCK - c;
    }
    k.common = s->reach[i] < BLOCK ? 0 : (s->reach[i] - (BLOCK - 1) + 3) / 4 * 4;
    return k;
}

/* Rows behind the block that column c of it reaches. */
PAIR_INLINE size_t rows_behind(const kp_skyline *s, size_t i, size_t c)
{
    size_t reach = c + s->reach[i + c];
    return reach < BLOCK ? 0 : reach - (BLOCK - 1);
}

/* L x = b by the appended columns from `first` up to `end`. */
PAIR_INLINE void forward(const kp_skyline *s, size_t first, size_t end, double *b)
{
    size_t i = first;
    for (; i + BLOCK <= end; i += BLOCK) {
        block k = block_at(s, i);
        double x[BLOCK], *behind = b + i + BLOCK;
        for (size_t r = 0; r < BLOCK; r++) {
            double sum = b[i + r];
            for (size_t c = 0; c < r; c++) {
                sum -= k.corner[r][c] * x[c];
            }
            b[i + r] = x[r] = sum * k.corner[r][r];
        }
        for (size_t row = 0; row < k.common; row += 4) {
            quad sum = *(quad *)(behind + row);
            for (size_t c = 0; c < BLOCK; c++) {
                sum -= (quad){x[c], x[c], x[c], x[c]} * *(const quad *)(k.column[c] + row);
            }
            *(quad *)(behind + row) = sum;
        }
        for (size_t c = 0; c < BLOCK; c++) {
            for (size_t row = k.common; row < rows_behind(s, i, c); row++) {
                behind[row] -= x[c] * k.column[c][row];
            }
        }
    }
    for (; i < end; i++) {
        const double *column = line_of(s, i);
        double x = b[i] * column[0];
        b[i] = x;
        pair_subtract(s->reach[i], x, column + 1, b + i + 1);
    }
}

KP_WIDE bool kp_skyline_append(kp_skyline *s, size_t first, double *row, double least)
{
    size_t i = s->count;
    double pivot = row[i];
    memset(row + i, 0, (1 + KP_SKYLINE_MORE) * sizeof *row);
    forward(s, first, i, row);
    pivot -= pair_dot(i - first, row + first, row + first);
    if (!(pivot > least)) {
        return false;
    }
    for (size_t j = first; j < i; j++) {
        double *column = line_of(s, j);
        for (size_t k = s->reach[j] + 1 + KP_SKYLINE_MORE; k <= i - j + KP_SKYLINE_MORE; k++) {
            column[k] = 0;
        }
        column[i - j] = row[j];
        s->reach[j] = i - j;
    }
    double *own = line_of(s, i);
    own[0] = 1 / sqrt(pivot);
    memset(own + 1, 0, KP_SKYLINE_MORE * sizeof *own);
    s->reach[i] = 0;
    s->count = s->ordered = i + 1;
    return true;
}

KP_WIDE void kp_skyline_forward(const kp_skyline *s, size_t first, double *b)
{
    forward(s, first, s->ordered, b);
    for (size_t i = s->ordered; i < s->count; i++) {
        const double *row = line_of(s, i);
        b[i] = (b[i] - pair_dot(i, row, b)) * row[i];
    }
}

KP_WIDE void kp_skyline_backward(const kp_skyline *s, double *b)
{
    memset(b + s->count, 0, KP_SKYLINE_MORE * sizeof *b); /* zeros of columns must not meet what is no number */
    size_t i = s->count;
    while (i > s->ordered) {
        const double *row = line_of(s, --i);
        b[i] *= row[i];
        pair_subtract(i, b[i], row, b);
    }
    while (i % BLOCK > 0) {
        const double *column = line_of(s, --i);
        b[i] = (b[i] - pair_dot(s->reach[i], column + 1, b + i + 1)) * column[0];
    }
    while (i > 0) {
        i -= BLOCK;
        block k = block_at(s, i);
        const double *behind = b + i + BLOCK;
        quad sums[BLOCK] = {{0}};
        for (size_t row = 0; row < k.common; row += 4) {
            quad x = *(const quad *)(behind + row);
            for (size_t c = 0; c < BLOCK; c++) {
                sums[c] += x * *(const quad *)(k.column[c] + row);
            }
        }
        double sum[BLOCK];
        for (size_t c = 0; c < BLOCK; c++) {
            sum[c] = b[i + c] - ((sums[c][0] + sums[c][2]) + (sums[c][1] + sums[c][3]));
            for (size_t row = k.common; row < rows_behind(s, i, c); row++) {
                sum[c] -= behind[row] * k.column[c][row];
            }
        }
        for (size_t c = BLOCK; c-- > 0;) {
            for (size_t r = c + 1; r < BLOCK; r++) {
                sum[c] -= k.corner[r][c] * b[i + r];
            }
            b[i + c] = sum[c] * k.corner[c][c];
        }
    }
}

void kp_skyline_add_row(kp_skyline *s, const double *row, double pivot)
{
    double *line = line_of(s, s->count);
    memcpy(line, row, s->count * sizeof *line);
    line[s->count++] = 1 / sqrt(pivot);
}

/* Takes position `gone` out of the lines and puts its column into v, by the positions that are left. */
static void take_out(kp_skyline *s, size_t gone, double *v)
{
    memset(v, 0, s->count * sizeof *v);
    if (gone < s->ordered) {
        memcpy(v + gone, line_of(s, gone) + 1, s->reach[gone] * sizeof *v);
    }
    for (size_t j = 0; j < gone && j < s->ordered; j++) {
        size_t at = gone - j;
        if (s->reach[j] >= at) {
            double *column = line_of(s, j);
            memmove(column + at, column + at + 1, (s->reach[j] - at) * sizeof *column);
            column[s->reach[j]--] = 0;
        }
    }
    for (size_t i = s->ordered > gone + 1 ? s->ordered : gone + 1; i < s->count; i++) {
        double *row = line_of(s, i);
        v[i - 1] = row[gone];
        memmove(row + gone, row + gone + 1, (i - gone) * sizeof *row);
    }
    size_t place = s->place[gone];
    s->count--;
    memmove(s->place + gone, s->place + gone + 1, (s->count - gone) * sizeof *s->place);
    s->place[s->count] = place;
    if (gone < s->ordered) {
        s->ordered--;
        memmove(s->reach + gone, s->reach + gone + 1, (s->ordered - gone) * sizeof *s->reach);
    }
}

/* What adding v v' does at one column: to its own entry, and to those below with v's. */
typedef struct rotation {
    double share, stretch, shrink; /* [-] v/L, r/L, L/r */
} rotation;

static inline rotation rotate_diagonal(double *reciprocal, double v)
{
    double share = v * *reciprocal;
    double stretch = sqrt(1 + share * share);
    *reciprocal /= stretch;
    return (rotation){share, stretch, 1 / stretch};
}

static inline void rotate(rotation r, double *entry, double *v)
{
    *entry = (*entry + r.share * *v) * r.shrink;
    *v = r.stretch * *v - r.share * *entry;
}

void kp_skyline_remove_row(kp_skyline *s, size_t gone, double *v)
{
    take_out(s, gone, v);
    for (size_t j = gone; j < s->count; j++) {
        if (v[j] == 0) {
            continue;
        }
        double *line = line_of(s, j);
        bool ordered = j < s->ordered;
        rotation r = rotate_diagonal(ordered ? line : line + j, v[j]);
        for (size_t k = 1; ordered && k <= s->reach[j]; k++) {
            rotate(r, line + k, v + j + k);
        }
        for (size_t i = ordered ? s->ordered : j + 1; i < s->count; i++) {
            rotate(r, line_of(s, i) + j, v + i);
        }
    }
}
