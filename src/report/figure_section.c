/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The right half of the stack's section, at rest and lifted, with what it touches. Shims, seat land, clamp washer and
    what limits the lift are to scale; the rest of the piston is only hinted at. */
#include "report/figure_section.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double GROOVE = 0.22;         /* [-] depth of the port's groove, of the drawing's height      */
static const double BODY = 0.32;           /* [-] depth of the piston drawn, of the drawing's height       */
static const double WASHER = 0.28;         /* [-] thickness of the clamp washer, of the drawing's height   */
static const double SHARP_SEAT = 0.02;     /* [-] width at the foot of a seat without one, of its radius   */
static const double SECTION_WEIGHT = 1.25; /* [-] height of a section against a panel of curves            */
static const double PAIR_WEIGHT = 1.1;     /* [-] the same of each of two sections at one pressure         */
static const double SHUT = 1e-9;           /* [m] a seat that is open by less is shut                      */

#define LABEL_LETTERS 42 /* that fit beside the drawing */

enum { CLAMPED_POINTS = 2, POINTS = KP_PROFILE_POINTS + CLAMPED_POINTS };

/** A part being drawn: outline from inside to outside. */
typedef struct kp_part_outline {
    size_t count;
    double x[POINTS], base[POINTS], top[POINTS]; /* [m] */
} kp_part_outline;

static void add_point(kp_part_outline *part, double x, double base, double top)
{
    part->x[part->count] = x;
    part->base[part->count] = base;
    part->top[part->count++] = top;
}

static void draw_part(kp_drawing *drawing, const char *label, kp_part_outline *part, int style, bool in_key)
{
    for (size_t i = 0; i < part->count; i++) {
        part->x[i] = kp_section_shown(drawing, part->x[i]);
        part->base[i] = kp_section_shown(drawing, part->base[i]);
        part->top[i] = kp_section_shown(drawing, part->top[i]);
    }

    kp_report *report = drawing->report;
    if (report->failure.status == KP_OK) {
        kp_figure_add_area(&report->figure, drawing->panel, label, part->count, part->x, part->base, part->top, style,
                           in_key, &report->failure);
    }
}

static void add_label(kp_drawing *drawing, const char *text, double x, double y)
{
    kp_report *report = drawing->report;
    if (report->failure.status == KP_OK && report->figure.panels[drawing->panel].label_count < KP_PANEL_LABELS) {
        kp_figure_label(&report->figure, drawing->panel, text, kp_section_shown(drawing, x),
                        kp_section_shown(drawing, y), &report->failure);
    }
}

/* Hub up to the clamp plane, groove, land, and the body below them. */
static void draw_piston(kp_drawing *drawing)
{
    const kp_stack *stack = &drawing->study->stack;
    double floor_height = -GROOVE * drawing->height;
    double foot = -BODY * drawing->height;
    double lowest = fmin(0.0, stack->dish);
    double hub = drawing->study->clamps[0] / 2.0;
    double groove = fmin(stack->port_inner_radius, 0.5 * (hub + stack->land_inner_radius));
    bool sharp = !(stack->land_outer_radius > stack->land_inner_radius);
    double outer = sharp ? stack->land_inner_radius * (1.0 + SHARP_SEAT) : stack->land_outer_radius;

    /* From the hole outward: hub, groove, land. */
    kp_part_outline part = {0};
    add_point(&part, drawing->hole, foot + lowest, 0.0);
    add_point(&part, hub, foot + lowest, 0.0);
    add_point(&part, fmax(groove, hub), foot + lowest, floor_height + lowest);
    add_point(&part, stack->land_inner_radius, foot + lowest, floor_height + lowest);
    add_point(&part, stack->land_inner_radius, foot + lowest, stack->dish);
    add_point(&part, outer, foot + lowest, sharp ? floor_height + lowest : stack->dish);
    draw_part(drawing, "piston, washer, stop", &part, 1, drawing->panel == 0);

    if (drawing->panel == 0) {
        add_label(drawing, sharp ? "seat (sharp)" : "seat", outer,
                  stack->dish + (sharp ? 0.0 : 0.25 * (floor_height + lowest - stack->dish)));
    }
}

/* Clamp washer, and the stop or the backing washer's face beyond its edge. */
static void draw_above(kp_drawing *drawing)
{
    const kp_lift_study *study = drawing->study;
    const kp_stack *stack = &study->stack;
    double top = drawing->pack + WASHER * drawing->height;
    double reach = stack->clamp_radius;

    /* The washer, and beyond its edge the face that limits the lift. */
    kp_part_outline part = {0};
    add_point(&part, drawing->hole, drawing->pack, top);
    add_point(&part, stack->clamp_radius, drawing->pack, top);

    for (size_t i = 0; i < stack->stop_count; i++) {
        double height = drawing->pack + stack->stop_gap[i];
        if (i == 0 && stack->stop_radius[0] > stack->clamp_radius * (1.0 + 1e-3)) {
            add_point(&part, stack->clamp_radius, height, fmax(top, height)); /* flat up to the first point */
        }
        top = fmax(top, height + 0.5 * WASHER * drawing->height);
        reach = stack->stop_radius[i];
        add_point(&part, reach, height, top);
    }

    /* One part with a level top, as high as its highest point needs. */
    for (size_t i = 0; i < part.count; i++) {
        part.top[i] = top;
    }
    draw_part(drawing, "", &part, 1, false);

    if (drawing->panel == 0) {
        add_label(drawing,
                  study->valve->has_stop            ? "clamp washer and lift stop"
                  : study->valve->backing_count > 0 ? "clamp washer with its backing face"
                                                    : "clamp washer",
                  reach, top - 0.3 * WASHER * drawing->height);
    }
}

/* One shim of a line. lift: NULL for a spacer. */
static void draw_shim(kp_drawing *drawing, size_t line, int which, const kp_profile_point *lift)
{
    const kp_lift_study *study = drawing->study;
    const kp_disc *disc = &study->discs[line];
    double thickness = disc->thickness;
    double z = drawing->bottom[line] + which * thickness;

    /* Flat from its hole to its clamp; a ring has no clamp. */
    kp_part_outline part = {0};
    if (study->parts[line] != KP_SHIM_RING) {
        add_point(&part, disc->hole_radius > 0.0 ? disc->hole_radius : drawing->hole, z, z + thickness);
    }

    if (lift == NULL) {
        add_point(&part, disc->outer_radius, z, z + thickness);
    }
    for (size_t k = 0; lift != NULL && k < KP_PROFILE_POINTS; k++) {
        add_point(&part, lift[k].radius, z + lift[k].lift, z + lift[k].lift + thickness);
    }

    draw_part(drawing, "shim", &part, 0, drawing->panel == 0 && line == 0 && which == 0);
}

/* Of a shim's worse face, in steps of a fifth of the yield. */
static int heat_of(const kp_disc_stress *stress, double yield)
{
    double worse = fmax(kp_von_mises(stress->piston_side_radial, stress->piston_side_hoop),
                        kp_von_mises(stress->far_side_radial, stress->far_side_hoop));
    int heat = (int)(KP_HEAT_COUNT * fmin(worse / yield, 1.0));
    return heat < KP_HEAT_COUNT ? heat : KP_HEAT_COUNT - 1;
}

/* An area of each colour along a shim, inset from its outline so that shims can be distinguished in grey. */
static void draw_stress(kp_drawing *drawing, size_t line, int which, const kp_profile_point *lift)
{
    const kp_lift_study *study = drawing->study;
    static const char *const labels[KP_HEAT_COUNT] = {"under 20 %", "to 40 %", "to 60 %", "to 80 %", "over 80 %"};
    const double inset = 0.12; /* [-] of the thickness */
    double thickness = study->discs[line].thickness;
    double yield = study->discs[line].material.yield;
    double z = drawing->bottom[line] + which * thickness;

    for (size_t k = 0; k + 1 < KP_PROFILE_POINTS;) {
        kp_part_outline part = {0};
        int heat = heat_of(&lift[k].stress, yield);
        size_t last = k + 1; /* one point further, so that neighbours join */
        while (last < KP_PROFILE_POINTS - 1 && heat_of(&lift[last].stress, yield) == heat) {
            last++;
        }
        for (; k <= last; k++) {
            add_point(&part, lift[k].radius, z + lift[k].lift + inset * thickness,
                      z + lift[k].lift + (1.0 - inset) * thickness);
        }
        k = last;

        bool in_key = drawing->panel == drawing->last && !drawing->named[heat];
        drawing->named[heat] = drawing->named[heat] || in_key;
        draw_part(drawing, labels[heat], &part, KP_STYLE_HEAT + heat, in_key);
    }
}

static void add_line_label(kp_drawing *drawing, size_t line, double lift)
{
    const kp_lift_study *study = drawing->study;
    char numbers[KP_SHOWN];
    char size[KP_SHIM_WORDS];
    char text[96];

    snprintf(text, sizeof text, "%.30s: %.60s", kp_shim_numbers(study->valve, line, line, numbers),
             kp_shim_words(&study->valve->lines[line], drawing->report->request->units, size));
    if (strlen(text) > LABEL_LETTERS) {
        snprintf(text + LABEL_LETTERS - 3, 4, "...");
    }

    add_label(drawing, text, study->discs[line].outer_radius,
              drawing->bottom[line] + lift + 0.5 * kp_section_pile(study, line));
}

/* One section, on one side of the lobes. */
static void draw_section(kp_drawing *drawing)
{
    const kp_lift_study *study = drawing->study;
    draw_piston(drawing);

    /* The shims as they are lifted; the first panel names them. */
    for (size_t line = 0; line < study->valve->line_count; line++) {
        kp_profile_point lift[KP_PROFILE_POINTS];
        bool bends = kp_lift_profile(study, line, lift);
        for (size_t k = 0; bends && k < KP_PROFILE_POINTS; k++) {
            lift[k].lift = drawing->side == 0.0 ? lift[k].lift : kp_section_lift(drawing, line, lift[k].radius);
        }

        for (int k = 0; k < study->valve->lines[line].count; k++) {
            draw_shim(drawing, line, k, bends ? lift : NULL);
            if (bends && drawing->report->request->stress) {
                draw_stress(drawing, line, k, lift);
            }
        }
        if (drawing->panel == 0) {
            add_line_label(drawing, line, bends ? lift[KP_PROFILE_POINTS - 1].lift : 0.0);
        }
    }

    /* What is above them, and where they touch and yield. */
    draw_above(drawing);
    kp_section_contacts(drawing);
    kp_section_crosses(drawing);
}

size_t kp_state_sections(const kp_lift_state *state)
{
    return state->row.lobes > 0 ? 2 : 1;
}

size_t kp_state_panels(const kp_lift_state *state)
{
    return kp_state_sections(state) + (state->pressure > 0.0 ? 1 : 0);
}

/* kp_lift_visit: all panels of a state. */
static void draw_state(const kp_lift_study *study, size_t row, void *context)
{
    kp_drawing *drawing = context;
    const kp_lift_state *state = &drawing->states[row];
    size_t sections = kp_state_sections(state);
    for (size_t i = 0; i < sections; i++) {
        drawing->panel = state->panel + i;
        drawing->side = sections == 1 ? 0.0 : i == 0 ? 1.0 : -1.0;
        draw_section(drawing);
    }
    if (kp_state_panels(state) > sections) {
        kp_draw_above(drawing->report, study, state, state->panel + sections, sections, drawing->lift_max);
    }
}

/* Heights of the lines at rest, and of the drawing over all states. */
static void measure(kp_drawing *drawing, const kp_lift_state *states, size_t count)
{
    const kp_lift_study *study = drawing->study;
    drawing->hole = study->valve->has_hole ? study->valve->hole / 2.0 : kp_assumed_hole(study->clamps[0] / 2.0);
    for (size_t line = 0; line < study->valve->line_count; line++) {
        double height = kp_section_pile(study, line);
        drawing->bottom[line] = drawing->pack;

        for (size_t i = 0; i < count; i++) {
            /* Shims in contact fold together, so none has deeper lobes than the face shim's edge. */
            drawing->height = fmax(drawing->height, drawing->pack + height + states[i].row.lines[line].edge_lift +
                                                        fabs(states[i].edge_lobe));
        }

        /* A ring is not clamped, so it adds nothing to the pack. */
        drawing->pack += study->parts[line] == KP_SHIM_RING ? 0.0 : height;
    }
    drawing->height = fmax(drawing->height, drawing->pack);
}

/* Scale, axes and title of a section. */
static void write_titles(kp_report *report, const kp_lift_state *state, size_t section)
{
    kp_panel *panel = &report->figure.panels[state->panel + section];
    kp_unit_system units = report->request->units;
    const char *unit = kp_unit_name(KP_DIM_LENGTH, units);
    bool loaded = state->pressure > 0.0;
    bool lobes = state->row.lobes > 0;

    panel->section = true;
    panel->weight = lobes ? PAIR_WEIGHT : SECTION_WEIGHT;
    snprintf(panel->x_label, sizeof panel->x_label, "radius [%s]", unit);
    snprintf(panel->y_label, sizeof panel->y_label, "height [%s]", unit);
    snprintf(panel->title, sizeof panel->title, "%s%s%s%s", loaded ? "At " : "At rest",
             loaded ? KP_SHOW(state->pressure, KP_DIM_PRESSURE, 2, units) : "",
             state->row.held             ? ", on its seat"
             : state->row.opening > SHUT ? ", open"
                                         : "",
             !lobes         ? ""
             : section == 0 ? ", at a crest"
                            : ", at a valley");
}

void kp_draw_sections(kp_report *report, const kp_lift_study *study, const kp_lift_state *states, size_t count)
{
    const kp_request *request = report->request;
    kp_error *failure = &report->failure;
    kp_drawing drawing = {.report = report, .study = study, .states = states};
    double *pressures = calloc(count, sizeof *pressures);
    kp_lift_row *rows = calloc(count, sizeof *rows);
    if (rows == NULL || pressures == NULL) {
        kp_error_set(failure, KP_NO_MEMORY, "memory ran out before the plot");
        free(pressures);
        free(rows);
        return;
    }

    /* Titles say which panels are sections; all panels share one scale of heights, and one of shades. */
    for (size_t i = 0; i < count; i++) {
        pressures[i] = states[i].pressure;
        for (size_t k = 0; k < kp_state_sections(&states[i]); k++) {
            write_titles(report, &states[i], k);
        }
    }
    drawing.last = states[count - 1].panel + kp_state_sections(&states[count - 1]) - 1;
    drawing.lift_max = kp_scale_of_lifts(states, count, request->units);
    measure(&drawing, states, count);

    kp_lift_study_rows(study, pressures, count, request->free, rows, draw_state, &drawing, failure);
    free(pressures);
    free(rows);
}
