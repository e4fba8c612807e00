/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The picture of `lift`: edge lift and stress against pressure, beside the handbook's straight line. */
#include "cli/lift.h"
#include "cli/talk.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { POINTS = 80, CROSSES = 6 };

static const double STRAIGHT_LINE_ROOM = 1.3; /* [-] the straight line leaves the picture this far above the curve */

/** What is drawn, in display units. */
typedef struct kp_lift_lines {
    double pressure[POINTS], lift[POINTS], small[POINTS], stress[POINTS], yield[POINTS];
    bool past[POINTS]; /* some shim is past its yield */
} kp_lift_lines;

static void fill_lines(const kp_lift_study *study, const kp_lift_row *rows, kp_unit_system units, kp_lift_lines *lines)
{
    double lowest_yield = INFINITY;
    double most_lift = 0.0;
    for (size_t i = 0; i < study->valve->line_count; i++) {
        lowest_yield = fmin(lowest_yield, study->discs[i].material.yield);
    }
    for (size_t i = 0; i < POINTS; i++) {
        most_lift = fmax(most_lift, rows[i].edge_lift);
    }
    for (size_t i = 0; i < POINTS; i++) {
        bool inside = rows[i].small_edge_lift <= STRAIGHT_LINE_ROOM * most_lift;
        lines->pressure[i] = kp_unit_convert(rows[i].pressure, KP_DIM_PRESSURE, units);
        lines->lift[i] = kp_unit_convert(rows[i].edge_lift, KP_DIM_LENGTH, units);
        lines->small[i] = inside ? kp_unit_convert(rows[i].small_edge_lift, KP_DIM_LENGTH, units) : (double)NAN;
        lines->stress[i] = kp_unit_convert(rows[i].peak_stress, KP_DIM_STRESS, units);
        lines->yield[i] = kp_unit_convert(lowest_yield, KP_DIM_STRESS, units);
        lines->past[i] = false;
        for (size_t line = 0; line < study->valve->line_count; line++) {
            lines->past[i] = lines->past[i] || kp_lift_row_yields(study, &rows[i], line);
        }
    }
}

/* A few crosses where a shim would set or break, so that this part never looks like the rest. */
static kp_status add_crosses(kp_figure *figure, size_t panel, const kp_lift_lines *lines, const double *y,
                             kp_error *error)
{
    double cross_x[CROSSES];
    double cross_y[CROSSES];
    size_t count = 0;
    size_t first = 0;
    while (first < POINTS && !lines->past[first]) {
        first++;
    }
    for (size_t k = 0; first < POINTS && k < CROSSES; k++) {
        size_t i = first + (POINTS - 1 - first) * k / (CROSSES - 1);
        if (count == 0 || lines->pressure[i] > cross_x[count - 1]) {
            cross_x[count] = lines->pressure[i];
            cross_y[count++] = y[i];
        }
    }
    return count == 0 ? KP_OK
                      : kp_figure_add(figure, panel, "a shim would set or break", count, cross_x, cross_y,
                                      KP_STYLE_CROSS, true, true, error);
}

static kp_status add_lines(kp_figure *figure, const kp_lift_lines *lines, kp_error *error)
{
    kp_status status =
        kp_figure_add(figure, 0, "this stack", POINTS, lines->pressure, lines->lift, 0, false, true, error);
    if (status == KP_OK) {
        status = kp_figure_add(figure, 0, "small deflection (the handbook's straight line)", POINTS, lines->pressure,
                               lines->small, 1, false, true, error);
    }
    if (status == KP_OK) {
        status = add_crosses(figure, 0, lines, lines->lift, error);
    }
    if (status == KP_OK) {
        status = kp_figure_add(figure, 1, "peak stress in the stack", POINTS, lines->pressure, lines->stress, 0, false,
                               true, error);
    }
    if (status == KP_OK) {
        status = kp_figure_add(figure, 1, "yield", POINTS, lines->pressure, lines->yield, 6, false, true, error);
    }
    return status == KP_OK ? add_crosses(figure, 1, lines, lines->stress, error) : status;
}

kp_status kp_figure_of_lift(kp_output *output, const kp_lift_study *study, const char *title, double most,
                            kp_error *error)
{
    kp_unit_system units = output->options->units;
    kp_figure *figure = &output->figure;
    kp_lift_lines lines;
    double pressures[POINTS];
    char heading[sizeof figure->title];
    kp_lift_row *rows = calloc(POINTS, sizeof *rows);
    if (rows == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out before the plot");
    }
    for (size_t i = 0; i < POINTS; i++) { /* closer together at low pressure, where the stack cracks */
        pressures[i] = most * pow((double)i / (POINTS - 1), 1.5);
    }
    kp_status status = kp_lift_study_rows(study, pressures, POINTS, output->options->free, rows, NULL, NULL, error);
    if (status == KP_OK) {
        fill_lines(study, rows, units, &lines);
        snprintf(heading, sizeof heading, "%.150s: %s stack", title, kp_direction_name(study->direction));
        status = kp_figure_begin(figure, heading, 2, error);
    }
    free(rows);
    if (status != KP_OK) {
        return status;
    }
    for (size_t panel = 0; panel < 2; panel++) {
        snprintf(figure->panels[panel].x_label, sizeof figure->panels[panel].x_label, "pressure [%s]",
                 kp_unit_name(KP_DIM_PRESSURE, units));
    }
    snprintf(figure->panels[0].y_label, sizeof figure->panels[0].y_label, "edge lift [%s]",
             kp_unit_name(KP_DIM_LENGTH, units));
    snprintf(figure->panels[1].y_label, sizeof figure->panels[1].y_label, "peak stress [%s]",
             kp_unit_name(KP_DIM_STRESS, units));
    snprintf(figure->note, sizeof figure->note, "%s Lift of the face shim's edge from the clamp plane%s.",
             kp_estimate_note, output->options->free ? ", without the seat" : "");
    return add_lines(figure, &lines, error);
}
