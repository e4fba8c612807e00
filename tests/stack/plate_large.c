/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One plate of any edges, alone, through the stack's own elements and Newton: what published large-deflection values of
   discs with other edges are held against. */
#include "plate_large.h"

#include "stack/stack_internal.h"

#include <math.h>
#include <stdlib.h>

/* A line load stands for itself on the node at its radius: only at the outer edge, or the inner. */
static unsigned edge_bits(kp_edge edge, bool held)
{
    unsigned lift = edge == KP_EDGE_SUPPORTED || edge == KP_EDGE_FIXED ? KP_FIX_LIFT : 0;
    unsigned slope = edge == KP_EDGE_GUIDED || edge == KP_EDGE_FIXED ? KP_FIX_SLOPE : 0;
    return lift | slope | (held ? KP_FIX_RADIAL : 0);
}

static kp_status check(const kp_plate_case *c, kp_error *error)
{
    const kp_material *m = &c->material;
    bool edges = ((edge_bits(c->inner, false) | edge_bits(c->outer, false)) & KP_FIX_LIFT) != 0;
    bool full = c->inner_radius > 0 || (c->inner == KP_EDGE_GUIDED && c->inner_held);
    bool sizes = c->inner_radius >= 0 && c->outer_radius > c->inner_radius && isfinite(c->outer_radius) &&
                 c->thickness > 0 && isfinite(c->thickness) && m->young > 0 && m->poisson >= 0 && m->poisson < 0.5;
    bool load = c->load_from >= c->inner_radius && c->load_to <= c->outer_radius &&
                (c->load_from < c->load_to || c->load_from == c->outer_radius);
    if (edges && full && sizes && load) {
        return KP_OK;
    }
    return kp_error_set(
        error, KP_OUT_OF_RANGE,
        "plate: radii %g to %g m, thickness %g m, load from %g to %g m: need an edge that is supported or "
        "fixed, a full plate's centre guided and held, a pressure between the edges or a line load at "
        "the outer one",
        c->inner_radius, c->outer_radius, c->thickness, c->load_from, c->load_to);
}

static void set_plate(kp_stack_workspace *ws, const kp_plate_case *c)
{
    double nu = c->material.poisson;
    kp_plate *plate = ws->plates;
    ws->plate_count = 1;
    ws->plate_of[0] = 0;
    *plate = (kp_plate){
        .inner = c->inner_radius / ws->length,
        .outer = 1,
        .nu = nu,
        .young = 1,
        .thickness = 1,
        .one_thickness = 1,
        .membrane = 1 / (1 - nu * nu),
        .bending = 1 / (12 * (1 - nu * nu)),
        .fixed_first = edge_bits(c->inner, c->inner_held),
        .fixed_last = edge_bits(c->outer, c->outer_held),
    };
}

kp_status plate_large_begin(const kp_plate_case *c, const kp_stack_options *options, kp_stack_workspace **out,
                            kp_error *error)
{
    kp_status status = check(c, error);
    if (status != KP_OK) {
        return status;
    }
    kp_stack_workspace *ws = calloc(1, sizeof *ws);
    if (!ws) {
        return kp_error_set(error, KP_NO_MEMORY, "plate: no memory");
    }
    ws->discs = calloc(1, sizeof *ws->discs);
    ws->plates = calloc(1, sizeof *ws->plates);
    ws->plate_of = calloc(1, sizeof *ws->plate_of);
    if (!ws->discs || !ws->plates || !ws->plate_of) {
        kp_stack_free(ws);
        return kp_error_set(error, KP_NO_MEMORY, "plate: no memory");
    }
    ws->discs[0] =
        (kp_disc){.outer_radius = c->outer_radius, .thickness = c->thickness, .count = 1, .material = c->material};
    ws->stack = (kp_stack){.clamp_radius = c->inner_radius,
                           .disc_count = 1,
                           .discs = ws->discs,
                           .port_inner_radius = c->load_from,
                           .land_inner_radius = c->load_to,
                           .land_outer_radius = c->load_to,
                           .load_coverage = 1};
    ws->tolerance = options ? options->tolerance : 0;
    ws->length = c->outer_radius;
    ws->height = c->thickness;
    ws->modulus = c->material.young;
    set_plate(ws, c);
    kp_stack_options own = options ? *options : (kp_stack_options){0};
    own.line_load = c->load_from == c->load_to ? 1 : 0;
    status = kp_stack_finish(ws, &own, KP_CONTACTS_NONE, error);
    if (status != KP_OK) {
        kp_stack_free(ws);
        return status;
    }
    *out = ws;
    return KP_OK;
}
