/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Banded Cholesky for small symmetric positive definite systems, A = U' U, row-packed: entry (i, j), i <= j <= i+width,
   at i*(width+1) + j-i, so that the diagonal stands first and every loop below runs along a row. Source: the algorithm
   is in any text, e.g. Golub and Van Loan, Matrix Computations, section 4.3 (from memory). */
#include "kneepoint/num.h"

#include "pair.h"

#include <math.h>

/* The general loops are written once, inline, and called with the width known where it is 3 or 7, as it is in all of
   src/disc. Entries beyond the last row are there and zero. */

/* Row i, when `above` rows before it reach into it. */
PAIR_INLINE bool factor_row(size_t width, size_t above, double *ai)
{
    double before = ai[0];
    for (size_t back = above; back > 0; back--) {
        const double *row = ai - back * (width + 1) + back;
        pair_subtract(width + 1 - back, row[0], row, ai);
    }
    double pivot = ai[0];
    /* A pivot that lost all but rounding of its size is not positive in any useful sense. */
    if (!(pivot > before * 1e-15) || !isfinite(pivot)) {
        return false;
    }
    double reciprocal = 1.0 / sqrt(pivot);
    ai[0] = reciprocal;
    for (size_t k = 1; k <= width; k++) {
        ai[k] *= reciprocal;
    }
    return true;
}

PAIR_INLINE bool factor(size_t n, size_t width, double *a)
{
    for (size_t i = 0; i < n && i < width; i++) {
        if (!factor_row(width, i, a + i * (width + 1))) {
            return false;
        }
    }
    for (size_t i = width; i < n; i++) {
        if (!factor_row(width, width, a + i * (width + 1))) {
            return false;
        }
    }
    return true;
}

KP_WIDE bool kp_banded_factor(size_t n, size_t width, double *a)
{
    return width == 7 ? factor(n, 7, a) : width == 3 ? factor(n, 3, a) : factor(n, width, a);
}

PAIR_INLINE void forward(size_t n, size_t width, const double *u, size_t first, double *b)
{
    const size_t row = width + 1;
    size_t i = first;
    for (; i + width < n; i++) {
        double x = b[i] * u[i * row];
        b[i] = x;
        pair_subtract(width, x, u + i * row + 1, b + i + 1);
    }
    for (; i < n; i++) {
        double x = b[i] * u[i * row];
        b[i] = x;
        for (size_t k = 1; i + k < n; k++) {
            b[i + k] -= x * u[i * row + k];
        }
    }
}

KP_WIDE void kp_banded_forward(size_t n, size_t width, const double *upper, size_t first, double *b)
{
    if (width == 7) {
        forward(n, 7, upper, first, b);
    } else if (width == 3) {
        forward(n, 3, upper, first, b);
    } else {
        forward(n, width, upper, first, b);
    }
}

/* Row i, which reaches so many entries on. */
PAIR_INLINE void backward_row(size_t reach, const double *ui, double *bi)
{
    double near = reach > 0 ? ui[1] * bi[1] : 0; /* the newest last: the others do not wait for it */
    double far = reach > 1 ? pair_dot(reach - 1, ui + 2, bi + 2) : 0;
    bi[0] = (bi[0] - far - near) * ui[0];
}

PAIR_INLINE void backward(size_t n, size_t width, const double *u, double *b)
{
    const size_t row = width + 1;
    size_t i = n;
    for (size_t reach = 0; i > 0 && reach < width; reach++) {
        i--;
        backward_row(reach, u + i * row, b + i);
    }
    while (i-- > 0) {
        backward_row(width, u + i * row, b + i);
    }
}

KP_WIDE void kp_banded_backward(size_t n, size_t width, const double *upper, double *b)
{
    if (width == 7) {
        backward(n, 7, upper, b);
    } else if (width == 3) {
        backward(n, 3, upper, b);
    } else {
        backward(n, width, upper, b);
    }
}
