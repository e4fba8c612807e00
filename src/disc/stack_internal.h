/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Private to src/disc: the scaled problem, one plate, the contacts, the
   programme of one Newton step.

   Scaling. Everything below the public functions is dimensionless, so that
   tolerances are relative to the stack and scaling all lengths changes no
   decision: radius rho = r/R0, lift W = w/t0, radial displacement U = u
   R0/t0^2, energy in 2 pi E0 t0^5/R0^2, pressure P = p R0^4/(E0 t0^4), with R0
   the largest shim's radius, t0 and E0 the face shim's thickness and Young's
   modulus. */
#ifndef KNEEPOINT_STACK_INTERNAL_H
#define KNEEPOINT_STACK_INTERNAL_H

#include "kneepoint/disc.h"
#include "kneepoint/num.h"

enum {
    KP_PAIR = 2,                       /* unknowns a spline: W's coefficient, then U's */
    KP_LOCAL = 4,                      /* splines that are not zero in an element      */
    KP_JOINT_WIDTH = 7,                /* half bandwidth of the joint matrix           */
    KP_JOINT_ROW = KP_JOINT_WIDTH + 1, /* entries a row of the packed band */
    KP_FIELD_WIDTH = 3,                /* half bandwidth of W alone or U alone         */
    KP_FIELD_ROW = KP_FIELD_WIDTH + 1,
    KP_PAST = 3,        /* solutions kept for predicting the next         */
    KP_GAUSS = 4,       /* points an element: W'^4 times rho is degree 9; measured enough */
    KP_MAX_NODES = 512, /* a plate: elements across it plus one for every tip */
};

/* ---- one plate: shims of one size laid together (plate_element.c) ---- */

/* Value and first two derivatives at node i of the three splines that are not zero there: i, i + 1, i + 2. */
typedef struct kp_knot {
    double value[3], slope[3], curve[3];
} kp_knot;

/* One of the places where surface stresses are read (surface.c). */
typedef struct kp_sample {
    double curve[4]; /* [-] weights of the four curvatures that its own is taken from */
    double turns;    /* [-] 1/rho                                                     */
} kp_sample;

enum { KP_FIX_LIFT = 1, KP_FIX_SLOPE = 2, KP_FIX_STRETCH = 4 };

typedef struct kp_plate {
    double inner;         /* [-] rho of its first node: clamp, or hole of a loose ring */
    double outer;         /* [-] rho of the free edge                             */
    double bottom;        /* [-] height of its lower face at rest, over t0        */
    bool ring;            /*     loose: held by its neighbours only               */
    double membrane;      /* [-] count x E t / (1 - nu^2), scaled                  */
    double bending;       /* [-] count x E t^3 / (12 (1 - nu^2)), scaled           */
    double nu;            /* [-]                                                 */
    double thickness;     /* [-] of all its shims together, over t0               */
    double one_thickness; /* [-] of one shim, over t0                        */
    double young;         /* [-] over E0                                          */
    unsigned fixed_first; /* KP_FIX_ bits of the first node */
    unsigned fixed_last;  /* and of the last  */
    double grip;          /* [-] stiffness of the ring under the clamp, over membrane;
                             without KP_FIX_STRETCH only */
    double slip;          /* [-] friction of the clamp, over membrane: the stretch is held
                             up to it */
    int slot_count;       /* [-]                                                  */
    double slot_width;    /* [-] over R0                                          */
    double slot_inner;    /* [-] rho                                              */

    size_t nodes;
    size_t splines;             /* nodes + 2: cubic, second derivative continuous at every node */
    size_t unknowns;            /* KP_PAIR x splines                         */
    size_t contacts;            /* gaps that it is a side of                 */
    size_t lifts_at;            /* its first spline in the workspace's lifts */
    double *rho;                /* [nodes]                                   */
    kp_knot *lift_knot;         /* [nodes] W's splines there ...             */
    kp_knot *stretch_knot;      /* [nodes] ... and U's                       */
    double (*weight)[KP_GAUSS]; /* [nodes - 1] quadrature weight x rho        */
    kp_element *slope_shape;    /* [nodes - 1] dN/drho of an element's four splines */
    kp_element *stretch_shape;  /* [nodes - 1] dN/drho + nu N/rho             */
    double *constant;           /* [unknowns][KP_JOINT_ROW] joint tangent at no lift */
    double *bend;               /* [splines][KP_FIELD_ROW] bending stiffness of W, full    */
    double *diagonals;          /* the same by diagonals */
    double *stretch;            /* [splines][KP_FIELD_ROW] membrane stiffness of U for
                                   membrane = 1    */
    double *stretch_factor;     /* its Cholesky factor, edges as fixed        */
    double *slip_factor;        /* the same with the clamp held too, for slip > 0 */
    kp_sample *sample;          /* [kp_surface_count] */
    kp_disc_stress *rest;       /* [kp_surface_count] at the low end of a stress cycle, over the unit */
    bool sticks;                /* that friction holds, at the state last condensed */

    double *state;               /* [unknowns] equilibrium so far                           */
    double *past[KP_PAST];       /* [unknowns] the solutions before the state, latest first */
    double *start;               /* [unknowns] state at the start of a load step            */
    double *trial;               /* [unknowns] of the line search                           */
    double (*slope)[KP_GAUSS];   /* [nodes - 1] W' where the force was last taken ... */
    double (*tension)[KP_GAUSS]; /* [nodes - 1] ... e_r + nu e_t there ... */
    double energy;               /* [-] ... and the elastic energy */
    double *force;               /* [unknowns] minus the gradient of the energy, U part 0   */
    double *free;                /* [unknowns] L^-1 of the force: the step without contact, half solved */
    double *step;                /* [unknowns] Newton step                                  */
    double *load;                /* [unknowns] work of unit pressure, U part 0; zero but for the
                                    face shim */
    double *factor;              /* [unknowns][KP_JOINT_ROW]                                */
} kp_plate;

/* Everything constant of a plate whose nodes, stiffness and outer radius are
 * set. */
void kp_plate_prepare(kp_plate *plate);
/* The splines' values and slopes at the nodes, edges as fixed (plate_basis.c). */
void kp_plate_make_knots(kp_plate *plate);
/* Splines next to an edge, from it inward, whose lift its bits fix (see plate_basis.c). */
static inline size_t kp_edge_holds(unsigned fixed)
{
    bool lift = fixed & KP_FIX_LIFT, slope = fixed & KP_FIX_SLOPE;
    return lift && slope ? 2 : lift || slope ? 1 : 0;
}
/* Whether unknown (joint index) has a fixed value. */
static inline bool kp_plate_fixes(const kp_plate *plate, size_t unknown)
{
    size_t spline = unknown / KP_PAIR;
    size_t from_last = plate->splines - 1 - spline;
    if (unknown % KP_PAIR == 1) {
        return (spline == 0 && (plate->fixed_first & KP_FIX_STRETCH)) ||
               (from_last == 0 && (plate->fixed_last & KP_FIX_STRETCH));
    }
    return spline < kp_edge_holds(plate->fixed_first) || from_last < kp_edge_holds(plate->fixed_last);
}
/* Makes unknown i of a band that of a fixed value: its row and column vanish, its diagonal is one. */
void kp_band_fix(double *band, size_t width, size_t i);
/* The U part of q from its W part, by the plate's own radial equilibrium. */
void kp_plate_condense(kp_plate *plate, double *q);
/* Elastic energy of q, whose U part is condensed. */
double kp_plate_energy(const kp_plate *plate, const double *q);
/* Fills plate->force with minus the gradient of (energy - pressure x load) at plate->state, whose U part is condensed;
   slope, tension and energy are the state's then. */
void kp_plate_force(kp_plate *plate, double pressure);
/* Fills plate->factor with the joint tangent where the force was last taken. clamp_tension: compressive N_r left out,
   which keeps it positive. Linear: the tangent at no lift, for the starting guess. */
void kp_plate_assemble(kp_plate *plate, bool clamp_tension);
void kp_plate_assemble_linear(kp_plate *plate);
/* Adds stiffness x (slope . unknowns)^2/2 of a contact in the element whose first unknown is base. */
void kp_plate_add_tilt(kp_plate *plate, size_t base, const double slope[4], double stiffness);
/* Cholesky of what was assembled. */
bool kp_plate_factor(kp_plate *plate);
/* Element that holds rho, and its four splines of W there, and their derivatives. */
size_t kp_plate_shape(const kp_plate *plate, double rho, double value[4], double first[4]);
/* The same of U, in an element. */
void kp_plate_stretch_in(const kp_plate *plate, size_t element, double rho, double value[4], double first[4]);
/* Sum of c[i] x the i-th of a node's three or an element's four lifts (its stretches: q one further on). */
static inline double kp_knot_sum(const double c[3], const double *q)
{
    return c[0] * q[0] + c[1] * q[2] + c[2] * q[4];
}
static inline double kp_plate_sum(const double c[4], const double *q)
{
    return (c[0] * q[0] + c[1] * q[2]) + (c[2] * q[4] + c[3] * q[6]);
}
double kp_plate_lift(const kp_plate *plate, const double *q, double rho);

/* Node positions: mesh.c. breakpoints ascending, first = clamp, last = largest
 * edge. */
typedef struct kp_mesh_rule {
    double clamp;    /* [-] rho of the clamp                                    */
    double span;     /* [-] largest edge less clamp                             */
    double finest;   /* [-] element at the clamp                                */
    double coarsest; /* [-] element far from it                                 */
    double reach;    /* [-] distance from the clamp at which elements are coarsest */
} kp_mesh_rule;
double kp_mesh_size(const kp_mesh_rule *rule, double rho);
/* Writes at most capacity nodes; returns how many there are. */
size_t kp_mesh_nodes(const kp_mesh_rule *rule, size_t breakpoints, const double *at, size_t capacity, double *nodes);

/* ---- contacts (contact.c): gap = offset + sum of (coefficients x unknowns), >= 0 ---- */
typedef struct kp_side {
    int plate;     /* index, or -1 for none                            */
    size_t base;   /* joint index of the element's first unknown        */
    double *value; /* [4] splines, on base + 0, 2, 4, 6: as they are above the gap, negative below; 0 where fixed */
    double *slope; /* [4] derivatives of the splines, not negative, 0 where fixed */
    double *shape; /* [4] coefficients of the gap: value, less the tilt's share x slope */
    size_t first;  /* joint index of the first entry that can be other than zero */
    size_t lane;   /* of the plate's columns, while active */
} kp_side;

/* What is seldom looked at of a gap: all are straightened and valued in one walk over the workspace's turns and rows.
 */
typedef struct kp_gap {
    kp_side side[2];  /* below and above; plate -1: rigid there            */
    double rest;      /* [-] gap at rest                                  */
    double allowance; /* [-] overlap allowed for at lifts of half a thickness and more */
    double rho;       /* [-] */
    int lower, upper; /* plate indices; KP_CONTACT_SEAT or KP_CONTACT_STOP */
    bool enabled;
} kp_gap;
#define KP_NO_PLATE ((size_t)-1) /* a shim no larger than the clamp */
enum { KP_CONTACT_SEAT = -1, KP_CONTACT_STOP = -2 };

/* ---- the programme of one Newton step (programme.c) ---- */
/* The active contacts' columns on one plate, L^-1 of their coefficients, side by side; zero in what fills up. */
typedef struct kp_lanes {
    double *column; /* [unknowns][stride]                                */
    size_t stride;  /* a multiple of KP_BESIDE                            */
    size_t count;   /* in use                                            */
    size_t most;
    size_t *gap; /* [most] that a lane is of                          */
} kp_lanes;

typedef struct kp_programme {
    size_t capacity;    /* = number of gaps                                        */
    size_t most;        /* most contacts that can be active: unknowns of all lifts */
    size_t count;       /* active contacts                                         */
    size_t *active;     /* [most + 1] gap indices                                  */
    double *multiplier; /* [capacity] by gap index, >= 0                           */
    double *rest_value; /* [capacity] by gap index: gap at the state               */
    double *value;      /* [capacity] gap after the step                           */
    double *free_gap;   /* [capacity] gap after the free step, of contacts that are or were to be active */
    int *visits;        /* [capacity] times taken up in this programme             */
    bool loosened;      /* some contact of the last programme may have stayed a little shut */
    bool *passed_over;  /* [capacity] active, or dependent on active ones          */
    size_t *slot_of;    /* [capacity] row of an active contact in coupling         */
    size_t *spare;      /* [most] slots let go                                     */
    size_t slots, spare_count;
    double *coupling;      /* [most][most] Schur complement by slot                   */
    kp_skyline factor;     /* Cholesky factor of it                                   */
    size_t *first_of;      /* [plates] first position that touches a plate            */
    double *direction;     /* [most and KP_SKYLINE_MORE] by position                                      */
    double *row;           /* [most and KP_SKYLINE_MORE] scratch: by position          */
    kp_lanes *lanes;       /* [plates]                                                */
    size_t *started;       /* [widest] scratch: lanes begun at a plate's unknown      */
    double *column;        /* [widest] scratch: one of them                           */
    double *across;        /* [most + KP_BESIDE] scratch: one row of them              */
    double *amount;        /* [capacity] scratch: by gap index                        */
    size_t plates, widest; /* how many, and unknowns of the largest               */
    int changes;           /* contacts added or dropped, running count                */
    void *arena;           /* one block behind all of it                              */
} kp_programme;

struct kp_stack_workspace {
    double length, height, modulus; /* R0 [m], t0 [m], E0 [Pa]        */
    kp_stack stack;                 /* discs points to own copy       */
    kp_disc *discs;
    size_t *plate_of; /* [disc_count] merged plate of each shim line, or
                         KP_NO_PLATE */
    size_t plate_count;
    kp_plate *plates;
    size_t gap_count;
    kp_gap *gaps;
    kp_turning
        *turns; /* [gap_count] what the rows are made of: splines, their derivatives, half a thickness (0: no tilt) */
    kp_fours *rows; /* [gap_count] coefficients on lifts, by the last linearisation; 0 where there is no plate */
    double *offset; /* [gap_count] [-] gaps at no lift, by the last linearisation */
    double *now;    /* [gap_count] scratch: gaps at the state */
    double *lifts;  /* scratch: W's coefficients of all plates, one after another */
    kp_programme programme;
    double pack;                   /* [-] height of the clamped pack's far face, over t0 */
    double pressure;               /* [-] of the state               */
    double past_pressure[KP_PAST]; /* [-] of the solutions before it, latest first */
    double past_lift[KP_PAST];     /* [m] of the seat there */
    bool past_held[KP_PAST];       /* by the seat */
    size_t past_count;
    double expected_lift; /* [m] of the seat at the next solution, where the caller knows about how much; else 0 */
    double start_lift;    /* [m] of the solution that it starts from */
    bool start_held;      /* by the seat, that one */
    bool has_tangent;   /* each plate's step is the state's change with pressure, and seat_change the seat's force's */
    double seat_change; /* [-] */
    double tolerance;   /* [-] the caller's, or 0 */
    kp_seat seat;
    double softness; /* [-] what a gap gives for its force: 0 but on the way of soft contacts (descent.c) */
    double overlap;  /* [-] share of the overlap that the gaps allow for, by the last linearisation */
    bool solved;
    bool rests_strained; /* a state was marked as the cycle's low end; else that is nothing */
    kp_stack_record record;
    double *arena; /* one block behind the plates' arrays */
};

/* Sorts the lines into plates, spacers and rings. */
kp_status kp_stack_classify(kp_stack_workspace *workspace, kp_error *error);
/* Lays the plates' arrays out, meshes and prepares them; then contacts (none for a plate alone), load, programme. */
kp_status kp_stack_finish(kp_stack_workspace *workspace, const kp_stack_options *options, bool alone, kp_error *error);
/* [Pa] of the scaled pressure. */
double kp_stack_pressure_unit(const kp_stack_workspace *workspace);
/* [m] d(seat lift)/d(scaled pressure); [N/Pa] d(seat force)/d(pressure). */
double kp_stack_seat_rise(kp_stack_workspace *workspace);
double kp_stack_seat_change(kp_stack_workspace *workspace);
const kp_plate *kp_stack_plate(const kp_stack_workspace *workspace, size_t disc);
/* [Pa] and [-] of one disc: kp_stack_peak_stress's and kp_stack_cycle's in one pass. */
typedef struct kp_peaks {
    double stress, use;
    int stress_place, use_place; /* surface place x 2, + 1 on the far side; not of a trial */
} kp_peaks;
/* trial: of the state that kp_stack_look_along left. */
kp_peaks kp_stack_peaks(const kp_stack_workspace *workspace, size_t disc, bool trial);
/* Makes each plate's trial its state and a part of its step. */
void kp_stack_look_along(kp_stack_workspace *workspace, double part);

/* ---- surface stresses of a plate: at the ends and middle of each element, k = 0 to 2 x elements (surface.c) ---- */
static inline size_t kp_surface_count(const kp_plate *plate)
{
    return 2 * plate->nodes - 1;
}
double kp_surface_place(const kp_plate *plate, size_t k); /* [-] rho */
void kp_surface_prepare(kp_plate *plate);
/* Those of the state given, [kp_surface_count] over the unit; the unit [Pa]. */
void kp_surface_stress(const kp_plate *plate, const double *state, kp_disc_stress *out);
double kp_surface_unit(const kp_stack_workspace *workspace, const kp_plate *plate);

kp_status kp_contact_build(kp_stack_workspace *workspace, const kp_mesh_rule *rule, kp_error *error);
/* Whether a plate reaches there outside its clamp; whether two plates face each other there. */
bool kp_plate_moves(const kp_plate *plate, double rho);
/* Radii where the rigid ceiling has an edge or a bend (KP_STOP_POINTS + 1 at most), and whether a plate faces it there.
 */
size_t kp_ceiling_rims(const kp_stack_workspace *workspace, double *rims);
bool kp_faces_ceiling(const kp_stack_workspace *workspace, size_t plate, double rho);
bool kp_chain_neighbours(const kp_stack_workspace *workspace, size_t a, size_t b, double rho);
/* Adds to a plate's tangent, or to all plates' for KP_NO_PLATE, what its active contact forces do as it tilts. */
void kp_contact_add_tilt(kp_stack_workspace *workspace, size_t plate);
/* Straightens the gaps at the state's tilt, and moves the overlap allowed for a part of the way toward what the state's
   lifts allow for: see contact.c. */
void kp_contact_linearise(kp_stack_workspace *workspace, double part);
double kp_gap_value(const kp_stack_workspace *workspace, const kp_gap *gap);
/* What the step adds to it. */
double kp_gap_rise(const kp_stack_workspace *workspace, const kp_gap *gap);
/* Of all gaps at once: at the state; from such values what they are after the step. */
void kp_gap_values(const kp_stack_workspace *workspace, double *values);
void kp_gap_rises(const kp_stack_workspace *workspace, const double *from, double *values);

/* A contact whose own direction is this small a part of its compliance depends on the active ones. [-] */
#define KP_DEPENDENT 1e-11
/* Puts the active set in order; columns, couplings and free gaps of all of it; slots given anew (schur.c). */
void kp_schur_columns(kp_stack_workspace *workspace);
/* The same for one contact more, that is not in the set yet; false when there is no room: it must be dependent. */
bool kp_schur_couple(kp_stack_workspace *workspace, size_t gap);
void kp_schur_release(kp_stack_workspace *workspace, size_t gap);
/* free_gap = offset (by gap index; NULL: 0) and what the free step adds to it; of all active contacts. */
void kp_schur_free_gaps(kp_stack_workspace *workspace, const double *offset);
/* step = free + columns x direction. */
void kp_schur_push(kp_stack_workspace *workspace);
/* Factors the rows from position `from`, the set being in order. Returns count, or the position whose pivot failed. */
size_t kp_schur_factor(kp_stack_workspace *workspace, size_t from);
/* S x = b by position, in place. */
void kp_schur_solve(const kp_programme *programme, double *b);

#include "steps_internal.h"

#endif
