/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The mesh of a deck, undeformed and in millimetres: one body for each disc, and one for a backing washer. */
#ifndef KNEEPOINT_TESTS_ELEMENTS_MESH_H
#define KNEEPOINT_TESTS_ELEMENTS_MESH_H

#include "elements.h"

enum { MAX_GRID = 600, THROUGH = 2, COLUMN = 2 * THROUGH + 1, MAX_BODIES = ELEMENTS_DISCS + 1 };

/* One meshed ring: a disc, or the backing washer. */
typedef struct body {
    size_t grid_count;
    double grid[MAX_GRID]; /* [mm] radii of the element ends                    */
    size_t first;          /* grid index of the clamp radius; inside it there is no contact */
    size_t node, element;  /* the numbers before its first node and element */
    double bottom;         /* [mm] undeformed */
    double thickness;      /* [mm] */
    bool ring;
} body;

typedef struct mesh {
    const kp_stack *stack;
    size_t discs, bodies; /* bodies = discs + 1 with a backing washer */
    body body[MAX_BODIES];
    double clamp; /* [mm] */
} mesh;

/** Ends the test with a message on stderr. */
_Noreturn void mesh_refuse(const char *what);
double mesh_mm(double metres);
void mesh_make(mesh *m, const kp_stack *stack);
/** Height of the washer's face above the far face of the pack at radius r [mm]. */
double mesh_washer_height(const kp_stack *stack, double r);

/** Column 0 to 2 x elements along the radius, level 0 to 4 through the thickness; odd columns have even levels only. */
size_t mesh_node(const body *b, size_t column, size_t level);
size_t mesh_element(const body *b, size_t along, size_t level);
double mesh_radius(const body *b, size_t column);
size_t mesh_last_column(const body *b);

#endif
