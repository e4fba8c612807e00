/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What every damper goes through: checks, areas, gas pressure, oil; and the branches of both directions on lift tables
   that are there. */
#include "damper/damper_internal.h"

#include "kneepoint/fluid.h"

#include <math.h>
#include <stdlib.h>

bool kp_damper_has_reservoir_valve(const kp_damper_data *data)
{
    return data->reservoir.given && data->reservoir.has_valve;
}

/* ---- body ---- */

/* The gas is taken at the oil's temperature: a damper warm enough for its oil to be so has warmed its gas too. */
static kp_status prepare_gas(kp_damper *damper, kp_error *error)
{
    const kp_damper_data *data = &damper->data;
    kp_status status = kp_damper_gas_pressure(data, &damper->gas_pressure, error);
    if (status != KP_OK) {
        return status;
    }

    /* Otherwise the damper cavitates at rest. */
    if (!(data->release_pressure >= 0) || !(damper->gas_pressure > data->release_pressure)) {
        return kp_error_set(
            error, KP_OUT_OF_RANGE,
            "gas pressure %g bar absolute with the rod %g mm in is not above %g bar absolute, where air "
            "comes out of the oil: the damper cavitates at rest; it needs charge",
            damper->gas_pressure / 1e5, data->position * 1e3, data->release_pressure / 1e5);
    }

    return KP_OK;
}

/* Areas, gas, oil: all but the tables and the circuits on them. */
static kp_status prepare_body(kp_damper *damper, kp_flow_oil *oil, kp_error *error)
{
    const kp_damper_data *data = &damper->data;

    damper->rod_area = KP_PI / 4 * data->rod * data->rod;
    damper->bore_area = KP_PI / 4 * data->bore * data->bore;
    damper->driven_area = damper->bore_area - damper->rod_area;

    /* The wall's drag alone must not carry all that the piston drives. */
    kp_leak gap = {.diameter = data->bore, .clearance = data->leak.clearance};
    damper->drag_area = kp_leak_couette(&gap, 1.0);
    if (!(damper->drag_area < damper->driven_area)) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "leak: a clearance of %g mm would carry all the oil by the wall's motion alone",
                            data->leak.clearance * 1e3);
    }

    kp_status status = kp_oil_viscosity(&data->oil, data->oil_temperature, &oil->viscosity, error);
    if (status == KP_OK) {
        status = kp_oil_density(&data->oil, data->oil_temperature, &oil->density, error);
    }

    return status == KP_OK ? prepare_gas(damper, error) : status;
}

kp_status kp_damper_start(const kp_damper_data *data, double largest_speed, kp_damper **out, kp_flow_oil *oil,
                          kp_error *error)
{
    kp_status status = kp_damper_check(data, largest_speed, error);
    if (status != KP_OK) {
        return status;
    }

    /* Areas, gas and oil of a copy: the caller's data may change. */
    kp_damper *damper = calloc(1, sizeof *damper);
    if (!damper) {
        return kp_error_set(error, KP_NO_MEMORY, "damper: no memory");
    }

    damper->data = *data;
    damper->largest_speed = largest_speed;
    status = prepare_body(damper, oil, error);
    if (status != KP_OK) {
        kp_damper_free(damper);
        return status;
    }

    *out = damper;
    return KP_OK;
}

/* ---- branches ---- */

static void free_springs(kp_damper *damper)
{
    for (size_t i = 0; i < damper->spring_count; i++) {
        kp_lift_table_free(damper->springs[i]);
    }
    damper->spring_count = 0;
}

/* Is the way of the rod's oil wide enough at the largest speed? */
static kp_status check_reservoir_path(const kp_damper *damper, kp_direction direction, kp_error *error)
{
    double flow = damper->largest_speed * damper->rod_area;
    kp_rod_state state;

    kp_status status = kp_reservoir_path_at_flow(&damper->reservoir_paths[direction], flow, &state, error);
    if (status == KP_OUT_OF_RANGE || (status == KP_OK && state.drop > KP_MAX_PRESSURE)) {
        return kp_error_set(
            error, KP_OUT_OF_RANGE,
            "reservoir, %s: the %.3g L/min that the rod drives at %g m/s would take more than %g MPa: a "
            "wider valve, bleed, return check or hose, or a lower largest speed is needed",
            kp_direction_name(direction), flow * 6e4, damper->largest_speed, KP_MAX_PRESSURE / 1e6);
    }

    return status;
}

kp_status kp_damper_finish(kp_damper *damper, const kp_flow_oil *oil, kp_error *error)
{
    free_springs(damper); /* of an earlier finish: the branches are made again */

    /* Disc pressure at which the first shim of each valve yields. */
    for (int v = 0; v < KP_VALVE_COUNT; v++) {
        size_t disc;
        damper->yields[v] =
            damper->tables[v] && kp_lift_table_yields(damper->tables[v], &damper->yield_pressure[v], &disc);
    }

    /* Piston and reservoir path of each direction. */
    kp_status status = KP_OK;
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        status = kp_circuit_prepare_piston(damper, (kp_direction)d, oil, error);
        if (status == KP_OK) {
            status = kp_reservoir_path_prepare(damper, (kp_direction)d, oil, error);
        }
        if (status == KP_OK) {
            status = check_reservoir_path(damper, (kp_direction)d, error);
        }
    }

    return status;
}

void kp_damper_free(kp_damper *damper)
{
    if (!damper) {
        return;
    }
    free_springs(damper);
    for (int v = 0; v < KP_VALVE_COUNT; v++) {
        if (damper->owns_table[v]) {
            kp_lift_table_free(damper->tables[v]);
        }
    }
    free(damper);
}

const kp_damper_data *kp_damper_model(const kp_damper *damper)
{
    return &damper->data;
}

const kp_lift_table *kp_damper_lift_table(const kp_damper *damper, kp_direction direction)
{
    return damper->tables[direction];
}
