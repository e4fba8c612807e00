/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `lift`: one stack's mechanics against pressure, beside the handbook's small-deflection answer. */
#include "cli/lift.h"
#include "cli/messages.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* When no pressures are given: from where a flat stack begins to lift to where a hard compression ends. [Pa] */
static const double usual_pressures[] = {0.5e5, 1e5, 2e5, 5e5, 10e5, 20e5, 30e5, 50e5};

/* "held", or "sliding with 6000 N of nut load at friction 0.12, hole 12.00 mm" */
static const char *grip_words(const kp_valve_data *valve, kp_unit_system units, char text[4 * KP_SHOWN])
{
    char load[KP_SHOWN];
    char hole[KP_SHOWN];
    if (valve->grip == KP_GRIP_HELD) {
        return "held";
    }
    kp_show(valve->has_hole ? valve->hole : (double)NAN, KP_DIM_LENGTH, 2, units, hole);
    kp_show(valve->nut_load, KP_DIM_FORCE, 0, units, load);
    if (valve->nut_load > 0.0) {
        snprintf(text, 4 * KP_SHOWN, "sliding (hole %s, nut load %s, friction %.3g)", hole, load, valve->nut_friction);
    } else {
        snprintf(text, 4 * KP_SHOWN, "sliding (hole %s, no nut load)", hole);
    }
    return text;
}

/* Lift stop or backing washer. */
static void say_above(kp_output *output, const kp_valve_data *valve, kp_unit_system units)
{
    char gap[KP_SHOWN];
    char outside[KP_SHOWN];
    if (valve->has_stop) {
        kp_lines_add(&output->top, "Lift stop of %s, %s above the clamped pack.",
                     kp_show(valve->stop_outside, KP_DIM_LENGTH, 2, units, outside),
                     kp_show(valve->stop_gap, KP_DIM_LENGTH, 3, units, gap));
    }
    if (valve->backing_count > 0) {
        const kp_backing_point *last = &valve->backing[valve->backing_count - 1];
        kp_lines_add(&output->top, "Backing washer out to %s, its face there %s above the clamped pack.",
                     kp_show(last->diameter, KP_DIM_LENGTH, 2, units, outside),
                     kp_show(last->gap, KP_DIM_LENGTH, 3, units, gap));
    }
}

static void say_top(kp_output *output, const kp_lift_study *study, const kp_damper_data *data)
{
    kp_unit_system units = output->options->units;
    char words[KP_STACK_WORDS];
    char cracking[KP_SHOWN];
    char clamp[KP_SHOWN];
    char dish[KP_SHOWN];
    char grip[4 * KP_SHOWN];
    kp_lines_add(&output->top, "%s: %s stack%s", kp_title_of(data, output->options->files[0]),
                 kp_direction_name(study->direction), output->options->free ? ", without its seat" : "");
    kp_lines_add(&output->top, "From the piston face outward: %s.", kp_stack_words(study->valve, units, words));
    kp_lines_add(&output->top, "Clamp %s, grip %s, dish %s%s.",
                 kp_show(study->valve->clamp_washer, KP_DIM_LENGTH, 2, units, clamp),
                 grip_words(study->valve, units, grip), kp_show(study->valve->dish, KP_DIM_LENGTH, 3, units, dish),
                 study->valve->dish < 0.0 ? " (float: it never closes)" : "");
    say_above(output, study->valve, units);
    if (study->cracking > 0.0) {
        kp_lines_add(&output->top, "It cracks at %s%s.", kp_show(study->cracking, KP_DIM_PRESSURE, 2, units, cracking),
                     output->options->free ? " on its seat" : "");
    }
    kp_lines_add(&output->top, "%s", kp_estimate_note);
    if (!output->options->has_direction) {
        kp_lines_add(&output->foot, "The other stack: --direction rebound.");
    }
    kp_lines_add(&output->foot, "Small deflection: %s", kp_lift_small_words(study));
}

static kp_status add_extra(kp_output *output, const kp_lift_study *study, const kp_damper_data *data, kp_error *error)
{
    output->extra = cJSON_CreateObject();
    if (output->extra == NULL || !kp_json_add_text(output->extra, "name", data->name) ||
        !kp_json_add_text(output->extra, "direction", kp_direction_name(study->direction)) ||
        cJSON_AddBoolToObject(output->extra, "free", output->options->free) == NULL ||
        !kp_json_add_text(output->extra, "small_deflection", kp_lift_small_words(study)) ||
        !kp_json_add_text(output->extra, "fatigue", kp_fatigue_words)) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out while the answer was put together");
    }
    return KP_OK;
}

/* What was asked for, solved and put into tables. */
static kp_status work_out(kp_output *output, const kp_lift_study *study, const kp_damper_data *data,
                          const double *pressures, size_t count, kp_lift_row *rows, kp_error *error)
{
    if (output->options->doubts) {
        return kp_lift_sensitivity_fill(output, study, data, error);
    }
    if (output->options->profile) {
        return kp_lift_profile_fill(output, study, pressures, count, rows, error);
    }
    kp_status status = kp_lift_study_rows(study, pressures, count, output->options->free, rows, NULL, NULL, error);
    return status == KP_OK ? kp_lift_table_fill(output, study, rows, count, error) : status;
}

kp_status kp_cmd_lift(const kp_options *options, kp_error *error)
{
    kp_damper_data data;
    kp_output output;
    kp_lift_study study = {0};
    kp_status status = kp_output_begin(&output, options, error);
    if (status == KP_OK) {
        status = kp_cli_read_damper(options->files[0], options, &data, &output.warnings, error);
    }
    size_t count = options->pressures.count;
    const double *pressures = options->pressures.values;
    if (count == 0) {
        count = sizeof usual_pressures / sizeof usual_pressures[0];
        pressures = usual_pressures;
    }
    kp_lift_row *rows = calloc(count, sizeof *rows);
    if (status == KP_OK && rows == NULL) {
        status = kp_error_set(error, KP_NO_MEMORY, "memory ran out for %zu pressures", count);
    }
    if (status == KP_OK) {
        status = kp_lift_study_begin(&data, options->direction, &study, error);
    }
    if (status == KP_OK) {
        say_top(&output, &study, &data);
        status = work_out(&output, &study, &data, pressures, count, rows, error);
    }
    if (status == KP_OK) {
        status = add_extra(&output, &study, &data, error);
    }
    if (status != KP_OK && error->message[0] != '\0' && study.valve != NULL) {
        kp_error_prefix(error, "%s: ", options->files[0]);
    }
    if (status == KP_OK && options->plot) {
        status = kp_figure_of_lift(&output, &study, kp_title_of(&data, options->files[0]), pressures, count, error);
    }
    if (status == KP_OK) {
        status = kp_output_print(&output, error);
    }
    kp_lift_study_end(&study);
    free(rows);
    kp_output_free(&output);
    return status;
}
