/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Private to src/num: two or four doubles at a time, in the compilers' own vectors. Nothing here depends on the
   machine: sums are in the order that is stated, and products are rounded before they are added (-ffp-contract=off). */
#ifndef KNEEPOINT_PAIR_H
#define KNEEPOINT_PAIR_H

#include <stddef.h>

/* Such a function is compiled once more for processors whose registers hold four doubles, and the loader takes the one
   that fits. The address sanitizer begins after the loader, so not with that; and clang 14 gives such functions names
   that other files do not find. */
#if defined(__x86_64__) && defined(__gnu_linux__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__)
#define KP_WIDE __attribute__((target_clones("avx2", "default")))
#else
#define KP_WIDE
#endif

/* At any address. */
typedef double pair __attribute__((vector_size(16), aligned(8), may_alias));
typedef double quad __attribute__((vector_size(32), aligned(8), may_alias));

static inline pair pair_load(const double *from)
{
    return *(const pair *)from;
}

static inline void pair_store(double *to, pair value)
{
    *(pair *)to = value;
}

/* In each copy. */
#define PAIR_INLINE static inline __attribute__((always_inline))

/* to[i] -= factor x from[i]; they do not overlap. */
PAIR_INLINE void pair_subtract(size_t n, double factor, const double *from, double *to)
{
    quad f = {factor, factor, factor, factor};
    size_t i = 0;
    for (; i + 4 <= n; i += 4) {
        *(quad *)(to + i) -= f * *(const quad *)(from + i);
    }
    if (i + 2 <= n) {
        pair p = {factor, factor};
        pair_store(to + i, pair_load(to + i) - p * pair_load(from + i));
        i += 2;
    }
    if (i < n) {
        to[i] -= factor * from[i];
    }
}

/* Sum of a[i] x b[i]: i modulo 4 apart, then 0 and 2 with 1 and 3, then the last one of an odd number. */
PAIR_INLINE double pair_dot(size_t n, const double *a, const double *b)
{
    quad s = {0, 0, 0, 0};
    size_t i = 0;
    for (; i + 4 <= n; i += 4) {
        s += *(const quad *)(a + i) * *(const quad *)(b + i);
    }
    pair low = {s[0], s[1]}, high = {s[2], s[3]};
    if (i + 2 <= n) {
        low += pair_load(a + i) * pair_load(b + i);
        i += 2;
    }
    low += high;
    double sum = low[0] + low[1];
    return i < n ? sum + a[i] * b[i] : sum;
}

#endif
