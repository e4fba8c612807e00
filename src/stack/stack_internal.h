/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Private to src/stack, in the order of the data path: the gaps, the quadratic programme of a Newton step, the
   workspace, then what each file offers. Everything is dimensionless: plate/plate.h has the scaling, with R0 the
   largest shim's radius, t0 and E0 the face shim's thickness and Young's modulus. */
#ifndef KNEEPOINT_STACK_INTERNAL_H
#define KNEEPOINT_STACK_INTERNAL_H

#include "kneepoint/stack.h"
#include "num/num.h"
#include "plate/plate.h"
#include "stack/stack.h"

#include <stdint.h>

/* ---- gaps: gap = offset + sum of (coefficients x unknowns), >= 0 ---- */

/* One plate's share of a gap. */
typedef struct kp_side {
    int plate;     /* index; KP_SIDE_RIGID where nothing moves */
    size_t base;   /* joint index of the element's first unknown */
    double *value; /* [4] splines, on base + 0, 2, 4, 6: positive above the gap, negative below; 0 where fixed */
    double *slope; /* [4] derivatives of the splines, positive on both sides; 0 where fixed */
    double *shape; /* [4] coefficients of the gap: value, less the share of the tilt x slope */
    size_t first;  /* joint index of the first entry that can be other than zero */
    size_t column; /* index in the plate's batch of columns, while the contact is active */
} kp_side;
enum { KP_SIDE_RIGID = -1 };

/* Cold fields of a gap, kept apart for the cache: the sweeps over all gaps read the workspace's tilted rows, rows and
   offsets only. */
typedef struct kp_gap {
    kp_side side[2];  /* below and above */
    double rest;      /* [-] gap at rest */
    double allowance; /* [-] penetration allowed at lifts of half a thickness and more */
    double rho;       /* [-] */
    int lower, upper; /* plate indices; KP_CONTACT_SEAT below, KP_CONTACT_STOP above */
    bool enabled;     /* false at the seat of a stack solved without it */
} kp_gap;

#define KP_NO_PLATE ((size_t)-1) /* a shim no larger than its clamp; as an argument, all plates */

/* ---- a plate's batch of columns ---- */

/* L^-1 of the active contacts' coefficients on one plate, as batched right-hand sides; columns from count to stride are
   zero. */
typedef struct kp_batch {
    double *columns;  /* [unknowns][stride] */
    size_t stride;    /* a multiple of KP_BATCH */
    size_t count;     /* columns in use */
    size_t max_count; /* columns that there can be */
    size_t *gap;      /* [max_count] the gap that each column is of */
} kp_batch;

/* ---- the quadratic programme of one Newton step ---- */

typedef struct kp_qp {
    size_t capacity;   /* number of gaps */
    size_t max_active; /* contacts that can be active at once: the unknowns of all lifts */

    size_t count;           /* active contacts */
    size_t *active;         /* [max_active + 1] their gap indices */
    double *multiplier;     /* [capacity] contact force, >= 0 */
    double *rest_value;     /* [capacity] gap at the state */
    double *value;          /* [capacity] gap after the step */
    double *free_gap;       /* [capacity] gap after the free step, of contacts that are active or being added */
    bool *skipped;          /* [capacity] not to be added: active, or dependent on active ones */
    int *times_added;       /* [capacity] in this programme */
    bool tolerance_relaxed; /* some contact of the last programme may have kept a small penetration */
    int changes;            /* contacts added or dropped, running count */

    size_t *slot_of;    /* [capacity] row of an active contact in coupling */
    size_t slot_count;  /* slots given so far */
    size_t *free_slots; /* [max_active] slots given back */
    size_t free_slot_count;
    double *coupling;  /* [max_active][max_active] Schur complement by slot, lower triangle */
    kp_skyline factor; /* Cholesky factor of it, by position in the active set */
    size_t *first_of;  /* [plates] first position that touches a plate */
    kp_batch *batches; /* [plates] columns of the active contacts */

    double *direction; /* [max_active + KP_SKYLINE_MORE] by position: multipliers, or their change */
    double *row;       /* [max_active + KP_SKYLINE_MORE] scratch by position */
    size_t *begun;     /* [widest] scratch: columns that have begun at a plate's unknown */
    double *column;    /* [widest] scratch: one column */
    double *batch_row; /* [max_active + KP_BATCH] scratch: one row of a batch */
    double *amount;    /* [capacity] scratch by gap index */

    size_t plates; /* number of plates */
    size_t widest; /* unknowns of the largest plate */
    void *arena;   /* the block of memory behind all arrays */
} kp_qp;

/* ---- the workspace ---- */

struct kp_stack_workspace {
    /* the stack and its scaling */
    double length, height, modulus; /* R0 [m], t0 [m], E0 [Pa] */
    kp_stack stack;                 /* its discs point to the copy below */
    kp_disc *discs;
    size_t *plate_of; /* [disc_count] merged plate of each shim line, or KP_NO_PLATE */
    double pack;      /* [-] height of the clamped pack's far face, over t0 */
    double tolerance; /* [-] the caller's; the default where it is 0 */

    /* the plates */
    size_t plate_count;
    kp_plate *plates;
    double *lifts; /* scratch: W's coefficients of all plates, one plate after another */
    double *arena; /* the block of memory behind lifts and the plates' arrays */

    /* the gaps: one block of memory that begins at gaps */
    size_t gap_count;
    kp_gap *gaps;           /* [gap_count] */
    kp_tilted_row *tilted;  /* [gap_count] splines, their derivatives, half a thickness: 0 for no tilt term */
    kp_two_block_row *rows; /* [gap_count] coefficients on lifts as last linearised; 0 where there is no plate */
    double *offset;         /* [gap_count] [-] gaps at no lift as last linearised */
    double *gap_scratch;    /* [gap_count] gaps at the state */
    double overlap;         /* [-] share of the allowances in the offsets as last linearised */
    kp_qp qp;

    /* the state: each plate's, with */
    bool solved;     /* it is an equilibrium */
    double pressure; /* [-] */
    kp_seat seat;
    double contact_compliance; /* [-] gap over contact force: 0 but in the penalty continuation (descent.c) */
    bool rest_is_marked;       /* the plates' rest stresses are those of a marked state */

    /* its change with pressure (tangent.c) */
    bool has_tangent;       /* each plate's step is the state's change with pressure */
    double seat_force_rate; /* [-] the seat force's */
    /* The factored tangents are those of a state before this one, far enough away that the tangent step is corrected.
       False while a solution is predicted, which needs no better than the factors give. */
    bool factors_trail_state;

    /* folding (fold.c, onset.c) */
    bool folded;      /* the last solution has lobes: it is in lobed, and the plates' is another pressure's */
    bool onset_known; /* of the stack without its seat                                                      */
    kp_onset onset;
    double round_up_to;           /* [Pa] pressure at which a solution was surely round */
    struct kp_lobe_system *lobes; /* NULL until it is asked for                                        */
    struct kp_lobed_stack *lobed; /* NULL until the stack first folds                                  */
    /* The stack that folds, on fewer elements: its shapes are smooth. It has the lobes, and its own round solutions to
       begin with. NULL until it is asked for, and in itself. */
    kp_stack_workspace *folding;
    kp_stack_options options;   /*     the caller's                             */
    bool touches_at_nodes_only; /*     no contact between nodes (contact.c)     */

    /* previous solutions, latest first, and the one that this solution starts from (predict.c) */
    size_t previous_count;
    double previous_pressure[KP_PAST]; /* [-] */
    double previous_lift[KP_PAST];     /* [m] at the seat */
    bool previous_held[KP_PAST];       /* by the seat */
    double start_lift;                 /* [m] at the seat */
    bool start_held;                   /* by the seat */
    double expected_lift;              /* [m] about where the seat's lift will be; <= 0 where not known */

    kp_stack_record record;
};

/* kp_stack_begin; nodes_only: contacts at nodes only, which is within 0.05 % in lift where shims are folded. */
kp_status kp_stack_begin_with(const kp_stack *stack, const kp_stack_options *options, bool nodes_only,
                              kp_stack_workspace **out, kp_error *error);

/* ---- classify.c and mesh.c: the lines of a stack become plates with nodes, load and contacts ---- */

typedef enum kp_stack_contacts { KP_CONTACTS_NONE, KP_CONTACTS_ALL } kp_stack_contacts;

/* Sorts the lines into plates, spacers and rings. */
kp_status kp_stack_classify(kp_stack_workspace *workspace, kp_error *error);
/* Meshes and prepares the plates; then contacts (none for a plate alone), load, programme. */
kp_status kp_stack_finish(kp_stack_workspace *workspace, const kp_stack_options *options, kp_stack_contacts contacts,
                          kp_error *error);
/* Elements of the workspace that folds. */
int kp_stack_folding_elements(const kp_stack_workspace *workspace);
/* First and last shim line of a merged plate; what is negative is no plate and returned as it is. */
int kp_stack_first_line(const kp_stack_workspace *workspace, int plate);
int kp_stack_last_line(const kp_stack_workspace *workspace, int plate);
/* The plate of a shim line; NULL for a spacer. */
const kp_plate *kp_stack_plate(const kp_stack_workspace *workspace, size_t disc);

/* ---- contact.c and gap.c: where neighbours may touch, and the gaps there ---- */

kp_status kp_contact_build(kp_stack_workspace *workspace, const kp_mesh_rule *rule, kp_error *error);
/* Whether a plate reaches to rho outside its clamp. */
bool kp_plate_moves(const kp_plate *plate, double rho);
/* Whether two plates face each other at rho. */
bool kp_chain_neighbours(const kp_stack_workspace *workspace, size_t a, size_t b, double rho);
/* Radii where the upper rigid surface has an edge or a bend, KP_STOP_POINTS + 1 at most. */
size_t kp_upper_surface_radii(const kp_stack_workspace *workspace, double *radii);
/* Whether a plate faces the upper rigid surface at rho. */
bool kp_faces_upper_surface(const kp_stack_workspace *workspace, size_t plate, double rho);

/* gap.c. Linearises the gaps at the state's tilt, and moves the overlap a part of the way toward what the state's lifts
 * allow. */
void kp_contact_linearise(kp_stack_workspace *workspace, double part);
/* Adds the tilt stiffness of the active contact forces to a plate's tangent, or to all plates' for KP_NO_PLATE. */
void kp_contact_add_tilt(kp_stack_workspace *workspace, size_t plate);

/* One gap at the state, as last linearised, and its change by the step. */
double kp_gap_value(const kp_stack_workspace *workspace, const kp_gap *gap);
double kp_gap_increment(const kp_stack_workspace *workspace, const kp_gap *gap);
/* All gaps at the state; and from such values all gaps after the step. */
void kp_gap_values(const kp_stack_workspace *workspace, double *values);
void kp_gap_increments(const kp_stack_workspace *workspace, const double *from, double *values);

/* ---- state.c: units, state and trial, potential and tangents, measures of a step ---- */

/* [-] Predicted decrease over the energy below which a step is near the answer: a lift wrong by about a per cent. */
static const double KP_DECREMENT_NEAR = 1e-4;
/* [-] Predicted decrease over the energy below which energies differ by rounding only: the full step is taken without a
   search. */
static const double KP_DECREMENT_ROUNDING = 1e-10;
/* [-] Least decrease that a step must bring, of what its slope predicts: Armijo's usual figure. */
static const double KP_ARMIJO = 1e-4;
/* [-] Penetration, of the pack's height, above which a search on the potential alone may not start. */
static const double KP_PENETRATION_TOLERANCE = 1e-9;

/* The decrease of the potential along the step, and d.K d, the step's own decrement. The two differ by the work of the
   contact forces on gaps that were closed only to rounding, which would otherwise pass for a step to be taken. */
typedef struct kp_predicted_decrease {
    double slope, size; /* [-] */
} kp_predicted_decrease;

/* [J] of the scaled energy. */
double kp_stack_energy_unit(const kp_stack_workspace *workspace);
/* Energy less the pressure's work on it. */
double kp_stack_potential(const kp_stack_workspace *workspace, kp_stack_shape shape);
/* trial = state + part of the step; state and trial change places. */
void kp_stack_make_trial(kp_stack_workspace *workspace, double part);
void kp_stack_accept_trial(kp_stack_workspace *workspace);
/* Copies the state to `start`, and back. */
void kp_stack_save_state(kp_stack_workspace *workspace);
void kp_stack_restore_state(kp_stack_workspace *workspace);
/* Forces and factored tangents of all plates at the state; false where a tangent is not positive. */
bool kp_stack_factor_tangents(kp_stack_workspace *workspace);
kp_predicted_decrease kp_stack_predicted_decrease(const kp_stack_workspace *workspace);
/* Stored energy and work of the pressure where forces were last evaluated: what decrements are measured by. */
double kp_stack_energy_scale(const kp_stack_workspace *workspace);
/* [-] Tolerance on the last step's predicted decrease over that energy. */
double kp_stack_decrement_tolerance(const kp_stack_workspace *workspace);
/* Records a full step's decrement over the energy, and whether the state it led to has left its factors behind. */
void kp_stack_record_full_step(kp_stack_workspace *workspace, double size);
/* The solution of the stack as it is held, round or folded (solve.c): kp_stack_solve without its choice. */
kp_status kp_stack_solve_shape(kp_stack_workspace *workspace, double pressure, kp_seat seat, kp_error *error);
/* Enables the seat's gaps or not. */
void kp_stack_set_seat(kp_stack_workspace *workspace, kp_seat seat);
/* The workspace whose state is the last solution: itself, or the one that folds. */
static inline kp_stack_workspace *kp_stack_solution(const kp_stack_workspace *workspace)
{
    return workspace->folded && workspace->folding ? workspace->folding : (kp_stack_workspace *)(uintptr_t)workspace;
}
/* Whether the last solution, which is round, lifts too little for any shim to fold. */
bool kp_stack_is_surely_round(const kp_stack_workspace *workspace);
/* Makes ready, once, what the stability of the round shape needs (onset.c). */
kp_status kp_stack_begin_lobes(kp_stack_workspace *workspace, kp_error *error);
void kp_stack_free_lobes(kp_stack_workspace *workspace);
/* A number of lobes, other than `except`, against which the last solution, which is round, is not stable; 0: none. */
int kp_stack_unstable_lobes(kp_stack_workspace *workspace, int except);
/* kp_stack_find_onset, from a pressure [Pa] up to which the stack is known to be stable. The state is that of the
   onset. */
kp_status kp_stack_find_onset_from(kp_stack_workspace *workspace, double from, double pressure_max, kp_onset *out,
                                   kp_error *error);

/* Whether no enabled gap is a penetration, as last linearised. */
bool kp_stack_is_open(const kp_stack_workspace *workspace);
/* Largest coefficient of lift, of the state and of the step. */
double kp_stack_max_lift(const kp_stack_workspace *workspace);
double kp_stack_max_step(const kp_stack_workspace *workspace);

/* ---- schur.c: the Schur complement of the active contacts ---- */

/* [-] A contact whose pivot is this small a part of its compliance depends on the active ones. */
static const double KP_DEPENDENT = 1e-11;

/* Orders the active set; computes its columns, couplings and free gaps; numbers the slots anew. */
void kp_schur_columns(kp_stack_workspace *workspace);
/* The same for one more contact, not yet in the set; false where there is no room: then it must be dependent. */
bool kp_schur_couple(kp_stack_workspace *workspace, size_t gap);
/* Takes a contact's columns and slot back. */
void kp_schur_release(kp_stack_workspace *workspace, size_t gap);
/* free_gap = offset (by gap index; zeros for NULL) + the change by the free step, of all active contacts. */
void kp_schur_free_gaps(kp_stack_workspace *workspace, const double *offset);
/* step = free + columns x direction. */
void kp_schur_push(kp_stack_workspace *workspace);
/* Factors the rows from position `from`, the set being in order. Returns count, or the position whose pivot failed. */
size_t kp_schur_factor(kp_stack_workspace *workspace, size_t from);
/* S x = b by position, in place. */
void kp_schur_solve(const kp_qp *qp, double *b);

/* ---- qp_begin.c, qp_step.c and qp.c: the quadratic programme ---- */

kp_status kp_qp_begin(kp_qp *qp, const kp_stack_workspace *workspace, size_t max_active, kp_error *error);
void kp_qp_free(kp_qp *qp);
/* Newton step of least energy that keeps every enabled gap open: fills each plate's step. false: the contacts
   contradict each other. */
bool kp_qp_solve(kp_stack_workspace *workspace);
/* The step under the contact forces of the last programme, held as they are: fills each plate's step. */
void kp_qp_unconstrained_step(kp_stack_workspace *workspace);

/* qp_step.c. The free step, half solved: L^-1 of the forces, or of unit pressure's load, into each plate's free. */
void kp_qp_free_step_of_forces(kp_stack_workspace *workspace);
void kp_qp_free_step_of_load(kp_stack_workspace *workspace);
/* step = L'^-1 (free + columns x direction). Returns d.K d. */
double kp_qp_finish_step(kp_stack_workspace *workspace);
/* All gaps after the step. */
void kp_qp_evaluate_gaps(kp_stack_workspace *workspace);
/* Largest gap or penetration of an active contact after the step; fills direction with what would close them all. */
double kp_qp_max_active_gap(const kp_stack_workspace *workspace);

/* ---- frozen.c: steps with the last Jacobian ---- */

/* Given the state after a full step with the decrement `full` [-] of the energy `scale` [-]; linearised_here: the gaps
   were linearised where that step began. true: the state is an equilibrium; false: a full step is needed. */
bool kp_stack_frozen_steps(kp_stack_workspace *workspace, double full, bool linearised_here, double scale);
/* Adds to each plate's force the active contacts' forces, multipliers by position. */
void kp_stack_add_contact_forces(kp_stack_workspace *workspace, const double *multiplier);
/* The step under the plates' forces in which each active gap changes by -qp.value, with the frozen Jacobian; the change
   of the contact forces goes into qp.direction and qp.row. Returns d.K d. */
double kp_stack_frozen_solve(kp_stack_workspace *workspace);

/* ---- tangent.c ---- */

/* [m] d(seat lift)/d(scaled pressure). */
double kp_stack_seat_lift_rate(kp_stack_workspace *workspace);

/* ---- ring.c ---- */

/* Adds a ring of force [N], on the whole circle, at the land's inner edge to the load of a scaled pressure of 1. */
void kp_stack_add_ring_load(kp_stack_workspace *workspace, double force);

/* ---- predict.c: where the next solution is looked for ---- */

/* Makes the state what the previous solutions and the tangent predict for the pressure `target`. false: they predict
   nothing, and the state is overwritten all the same. */
bool kp_stack_predict(kp_stack_workspace *workspace, double from, double target);
/* The solution in `start`, at the pressure `from`, becomes the latest of the previous ones. */
void kp_stack_remember(kp_stack_workspace *workspace, double from);

/* ---- descent.c: equilibria that Newton's method does not find ---- */

/* The equilibrium at the workspace's pressure from any state, slower and more robust than Newton's method. */
bool kp_stack_descend(kp_stack_workspace *workspace);
/* The same from the flat stack, the most robust. false: none found; then *infeasible_gap is a gap that no shape can
   keep open, or gap_count where that was not shown. */
bool kp_stack_penalty_continuation(kp_stack_workspace *workspace, size_t *infeasible_gap);

#endif
