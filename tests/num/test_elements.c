/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sparse rows, elements and diagonals against plain loops over the same sums. */
#include "num/num.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

enum { MAX_ELEMENTS = 13, MAX_FUNCTIONS = MAX_ELEMENTS + 3, MAX_ROWS = 21, VECTOR = 30 };

/* Sums of at most some fifty terms of size 1, in two orders. */
#define NEAR 1e-13

static void draw(kp_random *random, size_t n, double *values)
{
    for (size_t i = 0; i < n; i++)
        values[i] = kp_random_uniform(random, -1, 1);
}

static void assert_near(size_t n, const double *got, const double *want, const char *what)
{
    for (size_t i = 0; i < n; i++)
        cr_assert(fabs(got[i] - want[i]) <= NEAR, "%s, entry %zu: %.17g, want %.17g", what, i, got[i], want[i]);
}

/* ---- sparse rows of two blocks ---------------------------------------------------------------------------------- */

Test(elements, sparse_rows_times_a_vector)
{
    kp_random random;
    kp_random_seed(&random, 2025112606);
    for (size_t n = 0; n <= MAX_ROWS; n++) {
        kp_two_block_row rows[MAX_ROWS];
        double x[VECTOR], start[MAX_ROWS], sum[MAX_ROWS + 1], want[MAX_ROWS];
        draw(&random, VECTOR, x);
        draw(&random, MAX_ROWS, start);
        for (size_t i = 0; i < n; i++) {
            want[i] = start[i];
            for (size_t k = 0; k < 2; k++) {
                draw(&random, 4, rows[i].c[k]);
                rows[i].at[k] = kp_random_int(&random, 0, VECTOR - 4); /* blocks that overlap add up */
                for (size_t m = 0; m < 4; m++)
                    want[i] += rows[i].c[k][m] * x[(size_t)rows[i].at[k] + m];
            }
        }

        sum[n] = 17.25;
        kp_two_block_rows_times(n, rows, x, start, sum);
        assert_near(n, sum, want, "product");
        cr_assert_eq(sum[n], 17.25, "%zu rows: one more was written", n);
        kp_two_block_rows_times(n, rows, x, start, start);
        assert_near(n, start, want, "product in place");
    }
}

/* Function of a quadratic row, and its gradient by block. */
static double quadratic(const kp_tilted_row *turn, const int at[2], const double *x, double gradient[2][4])
{
    double sum = 0;
    for (size_t k = 0; k < 2; k++) {
        double value = 0, tilt = 0;
        for (size_t m = 0; m < 4; m++) {
            value += turn->value[k][m] * x[(size_t)at[k] + m];
            tilt += turn->slope[k][m] * x[(size_t)at[k] + m];
        }
        for (size_t m = 0; m < 4; m++)
            gradient[k][m] = turn->value[k][m] - turn->turning[k] * tilt * turn->slope[k][m];
        sum += value - turn->turning[k] * tilt * tilt / 2;
    }
    return sum;
}

Test(elements, quadratic_rows_are_linearised)
{
    kp_random random;
    kp_random_seed(&random, 2025112607);
    for (size_t n = 0; n <= MAX_ROWS; n++) {
        kp_tilted_row turns[MAX_ROWS];
        kp_two_block_row rows[MAX_ROWS];
        double x[VECTOR], start[MAX_ROWS], constant[MAX_ROWS], tangent[MAX_ROWS], value[MAX_ROWS];
        draw(&random, VECTOR, x);
        draw(&random, MAX_ROWS, start);
        memcpy(constant, start, sizeof constant);
        for (size_t i = 0; i < n; i++) {
            draw(&random, 4, turns[i].value[0]);
            draw(&random, 4, turns[i].value[1]);
            draw(&random, 4, turns[i].slope[0]);
            draw(&random, 4, turns[i].slope[1]);
            draw(&random, 2, turns[i].turning);
            rows[i].at[0] = kp_random_int(&random, 0, VECTOR - 4);
            rows[i].at[1] = kp_random_int(&random, 0, VECTOR - 4);
        }

        /* The tangent has the gradient of the function, and at x its value. */
        kp_two_block_rows_linearise(n, turns, x, rows, constant);
        kp_two_block_rows_times(n, rows, x, constant, tangent);
        for (size_t i = 0; i < n; i++) {
            double gradient[2][4];
            value[i] = start[i] + quadratic(&turns[i], rows[i].at, x, gradient);
            assert_near(4, rows[i].c[0], gradient[0], "gradient");
            assert_near(4, rows[i].c[1], gradient[1], "gradient");
        }
        assert_near(n, tangent, value, "tangent");
    }
}

/* ---- elements -------------------------------------------------------------------------------------------------- */

typedef struct mesh {
    kp_element first[MAX_ELEMENTS], second[MAX_ELEMENTS];
    double own[MAX_ELEMENTS][4], mixed[MAX_ELEMENTS][4];
} mesh;

static void draw_mesh(kp_random *random, mesh *m)
{
    draw(random, MAX_ELEMENTS * 16, &m->first[0].at[0][0]);
    draw(random, MAX_ELEMENTS * 16, &m->second[0].at[0][0]);
    draw(random, MAX_ELEMENTS * 4, &m->own[0][0]);
    draw(random, MAX_ELEMENTS * 4, &m->mixed[0][0]);
}

Test(elements, values_and_loads)
{
    kp_random random;
    kp_random_seed(&random, 2025112608);
    for (size_t n = 1; n <= MAX_ELEMENTS; n++) {
        static mesh m;
        draw_mesh(&random, &m);
        double c[MAX_FUNCTIONS], value[MAX_ELEMENTS][4], want[MAX_ELEMENTS][4] = {{0}};
        double load[MAX_FUNCTIONS], want_load[MAX_FUNCTIONS];
        draw(&random, MAX_FUNCTIONS, c);
        draw(&random, MAX_FUNCTIONS, load);
        memcpy(want_load, load, sizeof load);
        for (size_t e = 0; e < n; e++) {
            for (size_t i = 0; i < 4; i++) {
                for (size_t p = 0; p < 4; p++) {
                    want[e][p] += m.first[e].at[i][p] * c[e + i];
                    want_load[e + i] += m.first[e].at[i][p] * m.own[e][p];
                }
            }
        }

        kp_element_values(n, m.first, c, value);
        assert_near(4 * n, value[0], want[0], "value");
        kp_element_loads(n, m.first, (const double(*)[4])m.own, load);
        assert_near(MAX_FUNCTIONS, load, want_load, "load"); /* those beyond n + 3 as they were */
    }
}

Test(elements, matrices)
{
    kp_random random;
    kp_random_seed(&random, 2025112609);
    for (size_t n = 1; n <= MAX_ELEMENTS; n++) {
        static mesh m;
        static double square[MAX_FUNCTIONS][4], want_square[MAX_FUNCTIONS][4];
        static double band[2 * MAX_FUNCTIONS][8], want_band[2 * MAX_FUNCTIONS][8];
        draw_mesh(&random, &m);
        draw(&random, MAX_FUNCTIONS * 4, &square[0][0]);
        draw(&random, MAX_FUNCTIONS * 16, &band[0][0]);
        memcpy(want_square, square, sizeof square);
        memcpy(want_band, band, sizeof band);
        for (size_t e = 0; e < n; e++) {
            for (size_t i = 0; i < 4; i++) {
                for (size_t j = 0; j < 4; j++) {
                    for (size_t p = 0; p < 4; p++) {
                        double own = m.own[e][p] * m.first[e].at[i][p] * m.first[e].at[j][p];
                        double mixed = m.mixed[e][p] * m.second[e].at[i][p] * m.first[e].at[j][p];
                        size_t second = 2 * (e + i) + 1, first = 2 * (e + j);
                        if (j >= i) {
                            want_square[e + i][j - i] += own;
                            want_band[2 * (e + i)][2 * (j - i)] += own;
                        }
                        if (second < first) {
                            want_band[second][first - second] += mixed;
                        } else {
                            want_band[first][second - first] += mixed;
                        }
                    }
                }
            }
        }

        kp_element_square(n, m.first, (const double(*)[4])m.own, square[0]);
        assert_near(4 * MAX_FUNCTIONS, square[0], want_square[0], "square");
        kp_element_band(n, m.first, m.second, (const double(*)[4])m.own, (const double(*)[4])m.mixed, band[0]);
        assert_near(16 * MAX_FUNCTIONS, band[0], want_band[0], "band");
    }
}

Test(elements, a_matrix_by_its_diagonals_times_a_vector)
{
    kp_random random;
    kp_random_seed(&random, 2025112610);
    for (size_t n = 1; n <= VECTOR; n++) {
        double band[VECTOR * 4], diagonals[KP_DIAGONALS_ROOM(VECTOR) + 1], x[KP_DIAGONALS_LONG(VECTOR)] = {0};
        double y[VECTOR + KP_DIAGONALS_PAD + 1], want[VECTOR] = {0}, want_product = 0, *at = x + KP_DIAGONALS_PAD;
        draw(&random, VECTOR * 4, band); /* entries beyond the last column meet the vector's zeros */
        draw(&random, n, at);
        for (size_t i = 0; i < n; i++) {
            for (size_t k = 0; k < 4 && i + k < n; k++) {
                want[i] += band[4 * i + k] * at[i + k];
                want[i + k] += k > 0 ? band[4 * i + k] * at[i] : 0;
            }
        }
        for (size_t i = 0; i < n; i++)
            want_product += at[i] * want[i];

        diagonals[KP_DIAGONALS_ROOM(n)] = y[n + KP_DIAGONALS_PAD] = 17.25;
        kp_diagonals_of(n, band, diagonals);
        double product = kp_diagonals_times(n, diagonals, x, y);
        assert_near(n, y, want, "product");
        assert_near(1, &product, &want_product, "x . A x");
        cr_assert(diagonals[KP_DIAGONALS_ROOM(n)] == 17.25 && y[n + KP_DIAGONALS_PAD] == 17.25);
    }
}
