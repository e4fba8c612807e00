/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Changes that can be made to a stack by hand. Lines are copied whole, so that a shim keeps its hole and slots. */
#include "study/explain_internal.h"

#include <math.h>
#include <string.h>

/* Steps of a drawer of shims: 0.05 mm, 0.02 mm under 0.10 mm; 2 thou. Common practice, no source. */
static const double METRIC_STEP = 0.05e-3, METRIC_FINE_STEP = 0.02e-3, METRIC_FINE_BELOW = 0.10e-3; /* [m] */
static const double INCH_STEP = 2 * 25.4e-6;                                                        /* [m] */

double kp_next_thickness(double thickness, kp_unit_system system)
{
    if (system == KP_UNITS_INCH) {
        return thickness + INCH_STEP;
    }
    const double rounding = 1e-9; /* [m] 0.10 mm of an inch file is not below 0.10 mm */
    return thickness + (thickness < METRIC_FINE_BELOW - rounding ? METRIC_FINE_STEP : METRIC_STEP);
}

bool kp_stack_put_in(kp_valve_data *valve, size_t at, kp_shim_line line)
{
    if (valve->line_count >= KP_MAX_STACK_LINES) {
        return false;
    }
    memmove(&valve->lines[at + 1], &valve->lines[at], (valve->line_count - at) * sizeof valve->lines[0]);
    valve->lines[at] = line;
    valve->line_count++;
    return true;
}

void kp_stack_take_out(kp_valve_data *valve, size_t line)
{
    if (--valve->lines[line].count > 0) {
        return;
    }
    valve->line_count--;
    memmove(&valve->lines[line], &valve->lines[line + 1], (valve->line_count - line) * sizeof valve->lines[0]);
}

bool kp_stack_set_thickness(kp_valve_data *valve, size_t line, int count, double thickness)
{
    kp_shim_line changed = valve->lines[line];
    if (count >= changed.count) {
        valve->lines[line].thickness = thickness;
        return true;
    }

    /* Part of a line: its shims get a line of their own behind the others. */
    changed.count = count;
    changed.thickness = thickness;
    if (!kp_stack_put_in(valve, line + 1, changed)) {
        return false;
    }

    valve->lines[line].count -= count;
    return true;
}
