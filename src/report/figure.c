/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What the figures over shaft speed share: axes, lines, and the force of one direction with its marks. */
#include "report/report_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define CROSSES 6 /* [-] marks along a part of a line that is not sound */

/* ---- panels and lines -------------------------------------------------------------------------------------------- */

bool kp_draw_begin(kp_report *report, const char *title, size_t panels)
{
    kp_figure *figure = &report->figure;
    if (report->failure.status != KP_OK || kp_figure_begin(figure, title, panels, &report->failure) != KP_OK) {
        return false;
    }

    for (size_t panel = 0; panel < panels; panel++) {
        snprintf(figure->panels[panel].x_label, sizeof figure->panels[panel].x_label, "shaft speed [%s]",
                 kp_unit_name(KP_DIM_SPEED, report->request->units));
    }

    return true;
}

void kp_draw_panel(kp_report *report, size_t panel, const char *title, const char *what, kp_dimension dimension)
{
    kp_panel *drawn = &report->figure.panels[panel];
    const char *unit = dimension == KP_DIM_NONE ? "%" : kp_unit_name(dimension, report->request->units);
    snprintf(drawn->title, sizeof drawn->title, "%s", title);
    snprintf(drawn->y_label, sizeof drawn->y_label, "%s [%s]", what, unit);
}

static void draw(kp_report *report, size_t panel, const char *label, size_t count, const double *x, const double *y,
                 int style, bool marks, bool in_key)
{
    if (report->failure.status == KP_OK) {
        kp_figure_add(&report->figure, panel, label, count, x, y, style, marks, in_key, &report->failure);
    }
}

void kp_draw_line(kp_report *report, size_t panel, const char *label, size_t count, const double *x, const double *y,
                  int style, bool in_key)
{
    draw(report, panel, label, count, x, y, style, false, in_key);
}

void kp_draw_marks(kp_report *report, size_t panel, const char *label, size_t count, const double *x, const double *y,
                   int style, bool in_key)
{
    if (count > 0) {
        draw(report, panel, label, count, x, y, style, true, in_key);
    }
}

void kp_draw_area(kp_report *report, size_t panel, const char *label, size_t count, const double *x, const double *base,
                  const double *y, int style)
{
    if (report->failure.status == KP_OK) {
        kp_figure_add_area(&report->figure, panel, label, count, x, base, y, style, true, &report->failure);
    }
}

bool kp_dense_points(kp_report *report, const kp_damper *damper, kp_direction direction, double top, size_t count,
                     kp_curve_point *points, double *x)
{
    for (size_t i = 0; report->failure.status == KP_OK && i < count; i++) {
        /* closer together at low speed, where the knee is */
        double speed = top * pow((double)(i + 1) / (double)count, 1.5);
        double signed_speed = direction == KP_COMPRESSION ? speed : -speed;
        if (kp_curve_at(damper, signed_speed, &points[i], &report->failure) == KP_OK) {
            x[i] = kp_unit_convert(speed, KP_DIM_SPEED, report->request->units);
        }
    }
    return report->failure.status == KP_OK;
}

/* ---- the force of one direction ---------------------------------------------------------------------------------- */

/* Marks that all lines of the panel share: one entry in the key is enough. */
static void draw_marks(kp_report *report, const char *label, size_t count, const double *x, const double *y, int style)
{
    const kp_panel *panel = &report->figure.panels[0];
    bool listed = false;
    for (size_t s = 0; s < panel->series_count; s++) {
        listed = listed || strcmp(panel->series[s].label, label) == 0;
    }
    draw(report, 0, label, count, x, y, style, true, !listed);
}

/* A few crosses along the part of the line that is not sound: first and last of it among them. */
static void draw_crosses(kp_report *report, const double *x, const double *y, const bool *bad, const char *label,
                         int style)
{
    double cross_x[CROSSES];
    double cross_y[CROSSES];
    size_t first = KP_DENSE;
    size_t last = 0;
    size_t count = 0;

    /* First and last unsound point of the curve. */
    for (size_t i = 0; i < KP_DENSE; i++) {
        if (bad[i]) {
            first = i < first ? i : first;
            last = i;
        }
    }

    /* Evenly between the two, and no two at one place. */
    for (size_t k = 0; first < KP_DENSE && k < CROSSES; k++) {
        size_t i = first + (last - first) * k / (CROSSES - 1);
        if (bad[i] && (count == 0 || cross_x[count - 1] < x[i])) {
            cross_x[count] = x[i];
            cross_y[count] = y[i];
            count++;
        }
    }

    if (count > 0) {
        draw_marks(report, label, count, cross_x, cross_y, style);
    }
}

static void draw_knee(kp_report *report, const kp_run *run, kp_direction direction, int style, double sign)
{
    const kp_curve_summary *summary = &run->summaries[direction];
    kp_unit_system units = report->request->units;
    kp_curve_point point;
    double speed = direction == KP_COMPRESSION ? summary->knee_speed : -summary->knee_speed;
    if (!summary->has_knee || report->failure.status != KP_OK ||
        kp_curve_at(run->damper, speed, &point, &report->failure) != KP_OK) {
        return;
    }

    /* The mark stands on the curve, so it has the force that is shown and not the hydraulic force of the knee. */
    double x = kp_unit_convert(summary->knee_speed, KP_DIM_SPEED, units);
    double y = sign * kp_unit_convert(kp_shown_force(report, &point), KP_DIM_FORCE, units);
    draw_marks(report, "knee (large mark)", 1, &x, &y, style);
}

void kp_draw_force(kp_report *report, const kp_run *run, kp_direction direction, const char *label, int style,
                   double sign)
{
    kp_curve_point points[KP_DENSE];
    double x[KP_DENSE];
    double y[KP_DENSE];
    bool set[KP_DENSE];
    bool cavitating[KP_DENSE];
    if (!kp_dense_points(report, run->damper, direction, kp_run_top_speed(run), KP_DENSE, points, x)) {
        return;
    }

    /* Force with the sign of its direction, and the points to mark. */
    for (size_t i = 0; i < KP_DENSE; i++) {
        y[i] = sign * kp_unit_convert(kp_shown_force(report, &points[i]), KP_DIM_FORCE, report->request->units);
        unsigned risks = kp_point_risks(&points[i]);
        set[i] = (risks & (KP_RISK_YIELD | KP_RISK_RESERVOIR_YIELD)) != 0;
        cavitating[i] = (risks & KP_RISK_CAVITATION) != 0;
    }

    kp_draw_line(report, 0, label, KP_DENSE, x, y, style, label[0] != '\0');
    draw_knee(report, run, direction, style, sign);
    draw_crosses(report, x, y, set, "a shim would set or break", KP_STYLE_CROSS);
    draw_crosses(report, x, y, cavitating, "cavitates", KP_STYLE_RING);
}

/* ---- curves overlaid --------------------------------------------------------------------------------------------- */

#define MAX_PERCENT 300.0 /* [%] beyond that the rest of the panel would be flat */

/* Change against the first, in per cent, one panel a direction: signs and files do not mix there. */
static void draw_change(kp_report *report, const kp_run *runs, size_t file, kp_direction direction)
{
    kp_curve_point first[KP_DENSE];
    kp_curve_point now[KP_DENSE];
    double x[KP_DENSE];
    double y[KP_DENSE];
    double top = kp_run_top_speed(&runs[0]);
    if (!kp_dense_points(report, runs[0].damper, direction, top, KP_DENSE, first, x) ||
        !kp_dense_points(report, runs[file].damper, direction, top, KP_DENSE, now, x)) {
        return;
    }

    /* Near zero damping a change in per cent has no meaning: beyond the limit the line is broken. */
    for (size_t i = 0; i < KP_DENSE; i++) {
        double damping = kp_point_damping(&first[i]);
        double percent = 100.0 * (kp_point_damping(&now[i]) - damping) / damping;
        y[i] = isfinite(percent) && fabs(percent) <= MAX_PERCENT ? percent : (double)NAN;
    }

    kp_draw_line(report, 1 + (size_t)direction, "", KP_DENSE, x, y, (int)(file % KP_STYLE_COUNT), false);
}

void kp_draw_overlay(kp_report *report, const char *title, const kp_run *runs, size_t count)
{
    bool rebound_up = report->request->rebound_up;
    kp_figure *figure = &report->figure;
    if (!kp_draw_begin(report, title, 3)) {
        return;
    }

    snprintf(figure->note, sizeof figure->note,
             "%s Top: %s; %s. Below: change of the damping force, gas left out, against the "
             "first; + is firmer.",
             kp_estimate_note, kp_shown_force_words(report),
             rebound_up ? "rebound up, compression down" : "compression up, rebound down");
    kp_draw_panel(report, 0, "", report->request->with_gas ? "force" : "damping force", KP_DIM_FORCE);
    kp_draw_panel(report, 1, "compression, change against the first", "change", KP_DIM_NONE);
    kp_draw_panel(report, 2, "rebound, change against the first", "change", KP_DIM_NONE);
    figure->panels[0].weight = 2.2;

    for (size_t file = 0; file < count; file++) {
        for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
            /* one key entry for both directions of a file */
            const char *label = d == KP_COMPRESSION ? kp_title_of(&runs[file].data, runs[file].path) : "";
            kp_draw_force(report, &runs[file], (kp_direction)d, label, (int)(file % KP_STYLE_COUNT),
                          rebound_up ? -1.0 : 1.0);
        }
    }

    /* The lower panels: every further file against the first. */
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (size_t file = 1; file < count; file++) {
            draw_change(report, runs, file, (kp_direction)d);
        }
    }
}
