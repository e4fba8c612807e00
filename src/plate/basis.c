/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The functions that a plate's lift and stretch are made of: cubic B-splines on its nodes.

   Their second derivative is continuous, as the plate's own is wherever no ring moment acts: a ring load makes the
   shear jump, so the third derivative does, at a node. Against Hermite functions on the same nodes, with a value and a
   slope each, they take half the unknowns, and so half the contacts at once. On an element a spline is the cubic given
   by its values and slopes at the two nodes, which is how it is evaluated here.
   At an edge the first spline alone has a value and only the first two have a slope, so lift = 0 is first coefficient
   = 0, and a clamped edge both; where the slope alone is held the second spline has the first added to it, so that
   the first alone has a slope. */
#include "plate/plate.h"

#include <string.h>

/* Hermite functions on an element of length h at s = 0..1, of value, slope, value, slope; and their derivatives. */
static inline void hermite(double s, double h, double value[4], double first[4])
{
    double c = 1 - s;
    value[0] = c * c * (1 + 2 * s);
    value[1] = h * s * c * c;
    value[2] = s * s * (3 - 2 * s);
    value[3] = -h * s * s * c;
    first[0] = -6 * s * c / h;
    first[1] = c * (1 - 3 * s);
    first[2] = -first[0];
    first[3] = s * (3 * s - 2);
}

/* The element's four splines from Hermite functions: of the left node the first three are not zero, of the right one
   the last three. */
static inline void combine(const kp_knot *left, const kp_knot *right, const double h[4], double out[4])
{
    out[0] = left->value[0] * h[0] + left->slope[0] * h[1];
    out[3] = right->value[2] * h[2] + right->slope[2] * h[3];
    for (size_t k = 1; k < 3; k++) {
        out[k] =
            (left->value[k] * h[0] + left->slope[k] * h[1]) + (right->value[k - 1] * h[2] + right->slope[k - 1] * h[3]);
    }
}

/* Knot of the element's splines: its own nodes, each end three times more. */
static double knot_at(const kp_plate *plate, size_t element, size_t k)
{
    size_t at = element + k; /* of nodes, shifted by 3 */
    return at < 3 ? plate->rho[0] : at - 3 < plate->nodes ? plate->rho[at - 3] : plate->rho[plate->nodes - 1];
}

/* Values and slopes at x of the four cubic B-splines that are not zero in the element. Cox and de Boor's recurrence,
   as in Piegl and Tiller, The NURBS Book, algorithm A2.2 and equation 2.7 (from memory; a wrong one fails the plate
   tests). */
static void spline_at(const kp_plate *plate, size_t element, double x, double value[4], double slope[4])
{
    double t[8], square[4] = {0};
    for (size_t k = 1; k < 7; k++) {
        t[k] = knot_at(plate, element, k);
    }
    value[0] = 1;
    for (size_t degree = 1; degree <= 3; degree++) {
        double saved = 0;
        memcpy(square + 1, value, 3 * sizeof *square);
        for (size_t r = 0; r < degree; r++) {
            double right = t[3 + r + 1];
            double left = t[3 + 1 + r - degree];
            double part = value[r] / (right - left);
            value[r] = saved + (right - x) * part;
            saved = (x - left) * part;
        }
        value[degree] = saved;
    }
    /* square[k + 1], k = 0 to 2: those of degree 2 on knots k + 1 to k + 4. */
    for (size_t k = 0; k < 4; k++) {
        double before = k > 0 ? square[k] / (t[k + 3] - t[k]) : 0;
        double after = k < 3 ? square[k + 1] / (t[k + 4] - t[k + 1]) : 0;
        slope[k] = 3 * (before - after);
    }
}

/* Whether an edge's KP_FIX_ bits hold its slope and not its lift. */
static bool is_guided(unsigned fixed)
{
    return (fixed & KP_FIX_SLOPE) && !(fixed & KP_FIX_LIFT);
}

/* Makes the spline next to an edge's own carry that one's value, and no slope. */
static void join(kp_knot *knot, size_t own, size_t next)
{
    knot->value[next] += knot->value[own];
    knot->slope[next] = 0;
}

void kp_plate_make_knots(kp_plate *plate)
{
    size_t last = plate->nodes - 1;
    for (size_t i = 0; i <= last; i++) {
        double value[4], slope[4];
        size_t skip = i == last; /* the last node is seen from the element before it */
        spline_at(plate, i - skip, plate->rho[i], value, slope);
        memcpy(plate->lift_knot[i].value, value + skip, sizeof plate->lift_knot[i].value);
        memcpy(plate->lift_knot[i].slope, slope + skip, sizeof plate->lift_knot[i].slope);
        plate->radial_knot[i] = plate->lift_knot[i];
    }
    if (is_guided(plate->fixed_first)) {
        join(&plate->lift_knot[0], 0, 1);
    }
    if (is_guided(plate->fixed_last)) {
        join(&plate->lift_knot[last], 2, 1);
    }
    for (size_t i = 0; i <= last; i++) {
        size_t skip = i == last;
        size_t e = i - skip;
        double h = plate->rho[e + 1] - plate->rho[e], curve[4];
        const double left[4] = {-6 / (h * h), -4 / h, 6 / (h * h), -2 / h};
        const double right[4] = {6 / (h * h), 2 / h, -6 / (h * h), 4 / h};
        combine(&plate->lift_knot[e], &plate->lift_knot[e + 1], skip ? right : left, curve);
        memcpy(plate->lift_knot[i].curve, curve + skip, sizeof plate->lift_knot[i].curve);
    }
}

static inline void shape_by(const kp_plate *plate, const kp_knot *knot, size_t element, double rho, double value[4],
                            double first[4])
{
    double h = plate->rho[element + 1] - plate->rho[element];
    double n[4], d[4];
    hermite((rho - plate->rho[element]) / h, h, n, d);
    combine(&knot[element], &knot[element + 1], n, value);
    combine(&knot[element], &knot[element + 1], d, first);
}

void kp_plate_radial_shape(const kp_plate *plate, size_t element, double rho, double value[4], double first[4])
{
    shape_by(plate, plate->radial_knot, element, rho, value, first);
}

size_t kp_plate_shape(const kp_plate *plate, double rho, double value[4], double first[4])
{
    size_t low = 0;
    size_t high = plate->nodes - 1;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (plate->rho[middle] <= rho) {
            low = middle;
        } else {
            high = middle;
        }
    }
    shape_by(plate, plate->lift_knot, low, rho, value, first);
    return low;
}

double kp_plate_lift(const kp_plate *plate, const double *q, double rho)
{
    double n[4], d[4];
    size_t element = kp_plate_shape(plate, rho, n, d);
    return kp_plate_sum(n, q + KP_PAIR * element);
}
