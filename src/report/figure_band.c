/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The picture of `band`: the band about the curve, and what it comes from, stacked. */
#include "report/report_internal.h"

#include <math.h>
#include <stdio.h>

#define LINE_POINTS  120
#define MAX_POINTS   200 /* [-] speeds of a band that are drawn */
#define SHOWN_CAUSES 5

static size_t drawn_points(const kp_band *band)
{
    return band->speed_count < MAX_POINTS ? band->speed_count : MAX_POINTS;
}

/* ---- the band and the curve in it -------------------------------------------------------------------------------- */

static void draw_limits(kp_report *report, const kp_band *band, kp_direction direction, double sign)
{
    kp_unit_system units = report->request->units;
    double x[MAX_POINTS];
    double low[MAX_POINTS];
    double high[MAX_POINTS];
    size_t count = drawn_points(band);

    for (size_t i = 0; i < count; i++) {
        x[i] = kp_unit_convert(band->speeds[i], KP_DIM_SPEED, units);
        low[i] = sign * kp_unit_convert(band->points[direction][i].lower.value, KP_DIM_FORCE, units);
        high[i] = sign * kp_unit_convert(band->points[direction][i].upper.value, KP_DIM_FORCE, units);
    }

    char label[80];

    snprintf(label, sizeof label, "%s, 95 of 100 builds", kp_direction_name(direction));
    kp_draw_area(report, 0, label, count, x, low, high, direction == KP_COMPRESSION ? 0 : 1);
}

static void draw_curve(kp_report *report, const kp_run *run, const kp_band *band, kp_direction direction, double sign)
{
    kp_unit_system units = report->request->units;
    double x[LINE_POINTS];
    double line[LINE_POINTS];
    double from = band->speeds[0];
    double to = band->speeds[drawn_points(band) - 1];

    /* Points are denser at low speed, where the curve bends. */
    for (size_t i = 0; report->failure.status == KP_OK && i < LINE_POINTS; i++) {
        kp_curve_point point;
        double speed = from + (to - from) * pow((double)i / (LINE_POINTS - 1), 1.5);
        double signed_speed = direction == KP_COMPRESSION ? speed : -speed;
        if (kp_curve_at(run->damper, signed_speed, &point, &report->failure) != KP_OK) {
            return;
        }

        x[i] = kp_unit_convert(speed, KP_DIM_SPEED, units);
        line[i] = sign * kp_unit_convert(point.force, KP_DIM_FORCE, units);
    }

    char label[80];

    snprintf(label, sizeof label, "%s, as in the file", kp_direction_name(direction));
    kp_draw_line(report, 0, label, LINE_POINTS, x, line, (int)direction, true);
}

/* ---- what it comes from ------------------------------------------------------------------------------------------ */

/* The causes with the largest share anywhere. */
static size_t find_causes(const kp_band *band, kp_direction direction, int found[SHOWN_CAUSES])
{
    double largest[KP_CAUSE_COUNT] = {0};
    size_t count = 0;

    /* Largest share of each cause at any speed. */
    for (int k = 0; k < KP_CAUSE_COUNT; k++) {
        for (size_t i = 0; i < band->speed_count; i++) {
            largest[k] = band->causes[k].acts ? fmax(largest[k], band->points[direction][i].shares[k].first) : 0.0;
        }
    }

    /* Largest first, until none is left that acts. */
    while (count < SHOWN_CAUSES) {
        int best = 0;
        for (int k = 1; k < KP_CAUSE_COUNT; k++) {
            best = largest[k] > largest[best] ? k : best;
        }

        if (!(largest[best] > 0.0)) {
            break;
        }

        found[count++] = best;
        largest[best] = 0.0;
    }

    return count;
}

static void draw_shares(kp_report *report, const kp_band *band, kp_direction direction)
{
    int causes[SHOWN_CAUSES];
    double x[MAX_POINTS];
    double edges[SHOWN_CAUSES + 2][MAX_POINTS];
    size_t shown = find_causes(band, direction, causes);
    size_t count = drawn_points(band);

    /* Edges of the areas: running sums of the shares, each cut at 0. */
    for (size_t i = 0; i < count; i++) {
        double sum = 0.0;
        x[i] = kp_unit_convert(band->speeds[i], KP_DIM_SPEED, report->request->units);
        edges[0][i] = 0.0;

        for (size_t k = 0; k < shown; k++) {
            sum += fmax(0.0, band->points[direction][i].shares[causes[k]].first);
            edges[k + 1][i] = 100.0 * sum;
        }

        /* sampling error can carry the sum beyond the whole: drawn to scale then */
        for (size_t k = 1; sum > 1.0 && k <= shown; k++) {
            edges[k][i] /= sum;
        }

        edges[shown + 1][i] = 100.0;
    }

    for (size_t k = 0; k <= shown; k++) {
        const char *label = k < shown ? kp_cause_name((kp_cause)causes[k]) : "others and together";
        kp_draw_area(report, 1 + (size_t)direction, label, count, x, edges[k], edges[k + 1], (int)k);
    }
}

void kp_figure_of_band(kp_report *report, const kp_run *run, const kp_band *band)
{
    kp_figure *figure = &report->figure;
    double sign = report->request->rebound_up ? -1.0 : 1.0;
    bool shares = band->points[0][0].has_shares;
    if (!kp_draw_begin(report, kp_title_of(&run->data, run->path), shares ? 3 : 1)) {
        return;
    }

    snprintf(figure->note, sizeof figure->note,
             "%s Shaded: where 95 of 100 builds to the tolerances lie, from %zu sampled. Below: share of each cause "
             "alone in the variance.",
             kp_estimate_note, band->done);
    kp_draw_panel(report, 0, "", "force", KP_DIM_FORCE);
    figure->panels[0].weight = 1.6;

    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        draw_limits(report, band, (kp_direction)d, sign);
        draw_curve(report, run, band, (kp_direction)d, sign);

        if (shares) {
            char title[80];
            snprintf(title, sizeof title, "%s: where the spread comes from", kp_direction_name((kp_direction)d));
            kp_draw_panel(report, 1 + (size_t)d, title, "share", KP_DIM_NONE);
            draw_shares(report, band, (kp_direction)d);
        }
    }
}
