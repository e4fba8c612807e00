/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The mesh of half a lobe. Every radius and angle at which something begins is an element end; elements are short at
   the clamp, where the shim bends most. */
#include "mesh.h"
#include "sector.h"

#include <math.h>
#include <string.h>

const double sector_stress_from_clamp = 0.5e-3;

static const double finest = 0.125, coarsest = 1.2; /* [mm] element length at the clamp and far from it */
static const double growth = 0.35;                  /* [-] change of element length per distance from the clamp */
static const double widest = 7.5;                   /* [degrees] of an element round the circle */
static const double same = 1e-9;                    /* [mm] radii nearer than this are one */
static const double pi = 3.14159265358979323846;

/* ---- the grid along the radius ---- */

/* Number of elements from the clamp to a distance from it, not rounded: the integral of 1/size. */
static double elements_to(double distance)
{
    double cap = (coarsest - finest) / growth;
    double inside = fmin(distance, cap);
    return log(1 + growth * inside / finest) / growth + fmax(0, distance - cap) / coarsest;
}

/* The distance to which elements_to gives this number. */
static double distance_of(double elements)
{
    double cap = (coarsest - finest) / growth;
    double within = elements_to(cap);
    return elements <= within ? (exp(growth * elements) - 1) * finest / growth : cap + (elements - within) * coarsest;
}

static void add_radius(sector_mesh *m, double r)
{
    if (m->radius_count == SECTOR_GRID)
        mesh_refuse("a sector needs more elements along the radius than it can hold");
    m->radius[m->radius_count++] = r;
}

/* Adds element ends up to a radius. */
static void divide_radius(sector_mesh *m, double to)
{
    double clamp = m->radius[0];
    double from = elements_to(m->radius[m->radius_count - 1] - clamp), length = elements_to(to - clamp) - from;
    double parts = fmax(1, ceil(length * m->options.refinement - 0.25));
    for (double k = 1; k < parts; k++)
        add_radius(m, clamp + distance_of(from + length * k / parts));
    add_radius(m, to);
}

/* The next radius outside r at which something begins; 0 when there is none. */
static double next_radius(const kp_stack *s, double r)
{
    double places[SECTOR_DISCS + 3] = {mesh_mm(s->clamp_radius + sector_stress_from_clamp),
                                       mesh_mm(s->port_inner_radius), mesh_mm(s->land_inner_radius)};
    double next = 0;
    for (size_t i = 0; i < s->disc_count; i++)
        places[3 + i] = mesh_mm(s->discs[i].outer_radius);
    for (size_t i = 0; i < 3 + s->disc_count; i++) {
        if (places[i] > r + same && (next == 0 || places[i] < next))
            next = places[i];
    }
    return next;
}

static size_t index_of(const sector_mesh *m, double metres)
{
    size_t i = 0;
    while (i < m->radius_count && fabs(m->radius[i] - mesh_mm(metres)) > same)
        i++;
    return i;
}

/* ---- the grid round the circle ---- */

/* Adds element ends up to an angle [rad]. */
static void divide_angle(sector_mesh *m, double to)
{
    double from = m->angle[m->angle_count - 1];
    double parts = fmax(1, ceil((to - from) * 180 / pi / widest * m->options.refinement - 0.01));
    if (m->angle_count + (size_t)parts > SECTOR_GRID)
        mesh_refuse("a sector needs more elements round the circle than it can hold");
    for (double k = 1; k <= parts; k++)
        m->angle[m->angle_count++] = from + (to - from) * k / parts;
}

static bool can_be_solved(const kp_stack *s, const sector_options *options)
{
    bool can = s->disc_count >= 1 && s->disc_count <= SECTOR_DISCS && s->land_inner_radius == s->land_outer_radius &&
               s->grip == KP_GRIP_HELD && s->stop_count == 0 && options->lobes >= 2 && options->refinement > 0 &&
               (s->ports > 0 ? s->ports == options->lobes : s->load_coverage == 1);
    for (size_t i = 0; can && i < s->disc_count; i++)
        can = s->discs[i].count == 1 && !s->discs[i].has_hole && s->discs[i].slot_count == 0 &&
              s->discs[i].outer_radius > s->clamp_radius + sector_stress_from_clamp &&
              s->discs[i].outer_radius <= s->discs[i > 0 ? i - 1 : 0].outer_radius;
    return can;
}

void sector_mesh_make(sector_mesh *m, const kp_stack *s, const sector_options *options)
{
    memset(m, 0, sizeof *m);
    m->stack = s;
    m->options = *options;
    m->discs = s->disc_count;
    if (!can_be_solved(s, options))
        mesh_refuse("no sector can be written for this stack");
    add_radius(m, mesh_mm(s->clamp_radius));
    for (double r = next_radius(s, m->radius[0]); r > 0; r = next_radius(s, r))
        divide_radius(m, r);
    m->angle_count = 1; /* from 0 */
    if (s->ports > 0 && s->port_share < 1)
        divide_angle(m, s->port_share * pi / options->lobes);
    divide_angle(m, pi / options->lobes);
    double height = 0;
    for (size_t i = 0; i < s->disc_count; i++) {
        m->ends[i] = index_of(m, s->discs[i].outer_radius);
        m->bottom[i] = height;
        height += mesh_mm(s->discs[i].thickness);
    }
    m->land = index_of(m, s->land_inner_radius);
    m->stress = index_of(m, s->clamp_radius + sector_stress_from_clamp);
}

size_t sector_node(const sector_mesh *m, size_t disc, size_t along, size_t round, size_t level)
{
    size_t row = 2 * m->angle_count - 1, whole = (2 * m->radius_count - 1) * row;
    return 3 * (disc * whole + along * row + round) + level + 1;
}

size_t sector_element(const sector_mesh *m, size_t disc, size_t along, size_t round)
{
    return (disc * m->radius_count + along) * m->angle_count + round + 1;
}

static double between(const double *ends, size_t index)
{
    return index % 2 ? 0.5 * (ends[index / 2] + ends[index / 2 + 1]) : ends[index / 2];
}

double sector_radius(const sector_mesh *m, size_t along)
{
    return between(m->radius, along);
}

double sector_angle(const sector_mesh *m, size_t round)
{
    return between(m->angle, round);
}
