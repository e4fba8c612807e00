/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The report on one stack: the sentences above and below its tables. */
#include "report/lift_report.h"

#include <math.h>
#include <stdio.h>

static const char *const small_words[] = {
    [KP_SMALL_CLOSED_FORM] = "Roark's closed form of a flat plate, clamped inside and free outside, without the seat.",
    [KP_SMALL_TANGENT] = ("the straight line that touches this stack's lift at zero load, without the seat (no closed "
                          "form holds for several kinds of shim)."),
    [KP_SMALL_NONE] = "none: a loose ring bends this stack before there is any pressure, so no straight line holds."};

#define GRIP_WORDS (4 * KP_SHOWN)

/* "held", or "sliding (hole 12.00 mm, nut load 6000 N, friction 0.12)" */
static const char *grip_words(const kp_valve_data *valve, kp_unit_system units, char text[GRIP_WORDS])
{
    if (valve->grip == KP_GRIP_HELD) {
        return "held";
    }

    const char *hole = KP_SHOW(valve->has_hole ? valve->hole : (double)NAN, KP_DIM_LENGTH, 2, units);
    if (valve->nut_load > 0.0) {
        snprintf(text, GRIP_WORDS, "sliding (hole %s, nut load %s, friction %.3g)", hole,
                 KP_SHOW(valve->nut_load, KP_DIM_FORCE, 0, units), valve->nut_friction);
    } else {
        snprintf(text, GRIP_WORDS, "sliding (hole %s, no nut load)", hole);
    }
    return text;
}

/* What limits the lift from above. */
static void add_stop(kp_lines *lines, const kp_valve_data *valve, kp_unit_system units)
{
    if (valve->has_stop) {
        kp_lines_add(lines, "Lift stop of %s, %s above the clamped pack.",
                     KP_SHOW(valve->stop_outside, KP_DIM_LENGTH, 2, units),
                     KP_SHOW(valve->stop_gap, KP_DIM_LENGTH, 3, units));
    }

    if (valve->backing_count > 0) {
        const kp_backing_point *last = &valve->backing[valve->backing_count - 1];
        kp_lines_add(lines, "Backing washer out to %s, its face there %s above the clamped pack.",
                     KP_SHOW(last->diameter, KP_DIM_LENGTH, 2, units), KP_SHOW(last->gap, KP_DIM_LENGTH, 3, units));
    }
}

/* From where the stack is no longer round. */
static void add_onset(kp_report *report, const kp_lift_study *study)
{
    const kp_unit_system units = report->request->units;
    const kp_stack *stack = &study->stack;
    if (study->round) {
        kp_lines_add(&report->top, "Held round (--round), which no real stack is once it folds.");
    } else if (stack->ports > 0 && stack->ports <= KP_PORTS_FOLD && stack->port_share < 1.0) {
        kp_lines_add(&report->top, "Its %d ports bend it into as many lobes from the first load on.", stack->ports);
    } else if (study->onset.folds) {
        kp_lines_add(&report->top, "It folds into %d lobes from %s on, at %s of seat lift: softer from there.",
                     study->onset.lobes, KP_SHOW(study->onset.pressure, KP_DIM_PRESSURE, 2, units),
                     KP_SHOW(study->onset.seat_lift, KP_DIM_LENGTH, 3, units));
    }
}

static void add_sentences(kp_report *report, const kp_lift_study *study, const char *title)
{
    const kp_request *request = report->request;
    const kp_valve_data *valve = study->valve;
    kp_unit_system units = request->units;
    char stack[KP_STACK_WORDS];
    char grip[GRIP_WORDS];

    /* The stack and what holds it. */
    kp_lines_add(&report->top, "%s: %s stack%s", title, kp_direction_name(study->direction),
                 request->free ? ", without its seat" : "");
    kp_lines_add(&report->top, "From the piston face outward: %s.", kp_stack_words(valve, units, stack));
    kp_lines_add(&report->top, "Clamp %s, grip %s, dish %s%s.", KP_SHOW(valve->clamp_washer, KP_DIM_LENGTH, 2, units),
                 grip_words(valve, units, grip), KP_SHOW(valve->dish, KP_DIM_LENGTH, 3, units),
                 valve->dish < 0.0 ? " (float: it never closes)" : "");
    add_stop(&report->top, valve, units);

    /* What the numbers below depend on. */
    if (study->cracking > 0.0) {
        kp_lines_add(&report->top, "It cracks at %s%s.", KP_SHOW(study->cracking, KP_DIM_PRESSURE, 2, units),
                     request->free ? " on its seat" : "");
    }
    if (!request->sensitivity && !request->profile) {
        add_onset(report, study);
    }
    kp_lines_add(&report->top, "%s", kp_estimate_note);

    if (!request->has_direction) {
        kp_lines_add(&report->foot, "The other stack: --direction rebound.");
    }
    kp_lines_add(&report->foot, "Small deflection: %s", small_words[study->small]);
}

static void add_json(kp_report *report, const kp_lift_study *study, const kp_damper_data *data)
{
    kp_json_text(report, report->extra, "name", data->name);
    kp_json_text(report, report->extra, "direction", kp_direction_name(study->direction));
    kp_json_bool(report, report->extra, "free", report->request->free);
    kp_json_text(report, report->extra, "small_deflection", small_words[study->small]);
    kp_json_text(report, report->extra, "fatigue", kp_fatigue_words);
    kp_json_number(report, report->extra, "folding_pressure_Pa",
                   study->onset.folds ? study->onset.pressure : (double)NAN);
    kp_json_number(report, report->extra, "folding_seat_lift_m",
                   study->onset.folds ? study->onset.seat_lift : (double)NAN);
}

void kp_report_lift(kp_report *report, const kp_lift_study *study, const kp_damper_data *data)
{
    add_sentences(report, study, kp_title_of(data, report->request->files[0]));
    add_json(report, study, data);

    if (report->request->sensitivity) {
        kp_report_lift_sensitivity(report, study, data);
    } else if (report->request->profile) {
        kp_report_lift_profile(report, study);
    } else {
        kp_report_lift_table(report, study);
    }
}
