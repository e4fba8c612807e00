/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Pictures of `explain`: who takes the work at which speed, stacked; and the family of curves of a lesson. */
#include "cli/explain.h"

#include <math.h>
#include <stdio.h>

enum { DENSE = 120, PATHS = 5 };

static double top_speed(const kp_run *run)
{
    double top = 0.0;
    for (size_t i = 0; i < run->count; i++) {
        top = fmax(top, fabs(run->points[0][i].speed));
    }
    return top;
}

/* Shares of the power, one on top of the other, 0 to 100 %. */
static kp_status draw_shares(kp_output *output, const kp_run *run, kp_direction direction, kp_error *error)
{
    static const char *const labels[PATHS] = {"bleed", "leak", "valve port", "under the shims", "reservoir"};
    kp_unit_system units = output->options->units;
    double x[DENSE];
    double edge[PATHS + 1][DENSE];
    double top = top_speed(run);
    kp_status status = KP_OK;
    for (size_t i = 0; status == KP_OK && i < DENSE; i++) {
        kp_curve_point point;
        double speed = kp_dense_speed(top, i, DENSE);
        status = kp_curve_at(run->damper, direction == KP_COMPRESSION ? speed : -speed, &point, error);
        if (status == KP_OK) {
            kp_path_shares shares = kp_explain_shares(&point);
            const double parts[PATHS] = {shares.bleed_power, shares.leak_power, shares.port_power, shares.disc_power,
                                         shares.reservoir_power};
            x[i] = kp_unit_convert(speed, KP_DIM_SPEED, units);
            edge[0][i] = 0.0;
            for (int k = 0; k < PATHS; k++) {
                edge[k + 1][i] = edge[k][i] + 100.0 * parts[k];
            }
        }
    }
    int paths = run->data.reservoir.given ? PATHS : PATHS - 1;
    for (int k = 0; status == KP_OK && k < paths; k++) {
        status = kp_figure_add_area(&output->figure, 1 + (size_t)direction, labels[k], DENSE, x, edge[k], edge[k + 1],
                                    k, true, error);
    }
    return status;
}

kp_status kp_figure_of_explain(kp_output *output, const kp_run *run, kp_error *error)
{
    kp_unit_system units = output->options->units;
    kp_figure *figure = &output->figure;
    kp_status status = kp_figure_begin(figure, kp_title_of(&run->data, run->path), 3, error);
    if (status != KP_OK) {
        return status;
    }
    snprintf(figure->note, sizeof figure->note,
             "%s Shares of the hydraulic power (drop x flow) by path; what is missing to 100 %% opens a void: the oil "
             "cavitates.",
             kp_estimate_note);
    for (size_t panel = 0; panel < 3; panel++) {
        snprintf(figure->panels[panel].x_label, sizeof figure->panels[panel].x_label, "shaft speed [%s]",
                 kp_unit_name(KP_DIM_SPEED, units));
        snprintf(figure->panels[panel].y_label, sizeof figure->panels[panel].y_label, "share of work [%%]");
    }
    snprintf(figure->panels[0].y_label, sizeof figure->panels[0].y_label, "force [%s]",
             kp_unit_name(KP_DIM_FORCE, units));
    snprintf(figure->panels[1].title, sizeof figure->panels[1].title, "compression: which path takes the work");
    snprintf(figure->panels[2].title, sizeof figure->panels[2].title, "rebound: which path takes the work");
    figure->panels[0].weight = 1.3;
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        status = kp_run_draw_force(run, figure, 0, (kp_direction)d, kp_direction_name((kp_direction)d), d, 1.0, units,
                                   error);
        status = status == KP_OK ? draw_shares(output, run, (kp_direction)d, error) : status;
    }
    return status;
}

/* ---- a lesson --------------------------------------------------------------------------------------------------- */

static kp_status draw_step(kp_output *output, const kp_lesson *lesson, size_t step, double top, kp_error *error)
{
    kp_unit_system units = output->options->units;
    const kp_lesson_step *base = NULL;
    double x[DENSE];
    double force[DENSE];
    double percent[DENSE];
    double sign = lesson->direction == KP_COMPRESSION ? 1.0 : -1.0;
    for (size_t i = 0; i < lesson->step_count; i++) {
        base = lesson->steps[i].as_found && lesson->steps[i].solved ? &lesson->steps[i] : base;
    }
    kp_status status = KP_OK;
    for (size_t i = 0; status == KP_OK && i < DENSE; i++) {
        kp_curve_point point;
        kp_curve_point first = {0};
        double speed = kp_dense_speed(top, i, DENSE);
        status = kp_curve_at(lesson->steps[step].damper, sign * speed, &point, error);
        if (status == KP_OK && base != NULL) {
            status = kp_curve_at(base->damper, sign * speed, &first, error);
        }
        x[i] = kp_unit_convert(speed, KP_DIM_SPEED, units);
        force[i] = sign * kp_unit_convert(point.force, KP_DIM_FORCE, units);
        double change = 100.0 * (fabs(point.hydraulic_force) / fabs(first.hydraulic_force) - 1.0);
        percent[i] = base != NULL && isfinite(change) ? change : (double)NAN;
    }
    if (status == KP_OK) {
        status = kp_figure_add(&output->figure, 0, lesson->steps[step].label, DENSE, x, force, (int)step, false, true,
                               error);
    }
    if (status == KP_OK && base != NULL) {
        status = kp_figure_add(&output->figure, 1, "", DENSE, x, percent, (int)step, false, false, error);
    }
    return status;
}

kp_status kp_figure_of_lesson(kp_output *output, const kp_lesson *lesson, const char *title, double top,
                              kp_error *error)
{
    kp_unit_system units = output->options->units;
    kp_figure *figure = &output->figure;
    kp_status status = kp_figure_begin(figure, title, 2, error);
    if (status != KP_OK) {
        return status;
    }
    snprintf(figure->note, sizeof figure->note,
             "%s Top: force with gas and friction, in the direction of %s. Below: "
             "change of the oil's force against the damper as in the file.",
             kp_estimate_note, kp_direction_name(lesson->direction));
    for (size_t panel = 0; panel < 2; panel++) {
        snprintf(figure->panels[panel].x_label, sizeof figure->panels[panel].x_label, "shaft speed [%s]",
                 kp_unit_name(KP_DIM_SPEED, units));
    }
    snprintf(figure->panels[0].y_label, sizeof figure->panels[0].y_label, "force [%s]",
             kp_unit_name(KP_DIM_FORCE, units));
    snprintf(figure->panels[1].y_label, sizeof figure->panels[1].y_label, "change [%%]");
    snprintf(figure->panels[1].title, sizeof figure->panels[1].title, "change against the file");
    for (size_t i = 0; status == KP_OK && i < lesson->step_count; i++) {
        if (lesson->steps[i].solved) {
            status = draw_step(output, lesson, i, top, error);
        }
    }
    return status;
}
