/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Banded Cholesky for small symmetric positive definite systems, row-packed: the row of entry (i, j) starts at
   i*(width+1) and the diagonal stands last, so that a row is read front to back in every loop below.
   Source: the algorithm is in any text, e.g. Golub and Van Loan, Matrix Computations, section 4.3 (from memory). */
#include "kneepoint/num.h"

#include <math.h>

bool kp_banded_factor(size_t n, size_t width, double *a)
{
    const size_t row = width + 1;
    for (size_t i = 0; i < n; i++) {
        double *ai = a + i * row;
        size_t first = i > width ? i - width : 0;
        for (size_t j = first; j < i; j++) {
            const double *aj = a + j * row;
            size_t from = j > width && j - width > first ? j - width : first;
            double sum = ai[j + width - i];
            for (size_t k = from; k < j; k++) {
                sum -= ai[k + width - i] * aj[k + width - j];
            }
            ai[j + width - i] = sum * aj[width]; /* the diagonal holds its reciprocal */
        }
        double pivot = ai[width];
        double before = pivot;
        for (size_t k = first; k < i; k++) {
            pivot -= ai[k + width - i] * ai[k + width - i];
        }
        /* A pivot that lost all but rounding of its size is not positive in any useful sense. */
        if (!(pivot > before * 1e-15) || !isfinite(pivot)) {
            return false;
        }
        ai[width] = 1.0 / sqrt(pivot);
    }
    return true;
}

void kp_banded_forward(size_t n, size_t width, const double *factor, size_t first, double *b)
{
    const size_t row = width + 1;
    for (size_t i = first; i < n; i++) {
        const double *ai = factor + i * row;
        size_t from = i > width && i - width > first ? i - width : first;
        double sum = b[i];
        for (size_t k = from; k < i; k++) {
            sum -= ai[k + width - i] * b[k];
        }
        b[i] = sum * ai[width];
    }
}

void kp_banded_backward(size_t n, size_t width, const double *factor, double *b)
{
    const size_t row = width + 1;
    for (size_t i = n; i-- > 0;) {
        const double *ai = factor + i * row;
        size_t first = i > width ? i - width : 0;
        double x = b[i] * ai[width];
        b[i] = x;
        for (size_t k = first; k < i; k++) {
            b[k] -= ai[k + width - i] * x;
        }
    }
}
