/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stacks that the tests of src/stack build, and solving that ends the test when it fails. */
#ifndef KNEEPOINT_TESTS_STACK_SIMPLE_H
#define KNEEPOINT_TESTS_STACK_SIMPLE_H

#include "kneepoint/stack.h"

#include <criterion/criterion.h>

static inline kp_disc shim(int count, double outside_mm, double thickness_mm)
{
    return (kp_disc){.outer_radius = outside_mm / 2e3,
                     .thickness = thickness_mm / 1e3,
                     .count = count,
                     .material = kp_material_spring_steel()};
}

/* Clamp 16, port 20 to 33, land 33 to 35 mm across; flat. */
static inline kp_stack stack_of(const kp_disc *discs, size_t count)
{
    return (kp_stack){.clamp_radius = 8e-3,
                      .disc_count = count,
                      .discs = discs,
                      .port_inner_radius = 10e-3,
                      .land_inner_radius = 16.5e-3,
                      .land_outer_radius = 17.5e-3,
                      .load_coverage = 1};
}

/* Tolerance on the predicted decrease of Newton's last step, over the energy: invariants are then met to rounding. The
   tables and the random stacks are solved as shipped. [-] */
#define TIGHT 1e-11

static inline kp_stack_workspace *begin(const kp_stack *stack, const kp_stack_options *options)
{
    kp_stack_options tight = options ? *options : (kp_stack_options){0};
    tight.tolerance = TIGHT;
    options = &tight;
    kp_stack_workspace *w = NULL;
    kp_error error = {0};
    cr_assert(kp_stack_begin(stack, options, &w, &error) == KP_OK, "%s", error.message);
    return w;
}

static inline void solve_at(kp_stack_workspace *w, double pressure, kp_seat seat)
{
    kp_error error = {0};
    cr_assert(kp_stack_solve(w, pressure, seat, &error) == KP_OK, "%s", error.message);
}

/* Lift of the face shim's edge without the seat [m]. */
static inline double edge_lift_of(const kp_stack *stack, double pressure, int elements)
{
    kp_stack_options options = {.elements = elements};
    kp_stack_workspace *w = begin(stack, &options);
    solve_at(w, pressure, KP_SEAT_ABSENT);
    double lift = kp_stack_lift_at(w, 0, stack->discs[0].outer_radius);
    kp_stack_free(w);
    return lift;
}

#endif
