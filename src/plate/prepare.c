/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The constants of a plate: its splines' derivatives at the Gauss points, its bending and membrane matrices.

   The integrand of each matrix is a sum of two squares. For bending, B [W''^2 + (W'/rho)^2 + 2 nu W'' W'/rho] =
   B [(W'' + nu W'/rho)^2 + (1 - nu^2) (W'/rho)^2]; for the membrane, A [(U' + nu U/rho)^2 + (1 - nu^2) (U/rho)^2]. */
#include "plate/plate.h"

#include "num/num.h"

#include <math.h>
#include <string.h>

/* Gauss-Legendre quadrature, four points on -1..1. [-] Source: Abramowitz and Stegun, table 25.4 (from memory, checked
   by a test). */
static const double gauss_point[KP_GAUSS] = {-0.86113631159405257522, -0.33998104358485626480, 0.33998104358485626480,
                                             0.86113631159405257522};
static const double gauss_weight[KP_GAUSS] = {0.34785484513745385737, 0.65214515486254614263, 0.65214515486254614263,
                                              0.34785484513745385737};

/* Smallest fraction of the circle that slots leave: it keeps the matrices positive definite where slots would overlap.
   [-] */
static const double SOLID_MIN = 0.05;

/* Fraction of the circle that the slots leave. Hoop stress cannot pass a slot, which this ignores: the stiffness is an
   upper estimate outside the slots' inner ends. */
void kp_plate_gauss(double point[KP_GAUSS], double weight[KP_GAUSS])
{
    memcpy(point, gauss_point, sizeof gauss_point);
    memcpy(weight, gauss_weight, sizeof gauss_weight);
}

static double solid_fraction(const kp_plate *plate, double rho)
{
    if (plate->slot_count == 0 || rho < plate->slot_inner) {
        return 1;
    }

    return fmax(SOLID_MIN, 1 - plate->slot_count * plate->slot_width / (KP_TWO_PI * rho));
}

/* Hermite functions on an element of length 1 at the Gauss points, and their derivatives. Order: value and slope at the
   left node, value and slope at the right one. */
typedef struct hermite {
    double value[4][KP_GAUSS], first[4][KP_GAUSS], second[4][KP_GAUSS];
} hermite;

static void make_hermite(hermite *out)
{
    for (size_t p = 0; p < KP_GAUSS; p++) {
        double s = 0.5 * (1 + gauss_point[p]), c = 1 - s;

        const double value[4] = {c * c * (1 + 2 * s), s * c * c, s * s * (3 - 2 * s), -s * s * c};
        const double first[4] = {-6 * s * c, c * (1 - 3 * s), 6 * s * c, s * (3 * s - 2)};
        const double second[4] = {12 * s - 6, 6 * s - 4, 6 - 12 * s, 6 * s - 2};

        for (size_t k = 0; k < 4; k++) {
            out->value[k][p] = value[k];
            out->first[k][p] = first[k];
            out->second[k][p] = second[k];
        }
    }
}

/* An element's four splines, or a derivative of them, at the Gauss points. nodal: the splines at its two nodes; scale:
   the power of h that the derivative is divided by. */
static inline void combine(const kp_nodal_splines *nodal, double h, double scale, const double of[4][KP_GAUSS],
                           kp_element *out)
{
    for (size_t i = 0; i < KP_LOCAL; i++) {
        double left_value = i < 3 ? nodal[0].value[i] / scale : 0;
        double left_slope = i < 3 ? nodal[0].slope[i] * h / scale : 0;
        double right_value = i > 0 ? nodal[1].value[i - 1] / scale : 0;
        double right_slope = i > 0 ? nodal[1].slope[i - 1] * h / scale : 0;

        for (size_t p = 0; p < KP_GAUSS; p++) {
            out->at[i][p] =
                (left_value * of[0][p] + left_slope * of[1][p]) + (right_value * of[2][p] + right_slope * of[3][p]);
        }
    }
}

static void prepare_element(kp_plate *plate, const hermite *table, size_t e)
{
    double h = plate->rho[e + 1] - plate->rho[e], nu = plate->nu;
    kp_element *slope = &plate->slope_shape[e], *pull = &plate->radial_shape[e];
    kp_element *hoop = &plate->hoop_shape[e];
    kp_element turn, radial; /* W'' + nu W'/rho; U */
    double first[1][KP_GAUSS], second[1][KP_GAUSS], bend_first[1][KP_GAUSS], bend_second[1][KP_GAUSS];

    /* W', W'', U and U' at the Gauss points. */
    combine(plate->lift_nodal + e, h, h, table->first, slope);
    combine(plate->lift_nodal + e, h, h * h, table->second, &turn);
    combine(plate->radial_nodal + e, h, 1, table->value, &radial);
    combine(plate->radial_nodal + e, h, h, table->first, pull);

    /* Both first strains, and the weights of the two squares of each matrix. */
    for (size_t p = 0; p < KP_GAUSS; p++) {
        double rho = plate->rho[e] + 0.5 * (1 + gauss_point[p]) * h;
        double weight = 0.5 * h * gauss_weight[p] * rho * solid_fraction(plate, rho);
        double ratio = nu / rho;
        for (size_t i = 0; i < KP_LOCAL; i++) {
            turn.at[i][p] += ratio * slope->at[i][p];
            hoop->at[i][p] = radial.at[i][p] / rho + nu * pull->at[i][p];
            pull->at[i][p] += ratio * radial.at[i][p];
        }
        plate->weight[e][p] = first[0][p] = weight;
        second[0][p] = weight * (1 - nu * nu) / (rho * rho);
        bend_first[0][p] = plate->bending * first[0][p];
        bend_second[0][p] = plate->bending * second[0][p];
    }

    double *bending = plate->bending_matrix + e * KP_FIELD_ROW;
    double *membrane = plate->membrane_matrix + e * KP_FIELD_ROW;
    kp_element_square(1, &turn, (const double(*)[KP_GAUSS])bend_first, bending);
    kp_element_square(1, slope, (const double(*)[KP_GAUSS])bend_second, bending);
    kp_element_square(1, pull, (const double(*)[KP_GAUSS])first, membrane);
    kp_element_square(1, &radial, (const double(*)[KP_GAUSS])second, membrane);
}

/* Cholesky factor of the membrane matrix, edges as fixed; held: the first spline too. */
static void factor_radial(kp_plate *plate, double *factor, bool held)
{
    size_t field = plate->splines;
    memcpy(factor, plate->membrane_matrix, field * KP_FIELD_ROW * sizeof *factor);

    if (held || (plate->fixed_first & KP_FIX_RADIAL)) {
        kp_band_fix(factor, KP_FIELD_WIDTH, 0);
    }
    if (plate->fixed_last & KP_FIX_RADIAL) {
        kp_band_fix(factor, KP_FIELD_WIDTH, field - 1);
    }

    /* Positive definite: hoop strain resists every radial displacement. */
    kp_banded_factor(field, KP_FIELD_WIDTH, factor);
}

/* The joint tangent at zero lift: bending and membrane matrices, uncoupled. */
static void make_linear_tangent(kp_plate *plate)
{
    for (size_t i = 0; i < plate->splines; i++) {
        double *lift = plate->linear_tangent + KP_PAIR * i * KP_JOINT_ROW;
        double *radial = lift + KP_JOINT_ROW;

        for (size_t k = 0; k <= KP_FIELD_WIDTH; k++) {
            lift[KP_PAIR * k] = plate->bending_matrix[i * KP_FIELD_ROW + k];
            radial[KP_PAIR * k] = plate->membrane * plate->membrane_matrix[i * KP_FIELD_ROW + k];
            lift[KP_PAIR * k + 1] = radial[KP_PAIR * k + 1] = 0;
        }
    }
}

void kp_plate_prepare(kp_plate *plate)
{
    size_t field = plate->splines;
    kp_plate_make_nodal_splines(plate);

    /* The two matrices, element by element, and the ring under the clamp that holds a sliding inner edge. */
    memset(plate->bending_matrix, 0, field * KP_FIELD_ROW * sizeof *plate->bending_matrix);
    memset(plate->membrane_matrix, 0, field * KP_FIELD_ROW * sizeof *plate->membrane_matrix);
    hermite table;
    make_hermite(&table);
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        prepare_element(plate, &table, e);
    }
    if (!(plate->fixed_first & KP_FIX_RADIAL)) {
        plate->membrane_matrix[0] += plate->grip;
    }

    /* The forms in which the solver uses them. */
    kp_diagonals_of(plate->splines, plate->bending_matrix, plate->bending_diagonals);
    make_linear_tangent(plate);
    factor_radial(plate, plate->radial_factor, false);
    if (plate->slip > 0) {
        factor_radial(plate, plate->slip_factor, true);
    }
}
