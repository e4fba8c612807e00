/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The commands, one a file: each reads, studies, reports and prints. */
#ifndef KP_CLI_COMMANDS_H
#define KP_CLI_COMMANDS_H

#include "cli/options.h"

kp_status kp_cmd_check(kp_options *options, kp_error *error);
kp_status kp_cmd_lift(kp_options *options, kp_error *error);
kp_status kp_cmd_curve(kp_options *options, kp_error *error);
/** `curve` with --temperature, --charge or --clicks-sweep. */
kp_status kp_cmd_sweep(kp_options *options, kp_error *error);
kp_status kp_cmd_compare(kp_options *options, kp_error *error);
kp_status kp_cmd_band(kp_options *options, kp_error *error);
kp_status kp_cmd_explain(kp_options *options, kp_error *error);
/** `explain` with --lesson. */
kp_status kp_cmd_lesson(kp_options *options, kp_error *error);
kp_status kp_cmd_completion(kp_options *options, kp_error *error);
kp_status kp_cmd_new(kp_options *options, kp_error *error);

#endif
