/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The stack cut in half: the right half of the section, at rest and lifted, with what it touches. Shims, seat land,
    clamp washer and what is above are where they are; the rest of the piston is only hinted at. */
#include "cli/lift.h"
#include "cli/messages.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double GROOVE = 0.22;         /* [-] depth of the port's groove, of the drawing's height      */
static const double BODY = 0.32;           /* [-] depth of the piston drawn, the same                      */
static const double WASHER = 0.28;         /* [-] thickness of the clamp washer drawn, the same           */
static const double SHARP_SEAT = 0.02;     /* [-] width at the foot of a seat without one, of its radius   */
static const double SECTION_WEIGHT = 1.25; /* [-] height of a section against a usual panel */
static const double SHUT = 1e-9;           /* [m] a seat that is open by less is shut */
static const double FORCE_SHOWN = 0.02;    /* [-] of the largest between the same parts: weaker are left out*/
enum { WORDS_MOST = 42 /* [-] letters that fit beside the drawing */ };
enum { CLAMPED_POINTS = 2, POINTS = KP_PROFILE_POINTS + CLAMPED_POINTS };

/** What all panels share. Lengths in m until they are drawn. */
typedef struct kp_drawing {
    kp_figure *figure;
    kp_unit_system units;
    double hole;                       /* [m] radius where the drawing begins */
    double height;                     /* [m] highest face of any shim in any panel, and at least the pack */
    double bottom[KP_MAX_STACK_LINES]; /* [m] of each line at rest, flat */
    double pack;                       /* [m] far face of the clamped pack */
    bool stress;                       /* shims are coloured by it */
    size_t last;                       /* the panel whose key names the colours */
    bool named[KP_HEAT_COUNT];
    kp_status status;
    kp_error *error;
} kp_drawing;

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

static void draw_part(kp_drawing *drawing, size_t panel, const char *label, kp_part_outline *part, int style,
                      bool in_key)
{
    for (size_t i = 0; i < part->count; i++) {
        part->x[i] = kp_unit_convert(part->x[i], KP_DIM_LENGTH, drawing->units);
        part->base[i] = kp_unit_convert(part->base[i], KP_DIM_LENGTH, drawing->units);
        part->top[i] = kp_unit_convert(part->top[i], KP_DIM_LENGTH, drawing->units);
    }
    if (drawing->status == KP_OK) {
        drawing->status = kp_figure_add_area(drawing->figure, panel, label, part->count, part->x, part->base, part->top,
                                             style, in_key, drawing->error);
    }
}

static void name_place(kp_drawing *drawing, size_t panel, const char *text, double x, double y)
{
    if (drawing->status == KP_OK && drawing->figure->panels[panel].label_count < KP_PANEL_LABELS) {
        drawing->status =
            kp_figure_label(drawing->figure, panel, text, kp_unit_convert(x, KP_DIM_LENGTH, drawing->units),
                            kp_unit_convert(y, KP_DIM_LENGTH, drawing->units), drawing->error);
    }
}

/* Hub up to the clamp plane, groove, land, and the body below them. */
static void draw_piston(kp_drawing *drawing, const kp_lift_study *study, size_t panel)
{
    const kp_stack *stack = &study->stack;
    double floor_height = -GROOVE * drawing->height;
    double foot = -BODY * drawing->height;
    double lowest = fmin(0.0, stack->dish);
    double hub = study->clamps[0] / 2.0;
    double groove = fmin(stack->port_inner_radius, 0.5 * (hub + stack->land_inner_radius));
    bool sharp = !(stack->land_outer_radius > stack->land_inner_radius);
    double outer = sharp ? stack->land_inner_radius * (1.0 + SHARP_SEAT) : stack->land_outer_radius;
    kp_part_outline part = {0};
    add_point(&part, drawing->hole, foot + lowest, 0.0);
    add_point(&part, hub, foot + lowest, 0.0);
    add_point(&part, fmax(groove, hub), foot + lowest, floor_height + lowest);
    add_point(&part, stack->land_inner_radius, foot + lowest, floor_height + lowest);
    add_point(&part, stack->land_inner_radius, foot + lowest, stack->dish);
    add_point(&part, outer, foot + lowest, sharp ? floor_height + lowest : stack->dish);
    draw_part(drawing, panel, "piston, washer, stop", &part, 1, panel == 0);
    if (panel == 0) {
        name_place(drawing, panel, sharp ? "seat (sharp)" : "seat", outer,
                   stack->dish + (sharp ? 0.0 : 0.25 * (floor_height + lowest - stack->dish)));
    }
}

/* Clamp washer, and the stop or the backing washer's face beyond its edge. */
static void draw_above(kp_drawing *drawing, const kp_lift_study *study, size_t panel)
{
    const kp_stack *stack = &study->stack;
    double top = drawing->pack + WASHER * drawing->height;
    kp_part_outline part = {0};
    add_point(&part, drawing->hole, drawing->pack, top);
    add_point(&part, stack->clamp_radius, drawing->pack, top);
    double reach = stack->clamp_radius;
    for (size_t i = 0; i < stack->stop_count; i++) {
        double height = drawing->pack + stack->stop_gap[i];
        if (i == 0 && stack->stop_radius[0] > stack->clamp_radius * (1.0 + 1e-3)) {
            add_point(&part, stack->clamp_radius, height, fmax(top, height)); /* flat up to the first point */
        }
        top = fmax(top, height + 0.5 * WASHER * drawing->height);
        reach = stack->stop_radius[i];
        add_point(&part, reach, height, top);
    }
    for (size_t i = 0; i < part.count; i++) {
        part.top[i] = top;
    }
    draw_part(drawing, panel, "", &part, 1, false);
    if (panel == 0) {
        name_place(drawing, panel,
                   study->valve->has_stop            ? "clamp washer and lift stop"
                   : study->valve->backing_count > 0 ? "clamp washer with its backing face"
                                                     : "clamp washer",
                   reach, top - 0.3 * WASHER * drawing->height);
    }
}

/* One shim of a line. lift: NULL for a spacer. */
static void draw_shim(kp_drawing *drawing, const kp_lift_study *study, size_t panel, size_t line, int which,
                      const kp_profile_point *lift)
{
    double thickness = study->discs[line].thickness;
    double z = drawing->bottom[line] + which * thickness;
    kp_part_outline part = {0};
    if (study->parts[line] != KP_SHIM_RING) {
        double hole = study->discs[line].has_hole ? study->discs[line].hole_radius : drawing->hole;
        add_point(&part, hole, z, z + thickness);
    }
    if (lift == NULL) {
        add_point(&part, study->discs[line].outer_radius, z, z + thickness);
    }
    for (size_t k = 0; lift != NULL && k < KP_PROFILE_POINTS; k++) {
        add_point(&part, lift[k].radius, z + lift[k].lift, z + lift[k].lift + thickness);
    }
    draw_part(drawing, panel, "shim", &part, 0, panel == 0 && line == 0 && which == 0);
}

static double von_mises(double radial, double hoop)
{
    return sqrt(radial * radial - radial * hoop + hoop * hoop);
}

/* Of a shim's worse face, in steps of a fifth of the yield. */
static int heat_of(const kp_disc_stress *stress, double yield)
{
    double worse = fmax(von_mises(stress->piston_side_radial, stress->piston_side_hoop),
                        von_mises(stress->far_side_radial, stress->far_side_hoop));
    int heat = (int)(KP_HEAT_COUNT * fmin(worse / yield, 1.0));
    return heat < KP_HEAT_COUNT ? heat : KP_HEAT_COUNT - 1;
}

/* Stretches of one colour along a shim, a little inside its outline, so that shims stay told apart in grey. */
static void draw_stress(kp_drawing *drawing, const kp_lift_study *study, size_t panel, size_t line, int which,
                        const kp_profile_point *lift)
{
    static const char *const labels[KP_HEAT_COUNT] = {"under 20 %", "to 40 %", "to 60 %", "to 80 %", "over 80 %"};
    const double inset = 0.12; /* [-] of the thickness */
    double thickness = study->discs[line].thickness;
    double yield = study->discs[line].material.yield;
    double z = drawing->bottom[line] + which * thickness;
    for (size_t k = 0; k + 1 < KP_PROFILE_POINTS;) {
        kp_part_outline part = {0};
        int heat = heat_of(&lift[k].stress, yield);
        do {
            add_point(&part, lift[k].radius, z + lift[k].lift + inset * thickness,
                      z + lift[k].lift + (1.0 - inset) * thickness);
            k++;
        } while (k < KP_PROFILE_POINTS - 1 && heat_of(&lift[k].stress, yield) == heat);
        add_point(&part, lift[k].radius, z + lift[k].lift + inset * thickness,
                  z + lift[k].lift + (1.0 - inset) * thickness);
        bool in_key = panel == drawing->last && !drawing->named[heat];
        drawing->named[heat] = drawing->named[heat] || in_key;
        draw_part(drawing, panel, labels[heat], &part, KP_STYLE_HEAT + heat, in_key);
    }
}

static void name_line(kp_drawing *drawing, const kp_lift_study *study, size_t panel, size_t line, double lift)
{
    char numbers[KP_SHOWN];
    char size[KP_SHIM_WORDS];
    char text[96];
    kp_shim_numbers(study->valve, line, line, numbers);
    kp_shim_words(&study->valve->lines[line], drawing->units, size);
    snprintf(text, sizeof text, "%.30s: %.60s", numbers, size);
    if (strlen(text) > WORDS_MOST) {
        snprintf(text + WORDS_MOST - 3, 4, "...");
    }
    double height = study->valve->lines[line].count * study->discs[line].thickness;
    name_place(drawing, panel, text, study->discs[line].outer_radius, drawing->bottom[line] + lift + 0.5 * height);
}

static void draw_crosses(kp_drawing *drawing, const kp_lift_study *study, size_t panel)
{
    double x[KP_MAX_STACK_LINES];
    double y[KP_MAX_STACK_LINES];
    size_t count = 0;
    for (size_t line = 0; line < study->valve->line_count; line++) {
        double stress, radius;
        bool piston_side;
        kp_stack_peak_stress(study->workspace, line, &stress, &radius, &piston_side);
        if (stress > study->discs[line].material.yield) {
            double pile = piston_side ? 0.0 : study->valve->lines[line].count * study->discs[line].thickness;
            double height = drawing->bottom[line] + pile + kp_stack_lift_at(study->workspace, line, radius);
            x[count] = kp_unit_convert(radius, KP_DIM_LENGTH, drawing->units);
            y[count++] = kp_unit_convert(height, KP_DIM_LENGTH, drawing->units);
        }
    }
    if (count > 0 && drawing->status == KP_OK) {
        drawing->status = kp_figure_add(drawing->figure, panel, "would set or break", count, x, y, KP_STYLE_CROSS, true,
                                        true, drawing->error);
    }
}

static double contact_height(const kp_drawing *drawing, const kp_lift_study *study, const kp_contact *contact)
{
    if (contact->lower < 0) {
        return study->stack.dish;
    }
    size_t line = (size_t)contact->lower;
    double pile = study->valve->lines[line].count * study->discs[line].thickness;
    return drawing->bottom[line] + pile + kp_stack_lift_at(study->workspace, line, contact->radius);
}

/* Largest contact force between two parts [N]: one place that is pressed hard must not hide the others. */
static double most_between(const kp_lift_study *study, int lower, int upper)
{
    double most = 0.0;
    for (size_t i = 0; i < kp_stack_contact_count(study->workspace); i++) {
        kp_contact contact = kp_stack_contact(study->workspace, i);
        most = contact.lower == lower && contact.upper == upper ? fmax(most, contact.force) : most;
    }
    return most;
}

/* Where faces press on each other. */
static void draw_contacts(kp_drawing *drawing, const kp_lift_study *study, size_t panel)
{
    size_t total = kp_stack_contact_count(study->workspace);
    size_t count = 0;
    double *places = calloc(2 * total + 1, sizeof *places);
    if (places == NULL) {
        drawing->status = kp_error_set(drawing->error, KP_NO_MEMORY, "memory ran out before the plot");
        return;
    }
    for (size_t i = 0; i < total; i++) {
        kp_contact contact = kp_stack_contact(study->workspace, i);
        if (contact.force > FORCE_SHOWN * most_between(study, contact.lower, contact.upper)) {
            double height = contact_height(drawing, study, &contact);
            places[count] = kp_unit_convert(contact.radius, KP_DIM_LENGTH, drawing->units);
            places[total + count++] = kp_unit_convert(height, KP_DIM_LENGTH, drawing->units);
        }
    }
    if (count > 0 && drawing->status == KP_OK) {
        drawing->status = kp_figure_add(drawing->figure, panel, "pressed together", count, places, places + total, 0,
                                        true, panel == 0, drawing->error);
    }
    free(places);
}

/* kp_lift_visit: the panel of a row has its number. */
static void draw_state(const kp_lift_study *study, size_t row, void *context)
{
    kp_drawing *drawing = context;
    draw_piston(drawing, study, row);
    for (size_t line = 0; line < study->valve->line_count; line++) {
        kp_profile_point lift[KP_PROFILE_POINTS];
        bool bends = kp_lift_profile_take(study, line, lift);
        for (int k = 0; k < study->valve->lines[line].count; k++) {
            draw_shim(drawing, study, row, line, k, bends ? lift : NULL);
            if (bends && drawing->stress) {
                draw_stress(drawing, study, row, line, k, lift);
            }
        }
        if (row == 0) {
            name_line(drawing, study, row, line, bends ? lift[KP_PROFILE_POINTS - 1].lift : 0.0);
        }
    }
    draw_above(drawing, study, row);
    draw_contacts(drawing, study, row);
    draw_crosses(drawing, study, row);
}

/* Heights of the lines, and of the whole over all rows. */
static void measure(kp_drawing *drawing, const kp_lift_study *study, const kp_lift_row *rows, size_t count)
{
    double least = study->clamps[0] / 2.0;
    drawing->hole = study->valve->has_hole ? study->valve->hole / 2.0 : kp_assumed_hole(least);
    for (size_t line = 0; line < study->valve->line_count; line++) {
        double height = study->valve->lines[line].count * study->discs[line].thickness;
        drawing->bottom[line] = drawing->pack;
        for (size_t i = 0; i < count; i++) {
            drawing->height = fmax(drawing->height, drawing->pack + height + rows[i].line_edge_lift[line]);
        }
        drawing->pack += study->parts[line] == KP_SHIM_RING ? 0.0 : height;
    }
    drawing->height = fmax(drawing->height, drawing->pack);
}

kp_status kp_figure_add_sections(kp_figure *figure, const kp_lift_study *study, const double *pressures, size_t count,
                                 bool free_stack, bool stress, kp_unit_system units, kp_error *error)
{
    kp_lift_row *rows = calloc(count, sizeof *rows);
    kp_drawing drawing = {.figure = figure, .units = units, .error = error, .stress = stress, .last = count - 1};
    if (rows == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out before the plot");
    }
    kp_status status = kp_lift_study_rows(study, pressures, count, free_stack, rows, NULL, NULL, error);
    if (status == KP_OK) {
        measure(&drawing, study, rows, count);
        status = kp_lift_study_rows(study, pressures, count, free_stack, rows, draw_state, &drawing, error);
    }
    for (size_t i = 0; status == KP_OK && i < count; i++) {
        kp_panel *panel = &figure->panels[i];
        char pressure[KP_SHOWN];
        const char *unit = kp_unit_name(KP_DIM_LENGTH, units);
        panel->section = true;
        panel->weight = SECTION_WEIGHT;
        snprintf(panel->x_label, sizeof panel->x_label, "radius [%s]", unit);
        snprintf(panel->y_label, sizeof panel->y_label, "height [%s]", unit);
        snprintf(panel->title, sizeof panel->title, "%s%s%s", pressures[i] > 0.0 ? "At " : "At rest",
                 pressures[i] > 0.0 ? kp_show(pressures[i], KP_DIM_PRESSURE, 2, units, pressure) : "",
                 rows[i].held             ? ", on its seat"
                 : rows[i].opening > SHUT ? ", open"
                                          : "");
    }
    free(rows);
    return status != KP_OK ? status : drawing.status;
}
