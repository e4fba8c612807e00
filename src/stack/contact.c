/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where neighbours may touch.

   At each radius the plates that exist there form a chain, from the piston outward; two neighbours in that chain cannot
   pass through each other, and their gap at rest is the thickness missing between them. The seat is a rigid neighbour
   under the chain; the clamp washer and the lift stop make one rigid surface above it. That one rule gives crossovers,
   stepped tapers and bigger-over-smaller without a special case.

   Where a lone ring of contact wanders with the load, as above a crossover, contact at the nodes alone lets the faces
   overlap between them by (difference of curvature) x (spacing)^2 / 8: measured up to 2 % of a thickness, 0.3 % in
   lift. So there are points between the nodes too. There, and only there, a penetration of OVERLAP is allowed, since
   two cubics held together at every point of an element would be held too often. What is allowed shrinks with the
   lifts, so it changes with the load; within one programme it is fixed.

   Faces touch, not middle surfaces. A plate of thickness t that is tilted by w' stands t w'^2/4 further out on each
   side than one that is flat, so that

       gap = gap at rest + w_above - w_below - (t_above w_above'^2 + t_below w_below'^2)/4,

   and by virtual work a contact force also turns each plate by t w'/2 times itself. Without this term stacks come out
   0.2 to 0.6 % softer than in finite elements; with it, within 0.2 %. The gaps are linearised at the state's tilt
   before a programme, and anew at each of Newton's last steps: each programme sees linear gaps. A loose ring's own tilt
   is left out: it turns so freely over the corner that pinches it that iterating on both would not converge. */
#include "stack/stack_internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* [-] relative. A plate exists at its own edge, and rounding must not cut its tip off. */
static const double EDGE_ROUNDING = 1e-12;
/* [-] of the face shim's thickness: penetration allowed between the nodes. 0.04 um of a 0.2 mm shim, below its
   roughness. */
static const double OVERLAP = 2e-4;
/* [-] of an element: a candidate, or a node of the seat, nearer than this to a more important one is dropped. */
static const double CROWDED = 0.1;
/* [-] parts between two neighbouring nodes or tips, with a contact candidate at each end of a part. */
enum { PARTS = 4 };

/* ---- the chain of plates at a radius ---- */

/* A clamped plate reaches from the axis to its edge, a loose ring from its hole. */
static bool exists(const kp_plate *plate, double rho)
{
    return rho * (1 - EDGE_ROUNDING) <= plate->outer && (!plate->ring || rho * (1 + EDGE_ROUNDING) >= plate->inner);
}

bool kp_plate_moves(const kp_plate *plate, double rho)
{
    return exists(plate, rho) && (plate->ring || rho > plate->inner * (1 + EDGE_ROUNDING));
}

/* The next plate above one that exists there; plate_count when there is none. */
static size_t next_above(const kp_stack_workspace *ws, size_t lower, double rho)
{
    size_t upper = lower + 1;
    while (upper < ws->plate_count && !exists(&ws->plates[upper], rho)) {
        upper++;
    }
    return upper;
}

bool kp_chain_neighbours(const kp_stack_workspace *ws, size_t a, size_t b, double rho)
{
    size_t lower = a < b ? a : b;
    return next_above(ws, lower, rho) == (a < b ? b : a);
}

size_t kp_upper_surface_radii(const kp_stack_workspace *ws, double *radii)
{
    size_t count = 0;
    radii[count++] = ws->stack.clamp_radius / ws->length;
    for (size_t i = 0; i < ws->stack.stop_count; i++) {
        radii[count++] = ws->stack.stop_radius[i] / ws->length;
    }
    return count;
}

bool kp_faces_upper_surface(const kp_stack_workspace *ws, size_t plate, double rho)
{
    return next_above(ws, plate, rho) == ws->plate_count;
}

/* Height of the upper rigid surface: the clamp washer's face, then stop or backing washer. */
static double upper_surface_height(const kp_stack_workspace *ws, double rho)
{
    const kp_stack *stack = &ws->stack;
    double r = rho * ws->length * (1 - EDGE_ROUNDING);
    if (r <= stack->clamp_radius) {
        return ws->pack;
    }

    /* Linear between the points of the profile; the first gap inside the first of them. */
    for (size_t i = 0; i < stack->stop_count; i++) {
        if (r > stack->stop_radius[i]) {
            continue;
        }
        double gap = stack->stop_gap[i];
        if (i > 0) {
            double part = (r - stack->stop_radius[i - 1]) / (stack->stop_radius[i] - stack->stop_radius[i - 1]);
            gap = stack->stop_gap[i - 1] + part * (gap - stack->stop_gap[i - 1]);
        }
        return ws->pack + gap / ws->height;
    }

    return INFINITY;
}

/* ---- contact candidates above one plate ---- */

typedef struct candidate {
    double rho;       /* [-] */
    double allowance; /* [-] penetration allowed at full lift */
} candidate;

static int compare_double(const void *a, const void *b)
{
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Radii where contact tends to concentrate: tips and holes of the plates that lie on this one there, and edges of the
   upper rigid surface. */
static size_t tip_radii(const kp_stack_workspace *ws, const kp_mesh_rule *rule, size_t lower, double *radii)
{
    const kp_plate *plate = &ws->plates[lower];
    size_t count = 0;

    /* Edges that touch this plate, not one between. */
    for (size_t j = lower + 1; j < ws->plate_count; j++) {
        const double edge[2] = {ws->plates[j].outer, ws->plates[j].inner};
        for (size_t k = 0; k < (ws->plates[j].ring ? 2 : 1); k++) {
            if (kp_plate_moves(plate, edge[k]) && next_above(ws, lower, edge[k]) == j) {
                radii[count++] = edge[k];
            }
        }
    }

    double surface[KP_STOP_POINTS + 1];
    size_t surface_count = kp_upper_surface_radii(ws, surface);
    for (size_t k = 0; k < surface_count; k++) {
        /* A washer's face that begins at the clamp: hardly outside it a plate has no lift to be held back. */
        bool crowds_clamp = !plate->ring && surface[k] - plate->inner < CROWDED * kp_mesh_size(rule, plate->inner);
        if (!crowds_clamp && kp_plate_moves(plate, surface[k]) && kp_faces_upper_surface(ws, lower, surface[k])) {
            radii[count++] = surface[k];
        }
    }

    return count;
}

/* The plate's own nodes that crowd no tip; its edge always. Returns the count with the tips'. */
static size_t add_node_radii(const kp_plate *plate, const kp_mesh_rule *rule, double *radii, size_t tips)
{
    size_t count = tips;
    for (size_t i = plate->ring ? 0 : 1; i < plate->nodes; i++) {
        bool crowded = false;
        for (size_t k = 0; k < tips; k++) {
            crowded = crowded || fabs(plate->rho[i] - radii[k]) < CROWDED * kp_mesh_size(rule, radii[k]);
        }
        if (!crowded || i + 1 == plate->nodes) {
            radii[count++] = plate->rho[i];
        }
    }

    return count;
}

/* Candidates above one plate, by radius: tips, nodes, and the points between, where some penetration is allowed. */
static size_t find_candidates(const kp_stack_workspace *ws, const kp_mesh_rule *rule, size_t lower, double *radii,
                              candidate *candidates)
{
    const kp_plate *plate = &ws->plates[lower];
    size_t count = add_node_radii(plate, rule, radii, tip_radii(ws, rule, lower, radii));
    qsort(radii, count, sizeof *radii, compare_double);

    size_t kept = 0;
    double last = plate->inner;
    for (size_t i = 0; i < count; i++) {
        /* Equal radii are one; a clamped edge cannot lift, but a ring's hole can. */
        if (radii[i] <= last * (1 + EDGE_ROUNDING) && !(plate->ring && kept == 0)) {
            continue;
        }
        /* Points between two nodes; less penetration is allowed near the clamp, where lifts are small. */
        for (int part = 1; part < PARTS && radii[i] > last && !ws->touches_at_nodes_only; part++) {
            double rho = last + (radii[i] - last) * part / PARTS;
            double near = plate->ring ? 1 : fmin(1, 2 * (rho - rule->clamp) / rule->span);
            candidates[kept++] = (candidate){rho, OVERLAP * near * near};
        }
        candidates[kept++] = (candidate){radii[i], 0};
        last = radii[i];
    }

    return kept;
}

/* ---- the gaps ---- */

static void add_gap(kp_stack_workspace *ws, int lower, int upper, candidate at, double rest)
{
    ws->gaps[ws->gap_count++] = (kp_gap){
        .rest = rest, .allowance = at.allowance, .rho = at.rho, .lower = lower, .upper = upper, .enabled = true};
}

/* The seat holds the face shim over the land's width: at its inner and outer edge and the nodes between. The inner edge
   is gap 0, where seat lift is read. */
static void add_seat(kp_stack_workspace *ws, const kp_mesh_rule *rule)
{
    const double *nodes = ws->plates[0].rho;
    double inner = ws->stack.land_inner_radius / ws->length;
    double outer = ws->stack.land_outer_radius / ws->length;
    double dish = ws->stack.dish / ws->height;

    add_gap(ws, KP_CONTACT_SEAT, 0, (candidate){inner, 0}, -dish);
    for (size_t i = 1; i < ws->plates[0].nodes; i++) {
        double margin = CROWDED * kp_mesh_size(rule, nodes[i]);
        if (nodes[i] > inner + margin && nodes[i] < outer - margin) {
            add_gap(ws, KP_CONTACT_SEAT, 0, (candidate){nodes[i], 0}, -dish);
        }
    }

    if (outer > inner * (1 + EDGE_ROUNDING)) {
        add_gap(ws, KP_CONTACT_SEAT, 0, (candidate){outer, 0}, -dish);
    }
}

/* Gaps above one plate, by radius: to the next plate of the chain, or to the upper rigid surface. */
static void add_above(kp_stack_workspace *ws, size_t lower, size_t candidate_count, const candidate *candidates)
{
    double top = ws->plates[lower].bottom + ws->plates[lower].thickness;
    for (size_t k = 0; k < candidate_count; k++) {
        double rho = candidates[k].rho;
        size_t upper = next_above(ws, lower, rho);
        if (upper < ws->plate_count) {
            add_gap(ws, (int)lower, (int)upper, candidates[k], ws->plates[upper].bottom - top);
        } else if (isfinite(upper_surface_height(ws, rho))) {
            add_gap(ws, (int)lower, KP_CONTACT_STOP, candidates[k], upper_surface_height(ws, rho) - top);
        }
    }
}

/* Copies an element's splines and slopes to a gap's side, zero where fixed. Returns which is the first that is not. */
static size_t set_side_splines(const kp_plate *plate, size_t element, double sign, const double value[4],
                               const double slope[4], kp_side *side)
{
    /* At a node the element's last spline is zero but for rounding, which must not couple it. */
    double level = EDGE_ROUNDING / (plate->rho[element + 1] - plate->rho[element]);

    /* A fixed spline has no coefficient to solve for. */
    size_t held_first = kp_edge_fixed_splines(plate->fixed_first), held_last = kp_edge_fixed_splines(plate->fixed_last);
    size_t first = 3;

    for (size_t i = 4; i-- > 0;) {
        bool fixed = element + i < held_first || element + i + held_last >= plate->splines;
        double v = fixed || fabs(value[i]) < EDGE_ROUNDING ? 0 : sign * value[i];
        double d = fixed || fabs(slope[i]) < level ? 0 : slope[i];
        first = v != 0 || d != 0 ? i : first;
        side->value[i] = side->shape[i] = v;
        side->slope[i] = d;
    }

    return first;
}

/* Side k of gap g: 0 below it, 1 above. */
static void set_side(kp_stack_workspace *ws, size_t g, size_t k, int index, double rho)
{
    kp_side *side = &ws->gaps[g].side[k];
    side->plate = index;
    side->value = ws->tilted[g].value[k];
    side->slope = ws->tilted[g].slope[k];
    side->shape = ws->rows[g].c[k];
    ws->rows[g].at[k] = 0;
    ws->tilted[g].turning[k] = 0;

    /* A rigid side has zero coefficients, so that the sweeps need no test. */
    if (index < 0) {
        for (size_t i = 0; i < 4; i++) {
            side->value[i] = side->slope[i] = side->shape[i] = 0;
        }
        return;
    }

    kp_plate *plate = &ws->plates[index];
    plate->contacts++;

    /* The face moves by its plate's lift at rho: four splines, downward for the plate below. */
    double value[4], slope[4];
    size_t element = kp_plate_shape(plate, rho, value, slope);
    side->base = KP_PAIR * element;
    side->first = side->base + KP_PAIR * set_side_splines(plate, element, k == 0 ? -1 : 1, value, slope, side);
    ws->rows[g].at[k] = (int)(plate->lifts_at + element);

    /* The tilt term of the gap is - tilt x w'^2/2, so that tilt is t/2 in the scaled lengths. */
    if (!plate->ring) {
        ws->tilted[g].turning[k] = 0.5 * plate->thickness * pow(ws->height / ws->length, 2);
    }
}

/* Bytes a gap takes of the block of memory that begins at ws->gaps. The arrays follow one another in it, each of
   gap_count entries: gaps, tilted, rows, offset, gap_scratch. */
enum { GAP_BYTES = sizeof(kp_gap) + sizeof(kp_tilted_row) + sizeof(kp_two_block_row) + 2 * sizeof(double) };

/* Resizes the block, allocated for all gaps that there could have been, to those that there are (a fourth, or fewer)
   with their other arrays behind them; then fills in their sides. */
static kp_status make_rows(kp_stack_workspace *ws, kp_error *error)
{
    size_t n = ws->gap_count;
    kp_gap *block = realloc(ws->gaps, n * GAP_BYTES);
    if (!block) {
        return kp_error_set(error, KP_NO_MEMORY, "stack: no memory for its contacts");
    }

    ws->gaps = block;
    ws->tilted = (void *)(ws->gaps + n);
    ws->rows = (void *)(ws->tilted + n);
    ws->offset = (void *)(ws->rows + n);
    ws->gap_scratch = ws->offset + n;

    /* Above, a plate inside its own clamp is as rigid as the pack. */
    for (size_t g = 0; g < n; g++) {
        const kp_gap *gap = &ws->gaps[g];
        bool rigid_above = gap->upper < 0 || !kp_plate_moves(&ws->plates[gap->upper], gap->rho);
        ws->offset[g] = gap->rest + gap->allowance;
        set_side(ws, g, 0, gap->lower < 0 ? KP_SIDE_RIGID : gap->lower, gap->rho);
        set_side(ws, g, 1, rigid_above ? KP_SIDE_RIGID : gap->upper, gap->rho);
    }

    return KP_OK;
}

kp_status kp_contact_build(kp_stack_workspace *ws, const kp_mesh_rule *rule, kp_error *error)
{
    /* An upper bound: each plate's nodes, all tips, the upper surface's edges, with the parts between. */
    size_t max_radii = 0;
    size_t total = ws->plates[0].nodes + 2;
    for (size_t i = 0; i < ws->plate_count; i++) {
        size_t radii_here = ws->plates[i].nodes + 2 * ws->plate_count + KP_STOP_POINTS + 1;
        max_radii = radii_here > max_radii ? radii_here : max_radii;
        total += PARTS * radii_here;
    }

    double *radii = malloc(max_radii * sizeof *radii);
    candidate *candidates = malloc(PARTS * max_radii * sizeof *candidates);
    ws->gaps = malloc(total * sizeof *ws->gaps);

    if (!radii || !candidates || !ws->gaps) {
        free(radii);
        free(candidates);
        return kp_error_set(error, KP_NO_MEMORY, "stack: no memory for its contacts");
    }

    ws->gap_count = 0;
    add_seat(ws, rule);

    /* Gaps are in order of plate and radius, which schur.c relies on. */
    for (size_t lower = 0; lower < ws->plate_count; lower++) {
        size_t candidate_count = find_candidates(ws, rule, lower, radii, candidates);
        add_above(ws, lower, candidate_count, candidates);
    }

    free(radii);
    free(candidates);
    return make_rows(ws, error);
}
