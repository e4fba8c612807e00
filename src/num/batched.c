/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Batched right-hand sides: entry i of column k at b[i*stride + k]. A register then holds the same entry of several
   columns, each with a sum of its own, so that no sum is reordered and none waits for itself. */
#include "num/num.h"

#include "vector.h"

#include <string.h>

KP_WIDE void kp_batch_forward(size_t n, size_t width, const double *upper, const size_t *started, size_t stride,
                              double *b)
{
    const size_t row = width + 1;

    size_t first = 0;
    while (first < n && started[first] == 0) {
        first++;
    }

    for (size_t i = first; i < n; i++) {
        size_t above = i - first < width ? i - first : width;
        const double *u = upper + (i - above) * row + above; /* entries (i - above, i) to (i, i), width apart */
        for (size_t column = 0; column < started[i]; column += KP_BATCH) {
            double *to = b + i * stride + column;
            const double *at = to - above * stride;

            v4d sum = V4D_LOAD(to);
            for (size_t k = 0; k < above; k++, at += stride) {
                sum -= V4D_ALL(u[k * width]) * V4D_LOAD(at);
            }

            V4D_STORE(to, sum * V4D_ALL(upper[i * row])); /* the diagonal is kept as its reciprocal */
        }
    }
}

KP_WIDE void kp_batch_multiply(size_t rows, size_t stride, const double *a, const double *b,
                               double product[KP_BATCH][KP_BATCH])
{
    v4d sum[KP_BATCH] = {{0}};
    for (size_t i = 0; i < rows; i++, a += stride, b += stride) {
        v4d right = V4D_LOAD(b);

        for (size_t k = 0; k < KP_BATCH; k++) {
            sum[k] += V4D_ALL(a[k]) * right;
        }
    }

    memcpy(product, sum, sizeof sum);
}

KP_WIDE void kp_batch_sum(size_t rows, size_t columns, size_t stride, const double *b, const double *x, double *sum)
{
    /* Eight columns at a time: two sums that do not wait for each other. */
    size_t column = 0;
    for (; column + 2 * KP_BATCH <= columns; column += 2 * KP_BATCH) {
        v4d s0 = {0}, s1 = {0};
        const double *at = b + column;
        for (size_t i = 0; i < rows; i++, at += stride) {
            v4d xi = V4D_ALL(x[i]);
            s0 += xi * V4D_LOAD(at);
            s1 += xi * V4D_LOAD(at + KP_BATCH);
        }

        V4D_STORE(sum + column, s0);
        V4D_STORE(sum + column + KP_BATCH, s1);
    }

    /* The last four of an odd multiple. */
    if (column < columns) {
        v4d s = {0};
        const double *at = b + column;
        for (size_t i = 0; i < rows; i++, at += stride) {
            s += V4D_ALL(x[i]) * V4D_LOAD(at);
        }
        V4D_STORE(sum + column, s);
    }
}

KP_WIDE void kp_batch_spread(size_t rows, size_t columns, size_t stride, const double *b, const double *x, double *to)
{
    /* Two rows at a time share the last addition. */
    size_t i = 0;
    for (; i + 2 <= rows; i += 2, b += 2 * stride) {
        v4d s0 = {0}, s1 = {0};
        for (size_t column = 0; column < columns; column += KP_BATCH) {
            v4d xk = V4D_LOAD(x + column);
            s0 += V4D_LOAD(b + column) * xk;
            s1 += V4D_LOAD(b + stride + column) * xk;
        }

        v2d even = {s0[0] + s0[2], s1[0] + s1[2]}, odd = {s0[1] + s0[3], s1[1] + s1[3]};
        v2d_add_to(to + i, even + odd);
    }

    if (i < rows) {
        v4d s = {0};
        for (size_t column = 0; column < columns; column += KP_BATCH) {
            s += V4D_LOAD(b + column) * V4D_LOAD(x + column);
        }
        to[i] += V4D_SUM(s);
    }
}

KP_WIDE double kp_batch_dot(size_t n, const double *a, const double *b)
{
    return v4d_dot(n, a, b);
}
