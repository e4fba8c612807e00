/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The face shim from above: its lift as shades, the lobes, and the ports under it where the file gives them. */
#include "report/lift_report.h"

#include <math.h>
#include <stdio.h>

enum { ANGLES = 97 }; /* [-] once round, both ends included */

static const double NO_LIFT = 1e-9; /* [m] a shade begins above nothing */

/** The face shim along its radius. */
typedef struct kp_face {
    kp_report *report;
    size_t panel;
    int lobes;                                                                          /* [-] 0: round */
    double radius[KP_PROFILE_POINTS], mean[KP_PROFILE_POINTS], lobe[KP_PROFILE_POINTS]; /* [m] */
} kp_face;

static double shown(const kp_face *face, double length)
{
    return kp_unit_convert(length, KP_DIM_LENGTH, face->report->request->units);
}

static double lift_of(const kp_face *face, size_t k, double angle)
{
    return face->mean[k] + face->lobe[k] * cos(face->lobes * angle);
}

/* Where on a ray the lift first reaches a level, and where it last has it: [m] the shim's edge for both where it never
   does. */
static void find_level(const kp_face *face, double angle, double level, double *from, double *to)
{
    size_t last = KP_PROFILE_POINTS - 1;
    size_t first = 0;
    *from = *to = face->radius[last];
    while (first <= last && !(lift_of(face, first, angle) >= level)) {
        first++;
    }
    while (first <= last && last > first && !(lift_of(face, last, angle) >= level)) {
        last--;
    }
    if (first > last) {
        return;
    }

    /* Between two points the lift is taken as straight. */
    if (first > 0) {
        double below = lift_of(face, first - 1, angle), above = lift_of(face, first, angle);
        double share = (level - below) / (above - below);
        *from = face->radius[first - 1] + share * (face->radius[first] - face->radius[first - 1]);
    } else {
        *from = face->radius[0];
    }
    *to = face->radius[last];
}

static void add_area(const kp_face *face, const double *angle, double *from, double *to, size_t count, int style)
{
    for (size_t i = 0; i < count; i++) {
        from[i] = shown(face, from[i]);
        to[i] = shown(face, to[i]);
    }
    if (face->report->failure.status == KP_OK) {
        kp_figure_add_area(&face->report->figure, face->panel, "", count, angle, from, to, style, false,
                           &face->report->failure);
    }
}

/* Each shade covers what lifts at least so far, and the next lies on it. */
static void draw_shades(const kp_face *face, double lift_max)
{
    double angle[ANGLES], from[ANGLES], to[ANGLES];
    for (int shade = 0; shade < KP_SHADE_COUNT; shade++) {
        double level = lift_max * shade / KP_SHADE_COUNT;
        bool any = false;
        for (size_t i = 0; i < ANGLES; i++) {
            angle[i] = 2.0 * acos(-1.0) * (double)i / (ANGLES - 1);
            from[i] = face->radius[0];
            to[i] = face->radius[KP_PROFILE_POINTS - 1];
            if (shade > 0) {
                find_level(face, angle[i], level, &from[i], &to[i]);
            }
            any = any || to[i] > from[i];
        }
        if (any) {
            add_area(face, angle, from, to, ANGLES, KP_STYLE_SHADE + shade);
        }
    }
}

/* A closed line, or a part of one, between two radii: the outline of a port, or a circle where they are equal. */
static void draw_outline(const kp_face *face, double middle, double half, double inner, double outer, int style)
{
    enum { SIDE = 49 };
    double angle[2 * SIDE + 1], radius[2 * SIDE + 1];
    size_t count = 0;
    bool circle = !(outer > inner);
    for (size_t i = 0; i < SIDE; i++) {
        angle[count] = middle + half * (2.0 * (double)i / (SIDE - 1) - 1.0);
        radius[count++] = shown(face, outer);
    }
    for (size_t i = SIDE; !circle && i > 0; i--) {
        angle[count] = angle[i - 1];
        radius[count++] = shown(face, inner);
    }
    if (!circle) {
        angle[count] = angle[0];
        radius[count++] = radius[0];
    }
    kp_draw_line(face->report, face->panel, "", count, angle, radius, style, false);
}

/* The seat's inner edge, and the ports with the first in the middle of a crest. */
static void draw_below(const kp_face *face, const kp_stack *stack)
{
    const double pi = acos(-1.0);
    draw_outline(face, 0.0, pi, stack->land_inner_radius, stack->land_inner_radius, 2);
    for (int port = 0; port < stack->ports; port++) {
        draw_outline(face, 2.0 * pi * port / stack->ports, pi * stack->port_share / stack->ports,
                     stack->port_inner_radius, stack->land_inner_radius, 0);
    }
}

static void add_label(const kp_face *face, const char *text, double angle)
{
    kp_report *report = face->report;
    if (report->failure.status == KP_OK) {
        kp_figure_label(&report->figure, face->panel, text, angle, shown(face, face->radius[KP_PROFILE_POINTS - 1]),
                        &report->failure);
    }
}

void kp_draw_above(kp_report *report, const kp_lift_study *study, const kp_lift_state *state, size_t panel,
                   size_t beside, double lift_max)
{
    const kp_stack *stack = &study->stack;
    kp_panel *drawn = &report->figure.panels[panel];
    kp_face face = {.report = report, .panel = panel, .lobes = state->row.lobes};
    kp_profile_point points[KP_PROFILE_POINTS];
    if (!kp_lift_profile(study, 0, points)) {
        return;
    }
    for (size_t k = 0; k < KP_PROFILE_POINTS; k++) {
        face.radius[k] = points[k].radius;
        face.mean[k] = points[k].lift;
        face.lobe[k] = face.lobes > 0 ? kp_stack_lobe_at(study->workspace, 0, points[k].radius) : 0.0;
    }

    drawn->beside = beside;
    drawn->weight = 0.0;
    drawn->shade_max = shown(&face, lift_max);
    snprintf(drawn->title, sizeof drawn->title, "Face shim from above: %s%.0d%s", face.lobes > 0 ? "" : "round",
             face.lobes, face.lobes > 0 ? " lobes" : "");
    snprintf(drawn->x_label, sizeof drawn->x_label, "lift [%s]", kp_unit_name(KP_DIM_LENGTH, report->request->units));

    draw_shades(&face, lift_max);
    draw_below(&face, stack);

    /* The clamp covers the middle. */
    double angle[ANGLES], from[ANGLES] = {0.0}, to[ANGLES];
    for (size_t i = 0; i < ANGLES; i++) {
        angle[i] = 2.0 * acos(-1.0) * (double)i / (ANGLES - 1);
        to[i] = study->clamps[0] / 2.0;
    }
    add_area(&face, angle, from, to, ANGLES, 1);

    /* The two cuts of the sections. */
    if (face.lobes > 0) {
        bool first_up = face.lobe[KP_PROFILE_POINTS - 1] >= 0.0;
        add_label(&face, first_up ? "crest" : "valley", 0.0);
        add_label(&face, first_up ? "valley" : "crest", acos(-1.0) / face.lobes);
    }
}

double kp_scale_of_lifts(const kp_lift_state *states, size_t count, kp_unit_system units)
{
    static const double steps[] = {1.0, 1.2, 1.6, 2.0, 2.4, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0};
    double max = NO_LIFT;
    for (size_t i = 0; i < count; i++) {
        max = fmax(max, states[i].row.edge_lift + fabs(states[i].edge_lobe));
    }

    /* The next plain number, in the reader's unit. */
    double shown_max = kp_unit_convert(max, KP_DIM_LENGTH, units);
    double power = pow(10.0, floor(log10(shown_max)));
    size_t i = 0;
    while (i + 1 < sizeof steps / sizeof steps[0] && steps[i] * power < shown_max) {
        i++;
    }
    return max * steps[i] * power / shown_max;
}
