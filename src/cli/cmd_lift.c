/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `lift`: one stack's mechanics against pressure, next to the handbook's small-deflection answer. */
#include "cli/commands.h"
#include "cli/print.h"
#include "cli/read.h"

kp_status kp_cmd_lift(kp_options *options, kp_error *error)
{
    const kp_request *request = &options->request;
    kp_damper_data data;
    kp_lift_study study = {.round = request->round};
    kp_report report;
    kp_report_begin(&report, &options->request);

    kp_status status = kp_read_damper(request->files[0], false, &data, &report, error);

    if (status == KP_OK) {
        status = kp_lift_study_begin(&data, request->direction, &study, error);
        if (status == KP_OK) {
            kp_report_lift(&report, &study, &data);
            if (options->plot) {
                kp_figure_of_lift(&report, &study, &data);
            }
            status = kp_report_status(&report, error);
        }

        /* A failure of the study or the report is named with the file. */
        if (status != KP_OK) {
            kp_error_prefix(error, "%s: ", request->files[0]);
        }
    }

    if (status == KP_OK) {
        status = kp_print_report(&report, options, error);
    }

    kp_lift_study_end(&study);
    kp_report_free(&report);
    return status;
}
