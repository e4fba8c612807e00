/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Private to src/num: two doubles at a time, in the compilers' own vectors, two lanes wide as every 64-bit machine of
   today has them. Nothing here depends on the machine but by the order of pair_dot's sum, which is stated. */
#ifndef KNEEPOINT_PAIR_H
#define KNEEPOINT_PAIR_H

#include <stddef.h>

/* At any address. */
typedef double pair __attribute__((vector_size(16), aligned(8), may_alias));

static inline pair pair_load(const double *from)
{
    return *(const pair *)from;
}

static inline void pair_store(double *to, pair value)
{
    *(pair *)to = value;
}

static inline pair pair_of(double value)
{
    return (pair){value, value};
}

/* to[i] -= factor x from[i]; they do not overlap. */
static inline void pair_subtract(size_t n, double factor, const double *from, double *to)
{
    pair f = pair_of(factor);
    size_t i = 0;
    for (; i + 2 <= n; i += 2) {
        pair_store(to + i, pair_load(to + i) - f * pair_load(from + i));
    }
    if (i < n) {
        to[i] -= factor * from[i];
    }
}

/* Sum of a[i] x b[i]: i modulo 4 apart, then 0 and 2 with 1 and 3, then the last one of an odd number. */
static inline double pair_dot(size_t n, const double *a, const double *b)
{
    pair s = {0, 0}, t = {0, 0};
    size_t i = 0;
    for (; i + 4 <= n; i += 4) {
        s += pair_load(a + i) * pair_load(b + i);
        t += pair_load(a + i + 2) * pair_load(b + i + 2);
    }
    if (i + 2 <= n) {
        s += pair_load(a + i) * pair_load(b + i);
        i += 2;
    }
    s += t;
    double sum = s[0] + s[1];
    return i < n ? sum + a[i] * b[i] : sum;
}

#endif
