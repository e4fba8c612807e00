/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Inside the room report: the stack's section while it is drawn. */
#ifndef KP_REPORT_FIGURE_SECTION_H
#define KP_REPORT_FIGURE_SECTION_H

#include "report/lift_report.h"

/** What all panels share. Lengths in m until they are drawn. */
typedef struct kp_drawing {
    kp_report *report;
    const kp_lift_study *study;
    const kp_lift_state *states;
    double lift_max;                   /* [m] top of the scale of shades */
    size_t panel;                      /* being drawn */
    double side;                       /* [-] of the lobes: 1 at a crest, -1 at a valley, 0 where all is round */
    double hole;                       /* [m] radius where the drawing begins */
    double height;                     /* [m] highest face of any shim in any panel, and at least the pack */
    double bottom[KP_MAX_STACK_LINES]; /* [m] of each line at rest, flat */
    double pack;                       /* [m] far face of the clamped pack */
    size_t last;                       /* the panel whose key names the colours */
    bool named[KP_HEAT_COUNT];
} kp_drawing;

/* ---- figure_contacts.c ---- */

/** Returned: a length [m] in display units. */
double kp_section_shown(const kp_drawing *drawing, double length);
/** Returned: height of a line's shims together. [m] */
double kp_section_pile(const kp_lift_study *study, size_t line);
/** Returned: lift of a line in the section being drawn, at a radius [m]. [m] */
double kp_section_lift(const kp_drawing *drawing, size_t line, double radius);

/** Marks of the section being drawn. */
void kp_section_crosses(kp_drawing *drawing);
void kp_section_contacts(kp_drawing *drawing);

#endif
