/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Disc mechanics: closed forms of one plate, and the large-deflection stack
 * with contact. */
#ifndef KNEEPOINT_DISC_H
#define KNEEPOINT_DISC_H

#include "kneepoint/base.h"

/** Shim material. Yield and fatigue strength only raise flags; they change no
 * lift. */
typedef struct kp_material {
    double young;   /* [Pa]  Young's modulus, > 0               */
    double poisson; /* [-]   0 to 0.5                            */
    double yield;   /* [Pa]  proof stress used for the set flag  */
    double tensile; /* [Pa]  tensile strength                    */
    double fatigue; /* [Pa]  amplitude that lasts at zero mean   */
} kp_material;

/** Spring steel strip: E 206 GPa, nu 0.3; see material.c for the standing of
 * each number. */
kp_material kp_material_spring_steel(void);

/** Identical shims laid together. */
typedef struct kp_disc {
    double outer_radius; /* [m]  free edge */
    double thickness;    /* [m]  of one shim, > 0    */
    int count;           /* [-]  shims laid together, >= 1           */
    double hole_radius;  /* [m]  0 = not given. Larger than the clamp: a loose
                            ring. A sliding grip needs it */
    int slot_count;      /* [-]  radial slots cut in from the edge; 0 = none      */
    double slot_width;   /* [m]   */
    double slot_inner;   /* [m]  radius that they reach in to   */
    kp_material material;
} kp_disc;

/** Radial grip of the clamp on the shims' inner edges. */
typedef enum kp_grip {
    KP_GRIP_HELD,    /* it cannot move    */
    KP_GRIP_SLIDING, /* only the elastic ring under the washer holds it, and what
                        friction nut_load gives     */
} kp_grip;

enum { KP_STOP_POINTS = 8 };

/** A stack on its seat. Radii from the axis; heights from the clamp plane,
 * positive away from the piston. */
typedef struct kp_stack {
    double clamp_radius;                /* [m]  edge of the clamp washer's flat face. Last shims
                                           smaller than it  do the clamping in its place, and the
                                           washer backs the rest     */
    size_t disc_count;                  /* [-]  >= 1    */
    const kp_disc *discs;               /* [disc_count] from the piston face outward; [0] is the
                                           face shim      */
    double port_inner_radius;           /* [m]  pressure acts from here ... */
    double land_inner_radius;           /* [m]  ... to here at full value, seat lift is
                                           taken here ...          */
    double land_outer_radius;           /* [m]  ... and falls logarithmically to zero here */
    double load_coverage;               /* [-]  0 to 1, share of the circle on which pressure
                                           loads the disc    */
    double dish;                        /* [m]  seat height above the clamp plane; negative = permanent
                                           gap     */
    size_t stop_count;                  /* [-]  points of the lift stop or backing washer above the
                                           stack; 0 = none */
    double stop_radius[KP_STOP_POINTS]; /* [m]  rising */
    double stop_gap[KP_STOP_POINTS];    /* [m]  height above the far face of the
                                          clamped pack there; straight    between
                                          points, the first value inside the first
                                          radius,    nothing outside the last    */
    kp_grip grip;
    double nut_load;     /* [N]  axial clamp load, for the friction of a sliding grip;
                            0 = none  */
    double nut_friction; /* [-]  friction coefficient of the clamped faces */
} kp_stack;

/* ---- plate.c: small-deflection closed forms (what the handbook says) ----------------------------- */

typedef enum kp_edge { KP_EDGE_FREE, KP_EDGE_SUPPORTED, KP_EDGE_GUIDED, KP_EDGE_FIXED } kp_edge;

/** One annular plate under one load. Supported: no lift, free to turn. Guided: free to lift, no slope. */
typedef struct kp_plate_case {
    double outer_radius; /* [m]                                                                       */
    double inner_radius; /* [m]  0 = full plate, for kp_plate_large_begin only                        */
    double thickness;    /* [m]                                                                       */
    kp_material material;
    kp_edge inner, outer;
    bool inner_held, outer_held; /* radially; large deflection only                                 */
    double load_from, load_to;   /* [m]  a pressure between them, or a line load where they are one   */
} kp_plate_case;

/** What the plate does at a radius. Positive lift and shear are along the load. */
typedef struct kp_plate_answer {
    double lift;          /* [m]                                                                            */
    double slope;         /* [-]                                                                            */
    double radial_moment; /* [N]   per unit length; positive: the loaded side is pressed together            */
    double shear;         /* [N/m]                                                                          */
} kp_plate_answer;

/** Given: load [Pa], or [N/m] for a line load; inner_radius <= r <= outer_radius. Small deflection.
    Valid: the edges hold the plate (at least one supported or fixed). Accuracy: rounding.
    Errors: KP_OUT_OF_RANGE. Source: Roark's Formulas for Stress and Strain, table 11.2, cases 1a to 2l. */
kp_status kp_plate_small(const kp_plate_case *plate, double load, double r, kp_plate_answer *out, kp_error *error);

/** The same for a shim, inner edge fixed and outer free: a line load [N/m] (case 1l), a pressure [Pa] (case 2l). */
kp_status kp_plate_ring_lift(double outer_radius, double clamp_radius, double thickness, kp_material material,
                             double load_radius, double line_load, double r, double *lift, kp_error *error);
kp_status kp_plate_pressure_lift(double outer_radius, double clamp_radius, double thickness, kp_material material,
                                 double from, double to, double pressure, double r, double *lift, kp_error *error);

/* ---- stack.c: the large-deflection solver
 * -------------------------------------------------------------- */

typedef struct kp_stack_workspace kp_stack_workspace;

/** How finely to solve. Zero-initialised = the defaults. */
typedef struct kp_stack_options {
    int elements;     /* [-] elements across the largest disc; 0 = default */
    double tolerance; /* [-] energy that Newton's last step may be worth, over the stored energy; 0 = 2e-5, lifts right
                         to 1e-6. 1e-13 squares down to rounding */
    double line_load; /* [N/m] extra ring load per unit length at the face shim's
                         free edge when pressure is 1 Pa (tests only need it; 0 =
                         none). With it set, the pressure itself does not load the
                         disc. */
} kp_stack_options;
/** Down to rounding: for a few solutions that are to be printed or compared. */
extern const kp_stack_options kp_stack_exactly;

/** Reads the stack (copied: it need not live on) and builds everything that a
   load path needs. Errors: KP_OUT_OF_RANGE with the shim or the size that is
   wrong; KP_NO_MEMORY. */
kp_status kp_stack_begin(const kp_stack *stack, const kp_stack_options *options, kp_stack_workspace **out,
                         kp_error *error);
void kp_stack_free(kp_stack_workspace *workspace);
/** The stack that the workspace solves (its own copy). */
const kp_stack *kp_stack_of(const kp_stack_workspace *workspace);

/** One plate of any edges, alone, with large deflection: solved by kp_stack_solve (pressure = the load) and read
    like a stack of one disc. */
kp_status kp_plate_large_begin(const kp_plate_case *plate, const kp_stack_options *options, kp_stack_workspace **out,
                               kp_error *error);

typedef enum kp_seat { KP_SEAT_HOLDS, KP_SEAT_ABSENT } kp_seat;

/** Equilibrium at a pressure, continued from the workspace's last state; no
   allocation. KP_SEAT_HOLDS: the seat is a rigid neighbour; KP_SEAT_ABSENT: the
   stack without its seat. Errors: KP_NOT_MODELLED for a stack that cannot be clamped flat (no shape keeps its shims out
   of each other: a thick loose ring close to the clamp), naming the shim; KP_NO_SOLUTION naming the shim and the load,
   after every fallback. The last of these allocates. */
kp_status kp_stack_solve(kp_stack_workspace *workspace, double pressure, kp_seat seat, kp_error *error);

/** Lift of a disc (index in the caller's array) at radius r, from the clamp
 * plane, at the last solution [m]. */
double kp_stack_lift_at(const kp_stack_workspace *workspace, size_t disc, double r);
/** Lift of the face shim's lower face at the land's inner edge, from the clamp plane, at the last solution [m]: what
    the seat sees. It is t w'^2/4 less than the middle surface's. */
double kp_stack_seat_lift(const kp_stack_workspace *workspace);
/** d(seat lift)/d(pressure) at the last solution [m/Pa]. Uses the workspace's scratch. */
double kp_stack_seat_compliance(kp_stack_workspace *workspace);
/** Force the seat puts on the face shim [N], >= 0. */
double kp_stack_seat_force(const kp_stack_workspace *workspace);
/** How far the last solution is from equilibrium with its contact forces, the faces' tilt being its own: energy that
    the forces left over would set free, over the stored energy [-]. For tests; leaves the contacts as they are there,
    and uses the workspace's scratch. */
double kp_stack_imbalance(kp_stack_workspace *workspace);
/** Stored elastic energy [J]. */
double kp_stack_energy(const kp_stack_workspace *workspace);

/** Surface stresses of one shim at radius r [Pa], tension positive. Piston side
 * = the side the pressure is on. */
typedef struct kp_disc_stress {
    double piston_side_radial, piston_side_hoop, far_side_radial, far_side_hoop;
} kp_disc_stress;
kp_disc_stress kp_stack_stress_at(const kp_stack_workspace *workspace, size_t disc, double r);
/** Largest von Mises surface stress of a disc [Pa] and where (any pointer may
 * be NULL). */
void kp_stack_peak_stress(const kp_stack_workspace *workspace, size_t disc, double *stress, double *radius,
                          bool *piston_side);

/** Stress over a cycle between the marked state and the last solution, where it uses up most of the shim's fatigue
    strength. Guidance: the strengths are assumptions and the surface, edges and set of a real shim count for more. */
typedef struct kp_cycle {
    double mean;      /* [Pa] von Mises, negative where the mean pressure is compressive */
    double amplitude; /* [Pa] von Mises                                                 */
    double use;       /* [-]  amplitude/fatigue + mean/tensile (Goodman's line); 1 = at the line */
    double radius;    /* [m]                                                            */
    bool piston_side;
} kp_cycle;
/** Marks the last solution as the low end of the cycle (the seated stack at rest). */
void kp_stack_mark_rest(kp_stack_workspace *workspace);
kp_cycle kp_stack_cycle(const kp_stack_workspace *workspace, size_t disc);

/** One possible contact. */
typedef struct kp_contact {
    int lower, upper; /* disc indices in the caller's array; -1 lower = the seat;
                         -2 upper = the lift stop */
    double radius;    /* [m]    */
    double gap;       /* [m]  >= 0 to rounding, an overlap of 2e-4 thicknesses allowed
                         between nodes */
    double force;     /* [N]  on the whole circle, >= 0 */
    bool enabled;     /* false: the seat of a stack solved without it */
} kp_contact;
size_t kp_stack_contact_count(const kp_stack_workspace *workspace);
kp_contact kp_stack_contact(const kp_stack_workspace *workspace, size_t index);

/** What the last kp_stack_solve took. */
typedef struct kp_stack_record {
    int newton_steps;    /* [-]                                   */
    int chord_steps;     /* [-]  with the last Newton step's tangents */
    int set_changes;     /* [-]  contacts added or dropped         */
    int active_contacts; /* [-]                                   */
    int load_steps;      /* [-]  1 unless the load had to be halved */
    double residual;     /* [-]  last Newton decrement over stored energy */
} kp_stack_record;
kp_stack_record kp_stack_last_record(const kp_stack_workspace *workspace);

/* ---- table.c: one table per stack, read by everything downstream
 * ------------------------------------------ */

typedef struct kp_lift_table kp_lift_table;

/** What a stack does at one pressure. */
typedef struct kp_lift {
    double seat_lift;     /* [m]    face shim at the land's inner edge, from the clamp
                             plane         */
    double opening;       /* [m]    max(0, free lift - dish); with a negative dish never
                             below -dish  */
    double opening_slope; /* [m/Pa] d(opening)/d(pressure); 0 below cracking */
    double edge_lift;     /* [m]    face shim's free edge     */
    double peak_stress;   /* [Pa]   largest von Mises surface stress in the stack */
    size_t peak_disc;     /* [-]    the disc that carries it (caller's index)   */
    double fatigue_use;   /* [-]    largest kp_cycle use, from rest to this pressure                       */
    size_t fatigue_disc;  /* [-]    the disc that it is in                                                 */
} kp_lift;

/** Solves the stack from 0 to pressure_max, at loads chosen so that openings between them keep 0.1 %.
   Accuracy: opening against the stack solved there (of itself, or of a hundredth of the face shim's thickness), 40 000
   random openings: median 9.3e-7, 99.9th percentile 3.1e-4, most 7.8e-3 (two kinks that hide one another). Stress:
   99 in 100 within 1 %. The slope is the opening's own. The table keeps its workspace, so that cover() can go on from
   there. */
kp_status kp_lift_table_build(const kp_stack *stack, double pressure_max, kp_lift_table **out, kp_error *error);
/** The same, rough and fast, for ranking stacks before the best are solved exactly; it says that it is one, and no
   damper can be made of it. Each call has a workspace of its own: as many at once as there are threads.
   Accuracy: pressure that opens 0.2 mm, 704 random stacks against the exact table: median 0.2 %, 99th percentile 10 %,
   most 27 %; 0.3 % of all pairs come in the other order. Stress and yield are no better: no ground to refuse a stack.
 */
kp_status kp_lift_table_screen(const kp_stack *stack, double pressure_max, kp_lift_table **out, kp_error *error);
/** Whether it came from kp_lift_table_screen. */
bool kp_lift_table_is_screening(const kp_lift_table *table);
/** What building the table took so far. */
typedef struct kp_lift_table_cost {
    int solves;       /* [-] equilibria */
    int newton_steps; /* [-]            */
    int points;       /* [-] kept       */
} kp_lift_table_cost;
kp_lift_table_cost kp_lift_table_cost_of(const kp_lift_table *table);
/** A table from given points (a measured or a closed-form stack): pressure [n]
 * ascending from 0, opening [n]. */
kp_status kp_lift_table_from_points(size_t n, const double *pressure, const double *opening, kp_lift_table **out,
                                    kp_error *error);
/** Extends the table so that it reaches pressure (not possible for one made
 * from points: KP_OUT_OF_RANGE). */
kp_status kp_lift_table_cover(kp_lift_table *table, double pressure, kp_error *error);
double kp_lift_table_reach(const kp_lift_table *table); /* [Pa] largest pressure it knows */
double
kp_lift_table_cracking(const kp_lift_table *table); /* [Pa] 0 when nothing presses it on its seat: no dish, no ring */
/** Interpolation that falls only where the solved points do (a stop inside the land); 0 <= pressure <= reach, else
 * KP_OUT_OF_RANGE. Thread-safe on a const table. */
kp_status kp_lift_table_at(const kp_lift_table *table, double pressure, kp_lift *out, kp_error *error);
/** Lowest pressure at which some shim's peak stress passes its yield [Pa] and
 * that disc; false when none does. */
bool kp_lift_table_yields(const kp_lift_table *table, double *pressure, size_t *disc);
void kp_lift_table_free(kp_lift_table *table);

#endif
