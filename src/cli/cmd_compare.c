/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `compare`: what differs in the parts, and what that does at each speed. */
#include "cli/commands.h"
#include "cli/pool.h"
#include "cli/print.h"
#include "cli/read.h"

/* Bands of all files, one after the other. An interrupt, whose message is in error then, leaves those that have
   enough builds by then.
   Returned: how many those are. */
static size_t sample_bands(const kp_options *options, const kp_run *runs, kp_band *bands, kp_band_options *used,
                           kp_status *status, kp_error *error)
{
    kp_watch watch;
    kp_pool pool = kp_watch_begin(&watch, "compare", options);
    size_t file = 0;
    *status = KP_OK;

    /* A number of its own gives the builds of each file shims of their own; all else they share. */
    for (; *status == KP_OK && file < options->request.file_count; file++) {
        used->build = (unsigned)file;
        *status = kp_band_run(&runs[file].data, used, &pool, &bands[file], error);
        if (*status != KP_OK) {
            kp_error_prefix(error, "%s: ", runs[file].path);
        }
    }

    kp_watch_end(&watch);
    return file > 0 && bands[file - 1].done == 0 ? file - 1 : file;
}

static kp_status add_bands(kp_report *report, const kp_options *options, const kp_run *runs, bool *interrupted,
                           kp_error *error)
{
    double speeds[KP_MAX_LIST];
    kp_band_options used = kp_band_options_asked(&options->request, speeds);
    kp_band bands[KP_MAX_FILES] = {0};
    kp_status status;
    size_t sampled = sample_bands(options, runs, bands, &used, &status, error);
    *interrupted = status == KP_INTERRUPTED;

    /* What was sampled before an interrupt is compared, and the curves stand in any case. */
    if (*interrupted) {
        kp_lines_add(&report->top, "INTERRUPTED: %s.",
                     sampled < 2 ? "too few builds were sampled to tell a difference from the noise"
                                 : "not all builds were sampled; the noise is that of those that were");
        status = KP_OK;
    }
    if (status == KP_OK && sampled >= 2) {
        kp_report_compare_bands(report, bands, sampled, &used);
    }

    for (size_t file = 0; file < options->request.file_count; file++) {
        kp_band_free(&bands[file]);
    }

    return status;
}

/* Every file is read, so that the faults of all are seen at once. */
static kp_status read_all(kp_report *report, const kp_request *request, kp_run *runs, kp_error *error)
{
    kp_status status = KP_OK;
    for (size_t i = 0; i < request->file_count; i++) {
        kp_error one = {0};
        kp_status now = kp_read_run(request->files[i], false, &runs[i], report, &one);
        kp_keep_first(&status, error, now, &one, "compare");
    }
    return status;
}

kp_status kp_cmd_compare(kp_options *options, kp_error *error)
{
    kp_run runs[KP_MAX_FILES] = {0};
    kp_report report;
    size_t count = options->request.file_count;
    bool interrupted = false;

    kp_report_begin(&report, &options->request);
    kp_status status = read_all(&report, &options->request, runs, error);

    if (status == KP_OK) {
        for (size_t i = 0; i < count; i++) {
            kp_report_risks(&report, &runs[i]);
        }
        kp_print_warnings(&report);
        kp_report_compare(&report, runs, count);
    }

    /* Bands, where they are asked for, come after the curves. */
    if (status == KP_OK && options->request.band) {
        status = add_bands(&report, options, runs, &interrupted, error);
    }

    if (status == KP_OK) {
        if (options->plot) {
            kp_figure_of_compare(&report, runs, count);
        }
        status = kp_print_report(&report, options, error);
    }

    for (size_t i = 0; i < count; i++) {
        kp_run_free(&runs[i]);
    }

    kp_report_free(&report);
    return status == KP_OK && interrupted ? KP_INTERRUPTED : status;
}
