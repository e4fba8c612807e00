/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stresses at the surfaces of a plate: at all its stress points at once, or at one radius.

   Curvature W''. A cubic's second derivative is linear in each element. At the superconvergent points (Barlow points),
   which are those of two-point Gauss quadrature, its error is an order smaller than elsewhere (Barlow, Int. J. Numer.
   Methods Eng. 10 (1976) 243, from memory). A cubic through the four Barlow points nearest to the element's middle
   gives the curvature everywhere. */
#include "plate/plate.h"

#include <math.h>

/* The Barlow points of an element of length 1: 1/2 -/+ 1/sqrt(12). [-] */
static const double barlow_point[2] = {0.21132486540518711775, 0.78867513459481288225};

/* Number of the first of an element's four nearest Barlow points, which are counted from the first element on. A plate
   of a single element has two only. */
static size_t first_barlow(const kp_plate *plate, size_t element)
{
    size_t elements = plate->nodes - 1;
    size_t first = element > 0 ? 2 * element - 1 : 0;
    return elements < 2 ? 0 : first + 4 > 2 * elements ? 2 * elements - 4 : first;
}

/* Lagrange weights at rho of the curvatures at an element's four nearest Barlow points. */
static void barlow_weights(const kp_plate *plate, size_t element, double rho, double weight[4])
{
    size_t count = plate->nodes < 3 ? 2 : 4;
    double x[4] = {0};

    for (size_t k = 0; k < count; k++) {
        size_t point = first_barlow(plate, element) + k, e = point / 2;
        x[k] = plate->rho[e] + barlow_point[point % 2] * (plate->rho[e + 1] - plate->rho[e]);
    }

    /* Missing points of a single element get no weight. */
    for (size_t i = 0; i < 4; i++) {
        double above = i < count ? 1 : 0, below = 1;
        for (size_t j = 0; j < count; j++) {
            above *= j == i ? 1 : rho - x[j];
            below *= j == i ? 1 : x[i] - x[j];
        }
        weight[i] = above / below;
    }
}

double kp_surface_radius(const kp_plate *plate, size_t k)
{
    double left = plate->rho[k / 2];

    return k % 2 == 0 ? left : left + 0.5 * (plate->rho[k / 2 + 1] - left);
}

void kp_surface_prepare(kp_plate *plate)
{
    for (size_t k = 0; k < kp_surface_count(plate); k++) {
        double rho = kp_surface_radius(plate, k);
        size_t element = k / 2 < plate->nodes - 1 ? k / 2 : plate->nodes - 2;
        barlow_weights(plate, element, rho, plate->stress_point[k].weight);
        /* Infinite at the centre of a full plate, whose stresses there are never the largest. */
        plate->stress_point[k].inverse_radius = 1 / rho;
        plate->stress_point[k].hoop = kp_plate_hoop(plate, rho);
    }
}

/* Derivatives of the displacements that the strains are made of. [-] */
typedef struct strains {
    double slope;        /* W'  */
    double curvature;    /* W'' */
    double radial_slope; /* U'  */
    double radial;       /* U   */
} strains;

static strains at_node(const kp_plate *plate, const double *state, size_t node)
{
    const double *q = state + KP_PAIR * node;
    const kp_nodal_splines *lift = &plate->lift_nodal[node], *radial = &plate->radial_nodal[node];
    return (strains){
        .slope = kp_nodal_sum(lift->slope, q),
        .curvature = kp_nodal_sum(lift->curvature, q),
        .radial_slope = kp_nodal_sum(radial->slope, q + 1),
        .radial = kp_nodal_sum(radial->value, q + 1),
    };
}

/* In the middle of an element of length h, by Hermite's cubics between its ends; curvature is left out. */
static strains at_middle(const strains *left, const strains *right, double h)
{
    return (strains){
        .slope = 0.5 * (left->slope + right->slope) + 0.125 * h * (left->curvature - right->curvature),
        .radial_slope = 1.5 / h * (right->radial - left->radial) - 0.25 * (left->radial_slope + right->radial_slope),
        .radial = 0.5 * (left->radial + right->radial) + 0.125 * h * (left->radial_slope - right->radial_slope),
    };
}

/* Surface stresses, over the unit, of plane stress: membrane strains e_r = U' + W'^2/2 and e_t = U/rho, and bending
   strains half a thickness times W'' and W'/rho. Between slots they are the mean of the metal. */
static inline kp_disc_stress surface(const kp_plate *plate, const strains *at, double curvature,
                                     const kp_stress_point *point)
{
    double nu = plate->nu;
    double half = 0.5 * plate->one_thickness;

    double radial = at->radial_slope + 0.5 * at->slope * at->slope;
    double hoop = point->hoop.stretched * at->radial * point->inverse_radius;
    double membrane_radial = radial + nu * hoop;
    double membrane_hoop = point->hoop.stretched * (hoop + nu * radial);

    double hoop_curvature = at->slope * point->inverse_radius;
    double bend_radial = half * point->hoop.radial * (curvature + nu * point->hoop.bent * hoop_curvature);
    double bend_hoop = half * point->hoop.radial * point->hoop.bent * (hoop_curvature + nu * curvature);

    return (kp_disc_stress){
        .piston_side_radial = membrane_radial + bend_radial,
        .piston_side_hoop = membrane_hoop + bend_hoop,
        .far_side_radial = membrane_radial - bend_radial,
        .far_side_hoop = membrane_hoop - bend_hoop,
    };
}

/* Curvature from those at four Barlow points. */
static double weighted(const double weight[4], const double *at)
{
    return (weight[0] * at[0] + weight[1] * at[1]) + (weight[2] * at[2] + weight[3] * at[3]);
}

/* Curvatures at an element's two Barlow points from those at its nodes, between which they are linear. */
static void barlow_curvatures(double left, double right, double out[2])
{
    out[0] = left + barlow_point[0] * (right - left);
    out[1] = left + barlow_point[1] * (right - left);
}

void kp_surface_stress(const kp_plate *plate, const double *state, kp_disc_stress *out)
{
    strains node[KP_MAX_NODES];
    double barlow[2 * KP_MAX_NODES] = {[2] = 0, [3] = 0}; /* curvatures; a single element has two */
    size_t elements = plate->nodes - 1;

    /* Displacement derivatives at the nodes, curvatures at the Barlow points. */
    node[0] = at_node(plate, state, 0);
    for (size_t e = 0; e < elements; e++) {
        node[e + 1] = at_node(plate, state, e + 1);
        barlow_curvatures(node[e].curvature, node[e + 1].curvature, barlow + 2 * e);
    }

    /* Stresses at each element's left node and middle, and at the last node. */
    const kp_stress_point *point = plate->stress_point;
    for (size_t e = 0; e < elements; e++, point += 2, out += 2) {
        const double *nearest = barlow + first_barlow(plate, e);
        strains middle = at_middle(&node[e], &node[e + 1], plate->rho[e + 1] - plate->rho[e]);
        out[0] = surface(plate, &node[e], weighted(point[0].weight, nearest), &point[0]);
        out[1] = surface(plate, &middle, weighted(point[1].weight, nearest), &point[1]);
    }
    const double *nearest = barlow + first_barlow(plate, elements - 1);
    *out = surface(plate, &node[elements], weighted(point->weight, nearest), point);
}

kp_disc_stress kp_surface_stress_at(const kp_plate *plate, const double *state, double rho)
{
    double n[4], d[4], lift[4], barlow[4] = {0};
    kp_stress_point point = {.inverse_radius = 1 / rho, .hoop = kp_plate_hoop(plate, rho)};
    size_t element = kp_plate_shape(plate, rho, n, lift);
    kp_plate_radial_shape(plate, element, rho, n, d);

    const double *q = state + KP_PAIR * element;
    strains at = {
        .slope = kp_plate_sum(lift, q), .radial_slope = kp_plate_sum(d, q + 1), .radial = kp_plate_sum(n, q + 1)};

    /* Curvatures at the four Barlow points nearest to the element's middle. */
    size_t first = first_barlow(plate, element);
    for (size_t k = 0; k < (plate->nodes < 3 ? 2 : 4); k++) {
        size_t e = (first + k) / 2;
        double two[2];
        barlow_curvatures(at_node(plate, state, e).curvature, at_node(plate, state, e + 1).curvature, two);
        barlow[k] = two[(first + k) % 2];
    }
    barlow_weights(plate, element, rho, point.weight);

    return surface(plate, &at, weighted(point.weight, barlow), &point);
}

/* ---- one field --------------------------------------------------------------------------------------------------- */

static kp_field_point field_at_node(const kp_plate *plate, const double *q, size_t node)
{
    const kp_nodal_splines *at = &plate->lift_nodal[node];
    q += KP_PAIR * node;
    return (kp_field_point){kp_nodal_sum(at->value, q), kp_nodal_sum(at->slope, q), kp_nodal_sum(at->curvature, q)};
}

void kp_surface_field(const kp_plate *plate, const double *q, kp_field_point *out)
{
    double barlow[2 * KP_MAX_NODES] = {[2] = 0, [3] = 0};
    size_t elements = plate->nodes - 1;
    out[0] = field_at_node(plate, q, 0);
    for (size_t e = 0; e < elements; e++) {
        kp_field_point left = out[2 * e], right = field_at_node(plate, q, e + 1);
        double h = plate->rho[e + 1] - plate->rho[e];
        barlow_curvatures(left.curvature, right.curvature, barlow + 2 * e);
        out[2 * e + 1] = (kp_field_point){
            .value = 0.5 * (left.value + right.value) + 0.125 * h * (left.slope - right.slope),
            .slope = 0.5 * (left.slope + right.slope) + 0.125 * h * (left.curvature - right.curvature),
        };
        out[2 * e + 2] = right;
    }
    for (size_t k = 0; k < kp_surface_count(plate); k++) {
        size_t element = k / 2 < elements ? k / 2 : elements - 1;
        out[k].curvature = weighted(plate->stress_point[k].weight, barlow + first_barlow(plate, element));
    }
}

kp_field_point kp_surface_field_at(const kp_plate *plate, const double *q, double rho)
{
    double n[4], d[4], weight[4], barlow[4] = {0};
    size_t element = kp_plate_shape(plate, rho, n, d), first = first_barlow(plate, element);
    for (size_t k = 0; k < (plate->nodes < 3 ? 2 : 4); k++) {
        size_t e = (first + k) / 2;
        double two[2];
        barlow_curvatures(field_at_node(plate, q, e).curvature, field_at_node(plate, q, e + 1).curvature, two);
        barlow[k] = two[(first + k) % 2];
    }
    barlow_weights(plate, element, rho, weight);
    q += KP_PAIR * element;
    return (kp_field_point){kp_plate_sum(n, q), kp_plate_sum(d, q), weighted(weight, barlow)};
}
