/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A shim stack: annular plates in unilateral contact under large deflection, solved at one pressure after another. */
#ifndef KNEEPOINT_STACK_H
#define KNEEPOINT_STACK_H

#include "kneepoint/base.h"
#include "kneepoint/plate.h"

KP_BEGIN_DECLARATIONS

/* ---- the stack ---- */

/** Identical shims laid together. */
typedef struct kp_disc {
    double outer_radius; /* [m]  free edge, > 0 */
    double thickness;    /* [m]  of one shim, > 0 */
    int count;           /* [-]  shims laid together, >= 1 */
    bool has_hole;       /*      hole_radius is known; a sliding grip needs it */
    double hole_radius;  /* [m]  > 0 and < outer_radius. A hole larger than the clamp makes a loose ring */
    int slot_count;      /* [-]  radial slots cut in from the edge; none where it is 0 */
    double slot_width;   /* [m]  of each slot; read where there are slots */
    double slot_inner;   /* [m]  radius that the slots reach in to; read where there are slots */
    kp_material material;
} kp_disc;

/** Radial grip of the clamp on the shims' inner edges. */
typedef enum kp_grip {
    KP_GRIP_HELD,    /* the edge cannot move radially */
    KP_GRIP_SLIDING, /* only the elastic ring under the washer holds it, and the friction that nut_load gives */
} kp_grip;

enum { KP_STOP_POINTS = 8 };                  /* [-] most points of a lift stop's profile */
enum { KP_PORTS_MIN = 2, KP_PORTS_MAX = 24 }; /* [-] ports under one face shim, */
enum { KP_PORTS_FOLD = 5 };                   /* of which this many at most fold the shims in their own number */

/** A stack on its seat. Radii from the axis; heights from the clamp plane, positive away from the piston. */
typedef struct kp_stack {
    /* [m]  edge of the clamp washer's flat face. Last shims smaller than it clamp in its place, and the washer backs
            the rest. */
    double clamp_radius;
    size_t disc_count;        /* [-]  >= 1 */
    const kp_disc *discs;     /* [disc_count] from the piston face outward; [0] is the face shim */
    double port_inner_radius; /* [m]  pressure acts from here */
    double land_inner_radius; /* [m]  at full value to here, where seat lift is taken, */
    double land_outer_radius; /* [m]  and falls logarithmically to zero here */
    double load_coverage;     /* [-]  above 0, to 1: share of the circle on which pressure loads the disc; not read
                                      where there are ports */
    /* [-]  evenly spaced ports under the face shim, 2 to KP_PORTS_MAX; 0: even (load_coverage). Up to five fold the
       shims in their own number, from the first load on; more load them as their mean pressure does. */
    int ports;
    double port_share; /* [-]  above 0, to 1: share of the circle that the ports cover; read where there are ports */
    /* [m]  out-of-flat of the shims at rest, peak to valley at the face shim's rim: 0 to its thickness. It is the shape
            that they fold along, and rounds the onset; gaps at rest do not have it. */
    double flatness;
    double dish; /* [m]  seat height above the clamp plane; negative for a permanent gap */
    /*      Beyond its onset (kp_onset), or on few ports, the stack is solved as folded into lobes: lifts, forces and
       energy are the mean round the circle, stresses the largest round it. False: held round, which no real shim is
       beyond its onset. */
    bool folds;
    size_t stop_count; /* [-]  points of the lift stop or backing washer above the stack; none where it is 0 */
    double stop_radius[KP_STOP_POINTS]; /* [m]  rising, the first above clamp_radius */
    /* [m]  height above the far face of the clamped pack at each stop_radius, >= 0: straight between points, the first
            value inside the first radius, nothing outside the last. */
    double stop_gap[KP_STOP_POINTS];
    kp_grip grip;
    double nut_load;     /* [N]  axial clamp load, >= 0: it gives a sliding grip its friction */
    double nut_friction; /* [-]  friction coefficient of the clamped faces, >= 0 and < 2 */
} kp_stack;

/* ---- a workspace: one stack, its mesh and its last solution ---- */

typedef struct kp_stack_workspace kp_stack_workspace;

/** How finely to solve. A zero-initialised struct asks for the defaults, and NULL does too. */
typedef struct kp_stack_options {
    /* [-]  elements across the largest disc; the default where it is 0, at most 400 are used */
    int elements;
    /* [-]  predicted decrease of the last Newton step over the stored energy; where it is 0, 2e-5, which gives lifts
            within 1e-5 in 99 of 100 random loads. 1e-13 gives machine precision. */
    double tolerance;
    /* [N/m]  ring load per unit length at the face shim's free edge at a pressure of 1 Pa, for tests. Where it is not
              0, the pressure itself does not load the disc. */
    double line_load;
    /* [N/Pa]  ring of force at the land's inner edge, on the whole circle, that each pascal brings beside its pressure:
               negative where a flow sucks the disc down */
    double land_load;
} kp_stack_options;

/** To machine precision: for a few solutions that are to be printed or compared. */
KP_API extern const kp_stack_options kp_stack_exactly;

/** Given:    a stack, which is copied and need not live on; options or NULL
    Returned: a workspace with everything that a load path needs, for kp_stack_free; *out is unchanged on error
    Errors:   KP_OUT_OF_RANGE with the shim or the size that is wrong; KP_NO_MEMORY. */
KP_API kp_status kp_stack_begin(const kp_stack *stack, const kp_stack_options *options, kp_stack_workspace **out,
                                kp_error *error);
/** Given: a workspace or NULL. Frees it. */
KP_API void kp_stack_free(kp_stack_workspace *workspace);
/** Returned: the stack that the workspace solves, its own copy. */
KP_API const kp_stack *kp_stack_of(const kp_stack_workspace *workspace);

/** Whether the seat is a rigid neighbour under the face shim, or the stack is solved without its seat. */
typedef enum kp_seat { KP_SEAT_HOLDS, KP_SEAT_ABSENT } kp_seat;

/** Equilibrium at a pressure, continued from the workspace's last solution. Only the last fallback, and the first
    solution that is not surely round, allocate memory.
    Given:    pressure [Pa], finite and >= 0
    Returned: the workspace's solution, which everything below reads
    Valid:    moderately large rotations: slope squared is small against 1; linear elastic; no friction between shims
    Accuracy: round within 0.2 % of finite elements in lift; folded within 1.5 % to four thicknesses of the face shim, 2
   % to six, 5 % at eight, contacts closed to 5e-6 of its thickness; kp_stack_options says how far the iteration goes
    Errors:   KP_OUT_OF_RANGE for such a pressure; KP_NOT_MODELLED for a stack that cannot be clamped flat (no shape
              keeps its shims out of each other: a thick loose ring close to the clamp), with the shim; KP_NO_SOLUTION
              with the shim and the load, after every fallback
    Source:   von Karman's plates; the contacts by Goldfarb and Idnani's quadratic programme, of folded stacks by an
              augmented Lagrangian. */
KP_API kp_status kp_stack_solve(kp_stack_workspace *workspace, double pressure, kp_seat seat, kp_error *error);

/** Where a stack stops being round: a coned shim's rim is compressed along the hoop, and folds into lobes. */
typedef struct kp_onset {
    bool folds;       /*      false: it stays round up to the pressure asked for */
    int lobes;        /* [-]  2 to 7                                             */
    double pressure;  /* [Pa]                                                    */
    double seat_lift; /* [m]  of the stack without its seat                      */
    double rim_lift;  /* [m]  of the face shim                                   */
} kp_onset;
/** Given:    pressure_max [Pa] > 0
    Returned: the least pressure up to it at which the second variation of the energy, without the seat, is not positive
    Valid:    frictionless contact, flat shims, pressure even round the circle
    Accuracy: 3e-4 of itself; within 0.8 % of onsets computed apart for nine clamp ratios and nine stacks
    Errors:   KP_OUT_OF_RANGE; KP_NO_MEMORY; as kp_stack_solve. Allocates; the workspace's state changes. */
KP_API kp_status kp_stack_find_onset(kp_stack_workspace *workspace, double pressure_max, kp_onset *out,
                                     kp_error *error);
/** Whether the last solution is folded; *onset (unless NULL): where it began to. */
KP_API bool kp_stack_is_folded(const kp_stack_workspace *workspace, kp_onset *onset);

/** What the last kp_stack_solve took. */
typedef struct kp_stack_record {
    int newton_steps;    /* [-]  full steps, each with tangents of its own */
    int frozen_steps;    /* [-]  steps with the Jacobian of the last Newton step */
    int set_changes;     /* [-]  contacts added or dropped */
    int active_contacts; /* [-]  at the solution */
    int load_steps;      /* [-]  1 unless the load had to be halved */
    double residual;     /* [-]  last Newton decrement over the stored energy */
} kp_stack_record;

/** Returned: what the last kp_stack_solve took. */
KP_API kp_stack_record kp_stack_last_record(const kp_stack_workspace *workspace);

/* ---- lift, force and energy at the last solution ---- */

/** Given:    a disc's index in the caller's array; r [m], moved to the disc's nearer edge where it is outside
    Returned: lift of its middle surface from the clamp plane [m]; 0 for a spacer, which does not move. */
KP_API double kp_stack_lift_at(const kp_stack_workspace *workspace, size_t disc, double r);
/** Returned: lift of the face shim's lower face at the land's inner edge, from the clamp plane [m]: what the seat sees.
              It is t w'^2/4 less than the middle surface's. */
KP_API double kp_stack_seat_lift(const kp_stack_workspace *workspace);
/** Returned: amplitude of the lobes there [m]: the crest lifts this much more than the mean, the valley as much less; 0
              where the solution is round. */
KP_API double kp_stack_seat_lobe(const kp_stack_workspace *workspace);
/** The same of a disc's middle surface.
    Given:    as kp_stack_lift_at. */
KP_API double kp_stack_lobe_at(const kp_stack_workspace *workspace, size_t disc, double r);
/** Returned: d(seat lift)/d(pressure) [m/Pa] with the active contacts held. Uses the workspace's scratch. */
KP_API double kp_stack_seat_compliance(kp_stack_workspace *workspace);
/** Returned: force that the seat puts on the face shim, on the whole circle [N], >= 0. */
KP_API double kp_stack_seat_force(const kp_stack_workspace *workspace);
/** Returned: stored elastic energy, on the whole circle [J]. */
KP_API double kp_stack_energy(const kp_stack_workspace *workspace);
/** Returned: how far the last solution is from equilibrium with its contact forces at its own tilt: energy that the
              forces left over would set free, over the stored energy [-]; INFINITY where a tangent is not positive
    For tests. It leaves the gaps linearised there, and uses the workspace's scratch. */
KP_API double kp_stack_imbalance(kp_stack_workspace *workspace);

/* ---- stress and fatigue at the last solution ---- */

/** Given:    a disc's index in the caller's array; r [m], moved to the disc's nearer edge where it is outside
    Returned: surface stresses of one of its shims [Pa]; zeros for a spacer
    Valid:    not at a slot's end: finite elements have 2.1 to 5.2 times the hoop stress given just inside it. No rule
              is offered: that factor rises with lift, and falls with the slot's depth where a notch's would rise. */
KP_API kp_disc_stress kp_stack_stress_at(const kp_stack_workspace *workspace, size_t disc, double r);
/** Returned: largest von Mises surface stress of a disc [Pa], its radius [m] and its side. Any pointer may be NULL. */
KP_API void kp_stack_peak_stress(const kp_stack_workspace *workspace, size_t disc, double *stress, double *radius,
                                 bool *piston_side);

/** Marks the last solution as the low end of the stress cycle: the seated stack at rest. */
KP_API void kp_stack_mark_rest(kp_stack_workspace *workspace);
/** Returned: the worst cycle of a disc from the marked solution to the last one; zeros for a spacer
    Valid:    once kp_stack_mark_rest has been called. */
KP_API kp_cycle kp_stack_cycle(const kp_stack_workspace *workspace, size_t disc);

/* ---- contacts at the last solution ---- */

/** What a contact's side is where it is no disc: below it the seat, above it the lift stop or backing washer. */
enum { KP_CONTACT_SEAT = -1, KP_CONTACT_STOP = -2 };

/** One possible contact. */
typedef struct kp_contact {
    int lower;     /* [-]  disc index in the caller's array, or KP_CONTACT_SEAT */
    int upper;     /* [-]  disc index in the caller's array, or KP_CONTACT_STOP */
    double radius; /* [m] */
    double gap;    /* [m]  >= 0 to rounding; between nodes a penetration of 2e-4 thicknesses is allowed */
    double force;  /* [N]  on the whole circle, >= 0 */
    bool enabled;  /*      false at the seat of a stack solved without it */
} kp_contact;

/** Returned: contacts that the stack can have, closed or not; kp_stack_contact reads one of them. */
KP_API size_t kp_stack_contact_count(const kp_stack_workspace *workspace);
/** Given: index < kp_stack_contact_count. */
KP_API kp_contact kp_stack_contact(const kp_stack_workspace *workspace, size_t index);

KP_END_DECLARATIONS

#endif
