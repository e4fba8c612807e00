/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Banded Cholesky for small symmetric positive definite systems, row-packed: the row of entry (i, j) starts at
   i*(width+1) and the diagonal stands last, so that a row is read front to back in every loop below.
   Source: the algorithm is in any text, e.g. Golub and Van Loan, Matrix Computations, section 4.3 (from memory). */
#include "kneepoint/num.h"

#include <math.h>

/* The sums below are split in two or four, so that one product need not wait for the one before. The general loops are
   written once, inline, and called with the width known where it is 3 or 7, as it is in all of src/disc. */

static inline double dot(const double *a, const double *b, size_t n)
{
    double s0 = 0;
    double s1 = 0;
    size_t k = 0;
    for (; k + 2 <= n; k += 2) {
        s0 += a[k] * b[k];
        s1 += a[k + 1] * b[k + 1];
    }
    return k < n ? s0 + s1 + a[k] * b[k] : s0 + s1;
}

static inline bool factor(size_t n, size_t width, double *a)
{
    const size_t row = width + 1;
    for (size_t i = 0; i < n; i++) {
        double *ai = a + i * row;
        size_t reach = i < width ? i : width;
        double *left = ai + width - reach; /* entries (i, i - reach) to (i, i - 1) */
        for (size_t j = 0; j < reach; j++) {
            const double *aj = a + (i - reach + j) * row;
            left[j] = (left[j] - dot(left, aj + width - j, j)) * aj[width]; /* the diagonal holds its reciprocal */
        }
        double before = ai[width];
        double pivot = before - dot(left, left, reach);
        /* A pivot that lost all but rounding of its size is not positive in any useful sense. */
        if (!(pivot > before * 1e-15) || !isfinite(pivot)) {
            return false;
        }
        ai[width] = 1.0 / sqrt(pivot);
    }
    return true;
}

bool kp_banded_factor(size_t n, size_t width, double *a)
{
    return width == 7 ? factor(n, 7, a) : width == 3 ? factor(n, 3, a) : factor(n, width, a);
}

static inline void forward(size_t n, size_t width, const double *l, size_t first, double *b)
{
    const size_t row = width + 1;
    size_t i = first;
    for (; i < n && i < first + width; i++) {
        const double *li = l + i * row;
        size_t reach = i - first;
        b[i] = (b[i] - dot(li + width - reach, b + first, reach)) * li[width];
    }
    for (; i < n; i++) {
        const double *li = l + i * row;
        /* The newest entry last: the others do not wait for it. */
        b[i] = (b[i] - dot(li, b + i - width, width - 1) - li[width - 1] * b[i - 1]) * li[width];
    }
}

void kp_banded_forward(size_t n, size_t width, const double *lower, size_t first, double *b)
{
    if (width == 7) {
        forward(n, 7, lower, first, b);
    } else if (width == 3) {
        forward(n, 3, lower, first, b);
    } else {
        forward(n, width, lower, first, b);
    }
}

void kp_banded_forward_four(size_t n, size_t width, const double *lower, size_t first, double *const b[4])
{
    const size_t row = width + 1;
    for (size_t i = first; i < n; i++) {
        const double *li = lower + i * row;
        size_t reach = i - first < width ? i - first : width;
        const double *from = li + width - reach;
        double s0 = b[0][i], s1 = b[1][i], s2 = b[2][i], s3 = b[3][i];
        for (size_t k = 0; k < reach; k++) {
            double l = from[k];
            size_t j = i - reach + k;
            s0 -= l * b[0][j];
            s1 -= l * b[1][j];
            s2 -= l * b[2][j];
            s3 -= l * b[3][j];
        }
        b[0][i] = s0 * li[width];
        b[1][i] = s1 * li[width];
        b[2][i] = s2 * li[width];
        b[3][i] = s3 * li[width];
    }
}

static inline void backward(size_t n, size_t width, const double *l, double *b)
{
    const size_t row = width + 1;
    for (size_t i = n; i-- > 0;) {
        const double *li = l + i * row;
        size_t reach = i < width ? i : width;
        double x = b[i] * li[width];
        b[i] = x;
        double *to = b + i - reach;
        const double *from = li + width - reach;
        for (size_t k = 0; k < reach; k++) {
            to[k] -= from[k] * x;
        }
    }
}

void kp_banded_backward(size_t n, size_t width, const double *lower, double *b)
{
    if (width == 7) {
        backward(n, 7, lower, b);
    } else if (width == 3) {
        backward(n, 3, lower, b);
    } else {
        backward(n, width, lower, b);
    }
}
