/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Private to src/stack: the state of a stack, its contacts, the quadratic programme of one Newton step. The scaling is
   that of plate/plate.h. */
#ifndef KNEEPOINT_STACK_INTERNAL_H
#define KNEEPOINT_STACK_INTERNAL_H

#include "kneepoint/stack.h"
#include "num/num.h"
#include "plate/plate.h"
#include "stack/stack.h"

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
typedef struct kp_batch {
    double *column; /* [unknowns][stride]                                */
    size_t stride;  /* a multiple of KP_BATCH                            */
    size_t count;   /* in use                                            */
    size_t most;
    size_t *gap; /* [most] that a lane is of                          */
} kp_batch;

typedef struct kp_qp {
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
    kp_batch *lanes;       /* [plates]                                                */
    size_t *started;       /* [widest] scratch: lanes begun at a plate's unknown      */
    double *column;        /* [widest] scratch: one of them                           */
    double *across;        /* [most + KP_BATCH] scratch: one row of them              */
    double *amount;        /* [capacity] scratch: by gap index                        */
    size_t plates, widest; /* how many, and unknowns of the largest               */
    int changes;           /* contacts added or dropped, running count                */
    void *arena;           /* one block behind all of it                              */
} kp_qp;

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
    kp_tilted_row
        *turns; /* [gap_count] what the rows are made of: splines, their derivatives, half a thickness (0: no tilt) */
    kp_two_block_row
        *rows;      /* [gap_count] coefficients on lifts, by the last linearisation; 0 where there is no plate */
    double *offset; /* [gap_count] [-] gaps at no lift, by the last linearisation */
    double *now;    /* [gap_count] scratch: gaps at the state */
    double *lifts;  /* scratch: W's coefficients of all plates, one after another */
    kp_qp qp;
    double pack;                   /* [-] height of the clamped pack's far face, over t0 */
    double pressure;               /* [-] of the state               */
    double past_pressure[KP_PAST]; /* [-] of the solutions before it, latest first */
    double past_lift[KP_PAST];     /* [m] of the seat there */
    bool past_held[KP_PAST];       /* by the seat */
    size_t past_count;
    double expected_lift; /* [m] of the seat at the next solution, where the caller knows about how much; else 0 */
    double start_lift;    /* [m] of the solution that it starts from */
    bool start_held;      /* by the seat, that one */
    bool
        has_tangent; /* each plate's step is the state's change with pressure, and seat_force_rate the seat's force's */
    double seat_force_rate; /* [-] */
    double tolerance;       /* [-] the caller's, or 0 */
    kp_seat seat;
    double contact_compliance; /* [-] what a gap gives for its force: 0 but on the way of soft contacts (descent.c) */
    double overlap;            /* [-] share of the overlap that the gaps allow for, by the last linearisation */
    bool solved;
    bool rests_strained; /* a state was marked as the cycle's low end; else that is nothing */
    kp_stack_record record;
    double *arena; /* one block behind the plates' arrays */
};

/* Sorts the lines into plates, spacers and rings. */
kp_status kp_stack_classify(kp_stack_workspace *workspace, kp_error *error);
/* Lays the plates' arrays out, meshes and prepares them; then contacts (none for a plate alone), load, programme. */
kp_status kp_stack_finish(kp_stack_workspace *workspace, const kp_stack_options *options, bool alone, kp_error *error);
/* [m] d(seat lift)/d(scaled pressure). */
double kp_stack_seat_lift_rate(kp_stack_workspace *workspace);
/* [J] of the scaled energy. */
double kp_stack_energy_unit(const kp_stack_workspace *workspace);
/* First shim line of a merged plate, or the last one. */
int kp_stack_line_of(const kp_stack_workspace *workspace, int plate, bool last);
const kp_plate *kp_stack_plate(const kp_stack_workspace *workspace, size_t disc);

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
double kp_gap_increment(const kp_stack_workspace *workspace, const kp_gap *gap);
/* Of all gaps at once: at the state; from such values what they are after the step. */
void kp_gap_values(const kp_stack_workspace *workspace, double *values);
void kp_gap_increments(const kp_stack_workspace *workspace, const double *from, double *values);

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
void kp_schur_solve(const kp_qp *qp, double *b);

/* ---- one step of Newton's method (stack.c) ---- */
/* Below this part of the energy a step is near the answer. [-] A lift wrong by about a per cent. */
#define KP_DECREMENT_NEAR 1e-4
/* Below this part the energies differ by rounding only and the full step is taken unseen. [-] */
#define KP_DECREMENT_ROUNDING 1e-10
/* Least fall a step must bring, of what its slope promises. [-] Armijo's usual figure. */
#define KP_ARMIJO 1e-4
/* A gap that is shut by more than this is not where a search on the potential alone may start. [-] of the pack's height
 */
#define KP_PENETRATION_TOLERANCE 1e-9

/* How the potential would fall along the step, and d.K d: what the step itself is worth. The two differ by the work of
   the contact forces on gaps that were shut only to rounding, which would otherwise pass for a step to be taken. */
typedef struct kp_predicted_decrease {
    double slope, size; /* [-] */
} kp_predicted_decrease;

/* Energy of state or trial less the pressure's work on it. */
double kp_stack_potential(const kp_stack_workspace *workspace, bool trial);
/* trial = state + part of the step; state and trial change places. */
void kp_stack_make_trial(kp_stack_workspace *workspace, double part);
void kp_stack_accept_trial(kp_stack_workspace *workspace);
/* Forces and factored tangents of all plates at the state; false where a tangent is not positive. */
bool kp_stack_factor_tangents(kp_stack_workspace *workspace);
kp_predicted_decrease kp_stack_predicted_decrease(const kp_stack_workspace *workspace);
/* Stored energy and work of the pressure: what decrements are measured by. */
double kp_stack_energy_scale(const kp_stack_workspace *workspace);
/* Part of that which the last step may be worth. */
double kp_stack_decrement_tolerance(const kp_stack_workspace *workspace);
/* Whether no gap is shut, as last straightened. */
bool kp_stack_is_open(const kp_stack_workspace *workspace);
/* Keeps the state in `start`, or puts it back. */
void kp_stack_keep(kp_stack_workspace *workspace, bool put_back);
/* The equilibrium at the workspace's pressure from any state, slower and surer (descent.c). */
bool kp_stack_descend(kp_stack_workspace *workspace);
/* The same from no state at all, surest of all. false: none found; *no_room: that gap cannot be kept open by any shape,
   or gap_count where that was not shown. */
bool kp_stack_penalty_continuation(kp_stack_workspace *workspace, size_t *no_room);

/* ---- where the next solution is looked for (predict.c) ---- */
/* Makes the state what the latest solutions and their tangent say of the pressure `target`; false: they say nothing.
   Overwrites it all the same. */
bool kp_stack_predict(kp_stack_workspace *workspace, double from, double target);
/* The solution that `start` holds, at the pressure `from`, becomes the latest past one. */
void kp_stack_remember(kp_stack_workspace *workspace, double from);

/* For at most so many active contacts (programme_begin.c). */
kp_status kp_qp_begin(kp_qp *qp, const kp_stack_workspace *workspace, size_t most, kp_error *error);
void kp_qp_free(kp_qp *qp);
/* Newton step of least energy that keeps every enabled gap open: fills each
   plate's step. false: the contacts contradict each other. */
bool kp_qp_solve(kp_stack_workspace *workspace);
/* What the state would do if the contact forces of the last programme stayed as they are: fills each plate's step. */
void kp_qp_unconstrained_step(kp_stack_workspace *workspace);
/* Its parts: L^-1 of the forces or of unit pressure's load into each plate's free; step = L'^-1 (free + columns x
   direction), which returns its d.K d; gaps after the step; the largest one of an active contact, open or shut, with
   what would shut them all in direction; largest lift of step or state. */
void kp_qp_start_free(kp_stack_workspace *workspace, bool loads_only);
double kp_qp_finish_step(kp_stack_workspace *workspace);
void kp_qp_evaluate_gaps(kp_stack_workspace *workspace);
double kp_qp_max_active_gap(const kp_stack_workspace *workspace);
double kp_stack_max_lift(const kp_stack_workspace *workspace, bool of_step);

/* ---- steps by the last tangents (chord.c) ---- */
/* From the state after a full step that was worth `full` [-] of the energy `scale` [-], straightened: at the tilt that
   it started from. true: the state is an equilibrium; false: a full step is needed. */
bool kp_stack_frozen_steps(kp_stack_workspace *workspace, double full, bool straightened, double scale);

#endif
