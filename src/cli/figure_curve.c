/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The picture of `curve`: force against shaft speed, and under it how far the shims open and who carries the oil. */
#include "cli/run.h"

#include <math.h>
#include <stdio.h>

enum { DENSE = 160 };

/* Two lines over speed, one a direction: opening, or the share of the oil that does not pass the shims. */
static kp_status draw_both(kp_output *output, const kp_run *run, size_t panel, bool shares, kp_error *error)
{
    kp_unit_system units = output->options->units;
    double x[DENSE];
    double y[DENSE];
    double top = 0.0;
    for (size_t i = 0; i < run->count; i++) {
        top = fmax(top, fabs(run->points[0][i].speed));
    }
    kp_status status = KP_OK;
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        for (size_t i = 0; status == KP_OK && i < DENSE; i++) {
            kp_curve_point point;
            double speed = kp_dense_speed(top, i, DENSE);
            status = kp_curve_at(run->damper, d == KP_COMPRESSION ? speed : -speed, &point, error);
            double past = point.bleed_flow + point.leak_flow;
            double all = past + point.valve_flow + point.void_flow;
            x[i] = kp_unit_convert(speed, KP_DIM_SPEED, units);
            y[i] = shares ? 100.0 * past / all : kp_unit_convert(point.opening, KP_DIM_LENGTH, units);
        }
        if (status == KP_OK) {
            status = kp_figure_add(&output->figure, panel, kp_direction_name((kp_direction)d), DENSE, x, y, d, false,
                                   false, error);
        }
    }
    return status;
}

kp_status kp_figure_of_curve(kp_output *output, const kp_run *run, kp_error *error)
{
    kp_unit_system units = output->options->units;
    kp_figure *figure = &output->figure;
    double sign = output->options->rebound_up ? -1.0 : 1.0;
    kp_status status = kp_figure_begin(figure, kp_title_of(&run->data, run->path), 3, error);
    if (status != KP_OK) {
        return status;
    }
    char gas[3 * KP_SHOWN];
    char position[KP_SHOWN];
    char oil[KP_SHOWN];
    snprintf(figure->note, sizeof figure->note,
             "%s Force with gas and friction, %s. Gas %s with the rod pushed in %s; oil %s.", kp_estimate_note,
             output->options->rebound_up ? "rebound up, compression down" : "compression up, rebound down",
             kp_charge_words(run->gas_pressure, run->data.charge_was_gauge, units, gas, sizeof gas),
             kp_show(run->data.position, KP_DIM_LENGTH, 0, units, position),
             kp_show(run->data.oil_temperature, KP_DIM_TEMPERATURE, 0, units, oil));
    for (size_t panel = 0; panel < 3; panel++) {
        snprintf(figure->panels[panel].x_label, sizeof figure->panels[panel].x_label, "shaft speed [%s]",
                 kp_unit_name(KP_DIM_SPEED, units));
    }
    snprintf(figure->panels[0].y_label, sizeof figure->panels[0].y_label, "force [%s]",
             kp_unit_name(KP_DIM_FORCE, units));
    snprintf(figure->panels[1].y_label, sizeof figure->panels[1].y_label, "opening [%s]",
             kp_unit_name(KP_DIM_LENGTH, units));
    snprintf(figure->panels[2].y_label, sizeof figure->panels[2].y_label, "past the shims [%%]");
    snprintf(figure->panels[1].title, sizeof figure->panels[1].title, "how far the shims open");
    snprintf(figure->panels[2].title, sizeof figure->panels[2].title, "share of the oil through bleed and leak");
    figure->panels[0].weight = 2.0;
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        status = kp_run_draw_force(run, figure, 0, (kp_direction)d, kp_direction_name((kp_direction)d), d, sign, units,
                                   error);
    }
    if (status == KP_OK) {
        status = draw_both(output, run, 1, false, error);
    }
    return status == KP_OK ? draw_both(output, run, 2, true, error) : status;
}
