/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lift tables that reach far enough: a valve's table is extended until its circuit passes the largest flow. */
#include "damper/damper_internal.h"

#include "kneepoint/stack.h"

#include <math.h>

static const double FIRST_REACH =
    1e6; /* [Pa] a lift table starts with this reach, which is doubled until it suffices */
/* The table must reach this factor beyond what the fastest point needs, so that a variant (a smaller bleed, colder oil)
   can read the same table. */
static const double REACH_MARGIN = 1.25; /* [-] */

/* Does the table reach the flow [m3/s], and the margin beyond? */
static kp_status reaches(const kp_circuit *circuit, double flow, bool *yes, kp_error *error)
{
    kp_circuit_state state;
    kp_status status = kp_circuit_at(circuit, kp_lift_table_reach(circuit->valve.lift) / REACH_MARGIN, &state, error);
    if (status == KP_OK) {
        *yes = state.flow >= flow;
    }
    return status;
}

/* Table of a valve: its stack solved from the start, or the straight line of its spring-loaded plate. */
static kp_status begin_table(kp_damper *damper, int valve, kp_error *error)
{
    const kp_valve_data *data = &damper->data.valves[valve];
    kp_status status;

    /* A plate's lift is known in closed form over any range. */
    if (data->has_plate) {
        status = kp_spring_table(&data->plate, kp_valve_plate_area(data), KP_SPRING_FAR, &damper->tables[valve], error);
    } else {
        kp_disc discs[KP_MAX_STACK_LINES];
        kp_stack stack = kp_damper_stack(&damper->data, (kp_direction)valve, discs);
        status = kp_lift_table_build(&stack, FIRST_REACH, &damper->tables[valve], error);
    }

    damper->owns_table[valve] = status == KP_OK;
    return status;
}

/* Extends the table of a circuit's valve until the circuit passes the flow [m3/s]; speed [m/s] is for the message. */
static kp_status extend_to_flow(kp_lift_table *table, const kp_circuit *circuit, double flow, double speed,
                                kp_error *error)
{
    for (;;) {
        bool yes;
        double reach = kp_lift_table_reach(table);
        kp_status status = reaches(circuit, flow, &yes, error);
        if (status != KP_OK || yes) {
            return status;
        }

        /* Twice as far, up to the limit of what makes sense. */
        if (reach >= KP_MAX_PRESSURE) {
            return kp_error_set(error, KP_OUT_OF_RANGE,
                                "at %g m/s the valve would be loaded by more than %g MPa: a lower largest speed, more "
                                "bleed, a larger port or a softer stack or spring is needed",
                                speed, fmin(reach, KP_MAX_PRESSURE) / REACH_MARGIN / 1e6);
        }
        status = kp_lift_table_extend(table, fmin(2 * reach, KP_MAX_PRESSURE), error);
        if (status != KP_OK) {
            return status;
        }
    }
}

kp_status kp_damper_solve_table(kp_damper *damper, kp_direction direction, const kp_flow_oil *oil, kp_error *error)
{
    kp_status status = begin_table(damper, (int)direction, error);

    if (status == KP_OK) {
        status = kp_circuit_prepare_piston(damper, direction, oil, error);
    }

    if (status != KP_OK) {
        return status;
    }

    /* The piston drives v (A_f - drag area) through bleed, leak and valve. */
    double flow = damper->largest_speed * (damper->driven_area - damper->drag_area);
    status =
        extend_to_flow(damper->tables[direction], &damper->circuits[direction], flow, damper->largest_speed, error);

    /* In compression a drop of that size does not come up where the gas does not bear it: the point cavitates. Whether
       a reservoir's valve holds against it shows when the damper is finished. */
    kp_circuit_state end;
    if (status == KP_OUT_OF_RANGE && direction == KP_COMPRESSION && kp_damper_end_of_table(damper, &end, error)) {
        status = end.drop > damper->gas_pressure - damper->data.release_pressure ? KP_OK : status;
    }
    return status;
}

kp_status kp_damper_solve_reservoir(kp_damper *damper, const kp_flow_oil *oil, kp_error *error)
{
    const kp_circuit *circuit = &damper->reservoir_paths[KP_COMPRESSION].circuit;
    double flow = damper->largest_speed * damper->rod_area;
    kp_circuit_state state;

    /* What the rod drives. */
    kp_status status = begin_table(damper, KP_RESERVOIR_VALVE, error);
    if (status == KP_OK) {
        status = kp_reservoir_path_prepare(damper, KP_COMPRESSION, oil, error);
    }

    kp_lift_table *table = damper->tables[KP_RESERVOIR_VALVE];
    if (status == KP_OK) {
        status = extend_to_flow(table, circuit, flow, damper->largest_speed, error);
    }

    /* Where the margin is gone: at most the full piston drop less what the gas gives stands over the valve. */
    if (status == KP_OK) {
        status = kp_damper_full_drop(damper, KP_COMPRESSION, damper->largest_speed, &state, error);
        status = status == KP_OUT_OF_RANGE && kp_damper_end_of_table(damper, &state, error) ? KP_OK : status;
    }
    if (status == KP_OK) {
        double max_drop = state.drop - (damper->gas_pressure - damper->data.release_pressure);
        max_drop = fmin(max_drop, KP_MAX_PRESSURE);
        if (max_drop > kp_lift_table_reach(table)) {
            status = kp_lift_table_extend(table, max_drop, error);
        }
    }

    return status == KP_OK ? status : kp_error_prefix(error, "reservoir: ");
}
