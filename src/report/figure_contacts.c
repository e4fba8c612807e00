/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Lifts and heights in the stack's section, and its marks: where parts press on each other, and where a shim would set
 * or break. */
#include "report/figure_section.h"

#include <math.h>
#include <stdlib.h>

static const double FORCE_SHOWN = 0.02; /* [-] of the largest between the same parts                 */
static const double TOUCHES = 2e-3;     /* [-] of a shim's thickness: parts closer than this touch      */

double kp_section_shown(const kp_drawing *drawing, double length)
{
    return kp_unit_convert(length, KP_DIM_LENGTH, drawing->report->request->units);
}

/* Lift of a line in the section being drawn. [m] */
double kp_section_lift(const kp_drawing *drawing, size_t line, double radius)
{
    const kp_stack_workspace *workspace = drawing->study->workspace;
    double face = kp_stack_lobe_at(workspace, 0, drawing->study->discs[0].outer_radius);
    double sign = face < 0.0 ? -drawing->side : drawing->side;
    return kp_stack_lift_at(workspace, line, radius) + sign * kp_stack_lobe_at(workspace, line, radius);
}

/* Height of a line's shims together. [m] */
double kp_section_pile(const kp_lift_study *study, size_t line)
{
    return study->valve->lines[line].count * study->discs[line].thickness;
}

/* A cross where a line's stress is largest, if it is past the yield there. */
void kp_section_crosses(kp_drawing *drawing)
{
    const kp_lift_study *study = drawing->study;
    double x[KP_MAX_STACK_LINES];
    double y[KP_MAX_STACK_LINES];
    size_t count = 0;
    for (size_t line = 0; line < study->valve->line_count; line++) {
        double stress, radius;
        bool piston_side;
        kp_stack_peak_stress(study->workspace, line, &stress, &radius, &piston_side);

        if (stress > study->discs[line].material.yield) {
            double pile = piston_side ? 0.0 : kp_section_pile(study, line);
            double height = drawing->bottom[line] + pile + kp_section_lift(drawing, line, radius);
            x[count] = kp_section_shown(drawing, radius);
            y[count++] = kp_section_shown(drawing, height);
        }
    }

    kp_draw_marks(drawing->report, drawing->panel, "would set or break", count, x, y, KP_STYLE_CROSS, true);
}

static double contact_height(const kp_drawing *drawing, const kp_contact *contact)
{
    const kp_lift_study *study = drawing->study;
    if (contact->lower < 0) {
        return study->stack.dish;
    }
    size_t line = (size_t)contact->lower;
    return drawing->bottom[line] + kp_section_pile(study, line) + kp_section_lift(drawing, line, contact->radius);
}

/* A contact's force is that of the whole circle. Where there are lobes it may stand at crests or at valleys alone. */
static bool touches_here(const kp_drawing *drawing, const kp_contact *contact)
{
    const kp_lift_study *study = drawing->study;
    if (drawing->side == 0.0) {
        return true;
    }
    size_t line = (size_t)(contact->lower < 0 ? contact->upper : contact->lower);
    if (contact->lower < 0) {
        return kp_section_lift(drawing, line, contact->radius) - study->stack.dish <
               TOUCHES * study->discs[line].thickness;
    }
    if (contact->upper < 0) {
        return true;
    }

    /* What the gap is here more than on the mean. */
    size_t upper = (size_t)contact->upper;
    double here = kp_section_lift(drawing, upper, contact->radius) - kp_section_lift(drawing, line, contact->radius);
    double mean = kp_stack_lift_at(study->workspace, upper, contact->radius) -
                  kp_stack_lift_at(study->workspace, line, contact->radius);
    return contact->gap + here - mean < TOUCHES * study->discs[line].thickness;
}

/* Largest contact force between two parts [N]: one place that is pressed hard must not hide the others. */
static double max_between(const kp_lift_study *study, int lower, int upper)
{
    double max = 0.0;

    for (size_t i = 0; i < kp_stack_contact_count(study->workspace); i++) {
        kp_contact contact = kp_stack_contact(study->workspace, i);
        max = contact.lower == lower && contact.upper == upper ? fmax(max, contact.force) : max;
    }
    return max;
}

/* Where faces press on each other. */
void kp_section_contacts(kp_drawing *drawing)
{
    const kp_lift_study *study = drawing->study;
    size_t total = kp_stack_contact_count(study->workspace);
    size_t count = 0;
    double *x = calloc(2 * total + 1, sizeof *x);
    if (x == NULL) {
        kp_error_set(&drawing->report->failure, KP_NO_MEMORY, "memory ran out before the plot");
        return;
    }

    /* Only contacts that carry a noticeable share of the force between their two parts. */
    double *y = x + total;
    for (size_t i = 0; i < total; i++) {
        kp_contact contact = kp_stack_contact(study->workspace, i);
        if (contact.force > FORCE_SHOWN * max_between(study, contact.lower, contact.upper) &&
            touches_here(drawing, &contact)) {
            x[count] = kp_section_shown(drawing, contact.radius);
            y[count++] = kp_section_shown(drawing, contact_height(drawing, &contact));
        }
    }

    kp_draw_marks(drawing->report, drawing->panel, "pressed together", count, x, y, 0, drawing->panel == 0);
    free(x);
}
