/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What `explain` says: sentences, tables, pictures. */
#ifndef KP_CLI_EXPLAIN_H
#define KP_CLI_EXPLAIN_H

#include "cli/run.h"
#include "kneepoint/study.h"

/** explain_words.c: why one direction is as it is at low speed, what would soften it, where the knee is. */
void kp_explain_say(kp_output *output, const kp_run *run, const kp_explanation *explanation, kp_direction direction);
/** "%+.1f %%" of a change against the force there, "-" when there is none. */
double kp_sensitivity_percent(const kp_explanation *explanation, const kp_sensitivity *worth, kp_direction direction,
                              int at);

/** figure_explain.c: force, and the share of the power that each path takes, stacked. */
kp_status kp_figure_of_explain(kp_output *output, const kp_run *run, kp_error *error);
/** figure_explain.c: the family of curves of a lesson, and the change against the damper as found. */
kp_status kp_figure_of_lesson(kp_output *output, const kp_lesson *lesson, const char *title, double top,
                              kp_error *error);

/** cmd_lesson.c: explain --lesson. */
kp_status kp_explain_lesson(const kp_options *options, kp_error *error);

#endif
