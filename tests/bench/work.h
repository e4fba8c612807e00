/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The stacks and the pieces of work that are timed. callgrind counts a piece of work in a process that runs it by
 * name. */
#ifndef KNEEPOINT_TESTS_WORK_H
#define KNEEPOINT_TESTS_WORK_H

#include "kneepoint/lift.h"
#include "kneepoint/stack.h"
#include "truth.h"

enum {
    WORK_LOADS = 24, /* [-] of the load path, in geometric progression */
    WORK_MAX_LOADS = 64,
    WORK_DISCS = 16,
    WORK_DRAWN = 16,
    WORK_TARGET = 0 /* instead of a number of discs: the eight shims that the speed target is set for */
};
extern const double work_pressure_first, work_pressure_last; /* [Pa] of the load path; lift tables end at the last */

/** One stack and its loads. The stack points to discs inside the case, so the case must not be copied. */
typedef struct work_case {
    kp_stack stack;
    kp_disc discs[WORK_DISCS];
    size_t loads;
    double pressures[WORK_MAX_LOADS]; /* [Pa] */
    kp_seat seat;
    char file[1024];     /* damper file, for "curve" */
    double newton_steps; /* [-] of all loads of the last path */
} work_case;

/** A taper of distinct shims 0.2 mm thick, from 40 mm down to 24 mm in equal steps (a single one has 40 mm), clamp
    16 mm, without dish. Given: discs 1 to WORK_DISCS, or WORK_TARGET. */
void work_taper(int discs, work_case *out);
/** A stack of tests/truth/decks.csv at the loads of its table. */
void work_deck(const truth *decks, const char *name, work_case *out);
/** A random taper that depends on index only. Its face shim has 34 to 44 mm, its 4 to 12 sizes end 2 to 8 mm above the
    clamp, shims are 0.10 to 0.30 mm thick, and some sizes have two. Half of the tapers are dished by 0.05 to 0.40 mm.
    The ranges are invented. */
void work_drawn_taper(size_t index, work_case *out);

/** A way to make a lift table, and the names of its pieces of work. */
typedef struct work_mode {
    const char *name;  /* in tables: "exact" or "coarse" */
    const char *table; /* work: one table of the case */
    const char *drawn; /* work: tables of the random tapers 0 to WORK_DRAWN - 1 */
    kp_status (*build)(const kp_stack *stack, double pressure_max, kp_lift_table **out, kp_error *error);
} work_mode;
enum { WORK_MODES = 2 };
extern const work_mode work_modes[WORK_MODES];

/** A piece of work. context: a work_case. A failure ends the program. */
typedef void (*work_function)(void *context);
/** Given: "setup", "path" (with set-up), a name in work_modes, "curve" (with reading the file), or "yardstick".
    Returned: NULL for another name. */
work_function work_named(const char *name);

#endif
