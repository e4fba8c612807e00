/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The lift table of a stack: what it does from no pressure to more than the curve needs, read by everything
 * downstream. */
#ifndef KNEEPOINT_LIFT_H
#define KNEEPOINT_LIFT_H

#include "kneepoint/base.h"
#include "kneepoint/stack.h"

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
kp_status kp_lift_table_build_coarse(const kp_stack *stack, double pressure_max, kp_lift_table **out, kp_error *error);
/** Whether it came from kp_lift_table_build_coarse. */
bool kp_lift_table_is_coarse(const kp_lift_table *table);
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
kp_status kp_lift_table_extend(kp_lift_table *table, double pressure, kp_error *error);
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
