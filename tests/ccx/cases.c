/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cases.h"

#define SHIM(diameter, height)                                                                                         \
    {                                                                                                                  \
        .outer_radius = (diameter) / 2e3, .thickness = (height) / 1e3                                                  \
    }
#define SHIM_WITH_HOLE(hole, diameter, height)                                                                         \
    {                                                                                                                  \
        .outer_radius = (diameter) / 2e3, .thickness = (height) / 1e3, .has_hole = (hole) > 0,                         \
        .hole_radius = (hole) / 2e3                                                                                    \
    }
/* Port and clamp of the tables in tests/truth, except dish.csv. */
#define PORT .clamp_radius = 8e-3, .port_inner_radius = 9e-3, .land_inner_radius = 17e-3

const elements_case elements_cases[] = {
    {.name = "single", .stack = {PORT}, .discs = {SHIM(40, 0.2)}, .pressures = {0.05e6, 0.2e6, 0.8e6}},
    {.name = "pair", .stack = {PORT}, .discs = {SHIM(40, 0.2), SHIM(30, 0.3)}, .pressures = {0.05e6, 0.5e6, 1.2e6}},
    {.name = "crossover",
     .stack = {PORT},
     .discs = {SHIM(40, 0.2), SHIM(22, 0.1), SHIM(36, 0.25)},
     .pressures = {0.1e6, 0.5e6, 1.4e6}},
    {.name = "pair, surfaces in contact",
     .full = true,
     .contact = ELEMENTS_SURFACE_ON_SURFACE,
     .stack = {PORT},
     .discs = {SHIM(40, 0.2), SHIM(30, 0.3)},
     .pressures = {0.05e6, 0.5e6, 1.2e6}},
    {.name = "crossover, surfaces in contact",
     .full = true,
     .contact = ELEMENTS_SURFACE_ON_SURFACE,
     .stack = {PORT},
     .discs = {SHIM(40, 0.2), SHIM(22, 0.1), SHIM(36, 0.25)},
     .pressures = {0.1e6, 0.5e6, 1.4e6}},
    {.name = "stack of dish.csv without its seat",
     .full = true,
     .stack = {.clamp_radius = 8e-3, .port_inner_radius = 10e-3, .land_inner_radius = 17.5e-3},
     .discs = {SHIM(40, 0.2), SHIM(40, 0.2), SHIM(36, 0.2), SHIM(30, 0.2)},
     .pressures = {0.15e6, 0.19e6, 0.5e6}},
    {.name = "sliding grip",
     .full = true,
     .stack = {PORT, .grip = KP_GRIP_SLIDING},
     .discs = {SHIM_WITH_HOLE(10, 40, 0.2), SHIM_WITH_HOLE(10, 30, 0.3)},
     .pressures = {0.05e6, 0.3e6, 0.8e6}},
    {.name = "loose ring",
     .full = true,
     .contact = ELEMENTS_SURFACE_ON_SURFACE,
     .stack = {PORT},
     .discs = {SHIM(40, 0.2), SHIM_WITH_HOLE(24, 32, 0.1), SHIM(36, 0.25)},
     .pressures = {0, 0.2e6, 0.5e6, 1.4e6}}, /* at 0 the ring separates its neighbours */
    {.name = "bevelled washer",
     .full = true,
     .stack = {PORT, .stop_count = 2, .stop_radius = {8.5e-3, 13e-3}, .stop_gap = {0.01e-3, 0.2e-3}},
     .discs = {SHIM(40, 0.2), SHIM(36, 0.25)},
     .pressures = {0.1e6, 0.4e6, 1.2e6}},
};

const size_t elements_case_count = sizeof elements_cases / sizeof elements_cases[0];

size_t elements_case_stack(const elements_case *c, kp_stack *stack, kp_disc *discs)
{
    *stack = c->stack;
    stack->discs = discs;
    stack->land_outer_radius = stack->land_inner_radius;
    stack->load_coverage = 1;
    for (size_t i = 0; i < ELEMENTS_DISCS && c->discs[i].thickness > 0; i++) {
        discs[i] = c->discs[i];
        discs[i].count = 1;
        discs[i].material = kp_material_spring_steel();
        stack->disc_count++;
    }
    size_t loads = 1;
    while (loads < ELEMENTS_LOADS && c->pressures[loads] > 0)
        loads++;
    return loads;
}
