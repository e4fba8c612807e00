/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The commands, one a file: each reads, studies, reports and prints. */
#ifndef KP_CLI_COMMANDS_H
#define KP_CLI_COMMANDS_H

#include "cli/options.h"

kp_status kp_cmd_check(const kp_options *options, kp_error *error);
kp_status kp_cmd_lift(const kp_options *options, kp_error *error);
kp_status kp_cmd_curve(const kp_options *options, kp_error *error);
/** `curve` with --temperature, --charge or --clicks-sweep. */
kp_status kp_cmd_sweep(const kp_options *options, kp_error *error);
kp_status kp_cmd_compare(const kp_options *options, kp_error *error);
kp_status kp_cmd_band(const kp_options *options, kp_error *error);
kp_status kp_cmd_explain(const kp_options *options, kp_error *error);
/** `explain` with --lesson. */
kp_status kp_cmd_lesson(const kp_options *options, kp_error *error);
kp_status kp_cmd_new(const kp_options *options, kp_error *error);

#endif
