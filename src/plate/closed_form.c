/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Annular plate of any edges, small deflection, in closed form.

   Source: Roark's Formulas for Stress and Strain, table 11.2. The state at radius r follows from the state at the inner
   edge b and the load between:
       y     = y_b + theta_b r F1 + M_b r^2 F2/D + Q_b r^3 F3/D - load term
       theta =       theta_b F4   + M_b r F5/D   + Q_b r^2 F6/D - load term
       M     =       theta_b D F7/r + M_b F8     + Q_b r F9     - load term
       Q     =                                     Q_b b/r      - load term
   Two conditions at each edge give the four unknowns. C1..C9, L11 and L14 are from restatements of the table; L3, L6,
   L9, L17 and the use of G for F in the load terms are from memory, and were verified against a second method.
   Roark counts deflection against the load; here a lift along the load is positive. */
#include "plate/plate.h"

#include <math.h>

/* A determinant below this fraction of its terms is zero to rounding: a rigid displacement is left free. [-] */
static const double DETERMINANT_MIN = 1e-13;

/* Influence functions between a radius c (inner edge, or where the load begins) and r >= c. */
typedef struct influence {
    double f1, f2, f3, f4, f5, f6, f7, f8, f9;
} influence;

static influence influence_of(double c, double r, double nu)
{
    double x = c / r;
    double x2 = x * x;
    double l = log(r / c);

    return (influence){
        .f1 = (1 + nu) / 2 * x * l + (1 - nu) / 4 * (1 / x - x),
        .f2 = (1 - x2 * (1 + 2 * l)) / 4,
        .f3 = x / 4 * ((x2 + 1) * l + x2 - 1),
        .f4 = ((1 + nu) * x + (1 - nu) / x) / 2,
        .f5 = (1 - x2) / 2,
        .f6 = x / 4 * (x2 - 1 + 2 * l),
        .f7 = (1 - nu * nu) / 2 * (1 / x - x),
        .f8 = (1 + nu + (1 - nu) * x2) / 2,
        .f9 = x * ((1 + nu) / 2 * l + (1 - nu) / 4 * (1 - x2)),
    };
}

/* y [m], theta [-], M [N], Q [N/m], with Roark's signs. */
typedef struct plate_state {
    double y, theta, moment, shear;
} plate_state;

/* Load terms at r of a line load w [N/m] at r0. */
static plate_state ring_terms(double r0, double r, double nu, double rigidity, double w)
{
    if (r < r0) { /* at r0 the shear has already jumped, which an outer edge under the load must carry */
        return (plate_state){0};
    }

    influence g = influence_of(r0, r, nu);
    return (plate_state){w * r * r * r * g.f3 / rigidity, w * r * r * g.f6 / rigidity, w * r * g.f9, w * r0 / r};
}

/* Load terms at r of a pressure q [Pa] from r0 outward. */
static plate_state pressure_terms(double r0, double r, double nu, double rigidity, double q)
{
    if (r <= r0) {
        return (plate_state){0};
    }

    double x2 = r0 * r0 / (r * r);
    double l = log(r / r0);
    double g11 = (1 + 4 * x2 - 5 * x2 * x2 - 4 * x2 * (2 + x2) * l) / 64;
    double g14 = (1 - x2 * x2 - 4 * x2 * l) / 16;
    double g17 = (1 - (1 - nu) / 4 * (1 - x2 * x2) - x2 * (1 + (1 + nu) * l)) / 4;

    double r2 = r * r;
    return (plate_state){q * r2 * r2 * g11 / rigidity, q * r2 * r * g14 / rigidity, q * r2 * g17,
                         q * (r2 - r0 * r0) / (2 * r)};
}

/* Load terms at r. A pressure between two radii is the difference of two that reach outward without end. */
static plate_state load_terms(const kp_plate_case *c, double rigidity, double load, double r)
{
    double nu = c->material.poisson;
    if (c->load_from == c->load_to) {
        return ring_terms(c->load_from, r, nu, rigidity, load);
    }

    plate_state a = pressure_terms(c->load_from, r, nu, rigidity, load);
    plate_state b = pressure_terms(c->load_to, r, nu, rigidity, load);
    return (plate_state){a.y - b.y, a.theta - b.theta, a.moment - b.moment, a.shear - b.shear};
}

/* The four equations above. */
static plate_state state_at(const kp_plate_case *c, double rigidity, plate_state at_inner, double load, double r)
{
    double b = c->inner_radius;
    influence f = influence_of(b, r, c->material.poisson);
    plate_state l = load_terms(c, rigidity, load, r);

    return (plate_state){
        .y = at_inner.y + at_inner.theta * r * f.f1 + at_inner.moment * r * r * f.f2 / rigidity +
             at_inner.shear * r * r * r * f.f3 / rigidity - l.y,
        .theta = at_inner.theta * f.f4 + at_inner.moment * r * f.f5 / rigidity +
                 at_inner.shear * r * r * f.f6 / rigidity - l.theta,
        .moment = at_inner.theta * rigidity / r * f.f7 + at_inner.moment * f.f8 + at_inner.shear * r * f.f9 - l.moment,
        .shear = at_inner.shear * b / r - l.shear,
    };
}

/* Unit states of the two unknowns that the inner edge leaves, scaled so that both bend the plate alike. */
static void inner_unknowns(kp_edge edge, double rigidity, double b, plate_state unit[2])
{
    plate_state y = {.y = b};
    plate_state theta = {.theta = 1};
    plate_state moment = {.moment = rigidity / b};
    plate_state shear = {.shear = rigidity / (b * b)};

    unit[0] = edge == KP_EDGE_FREE || edge == KP_EDGE_GUIDED ? y : shear;
    unit[1] = edge == KP_EDGE_FREE || edge == KP_EDGE_SUPPORTED ? theta : moment;
}

/* The two quantities that the outer edge holds at zero. [-] */
static void outer_conditions(kp_edge edge, double rigidity, double a, plate_state s, double out[2])
{
    out[0] = edge == KP_EDGE_FREE || edge == KP_EDGE_GUIDED ? s.shear * a * a / rigidity : s.y / a;
    out[1] = edge == KP_EDGE_FREE || edge == KP_EDGE_SUPPORTED ? s.moment * a / rigidity : s.theta;
}

/* Checks the case; Returned: the plate's rigidity D [N m]. */
static kp_status check(const kp_plate_case *c, double r, double *rigidity, kp_error *error)
{
    double nu = c->material.poisson;
    double b = c->inner_radius;
    double a = c->outer_radius;

    bool plate = b > 0 && a > b && isfinite(a) && nu >= 0 && nu <= 0.5;
    bool load = c->load_from >= b && c->load_to >= c->load_from && c->load_to <= a && r >= b && r <= a;
    double d = c->material.young * c->thickness * c->thickness * c->thickness / (12 * (1 - nu * nu));

    /* Written so that a NaN is refused. */
    if (!plate || !load || !(d > 0) || !isfinite(d)) {
        return kp_error_set(
            error, KP_OUT_OF_RANGE,
            "plate: radii %g to %g m, thickness %g m, E %g Pa, nu %g, load from %g to %g m, looked at %g "
            "m: need 0 < inner <= load and place <= outer, inner < outer, the rest positive, nu <= 0.5",
            b, a, c->thickness, c->material.young, nu, c->load_from, c->load_to, r);
    }

    *rigidity = d;
    return KP_OK;
}

/* State at the inner edge, from the conditions at the outer one. */
static kp_status inner_state(const kp_plate_case *c, double rigidity, double load, plate_state *out, kp_error *error)
{
    plate_state unit[2];

    inner_unknowns(c->inner, rigidity, c->inner_radius, unit);

    /* The outer conditions are linear in the two unknowns: m . (x, z) + rest = 0. */
    double a = c->outer_radius;
    double m[2][2], rest[2], column[2];
    outer_conditions(c->outer, rigidity, a, state_at(c, rigidity, (plate_state){0}, load, a), rest);
    for (int k = 0; k < 2; k++) {
        outer_conditions(c->outer, rigidity, a, state_at(c, rigidity, unit[k], 0, a), column);
        m[0][k] = column[0];
        m[1][k] = column[1];
    }

    /* Cramer's rule. */
    double det = m[0][0] * m[1][1] - m[0][1] * m[1][0];
    if (!(fabs(det) > DETERMINANT_MIN * (fabs(m[0][0] * m[1][1]) + fabs(m[0][1] * m[1][0])))) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "plate: no edge is supported or fixed: nothing carries the load");
    }
    double x = (rest[1] * m[0][1] - rest[0] * m[1][1]) / det;
    double z = (rest[0] * m[1][0] - rest[1] * m[0][0]) / det;
    *out = (plate_state){x * unit[0].y + z * unit[1].y, x * unit[0].theta + z * unit[1].theta,
                         x * unit[0].moment + z * unit[1].moment, x * unit[0].shear + z * unit[1].shear};
    return KP_OK;
}

kp_status kp_plate_small(const kp_plate_case *c, double load, double r, kp_plate_answer *out, kp_error *error)
{
    double rigidity = 0;
    plate_state inner = {0};
    kp_status status = check(c, r, &rigidity, error);
    status = status == KP_OK ? inner_state(c, rigidity, load, &inner, error) : status;
    if (status != KP_OK) {
        return status;
    }

    /* From there outward to r. */
    plate_state s = state_at(c, rigidity, inner, load, r);
    if (!isfinite(s.y) || !isfinite(s.moment)) {
        return kp_error_set(error, KP_NOT_FINITE, "plate: no finite answer at radius %g m", r);
    }

    *out = (kp_plate_answer){.lift = -s.y, .slope = -s.theta, .radial_moment = s.moment, .shear = s.shear};
    return KP_OK;
}

/* A shim: inner edge fixed, outer edge free. */
static kp_plate_case shim_case(double outer_radius, double clamp_radius, double thickness, kp_material material,
                               double from, double to)
{
    return (kp_plate_case){.outer_radius = outer_radius,
                           .inner_radius = clamp_radius,
                           .thickness = thickness,
                           .material = material,
                           .inner = KP_EDGE_FIXED,
                           .outer = KP_EDGE_FREE,
                           .load_from = from,
                           .load_to = to};
}

kp_status kp_plate_ring_lift(double outer_radius, double clamp_radius, double thickness, kp_material material,
                             double load_radius, double line_load, double r, double *lift, kp_error *error)
{
    kp_plate_case c = shim_case(outer_radius, clamp_radius, thickness, material, load_radius, load_radius);
    kp_plate_answer answer = {0};
    kp_status status = kp_plate_small(&c, line_load, r, &answer, error);
    if (status == KP_OK) {
        *lift = answer.lift;
    }
    return status;
}

kp_status kp_plate_pressure_lift(double outer_radius, double clamp_radius, double thickness, kp_material material,
                                 double from, double to, double pressure, double r, double *lift, kp_error *error)
{
    kp_plate_case c = shim_case(outer_radius, clamp_radius, thickness, material, from, to);
    kp_plate_answer answer = {0};
    kp_status status = kp_plate_small(&c, pressure, r, &answer, error);
    if (status == KP_OK) {
        *lift = answer.lift;
    }
    return status;
}
