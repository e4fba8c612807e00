/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Reads the file of a damper for a command. */
#ifndef KP_CLI_READ_H
#define KP_CLI_READ_H

#include "cli/options.h"

/** Reads a damper with the settings and the clicks of the report's request. Faults go to standard error, warnings into
    the report, and at once to standard error too unless keeps_warnings and the file has no fault. On KP_BAD_INPUT the
    error record is left without a message: all of it has been said. */
kp_status kp_read_damper(const char *path, bool keeps_warnings, kp_damper_data *out, kp_report *report,
                         kp_error *error);
/** kp_read_damper, and the damper worked out at the speeds of the request. Zero the run before, free it in any case. */
kp_status kp_read_run(const char *path, bool keeps_warnings, kp_run *run, kp_report *report, kp_error *error);
/** Examines a damper whose numbers were changed on the command line: the first fault is the error; warnings at paths
    that begin with `only` go into the report. */
kp_status kp_examine_damper(const char *path, const kp_damper_data *data, const char *only, kp_report *report,
                            kp_error *error);
/** One file of several: the first failure is kept in status and error, a later one is said at once. */
void kp_keep_first(kp_status *status, kp_error *error, kp_status now, const kp_error *one, const char *command);
/** What is asked of a band. speeds [KP_MAX_LIST] comes back rising, each once, and must live as long as the result. */
kp_band_options kp_band_options_asked(const kp_request *request, double *speeds);

#endif
