/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One von Karman plate by finite elements in the radius: W and U of cubic B-splines (plate_basis.c).

   Energy over 2 pi, scaled as in stack_internal.h (A membrane, B bending
   stiffness): integral of [ A/2 (e_r^2 + e_t^2 + 2 nu e_r e_t) + B/2 (W''^2 +
   (W'/rho)^2 + 2 nu W'' W'/rho) ] rho drho, e_r = U' + W'^2/2,  e_t = U/rho.
   For a given W the energy is quadratic in U with a constant matrix, so U is
   always the one that makes it least
   ("condensed"): the energy left is a function of W alone, and Newton's step
   and the line search see only that one. The step itself comes from the joint
   tangent of (W, U), which is banded; its Schur complement on W is the tangent
   of the condensed energy. Both fields have a continuous first derivative, as
   the plate itself has: slopes and membrane strains are continuous everywhere,
   moments jump nowhere but under a ring moment. */
#include "stack_internal.h"

#include "kneepoint/num.h"

#include <math.h>
#include <string.h>

static const double two_pi = 6.28318530717958647693;

/* Gauss-Legendre, four points on -1..1: Abramowitz and Stegun, table 25.4 (from
 * memory, checked by a test). */
static const double gauss_place[KP_GAUSS] = {-0.86113631159405257522, -0.33998104358485626480, 0.33998104358485626480,
                                             0.86113631159405257522};
static const double gauss_weight[KP_GAUSS] = {0.34785484513745385737, 0.65214515486254614263, 0.65214515486254614263,
                                              0.34785484513745385737};

/* Adds the 4 x 4 block of element e to a field band. */
static void add_to_band(double *band, size_t e, double block[4][4])
{
    for (size_t i = 0; i < 4; i++) {
        for (size_t j = 0; j <= i; j++) {
            band[(e + j) * KP_FIELD_ROW + i - j] += block[i][j];
        }
    }
}

/* Makes unknown i of a band that of a fixed value: its row and column vanish,
 * its diagonal is one. */
static void fix_unknown(double *band, size_t width, size_t i)
{
    size_t row = width + 1;
    for (size_t k = 1; k <= width; k++) {
        band[i * row + k] = 0;
        if (k <= i) {
            band[(i - k) * row + k] = 0;
        }
    }
    band[i * row] = 1;
}

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

/* Whether an edge's bits fix the lift of the spline that many from it (see plate_basis.c). */
static bool edge_fixes(unsigned fixed, size_t from_edge)
{
    return from_edge == 0 ? (fixed & (KP_FIX_LIFT | KP_FIX_SLOPE)) != 0
                          : from_edge == 1 && (fixed & KP_FIX_LIFT) && (fixed & KP_FIX_SLOPE);
}

bool kp_plate_fixes(const kp_plate *plate, size_t unknown)
{
    size_t spline = unknown / KP_PAIR;
    size_t from_last = plate->splines - 1 - spline;
    if (unknown % KP_PAIR == 1) {
        return (spline == 0 && (plate->fixed_first & KP_FIX_STRETCH)) ||
               (from_last == 0 && (plate->fixed_last & KP_FIX_STRETCH));
    }
    return edge_fixes(plate->fixed_first, spline) || edge_fixes(plate->fixed_last, from_last);
}

/* Ridge on a loose ring's tangent, never on its forces: it keeps a step finite where no neighbour holds the ring, and
   changes no equilibrium. [-] of its bending stiffness over its size. */
#define RING_RIDGE 0.1

static void add_ridge(kp_plate *plate)
{
    double ridge = RING_RIDGE * plate->bending / (plate->outer * plate->outer * (double)plate->nodes);
    for (size_t k = 0; k < plate->unknowns; k += KP_PAIR) {
        plate->factor[k * KP_JOINT_ROW] += ridge;
    }
}

static void factor_stretch(kp_plate *plate, double *factor, bool held)
{
    size_t field = plate->splines;
    memcpy(factor, plate->stretch, field * KP_FIELD_ROW * sizeof *factor);
    if (held || (plate->fixed_first & KP_FIX_STRETCH)) {
        fix_unknown(factor, KP_FIELD_WIDTH, 0);
    }
    if (plate->fixed_last & KP_FIX_STRETCH) {
        fix_unknown(factor, KP_FIELD_WIDTH, field - 1);
    }
    kp_banded_factor(field, KP_FIELD_WIDTH, factor); /* positive: hoop strain resists every stretch */
}

static void prepare_element(kp_plate *plate, size_t e)
{
    double h = plate->rho[e + 1] - plate->rho[e];
    double bend[4][4] = {{0}};
    double stretch[4][4] = {{0}};
    double nu = plate->nu;
    for (size_t g = 0; g < KP_GAUSS; g++) {
        double s = 0.5 * (1 + gauss_place[g]);
        double rho = plate->rho[e] + s * h;
        double d[4], dd[4], n_stretch[4], d_stretch[4];
        kp_plate_shape_in(plate, e, rho, NULL, d, dd);
        kp_plate_stretch_in(plate, e, rho, n_stretch, d_stretch);
        double weight = 0.5 * h * gauss_weight[g] * rho * left_by_slots(plate, rho);
        plate->weight[e][g] = weight;
        for (size_t i = 0; i < 4; i++) {
            plate->slope_shape[e].at[i][g] = d[i];
            plate->stretch_shape[e].at[i][g] = d_stretch[i] + nu * n_stretch[i] / rho;
            for (size_t j = 0; j <= i; j++) {
                bend[i][j] += plate->bending * weight *
                              (dd[i] * dd[j] + d[i] * d[j] / (rho * rho) + nu * (dd[i] * d[j] + d[i] * dd[j]) / rho);
                stretch[i][j] += weight * (d_stretch[i] * d_stretch[j] + n_stretch[i] * n_stretch[j] / (rho * rho) +
                                           nu * (d_stretch[i] * n_stretch[j] + n_stretch[i] * d_stretch[j]) / rho);
            }
        }
    }
    add_to_band(plate->bend, e, bend);
    add_to_band(plate->stretch, e, stretch);
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
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        prepare_element(plate, e);
    }
    if (!(plate->fixed_first & KP_FIX_STRETCH)) {
        plate->stretch[0] += plate->grip;
    }
    make_constant(plate);
    factor_stretch(plate, plate->stretch_factor, false);
    if (plate->slip > 0) {
        factor_stretch(plate, plate->slip_factor, true);
    }
}

/* One field's coefficients: part 0 is W's, 1 is U's. */
static void take_field(const kp_plate *plate, const double *q, size_t part, double *field)
{
    for (size_t i = 0; i < plate->splines; i++) {
        field[i] = q[KP_PAIR * i + part];
    }
}

/* Slopes and tensions e_r + nu e_t at all points. */
static void strain(const kp_plate *plate, const double *w, const double *u, double (*slope)[KP_GAUSS],
                   double (*tension)[KP_GAUSS])
{
    size_t elements = plate->nodes - 1;
    kp_element_values(elements, plate->slope_shape, w, slope);
    kp_element_values(elements, plate->stretch_shape, u, tension);
    for (size_t e = 0; e < elements; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            tension[e][p] += 0.5 * slope[e][p] * slope[e][p];
        }
    }
}

/* Integral of the tension times half the slope squared: with U condensed, the membrane's energy but for the clamp's
   slip, over half its stiffness. */
static double pulled(const kp_plate *plate, const double (*slope)[KP_GAUSS], const double (*tension)[KP_GAUSS])
{
    double sum[KP_GAUSS] = {0};
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            sum[p] += plate->weight[e][p] * (0.5 * slope[e][p] * slope[e][p]) * tension[e][p];
        }
    }
    return (sum[0] + sum[2]) + (sum[1] + sum[3]);
}

/* Least of U.KU/2 - b.U + slip |U_0|; b comes in u. The friction of the clamp
   holds U_0 while the pull on it stays within slip. */
static void solve_stretch(kp_plate *plate, double *u)
{
    size_t field = plate->splines;
    plate->sticks = false;
    if (plate->slip > 0) {
        double held[KP_MAX_NODES + 2];
        memcpy(held, u, field * sizeof *u);
        held[0] = 0;
        kp_banded_forward(field, KP_FIELD_WIDTH, plate->slip_factor, 0, held);
        kp_banded_backward(field, KP_FIELD_WIDTH, plate->slip_factor, held);
        double pull = u[0];
        for (size_t j = 1; j <= KP_FIELD_WIDTH; j++) {
            pull -= plate->stretch[j] * held[j];
        }
        if (fabs(pull) <= plate->slip) {
            plate->sticks = true;
            memcpy(u, held, field * sizeof *u);
            return;
        }
        u[0] -= copysign(plate->slip, pull);
    }
    kp_banded_forward(field, KP_FIELD_WIDTH, plate->stretch_factor, 0, u);
    kp_banded_backward(field, KP_FIELD_WIDTH, plate->stretch_factor, u);
}

void kp_plate_condense(kp_plate *plate, double *q)
{
    double w[KP_MAX_NODES + 2], u[KP_MAX_NODES + 2], push[KP_MAX_NODES][KP_GAUSS];
    size_t last = plate->splines - 1;
    take_field(plate, q, 0, w);
    kp_element_values(plate->nodes - 1, plate->slope_shape, w, push);
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            push[e][p] *= -0.5 * plate->weight[e][p] * push[e][p];
        }
    }
    memset(u, 0, plate->splines * sizeof *u);
    kp_element_loads(plate->nodes - 1, plate->stretch_shape, (const double(*)[KP_GAUSS])push, u);
    u[0] = plate->fixed_first & KP_FIX_STRETCH ? 0 : u[0];
    u[last] = plate->fixed_last & KP_FIX_STRETCH ? 0 : u[last];
    solve_stretch(plate, u);
    for (size_t i = 0; i < plate->splines; i++) {
        q[KP_PAIR * i + 1] = u[i];
    }
}

/* y = bend W; returns W . y. A loose ring's lift is taken from its own first spline: what all of it moves by stores no
   energy, but its rounding would, and would carry the ring off a step at a time. */
static double bend_times(const kp_plate *plate, const double *lift, double *y)
{
    double w[KP_MAX_NODES + 2 + KP_FIELD_WIDTH];
    size_t field = plate->splines;
    double shift = plate->ring ? lift[0] : 0;
    for (size_t i = 0; i < field; i++) {
        w[i] = lift[i] - shift;
        y[i] = 0;
    }
    for (size_t k = 0; k < KP_FIELD_WIDTH; k++) { /* rows of the band reach so far beyond the last, with zeros */
        w[field + k] = y[field + k] = 0;
    }
    double sum = 0;
    for (size_t i = 0; i < field; i++) {
        const double *row = plate->bend + i * KP_FIELD_ROW;
        double own = row[0] * w[i] + y[i], wi = w[i];
        for (size_t k = 1; k <= KP_FIELD_WIDTH; k++) {
            own += row[k] * w[i + k];
            y[i + k] += row[k] * wi;
        }
        y[i] = own;
    }
    for (size_t i = 0; i < field; i++) {
        sum += w[i] * y[i];
    }
    return sum;
}

double kp_plate_energy(const kp_plate *plate, const double *q)
{
    double w[KP_MAX_NODES + 2], u[KP_MAX_NODES + 2], y[KP_MAX_NODES + 2 + KP_FIELD_WIDTH];
    double slope[KP_MAX_NODES][KP_GAUSS], tension[KP_MAX_NODES][KP_GAUSS];
    take_field(plate, q, 0, w);
    take_field(plate, q, 1, u);
    strain(plate, w, u, slope, tension);
    double membrane =
        plate->slip * fabs(u[0]) + pulled(plate, (const double(*)[KP_GAUSS])slope, (const double(*)[KP_GAUSS])tension);
    return 0.5 * (bend_times(plate, w, y) + plate->membrane * membrane);
}

void kp_plate_force(kp_plate *plate, double pressure)
{
    double w[KP_MAX_NODES + 2], u[KP_MAX_NODES + 2], y[KP_MAX_NODES + 2 + KP_FIELD_WIDTH];
    double pull[KP_MAX_NODES][KP_GAUSS];
    take_field(plate, plate->state, 0, w);
    take_field(plate, plate->state, 1, u);
    strain(plate, w, u, plate->slope, plate->tension);
    const double(*slope)[KP_GAUSS] = (const double(*)[KP_GAUSS])plate->slope;
    const double(*tension)[KP_GAUSS] = (const double(*)[KP_GAUSS])plate->tension;
    double membrane = plate->slip * fabs(u[0]) + pulled(plate, slope, tension);
    plate->energy = 0.5 * (bend_times(plate, w, y) + plate->membrane * membrane);
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            pull[e][p] = plate->membrane * plate->weight[e][p] * tension[e][p] * slope[e][p];
        }
    }
    kp_element_loads(plate->nodes - 1, plate->slope_shape, (const double(*)[KP_GAUSS])pull, y);
    for (size_t i = 0; i < plate->splines; i++) {
        plate->force[KP_PAIR * i] = pressure * plate->load[KP_PAIR * i] - y[i];
        plate->force[KP_PAIR * i + 1] = 0;
    }
    for (size_t i = 0; i < KP_PAIR * 2; i += KP_PAIR) {
        size_t last = plate->unknowns - KP_PAIR - i;
        plate->force[i] = kp_plate_fixes(plate, i) ? 0 : plate->force[i];
        plate->force[last] = kp_plate_fixes(plate, last) ? 0 : plate->force[last];
    }
}

void kp_plate_assemble_linear(kp_plate *plate)
{
    memcpy(plate->factor, plate->constant, plate->unknowns * KP_JOINT_ROW * sizeof *plate->factor);
}

void kp_plate_assemble(kp_plate *plate, bool clamp_tension)
{
    double along[KP_MAX_NODES][KP_GAUSS], across[KP_MAX_NODES][KP_GAUSS];
    kp_plate_assemble_linear(plate);
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            double slope = plate->slope[e][p], tension = plate->tension[e][p];
            double weight = plate->membrane * plate->weight[e][p];
            tension = clamp_tension && tension < 0 ? 0 : tension;
            along[e][p] = weight * (tension + slope * slope);
            across[e][p] = weight * slope;
        }
    }
    kp_element_band(plate->nodes - 1, plate->slope_shape, plate->stretch_shape, (const double(*)[KP_GAUSS])along,
                    (const double(*)[KP_GAUSS])across, plate->factor);
}

bool kp_plate_factor(kp_plate *plate)
{
    size_t joint = plate->unknowns;
    if (plate->ring) {
        add_ridge(plate);
    }
    for (size_t i = 0; i < KP_PAIR * 2; i++) { /* the two splines next to each edge */
        size_t last = joint - 1 - i;
        if (kp_plate_fixes(plate, i) || (i == 1 && plate->sticks)) {
            fix_unknown(plate->factor, KP_JOINT_WIDTH, i);
        }
        if (kp_plate_fixes(plate, last)) {
            fix_unknown(plate->factor, KP_JOINT_WIDTH, last);
        }
    }
    return kp_banded_factor(joint, KP_JOINT_WIDTH, plate->factor);
}

void kp_plate_add_tilt(kp_plate *plate, size_t base, const double slope[4], double stiffness)
{
    double *rows = plate->factor + base * KP_JOINT_ROW;
    for (size_t i = 0; i < 4; i++) {
        for (size_t j = 0; j <= i; j++) {
            size_t a = KP_PAIR * i;
            size_t b = KP_PAIR * j;
            rows[b * KP_JOINT_ROW + a - b] += stiffness * slope[i] * slope[j];
        }
    }
}
