/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `check`: everything that is wrong or risky in a file. A fault is input that cannot be solved (exit 3). A doubt is a
    warning. Shims that would set or break, and oil that would cavitate, make the answer no (exit 1). */
#include "cli/run.h"

#include <stdio.h>

static kp_status add_columns(kp_table *table, kp_error *error)
{
    static const char *const names[] = {"file", "kind", "text"};
    kp_status status = KP_OK;
    for (size_t i = 0; status == KP_OK && i < sizeof names / sizeof names[0]; i++) {
        status = kp_table_add_text_column(table, names[i], names[i], NULL, error);
    }
    return status;
}

static kp_status add_finding(kp_table *table, const char *file, const char *kind, const char *text, kp_error *error)
{
    size_t row;
    kp_status status = kp_table_add_row(table, &row, error);
    status = status == KP_OK ? kp_table_set_text(table, row, 0, file, error) : status;
    status = status == KP_OK ? kp_table_set_text(table, row, 1, kind, error) : status;
    return status == KP_OK ? kp_table_set_text(table, row, 2, text, error) : status;
}

/* The verdict of one file, then what was found. */
static void say_file(kp_output *output, const kp_run *run, size_t first, size_t first_risk)
{
    char margin[KP_SHOWN];
    char top[KP_SHOWN];
    double fastest = output->options->limits.top;
    size_t doubts = first_risk - first;
    for (size_t i = 0; i < run->count; i++) {
        double speed = run->points[KP_COMPRESSION][i].speed;
        fastest = speed > fastest ? speed : fastest;
    }
    kp_show(fastest, KP_DIM_SPEED, 3, output->options->units, top);
    kp_show(kp_run_least_margin(run), KP_DIM_PRESSURE, 1, output->options->units, margin);
    if (kp_run_unsound(run)) {
        kp_lines_add(&output->top, "%s: NOT SOUND up to %s: no fault, %zu doubt%s, %zu risk%s", run->path, top, doubts,
                     doubts == 1 ? "" : "s", output->warnings.count - first_risk,
                     output->warnings.count - first_risk == 1 ? "" : "s");
    } else {
        kp_lines_add(&output->top,
                     "%s: no fault, %zu doubt%s; up to %s no shim passes its yield and the cavitation margin stays "
                     "above %s",
                     run->path, doubts, doubts == 1 ? "" : "s", top, margin);
    }
    for (size_t i = first; i < output->warnings.count; i++) {
        kp_lines_add(&output->top, "   - %s: %s", i < first_risk ? "doubt" : "risk", output->warnings.items[i]);
    }
}

/* One file. unsound comes back true when the answer is no. */
static kp_status check_file(kp_output *output, const char *path, bool *unsound, kp_error *error)
{
    kp_run run = {0};
    size_t before = output->warnings.count;
    kp_status status = kp_run_begin(&run, path, output->options, &output->warnings, error);
    if (status != KP_OK) {
        kp_run_free(&run);
        return status;
    }
    for (size_t i = before; status == KP_OK && i < output->warnings.count; i++) {
        status = add_finding(&output->data, path, "doubt", output->warnings.items[i], error);
    }
    size_t seen = output->warnings.count;
    kp_run_warn(&run, output->options->units, &output->warnings);
    for (size_t i = seen; status == KP_OK && i < output->warnings.count; i++) {
        status = add_finding(&output->data, path, "risk", output->warnings.items[i], error);
    }
    say_file(output, &run, before, seen);
    *unsound = *unsound || kp_run_unsound(&run);
    kp_run_free(&run);
    return status;
}

kp_status kp_cmd_check(const kp_options *options, kp_error *error)
{
    kp_output output;
    kp_status status = kp_output_begin(&output, options, error);
    bool unsound = false;
    output.warnings.quiet = true; /* here they are the answer */
    kp_status worst = KP_OK;
    kp_error first = {0};
    if (status == KP_OK) {
        status = add_columns(&output.data, error);
    }
    /* All files are looked at, whatever the first one says. */
    for (size_t i = 0; status == KP_OK && i < options->file_count; i++) {
        kp_error one = {0};
        kp_status now = check_file(&output, options->files[i], &unsound, &one);
        if (now != KP_OK && worst == KP_OK) {
            worst = now;
            first = one;
        } else if (now != KP_OK && one.message[0] != '\0') {
            kp_say_error("check", one.message);
        }
    }
    if (status == KP_OK && worst != KP_OK) {
        *error = first;
        status = worst;
    }
    if (status == KP_OK) {
        kp_lines_add(&output.foot, "%s", kp_estimate_note);
        output.extra = cJSON_CreateObject();
        if (output.extra == NULL || cJSON_AddBoolToObject(output.extra, "sound", !unsound) == NULL) {
            status = kp_error_set(error, KP_NO_MEMORY, "memory ran out while the answer was put together");
        }
    }
    if (status == KP_OK) {
        status = kp_output_print(&output, error);
    }
    kp_output_free(&output);
    if (status == KP_OK && unsound) {
        return KP_ANSWER_NO; /* said already: no sentence of its own */
    }
    return status;
}
