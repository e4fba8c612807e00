/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A damper made ready: areas, gas pressure, branches of both directions, lift tables that reach far enough. */
#include "damper/damper_internal.h"

#include "kneepoint/disc.h"
#include "kneepoint/fluid.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

/* A lift table starts at this pressure and is doubled until it reaches far enough. */
static const double TABLE_FIRST = 1e6; /* [Pa] */
/* It must reach this much further than the fastest point needs, so that a variant (a smaller bleed, colder oil) can
   read the same table. */
static const double TABLE_MARGIN = 1.25; /* [-] */
/* Beyond this no shim, piston or seal of this kind is in one piece: the speed asked for makes no sense. */
static const double PRESSURE_MOST = 150e6; /* [Pa] */

/* ---- preparing -------------------------------------------------------------------------------------------------- */

/* The gas is taken at the oil's temperature: a damper warm enough for its oil to be so has warmed its gas too. */
static kp_status prepare_gas(kp_damper *damper, kp_error *error)
{
    const kp_damper_data *data = &damper->data;
    kp_status status = kp_gas_pressure(&data->gas, damper->rod_area * data->position, data->oil_temperature,
                                       &damper->gas_pressure, error);
    if (status != KP_OK) {
        return status;
    }
    if (!(data->release_pressure >= 0) || !(damper->gas_pressure > data->release_pressure)) {
        return kp_error_set(
            error, KP_OUT_OF_RANGE,
            "gas pressure %g bar absolute with the rod %g mm in is not above %g bar absolute, where air "
            "comes out of the oil: the damper cavitates at rest; it needs charge",
            damper->gas_pressure / 1e5, data->position * 1e3, data->release_pressure / 1e5);
    }
    return KP_OK;
}

static void prepare_circuit(kp_damper *damper, kp_direction direction, const kp_flow_oil *oil)
{
    const kp_damper_data *data = &damper->data;
    kp_circuit *circuit = &damper->circuits[direction];
    const kp_flows other = direction == KP_COMPRESSION ? KP_FLOWS_REBOUND : KP_FLOWS_COMPRESSION;
    *circuit = (kp_circuit){
        .oil = *oil,
        .valve = kp_valve_make(&data->valves[direction], oil, damper->tables[direction]),
        .leak = {.diameter = data->bore,
                 .clearance = data->leak.clearance,
                 .length = data->leak.clearance > 0 ? data->leak.length : 1, /* tight: no flow over any length */
                 .eccentricity = data->leak.eccentricity},
    };
    for (size_t i = 0; i < data->bleed_count; i++) {
        const kp_bleed *b = &data->bleeds[i];
        if (b->ports > b->plugged && b->flows != other) {
            circuit->orifices[circuit->orifice_count++] =
                (kp_orifice){.count = b->ports - b->plugged, .diameter = b->diameter, .length = b->length};
        }
    }
}

/* Areas, gas, oil: all but the tables and the circuits on them. */
static kp_status prepare_body(kp_damper *damper, kp_flow_oil *oil, kp_error *error)
{
    const kp_damper_data *data = &damper->data;
    damper->rod_area = PI / 4 * data->rod * data->rod;
    damper->driven_area = PI / 4 * data->bore * data->bore - damper->rod_area;
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

/* Checks, copies, prepares the body; tables come next. */
static kp_status start(const kp_damper_data *data, double largest_speed, kp_damper **out, kp_flow_oil *oil,
                       kp_error *error)
{
    kp_status status = kp_damper_check(data, largest_speed, error);
    if (status != KP_OK) {
        return status;
    }
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

static void finish_direction(kp_damper *damper, kp_direction direction, const kp_flow_oil *oil)
{
    size_t disc;
    damper->yields[direction] =
        kp_lift_table_yields(damper->tables[direction], &damper->yield_pressure[direction], &disc);
    prepare_circuit(damper, direction, oil);
}

/* ---- lift tables that reach ---------------------------------------------------------------------------------------
 */

/* Does the table reach the fastest point, and the margin beyond? */
static kp_status reaches(const kp_damper *damper, kp_direction direction, bool *yes, kp_error *error)
{
    const kp_circuit *circuit = &damper->circuits[direction];
    double target = damper->largest_speed * (damper->driven_area - damper->drag_area);
    kp_circuit_state state;
    kp_status status = kp_circuit_at(circuit, kp_lift_table_reach(circuit->valve.lift) / TABLE_MARGIN, &state, error);
    if (status == KP_OK) {
        *yes = state.flow >= target;
    }
    return status;
}

static kp_status solve_table(kp_damper *damper, kp_direction direction, const kp_flow_oil *oil, kp_error *error)
{
    kp_disc discs[KP_MAX_STACK_LINES];
    kp_stack stack = kp_damper_stack(&damper->data, direction, discs);
    kp_status status = kp_lift_table_build(&stack, TABLE_FIRST, &damper->tables[direction], error);
    if (status != KP_OK) {
        return status;
    }
    damper->owns_table[direction] = true;
    kp_lift_table *table = damper->tables[direction];
    prepare_circuit(damper, direction, oil);
    for (double reach = TABLE_FIRST; status == KP_OK; reach *= 2) {
        bool yes;
        status = reaches(damper, direction, &yes, error);
        if (status != KP_OK || yes) {
            break;
        }
        if (2 * reach > PRESSURE_MOST) {
            return kp_error_set(error, KP_OUT_OF_RANGE,
                                "at %g m/s the stack would be loaded by more than %g MPa: a lower largest speed, more "
                                "bleed, a larger port or a softer stack is needed",
                                damper->largest_speed, reach / TABLE_MARGIN / 1e6);
        }
        status = kp_lift_table_cover(table, 2 * reach, error);
    }
    return status;
}

/* Prepares a damper ready to be read.
   Given:    data as read and examined; largest_speed [m/s] > 0
   Returned: damper; free with kp_damper_free
   Valid:    monotube: the rod's oil goes straight to the gas chamber (no reservoir valve, no hose); flow steady
   Accuracy: see kp_curve_at
   Status:   KP_OUT_OF_RANGE with the number that is wrong, KP_NO_SOLUTION naming the shim and load, KP_NO_MEMORY */
kp_status kp_damper_begin(const kp_damper_data *data, double largest_speed, kp_damper **out, kp_error *error)
{
    kp_damper *damper;
    kp_flow_oil oil;
    kp_status status = start(data, largest_speed, &damper, &oil, error);
    if (status != KP_OK) {
        return status;
    }
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        status = solve_table(damper, (kp_direction)d, &oil, error);
        if (status == KP_OK) {
            finish_direction(damper, (kp_direction)d, &oil);
        } else {
            kp_error_prefix(error, "%s: ", kp_direction_name((kp_direction)d));
        }
    }
    if (status != KP_OK) {
        kp_damper_free(damper);
        return status;
    }
    *out = damper;
    return KP_OK;
}

kp_status kp_damper_begin_with_tables(const kp_damper_data *data, double largest_speed,
                                      kp_lift_table *const tables[KP_DIRECTION_COUNT], kp_damper **out, kp_error *error)
{
    kp_damper *damper;
    kp_flow_oil oil;
    kp_status status = start(data, largest_speed, &damper, &oil, error);
    if (status != KP_OK) {
        return status;
    }
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        damper->tables[d] = tables[d];
        finish_direction(damper, (kp_direction)d, &oil);
    }
    *out = damper;
    return KP_OK;
}

/* ---- variants
 * -------------------------------------------------------------------------------------------------------- */

static bool same_disc(const kp_disc *a, const kp_disc *b)
{
    const kp_material *x = &a->material, *y = &b->material;
    return a->count == b->count && a->outer_radius == b->outer_radius && a->thickness == b->thickness &&
           a->hole_radius == b->hole_radius && a->slot_count == b->slot_count && a->slot_width == b->slot_width &&
           a->slot_inner == b->slot_inner && x->young == y->young && x->poisson == y->poisson && x->yield == y->yield &&
           x->tensile == y->tensile && x->fatigue == y->fatigue;
}

/* Same bits in everything that the lift of the stack depends on: all of kp_stack. A size added there belongs here too,
   or a variant would share a table that is not its own. */
static bool same_stack(const kp_damper_data *first, const kp_damper_data *second, kp_direction direction)
{
    kp_disc first_discs[KP_MAX_STACK_LINES], second_discs[KP_MAX_STACK_LINES];
    kp_stack a = kp_damper_stack(first, direction, first_discs), b = kp_damper_stack(second, direction, second_discs);
    bool same = a.clamp_radius == b.clamp_radius && a.port_inner_radius == b.port_inner_radius &&
                a.land_inner_radius == b.land_inner_radius && a.land_outer_radius == b.land_outer_radius &&
                a.load_coverage == b.load_coverage && a.dish == b.dish && a.grip == b.grip &&
                a.nut_load == b.nut_load && a.nut_friction == b.nut_friction && a.stop_count == b.stop_count &&
                a.disc_count == b.disc_count;
    for (size_t i = 0; same && i < a.stop_count; i++) {
        same = a.stop_radius[i] == b.stop_radius[i] && a.stop_gap[i] == b.stop_gap[i];
    }
    for (size_t i = 0; same && i < a.disc_count; i++) {
        same = same_disc(&a.discs[i], &b.discs[i]);
    }
    return same;
}

/* The same damper with other bleeds, oil, temperature, charge, position, friction.
   Given:    base, which must outlive the new one; data with the same stacks and lands
   Returned: a damper that reads base's lift tables; where one does not reach far enough (a much smaller bleed), that
             direction is solved anew
   Status:   KP_OUT_OF_RANGE when a stack or land differs, and as kp_damper_begin */
kp_status kp_damper_variant(const kp_damper *base, const kp_damper_data *data, kp_damper **out, kp_error *error)
{
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        if (!same_stack(&base->data, data, (kp_direction)d)) {
            return kp_error_set(error, KP_OUT_OF_RANGE,
                                "variant: the %s stack, clamp or land differs: it needs a damper of its own",
                                kp_direction_name((kp_direction)d));
        }
    }
    kp_damper *damper;
    kp_status status = kp_damper_begin_with_tables(data, base->largest_speed, base->tables, &damper, error);
    if (status != KP_OK) {
        return status;
    }
    const double speed = damper->largest_speed;
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        kp_circuit_state state;
        kp_error trial = {0};
        kp_status reach = kp_damper_full_drop(damper, (kp_direction)d, speed, &state, &trial);
        if (reach == KP_OUT_OF_RANGE) {
            kp_flow_oil oil = damper->circuits[d].oil;
            status = solve_table(damper, (kp_direction)d, &oil, error);
            if (status == KP_OK) {
                finish_direction(damper, (kp_direction)d, &oil);
            }
        } else if (reach != KP_OK) {
            status = kp_error_set(error, reach, "%s", trial.message);
        }
    }
    if (status != KP_OK) {
        kp_damper_free(damper);
        return status;
    }
    *out = damper;
    return KP_OK;
}

void kp_damper_free(kp_damper *damper)
{
    if (!damper) {
        return;
    }
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        if (damper->owns_table[d]) {
            kp_lift_table_free(damper->tables[d]);
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
