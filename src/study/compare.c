/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What differs in the parts of two dampers, in words. */
#include "study/study_internal.h"

#include <stdio.h>
#include <string.h>

/** One number of a damper or of a valve, by its place in the struct. */
typedef struct kp_part {
    const char *name;
    size_t offset; /* [bytes] */
    kp_dimension dimension;
} kp_part;

static const kp_part gas_parts[] = {
    {"charge temperature", offsetof(kp_damper_data, gas.charge_temperature), KP_DIM_TEMPERATURE},
    {"gas volume", offsetof(kp_damper_data, gas.volume), KP_DIM_VOLUME},
    {"gas exponent", offsetof(kp_damper_data, gas.exponent), KP_DIM_NONE},
};
static const kp_part body_parts[] = {
    {"bore", offsetof(kp_damper_data, bore), KP_DIM_LENGTH},
    {"rod", offsetof(kp_damper_data, rod), KP_DIM_LENGTH},
    {"stroke", offsetof(kp_damper_data, stroke), KP_DIM_LENGTH},
    {"rod position", offsetof(kp_damper_data, position), KP_DIM_LENGTH},
    {"friction", offsetof(kp_damper_data, friction), KP_DIM_FORCE},
    {"oil temperature", offsetof(kp_damper_data, oil_temperature), KP_DIM_TEMPERATURE},
    {"oil density", offsetof(kp_damper_data, oil.density), KP_DIM_DENSITY},
    {"oil expansion", offsetof(kp_damper_data, oil.expansion), KP_DIM_EXPANSION},
    {"pressure at which air leaves the oil", offsetof(kp_damper_data, release_pressure), KP_DIM_GAS_PRESSURE},
    {"piston band clearance", offsetof(kp_damper_data, leak.clearance), KP_DIM_LENGTH},
    {"piston band length", offsetof(kp_damper_data, leak.length), KP_DIM_LENGTH},
    {"piston band eccentricity", offsetof(kp_damper_data, leak.eccentricity), KP_DIM_NONE},
};

static const kp_part valve_parts[] = {
    {"port area", offsetof(kp_valve_data, port_area), KP_DIM_AREA},
    {"port entry area (0 = as wide as the ports)", offsetof(kp_valve_data, port_entry), KP_DIM_AREA},
    {"port inner edge", offsetof(kp_valve_data, port_inner), KP_DIM_LENGTH},
    {"port discharge coefficient", offsetof(kp_valve_data, port_discharge), KP_DIM_NONE},
    {"land inner edge", offsetof(kp_valve_data, land_inner), KP_DIM_LENGTH},
    {"land outer edge", offsetof(kp_valve_data, land_outer), KP_DIM_LENGTH},
    {"curtain coverage", offsetof(kp_valve_data, curtain_coverage), KP_DIM_NONE},
    {"curtain discharge coefficient (0 = computed)", offsetof(kp_valve_data, curtain_discharge), KP_DIM_NONE},
    {"curtain scale", offsetof(kp_valve_data, curtain_scale), KP_DIM_NONE},
    {"flow force scale", offsetof(kp_valve_data, flow_force_scale), KP_DIM_NONE},
    {"share of the velocity head on the shims", offsetof(kp_valve_data, velocity_head_share), KP_DIM_NONE},
    {"dish", offsetof(kp_valve_data, dish), KP_DIM_LENGTH},
    {"flatness of the face shim", offsetof(kp_valve_data, flatness), KP_DIM_LENGTH},
    {"clamp washer", offsetof(kp_valve_data, clamp_washer), KP_DIM_LENGTH},
    {"nut load", offsetof(kp_valve_data, nut_load), KP_DIM_FORCE},
    {"friction of the clamped faces", offsetof(kp_valve_data, nut_friction), KP_DIM_NONE},
};

static double value_at(const void *record, size_t offset)
{
    double value;
    memcpy(&value, (const char *)record + offset, sizeof value);
    return value;
}

/* prefix: "", "compression " or "shims of spring steel: ". */
static void compare_numbers(kp_sentences *sentences, const char *prefix, const kp_part *parts, size_t count,
                            const void *a, const void *b)
{
    for (size_t i = 0; i < count; i++) {
        kp_sentence_number(sentences, value_at(a, parts[i].offset), value_at(b, parts[i].offset), parts[i].dimension,
                           "%s%s", prefix, parts[i].name);
    }
}

/* A charge as its own file gave it: gauge stays gauge. */
static const char *charge_text(double absolute, bool gauge, kp_unit_system system, char *buffer)
{
    if (!gauge) {
        return kp_size_text(absolute, KP_DIM_GAS_PRESSURE, system, buffer);
    }
    double shown = kp_unit_convert(absolute - KP_ATMOSPHERE, KP_DIM_PRESSURE, system);
    snprintf(buffer, KP_SIZE_TEXT, "%.6g %s gauge", shown, kp_unit_name(KP_DIM_PRESSURE, system));
    return buffer;
}

static void compare_charge(kp_sentences *sentences, const kp_damper_data *a, const kp_damper_data *b)
{
    char before[KP_SIZE_TEXT];
    char after[KP_SIZE_TEXT];
    if (a->gas_open || b->gas_open) {
        if (a->gas_open != b->gas_open) {
            kp_sentence_add(sentences, "gas %s",
                            b->gas_open ? "opened to the air" : "charged instead of open to the air");
        }
        return;
    }

    compare_numbers(sentences, "", gas_parts, sizeof gas_parts / sizeof gas_parts[0], a, b);
    if (!kp_size_same(a->gas.charge_pressure, b->gas.charge_pressure)) {
        kp_sentence_add(sentences, "charge changes from %s to %s",
                        charge_text(a->gas.charge_pressure, a->charge_was_gauge, sentences->system, before),
                        /* both in the first one's manner: two numbers that do not mean the same mislead */
                        charge_text(b->gas.charge_pressure, a->charge_was_gauge, sentences->system, after));
    }

    if (a->has_maximum_charge != b->has_maximum_charge) {
        kp_sentence_add(sentences, "only the %s names a maximum charge", a->has_maximum_charge ? "first" : "second");
    } else if (a->has_maximum_charge && !kp_size_same(a->maximum_charge, b->maximum_charge)) {
        kp_sentence_add(sentences, "maximum charge changes from %s to %s",
                        charge_text(a->maximum_charge, a->charge_was_gauge, sentences->system, before),
                        charge_text(b->maximum_charge, a->charge_was_gauge, sentences->system, after));
    }
}

/* The two viscosity points belong together: an oil is named by both. */
static void compare_oil(kp_sentences *sentences, const kp_oil *a, const kp_oil *b)
{
    if (kp_size_same(a->temperature_1, b->temperature_1) && kp_size_same(a->viscosity_1, b->viscosity_1) &&
        kp_size_same(a->temperature_2, b->temperature_2) && kp_size_same(a->viscosity_2, b->viscosity_2)) {
        return;
    }

    /* Both points, before and after, in one sentence. */
    const double values[8] = {a->viscosity_1, a->temperature_1, a->viscosity_2, a->temperature_2,
                              b->viscosity_1, b->temperature_1, b->viscosity_2, b->temperature_2};
    char texts[8][KP_SIZE_TEXT];
    for (size_t i = 0; i < 8; i++) {
        kp_size_text(values[i], i % 2 == 0 ? KP_DIM_KINEMATIC_VISCOSITY : KP_DIM_TEMPERATURE, sentences->system,
                     texts[i]);
    }

    kp_sentence_add(sentences, "oil viscosity changes from %s at %s and %s at %s to %s at %s and %s at %s", texts[0],
                    texts[1], texts[2], texts[3], texts[4], texts[5], texts[6], texts[7]);
}

/* Lift stop and backing washer as one profile. */
typedef struct kp_profile {
    size_t count;
    kp_backing_point points[KP_STOP_POINTS];
} kp_profile;

static kp_profile profile_of(const kp_valve_data *valve)
{
    kp_profile profile = {.count = valve->backing_count};
    memcpy(profile.points, valve->backing, sizeof profile.points);
    if (valve->has_stop) {
        profile = (kp_profile){.count = 1, .points = {{valve->stop_outside, valve->stop_gap}}};
    }
    return profile;
}

static bool same_profile(const kp_profile *a, const kp_profile *b)
{
    bool same = a->count == b->count;
    for (size_t i = 0; same && i < a->count; i++) {
        same = kp_size_same(a->points[i].diameter, b->points[i].diameter) &&
               kp_size_same(a->points[i].gap, b->points[i].gap);
    }
    return same;
}

/* "16 mm 0 mm, 20 mm 0.3 mm" */
static void profile_words(const kp_profile *profile, kp_unit_system system, char *text, size_t size)
{
    size_t used = 0;
    text[0] = '\0';
    for (size_t i = 0; i < profile->count && used < size; i++) {
        char diameter[KP_SIZE_TEXT], gap[KP_SIZE_TEXT];
        int wrote = snprintf(text + used, size - used, "%s%s at %s", i > 0 ? ", " : "",
                             kp_size_text(profile->points[i].gap, KP_DIM_LENGTH, system, gap),
                             kp_size_text(profile->points[i].diameter, KP_DIM_LENGTH, system, diameter));
        used += wrote > 0 ? (size_t)wrote : 0;
    }
}

static void compare_stop(kp_sentences *sentences, const char *direction, const kp_valve_data *a, const kp_valve_data *b)
{
    kp_profile before = profile_of(a), after = profile_of(b);
    char outside[KP_SIZE_TEXT], gap[KP_SIZE_TEXT], words[180];
    if (same_profile(&before, &after)) {
        return;
    }

    /* Taken out, replaced by a backing washer, or a lift stop of one edge. */
    if (after.count == 0) {
        kp_sentence_add(sentences, "%s %s taken out", direction, a->has_stop ? "lift stop" : "backing washer");
        return;
    }

    if (!b->has_stop) {
        profile_words(&after, sentences->system, words, sizeof words);
        kp_sentence_add(sentences, "%s backing washer %s: gap %s", direction, before.count == 0 ? "added" : "is now",
                        words);
        return;
    }

    kp_size_text(b->stop_outside, KP_DIM_LENGTH, sentences->system, outside);
    kp_size_text(b->stop_gap, KP_DIM_LENGTH, sentences->system, gap);
    if (before.count == 0) {
        kp_sentence_add(sentences, "%s lift stop of %s added, %s above the stack", direction, outside, gap);
    } else {
        kp_sentence_add(sentences, "%s lift stop is now %s outside, %s above the stack", direction, outside, gap);
    }
}

/* Load coverage is compared apart: where one of the two names its ports, it says nothing of them. */
static void compare_ports(kp_sentences *sentences, const char *direction, const kp_valve_data *a,
                          const kp_valve_data *b)
{
    if (kp_sentence_both(sentences, a->has_ports, b->has_ports, "%s: number and share of evenly spaced ports",
                         direction)) {
        kp_sentence_count(sentences, a->port_count, b->port_count, "%s evenly spaced ports", direction);
    }
    kp_sentence_number(sentences, kp_valve_load_share(a), kp_valve_load_share(b), KP_DIM_NONE, "%s %s", direction,
                       a->has_ports || b->has_ports ? "share of the circle under pressure" : "load coverage");
}

static void compare_hole(kp_sentences *sentences, const char *direction, const kp_valve_data *a, const kp_valve_data *b)
{
    char hole[KP_SIZE_TEXT];
    if (a->has_hole != b->has_hole) {
        kp_sentence_add(sentences, "%s shims: only the %s names their hole, %s", direction,
                        a->has_hole ? "first" : "second",
                        kp_size_text(a->has_hole ? a->hole : b->hole, KP_DIM_LENGTH, sentences->system, hole));
    } else if (a->has_hole) {
        kp_sentence_number(sentences, a->hole, b->hole, KP_DIM_LENGTH, "%s shims: hole", direction);
    }
}

/* Materials of one name that are not the same, where a shim of the second damper is made of them. */
static void compare_materials(kp_sentences *sentences, const char *direction, const kp_damper_data *a,
                              const kp_damper_data *b, kp_direction which)
{
    static const kp_part numbers[] = {{"Young's modulus", offsetof(kp_material, young), KP_DIM_STRESS},
                                      {"Poisson's ratio", offsetof(kp_material, poisson), KP_DIM_NONE},
                                      {"yield", offsetof(kp_material, yield), KP_DIM_STRESS},
                                      {"tensile strength", offsetof(kp_material, tensile), KP_DIM_STRESS},
                                      {"fatigue strength", offsetof(kp_material, fatigue), KP_DIM_STRESS}};
    const kp_valve_data *valve = &b->valves[which];

    /* Each material once, however many lines are made of it. */
    for (size_t i = 0; i < valve->line_count; i++) {
        const kp_shim_line *line = &valve->lines[i];
        bool compared = false;
        for (size_t k = 0; k < i; k++) {
            compared = compared || strcmp(valve->lines[k].material, line->material) == 0;
        }

        kp_material first, second;
        if (compared || !kp_damper_material(a, line, &first) || !kp_damper_material(b, line, &second)) {
            continue;
        }

        char prefix[KP_SHIM_TEXT];
        snprintf(prefix, sizeof prefix, "%s shims of %s: ", direction,
                 line->material[0] == '\0' ? kp_spring_steel_name : line->material);
        compare_numbers(sentences, prefix, numbers, sizeof numbers / sizeof numbers[0], &first, &second);
    }
}

/* KP_RESERVOIR_VALVE too. */
static void compare_valve(kp_sentences *sentences, int direction, const kp_damper_data *first,
                          const kp_damper_data *second)
{
    const kp_valve_data *a = &first->valves[direction], *b = &second->valves[direction];
    const char *name = direction == KP_RESERVOIR_VALVE ? "reservoir valve" : kp_direction_name((kp_direction)direction);
    char prefix[KP_SIZE_TEXT];

    snprintf(prefix, sizeof prefix, "%s ", name);

    /* Shims first, then what holds and loads them. */
    kp_compare_stack(sentences, name, a, b);
    kp_compare_plate(sentences, name, a, b);
    compare_ports(sentences, name, a, b);
    compare_numbers(sentences, prefix, valve_parts, sizeof valve_parts / sizeof valve_parts[0], a, b);
    if (a->grip != b->grip) {
        kp_sentence_add(sentences, "%s clamp: the shims' inner edges %s", name,
                        b->grip == KP_GRIP_HELD ? "are held instead of sliding" : "slide instead of being held");
    }

    compare_hole(sentences, name, a, b);
    compare_stop(sentences, name, a, b);
    compare_materials(sentences, name, first, second, (kp_direction)direction);
}

kp_status kp_compare_parts(const kp_damper_data *a, const kp_damper_data *b, kp_unit_system system, kp_differences *out,
                           kp_error *error)
{
    kp_differences made = {0};
    kp_sentences sentences = {.out = &made, .system = system, .status = KP_OK, .error = error};

    /* What a tuner changes first comes first. */
    for (int direction = 0; direction < KP_DIRECTION_COUNT; direction++) {
        compare_valve(&sentences, direction, a, b);
    }

    kp_compare_bleeds(&sentences, a, b);
    kp_compare_hydraulics(&sentences, a, b);
    if (a->reservoir.given && a->reservoir.has_valve && b->reservoir.given && b->reservoir.has_valve) {
        compare_valve(&sentences, KP_RESERVOIR_VALVE, a, b);
    }

    compare_charge(&sentences, a, b);
    compare_oil(&sentences, &a->oil, &b->oil);
    compare_numbers(&sentences, "", body_parts, sizeof body_parts / sizeof body_parts[0], a, b);

    if (sentences.status != KP_OK) {
        kp_differences_free(&made);
        return sentences.status;
    }

    *out = made;
    return KP_OK;
}
