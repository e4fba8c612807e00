/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Private to src/num: vectors of two or four doubles, by the compilers' vector extension. The result is the same bits
   on every machine: sums are in the stated order, and products are rounded before they are added
   (-ffp-contract=off). That order is why these kernels do not go through GSL's BLAS, which states none and may be
   replaced by another at link time. */
#ifndef KNEEPOINT_NUM_VECTOR_H
#define KNEEPOINT_NUM_VECTOR_H

#include <stddef.h>

/* Compiles a function a second time for processors with 256-bit registers; the loader takes the copy that fits. The
   loader chooses before the address sanitizer has started, so not with that; and clang 14 gives such functions names
   that other files do not find. */
#if defined(__x86_64__) && defined(__gnu_linux__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__)
#define KP_WIDE __attribute__((target_clones("avx2", "default")))
#else
#define KP_WIDE
#endif

/* Inlined into both copies of a KP_WIDE function. */
#define VECTOR_INLINE static inline __attribute__((always_inline))

/* No alignment beyond that of a double is asked for. */
typedef double v2d __attribute__((vector_size(16), aligned(8), may_alias));
typedef double v4d __attribute__((vector_size(32), aligned(8), may_alias));

static inline v2d v2d_load(const double *from)
{
    return *(const v2d *)from;
}

static inline void v2d_store(double *to, v2d value)
{
    *(v2d *)to = value;
}

/* Adds to two neighbours in memory. */
VECTOR_INLINE void v2d_add_to(double *to, v2d value)
{
    v2d_store(to, v2d_load(to) + value);
}

/* Macros, because a function that takes or returns a v4d makes the compiler warn of its calling convention. Arguments
   are evaluated up to four times. */
#define V4D_LOAD(from)       (*(const v4d *)(from))
#define V4D_STORE(to, value) (*(v4d *)(to) = (value))
#define V4D_ALL(x)           ((v4d){(x), (x), (x), (x)})
/* {s[0] + s[2], s[1] + s[3]}: the first step of a sum over all four. */
#define V4D_HALVES(s) ((v2d){(s)[0], (s)[1]} + (v2d){(s)[2], (s)[3]})
/* Sum over all four, in the order (0 + 2) + (1 + 3). */
#define V4D_SUM(s) (((s)[0] + (s)[2]) + ((s)[1] + (s)[3]))

/* to[i] -= factor from[i]; the two do not overlap. */
VECTOR_INLINE void v4d_subtract_multiple(size_t n, double factor, const double *from, double *to)
{
    v4d f = V4D_ALL(factor);

    size_t i = 0;
    for (; i + 4 <= n; i += 4) {
        V4D_STORE(to + i, V4D_LOAD(to + i) - f * V4D_LOAD(from + i));
    }

    /* The last three at most. */
    if (i + 2 <= n) {
        v2d p = {factor, factor};
        v2d_store(to + i, v2d_load(to + i) - p * v2d_load(from + i));
        i += 2;
    }
    if (i < n) {
        to[i] -= factor * from[i];
    }
}

/* Dot product. Order: four partial sums by i modulo 4, the last pair into the first two; (0 + 2) + (1 + 3); last the
   entry left over of an odd number. */
VECTOR_INLINE double v4d_dot(size_t n, const double *a, const double *b)
{
    v4d s = {0, 0, 0, 0};

    size_t i = 0;
    for (; i + 4 <= n; i += 4) {
        s += V4D_LOAD(a + i) * V4D_LOAD(b + i);
    }

    v2d low = {s[0], s[1]}, high = {s[2], s[3]};
    if (i + 2 <= n) {
        low += v2d_load(a + i) * v2d_load(b + i);
        i += 2;
    }

    low += high;
    double sum = low[0] + low[1];
    return i < n ? sum + a[i] * b[i] : sum;
}

#endif
