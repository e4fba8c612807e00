/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Quantities beside the rise: lift of the face shim's edge, stresses, fatigue uses. Taken from a solution, and
   interpolated between points. */
#include "lift/lift_internal.h"

#include <math.h>
#include <stdlib.h>

/* Stress points no further apart than this are one largest stress that moves. [-] stress points, two per element */
enum { SAME_POINT = 4 };

/* ---- taken from a solution --------------------------------------------------------------------------------------- */

/* Calls for the state's peaks once for all discs that share a plate. */
static void take_peaks(kp_lift_table *t, bool trial, double times)
{
    const kp_stack_workspace *ws = t->build.workspace;
    kp_lift_quantity *row = kp_lift_row(t, t->build.capacity);
    kp_peaks peaks = {0};

    for (size_t i = 0; i < t->disc_count; i++) {
        if (i == 0 || !kp_stack_same_peaks(ws, i - 1, i)) {
            peaks = kp_stack_peaks(ws, i, trial);
        }

        kp_lift_quantity *stress = &row[1 + i], *use = &row[1 + t->disc_count + i];
        if (trial) {
            stress->slope = (peaks.stress - stress->value) * times;
            use->slope = (peaks.use - use->value) * times;
        } else {
            *stress = (kp_lift_quantity){peaks.stress, NAN, peaks.stress_point};
            *use = (kp_lift_quantity){peaks.use, NAN, peaks.use_point};
        }
    }
}

void kp_lift_take_values(kp_lift_table *t)
{
    double edge = kp_stack_rim_lift(t->build.workspace, false);
    take_peaks(t, false, 0);
    kp_lift_row(t, t->build.capacity)[0] = (kp_lift_quantity){edge - t->unloaded_edge, NAN, 0};
}

void kp_lift_take_slopes(kp_lift_table *t, double times)
{
    double edge = kp_stack_rim_lift(t->build.workspace, true);
    take_peaks(t, true, times);

    kp_lift_quantity *own = kp_lift_row(t, t->build.capacity);
    own->slope = (edge - t->unloaded_edge - own->value) * times;
}

/* ---- interpolation ----------------------------------------------------------------------------------------------- */

/* A largest value at the fraction s between two points. Where its stress point jumps there are two local maxima, of
   which the left one is larger at first and the right one later: the larger of the two tangents. Else a cubic. */
static double between(double width, kp_lift_quantity from, kp_lift_quantity to, double s)
{
    bool jumps =
        from.stress_point % 2 != to.stress_point % 2 || abs(from.stress_point - to.stress_point) > 2 * SAME_POINT;
    double left = from.slope * width, right = to.slope * width;
    double rise = to.value - from.value;

    if (jumps && left <= rise && right >= rise) {
        return fmax(from.value + left * s, to.value - right * (1 - s));
    }
    return from.value + kp_hermite_cubic(width, rise, from.slope, to.slope, s).rise;
}

/* Where the seat holds: interpolated in the pressure, by a lower degree where an end has no slope. */
static double between_held(double width, kp_lift_quantity a, kp_lift_quantity b, double s)
{
    if (isfinite(a.slope) && isfinite(b.slope)) {
        return between(width, a, b, s);
    }

    double secant = (b.value - a.value) / width;
    double left = isfinite(a.slope) ? a.slope : isfinite(b.slope) ? 2 * secant - b.slope : secant;
    double right = isfinite(b.slope) ? b.slope : 2 * secant - left;
    return a.value + kp_hermite_cubic(width, b.value - a.value, left, right, s).rise;
}

double kp_lift_quantity_at(const kp_lift_table *t, size_t i, size_t which, double pressure, double rise)
{
    const kp_lift_node *a = &t->node[i], *b = a + 1;
    kp_lift_quantity from = kp_lift_row(t, i)[which];
    kp_lift_quantity to = kp_lift_row(t, i + 1)[which];

    if (a->interval == KP_INTERVAL_HELD) {
        double width = b->pressure - a->pressure;
        to.slope = i + 1 < t->held ? to.slope : (double)NAN; /* at cracking it is that of the free stack */
        return between_held(width, from, to, (pressure - a->pressure) / width);
    }

    /* From zero load: a parabola in the rise. */
    if (!(a->pressure > 0)) {
        double part = rise / b->rise;
        double bow = b->power > 0 && isfinite(to.slope) ? to.slope / b->power - (to.value - from.value) : 0;
        return from.value + part * (to.value - from.value - bow * (1 - part));
    }

    /* The quantity over the rise, which changes little, interpolated in ln(pressure); by a straight line where slopes
       are not known. */
    double width = b->log_pressure - a->log_pressure;
    double part = (log(pressure) - a->log_pressure) / width;
    kp_lift_quantity low = {from.value / a->rise, 0, from.stress_point};
    kp_lift_quantity high = {to.value / b->rise, 0, to.stress_point};
    if (!isfinite(from.slope) || !isfinite(to.slope)) {
        return rise * (low.value + part * (high.value - low.value));
    }

    low.slope = from.slope / a->rise - low.value * a->power;
    high.slope = to.slope / b->rise - high.value * b->power;
    return rise * between(width, low, high, part);
}
