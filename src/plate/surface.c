/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stresses at the surfaces of a plate: at the ends and in the middle of each element in one walk, or at one radius. */
#include "plate/plate.h"

#include <math.h>

/* Curvature W''. A cubic's own runs straight in each element and is off in its middle, but at the two points of
   two-point Gauss quadrature it is an order better (Barlow, Int. J. Numer. Methods Eng. 10 (1976) 243, from memory). A
   cubic through the four such points nearest to the element's middle gives it everywhere. */
static const double good_place[2] = {0.21132486540518711775, 0.78867513459481288225};

/* First of those four points, of all of them, two an element; a single element has two only. */
static size_t first_good(const kp_plate *plate, size_t element)
{
    size_t elements = plate->nodes - 1;
    size_t first = element > 0 ? 2 * element - 1 : 0;
    return elements < 2 ? 0 : first + 4 > 2 * elements ? 2 * elements - 4 : first;
}

/* Lagrange's weights at rho of the curvatures at an element's good points. */
static void weigh(const kp_plate *plate, size_t element, double rho, double weight[4])
{
    size_t count = plate->nodes < 3 ? 2 : 4;
    double x[4] = {0};
    for (size_t k = 0; k < count; k++) {
        size_t point = first_good(plate, element) + k, e = point / 2;
        x[k] = plate->rho[e] + good_place[point % 2] * (plate->rho[e + 1] - plate->rho[e]);
    }
    for (size_t i = 0; i < 4; i++) {
        double above = i < count ? 1 : 0, below = 1;
        for (size_t j = 0; j < count; j++) {
            above *= j == i ? 1 : rho - x[j];
            below *= j == i ? 1 : x[i] - x[j];
        }
        weight[i] = above / below;
    }
}

double kp_surface_place(const kp_plate *plate, size_t k)
{
    double left = plate->rho[k / 2];
    return k % 2 == 0 ? left : left + 0.5 * (plate->rho[k / 2 + 1] - left);
}

void kp_surface_prepare(kp_plate *plate)
{
    for (size_t k = 0; k < kp_surface_count(plate); k++) {
        double rho = kp_surface_place(plate, k);
        size_t element = k / 2 < plate->nodes - 1 ? k / 2 : plate->nodes - 2;
        weigh(plate, element, rho, plate->sample[k].curve);
        plate->sample[k].turns =
            1 / rho; /* without end at the centre of a full plate, where stresses are nobody's largest */
    }
}

/* W', W'', U' and U. */
typedef struct strains {
    double slope, curve, pull, stretch;
} strains;

static strains at_node(const kp_plate *plate, const double *state, size_t node)
{
    const double *q = state + KP_PAIR * node;
    const kp_knot *lift = &plate->lift_knot[node], *stretch = &plate->radial_knot[node];
    return (strains){kp_knot_sum(lift->slope, q), kp_knot_sum(lift->curve, q), kp_knot_sum(stretch->slope, q + 1),
                     kp_knot_sum(stretch->value, q + 1)};
}

/* In the middle of an element, from its ends: Hermite's cubics. */
static strains between(const strains *left, const strains *right, double h)
{
    return (strains){
        .slope = 0.5 * (left->slope + right->slope) + 0.125 * h * (left->curve - right->curve),
        .pull = 1.5 / h * (right->stretch - left->stretch) - 0.25 * (left->pull + right->pull),
        .stretch = 0.5 * (left->stretch + right->stretch) + 0.125 * h * (left->pull - right->pull),
    };
}

/* Surface stress over the unit from strains of the middle surface and curvatures, plane stress; z points away from the
   piston. turns: 1/rho. */
static inline kp_disc_stress surface(const kp_plate *plate, const strains *at, double curve, double turns)
{
    double nu = plate->nu;
    double half = 0.5 * plate->one_thickness;
    double along = at->pull + 0.5 * at->slope * at->slope;
    double around = at->stretch * turns;
    double turn = at->slope * turns;
    double membrane_radial = along + nu * around;
    double membrane_hoop = around + nu * along;
    double bend_radial = half * (curve + nu * turn);
    double bend_hoop = half * (turn + nu * curve);
    return (kp_disc_stress){
        .piston_side_radial = membrane_radial + bend_radial,
        .piston_side_hoop = membrane_hoop + bend_hoop,
        .far_side_radial = membrane_radial - bend_radial,
        .far_side_hoop = membrane_hoop - bend_hoop,
    };
}

static double weighted(const double weight[4], const double *good)
{
    return (weight[0] * good[0] + weight[1] * good[1]) + (weight[2] * good[2] + weight[3] * good[3]);
}

/* Curvature at the two good points of an element, where it runs straight. */
static void good_curves(double left, double right, double good[2])
{
    good[0] = left + good_place[0] * (right - left);
    good[1] = left + good_place[1] * (right - left);
}

void kp_surface_stress(const kp_plate *plate, const double *state, kp_disc_stress *out)
{
    strains node[KP_MAX_NODES];
    double good[2 * KP_MAX_NODES] = {[2] = 0, [3] = 0}; /* a single element has two */
    size_t elements = plate->nodes - 1;
    node[0] = at_node(plate, state, 0);
    for (size_t e = 0; e < elements; e++) {
        node[e + 1] = at_node(plate, state, e + 1);
        good_curves(node[e].curve, node[e + 1].curve, good + 2 * e);
    }
    const kp_sample *sample = plate->sample;
    for (size_t e = 0; e < elements; e++, sample += 2, out += 2) {
        const double *nearest = good + first_good(plate, e);
        strains middle = between(&node[e], &node[e + 1], plate->rho[e + 1] - plate->rho[e]);
        out[0] = surface(plate, &node[e], weighted(sample[0].curve, nearest), sample[0].turns);
        out[1] = surface(plate, &middle, weighted(sample[1].curve, nearest), sample[1].turns);
    }
    const double *nearest = good + first_good(plate, elements - 1);
    *out = surface(plate, &node[elements], weighted(sample->curve, nearest), sample->turns);
}

kp_disc_stress kp_surface_stress_at(const kp_plate *plate, const double *state, double rho)
{
    double n[4], d[4], lift[4], weight[4], good[4] = {0};
    size_t element = kp_plate_shape(plate, rho, n, lift);
    kp_plate_radial_shape(plate, element, rho, n, d);
    const double *q = state + KP_PAIR * element;
    strains at = {.slope = kp_plate_sum(lift, q), .pull = kp_plate_sum(d, q + 1), .stretch = kp_plate_sum(n, q + 1)};

    /* The four sampling points of the curvature nearest to the element's middle. */
    size_t first = first_good(plate, element);
    for (size_t k = 0; k < (plate->nodes < 3 ? 2 : 4); k++) {
        size_t e = (first + k) / 2;
        double two[2];
        good_curves(at_node(plate, state, e).curve, at_node(plate, state, e + 1).curve, two);
        good[k] = two[(first + k) % 2];
    }
    weigh(plate, element, rho, weight);

    return surface(plate, &at, weighted(weight, good), 1 / rho);
}
