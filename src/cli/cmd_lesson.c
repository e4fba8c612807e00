/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `explain --lesson`: one change in steps on the user's own damper, a family of curves, a question and its answer. */
#include "cli/explain.h"
#include "cli/pool.h"

#include <math.h>
#include <stdio.h>

static const char *const range_names[KP_EXPLAIN_SPEEDS] = {"low", "mid", "high"};

/* The data and the table for people alike. */
static kp_status fill_steps(kp_table *table, const kp_lesson *lesson, kp_error *error)
{
    kp_status status = kp_table_add_text_column(table, "step", "step", NULL, error);
    for (int at = 0; status == KP_OK && at < KP_EXPLAIN_SPEEDS; at++) {
        char name[48];
        char heading[48];
        snprintf(name, sizeof name, "force_%s", range_names[at]);
        snprintf(heading, sizeof heading, "%s speed", range_names[at]);
        status = kp_table_add_column(table, name, heading, KP_DIM_FORCE, 0, NULL, error);
    }
    static const struct {
        const char *name, *heading;
        kp_dimension dimension;
        int decimals;
    } columns[] = {{"knee_speed", "knee", KP_DIM_SPEED, 3},
                   {"knee_force", "knee", KP_DIM_FORCE, 0},
                   {"cracking_pressure", "cracking", KP_DIM_PRESSURE, 1},
                   {"gas_force", "gas force", KP_DIM_FORCE, 0}};
    for (size_t i = 0; status == KP_OK && i < sizeof columns / sizeof columns[0]; i++) {
        status = kp_table_add_column(table, columns[i].name, columns[i].heading, columns[i].dimension,
                                     columns[i].decimals, NULL, error);
    }
    status = status == KP_OK ? kp_table_add_text_column(table, "note", "", NULL, error) : status;
    for (size_t i = 0; status == KP_OK && i < lesson->step_count; i++) {
        const kp_lesson_step *step = &lesson->steps[i];
        size_t row;
        size_t column = 1;
        status = kp_table_add_row(table, &row, error);
        status = status == KP_OK ? kp_table_set_text(table, row, 0, step->label, error) : status;
        if (status != KP_OK) {
            break;
        }
        for (int at = 0; at < KP_EXPLAIN_SPEEDS; at++) {
            kp_table_set(table, row, column++, step->solved ? step->points[at].force : (double)NAN);
        }
        bool knee = step->solved && step->summary.has_knee;
        kp_table_set(table, row, column++, knee ? step->summary.knee_speed : (double)NAN);
        kp_table_set(table, row, column++, knee ? step->summary.knee_force : (double)NAN);
        kp_table_set(table, row, column++,
                     step->solved ? kp_lift_table_cracking(kp_damper_lift_table(step->damper, lesson->direction))
                                  : (double)NAN);
        kp_table_set(table, row, column++, step->solved ? step->points[0].gas_force : (double)NAN);
        const char *note = !step->solved               ? step->why_not
                           : step->summary.past_yield  ? "a shim would set or break"
                           : step->summary.margin_goes ? "cavitates"
                                                       : "";
        status = kp_table_set_text(table, row, column, note, error);
    }
    return status;
}

static kp_status fill_output(kp_output *output, const kp_lesson *lesson, const kp_damper_data *data, const char *path,
                             kp_error *error)
{
    kp_unit_system units = output->options->units;
    char low[KP_SHOWN];
    char mid[KP_SHOWN];
    char high[KP_SHOWN];
    char heading[256];
    output->extra = cJSON_CreateObject();
    if (output->extra == NULL || !kp_json_add_text(output->extra, "lesson", kp_lesson_name(lesson->topic)) ||
        !kp_json_add_text(output->extra, "direction", kp_direction_name(lesson->direction)) ||
        !kp_json_add_text(output->extra, "question", lesson->question) ||
        !kp_json_add_text(output->extra, "answer", lesson->answer)) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out while the answer was put together");
    }
    kp_lines_add(&output->top, "Lesson: %s, on %s, %s.", kp_lesson_name(lesson->topic), kp_title_of(data, path),
                 kp_direction_name(lesson->direction));
    kp_lines_add(&output->top, "Look for: %s", lesson->look_for);
    kp_lines_add(&output->top, "Why: %s", lesson->why);
    if (lesson->made_up[0] != '\0') {
        kp_lines_add(&output->top, "%s", lesson->made_up);
    }
    kp_lines_add(&output->top, "%s", kp_estimate_note);
    kp_show(lesson->speeds[KP_AT_LOW], KP_DIM_SPEED, 3, units, low);
    kp_show(lesson->speeds[KP_AT_MID], KP_DIM_SPEED, 3, units, mid);
    kp_show(lesson->speeds[KP_AT_HIGH], KP_DIM_SPEED, 3, units, high);
    snprintf(heading, sizeof heading, "Force with gas and friction at %s, %s and %s, each step a run of its own", low,
             mid, high);
    kp_section *section = kp_output_section(output, heading);
    kp_status status = section == NULL ? kp_error_set(error, KP_NO_MEMORY, "memory ran out while the table was made")
                                       : fill_steps(&section->table, lesson, error);
    status = status == KP_OK ? fill_steps(&output->data, lesson, error) : status;
    kp_lines_add(&output->foot, "Question: %s", lesson->question);
    kp_lines_add(&output->foot, "Answer: %s", lesson->answer);
    if (lesson->topic == KP_LESSON_CHARGE) {
        kp_lines_add(&output->foot, "%s", kp_charge_caution);
    }
    return status;
}

kp_status kp_explain_lesson(const kp_options *options, kp_error *error)
{
    kp_damper_data data;
    kp_lesson lesson = {0};
    kp_output output;
    kp_status status = kp_output_begin(&output, options, error);
    status = status == KP_OK ? kp_cli_read_damper(options->files[0], options, &data, &output.warnings, error) : status;
    if (status == KP_OK) {
        kp_watch watch;
        kp_pool pool = kp_watch_begin(&watch, "lesson", options);
        status = kp_lesson_run(&data, options->lesson, options->direction, options->limits, options->units, &pool,
                               &lesson, error);
        kp_watch_end(&watch);
    }
    status = status == KP_OK ? fill_output(&output, &lesson, &data, options->files[0], error) : status;
    if (status == KP_OK && options->plot) {
        char title[192];
        snprintf(title, sizeof title, "%.100s: %s, %s", kp_title_of(&data, options->files[0]),
                 kp_lesson_name(lesson.topic), kp_direction_name(lesson.direction));
        status = kp_figure_of_lesson(&output, &lesson, title, options->limits.top, error);
    }
    status = status == KP_OK ? kp_output_print(&output, error) : status;
    kp_lesson_free(&lesson);
    kp_output_free(&output);
    return status;
}
