/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The figure of `lift`: the stack's section, then edge lift and stress against pressure, beside the handbook's
   straight line. */
#include "report/lift_report.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { POINTS = 80, CROSSES = 6, MAX_SECTIONS = 3 };

static const double CURVE_WEIGHT = 1.0; /* [-] height of a panel of curves against a section */
static const double MIN_RANGE = 0.5e5;  /* [Pa] when only the stack at rest was requested */
static const double LINE_ROOM = 1.3;    /* [-] the straight line ends this far above the largest lift */

/** What is drawn, in display units. */
typedef struct kp_lift_lines {
    double pressure[POINTS], lift[POINTS], small[POINTS], stress[POINTS], yield[POINTS];
    bool past[POINTS]; /* some shim is past its yield */
} kp_lift_lines;

static void fill_lines(const kp_lift_study *study, const kp_lift_row *rows, kp_unit_system units, kp_lift_lines *lines)
{
    double min_yield = INFINITY;
    double max_lift = 0.0;
    for (size_t i = 0; i < study->valve->line_count; i++) {
        min_yield = fmin(min_yield, study->discs[i].material.yield);
    }
    for (size_t i = 0; i < POINTS; i++) {
        max_lift = fmax(max_lift, rows[i].edge_lift);
    }

    for (size_t i = 0; i < POINTS; i++) {
        bool inside = rows[i].small_edge_lift <= LINE_ROOM * max_lift;
        lines->pressure[i] = kp_unit_convert(rows[i].pressure, KP_DIM_PRESSURE, units);
        lines->lift[i] = kp_unit_convert(rows[i].edge_lift, KP_DIM_LENGTH, units);
        lines->small[i] = inside ? kp_unit_convert(rows[i].small_edge_lift, KP_DIM_LENGTH, units) : (double)NAN;
        lines->stress[i] = kp_unit_convert(rows[i].peak_stress, KP_DIM_STRESS, units);
        lines->yield[i] = kp_unit_convert(min_yield, KP_DIM_STRESS, units);
        lines->past[i] = rows[i].past_yield;
    }
}

/* A few crosses mark where a shim would set or break, in colour and in grey. */
static void add_crosses(kp_report *report, size_t panel, const kp_lift_lines *lines, const double *y)
{
    double cross_x[CROSSES];
    double cross_y[CROSSES];
    size_t count = 0;
    size_t first = 0;

    /* All from the first pressure past the yield on counts as past it. */
    while (first < POINTS && !lines->past[first]) {
        first++;
    }

    /* Evenly from there to the end; near the end several would share one point. */
    for (size_t k = 0; first < POINTS && k < CROSSES; k++) {
        size_t i = first + (POINTS - 1 - first) * k / (CROSSES - 1);
        if (count == 0 || lines->pressure[i] > cross_x[count - 1]) {
            cross_x[count] = lines->pressure[i];
            cross_y[count++] = y[i];
        }
    }

    kp_draw_marks(report, panel, "a shim would set or break", count, cross_x, cross_y, KP_STYLE_CROSS, true);
}

static void begin_panel(kp_report *report, size_t panel, const char *what, kp_dimension dimension)
{
    kp_panel *drawn = &report->figure.panels[panel];
    kp_draw_panel(report, panel, "", what, dimension);
    snprintf(drawn->x_label, sizeof drawn->x_label, "pressure [%s]",
             kp_unit_name(KP_DIM_PRESSURE, report->request->units));
    drawn->weight = CURVE_WEIGHT;
}

/* Lift and stress in two panels, from the first on. */
static void draw_curves(kp_report *report, const kp_lift_study *study, size_t first, double pressure_max)
{
    double pressures[POINTS];
    kp_lift_row *rows = calloc(POINTS, sizeof *rows);
    if (rows == NULL) {
        kp_error_set(&report->failure, KP_NO_MEMORY, "memory ran out before the plot");
        return;
    }

    /* Closer together at low pressure, where the stack cracks. */
    for (size_t i = 0; i < POINTS; i++) {
        pressures[i] = pressure_max * pow((double)i / (POINTS - 1), 1.5);
    }

    if (kp_lift_study_rows(study, pressures, POINTS, report->request->free, rows, NULL, NULL, &report->failure) ==
        KP_OK) {
        kp_lift_lines lines;
        fill_lines(study, rows, report->request->units, &lines);

        /* Lift, beside the handbook's. */
        begin_panel(report, first, "edge lift", KP_DIM_LENGTH);
        kp_draw_line(report, first, "this stack", POINTS, lines.pressure, lines.lift, 0, true);
        kp_draw_line(report, first, "small deflection (the handbook's straight line)", POINTS, lines.pressure,
                     lines.small, 1, true);
        add_crosses(report, first, &lines, lines.lift);

        /* Stress, beside the smallest yield of all shims. */
        begin_panel(report, first + 1, "peak stress", KP_DIM_STRESS);
        kp_draw_line(report, first + 1, "peak stress in the stack", POINTS, lines.pressure, lines.stress, 0, true);
        kp_draw_line(report, first + 1, "yield", POINTS, lines.pressure, lines.yield, 6, true);
        add_crosses(report, first + 1, &lines, lines.stress);
    }

    free(rows);
}

static int rising(const void *a, const void *b)
{
    double first = *(const double *)a, second = *(const double *)b;
    return (first > second) - (first < second);
}

/* The pressures of the sections: rest, and up to MAX_SECTIONS - 1 of those given. All of them when they are few, else
   the largest at which no shim is past its yield (or the largest) and the one in the middle before it.
   Returned: how many; 0 after a failure. */
static size_t choose_sections(kp_report *report, const kp_lift_study *study, const double *pressures, size_t count,
                              double chosen[MAX_SECTIONS])
{
    double *sorted = calloc(count, sizeof *sorted);
    kp_lift_row *rows = calloc(count, sizeof *rows);
    size_t used = 0, last = 0, sections = 0;
    if (sorted == NULL || rows == NULL) {
        kp_error_set(&report->failure, KP_NO_MEMORY, "memory ran out before the plot");
        free(sorted);
        free(rows);
        return 0;
    }

    /* Pressures above rest, sorted. */
    for (size_t i = 0; i < count; i++) {
        if (pressures[i] > 0.0) {
            sorted[used++] = pressures[i];
        }
    }
    qsort(sorted, used, sizeof *sorted, rising);

    if (kp_lift_study_rows(study, sorted, used, report->request->free, rows, NULL, NULL, &report->failure) == KP_OK) {
        /* The last at which no shim yields. */
        for (size_t i = 0; i < used; i++) {
            last = rows[i].past_yield ? last : i;
        }

        bool few = used < MAX_SECTIONS;
        chosen[sections++] = 0.0;
        for (size_t i = 0; few && i < used; i++) {
            chosen[sections++] = sorted[i];
        }
        if (!few) {
            last = last > 0 ? last : used - 1;
            chosen[sections++] = sorted[last / 2];
            chosen[sections++] = sorted[last];
        }
    }

    free(sorted);
    free(rows);
    return sections;
}

/* kp_lift_visit: keeps the amplitude of the lobes at the face shim's edge. */
static void keep_lobe(const kp_lift_study *study, size_t row, void *context)
{
    kp_lift_state *states = context;
    states[row].edge_lobe = kp_stack_lobe_at(study->workspace, 0, study->discs[0].outer_radius);
}

/* Solves the states to be drawn, and numbers their panels. Returned: panels; 0 after a failure. */
static size_t solve_states(kp_report *report, const kp_lift_study *study, const double *chosen, size_t count,
                           kp_lift_state *states)
{
    kp_lift_row rows[MAX_SECTIONS];
    size_t panels = 0;
    if (count == 0 || kp_lift_study_rows(study, chosen, count, report->request->free, rows, keep_lobe, states,
                                         &report->failure) != KP_OK) {
        return 0;
    }
    for (size_t i = 0; i < count; i++) {
        states[i].pressure = chosen[i];
        states[i].row = rows[i];
        states[i].edge_lobe = rows[i].lobes > 0 ? states[i].edge_lobe : 0.0;
        states[i].panel = panels;
        panels += kp_state_panels(&states[i]);
    }
    return panels;
}

void kp_figure_of_lift(kp_report *report, const kp_lift_study *study, const kp_damper_data *data)
{
    const kp_request *request = report->request;
    kp_figure *figure = &report->figure;
    char heading[sizeof figure->title];
    double chosen[MAX_SECTIONS];
    size_t count;
    const double *pressures = kp_lift_pressures(request, &count);
    double pressure_max = 0.0;

    /* The curves reach to the largest pressure. */
    for (size_t i = 0; i < count; i++) {
        pressure_max = fmax(pressure_max, pressures[i]);
    }
    pressure_max = pressure_max > 0.0 ? pressure_max : MIN_RANGE;

    kp_lift_state states[MAX_SECTIONS];
    size_t sections = report->failure.status == KP_OK ? choose_sections(report, study, pressures, count, chosen) : 0;
    size_t panels = solve_states(report, study, chosen, sections, states);
    snprintf(heading, sizeof heading, "%.150s: %s stack", kp_title_of(data, request->files[0]),
             kp_direction_name(study->direction));
    if (panels == 0 || !kp_draw_begin(report, heading, panels + 2)) {
        return;
    }

    snprintf(figure->note, sizeof figure->note,
             "%s Half sections: shims, land, washer and stop to scale, the rest of the piston only hinted at%s. Edge "
             "lift is that of the face shim, from the clamp plane, the mean where it has lobes%s.%s%s",
             kp_estimate_note, study->valve->has_hole ? "" : ", holes too (none is named)",
             request->free ? ", without the seat" : "",
             sections == 1            ? ""
             : study->stack.ports > 0 ? " From above: the seat's inner edge dotted, ports outlined."
                                      : " From above: the seat's inner edge dotted.",
             request->stress ? " Colour: von Mises stress of the worse face in % of the yield." : "");

    kp_draw_sections(report, study, states, sections);
    if (report->failure.status == KP_OK) {
        draw_curves(report, study, panels, pressure_max);
    }
}
