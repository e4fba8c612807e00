/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether a coned plate stays round: the second variation of its energy for a shape that folds into n lobes.

   A disc that cones up pulls its rim inward. The hoop there is compressed, and beyond some lift the plate saves energy
   by folding: u cos n theta, v sin n theta, w cos n theta are added to the round state (W, U), with the strains to
   first order

       e_r = u' + W' w',   e_t = (u + n v)/rho,   g = v' - v/rho - n u/rho - n W' w/rho,

   and the second variation of the energy, over half of what the round energy is over, is the integral over rho drho of

       A [e_r^2 + e_t^2 + 2 nu e_r e_t + (1 - nu)/2 g^2] + N_r w'^2 + N_t (n w/rho)^2
         + B [w''^2 + k^2 + 2 nu w'' k + 2 (1 - nu) n^2 (w'/rho - w/rho^2)^2],   k = w'/rho - n^2 w/rho^2,

   with N_r and N_t the membrane forces of the round state. u and v are eliminated, each w having its own: what is left
   is a symmetric matrix on the splines of w alone. The round state is stable against n lobes while it is positive
   definite. */
#include "num/num.h"
#include "plate/plate.h"

#include <math.h>
#include <string.h>

enum {
    IN_PLANE = KP_LOBE_IN_PLANE,
    IN_PLANE_WIDTH = KP_LOBE_IN_PLANE_WIDTH,
    NUMBERS = KP_LOBES_MAX - KP_LOBES_MIN + 1
};

typedef double quadrature[KP_GAUSS];

/* What does not depend on the state, in one block. */
typedef struct lobe_constants {
    double held;      /* [-] 1: the factors are those of a clamp that holds u                  */
    kp_element *over; /* [nodes - 1] N/rho                                                    */
    double *bend;     /* [POWERS][splines][KP_FIELD_ROW] bending energy by powers of n^2         */
    double *factor;   /* [NUMBERS][IN_PLANE splines][IN_PLANE_ROW] Cholesky factors on u and v */
} lobe_constants;

static size_t bend_room(const kp_plate *plate)
{
    return KP_LOBE_POWERS * KP_LOBE_BENDING_ROOM(plate->splines);
}

static size_t factor_room(const kp_plate *plate)
{
    return KP_LOBE_IN_PLANE_ROOM(plate->splines);
}

static size_t over_room(const kp_plate *plate)
{
    return (plate->nodes - 1) * sizeof(kp_element) / sizeof(double);
}

static lobe_constants constants_at(const kp_plate *plate, double *block)
{
    double *over = block + 4, *bend = over + over_room(plate);
    return (lobe_constants){.held = block[0], .over = (void *)over, .bend = bend, .factor = bend + bend_room(plate)};
}

size_t kp_lobe_constant_room(const kp_plate *plate)
{
    return 4 + over_room(plate) + bend_room(plate) + NUMBERS * factor_room(plate);
}

/* Columns of the matrix of w on u and v: one a spline of w, in whole batches. */
static size_t column_count(const kp_plate *plate)
{
    return (plate->splines + KP_BATCH - 1) / KP_BATCH * KP_BATCH;
}

size_t kp_lobe_scratch_room(const kp_plate *plate)
{
    return IN_PLANE * plate->splines * column_count(plate);
}

static void make_factors(const kp_plate *plate, const lobe_constants *c, bool held)
{
    for (int lobes = KP_LOBES_MIN; lobes <= KP_LOBES_MAX; lobes++) {
        double *band = c->factor + (size_t)(lobes - KP_LOBES_MIN) * factor_room(plate);
        kp_lobe_in_plane_factor(plate, c->over, lobes, plate->membrane, held, band);
    }
}

static bool clamp_holds(const kp_plate *plate)
{
    return !plate->ring && ((plate->fixed_first & KP_FIX_RADIAL) || plate->sticks);
}

void kp_lobe_prepare(const kp_plate *plate, double *block)
{
    lobe_constants c = constants_at(plate, block);
    kp_lobe_over(plate, c.over);
    kp_lobe_bending(plate, c.over, c.bend);
    block[0] = clamp_holds(plate);
    make_factors(plate, &c, clamp_holds(plate));
}

/* Slopes and membrane forces of the round state at the quadrature points, times their weights: A W' for what ties w to
   u and v; N_r + A W'^2 and N_t + A (1 - nu)/2 W'^2 for w on itself. */
typedef struct round_state {
    quadrature tie[KP_MAX_NODES], radial[KP_MAX_NODES], hoop[KP_MAX_NODES];
} round_state;

static void read_state(const kp_plate *plate, const double *state, round_state *at)
{
    double w[KP_MAX_SPLINES], u[KP_MAX_SPLINES];
    for (size_t i = 0; i < plate->splines; i++) {
        w[i] = state[KP_PAIR * i];
        u[i] = state[KP_PAIR * i + 1];
    }
    kp_element_values(plate->nodes - 1, plate->slope_shape, w, at->tie);
    kp_element_values(plate->nodes - 1, plate->radial_shape, u, at->radial);
    kp_element_values(plate->nodes - 1, plate->hoop_shape, u, at->hoop);
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            double slope = at->tie[e][p], half = 0.5 * slope * slope, nu = plate->nu;
            double weight = plate->membrane * plate->weight[e][p];
            at->tie[e][p] = weight * slope;
            at->radial[e][p] = weight * (at->radial[e][p] + half + slope * slope);
            at->hoop[e][p] = weight * (at->hoop[e][p] + nu * half + 0.5 * (1 - nu) * slope * slope);
        }
    }
}

/* w on itself. */
static void add_lift(const kp_plate *plate, const lobe_constants *c, const round_state *at, double n2,
                     double *stiffness)
{
    double band[(KP_MAX_SPLINES + KP_LOCAL) * KP_FIELD_ROW], hoop[(KP_MAX_SPLINES + KP_LOCAL) * KP_FIELD_ROW];
    size_t n = plate->splines, power = KP_LOBE_BENDING_ROOM(n);
    memset(band, 0, power * sizeof *band);
    memset(hoop, 0, power * sizeof *hoop);
    kp_element_square(plate->nodes - 1, plate->slope_shape, at->radial, band);
    kp_element_square(plate->nodes - 1, c->over, at->hoop, hoop);
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k <= KP_FIELD_WIDTH && i + k < n; k++) {
            const double *bend = c->bend + i * KP_FIELD_ROW + k;
            stiffness[i * n + i + k] = stiffness[(i + k) * n + i] = band[i * KP_FIELD_ROW + k] +
                                                                    n2 * hoop[i * KP_FIELD_ROW + k] + bend[0] +
                                                                    n2 * (bend[power] + n2 * bend[2 * power]);
        }
    }
}

/* w on u and v: of a spline of w the radial strain W' w' and the shear -n W' w/rho. */
static void add_mixed(const kp_plate *plate, const lobe_constants *c, const round_state *at, double n, size_t stride,
                      double *mixed)
{
    double nu = plate->nu;
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t j = 0; j < KP_LOCAL; j++) {
            double *u = mixed + IN_PLANE * (e + j) * stride + e, *v = u + stride;
            for (size_t i = 0; i < KP_LOCAL; i++) {
                double to_u = 0, to_v = 0;
                for (size_t p = 0; p < KP_GAUSS; p++) {
                    double over = c->over[e].at[j][p], radial = plate->radial_shape[e].at[j][p];
                    double first = radial - nu * over, tie = at->tie[e][p];
                    double shear = 0.5 * (1 - nu) * n * tie * c->over[e].at[i][p];
                    double turn = tie * plate->slope_shape[e].at[i][p];
                    to_u += turn * radial + shear * n * over;
                    to_v += turn * nu * n * over - shear * (first - over);
                }
                u[i] += to_u;
                v[i] += to_v;
            }
        }
    }
}

/* Takes the products of the columns from the stiffness. */
static void subtract_products(size_t n, size_t rows, size_t stride, const double *mixed, double *stiffness)
{
    for (size_t i = 0; i < n; i += KP_BATCH) {
        for (size_t j = 0; j <= i; j += KP_BATCH) {
            double product[KP_BATCH][KP_BATCH];
            kp_batch_multiply(rows, stride, mixed + i, mixed + j, product);
            for (size_t a = 0; a < KP_BATCH && i + a < n; a++) {
                for (size_t b = 0; b < KP_BATCH && j + b <= i + a; b++) {
                    stiffness[(i + a) * n + j + b] -= product[a][b];
                    stiffness[(j + b) * n + i + a] = stiffness[(i + a) * n + j + b];
                }
            }
        }
    }
}

void kp_lobe_stiffness(const kp_plate *plate, double *block, const double *state, int lobes, double *scratch,
                       double *stiffness)
{
    lobe_constants c = constants_at(plate, block);
    round_state at;
    size_t n = plate->splines, rows = IN_PLANE * n, stride = column_count(plate), started[IN_PLANE * (KP_MAX_SPLINES)];
    bool held = clamp_holds(plate);
    if (held != (c.held > 0)) {
        block[0] = held;
        make_factors(plate, &c, held);
    }
    memset(stiffness, 0, n * n * sizeof *stiffness);
    memset(scratch, 0, rows * stride * sizeof *scratch);
    read_state(plate, state, &at);
    add_lift(plate, &c, &at, (double)lobes * lobes, stiffness);
    add_mixed(plate, &c, &at, lobes, stride, scratch);

    /* What the clamp holds: u, v, and the first splines of w. */
    memset(scratch, 0, (held ? stride : 0) * sizeof *scratch);
    memset(scratch + stride, 0, (plate->ring ? 0 : stride) * sizeof *scratch);
    for (size_t k = 0; k < kp_edge_fixed_splines(plate->fixed_first); k++) {
        for (size_t i = 0; i < n; i++) {
            stiffness[k * n + i] = stiffness[i * n + k] = 0;
        }
        for (size_t i = 0; i < rows; i++) {
            scratch[i * stride + k] = 0;
        }
        stiffness[k * n + k] = plate->bending;
    }

    /* Eliminate u and v. */
    const double *factor = c.factor + (size_t)(lobes - KP_LOBES_MIN) * factor_room(plate);
    for (size_t i = 0; i < rows; i++) {
        size_t begun = i / IN_PLANE + KP_LOCAL;
        started[i] = begun < n ? begun : n;
    }
    kp_batch_forward(rows, IN_PLANE_WIDTH, factor, started, stride, scratch);
    subtract_products(n, rows, stride, scratch, stiffness);
}
