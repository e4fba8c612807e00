/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `check`: everything that is wrong or risky in a file. A fault is input that cannot be solved (exit 3). Shims that
    would set or break, and oil that would cavitate, make the answer no (exit 1). */
#include "cli/commands.h"
#include "cli/print.h"
#include "cli/read.h"

/* One file. sound comes back false when the answer is no. */
static kp_status check_file(kp_report *report, const char *path, bool *sound, kp_error *error)
{
    kp_run run = {0};
    size_t first_warning = report->warnings.count;
    kp_status status = kp_read_run(path, true, &run, report, error); /* the warnings are the answer */

    if (status == KP_OK) {
        size_t first_risk = report->warnings.count;
        kp_report_risks(report, &run);
        kp_report_check(report, &run, first_warning, first_risk);
        *sound = *sound && kp_run_risks(&run) == 0;
    }

    kp_run_free(&run);
    return status;
}

kp_status kp_cmd_check(kp_options *options, kp_error *error)
{
    kp_report report;
    kp_status status = KP_OK;
    bool sound = true;
    kp_report_begin(&report, &options->request);

    /* Every file is checked, even when an earlier one has faults. */
    for (size_t i = 0; i < options->request.file_count; i++) {
        kp_error one = {0};
        kp_status now = check_file(&report, options->request.files[i], &sound, &one);
        kp_keep_first(&status, error, now, &one, "check");
    }

    if (status == KP_OK) {
        kp_report_check_end(&report, sound);
        status = kp_print_report(&report, options, error);
    }

    kp_report_free(&report);
    return status == KP_OK && !sound ? KP_ANSWER_NO : status; /* said already: no sentence of its own */
}
