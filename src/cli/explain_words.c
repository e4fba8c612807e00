/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The plain sentences of `explain`: why, what would soften it, where the knee is and what moves it. */
#include "cli/explain.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double NOTICED = 0.5;     /* [%] a smaller change is not worth a sentence */
static const double KNEE_MOVES = 0.01; /* [-] of its speed or force */
enum { SOFTENERS = 3, WORDS = 1200 };

double kp_sensitivity_percent(const kp_explanation *explanation, const kp_sensitivity *worth, kp_direction direction,
                              int at)
{
    double force = fabs(explanation->points[direction][at].hydraulic_force);
    return worth->solved && force > 0.0 ? 100.0 * worth->change_of_force[direction][at] / force : (double)NAN;
}

/* "4 open bleed ports of 1.8 mm and 1 of 1.2 mm" */
static void bleed_words(const kp_damper_data *data, kp_direction direction, kp_unit_system units, char *text,
                        size_t size)
{
    const kp_flows other = direction == KP_COMPRESSION ? KP_FLOWS_REBOUND : KP_FLOWS_COMPRESSION;
    size_t used = 0;
    text[0] = '\0';
    for (size_t i = 0; i < data->bleed_count && used < size; i++) {
        const kp_bleed *bleed = &data->bleeds[i];
        int open = bleed->ports - bleed->plugged;
        char hole[KP_SHOWN];
        if (open <= 0 || bleed->flows == other) {
            continue;
        }
        kp_show(bleed->diameter, KP_DIM_LENGTH, 1, units, hole);
        int wrote = used == 0 ? snprintf(text, size, "%d open bleed port%s of %s", open, open == 1 ? "" : "s", hole)
                              : snprintf(text + used, size - used, " and %d of %s", open, hole);
        used += wrote > 0 ? (size_t)wrote : 0;
    }
    const kp_adjuster_data *needle = &data->adjuster;
    if (data->has_adjuster && needle->flows != other && kp_adjuster_area(needle, needle->clicks) > 0.0 && used < size) {
        snprintf(text + used, size - used, "%sthe rebound adjuster's needle, %d of %d clicks open",
                 used > 0 ? " and " : "", needle->clicks, needle->max_clicks);
    }
}

/* A name in front of a sentence begins with a capital. */
static const char *capital(kp_direction direction)
{
    return direction == KP_COMPRESSION ? "Compression" : "Rebound";
}

/* A dished seat: firm until the stack cracks. */
static void say_why_dished(kp_output *output, const kp_run *run, const kp_explanation *explanation,
                           kp_direction direction, const char *bleed)
{
    kp_unit_system units = output->options->units;
    kp_path_shares low = kp_explain_shares(&explanation->points[direction][KP_AT_LOW]);
    const kp_curve_summary *summary = &explanation->summaries[direction];
    char dish[KP_SHOWN];
    char pressure[KP_SHOWN];
    char speed[KP_SHOWN];
    char low_speed[KP_SHOWN];
    char low_slope[KP_SHOWN];
    char high_slope[KP_SHOWN];
    char until[WORDS];
    if (explanation->has_cracking_speed[direction]) {
        snprintf(until, sizeof until, "reached at %s",
                 kp_show(explanation->cracking_speed[direction], KP_DIM_SPEED, 3, units, speed));
    } else {
        snprintf(until, sizeof until, "more than the top of the range gives");
    }
    kp_lines_add(&output->top,
                 "%s is firm at low speed because its seat is dished: it stands %s above the clamp, so the bent stack "
                 "stays shut up to a drop of %s, %s. Until there all oil squeezes through %s and the leak past the "
                 "band; at %s these still pass %.0f %% and the shims %.0f %%. Slope at low speed %s, at high speed %s.",
                 capital(direction), kp_show(run->data.valves[direction].dish, KP_DIM_LENGTH, 2, units, dish),
                 kp_show(explanation->cracking[direction], KP_DIM_PRESSURE, 1, units, pressure), until,
                 bleed[0] != '\0' ? bleed : "no bleed port (none is open)",
                 kp_show(explanation->speeds[KP_AT_LOW], KP_DIM_SPEED, 3, units, low_speed),
                 100.0 * (low.bleed_flow + low.leak_flow), 100.0 * low.valve_flow,
                 kp_show(summary->low_slope, KP_DIM_DAMPING, 0, units, low_slope),
                 kp_show(summary->high_slope, KP_DIM_DAMPING, 0, units, high_slope));
}

/* A flat seat: bleed and stack share low speed from the start. */
static void say_why_flat(kp_output *output, const kp_explanation *explanation, kp_direction direction,
                         const char *bleed, bool plate)
{
    kp_path_shares low = kp_explain_shares(&explanation->points[direction][KP_AT_LOW]);
    const kp_curve_summary *summary = &explanation->summaries[direction];
    kp_unit_system units = output->options->units;
    char speed[KP_SHOWN];
    char slope[KP_SHOWN];
    char high_slope[KP_SHOWN];
    kp_lines_add(&output->top,
                 "%s %s; low speed hangs on the %s. At %s %.0f %% of the oil lifts the %s, %.0f %% goes through %s and "
                 "%.0f %% leaks past the band. Slope at low speed "
                 "%s, at high speed %s.",
                 capital(direction),
                 plate ? "has a plate on a spring for a valve" : "has a flat seat, so its shims open from the start",
                 low.valve_flow > 0.5 ? "valve more than on the bleed" : "bleed more than on the valve",
                 kp_show(explanation->speeds[KP_AT_LOW], KP_DIM_SPEED, 3, units, speed), 100.0 * low.valve_flow,
                 plate ? "plate" : "shims", 100.0 * low.bleed_flow, bleed[0] != '\0' ? bleed : "the bleed",
                 100.0 * low.leak_flow, kp_show(summary->low_slope, KP_DIM_DAMPING, 0, units, slope),
                 kp_show(summary->high_slope, KP_DIM_DAMPING, 0, units, high_slope));
}

/* Not to be advised: it would set a shim or cavitate where the damper as it is does not. */
static bool is_sound(const kp_explanation *explanation, const kp_sensitivity *worth, kp_direction direction)
{
    bool already_cavitates = explanation->summaries[direction].margin_goes;
    bool already_yields = explanation->summaries[direction].past_yield;
    return worth->solved && worth->acts[direction] && (!worth->past_yield || already_yields) &&
           (!worth->cavitates || already_cavitates);
}

/* The part's name without the direction, which the sentence has said. */
static const char *short_name(const kp_sensitivity *worth, kp_direction direction)
{
    const char *name = kp_direction_name(direction);
    size_t length = strlen(name);
    return strncmp(worth->part, name, length) == 0 && worth->part[length] == ' ' ? worth->part + length + 1
                                                                                 : worth->part;
}

static bool is_among(const kp_sensitivity *const *list, size_t count, const kp_sensitivity *worth)
{
    for (size_t i = 0; i < count; i++) {
        if (strcmp(list[i]->part, worth->part) == 0) {
            return true;
        }
    }
    return false;
}

/* The changes that soften low speed most, one a part. */
static size_t find_softeners(const kp_explanation *explanation, kp_direction direction,
                             const kp_sensitivity *found[SOFTENERS])
{
    size_t count = 0;
    while (count < SOFTENERS) {
        const kp_sensitivity *best = NULL;
        for (size_t i = 0; i < explanation->shown_count; i++) {
            const kp_sensitivity *worth = &explanation->sensitivities[i];
            if (!is_sound(explanation, worth, direction) || is_among(found, count, worth)) {
                continue;
            }
            double change = worth->change_of_force[direction][KP_AT_LOW];
            if (kp_sensitivity_percent(explanation, worth, direction, KP_AT_LOW) <= -NOTICED &&
                (best == NULL || change < best->change_of_force[direction][KP_AT_LOW])) {
                best = worth;
            }
        }
        if (best == NULL) {
            break;
        }
        found[count++] = best;
    }
    return count;
}

static void say_softeners(kp_output *output, const kp_explanation *explanation, kp_direction direction)
{
    const kp_sensitivity *found[SOFTENERS];
    size_t count = find_softeners(explanation, direction, found);
    kp_unit_system units = output->options->units;
    char low[KP_SHOWN];
    char mid[KP_SHOWN];
    char high[KP_SHOWN];
    kp_show(explanation->speeds[KP_AT_LOW], KP_DIM_SPEED, 3, units, low);
    kp_show(explanation->speeds[KP_AT_MID], KP_DIM_SPEED, 2, units, mid);
    kp_show(explanation->speeds[KP_AT_HIGH], KP_DIM_SPEED, 2, units, high);
    if (count == 0) {
        kp_lines_add(&output->top, "No single step of one part softens %s at %s by %.1f %% or more.",
                     kp_direction_name(direction), low, NOTICED);
        return;
    }
    kp_lines_add(&output->top, "What would soften it (change of force at %s, %s, %s):", low, mid, high);
    for (size_t i = 0; i < count; i++) {
        kp_lines_add(&output->top, "   - %s, %s: %+.0f %%, %+.0f %%, %+.0f %%", short_name(found[i], direction),
                     found[i]->change, kp_sensitivity_percent(explanation, found[i], direction, KP_AT_LOW),
                     kp_sensitivity_percent(explanation, found[i], direction, KP_AT_MID),
                     kp_sensitivity_percent(explanation, found[i], direction, KP_AT_HIGH));
    }
}

/* The change that moves the knee most, in speed or in force. [-] of what it was comes back through moved. */
static const kp_sensitivity *knee_mover(const kp_explanation *explanation, kp_direction direction, bool in_force,
                                        double *moved)
{
    const kp_curve_summary *now = &explanation->summaries[direction];
    const kp_sensitivity *best = NULL;
    *moved = 0.0;
    for (size_t i = 0; i < explanation->shown_count; i++) {
        const kp_sensitivity *worth = &explanation->sensitivities[i];
        const kp_curve_summary *then = &worth->summaries[direction];
        if (!is_sound(explanation, worth, direction) || !then->has_knee) {
            continue;
        }
        double change = in_force ? then->knee_force / now->knee_force - 1.0 : then->knee_speed / now->knee_speed - 1.0;
        if (fabs(change) > fabs(*moved) && fabs(change) >= KNEE_MOVES) {
            best = worth;
            *moved = change;
        }
    }
    return best;
}

static void say_knee(kp_output *output, const kp_explanation *explanation, kp_direction direction)
{
    const kp_curve_summary *summary = &explanation->summaries[direction];
    kp_unit_system units = output->options->units;
    char speed[KP_SHOWN];
    char force[KP_SHOWN];
    if (!summary->has_knee) {
        kp_lines_add(&output->top, "%s has no knee: its slope nowhere falls to less than half within a factor of two.",
                     capital(direction));
        return;
    }
    double by_speed;
    double by_force;
    const kp_sensitivity *in_speed = knee_mover(explanation, direction, false, &by_speed);
    const kp_sensitivity *in_force = knee_mover(explanation, direction, true, &by_force);
    char words[WORDS] = "";
    size_t used = 0;
    if (in_speed != NULL) {
        used = (size_t)snprintf(words, sizeof words, " Its speed hangs most on %s (%s: %+.0f %%)",
                                short_name(in_speed, direction), in_speed->change, 100.0 * by_speed);
    }
    if (in_force != NULL && used < sizeof words) {
        snprintf(words + used, sizeof words - used, "%s %s (%s: %+.0f %%).",
                 used > 0 ? ", its force on" : " Its force hangs most on", short_name(in_force, direction),
                 in_force->change, 100.0 * by_force);
    } else if (used > 0 && used < sizeof words) {
        snprintf(words + used, sizeof words - used, ".");
    }
    kp_lines_add(&output->top, "The knee of %s is at %s and %s, where the shims take over from the bleed.%s",
                 kp_direction_name(direction), kp_show(summary->knee_speed, KP_DIM_SPEED, 3, units, speed),
                 kp_show(summary->knee_force, KP_DIM_FORCE, 0, units, force), words);
}

static void say_strongest(kp_output *output, const kp_explanation *explanation, kp_direction direction)
{
    static const char *const ranges[KP_EXPLAIN_SPEEDS] = {"low", "mid", "high"};
    char words[3 * WORDS] = "";
    size_t used = 0;
    for (int at = 0; at < KP_EXPLAIN_SPEEDS && used < sizeof words; at++) {
        const kp_sensitivity *worth = kp_explain_strongest(explanation, direction, (kp_explain_speed)at);
        if (worth != NULL) {
            int wrote = snprintf(words + used, sizeof words - used, "%s %s speed: %s, %s (%+.0f %%)",
                                 used > 0 ? ";" : "", ranges[at], short_name(worth, direction), worth->change,
                                 kp_sensitivity_percent(explanation, worth, direction, at));
            used += wrote > 0 ? (size_t)wrote : 0;
        }
    }
    if (used > 0) {
        kp_lines_add(&output->top, "The single step that moves %s most, at%s.", kp_direction_name(direction), words);
    }
}

void kp_explain_say(kp_output *output, const kp_run *run, const kp_explanation *explanation, kp_direction direction)
{
    char bleed[WORDS];
    bleed_words(&run->data, direction, output->options->units, bleed, sizeof bleed);
    if (explanation->has_cracking[direction]) {
        say_why_dished(output, run, explanation, direction, bleed);
    } else {
        say_why_flat(output, explanation, direction, bleed, run->data.valves[direction].has_plate);
    }
    say_softeners(output, explanation, direction);
    say_knee(output, explanation, direction);
    say_strongest(output, explanation, direction);
}
