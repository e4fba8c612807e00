/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The curve of the rise through a table's points.

   At small lift a stack resists by bending, and the lift is proportional to the load; at large lift by membrane
   tension, and the lift is proportional to the load's cube root. p = k y + k3 y^3 describes most of it, and is the
   reference. The correction, ln of the rise over that reference, changes so little with ln p that a cubic with the
   exact slopes of points a factor of 2.6 apart is good to 1e-4. What remains are kinks, where shims, seat or stop come
   into contact; verify.c finds them. */
#include "lift/lift_internal.h"

#include <math.h>

/* Largest power of a reference: a little less than that of a straight line, whose reference lift would be infinite.
   [-] */
static const double POWER_STRAIGHT = 0.999;
/* Largest correction of a start interval, beyond which it is not used. [-] of the rise */
static const double START_CORRECTION_MAX = 0.0035;
/* The compliance at zero load is used up to this multiple of the first point's secant; a larger one belongs to contacts
   that close before that point. [-] */
static const double COMPLIANCE_MAX = 3;

/* ---- the reference ----------------------------------------------------------------------------------------------- */

/* x = rise/lift at which a reference has that power m = (1 + x^2)/(1 + 3 x^2). */
static double ratio_of(double power)
{
    double m = fmin(fmax(power, KP_POWER_MEMBRANE), POWER_STRAIGHT);
    return sqrt((1 - m) / (3 * m - 1));
}

kp_lift_reference kp_lift_reference_through(double pressure, double rise, double power)
{
    double x = ratio_of(power);
    return (kp_lift_reference){.pressure = pressure / (x + x * x * x), .lift = rise / x};
}

double kp_lift_reference_pressure(const kp_lift_reference *reference, double rise)
{
    double x = rise / reference->lift;
    return reference->pressure * (x + x * x * x);
}

/* Rise and power of the reference. x + x^3 = p/P has the root x = 2/sqrt(3) sinh(asinh(3 sqrt(3)/2 p/P)/3). */
static double reference_at(const kp_lift_reference *reference, double pressure, double *power)
{
    double x = 2 / sqrt(3) * sinh(asinh(1.5 * sqrt(3) * pressure / reference->pressure) / 3);
    *power = (1 + x * x) / (1 + 3 * x * x);
    return reference->lift * x;
}

void kp_lift_set_correction(const kp_lift_table *t, kp_lift_node *node)
{
    double power;
    node->log_pressure = log(node->pressure);
    node->reference = reference_at(&t->reference, node->pressure, &power);
    node->correction = log(node->rise / node->reference);
    node->correction_slope = node->power - power;
}

/* ---- intervals --------------------------------------------------------------------------------------------------- */

/* Rational quadratic, monotone for all end slopes >= 0. Arguments and result as of kp_hermite_cubic. Source: Gregory
   and Delbourgo, IMA J. Numer. Anal. 2 (1982) 123 (from memory). */
static kp_cubic rational_at(double width, double rise, double left, double right, double s)
{
    double secant = rise / width;
    if (!(secant > 0)) {
        return (kp_cubic){0, 0};
    }

    double bow = s * (1 - s);
    double below = secant + (left + right - 2 * secant) * bow;
    double slope = secant * secant * (right * s * s + 2 * secant * bow + left * (1 - s) * (1 - s)) / (below * below);

    return (kp_cubic){rise * (secant * s * s + left * bow) / below, slope};
}

/* Slope at zero load: the compliance where it is known and credible, else the secant to the first point. */
static double start_slope(const kp_lift_table *t, const kp_lift_node *first)
{
    double secant = first->rise / first->pressure;
    return t->compliance > 0 && t->compliance < COMPLIANCE_MAX * secant ? t->compliance : secant;
}

/* rise = reference e^c (1 + bend (1 - u)^2 - tilt u (1 - u)), u = p/p1, with c the correction at the first point p1.
   bend and tilt give the slope at zero load and the power at p1 their values. Both terms begin in proportion to the
   load, because that is how the contact radius of tilted faces moves outward. */
double kp_lift_start_rise(const kp_lift_table *t, const kp_lift_node *first, double pressure, double *slope)
{
    double power;
    double reference = reference_at(&t->reference, pressure, &power);
    double u = pressure / first->pressure;
    double w = 1 - u;

    double lifted = exp(first->correction);
    double bend = start_slope(t, first) * t->reference.pressure / (t->reference.lift * lifted) - 1;
    double tilt = first->correction_slope;

    /* The last factor and its derivative by u. */
    double factor = 1 + w * (bend * w - tilt * u);
    double by_u = -2 * bend * w - tilt * (1 - 2 * u);
    double reference_slope = pressure > 0 ? reference * power / pressure : t->reference.lift / t->reference.pressure;

    *slope = lifted * (reference_slope * factor + reference * by_u / first->pressure);
    return lifted * reference * factor;
}

double kp_lift_rise(const kp_lift_table *t, size_t i, double pressure, double *slope)
{
    const kp_lift_node *a = &t->node[i], *b = a + 1;
    *slope = 0;

    /* Below the first free point, in the pressure itself. */
    if (a->interval == KP_INTERVAL_HELD) {
        return t->dish - t->unloaded_lift;
    }
    if (a->interval == KP_INTERVAL_START) {
        return kp_lift_start_rise(t, b, pressure, slope);
    }
    if (a->interval == KP_INTERVAL_START_RATIONAL) {
        double width = b->pressure;
        kp_cubic c =
            rational_at(width, b->rise, start_slope(t, b), fmax(0, b->power) * b->rise / width, pressure / width);
        *slope = c.slope;
        return c.rise;
    }

    /* Between two points, in ln(pressure). */
    double width = b->log_pressure - a->log_pressure;
    double s = (log(pressure) - a->log_pressure) / width;
    double rise, power;
    if (a->interval == KP_INTERVAL_SMOOTH) {
        kp_cubic c =
            kp_hermite_cubic(width, b->correction - a->correction, a->correction_slope, b->correction_slope, s);
        rise = a->rise * (reference_at(&t->reference, pressure, &power) / a->reference) * exp(c.rise);
        power += c.slope;
    } else {
        kp_cubic c = rational_at(width, log(b->rise / a->rise), a->power, b->power, s);
        rise = a->rise * exp(c.rise);
        power = c.slope;
    }

    *slope = rise * power / pressure;
    return rise;
}

/* ---- choice of the interpolation --------------------------------------------------------------------------------- */

/* Whether the start interval's correction of the reference is small enough. */
static bool start_is_usable(const kp_lift_table *t, const kp_lift_node *first)
{
    double bend = start_slope(t, first) * t->reference.pressure / (t->reference.lift * exp(first->correction)) - 1;
    return t->compliance > 0 && fabs(bend) + fabs(first->correction_slope) <= START_CORRECTION_MAX;
}

/* Smallest slope of the correction's cubic between two points. */
static double smallest_correction_slope(const kp_lift_node *a, const kp_lift_node *b)
{
    double width = b->log_pressure - a->log_pressure;
    double secant = (b->correction - a->correction) / width;
    double bow = a->correction_slope + b->correction_slope - 2 * secant;
    double min = fmin(a->correction_slope, b->correction_slope);

    /* The slope is a parabola in s. With bow > 0 its vertex is a minimum. */
    if (bow > 0) {
        double s = (bow - (secant - a->correction_slope)) / (3 * bow);
        if (s > 0 && s < 1) {
            min = kp_hermite_cubic(width, b->correction - a->correction, a->correction_slope, b->correction_slope, s)
                      .slope;
        }
    }

    return min;
}

void kp_lift_choose_interval(kp_lift_table *t, size_t i)
{
    kp_lift_node *a = &t->node[i], *b = a + 1;
    if (i < t->held) {
        a->interval = KP_INTERVAL_HELD;
        return;
    }
    if (!(a->pressure > 0)) {
        a->interval = start_is_usable(t, b) ? KP_INTERVAL_START : KP_INTERVAL_START_RATIONAL;
        return;
    }

    /* Points that rise must not have a curve that falls: the reference's power is smallest at the upper end. */
    bool rises = a->power >= 0 && b->power >= 0 && b->rise > a->rise;
    bool falls = smallest_correction_slope(a, b) + (b->power - b->correction_slope) < 0;
    a->interval = rises && falls ? KP_INTERVAL_RATIONAL : KP_INTERVAL_SMOOTH;
}
