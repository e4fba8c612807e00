/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Products of a vector with many short rows, such as all gaps of a stack with its lifts. */
#include "kneepoint/num.h"

#include "pair.h"

/* Coefficients 0 and 2 apart from 1 and 3, both runs together. */
static inline pair product(const kp_fours *row, const double *x)
{
    const double *x0 = x + row->at[0], *x1 = x + row->at[1];
    const double *c0 = row->c[0], *c1 = row->c[1];
    return (pair_load(c0) * pair_load(x0) + pair_load(c0 + 2) * pair_load(x0 + 2)) +
           (pair_load(c1) * pair_load(x1) + pair_load(c1 + 2) * pair_load(x1 + 2));
}

void kp_fours_sum(size_t n, const kp_fours *rows, const double *x, const double *start, double *sum)
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
