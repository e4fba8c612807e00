/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Finite elements in a row with cubic shape functions and four quadrature points: strains, loads and matrices. Most of
   the time of a plate is spent here. A vector holds the four points of one shape function. */
#include "num/num.h"

#include "vector.h"

/* Sums over the four points of several vectors at once: 0 with 1 and 2 with 3, then both. PAIR_SUMS(a, b) is {a01, b01,
   a23, b23}; QUAD_SUMS(ab, cd) of two such is {sum a, sum b, sum c, sum d}. */
#define PAIR_SUMS(a, b)   (__builtin_shufflevector(a, b, 0, 4, 2, 6) + __builtin_shufflevector(a, b, 1, 5, 3, 7))
#define QUAD_SUMS(ab, cd) (__builtin_shufflevector(ab, cd, 0, 1, 4, 5) + __builtin_shufflevector(ab, cd, 2, 3, 6, 7))

KP_WIDE void kp_element_values(size_t n, const kp_element *shape, const double *c, double (*value)[4])
{
    for (size_t e = 0; e < n; e++, c++) {
        v4d left = V4D_ALL(c[0]) * V4D_LOAD(shape[e].at[0]) + V4D_ALL(c[1]) * V4D_LOAD(shape[e].at[1]);
        v4d right = V4D_ALL(c[2]) * V4D_LOAD(shape[e].at[2]) + V4D_ALL(c[3]) * V4D_LOAD(shape[e].at[3]);
        V4D_STORE(value[e], left + right);
    }
}

KP_WIDE void kp_element_loads(size_t n, const kp_element *shape, const double (*value)[4], double *load)
{
    v4d carried = {0, 0, 0, 0}; /* sums for the next three entries, in a register: a load would wait for the store */
    for (size_t e = 0; e < n; e++) {
        v4d v = V4D_LOAD(value[e]);
        v4d a = v * V4D_LOAD(shape[e].at[0]), b = v * V4D_LOAD(shape[e].at[1]);
        v4d c = v * V4D_LOAD(shape[e].at[2]), d = v * V4D_LOAD(shape[e].at[3]);

        v4d ab = PAIR_SUMS(a, b), cd = PAIR_SUMS(c, d);
        carried += QUAD_SUMS(ab, cd);

        /* Entry e is complete; the others move one place down. */
        load[e] += carried[0];
        carried = __builtin_shufflevector(carried, V4D_ALL(0), 1, 2, 3, 4);
    }

    for (size_t i = 0; i < 3; i++) {
        load[n + i] += carried[i];
    }
}

KP_WIDE void kp_element_square(size_t n, const kp_element *shape, const double (*weight)[4], double *band)
{
    enum { ROW = 4 };
    for (size_t e = 0; e < n; e++, band += ROW) {
        v4d f[7] = {{0}}; /* zero beyond the fourth */
        for (size_t i = 0; i < 4; i++) {
            f[i] = V4D_LOAD(shape[e].at[i]);
        }

        /* Row i of the element's matrix: columns i to i + 3. */
        for (size_t i = 0; i < 4; i++) {
            v4d w = V4D_LOAD(weight[e]) * f[i];
            v4d own = w * f[i], next = w * f[i + 1], third = w * f[i + 2], last = w * f[i + 3];

            v4d left = PAIR_SUMS(own, next), right = PAIR_SUMS(third, last);
            V4D_STORE(band + ROW * i, V4D_LOAD(band + ROW * i) + QUAD_SUMS(left, right));
        }
    }
}

KP_WIDE void kp_element_band(size_t n, const kp_element *first, const kp_element *second, const double (*own)[4],
                             const double (*mixed)[4], double *band)
{
    enum { ROW = 8 };
    for (size_t e = 0; e < n; e++, band += 2 * ROW) {
        v4d f[4], a[4], m[4]; /* first_i; own first_i; mixed second_i */
        for (size_t i = 0; i < 4; i++) {
            f[i] = V4D_LOAD(first[e].at[i]);
            a[i] = V4D_LOAD(own[e]) * f[i];
            m[i] = V4D_LOAD(mixed[e]) * V4D_LOAD(second[e].at[i]);
        }

        /* Rows of the first field: for each j = i to 3 its first and its second function, in turn. */
        v4d both[4][4];
        for (size_t i = 0; i < 4; i++) {
            for (size_t j = i; j < 4; j++) {
                v4d p = a[j] * f[i], q = m[j] * f[i];
                both[i][j] = PAIR_SUMS(p, q);
            }
        }

        /* Stores are as wide as those of the element before: a wider load would wait for them. */
        double *row = band;
        V4D_STORE(row, V4D_LOAD(row) + QUAD_SUMS(both[0][0], both[0][1]));
        v4d far = QUAD_SUMS(both[0][2], both[0][3]);
        v2d_add_to(row + 4, (v2d){far[0], far[1]});
        v2d_add_to(row + 6, (v2d){far[2], far[3]});

        row += 2 * ROW;
        V4D_STORE(row, V4D_LOAD(row) + QUAD_SUMS(both[1][1], both[1][2]));
        v4d last = QUAD_SUMS(both[1][3], both[3][3]);
        v2d_add_to(row + 4, (v2d){last[0], last[1]});

        row += 2 * ROW;
        V4D_STORE(row, V4D_LOAD(row) + QUAD_SUMS(both[2][2], both[2][3]));
        row += 2 * ROW;
        v2d_add_to(row, (v2d){last[2], last[3]});

        /* Rows of the second field: with the first field's functions j = i + 1 to 3. */
        v4d p = m[0] * f[1], q = m[0] * f[2], r = m[0] * f[3], s = m[1] * f[2], t = m[1] * f[3], u = m[2] * f[3];
        v4d pq = PAIR_SUMS(p, q), rs = PAIR_SUMS(r, s), tu = PAIR_SUMS(t, u);
        v4d four = QUAD_SUMS(pq, rs), two = QUAD_SUMS(tu, tu);

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

/* The zeros between the diagonals let kp_diagonals_times read past either end of one. The fifth run has no diagonal: it
   ends the fourth. */
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
    v4d sum = V4D_ALL(0);

    /* Four rows at a time: their entries above the diagonal, and below it those of the rows before. */
    for (size_t i = 0; i < n; i += 4) {
        const double *d = diagonals + KP_DIAGONALS_PAD + i, *at = x + KP_DIAGONALS_PAD + i;

        v4d own = V4D_LOAD(at), all = V4D_LOAD(d) * own;
        all += V4D_LOAD(d + next) * V4D_LOAD(at + 1) + V4D_LOAD(d + next - 1) * V4D_LOAD(at - 1);
        all += V4D_LOAD(d + 2 * next) * V4D_LOAD(at + 2) + V4D_LOAD(d + 2 * next - 2) * V4D_LOAD(at - 2);
        all += V4D_LOAD(d + 3 * next) * V4D_LOAD(at + 3) + V4D_LOAD(d + 3 * next - 3) * V4D_LOAD(at - 3);

        V4D_STORE(y + i, all);
        sum += own * all;
    }

    return V4D_SUM(sum);
}
