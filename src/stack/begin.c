/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Setting a stack up: checks and scaling; classify.c and mesh.c do the rest. */
#include "stack/stack_internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const kp_stack_options kp_stack_exactly = {.tolerance = 1e-13};

/* One line's sizes, its hole and slots, its material. */
static kp_status check_disc(const kp_stack *stack, size_t i, kp_error *error)
{
    const kp_disc *disc = &stack->discs[i];
    const kp_material *m = &disc->material;

    /* The plate itself. */
    if (!(disc->thickness > 0) || !isfinite(disc->thickness) || disc->count < 1 || !(disc->outer_radius > 0) ||
        !isfinite(disc->outer_radius)) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "stack line %zu: %d of radius %g m, thickness %g m: "
                            "all must be positive",
                            i + 1, disc->count, disc->outer_radius, disc->thickness);
    }

    /* Hole and slots: some shim must be left between them. */
    if ((disc->has_hole && !(disc->hole_radius > 0 && disc->hole_radius < disc->outer_radius)) ||
        disc->slot_count < 0 ||
        (disc->slot_count > 0 &&
         !(disc->slot_width > 0 && disc->slot_inner > 0 && disc->slot_inner < disc->outer_radius &&
           disc->slot_count * disc->slot_width < KP_TWO_PI * disc->slot_inner))) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "stack line %zu: hole radius %g m must be inside its "
                            "edge at %g m, and %d slots of %g m in "
                            "to radius %g m must leave some shim between them",
                            i + 1, disc->has_hole ? disc->hole_radius : 0, disc->outer_radius, disc->slot_count,
                            disc->slot_width, disc->slot_inner);
    }

    if (!(m->young > 0) || !isfinite(m->young) || !(m->poisson >= 0) || m->poisson > 0.49) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "stack line %zu: Young's modulus %g Pa must be "
                            "positive and Poisson's ratio %g 0 to 0.49",
                            i + 1, m->young, m->poisson);
    }

    return KP_OK;
}

/* Stop or backing washer, and what a sliding grip needs. */
static kp_status check_above(const kp_stack *s, kp_error *error)
{
    /* The profile rises from the clamp outward, and never dips into the pack. */
    bool stop = s->stop_count <= KP_STOP_POINTS;
    for (size_t i = 0; stop && i < s->stop_count; i++) {
        stop = s->stop_radius[i] > (i > 0 ? s->stop_radius[i - 1] : s->clamp_radius) && s->stop_gap[i] >= 0 &&
               isfinite(s->stop_radius[i]) && isfinite(s->stop_gap[i]);
    }

    if (!stop) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "stack: lift stop or backing washer: at most %d "
                            "points, radii rising from the clamp, %g m, "
                            "and gaps not negative",
                            KP_STOP_POINTS, s->clamp_radius);
    }

    if (!(s->nut_load >= 0 && isfinite(s->nut_load) && s->nut_friction >= 0 && s->nut_friction < 2)) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "stack: clamp load %g N must not be negative and its "
                            "friction coefficient %g 0 to 2",
                            s->nut_load, s->nut_friction);
    }

    return KP_OK;
}

/* Share of the circle under pressure: that of the ports where they are known, else the load coverage. */
static double effective_coverage(const kp_stack *s)
{
    return s->ports > 0 ? s->port_share : s->load_coverage;
}

/* Ports or load coverage, dish, flatness. A face shim further out of flat than its own thickness is a wave spring. */
static kp_status check_load(const kp_stack *s, kp_error *error)
{
    if (s->ports != 0 && (s->ports < KP_PORTS_MIN || s->ports > KP_PORTS_MAX)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "stack: %d ports: need %d to %d evenly spaced ones, or 0 for none",
                            s->ports, (int)KP_PORTS_MIN, (int)KP_PORTS_MAX);
    }

    double coverage = effective_coverage(s);
    if (!(coverage > 0 && coverage <= 1) || !isfinite(s->dish)) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "stack: %s %g must be above 0 and at most 1, dish %g m "
                            "finite",
                            s->ports > 0 ? "port share" : "load coverage", coverage, s->dish);
    }

    if (!(s->flatness >= 0 && s->flatness <= s->discs[0].thickness)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "stack: flatness %g m must be 0 to the face shim's thickness, %g m",
                            s->flatness, s->discs[0].thickness);
    }

    return KP_OK;
}

static kp_status check_stack(const kp_stack *s, kp_error *error)
{
    kp_status status = KP_OK;
    if (s->disc_count < 1) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "stack: it has no shim");
    }

    for (size_t i = 0; i < s->disc_count; i++) {
        status = check_disc(s, i, error);
        if (status != KP_OK) {
            return status;
        }
    }

    /* From the axis outward: clamp, port, land, free edge of the face shim. */
    double face = s->discs[0].outer_radius;
    bool ordered = s->clamp_radius > 0 && s->port_inner_radius > 0 && s->land_inner_radius > s->port_inner_radius &&
                   s->land_outer_radius >= s->land_inner_radius && s->land_outer_radius <= face &&
                   s->clamp_radius < face;
    if (!ordered) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "stack: radii clamp %g, port %g, land %g to %g, face "
                            "shim %g m: need 0 < port < land inner "
                            "<= land outer <= face shim, and 0 < clamp < face shim",
                            s->clamp_radius, s->port_inner_radius, s->land_inner_radius, s->land_outer_radius, face);
    }

    status = check_load(s, error);
    return status == KP_OK ? check_above(s, error) : status;
}

/* Chooses the scaling, then builds the plates and all that goes with them. */
static kp_status build(kp_stack_workspace *ws, const kp_stack_options *options, bool nodes_only, kp_error *error)
{
    /* R0, t0 and E0 of plate/plate.h. */
    ws->tolerance = options ? options->tolerance : 0;
    ws->options = options ? *options : (kp_stack_options){0};
    ws->touches_at_nodes_only = nodes_only;
    ws->height = ws->discs[0].thickness;
    ws->modulus = ws->discs[0].material.young;

    for (size_t i = 0; i < ws->stack.disc_count; i++) {
        ws->length = fmax(ws->length, ws->discs[i].outer_radius);
    }

    kp_status status = kp_stack_classify(ws, error);
    return status == KP_OK ? kp_stack_finish(ws, options, KP_CONTACTS_ALL, error) : status;
}

kp_status kp_stack_begin(const kp_stack *stack, const kp_stack_options *options, kp_stack_workspace **out,
                         kp_error *error)
{
    return kp_stack_begin_with(stack, options, false, out, error);
}

kp_status kp_stack_begin_with(const kp_stack *stack, const kp_stack_options *options, bool nodes_only,
                              kp_stack_workspace **out, kp_error *error)
{
    kp_status status = check_stack(stack, error);
    if (status != KP_OK) {
        return status;
    }

    kp_stack_workspace *ws = calloc(1, sizeof *ws);
    kp_disc *discs = malloc(stack->disc_count * sizeof *discs);
    if (!ws || !discs) {
        free(ws);
        free(discs);
        return kp_error_set(error, KP_NO_MEMORY, "stack: no memory for %zu shims", stack->disc_count);
    }

    /* The workspace has its own copy, since the caller's need not live on. */
    memcpy(discs, stack->discs, stack->disc_count * sizeof *discs);
    ws->stack = *stack;
    ws->discs = discs;
    ws->stack.discs = discs;
    ws->stack.load_coverage = effective_coverage(stack);

    /* On error all that was built so far is freed, and *out stays as it was. */
    status = build(ws, options, nodes_only, error);
    if (status != KP_OK) {
        kp_stack_free(ws);
        return status;
    }

    *out = ws;
    return KP_OK;
}
