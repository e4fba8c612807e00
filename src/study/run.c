/* SPDX-License-Identifier: GPL-3.0-or-later */
/** One damper worked out: its points, its summaries, and what is read from them. */
#include "kneepoint/study.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Speeds of a 100 mm stroke dyno's presets: common practice, no source. [m/s] */
static const double default_speeds[] = {0.052, 0.131, 0.262, 0.393, 0.524, 1.047};
/* Closer together at low speed, where the knee is; the presets among them. [m/s] */
static const double default_band_speeds[] = {0.026, 0.052, 0.131, 0.196, 0.262, 0.393, 0.524, 0.786, 1.047};

/* ---- working it out ---------------------------------------------------------------------------------------------- */

static kp_status fill_direction(kp_run *run, kp_direction direction, kp_error *error)
{
    run->points[direction] = calloc(run->count, sizeof *run->points[direction]);
    if (run->points[direction] == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out for %zu speeds", run->count);
    }

    /* Rebound has negative speeds. */
    kp_status status = KP_OK;

    for (size_t i = 0; status == KP_OK && i < run->count; i++) {
        double speed = direction == KP_COMPRESSION ? run->speeds[i] : -run->speeds[i];
        status = kp_curve_at(run->damper, speed, &run->points[direction][i], error);
    }

    return status == KP_OK ? kp_curve_summarise(run->damper, direction, run->limits, &run->summaries[direction], error)
                           : status;
}

/* base: a damper of the same stacks and largest speed, or NULL. */
static kp_status work_out(kp_run *run, const kp_damper *base, kp_error *error)
{
    /* The lift tables must reach the fastest point and the end of the summaries. */
    double largest = run->limits.top;

    for (size_t i = 0; i < run->count; i++) {
        largest = fmax(largest, run->speeds[i]);
    }

    kp_status status = kp_damper_gas_pressure(&run->data, &run->gas_pressure, error);
    if (status == KP_OK) {
        status = base != NULL ? kp_damper_variant(base, &run->data, &run->damper, error)
                              : kp_damper_begin(&run->data, largest, &run->damper, error);
    }

    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        status = fill_direction(run, (kp_direction)d, error);
    }

    if (status != KP_OK && error != NULL) {
        kp_error_prefix(error, "%s: ", run->path);
    }

    return status;
}

kp_status kp_run_begin(kp_run *run, const char *path, const kp_damper_data *data, const double *speeds, size_t count,
                       kp_speed_limits limits, kp_error *error)
{
    run->path = path;
    run->data = *data;
    run->speeds = speeds;
    run->count = count;
    run->limits = limits;
    return work_out(run, NULL, error);
}

kp_status kp_run_begin_variant(kp_run *run, const kp_run *base, const kp_damper_data *data, kp_error *error)
{
    run->path = base->path;
    run->data = *data;
    run->speeds = base->speeds;
    run->count = base->count;
    run->limits = base->limits;
    return work_out(run, base->damper, error);
}

void kp_run_free(kp_run *run)
{
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        free(run->points[d]);
    }
    kp_damper_free(run->damper);
    memset(run, 0, sizeof *run);
}

/* ---- read from it ------------------------------------------------------------------------------------------------ */

double kp_run_min_margin(const kp_run *run)
{
    double margin = INFINITY;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (size_t i = 0; i < run->count; i++) {
            margin = fmin(margin, run->points[d][i].cavitation_margin);
        }
    }
    return margin;
}

unsigned kp_run_risks(const kp_run *run)
{
    unsigned risks = 0;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        risks |= kp_summary_risks(&run->summaries[d]);
        for (size_t i = 0; i < run->count; i++) {
            risks |= kp_point_risks(&run->points[d][i]);
        }
    }
    return risks;
}

size_t kp_run_nearest(const kp_run *run, double speed)
{
    size_t best = 0;
    for (size_t i = 1; i < run->count; i++) {
        best = fabs(run->speeds[i] - speed) < fabs(run->speeds[best] - speed) ? i : best;
    }
    return best;
}

double kp_run_top_speed(const kp_run *run)
{
    double top = 0.0;
    for (size_t i = 0; i < run->count; i++) {
        top = fmax(top, run->speeds[i]);
    }
    return top;
}

bool kp_point_tires(const kp_curve_point *point)
{
    return point->fatigue_use >= 1.0 && !point->past_yield;
}

double kp_point_damping(const kp_curve_point *point)
{
    double sign = point->direction == KP_COMPRESSION ? 1.0 : -1.0;
    return sign * point->damping_force;
}

/* ---- speeds ------------------------------------------------------------------------------------------------------ */

const double *kp_default_speeds(size_t *count)
{
    *count = sizeof default_speeds / sizeof default_speeds[0];
    return default_speeds;
}

const double *kp_default_band_speeds(size_t *count)
{
    *count = sizeof default_band_speeds / sizeof default_band_speeds[0];
    return default_band_speeds;
}

size_t kp_sort_speeds(const double *speeds, size_t count, double *sorted)
{
    size_t kept = 0;

    for (size_t i = 0; i < count; i++) {
        /* Insertion: the list is short, and equal speeds are kept once. */
        size_t at = 0;
        while (at < kept && sorted[at] < speeds[i]) {
            at++;
        }
        if (at < kept && !(sorted[at] > speeds[i])) {
            continue; /* it is there already */
        }
        memmove(&sorted[at + 1], &sorted[at], (kept - at) * sizeof *sorted);
        sorted[at] = speeds[i];
        kept++;
    }

    return kept;
}
