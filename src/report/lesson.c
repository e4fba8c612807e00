/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `explain --lesson`: one change in steps on the user's own damper, a family of curves, a question and its answer. */
#include "report/report_internal.h"

#include <math.h>
#include <stdio.h>

#define LINE_POINTS 120 /* [-] at most KP_DENSE */

/* The steps. The data have the whole force, as those of every command; people are shown what was asked for. */
static void fill_steps(const kp_report *report, kp_table *table, const kp_lesson *lesson, bool people)
{
    static const kp_column_spec columns[] = {
        KP_TEXT_COLUMN("step", "step"),
        KP_NUMBER_COLUMN("force_low", "low speed", KP_DIM_FORCE, 0),
        KP_NUMBER_COLUMN("force_mid", "mid speed", KP_DIM_FORCE, 0),
        KP_NUMBER_COLUMN("force_high", "high speed", KP_DIM_FORCE, 0),
        KP_NUMBER_COLUMN("knee_speed", "knee", KP_DIM_SPEED, 3),
        KP_NUMBER_COLUMN("knee_force", "knee", KP_DIM_FORCE, 0),
        KP_NUMBER_COLUMN("cracking_pressure", "cracking", KP_DIM_PRESSURE, 1),
        KP_NUMBER_COLUMN("gas_force", "gas force", KP_DIM_FORCE, 0),
        KP_TEXT_COLUMN("note", ""),
    };
    const double none = (double)NAN;
    kp_table_add_columns(table, columns, KP_COUNT(columns));

    for (size_t i = 0; i < lesson->step_count; i++) {
        const kp_lesson_step *step = &lesson->steps[i];
        kp_row row = kp_row_add(table);

        kp_row_text(&row, step->label);
        for (int at = 0; at < KP_EXPLAIN_SPEEDS; at++) {
            const kp_curve_point *point = &step->points[at];
            double force = people ? kp_shown_force(report, point) : point->force;
            kp_row_number(&row, step->solved ? force : none);
        }

        /* A step without a solution has empty cells and says why. */
        bool knee = step->solved && step->summary.has_knee;
        kp_row_number(&row, knee ? step->summary.knee_speed : none);
        kp_row_number(&row, knee ? step->summary.knee_force : none);
        kp_row_number(&row, step->solved ? kp_lift_table_cracking(kp_damper_lift_table(step->damper, lesson->direction))
                                         : none);
        kp_row_number(&row, step->solved ? step->points[0].gas_force : none);

        kp_row_text(&row, step->solved ? kp_risk_words(kp_summary_risks(&step->summary)) : step->why_not);
    }
}

void kp_report_lesson(kp_report *report, const kp_lesson *lesson, const kp_damper_data *data)
{
    kp_unit_system units = report->request->units;

    kp_json_text(report, report->extra, "lesson", kp_lesson_name(lesson->topic));
    kp_json_text(report, report->extra, "direction", kp_direction_name(lesson->direction));
    kp_json_text(report, report->extra, "question", lesson->question);
    kp_json_text(report, report->extra, "answer", lesson->answer);
    fill_steps(report, &report->data, lesson, false);

    kp_lines_add(&report->top, "Lesson: %s, on %s, %s.", kp_lesson_name(lesson->topic),
                 kp_title_of(data, report->request->files[0]), kp_direction_name(lesson->direction));
    kp_lines_add(&report->top, "Look for: %s", lesson->look_for);
    kp_lines_add(&report->top, "Why: %s", lesson->why);

    if (lesson->made_up[0] != '\0') {
        kp_lines_add(&report->top, "%s", lesson->made_up);
    }

    kp_lines_add(&report->top, "%s", kp_estimate_note);

    kp_section *section =
        kp_report_section(report, "At %s, %s and %s, each step a run of its own; %s",
                          KP_SHOW(lesson->speeds[KP_AT_LOW], KP_DIM_SPEED, 3, units),
                          KP_SHOW(lesson->speeds[KP_AT_MID], KP_DIM_SPEED, 3, units),
                          KP_SHOW(lesson->speeds[KP_AT_HIGH], KP_DIM_SPEED, 3, units), kp_shown_force_words(report));
    fill_steps(report, &section->table, lesson, true);

    kp_lines_add(&report->foot, "Question: %s", lesson->question);
    kp_lines_add(&report->foot, "Answer: %s", lesson->answer);
    if (lesson->topic == KP_LESSON_CHARGE) {
        kp_lines_add(&report->foot, "%s", kp_charge_caution);
    }
}

/* ---- the picture: the family of curves, and the change against the damper as found ------------------------------- */

static const kp_lesson_step *find_base(const kp_lesson *lesson)
{
    const kp_lesson_step *base = NULL;
    for (size_t i = 0; i < lesson->step_count; i++) {
        base = lesson->steps[i].as_found && lesson->steps[i].solved ? &lesson->steps[i] : base;
    }
    return base;
}

static void draw_step(kp_report *report, const kp_lesson *lesson, size_t step, const kp_lesson_step *base)
{
    kp_curve_point points[LINE_POINTS];
    kp_curve_point first[LINE_POINTS];
    double x[LINE_POINTS];
    double y[LINE_POINTS];
    double sign = lesson->direction == KP_COMPRESSION ? 1.0 : -1.0;
    double top = report->request->limits.top;
    if (!kp_dense_points(report, lesson->steps[step].damper, lesson->direction, top, LINE_POINTS, points, x)) {
        return;
    }

    /* Force in the direction of the lesson, so that its sign does not matter. */
    for (size_t i = 0; i < LINE_POINTS; i++) {
        y[i] = sign * kp_unit_convert(kp_shown_force(report, &points[i]), KP_DIM_FORCE, report->request->units);
    }

    kp_draw_line(report, 0, lesson->steps[step].label, LINE_POINTS, x, y, (int)step, true);

    /* Without the damper as found among the steps there is nothing to compare with. */
    if (base == NULL || !kp_dense_points(report, base->damper, lesson->direction, top, LINE_POINTS, first, x)) {
        return;
    }

    for (size_t i = 0; i < LINE_POINTS; i++) {
        double change = 100.0 * (fabs(points[i].hydraulic_force) / fabs(first[i].hydraulic_force) - 1.0);
        y[i] = isfinite(change) ? change : (double)NAN;
    }

    kp_draw_line(report, 1, "", LINE_POINTS, x, y, (int)step, false);
}

void kp_figure_of_lesson(kp_report *report, const kp_lesson *lesson, const kp_damper_data *data)
{
    kp_figure *figure = &report->figure;
    char title[192];

    snprintf(title, sizeof title, "%.100s: %s, %s", kp_title_of(data, report->request->files[0]),
             kp_lesson_name(lesson->topic), kp_direction_name(lesson->direction));
    if (!kp_draw_begin(report, title, 2)) {
        return;
    }

    snprintf(figure->note, sizeof figure->note,
             "%s Top: %s; in the direction of %s. Below: "
             "change of the oil's force against the damper as in the file.",
             kp_estimate_note, kp_shown_force_words(report), kp_direction_name(lesson->direction));
    kp_draw_panel(report, 0, "", report->request->with_gas ? "force" : "damping force", KP_DIM_FORCE);
    kp_draw_panel(report, 1, "change against the file", "change", KP_DIM_NONE);

    const kp_lesson_step *base = find_base(lesson);

    for (size_t i = 0; i < lesson->step_count; i++) {
        if (lesson->steps[i].solved) {
            draw_step(report, lesson, i, base);
        }
    }
}
