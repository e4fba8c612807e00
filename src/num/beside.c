/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Vectors that stand side by side: entry i of vector k at b[i*stride + k]. A processor's registers then hold entries of
   several vectors, each with a sum of its own, so that no sum is reordered and none waits for itself. */
#include "kneepoint/num.h"

#include "pair.h"

#include <string.h>

KP_WIDE void kp_beside_forward(size_t n, size_t width, const double *upper, const size_t *started, size_t stride,
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
        for (size_t lane = 0; lane < started[i]; lane += KP_BESIDE) {
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

KP_WIDE void kp_beside_multiply(size_t rows, size_t stride, const double *a, const double *b,
                                double product[KP_BESIDE][KP_BESIDE])
{
    quad sum[KP_BESIDE] = {{0}};
    for (size_t i = 0; i < rows; i++, a += stride, b += stride) {
        quad right = *(const quad *)b;
        for (size_t k = 0; k < KP_BESIDE; k++) {
            sum[k] += (quad){a[k], a[k], a[k], a[k]} * right;
        }
    }
    memcpy(product, sum, sizeof sum);
}

KP_WIDE void kp_beside_subtract(size_t n, double factor, const double *from, double *to)
{
    pair_subtract(n, factor, from, to);
}

KP_WIDE double kp_beside_dot(size_t n, const double *a, const double *b)
{
    return pair_dot(n, a, b);
}
