/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Node positions along the radius: fine at the clamp, where a shim in tension bends in a narrow ring (of width
   sqrt(D/N_r), a tenth of the span at 3 MPa), coarser outward, and a node wherever the load or a neighbour begins or
   ends. */
#include "plate/plate.h"

#include <math.h>

/* Elements between two breakpoints may be longer than the rule by up to this fraction of one element, shared by all of
   them: it saves an element where the remainder is small. [-] */
static const double REMAINDER = 0.25;

double kp_mesh_size(const kp_mesh_rule *rule, double rho)
{
    double x = (rho - rule->clamp) / rule->reach;
    return x >= 1 ? rule->coarsest : rule->finest + (rule->coarsest - rule->finest) * (x > 0 ? x : 0);
}

/* Number of elements between the clamp and rho, as a real number: the integral of 1/size. */
static double elements_to(const kp_mesh_rule *rule, double rho)
{
    double slope = (rule->coarsest - rule->finest) / rule->reach;
    double x = rho - rule->clamp;

    if (x <= 0) { /* a smaller shim clamps further in: finest there */
        return x / rule->finest;
    }

    /* Graded up to reach, uniform beyond. */
    double graded = x < rule->reach ? x : rule->reach;
    double count = slope > 0 ? log1p(slope * graded / rule->finest) / slope : graded / rule->finest;
    return x > rule->reach ? count + (x - rule->reach) / rule->coarsest : count;
}

/* Radius with that many elements between it and the clamp: the inverse of elements_to. */
static double radius_at(const kp_mesh_rule *rule, double count)
{
    if (count <= 0) {
        return rule->clamp + count * rule->finest;
    }

    double slope = (rule->coarsest - rule->finest) / rule->reach;
    double graded = elements_to(rule, rule->clamp + rule->reach);
    if (count > graded) {
        return rule->clamp + rule->reach + (count - graded) * rule->coarsest;
    }

    return rule->clamp + (slope > 0 ? rule->finest * expm1(slope * count) / slope : count * rule->finest);
}

size_t kp_mesh_nodes(const kp_mesh_rule *rule, size_t breakpoints, const double *at, size_t capacity, double *nodes)
{
    size_t count = 0;
    nodes[count++] = at[0];

    for (size_t k = 0; k + 1 < breakpoints; k++) {
        double from = elements_to(rule, at[k]);
        double to = elements_to(rule, at[k + 1]);
        size_t parts = (size_t)fmax(1, ceil(to - from - REMAINDER));
        /* The same number of the rule's elements in each part. */
        for (size_t i = 1; i < parts && count < capacity; i++) {
            nodes[count++] = radius_at(rule, from + (to - from) * (double)i / (double)parts);
        }
        if (count < capacity) {
            nodes[count++] = at[k + 1];
        }
    }

    return count;
}
