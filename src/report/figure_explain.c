/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The picture of `explain`: force, and the share of the work that each path takes at which speed, stacked. */
#include "report/report_internal.h"

#include <stdio.h>

#define LINE_POINTS 120 /* [-] at most KP_DENSE */

#define PATHS 5

/* Shares of the power, one on top of the other, 0 to 100 %. */
static void draw_shares(kp_report *report, const kp_run *run, kp_direction direction)
{
    static const char *const labels[PATHS] = {"bleed", "leak", "valve port", "under the shims", "reservoir"};
    kp_curve_point points[LINE_POINTS];
    double x[LINE_POINTS];
    double edge[PATHS + 1][LINE_POINTS];
    if (!kp_dense_points(report, run->damper, direction, kp_run_top_speed(run), LINE_POINTS, points, x)) {
        return;
    }

    /* Edges of the areas: running sums of the shares of the power. */
    for (size_t i = 0; i < LINE_POINTS; i++) {
        kp_path_shares shares = kp_explain_shares(&points[i]);
        const double parts[PATHS] = {shares.bleed_power, shares.leak_power, shares.port_power, shares.disc_power,
                                     shares.reservoir_power};

        edge[0][i] = 0.0;
        for (int k = 0; k < PATHS; k++) {
            edge[k + 1][i] = edge[k][i] + 100.0 * parts[k];
        }
    }

    int paths = run->data.reservoir.given ? PATHS : PATHS - 1;

    for (int k = 0; k < paths; k++) {
        kp_draw_area(report, 1 + (size_t)direction, labels[k], LINE_POINTS, x, edge[k], edge[k + 1], k);
    }
}

void kp_figure_of_explain(kp_report *report, const kp_run *run)
{
    kp_figure *figure = &report->figure;
    if (!kp_draw_begin(report, kp_title_of(&run->data, run->path), 3)) {
        return;
    }

    snprintf(figure->note, sizeof figure->note,
             "%s Shares of the hydraulic power (drop x flow) by path; what is missing to 100 %% opens a void: the oil "
             "cavitates.",
             kp_estimate_note);
    kp_draw_panel(report, 0, "", report->request->with_gas ? "force" : "damping force", KP_DIM_FORCE);
    kp_draw_panel(report, 1, "compression: which path takes the work", "share of work", KP_DIM_NONE);
    kp_draw_panel(report, 2, "rebound: which path takes the work", "share of work", KP_DIM_NONE);
    figure->panels[0].weight = 1.3;

    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        kp_draw_force(report, run, (kp_direction)d, kp_direction_name((kp_direction)d), d, 1.0);
        draw_shares(report, run, (kp_direction)d);
    }
}
