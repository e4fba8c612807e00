/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Oil: viscosity against temperature by ASTM D341, density by cubical expansion.

   ASTM D341 (Walther), nu in mm2/s, T in K:
       log10 log10 Z = A - B log10 T,     Z = nu + 0.7 + exp(-1.47 - 1.84 nu - 0.51 nu^2).
   The exponential matters below 2 mm2/s only (1e-11 of Z at 5 mm2/s); it is always kept, so that no step stands at
   2 mm2/s. The standard gives a fitted inverse for nu(Z); here Z(nu) is inverted by Newton's method instead, so that
   the two given points come back to rounding.
   Source: the equation of Z as restated; ASTM D341 itself was not read. */
#include "kneepoint/fluid.h"

#include <math.h>

static const double KELVIN = 273.15; /* [K] at 0 degC */
static const double MM2_PER_M2 = 1e6;
/* ASTM D341's equation is stated for 0.21 mm2/s and up (from memory); at 0.12 mm2/s the double logarithm ends. */
static const double VISCOSITY_MIN = 0.21e-6; /* [m2/s] */
/* Guards the logarithms: above this an oil no longer flows through a damper. */
static const double VISCOSITY_MAX = 10.0; /* [m2/s] */

/* Z and dZ/dnu. */
static double z_of_viscosity(double nu_mm2, double *slope)
{
    double tail = exp(-1.47 - 1.84 * nu_mm2 - 0.51 * nu_mm2 * nu_mm2);
    *slope = 1 + tail * (-1.84 - 1.02 * nu_mm2);
    return nu_mm2 + 0.7 + tail;
}

static double walther(double nu)
{
    double slope;
    return log10(log10(z_of_viscosity(nu * MM2_PER_M2, &slope)));
}

/* Z(nu) is convex with a slope between 0.58 and 1 for nu >= 0, so Newton from Z - 0.7 (right of the root) converges
   from one side: six steps reach rounding even at 0.21 mm2/s. */
static double viscosity_of_z(double z)
{
    enum { STEPS = 8 };
    double nu = z - 0.7;
    for (int i = 0; i < STEPS; i++) {
        double slope;
        double value = z_of_viscosity(nu, &slope);
        nu -= (value - z) / slope;
    }
    return nu / MM2_PER_M2;
}

static kp_status check_viscosity(const kp_oil *oil, double temperature, kp_error *error)
{
    double t1 = oil->temperature_1, t2 = oil->temperature_2, v1 = oil->viscosity_1, v2 = oil->viscosity_2;

    if (!(temperature > 0) || !isfinite(temperature)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "oil: temperature %g K must be above 0 K", temperature);
    }

    /* Two temperatures, a viscosity that falls from the colder to the warmer, and both in the range of the equation. */
    bool apart = t1 > 0 && t2 > 0 && t1 != t2 && isfinite(t1) && isfinite(t2);
    bool falls = (t1 < t2) == (v1 > v2) && v1 != v2;
    bool inside = v1 >= VISCOSITY_MIN && v2 >= VISCOSITY_MIN && v1 <= VISCOSITY_MAX && v2 <= VISCOSITY_MAX;

    if (apart && falls && inside) {
        return KP_OK;
    }

    return kp_error_set(
        error, KP_OUT_OF_RANGE,
        "oil: viscosity %g mm2/s at %.6g degC and %g mm2/s at %.6g degC: need two temperatures, the lower "
        "viscosity at the higher one, and %g to %g mm2/s",
        v1 * MM2_PER_M2, t1 - KELVIN, v2 * MM2_PER_M2, t2 - KELVIN, VISCOSITY_MIN * MM2_PER_M2,
        VISCOSITY_MAX * MM2_PER_M2);
}

kp_status kp_oil_viscosity(const kp_oil *oil, double temperature, double *viscosity, kp_error *error)
{
    kp_status status = check_viscosity(oil, temperature, error);
    if (status != KP_OK) {
        return status;
    }

    /* Walther's line: log10 log10 Z is straight against log10 T through both points. */
    double w1 = walther(oil->viscosity_1), w2 = walther(oil->viscosity_2);
    double x1 = log10(oil->temperature_1), x2 = log10(oil->temperature_2);
    double w = w1 + (w2 - w1) * (log10(temperature) - x1) / (x2 - x1);
    double nu = viscosity_of_z(pow(10, pow(10, w)));

    if (!(nu >= VISCOSITY_MIN) || !(nu <= VISCOSITY_MAX)) {
        bool thin = nu < VISCOSITY_MIN; /* the other end may be too large for a double */
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "oil: at %.6g degC its two viscosity points lead to %s than %g mm2/s, the end of the "
                            "equation's range: give points nearer to that temperature",
                            temperature - KELVIN, thin ? "less" : "more",
                            (thin ? VISCOSITY_MIN : VISCOSITY_MAX) * MM2_PER_M2);
    }

    *viscosity = nu;
    return KP_OK;
}

kp_status kp_oil_density(const kp_oil *oil, double temperature, double *density, kp_error *error)
{
    double volume_ratio = 1 + oil->expansion * (temperature - oil->density_temperature);
    if (!(oil->density > 0) || !(temperature > 0) || !(volume_ratio > 0) || !isfinite(volume_ratio) ||
        !isfinite(oil->density)) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "oil: density %g kg/m3 at %.6g degC with expansion %g 1/K has no value at %.6g degC",
                            oil->density, oil->density_temperature - KELVIN, oil->expansion, temperature - KELVIN);
    }

    *density = oil->density / volume_ratio;
    return KP_OK;
}
