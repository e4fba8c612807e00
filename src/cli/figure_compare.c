/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The picture of `compare`: the curves overlaid, and under them the change of damping against the first. */
#include "cli/run.h"

#include <math.h>
#include <stdio.h>

enum { DENSE = 160 };

static const double MOST_PERCENT = 300.0; /* [%] beyond that the rest of the panel would be flat */

static double top_speed(const kp_run *run)
{
    double top = 0.0;
    for (size_t i = 0; i < run->count; i++) {
        top = fmax(top, fabs(run->points[0][i].speed));
    }
    return top;
}

static kp_status damping_at(const kp_run *run, int direction, double speed, double *damping, kp_error *error)
{
    kp_curve_point point;
    double sign = direction == KP_COMPRESSION ? 1.0 : -1.0;
    kp_status status = kp_curve_at(run->damper, sign * speed, &point, error);
    if (status == KP_OK) {
        *damping = sign * (point.force - point.gas_force);
    }
    return status;
}

/* Change against the first, in per cent, one panel a direction: signs and files do not mix there. */
static kp_status draw_change(kp_output *output, const kp_run *runs, size_t count, int direction, kp_error *error)
{
    double x[DENSE];
    double y[DENSE];
    kp_status status = KP_OK;
    double top = top_speed(&runs[0]);
    for (size_t file = 1; status == KP_OK && file < count; file++) {
        for (size_t i = 0; status == KP_OK && i < DENSE; i++) {
            double speed = kp_dense_speed(top, i, DENSE);
            double first = 0.0;
            double now = 0.0;
            status = damping_at(&runs[0], direction, speed, &first, error);
            if (status == KP_OK) {
                status = damping_at(&runs[file], direction, speed, &now, error);
            }
            double percent = 100.0 * (now - first) / first;
            x[i] = kp_unit_convert(speed, KP_DIM_SPEED, output->options->units);
            y[i] = isfinite(percent) && fabs(percent) <= MOST_PERCENT ? percent : (double)NAN;
        }
        if (status == KP_OK) {
            status = kp_figure_add(&output->figure, 1 + (size_t)direction, "", DENSE, x, y,
                                   (int)(file % KP_STYLE_COUNT), false, false, error);
        }
    }
    return status;
}

kp_status kp_figure_of_compare(kp_output *output, const kp_run *runs, size_t count, kp_error *error)
{
    kp_unit_system units = output->options->units;
    kp_figure *figure = &output->figure;
    double sign = output->options->rebound_up ? -1.0 : 1.0;
    kp_status status = kp_figure_begin(figure, "Force against shaft speed", 3, error);
    if (status != KP_OK) {
        return status;
    }
    snprintf(figure->note, sizeof figure->note,
             "%s Top: force with gas and friction, %s. Below: change of the damping force, gas left out, against the "
             "first; + is firmer.",
             kp_estimate_note,
             output->options->rebound_up ? "rebound up, compression down" : "compression up, rebound down");
    for (size_t panel = 0; panel < 3; panel++) {
        snprintf(figure->panels[panel].x_label, sizeof figure->panels[panel].x_label, "shaft speed [%s]",
                 kp_unit_name(KP_DIM_SPEED, units));
        snprintf(figure->panels[panel].y_label, sizeof figure->panels[panel].y_label, "%s",
                 panel == 0 ? "" : "change [%]");
    }
    figure->panels[0].weight = 2.2;
    snprintf(figure->panels[0].y_label, sizeof figure->panels[0].y_label, "force [%s]",
             kp_unit_name(KP_DIM_FORCE, units));
    snprintf(figure->panels[1].title, sizeof figure->panels[1].title, "compression, change against the first");
    snprintf(figure->panels[2].title, sizeof figure->panels[2].title, "rebound, change against the first");
    for (size_t file = 0; status == KP_OK && file < count; file++) {
        for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
            /* one key entry for both directions of a file */
            const char *label = d == KP_COMPRESSION ? kp_title_of(&runs[file].data, runs[file].path) : "";
            status = kp_run_draw_force(&runs[file], figure, 0, (kp_direction)d, label, (int)(file % KP_STYLE_COUNT),
                                       sign, units, error);
        }
    }
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        status = draw_change(output, runs, count, d, error);
    }
    return status;
}
