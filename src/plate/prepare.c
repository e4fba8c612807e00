/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is constant of a plate: its splines' derivatives at the quadrature points, its bending and membrane matrices.

   Both matrices are sums of two squares. Of the lift, B [W''^2 + (W'/rho)^2 + 2 nu W'' W'/rho] = B [(W'' + nu W'/rho)^2
   + (1 - nu^2) (W'/rho)^2]; of the stretch, with A, the same of U' and U/rho. */
#include "plate/plate.h"

#include "num/num.h"

#include <math.h>
#include <string.h>

static const double two_pi = 6.28318530717958647693;

/* Gauss-Legendre, four points on -1..1: Abramowitz and Stegun, table 25.4 (from
 * memory, checked by a test). */
static const double gauss_place[KP_GAUSS] = {-0.86113631159405257522, -0.33998104358485626480, 0.33998104358485626480,
                                             0.86113631159405257522};
static const double gauss_weight[KP_GAUSS] = {0.34785484513745385737, 0.65214515486254614263, 0.65214515486254614263,
                                              0.34785484513745385737};

/* Share of the circle that the slots leave. Hoop stress also has to go around
   each slot's end, which this does not know: the stiffness is an upper estimate
   beyond the slots' inner ends. */
static double left_by_slots(const kp_plate *plate, double rho)
{
    if (plate->slot_count == 0 || rho < plate->slot_inner) {
        return 1;
    }
    return fmax(0.05, 1 - plate->slot_count * plate->slot_width / (two_pi * rho));
}

/* Hermite functions of length 1 at the quadrature points, of value, slope, value, slope; and their derivatives. */
typedef struct hermite {
    double value[4][KP_GAUSS], first[4][KP_GAUSS], second[4][KP_GAUSS];
} hermite;

static void make_hermite(hermite *out)
{
    for (size_t p = 0; p < KP_GAUSS; p++) {
        double s = 0.5 * (1 + gauss_place[p]), c = 1 - s;
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

/* An element's four splines from Hermite functions or their derivatives; scale: what a derivative is divided by. */
static inline void combine(const kp_knot *knot, double h, double scale, const double of[4][KP_GAUSS], kp_element *out)
{
    for (size_t i = 0; i < KP_LOCAL; i++) {
        double left_value = i < 3 ? knot[0].value[i] / scale : 0, left_slope = i < 3 ? knot[0].slope[i] * h / scale : 0;
        double right_value = i > 0 ? knot[1].value[i - 1] / scale : 0;
        double right_slope = i > 0 ? knot[1].slope[i - 1] * h / scale : 0;
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
    kp_element turn, stretch; /* W'' + nu W'/rho; U. */
    double along[1][KP_GAUSS], around[1][KP_GAUSS], bend_along[1][KP_GAUSS], bend_around[1][KP_GAUSS];
    combine(plate->lift_knot + e, h, h, table->first, slope);
    combine(plate->lift_knot + e, h, h * h, table->second, &turn);
    combine(plate->radial_knot + e, h, 1, table->value, &stretch);
    combine(plate->radial_knot + e, h, h, table->first, pull);
    for (size_t p = 0; p < KP_GAUSS; p++) {
        double rho = plate->rho[e] + 0.5 * (1 + gauss_place[p]) * h;
        double weight = 0.5 * h * gauss_weight[p] * rho * left_by_slots(plate, rho);
        double ratio = nu / rho;
        for (size_t i = 0; i < KP_LOCAL; i++) {
            turn.at[i][p] += ratio * slope->at[i][p];
            pull->at[i][p] += ratio * stretch.at[i][p];
        }
        plate->weight[e][p] = along[0][p] = weight;
        around[0][p] = weight * (1 - nu * nu) / (rho * rho);
        bend_along[0][p] = plate->bending * along[0][p];
        bend_around[0][p] = plate->bending * around[0][p];
    }
    double *bend = plate->bend + e * KP_FIELD_ROW, *membrane = plate->stretch + e * KP_FIELD_ROW;
    kp_element_square(1, &turn, (const double(*)[KP_GAUSS])bend_along, bend);
    kp_element_square(1, slope, (const double(*)[KP_GAUSS])bend_around, bend);
    kp_element_square(1, pull, (const double(*)[KP_GAUSS])along, membrane);
    kp_element_square(1, &stretch, (const double(*)[KP_GAUSS])around, membrane);
}

static void factor_radial(kp_plate *plate, double *factor, bool held)
{
    size_t field = plate->splines;
    memcpy(factor, plate->stretch, field * KP_FIELD_ROW * sizeof *factor);
    if (held || (plate->fixed_first & KP_FIX_RADIAL)) {
        kp_band_fix(factor, KP_FIELD_WIDTH, 0);
    }
    if (plate->fixed_last & KP_FIX_RADIAL) {
        kp_band_fix(factor, KP_FIELD_WIDTH, field - 1);
    }
    kp_banded_factor(field, KP_FIELD_WIDTH, factor); /* positive: hoop strain resists every stretch */
}

/* The joint band of what is constant: bending and membrane matrices. */
static void make_constant(kp_plate *plate)
{
    for (size_t i = 0; i < plate->splines; i++) {
        double *lift = plate->constant + KP_PAIR * i * KP_JOINT_ROW;
        double *stretch = lift + KP_JOINT_ROW;
        for (size_t k = 0; k <= KP_FIELD_WIDTH; k++) {
            lift[KP_PAIR * k] = plate->bend[i * KP_FIELD_ROW + k];
            stretch[KP_PAIR * k] = plate->membrane * plate->stretch[i * KP_FIELD_ROW + k];
            lift[KP_PAIR * k + 1] = stretch[KP_PAIR * k + 1] = 0;
        }
    }
}

void kp_plate_prepare(kp_plate *plate)
{
    size_t field = plate->splines;
    kp_plate_make_knots(plate);
    memset(plate->bend, 0, field * KP_FIELD_ROW * sizeof *plate->bend);
    memset(plate->stretch, 0, field * KP_FIELD_ROW * sizeof *plate->stretch);
    hermite table;
    make_hermite(&table);
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        prepare_element(plate, &table, e);
    }
    if (!(plate->fixed_first & KP_FIX_RADIAL)) {
        plate->stretch[0] += plate->grip;
    }
    kp_diagonals_of(plate->splines, plate->bend, plate->diagonals);
    make_constant(plate);
    factor_radial(plate, plate->radial_factor, false);
    if (plate->slip > 0) {
        factor_radial(plate, plate->slip_factor, true);
    }
}
