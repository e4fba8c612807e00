/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Inside the study room: runs of changed dampers for explain and for a lesson, and the changes themselves. */
#ifndef KP_EXPLAIN_INTERNAL_H
#define KP_EXPLAIN_INTERNAL_H

#include "kneepoint/study.h"

/** Speeds that stand for low, mid and high [m/s]. */
void kp_explain_speeds(kp_speed_limits limits, double speeds[KP_EXPLAIN_SPEEDS]);
/** Prepares a changed damper; its first fault is the error when there can be no such damper. */
kp_status kp_explain_begin(const kp_damper_data *data, double top, kp_damper **out, kp_error *error);
/** Points at the three speeds and summary of one direction. */
kp_status kp_explain_curve(const kp_damper *damper, kp_direction direction, const double speeds[KP_EXPLAIN_SPEEDS],
                           kp_speed_limits limits, kp_curve_point points[KP_EXPLAIN_SPEEDS], kp_curve_summary *summary,
                           kp_error *error);
/** How the run of one changed damper ended: solved, or why_not. Errors: KP_NO_MEMORY alone, which ends all runs. */
kp_status kp_explain_end(kp_status status, const kp_error *own, bool *solved, char why_not[KP_WHY_NOT_TEXT],
                         kp_error *error);
/** explain_parts.c: fills sensitivities with every change of one part, not yet run. */
kp_status kp_explain_list(const kp_damper_data *data, kp_unit_system system, kp_explanation *out, kp_error *error);

/** parts.c: one size more of shim thickness [m], as a drawer has them. */
double kp_next_thickness(double thickness, kp_unit_system system);
/** parts.c: `count` shims of line `line` get another thickness; makes a line of its own for them, farthest from the
    piston of that line. False when the stack has no room for another line. */
bool kp_stack_set_thickness(kp_valve_data *valve, size_t line, int count, double thickness);
/** parts.c: takes one shim of a line out; the line goes with its last. */
void kp_stack_take_out(kp_valve_data *valve, size_t line);
/** parts.c: puts a line in at a place. False when there is no room. */
bool kp_stack_put_in(kp_valve_data *valve, size_t at, kp_shim_line line);

/* ---- explain_onset.c ---- */

/** Given: out with its points. Returned: cracking and folding of one direction in out. Errors: as kp_stack_begin,
    kp_stack_find_onset. */
kp_status kp_explain_onsets(const kp_damper_data *data, const kp_damper *damper, kp_direction direction, double top,
                            kp_explanation *out, kp_error *error);
/** Given: out with its points and onsets. Returned: the change of force by folding, of both directions. Errors:
    KP_NO_MEMORY. */
kp_status kp_explain_held_round(const kp_damper_data *data, double top, kp_explanation *out, kp_error *error);

#endif
