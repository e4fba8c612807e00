/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Products of a vector with many sparse rows of two blocks each, such as all gaps of a stack with its lifts. */
#include "num/num.h"

#include "vector.h"

/* Both blocks' products are added entry by entry, then 0 with 2 and 1 with 3: two terms that are left to add. */
VECTOR_INLINE v2d product(const kp_two_block_row *row, const double *x)
{
    const double *x0 = x + row->at[0], *x1 = x + row->at[1];
    v4d both = V4D_LOAD(row->c[0]) * V4D_LOAD(x0) + V4D_LOAD(row->c[1]) * V4D_LOAD(x1);
    return V4D_HALVES(both);
}

KP_WIDE void kp_two_block_rows_times(size_t n, const kp_two_block_row *rows, const double *x, const double *start,
                                     double *sum)
{
    /* Two rows at a time share the last addition. */
    size_t i = 0;
    for (; i + 2 <= n; i += 2) {
        v2d a = product(rows + i, x), b = product(rows + i + 1, x);
        v2d even = {a[0], b[0]}, odd = {a[1], b[1]};
        v2d_store(sum + i, v2d_load(start + i) + (even + odd));
    }

    if (i < n) {
        v2d a = product(rows + i, x);
        sum[i] = start[i] + (a[0] + a[1]);
    }
}

/* f(x) = v.x - t (s.x)^2/2 has the gradient v - t (s.x) s, and what the tangent leaves at x = 0 is t (s.x)^2/2. */
KP_WIDE void kp_two_block_rows_linearise(size_t n, const kp_tilted_row *turns, const double *x, kp_two_block_row *rows,
                                         double *start)
{
    for (size_t i = 0; i < n; i++) {
        double constant = start[i];

        for (size_t k = 0; k < 2; k++) {
            v4d slope = V4D_LOAD(turns[i].slope[k]);
            v4d terms = slope * V4D_LOAD(x + rows[i].at[k]);
            double tilt = V4D_SUM(terms);
            double factor = turns[i].turning[k] * tilt;

            V4D_STORE(rows[i].c[k], V4D_LOAD(turns[i].value[k]) - V4D_ALL(factor) * slope);
            constant += 0.5 * factor * tilt;
        }

        start[i] = constant;
    }
}
