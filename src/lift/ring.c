/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How a ring of force at the land compares with the pressure: the area that the pressure would have to act on to lift
   the land as far, (d lift/d pressure)/(d lift/d force). Taken at each point without the seat, and interpolated in
   ln(pressure). */
#include "lift/lift_internal.h"

#include <math.h>

/* Limits of the area over that of a rigid disc. [-] Three example dampers have 0.43 to 0.58 of it. */
static const double RIGID_SHARE_MIN = 0.1;
static const double RIGID_SHARE_MAX = 2;

double kp_lift_take_ring_area(kp_lift_table *t)
{
    kp_stack_workspace *ws = t->build.workspace;
    if (t->coarse) {
        return 0;
    }

    /* The area that the pressure acts on is that of a rigid disc. A stop may hold the land, or make it sink as the
       pressure rises: then the lift no longer depends on either load. */
    const kp_stack *s = kp_stack_of(ws);
    double in = s->port_inner_radius, land = s->land_inner_radius, out = s->land_outer_radius;
    double fall = out > land ? (out * out - land * land) / (2 * log(out / land)) : land * land;
    double rigid = s->load_coverage * KP_PI * (fall - in * in);

    double ring = kp_stack_ring_compliance(ws);
    double area = kp_stack_seat_compliance(ws) / ring;
    return isfinite(area) ? fmin(fmax(area, RIGID_SHARE_MIN * rigid), RIGID_SHARE_MAX * rigid) : rigid;
}

/* Slope by ln(pressure) at a free point: of the parabola through it and its neighbours, or the secant at an end. */
static double slope_at(const kp_lift_table *t, size_t i, size_t first)
{
    const kp_lift_node *n = &t->node[i];
    size_t low = i > first ? i - 1 : i, high = i + 1 < t->count ? i + 1 : i;
    double width_below = n->log_pressure - t->node[low].log_pressure;
    double width_above = t->node[high].log_pressure - n->log_pressure;
    double below = low < i ? (n->ring_area - t->node[low].ring_area) / width_below : 0;
    double above = high > i ? (t->node[high].ring_area - n->ring_area) / width_above : 0;

    if (low == i || high == i) {
        return below + above;
    }
    return (below * width_above + above * width_below) / (width_below + width_above);
}

/* Within what keeps a cubic between its ends. */
static double limited(double slope, double secant)
{
    double most = 3 * fabs(secant);
    return slope * secant > 0 ? copysign(fmin(fabs(slope), most), secant) : 0;
}

double kp_lift_ring_area(const kp_lift_table *t, size_t i, double pressure, double *slope)
{
    const kp_lift_node *a = &t->node[i], *b = a + 1;
    size_t first = t->held > 0 ? t->held : 1;

    /* Below the first free point it is that point's: the contacts that the smallest loads close are those it has. */
    *slope = 0;
    if (i < first || first + 1 >= t->count) {
        return t->node[first].ring_area;
    }

    double width = b->log_pressure - a->log_pressure, s = (log(pressure) - a->log_pressure) / width;
    double rise = b->ring_area - a->ring_area;
    double left = limited(slope_at(t, i, first), rise / width);
    double right = limited(slope_at(t, i + 1, first), rise / width);
    kp_cubic c = kp_hermite_cubic(width, rise, left, right, s);
    *slope = c.slope / pressure;
    return a->ring_area + c.rise;
}
