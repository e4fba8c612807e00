/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside the damper room: valve, circuit, and what a prepared damper holds. */
#ifndef KNEEPOINT_DAMPER_INTERNAL_H
#define KNEEPOINT_DAMPER_INTERNAL_H

#include "kneepoint/damper.h"
#include "flow/flow.h"

/* ---- valve.c: where the disc meets flow ------------------------------------------------------------------------ */

/* Pressure of the chamber that a valve's oil leaves into, absolute: given, or falling from it by the valve's drop. */
typedef struct kp_back_pressure {
    double pressure; /* [Pa] */
    bool falls;
    double least; /* [Pa] that it falls to */
} kp_back_pressure;

typedef struct kp_valve {
    const kp_lift_table *lift;
    double cracking; /* [Pa] below it nothing passes; 0 for a flat seat, infinite when there is no valve */
    kp_curtain curtain;
    double port_loss;     /* [Pa s2/m6] drop of port entries, port and the ring between shim and bore, per flow
                             squared                                                                       */
    double velocity_head; /* [Pa s2/m6] exit velocity head of the port, per flow squared */
    double head_share;    /* [-] of it, on the disc */
    double plate_area; /* [m2] that the pressure acts on, where the table knows no ring area; 0: the flow takes nothing
                          off the load                                                                  */
    double land_area;  /* [m2] under the logarithmic fall over the land */
    double suction_area; /* [m2] of the land */
    kp_back_pressure back;
} kp_valve;

/* Everything at one disc pressure. Slopes are against the disc pressure. */
typedef struct kp_valve_state {
    double flow, flow_slope; /* [m3/s], [m3/s/Pa] */
    double drop, drop_slope; /* [Pa] across port and disc together, [-] >= some positive number */
    kp_lift lift;
} kp_valve_state;

/* bore [m]: what the shims stand in. */
kp_valve kp_valve_make(const kp_valve_data *data, double bore, const kp_flow_oil *oil, const kp_lift_table *lift,
                       kp_back_pressure back);
kp_status kp_valve_at(const kp_valve *valve, const kp_flow_oil *oil, double disc_pressure, kp_valve_state *out,
                      kp_error *error);

/* ---- load.c: the load that a flow leaves on the disc ---------------------------------------------------------- */

/* Flow of an open valve at a disc pressure [Pa], and its slope against that. */
kp_flow kp_valve_flow(const kp_valve *valve, const kp_curtain_loss *loss, const kp_lift *lift, double disc_pressure);

/* ---- spring.c: spring-loaded plates as lift tables ------------------------------------------------------------- */

/* How far the table of a valve reaches [Pa]: beyond every pressure that damper.c lets come up; and that of a check
   valve behind bleed ports: a root search for the rest of the circuit may evaluate it there. */
#define KP_SPRING_FAR       225e6
#define KP_SPRING_CHECK_FAR 1e15
/* area [m2] that the pressure acts on, far [Pa] the end of the table. KP_OUT_OF_RANGE with the numbers. */
kp_status kp_spring_table(const kp_spring_plate *plate, double area, double far, kp_lift_table **out, kp_error *error);
/* Pressure [Pa] up to which it is closed: where the rounded corner of the table begins. */
double kp_spring_cracking(const kp_spring_plate *plate, double area);
/* A valve that is not there. */
kp_status kp_closed_table(kp_lift_table **out, kp_error *error);
/* Area that the pressure acts on under a plate on this valve's land [m2]. */
double kp_valve_plate_area(const kp_valve_data *data);

/* ---- circuit.c: bleed, leak and valve in parallel, one direction ----------------------------------------------- */

/* Bleed ports behind a check valve. */
typedef struct kp_checked {
    kp_orifice ports, jets; /* in parallel */
    kp_valve valve;         /* behind both  */
} kp_checked;

enum { KP_MAX_NEEDLES = 2, KP_MAX_SLOTTED = 2, KP_MAX_SPRINGS = 2 * KP_MAX_BLEEDS + 8 };

typedef struct kp_circuit {
    kp_flow_oil oil;
    kp_valve valve;
    kp_leak leak;
    size_t orifice_count;
    kp_orifice orifices[2 * KP_MAX_BLEEDS]; /* plain and jetted */
    size_t needle_count;
    kp_needle needles[KP_MAX_NEEDLES]; /* adjuster needles */
    size_t slotted_count;
    kp_resistance slotted[KP_MAX_SLOTTED]; /* slots of the two face shims */
    size_t checked_count;
    kp_checked checked[KP_MAX_BLEEDS];
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

/* ---- checked.c: bleed behind a check valve ----------------------------------------------------------------------- */

/* Flow and its slope against the drop over both. */
kp_status kp_checked_flow(const kp_checked *checked, const kp_flow_oil *oil, double drop, kp_flow *out,
                          kp_error *error);

/* ---- reservoir_path.c: what the rod's oil passes on its way to the gas and back
 * ------------------------------------------
 */

typedef struct kp_reservoir_path {
    kp_flow_oil oil;
    bool has_circuit, has_hose; /* neither: the way is free */
    kp_circuit circuit;
    kp_hose hose;
} kp_reservoir_path;

typedef struct kp_rod_state {
    double flow, drop;      /* [m3/s], [Pa] of valve and hose together */
    double hose_drop;       /* [Pa] */
    double slope;           /* [Pa s/m3] d(drop)/d(flow) */
    kp_circuit_state valve; /* zeros without a circuit */
} kp_rod_state;

/* flow > 0 */
kp_status kp_reservoir_path_at_flow(const kp_reservoir_path *path, double flow, kp_rod_state *out, kp_error *error);
/* drop > 0, the path not free */
kp_status kp_reservoir_path_at_drop(const kp_reservoir_path *path, double drop, kp_rod_state *out, kp_error *error);

/* ---- check.c ---------------------------------------------------------------------------------------------- */

/* The numbers that this room divides by or takes roots of. KP_OUT_OF_RANGE with them. */
kp_status kp_damper_check(const kp_damper_data *data, double largest_speed, kp_error *error);

/* ---- what a prepared damper holds ---- */

struct kp_damper {
    kp_damper_data data;
    double largest_speed; /* [m/s] */
    double driven_area;   /* [m2] bore - rod: what the piston drives through itself per length of travel, in both
                             directions */
    double rod_area;      /* [m2] */
    double drag_area;     /* [m2] flow that the wall drags past the piston per length of travel */
    double gas_pressure;  /* [Pa absolute] at the position and temperature of the curve */
    double bore_area;     /* [m2] */
    kp_circuit circuits[KP_DIRECTION_COUNT];
    kp_reservoir_path reservoir_paths[KP_DIRECTION_COUNT];
    kp_lift_table *tables[KP_VALVE_COUNT]; /* the reservoir's is NULL when it has no valve */
    bool owns_table[KP_VALVE_COUNT];
    bool yields[KP_VALVE_COUNT];
    double yield_pressure[KP_VALVE_COUNT]; /* [Pa] disc pressure, where it yields */
    size_t spring_count;
    kp_lift_table *springs[KP_MAX_SPRINGS]; /* of check valves: always the damper's own */
};

/* ---- damper.c ---- */

/* Beyond this no shim, piston or seal of this kind is in one piece: the speed asked for makes no sense. */
#define KP_MAX_PRESSURE 150e6 /* [Pa] */

bool kp_damper_has_reservoir_valve(const kp_damper_data *data);
/* Checks and copies the data, prepares all but the tables and the circuits on them. */
kp_status kp_damper_start(const kp_damper_data *data, double largest_speed, kp_damper **out, kp_flow_oil *oil,
                          kp_error *error);
/* Branches of both directions, on tables that are there and reach. */
kp_status kp_damper_finish(kp_damper *damper, const kp_flow_oil *oil, kp_error *error);

/* ---- tables.c ---- */

/* A lift table of the damper's own that reaches the largest speed in a direction. */
kp_status kp_damper_solve_table(kp_damper *damper, kp_direction direction, const kp_flow_oil *oil, kp_error *error);
/* The reservoir's valve must reach what the rod drives and, where the margin is gone, the pressure that stands over it
   while the piston's drop stays below its full value. The piston's tables are there. */
kp_status kp_damper_solve_reservoir(kp_damper *damper, const kp_flow_oil *oil, kp_error *error);

/* ---- prepare.c: branches of one direction; the lift tables are there ---- */

kp_status kp_circuit_prepare_piston(kp_damper *damper, kp_direction direction, const kp_flow_oil *oil, kp_error *error);
kp_status kp_reservoir_path_prepare(kp_damper *damper, kp_direction direction, const kp_flow_oil *oil, kp_error *error);

/* ---- curve.c ---- */

/* Piston drop as it would be with all the gas pressure it takes, at |speed| > 0 [m/s]. */
kp_status kp_damper_full_drop(const kp_damper *damper, kp_direction direction, double speed, kp_circuit_state *out,
                              kp_error *error);
/* State of the piston in compression at the end of its table, where that is the largest pressure there is. false: it
   ends before. */
bool kp_damper_end_of_table(const kp_damper *damper, kp_circuit_state *out, kp_error *error);
/* Piston and reservoir path at |speed| > 0 [m/s], as if nothing cavitated. In compression, where the piston's drop
   would be beyond KP_MAX_PRESSURE and the gas does not bear that, the piston's state is the one at the end of its
   table: its drop is then the least that it would be. */
kp_status kp_damper_full_states(const kp_damper *damper, kp_direction direction, double speed, kp_circuit_state *piston,
                                kp_rod_state *rod, kp_error *error);
/* True when nothing stands between the compression chamber and the gas. */
bool kp_reservoir_path_free(const kp_reservoir_path *path);
/* Compression past its margin: piston and reservoir path as they share the flow, and d(drop)/d(speed) [Pa s/m]. low,
   high [Pa]: the reservoir path's drop at this speed's rod flow, and where the piston's drop would have its full value.
 */
kp_status kp_damper_saturated(const kp_damper *damper, double speed, double low, double high, kp_circuit_state *piston,
                              kp_rod_state *rod, double *slope, kp_error *error);
/* Margin of the chamber at risk [Pa] at |speed| > 0, negative by what is missing. */
kp_status kp_damper_margin(const kp_damper *damper, kp_direction direction, double speed, double *margin,
                           kp_error *error);
/* d(full drop)/d|speed| [Pa s/m] at such a state. */
double kp_damper_full_drop_slope(const kp_damper *damper, const kp_circuit_state *state);

#endif
