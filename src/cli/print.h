/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What goes to standard output and standard error. A run that fails prints nothing on standard output. */
#ifndef KP_CLI_PRINT_H
#define KP_CLI_PRINT_H

#include "cli/options.h"

/** Prints what --format asks for, then draws what --plot asks for. Status: that of the report, when it failed. */
kp_status kp_print_report(const kp_report *report, const kp_options *options, kp_error *error);
/** Says the warnings that have come since the last call on standard error. */
void kp_print_warnings(kp_report *report);
/** A message on standard error, without what would steer the terminal: it may repeat a file's words or gnuplot's. */
void kp_print_message(const char *message);
/** "kneepoint curve: message" on standard error; command NULL: none was found. */
void kp_print_error(const char *command, const char *message);

/** A display that a window could open on. */
bool kp_has_display(void);
/** Emphasis on a terminal that wants it ("" elsewhere, and under NO_COLOR). */
const char *kp_bold(bool to_stderr);
const char *kp_plain(bool to_stderr);

#endif
