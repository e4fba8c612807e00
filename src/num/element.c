/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Elements in a row, each with four functions of its own and of its neighbours, looked at in four points: what a plate
   of cubic splines spends its time on. A register holds the four points. */
#include "num/num.h"

#include "pair.h"

#define LOAD(from)      (*(const quad *)(from))
#define STORE(to, what) (*(quad *)(to) = (what))
#define EACH(x)         ((quad){(x), (x), (x), (x)})

/* Quad of the sums of four quads' entries, each 0 with 1, 2 with 3, then both. */
#define TWO_SUMS(a, b)    (__builtin_shufflevector(a, b, 0, 4, 2, 6) + __builtin_shufflevector(a, b, 1, 5, 3, 7))
#define FOUR_SUMS(ab, cd) (__builtin_shufflevector(ab, cd, 0, 1, 4, 5) + __builtin_shufflevector(ab, cd, 2, 3, 6, 7))

KP_WIDE void kp_element_values(size_t n, const kp_element *shape, const double *c, double (*value)[4])
{
    for (size_t e = 0; e < n; e++, c++) {
        quad left = EACH(c[0]) * LOAD(shape[e].at[0]) + EACH(c[1]) * LOAD(shape[e].at[1]);
        quad right = EACH(c[2]) * LOAD(shape[e].at[2]) + EACH(c[3]) * LOAD(shape[e].at[3]);
        STORE(value[e], left + right);
    }
}

KP_WIDE void kp_element_loads(size_t n, const kp_element *shape, const double (*value)[4], double *load)
{
    quad carried = {0, 0, 0, 0}; /* to the next element's first three: what was just stored is slow to read */
    for (size_t e = 0; e < n; e++) {
        quad v = LOAD(value[e]);
        quad a = v * LOAD(shape[e].at[0]), b = v * LOAD(shape[e].at[1]);
        quad c = v * LOAD(shape[e].at[2]), d = v * LOAD(shape[e].at[3]);
        quad ab = TWO_SUMS(a, b), cd = TWO_SUMS(c, d);
        carried += FOUR_SUMS(ab, cd);
        load[e] += carried[0];
        carried = __builtin_shufflevector(carried, EACH(0), 1, 2, 3, 4);
    }
    for (size_t i = 0; i < 3; i++) {
        load[n + i] += carried[i];
    }
}

KP_WIDE void kp_element_square(size_t n, const kp_element *shape, const double (*weight)[4], double *band)
{
    enum { ROW = 4 };
    for (size_t e = 0; e < n; e++, band += ROW) {
        quad f[7] = {EACH(0), EACH(0), EACH(0), EACH(0), EACH(0), EACH(0), EACH(0)}; /* none beyond the fourth */
        for (size_t i = 0; i < 4; i++) {
            f[i] = LOAD(shape[e].at[i]);
        }
        for (size_t i = 0; i < 4; i++) {
            quad w = LOAD(weight[e]) * f[i];
            quad own = w * f[i], next = w * f[i + 1], third = w * f[i + 2], last = w * f[i + 3];
            quad left = TWO_SUMS(own, next), right = TWO_SUMS(third, last);
            STORE(band + ROW * i, LOAD(band + ROW * i) + FOUR_SUMS(left, right));
        }
    }
}

PAIR_INLINE void pair_add(double *to, double first, double second)
{
    pair_store(to, pair_load(to) + (pair){first, second});
}

KP_WIDE void kp_element_band(size_t n, const kp_element *first, const kp_element *second, const double (*own)[4],
                             const double (*mixed)[4], double *band)
{
    enum { ROW = 8 };
    for (size_t e = 0; e < n; e++, band += 2 * ROW) {
        quad f[4], a[4], m[4]; /* first; own x first; mixed x second */
        for (size_t i = 0; i < 4; i++) {
            f[i] = LOAD(first[e].at[i]);
            a[i] = LOAD(own[e]) * f[i];
            m[i] = LOAD(mixed[e]) * LOAD(second[e].at[i]);
        }
        /* Rows of the first field: products with i, first and second of j = i to 3 in turn. */
        quad both[4][4];
        for (size_t i = 0; i < 4; i++) {
            for (size_t j = i; j < 4; j++) {
                quad p = a[j] * f[i], q = m[j] * f[i];
                both[i][j] = TWO_SUMS(p, q);
            }
        }
        double *row = band;
        STORE(row, LOAD(row) + FOUR_SUMS(both[0][0], both[0][1]));
        quad far = FOUR_SUMS(both[0][2], both[0][3]);
        pair_add(row + 4, far[0], far[1]); /* as it was stored by the element before: a wider load would wait for it */
        pair_add(row + 6, far[2], far[3]);
        row += 2 * ROW;
        STORE(row, LOAD(row) + FOUR_SUMS(both[1][1], both[1][2]));
        quad last = FOUR_SUMS(both[1][3], both[3][3]);
        pair_add(row + 4, last[0], last[1]);
        row += 2 * ROW;
        STORE(row, LOAD(row) + FOUR_SUMS(both[2][2], both[2][3]));
        row += 2 * ROW;
        pair_add(row, last[2], last[3]);
        /* Rows of the second: with the first of j = i + 1 to 3. */
        quad p = m[0] * f[1], q = m[0] * f[2], r = m[0] * f[3], s = m[1] * f[2], t = m[1] * f[3], u = m[2] * f[3];
        quad pq = TWO_SUMS(p, q), rs = TWO_SUMS(r, s), tu = TWO_SUMS(t, u);
        quad four = FOUR_SUMS(pq, rs), two = FOUR_SUMS(tu, tu);
        row = band + ROW;
        row[1] += four[0];
        row[3] += four[1];
        row[5] += four[2];
        row += 2 * ROW;
        row[1] += four[3];
        row[3] += two[0];
        row += 2 * ROW;
        row[1] += two[1];
    }
}

void kp_diagonals_of(size_t n, const double *band, double *diagonals)
{
    for (size_t k = 0; k <= 4; k++) {
        for (size_t i = 0; i < KP_DIAGONALS_PAD; i++) {
            *diagonals++ = 0;
        }
        for (size_t i = 0; k < 4 && i < n; i++) {
            *diagonals++ = band[i * 4 + k];
        }
    }
}

KP_WIDE double kp_diagonals_times(size_t n, const double *diagonals, const double *x, double *y)
{
    const size_t next = n + KP_DIAGONALS_PAD;
    quad sum = EACH(0);
    for (size_t i = 0; i < n; i += 4) {
        const double *d = diagonals + KP_DIAGONALS_PAD + i, *at = x + KP_DIAGONALS_PAD + i;
        quad own = LOAD(at), all = LOAD(d) * own;
        all += LOAD(d + next) * LOAD(at + 1) + LOAD(d + next - 1) * LOAD(at - 1);
        all += LOAD(d + 2 * next) * LOAD(at + 2) + LOAD(d + 2 * next - 2) * LOAD(at - 2);
        all += LOAD(d + 3 * next) * LOAD(at + 3) + LOAD(d + 3 * next - 3) * LOAD(at - 3);
        STORE(y + i, all);
        sum += own * all;
    }
    return (sum[0] + sum[2]) + (sum[1] + sum[3]);
}
