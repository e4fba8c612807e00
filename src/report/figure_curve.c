/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The picture of `curve`: force against shaft speed, and under it how far the shims open and who carries the oil. */
#include "report/report_internal.h"

#include <stdio.h>

/* The lower panels of one direction: opening, and the share of the oil that does not pass the shims. */
static void draw_below(kp_report *report, const kp_run *run, kp_direction direction)
{
    kp_curve_point points[KP_DENSE];
    double x[KP_DENSE];
    double opening[KP_DENSE];
    double share[KP_DENSE];
    if (!kp_dense_points(report, run->damper, direction, kp_run_top_speed(run), KP_DENSE, points, x)) {
        return;
    }

    /* Opening, and the share of bleed and leak in the whole flow. */
    for (size_t i = 0; i < KP_DENSE; i++) {
        double past = points[i].bleed_flow + points[i].leak_flow;
        double all = past + points[i].valve_flow + points[i].void_flow;

        opening[i] = kp_unit_convert(points[i].opening, KP_DIM_LENGTH, report->request->units);
        share[i] = 100.0 * past / all;
    }

    kp_draw_line(report, 1, kp_direction_name(direction), KP_DENSE, x, opening, (int)direction, false);
    kp_draw_line(report, 2, kp_direction_name(direction), KP_DENSE, x, share, (int)direction, false);
}

void kp_figure_of_curve(kp_report *report, const kp_run *run)
{
    kp_unit_system units = report->request->units;
    bool rebound_up = report->request->rebound_up;
    kp_figure *figure = &report->figure;
    if (!kp_draw_begin(report, kp_title_of(&run->data, run->path), 3)) {
        return;
    }

    char gas[KP_CHARGE_WORDS];

    snprintf(figure->note, sizeof figure->note, "%s Top: %s; %s. Gas %s with the rod pushed in %s; oil %s.",
             kp_estimate_note, kp_shown_force_words(report),
             rebound_up ? "rebound up, compression down" : "compression up, rebound down",
             kp_charge_words(run->gas_pressure, run->data.charge_was_gauge, units, gas),
             KP_SHOW(run->data.position, KP_DIM_LENGTH, 0, units),
             KP_SHOW(run->data.oil_temperature, KP_DIM_TEMPERATURE, 0, units));

    /* Force at the top; opening and share of the oil below it. */
    kp_draw_panel(report, 0, "", report->request->with_gas ? "force" : "damping force", KP_DIM_FORCE);
    kp_draw_panel(report, 1, "how far the shims open", "opening", KP_DIM_LENGTH);
    kp_draw_panel(report, 2, "share of the oil through bleed and leak", "past the shims", KP_DIM_NONE);
    figure->panels[0].weight = 2.0;

    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        kp_draw_force(report, run, (kp_direction)d, kp_direction_name((kp_direction)d), d, rebound_up ? -1.0 : 1.0);
    }

    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        draw_below(report, run, (kp_direction)d);
    }
}
