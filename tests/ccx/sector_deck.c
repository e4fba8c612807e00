/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes the deck in millimetres, newtons and megapascals; x is the radius at the crest, z the axis, away from the
   piston.

   Elements are C3D20R, one through each disc. The analysis is geometrically nonlinear (NLGEOM), the pressure follows
   the face, and contact is frictionless. At the clamp radius all displacements are zero over the thickness, before the
   clamp is lowered by the dish. The seat is a circle: nodes of the face shim at the land's inner edge against a fixed
   ring. */
#include "mesh.h"
#include "sector.h"

#include <math.h>

static const double contact_stiffness = 1e6;                 /* [MPa/mm] contact pressure per penetration */
static const double seat_half_width = 1, seat_thickness = 1; /* [mm] of the fixed ring; any values do */

static bool on_edge(size_t along, size_t round, size_t level)
{
    return along % 2 + round % 2 + level % 2 <= 1;
}

/* ---- bodies ---- */

static void write_node(FILE *file, size_t node, double r, double angle, double z)
{
    fprintf(file, "%zu,%.10g,%.10g,%.10g\n", node, r * cos(angle), r * sin(angle), z);
}

static void write_disc_nodes(FILE *file, const sector_mesh *m, size_t disc)
{
    double thickness = mesh_mm(m->stack->discs[disc].thickness);
    for (size_t i = 0; i <= 2 * m->ends[disc]; i++) {
        for (size_t j = 0; j <= 2 * (m->angle_count - 1); j++) {
            for (size_t k = 0; k <= 2; k++) {
                if (on_edge(i, j, k))
                    write_node(file, sector_node(m, disc, i, j, k), sector_radius(m, i), sector_angle(m, j),
                               m->bottom[disc] + thickness * (double)k / 2);
            }
        }
    }
}

/* One element: corners below and above, middles of the edges below, above and between. */
static void write_element(FILE *file, const sector_mesh *m, size_t disc, size_t i, size_t j)
{
    static const size_t at[20][3] = {{0, 0, 0}, {2, 0, 0}, {2, 2, 0}, {0, 2, 0}, {0, 0, 2}, {2, 0, 2}, {2, 2, 2},
                                     {0, 2, 2}, {1, 0, 0}, {2, 1, 0}, {1, 2, 0}, {0, 1, 0}, {1, 0, 2}, {2, 1, 2},
                                     {1, 2, 2}, {0, 1, 2}, {0, 0, 1}, {2, 0, 1}, {2, 2, 1}, {0, 2, 1}};
    fprintf(file, "%zu", sector_element(m, disc, i, j));
    for (size_t n = 0; n < 20; n++)
        fprintf(file, "%s%zu", n == 10 ? ",\n" : ",",
                sector_node(m, disc, 2 * i + at[n][0], 2 * j + at[n][1], at[n][2]));
    fprintf(file, "\n");
}

static void write_material(FILE *file, const sector_mesh *m, size_t solid)
{
    const kp_material *material = &m->stack->discs[solid < m->discs ? solid : 0].material;
    fprintf(file, "*MATERIAL,NAME=OF%zu\n*ELASTIC\n%.10g,%.10g\n*SOLID SECTION,ELSET=BODY%zu,MATERIAL=OF%zu\n", solid,
            1e-6 * material->young, material->poisson, solid, solid);
}

/* Fixed elements under the seat's circle: one across the land. */
static void write_seat(FILE *file, const sector_mesh *m)
{
    size_t seat = m->discs;
    double land = m->radius[m->land];
    fprintf(file, "*NODE,NSET=SEATNODES\n");
    for (size_t i = 0; i < 2; i++) {
        for (size_t j = 0; j < m->angle_count; j++) {
            for (size_t k = 0; k < 2; k++)
                write_node(file, sector_node(m, seat, i, j, k), land + seat_half_width * (i ? 1 : -1), m->angle[j],
                           k ? 0 : -seat_thickness);
        }
    }
    fprintf(file, "*ELEMENT,TYPE=C3D8,ELSET=BODY%zu\n", seat);
    for (size_t j = 0; j + 1 < m->angle_count; j++)
        fprintf(file, "%zu,%zu,%zu,%zu,%zu,%zu,%zu,%zu,%zu\n", sector_element(m, seat, 0, j),
                sector_node(m, seat, 0, j, 0), sector_node(m, seat, 1, j, 0), sector_node(m, seat, 1, j + 1, 0),
                sector_node(m, seat, 0, j + 1, 0), sector_node(m, seat, 0, j, 1), sector_node(m, seat, 1, j, 1),
                sector_node(m, seat, 1, j + 1, 1), sector_node(m, seat, 0, j + 1, 1));
    write_material(file, m, seat);
    fprintf(file, "*SURFACE,NAME=SEAT,TYPE=ELEMENT\n");
    for (size_t j = 0; j + 1 < m->angle_count; j++)
        fprintf(file, "%zu,S2\n", sector_element(m, seat, 0, j));
    fprintf(file, "*SURFACE,NAME=LAND,TYPE=NODE\n");
    for (size_t j = 0; j <= 2 * (m->angle_count - 1); j++)
        fprintf(file, "%zu\n", sector_node(m, 0, 2 * m->land, j, 0));
}

/* ---- what holds them ---- */

/* Symmetry: no motion along y on the plane of the crest, none across the plane of the valley. */
static void write_symmetry(FILE *file, const sector_mesh *m, size_t disc)
{
    size_t last = 2 * (m->angle_count - 1);
    double angle = m->angle[m->angle_count - 1];
    for (size_t i = 1; i <= 2 * m->ends[disc]; i++) {
        for (size_t k = 0; k <= 2; k++) {
            if (!on_edge(i, 0, k))
                continue;
            fprintf(file, "*BOUNDARY\n%zu,2,2,0.\n*EQUATION\n2\n", sector_node(m, disc, i, 0, k));
            size_t node = sector_node(m, disc, i, last, k);
            fprintf(file, "%zu,1,%.15g,%zu,2,%.15g\n", node, sin(angle), node, -cos(angle));
        }
    }
}

/* Prescribes the displacement at the clamp radius. */
static void write_clamp(FILE *file, const sector_mesh *m, size_t disc, double lift)
{
    for (size_t j = 0; j <= 2 * (m->angle_count - 1); j++) {
        for (size_t k = 0; k <= 2; k++) {
            if (on_edge(0, j, k))
                fprintf(file, "%zu,1,2,0.\n%zu,3,3,%.10g\n", sector_node(m, disc, 0, j, k),
                        sector_node(m, disc, 0, j, k), lift);
        }
    }
}

/* The upper face of a disc as elements, for the nodes of the next disc's lower face. */
static void write_faces(FILE *file, const sector_mesh *m, size_t disc)
{
    fprintf(file, "*SURFACE,NAME=TOP%zu,TYPE=ELEMENT\n", disc);
    for (size_t i = 0; i < m->ends[disc]; i++) {
        for (size_t j = 0; j + 1 < m->angle_count; j++)
            fprintf(file, "%zu,S2\n", sector_element(m, disc, i, j));
    }
    fprintf(file, "*SURFACE,NAME=BOTTOM%zu,TYPE=NODE\n", disc);
    for (size_t i = 1; i <= 2 * m->ends[disc]; i++) {
        for (size_t j = 0; j <= 2 * (m->angle_count - 1); j++) {
            if (on_edge(i, j, 0))
                fprintf(file, "%zu\n", sector_node(m, disc, i, j, 0));
        }
    }
}

/* Every two neighbours: no disc is larger than the one before it, so the next in the list is the neighbour. */
static void write_contacts(FILE *file, const sector_mesh *m, bool seat)
{
    if (m->discs == 1 && !seat)
        return;
    fprintf(file, "*SURFACE INTERACTION,NAME=FACES\n*SURFACE BEHAVIOR,PRESSURE-OVERCLOSURE=LINEAR\n%g,1e-3\n",
            contact_stiffness);
    for (size_t i = 0; i + 1 < m->discs; i++)
        fprintf(file, "*CONTACT PAIR,INTERACTION=FACES,TYPE=NODE TO SURFACE\nBOTTOM%zu,TOP%zu\n", i + 1, i);
    if (seat)
        fprintf(file, "*CONTACT PAIR,INTERACTION=FACES,TYPE=NODE TO SURFACE\nLAND,SEAT\n");
}

/* ---- steps ---- */

/* Pressure on the ports or the whole ring, disturbed element by element. */
static void write_pressure(FILE *file, const sector_mesh *m, double pressure)
{
    const kp_stack *s = m->stack;
    double half = m->angle[m->angle_count - 1], port = s->ports > 0 ? s->port_share * half : half;
    fprintf(file, "*DLOAD\n");
    for (size_t j = 0; j + 1 < m->angle_count; j++) {
        double angle = 0.5 * (m->angle[j] + m->angle[j + 1]);
        double here = pressure * (1 + m->options.disturbance * cos(m->options.lobes * angle));
        for (size_t i = 0; i < m->land; i++) {
            double r = 0.5 * (m->radius[i] + m->radius[i + 1]);
            if (r > mesh_mm(s->port_inner_radius) && angle < port)
                fprintf(file, "%zu,P1,%.10g\n", sector_element(m, 0, i, j), 1e-6 * here);
        }
    }
}

static void begin_step(FILE *file, double first)
{
    fprintf(file, "*STEP,INC=1000,NLGEOM\n*STATIC\n%g,1.,1e-6,0.25\n", first);
}

static void end_step(FILE *file)
{
    fprintf(file, "*NODE FILE,FREQUENCY=10000\nU\n*EL FILE,FREQUENCY=10000\nS\n*END STEP\n");
}

void sector_write(FILE *file, const sector_mesh *m, size_t loads, const double *pressures)
{
    bool seat = m->stack->dish > 0;
    fprintf(file, "*NODE,NSET=ALL\n");
    for (size_t d = 0; d < m->discs; d++)
        write_disc_nodes(file, m, d);
    for (size_t d = 0; d < m->discs; d++) {
        fprintf(file, "*ELEMENT,TYPE=C3D20R,ELSET=BODY%zu\n", d);
        for (size_t i = 0; i < m->ends[d]; i++) {
            for (size_t j = 0; j + 1 < m->angle_count; j++)
                write_element(file, m, d, i, j);
        }
        write_material(file, m, d);
        write_faces(file, m, d);
        write_symmetry(file, m, d);
    }
    if (seat)
        write_seat(file, m);
    fprintf(file, "*BOUNDARY\n%s", seat ? "SEATNODES,1,3,0.\n" : "");
    for (size_t d = 0; d < m->discs; d++)
        write_clamp(file, m, d, 0);
    write_contacts(file, m, seat);
    if (seat) {
        begin_step(file, 0.1);
        fprintf(file, "*BOUNDARY\n");
        for (size_t d = 0; d < m->discs; d++)
            write_clamp(file, m, d, -mesh_mm(m->stack->dish));
        end_step(file);
    }
    for (size_t i = 0; i < loads; i++) {
        begin_step(file, 0.1);
        write_pressure(file, m, pressures[i]);
        end_step(file);
    }
}
