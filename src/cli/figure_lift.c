/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The picture of `lift`: the stack's section, then edge lift and stress against pressure, beside the handbook's
    straight line. */
#include "cli/lift.h"
#include "cli/messages.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { POINTS = 80, CROSSES = 6, MOST_SECTIONS = 3 };

static const double CURVE_WEIGHT = 1.0;  /* [-] height of a panel of curves against a section */
static const double LEAST_RANGE = 0.5e5; /* [Pa] when only the stack at rest was asked for */

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

static kp_status add_lines(kp_figure *figure, size_t first, const kp_lift_lines *lines, kp_error *error)
{
    size_t second = first + 1;
    kp_status status =
        kp_figure_add(figure, first, "this stack", POINTS, lines->pressure, lines->lift, 0, false, true, error);
    if (status == KP_OK) {
        status = kp_figure_add(figure, first, "small deflection (the handbook's straight line)", POINTS,
                               lines->pressure, lines->small, 1, false, true, error);
    }
    if (status == KP_OK) {
        status = add_crosses(figure, first, lines, lines->lift, error);
    }
    if (status == KP_OK) {
        status = kp_figure_add(figure, second, "peak stress in the stack", POINTS, lines->pressure, lines->stress, 0,
                               false, true, error);
    }
    if (status == KP_OK) {
        status = kp_figure_add(figure, second, "yield", POINTS, lines->pressure, lines->yield, 6, false, true, error);
    }
    return status == KP_OK ? add_crosses(figure, second, lines, lines->stress, error) : status;
}

static int rising(const void *a, const void *b)
{
    double first = *(const double *)a, second = *(const double *)b;
    return (first > second) - (first < second);
}

/* At rest, and up to MOST_SECTIONS - 1 of the pressures: all when they are few, else the largest at which no shim is
   past its yield (or the largest) and the one in the middle before it. Returns how many. */
static kp_status choose_sections(const kp_lift_study *study, const double *pressures, size_t count, bool free_stack,
                                 double chosen[MOST_SECTIONS], size_t *chosen_count, kp_error *error)
{
    double *sorted = calloc(count, sizeof *sorted);
    kp_lift_row *rows = calloc(count, sizeof *rows);
    kp_status status = KP_OK;
    size_t used = 0, last = 0;
    if (sorted == NULL || rows == NULL) {
        status = kp_error_set(error, KP_NO_MEMORY, "memory ran out before the plot");
    } else {
        for (size_t i = 0; i < count; i++) {
            if (pressures[i] > 0.0) {
                sorted[used++] = pressures[i];
            }
        }
        qsort(sorted, used, sizeof *sorted, rising);
        status = kp_lift_study_rows(study, sorted, used, free_stack, rows, NULL, NULL, error);
    }
    *chosen_count = 0;
    chosen[(*chosen_count)++] = 0.0;
    for (size_t i = 0; status == KP_OK && i < used; i++) {
        bool past = false;
        for (size_t line = 0; line < study->valve->line_count; line++) {
            past = past || kp_lift_row_yields(study, &rows[i], line);
        }
        last = past ? last : i;
    }
    if (status == KP_OK && used < MOST_SECTIONS) {
        for (size_t i = 0; i < used; i++) {
            chosen[(*chosen_count)++] = sorted[i];
        }
    } else if (status == KP_OK) {
        last = last > 0 ? last : used - 1;
        chosen[(*chosen_count)++] = sorted[last / 2];
        chosen[(*chosen_count)++] = sorted[last];
    }
    free(sorted);
    free(rows);
    return status;
}

/* The two panels of curves behind the sections. */
static kp_status add_curves(kp_output *output, const kp_lift_study *study, size_t first, double most, kp_error *error)
{
    kp_unit_system units = output->options->units;
    kp_figure *figure = &output->figure;
    kp_lift_lines lines;
    double pressures[POINTS];
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
    }
    free(rows);
    for (size_t panel = first; panel < first + 2; panel++) {
        snprintf(figure->panels[panel].x_label, sizeof figure->panels[panel].x_label, "pressure [%s]",
                 kp_unit_name(KP_DIM_PRESSURE, units));
        figure->panels[panel].weight = CURVE_WEIGHT;
    }
    snprintf(figure->panels[first].y_label, sizeof figure->panels[first].y_label, "edge lift [%s]",
             kp_unit_name(KP_DIM_LENGTH, units));
    snprintf(figure->panels[first + 1].y_label, sizeof figure->panels[first + 1].y_label, "peak stress [%s]",
             kp_unit_name(KP_DIM_STRESS, units));
    return status == KP_OK ? add_lines(figure, first, &lines, error) : status;
}

kp_status kp_figure_of_lift(kp_output *output, const kp_lift_study *study, const char *title, const double *pressures,
                            size_t count, kp_error *error)
{
    kp_figure *figure = &output->figure;
    char heading[sizeof figure->title];
    double chosen[MOST_SECTIONS];
    size_t sections;
    double most = 0.0;
    for (size_t i = 0; i < count; i++) {
        most = fmax(most, pressures[i]);
    }
    most = most > 0.0 ? most : LEAST_RANGE;
    kp_status status = choose_sections(study, pressures, count, output->options->free, chosen, &sections, error);
    if (status == KP_OK) {
        snprintf(heading, sizeof heading, "%.150s: %s stack", title, kp_direction_name(study->direction));
        status = kp_figure_begin(figure, heading, sections + 2, error);
    }
    if (status == KP_OK) {
        status = kp_figure_add_sections(figure, study, chosen, sections, output->options->free, output->options->stress,
                                        output->options->units, error);
    }
    if (status != KP_OK) {
        return status;
    }
    snprintf(figure->note, sizeof figure->note,
             "%s Half sections: shims, land, washer and stop to scale, the rest of the piston only hinted at%s. Edge "
             "lift is that of the face shim, from the clamp plane%s.%s",
             kp_estimate_note, study->valve->has_hole ? "" : ", holes too (none is named)",
             output->options->free ? ", without the seat" : "",
             output->options->stress ? " Colour: von Mises stress of the worse face in % of the yield." : "");
    return add_curves(output, study, sections, most, error);
}
