/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `band`: within what limits the force lies when parts, oil and charge are only as good as their tolerances. */
#include "cli/commands.h"
#include "cli/pool.h"
#include "cli/print.h"
#include "cli/read.h"

kp_status kp_cmd_band(kp_options *options, kp_error *error)
{
    double speeds[KP_MAX_LIST];
    kp_band_options used = kp_band_options_asked(&options->request, speeds);

    kp_run run = {0};
    kp_band band = {0};
    kp_report report;
    kp_status sampled = KP_OK;
    kp_report_begin(&report, &options->request);

    kp_status status = kp_read_run(options->request.files[0], false, &run, &report, error);

    /* An interrupted run reports what it has sampled, and still ends with the status of the interrupt. */
    if (status == KP_OK) {
        kp_report_risks(&report, &run);
        kp_print_warnings(&report);

        kp_watch watch;
        kp_pool pool = kp_watch_begin(&watch, "band", options);
        sampled = kp_band_run(&run.data, &used, &pool, &band, error);
        kp_watch_end(&watch);
        if (sampled != KP_OK) {
            kp_error_prefix(error, "%s: ", options->request.files[0]);
        }
        status = sampled == KP_INTERRUPTED && band.done > 0 ? KP_OK : sampled;
    }

    if (status == KP_OK) {
        kp_report_band(&report, &run, &band, &used);
        if (options->plot) {
            kp_figure_of_band(&report, &run, &band);
        }
        status = kp_print_report(&report, options, error);
    }

    kp_band_free(&band);
    kp_run_free(&run);
    kp_report_free(&report);
    return status == KP_OK ? sampled : status;
}
