/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where neighbours may touch.
   At each radius the plates that exist there form a chain, from the piston
   outward; two neighbours in that chain cannot pass through each other, and
   their gap at rest is the thickness missing between them. The seat is a rigid
   neighbour under the chain, the lift stop one above it. That one rule gives
   crossovers, stepped tapers and bigger-over-smaller without a special case.

   Where a lone ring of contact wanders with the load, as above a crossover,
   contact at the nodes alone lets the faces overlap between them by (difference
   of curvature) x (spacing)^2 / 8: measured up to 2 % of a thickness, 0.3 % in
   lift. So there are points between the nodes too. There, and only there, an
   overlap of OVERLAP is allowed for, since two cubics held together at every
   point of an element would be held too often. What is allowed shrinks with the
   lifts, so it changes with the load; within one programme it is fixed.

   Faces touch, not middle surfaces. A plate of thickness t that is tilted by w' stands t w'^2/4 further out on each
   side than one that is flat, so that gap = gap at rest + w_above - w_below - (t_above w_above'^2 + t_below
   w_below'^2)/4, and by virtual work a contact force also turns each plate by t w'/2 times itself. Left out, stacks
   come out 0.2 to 0.6 % softer than in finite elements; with it, within 0.2 %. The tilt is taken from the state of the
   last linearisation, which follows Newton's last steps: each programme still sees straight gaps. A loose ring's own
   tilt is left out: it turns so freely over the corner that pinches it that the two would chase each other. */
#include "stack/stack_internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A plate exists at its own edge, and rounding must not cut its tip off. [-]
 * relative */
#define EDGE_ROUNDING 1e-12
/* Overlap allowed between the nodes. [-] of the face shim's thickness: 0.04 um of a 0.2 mm shim, below its roughness;
   at largest lifts below FULL_LIFT (of that thickness) in proportion, but for the least share. */
#define OVERLAP     2e-4
#define FULL_LIFT   0.5
#define LEAST_SHARE 0.01
/* Parts between two neighbouring nodes or tips. */
enum { PARTS = 4 };

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

size_t kp_ceiling_rims(const kp_stack_workspace *ws, double *rims)
{
    size_t count = 0;
    rims[count++] = ws->stack.clamp_radius / ws->length;
    for (size_t i = 0; i < ws->stack.stop_count; i++) {
        rims[count++] = ws->stack.stop_radius[i] / ws->length;
    }
    return count;
}

bool kp_faces_ceiling(const kp_stack_workspace *ws, size_t plate, double rho)
{
    return next_above(ws, plate, rho) == ws->plate_count;
}

bool kp_chain_neighbours(const kp_stack_workspace *ws, size_t a, size_t b, double rho)
{
    size_t lower = a < b ? a : b;
    return next_above(ws, lower, rho) == (a < b ? b : a);
}

/* Values and slopes of an element's splines, as a gap's side has them. Returns which is the first of use. */
static size_t keep_side(const kp_plate *plate, size_t element, double sign, const double value[4],
                        const double slope[4], kp_side *side)
{
    /* At a node the element's last spline is nothing; rounding must not drag it along. */
    double level = EDGE_ROUNDING / (plate->rho[element + 1] - plate->rho[element]);
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

/* Side k of gap g. */
static void set_side(kp_stack_workspace *ws, size_t g, size_t k, int index, double rho)
{
    kp_side *side = &ws->gaps[g].side[k];
    side->plate = index;
    side->value = ws->turns[g].value[k];
    side->slope = ws->turns[g].slope[k];
    side->shape = ws->rows[g].c[k];
    ws->rows[g].at[k] = 0;
    ws->turns[g].turning[k] = 0;
    if (index < 0) {
        for (size_t i = 0; i < 4; i++) {
            side->value[i] = side->slope[i] = side->shape[i] = 0;
        }
        return;
    }
    kp_plate *plate = &ws->plates[index];
    plate->contacts++;
    double value[4], slope[4];
    size_t element = kp_plate_shape(plate, rho, value, slope);
    side->base = KP_PAIR * element;
    side->first = side->base + KP_PAIR * keep_side(plate, element, k == 0 ? -1 : 1, value, slope, side);
    ws->rows[g].at[k] = (int)(plate->lifts_at + element);
    if (!plate->ring) {
        ws->turns[g].turning[k] = 0.5 * plate->thickness * pow(ws->height / ws->length, 2);
    }
}

/* Share of the overlap that the state's lifts allow for; all of it before anything has lifted. */
static double overlap_share(const kp_stack_workspace *ws)
{
    double most = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        most = fmax(most, plate->ring ? 0 : fabs(plate->state[plate->unknowns - KP_PAIR]));
    }
    return most > 0 ? fmin(1, fmax(LEAST_SHARE, most / FULL_LIFT)) : 1;
}

/* W's coefficients of all plates, one after another. */
static const double *gather_lifts(const kp_stack_workspace *ws, bool of_step)
{
    double *to = ws->lifts;
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        const double *q = of_step ? plate->step : plate->state;
        for (size_t k = 0; k < plate->splines; k++) {
            *to++ = q[KP_PAIR * k];
        }
    }
    return ws->lifts;
}

void kp_contact_linearise(kp_stack_workspace *ws, double part)
{
    ws->overlap += part * (overlap_share(ws) - ws->overlap);
    for (size_t g = 0; g < ws->gap_count; g++) {
        ws->offset[g] = ws->gaps[g].rest + ws->overlap * ws->gaps[g].allowance;
    }
    kp_two_block_rows_linearise(ws->gap_count, ws->turns, gather_lifts(ws, false), ws->rows, ws->offset);
}

/* A contact force F adds F x t w'^2/4 to the potential (see above): its second derivative, at the forces of the last
   step. */
void kp_contact_add_tilt(kp_stack_workspace *ws, size_t plate)
{
    for (size_t i = 0; i < ws->qp.count; i++) {
        size_t g = ws->qp.active[i];
        for (size_t k = 0; k < 2; k++) {
            const kp_side *side = &ws->gaps[g].side[k];
            double turning = ws->turns[g].turning[k];
            if (turning > 0 && (plate == KP_NO_PLATE || side->plate == (int)plate)) {
                kp_plate_add_tilt(&ws->plates[side->plate], side->base, side->slope, ws->qp.multiplier[g] * turning);
            }
        }
    }
}

static int compare_double(const void *a, const void *b)
{
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

typedef struct place {
    double rho;       /* [-] */
    double allowance; /* [-] */
} place;

/* Radii looked at above one plate: tips and holes of the plates that lie on it there, its own nodes that do not crowd
   those, and points between. */
static size_t contact_places(const kp_stack_workspace *ws, const kp_mesh_rule *rule, size_t lower, double *radii,
                             place *places)
{
    const kp_plate *plate = &ws->plates[lower];
    size_t count = 0;
    for (size_t j = lower + 1; j < ws->plate_count; j++) {
        const double edge[2] = {ws->plates[j].outer, ws->plates[j].inner};
        for (size_t k = 0; k < (ws->plates[j].ring ? 2 : 1); k++) {
            if (kp_plate_moves(plate, edge[k]) && next_above(ws, lower, edge[k]) == j) {
                radii[count++] = edge[k];
            }
        }
    }
    double rims[KP_STOP_POINTS + 1];
    size_t rim_count = kp_ceiling_rims(ws, rims);
    for (size_t k = 0; k < rim_count; k++) {
        /* A washer's face that begins at the clamp: hardly outside it a plate has no lift to be held back. */
        bool crowds_clamp = !plate->ring && rims[k] - plate->inner < 0.1 * kp_mesh_size(rule, plate->inner);
        if (!crowds_clamp && kp_plate_moves(plate, rims[k]) && kp_faces_ceiling(ws, lower, rims[k])) {
            radii[count++] = rims[k];
        }
    }
    size_t tips = count;
    for (size_t i = plate->ring ? 0 : 1; i < plate->nodes; i++) {
        bool crowded = false;
        for (size_t k = 0; k < tips; k++) {
            crowded = crowded || fabs(plate->rho[i] - radii[k]) < 0.1 * kp_mesh_size(rule, radii[k]);
        }
        if (!crowded || i + 1 == plate->nodes) {
            radii[count++] = plate->rho[i];
        }
    }
    qsort(radii, count, sizeof *radii, compare_double);
    size_t kept = 0;
    double last = plate->inner;
    for (size_t i = 0; i < count; i++) {
        if (radii[i] <= last * (1 + EDGE_ROUNDING) && !(plate->ring && kept == 0)) {
            continue;
        }
        for (int part = 1; part < PARTS && radii[i] > last; part++) {
            double rho = last + (radii[i] - last) * part / PARTS;
            double near = plate->ring ? 1 : fmin(1, 2 * (rho - rule->clamp) / rule->span);
            places[kept++] = (place){rho, OVERLAP * near * near};
        }
        places[kept++] = (place){radii[i], 0};
        last = radii[i];
    }
    return kept;
}

static void add_gap(kp_stack_workspace *ws, int lower, int upper, place at, double rest)
{
    ws->gaps[ws->gap_count++] = (kp_gap){
        .rest = rest, .allowance = at.allowance, .rho = at.rho, .lower = lower, .upper = upper, .enabled = true};
}

/* The seat holds the face shim over the land's width: at its inner and outer
 * edge and the nodes between. */
static void add_seat(kp_stack_workspace *ws, const kp_mesh_rule *rule)
{
    const double *nodes = ws->plates[0].rho;
    double inner = ws->stack.land_inner_radius / ws->length;
    double outer = ws->stack.land_outer_radius / ws->length;
    double dish = ws->stack.dish / ws->height;
    add_gap(ws, KP_CONTACT_SEAT, 0, (place){inner, 0}, -dish);
    for (size_t i = 1; i < ws->plates[0].nodes; i++) {
        double margin = 0.1 * kp_mesh_size(rule, nodes[i]);
        if (nodes[i] > inner + margin && nodes[i] < outer - margin) {
            add_gap(ws, KP_CONTACT_SEAT, 0, (place){nodes[i], 0}, -dish);
        }
    }
    if (outer > inner * (1 + EDGE_ROUNDING)) {
        add_gap(ws, KP_CONTACT_SEAT, 0, (place){outer, 0}, -dish);
    }
}

/* Height of the rigid neighbour above the stack: the clamp washer's face, then
 * stop or backing washer. */
static double ceiling_at(const kp_stack_workspace *ws, double rho)
{
    const kp_stack *stack = &ws->stack;
    double r = rho * ws->length * (1 - EDGE_ROUNDING);
    if (r <= stack->clamp_radius) {
        return ws->pack;
    }
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

/* Gaps above one plate, by radius: to the next plate of the chain, or to the
 * rigid ceiling. */
static void add_above(kp_stack_workspace *ws, size_t lower, size_t place_count, const place *places)
{
    double top = ws->plates[lower].bottom + ws->plates[lower].thickness;
    for (size_t k = 0; k < place_count; k++) {
        double rho = places[k].rho;
        size_t upper = next_above(ws, lower, rho);
        if (upper < ws->plate_count) {
            add_gap(ws, (int)lower, (int)upper, places[k], ws->plates[upper].bottom - top);
        } else if (isfinite(ceiling_at(ws, rho))) {
            add_gap(ws, (int)lower, KP_CONTACT_STOP, places[k], ceiling_at(ws, rho) - top);
        }
    }
}

/* Bytes of one block that all gaps' arrays stand in, one after another. */
#define EACH_GAP (sizeof(kp_gap) + sizeof(kp_tilted_row) + sizeof(kp_two_block_row) + 2 * sizeof(double))

/* Lays the arrays out behind the gaps, of which there are a fourth of those that there could have been, or less; then
   their sides. */
static kp_status set_sides(kp_stack_workspace *ws, kp_error *error)
{
    size_t n = ws->gap_count;
    kp_gap *kept = realloc(ws->gaps, n * EACH_GAP);
    if (!kept) {
        return kp_error_set(error, KP_NO_MEMORY, "stack: no memory for its contacts");
    }
    ws->gaps = kept;
    ws->turns = (void *)(ws->gaps + n);
    ws->rows = (void *)(ws->turns + n);
    ws->offset = (void *)(ws->rows + n);
    ws->now = ws->offset + n;
    for (size_t g = 0; g < n; g++) {
        const kp_gap *gap = &ws->gaps[g];
        bool rigid_above = gap->upper < 0 || !kp_plate_moves(&ws->plates[gap->upper], gap->rho);
        ws->offset[g] = gap->rest + gap->allowance;
        set_side(ws, g, 0, gap->lower < 0 ? -1 : gap->lower, gap->rho);
        set_side(ws, g, 1, rigid_above ? -1 : gap->upper, gap->rho);
    }
    return KP_OK;
}

kp_status kp_contact_build(kp_stack_workspace *ws, const kp_mesh_rule *rule, kp_error *error)
{
    size_t most = 0;
    size_t total = ws->plates[0].nodes + 2;
    for (size_t i = 0; i < ws->plate_count; i++) {
        size_t here = ws->plates[i].nodes + 2 * ws->plate_count + KP_STOP_POINTS + 1;
        most = here > most ? here : most;
        total += PARTS * here;
    }
    double *radii = malloc(most * sizeof *radii);
    place *places = malloc(PARTS * most * sizeof *places);
    ws->gaps = malloc(total * sizeof *ws->gaps);
    if (!radii || !places || !ws->gaps) {
        free(radii);
        free(places);
        return kp_error_set(error, KP_NO_MEMORY, "stack: no memory for its contacts");
    }
    ws->gap_count = 0;
    add_seat(ws, rule);
    for (size_t lower = 0; lower < ws->plate_count; lower++) {
        size_t place_count = contact_places(ws, rule, lower, radii, places);
        add_above(ws, lower, place_count, places);
    }
    free(radii);
    free(places);
    return set_sides(ws, error);
}

double kp_gap_increment(const kp_stack_workspace *ws, const kp_gap *gap)
{
    double rise = 0;
    for (size_t k = 0; k < 2; k++) {
        const kp_side *side = &gap->side[k];
        rise += side->plate < 0 ? 0 : kp_plate_sum(side->shape, ws->plates[side->plate].step + side->base);
    }
    return rise;
}

double kp_gap_value(const kp_stack_workspace *ws, const kp_gap *gap)
{
    double value = ws->offset[gap - ws->gaps];
    for (size_t k = 0; k < 2; k++) {
        const kp_side *side = &gap->side[k];
        value += side->plate < 0 ? 0 : kp_plate_sum(side->shape, ws->plates[side->plate].state + side->base);
    }
    return value;
}

void kp_gap_values(const kp_stack_workspace *ws, double *values)
{
    kp_two_block_rows_times(ws->gap_count, ws->rows, gather_lifts(ws, false), ws->offset, values);
}

void kp_gap_increments(const kp_stack_workspace *ws, const double *from, double *values)
{
    kp_two_block_rows_times(ws->gap_count, ws->rows, gather_lifts(ws, true), from, values);
}
