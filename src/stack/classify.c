/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What each line of a stack is: plate, spacer or loose ring, where it is clamped, and which lines are one plate. */
#include "stack/stack_internal.h"

#include <math.h>
#include <stdlib.h>

static bool same_plate(const kp_disc *a, const kp_disc *b)
{
    return a->outer_radius == b->outer_radius && a->thickness == b->thickness &&
           a->material.young == b->material.young && a->material.poisson == b->material.poisson &&
           a->has_hole == b->has_hole && (!a->has_hole || a->hole_radius == b->hole_radius) &&
           a->slot_count == b->slot_count && a->slot_width == b->slot_width && a->slot_inner == b->slot_inner;
}

typedef enum kp_part { PART_PLATE, PART_SPACER, PART_RING } kp_part;

/* Where each line is clamped [m]: from the washer toward the piston, each shim holds the one before it out to its own
   edge or to where it is held itself. A shim that ends inside that edge is a spacer (its own edge clamps the next); one
   whose hole lies outside is a loose ring and clamps nothing. Returns false for a face shim that is either. */
static bool find_clamps(const kp_stack *s, double *clamp, kp_part *part)
{
    double held = s->clamp_radius;
    for (size_t i = s->disc_count; i-- > 0;) {
        const kp_disc *disc = &s->discs[i];
        clamp[i] = held;
        if (disc->has_hole && disc->hole_radius > held) {
            part[i] = PART_RING;
        } else if (disc->outer_radius <= held) {
            part[i] = PART_SPACER;
            held = disc->outer_radius;
        } else {
            part[i] = PART_PLATE;
        }
    }

    return part[0] == PART_PLATE && clamp[0] <= s->port_inner_radius;
}

static void start_plate(kp_stack_workspace *ws, kp_plate *plate, const kp_disc *disc, double clamp, kp_part part)
{
    bool ring = part == PART_RING;
    plate->inner = (ring ? disc->hole_radius : clamp) / ws->length;
    plate->outer = disc->outer_radius / ws->length;
    plate->bottom = ws->pack;
    plate->ring = ring;
    plate->nu = disc->material.poisson;
    plate->young = disc->material.young / ws->modulus;
    plate->one_thickness = disc->thickness / ws->height;

    /* Slots reduce the stiffness between their inner radius and the edge. */
    plate->slot_count = disc->slot_count;
    plate->slot_width = disc->slot_width / ws->length;
    plate->slot_inner = disc->slot_inner / ws->length;

    /* The clamp holds lift and slope; radially only where the grip does. */
    plate->fixed_first = ring ? 0 : KP_FIX_LIFT | KP_FIX_SLOPE;
    if (!ring && ws->stack.grip == KP_GRIP_HELD) {
        plate->fixed_first |= KP_FIX_RADIAL;
    }
}

/* The elastic ring under the clamp: N_r = k u there,

       k = (E t/r_c)/[(r_c^2 + r_h^2)/(r_c^2 - r_h^2) - nu]

   (Lame's thick ring, plane stress: from memory). Both faces of the clamped pack have friction under the nut's load,
   and the shims share it equally. */
static kp_status set_grip(kp_stack_workspace *ws, kp_plate *plate, size_t line, int clamped, kp_error *error)
{
    const kp_disc *disc = &ws->discs[line];
    double outer = plate->inner * ws->length;
    double hole = disc->has_hole ? disc->hole_radius : 0;

    if (plate->ring || ws->stack.grip == KP_GRIP_HELD) {
        return KP_OK;
    }

    if (!(hole > 0 && hole < outer)) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "stack line %zu: a sliding grip needs the shim's hole: "
                            "radius %g m must be above 0 and "
                            "below the clamp, %g m",
                            line + 1, hole, outer);
    }

    double ratio = (outer * outer + hole * hole) / (outer * outer - hole * hole);
    plate->grip = (1 - plate->nu * plate->nu) / (ratio - plate->nu);

    double share = 2 * ws->stack.nut_friction * ws->stack.nut_load * disc->count / (KP_TWO_PI * clamped);
    plate->slip += share * ws->length / (ws->modulus * pow(ws->height, 3)) / plate->membrane; /* of each line in it */
    return KP_OK;
}

static void add_to_plate(kp_stack_workspace *ws, kp_plate *plate, const kp_disc *disc)
{
    double t = disc->thickness / ws->height;
    double nu = disc->material.poisson;
    plate->thickness += disc->count * t;
    plate->membrane += disc->count * plate->young * t / (1 - nu * nu);
    plate->bending += disc->count * plate->young * t * t * t / (12 * (1 - nu * nu));
}

/* Equal neighbours deflect together exactly: they become one plate with their stiffness added. Loose rings too: with f
   the forces on one side of n of them and g those on the other, the i-th contact between them carries
   ((n - i) f + i g)/n, which pushes wherever f and g do. */
static kp_status merge(kp_stack_workspace *ws, const double *clamp, const kp_part *part, kp_error *error)
{
    int clamped = 0;
    size_t n = ws->stack.disc_count;

    /* Shims that share the friction of the clamp. */
    for (size_t i = 0; i < n; i++) {
        clamped += part[i] == PART_PLATE ? ws->discs[i].count : 0;
    }

    for (size_t i = 0; i < n; i++) {
        const kp_disc *disc = &ws->discs[i];
        double height = disc->count * disc->thickness / ws->height;
        /* A spacer does not deflect, but it counts in the height of the pack. */
        if (part[i] == PART_SPACER) {
            ws->plate_of[i] = KP_NO_PLATE;
        } else {
            bool same = i > 0 && part[i - 1] == part[i] && same_plate(disc, disc - 1);
            if (!same) {
                start_plate(ws, &ws->plates[ws->plate_count++], disc, clamp[i], part[i]);
            }
            ws->plate_of[i] = ws->plate_count - 1;
            add_to_plate(ws, &ws->plates[ws->plate_count - 1], disc);
        }

        ws->pack += part[i] == PART_RING ? 0 : height;
    }

    /* The grip needs the whole stiffness of the merged plate. */
    for (size_t i = 0; i < n; i++) {
        if (ws->plate_of[i] != KP_NO_PLATE) {
            kp_status status = set_grip(ws, &ws->plates[ws->plate_of[i]], i, clamped, error);
            if (status != KP_OK) {
                return status;
            }
        }
    }

    return KP_OK;
}

kp_status kp_stack_classify(kp_stack_workspace *ws, kp_error *error)
{
    size_t n = ws->stack.disc_count;
    ws->plates = calloc(n, sizeof *ws->plates);
    ws->plate_of = calloc(n, sizeof *ws->plate_of);
    double *clamp = calloc(n, sizeof *clamp);
    kp_part *part = calloc(n, sizeof *part);

    kp_status status = KP_OK;
    if (!ws->plates || !ws->plate_of || !clamp || !part) {
        status = kp_error_set(error, KP_NO_MEMORY, "stack: no memory for %zu shims", n);
    } else if (!find_clamps(&ws->stack, clamp, part)) {
        status = kp_error_set(error, KP_OUT_OF_RANGE,
                              "stack: the face shim, radius %g m, must be clamped "
                              "inside the port: its clamp is at %g m, "
                              "the port begins at %g m",
                              ws->discs[0].outer_radius, clamp[0], ws->stack.port_inner_radius);
    } else {
        status = merge(ws, clamp, part, error);
    }

    free(clamp);
    free(part);
    return status;
}
