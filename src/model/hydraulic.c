/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What follows from a damper's hydraulic parts alone: an adjuster's area, the gas pressure where the curve stands. */
#include "kneepoint/model.h"

#include <math.h>

double kp_adjuster_area(const kp_adjuster_data *adjuster, int clicks)
{
    size_t n = adjuster->point_count;
    if (n == 0) {
        return adjuster->closed_area + clicks * adjuster->area_per_click;
    }

    /* Straight between the points, level outside them. */
    size_t i = 0; /* last point at or below the clicks */
    while (i + 1 < n && adjuster->point_clicks[i + 1] <= clicks) {
        i++;
    }

    if (clicks <= adjuster->point_clicks[0] || i + 1 == n) {
        return adjuster->point_area[clicks <= adjuster->point_clicks[0] ? 0 : n - 1];
    }

    double share = (double)(clicks - adjuster->point_clicks[i]) /
                   (double)(adjuster->point_clicks[i + 1] - adjuster->point_clicks[i]);
    return adjuster->point_area[i] + share * (adjuster->point_area[i + 1] - adjuster->point_area[i]);
}

/* The oil grows by V_oil (rho_fill/rho - 1), rho by its cubical expansion; the body's own growth (steel 3.5e-5 1/K,
   about a twentieth of the oil's) is left out, which states a little too much. */
double kp_damper_gas_taken(const kp_damper_data *damper, double position, double temperature)
{
    double rod = KP_PI / 4 * damper->rod * damper->rod * position;
    const kp_oil *oil = &damper->oil;
    double now = 1 + oil->expansion * (temperature - oil->density_temperature);
    double then = 1 + oil->expansion * (damper->fill_temperature - oil->density_temperature);
    return rod + (damper->has_oil_volume ? damper->oil_volume * (now / then - 1) : 0);
}

/* Oil warms and cools slowly, and what it takes or gives changes the gas at the gas's own temperature: exponent 1. The
   exponent of the file is that of the rod's strokes. */
kp_status kp_damper_gas_pressure(const kp_damper_data *damper, double *pressure, kp_error *error)
{
    if (damper->gas_open) {
        *pressure = KP_ATMOSPHERE; /* air comes and goes, at any position and temperature */
        return KP_OK;
    }

    kp_gas gas = damper->gas;
    double oil = kp_damper_gas_taken(damper, 0, damper->oil_temperature);
    double taken = kp_damper_gas_taken(damper, damper->position, damper->oil_temperature);
    if (gas.volume > 0 && oil < gas.volume) {
        gas.charge_pressure *= gas.volume / (gas.volume - oil);
        gas.volume -= oil;
        taken = KP_PI / 4 * damper->rod * damper->rod * damper->position;
    }
    return kp_gas_pressure(&gas, taken, damper->oil_temperature, pressure, error);
}
