/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Vectors that stand side by side: entry i of vector k at b[i*stride + k]. A processor's registers then hold entries of
   several vectors, each with a sum of its own, so that no sum is reordered and none waits for itself. */
#include "num/num.h"

#include "pair.h"

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
        size_t reach = i - first < width ? i - first : width;
        const double *column = upper + (i - reach) * row + reach; /* entries (i - reach, i) to (i, i), width apart */
        for (size_t lane = 0; lane < started[i]; lane += KP_BATCH) {
            double *to = b + i * stride + lane;
            const double *at = to - reach * stride;
            quad sum = *(quad *)to;
            for (size_t k = 0; k < reach; k++, at += stride) {
                double l = column[k * width];
                sum -= (quad){l, l, l, l} * *(const quad *)at;
            }
            double d = upper[i * row];
            *(quad *)to = sum * (quad){d, d, d, d};
        }
    }
}

KP_WIDE void kp_batch_multiply(size_t rows, size_t stride, const double *a, const double *b,
                               double product[KP_BATCH][KP_BATCH])
{
    quad sum[KP_BATCH] = {{0}};
    for (size_t i = 0; i < rows; i++, a += stride, b += stride) {
        quad right = *(const quad *)b;
        for (size_t k = 0; k < KP_BATCH; k++) {
            sum[k] += (quad){a[k], a[k], a[k], a[k]} * right;
        }
    }
    memcpy(product, sum, sizeof sum);
}

KP_WIDE void kp_batch_sum(size_t rows, size_t lanes, size_t stride, const double *b, const double *x, double *sum)
{
    size_t lane = 0;
    for (; lane + 2 * KP_BATCH <= lanes; lane += 2 * KP_BATCH) {
        quad s0 = {0}, s1 = {0};
        const double *at = b + lane;
        for (size_t i = 0; i < rows; i++, at += stride) {
            quad xi = {x[i], x[i], x[i], x[i]};
            s0 += xi * *(const quad *)at;
            s1 += xi * *(const quad *)(at + KP_BATCH);
        }
        *(quad *)(sum + lane) = s0;
        *(quad *)(sum + lane + KP_BATCH) = s1;
    }
    if (lane < lanes) {
        quad s = {0};
        const double *at = b + lane;
        for (size_t i = 0; i < rows; i++, at += stride) {
            s += (quad){x[i], x[i], x[i], x[i]} * *(const quad *)at;
        }
        *(quad *)(sum + lane) = s;
    }
}

KP_WIDE void kp_batch_spread(size_t rows, size_t lanes, size_t stride, const double *b, const double *x, double *to)
{
    size_t i = 0;
    for (; i + 2 <= rows; i += 2, b += 2 * stride) {
        quad s0 = {0}, s1 = {0};
        for (size_t lane = 0; lane < lanes; lane += KP_BATCH) {
            quad xl = *(const quad *)(x + lane);
            s0 += *(const quad *)(b + lane) * xl;
            s1 += *(const quad *)(b + stride + lane) * xl;
        }
        pair even = {s0[0] + s0[2], s1[0] + s1[2]}, odd = {s0[1] + s0[3], s1[1] + s1[3]};
        pair_store(to + i, pair_load(to + i) + (even + odd));
    }
    if (i < rows) {
        quad s = {0};
        for (size_t lane = 0; lane < lanes; lane += KP_BATCH) {
            s += *(const quad *)(b + lane) * *(const quad *)(x + lane);
        }
        to[i] += (s[0] + s[2]) + (s[1] + s[3]);
    }
}

KP_WIDE double kp_batch_dot(size_t n, const double *a, const double *b)
{
    return pair_dot(n, a, b);
}
