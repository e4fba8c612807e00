/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shape functions of a plate's lift and radial displacement: cubic B-splines on its nodes.

   Their second derivative is continuous, as the plate's own is wherever no ring moment acts; under a ring load the
   shear jumps, and with it the third derivative, at a node. Hermite functions on the same nodes, with a value and a
   slope each, would take twice the unknowns, and twice the contacts that can be closed at once. On an element a spline
   is the cubic given by its values and slopes at the two nodes, and it is evaluated so.

   Edge conditions. At an edge only the first spline has a value, and only the first two have a slope. Zero lift fixes
   the first coefficient at zero; zero lift and slope fix the first two. For zero slope alone the first spline is added
   to the second, so that only the first has a slope, and its coefficient is fixed. */
#include "plate/plate.h"

#include <string.h>

/* Hermite functions on an element of length h at s = 0..1, and their derivatives. Order: value and slope at the left
   node, value and slope at the right one. */
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

/* An element's four splines as combinations of the Hermite functions h. At the left node the first three are not zero,
   at the right one the last three. */
static inline void combine(const kp_nodal_splines *left, const kp_nodal_splines *right, const double h[4],
                           double out[4])
{
    out[0] = left->value[0] * h[0] + left->slope[0] * h[1];
    out[3] = right->value[2] * h[2] + right->slope[2] * h[3];
    for (size_t k = 1; k < 3; k++) {
        out[k] =
            (left->value[k] * h[0] + left->slope[k] * h[1]) + (right->value[k - 1] * h[2] + right->slope[k - 1] * h[3]);
    }
}

/* Knot k of the splines of an element. The knots are the nodes, with both end nodes repeated three times. */
static double knot_at(const kp_plate *plate, size_t element, size_t k)
{
    size_t at = element + k; /* node number + 3 */
    return at < 3 ? plate->rho[0] : at - 3 < plate->nodes ? plate->rho[at - 3] : plate->rho[plate->nodes - 1];
}

/* Values and slopes at x of the four cubic B-splines that are not zero in the element. Source: Cox and de Boor's
   recurrence, as in Piegl and Tiller, The NURBS Book, algorithm A2.2 and equation 2.7 (from memory; the plate tests
   would fail on a wrong one). */
static void spline_at(const kp_plate *plate, size_t element, double x, double value[4], double slope[4])
{
    double t[8], quadratic[4] = {0};
    for (size_t k = 1; k < 7; k++) {
        t[k] = knot_at(plate, element, k);
    }

    /* Values, one degree after the other; those of degree 2 are kept for the slopes. */
    value[0] = 1;
    for (size_t degree = 1; degree <= 3; degree++) {
        double saved = 0;
        memcpy(quadratic + 1, value, 3 * sizeof *quadratic);
        for (size_t r = 0; r < degree; r++) {
            double right = t[3 + r + 1];
            double left = t[3 + 1 + r - degree];
            double part = value[r] / (right - left);
            value[r] = saved + (right - x) * part;
            saved = (x - left) * part;
        }
        value[degree] = saved;
    }

    /* Slopes: quadratic[k + 1], k = 0 to 2, is the spline of degree 2 on knots k + 1 to k + 4. */
    for (size_t k = 0; k < 4; k++) {
        double before = k > 0 ? quadratic[k] / (t[k + 3] - t[k]) : 0;
        double after = k < 3 ? quadratic[k + 1] / (t[k + 4] - t[k + 1]) : 0;
        slope[k] = 3 * (before - after);
    }
}

/* Whether an edge condition fixes the slope and leaves the lift free. */
static bool is_guided(unsigned fixed)
{
    return (fixed & KP_FIX_SLOPE) && !(fixed & KP_FIX_LIFT);
}

/* Adds the edge's own spline to the next one, whose slope at the edge becomes zero. */
static void join(kp_nodal_splines *edge, size_t own, size_t next)
{
    edge->value[next] += edge->value[own];
    edge->slope[next] = 0;
}

/* Second derivatives of W's splines at the nodes, by the cubic of the element that begins there; at the last node by
   that of the last element. */
static void make_curvatures(kp_plate *plate)
{
    size_t last = plate->nodes - 1;
    for (size_t i = 0; i <= last; i++) {
        size_t skip = i == last;
        size_t e = i - skip;
        double h = plate->rho[e + 1] - plate->rho[e], curvature[4];

        /* Second derivatives of the Hermite functions at s = 0 and s = 1. */
        const double left[4] = {-6 / (h * h), -4 / h, 6 / (h * h), -2 / h};
        const double right[4] = {6 / (h * h), 2 / h, -6 / (h * h), 4 / h};
        combine(&plate->lift_nodal[e], &plate->lift_nodal[e + 1], skip ? right : left, curvature);
        memcpy(plate->lift_nodal[i].curvature, curvature + skip, sizeof plate->lift_nodal[i].curvature);
    }
}

void kp_plate_make_nodal_splines(kp_plate *plate)
{
    size_t last = plate->nodes - 1;

    /* Values and slopes, of W and U alike. */
    for (size_t i = 0; i <= last; i++) {
        double value[4], slope[4];
        size_t skip = i == last; /* the last node belongs to the element before it */
        spline_at(plate, i - skip, plate->rho[i], value, slope);
        memcpy(plate->lift_nodal[i].value, value + skip, sizeof plate->lift_nodal[i].value);
        memcpy(plate->lift_nodal[i].slope, slope + skip, sizeof plate->lift_nodal[i].slope);
        plate->radial_nodal[i] = plate->lift_nodal[i];
    }

    /* Edges of zero slope and free lift change the splines of W. */
    if (is_guided(plate->fixed_first)) {
        join(&plate->lift_nodal[0], 0, 1);
    }
    if (is_guided(plate->fixed_last)) {
        join(&plate->lift_nodal[last], 2, 1);
    }

    make_curvatures(plate);
}

/* Values and slopes at rho of the element's four splines, from those at its nodes. */
static inline void shape_by(const kp_plate *plate, const kp_nodal_splines *nodal, size_t element, double rho,
                            double value[4], double first[4])
{
    double h = plate->rho[element + 1] - plate->rho[element];
    double n[4], d[4];

    hermite((rho - plate->rho[element]) / h, h, n, d);
    combine(&nodal[element], &nodal[element + 1], n, value);
    combine(&nodal[element], &nodal[element + 1], d, first);
}

void kp_plate_radial_shape(const kp_plate *plate, size_t element, double rho, double value[4], double first[4])
{
    shape_by(plate, plate->radial_nodal, element, rho, value, first);
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

    shape_by(plate, plate->lift_nodal, low, rho, value, first);
    return low;
}

double kp_plate_lift(const kp_plate *plate, const double *q, double rho)
{
    double n[4], d[4];
    size_t element = kp_plate_shape(plate, rho, n, d);
    return kp_plate_sum(n, q + KP_PAIR * element);
}
