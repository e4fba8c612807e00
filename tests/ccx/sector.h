/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Solves a stack that may fold with three-dimensional finite elements: half a lobe between two symmetry planes. Writes
    the CalculiX deck from the same kp_stack that our own solver gets, runs it, and reads the results. For tests only:
    any failure ends the test with a message on stderr. */
#ifndef KNEEPOINT_TESTS_SECTOR_H
#define KNEEPOINT_TESTS_SECTOR_H

#include "elements.h"

enum { SECTOR_DISCS = 4, SECTOR_GRID = 80 };

/** What a deck needs beside the stack. */
typedef struct sector_options {
    int lobes;          /* [-] the sector is 180 degrees over this; the number of ports where there are any */
    double disturbance; /* [-] share of the pressure that varies as cos(lobes theta), so that the shim can fold */
    double refinement;  /* [-] element lengths are divided by this; 1 is the mesh of the tests */
} sector_options;

/** Face shim at one pressure. Crest: at angle 0, in the middle of a port; valley: half a lobe away. */
typedef struct sector_result {
    double mean, crest, valley; /* [m] lift of the piston-side face at the land's inner edge, from the clamp plane */
    double opening;             /* [m] mean over the circle of max(0, lift - dish) */
    double stress_crest, stress_valley; /* [Pa] von Mises on the piston-side face, SECTOR_STRESS_FROM_CLAMP outside the
                                           clamp */
} sector_result;

/* [m] Nearer to the clamp its corner, which is singular, counts. */
extern const double sector_stress_from_clamp;

/** Largest numbers of elements along the radius and the angle, and the nodes of the lattice that they are cut from. */
typedef struct sector_mesh {
    const kp_stack *stack;
    sector_options options;
    size_t discs;
    size_t radius_count, angle_count; /* of element ends */
    double radius[SECTOR_GRID];       /* [mm] from the clamp to the largest rim */
    double angle[SECTOR_GRID];        /* [rad] from 0 to the valley */
    size_t ends[SECTOR_DISCS];        /* elements along the radius of each disc */
    size_t land, stress;              /* index of the radius of lift and stress */
    double bottom[SECTOR_DISCS];      /* [mm] of each disc */
} sector_mesh;

/* ---- sector_mesh.c ---- */

void sector_mesh_make(sector_mesh *m, const kp_stack *stack, const sector_options *options);
/** Node of a disc at a place of its lattice, which has two intervals for each element: along the radius, the angle and
    the thickness. A place with two odd indices has no node. Disc m->discs is the seat. */
size_t sector_node(const sector_mesh *m, size_t disc, size_t along, size_t round, size_t level);
size_t sector_element(const sector_mesh *m, size_t disc, size_t along, size_t round);
/** Radius [mm] and angle [rad] of a lattice index. */
double sector_radius(const sector_mesh *m, size_t along);
double sector_angle(const sector_mesh *m, size_t round);

/* ---- sector_deck.c, sector_run.c ---- */

/** Writes the deck: a step that lowers the clamp by the dish where there is one, then one step for each pressure. */
void sector_write(FILE *file, const sector_mesh *m, size_t loads, const double *pressures);

/** Given: a stack of at most SECTOR_DISCS single shims, none larger than the one before it, with a held grip, a sharp
   seat, no holes, slots or stop; evenly spaced ports or full load coverage. Its dish, where it is positive, is a seat
   at the land; else the stack is solved without its seat. Returned: results [loads]; the time of ccx. */
elements_seconds sector_solve(const kp_stack *stack, const sector_options *options, size_t loads,
                              const double *pressures, sector_result *results);

#endif
