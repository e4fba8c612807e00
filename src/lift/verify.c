/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether the curve is accurate enough between two points.

   Two points cannot tell a kink from a smooth bend; three can. So each interval is checked by the cubic over it and a
   neighbour: how far that cubic misses the point in the middle. An interval that fails is split where the tangents of
   its ends intersect, which is at the kink if there is one. */
#include "lift/lift_internal.h"

#include <math.h>

/* Largest estimated error of the opening. [-] of the opening; a quarter of the 0.1 % that the table promises */
static const double TOLERANCE = 2.5e-4;
/* Narrowest interval that is split. [-] in ln(pressure) */
static const double NARROWEST = 2e-5;
/* Mismatch of powers that no smooth stack has. [-] */
static const double KINK = 3e-3;
/* Once a kink was found, intervals that have a neighbour below must keep this fraction of the tolerance, because two
   kinks can hide one another. [-] */
static const double KINKED_SHARE = 0.25;

/* Error that ln(rise) may have in the middle of an interval. A cubic's error is distributed as 16 s^2 (1 - s)^2, and
   the tolerance is checked at a quarter and in the middle. */
static double allowed(const kp_lift_table *t, const kp_lift_node *a, const kp_lift_node *b)
{
    double shut = t->dish - t->unloaded_lift;
    double max = INFINITY;

    for (int quarter = 1; quarter <= 2; quarter++) {
        double rise = a->rise * pow(b->rise / a->rise, 0.25 * quarter);
        double shape = quarter == 1 ? 0.5625 : 1;
        max = fmin(max, TOLERANCE * fmax(rise - shut, t->build.smallest_opening) / (rise * shape));
    }

    return max;
}

/* How far the cubic from a to b misses the correction at m between them (returned) and its slope (power). */
static double mismatch(const kp_lift_node *a, const kp_lift_node *m, const kp_lift_node *b, double *power)
{
    double width = b->log_pressure - a->log_pressure;
    kp_cubic c = kp_hermite_cubic(width, b->correction - a->correction, a->correction_slope, b->correction_slope,
                                  (m->log_pressure - a->log_pressure) / width);

    *power = fabs(c.slope - m->correction_slope);
    return fabs(a->correction + c.rise - m->correction);
}

/* Estimated error of an interval of width `own`, from its mismatch with a neighbour of width `other`.

   A kink of d in the power, at the fraction x of the interval, makes an error of 2 x^2 (1 - x)^2 d times the width.
   With equal widths the mismatch of the power is then (1/2 - 3/4 x) d, that of the value (1/4 - 1/2 x) d times the
   width, and their sum falls short of the error by a sixth at most. On a smooth curve the error is a sixteenth of the
   value's mismatch. */
static double error_estimate(double value, double power, double own, double other)
{
    double reach = fmax(1, own / other);
    return reach * (own * power + reach * value);
}

/* The same where the stack folds: round its onset and beyond the curve bends all the time, but smoothly, since what is
   out of flat rounds the onset. The error of a cubic grows with the fourth power of its width: by the value's mismatch,
   with a margin of four. A kink of d in the power, as a contact that closes makes, is an error of d times the width
   over eight. */
static double folded_error(double value, double power, double own, double other)
{
    double ratio = own / other;
    return 0.25 * ratio * ratio * value + 0.125 * own * power;
}

/* A point in the start interval, as far below the first point as that is from the next, to serve as its neighbour. */
static kp_lift_node start_node(const kp_lift_table *t, const kp_lift_node *first, double width)
{
    double slope;
    kp_lift_node n = {.pressure = first->pressure * exp(-width)};
    n.rise = kp_lift_start_rise(t, first, n.pressure, &slope);
    n.power = slope * n.pressure / n.rise;
    kp_lift_set_correction(t, &n);
    return n;
}

/* Whether the two ends alone bound the error of an interval: by a kink of all the difference of their powers, and by
   the deviation of the cubic from a straight line. */
static bool ends_bound_error(const kp_lift_node *a, const kp_lift_node *b, double max)
{
    double width = b->log_pressure - a->log_pressure;
    double secant = (b->correction - a->correction) / width;
    double kink = fabs(b->correction_slope - a->correction_slope) / 8;
    double bow = fabs(a->correction_slope + b->correction_slope - 2 * secant) / 4;
    return width * fmax(kink, bow) <= max;
}

bool kp_lift_is_verified(kp_lift_table *t, size_t i)
{
    const kp_lift_node *a = &t->node[i], *b = a + 1;
    if (a->interval == KP_INTERVAL_HELD || !(a->pressure > 0)) {
        return true;
    }

    double width = b->log_pressure - a->log_pressure;
    if (width <= NARROWEST) {
        return true;
    }

    double max = allowed(t, a, b);
    if (ends_bound_error(a, b, max)) {
        return true;
    }

    /* By the neighbour below, which may be part of the start interval. */
    double value, power;
    if (i > t->held && (a[-1].pressure > 0 || a[-1].interval == KP_INTERVAL_START)) {
        kp_lift_node below = a[-1].pressure > 0 ? a[-1] : start_node(t, a, width);
        value = mismatch(&below, a, b, &power);
        t->build.has_kink = t->build.has_kink || (power > KINK && !b->folded);
        max *= t->build.has_kink && !b->folded ? KINKED_SHARE : 1;
        double other = a->log_pressure - below.log_pressure;
        double error =
            b->folded ? folded_error(value, power, width, other) : error_estimate(value, power, width, other);
        if (error <= max) {
            return true;
        }
    }

    /* By the neighbour above. */
    if (i + 2 < t->count) {
        value = mismatch(a, b, b + 1, &power);
        double other = b[1].log_pressure - b->log_pressure;
        return (b->folded ? folded_error : error_estimate)(value, power, width, other) <= max;
    }
    return false;
}

double kp_lift_split_pressure(const kp_lift_table *t, size_t i)
{
    const kp_lift_node *a = &t->node[i], *b = a + 1;
    double width = b->log_pressure - a->log_pressure;

    /* Where it bends smoothly, in the middle. */
    if (a->folded) {
        return exp(a->log_pressure + 0.5 * width);
    }

    /* Where the tangents of both ends intersect. */
    double secant = (b->correction - a->correction) / width;
    double jump = b->correction_slope - a->correction_slope;
    double at = width * (1 - (secant - a->correction_slope) / jump);

    /* Not so near an end that the narrow part would be verified whatever its kink is. */
    double near = fmin(8 * allowed(t, a, b) / fabs(jump), width) / 4;
    if (!(at > 0 && at < width)) {
        at = width / 2;
    } else if (at < near) {
        at = 2 * near;
    } else if (width - at < near) {
        at = width - 2 * near;
    }

    return exp(a->log_pressure + at);
}
