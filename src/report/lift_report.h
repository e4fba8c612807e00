/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Inside the room report: the parts of the report on one stack. Each does nothing after a failure of the report. */
#ifndef KP_REPORT_LIFT_REPORT_H
#define KP_REPORT_LIFT_REPORT_H

#include "report/report_internal.h"

/** Returned: the pressures of the request, or the usual ones. [Pa] */
const double *kp_lift_pressures(const kp_request *request, size_t *count);

/** The three tables, each with its data. */
void kp_report_lift_table(kp_report *report, const kp_lift_study *study);
void kp_report_lift_profile(kp_report *report, const kp_lift_study *study);
void kp_report_lift_sensitivity(kp_report *report, const kp_lift_study *study, const kp_damper_data *data);

/** One pressure of the figure and its panels: its section, or two where the shims have lobes, at a crest and at a
    valley; then, but at rest, the face shim from above. */
typedef struct kp_lift_state {
    double pressure;  /* [Pa] */
    kp_lift_row row;  /* solved at the figure's pressures alone */
    double edge_lobe; /* [m] amplitude of the lobes at the face shim's edge; 0 where it is round */
    size_t panel;     /* [-] the first of its panels */
} kp_lift_state;
/** Returned: sections of one pressure, 1 or 2; all its panels. */
size_t kp_state_sections(const kp_lift_state *state);
size_t kp_state_panels(const kp_lift_state *state);

/** Draws the states into their panels. Their pressures rise, and the first is 0. */
void kp_draw_sections(kp_report *report, const kp_lift_study *study, const kp_lift_state *states, size_t count);

/** Draws the face shim from above, as the study solved it last, into a panel.
    Given: lift_max [m] at the top of the scale of shades; sections before the panel that it stands beside */
void kp_draw_above(kp_report *report, const kp_lift_study *study, const kp_lift_state *state, size_t panel,
                   size_t beside, double lift_max);
/** Returned: the largest lift of the face shim's edge in any of the states, at a crest, rounded up so that the scale of
    shades has plain numbers. [m] */
double kp_scale_of_lifts(const kp_lift_state *states, size_t count, kp_unit_system units);

#endif
