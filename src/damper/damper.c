/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A damper made ready: areas, gas pressure, branches of both directions, lift tables that reach far enough. */
#include "damper/damper_internal.h"

#include "kneepoint/lift.h"
#include "kneepoint/stack.h"
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
    kp_status status = kp_damper_gas_pressure(data, &damper->gas_pressure, error);
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

/* Areas, gas, oil: all but the tables and the circuits on them. */
static kp_status prepare_body(kp_damper *damper, kp_flow_oil *oil, kp_error *error)
{
    const kp_damper_data *data = &damper->data;
    damper->rod_area = PI / 4 * data->rod * data->rod;
    damper->bore_area = PI / 4 * data->bore * data->bore;
    damper->driven_area = damper->bore_area - damper->rod_area;
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

static bool has_reservoir_valve(const kp_damper_data *data)
{
    return data->reservoir.given && data->reservoir.has_valve;
}

static void drop_springs(kp_damper *damper)
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
    if (status == KP_OUT_OF_RANGE || (status == KP_OK && state.drop > PRESSURE_MOST)) {
        return kp_error_set(
            error, KP_OUT_OF_RANGE,
            "reservoir, %s: the %.3g L/min that the rod drives at %g m/s would take more than %g MPa: a "
            "wider valve, bleed, return check or hose, or a lower largest speed is needed",
            kp_direction_name(direction), flow * 6e4, damper->largest_speed, PRESSURE_MOST / 1e6);
    }
    return status;
}

/* Branches of both directions, on tables that are there and reach. */
static kp_status finish(kp_damper *damper, const kp_flow_oil *oil, kp_error *error)
{
    drop_springs(damper);
    kp_status status = KP_OK;
    for (int v = 0; v < KP_VALVE_COUNT; v++) {
        size_t disc;
        damper->yields[v] =
            damper->tables[v] && kp_lift_table_yields(damper->tables[v], &damper->yield_pressure[v], &disc);
    }
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

/* ---- lift tables that reach ---------------------------------------------------------------------------------------
 */

/* Does the table reach the flow, and the margin beyond? */
static kp_status reaches(const kp_circuit *circuit, double flow, bool *yes, kp_error *error)
{
    kp_circuit_state state;
    kp_status status = kp_circuit_at(circuit, kp_lift_table_reach(circuit->valve.lift) / TABLE_MARGIN, &state, error);
    if (status == KP_OK) {
        *yes = state.flow >= flow;
    }
    return status;
}

/* Table of a valve: its stack solved from nothing, or its plate's straight line. */
static kp_status begin_table(kp_damper *damper, int valve, kp_error *error)
{
    const kp_valve_data *data = &damper->data.valves[valve];
    kp_status status;
    if (data->has_plate) {
        status = kp_spring_table(&data->plate, kp_valve_plate_area(data), KP_SPRING_FAR, &damper->tables[valve], error);
    } else {
        kp_disc discs[KP_MAX_STACK_LINES];
        kp_stack stack = kp_damper_stack(&damper->data, (kp_direction)valve, discs);
        status = kp_lift_table_build(&stack, TABLE_FIRST, &damper->tables[valve], error);
    }
    damper->owns_table[valve] = status == KP_OK;
    return status;
}

/* Extends the table of a circuit's valve until it passes the flow. */
static kp_status cover_flow(kp_lift_table *table, const kp_circuit *circuit, double flow, double speed, kp_error *error)
{
    kp_status status = KP_OK;
    while (status == KP_OK) {
        bool yes;
        double reach = kp_lift_table_reach(table);
        status = reaches(circuit, flow, &yes, error);
        if (status != KP_OK || yes) {
            break;
        }
        if (reach >= PRESSURE_MOST) {
            return kp_error_set(error, KP_OUT_OF_RANGE,
                                "at %g m/s the valve would be loaded by more than %g MPa: a lower largest speed, more "
                                "bleed, a larger port or a softer stack or spring is needed",
                                speed, fmin(reach, PRESSURE_MOST) / TABLE_MARGIN / 1e6);
        }
        status = kp_lift_table_extend(table, fmin(2 * reach, PRESSURE_MOST), error);
    }
    return status;
}

static kp_status solve_table(kp_damper *damper, kp_direction direction, const kp_flow_oil *oil, kp_error *error)
{
    kp_status status = begin_table(damper, (int)direction, error);
    if (status == KP_OK) {
        status = kp_circuit_prepare_piston(damper, direction, oil, error);
    }
    if (status == KP_OK) {
        status =
            cover_flow(damper->tables[direction], &damper->circuits[direction],
                       damper->largest_speed * (damper->driven_area - damper->drag_area), damper->largest_speed, error);
    }
    return status;
}

/* The reservoir's valve must reach what the rod drives and, where the margin is gone, the pressure that stands over it
   while the piston's drop stays below its full value. */
static kp_status solve_reservoir(kp_damper *damper, const kp_flow_oil *oil, kp_error *error)
{
    kp_status status = begin_table(damper, KP_RESERVOIR_VALVE, error);
    if (status == KP_OK) {
        status = kp_reservoir_path_prepare(damper, KP_COMPRESSION, oil, error);
    }
    kp_lift_table *table = damper->tables[KP_RESERVOIR_VALVE];
    if (status == KP_OK) {
        status = cover_flow(table, &damper->reservoir_paths[KP_COMPRESSION].circuit,
                            damper->largest_speed * damper->rod_area, damper->largest_speed, error);
    }
    kp_circuit_state state;
    if (status == KP_OK) {
        status = kp_damper_full_drop(damper, KP_COMPRESSION, damper->largest_speed, &state, error);
    }
    double most = status == KP_OK ? state.drop - (damper->gas_pressure - damper->data.release_pressure) : 0;
    if (status == KP_OK && most > kp_lift_table_reach(table)) {
        status = kp_lift_table_extend(table, most, error);
    }
    return status == KP_OK ? status : kp_error_prefix(error, "reservoir: ");
}

/* Prepares a damper ready to be read.
   Given:    data as read and examined; largest_speed [m/s] > 0
   Returned: damper; free with kp_damper_free
   Valid:    monotube, with or without a reservoir; flow steady
   Accuracy: see kp_curve_at
   Status:   KP_OUT_OF_RANGE with the number that is wrong, KP_NO_SOLUTION naming the shim and load, KP_NO_MEMORY */
kp_status kp_damper_begin(const kp_damper_data *data, double largest_speed, kp_damper **out, kp_error *error)
{
    kp_damper *damper = NULL;
    kp_flow_oil oil;
    kp_status status = start(data, largest_speed, &damper, &oil, error);
    if (status != KP_OK) {
        return status;
    }
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        status = solve_table(damper, (kp_direction)d, &oil, error);
        if (status != KP_OK) {
            kp_error_prefix(error, "%s: ", kp_direction_name((kp_direction)d));
        }
    }
    if (status == KP_OK && has_reservoir_valve(data)) {
        status = solve_reservoir(damper, &oil, error);
    }
    if (status == KP_OK) {
        status = finish(damper, &oil, error);
    }
    if (status != KP_OK) {
        kp_damper_free(damper);
        return status;
    }
    *out = damper;
    return KP_OK;
}

/* Screening tables rank stacks; what a damper says is read as an answer. */
static kp_status refuse_coarse(kp_lift_table *const tables[KP_DIRECTION_COUNT], kp_error *error)
{
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        if (tables[d] != NULL && kp_lift_table_is_coarse(tables[d])) {
            return kp_error_set(error, KP_OUT_OF_RANGE,
                                "%s: the lift table is a coarse one, good for ranking stacks only: build it with "
                                "kp_lift_table_build",
                                kp_direction_name((kp_direction)d));
        }
    }
    return KP_OK;
}

kp_status kp_damper_begin_with_tables(const kp_damper_data *data, double largest_speed,
                                      kp_lift_table *const tables[KP_DIRECTION_COUNT], kp_damper **out, kp_error *error)
{
    kp_damper *damper = NULL;
    kp_flow_oil oil;
    kp_status status = refuse_coarse(tables, error);
    status = status == KP_OK ? start(data, largest_speed, &damper, &oil, error) : status;
    if (status != KP_OK) {
        return status;
    }
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        damper->tables[d] = tables[d];
    }
    if (has_reservoir_valve(data)) {
        kp_damper_free(damper);
        return kp_error_set(error, KP_OUT_OF_RANGE, "a damper on given lift tables cannot have a reservoir valve");
    }
    status = finish(damper, &oil, error);
    if (status != KP_OK) {
        kp_damper_free(damper);
        return status;
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
           a->has_hole == b->has_hole && a->hole_radius == b->hole_radius && a->slot_count == b->slot_count &&
           a->slot_width == b->slot_width && a->slot_inner == b->slot_inner && x->young == y->young &&
           x->poisson == y->poisson && x->yield == y->yield && x->tensile == y->tensile && x->fatigue == y->fatigue;
}

/* Same bits in everything that the lift of the stack depends on: all of kp_stack. A size added there belongs here too,
   or a variant would share a table that is not its own. */
static bool same_stack(const kp_damper_data *first, const kp_damper_data *second, kp_direction direction)
{
    const kp_valve_data *p = &first->valves[direction], *q = &second->valves[direction];
    if (p->has_plate != q->has_plate) {
        return false;
    }
    if (p->has_plate &&
        !(p->plate.preload == q->plate.preload && p->plate.rate == q->plate.rate && p->plate.lift == q->plate.lift)) {
        return false;
    }
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

/* Does the damper, on tables that it was given, reach its largest speed in a direction? KP_OUT_OF_RANGE: no. */
static kp_status reach_status(const kp_damper *damper, kp_direction direction, kp_error *error)
{
    kp_curve_point point;
    kp_error trial = {0};
    double speed = damper->largest_speed;
    kp_status status = kp_curve_at(damper, direction == KP_COMPRESSION ? speed : -speed, &point, &trial);
    return status == KP_OK || status == KP_OUT_OF_RANGE ? status : kp_error_set(error, status, "%s", trial.message);
}

/* Solves anew what does not reach. */
static kp_status reach_further(kp_damper *damper, const kp_flow_oil *oil, kp_error *error)
{
    kp_status status = KP_OK;
    bool changed = false;
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        kp_status reach = reach_status(damper, (kp_direction)d, error);
        status = reach;
        if (reach == KP_OUT_OF_RANGE) {
            changed = true;
            status = solve_table(damper, (kp_direction)d, oil, error);
        }
    }
    if (status == KP_OK && changed && has_reservoir_valve(&damper->data)) {
        status = solve_reservoir(damper, oil, error);
    }
    return status == KP_OK && changed ? finish(damper, oil, error) : status;
}

/* The same damper with other bleeds, adjusters, oil, temperature, charge, position, friction.
   Given:    base, which must outlive the new one; data with the same stacks and lands
   Returned: a damper that reads base's lift tables; where one does not reach far enough (a much smaller bleed), that
             direction is solved anew
   Status:   KP_OUT_OF_RANGE when a stack or land differs, and as kp_damper_begin */
kp_status kp_damper_variant(const kp_damper *base, const kp_damper_data *data, kp_damper **out, kp_error *error)
{
    for (int v = 0; v < KP_VALVE_COUNT; v++) {
        bool there = v < KP_DIRECTION_COUNT || has_reservoir_valve(&base->data);
        bool wanted = v < KP_DIRECTION_COUNT || has_reservoir_valve(data);
        if (there != wanted || (there && !same_stack(&base->data, data, (kp_direction)v))) {
            return kp_error_set(error, KP_OUT_OF_RANGE,
                                "variant: the %s stack, clamp or land differs: it needs a damper of its own",
                                v == KP_RESERVOIR_VALVE ? "reservoir's" : kp_direction_name((kp_direction)v));
        }
    }
    kp_damper *damper = NULL;
    kp_flow_oil oil;
    kp_status status = start(data, base->largest_speed, &damper, &oil, error);
    if (status != KP_OK) {
        return status;
    }
    memcpy(damper->tables, base->tables, sizeof damper->tables);
    status = finish(damper, &oil, error);
    if (status == KP_OK) {
        status = reach_further(damper, &oil, error);
    }
    if (status != KP_OK) {
        kp_damper_free(damper);
        return status;
    }
    *out = damper;
    return KP_OK;
}

kp_status kp_damper_on_tables(const kp_damper *base, const kp_damper_data *data,
                              kp_lift_table *const tables[KP_DIRECTION_COUNT], kp_damper **out, kp_error *error)
{
    kp_damper *damper = NULL;
    kp_flow_oil oil;
    if (has_reservoir_valve(&base->data) != has_reservoir_valve(data)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "a damper on given lift tables keeps its reservoir valve");
    }
    kp_status status = refuse_coarse(tables, error);
    status = status == KP_OK ? start(data, base->largest_speed, &damper, &oil, error) : status;
    if (status != KP_OK) {
        return status;
    }
    memcpy(damper->tables, base->tables, sizeof damper->tables);
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        damper->tables[d] = tables[d] != NULL ? tables[d] : base->tables[d];
    }
    status = finish(damper, &oil, error);
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
    drop_springs(damper);
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
