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

/** Draws the stack's section into the first count panels, one for each pressure [Pa]. They rise, and the first is 0. */
void kp_draw_sections(kp_report *report, const kp_lift_study *study, const double *pressures, size_t count);

#endif
