/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes the deck in millimetres, newtons and megapascals; x is the radius, y the axis, away from the piston.

   Elements are CAX8R, two through each disc, 0.06 mm long at every tip and at the clamp, growing to 0.4 mm. The
   analysis is geometrically nonlinear (NLGEOM) and contact is frictionless. A held grip means u = w = 0 over the
   thickness at the clamp radius. With a sliding grip the disc continues inward to its hole; w = 0 on its middle surface
   there and the rotation at the clamp radius is zero, so that only this ring of steel resists the radial motion. A
   loose ring would overlap its neighbours at the start. Everything beyond it is therefore meshed higher by its
   thickness, and a first step without pressure moves the clamped edges down to their true positions. */
#include "mesh.h"

#include <stdlib.h>

/* Contact pressure per penetration [MPa/mm]. Values from 1e5 to 1e8 give the same lift within 0.04 %; node-to-surface
   contact does not always converge with 1e7. */
static const double contact_stiffness_nodes = 1e6, contact_stiffness_surface = 1e7;

static void write_nodes(FILE *file, const mesh *m)
{
    fprintf(file, "*NODE,NSET=ALL\n");
    for (size_t k = 0; k < m->bodies; k++) {
        const body *b = &m->body[k];
        for (size_t column = 0; column <= mesh_last_column(b); column++) {
            double r = mesh_radius(b, column);
            double bottom = b->bottom + (k < m->discs ? 0 : mesh_washer_height(m->stack, r));
            for (size_t level = 0; level < COLUMN; level += 1 + column % 2)
                fprintf(file, "%zu,%.10g,%.10g\n", mesh_node(b, column, level), r,
                        bottom + b->thickness * (double)level / (COLUMN - 1));
        }
    }
}

static void write_elements(FILE *file, const mesh *m)
{
    for (size_t k = 0; k < m->bodies; k++) {
        const body *b = &m->body[k];
        fprintf(file, "*ELEMENT,TYPE=CAX8R,ELSET=BODY%zu\n", k);
        for (size_t along = 0; along + 1 < b->grid_count; along++) {
            for (size_t level = 0; level < THROUGH; level++) {
                size_t c = 2 * along, l = 2 * level;
                fprintf(file, "%zu,%zu,%zu,%zu,%zu,%zu,%zu,%zu,%zu\n", mesh_element(b, along, level),
                        mesh_node(b, c, l), mesh_node(b, c + 2, l), mesh_node(b, c + 2, l + 2), mesh_node(b, c, l + 2),
                        mesh_node(b, c + 1, l), mesh_node(b, c + 2, l + 1), mesh_node(b, c + 1, l + 2),
                        mesh_node(b, c, l + 1));
            }
        }
        const kp_material *material = &m->stack->discs[k < m->discs ? k : 0].material;
        fprintf(file, "*MATERIAL,NAME=OF%zu\n*ELASTIC\n%.10g,%.10g\n*SOLID SECTION,ELSET=BODY%zu,MATERIAL=OF%zu\n", k,
                1e-6 * material->young, material->poisson, k, k);
    }
}

/* Prescribes the lift where a body is clamped: over the thickness at the clamp radius and on the middle surface inside
   it; on a washer everywhere. */
static void write_clamped_lift(FILE *file, const mesh *m, size_t k, double lift)
{
    const body *b = &m->body[k];
    bool washer = k >= m->discs;
    size_t last = washer ? mesh_last_column(b) : 2 * b->first;
    for (size_t column = 0; !b->ring && column <= last; column++) {
        for (size_t level = 0; level < COLUMN; level += 1 + column % 2) {
            if (washer || column == last || level == THROUGH)
                fprintf(file, "%zu,2,2,%.10g\n", mesh_node(b, column, level), lift);
        }
    }
}

/* Prescribes no radial motion where a body is held. */
static void write_grip(FILE *file, const mesh *m, size_t k)
{
    const body *b = &m->body[k];
    size_t last = k < m->discs ? 0 : mesh_last_column(b);
    for (size_t column = 0; !b->ring && b->first == 0 && column <= last; column++) {
        for (size_t level = 0; level < COLUMN; level += 1 + column % 2)
            fprintf(file, "%zu,1,1,0.\n", mesh_node(b, column, level));
    }
}

/* Prescribes no rotation at the clamp radius of a disc with a sliding grip. */
static void write_no_rotation(FILE *file, const body *b)
{
    for (size_t level = 0; b->first > 0 && level < COLUMN; level++) {
        if (level != THROUGH)
            fprintf(file, "*EQUATION\n2\n%zu,1,1.,%zu,1,-1.\n", mesh_node(b, 2 * b->first, level),
                    mesh_node(b, 2 * b->first, THROUGH));
    }
}

/* Defines the lower and upper face of every body, as elements and as nodes. */
static void write_surfaces(FILE *file, const mesh *m)
{
    for (size_t k = 0; k < m->bodies; k++) {
        const body *b = &m->body[k];
        for (size_t top = 0; top < 2; top++) {
            const char *name = top ? "TOP" : "BOTTOM";
            fprintf(file, "*SURFACE,NAME=%s%zu,TYPE=ELEMENT\n", name, k);
            for (size_t along = b->first; along + 1 < b->grid_count; along++)
                fprintf(file, "%zu,S%d\n", mesh_element(b, along, top ? THROUGH - 1 : 0), top ? 3 : 1);
            fprintf(file, "*SURFACE,NAME=%sNODES%zu,TYPE=NODE\n", name, k);
            for (size_t column = 2 * b->first + !b->ring; column <= mesh_last_column(b); column++)
                fprintf(file, "%zu\n", mesh_node(b, column, top ? COLUMN - 1 : 0));
        }
    }
}

static bool exists(const body *b, double r)
{
    return r > b->grid[b->first] && r < b->grid[b->grid_count - 1];
}

/* True when at some radius body upper is the next one above body lower. */
static bool are_neighbours(const mesh *m, size_t lower, size_t upper)
{
    const body *b = &m->body[lower];
    for (size_t i = b->first; i + 1 < b->grid_count; i++) {
        double r = 0.5 * (b->grid[i] + b->grid[i + 1]);
        size_t next = lower + 1;
        while (next < m->bodies && !exists(&m->body[next], r))
            next++;
        if (next == upper && next < m->bodies)
            return true;
    }
    return false;
}

static void write_contacts(FILE *file, const mesh *m, elements_contact contact)
{
    bool nodes = contact == ELEMENTS_NODES_ON_SURFACE;
    if (m->bodies > 1)
        fprintf(file,
                "*SURFACE INTERACTION,NAME=FACES\n*SURFACE BEHAVIOR,PRESSURE-OVERCLOSURE=LINEAR\n"
                "%g,1e-3\n",
                nodes ? contact_stiffness_nodes : contact_stiffness_surface);
    for (size_t lower = 0; lower + 1 < m->bodies; lower++) {
        for (size_t upper = lower + 1; upper < m->bodies; upper++) {
            if (!are_neighbours(m, lower, upper))
                continue;
            bool washer = upper >= m->discs; /* the washer is rigid, so it is the master */
            fprintf(file, "*CONTACT PAIR,INTERACTION=FACES,TYPE=%s TO SURFACE\n%s%s%zu,%s%zu\n",
                    nodes ? "NODE" : "SURFACE", washer ? "TOP" : "BOTTOM", nodes ? "NODES" : "", washer ? lower : upper,
                    washer ? "BOTTOM" : "TOP", washer ? upper : lower);
        }
    }
}

static void write_step(FILE *file, const mesh *m, const double *pressure)
{
    const body *face = &m->body[0];
    double from = mesh_mm(m->stack->port_inner_radius), to = mesh_mm(m->stack->land_inner_radius);
    fprintf(file, "*STEP,INC=1000,NLGEOM\n*STATIC\n0.1,1.,1e-7,0.1\n");
    double raised = 0; /* [mm] by the loose rings below */
    for (size_t k = 0; k < m->bodies; k++) {
        if (raised > 0) {
            fprintf(file, "*BOUNDARY\n");
            write_clamped_lift(file, m, k, -raised);
        }
        raised += m->body[k].ring ? m->body[k].thickness : 0;
    }
    if (pressure) {
        fprintf(file, "*DLOAD\n");
        for (size_t i = 0; i + 1 < face->grid_count; i++) {
            if (face->grid[i] >= from && face->grid[i + 1] <= to)
                fprintf(file, "%zu,P1,%.10g\n", mesh_element(face, i, 0), 1e-6 * *pressure);
        }
    }
    fprintf(file, "*NODE PRINT,NSET=PRINTED,FREQUENCY=10000\nU\n*END STEP\n");
}

static elements_deck describe(const mesh *m)
{
    elements_deck deck = {.disc_count = m->discs};
    double raised = 0; /* [mm] by the loose rings below */
    for (size_t k = 0; k < m->discs; k++) {
        const body *b = &m->body[k];
        deck.edge_node[k] = mesh_node(b, mesh_last_column(b), THROUGH);
        deck.raised[k] = 1e-3 * raised;
        raised += b->ring ? b->thickness : 0;
    }
    const body *face = &m->body[0];
    size_t column = 0;
    while (face->grid[column / 2] < mesh_mm(m->stack->land_inner_radius))
        column += 2;
    deck.seat_node = mesh_node(face, column, THROUGH);
    deck.first_load = raised > 0;
    return deck;
}

elements_deck elements_write(FILE *file, const kp_stack *stack, elements_contact contact, size_t loads,
                             const double *pressures)
{
    mesh *m = calloc(1, sizeof *m);
    if (!m)
        mesh_refuse("no memory for a mesh");
    mesh_make(m, stack);
    elements_deck deck = describe(m);
    write_nodes(file, m);
    write_elements(file, m);
    fprintf(file, "*BOUNDARY\n");
    for (size_t k = 0; k < m->bodies; k++) {
        write_grip(file, m, k);
        write_clamped_lift(file, m, k, 0);
    }
    for (size_t k = 0; k < m->discs; k++)
        write_no_rotation(file, &m->body[k]);
    write_surfaces(file, m);
    write_contacts(file, m, contact);
    fprintf(file, "*NSET,NSET=PRINTED\n%zu\n", deck.seat_node);
    for (size_t k = 0; k < m->discs; k++)
        fprintf(file, "%zu\n", deck.edge_node[k]);
    if (deck.first_load > 0)
        write_step(file, m, NULL);
    for (size_t i = 0; i < loads; i++)
        write_step(file, m, &pressures[i]);
    free(m);
    return deck;
}
