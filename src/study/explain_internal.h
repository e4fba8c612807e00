/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Inside the study room: what explain and its list of changes share, and what a lesson reuses. */
#ifndef KP_EXPLAIN_INTERNAL_H
#define KP_EXPLAIN_INTERNAL_H

#include "kneepoint/study.h"

/** Speeds that stand for low, mid and high [m/s]. */
void kp_explain_speeds(kp_speed_limits limits, double speeds[KP_EXPLAIN_SPEEDS]);
kp_status kp_explain_points(const kp_damper *damper, kp_direction direction, const double speeds[KP_EXPLAIN_SPEEDS],
                            kp_curve_point points[KP_EXPLAIN_SPEEDS], kp_error *error);
/** False with the first fault when there can be no such damper. */
bool kp_explain_possible(const kp_damper_data *data, char *why_not, size_t size);
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

#endif
