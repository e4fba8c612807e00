/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The constants of a plate: its splines' derivatives at the Gauss points, its bending and membrane matrices.

   The integrand of each matrix is a sum of two squares. For bending, B [W''^2 + (W'/rho)^2 + 2 nu W'' W'/rho] =
   B [(W'' + nu W'/rho)^2 + (1 - nu^2) (W'/rho)^2]; for the membrane, A [(U' + nu U/rho)^2 + (1 - nu^2) (U/rho)^2].

   Slots. Outside their inner ends all stiffness counts for the share of the circle that is left. No hoop stress crosses
   a slot, so the hoop's stiffness counts for less: its share g, the coupling with it. In bending the metal between
   slots narrows across as a free strip does, so that the plate is orthotropic with Poisson's ratios nu and g nu:

       B e [(W'' + nu g W'/rho)^2 + g (1 - g nu^2) (W'/rho)^2],   e = (1 - nu^2)/(1 - g nu^2).

   In stretching sqrt(g) U/rho takes the place of the hoop's strain U/rho, which keeps the two squares as they are.
   There g is so small that the two forms differ little.

   Against tests/truth/slots_3d.csv, 2 to 8 slots, below the load at which the shim folds: lifts at the land -3.2 to
   +3.3 %, at the edge -3.0 to +3.8 %. It is not known how slots change the load at which a shim folds. */
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

/* Smallest fraction of the circle that slots leave, and smallest share of the hoop's stiffness: they keep the matrices
   positive definite where slots would overlap. [-] */
static const double SOLID_MIN = 0.05;
static const double HOOP_MIN = 0.01;

/* Length over which the hoop's stress rises from the side of a slot, in slot depths: in bending and in stretching. [-]
   Computed: fitted to tests/truth/slots_3d.csv. */
static const double TAKE_UP_BENDING = 1;
static const double TAKE_UP_STRETCHING = 2.5;

void kp_plate_gauss(double point[KP_GAUSS], double weight[KP_GAUSS])
{
    memcpy(point, gauss_point, sizeof gauss_point);
    memcpy(weight, gauss_weight, sizeof gauss_weight);
}

double kp_plate_solid_fraction(const kp_plate *plate, double rho)
{
    if (plate->slot_count == 0 || rho < plate->slot_inner) {
        return 1;
    }

    return fmax(SOLID_MIN, 1 - plate->slot_count * plate->slot_width / (KP_TWO_PI * rho));
}

/* Share of the hoop's stiffness that the metal between slots keeps. The sides of a slot carry no hoop stress; from
   there the stress rises towards the middle of the metal, as 1 - cosh/cosh of the distance over a take-up length. Its
   mean is 1 - tanh(x)/x, x being half the width of the metal over that length. */
static double hoop_share(const kp_plate *plate, double rho, double take_up)
{
    double half = 0.5 * (KP_TWO_PI * rho / plate->slot_count - plate->slot_width);
    double x = half / (take_up * (plate->outer - plate->slot_inner));
    return x > 0 ? fmax(HOOP_MIN, 1 - tanh(x) / x) : HOOP_MIN;
}

kp_hoop kp_plate_hoop(const kp_plate *plate, double rho)
{
    if (plate->slot_count == 0 || rho < plate->slot_inner) {
        return (kp_hoop){1, 1, 1};
    }

    double nu = plate->nu, bent = hoop_share(plate, rho, TAKE_UP_BENDING);
    return (kp_hoop){bent, (1 - nu * nu) / (1 - bent * nu * nu), sqrt(hoop_share(plate, rho, TAKE_UP_STRETCHING))};
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
        double weight = 0.5 * h * gauss_weight[p] * rho * kp_plate_solid_fraction(plate, rho);
        kp_hoop left = kp_plate_hoop(plate, rho);
        for (size_t i = 0; i < KP_LOCAL; i++) {
            double along = left.stretched * radial.at[i][p];
            turn.at[i][p] += nu * left.bent / rho * slope->at[i][p];
            hoop->at[i][p] = along / rho + nu * pull->at[i][p];
            pull->at[i][p] += nu / rho * along;
            radial.at[i][p] = along;
        }
        plate->weight[e][p] = first[0][p] = weight;
        second[0][p] = weight * (1 - nu * nu) / (rho * rho);
        bend_first[0][p] = plate->bending * first[0][p] * left.radial;
        bend_second[0][p] = plate->bending * second[0][p] * left.bent;
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
