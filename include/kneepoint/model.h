/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A damper as const SI data, its defaults, and every fault and doubt in it at once.
    Sizes of ports, seats, clamps, bores and shims are diameters, as the trade gives them. */
#ifndef KNEEPOINT_MODEL_H
#define KNEEPOINT_MODEL_H

#include "kneepoint/base.h"
#include "kneepoint/disc.h"
#include "kneepoint/fluid.h"

typedef enum kp_direction { KP_COMPRESSION, KP_REBOUND, KP_DIRECTION_COUNT } kp_direction;
const char *kp_direction_name(kp_direction direction); /* "compression", "rebound" */

enum { KP_MAX_SHIMS = 64, KP_MAX_STACK_LINES = 64, KP_MAX_BLEEDS = 16, KP_MAX_MATERIALS = 8, KP_MATERIAL_NAME = 32 };

/** One line of a stack: `COUNT of OUTSIDE x THICKNESS unit[, hole SIZE][, slots N x WIDTH[ x DEPTH]][, material NAME]`.
 */
typedef struct kp_shim_line {
    int count;                       /* [-] */
    double outside;                  /* [m] diameter */
    double thickness;                /* [m] */
    bool has_hole;                   /* else the hole is kp_valve_data.hole */
    double hole;                     /* [m] diameter; larger than what clamps it: a loose ring */
    int slot_count;                  /* [-] radial slots cut in from the edge; 0 = none */
    double slot_width;               /* [m] */
    bool has_slot_depth;             /* else they end one slot width inside the land's inner edge */
    double slot_depth;               /* [m] from the edge inward */
    char material[KP_MATERIAL_NAME]; /* one of kp_damper_data.materials; "" = spring steel */
} kp_shim_line;

/** A shim material of the file. */
typedef struct kp_material_data {
    char name[KP_MATERIAL_NAME];
    kp_material material; /* tensile and fatigue 0: not given, so no word on fatigue */
} kp_material_data;

/** One point of the far side's rigid profile, see kp_stack.stop_radius. */
typedef struct kp_backing_point {
    double diameter; /* [m] not smaller than the clamp washer, never falling; the same twice is a step */
    double gap;      /* [m] height above the far face of the clamped pack, >= 0 */
} kp_backing_point;

/** Which way a bleed port lets oil through. */
typedef enum kp_flows { KP_FLOWS_BOTH, KP_FLOWS_COMPRESSION, KP_FLOWS_REBOUND } kp_flows;

/** Bleed ports of one kind. */
typedef struct kp_bleed {
    int ports;       /* [-] drilled            */
    int plugged;     /* [-] of these, plugged   */
    double diameter; /* [m]                     */
    double length;   /* [m]                     */
    kp_flows flows;
} kp_bleed;

/** Clearance between piston band and bore. clearance 0 = tight. */
typedef struct kp_leak_data {
    double clearance;    /* [m] radial            */
    double length;       /* [m] of the band        */
    double eccentricity; /* [-] 0 centred to 1 touching */
} kp_leak_data;

/** One direction's valve: port, land, stack. */
typedef struct kp_valve_data {
    double port_area;           /* [m2] all ports together                              */
    double port_inner;          /* [m]  diameter where pressure on the face shim begins   */
    double port_discharge;      /* [-]  discharge coefficient of the port                */
    double land_inner;          /* [m]  diameter */
    double land_outer;          /* [m]  diameter, >= land_inner; equal for a sharp seat */
    double load_coverage;       /* [-]  */
    double curtain_coverage;    /* [-]  */
    double curtain_discharge;   /* [-]  discharge coefficient of the curtain at high flow number */
    double velocity_head_share; /* [-] share of the port's exit velocity head that loads the disc */
    double dish;                /* [m]  */
    double clamp_washer;        /* [m]  diameter of its flat face */
    kp_grip grip;
    bool has_hole;        /* the shims' hole is known; a sliding grip needs it           */
    double hole;          /* [m]  diameter, of every shim that has none of its own       */
    double nut_load;      /* [N]  0 = none given: a sliding grip then has no friction    */
    double nut_friction;  /* [-]  of the clamped faces                                   */
    bool has_stop;        /* a flat lift stop: a profile of one point                    */
    double stop_outside;  /* [m]  diameter */
    double stop_gap;      /* [m]  */
    size_t backing_count; /* [-]  0 = none; not together with has_stop                  */
    kp_backing_point backing[KP_STOP_POINTS];
    size_t line_count;
    kp_shim_line lines[KP_MAX_STACK_LINES]; /* from the piston face outward */
} kp_valve_data;

typedef struct kp_damper_data {
    char name[128];
    double bore, rod, stroke; /* [m] */
    kp_oil oil;
    kp_gas gas;
    bool charge_was_gauge;
    bool has_maximum_charge;
    double maximum_charge; /* [Pa] absolute */
    double friction;       /* [N] */
    bool friction_given;
    double release_pressure; /* [Pa] absolute, below which air comes out of the oil */
    kp_leak_data leak;
    size_t bleed_count;
    kp_bleed bleeds[KP_MAX_BLEEDS];
    size_t material_count;
    kp_material_data materials[KP_MAX_MATERIALS]; /* one named `spring steel` takes the place of ours */
    kp_valve_data valves[KP_DIRECTION_COUNT];
    double oil_temperature; /* [K] at which the curve is worked out */
    double position;        /* [m] how far the rod is in; default stroke/2 */
} kp_damper_data;

/** Zeroes the damper and fills every optional number with its default (listed, with standing, in
    src/model/defaults.c). position stays 0, as the stroke is not known yet: the reader of files puts it at
    mid-stroke when the file does not say. */
void kp_damper_defaults(kp_damper_data *damper);

/** A fault (the damper cannot be solved) or a doubt (it can, but look here). */
typedef struct kp_finding {
    bool fault;
    char path[96];  /* "piston.compression.stack[2]": the key it hangs on */
    char text[384]; /* the numbers and what would be right               */
} kp_finding;

typedef struct kp_findings {
    size_t count, capacity;
    kp_finding *items;
} kp_findings;

void kp_findings_free(kp_findings *findings);
kp_status kp_findings_add(kp_findings *findings, bool fault, const char *path, kp_error *error, const char *format, ...)
    KP_PRINTF(5, 6);
size_t kp_findings_fault_count(const kp_findings *findings);

/** Appends every fault and doubt of the damper. Returns KP_OK when it could look at all (faults or not). */
kp_status kp_damper_examine(const kp_damper_data *damper, kp_findings *findings, kp_error *error);

extern const char kp_spring_steel_name[]; /* "spring steel": what a shim without `material` is made of */
/** Material of a shim line; false when the damper names none of that name (out is then spring steel). */
bool kp_damper_material(const kp_damper_data *damper, const kp_shim_line *line, kp_material *out);
/** Diameter that a line's slots reach in to [m]. */
double kp_valve_slot_inner(const kp_valve_data *valve, const kp_shim_line *line);
/** Hole of a line [m]: its own, the valve's, or 0 when neither is given. */
double kp_valve_hole(const kp_valve_data *valve, const kp_shim_line *line);

/** What a line does in its stack. */
typedef enum kp_shim_part {
    KP_SHIM_PLATE,  /* clamped inside, bends outside */
    KP_SHIM_SPACER, /* no larger than what clamps it: it clamps the ones nearer the piston in its turn */
    KP_SHIM_RING    /* its hole is larger than what clamps it: loose */
} kp_shim_part;
/** Diameter at which each line is clamped [m] and what it is; parts, clamps [line_count]. */
void kp_valve_parts(const kp_valve_data *valve, kp_shim_part *parts, double *clamps);

/** The stack of one direction as the disc room wants it. discs: caller's array of at least
    KP_MAX_STACK_LINES. */
kp_stack kp_damper_stack(const kp_damper_data *damper, kp_direction direction, kp_disc *discs);

#endif
