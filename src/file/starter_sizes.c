/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Typical sizes from the bore. All lengths of a damper scaled alike leave every pressure at a given speed as it was,
   so one sound damper makes sound ones of every bore; only the strip comes in few thicknesses. The dampers scaled are
   invented ones of a rescue van. Their shims stay far enough below yield at 1.05 m/s for what the strip, the sizes as
   they are measured and the fewer bleed ports beside a needle add to the stress. */
#include "starter.h"

#include <math.h>
#include <string.h>

static const double VAN_BORE = 63.5e-3;  /* [m] */
static const double VAN_ROD = 22e-3;     /* [m] */
static const double VAN_STROKE = 250e-3; /* [m] */

/* [m] Diameters of the van's pistons, as fractions of the bore they become; areas [m2]. */
static const kp_starter_valve digressive[2] = {
    {520e-6,
     24e-3,
     52e-3,
     53e-3,
     0.9,
     0.40e-3,
     18e-3,
     {3, {4, 2, 1}, {56e-3, 42e-3, 30e-3}, {0.20e-3, 0.20e-3, 0.20e-3}}},
    {420e-6,
     24e-3,
     48e-3,
     50e-3,
     0.9,
     0.30e-3,
     18e-3,
     {3, {4, 2, 2}, {54e-3, 44e-3, 34e-3}, {0.25e-3, 0.25e-3, 0.25e-3}}},
};
static const kp_starter_valve linear[2] = {
    {420e-6,
     24e-3,
     46e-3,
     48e-3,
     0.8,
     0.0,
     20e-3,
     {4, {3, 2, 2, 1}, {52e-3, 44e-3, 34e-3, 28e-3}, {0.20e-3, 0.20e-3, 0.20e-3, 0.20e-3}}},
    {340e-6,
     24e-3,
     44e-3,
     46e-3,
     0.75,
     0.0,
     20e-3,
     {4, {4, 2, 2, 1}, {50e-3, 42e-3, 34e-3, 28e-3}, {0.25e-3, 0.25e-3, 0.25e-3, 0.25e-3}}},
};
static const kp_starter_valve van_reservoir = {
    130e-6, 12e-3, 30e-3, 31e-3, 1.0, 0.0, 10e-3, {3, {6, 1, 1}, {33e-3, 26e-3, 20e-3}, {0.30e-3, 0.30e-3, 0.30e-3}}};

/* [m] Strip as it is commonly sold, in mm and in thousandths of an inch: from memory. */
static const double metric_strip[] = {0.10e-3, 0.15e-3, 0.20e-3, 0.25e-3, 0.30e-3, 0.40e-3, 0.50e-3};
static const double inch_strip[] = {4 * 25.4e-6,  6 * 25.4e-6,  8 * 25.4e-6, 10 * 25.4e-6,
                                    12 * 25.4e-6, 16 * 25.4e-6, 20 * 25.4e-6};
enum {
    STRIPS = 7,
    MOST_SHIMS = 16 /* [-] of one size: beyond the thickest strip a stack stays softer than the scale asks for */
};

/** Rounds to a step [SI]. */
static double to_step(double value, double step)
{
    return step * round(value / step);
}

/** A diameter as it is measured: to 0.5 mm, small ones to 0.1 mm; to 0.02 in, small ones to 0.005 in. */
static double diameter(const kp_starter *starter, double value)
{
    bool small = value < 10e-3;
    if (starter->units == KP_UNITS_INCH) {
        return to_step(value, 25.4e-3 * (small ? 0.005 : 0.02));
    }
    return to_step(value, small ? 0.1e-3 : 0.5e-3);
}

static double area(const kp_starter *starter, double value)
{
    double unit = starter->units == KP_UNITS_INCH ? 25.4e-3 * 25.4e-3 / 500.0 : 1e-6;
    return fmax(to_step(value, unit), unit);
}

/** The strip nearest to a thickness, and as many shims of it as are about as stiff: stiffness goes with the number and
    the cube of the thickness. Part of a shim counts as a whole one from a quarter on: a stack that is too soft lifts
    further and bends more sharply. */
static void choose_strip(const kp_starter *starter, int count, double thickness, int *shims, double *strip)
{
    const double *sold = starter->units == KP_UNITS_INCH ? inch_strip : metric_strip;
    size_t best = 0;
    for (size_t i = 1; i < STRIPS; i++) {
        best = fabs(sold[i] - thickness) < fabs(sold[best] - thickness) ? i : best;
    }
    double ratio = thickness / sold[best];
    *strip = sold[best];
    *shims = (int)fmin(MOST_SHIMS, fmax(1.0, ceil(count * ratio * ratio * ratio - 0.25)));
}

/** Area that a click adds: at most what opens half the seat in 20 clicks. */
static double per_click(const kp_starter *starter, double value, double seat)
{
    double unit = starter->units == KP_UNITS_INCH ? 25.4e-3 * 25.4e-3 / 1e5 : 0.005e-6;
    double most = 0.5 * KP_PI / 4.0 * seat * seat / 20.0;
    return fmax(unit, unit * floor(fmin(value, most) / unit));
}

static void scale_valve(const kp_starter *starter, const kp_starter_valve *from, double scale, kp_starter_valve *to)
{
    *to = *from;
    to->port_area = area(starter, from->port_area * scale * scale);
    to->washer = diameter(starter, from->washer * scale);
    to->port_inner = diameter(starter, from->port_inner * scale);
    to->land_inner = diameter(starter, from->land_inner * scale);
    to->land_outer = fmax(diameter(starter, from->land_outer * scale), to->land_inner);

    for (size_t i = 0; i < from->stack.count; i++) {
        to->stack.outside[i] = diameter(starter, from->stack.outside[i] * scale);
        choose_strip(starter, from->stack.shims[i], from->stack.thickness[i] * scale, &to->stack.shims[i],
                     &to->stack.thickness[i]);
    }

    /* Strip thicker than the scale asks for is bent less, so that its stress stays that of the van's. */
    double thicker = fmax(1.0, to->stack.thickness[0] / (from->stack.thickness[0] * scale));
    double step = starter->units == KP_UNITS_INCH ? 25.4e-6 : 0.01e-3;
    to->dish = to_step(from->dish * scale / thicker, step);
}

/** The gas behind a floating piston: as much for the oil that the rod displaces as in the van. */
static void fill_gas(const kp_starter *starter, kp_starter_sizes *sizes)
{
    const double van_gas = 350e-6; /* [m3] */
    double rod_volume = sizes->rod * sizes->rod * sizes->stroke;
    double van_rod_volume = VAN_ROD * VAN_ROD * VAN_STROKE;
    double gas = van_gas * rod_volume / van_rod_volume;

    sizes->gas_bore = starter->reservoir ? sizes->reservoir_bore : sizes->bore;
    double step = starter->units == KP_UNITS_INCH ? 25.4e-3 * 0.05 : 1e-3;
    sizes->gas_depth = fmax(to_step(gas / (KP_PI / 4.0 * sizes->gas_bore * sizes->gas_bore), step), 2.0 * step);
    sizes->gas_travel = to_step(0.6 * sizes->gas_depth, step);
}

static void fill_reservoir(const kp_starter *starter, kp_starter_sizes *sizes)
{
    double scale = sizes->rod / VAN_ROD;
    sizes->reservoir_bore = diameter(starter, 50e-3 * scale);
    sizes->needle_seat = diameter(starter, 5e-3 * scale);
    sizes->area_per_click = per_click(starter, 0.25e-6 * scale * scale, sizes->needle_seat);
    sizes->check_seat = diameter(starter, 16e-3 * scale);
    sizes->check_lift = diameter(starter, 2e-3 * scale);
    sizes->hose_length = starter->units == KP_UNITS_INCH ? 16.0 * 25.4e-3 : 400e-3;
    sizes->hose_bore = diameter(starter, 9e-3 * scale);
    scale_valve(starter, &van_reservoir, scale, &sizes->reservoir_valve);
}

void kp_starter_fill(const kp_starter *starter, kp_starter_sizes *sizes)
{
    *sizes = (kp_starter_sizes){0};
    bool inch = starter->units == KP_UNITS_INCH;
    sizes->bore = starter->bore.text != NULL ? starter->bore.value : inch ? 2.5 * 25.4e-3 : VAN_BORE;
    double scale = sizes->bore / VAN_BORE;
    sizes->rod = starter->rod.text != NULL ? starter->rod.value : diameter(starter, VAN_ROD * scale);
    sizes->stroke = starter->stroke.text != NULL ? starter->stroke.value
                    : inch                       ? 0.0254 * round(10.0 * scale)
                                                 : to_step(VAN_STROKE * scale, 10e-3);
    sizes->friction = to_step(60.0 * scale, inch ? 4.4482216152605 : 5.0);
    sizes->clearance = inch ? 0.8 * 25.4e-6 : 0.02e-3;
    sizes->band = diameter(starter, 8e-3 * scale);

    /* Bleed ports and valves go with the bore. */
    bool dished = starter->piston == KP_STARTER_DIGRESSIVE;
    sizes->bleed_ports = 6;
    sizes->bleed_plugged = (dished ? 2 : 3) + (starter->reservoir && dished ? 2 : 0);
    sizes->bleed_diameter = to_step((dished ? 1.8e-3 : 2.0e-3) * scale, inch ? 25.4e-6 : 0.1e-3);
    sizes->bleed_length = diameter(starter, 9e-3 * scale);
    for (size_t i = 0; i < 2; i++) {
        scale_valve(starter, dished ? &digressive[i] : &linear[i], scale, &sizes->valves[i]);
    }

    sizes->rebound_needle_seat = diameter(starter, 4e-3 * scale);
    sizes->rebound_area_per_click = per_click(starter, 0.3e-6 * scale * scale, sizes->rebound_needle_seat);
    fill_reservoir(starter, sizes);
    fill_gas(starter, sizes);
}
