/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The axes of a surrogate. Each size of a stack of few lines is one of its own. The number of stacks to solve grows
   with the square of the axes and the cost of each with the lines, so the lines of a larger stack are taken in groups
   of neighbours: the design moves all sizes of a group together, and a build's place on that axis is the mean of its
   lines, each weighted by what it does to the bending stiffness. The verification builds have every line by itself, so
   what this costs is measured with all else. */
#include "study/band_internal.h"

/* Measured: 2 % of the band's half width on 60 kinds of shims that taper evenly, 4 to 6 % on 20 whose neighbours differ
   in thickness up to threefold (each by itself: 0.6 %). */
enum { LINES_ALONE = 16, LINES_FEW = 32, GROUPS_OF_FEW = 10, GROUPS_OF_MANY = 4 };

/* Bending stiffness goes with count x t^3; a deviation of s metres changes it by 3 count t^2 s. A diameter's deviation
   counts by the stiffness of its line. */
static double weight_of(const kp_valve_data *valve, const double *sigma, size_t line, bool diameter)
{
    const kp_shim_line *shims = &valve->lines[line];
    size_t at = KP_DEVIATION_LINES + line + (diameter ? valve->line_count : 0);
    double stiffness = shims->count * shims->thickness * shims->thickness;
    return sigma[at] * stiffness * (diameter ? shims->thickness / shims->outside : 1.0);
}

void kp_axes_make(const kp_tolerances *tolerances, kp_direction direction, kp_axes *axes)
{
    const kp_valve_data *valve = &tolerances->data->valves[direction];
    const double *sigma = tolerances->sigma[direction];
    size_t lines = valve->line_count;
    size_t groups = lines <= LINES_ALONE ? lines : lines <= LINES_FEW ? GROUPS_OF_FEW : GROUPS_OF_MANY;
    double sums[KP_MAX_DEVIATIONS] = {0};
    *axes = (kp_axes){.count = KP_DEVIATION_LINES + 2 * groups, .pairing = KP_DEVIATION_LINES + groups};

    /* Land and clamp, then thicknesses, then diameters. */
    for (size_t i = 0; i < tolerances->count[direction]; i++) {
        bool line = i >= KP_DEVIATION_LINES;
        bool diameter = i >= KP_DEVIATION_LINES + lines;
        size_t each = lines > 0 ? lines : 1, of = line ? (i - KP_DEVIATION_LINES) % each : 0;
        axes->axis[i] = line ? KP_DEVIATION_LINES + (diameter ? groups : 0) + of * groups / each : i;
        axes->weight[i] = groups == lines || !line ? 1.0 : weight_of(valve, sigma, of, diameter);
        axes->varies[axes->axis[i]] = axes->varies[axes->axis[i]] || sigma[i] > 0.0;
        sums[axes->axis[i]] += axes->weight[i];
    }

    for (size_t i = 0; i < tolerances->count[direction]; i++) {
        axes->weight[i] = sums[axes->axis[i]] > 0.0 ? axes->weight[i] / sums[axes->axis[i]] : 0.0;
    }
    axes->deviations = tolerances->count[direction];
}

void kp_axes_of_build(const kp_axes *axes, const double *deviations, double *x)
{
    for (size_t a = 0; a < axes->count; a++) {
        x[a] = 0.0;
    }
    for (size_t i = 0; i < axes->deviations; i++) {
        x[axes->axis[i]] += axes->weight[i] * deviations[i];
    }
}

void kp_axes_move(const kp_axes *axes, size_t axis, double step, double *deviations)
{
    for (size_t i = 0; i < axes->deviations; i++) {
        deviations[i] = axes->axis[i] == axis ? step : deviations[i];
    }
}
