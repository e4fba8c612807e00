/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The stacks that are timed, and the pieces of work: each is timed here, and counted under callgrind by name. */
#ifndef KNEEPOINT_TESTS_WORK_H
#define KNEEPOINT_TESTS_WORK_H

#include "kneepoint/lift.h"
#include "kneepoint/stack.h"
#include "truth.h"

enum {
    WORK_LOADS = 24, /* [-] of the load path, in geometric steps */
    WORK_LOADS_MOST = 64,
    WORK_DISCS = 16,
    WORK_DRAWN = 16,
    WORK_TARGET = 0 /* instead of a number of discs: the eight that the speed target is set on */
};
extern const double work_pressure_first, work_pressure_last; /* [Pa] of the load path; tables reach the last */

/** One stack and what is asked of it. The stack's discs are the case's own: do not copy it. */
typedef struct work_case {
    kp_stack stack;
    kp_disc discs[WORK_DISCS];
    size_t loads;
    double pressures[WORK_LOADS_MOST]; /* [Pa] */
    kp_seat seat;
    char file[1024];     /* of a damper, for "curve"                     */
    double newton_steps; /* [-] of the last path, all its loads together */
} work_case;

/** A plain taper of distinct shims of 0.2 mm, from 40 mm down to 24 mm in equal steps (one: 40 mm), clamp 16 mm, no
    dish; discs 1 to WORK_DISCS, or WORK_TARGET. */
void work_taper(int discs, work_case *out);
/** A stack of tests/truth/decks.csv at the loads of its own table. */
void work_deck(const truth *decks, const char *name, work_case *out);
/** Draws a workshop's taper by its number alone: face 34 to 44 mm, 4 to 12 sizes falling to 2 to 8 mm above the clamp,
    0.10 to 0.30 mm, now and then two alike; half of them dished by 0.05 to 0.40 mm. Invented. */
void work_drawn_taper(size_t index, work_case *out);

/** A way to a lift table, and the names of its pieces of work. */
typedef struct work_mode {
    const char *name;  /* for people: "exact"                    */
    const char *table; /* one table of the case                 */
    const char *drawn; /* tables of drawn tapers 0 to WORK_DRAWN - 1 */
    kp_status (*build)(const kp_stack *stack, double pressure_max, kp_lift_table **out, kp_error *error);
} work_mode;
enum { WORK_MODES = 2 };
extern const work_mode work_modes[WORK_MODES];

/** The pieces of work; context is a work_case. What goes wrong ends the program. */
typedef void (*work_function)(void *context);
/** "setup", "path" (set-up included), those of work_modes, "curve" (reading the file included), "yardstick"; NULL for
   no such. */
work_function work_named(const char *name);

#endif
