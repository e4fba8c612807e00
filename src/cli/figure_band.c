/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The picture of `band`: the band about the curve, and what it comes from, stacked. */
#include "cli/band.h"

#include <math.h>
#include <stdio.h>

enum { DENSE = 120, SHOWN_CAUSES = 5, MOST_POINTS = 200 };

static kp_status draw_band(kp_output *output, const kp_run *run, const kp_band *band, kp_direction direction,
                           kp_error *error)
{
    kp_unit_system units = output->options->units;
    double sign = output->options->rebound_up ? -1.0 : 1.0;
    double x[DENSE > MOST_POINTS ? DENSE : MOST_POINTS];
    double low[MOST_POINTS];
    double high[MOST_POINTS];
    double line[DENSE];
    size_t n = band->speed_count < MOST_POINTS ? band->speed_count : MOST_POINTS;
    for (size_t i = 0; i < n; i++) {
        x[i] = kp_unit_convert(band->speeds[i], KP_DIM_SPEED, units);
        low[i] = sign * kp_unit_convert(band->points[direction][i].lower.value, KP_DIM_FORCE, units);
        high[i] = sign * kp_unit_convert(band->points[direction][i].upper.value, KP_DIM_FORCE, units);
    }
    char label[80];
    snprintf(label, sizeof label, "%s, 95 of 100 builds", kp_direction_name(direction));
    kp_status status = kp_figure_add_area(&output->figure, 0, label, n, x, low, high,
                                          direction == KP_COMPRESSION ? 0 : 1, true, error);
    double from = band->speeds[0];
    double to = band->speeds[n - 1];
    for (size_t i = 0; status == KP_OK && i < DENSE; i++) {
        kp_curve_point point;
        double speed = from + (to - from) * pow((double)i / (DENSE - 1), 1.5);
        status = kp_curve_at(run->damper, direction == KP_COMPRESSION ? speed : -speed, &point, error);
        x[i] = kp_unit_convert(speed, KP_DIM_SPEED, units);
        line[i] = sign * kp_unit_convert(point.force, KP_DIM_FORCE, units);
    }
    snprintf(label, sizeof label, "%s, as in the file", kp_direction_name(direction));
    return status == KP_OK
               ? kp_figure_add(&output->figure, 0, label, DENSE, x, line, (int)direction, false, true, error)
               : status;
}

/* The causes with the largest share anywhere. */
static size_t find_causes(const kp_band *band, kp_direction direction, int found[SHOWN_CAUSES])
{
    double largest[KP_CAUSE_COUNT] = {0};
    size_t count = 0;
    for (int k = 0; k < KP_CAUSE_COUNT; k++) {
        for (size_t i = 0; i < band->speed_count; i++) {
            largest[k] = band->causes[k].acts ? fmax(largest[k], band->points[direction][i].shares[k].first) : 0.0;
        }
    }
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

static kp_status draw_shares(kp_output *output, const kp_band *band, kp_direction direction, kp_error *error)
{
    int causes[SHOWN_CAUSES];
    size_t count = find_causes(band, direction, causes);
    size_t n = band->speed_count < MOST_POINTS ? band->speed_count : MOST_POINTS;
    double x[MOST_POINTS];
    double edges[SHOWN_CAUSES + 2][MOST_POINTS];
    kp_status status = KP_OK;
    for (size_t i = 0; i < n; i++) {
        double sum = 0.0;
        x[i] = kp_unit_convert(band->speeds[i], KP_DIM_SPEED, output->options->units);
        edges[0][i] = 0.0;
        for (size_t k = 0; k < count; k++) {
            sum += fmax(0.0, band->points[direction][i].shares[causes[k]].first);
            edges[k + 1][i] = 100.0 * sum;
        }
        /* sampling error can carry the sum beyond the whole: drawn to scale then */
        for (size_t k = 1; sum > 1.0 && k <= count; k++) {
            edges[k][i] /= sum;
        }
        edges[count + 1][i] = 100.0;
    }
    for (size_t k = 0; status == KP_OK && k <= count; k++) {
        const char *label = k < count ? kp_cause_name((kp_cause)causes[k]) : "others and together";
        status = kp_figure_add_area(&output->figure, 1 + (size_t)direction, label, n, x, edges[k], edges[k + 1], (int)k,
                                    true, error);
    }
    return status;
}

kp_status kp_figure_of_band(kp_output *output, const kp_run *run, const kp_band *band, kp_error *error)
{
    kp_unit_system units = output->options->units;
    kp_figure *figure = &output->figure;
    bool shares = band->points[0][0].has_shares;
    size_t panels = shares ? 3 : 1;
    kp_status status = kp_figure_begin(figure, kp_title_of(&run->data, run->path), panels, error);
    if (status != KP_OK) {
        return status;
    }
    snprintf(figure->note, sizeof figure->note,
             "%s Shaded: where 95 of 100 builds to the tolerances lie, from %zu sampled. Below: share of each cause "
             "alone in the variance.",
             kp_estimate_note, band->done);
    for (size_t panel = 0; panel < panels; panel++) {
        snprintf(figure->panels[panel].x_label, sizeof figure->panels[panel].x_label, "shaft speed [%s]",
                 kp_unit_name(KP_DIM_SPEED, units));
        snprintf(figure->panels[panel].y_label, sizeof figure->panels[panel].y_label, "share [%%]");
    }
    snprintf(figure->panels[0].y_label, sizeof figure->panels[0].y_label, "force [%s]",
             kp_unit_name(KP_DIM_FORCE, units));
    figure->panels[0].weight = 1.6;
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        status = draw_band(output, run, band, (kp_direction)d, error);
        if (status == KP_OK && shares) {
            snprintf(figure->panels[1 + d].title, sizeof figure->panels[0].title, "%s: where the spread comes from",
                     kp_direction_name((kp_direction)d));
            status = draw_shares(output, band, (kp_direction)d, error);
        }
    }
    return status;
}
