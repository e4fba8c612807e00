/* SPDX-License-Identifier: GPL-3.0-or-later */
/** One damper at several oil temperatures, charges or clicks. The shims are solved once. */
#include "kneepoint/study.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define CLICK_STEPS     5    /* [-] from closed to open */
#define SMALLEST_CHANGE 0.05 /* [%] below it a change is rounding, shown as 0 */

/* ---- members ----------------------------------------------------------------------------------------------------- */

/* Appends a member with base's data, to be changed by the caller. */
static kp_damper_data *add_member(kp_sweep *sweep, const kp_damper_data *base, double value)
{
    kp_damper_data *data = &sweep->runs[sweep->count].data;
    *data = *base;
    sweep->values[sweep->count++] = value;
    return data;
}

void kp_sweep_temperatures(kp_sweep *sweep, const kp_damper_data *base, const double *values, size_t count)
{
    sweep->name = "temperature";
    sweep->dimension = KP_DIM_TEMPERATURE;
    for (size_t i = 0; i < count; i++) {
        add_member(sweep, base, values[i])->oil_temperature = values[i];
    }
}

void kp_sweep_charges(kp_sweep *sweep, const kp_damper_data *base, const double *values, size_t count, bool gauge)
{
    sweep->name = "charge";
    sweep->dimension = KP_DIM_PRESSURE;
    for (size_t i = 0; i < count; i++) {
        kp_damper_data *data = add_member(sweep, base, values[i]);
        data->gas.charge_pressure = values[i];
        data->charge_was_gauge = gauge;
    }
}

void kp_sweep_clicks(kp_sweep *sweep, const kp_damper_data *base, kp_direction adjuster)
{
    kp_damper_data copy = *base;
    int max_clicks = kp_adjuster_of(&copy, adjuster)->max_clicks;
    int last = -1;

    sweep->name = "clicks";
    sweep->dimension = KP_DIM_NONE;

    /* Evenly spread whole clicks, closed and open among them; equal ones once. */
    for (int i = 0; i <= CLICK_STEPS; i++) {
        int clicks = (max_clicks * i + CLICK_STEPS / 2) / CLICK_STEPS;
        if (clicks != last) {
            kp_adjuster_of(add_member(sweep, base, clicks), adjuster)->clicks = clicks;
        }

        last = clicks;
    }
}

kp_status kp_sweep_run(kp_sweep *sweep, size_t member, const kp_run *base, kp_error *error)
{
    kp_run *run = &sweep->runs[member];
    kp_damper_data data = run->data;
    char label[KP_MEMBER_LABEL];
    memcpy(label, sweep->labels[member], sizeof label);

    /* The run is begun in the place that holds its data, so a copy of them is passed. */
    kp_status status = kp_run_begin_variant(run, base, &data, error);
    if (status != KP_OK) {
        return kp_error_prefix(error, "%s: ", label);
    }

    snprintf(sweep->paths[member], sizeof sweep->paths[member], "%.250s, %s", base->path, label);
    run->path = sweep->paths[member];
    snprintf(run->data.name, sizeof run->data.name, "%s", label);
    return KP_OK;
}

void kp_sweep_free(kp_sweep *sweep)
{
    for (size_t i = 0; i < sweep->count; i++) {
        kp_run_free(&sweep->runs[i]);
    }
    sweep->count = 0;
}

/* ---- adjusters --------------------------------------------------------------------------------------------------- */

kp_adjuster_data *kp_adjuster_of(kp_damper_data *data, kp_direction direction)
{
    if (direction == KP_REBOUND) {
        return data->has_adjuster ? &data->adjuster : NULL;
    }
    return data->reservoir.given && data->reservoir.has_adjuster ? &data->reservoir.adjuster : NULL;
}

/* Points at the low-speed limit with the adjuster at some clicks. Returned: false when there is no such damper, as with
   an adjuster that opens only one way at a bad place. */
static bool points_at(const kp_run *run, kp_direction which, int clicks, kp_curve_point points[KP_DIRECTION_COUNT])
{
    kp_damper_data data = run->data;
    kp_damper *damper = NULL;
    kp_error ignored = {0};
    kp_findings findings = {0};
    kp_adjuster_of(&data, which)->clicks = clicks;

    bool good = kp_damper_validate(&data, &findings, &ignored) == KP_OK && kp_findings_fault_count(&findings) == 0 &&
                kp_damper_variant(run->damper, &data, &damper, &ignored) == KP_OK;

    for (int d = 0; good && d < KP_DIRECTION_COUNT; d++) {
        double speed = d == KP_COMPRESSION ? run->limits.low : -run->limits.low;
        good = kp_curve_at(damper, speed, &points[d], &ignored) == KP_OK;
    }

    kp_damper_free(damper);
    kp_findings_free(&findings);
    return good;
}

bool kp_adjuster_effect(const kp_run *run, kp_direction which, double change[KP_DIRECTION_COUNT])
{
    kp_damper_data data = run->data;
    const kp_adjuster_data *adjuster = kp_adjuster_of(&data, which);
    kp_curve_point now[KP_DIRECTION_COUNT];
    kp_curve_point open[KP_DIRECTION_COUNT];

    if (adjuster == NULL || !points_at(run, which, adjuster->clicks, now) ||
        !points_at(run, which, adjuster->max_clicks, open)) {
        return false;
    }

    /* Change of the oil's force from now to fully open, in each direction. */
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        double percent = 100.0 * (fabs(open[d].hydraulic_force) / fabs(now[d].hydraulic_force) - 1.0);
        change[d] = fabs(percent) < SMALLEST_CHANGE ? 0.0 : percent; /* no -0.0 */
    }

    return true;
}
