/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The lift table of a stack: how far it opens at every pressure from 0 to more than the damping curve needs. Later
    calculations read the table instead of solving the stack.

    Threads: functions that take a const table may run at once on the same table. Building, extending and freeing need
    the table for themselves; different tables share nothing. */
#ifndef KNEEPOINT_LIFT_H
#define KNEEPOINT_LIFT_H

#include "kneepoint/base.h"
#include "kneepoint/stack.h"

KP_BEGIN_DECLARATIONS

typedef struct kp_lift_table kp_lift_table;

/** State of a stack at one pressure. */
typedef struct kp_lift {
    double seat_lift;     /* [m]    face shim at the land's inner edge, from the clamp plane                         */
    double opening;       /* [m]    max(0, lift without the seat - dish); with a negative dish never below -dish     */
    double opening_slope; /* [m/Pa] d(opening)/d(pressure); 0 below the cracking pressure                            */
    double edge_lift;     /* [m]    free edge of the face shim, from the clamp plane                                 */
    double peak_stress;   /* [Pa]   largest von Mises surface stress in the stack; 0 in a table made from points     */
    size_t peak_disc;     /* [-]    disc that carries it: index in kp_stack's discs                                  */
    double fatigue_use;   /* [-]    largest kp_cycle use, from rest to this pressure; 0 in a table made from points
                                    and where no material has its strengths given                                    */
    size_t fatigue_disc;  /* [-]    disc that has it: index in kp_stack's discs                                      */
} kp_lift;

/** Solves a stack and makes its table.
    Given:    stack (copied); pressure_max [Pa] > 0, the pressure that the table must reach
    Returned: out, to be freed with kp_lift_table_free; unchanged on error. It keeps a solver's workspace, with which
              kp_lift_table_extend goes on
    Accuracy: loads are chosen so that openings between them keep 0.1 %. Against the stack solved there, relative to the
              opening or to a hundredth of the face shim's thickness, 40 000 random openings: median 9.3e-7, 99.9th
              percentile 3.1e-4, maximum 7.8e-3 (two kinks that hide one another). Stress: 99 of 100 within 1 %.
              Where stacks fold, 360 random openings: median 2e-5, 95th percentile 5e-4, maximum 1.3e-2; stress: median
              0.4 %, 95 of 100 within 4 %, maximum 9 % (the table goes over to fewer elements). The slope is the exact
   derivative of the interpolated opening Errors:   those of kp_stack_begin and kp_stack_solve; KP_OUT_OF_RANGE for
   pressure_max, or when too many loads are needed; KP_NO_SOLUTION when the stack does not reach its dish; KP_NO_MEMORY
 */
KP_API kp_status kp_lift_table_build(const kp_stack *stack, double pressure_max, kp_lift_table **out, kp_error *error);

/** The same, fast and coarse, for ranking many stacks before the best are solved by kp_lift_table_build. The table is
    marked as coarse, and no damper can be made of it.
    Given, Returned, Errors: as kp_lift_table_build
    Accuracy: pressure that opens 0.2 mm, 704 random stacks against the exact table: median 0.2 %, 99th percentile 10 %,
              maximum 27 %; 0.3 % of all pairs of stacks are ranked the wrong way round. Stress and yield are no better,
              and no ground to refuse a stack */
KP_API kp_status kp_lift_table_build_coarse(const kp_stack *stack, double pressure_max, kp_lift_table **out,
                                            kp_error *error);

/** Makes a table from given points (a measured or closed-form stack).
    Given:    pressure [n] [Pa] strictly ascending from 0; opening [n] [m] >= 0, never falling; n >= 2
    Returned: out, to be freed with kp_lift_table_free; unchanged on error. Monotone cubics between the points; seat and
              edge lift are the opening; stress, fatigue and cracking pressure are not known, and are 0
    Errors:   KP_OUT_OF_RANGE, KP_NO_MEMORY */
KP_API kp_status kp_lift_table_from_points(size_t n, const double *pressure, const double *opening, kp_lift_table **out,
                                           kp_error *error);

/** Extends a table so that it reaches a pressure [Pa]; does nothing when it already does.
    Returned: the same table as if it had been built that far at once, bit for bit
    Errors:   as kp_lift_table_build; KP_OUT_OF_RANGE for a table made from points */
KP_API kp_status kp_lift_table_extend(kp_lift_table *table, double pressure, kp_error *error);

/** State of the stack at a pressure, by interpolation. It falls only where the solved points do (under a stop inside
    the land).
    Given:    0 <= pressure <= kp_lift_table_reach [Pa]
    Returned: out; unchanged on error
    Errors:   KP_OUT_OF_RANGE */
KP_API kp_status kp_lift_table_at(const kp_lift_table *table, double pressure, kp_lift *out, kp_error *error);

/** Area by which a ring of force at the land's inner edge compares with the pressure: under the pressure p and a ring
    that presses with the force R towards the seat, the stack opens as far as under p_e = p - R/area alone.
    Given:    pressure [Pa] >= 0: best the geometric mean of p and p_e; beyond the reach the area is that at the reach
    Returned: area [m2], and its slope [m2/Pa] (may be NULL); 0 where it is not known: a coarse table, and one made from
              points that was given none
    Accuracy: opening against random stacks solved with both loads, R up to half of p x area: median 0.11 %, four of
              five within 0.8 %, at worst 22 % */
KP_API double kp_lift_table_ring_area(const kp_lift_table *table, double pressure, double *slope);

/** Gives a table made from points its ring areas.
    Given:    table made from n points; area [n] [m2] at them, > 0; straight lines between
    Returned: the table; unchanged on error
    Errors:   KP_OUT_OF_RANGE for a table that was solved, KP_NO_MEMORY */
KP_API kp_status kp_lift_table_set_ring_area(kp_lift_table *table, const double *area, kp_error *error);

/** Largest pressure that the table covers [Pa]. */
KP_API double kp_lift_table_reach(const kp_lift_table *table);

/** Pressure above which the stack leaves its seat [Pa]. 0 means that it opens from the first pressure on, because
   nothing (a dish or a loose ring) presses it on its seat. */
KP_API double kp_lift_table_cracking(const kp_lift_table *table);

/** Lowest pressure [Pa] at which the largest stress of some disc exceeds its material's yield, and that disc.
    Returned: false, with nothing written, when there is none up to the table's reach. Either pointer may be NULL */
KP_API bool kp_lift_table_yields(const kp_lift_table *table, double *pressure, size_t *disc);

/** Whether the table came from kp_lift_table_build_coarse. */
KP_API bool kp_lift_table_is_coarse(const kp_lift_table *table);

/** Effort that a table has taken so far; 0 solves for one made from points. */
typedef struct kp_lift_table_cost {
    int solves;       /* [-] equilibria solved      */
    int newton_steps; /* [-] in all of them         */
    int points;       /* [-] points in the table    */
} kp_lift_table_cost;
/** Returned: what building the table took, extensions included. */
KP_API kp_lift_table_cost kp_lift_table_cost_of(const kp_lift_table *table);

/** table may be NULL. */
KP_API void kp_lift_table_free(kp_lift_table *table);

KP_END_DECLARATIONS

#endif
