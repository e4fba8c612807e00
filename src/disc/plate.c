/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Annular plate, inner edge fixed, outer edge free, small deflection: what the
   handbook says. Source: Roark's Formulas for Stress and Strain, table 11.2,
   cases 1l and 2l: constants C and F read in open codes that restate them, L3,
   L6, L9, L17 and the form of G3 from memory and verified against a second
   method. Roark counts deflection against the load; here a lift along the load
   is positive. */
#include "kneepoint/disc.h"

#include <math.h>

typedef struct annulus {
  double a, b, nu; /* outer and clamp radius [m], Poisson's ratio */
} annulus;

static double constant_8(annulus p) {
  double x = p.b / p.a;
  return 0.5 * (1 + p.nu + (1 - p.nu) * x * x);
}

static double constant_9(annulus p) {
  double x = p.b / p.a;
  return x * ((1 + p.nu) / 2 * log(p.a / p.b) + (1 - p.nu) / 4 * (1 - x * x));
}

static double function_2(double b, double r) {
  double x = b / r;
  return 0.25 * (1 - x * x * (1 + 2 * log(r / b)));
}

/* L3, G3 and F3 are one function: of the load (or inner) radius over the radius
 * looked at. */
static double function_3(double r0, double r) {
  double x = r0 / r;
  return x / 4 * ((x * x + 1) * log(r / r0) + x * x - 1);
}

static double function_9(annulus p, double r0) {
  double x = r0 / p.a;
  return x * ((1 + p.nu) / 2 * log(p.a / r0) + (1 - p.nu) / 4 * (1 - x * x));
}

static double function_11(double r0, double r) {
  double x = r0 / r;
  double x2 = x * x;
  return (1 + 4 * x2 - 5 * x2 * x2 - 4 * x2 * (2 + x2) * log(r / r0)) / 64;
}

static double function_17(annulus p, double r0) {
  double x = r0 / p.a;
  double x2 = x * x;
  return 0.25 * (1 - (1 - p.nu) / 4 * (1 - x2 * x2) -
                 x2 * (1 + (1 + p.nu) * log(p.a / r0)));
}

/* Radial moment and shear at the clamp, Roark's signs. */
typedef struct reactions {
  double moment; /* [N]    per unit length */
  double shear;  /* [N/m] */
} reactions;

static reactions ring_reactions(annulus p, double r0, double w) {
  return (reactions){
      .moment = -w * p.a / constant_8(p) *
                (r0 / p.b * constant_9(p) - function_9(p, r0)),
      .shear = w * r0 / p.b,
  };
}

static reactions pressure_reactions(annulus p, double r0, double q) {
  double span = p.a * p.a - r0 * r0;
  return (reactions){
      .moment = -q * p.a * p.a / constant_8(p) *
                (constant_9(p) * span / (2 * p.a * p.b) - function_17(p, r0)),
      .shear = q * span / (2 * p.b),
  };
}

static double deflection(annulus p, double rigidity, reactions at, double r) {
  return (at.moment * r * r * function_2(p.b, r) +
          at.shear * r * r * r * function_3(p.b, r)) /
         rigidity;
}

static kp_status check(annulus p, double from, double to, double r,
                       kp_error *error) {
  bool plate =
      p.b > 0 && p.a > p.b && isfinite(p.a) && p.nu >= 0 && p.nu <= 0.5;
  bool load = from >= p.b && to >= from && to <= p.a && r >= p.b && r <= p.a;
  if (plate && load) {
    return KP_OK;
  }
  return kp_error_set(error, KP_OUT_OF_RANGE,
                      "plate: outer radius %g m, clamp %g m, nu %g, load from "
                      "%g to %g m, looked at %g m: need "
                      "0 < clamp <= load and place <= outer radius, clamp < "
                      "outer radius, 0 <= nu <= 0.5",
                      p.a, p.b, p.nu, from, to, r);
}

static kp_status rigidity_of(double thickness, kp_material material,
                             double *rigidity, kp_error *error) {
  double d = material.young * thickness * thickness * thickness /
             (12 * (1 - material.poisson * material.poisson));
  if (!(d > 0) || !isfinite(d)) {
    return kp_error_set(
        error, KP_OUT_OF_RANGE,
        "plate: thickness %g m and Young's modulus %g Pa must be positive",
        thickness, material.young);
  }
  *rigidity = d;
  return KP_OK;
}

kp_status kp_plate_ring_lift(double outer_radius, double clamp_radius,
                             double thickness, kp_material material,
                             double load_radius, double line_load, double r,
                             double *lift, kp_error *error) {
  annulus p = {outer_radius, clamp_radius, material.poisson};
  double rigidity = 0;
  kp_status status = check(p, load_radius, load_radius, r, error);
  if (status == KP_OK) {
    status = rigidity_of(thickness, material, &rigidity, error);
  }
  if (status != KP_OK) {
    return status;
  }
  double y =
      deflection(p, rigidity, ring_reactions(p, load_radius, line_load), r);
  if (r > load_radius) {
    y -= line_load * r * r * r * function_3(load_radius, r) / rigidity;
  }
  *lift = -y;
  return KP_OK;
}

/* Pressure from r0 to the outer edge. */
static double outward_pressure_lift(annulus p, double rigidity, double r0,
                                    double q, double r) {
  double y = deflection(p, rigidity, pressure_reactions(p, r0, q), r);
  if (r > r0) {
    y -= q * r * r * r * r * function_11(r0, r) / rigidity;
  }
  return -y;
}

kp_status kp_plate_pressure_lift(double outer_radius, double clamp_radius,
                                 double thickness, kp_material material,
                                 double from, double to, double pressure,
                                 double r, double *lift, kp_error *error) {
  annulus p = {outer_radius, clamp_radius, material.poisson};
  double rigidity = 0;
  kp_status status = check(p, from, to, r, error);
  if (status == KP_OK) {
    status = rigidity_of(thickness, material, &rigidity, error);
  }
  if (status != KP_OK) {
    return status;
  }
  *lift = outward_pressure_lift(p, rigidity, from, pressure, r) -
          outward_pressure_lift(p, rigidity, to, pressure, r);
  return KP_OK;
}

kp_status kp_plate_ring_moment(double outer_radius, double clamp_radius,
                               double poisson, double load_radius,
                               double line_load, double *moment,
                               kp_error *error) {
  annulus p = {outer_radius, clamp_radius, poisson};
  kp_status status = check(p, load_radius, load_radius, clamp_radius, error);
  if (status == KP_OK) {
    *moment = -ring_reactions(p, load_radius, line_load).moment;
  }
  return status;
}

kp_status kp_plate_pressure_moment(double outer_radius, double clamp_radius,
                                   double poisson, double from, double to,
                                   double pressure, double *moment,
                                   kp_error *error) {
  annulus p = {outer_radius, clamp_radius, poisson};
  kp_status status = check(p, from, to, clamp_radius, error);
  if (status == KP_OK) {
    *moment = pressure_reactions(p, to, pressure).moment -
              pressure_reactions(p, from, pressure).moment;
  }
  return status;
}
