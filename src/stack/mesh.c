/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Giving classified plates their nodes, arrays, load and contacts. */
#include "stack/stack_internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Elements across the largest shim when the caller does not say. Measured against three times as many: see
   tests/lift/test_fast_mesh.c. A loose ring is two millimetres wide, and where its corners bear decides what it lifts:
   with 12 elements 1 lift in 200 is 0.5 % off, and the worst 10 %. */
enum { ELEMENTS_DEFAULT = 13, ELEMENTS_RINGS = 32, MAX_ELEMENTS = 400 };
/* [-] of these, elements of a stack that folds: measured against all of them, 0.02 % in mean lift. */
static const double FOLDING_SHARE = 0.6;
/* [-] Element at the clamp over the mean one. */
static const double CLAMP_REFINEMENT = 0.35;
/* [-] of the span: distance from the clamp over which elements grow. */
static const double CLAMP_REACH = 0.3;
/* [-] Coarsest element over the mean one. */
static const double COARSEST = 1.25;
/* [-] of an element: a node nearer to another than this is dropped. A disc's own edge is never moved. */
static const double NODE_CROWD = 0.3;
/* [-] relative: a node just as far off as that is kept. Sizes in half millimetres make such ties, and rounding must not
   decide them, or a stack times 1.37 has other nodes. */
static const double TIE = 1e-9;
/* A plate bends in a narrow layer around the tip of another that is STIFF_TIP times as stiff, be it through thin ones
   between them, and gets one more node on either side of it at STIFF_TIP_REACH. Without them 1 random stack in 300 errs
   by 1 to 2 %. */
static const double STIFF_TIP = 2;         /* [-] */
static const double STIFF_TIP_REACH = 0.4; /* [-] of the coarsest element */

/* ---- nodes ---- */

/* A radius at which a plate should have a node. */
typedef struct request {
    double rho; /* [-] */
    bool stiff; /*     the plate bends around something stiff there */
} request;

/* Requested nodes: where a neighbour in the chain begins or ends, and on the face shim where the pressure does. */
static size_t requested_nodes(const kp_stack_workspace *ws, size_t i, request *requests)
{
    const kp_plate *plate = &ws->plates[i];
    size_t count = 0;

    /* Edges of neighbours, and of stiffer plates further away in the stack. */
    for (size_t j = 0; j < ws->plate_count && count + 6 + KP_STOP_POINTS < KP_MAX_NODES / 2; j++) {
        const double edge[2] = {ws->plates[j].outer, ws->plates[j].inner};
        for (size_t k = 0; k < (ws->plates[j].ring ? 2 : 1) && j != i; k++) {
            bool stiff = ws->plates[j].bending > STIFF_TIP * plate->bending;
            if (kp_plate_moves(plate, edge[k]) && (stiff || kp_chain_neighbours(ws, i, j, edge[k]))) {
                requests[count++] = (request){edge[k], stiff};
            }
        }
    }

    /* Edges of the upper rigid surface. */
    double surface[KP_STOP_POINTS + 1];
    size_t surface_count = kp_upper_surface_radii(ws, surface);
    for (size_t k = 0; k < surface_count; k++) {
        if (kp_plate_moves(plate, surface[k]) && kp_faces_upper_surface(ws, i, surface[k])) {
            requests[count++] = (request){surface[k], true};
        }
    }

    if (plate->slot_count > 0 && kp_plate_moves(plate, plate->slot_inner)) {
        requests[count++] = (request){plate->slot_inner, true}; /* its curvature jumps there */
    }

    /* Where the pressure begins, and where it falls across the land. */
    if (i == 0) {
        requests[count++] = (request){ws->stack.land_inner_radius / ws->length, false};
        requests[count++] = (request){ws->stack.land_outer_radius / ws->length, false};
        requests[count++] = (request){ws->stack.port_inner_radius / ws->length, false};
    }

    return count;
}

/* Adds a node unless it crowds one that is there. nodes ascending. */
static size_t add_node(const kp_mesh_rule *rule, double rho, double *nodes, size_t count)
{
    /* Two nodes nearer than this are one; the first and the last are edges, and stay. */
    double crowd = NODE_CROWD * (1 - TIE) * kp_mesh_size(rule, rho);
    size_t at = 0;
    while (at < count && nodes[at] < rho) {
        at++;
    }

    bool crowded = at == 0 || at == count || rho - nodes[at - 1] < crowd || nodes[at] - rho < crowd;
    if (crowded || count >= KP_MAX_NODES) {
        return count;
    }

    memmove(nodes + at + 1, nodes + at, (count - at) * sizeof *nodes);
    nodes[at] = rho;
    return count + 1;
}

/* The plate's own nodes: its edges, the requested ones, those beside stiff tips, and the common ones between. */
static size_t nodes_of(const kp_stack_workspace *ws, const kp_mesh_rule *rule, size_t i, size_t common_count,
                       const double *common, double *nodes)
{
    request requests[KP_MAX_NODES];
    size_t request_count = requested_nodes(ws, i, requests);

    /* In order of importance, since a later node that crowds an earlier one is dropped. */
    nodes[0] = ws->plates[i].inner;
    nodes[1] = ws->plates[i].outer;
    size_t count = 2;

    for (size_t k = 0; k < request_count; k++) {
        count = add_node(rule, requests[k].rho, nodes, count);
    }

    for (size_t k = 0; k < request_count; k++) {
        if (requests[k].stiff) {
            double beside = STIFF_TIP_REACH * rule->coarsest;
            count = add_node(rule, requests[k].rho - beside, nodes, count);
            count = add_node(rule, requests[k].rho + beside, nodes, count);
        }
    }

    for (size_t k = 0; k < common_count; k++) {
        count = add_node(rule, common[k], nodes, count);
    }

    return count;
}

/* Nodes that all plates share where no other is requested. */
static size_t common_nodes(const kp_stack_workspace *ws, const kp_mesh_rule *rule, double *nodes)
{
    double ends[2] = {rule->clamp, 1};
    for (size_t i = 0; i < ws->plate_count; i++) {
        ends[0] = fmin(ends[0], ws->plates[i].inner);
    }
    return kp_mesh_nodes(rule, 2, ends, KP_MAX_NODES, nodes);
}

/* ---- one block of memory for all plates ---- */

/* Doubles that the arrays of a plate need. Called twice: with base NULL to count them, then with the plate's part of
   the block to set each array's pointer. The vectors come first, since only they are cleared. */
static size_t lay_out(kp_plate *p, double *base)
{
    size_t n = p->nodes + 2;
    size_t elements = p->nodes - 1, points = elements * KP_GAUSS;
    size_t used = 0;
#define TAKE(field, amount)                                                                                            \
    do {                                                                                                               \
        if (base) {                                                                                                    \
            (field) = (void *)(base + used);                                                                           \
        }                                                                                                              \
        used += (amount);                                                                                              \
    } while (0)

    TAKE(p->rest, kp_surface_count(p) * sizeof(kp_disc_stress) / sizeof(double));
    TAKE(p->state, KP_PAIR * n);
    for (size_t k = 0; k < KP_PAST; k++) {
        TAKE(p->past[k], KP_PAIR * n);
    }

    TAKE(p->start, KP_PAIR * n);
    TAKE(p->trial, KP_PAIR * n);
    TAKE(p->force, KP_PAIR * n);
    TAKE(p->free, KP_PAIR * n);
    TAKE(p->step, KP_PAIR * n);
    TAKE(p->load, KP_PAIR * n);
    size_t vectors = used;

    TAKE(p->rho, p->nodes);
    TAKE(p->lift_nodal, p->nodes * sizeof(kp_nodal_splines) / sizeof(double));
    TAKE(p->radial_nodal, p->nodes * sizeof(kp_nodal_splines) / sizeof(double));
    TAKE(p->weight, points);
    TAKE(p->slope_shape, elements * sizeof(kp_element) / sizeof(double));
    TAKE(p->hoop_shape, elements * sizeof(kp_element) / sizeof(double));
    TAKE(p->radial_shape, elements * sizeof(kp_element) / sizeof(double));
    TAKE(p->slope, points);
    TAKE(p->tension, points);
    TAKE(p->linear_tangent, KP_PAIR * n * KP_JOINT_ROW);
    TAKE(p->bending_matrix, n * KP_FIELD_ROW);
    TAKE(p->bending_diagonals, KP_DIAGONALS_ROOM(n));
    TAKE(p->membrane_matrix, n * KP_FIELD_ROW);
    TAKE(p->radial_factor, n * KP_FIELD_ROW);
    TAKE(p->slip_factor, n * KP_FIELD_ROW);
    TAKE(p->stress_point, kp_surface_count(p) * sizeof(kp_stress_point) / sizeof(double));
    TAKE(p->factor, KP_PAIR * n * KP_JOINT_ROW);
#undef TAKE

    if (base) {
        memset(base, 0, vectors * sizeof *base); /* all else is written before it is read */
    }

    p->splines = n;
    p->unknowns = KP_PAIR * n;
    return used;
}

/* ---- the load ---- */

/* Pressure at r over its full value: logarithmic across the land, as of flow between parallel faces. */
static double pressure_profile(const kp_stack *s, double r)
{
    if (r <= s->land_inner_radius) {
        return 1;
    }
    return log(s->land_outer_radius / r) / log(s->land_outer_radius / s->land_inner_radius);
}

/* [-] Gauss-Legendre, six points on -1..1: Abramowitz and Stegun, table 25.4 (from memory, checked by a test). Enough
   for the logarithm across an element. */
static const double load_place[6] = {-0.93246951420315202781, -0.66120938646626451366, -0.23861918608319690863,
                                     0.23861918608319690863,  0.66120938646626451366,  0.93246951420315202781};
static const double load_weight[6] = {0.17132449237917034504, 0.36076157304813860757, 0.46791393457269104739,
                                      0.46791393457269104739, 0.36076157304813860757, 0.17132449237917034504};

static void add_load(kp_plate *face, size_t element, const double shape[4], double work)
{
    for (size_t i = 0; i < KP_LOCAL; i++) {
        face->load[KP_PAIR * (element + i)] += work * shape[i];
    }
}

/* Fraction of the circle at rho on which the stack bears pressure. Where the face shim is slotted, the pressure in its
   slots bears on the shims above, and those are pressed on no less than the face shim would be: only what the slots of
   all shims there leave open bears none. Slots are taken to lie over each other. */
static double bearing_fraction(const kp_stack_workspace *ws, double rho)
{
    double most = kp_plate_solid_fraction(&ws->plates[0], rho);
    for (size_t i = 1; most < 1 && i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        if (rho >= plate->inner && rho <= plate->outer) {
            most = fmax(most, kp_plate_solid_fraction(plate, rho));
        }
    }
    return most;
}

/* Adds the work of unit pressure between two radii [rho] within one element. */
static void load_piece(kp_stack_workspace *ws, double from, double to)
{
    kp_plate *face = &ws->plates[0];
    for (size_t g = 0; g < 6; g++) {
        double rho = 0.5 * (from + to) + 0.5 * (to - from) * load_place[g];
        double n[4], d[4];
        size_t element = kp_plate_shape(face, rho, n, d);
        double bearing = rho * bearing_fraction(ws, rho);
        double work = 0.5 * (to - from) * load_weight[g] * bearing * pressure_profile(&ws->stack, rho * ws->length);
        add_load(face, element, n, work);
    }
}

static void make_load(kp_stack_workspace *ws, double line_load)
{
    kp_plate *face = &ws->plates[0];

    /* A ring load at the free edge instead of the pressure. */
    if (line_load != 0) {
        double n[4], d[4];
        size_t element = kp_plate_shape(face, face->outer, n, d);
        add_load(face, element, n, line_load / ws->length * face->outer);
        return;
    }

    /* The profile has a kink at each of these radii: elements are integrated in pieces between them. */
    double cut[3] = {ws->stack.port_inner_radius / ws->length, ws->stack.land_inner_radius / ws->length,
                     ws->stack.land_outer_radius / ws->length};
    for (size_t e = 0; e + 1 < face->nodes; e++) {
        for (size_t k = 0; k < 2; k++) {
            double from = fmax(face->rho[e], cut[k]);
            double to = fmin(face->rho[e + 1], cut[k + 1]);
            if (to > from) {
                load_piece(ws, from, to);
            }
        }
    }
}

/* ---- the plates ---- */

/* The block holds ws->lifts first, then each plate's arrays. */
static kp_status make_plates(kp_stack_workspace *ws, const kp_mesh_rule *rule, kp_error *error)
{
    double common[KP_MAX_NODES];
    double nodes[KP_MAX_NODES];
    size_t common_count = common_nodes(ws, rule, common);
    size_t total = 0, lifts = 0;

    /* Count: nodes of each plate, doubles of the block. */
    for (size_t i = 0; i < ws->plate_count; i++) {
        ws->plates[i].nodes = nodes_of(ws, rule, i, common_count, common, nodes);
        total += lay_out(&ws->plates[i], NULL);
        ws->plates[i].lifts_at = lifts;
        lifts += ws->plates[i].splines;
    }

    ws->arena = malloc((total + lifts) * sizeof(double));
    if (!ws->arena) {
        return kp_error_set(error, KP_NO_MEMORY, "stack: no memory for %zu plates", ws->plate_count);
    }

    /* Lay out, with the same nodes once more. */
    ws->lifts = ws->arena;
    double *base = ws->arena + lifts;
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        base += lay_out(plate, base);
        nodes_of(ws, rule, i, common_count, common, nodes);
        memcpy(plate->rho, nodes, plate->nodes * sizeof *nodes);
        kp_plate_prepare(plate);
        kp_surface_prepare(plate);
    }

    return KP_OK;
}

int kp_stack_folding_elements(const kp_stack_workspace *ws)
{
    int elements = ELEMENTS_DEFAULT;
    for (size_t i = 0; i < ws->plate_count; i++) {
        elements = ws->plates[i].ring ? ELEMENTS_RINGS : elements;
    }
    elements = ws->options.elements > 0 ? ws->options.elements : elements;
    int fewer = (int)(FOLDING_SHARE * elements + 0.5);
    return fewer > 4 ? fewer : 4;
}

static kp_mesh_rule mesh_rule(const kp_stack_workspace *ws, int requested_elements)
{
    int elements = ELEMENTS_DEFAULT;
    for (size_t i = 0; i < ws->plate_count; i++) {
        elements = ws->plates[i].ring ? ELEMENTS_RINGS : elements;
    }

    elements = requested_elements > 0 ? requested_elements : elements;
    elements = elements < MAX_ELEMENTS ? elements : MAX_ELEMENTS;

    /* Elements grow from the outermost clamp outward. */
    kp_mesh_rule rule = {0};
    for (size_t i = 0; i < ws->plate_count; i++) {
        rule.clamp = ws->plates[i].ring ? rule.clamp : fmax(rule.clamp, ws->plates[i].inner);
    }

    rule.span = 1 - rule.clamp;
    rule.reach = CLAMP_REACH * rule.span;
    rule.coarsest = COARSEST * rule.span / elements;
    rule.finest = CLAMP_REFINEMENT * rule.span / elements;
    return rule;
}

kp_status kp_stack_finish(kp_stack_workspace *ws, const kp_stack_options *options, kp_stack_contacts contacts,
                          kp_error *error)
{
    kp_mesh_rule rule = mesh_rule(ws, options ? options->elements : 0);
    kp_status status = make_plates(ws, &rule, error);
    if (status == KP_OK && contacts == KP_CONTACTS_ALL) {
        status = kp_contact_build(ws, &rule, error);
    }

    if (status != KP_OK) {
        return status;
    }

    /* A fixed spline takes no load. */
    make_load(ws, options ? options->line_load : 0);
    for (size_t i = 0; i < ws->plates[0].unknowns; i++) {
        ws->plates[0].load[i] = kp_plate_is_fixed(&ws->plates[0], i) ? 0 : ws->plates[0].load[i];
    }

    if (options && options->land_load != 0) {
        kp_stack_add_ring_load(ws, options->land_load * kp_stack_pressure_unit(ws));
    }

    /* As many contacts can be active as there are lifts, and two. */
    size_t max_active = 2;
    for (size_t i = 0; i < ws->plate_count; i++) {
        max_active += ws->plates[i].splines;
    }

    return kp_qp_begin(&ws->qp, ws, max_active, error);
}
