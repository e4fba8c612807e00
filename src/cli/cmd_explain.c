/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `explain`: which path rules at which speed, where the knee is and why, and the effect of each part. */
#include "cli/commands.h"
#include "cli/pool.h"
#include "cli/print.h"
#include "cli/read.h"

kp_status kp_cmd_explain(kp_options *options, kp_error *error)
{
    if (options->request.has_lesson) {
        return kp_cmd_lesson(options, error);
    }

    kp_run run = {0};
    kp_explanation explanation = {0};
    kp_report report;
    kp_status explained = KP_OK;
    kp_report_begin(&report, &options->request);

    kp_status status = kp_read_run(options->request.files[0], false, &run, &report, error);

    /* An interrupted run reports what it has, and still ends with the status of the interrupt. */
    if (status == KP_OK) {
        kp_report_risks(&report, &run);
        kp_print_warnings(&report);

        kp_watch watch;
        kp_pool pool = kp_watch_begin(&watch, "explain", options);
        explained = kp_explain(&run.data, options->request.limits, options->request.units, &pool, &explanation, error);
        kp_watch_end(&watch);
        if (explained != KP_OK) {
            kp_error_prefix(error, "%s: ", options->request.files[0]);
        }
        status = explained == KP_INTERRUPTED ? KP_OK : explained;
    }

    if (status == KP_OK) {
        kp_report_explain(&report, &run, &explanation);
        if (options->plot) {
            kp_figure_of_explain(&report, &run);
        }
        status = kp_print_report(&report, options, error);
    }

    kp_explanation_free(&explanation);
    kp_run_free(&run);
    kp_report_free(&report);
    return status == KP_OK ? explained : status;
}
