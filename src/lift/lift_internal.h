/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Private to the lift table. An interval lies between two neighbouring points and has the number of the lower one.

   curve.c      reference curve, and interpolation of the rise
   quantity.c   stresses and other quantities beside the rise
   ring.c       a ring of force at the land against the pressure
   verify.c     whether an interval is accurate enough, and where to split one that is not
   point.c      one point: solved and inserted
   compliance.c slope at zero load
   seat.c       points below the cracking pressure
   build.c      which loads are solved
   table.c      the public functions */
#ifndef KNEEPOINT_LIFT_INTERNAL_H
#define KNEEPOINT_LIFT_INTERNAL_H

#include "kneepoint/lift.h"
#include "num/num.h"
#include "stack/stack.h"

/* Lift by which a stack without pressure must lie below its seat to count as pressed on it. [-] of the face shim's
   thickness */
#define KP_LIFT_PRESSED 1e-9
/* Smallest power d ln(rise)/d ln(pressure) of a reference: that of the membrane alone, 1/3, and a little. [-] */
#define KP_POWER_MEMBRANE 0.345

/* Rise of a plate of one bending and one membrane stiffness: p/pressure = x + x^3, x = rise/lift. */
typedef struct kp_lift_reference {
    double pressure; /* [Pa] */
    double lift;     /* [m]  */
} kp_lift_reference;

/* How the rise is interpolated in an interval. */
typedef enum kp_lift_interval {
    KP_INTERVAL_HELD,           /* the seat holds: constant                                               */
    KP_INTERVAL_START,          /* from zero load: the reference, corrected to the slope at zero load     */
    KP_INTERVAL_START_RATIONAL, /* from zero load, where that correction is too large: rational quadratic */
    KP_INTERVAL_SMOOTH,         /* the reference times the exponential of a cubic in ln(pressure)         */
    KP_INTERVAL_RATIONAL        /* where that would fall: ln(rise) a rational quadratic in ln(pressure)   */
} kp_lift_interval;

/* A point of the table. */
typedef struct kp_lift_node {
    double pressure, log_pressure; /* [Pa], and ln of it                                          */
    double rise;                   /* [m] seat lift without the seat, less that at zero load      */
    double power;                  /* [-] d ln(rise)/d ln(pressure)                               */
    double reference;              /* [m] rise of the reference                                   */
    double correction;             /* [-] ln(rise/reference) ...                                  */
    double correction_slope;       /* [-] ... and its d/d ln(pressure)                            */
    kp_lift_interval interval;     /*     to the next point                                       */
    bool folded;                   /*     into lobes                                              */
    double ring_area;              /* [m2] kp_lift_table_ring_area; 0 where the seat holds        */
} kp_lift_node;

/* A quantity beside the rise, at a point. Each point has 1 + 2 disc_count of them: the lift of the face shim's edge
   less that at zero load [m], each disc's largest stress [Pa], each disc's fatigue use [-]. */
typedef struct kp_lift_quantity {
    double value;
    double slope;     /* d(value)/d ln(pressure), where the seat holds d(value)/d(pressure); NAN: not known */
    int stress_point; /* where on the disc's surface the value is: kp_peaks                                 */
} kp_lift_quantity;

/* What only building uses. */
typedef struct kp_lift_build {
    kp_stack_workspace *workspace; /* NULL in a table made from points                                        */
    double *yield;                 /* [disc_count] [Pa]                                                       */
    double smallest_opening;       /* [m]  tolerances are relative to the opening, or to this if it is larger */
    double next_pressure;          /* [Pa] next load beyond the last point                                    */
    size_t capacity;               /* points that there is room for                                           */
    size_t verified;               /* intervals before this point are accurate enough                         */
    bool has_kink;                 /* a kink was found                                                        */
    kp_lift_table_cost cost;
} kp_lift_build;

struct kp_lift_table {
    bool coarse;
    double dish;          /* [m]                                                                      */
    double unloaded_lift; /* [m]    seat lift without seat and load ...                               */
    double unloaded_edge; /* [m]    ... and that of the face shim's edge                              */
    double cracking;      /* [Pa]                                                                     */
    double compliance;    /* [m/Pa] d(rise)/d(pressure) at zero load, without the seat; 0: not known  */
    kp_lift_reference reference;

    size_t count;               /* points ...                                                                   */
    size_t held;                /* ... of which these first ones lie below cracking                             */
    kp_lift_node *node;         /* [capacity]; NULL in a table made from points                                 */
    kp_lift_quantity *quantity; /* [capacity + 1][kp_lift_quantity_count]; the last row is of the last solution */
    size_t disc_count;
    double yields_from;   /* [Pa]   lowest pressure with a stress beyond yield; INFINITY: none        */
    size_t yielding_disc; /*        index in the stack's discs                                        */

    double *given_pressure; /* [count] [Pa]   of a table made from points, */
    double *given_opening;  /* [count] [m]    NULL in others               */
    double *given_slope;    /* [count] [m/Pa]                              */
    double *given_ring;     /* [count] [m2]   or NULL: not known           */

    kp_lift_build build;
};

/* ---- reference and rise (curve.c) -------------------------------------------------------------------------------- */

/* The reference through a point of that rise, with the point's own power. */
kp_lift_reference kp_lift_reference_through(double pressure, double rise, double power);
/* Pressure at which the reference has that rise [Pa]. */
double kp_lift_reference_pressure(const kp_lift_reference *reference, double rise);
/* Fills a node's log_pressure, reference and correction from its pressure, rise and power. */
void kp_lift_set_correction(const kp_lift_table *table, kp_lift_node *node);
/* Chooses the interpolation of interval i. Needs both its points. */
void kp_lift_choose_interval(kp_lift_table *table, size_t i);
/* Rise [m] in interval i, and its slope [m/Pa]. */
double kp_lift_rise(const kp_lift_table *table, size_t i, double pressure, double *slope);
/* Rise [m] at a pressure below the first point, with its slope [m/Pa], as KP_INTERVAL_START interpolates it. */
double kp_lift_start_rise(const kp_lift_table *table, const kp_lift_node *first, double pressure, double *slope);

/* ---- quantities (quantity.c) ------------------------------------------------------------------------------------- */

static inline size_t kp_lift_quantity_count(const kp_lift_table *table)
{
    return 1 + 2 * table->disc_count;
}

/* Quantities of point i; i = capacity: of the last solution. */
static inline kp_lift_quantity *kp_lift_row(const kp_lift_table *table, size_t i)
{
    return table->quantity + i * kp_lift_quantity_count(table);
}

/* Value of one quantity in interval i; rise: that at the pressure. */
double kp_lift_quantity_at(const kp_lift_table *table, size_t i, size_t which, double pressure, double rise);
/* Takes the values of the last solution's quantities into its row. */
void kp_lift_take_values(kp_lift_table *table);
/* Takes their slopes, as the difference between the workspace's trial state and the last solution, times `times`. */
void kp_lift_take_slopes(kp_lift_table *table, double times);

/* ---- the ring load (ring.c) -------------------------------------------------------------------------------------- */

/* Ring area [m2] of the last solution; 0 in a coarse table. Forgets the workspace's tangent step. */
double kp_lift_take_ring_area(kp_lift_table *table);
/* The same in interval i, and its slope by the pressure [m2/Pa]. */
double kp_lift_ring_area(const kp_lift_table *table, size_t i, double pressure, double *slope);

/* ---- accuracy of intervals (verify.c) ---------------------------------------------------------------------------- */

/* Whether interval i is known to keep the tolerance. */
bool kp_lift_is_verified(kp_lift_table *table, size_t i);
/* Pressure at which to split an interval that is not [Pa]. */
double kp_lift_split_pressure(const kp_lift_table *table, size_t i);

/* ---- points (point.c) -------------------------------------------------------------------------------------------- */

/* Solves for equilibrium and counts the effort. */
kp_status kp_lift_solve(kp_lift_table *table, double pressure, kp_seat seat, kp_error *error);
/* The last solution, with the seat, as a node, and its quantities in their row. range: pressure [Pa] over a small
   fraction of which slopes are taken; 0 or not finite: slopes are left out. */
kp_lift_node kp_lift_held_node(kp_lift_table *table, double pressure, double range);
/* The same of a solution without the seat, which has that rise. */
kp_lift_node kp_lift_free_node(kp_lift_table *table, double pressure, double rise);
/* Inserts a node, and the last solution's quantities, before point `at`. */
kp_status kp_lift_insert(kp_lift_table *table, size_t at, const kp_lift_node *node, kp_error *error);
/* Solves without the seat, inserts the point, and chooses the interpolation on both sides of it. */
kp_status kp_lift_solve_free(kp_lift_table *table, size_t at, double pressure, kp_error *error);

/* ---- building ---------------------------------------------------------------------------------------------------- */

/* Order of the pressure that bends the face shim alone by its thickness [Pa] (compliance.c). */
double kp_lift_face_pressure(const kp_stack *stack);
/* Finds the table's compliance, and a better reference from it (compliance.c). */
kp_status kp_lift_find_compliance(kp_lift_table *table, kp_error *error);
/* Solves the stack at zero load. *pressed: something presses it on its seat (seat.c). */
kp_status kp_lift_solve_rest(kp_lift_table *table, bool *pressed, kp_error *error);
/* Adds the points of a stack that is pressed on its seat, up to the one at its cracking pressure (seat.c). */
kp_status kp_lift_add_held(kp_lift_table *table, kp_error *error);
/* Solves the first points: rest, and as far as the first one without the seat (build.c). */
kp_status kp_lift_solve_first(kp_lift_table *table, kp_error *error);
/* Solves until all intervals up to a pressure are verified (build.c). */
kp_status kp_lift_solve_to(kp_lift_table *table, double pressure_max, kp_error *error);

#endif
