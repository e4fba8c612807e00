/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Banded Cholesky of small symmetric positive definite matrices, A = U' U, row-packed: entry (i, j), i <= j <= i+width,
   at i*(width+1) + j-i, so that the diagonal stands first and every loop below runs along a row. U is kept with the
   reciprocals of its diagonal. Source: Golub and Van Loan, Matrix Computations, section 4.3 (from memory).

   Own code, although GSL has gsl_linalg_cholesky_band_decomp: on 32 rows that takes 1.5 (width 7) to 2 times (width 3)
   as long, and it sums in another order, which would change the last bits of every printed lift. */
#include "num/num.h"

#include "vector.h"

#include <math.h>

/* A pivot that lost all but this of its size is rounding. [-] */
#define PIVOT_LOST 1e-15

/* The general loops are written once, inline, and called with the width as a constant where it is 3 or 7, which the
   bands of one and of two fields of cubic splines have. */

/* Row i of U; the `above` rows before it reach into it. */
VECTOR_INLINE bool factor_row(size_t width, size_t above, double *ai)
{
    double before = ai[0];

    /* A_ii to A_i,i+width less the products of the rows above. */
    for (size_t back = above; back > 0; back--) {
        const double *row = ai - back * (width + 1) + back;
        v4d_subtract_multiple(width + 1 - back, row[0], row, ai);
    }

    double pivot = ai[0];
    if (!(pivot > before * PIVOT_LOST) || !isfinite(pivot)) {
        return false;
    }

    /* Row of U: divided by the root of its pivot. */
    double reciprocal = 1.0 / sqrt(pivot);
    ai[0] = reciprocal;
    for (size_t k = 1; k <= width; k++) {
        ai[k] *= reciprocal;
    }
    return true;
}

VECTOR_INLINE bool factor(size_t n, size_t width, double *a)
{
    /* The first rows have fewer than `width` above them. */
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

/* In both substitutions the last `width` results stay in registers: vector loads of them from memory would wait for
   the stores. The newest is subtracted last, so that the sum up to it need not wait. */

/* Row i of U' y = b; the last `above` results may be other than zero. */
VECTOR_INLINE double forward_row(size_t width, size_t above, const double *ui, double b, double *last)
{
    double sum = b;
    for (size_t k = above; k > 0; k--) {
        sum -= ui[-(ptrdiff_t)(k * width)] * last[k];
    }

    for (size_t k = width; k > 1; k--) {
        last[k] = last[k - 1];
    }
    last[1] = sum * ui[0];
    return last[1];
}

VECTOR_INLINE void forward(size_t n, size_t width, const double *u, size_t first, double *b)
{
    double last[KP_BANDED_MAX_WIDTH + 1] = {0};

    size_t i = first;
    for (; i < n && i < first + width; i++) {
        b[i] = forward_row(width, i - first, u + i * (width + 1), b[i], last);
    }

    for (; i < n; i++) {
        b[i] = forward_row(width, width, u + i * (width + 1), b[i], last);
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

VECTOR_INLINE void backward(size_t n, size_t width, const double *u, double *b)
{
    const size_t row = width + 1;
    double last[KP_BANDED_MAX_WIDTH + 1] = {0};

    for (size_t i = n; i-- > 0;) {
        const double *ui = u + i * row;
        double sum = b[i];
        for (size_t k = width; k > 0; k--) {
            sum -= ui[k] * last[k];
        }

        /* The newest result becomes last[1]. */
        for (size_t k = width; k > 1; k--) {
            last[k] = last[k - 1];
        }
        b[i] = last[1] = sum * ui[0];
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

void kp_band_fix(double *band, size_t width, size_t i)
{
    size_t row = width + 1;

    for (size_t k = 1; k <= width; k++) {
        band[i * row + k] = 0;
        if (k <= i) {
            band[(i - k) * row + k] = 0;
        }
    }

    band[i * row] = 1;
}
