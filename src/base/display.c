/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A value in the display unit of its dimension. */
#include "units.h"

#include <math.h>

static const char *display_unit(const kp_dimension_row *row, kp_unit_system system)
{
    return system == KP_UNITS_METRIC ? row->metric : system == KP_UNITS_INCH ? row->inch : row->si;
}

const char *kp_unit_name(kp_dimension dimension, kp_unit_system system)
{
    if (dimension == KP_DIM_GAS_PRESSURE) {
        return system == KP_UNITS_METRIC ? "bar absolute" : system == KP_UNITS_INCH ? "psi absolute" : "Pa absolute";
    }
    return display_unit(kp_dimension_row_of(dimension), system);
}

double kp_unit_convert(double si_value, kp_dimension dimension, kp_unit_system system)
{
    kp_unit unit;
    bool known = (int)dimension >= 0 && dimension < KP_DIM_COUNT && (int)system >= 0 && system <= KP_UNITS_SI;

    /* No number is better than one in the wrong unit. */
    if (!known || !kp_unit_read(display_unit(kp_dimension_row_of(dimension), system), &unit)) {
        return (double)NAN;
    }
    return kp_unit_from_si(&unit, si_value);
}

const char *kp_unit_dimension_name(const kp_unit *unit)
{
    for (int i = 0; i < KP_DIM_COUNT; i++) {
        if (kp_unit_measures(unit, (kp_dimension)i)) {
            return kp_dimension_row_of((kp_dimension)i)->name;
        }
    }
    return NULL;
}
