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

enum { MAX_LINES = 12 }; /* [-] of one stack whose shims are changed */

typedef struct kp_list_making {
    const kp_damper_data *data;
    kp_unit_system system;
    kp_explanation *out;
    size_t capacity;
    kp_status status; /* the first failure: what comes after it is written to the spare and lost */
    kp_error *error;
    kp_sensitivity spare;
    kp_damper_data spare_data;
} kp_list_making;

/* Room for one change more, its data still those of the damper. */
static kp_sensitivity *begin_change(kp_list_making *making)
{
    kp_explanation *out = making->out;

    if (making->status == KP_OK && out->sensitivity_count == making->capacity) {
        size_t capacity = making->capacity == 0 ? 32 : 2 * making->capacity;
        kp_sensitivity *grown = realloc(out->sensitivities, capacity * sizeof *grown);
        if (grown == NULL) {
            making->status = kp_error_set(making->error, KP_NO_MEMORY, "no memory for the list of changes");
        } else {
            out->sensitivities = grown;
            making->capacity = capacity;
        }
    }

    /* Each change has a damper of its own. */
    kp_damper_data *data = making->status == KP_OK ? malloc(sizeof *data) : NULL;
    if (making->status == KP_OK && data == NULL) {
        making->status = kp_error_set(making->error, KP_NO_MEMORY, "no memory for a changed damper");
    }

    /* Either way the caller has something to write to. */
    bool spare = data == NULL;
    data = spare ? &making->spare_data : data;
    *data = *making->data;
    kp_sensitivity *change = spare ? &making->spare : &out->sensitivities[out->sensitivity_count++];
    *change = (kp_sensitivity){.data = data};
    return change;
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

static void name_shim(kp_list_making *making, kp_sensitivity *change, int direction, size_t line)
{
    const kp_valve_data *valve = &making->data->valves[direction];
    char shim[KP_SHIM_TEXT], numbers[KP_SHIM_NUMBERS_TEXT];
    size_t first = 1;
    for (size_t i = 0; i < line; i++) {
        first += (size_t)valve->lines[i].count;
    }
    snprintf(change->part, sizeof change->part, "%s %s (%s)", valve_name(direction),
             kp_shim_numbers_text(first, (size_t)valve->lines[line].count, numbers),
             kp_shim_text(&valve->lines[line], making->system, shim));
    change->acts[direction_of(direction)] = true;
}

/* Each change is a run of its own, whose cost grows with the lines too: of a large stack MAX_LINES are tried, evenly
   from the face shim to the clamp. */
static bool line_is_tried(size_t line, size_t count)
{
    size_t steps = MAX_LINES - 1;
    return count <= MAX_LINES || line == 0 || line * steps / (count - 1) != (line - 1) * steps / (count - 1);
}

/* One out, one more, one a size thicker. */
static void list_shims(kp_list_making *making, int direction)
{
    const kp_valve_data *valve = &making->data->valves[direction];
    char size[KP_SIZE_TEXT];
    for (size_t line = 0; line < valve->line_count; line++) {
        if (!line_is_tried(line, valve->line_count)) {
            making->out->lines_left_out++;
            continue;
        }

        const char *one = valve->lines[line].count == 1 ? "" : "one ";

        kp_sensitivity *change = begin_change(making);
        kp_stack_take_out(&change->data->valves[direction], line);
        name_shim(making, change, direction, line);
        snprintf(change->change, sizeof change->change, "%staken out", one);

        change = begin_change(making);
        change->data->valves[direction].lines[line].count++;
        name_shim(making, change, direction, line);
        snprintf(change->change, sizeof change->change, "one more");

        double thicker = kp_next_thickness(valve->lines[line].thickness, making->system);
        change = begin_change(making);
        if (!kp_stack_set_thickness(&change->data->valves[direction], line, 1, thicker)) {
            change->data->valves[direction].lines[line].thickness = thicker; /* no room: the whole line */
        }
        name_shim(making, change, direction, line);
        snprintf(change->change, sizeof change->change, "%s%.40s thick", one,
                 kp_size_text(thicker, KP_DIM_LENGTH, making->system, size));
    }
}

/* A step down and a step up [m] of one size of a valve. */
static void list_size(kp_list_making *making, int direction, const char *part, double now, size_t offset, double step)
{
    for (int sign = -1; sign <= 1; sign += 2) {
        double then = now + sign * step;
        char size[KP_SIZE_TEXT];

        if (then < 0.0 && now > 0.0) {
            then = 0.0; /* a step larger than the dish: a flat seat */
        }
        if (!(then >= 0.0)) {
            continue;
        }

        kp_sensitivity *change = begin_change(making);
        memcpy((char *)&change->data->valves[direction] + offset, &then, sizeof then);
        snprintf(change->part, sizeof change->part, "%s %s", valve_name(direction), part);
        snprintf(change->change, sizeof change->change, "%s", kp_size_text(then, KP_DIM_LENGTH, making->system, size));
        change->acts[direction_of(direction)] = true;
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

static void set_acts(kp_sensitivity *change, kp_flows flows)
{
    change->acts[KP_COMPRESSION] = flows != KP_FLOWS_REBOUND;
    change->acts[KP_REBOUND] = flows != KP_FLOWS_COMPRESSION;
}

static kp_sensitivity *begin_bleed_change(kp_list_making *making, size_t entry)
{
    const kp_bleed *bleed = &making->data->bleeds[entry];
    kp_sensitivity *change = begin_change(making);
    char hole[KP_SIZE_TEXT];
    snprintf(change->part, sizeof change->part, "bleed ports of %s%s",
             kp_size_text(bleed->diameter, KP_DIM_LENGTH, making->system, hole),
             bleed->flows == KP_FLOWS_COMPRESSION ? ", compression only"
             : bleed->flows == KP_FLOWS_REBOUND   ? ", rebound only"
                                                  : "");
    set_acts(change, bleed->flows);
    return change;
}

/* One more plugged, one more open, all open ones a drill larger. */
static void list_bleed(kp_list_making *making, size_t entry)
{
    const kp_bleed *bleed = &making->data->bleeds[entry];
    int open = bleed->ports - bleed->plugged;
    if (open > 0) {
        kp_sensitivity *change = begin_bleed_change(making, entry);
        change->data->bleeds[entry].plugged++;
        snprintf(change->change, sizeof change->change, "one more plugged (%d open)", open - 1);
    }

    /* A plugged port is opened; where there is none, one more is drilled. */
    kp_sensitivity *change = begin_bleed_change(making, entry);
    if (bleed->plugged > 0) {
        change->data->bleeds[entry].plugged--;
    } else {
        change->data->bleeds[entry].ports++;
    }

    snprintf(change->change, sizeof change->change, "one more %s (%d open)", bleed->plugged > 0 ? "opened" : "drilled",
             open + 1);

    if (open > 0) {
        double larger = bleed->diameter + (making->system == KP_UNITS_INCH ? INCH_HOLE_STEP : METRIC_HOLE_STEP);
        char hole[KP_SIZE_TEXT];
        change = begin_bleed_change(making, entry);
        change->data->bleeds[entry].diameter = larger;
        snprintf(change->change, sizeof change->change, "all open ones drilled to %.40s",
                 kp_size_text(larger, KP_DIM_LENGTH, making->system, hole));
    }
}

/* One click more closed and one more open. */
static void list_clicks(kp_list_making *making, const char *part, const kp_adjuster_data *adjuster, size_t offset)
{
    for (int step = -1; step <= 1; step += 2) {
        int clicks = adjuster->clicks + step;
        if (clicks < 0 || clicks > adjuster->max_clicks) {
            continue;
        }

        kp_sensitivity *change = begin_change(making);
        memcpy((char *)change->data + offset + offsetof(kp_adjuster_data, clicks), &clicks, sizeof clicks);
        snprintf(change->part, sizeof change->part, "%s", part);
        snprintf(change->change, sizeof change->change, "%d clicks from closed", clicks);
        set_acts(change, adjuster->flows);
    }
}

kp_status kp_explain_list(const kp_damper_data *data, kp_unit_system system, kp_explanation *out, kp_error *error)
{
    kp_list_making making = {.data = data, .system = system, .out = out, .status = KP_OK, .error = error};

    /* A failure is kept in `making` and skips what is left. */
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
