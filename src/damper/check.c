/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What this room itself needs of a damper's numbers; kp_damper_examine says the rest, with keys and hints. A caller of
   the library may come here without it. */
#include "damper/damper_internal.h"

#include <math.h>

static kp_status check_valve(const kp_valve_data *v, kp_direction direction, kp_error *error)
{
    bool port = v->port_area > 0 && v->port_discharge > 0 && v->port_discharge <= 1;
    bool land = v->land_inner > 0 && v->land_outer >= v->land_inner && isfinite(v->land_outer);
    bool curtain =
        v->curtain_discharge > 0 && v->curtain_discharge <= 1 && v->curtain_coverage > 0 && v->curtain_coverage <= 1;
    bool head = v->velocity_head_share >= 0 && v->velocity_head_share <= 1;
    if (port && land && curtain && head) {
        return KP_OK;
    }
    return kp_error_set(
        error, KP_OUT_OF_RANGE,
        "%s valve: port %g m2 (C %g), land %g to %g m, curtain C %g over %g of the circle, velocity head "
        "share %g: areas and sizes must be positive, land outer >= inner, coefficients, coverage and "
        "share 0 to 1",
        kp_direction_name(direction), v->port_area, v->port_discharge, v->land_inner, v->land_outer,
        v->curtain_discharge, v->curtain_coverage, v->velocity_head_share);
}

static kp_status check_bleeds(const kp_damper_data *data, kp_error *error)
{
    if (data->bleed_count > KP_MAX_BLEEDS) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "%zu kinds of bleed ports, at most %d", data->bleed_count,
                            (int)KP_MAX_BLEEDS);
    }
    for (size_t i = 0; i < data->bleed_count; i++) {
        const kp_bleed *b = &data->bleeds[i];
        if (!(b->plugged >= 0 && b->plugged <= b->ports && b->diameter > 0 && b->length > 0)) {
            return kp_error_set(
                error, KP_OUT_OF_RANGE,
                "bleed %zu: %d ports of which %d plugged, diameter %g m, length %g m: need 0 <= plugged "
                "<= ports and positive sizes",
                i + 1, b->ports, b->plugged, b->diameter, b->length);
        }
    }
    return KP_OK;
}

static kp_status check_body(const kp_damper_data *data, double largest_speed, kp_error *error)
{
    const kp_leak_data *leak = &data->leak;
    if (!(largest_speed > 0) || !isfinite(largest_speed)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "largest speed %g m/s must be positive", largest_speed);
    }
    if (!(data->rod > 0 && data->bore > data->rod && isfinite(data->bore))) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "bore %g m must be larger than rod %g m > 0", data->bore,
                            data->rod);
    }
    if (!(data->position >= 0 && data->position <= data->stroke && isfinite(data->stroke))) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "position %g m must lie within the stroke, 0 to %g m",
                            data->position, data->stroke);
    }
    if (!(data->friction >= 0 && isfinite(data->friction))) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "friction %g N must be 0 or more", data->friction);
    }
    bool tight = leak->clearance == 0;
    bool gap = leak->clearance > 0 && leak->length > 0 && leak->eccentricity >= 0 && leak->eccentricity <= 1;
    if (!tight && !gap) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "leak: clearance %g m over %g m, eccentricity %g: need clearance >= 0, length > 0, "
                            "eccentricity 0 to 1",
                            leak->clearance, leak->length, leak->eccentricity);
    }
    return check_bleeds(data, error);
}

kp_status kp_damper_check(const kp_damper_data *data, double largest_speed, kp_error *error)
{
    kp_status status = check_body(data, largest_speed, error);
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        status = check_valve(&data->valves[d], (kp_direction)d, error);
    }
    return status;
}
