/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The ranges that this room's arithmetic needs. kp_damper_validate reports everything else, with keys and hints, but a
   caller of the library may come here without it. */
#include "damper/damper_internal.h"

#include <math.h>

static kp_status check_valve(const kp_valve_data *v, const char *name, kp_error *error)
{
    /* Each group of sizes; the message has the numbers of all. */
    bool port = v->port_area > 0 && v->port_discharge > 0 && v->port_discharge <= 1 &&
                (!v->has_port_entry || v->port_entry > 0);
    bool land = v->land_inner > 0 && v->land_outer >= v->land_inner && isfinite(v->land_outer);
    bool given = !v->has_curtain_discharge || (v->curtain_discharge > 0 && v->curtain_discharge <= 1);
    bool scales =
        v->curtain_scale > 0 && isfinite(v->curtain_scale) && v->flow_force_scale >= 0 && isfinite(v->flow_force_scale);
    bool curtain = given && scales && v->curtain_coverage > 0 && v->curtain_coverage <= 1;
    bool head = v->velocity_head_share >= 0 && v->velocity_head_share <= 1;

    if (port && land && curtain && head) {
        return KP_OK;
    }

    return kp_error_set(
        error, KP_OUT_OF_RANGE,
        "%s valve: port %g m2 (C %g, entry %g m2), land %g to %g m, curtain C %g x %g over %g of the circle, velocity "
        "head share %g, flow force x %g: areas, sizes and the curtain's scale must be positive, land outer >= inner, "
        "coefficients, coverage and share 0 to 1, the flow force's scale 0 or more",
        name, v->port_area, v->port_discharge, v->port_entry, v->land_inner, v->land_outer, v->curtain_discharge,
        v->curtain_scale, v->curtain_coverage, v->velocity_head_share, v->flow_force_scale);
}

static kp_status check_bleeds(const kp_bleed *bleeds, size_t count, kp_error *error)
{
    if (count > KP_MAX_BLEEDS) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "%zu kinds of bleed ports, at most %d", count, (int)KP_MAX_BLEEDS);
    }

    for (size_t i = 0; i < count; i++) {
        const kp_bleed *b = &bleeds[i];
        bool ports = b->plugged >= 0 && b->plugged <= b->ports && b->diameter > 0 && b->length > 0;
        bool jets = b->jetted >= 0 && b->jetted <= b->ports - b->plugged && (b->jetted == 0 || b->jet > 0) &&
                    (!b->has_jet_length || b->jet_length > 0);
        bool check = !b->has_check || (b->check.seat > 0 && b->flows != KP_FLOWS_BOTH);
        if (!(ports && jets && check)) {
            return kp_error_set(error, KP_OUT_OF_RANGE,
                                "bleed %zu: %d ports of which %d plugged and %d jetted, diameter %g m, jet %g m, "
                                "length %g m: need 0 <= "
                                "plugged + jetted <= ports, positive sizes, and one way behind a check valve",
                                i + 1, b->ports, b->plugged, b->jetted, b->diameter, b->jet, b->length);
        }
    }

    return KP_OK;
}

static kp_status check_adjuster(const kp_adjuster_data *a, const char *name, kp_error *error)
{
    bool range = a->clicks >= 0 && a->clicks <= a->max_clicks && a->point_count <= KP_MAX_ADJUSTER_POINTS;
    bool sizes = a->seat > 0 && (!a->has_discharge || (a->discharge > 0 && a->discharge <= 1));
    bool area = range && kp_adjuster_area(a, a->clicks) >= 0 && isfinite(kp_adjuster_area(a, a->clicks));

    if (range && sizes && area) {
        return KP_OK;
    }

    return kp_error_set(
        error, KP_OUT_OF_RANGE,
        "%s adjuster: %d of %d clicks, seat %g m, C %g: need clicks in their range, a seat, C 0 to 1 and "
        "an area of 0 or more",
        name, a->clicks, a->max_clicks, a->seat, a->discharge);
}

static kp_status check_reservoir(const kp_damper_data *data, kp_error *error)
{
    const kp_reservoir_data *r = &data->reservoir;
    if (!r->given) {
        return KP_OK;
    }

    kp_status status = check_bleeds(r->bleeds, r->bleed_count, error);
    if (status == KP_OK && r->has_valve) {
        status = check_valve(&data->valves[KP_RESERVOIR_VALVE], "reservoir", error);
    }
    if (status == KP_OK && r->has_adjuster) {
        status = check_adjuster(&r->adjuster, "compression", error);
    }

    /* The way back and the hose. */
    bool bore = !r->has_bore || r->bore > 0;
    bool check = !r->has_return || r->return_check.seat > 0;
    bool hose = !r->has_hose || (r->hose.length > 0 && r->hose.bore > 0);
    if (status == KP_OK && !(bore && check && hose)) {
        status =
            kp_error_set(error, KP_OUT_OF_RANGE,
                         "reservoir: bore %g m, return check seat %g m, hose %g m long, %g m bore: must be positive",
                         r->bore, r->return_check.seat, r->hose.length, r->hose.bore);
    }

    return status;
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

    /* A leak of no clearance needs no other size. */
    bool tight = leak->clearance == 0;
    bool gap = leak->clearance > 0 && leak->length > 0 && leak->eccentricity >= 0 && leak->eccentricity <= 1;
    if (!tight && !gap) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "leak: clearance %g m over %g m, eccentricity %g: need clearance >= 0, length > 0, "
                            "eccentricity 0 to 1",
                            leak->clearance, leak->length, leak->eccentricity);
    }

    return check_bleeds(data->bleeds, data->bleed_count, error);
}

kp_status kp_damper_check(const kp_damper_data *data, double largest_speed, kp_error *error)
{
    kp_status status = check_body(data, largest_speed, error);
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        status = check_valve(&data->valves[d], kp_direction_name((kp_direction)d), error);
    }

    if (status == KP_OK && data->has_adjuster) {
        status = check_adjuster(&data->adjuster, "rebound", error);
    }

    if (status == KP_OK) {
        status = check_reservoir(data, error);
    }

    return status;
}
