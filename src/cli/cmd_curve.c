/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `curve`: force against shaft speed in both directions. */
#include "cli/commands.h"
#include "cli/print.h"
#include "cli/read.h"

kp_status kp_cmd_curve(kp_options *options, kp_error *error)
{
    const kp_request *request = &options->request;
    if (request->temperatures.count > 0 || request->charges.count > 0 || request->has_sweep) {
        return kp_cmd_sweep(options, error);
    }

    kp_run run = {0};
    kp_report report;
    kp_report_begin(&report, &options->request);

    kp_status status = kp_read_run(request->files[0], false, &run, &report, error);

    if (status == KP_OK) {
        kp_report_risks(&report, &run);
        kp_print_warnings(&report);

        kp_report_curve(&report, &run);
        if (options->plot) {
            kp_figure_of_curve(&report, &run);
        }
        status = kp_print_report(&report, options, error);
    }

    kp_run_free(&run);
    kp_report_free(&report);
    return status;
}
