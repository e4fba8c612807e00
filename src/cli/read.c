/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Reads a damper: its file, the settings and clicks of the command line, and what there is to warn of. */
#include "cli/read.h"
#include "cli/print.h"

#include "kneepoint/file.h"

#include <string.h>

static kp_status set_clicks(kp_damper_data *data, kp_direction direction, int clicks, kp_error *error)
{
    const char *name = kp_direction_name(direction);
    kp_adjuster_data *adjuster = kp_adjuster_of(data, direction);
    if (adjuster == NULL) {
        return kp_error_set(error, KP_BAD_INPUT, "--clicks %s=%d: the file has no %s adjuster (%s)", name, clicks, name,
                            direction == KP_REBOUND ? "piston.adjuster" : "reservoir.adjuster");
    }

    if (clicks > adjuster->max_clicks) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "--clicks %s=%d: this adjuster has 0 (closed) to %d", name, clicks,
                            adjuster->max_clicks);
    }

    adjuster->clicks = clicks;
    return KP_OK;
}

kp_status kp_examine_damper(const char *path, const kp_damper_data *data, const char *only, kp_report *report,
                            kp_error *error)
{
    kp_findings findings = {0};
    kp_status status = kp_damper_validate(data, &findings, error);

    /* The first fault ends it; of the warnings only those about the keys that were changed. */
    for (size_t i = 0; status == KP_OK && i < findings.count; i++) {
        const kp_finding *finding = &findings.items[i];
        if (finding->fault) {
            status = kp_error_set(error, KP_BAD_INPUT, "%s: %s: %s", path, finding->path, finding->text);
        } else if (strncmp(finding->path, only, strlen(only)) == 0) {
            kp_report_warn(report, "%s: %s: %s", path, finding->path, finding->text);
        }
    }

    kp_findings_free(&findings);
    return status;
}

kp_status kp_read_damper(const char *path, bool keeps_warnings, kp_damper_data *out, kp_report *report, kp_error *error)
{
    const kp_request *request = report->request;
    kp_messages messages = {0};
    kp_status status = kp_file_read_damper(path, request->settings, request->setting_count, out, &messages, error);
    bool said = !keeps_warnings || status != KP_OK; /* all that is to be said of a bad file stands together */

    /* Faults are printed at once; warnings go into the report, which prints each only once. */
    for (size_t i = 0; i < messages.count; i++) {
        if (messages.items[i].fault) {
            kp_print_message(messages.items[i].text);
            continue;
        }

        report->warnings_said = said ? report->warnings.count : report->warnings_said;
        kp_report_warn(report, "%s", messages.items[i].text);
        if (said) {
            kp_print_warnings(report);
        }
    }

    if (status == KP_BAD_INPUT && messages.count > 0) {
        error->message[0] = '\0'; /* all of it has been said */
    }

    kp_messages_free(&messages);

    /* The first file's units hold for the whole answer, unless others were asked for. */
    if (status == KP_OK && out->has_units && !request->has_units) {
        report->request->units = out->units;
        report->request->has_units = true;
    }

    /* Clicks come after the file: they may stand for an adjuster that a setting has put in. */
    bool clicked = false;

    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        if (status == KP_OK && request->has_clicks[d]) {
            status = set_clicks(out, (kp_direction)d, request->clicks[d], error);
            clicked = true;
        }
    }

    if (status == KP_OK && clicked) { /* a closed adjuster may close the only path */
        status = kp_examine_damper(path, out, "piston.bleed", report, error);
        if (!keeps_warnings) {
            kp_print_warnings(report);
        }
    }

    return status;
}

kp_status kp_read_run(const char *path, bool keeps_warnings, kp_run *run, kp_report *report, kp_error *error)
{
    const kp_list *asked = &report->request->speeds;
    size_t count = asked->count;
    const double *speeds = count > 0 ? asked->values : kp_default_speeds(&count);
    kp_damper_data data;
    kp_status status = kp_read_damper(path, keeps_warnings, &data, report, error);
    return status == KP_OK ? kp_run_begin(run, path, &data, speeds, count, report->request->limits, error) : status;
}

void kp_keep_first(kp_status *status, kp_error *error, kp_status now, const kp_error *one, const char *command)
{
    if (now != KP_OK && *status == KP_OK) {
        *status = now;
        *error = *one;
    } else if (now != KP_OK && one->message[0] != '\0') {
        kp_print_error(command, one->message);
    }
}

kp_band_options kp_band_options_asked(const kp_request *request, double *speeds)
{
    size_t count = request->speeds.count;
    const double *given = count > 0 ? request->speeds.values : kp_default_band_speeds(&count);
    kp_band_options band = kp_band_options_default();

    /* What was not asked for keeps its default. */
    band.speeds = speeds;
    band.speed_count = kp_sort_speeds(given, count, speeds);
    band.system = request->units;
    band.samples = request->samples > 0 ? request->samples : band.samples;
    band.seed = request->has_seed ? request->seed : band.seed;
    band.correlation = request->has_correlation ? request->correlation : band.correlation;
    return band;
}
