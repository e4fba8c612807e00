/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Products of a vector with many short rows, such as all gaps of a stack with its lifts. */
#include "num/num.h"

#include "pair.h"

/* Coefficients of the first run with those of the second, then 0 and 1 with 2 and 3. */
PAIR_INLINE pair product(const kp_two_block_row *row, const double *x)
{
    const double *x0 = x + row->at[0], *x1 = x + row->at[1];
    quad both = *(const quad *)row->c[0] * *(const quad *)x0 + *(const quad *)row->c[1] * *(const quad *)x1;
    pair low = {both[0], both[1]}, high = {both[2], both[3]};
    return low + high;
}

KP_WIDE void kp_two_block_rows_times(size_t n, const kp_two_block_row *rows, const double *x, const double *start,
                                     double *sum)
{
    size_t i = 0;
    for (; i + 2 <= n; i += 2) {
        pair a = product(rows + i, x), b = product(rows + i + 1, x);
        pair even = {a[0], b[0]}, odd = {a[1], b[1]};
        pair_store(sum + i, pair_load(start + i) + (even + odd));
    }
    if (i < n) {
        pair a = product(rows + i, x);
        sum[i] = start[i] + (a[0] + a[1]);
    }
}

KP_WIDE void kp_two_block_rows_linearise(size_t n, const kp_tilted_row *turns, const double *x, kp_two_block_row *rows,
                                         double *start)
{
    for (size_t i = 0; i < n; i++) {
        double left = start[i];
        for (size_t k = 0; k < 2; k++) {
            quad slope = *(const quad *)turns[i].slope[k];
            quad parts = slope * *(const quad *)(x + rows[i].at[k]);
            double along = (parts[0] + parts[2]) + (parts[1] + parts[3]);
            double share = turns[i].turning[k] * along;
            quad shares = {share, share, share, share};
            *(quad *)rows[i].c[k] = *(const quad *)turns[i].value[k] - shares * slope;
            left += 0.5 * share * along;
        }
        start[i] = left;
    }
}
