/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Faults and warnings of what holds the shims, and of their special features: clamp, holes, slots, materials, stop and
    backing washer. Sizes are diameters. Limits of a warning are common practice, no source, unless stated otherwise. */
#include "validator.h"

#include <math.h>
#include <stdio.h>

static const double YOUNG_MIN = 1e9;          /* [Pa] softer is rubber, not strip */
static const double YOUNG_MAX = 1000e9;       /* [Pa] stiffer is no metal */
static const double USUAL_YOUNG_MIN = 60e9;   /* [Pa] aluminium has some 70 GPa (memory) */
static const double USUAL_YOUNG_MAX = 230e9;  /* [Pa] spring steels have 190 to 210 GPa (memory) */
static const double POISSON_MAX = 0.49;       /* [-]  what the plate solver takes */
static const double NUT_FRICTION_MAX = 1.0;   /* [-]  dry steel stays below */
static const double USUAL_NUT_LOAD_MAX = 1e5; /* [N]  an M12 nut of a good class yields its thread before */
static const double SLOTTED_MAX = 0.8; /* [-]  share of the circle taken away: the rest are springs of their own */

static void validate_strength(kp_validator *validator, const kp_material_data *data, const char *path)
{
    const kp_material *m = &data->material;
    char key[96];
    snprintf(key, sizeof key, "%s.yield", path);
    if (!(m->yield > 0.0 && isfinite(m->yield))) {
        kp_validator_fault(validator, key, "yield %g MPa must be larger than 0", m->yield / 1e6);
        return;
    }

    /* Yield, then tensile strength above it, then fatigue strength below the tensile one. */
    snprintf(key, sizeof key, "%s.tensile", path);
    if (!(m->tensile >= 0.0 && isfinite(m->tensile)) || (m->tensile > 0.0 && m->tensile < m->yield)) {
        kp_validator_fault(validator, key, "tensile strength %g MPa is below the yield, %g MPa: are the two swapped?",
                           m->tensile / 1e6, m->yield / 1e6);
        return;
    }

    snprintf(key, sizeof key, "%s.fatigue", path);
    if (!(m->fatigue >= 0.0 && isfinite(m->fatigue)) || (m->tensile > 0.0 && m->fatigue >= m->tensile)) {
        kp_validator_fault(validator, key,
                           "fatigue strength %g MPa must lie between 0 and the tensile strength, %g MPa: it is the "
                           "amplitude that lasts at zero mean stress",
                           m->fatigue / 1e6, m->tensile / 1e6);
    } else if (!(m->tensile > 0.0 && m->fatigue > 0.0)) {
        kp_validator_warning(validator, path,
                             "without both `tensile` and `fatigue`, fatigue of shims of %s is not assessed",
                             data->name);
    }
}

void kp_validate_materials(kp_validator *validator, const kp_damper_data *damper)
{
    for (size_t i = 0; i < damper->material_count && i < KP_MAX_MATERIALS; i++) {
        const kp_material_data *data = &damper->materials[i];
        char path[64], key[96];
        snprintf(path, sizeof path, "materials.%s", data->name);
        snprintf(key, sizeof key, "%s.young", path);

        /* Elastic constants, then strength. */
        double young = data->material.young;
        if (!(young >= YOUNG_MIN && young <= YOUNG_MAX)) {
            kp_validator_fault(validator, key, "Young's modulus %g GPa is outside %g to %g GPa%s", young / 1e9,
                               YOUNG_MIN / 1e9, YOUNG_MAX / 1e9,
                               young >= 1e-3 * YOUNG_MIN && young <= 1e-3 * YOUNG_MAX ? " (GPa meant, MPa written?)"
                                                                                      : "");
        } else if (young < USUAL_YOUNG_MIN || young > USUAL_YOUNG_MAX) {
            kp_validator_warning(validator, key, "Young's modulus %g GPa is unusual: %g to %g GPa is common",
                                 young / 1e9, USUAL_YOUNG_MIN / 1e9, USUAL_YOUNG_MAX / 1e9);
        }

        snprintf(key, sizeof key, "%s.poisson", path);
        kp_validator_between(validator, key, "Poisson's ratio", data->material.poisson, 0.0, POISSON_MAX);
        validate_strength(validator, data, path);
    }
}

static void validate_hole(kp_validator *validator, const kp_valve_data *valve, size_t i, const char *who,
                          kp_shim_part part, double clamp)
{
    char path[32];
    const kp_shim_line *line = &valve->lines[i];
    double hole = kp_valve_hole(valve, line);
    snprintf(path, sizeof path, "stack[%zu]", i);

    if (!line->has_hole && hole >= valve->clamp_washer - KP_SAME_SIZE) {
        return; /* reported at clamp.hole */
    }

    if (line->has_hole && !(hole > 0.0 && hole < line->outside - KP_SAME_SIZE)) {
        kp_validator_fault(validator, path, "%s: hole %g mm must be larger than 0 and smaller than the outside, %g mm",
                           who, KP_MM(hole), KP_MM(line->outside));
    } else if (i == 0 && part == KP_SHIM_RING) {
        kp_validator_fault(validator, path,
                           "face shim: its hole, %g mm, is larger than what clamps it, %g mm: nothing would hold it",

                           KP_MM(hole), KP_MM(clamp));
    } else if (valve->grip == KP_GRIP_SLIDING && part == KP_SHIM_PLATE && hole >= clamp - KP_SAME_SIZE) {
        kp_validator_fault(validator, path,
                           "%s: with a sliding grip the hole, %g mm, must be smaller than what clamps the shim, %g mm",
                           who, KP_MM(hole), KP_MM(clamp));
    }
}

/** Warns of a loose ring that nothing presses down. */
static void validate_ring(kp_validator *validator, const kp_valve_data *valve, size_t i, const char *who)
{
    char path[32];
    double hole = kp_valve_hole(valve, &valve->lines[i]);

    /* What reaches over its hole: the stop, the backing washer, or a shim above. */
    bool covered = (valve->has_stop && valve->stop_outside > hole) ||
                   (valve->backing_count > 0 && valve->backing[valve->backing_count - 1].diameter > hole);

    for (size_t k = i + 1; k < valve->line_count; k++) {
        covered = covered || valve->lines[k].outside > hole;
    }

    if (!covered) {
        snprintf(path, sizeof path, "stack[%zu]", i);
        kp_validator_warning(validator, path,
                             "%s: nothing above this loose ring reaches out to its hole, %g mm: it does nothing", who,
                             KP_MM(hole));
    }
}

static void validate_slots(kp_validator *validator, const kp_valve_data *valve, size_t i, const char *who, double clamp)
{
    char path[32];
    const kp_shim_line *line = &valve->lines[i];
    snprintf(path, sizeof path, "stack[%zu]", i);

    if (line->slot_count == 0) {
        return;
    }

    /* Slots end inside the land, and leave enough of the shim. */
    double inner = kp_valve_slot_inner(valve, line);
    if (!(line->slot_width > 0.0) || (line->has_slot_depth && !(line->slot_depth > 0.0))) {
        kp_validator_fault(validator, path, "%s: slots of width %g mm%s: sizes must be larger than 0", who,
                           KP_MM(line->slot_width), line->has_slot_depth ? " and their depth" : "");
    } else if (!line->has_slot_depth && !(inner < line->outside - KP_SAME_SIZE)) {
        kp_validator_fault(
            validator, path,
            "%s: slots without a depth end one width inside the land, at %g mm, which this shim of %g mm "
            "does not reach: give a depth, such as `slots %d x %g x 4 mm`",
            who, KP_MM(inner), KP_MM(line->outside), line->slot_count, KP_MM(line->slot_width));
    } else if (!(inner > 0.0 && line->slot_count * line->slot_width < SLOTTED_MAX * KP_PI * inner)) {
        kp_validator_fault(validator, path,
                           "%s: %d slots of %g mm, in to %g mm, take more than %g %% of the shim away there: fewer or "
                           "narrower ones are wanted",
                           who, line->slot_count, KP_MM(line->slot_width), KP_MM(inner), 100.0 * SLOTTED_MAX);
    } else if (inner < clamp - KP_SAME_SIZE) {
        kp_validator_warning(validator, path, "%s: its slots reach in to %g mm, under what clamps it, %g mm", who,
                             KP_MM(inner), KP_MM(clamp));
    }
}

/** Each line's special features. Sizes and counts have been validated before. */
static void validate_features(kp_validator *validator, const kp_damper_data *damper, const kp_valve_data *valve,
                              const kp_shim_part *parts, const double *clamps)
{
    for (size_t i = 0; i < valve->line_count; i++) {
        char path[32], who[32];
        kp_material material;
        snprintf(path, sizeof path, "stack[%zu]", i);
        snprintf(who, sizeof who, i == 0 ? "face shim" : "shim line %zu", i + 1);
        validate_hole(validator, valve, i, who, parts[i], clamps[i]);
        if (parts[i] == KP_SHIM_RING) {
            validate_ring(validator, valve, i, who);
        }
        validate_slots(validator, valve, i, who, clamps[i]);

        /* Its material is one of the file's, or spring steel. */
        if (!kp_damper_material(damper, &valve->lines[i], &material)) {
            const char *names[KP_MAX_MATERIALS + 1] = {kp_spring_steel_name};
            size_t count = 1;
            for (size_t k = 0; k < damper->material_count && k < KP_MAX_MATERIALS; k++) {
                names[count++] = damper->materials[k].name;
            }

            const char *nearest = kp_text_nearest(valve->lines[i].material, names, count);
            kp_validator_fault(validator, path, "%s: the file has no material `%s` under `materials`%s%s%s", who,
                               valve->lines[i].material, nearest != NULL ? " (did you mean `" : "",
                               nearest != NULL ? nearest : "", nearest != NULL ? "`?)" : "");
        }
    }
}

static void validate_grip(kp_validator *validator, const kp_valve_data *valve)
{
    bool hole = !valve->has_hole || kp_validator_positive_size(validator, "clamp.hole", "hole", valve->hole);
    if (valve->has_hole && hole && valve->hole >= valve->clamp_washer - KP_SAME_SIZE) {
        kp_validator_fault(
            validator, "clamp.hole",
            "hole %g mm is not smaller than the clamp washer, %g mm: no shim would be held; a loose ring "
            "has its own hole in its line",
            KP_MM(valve->hole), KP_MM(valve->clamp_washer));
    }

    /* A sliding grip rests on the shims' holes. */
    size_t without = 0;
    for (size_t i = 0; i < valve->line_count && i < KP_MAX_STACK_LINES; i++) {
        without += valve->has_hole || valve->lines[i].has_hole ? 0 : 1;
    }

    if (valve->grip == KP_GRIP_SLIDING && without > 0) {
        kp_validator_fault(validator, "clamp.grip",
                           "a sliding grip needs the shims' hole: say `hole: 12 mm` beside it, or in each shim's line");
    }

    /* The nut load only counts as friction of a sliding grip. */
    if (!(valve->nut_load >= 0.0 && isfinite(valve->nut_load))) {
        kp_validator_fault(validator, "clamp.nut load", "nut load %g N must not be negative", valve->nut_load);
    } else if (valve->nut_load > 0.0 && valve->grip == KP_GRIP_HELD) {
        kp_validator_warning(validator, "clamp.nut load",
                             "the nut load changes nothing while the grip is `held`; with `grip: sliding` its friction "
                             "counts");
    } else if (valve->nut_load > USUAL_NUT_LOAD_MAX) {
        kp_validator_warning(validator, "clamp.nut load", "nut load %g kN is more than a damper's thread carries",
                             valve->nut_load / 1e3);
    }

    kp_validator_between(validator, "clamp.friction", "friction coefficient", valve->nut_friction, 0.0,
                         NUT_FRICTION_MAX);
}

/** Returns whether the profile, if there is one, is sound. */
static bool validate_backing(kp_validator *validator, const kp_valve_data *valve)
{
    bool sound = true;
    if (valve->backing_count > KP_STOP_POINTS) {
        kp_validator_fault(validator, "backing.profile", "%zu points; at most %d are possible", valve->backing_count,
                           KP_STOP_POINTS);
        return false;
    }

    /* Stop and backing washer take the same place. */
    if (valve->backing_count > 0 && valve->has_stop) {
        kp_validator_fault(
            validator, "backing",
            "a lift stop and a backing washer are one thing to the shims: leave `stop` out and make it a "
            "point of the backing's profile");
        sound = false;
    }

    for (size_t i = 0; i < valve->backing_count; i++) {
        const kp_backing_point *point = &valve->backing[i];
        double min = i > 0 ? valve->backing[i - 1].diameter : valve->clamp_washer;
        char path[48];

        /* Diameters rise from the clamp outward, and no gap is negative. */
        snprintf(path, sizeof path, "backing.profile[%zu].diameter", i);
        if (!(point->diameter >= min - KP_SAME_SIZE && isfinite(point->diameter))) {
            kp_validator_fault(validator, path, "%g mm lies inside %s, %g mm: the points run from the washer outward",
                               KP_MM(point->diameter), i > 0 ? "the point before it" : "the clamp washer", KP_MM(min));
            sound = false;
        }

        snprintf(path, sizeof path, "backing.profile[%zu].gap", i);
        if (!(point->gap >= 0.0 && isfinite(point->gap))) {
            kp_validator_fault(validator, path, "gap %g mm must not be negative", KP_MM(point->gap));
            sound = false;
        }
    }

    return sound;
}

static bool validate_stop(kp_validator *validator, const kp_valve_data *valve)
{
    if (!valve->has_stop) {
        return true;
    }

    bool outside = kp_validator_positive_size(validator, "stop.outside", "stop outside", valve->stop_outside);
    bool gap = valve->stop_gap >= 0.0 && isfinite(valve->stop_gap);

    if (!gap) {
        kp_validator_fault(validator, "stop.gap", "gap %g mm must not be negative", KP_MM(valve->stop_gap));
    }

    if (outside && valve->stop_outside <= valve->clamp_washer + KP_SAME_SIZE) {
        kp_validator_warning(validator, "stop.outside",
                             "stop of %g mm is no larger than the clamp washer, %g mm: no shim "
                             "can reach it",
                             KP_MM(valve->stop_outside), KP_MM(valve->clamp_washer));
    }

    return outside && gap;
}

/** Height of stop or backing washer above the clamped pack at a diameter [m]; INFINITY where there is none. */
static double ceiling_at(const kp_valve_data *valve, double diameter)
{
    if (valve->has_stop) {
        return diameter <= valve->stop_outside ? valve->stop_gap : (double)INFINITY;
    }

    /* Straight lines between the points of the profile, from the inside outward. */
    for (size_t i = 0; i < valve->backing_count; i++) {
        const kp_backing_point *point = &valve->backing[i], *before = point - 1;
        if (diameter > point->diameter) {
            continue;
        }
        if (i == 0 || point->diameter <= before->diameter) {
            return point->gap;
        }

        return before->gap +
               (point->gap - before->gap) * (diameter - before->diameter) / (point->diameter - before->diameter);
    }

    return (double)INFINITY;
}

/** The shims over the land must fit between the seat and the stop: all of them are rigid in thickness. */
static void validate_room(kp_validator *validator, const kp_valve_data *valve, const kp_shim_part *parts)
{
    /* Thickness of the clamped pack, and of what lies over the land: the stop's gap is what the two leave. */
    double pack = 0.0, there = 0.0; /* [m] */
    for (size_t i = 0; i < valve->line_count; i++) {
        const kp_shim_line *line = &valve->lines[i];
        bool ring = parts[i] == KP_SHIM_RING;
        double thickness = line->count * line->thickness;
        pack += ring ? 0.0 : thickness;

        /* A ring counts only where it lies over the land. */
        bool over_land =
            line->outside >= valve->land_inner && (!ring || kp_valve_hole(valve, line) <= valve->land_inner);
        there += over_land ? thickness : 0.0;
    }

    /* A dished seat takes some of the height. */
    double room = pack + ceiling_at(valve, valve->land_inner) - there - valve->dish;
    if (room < -KP_SAME_SIZE) {
        kp_validator_fault(validator, valve->has_stop ? "stop.gap" : "backing",
                           "the shims over the land are jammed between seat and %s: %g mm is missing there",
                           valve->has_stop ? "lift stop" : "backing washer", KP_MM(-room));
    }
}

void kp_validate_clamp(kp_validator *validator, const kp_damper_data *damper, const kp_valve_data *valve,
                       bool lines_sound)
{
    validate_grip(validator, valve);
    bool above = validate_stop(validator, valve);
    above = validate_backing(validator, valve) && above;

    if (!lines_sound || !(valve->clamp_washer > 0.0)) {
        return;
    }

    /* Holes, slots and rings depend on what clamps each line. */
    kp_shim_part parts[KP_MAX_STACK_LINES];
    double clamps[KP_MAX_STACK_LINES];
    kp_valve_parts(valve, parts, clamps);
    validate_features(validator, damper, valve, parts, clamps);

    if (above && (valve->has_stop || valve->backing_count > 0) && valve->land_inner > 0.0) {
        validate_room(validator, valve, parts);
    }
}
