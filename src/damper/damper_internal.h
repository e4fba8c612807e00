/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside the damper room: valve, circuit, and what a prepared damper holds. */
#ifndef KNEEPOINT_DAMPER_INTERNAL_H
#define KNEEPOINT_DAMPER_INTERNAL_H

#include "kneepoint/damper.h"
#include "kneepoint/flow.h"

/* ---- valve.c: the only place where the disc meets flow ------------------------------------------------------ */

typedef struct kp_valve {
    const kp_lift_table *lift;
    kp_curtain curtain;
    double port_loss;     /* [Pa s2/m6] port drop per flow squared                                        */
    double velocity_head; /* [Pa s2/m6] share of the port's exit velocity head that loads the disc, per flow squared */
} kp_valve;

/* Everything at one disc pressure. Slopes are against the disc pressure. */
typedef struct kp_valve_state {
    double flow, flow_slope; /* [m3/s], [m3/s/Pa] */
    double drop, drop_slope; /* [Pa] across port and disc together, [-] >= some positive number */
    kp_lift lift;
} kp_valve_state;

kp_valve kp_valve_make(const kp_valve_data *data, const kp_flow_oil *oil, const kp_lift_table *lift);
kp_status kp_valve_at(const kp_valve *valve, const kp_flow_oil *oil, double disc_pressure, kp_valve_state *out,
                      kp_error *error);

/* ---- circuit.c: bleed, leak and valve side by side, one direction --------------------------------------------- */

typedef struct kp_circuit {
    kp_flow_oil oil;
    kp_valve valve;
    kp_leak leak;
    size_t orifice_count;
    kp_orifice orifices[KP_MAX_BLEEDS];
} kp_circuit;

/* Everything at one disc pressure; flows [m3/s] are those that the drop drives (the wall's drag is not in it). */
typedef struct kp_circuit_state {
    double disc_pressure;    /* [Pa] */
    double drop, drop_slope; /* [Pa], [-] against the disc pressure */
    double bleed_flow, leak_flow, valve_flow;
    double flow, flow_slope; /* their sum [m3/s], [m3/s/Pa] against the disc pressure */
    kp_lift lift;
} kp_circuit_state;

kp_status kp_circuit_at(const kp_circuit *circuit, double disc_pressure, kp_circuit_state *out, kp_error *error);
/* The state at which the paths pass a flow > 0, or stand at a drop > 0: one bracketed root in the disc pressure, both
   rise with it. Errors: KP_OUT_OF_RANGE when the lift table ends before. */
kp_status kp_circuit_at_flow(const kp_circuit *circuit, double flow, kp_circuit_state *out, kp_error *error);
kp_status kp_circuit_at_drop(const kp_circuit *circuit, double drop, kp_circuit_state *out, kp_error *error);

/* ---- check.c ---------------------------------------------------------------------------------------------- */

/* The numbers that this room divides by or takes roots of. KP_OUT_OF_RANGE with them. */
kp_status kp_damper_check(const kp_damper_data *data, double largest_speed, kp_error *error);

/* ---- damper.c ------------------------------------------------------------------------------------------------------
 */

struct kp_damper {
    kp_damper_data data;
    double largest_speed; /* [m/s] */
    double driven_area;   /* [m2] bore - rod: what the piston drives through itself per length of travel, in both
                             directions */
    double rod_area;      /* [m2] */
    double drag_area;     /* [m2] flow that the wall drags past the piston per length of travel */
    double gas_pressure;  /* [Pa absolute] at the position and temperature of the curve */
    kp_circuit circuits[KP_DIRECTION_COUNT];
    kp_lift_table *tables[KP_DIRECTION_COUNT];
    bool owns_table[KP_DIRECTION_COUNT];
    bool yields[KP_DIRECTION_COUNT];
    double yield_pressure[KP_DIRECTION_COUNT]; /* [Pa] disc pressure, where it yields */
};

/* A damper on lift tables that are already there (a measured stack, a variant): not owned, not extended. */
kp_status kp_damper_begin_with_tables(const kp_damper_data *data, double largest_speed,
                                      kp_lift_table *const tables[KP_DIRECTION_COUNT], kp_damper **out,
                                      kp_error *error);

/* ---- curve.c
 * --------------------------------------------------------------------------------------------------------- */

/* Piston drop as it would be with all the gas pressure it takes, at |speed| > 0 [m/s]. */
kp_status kp_damper_full_drop(const kp_damper *damper, kp_direction direction, double speed, kp_circuit_state *out,
                              kp_error *error);
/* d(full drop)/d|speed| [Pa s/m] at such a state. */
double kp_damper_full_drop_slope(const kp_damper *damper, const kp_circuit_state *state);

#endif
