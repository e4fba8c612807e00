/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A lesson: one thing changed in steps on the user's own damper, what to look for, and a question whose answer carries
    the numbers of this very sweep. The steps are in lesson_steps.c. */
#include "study/lesson_internal.h"
#include "study/study_internal.h"
#include "num/num.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

/** The text of a lesson that does not depend on numbers. */
typedef struct kp_lesson_words {
    const char *name, *look_for, *why, *question, *tail;
} kp_lesson_words;

static const kp_lesson_words lessons[KP_LESSON_COUNT] = {
    [KP_LESSON_BLEED] =
        {"bleed",
         "Below, in per cent, the curves fan out at the left and close up to the right; the knee moves to lower speed "
         "as ports are plugged.",
         "Bleed and shims are in parallel. While the shims are closed, all oil must go through the bleed, and its drop "
         "grows with the square of the flow through each port. Once the shims are open they take most of the oil, and "
         "the bleed hardly counts.",
         "You plug every bleed port. Does that firm low or high speed more, in per cent?",
         "A bleed that flows both ways changes the other direction too."},
    [KP_LESSON_DISH] =
        {"dish",
         "With more dish the curve climbs higher before it bends; after the bend the curves lie more nearly alongside.",
         "The seat stands above the clamp plane, so the stack is bent already at rest. It stays closed until the "
         "pressure could have bent it that far: the cracking pressure. That is what makes a piston digressive.",
         "Twice the dish: twice the cracking pressure, more, or less?",
         "A disc that cones up stretches its hoop, so it stiffens as it lifts: small dish twice, large dish far more."},
    [KP_LESSON_CROSSOVER] =
        {"crossover",
         "Where a curve with a crossover leaves the one without, and where the two meet again: in between the face "
         "shims bend alone. Where they hardly part, the dish has closed the gap already at rest.",
         "The small shim leaves a gap. Until the face shims have closed it they bend alone; then the shims behind "
         "join in. A thicker crossover puts that off to a higher speed.",
         "Does a crossover soften low speed, mid speed or high speed most?",
         "Where it acts depends on the gap: past the lift that closes it, the shims behind work as before, a little "
         "more bent by what the small shim props up."},
    [KP_LESSON_TAPER] =
        {"taper",
         "The wider the backing shims, the firmer the curve from where the shims open. See whether low or high speed "
         "moves more, and which of the stacks would set a shim.",
         "A backing shim helps only as far out as it reaches. Wide ones hold the face shim near the seat, narrow ones "
         "let its rim go, and the stack hinges on their edges.",
         "All shims as wide as the face shim: firmer or softer than the taper of the file?",
         "Firmer, as every shim then reaches the seat; the taper also spreads the stress, so watch the marks."},
    [KP_LESSON_THICKNESS] =
        {"thickness",
         "The curves spread from the point where the shims open (with a flat seat from the start); before it they are "
         "one.",
         "Bending stiffness goes with the cube of thickness; stretching, which takes over at large lift, only with the "
         "thickness itself. So a thicker shim counts most where the lift is still small.",
         "Half as thick again is 3.4 times as stiff in bending. Is the force 3.4 times as high too?",
         "Less: the gap under the shims passes more oil the higher they lift, port and bleed are unchanged, and at "
         "large lift stretching, not bending, carries the load."},
    [KP_LESSON_CHARGE] =
        {"charge",
         "All curves are the same but for an even step up or down; only where a low charge lets the oil cavitate does "
         "a curve lie down flat.",
         "Gas presses on the rod's area, whatever the speed: a steady force. It does not make the oil flow differently "
         "until the chamber behind the piston runs out of pressure.",
         "Does more charge make the damping firmer?",
         "Only the gas force and the seal drag change, and the margin against cavitation."},
    [KP_LESSON_TEMPERATURE] =
        {"temperature",
         "Below, in the oil's own force, cold lies above hot, most of all at low speed. On top the gas is in it too: "
         "its pressure rises with heat and pushes every curve up.",
         "Viscosity falls steeply with temperature, density hardly. Leak and slow flow in a bleed depend on viscosity, "
         "fast flow through ports and shims on density.",
         "A damper gets hot on a rough track. Which part of the curve fades most, in per cent?",
         "Bleed and leak thin out first; what is turbulent depends on density and hardly fades."},
    [KP_LESSON_CLAMP] =
        {"clamp", "A larger clamp washer firms everything that the shims rule, from where they open upward.",
         "The free arm of the shim is what is left between clamp and seat. A shorter arm is much stiffer, and at equal "
         "lift bends more sharply: the stress at the clamp rises.",
         "A washer a little larger: is that a small change?",
         "The arm is what counts: a tenth off the arm is a good third on its bending stiffness (cube of the length)."},
    [KP_LESSON_FOLDING] =
        {"folding",
         "All curves begin as one. Where the shims fold, the real ones leave the one held round and lie below it, the "
         "further the faster. How flat the shims are hardly matters once they have folded.",
         "A shim that cones up is squeezed along its rim. At a lift of about two thicknesses the rim gives way and "
         "folds into lobes. To lift further a round shim must be squeezed more; a folded one mainly bends, so the same "
         "pressure lifts it higher.",
         "Lifted far enough, a shim stops being round and folds into lobes. Does the damper get firmer or softer, and "
         "at which speed most?",
         "Softer, and only from where they fold. Thinner shims fold sooner: for one shim the lift at which it folds "
         "grows with its thickness, and the pressure with the fourth power of it."},
};

const char *kp_lesson_name(kp_lesson_topic topic)
{
    return lessons[topic].name;
}

/* ---- running ---- */

typedef struct kp_lesson_runs {
    kp_lesson *lesson;
    kp_speed_limits limits;
} kp_lesson_runs;

static kp_status run_step(size_t index, void *workspace, void *context, kp_error *error)
{
    const kp_lesson_runs *runs = context;
    kp_lesson *lesson = runs->lesson;
    kp_lesson_step *step = &lesson->steps[index];
    kp_error own = {0};
    (void)workspace;

    /* The failure of one step belongs to that step. */
    kp_status status = kp_explain_begin(step->data, runs->limits.top, &step->damper, &own);
    if (status == KP_OK) {
        status = kp_explain_curve(step->damper, lesson->direction, lesson->speeds, runs->limits, step->points,
                                  &step->summary, &own);
    }

    return kp_explain_end(status, &own, &step->solved, step->why_not, error);
}

/* ---- the answer ---- */

KP_PRINTF(2, 3) static void add_words(kp_lesson *lesson, const char *format, ...)
{
    size_t used = strlen(lesson->answer);
    va_list arguments;
    va_start(arguments, format);
    kp_text_format(lesson->answer + used, sizeof lesson->answer - used, format, arguments);
    va_end(arguments);
}

/* Cracking pressures of two steps of which one has twice the other's dish. */
static void add_cracking(kp_lesson *lesson, kp_unit_system system)
{
    /* The first such pair serves. */
    for (size_t i = 0; i < lesson->step_count; i++) {
        for (size_t j = 0; j < lesson->step_count; j++) {
            const kp_lesson_step *one = &lesson->steps[i], *two = &lesson->steps[j];
            double dish = one->data->valves[lesson->direction].dish;
            if (!one->solved || !two->solved || !(dish > 0.0) ||
                !kp_size_same(two->data->valves[lesson->direction].dish, 2.0 * dish)) {
                continue;
            }

            double pressures[2] = {kp_lift_table_cracking(kp_damper_lift_table(one->damper, lesson->direction)),
                                   kp_lift_table_cracking(kp_damper_lift_table(two->damper, lesson->direction))};
            char sizes[2][KP_SIZE_TEXT];
            add_words(lesson, "It cracks at %s with %s and at %s with twice that: %.1f times. ",
                      kp_size_text(pressures[0], KP_DIM_PRESSURE, system, sizes[0]), one->label,
                      kp_size_text(pressures[1], KP_DIM_PRESSURE, system, sizes[1]), pressures[1] / pressures[0]);
            return;
        }
    }
}

/* "From A to B the oil's force changes by ... at low, mid, high: most at ... speed. The gas force changes by ..." */
static void add_change(kp_lesson *lesson, const kp_lesson_step *first, const kp_lesson_step *last,
                       kp_unit_system system)
{
    static const char *const ranges[KP_EXPLAIN_SPEEDS] = {"low", "mid", "high"};
    const double nothing = 0.05; /* [%] prints as 0.0 or 0.1 */
    double percent[KP_EXPLAIN_SPEEDS];
    char size[KP_SIZE_TEXT];
    int largest = 0;

    add_words(lesson, "From %s to %s the oil's force changes by", first->label, last->label);
    for (int at = 0; at < KP_EXPLAIN_SPEEDS; at++) {
        percent[at] = 100.0 * (fabs(last->points[at].hydraulic_force) / fabs(first->points[at].hydraulic_force) - 1.0);
        largest = fabs(percent[at]) > fabs(percent[largest]) ? at : largest;
        add_words(lesson, "%s %+.1f %% at %s", at > 0 ? "," : "", percent[at],
                  kp_size_text(lesson->speeds[at], KP_DIM_SPEED, system, size));
    }

    /* Where it changes most. */
    if (fabs(percent[largest]) < nothing) {
        add_words(lesson, ": not at all. ");
    } else {
        add_words(lesson, ": most at %s speed. ", ranges[largest]);
    }

    double gas = last->points[0].gas_force - first->points[0].gas_force;
    if (fabs(gas) >= 0.5) { /* [N] */
        add_words(lesson, "The gas force changes by %s%s. ", gas > 0.0 ? "+" : "",
                  kp_size_text(gas, KP_DIM_FORCE, system, size));
    }
}

static void write_answer(kp_lesson *lesson, kp_unit_system system)
{
    const kp_lesson_step *first = NULL, *last = NULL;

    /* The answer compares the two ends of the sweep that have a solution. */
    for (size_t i = 0; i < lesson->step_count; i++) {
        if (lesson->steps[i].solved) {
            first = first == NULL ? &lesson->steps[i] : first;
            last = &lesson->steps[i];
        }
    }

    /* What is held round is compared with the damper as it is. */
    for (size_t i = 0; lesson->topic == KP_LESSON_FOLDING && i < lesson->step_count; i++) {
        last = lesson->steps[i].solved && lesson->steps[i].as_found ? &lesson->steps[i] : last;
    }

    /* Force between the two ends, and what is particular to this topic. */
    if (first == last) { /* one step solved, or none */
        add_words(lesson, "Too few of the steps could be solved for an answer. ");
    } else {
        add_change(lesson, first, last, system);
    }

    if (lesson->topic == KP_LESSON_DISH) {
        add_cracking(lesson, system);
    }

    add_words(lesson, "%s", lessons[lesson->topic].tail);
}

kp_status kp_lesson_run(const kp_damper_data *data, kp_lesson_topic topic, kp_direction direction,
                        kp_speed_limits limits, kp_unit_system system, const kp_pool *pool, kp_lesson *out,
                        kp_error *error)
{
    kp_lesson made = {.topic = topic,
                      .direction = direction,
                      .look_for = lessons[topic].look_for,
                      .why = lessons[topic].why,
                      .question = lessons[topic].question};
    kp_explain_speeds(limits, made.speeds);

    /* All steps on the pool; a step that has no solution keeps its place with the reason. */
    kp_status status = kp_lesson_list(data, system, &made, error);
    if (status == KP_OK) {
        kp_lesson_runs runs = {&made, limits};
        status = kp_pool_run(pool, made.step_count, run_step, &runs, NULL, error);
    }

    if (status != KP_OK) {
        kp_lesson_free(&made);
        return status;
    }

    write_answer(&made, system);
    *out = made;
    return KP_OK;
}

void kp_lesson_free(kp_lesson *lesson)
{
    for (size_t i = 0; i < lesson->step_count; i++) {
        kp_damper_free(lesson->steps[i].damper);
        free(lesson->steps[i].data);
    }
    memset(lesson, 0, sizeof *lesson);
}
