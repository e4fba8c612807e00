/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Annular plate of any edges, small deflection: what the handbook says.
   Source: Roark's Formulas for Stress and Strain, table 11.2. The state at radius r follows from the state at the inner
   edge b and the load between:
       y     = y_b + theta_b r F1 + M_b r^2 F2/D + Q_b r^3 F3/D - load term
       theta =       theta_b F4   + M_b r F5/D   + Q_b r^2 F6/D - load term
       M     =       theta_b D F7/r + M_b F8     + Q_b r F9     - load term
       Q     =                                     Q_b b/r      - load term
   The edge conditions at both edges give the four unknowns. C1..C9 and L11, L14 read in open codes that restate the
   table; L3, L6, L9, L17 and the use of G for F in the load terms from memory, verified against a second method.
   Roark counts deflection against the load; here a lift along the load is positive. */
#include "plate/plate.h"

#include <math.h>

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

/* y, theta, M, Q (theta and M over what they are in Roark's units). */
typedef struct plate_state {
    double y, theta, moment, shear;
} plate_state;

/* What the load between the inner edge and r takes off. */
static plate_state ring_terms(double r0, double r, double nu, double rigidity, double w)
{
    if (r < r0) { /* at r0 the shear has already jumped: an outer edge that carries the ring sees it */
        return (plate_state){0};
    }
    influence g = influence_of(r0, r, nu);
    return (plate_state){w * r * r * r * g.f3 / rigidity, w * r * r * g.f6 / rigidity, w * r * g.f9, w * r0 / r};
}

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

/* The two unknowns that an inner edge leaves, as unit states. */
static void inner_unknowns(kp_edge edge, double rigidity, double b, plate_state unit[2])
{
    /* Scaled so that both units bend the plate alike. */
    plate_state y = {.y = b};
    plate_state theta = {.theta = 1};
    plate_state moment = {.moment = rigidity / b};
    plate_state shear = {.shear = rigidity / (b * b)};
    unit[0] = edge == KP_EDGE_FREE || edge == KP_EDGE_GUIDED ? y : shear;
    unit[1] = edge == KP_EDGE_FREE || edge == KP_EDGE_SUPPORTED ? theta : moment;
}

static void outer_conditions(kp_edge edge, double rigidity, double a, plate_state s, double out[2])
{
    out[0] = edge == KP_EDGE_FREE || edge == KP_EDGE_GUIDED ? s.shear * a * a / rigidity : s.y / a;
    out[1] = edge == KP_EDGE_FREE || edge == KP_EDGE_SUPPORTED ? s.moment * a / rigidity : s.theta;
}

static kp_status check(const kp_plate_case *c, double r, double *rigidity, kp_error *error)
{
    double nu = c->material.poisson;
    double b = c->inner_radius;
    double a = c->outer_radius;
    bool plate = b > 0 && a > b && isfinite(a) && nu >= 0 && nu <= 0.5;
    bool load = c->load_from >= b && c->load_to >= c->load_from && c->load_to <= a && r >= b && r <= a;
    double d = c->material.young * c->thickness * c->thickness * c->thickness / (12 * (1 - nu * nu));
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

kp_status kp_plate_small(const kp_plate_case *c, double load, double r, kp_plate_answer *out, kp_error *error)
{
    double rigidity = 0;
    kp_status status = check(c, r, &rigidity, error);
    if (status != KP_OK) {
        return status;
    }
    plate_state unit[2];
    inner_unknowns(c->inner, rigidity, c->inner_radius, unit);
    double a = c->outer_radius;
    double m[2][2], rest[2], column[2];
    outer_conditions(c->outer, rigidity, a, state_at(c, rigidity, (plate_state){0}, load, a), rest);
    for (int k = 0; k < 2; k++) {
        outer_conditions(c->outer, rigidity, a, state_at(c, rigidity, unit[k], 0, a), column);
        m[0][k] = column[0];
        m[1][k] = column[1];
    }
    double det = m[0][0] * m[1][1] - m[0][1] * m[1][0];
    if (!(fabs(det) > 1e-13 * (fabs(m[0][0] * m[1][1]) + fabs(m[0][1] * m[1][0])))) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "plate: no edge is supported or fixed: nothing carries the load");
    }
    double x = (rest[1] * m[0][1] - rest[0] * m[1][1]) / det;
    double z = (rest[0] * m[1][0] - rest[1] * m[0][0]) / det;
    plate_state inner = {x * unit[0].y + z * unit[1].y, x * unit[0].theta + z * unit[1].theta,
                         x * unit[0].moment + z * unit[1].moment, x * unit[0].shear + z * unit[1].shear};
    plate_state s = state_at(c, rigidity, inner, load, r);
    if (!isfinite(s.y) || !isfinite(s.moment)) {
        return kp_error_set(error, KP_NOT_FINITE, "plate: no finite answer at radius %g m", r);
    }
    *out = (kp_plate_answer){.lift = -s.y, .slope = -s.theta, .radial_moment = s.moment, .shear = s.shear};
    return KP_OK;
}

/* A shim's edges: inner fixed, outer free. */
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
