/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Solves a stack with axisymmetric finite elements: writes a CalculiX deck from the same kp_stack that our own solver
    gets, runs it, and reads the results. Only the dimensions are shared with src/stack. For tests only: any failure
    ends the test with a message on stderr. */
#ifndef KNEEPOINT_TESTS_ELEMENTS_H
#define KNEEPOINT_TESTS_ELEMENTS_H

#include "kneepoint/stack.h"

#include <stdbool.h>
#include <stdio.h>

enum { ELEMENTS_DISCS = 12, ELEMENTS_LOADS = 8 };

typedef enum elements_contact {
    ELEMENTS_NODES_ON_SURFACE,  /* independent of the load increments, 3 to 10 times as fast */
    ELEMENTS_SURFACE_ON_SURFACE /* used for the tables of tests/truth; see test_ccx.c */
} elements_contact;

/** Lifts of the discs' middle surfaces at one pressure, from the clamp plane. */
typedef struct elements_lift {
    double seat;                 /* [m] face shim at the land's inner edge */
    double edge[ELEMENTS_DISCS]; /* [m] each disc's edge */
} elements_lift;

/** Bodies, nodes and steps of a deck, needed to read its results. */
typedef struct elements_deck {
    size_t disc_count;
    size_t seat_node, edge_node[ELEMENTS_DISCS]; /* node numbers */
    double raised[ELEMENTS_DISCS]; /* [m] height of each disc's mesh above its true position: loose rings below it */
    size_t first_load; /* step of the first pressure, counted from 0; 1 after a step that closes loose rings */
} elements_deck;

/** Writes the deck, without a seat.
    Given: a stack whose entries are single shims (count 1) that reach beyond the clamp, and whose land has equal inner
    and outer radii. Loose rings, a frictionless sliding grip and a backing washer are possible. */
elements_deck elements_write(FILE *file, const kp_stack *stack, elements_contact contact, size_t loads,
                             const double *pressures);

/** True when the PATH has a ccx. */
bool elements_available(void);
/** Time of a ccx run. */
typedef struct elements_seconds {
    double wall;      /* [s] */
    double processor; /* [s] user and system, which depends less on the load of the machine */
} elements_seconds;
/** Writes the deck into a temporary folder under TMPDIR, runs it on one core, reads lifts [loads], and removes the
    folder. */
elements_seconds elements_solve(const kp_stack *stack, elements_contact contact, size_t loads, const double *pressures,
                                elements_lift *lifts);

#endif
