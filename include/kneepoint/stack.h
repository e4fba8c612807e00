/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A shim stack: plates in contact under large deflection, solved at one pressure after another. */
#ifndef KNEEPOINT_STACK_H
#define KNEEPOINT_STACK_H

#include "kneepoint/base.h"
#include "kneepoint/plate.h"

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

/** Surface stresses of one shim at radius r [Pa]. */
kp_disc_stress kp_stack_stress_at(const kp_stack_workspace *workspace, size_t disc, double r);
/** Largest von Mises surface stress of a disc [Pa] and where (any pointer may
 * be NULL). */
void kp_stack_peak_stress(const kp_stack_workspace *workspace, size_t disc, double *stress, double *radius,
                          bool *piston_side);

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

#endif
