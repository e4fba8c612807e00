/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `curve` as a sweep: one damper at several oil temperatures, charges or clicks. */
#include "cli/commands.h"
#include "cli/print.h"
#include "cli/read.h"

#include <stdlib.h>

static kp_status fill_sweep(kp_sweep *sweep, const kp_request *request, kp_damper_data *data, kp_error *error)
{
    if (request->temperatures.count > 0) {
        kp_sweep_temperatures(sweep, data, request->temperatures.values, request->temperatures.count);
    } else if (request->charges.count > 0 && data->gas_open) {
        return kp_error_set(error, KP_BAD_INPUT, "--charge: the gas of this damper is open to the air (`gas: open`)");
    } else if (request->charges.count > 0) {
        kp_sweep_charges(sweep, data, request->charges.values, request->charges.count, request->charges_gauge);
    } else if (kp_adjuster_of(data, request->sweep) == NULL) {
        return kp_error_set(error, KP_BAD_INPUT, "--clicks-sweep %s: the file has no %s adjuster (%s)",
                            kp_direction_name(request->sweep), kp_direction_name(request->sweep),
                            request->sweep == KP_REBOUND ? "piston.adjuster" : "reservoir.adjuster");
    } else {
        kp_sweep_clicks(sweep, data, request->sweep);
    }

    return KP_OK;
}

/* Every member is examined before it is run: what was asked for may be a fault in this damper. */
static kp_status run_members(kp_sweep *sweep, const kp_run *base, kp_report *report, kp_error *error)
{
    const char *only = report->request->temperatures.count > 0 ? "temperature"
                       : report->request->charges.count > 0    ? "gas."
                                                               : "piston.";
    kp_report_name_members(report, sweep);

    for (size_t i = 0; i < sweep->count; i++) {
        kp_status status = kp_examine_damper(base->path, &sweep->runs[i].data, only, report, error);
        kp_print_warnings(report);
        if (status != KP_OK) {
            return kp_error_prefix(error, "%s: ", sweep->labels[i]);
        }

        /* Only now is it a damper that can be. */
        status = kp_sweep_run(sweep, i, base, error);
        if (status != KP_OK) {
            return status;
        }

        kp_report_risks(report, &sweep->runs[i]);
        kp_print_warnings(report);
    }

    return KP_OK;
}

kp_status kp_cmd_sweep(kp_options *options, kp_error *error)
{
    kp_run base = {0};
    kp_report report;
    kp_sweep *sweep = calloc(1, sizeof *sweep);
    if (sweep == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out for a family of curves");
    }

    kp_report_begin(&report, &options->request);
    kp_status status = kp_read_run(options->request.files[0], false, &base, &report, error);

    if (status == KP_OK) {
        status = fill_sweep(sweep, &options->request, &base.data, error);
    }
    if (status == KP_OK) {
        status = run_members(sweep, &base, &report, error);
    }

    if (status == KP_OK) {
        kp_report_sweep(&report, &base, sweep);
        if (options->plot) {
            kp_figure_of_sweep(&report, &base, sweep);
        }
        status = kp_print_report(&report, options, error);
    }

    kp_sweep_free(sweep);
    free(sweep);
    kp_run_free(&base);
    kp_report_free(&report);
    return status;
}
