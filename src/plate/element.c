/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One von Karman plate by finite elements in the radius: W and U of cubic B-splines (basis.c).

   Energy over 2 pi, scaled as in plate.h (A membrane stiffness, B bending stiffness): integral of
       [ A/2 (e_r^2 + e_t^2 + 2 nu e_r e_t) + B/2 (W''^2 + (W'/rho)^2 + 2 nu W'' W'/rho) ] rho drho,
       e_r = U' + W'^2/2,  e_t = U/rho.
   For a given W the energy is quadratic in U with a constant matrix, so U is always condensed: it is the one that
   minimises the energy. What is left is a function of W alone, which Newton's step and the line search minimise. The
   step comes from the joint tangent of (W, U), which is banded; its Schur complement on W is the tangent of the
   condensed energy. */
#include "plate/plate.h"

#include "num/num.h"

#include <math.h>
#include <string.h>

/* Ridge on a loose ring's tangent, never on its forces: it keeps a step finite where no neighbour holds the ring, and
   changes no equilibrium. [-] of the bending stiffness over the ring's size */
static const double RING_RIDGE = 0.1;

double kp_plate_ridge(const kp_plate *plate)
{
    return RING_RIDGE * plate->bending / (plate->outer * plate->outer * (double)plate->nodes);
}

static void add_ridge(kp_plate *plate)
{
    double ridge = kp_plate_ridge(plate);

    for (size_t k = 0; k < plate->unknowns; k += KP_PAIR) {
        plate->factor[k * KP_JOINT_ROW] += ridge;
    }
}

/* Copies the coefficients of one field out of q: part 0 is W, part 1 is U. */
static void take_field(const kp_plate *plate, const double *q, size_t part, double *field)
{
    for (size_t i = 0; i < plate->splines; i++) {
        field[i] = q[KP_PAIR * i + part];
    }
}

/* Slopes W' and tensions e_r + nu e_t at all Gauss points. Returns the integral of tension x W'^2/2. With U condensed
   that is the membrane energy over half the membrane stiffness, but for the friction of the clamp. */
static double strain(const kp_plate *plate, const double *w, const double *u, double (*restrict slope)[KP_GAUSS],
                     double (*restrict tension)[KP_GAUSS])
{
    size_t elements = plate->nodes - 1;
    double sum[KP_GAUSS] = {0};

    kp_element_values(elements, plate->slope_shape, w, slope);
    kp_element_values(elements, plate->radial_shape, u, tension);

    /* The second-order term of e_r, and the integral. */
    for (size_t e = 0; e < elements; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            double half = 0.5 * slope[e][p] * slope[e][p];
            tension[e][p] += half;
            sum[p] += plate->weight[e][p] * half * tension[e][p];
        }
    }

    return (sum[0] + sum[2]) + (sum[1] + sum[3]);
}

/* Minimises U.KU/2 - b.U + slip |U_0|; b comes in u. The friction of the clamp holds U_0 at zero as long as the force
   on it is no more than slip. */
void kp_plate_solve_radial(kp_plate *plate, double *u)
{
    size_t field = plate->splines;
    plate->sticks = false;

    /* First with U_0 = 0: the clamp sticks if friction can carry the reaction there. */
    if (plate->slip > 0) {
        double held[KP_MAX_SPLINES];
        memcpy(held, u, field * sizeof *u);
        held[0] = 0;
        kp_banded_forward(field, KP_FIELD_WIDTH, plate->slip_factor, 0, held);
        kp_banded_backward(field, KP_FIELD_WIDTH, plate->slip_factor, held);

        double reaction = u[0];
        for (size_t j = 1; j <= KP_FIELD_WIDTH; j++) {
            reaction -= plate->membrane_matrix[j] * held[j];
        }
        if (fabs(reaction) <= plate->slip) {
            plate->sticks = true;
            memcpy(u, held, field * sizeof *u);
            return;
        }
        u[0] -= copysign(plate->slip, reaction);
    }

    /* Slipping, against the largest friction force. */
    kp_banded_forward(field, KP_FIELD_WIDTH, plate->radial_factor, 0, u);
    kp_banded_backward(field, KP_FIELD_WIDTH, plate->radial_factor, u);
}

static void put_radial(const kp_plate *plate, const double *u, double *q)
{
    for (size_t i = 0; i < plate->splines; i++) {
        q[KP_PAIR * i + 1] = u[i];
    }
}

void kp_plate_condense(kp_plate *plate, double *q)
{
    double w[KP_MAX_SPLINES], u[KP_MAX_SPLINES], push[KP_MAX_NODES][KP_GAUSS];
    size_t last = plate->splines - 1;

    /* The load of the second-order strain on U: -W'^2/2 at each Gauss point. */
    take_field(plate, q, 0, w);
    kp_element_values(plate->nodes - 1, plate->slope_shape, w, push);
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            push[e][p] *= -0.5 * plate->weight[e][p] * push[e][p];
        }
    }

    /* The right-hand side, fixed edges left out, and its solution. */
    memset(u, 0, plate->splines * sizeof *u);
    kp_element_loads(plate->nodes - 1, plate->radial_shape, (const double(*)[KP_GAUSS])push, u);
    u[0] = plate->fixed_first & KP_FIX_RADIAL ? 0 : u[0];
    u[last] = plate->fixed_last & KP_FIX_RADIAL ? 0 : u[last];
    kp_plate_solve_radial(plate, u);
    put_radial(plate, u, q);
}

/* y = bending matrix x W; returns W . y. A loose ring's lift is measured from its own first coefficient: a rigid
   displacement stores no energy, but its rounding would, and would carry the ring off a little with each step. */
static double bending_times(const kp_plate *plate, const double *q, double *y)
{
    double w[KP_DIAGONALS_LONG(KP_MAX_SPLINES)];
    double shift = plate->ring ? q[0] : 0;

    for (size_t i = 0; i < plate->splines; i++) {
        w[KP_DIAGONALS_PAD + i] = q[KP_PAIR * i] - shift;
    }

    /* The product takes four rows at a time: up to three beyond the last, and three more that those reach to. */
    for (size_t k = 0; k < KP_DIAGONALS_PAD; k++) {
        w[k] = w[KP_DIAGONALS_PAD + plate->splines + k] = w[2 * KP_DIAGONALS_PAD + plate->splines + k] = 0;
    }

    return kp_diagonals_times(plate->splines, plate->bending_diagonals, w, y);
}

double kp_plate_energy(const kp_plate *plate, const double *q)
{
    double w[KP_MAX_SPLINES], u[KP_MAX_SPLINES], y[KP_MAX_SPLINES + KP_DIAGONALS_PAD];
    double slope[KP_MAX_NODES][KP_GAUSS], tension[KP_MAX_NODES][KP_GAUSS];

    take_field(plate, q, 0, w);
    take_field(plate, q, 1, u);
    double membrane = plate->slip * fabs(q[1]);
    membrane += strain(plate, w, u, slope, tension);
    return 0.5 * (bending_times(plate, q, y) + plate->membrane * membrane);
}

void kp_plate_force(kp_plate *plate, double pressure)
{
    double w[KP_MAX_SPLINES], u[KP_MAX_SPLINES], y[KP_MAX_SPLINES + KP_DIAGONALS_PAD];
    double pull[KP_MAX_NODES][KP_GAUSS];

    take_field(plate, plate->state, 0, w);
    take_field(plate, plate->state, 1, u);
    double membrane = plate->slip * fabs(plate->state[1]);
    membrane += strain(plate, w, u, plate->slope, plate->tension);
    plate->energy = 0.5 * (bending_times(plate, plate->state, y) + plate->membrane * membrane);

    /* Gradient by W: the bending forces y, and of the membrane A (e_r + nu e_t) W' at each Gauss point. */
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            pull[e][p] = plate->membrane * plate->weight[e][p] * plate->tension[e][p] * plate->slope[e][p];
        }
    }
    kp_element_loads(plate->nodes - 1, plate->slope_shape, (const double(*)[KP_GAUSS])pull, y);

    for (size_t i = 0; i < plate->splines; i++) {
        plate->force[KP_PAIR * i] = pressure * plate->load[KP_PAIR * i] - y[i];
        plate->force[KP_PAIR * i + 1] = 0;
    }

    /* No force on fixed splines, which are among the first and last two. */
    for (size_t i = 0; i < KP_PAIR * 2; i += KP_PAIR) {
        size_t last = plate->unknowns - KP_PAIR - i;
        plate->force[i] = kp_plate_is_fixed(plate, i) ? 0 : plate->force[i];
        plate->force[last] = kp_plate_is_fixed(plate, last) ? 0 : plate->force[last];
    }
}

void kp_plate_assemble_linear(kp_plate *plate)
{
    memcpy(plate->factor, plate->linear_tangent, plate->unknowns * KP_JOINT_ROW * sizeof *plate->factor);
}

void kp_plate_assemble(kp_plate *plate, bool clamp_tension)
{
    double along[KP_MAX_NODES][KP_GAUSS], across[KP_MAX_NODES][KP_GAUSS];

    /* What lift adds at each Gauss point: A (e_r + nu e_t + W'^2) between W and W, A W' between U and W. */
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            double slope = plate->slope[e][p], tension = plate->tension[e][p];
            double weight = plate->membrane * plate->weight[e][p];
            tension = clamp_tension && tension < 0 ? 0 : tension;
            along[e][p] = weight * (tension + slope * slope);
            across[e][p] = weight * slope;
        }
    }

    kp_plate_assemble_linear(plate);
    kp_element_band(plate->nodes - 1, plate->slope_shape, plate->radial_shape, (const double(*)[KP_GAUSS])along,
                    (const double(*)[KP_GAUSS])across, plate->factor);
}

bool kp_plate_factor(kp_plate *plate)
{
    size_t joint = plate->unknowns;
    if (plate->ring) {
        add_ridge(plate);
    }

    /* Fixed unknowns are among the first and last two splines; one that friction holds is U's first. */
    for (size_t i = 0; i < KP_PAIR * 2; i++) {
        size_t last = joint - 1 - i;
        if (kp_plate_is_fixed(plate, i) || (i == 1 && plate->sticks)) {
            kp_band_fix(plate->factor, KP_JOINT_WIDTH, i);
        }
        if (kp_plate_is_fixed(plate, last)) {
            kp_band_fix(plate->factor, KP_JOINT_WIDTH, last);
        }
    }

    return kp_banded_factor(joint, KP_JOINT_WIDTH, plate->factor);
}

void kp_plate_add_tilt(kp_plate *plate, size_t base, const double slope[4], double stiffness)
{
    const double d[4] = {slope[0], slope[1], slope[2], slope[3]};
    double *row = plate->factor + base * KP_JOINT_ROW;

    for (size_t j = 0; j < 4; j++, row += KP_PAIR * KP_JOINT_ROW) {
        double dj = stiffness * d[j];
        for (size_t i = j; i < 4; i++) {
            row[KP_PAIR * (i - j)] += dj * d[i];
        }
    }
}
