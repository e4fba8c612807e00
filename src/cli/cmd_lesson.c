/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `explain --lesson`: one change in steps on the user's own damper. */
#include "cli/commands.h"
#include "cli/pool.h"
#include "cli/print.h"
#include "cli/read.h"

kp_status kp_cmd_lesson(kp_options *options, kp_error *error)
{
    const kp_request *request = &options->request;
    kp_damper_data data;
    kp_lesson lesson = {0};
    kp_report report;

    kp_report_begin(&report, &options->request);
    kp_status status = kp_read_damper(request->files[0], false, &data, &report, error);

    if (status == KP_OK) {
        kp_watch watch;
        kp_pool pool = kp_watch_begin(&watch, "lesson", options);
        status = kp_lesson_run(&data, request->lesson, request->direction, request->limits, request->units, &pool,
                               &lesson, error);
        kp_watch_end(&watch);
        if (status != KP_OK) {
            kp_error_prefix(error, "%s: ", request->files[0]);
        }
    }

    if (status == KP_OK) {
        kp_report_lesson(&report, &lesson, &data);
        if (options->plot) {
            kp_figure_of_lesson(&report, &lesson, &data);
        }
        status = kp_print_report(&report, options, error);
    }

    kp_lesson_free(&lesson);
    kp_report_free(&report);
    return status;
}
