/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "random_stack.h"
#include "num/num.h"

#include <math.h>

static double half_millimetres(double diameter)
{
    return round(diameter) / 2e3;
}

static kp_disc random_disc(kp_random *random, double face, double clamp)
{
    static const double thickness[] = {0.1e-3, 0.15e-3, 0.2e-3, 0.25e-3, 0.3e-3, 0.4e-3, 0.5e-3};
    bool larger = kp_random_uniform(random, 0, 1) < 0.1;
    kp_disc disc = {
        .outer_radius = half_millimetres(kp_random_uniform(random, clamp - 3, larger ? face + 2 : face)),
        .thickness = thickness[kp_random_int(random, 0, 6)],
        .count = kp_random_int(random, 1, 3),
        .material = kp_material_spring_steel(),
    };
    return disc;
}

/* A ring between the clamp and about the land: it lies loose, or lifts what lies on it. */
static void make_ring(kp_random *random, kp_disc *disc, double face, double clamp)
{
    double hole = kp_random_uniform(random, clamp + 2, clamp + 0.6 * (face - clamp));
    disc->has_hole = true;
    disc->hole_radius = hole / 2e3;
    disc->outer_radius = (hole + kp_random_uniform(random, 2, 0.4 * (face - clamp) + 2)) / 2e3;
    disc->thickness = kp_random_uniform(random, 0, 1) < 0.5 ? 0.1e-3 : 0.15e-3;
    disc->count = 1;
}

static void make_above(kp_random *random, kp_stack *stack, double face)
{
    double kind = kp_random_uniform(random, 0, 1);
    double floor = fmax(stack->dish, 0);
    if (kind < 0.15) { /* flat stop */
        stack->stop_count = 1;
        stack->stop_radius[0] = kp_random_uniform(random, 1.1 * stack->clamp_radius, face / 2e3);
        stack->stop_gap[0] = floor + kp_random_uniform(random, 0.2e-3, 1e-3);
    } else if (kind < 0.3) { /* bevelled washer: gap from nothing at the clamp */
        stack->stop_count = 3;
        double span = face / 2e3 - stack->clamp_radius;
        for (size_t i = 0; i < 3; i++) {
            double part = (double)(i + 1) / 3;
            stack->stop_radius[i] = stack->clamp_radius + part * span;
            stack->stop_gap[i] = part * part * kp_random_uniform(random, 0.9e-3, 1e-3) * (1 + floor / 1e-3);
        }
    }
}

void random_stack_make(kp_random *random, random_stack *out)
{
    double face = round(kp_random_uniform(random, 24, 50));
    double clamp = fmin(round(kp_random_uniform(random, 10, 20)), face - 9);
    size_t lines = (size_t)kp_random_int(random, 1, RANDOM_LINES);
    bool sliding = kp_random_uniform(random, 0, 1) < 0.3;
    for (size_t i = 0; i < lines; i++) {
        kp_disc *disc = &out->discs[i];
        *disc = random_disc(random, face, clamp);
        if (i == 0) {
            disc->outer_radius = face / 2e3;
        } else if (kp_random_uniform(random, 0, 1) < 0.25) {
            *disc = out->discs[i - 1];
        } else if (kp_random_uniform(random, 0, 1) < 0.04) {
            make_ring(random, disc, face, clamp);
        }
        if (!disc->has_hole && sliding) {
            disc->has_hole = true;
            disc->hole_radius = 4e-3 * fmin(1, clamp / 10) * 0.8;
        }
    }
    kp_stack *stack = &out->stack;
    double span = (face - clamp) / 2e3;
    *stack = (kp_stack){
        .clamp_radius = clamp / 2e3,
        .disc_count = lines,
        .discs = out->discs,
        .port_inner_radius = clamp / 2e3 + kp_random_uniform(random, 0, 0.2) * span,
        .land_inner_radius = face / 2e3 - kp_random_uniform(random, 0.05, 0.25) * span,
        .load_coverage = kp_random_uniform(random, 0.5, 1),
        .dish = kp_random_uniform(random, -0.1e-3, 0.6e-3),
        .grip = sliding ? KP_GRIP_SLIDING : KP_GRIP_HELD,
    };
    double width = kp_random_uniform(random, 0, 1) < 0.3 ? 0 : kp_random_uniform(random, 0, 1);
    stack->land_outer_radius = stack->land_inner_radius + width * (face / 2e3 - stack->land_inner_radius);
    if (sliding && kp_random_uniform(random, 0, 1) < 0.5) {
        stack->nut_load = kp_random_uniform(random, 2e3, 20e3);
        stack->nut_friction = 0.15;
    }
    make_above(random, stack, face);
}
