/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A stack by axisymmetric finite elements: a CalculiX deck written from the same kp_stack that our own solver gets,
    run, and read back. Nothing but the sizes is shared with src/disc. For tests only: what goes wrong ends the test
    with a sentence on stderr. */
#ifndef KNEEPOINT_TESTS_ELEMENTS_H
#define KNEEPOINT_TESTS_ELEMENTS_H

#include "kneepoint/stack.h"

#include <stdbool.h>
#include <stdio.h>

enum { ELEMENTS_DISCS = 12, ELEMENTS_LOADS = 8 };

typedef enum elements_contact {
    ELEMENTS_NODES_ON_SURFACE,  /* same answer for any load increments, 4 to 10 times as fast */
    ELEMENTS_SURFACE_ON_SURFACE /* as the tables of tests/truth were made; see test_ccx.c      */
} elements_contact;

/** What the finite elements say at one pressure, of the discs' middle surfaces, from the clamp plane. */
typedef struct elements_lift {
    double seat;                 /* [m]  face shim at the land's inner edge */
    double edge[ELEMENTS_DISCS]; /* [m]  each disc's edge                   */
} elements_lift;

/** Bodies, nodes and steps of a deck that has been written, to read the answer by. */
typedef struct elements_deck {
    size_t disc_count;
    size_t seat_node, edge_node[ELEMENTS_DISCS]; /* node numbers */
    double drawn_high[ELEMENTS_DISCS]; /* [m] how far above its place each disc is drawn: loose rings below it */
    size_t first_load;                 /* step of the first pressure, counted from 0 */
} elements_deck;

/** Writes the deck. Every line of the stack is one shim (count 1), reaching beyond the clamp; the seat is left out,
    and land inner = outer. Loose rings, a sliding grip without friction and a backing washer are understood. */
elements_deck elements_write(FILE *file, const kp_stack *stack, elements_contact contact, size_t loads,
                             const double *pressures);

/** Is there a ccx in PATH? */
bool elements_available(void);
/** What ccx took. */
typedef struct elements_seconds {
    double wall;      /* [s] */
    double processor; /* [s] user and system: what a busy machine changes less */
} elements_seconds;
/** Writes, runs on one core in a folder of its own under TMPDIR, which is removed again, and reads.
    lifts [loads]. */
elements_seconds elements_solve(const kp_stack *stack, elements_contact contact, size_t loads, const double *pressures,
                                elements_lift *lifts);

#endif
