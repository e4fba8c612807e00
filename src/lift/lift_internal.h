/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Private to the lift table: its points, the curve through them (table_curve.c), how loads are chosen (table_build.c).
 */
#ifndef KNEEPOINT_TABLE_INTERNAL_H
#define KNEEPOINT_TABLE_INTERNAL_H

#include "kneepoint/lift.h"
#include "num/num.h"
#include "stack/stack.h"

/* What a stack of one bending and one stretching stiffness would do: p/pressure = x + x^3, x = rise/lift. */
typedef struct kp_lift_reference {
    double pressure; /* [Pa] */
    double lift;     /* [m]  */
} kp_lift_reference;

/* One thing read beside the lift, and its d/d ln(pressure), where the seat holds d/d pressure (NAN: not known,
   as in coarse). A point
   has 1 + 2 disc_count of them: the face shim's edge lift less that without load, each shim's largest stress, each
   shim's fatigue use. */
typedef struct kp_lift_read {
    double value, slope; /* [m], [Pa] or [-]; the same or per [Pa] */
    int place;           /* where on the shim's surface that is: kp_peaks */
} kp_lift_read;

/* How the rise runs from a point to the next. */
typedef enum kp_lift_run {
    KP_RUN_HELD,     /* the seat holds: not at all                                           */
    KP_RUN_START,    /* from no load: the reference, bent to the slope at no load             */
    KP_RUN_STRAIGHT, /* from no load, where that does not serve: rational in the pressure       */
    KP_RUN_SMOOTH,   /* the reference times the exponential of a cubic in ln(pressure)        */
    KP_RUN_RATIONAL  /* where that would fall: ln(rise) rational in ln(pressure), never falls */
} kp_lift_run;

typedef struct kp_lift_node {
    double pressure, log_pressure; /* [Pa], ln of it                                   */
    double rise;                   /* [m] free seat lift over that without load         */
    double power;                  /* [-] d ln(rise)/d ln(pressure)                     */
    double reference;              /* [m] the reference's rise                          */
    double excess, excess_power;   /* [-] ln(rise/reference) and its d/d ln(pressure)   */
    kp_lift_run run;               /* to the next point */
} kp_lift_node;

struct kp_lift_table {
    kp_stack_workspace *workspace; /* NULL when made from points  */
    bool coarse;
    double dish;          /* [m]                        */
    double unloaded;      /* [m] free seat lift without load */
    double unloaded_edge; /* [m] */
    double cracking;      /* [Pa]                       */
    double compliance;    /* [m/Pa] of the free stack at hardly any load */
    double worth;         /* [m] openings below this need not be right to a part of themselves */
    double next;          /* [Pa] load to be solved next  */
    kp_lift_reference reference;
    size_t disc_count;
    double *yield;      /* [disc_count] [Pa]          */
    double yields_from; /* [Pa] lowest pressure with a stress past yield; INFINITY: none */
    size_t yielding_disc;
    size_t count, held, capacity; /* points; those with the seat holding come first */
    size_t settled;               /* stretches before this point are bounded            */
    bool kinked;                  /* a kink was met                                      */
    kp_lift_node *node;           /* [capacity] */
    kp_lift_read *reads;          /* [capacity + 1][1 + 2 disc_count]; the last row is of the point being solved */
    double *given_pressure, *given_opening, *given_slope; /* [count] of a table made from points */
    kp_lift_table_cost cost;
};

/* Of the node: excess and its slope, from pressure, rise and power. */
void kp_lift_refer(const kp_lift_table *table, kp_lift_node *node);
/* That of a reference is no less: pure stretching's. [-] */
#define KP_POWER_MEMBRANE 0.345
/* The reference through a point with the point's own power. */
kp_lift_reference kp_lift_reference_through(double pressure, double rise, double power);
/* Pressure that lifts it so far. */
double kp_lift_reference_pressure(const kp_lift_reference *reference, double rise);
/* Decides how the stretch from point i runs. */
void kp_lift_choose_run(kp_lift_table *table, size_t i);
/* Rise and its slope in the stretch from point i. */
double kp_lift_rise(const kp_lift_table *table, size_t i, double pressure, double *slope);
/* What else is read in the stretch from point i. */
double kp_lift_read_at(const kp_lift_table *table, size_t i, size_t which, double pressure, double rise);
/* Things read beside the lift. */
size_t kp_lift_read_count(const kp_lift_table *table);
/* Whether the stretch from point i is known to keep the bar; and where to solve when it is not. */
bool kp_lift_is_bounded(kp_lift_table *table, size_t i);
double kp_lift_split(const kp_lift_table *table, size_t i);

/* table_point.c: equilibria and points. */
kp_status kp_lift_solve(kp_lift_table *table, double pressure, kp_seat seat, kp_error *error);
/* Read the last solution into a point and the last row of reads. over: the pressure that slopes are small steps of; 0:
   none are read. */
kp_lift_node kp_lift_read_held(kp_lift_table *table, double pressure, double over);
kp_lift_node kp_lift_read_free(kp_lift_table *table, double pressure, double rise);
kp_status kp_lift_insert(kp_lift_table *table, size_t at, const kp_lift_node *node, kp_error *error);
/* Solves without the seat, and puts the point in. */
kp_status kp_lift_solve_free(kp_lift_table *table, size_t at, double pressure, kp_error *error);

/* Pressure of the order that bends the face shim alone [Pa]. */
double kp_lift_pressure_alone(const kp_stack *stack);
/* From hardly any load: the table's compliance, and a better reference. */
kp_status kp_lift_find_compliance(kp_lift_table *table, kp_error *error);
kp_status kp_lift_solve_first(kp_lift_table *table, kp_error *error);
kp_status kp_lift_solve_to(kp_lift_table *table, double pressure_max, kp_error *error);

/* table_seat.c: stacks that something presses on their seat. */
/* Without pressure a stack lies this far below its seat when something presses it. [-] of the face shim's thickness */
#define KP_LIFT_PRESSED 1e-9
/* What the stack does without load; *below: it is pressed on its seat. */
kp_status kp_lift_look_at_rest(kp_lift_table *table, bool *below, kp_error *error);
/* From there to cracking: its points up to that one. */
kp_status kp_lift_add_held(kp_lift_table *table, kp_error *error);

#endif
