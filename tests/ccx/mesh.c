/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Makes the mesh. Every requested radius is an element end, and elements are short at every tip and at the clamp. */
#include "mesh.h"

#include <math.h>
#include <stdlib.h>

enum { MAX_POINTS = 40 };

static const double finest = 0.06, coarsest = 0.4; /* [mm] element length at a tip or the clamp, and far from them */
static const double growth = 0.3;                  /* [-] change of element length per distance from those */
static const double washer_thickness = 1;          /* [mm] any value, because the washer is rigid */

_Noreturn void mesh_refuse(const char *what)
{
    fprintf(stderr, "elements: %s\n", what);
    exit(1);
}

double mesh_mm(double metres)
{
    return 1e3 * metres;
}

/* ---- the grid along the radius ---- */

static double size_at(double r, size_t tips, const double *tip)
{
    double size = coarsest;
    for (size_t i = 0; i < tips; i++)
        size = fmin(size, finest + growth * fabs(r - tip[i]));
    return size;
}

static void add_radius(body *b, double r)
{
    if (b->grid_count == MAX_GRID)
        mesh_refuse("a disc needs more elements than the mesh can hold");
    b->grid[b->grid_count++] = r;
}

/* Adds element ends between two radii, at equal shares of the integral of 1/size, and the second radius. */
static void divide(body *b, double from, double to, size_t tips, const double *tip)
{
    enum { PIECES = 2000 };
    double integral[PIECES + 1] = {0};
    double piece = (to - from) / PIECES;
    for (size_t i = 0; i < PIECES; i++)
        integral[i + 1] = integral[i] + piece / size_at(from + piece * ((double)i + 0.5), tips, tip);
    double parts = fmax(1, ceil(integral[PIECES] - 0.25));
    size_t at = 0;
    for (double k = 1; k < parts; k++) {
        double share = integral[PIECES] * k / parts;
        while (integral[at + 1] < share)
            at++;
        add_radius(b, from + piece * ((double)at + (share - integral[at]) / (integral[at + 1] - integral[at])));
    }
    add_radius(b, to);
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Makes a grid from inner to outer with every requested radius between them, unrounded, among its element ends. */
static void make_grid(body *b, double inner, double outer, size_t count, double *requested, size_t tips,
                      const double *tip)
{
    qsort(requested, count, sizeof *requested, ascending);
    add_radius(b, inner);
    for (size_t i = 0; i < count; i++) {
        double last = b->grid[b->grid_count - 1];
        if (requested[i] > last && requested[i] < outer)
            divide(b, last, requested[i], tips, tip);
    }
    divide(b, b->grid[b->grid_count - 1], outer, tips, tip);
}

/* ---- the bodies ---- */

static bool is_ring(const kp_stack *stack, size_t i)
{
    return stack->discs[i].hole_radius > stack->clamp_radius;
}

static void mesh_disc(mesh *m, size_t i, size_t tips, const double *tip)
{
    const kp_stack *s = m->stack;
    const kp_disc *disc = &s->discs[i];
    body *b = &m->body[i];
    double requested[MAX_POINTS];
    size_t count = 0;
    for (size_t k = 0; k < tips; k++)
        requested[count++] = tip[k];
    if (i == 0) {
        requested[count++] = mesh_mm(s->port_inner_radius);
        requested[count++] = mesh_mm(s->land_inner_radius);
    }
    bool slides = s->grip == KP_GRIP_SLIDING && !is_ring(s, i);
    double inner = is_ring(s, i) || slides ? mesh_mm(disc->hole_radius) : m->clamp;
    make_grid(b, inner, mesh_mm(disc->outer_radius), count, requested, tips, tip);
    while (b->grid[b->first] < m->clamp)
        b->first++;
    b->ring = is_ring(s, i);
    b->thickness = mesh_mm(disc->thickness);
}

double mesh_washer_height(const kp_stack *s, double r)
{
    size_t i = 0;
    while (i + 1 < s->stop_count && r > mesh_mm(s->stop_radius[i]))
        i++;
    if (i == 0)
        return mesh_mm(s->stop_gap[0]);
    double part = (r - mesh_mm(s->stop_radius[i - 1])) / mesh_mm(s->stop_radius[i] - s->stop_radius[i - 1]);
    return mesh_mm(s->stop_gap[i - 1] + part * (s->stop_gap[i] - s->stop_gap[i - 1]));
}

static void mesh_washer(mesh *m, double bottom)
{
    const kp_stack *s = m->stack;
    body *b = &m->body[m->bodies++];
    double requested[KP_STOP_POINTS];
    for (size_t i = 0; i < s->stop_count; i++)
        requested[i] = mesh_mm(s->stop_radius[i]);
    make_grid(b, m->clamp, requested[s->stop_count - 1], s->stop_count, requested, s->stop_count, requested);
    b->bottom = bottom;
    b->thickness = washer_thickness;
}

void mesh_make(mesh *m, const kp_stack *s)
{
    double tip[MAX_POINTS];
    size_t tips = 0;
    m->stack = s;
    m->discs = m->bodies = s->disc_count;
    m->clamp = mesh_mm(s->clamp_radius);
    if (s->disc_count > ELEMENTS_DISCS || s->land_inner_radius != s->land_outer_radius || s->load_coverage != 1)
        mesh_refuse("no deck can be written for this stack");
    tip[tips++] = m->clamp;
    for (size_t i = 0; i < s->disc_count; i++) {
        if (s->discs[i].count != 1 || s->discs[i].outer_radius <= s->clamp_radius || s->discs[i].slot_count != 0)
            mesh_refuse("every entry must be one shim, without slots, that reaches beyond the clamp");
        tip[tips++] = mesh_mm(s->discs[i].outer_radius);
        if (is_ring(s, i))
            tip[tips++] = mesh_mm(s->discs[i].hole_radius);
    }
    if (s->stop_count > 0)
        tip[tips++] = mesh_mm(s->stop_radius[s->stop_count - 1]);
    double height = 0;
    for (size_t i = 0; i < s->disc_count; i++) {
        mesh_disc(m, i, tips, tip);
        m->body[i].bottom = height;
        height += m->body[i].thickness;
    }
    if (s->stop_count > 0)
        mesh_washer(m, height);
    for (size_t i = 0; i + 1 < m->bodies; i++) {
        const body *b = &m->body[i];
        m->body[i + 1].node = b->node + COLUMN * (2 * b->grid_count - 1);
        m->body[i + 1].element = b->element + THROUGH * (b->grid_count - 1);
    }
}

size_t mesh_node(const body *b, size_t column, size_t level)
{
    return b->node + COLUMN * column + level + 1;
}

size_t mesh_element(const body *b, size_t along, size_t level)
{
    return b->element + THROUGH * along + level + 1;
}

double mesh_radius(const body *b, size_t column)
{
    return column % 2 ? 0.5 * (b->grid[column / 2] + b->grid[column / 2 + 1]) : b->grid[column / 2];
}

size_t mesh_last_column(const body *b)
{
    return 2 * (b->grid_count - 1);
}
