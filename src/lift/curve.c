/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The curve through a table's points.

   A stack bends (lift goes with the load) and then stretches (with its cube root): p = k y + k3 y^3 is most of it. ln
   of the rise over that reference changes so little with ln p that a cubic with the exact slopes of the points, a
   factor of 2.6 apart, is good to 1e-4. What is left are kinks, where shims, seat or stop come to touch. Two points
   cannot tell a kink from a bend; three can, so each stretch is judged by the cubic over it and a neighbour, and where
   it fails it is split where the tangents of its ends cross: at the kink, if there is one. */
#include "lift/lift_internal.h"

#include <math.h>
#include <stdlib.h>

/* Errors of the opening that a stretch may be suspected of. [-] of the opening. DESIGN's bar is four times this. */
#define TOLERANCE 2.5e-4
/* Narrowest stretch that is halved. [-] in ln(pressure) */
#define NARROWEST 2e-5
/* A mismatch of powers that no smooth stack has. [-] Of stacks with kinks their neighbours are asked for less error,
   [-] of what is allowed, since two kinks can hide one another. */
#define KINK         3e-3
#define KINKED_SHARE 0.25
/* Power of a reference is held between a straight line's and KP_POWER_MEMBRANE. [-] */
#define POWER_STRAIGHT 0.999

static double ratio_of(double power)
{
    double m = fmin(fmax(power, KP_POWER_MEMBRANE), POWER_STRAIGHT);
    return sqrt((1 - m) / (3 * m - 1)); /* m = (1 + x^2)/(1 + 3 x^2) */
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

/* x + x^3 = p/P: x = 2/sqrt(3) sinh(asinh(3 sqrt(3)/2 p/P)/3). */
static double reference_at(const kp_lift_reference *reference, double pressure, double *power)
{
    double x = 2 / sqrt(3) * sinh(asinh(1.5 * sqrt(3) * pressure / reference->pressure) / 3);
    *power = (1 + x * x) / (1 + 3 * x * x);
    return reference->lift * x;
}

void kp_lift_refer(const kp_lift_table *t, kp_lift_node *node)
{
    double power;
    node->log_pressure = log(node->pressure);
    node->reference = reference_at(&t->reference, node->pressure, &power);
    node->excess = log(node->rise / node->reference);
    node->excess_power = node->power - power;
}

typedef struct cubic {
    double value, slope; /* less the value at the left end; by the variable */
} cubic;

static cubic cubic_at(double width, double rise, double left, double right, double s)
{
    kp_cubic c = kp_hermite_cubic(width, rise, left, right, s);
    return (cubic){c.rise, c.slope};
}

/* Gregory and Delbourgo's rational quadratic (IMA J. Numer. Anal. 2 (1982) 123, from memory): monotone for whatever end
   slopes >= 0. */
static cubic rational_at(double width, double rise, double left, double right, double s)
{
    double secant = rise / width;
    if (!(secant > 0)) {
        return (cubic){0, 0};
    }
    double bow = s * (1 - s);
    double below = secant + (left + right - 2 * secant) * bow;
    double slope = secant * secant * (right * s * s + 2 * secant * bow + left * (1 - s) * (1 - s)) / (below * below);
    return (cubic){rise * (secant * s * s + left * bow) / below, slope};
}

static double start_slope(const kp_lift_table *t, const kp_lift_node *first)
{
    double secant = first->rise / first->pressure;
    return t->compliance > 0 && t->compliance < 3 * secant ? t->compliance : secant;
}

/* rise = reference e^c (1 + bend (1 - u)^2 - tilt u (1 - u)), u = p/p1: slope at no load and power at p1 as they are.
   What the reference leaves begins in proportion to the load: tilted faces touch further out. */
static double start_rise(const kp_lift_table *t, const kp_lift_node *first, double pressure, double *slope)
{
    double power;
    double reference = reference_at(&t->reference, pressure, &power);
    double u = pressure / first->pressure;
    double w = 1 - u;
    double lifted = exp(first->excess);
    double bend = start_slope(t, first) * t->reference.pressure / (t->reference.lift * lifted) - 1;
    double tilt = first->excess_power;
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
    if (a->run == KP_RUN_HELD) {
        return t->dish - t->unloaded;
    }
    if (a->run == KP_RUN_START) {
        return start_rise(t, b, pressure, slope);
    }
    if (a->run == KP_RUN_STRAIGHT) {
        double width = b->pressure;
        cubic c = rational_at(width, b->rise, start_slope(t, b), fmax(0, b->power) * b->rise / width, pressure / width);
        *slope = c.slope;
        return c.value;
    }
    double width = b->log_pressure - a->log_pressure;
    double s = (log(pressure) - a->log_pressure) / width;
    double rise, power;
    if (a->run == KP_RUN_SMOOTH) {
        cubic c = cubic_at(width, b->excess - a->excess, a->excess_power, b->excess_power, s);
        rise = a->rise * (reference_at(&t->reference, pressure, &power) / a->reference) * exp(c.value);
        power += c.slope;
    } else {
        cubic c = rational_at(width, log(b->rise / a->rise), a->power, b->power, s);
        rise = a->rise * exp(c.value);
        power = c.slope;
    }
    *slope = rise * power / pressure;
    return rise;
}

/* How far the start may be bent before it is not trusted. [-] */
#define MOST_BENT 0.0035

static bool start_serves(const kp_lift_table *t, const kp_lift_node *first)
{
    double bend = start_slope(t, first) * t->reference.pressure / (t->reference.lift * exp(first->excess)) - 1;
    return t->compliance > 0 && fabs(bend) + fabs(first->excess_power) <= MOST_BENT;
}

void kp_lift_choose_run(kp_lift_table *t, size_t i)
{
    kp_lift_node *a = &t->node[i], *b = a + 1;
    if (i < t->held) {
        a->run = KP_RUN_HELD;
    } else if (!(a->pressure > 0)) {
        a->run = start_serves(t, b) ? KP_RUN_START : KP_RUN_STRAIGHT;
    } else {
        double width = b->log_pressure - a->log_pressure;
        double secant = (b->excess - a->excess) / width;
        double bow = a->excess_power + b->excess_power - 2 * secant;
        double least = fmin(a->excess_power, b->excess_power);
        if (bow > 0) { /* the slope is a parabola, least where its own slope 2 a - 2 b + 6 b s is nothing */
            double s = (bow - (secant - a->excess_power)) / (3 * bow);
            if (s > 0 && s < 1) {
                least = cubic_at(width, b->excess - a->excess, a->excess_power, b->excess_power, s).slope;
            }
        }
        bool rises = a->power >= 0 && b->power >= 0 && b->rise > a->rise;
        a->run = rises && least + (b->power - b->excess_power) < 0 ? KP_RUN_RATIONAL : KP_RUN_SMOOTH;
    }
}

/* ---- what is read beside the lift ------------------------------------------------------------------------------ */

size_t kp_lift_read_count(const kp_lift_table *t)
{
    return 1 + 2 * t->disc_count;
}

/* Places nearer than this to one another are one that moves. [-] surface places, two an element */
enum { SAME_PLACE = 4 };

/* Largest of something on a shim's surface, between two points. Where its place jumps, the one at the left is larger
   first and the one at the right after it: the larger of what both ends' tangents say. Else a cubic. */
static double between(double width, kp_lift_read from, kp_lift_read to, double s)
{
    bool jumps = from.place % 2 != to.place % 2 || abs(from.place - to.place) > 2 * SAME_PLACE;
    double left = from.slope * width, right = to.slope * width;
    double rise = to.value - from.value;
    if (jumps && left <= rise && right >= rise) {
        return fmax(from.value + left * s, to.value - right * (1 - s));
    }
    return from.value + cubic_at(width, rise, from.slope, to.slope, s).value;
}

/* Where the seat holds: in the pressure, of less degree where an end has no slope. */
static double held_read(double width, kp_lift_read a, kp_lift_read b, double s)
{
    double secant = (b.value - a.value) / width;
    if (isfinite(a.slope) && isfinite(b.slope)) {
        return between(width, a, b, s);
    }
    double left = isfinite(a.slope) ? a.slope : isfinite(b.slope) ? 2 * secant - b.slope : secant;
    double right = isfinite(b.slope) ? b.slope : 2 * secant - left;
    return a.value + cubic_at(width, b.value - a.value, left, right, s).value;
}

/* Over the rise it changes little, so that is what runs in ln(pressure); from no load it is a parabola in the rise. */
double kp_lift_read_at(const kp_lift_table *t, size_t i, size_t which, double pressure, double rise)
{
    const kp_lift_node *a = &t->node[i], *b = a + 1;
    kp_lift_read from = t->reads[i * kp_lift_read_count(t) + which];
    kp_lift_read to = t->reads[(i + 1) * kp_lift_read_count(t) + which];
    if (a->run == KP_RUN_HELD) {
        double width = b->pressure - a->pressure;
        to.slope = i + 1 < t->held ? to.slope : (double)NAN; /* that of the free stack */
        return held_read(width, from, to, (pressure - a->pressure) / width);
    }
    if (!(a->pressure > 0)) {
        double part = rise / b->rise;
        double bow = b->power > 0 && isfinite(to.slope) ? to.slope / b->power - (to.value - from.value) : 0;
        return from.value + part * (to.value - from.value - bow * (1 - part));
    }
    double width = b->log_pressure - a->log_pressure;
    double part = (log(pressure) - a->log_pressure) / width;
    kp_lift_read low = {from.value / a->rise, 0, from.place}, high = {to.value / b->rise, 0, to.place};
    if (!isfinite(from.slope) || !isfinite(to.slope)) { /* coarse */
        return rise * (low.value + part * (high.value - low.value));
    }
    low.slope = from.slope / a->rise - low.value * a->power;
    high.slope = to.slope / b->rise - high.value * b->power;
    return rise * between(width, low, high, part);
}

/* ---- how far the curve can be off ---------------------------------------------------------------------------------
 */

/* Error that ln(rise) may have in the middle of a stretch. */
static double allowed(const kp_lift_table *t, const kp_lift_node *a, const kp_lift_node *b)
{
    double shut = t->dish - t->unloaded;
    double most = INFINITY;
    for (int quarter = 1; quarter <= 2; quarter++) {
        double rise = a->rise * pow(b->rise / a->rise, 0.25 * quarter);
        double shape = quarter == 1 ? 0.5625 : 1; /* 16 s^2 (1 - s)^2 */
        most = fmin(most, TOLERANCE * fmax(rise - shut, t->worth) / (rise * shape));
    }
    return most;
}

/* Three points: what the cubic through the outer ones says of the one between. power: how far its power is off. Returns
   the error of its value. */
static double mismatch(const kp_lift_node *a, const kp_lift_node *m, const kp_lift_node *b, double *power)
{
    double width = b->log_pressure - a->log_pressure;
    cubic c = cubic_at(width, b->excess - a->excess, a->excess_power, b->excess_power,
                       (m->log_pressure - a->log_pressure) / width);
    *power = fabs(c.slope - m->excess_power);
    return fabs(a->excess + c.value - m->excess);
}

/* Error in a stretch of this width by a neighbour of that width. A kink by d at the part x of the stretch is worth
   2 x^2 (1 - x)^2 d times the width, and of equal widths makes the power mismatch by (1/2 - 3/4 x) d and the value by
   (1/4 - 1/2 x) d times the width: their sum is no less but for a sixth. A smooth curve's own error is a sixteenth of
   the value's mismatch. */
static double suspected(double value, double power, double own, double other)
{
    double reach = fmax(1, own / other);
    return reach * (own * power + reach * value);
}

/* A point on the start, as far before the first one as that is from the next. */
static kp_lift_node start_node(const kp_lift_table *t, const kp_lift_node *first, double width)
{
    double slope;
    kp_lift_node n = {.pressure = first->pressure * exp(-width)};
    n.rise = start_rise(t, first, n.pressure, &slope);
    n.power = slope * n.pressure / n.rise;
    kp_lift_refer(t, &n);
    return n;
}

bool kp_lift_is_bounded(kp_lift_table *t, size_t i)
{
    const kp_lift_node *a = &t->node[i], *b = a + 1;
    if (a->run == KP_RUN_HELD || !(a->pressure > 0)) {
        return true;
    }
    double width = b->log_pressure - a->log_pressure;
    if (width <= NARROWEST) {
        return true;
    }
    double most = allowed(t, a, b);
    double secant = (b->excess - a->excess) / width;
    double kink = fabs(b->excess_power - a->excess_power) / 8;
    double bow = fabs(a->excess_power + b->excess_power - 2 * secant) / 4;
    if (width * fmax(kink, bow) <= most) {
        return true;
    }
    double value, power;
    if (i > t->held) {
        kp_lift_node before = a[-1].pressure > 0 ? a[-1] : start_node(t, a, width);
        if (a[-1].pressure > 0 || a[-1].run == KP_RUN_START) {
            value = mismatch(&before, a, b, &power);
            t->kinked = t->kinked || power > KINK;
            most *= t->kinked ? KINKED_SHARE : 1;
            if (suspected(value, power, width, a->log_pressure - before.log_pressure) <= most) {
                return true;
            }
        }
    }
    if (i + 2 < t->count) {
        value = mismatch(a, b, b + 1, &power);
        return suspected(value, power, width, b[1].log_pressure - b->log_pressure) <= most;
    }
    return false;
}

double kp_lift_split(const kp_lift_table *t, size_t i)
{
    const kp_lift_node *a = &t->node[i], *b = a + 1;
    double width = b->log_pressure - a->log_pressure;
    double secant = (b->excess - a->excess) / width;
    double jump = b->excess_power - a->excess_power;
    double near = fmin(8 * allowed(t, a, b) / fabs(jump), width) / 4;
    double at = width * (1 - (secant - a->excess_power) / jump);
    if (!(at > 0 && at < width)) {
        at = width / 2;
    } else if (at < near) {
        at = 2 * near;
    } else if (width - at < near) {
        at = width - 2 * near;
    }
    return exp(a->log_pressure + at);
}
