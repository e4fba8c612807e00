/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A damper as const SI data, its defaults, and every fault and warning in it at once.
    Sizes of ports, seats, clamps, bores and shims are diameters, as the trade gives them.
    What a file may leave out has a flag; its number is 0 and unused where the flag is false. */
#ifndef KNEEPOINT_MODEL_H
#define KNEEPOINT_MODEL_H

#include "kneepoint/base.h"
#include "kneepoint/stack.h"
#include "kneepoint/fluid.h"

KP_BEGIN_DECLARATIONS

typedef enum kp_direction { KP_COMPRESSION, KP_REBOUND, KP_DIRECTION_COUNT } kp_direction;
/** "compression" or "rebound". */
KP_API const char *kp_direction_name(kp_direction direction);

/* ---- shims and materials ------------------------------------------------------------------------------------ */

enum { KP_MAX_SHIMS = 64, KP_MAX_STACK_LINES = 64, KP_MAX_BLEEDS = 16, KP_MAX_MATERIALS = 8, KP_MATERIAL_NAME = 32 };

/** One line of a stack: `COUNT of OUTSIDE x THICKNESS unit[, hole SIZE][, slots N x WIDTH[ x DEPTH]][, material NAME]`.
 */
typedef struct kp_shim_line {
    int count;                       /* [-] >= 1 */
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
    kp_material material; /* without both tensile and fatigue strength (0) fatigue is not assessed */
} kp_material_data;

/** One point of the far side's rigid profile, see kp_stack.stop_radius. */
typedef struct kp_backing_point {
    double diameter; /* [m] not smaller than the clamp washer, never falling; the same twice is a step */
    double gap;      /* [m] height above the far face of the clamped pack, >= 0 */
} kp_backing_point;

/* ---- paths in parallel with the stacks ----------------------------------------------------------------------- */

/** Which way an opening lets oil through. */
typedef enum kp_flows { KP_FLOWS_BOTH, KP_FLOWS_COMPRESSION, KP_FLOWS_REBOUND } kp_flows;

/** A rigid plate on a spring that closes a seat: opening = (pressure x seat area - preload)/rate, up to the lift. */
typedef struct kp_spring_plate {
    double preload; /* [N]   >= 0, closed */
    double rate;    /* [N/m] >= 0; 0 with preload 0: a floating plate, open to its lift */
    double lift;    /* [m]   > 0, at its stop */
} kp_spring_plate;

/** A check valve: a plate on a seat. */
typedef struct kp_check_data {
    double seat; /* [m] diameter */
    kp_spring_plate plate;
} kp_check_data;

/** Edge at which oil enters a hole. */
typedef enum kp_hole_entry { KP_ENTRY_SHARP, KP_ENTRY_CHAMFERED } kp_hole_entry;

/** Bleed ports of one kind. */
typedef struct kp_bleed {
    int ports;       /* [-] drilled */
    int plugged;     /* [-] of these, plugged */
    double diameter; /* [m] */
    double length;   /* [m] */
    kp_flows flows;
    int jetted;          /* [-] of the open ones, with a jet */
    double jet;          /* [m] diameter of the jet; it alone counts */
    bool has_jet_length; /* else the jet is as long as the port */
    double jet_length;   /* [m] */
    kp_hole_entry entry; /* of port and jet */
    bool has_check;      /* one way: behind a check valve; flows is then the way */
    kp_check_data check;
} kp_bleed;

enum { KP_MAX_ADJUSTER_POINTS = 32 };

/** An adjuster: a needle in a seat whose area goes with its clicks, counted from closed. */
typedef struct kp_adjuster_data {
    int clicks;         /* [-] where it stands, 0 = closed */
    int max_clicks;     /* [-] fully open */
    double seat;        /* [m] diameter of the seat: the gap is area/(pi seat) */
    bool has_discharge; /* else that of a sharp-edged opening of its area in the seat's bore, kp_contraction */
    double discharge;   /* [-] at high flow number */
    kp_flows flows;
    size_t point_count;                        /* [-] table of area against clicks, straight between its points and
                                                  level outside them; 0: by area_per_click */
    int point_clicks[KP_MAX_ADJUSTER_POINTS];  /* [-] rising */
    double point_area[KP_MAX_ADJUSTER_POINTS]; /* [m2] never falling */
    double area_per_click;                     /* [m2] without a table: area = closed area + clicks x this */
    double closed_area;                        /* [m2] left open at 0 clicks, without a table */
} kp_adjuster_data;

/** Open area of an adjuster.
    Given:    adjuster; clicks [-] from closed, 0 to max_clicks
    Returned: area [m2]
    Valid:    the points of a table rise in clicks
    Accuracy: the file's numbers, straight between the points of a table */
KP_API double kp_adjuster_area(const kp_adjuster_data *adjuster, int clicks);

/** Hose between body and reservoir. */
typedef struct kp_hose_data {
    double length; /* [m] */
    double bore;   /* [m] */
} kp_hose_data;

/** Clearance between piston band and bore. */
typedef struct kp_leak_data {
    double clearance;    /* [m] radial; 0: tight, whatever the rest */
    double length;       /* [m] of the band */
    double eccentricity; /* [-] 0 centred to 1 touching */
} kp_leak_data;

/* ---- valves -------------------------------------------------------------------------------------------------- */

/** One direction's valve: port, land, stack. */
typedef struct kp_valve_data {
    double port_area;      /* [m2] all ports together */
    double port_inner;     /* [m]  diameter where pressure on the face shim begins */
    double port_discharge; /* [-]  discharge coefficient of the port */
    bool has_ports;        /* port_count is known, and port_share with it; else load_coverage stands in */
    int port_count;        /* [-]  evenly spaced ports under the face shim, KP_PORTS_MIN to KP_PORTS_MAX */
    bool has_port_share;   /* true together with has_ports */
    double port_share;     /* [-]  share of the circle that these ports cover under the face shim, above 0 to 1 */
    bool has_port_entry;   /* else the port entries are as wide as the ports */
    double port_entry;     /* [m2] open area of the port entries, in series */
    bool has_plate;        /* a plate on a spring stands in the stack's place */
    kp_spring_plate plate;
    double land_inner;          /* [m] diameter */
    double land_outer;          /* [m] diameter, >= land_inner; equal for a sharp seat */
    bool has_load_coverage;     /* the file gives it: not together with has_ports */
    double load_coverage;       /* [-] share of the circle on which pressure reaches the face shim, 0 to 1 */
    double curtain_coverage;    /* [-] share of the land's circle that oil can leave through, 0 to 1 */
    bool has_curtain_discharge; /* else the curtain's coefficient is computed from its shape (src/flow/curtain.c) */
    double curtain_discharge;   /* [-] discharge coefficient of the curtain at high flow number */
    double curtain_scale;       /* [-] > 0, on the curtain's discharge coefficient at high flow number */
    double flow_force_scale;    /* [-] >= 0, on what the oil's speed takes off the load on the disc */
    double velocity_head_share; /* [-] share of the port's exit velocity head that loads the disc, 0 to 1 */
    double dish;                /* [m] height of the land above the clamp plane */
    bool has_flatness;          /* the file gives it; else the default, which is assumed */
    double flatness;            /* [m] out-of-flat of the face shim at rest, peak to valley at its rim */
    bool held_round;            /* shims that never fold, which no real ones are: for comparison; no key of a file */
    double clamp_washer;        /* [m] diameter of its flat face */
    kp_grip grip;
    bool has_hole;        /* the shims' hole is known; a sliding grip needs it */
    double hole;          /* [m] diameter, of every shim that has none of its own */
    double nut_load;      /* [N] axial; a sliding grip has its friction, none at 0 N */
    double nut_friction;  /* [-] friction coefficient of the clamped faces */
    bool has_stop;        /* a flat lift stop: a profile of one point */
    double stop_outside;  /* [m] diameter */
    double stop_gap;      /* [m] height above the far face of the clamped pack */
    size_t backing_count; /* [-] 0: no backing washer; not together with has_stop */
    kp_backing_point backing[KP_STOP_POINTS];
    size_t line_count;                      /* [-] */
    kp_shim_line lines[KP_MAX_STACK_LINES]; /* from the piston face outward */
} kp_valve_data;

/** The valves of a damper: the piston's two, and that of the reservoir, which carries the oil that the rod displaces.
 */
enum { KP_RESERVOIR_VALVE = KP_DIRECTION_COUNT, KP_VALVE_COUNT };

/* ---- the damper ---------------------------------------------------------------------------------------------- */

/** A reservoir (piggyback or on a hose): what the rod's oil passes on its way to the gas and back. */
typedef struct kp_reservoir_data {
    bool given;                     /* else the gas stands in the body itself and the way is free */
    bool has_bore;                  /* else the body's bore */
    double bore;                    /* [m] of the housing around its stack */
    bool has_valve;                 /* kp_damper_data.valves[KP_RESERVOIR_VALVE] works in compression */
    size_t bleed_count;             /* [-] */
    kp_bleed bleeds[KP_MAX_BLEEDS]; /* in parallel with the valve; in rebound too, according to flows */
    bool has_adjuster;
    kp_adjuster_data adjuster; /* compression adjuster */
    bool has_return;
    kp_check_data return_check; /* lets the oil back in rebound */
    bool has_hose;
    kp_hose_data hose;
} kp_reservoir_data;

/** The divider that the gas stands behind: a floating piston or a bladder. */
typedef struct kp_divider_data {
    bool given;
    double bore;         /* [m] */
    double depth;        /* [m] of the gas at the charge, rod fully out: gas volume = pi/4 bore^2 depth */
    double travel;       /* [m] that it can go into the gas from there */
    bool has_travel_out; /* else its travel the other way is not checked */
    double travel_out;   /* [m] that it can go the other way, when the oil shrinks */
} kp_divider_data;

enum { KP_MAX_TOLERANCES = 96 };

/** Tolerance of one number of a damper, as the file gave it: `0.25 mm +/- 0.03 mm`. */
typedef struct kp_tolerance {
    size_t offset;    /* [bytes] of the number in kp_damper_data */
    double tolerance; /* [SI unit of the number] half the width */
} kp_tolerance;

typedef struct kp_damper_data {
    char name[128];
    bool has_units;
    kp_unit_system units; /* of answers, as the file asks: metric or inch; no number depends on them */
    double bore;          /* [m] of the body */
    double rod;           /* [m] diameter */
    double stroke;        /* [m] */
    kp_oil oil;
    bool gas_open; /* the gas is the air outside, a cartridge without a charge: gas and divider count for nothing */
    kp_gas gas;
    bool charge_was_gauge; /* the file gave the charge as gauge pressure */
    bool has_maximum_charge;
    double maximum_charge;   /* [Pa] absolute */
    bool friction_given;     /* else taken as 0 N, with a warning */
    double friction;         /* [N] of seals and bushes */
    double release_pressure; /* [Pa] absolute, below which air comes out of the oil */
    kp_leak_data leak;
    size_t bleed_count; /* [-] */
    kp_bleed bleeds[KP_MAX_BLEEDS];
    size_t material_count;                        /* [-] */
    kp_material_data materials[KP_MAX_MATERIALS]; /* one named `spring steel` takes the place of ours */
    bool has_adjuster;
    kp_adjuster_data adjuster; /* rebound adjuster, through the rod: in parallel with the piston's bleeds */
    kp_valve_data valves[KP_VALVE_COUNT];
    kp_reservoir_data reservoir;
    kp_divider_data divider;
    bool has_oil_volume;     /* else the oil's expansion takes no gas volume */
    double oil_volume;       /* [m3] */
    double fill_temperature; /* [K] of the oil when the gas was charged */
    bool has_oil_range;
    double oil_coldest;                         /* [K] lower end of the range that the oil's maker states */
    double oil_hottest;                         /* [K] upper end */
    double oil_temperature;                     /* [K] at which the curve is calculated */
    double position;                            /* [m] how far the rod is in; mid-stroke when a file gives none */
    size_t tolerance_count;                     /* [-] */
    kp_tolerance tolerances[KP_MAX_TOLERANCES]; /* no curve depends on them; the study of scatter does */
} kp_damper_data;

/** Zeroes the damper and fills every optional number with its default; src/model/defaults.c lists them with where each
    comes from. position stays 0, as the stroke is not known yet: the reader of files puts it at mid-stroke when the
    file gives none. */
KP_API void kp_damper_defaults(kp_damper_data *damper);

/** Keeps the tolerance of a number of this damper.
    Given:    number, a pointer into *damper; tolerance [SI unit of the number]
    Returned: false when it points elsewhere, or when there are KP_MAX_TOLERANCES already */
KP_API bool kp_damper_keep_tolerance(kp_damper_data *damper, const double *number, double tolerance);
/** Tolerance [SI unit of the number] of a number of this damper. Returned: false, and tolerance unchanged, when none
   was kept. */
KP_API bool kp_damper_tolerance(const kp_damper_data *damper, const double *number, double *tolerance);

/** Gas volume that rod and oil have taken since the charge.
    Given:    damper; position [m] of the rod; temperature [K] of the oil
    Returned: volume [m3]: the rod's, and the oil's expansion where its volume is given; negative when the oil has
              shrunk by more than the rod takes
    Valid:    constant expansion coefficient
    Accuracy: the body's own growth, about a twentieth of the oil's, is left out: a little too much is stated */
KP_API double kp_damper_gas_taken(const kp_damper_data *damper, double position, double temperature);
/** Gas pressure at the damper's position and oil temperature.
    Given:    damper
    Returned: pressure [Pa absolute]
    Valid:    as kp_gas_pressure; the gas has the oil's temperature
    Errors:   as kp_gas_pressure; pressure is then unchanged */
KP_API kp_status kp_damper_gas_pressure(const kp_damper_data *damper, double *pressure, kp_error *error);

/* ---- validation ---------------------------------------------------------------------------------------------- */

/** A fault (the damper cannot be solved) or a warning (it can, but a number is unusual or missing). */
typedef struct kp_finding {
    bool fault;     /* else a warning */
    char path[96];  /* the key concerned: "piston.compression.stack[2]" */
    char text[384]; /* the numbers, and what would be right */
} kp_finding;

/** Zero it before use; kp_findings_free gives its memory back. */
typedef struct kp_findings {
    size_t count, capacity;
    kp_finding *items; /* [count] */
} kp_findings;

/** Frees the items; the record is then as zeroed. */
KP_API void kp_findings_free(kp_findings *findings);
/** Appends a finding; path and text are cut to the size of their fields. Errors: KP_NO_MEMORY; findings is then
    unchanged. */
KP_API kp_status kp_findings_add(kp_findings *findings, bool fault, const char *path, kp_error *error,
                                 const char *format, ...) KP_PRINTF(5, 6);
/** Number of faults among the findings [-]. */
KP_API size_t kp_findings_fault_count(const kp_findings *findings);

/** Appends every fault and warning of the damper.
    Given:    any damper, also one with NaN or absurd numbers; the counts of its arrays may be too large
    Returned: findings in the order of a damper file; KP_OK whether there are faults or not
    Errors:   KP_NO_MEMORY; findings is then incomplete */
KP_API kp_status kp_damper_validate(const kp_damper_data *damper, kp_findings *findings, kp_error *error);
/** Returned: release pressure for a damper open to the air whose file gives none [Pa absolute]. Assumed: the default,
   the air's own pressure, holds for oil that has all the time it wants; a stroke is short, and vapour forms far lower.
 */
KP_API double kp_open_release_pressure(void);
/** The same for who asks only whether a damper is possible.
    Returned: KP_OK when there is no fault
    Errors:   KP_BAD_INPUT with the text of the first fault; KP_NO_MEMORY */
KP_API kp_status kp_damper_fault(const kp_damper_data *damper, kp_error *error);

/* ---- from the data to a stack -------------------------------------------------------------------------------- */

/** "spring steel": what a shim without `material` is made of. */
KP_API extern const char kp_spring_steel_name[];
/** Material of a shim line. Returned: false when the damper has none of that name; out is then spring steel. */
KP_API bool kp_damper_material(const kp_damper_data *damper, const kp_shim_line *line, kp_material *out);
/** Share of the circle on which pressure loads the face shim [-]: that of the ports where they are known, else the load
    coverage. */
KP_API double kp_valve_load_share(const kp_valve_data *valve);
/** Diameter that a line's slots reach in to [m]. Valid: slot_count > 0. */
KP_API double kp_valve_slot_inner(const kp_valve_data *valve, const kp_shim_line *line);
/** Hole of a line [m]: its own, or the valve's; 0 when neither is known. */
KP_API double kp_valve_hole(const kp_valve_data *valve, const kp_shim_line *line);
/** Diameter [m] assumed for the hole of a shim whose file gives none, from the diameter that clamps it [m]. It changes
    no lift of a held shim: a sliding grip and drawings need it. Source: assumed, see src/model/defaults.c. */
KP_API double kp_assumed_hole(double clamp);

/** What a line does in its stack. */
typedef enum kp_shim_part {
    KP_SHIM_PLATE,  /* clamped inside, bends outside */
    KP_SHIM_SPACER, /* no larger than what clamps it: it clamps the ones nearer the piston in its turn */
    KP_SHIM_RING    /* its hole is larger than what clamps it: loose */
} kp_shim_part;
/** What each line is, and the diameter at which it is clamped.
    Returned: parts [line_count]; clamps [line_count], [m]
    Valid:    line_count <= KP_MAX_STACK_LINES, sound sizes */
KP_API void kp_valve_parts(const kp_valve_data *valve, kp_shim_part *parts, double *clamps);

/** The stack of one valve as the stack solver takes it.
    Given:    damper without faults; direction, or KP_RESERVOIR_VALVE; discs [KP_MAX_STACK_LINES], the caller's
    Returned: the stack in radii [m]; it points to discs */
KP_API kp_stack kp_damper_stack(const kp_damper_data *damper, kp_direction direction, kp_disc *discs);

KP_END_DECLARATIONS

#endif
