/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A damper file from its name to SI data, with everything there is to say about it. */
#include "file_internal.h"

#include "reader.h"

#include <stdlib.h>

static const int SETTINGS_ORDER = 1000; /* settings come after all files in the order of messages */

/** The examiner's findings, at their places. What hangs on a key that could not be read is not repeated. */
static kp_status report_findings(kp_reading *reading, kp_error *error)
{
    kp_findings findings = {0};
    kp_status status = kp_damper_examine(&reading->draft->damper, &findings, error);
    for (size_t i = 0; status == KP_OK && i < findings.count; i++) {
        const kp_finding *finding = &findings.items[i];
        if (!kp_report_covers(reading->report, finding->path)) {
            kp_place place = kp_path_place(reading->arena, reading->root, finding->path);
            kp_report_add(reading->report, finding->fault, place, finding->path, "%s", finding->text);
        }
    }
    kp_findings_free(&findings);
    return status;
}

/** Tree, defaults, keys, examination. The draft is only to be used when the report has no fault. */
static kp_status read_draft(kp_source *source, const char *path, const char *const *settings, size_t setting_count,
                            kp_draft *draft, kp_error *error)
{
    kp_node *root = kp_source_read(source, path);
    if (source->status != KP_OK) {
        return kp_error_set(error, source->status, "%s", source->error.message);
    }
    if (root == NULL) {
        return KP_OK; /* the report has the fault */
    }
    for (size_t i = 0; i < setting_count; i++) {
        kp_setting_apply(source->arena, source->report, root, settings[i], SETTINGS_ORDER + (int)i);
    }
    kp_node_prune(root);
    kp_damper_defaults(&draft->damper);
    kp_reading reading = {source->arena, source->report, draft, root};
    kp_file_fill_damper(&reading, root);
    if (!draft->position_given) {
        draft->damper.position = draft->damper.stroke / 2.0;
    }
    kp_status status = report_findings(&reading, error);
    if (status == KP_OK && source->arena->failed) {
        status = kp_error_set(error, KP_NO_MEMORY, "memory ran out while %s was read", path);
    }
    return status;
}

kp_status kp_file_read_damper_from(kp_opener *open, void *context, const char *path, const char *const *settings,
                                   size_t setting_count, kp_damper_data *out, kp_messages *messages, kp_error *error)
{
    kp_status status = kp_units_begin(error);
    if (status != KP_OK) {
        return status;
    }
    kp_report *report = calloc(1, sizeof *report);
    kp_draft *draft = calloc(1, sizeof *draft);
    if (report == NULL || draft == NULL) {
        free(draft);
        free(report);
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out while %s was read", path);
    }
    kp_arena arena = {0};
    report->arena = &arena;
    kp_source source = {.open = open, .context = context, .arena = &arena, .report = report};
    status = read_draft(&source, path, settings, setting_count, draft, error);
    if (status == KP_OK) {
        status = kp_report_publish(report, messages, error);
    }
    if (status == KP_OK) {
        *out = draft->damper;
    }
    free(draft);
    free(report);
    kp_arena_free(&arena);
    return status;
}

kp_status kp_file_read_damper(const char *path, const char *const *settings, size_t setting_count, kp_damper_data *out,
                              kp_messages *messages, kp_error *error)
{
    return kp_file_read_damper_from(kp_source_open, NULL, path, settings, setting_count, out, messages, error);
}
