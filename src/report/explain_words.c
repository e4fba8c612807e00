/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The plain sentences of `explain`: why, what would soften it, where the knee is and what moves it. */
#include "report/report_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define NOTICED    0.5  /* [%] a smaller change gets no sentence */
#define KNEE_MOVES 0.01 /* [-] of its speed or force */
#define SOFTENERS  3
#define WORDS      1200 /* [bytes] */

const char *const kp_range_names[KP_EXPLAIN_SPEEDS] = {"low", "mid", "high"};

double kp_sensitivity_percent(const kp_explanation *explanation, const kp_sensitivity *sensitivity,
                              kp_direction direction, int at)
{
    double force = fabs(explanation->points[direction][at].hydraulic_force);
    return sensitivity->solved && force > 0.0 ? 100.0 * sensitivity->change_of_force[direction][at] / force
                                              : (double)NAN;
}

/** One direction of an explanation, about which the sentences are. */
typedef struct kp_side {
    const kp_run *run;
    const kp_explanation *explanation;
    kp_direction direction;
    const char *name;                /* "compression" */
    const kp_curve_summary *summary; /* of the damper as it is */
} kp_side;

/* ---- why --------------------------------------------------------------------------------------------------------- */

/* "4 open bleed ports of 1.8 mm and 1 of 1.2 mm" */
static void bleed_words(const kp_side *side, kp_unit_system units, char text[WORDS])
{
    const kp_damper_data *data = &side->run->data;
    const kp_flows other = side->direction == KP_COMPRESSION ? KP_FLOWS_REBOUND : KP_FLOWS_COMPRESSION;
    text[0] = '\0';

    /* Each entry with the number of its ports that are open. */
    for (size_t i = 0; i < data->bleed_count; i++) {
        const kp_bleed *bleed = &data->bleeds[i];
        int open = bleed->ports - bleed->plugged;
        if (open <= 0 || bleed->flows == other) {
            continue;
        }

        const char *hole = KP_SHOW(bleed->diameter, KP_DIM_LENGTH, 1, units);
        if (text[0] == '\0') {
            kp_append(text, WORDS, "%d open bleed port%s of %s", open, open == 1 ? "" : "s", hole);
        } else {
            kp_append(text, WORDS, " and %d of %s", open, hole);
        }
    }

    const kp_adjuster_data *needle = &data->adjuster;
    if (data->has_adjuster && needle->flows != other && kp_adjuster_area(needle, needle->clicks) > 0.0) {
        kp_append(text, WORDS, "%sthe rebound adjuster's needle, %d of %d clicks open", text[0] != '\0' ? " and " : "",
                  needle->clicks, needle->max_clicks);
    }
}

/* A dished seat: firm until the stack cracks. */
static void add_why_dished(kp_report *report, const kp_side *side, const char *bleed)
{
    const kp_explanation *explanation = side->explanation;
    kp_unit_system units = report->request->units;
    kp_path_shares low = kp_explain_shares(&explanation->points[side->direction][KP_AT_LOW]);
    double cracking_speed = explanation->cracking_speed[side->direction];
    char until[WORDS];

    /* An infinite speed: the cracking pressure is not reached within the range. */
    if (isfinite(cracking_speed)) {
        snprintf(until, sizeof until, "reached at %s", KP_SHOW(cracking_speed, KP_DIM_SPEED, 3, units));
    } else {
        snprintf(until, sizeof until, "more than the top of the range gives");
    }

    kp_lines_add(&report->top,
                 "%s is firm at low speed because its seat is dished: it stands %s above the clamp, so the bent stack "
                 "stays closed up to a drop of %s, %s. Until there all oil squeezes through %s and the leak past the "
                 "band; at %s these still pass %.0f %% and the shims %.0f %%. Slope at low speed %s, at high speed %s.",
                 kp_direction_capital(side->direction),
                 KP_SHOW(side->run->data.valves[side->direction].dish, KP_DIM_LENGTH, 2, units),
                 KP_SHOW(explanation->cracking[side->direction], KP_DIM_PRESSURE, 1, units), until,
                 bleed[0] != '\0' ? bleed : "no bleed port (none is open)",
                 KP_SHOW(explanation->speeds[KP_AT_LOW], KP_DIM_SPEED, 3, units),
                 100.0 * (low.bleed_flow + low.leak_flow), 100.0 * low.valve_flow,
                 KP_SHOW(side->summary->low_slope, KP_DIM_DAMPING, 0, units),
                 KP_SHOW(side->summary->high_slope, KP_DIM_DAMPING, 0, units));
}

/* A flat seat: bleed and stack share low speed from the start. */
static void add_why_flat(kp_report *report, const kp_side *side, const char *bleed)
{
    const kp_explanation *explanation = side->explanation;
    kp_unit_system units = report->request->units;
    kp_path_shares low = kp_explain_shares(&explanation->points[side->direction][KP_AT_LOW]);
    bool plate = side->run->data.valves[side->direction].has_plate;

    kp_lines_add(
        &report->top,
        "%s %s; low speed depends on the %s. At %s %.0f %% of the oil lifts the %s, %.0f %% goes through %s and "
        "%.0f %% leaks past the band. Slope at low speed "
        "%s, at high speed %s.",
        kp_direction_capital(side->direction),
        plate ? "has a plate on a spring for a valve" : "has a flat seat, so its shims open from the start",
        low.valve_flow > 0.5 ? "valve more than on the bleed" : "bleed more than on the valve",
        KP_SHOW(explanation->speeds[KP_AT_LOW], KP_DIM_SPEED, 3, units), 100.0 * low.valve_flow,
        plate ? "plate" : "shims", 100.0 * low.bleed_flow, bleed[0] != '\0' ? bleed : "the bleed",
        100.0 * low.leak_flow, KP_SHOW(side->summary->low_slope, KP_DIM_DAMPING, 0, units),
        KP_SHOW(side->summary->high_slope, KP_DIM_DAMPING, 0, units));
}

/* Where the shims fold, and what that takes from the force. */
static void add_folding(kp_report *report, const kp_side *side)
{
    const kp_folding *folding = &side->explanation->folding[side->direction];
    kp_unit_system units = report->request->units;
    const char *high = KP_SHOW(side->explanation->speeds[KP_AT_HIGH], KP_DIM_SPEED, 3, units);
    char words[WORDS] = "";
    if (side->run->data.valves[side->direction].has_plate) {
        return;
    }
    if (!folding->folds) {
        kp_lines_add(&report->top, "The shims stay round up to %s.", high);
        return;
    }

    if (folding->by_ports) {
        kp_append(words, sizeof words, "The %d ports bend the shims into as many lobes as soon as they open",
                  folding->lobes);
    } else {
        kp_append(words, sizeof words, "The shims fold into %d lobes at %s", folding->lobes,
                  KP_SHOW(folding->pressure, KP_DIM_PRESSURE, 2, units));
    }
    if (folding->has_speed) {
        kp_append(words, sizeof words, ", reached at %s", KP_SHOW(folding->speed, KP_DIM_SPEED, 3, units));
    }
    if (folding->has_change) {
        kp_append(words, sizeof words,
                  ". At %s they give %.0f %% %s force than the same shims held round, which no real ones are", high,
                  fabs(100.0 * folding->change), folding->change < 0.0 ? "less" : "more");
    }
    kp_lines_add(&report->top, "%s.", words);
}

/* ---- what would soften it ---------------------------------------------------------------------------------------- */

/* Not to be advised: it would set a shim or cavitate where the damper as it is does not. */
static bool is_sound(const kp_side *side, const kp_sensitivity *sensitivity)
{
    return sensitivity->solved && sensitivity->acts[side->direction] &&
           (sensitivity->risks & ~kp_summary_risks(side->summary)) == 0;
}

/* The part's name without the direction, which the sentence has said. */
static const char *short_name(const kp_side *side, const kp_sensitivity *sensitivity)
{
    const char *part = sensitivity->part;
    size_t length = strlen(side->name);
    return strncmp(part, side->name, length) == 0 && part[length] == ' ' ? part + length + 1 : part;
}

static double percent_at(const kp_side *side, const kp_sensitivity *sensitivity, int at)
{
    return kp_sensitivity_percent(side->explanation, sensitivity, side->direction, at);
}

static bool is_among(const kp_sensitivity *const *list, size_t count, const kp_sensitivity *sensitivity)
{
    for (size_t i = 0; i < count; i++) {
        if (strcmp(list[i]->part, sensitivity->part) == 0) {
            return true;
        }
    }
    return false;
}

/* The changes that soften low speed most, one a part. */
static size_t find_softeners(const kp_side *side, const kp_sensitivity *found[SOFTENERS])
{
    size_t count = 0;

    /* One after another, the change that softens most; each part counts once. */
    while (count < SOFTENERS) {
        const kp_sensitivity *best = NULL;
        for (size_t i = 0; i < side->explanation->shown_count; i++) {
            const kp_sensitivity *sensitivity = &side->explanation->sensitivities[i];
            if (!is_sound(side, sensitivity) || is_among(found, count, sensitivity) ||
                !(percent_at(side, sensitivity, KP_AT_LOW) <= -NOTICED)) {
                continue;
            }

            double change = sensitivity->change_of_force[side->direction][KP_AT_LOW];
            if (best == NULL || change < best->change_of_force[side->direction][KP_AT_LOW]) {
                best = sensitivity;
            }
        }

        if (best == NULL) {
            break;
        }
        found[count++] = best;
    }

    return count;
}

static void add_softeners(kp_report *report, const kp_side *side)
{
    const kp_sensitivity *found[SOFTENERS];
    size_t count = find_softeners(side, found);
    const double *speeds = side->explanation->speeds;
    const char *low = KP_SHOW(speeds[KP_AT_LOW], KP_DIM_SPEED, 3, report->request->units);
    if (count == 0) {
        kp_lines_add(&report->top, "No single step of one part softens %s at %s by %.1f %% or more.", side->name, low,
                     NOTICED);
        return;
    }

    /* Each with its effect at low, mid and high speed. */
    kp_lines_add(&report->top, "What would soften it (change of force at %s, %s, %s):", low,
                 KP_SHOW(speeds[KP_AT_MID], KP_DIM_SPEED, 2, report->request->units),
                 KP_SHOW(speeds[KP_AT_HIGH], KP_DIM_SPEED, 2, report->request->units));

    for (size_t i = 0; i < count; i++) {
        kp_lines_add(&report->top, "   - %s, %s: %+.0f %%, %+.0f %%, %+.0f %%", short_name(side, found[i]),
                     found[i]->change, percent_at(side, found[i], KP_AT_LOW), percent_at(side, found[i], KP_AT_MID),
                     percent_at(side, found[i], KP_AT_HIGH));
    }
}

/* ---- the knee ---------------------------------------------------------------------------------------------------- */

/* The change that moves the knee most, in speed or in force. [-] of what it was comes back through moved. */
static const kp_sensitivity *knee_mover(const kp_side *side, bool in_force, double *moved)
{
    const kp_sensitivity *best = NULL;
    *moved = 0.0;

    for (size_t i = 0; i < side->explanation->shown_count; i++) {
        const kp_sensitivity *sensitivity = &side->explanation->sensitivities[i];
        const kp_curve_summary *then = &sensitivity->summaries[side->direction];
        if (!is_sound(side, sensitivity) || !then->has_knee) {
            continue;
        }

        /* Relative change of the knee's speed or force. */
        double change = in_force ? then->knee_force / side->summary->knee_force - 1.0
                                 : then->knee_speed / side->summary->knee_speed - 1.0;

        if (fabs(change) > fabs(*moved) && fabs(change) >= KNEE_MOVES) {
            best = sensitivity;
            *moved = change;
        }
    }

    return best;
}

static void add_knee(kp_report *report, const kp_side *side)
{
    kp_unit_system units = report->request->units;
    if (!side->summary->has_knee) {
        kp_lines_add(&report->top, "%s has no knee: its slope nowhere falls to less than half within a factor of two.",
                     kp_direction_capital(side->direction));
        return;
    }

    /* Speed and force of a knee are moved by different parts. */
    double by_speed;
    double by_force;
    const kp_sensitivity *in_speed = knee_mover(side, false, &by_speed);
    const kp_sensitivity *in_force = knee_mover(side, true, &by_force);

    char words[WORDS] = "";

    if (in_speed != NULL) {
        kp_append(words, sizeof words, " Its speed depends mainly on %s (%s: %+.0f %%)", short_name(side, in_speed),
                  in_speed->change, 100.0 * by_speed);
    }

    if (in_force != NULL) {
        kp_append(words, sizeof words, "%s %s (%s: %+.0f %%)",
                  in_speed != NULL ? ", its force on" : " Its force depends mainly on", short_name(side, in_force),
                  in_force->change, 100.0 * by_force);
    }

    kp_lines_add(&report->top, "The knee of %s is at %s and %s, where the shims take over from the bleed.%s%s",
                 side->name, KP_SHOW(side->summary->knee_speed, KP_DIM_SPEED, 3, units),
                 KP_SHOW(side->summary->knee_force, KP_DIM_FORCE, 0, units), words, words[0] != '\0' ? "." : "");
}

static void add_strongest(kp_report *report, const kp_side *side)
{
    char words[3 * WORDS] = "";

    /* One change for each of the three speeds. */
    for (int at = 0; at < KP_EXPLAIN_SPEEDS; at++) {
        const kp_sensitivity *sensitivity =
            kp_explain_strongest(side->explanation, side->direction, (kp_explain_speed)at);
        if (sensitivity != NULL) {
            kp_append(words, sizeof words, "%s %s speed: %s, %s (%+.0f %%)", words[0] != '\0' ? ";" : "",
                      kp_range_names[at], short_name(side, sensitivity), sensitivity->change,
                      percent_at(side, sensitivity, at));
        }
    }

    if (words[0] != '\0') {
        kp_lines_add(&report->top, "The single step that moves %s most, at%s.", side->name, words);
    }
}

/* ---- all of it --------------------------------------------------------------------------------------------------- */

void kp_add_reasons(kp_report *report, const kp_run *run, const kp_explanation *explanation, kp_direction direction)
{
    const kp_side side = {run, explanation, direction, kp_direction_name(direction),
                          &explanation->summaries[direction]};
    char bleed[WORDS];

    bleed_words(&side, report->request->units, bleed);
    if (explanation->has_cracking[direction]) {
        add_why_dished(report, &side, bleed);
    } else {
        add_why_flat(report, &side, bleed);
    }

    add_folding(report, &side);
    add_softeners(report, &side);
    add_knee(report, &side);
    add_strongest(report, &side);
}
