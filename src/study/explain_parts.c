/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Every change of one part that `explain` tries. */
#include "study/explain_internal.h"
#include "study/study_internal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Steps a bench has: common practice, no source. */
static const double METRIC_CLAMP_STEP = 2e-3, INCH_CLAMP_STEP = 0.0625 * 25.4e-3; /* [m] next clamp washer */
static const double METRIC_DISH_STEP = 0.05e-3, INCH_DISH_STEP = 2 * 25.4e-6;     /* [m] */
static const double METRIC_HOLE_STEP = 0.1e-3, INCH_HOLE_STEP = 4 * 25.4e-6;      /* [m] next drill */

typedef struct kp_list_making {
    const kp_damper_data *data;
    kp_unit_system system;
    kp_explanation *out;
    size_t capacity;
    kp_status status;
    kp_error *error;
} kp_list_making;

/* A changed copy to be run, for the caller to change. NULL when memory ran out. */
static kp_sensitivity *begin_change(kp_list_making *making)
{
    kp_explanation *out = making->out;
    if (making->status != KP_OK) {
        return NULL;
    }
    if (out->sensitivity_count == making->capacity) {
        size_t capacity = making->capacity == 0 ? 32 : 2 * making->capacity;
        kp_sensitivity *grown = realloc(out->sensitivities, capacity * sizeof *grown);
        if (grown == NULL) {
            making->status = kp_error_set(making->error, KP_NO_MEMORY, "no memory for the list of changes");
            return NULL;
        }
        out->sensitivities = grown;
        making->capacity = capacity;
    }
    kp_sensitivity *worth = &out->sensitivities[out->sensitivity_count];
    memset(worth, 0, sizeof *worth);
    worth->data = malloc(sizeof *worth->data);
    if (worth->data == NULL) {
        making->status = kp_error_set(making->error, KP_NO_MEMORY, "no memory for a changed damper");
        return NULL;
    }
    *worth->data = *making->data;
    out->sensitivity_count++;
    return worth;
}

/* Valves are named as their direction; the reservoir's works in compression. */
static const char *valve_name(int valve)
{
    return valve == KP_RESERVOIR_VALVE ? "reservoir" : kp_direction_name((kp_direction)valve);
}

static int direction_of(int valve)
{
    return valve == KP_RESERVOIR_VALVE ? KP_COMPRESSION : valve;
}

static void name_shim(kp_list_making *making, kp_sensitivity *worth, int direction, size_t line, const char *change)
{
    const kp_valve_data *valve = &making->data->valves[direction];
    char shim[KP_SHIM_TEXT];
    int first = 1;
    for (size_t i = 0; i < line; i++) {
        first += valve->lines[i].count;
    }
    int count = valve->lines[line].count;
    kp_shim_text(&valve->lines[line], making->system, shim);
    if (count == 1) {
        snprintf(worth->part, sizeof worth->part, "%s shim %d (%s)", valve_name(direction), first, shim);
    } else {
        snprintf(worth->part, sizeof worth->part, "%s shims %d %s %d (%s)", valve_name(direction), first,
                 count == 2 ? "and" : "to", first + count - 1, shim);
    }
    snprintf(worth->change, sizeof worth->change, "%s%s", count == 1 ? "" : "one ", change);
    worth->acts[direction_of(direction)] = true;
}

/* One out, one more, one a size thicker. */
static void list_shims(kp_list_making *making, int direction)
{
    const kp_valve_data *valve = &making->data->valves[direction];
    char change[KP_SIZE_TEXT];
    char thicker_text[KP_SIZE_TEXT];
    for (size_t line = 0; line < valve->line_count; line++) {
        kp_sensitivity *worth = begin_change(making);
        if (worth != NULL) {
            kp_stack_take_out(&worth->data->valves[direction], line);
            name_shim(making, worth, direction, line, "taken out");
        }
        worth = begin_change(making);
        if (worth != NULL) {
            worth->data->valves[direction].lines[line].count++;
            name_shim(making, worth, direction, line, "more");
            snprintf(worth->change, sizeof worth->change, "one more");
        }
        double thicker = kp_next_thickness(valve->lines[line].thickness, making->system);
        worth = begin_change(making);
        if (worth != NULL) {
            if (!kp_stack_set_thickness(&worth->data->valves[direction], line, 1, thicker)) {
                worth->data->valves[direction].lines[line].thickness = thicker; /* no room: the whole line */
            }
            snprintf(change, sizeof change, "%.40s thick",
                     kp_size_text(thicker, KP_DIM_LENGTH, making->system, thicker_text));
            name_shim(making, worth, direction, line, change);
        }
    }
}

/* A change of one size of a valve. */
static void list_size(kp_list_making *making, int direction, const char *part, double now, size_t offset, double step)
{
    for (int sign = -1; sign <= 1; sign += 2) {
        double then = now + sign * step;
        char text[KP_SIZE_TEXT];
        if (then < 0.0 && now > 0.0) {
            then = 0.0; /* less dish than there is: a flat seat */
        }
        if (!(then >= 0.0)) {
            continue;
        }
        kp_sensitivity *worth = begin_change(making);
        if (worth != NULL) {
            memcpy((char *)&worth->data->valves[direction] + offset, &then, sizeof then);
            snprintf(worth->part, sizeof worth->part, "%s %s", valve_name(direction), part);
            snprintf(worth->change, sizeof worth->change, "%s",
                     kp_size_text(then, KP_DIM_LENGTH, making->system, text));
            worth->acts[direction_of(direction)] = true;
        }
    }
}

static void list_valve(kp_list_making *making, int direction)
{
    bool inch = making->system == KP_UNITS_INCH;
    const kp_valve_data *now = &making->data->valves[direction];
    if (now->has_plate) {
        return;
    }
    list_size(making, direction, "clamp washer", now->clamp_washer, offsetof(kp_valve_data, clamp_washer),
              inch ? INCH_CLAMP_STEP : METRIC_CLAMP_STEP);
    list_size(making, direction, "dish", now->dish, offsetof(kp_valve_data, dish),
              inch ? INCH_DISH_STEP : METRIC_DISH_STEP);
}

static void name_bleed(kp_list_making *making, kp_sensitivity *worth, size_t entry)
{
    const kp_bleed *bleed = &making->data->bleeds[entry];
    char hole[KP_SIZE_TEXT];
    snprintf(worth->part, sizeof worth->part, "bleed ports of %s%s",
             kp_size_text(bleed->diameter, KP_DIM_LENGTH, making->system, hole),
             bleed->flows == KP_FLOWS_COMPRESSION ? ", compression only"
             : bleed->flows == KP_FLOWS_REBOUND   ? ", rebound only"
                                                  : "");
    worth->acts[KP_COMPRESSION] = bleed->flows != KP_FLOWS_REBOUND;
    worth->acts[KP_REBOUND] = bleed->flows != KP_FLOWS_COMPRESSION;
}

static void list_bleed(kp_list_making *making, size_t entry)
{
    const kp_bleed *bleed = &making->data->bleeds[entry];
    int open = bleed->ports - bleed->plugged;
    kp_sensitivity *worth = open > 0 ? begin_change(making) : NULL;
    if (worth != NULL) {
        worth->data->bleeds[entry].plugged++;
        name_bleed(making, worth, entry);
        snprintf(worth->change, sizeof worth->change, "one more plugged (%d open)", open - 1);
    }
    worth = begin_change(making);
    if (worth != NULL) {
        if (bleed->plugged > 0) {
            worth->data->bleeds[entry].plugged--;
        } else {
            worth->data->bleeds[entry].ports++;
        }
        name_bleed(making, worth, entry);
        snprintf(worth->change, sizeof worth->change, "one more %s (%d open)",
                 bleed->plugged > 0 ? "opened" : "drilled", open + 1);
    }
    worth = open > 0 ? begin_change(making) : NULL;
    if (worth != NULL) {
        double larger = bleed->diameter + (making->system == KP_UNITS_INCH ? INCH_HOLE_STEP : METRIC_HOLE_STEP);
        char hole[KP_SIZE_TEXT];
        worth->data->bleeds[entry].diameter = larger;
        name_bleed(making, worth, entry);
        snprintf(worth->change, sizeof worth->change, "all open ones drilled to %.40s",
                 kp_size_text(larger, KP_DIM_LENGTH, making->system, hole));
    }
}

/* One click more open and one more closed. */
static void list_clicks(kp_list_making *making, const char *part, const kp_adjuster_data *adjuster, size_t offset)
{
    for (int step = -1; step <= 1; step += 2) {
        int clicks = adjuster->clicks + step;
        kp_sensitivity *worth = clicks >= 0 && clicks <= adjuster->max_clicks ? begin_change(making) : NULL;
        if (worth == NULL) {
            continue;
        }
        memcpy((char *)worth->data + offset + offsetof(kp_adjuster_data, clicks), &clicks, sizeof clicks);
        snprintf(worth->part, sizeof worth->part, "%s", part);
        snprintf(worth->change, sizeof worth->change, "%d clicks from closed", clicks);
        worth->acts[KP_COMPRESSION] = adjuster->flows != KP_FLOWS_REBOUND;
        worth->acts[KP_REBOUND] = adjuster->flows != KP_FLOWS_COMPRESSION;
    }
}

kp_status kp_explain_list(const kp_damper_data *data, kp_unit_system system, kp_explanation *out, kp_error *error)
{
    kp_list_making making = {.data = data, .system = system, .out = out, .status = KP_OK, .error = error};
    for (size_t entry = 0; entry < data->bleed_count; entry++) {
        list_bleed(&making, entry);
    }
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        list_shims(&making, d);
        list_valve(&making, d);
    }
    if (data->has_adjuster) {
        list_clicks(&making, "adjuster of the piston", &data->adjuster, offsetof(kp_damper_data, adjuster));
    }
    if (data->reservoir.given && data->reservoir.has_valve) {
        list_shims(&making, KP_RESERVOIR_VALVE);
        list_valve(&making, KP_RESERVOIR_VALVE);
    }
    if (data->reservoir.given && data->reservoir.has_adjuster) {
        list_clicks(&making, "adjuster of the reservoir", &data->reservoir.adjuster,
                    offsetof(kp_damper_data, reservoir.adjuster));
    }
    return making.status;
}
