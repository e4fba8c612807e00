/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A rigid plate on a spring as a lift table, so that valve and circuit need not know it from a stack of shims:

       opening(p) = (p A - preload)/rate,   from 0 at p = preload/A up to the stop

   A is the area that the pressure acts on; that the jet leaving under the plate takes part of the pressure off its rim
   is not in it, as for the shims. The corners at cracking and at the stop are rounded over a thousandth of their
   pressure, which gives the monotone interpolation, and so the curve's slope, something to hold on to. A floating plate
   (rate and preload 0) stands at its stop whatever the pressure. */
#include "damper/damper_internal.h"

#include <math.h>

static const double CORNER = 1e-3; /* [-] half width of a rounded corner, of the pressure there */
static const double MIDDLE = 0.5;  /* [-] */

/* Appends the two ends of a rounded corner at p; none where the table would not rise. Returned: the new count. */
static size_t corner(double *pressure, double *opening, size_t n, double far, double p, double below, double above)
{
    if (p * (1 - CORNER) > pressure[n - 1] && p * (1 + CORNER) < far) {
        pressure[n] = p * (1 - CORNER);
        opening[n] = fmax(below, opening[n - 1]);
        pressure[n + 1] = p * (1 + CORNER);
        opening[n + 1] = fmax(above, opening[n]);
        return n + 2;
    }
    return n;
}

double kp_spring_cracking(const kp_spring_plate *plate, double area)
{
    return plate->preload / area * (1 - CORNER);
}

kp_status kp_spring_table(const kp_spring_plate *plate, double area, double far, kp_lift_table **out, kp_error *error)
{
    bool floats = plate->rate == 0 && plate->preload == 0;
    if (!(area > 0) || !(plate->lift > 0) || !isfinite(plate->lift) || !(plate->preload >= 0) ||
        !(floats || plate->rate > 0) || !isfinite(plate->preload) || !isfinite(plate->rate)) {
        return kp_error_set(
            error, KP_OUT_OF_RANGE,
            "spring-loaded plate: preload %g N, rate %g N/m, lift %g m on %g m2: need a lift and an area "
            "above 0, and a rate above 0 unless it floats (preload and rate 0)",
            plate->preload, plate->rate, plate->lift, area);
    }

    /* A floating plate is open at any pressure. */
    if (floats) {
        const double pressure[] = {0, far}, opening[] = {plate->lift, plate->lift};
        return kp_lift_table_from_points(2, pressure, opening, out, error);
    }

    /* Cracking and stop, each p = (preload + rate y)/A. */
    enum { MAX_POINTS = 8 };
    double pressure[MAX_POINTS] = {0}, opening[MAX_POINTS] = {0};
    double cracking = plate->preload / area, stop = (plate->preload + plate->rate * plate->lift) / area;
    size_t n = 1;
    if (cracking > 0) {
        n = corner(pressure, opening, n, far, cracking, 0, cracking * CORNER * area / plate->rate);
    }

    /* The straight between the corners, then the stop as far as the table goes; or the straight alone. */
    if (stop < far / (1 + 2 * CORNER) && stop * (1 - CORNER) > pressure[n - 1]) {
        double before = (stop * (1 - CORNER) * area - plate->preload) / plate->rate;
        double middle = MIDDLE * (pressure[n - 1] + stop * (1 - CORNER));
        if (cracking > 0) { /* a point on the straight between the corners keeps it straight */
            pressure[n] = middle;
            opening[n] = MIDDLE * (opening[n - 1] + before);
            n++;
        }
        n = corner(pressure, opening, n, far, stop, before, plate->lift);
        pressure[n] = far;
        opening[n++] = plate->lift;
    } else {
        pressure[n] = far;
        opening[n] = fmax(opening[n - 1], fmin(plate->lift, (far * area - plate->preload) / plate->rate));
        n++;
    }

    return kp_lift_table_from_points(n, pressure, opening, out, error);
}

kp_status kp_closed_table(kp_lift_table **out, kp_error *error)
{
    const double pressure[] = {0, KP_SPRING_FAR}, opening[] = {0, 0};
    return kp_lift_table_from_points(2, pressure, opening, out, error);
}
