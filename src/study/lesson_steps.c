/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The steps of each lesson. One of them is always the damper as it is, unless the lesson had to put something in. */
#include "study/lesson_internal.h"
#include "study/study_internal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double SAME = 1e-9; /* [-] relative: the step that is the file's own value */

typedef struct kp_steps {
    const kp_damper_data *data; /* as found, or with what was put in: then it is `with` */
    kp_damper_data with;
    kp_unit_system system;
    kp_lesson *lesson;
    kp_status status; /* the first failure: what comes after it is written to the spare and lost */
    kp_error *error;
    kp_damper_data spare;
} kp_steps;

/* Adds a step. Returned: its copy of the data, for the caller to change. */
static kp_damper_data *begin_step(kp_steps *steps, bool as_found, const char *label)
{
    kp_lesson *lesson = steps->lesson;

    /* A lesson with too many steps, or without memory, writes to a spare copy that nobody reads. */
    bool room = steps->status == KP_OK && lesson->step_count < KP_LESSON_STEPS;
    kp_damper_data *data = room ? malloc(sizeof *data) : NULL;
    if (room && data == NULL) {
        steps->status = kp_error_set(steps->error, KP_NO_MEMORY, "no memory for the steps of the lesson");
    }

    if (data == NULL) {
        steps->spare = *steps->data;
        return &steps->spare;
    }

    /* "0.40 mm (as in the file)" */
    kp_lesson_step *step = &lesson->steps[lesson->step_count++];
    *data = *steps->data;
    step->data = data;
    step->as_found = as_found;
    snprintf(step->label, sizeof step->label, "%.200s%s", label, as_found ? " (as in the file)" : "");
    return data;
}

/* The valve of the lesson's direction as it is. */
static const kp_valve_data *found_valve(const kp_steps *steps)
{
    return &steps->data->valves[steps->lesson->direction];
}

static kp_valve_data *valve_of(const kp_steps *steps, kp_damper_data *data)
{
    return &data->valves[steps->lesson->direction];
}

/* One size of the valve in steps. prefix: "dish ", "washer ". */
static void size_steps(kp_steps *steps, const char *prefix, size_t offset, const double *values, size_t count)
{
    double now;
    memcpy(&now, (const char *)found_valve(steps) + offset, sizeof now);
    for (size_t i = 0; i < count; i++) {
        char size[KP_SIZE_TEXT], label[KP_PART_TEXT];
        bool as_found = fabs(values[i] - now) <= SAME * fabs(now);
        snprintf(label, sizeof label, "%s%s", prefix, kp_size_text(values[i], KP_DIM_LENGTH, steps->system, size));
        kp_damper_data *data = begin_step(steps, as_found, label);
        memcpy((char *)valve_of(steps, data) + offset, &values[i], sizeof values[i]);
    }
}

static void dish_steps(kp_steps *steps)
{
    static const double shares[KP_LESSON_STEPS] = {0.0, 0.5, 0.75, 1.0, 1.25};
    const double flat_step = steps->system == KP_UNITS_INCH ? 4 * 25.4e-6 : 0.1e-3; /* [m] */
    double now = found_valve(steps)->dish;
    double values[KP_LESSON_STEPS];
    for (int i = 0; i < KP_LESSON_STEPS; i++) {
        values[i] = now > 0.0 ? shares[i] * now : now + i * flat_step;
    }
    size_steps(steps, "dish ", offsetof(kp_valve_data, dish), values, KP_LESSON_STEPS);
}

static void clamp_steps(kp_steps *steps)
{
    const double step = steps->system == KP_UNITS_INCH ? 0.0625 * 25.4e-3 : 2e-3; /* [m] */
    double now = found_valve(steps)->clamp_washer;
    double values[KP_LESSON_STEPS];
    for (int i = 0; i < KP_LESSON_STEPS; i++) {
        values[i] = now + (i - 2) * step;
    }
    size_steps(steps, "washer ", offsetof(kp_valve_data, clamp_washer), values, KP_LESSON_STEPS);
}

/* The first bleed that lets oil through in this direction; KP_MAX_BLEEDS: none. */
static size_t find_bleed(const kp_steps *steps)
{
    const kp_flows other = steps->lesson->direction == KP_COMPRESSION ? KP_FLOWS_REBOUND : KP_FLOWS_COMPRESSION;
    for (size_t i = 0; i < steps->data->bleed_count; i++) {
        if (steps->data->bleeds[i].flows != other) {
            return i;
        }
    }
    return KP_MAX_BLEEDS;
}

static void bleed_steps(kp_steps *steps)
{
    kp_damper_data *with = &steps->with;
    *with = *steps->data;
    steps->data = with;
    size_t entry = find_bleed(steps);
    char hole[KP_SIZE_TEXT];

    /* A file without a bleed of this direction gets one, all plugged. */
    if (entry == KP_MAX_BLEEDS) {
        if (with->bleed_count == KP_MAX_BLEEDS) {
            steps->status = kp_error_set(steps->error, KP_ANSWER_NO,
                                         "no bleed port flows this way, and there is no "
                                         "room in the list for one");
            return;
        }
        entry = with->bleed_count++;
        with->bleeds[entry] = (kp_bleed){.ports = 4, .plugged = 4, .diameter = 1.5e-3, .length = 9e-3};
        snprintf(steps->lesson->made_up, sizeof steps->lesson->made_up,
                 "The file has no bleed port for this direction: the lesson drills 4 of %s.",
                 kp_size_text(1.5e-3, KP_DIM_LENGTH, steps->system, hole));
    }

    /* From all plugged to all open, evenly; the step nearest to the file's own number becomes that number. */
    kp_bleed bleed = with->bleeds[entry];
    int open = bleed.ports - bleed.plugged;
    int max_open = bleed.ports > 4 ? bleed.ports : 4;
    int numbers[KP_LESSON_STEPS];
    int nearest = 0;
    for (int i = 0; i < KP_LESSON_STEPS; i++) {
        numbers[i] = (int)lround((double)max_open * i / (KP_LESSON_STEPS - 1));
        nearest = abs(numbers[i] - open) < abs(numbers[nearest] - open) ? i : nearest;
    }

    numbers[nearest] = open; /* max_open >= 4 keeps the steps apart */

    /* `as in the file` marks the step that has the file's own number of open ports. */
    for (int i = 0; i < KP_LESSON_STEPS; i++) {
        int number = numbers[i];
        char label[KP_PART_TEXT];
        snprintf(label, sizeof label, "%d of %s open", number,
                 kp_size_text(bleed.diameter, KP_DIM_LENGTH, steps->system, hole));

        kp_damper_data *data = begin_step(steps, number == open, label);
        data->bleeds[entry].ports = number > bleed.ports ? number : bleed.ports;
        data->bleeds[entry].plugged = data->bleeds[entry].ports - number;
    }
}

/* A small shim behind the face shims; on a stack of one line, in the middle of it. */
static void crossover_steps(kp_steps *steps)
{
    static const double metric[KP_LESSON_STEPS] = {0.0, 0.10e-3, 0.15e-3, 0.20e-3, 0.30e-3};   /* [m] */
    static const double inch[KP_LESSON_STEPS] = {0.0, 101.6e-6, 152.4e-6, 203.2e-6, 304.8e-6}; /* 4 to 12 thou */
    const kp_valve_data *valve = found_valve(steps);
    const double *thicknesses = steps->system == KP_UNITS_INCH ? inch : metric;
    if (valve->line_count < 2 && valve->lines[0].count < 2) {
        steps->status = kp_error_set(steps->error, KP_ANSWER_NO,
                                     "the %s stack is a single shim: a crossover needs shims on both sides of it",
                                     kp_direction_name(steps->lesson->direction));
        return;
    }

    /* A third of the way from clamp to the smaller of its neighbours: common practice, no source. */
    double reach =
        valve->line_count > 1 ? fmin(valve->lines[0].outside, valve->lines[1].outside) : valve->lines[0].outside;
    double outside = valve->clamp_washer + (reach - valve->clamp_washer) / 3.0;
    char shim[KP_SHIM_TEXT];

    for (int i = 0; i < KP_LESSON_STEPS; i++) {
        char label[KP_PART_TEXT];
        kp_shim_line small = {.count = 1, .outside = outside, .thickness = thicknesses[i]};
        snprintf(label, sizeof label, "crossover %s",
                 i == 0 ? "none added" : kp_shim_text(&small, steps->system, shim));
        kp_damper_data *data = begin_step(steps, i == 0, label);
        if (i == 0) {
            continue;
        }

        /* A stack of one line is parted in its middle. */
        kp_valve_data *changed = valve_of(steps, data);
        bool good = true;
        if (changed->line_count < 2) {
            kp_shim_line line = changed->lines[0];
            line.count = changed->lines[0].count / 2;
            changed->lines[0].count -= line.count;
            good = kp_stack_put_in(changed, 1, line);
        }

        if ((!good || !kp_stack_put_in(changed, 1, small)) && steps->status == KP_OK) {
            steps->status = kp_error_set(steps->error, KP_ANSWER_NO, "the stack has no room for one line more");
        }
    }
}

static void taper_steps(kp_steps *steps)
{
    static const double shares[KP_LESSON_STEPS] = {0.0, 0.5, 1.0, 1.25, 1.5};
    static const char *const labels[KP_LESSON_STEPS] = {"all as wide as the face shim", "half the taper", "the taper",
                                                        "taper x 1.25", "taper x 1.5"};
    const double min_arm = 0.5e-3; /* [m] a backing shim must still reach past the clamp */
    const kp_valve_data *valve = found_valve(steps);
    double face = valve->lines[0].outside;
    bool tapered = false;

    /* A stack tapers when a shim behind the face shim is smaller than the face shim. */
    for (size_t line = 1; line < valve->line_count; line++) {
        tapered = tapered || valve->lines[line].outside < face;
    }

    if (!tapered) {
        steps->status = kp_error_set(steps->error, KP_ANSWER_NO,
                                     "the %s stack has no shim smaller than its face shim: there is no taper to change",
                                     kp_direction_name(steps->lesson->direction));
        return;
    }

    /* Diameters in proportion to the taper, no smaller than what still bends past the clamp. */
    for (int i = 0; i < KP_LESSON_STEPS; i++) {
        kp_damper_data *data = begin_step(steps, i == 2, labels[i]);
        for (size_t line = 1; line < valve->line_count; line++) {
            double outside = face - shares[i] * (face - valve->lines[line].outside);
            double smallest = fmin(valve->lines[line].outside, valve->clamp_washer + 2.0 * min_arm);
            valve_of(steps, data)->lines[line].outside = fmax(outside, smallest);
        }
    }
}

/* Face shims a size thinner and up to three sizes thicker. */
static void thickness_steps(kp_steps *steps)
{
    const kp_shim_line *face = &found_valve(steps)->lines[0];
    double step = kp_next_thickness(face->thickness, steps->system) - face->thickness;
    const double thinnest = 0.05e-3; /* [m] */

    /* The second step is the file's own. */
    for (int i = 0; i < KP_LESSON_STEPS; i++) {
        double thickness = face->thickness + (i - 1) * step;
        char shim[KP_SHIM_TEXT], label[KP_PART_TEXT];
        kp_shim_line changed = *face;
        changed.thickness = thickness;

        if (thickness < thinnest) {
            continue;
        }

        snprintf(label, sizeof label, "face %d of %s", face->count, kp_shim_text(&changed, steps->system, shim));
        kp_damper_data *data = begin_step(steps, i == 1, label);
        valve_of(steps, data)->lines[0].thickness = i == 1 ? face->thickness : thickness;
    }
}

/* Gauge charge in steps; never above the file's maximum, nor above its own charge when it names none. */
static void charge_steps(kp_steps *steps)
{
    static const double shares[] = {0.4, 0.7, 1.0, 1.2, 1.4};
    const kp_damper_data *data = steps->data;
    double gauge = data->gas.charge_pressure - KP_ATMOSPHERE;
    double max_charge = data->has_maximum_charge ? data->maximum_charge : data->gas.charge_pressure;

    /* Shares of the gauge charge; the third is the file's own, to the bit. */
    for (size_t i = 0; i < sizeof shares / sizeof shares[0]; i++) {
        bool as_found = i == 2;
        double charge = as_found ? data->gas.charge_pressure : KP_ATMOSPHERE + shares[i] * gauge;
        char size[KP_SIZE_TEXT], label[KP_PART_TEXT];

        if (charge > max_charge && !as_found) {
            continue;
        }

        snprintf(label, sizeof label, "charge %s gauge",
                 kp_size_text(charge - KP_ATMOSPHERE, KP_DIM_PRESSURE, steps->system, size));
        kp_damper_data *changed = begin_step(steps, as_found, label);
        changed->gas.charge_pressure = charge;
    }

    if (!data->has_maximum_charge) {
        snprintf(steps->lesson->made_up, sizeof steps->lesson->made_up,
                 "The file names no maximum charge, so no step goes above the charge it has.");
    }
}

static void temperature_steps(kp_steps *steps)
{
    static const double apart[KP_LESSON_STEPS] = {-40.0, -20.0, 0.0, 30.0, 60.0}; /* [K] */
    for (int i = 0; i < KP_LESSON_STEPS; i++) {
        double temperature = steps->data->oil_temperature + apart[i];
        char size[KP_SIZE_TEXT], label[KP_PART_TEXT];
        snprintf(label, sizeof label, "oil %s", kp_size_text(temperature, KP_DIM_TEMPERATURE, steps->system, size));
        kp_damper_data *data = begin_step(steps, apart[i] == 0.0, label);
        data->oil_temperature = temperature;
    }
}

/* One flatness in place of the file's. */
static void flatness_step(kp_steps *steps, double flatness)
{
    char size[KP_SIZE_TEXT], label[KP_PART_TEXT];
    if (fabs(flatness - found_valve(steps)->flatness) <= SAME * flatness) {
        return;
    }
    snprintf(label, sizeof label, "out of flat by %s", kp_size_text(flatness, KP_DIM_LENGTH, steps->system, size));
    valve_of(steps, begin_step(steps, false, label))->flatness = flatness;
}

/* Held round, as it is, flatter and less flat, and over ports where the file names none. */
static void folding_steps(kp_steps *steps)
{
    const double bent = 0.05e-3; /* [m] */
    const int ports = 4;
    const double share = 0.6; /* [-] of the circle */
    const kp_valve_data *found = found_valve(steps);
    char label[KP_PART_TEXT];

    valve_of(steps, begin_step(steps, false, "held round (no real shim is)"))->held_round = true;
    flatness_step(steps, 0.0);
    begin_step(steps, true, "folding");
    flatness_step(steps, fmin(bent, 0.5 * found->lines[0].thickness));

    if (!found->has_ports) {
        snprintf(label, sizeof label, "over %d ports", ports);
        kp_valve_data *changed = valve_of(steps, begin_step(steps, false, label));
        changed->has_ports = changed->has_port_share = true;
        changed->port_count = ports;
        changed->port_share = share;
        changed->has_load_coverage = false;
        snprintf(steps->lesson->made_up, sizeof steps->lesson->made_up,
                 "The file names no ports under the face shim, so the last step puts in %d that cover %.0f %% of the "
                 "circle.",
                 ports, 100.0 * share);
    }
}

kp_status kp_lesson_list(const kp_damper_data *data, kp_unit_system system, kp_lesson *lesson, kp_error *error)
{
    static const struct {
        void (*add)(kp_steps *steps);
        bool needs_shims;
    } topics[KP_LESSON_COUNT] = {
        [KP_LESSON_BLEED] = {bleed_steps, false},
        [KP_LESSON_DISH] = {dish_steps, true},
        [KP_LESSON_CROSSOVER] = {crossover_steps, true},
        [KP_LESSON_TAPER] = {taper_steps, true},
        [KP_LESSON_THICKNESS] = {thickness_steps, true},
        [KP_LESSON_CHARGE] = {charge_steps, false},
        [KP_LESSON_TEMPERATURE] = {temperature_steps, false},
        [KP_LESSON_CLAMP] = {clamp_steps, true},
        [KP_LESSON_FOLDING] = {folding_steps, true},
    };

    if (lesson->topic == KP_LESSON_CHARGE && data->gas_open) {
        return kp_error_set(error, KP_ANSWER_NO, "the gas of this damper is open to the air: it has no charge");
    }
    if (topics[lesson->topic].needs_shims && data->valves[lesson->direction].has_plate) {
        return kp_error_set(error, KP_ANSWER_NO, "the %s valve has a plate on a spring, not a stack of shims",
                            kp_direction_name(lesson->direction));
    }

    kp_steps steps = {.data = data, .system = system, .lesson = lesson, .status = KP_OK, .error = error};
    topics[lesson->topic].add(&steps);
    return steps.status;
}
