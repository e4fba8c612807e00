/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shims of one stack made of different materials, or slotted and not: each bends by its own. At small lifts, where
   superposed closed forms and sums of stiffnesses are exact. */
#include "simple.h"

#include <math.h>

static const double PI = 3.14159265358979323846;

static kp_disc made_of(kp_disc disc, double young, double poisson)
{
    disc.material.young = young;
    disc.material.poisson = poisson;
    return disc;
}

/* Lift at `at` of a disc clamped at 8 mm under a newton on a ring of some radius, by Roark's case 1l. */
static double by_hand(const kp_disc *disc, double ring, double at)
{
    double lift;
    kp_error error = {0};
    cr_assert(kp_plate_ring_lift(disc->outer_radius, 8e-3, disc->thickness, disc->material, ring, 1 / (2 * PI * ring),
                                 at, &lift, &error) == KP_OK,
              "%s", error.message);
    return lift;
}

/* A newton at the face shim's rim; the second shim bears at its own rim alone: the force between follows from both
   lifts being one there. */
Test(materials, superposed)
{
    const double newtons = 1e-4, bar = 1e-4; /* [-] faces' tilt and the overlap between nodes are far below */
    const double young[] = {206e9, 113e9, 71e9}, poisson[] = {0.3, 0.36, 0.2};
    for (int i = 0; i < 9; i++) {
        const kp_disc discs[] = {made_of(shim(1, 40, 0.2), young[i / 3], poisson[i / 3]),
                                 made_of(shim(1, 34, 0.25), young[i % 3], poisson[i % 3])};
        double rim = discs[1].outer_radius, edge = discs[0].outer_radius;
        double force = by_hand(&discs[0], edge, rim) / (by_hand(&discs[0], rim, rim) + by_hand(&discs[1], rim, rim));
        double want = by_hand(&discs[0], edge, edge) - force * by_hand(&discs[0], rim, edge);
        kp_stack stack = stack_of(discs, 2);
        kp_stack_options options = {.line_load = 1 / (2 * PI * edge), .elements = 60};
        kp_stack_workspace *w = begin(&stack, &options);
        solve_at(w, newtons, KP_SEAT_ABSENT);
        double lift = kp_stack_lift_at(w, 0, edge) / newtons, second = kp_stack_lift_at(w, 1, rim) / newtons;
        cr_expect(fabs(lift / want - 1) <= bar, "%g on %g GPa: %.8g m/N for %.8g", discs[0].material.young / 1e9,
                  discs[1].material.young / 1e9, lift, want);
        cr_expect(fabs(second / (force * by_hand(&discs[1], rim, rim)) - 1) <= 10 * bar, "%g on %g GPa, second: %.8g",
                  discs[0].material.young / 1e9, discs[1].material.young / 1e9, second);
        kp_stack_free(w);
    }
}

/* Two of one size bend together: like one whose modulus is their sum. And each keeps its own stress. */
Test(materials, alike_but_for_the_modulus)
{
    const double bar = 1e-3, pressure = 100; /* [-] overlap allowed and tilt, at a fiftieth of a thickness; [Pa] */
    for (int order = 0; order < 2; order++) {
        const kp_disc pair[] = {made_of(shim(1, 40, 0.2), order ? 206e9 : 113e9, 0.3),
                                made_of(shim(1, 40, 0.2), order ? 113e9 : 206e9, 0.3)};
        const kp_disc one = made_of(pair[0], 319e9, 0.3);
        kp_stack two = stack_of(pair, 2), single = stack_of(&one, 1);
        double got = edge_lift_of(&two, pressure, 40), want = edge_lift_of(&single, pressure, 40);
        cr_expect(fabs(got / want - 1) <= bar, "%g below: %.8g m for %.8g", pair[0].material.young, got, want);
        kp_stack_workspace *w = begin(&two, NULL);
        solve_at(w, pressure, KP_SEAT_ABSENT);
        double stress[2];
        for (size_t k = 0; k < 2; k++)
            kp_stack_peak_stress(w, k, &stress[k], NULL, NULL);
        double ratio = stress[0] / stress[1], young = pair[0].material.young / pair[1].material.young;
        cr_expect(fabs(ratio / young - 1) <= 10 * bar, "stresses go as %g, moduli as %g", ratio, young);
        kp_stack_free(w);
    }
}

/* A shim of six slots on one of two, else alike, either way round: between two of two and two of six. */
Test(materials, slots_of_each_shim)
{
    kp_disc few = shim(1, 40, 0.2);
    few.slot_count = 2;
    few.slot_width = 3e-3;
    few.slot_inner = 12e-3;
    kp_disc many = few;
    many.slot_count = 6;
    const kp_disc ways[4][2] = {{few, few}, {few, many}, {many, few}, {many, many}};
    for (double pressure = 100; pressure < 2e6; pressure *= 20) {
        double lift[4];
        for (int i = 0; i < 4; i++) {
            kp_stack stack = stack_of(ways[i], 2);
            const kp_stack_options options = {.line_load = 0.7e-3}; /* which slots do not take away */
            kp_stack_workspace *w = begin(&stack, &options);
            solve_at(w, pressure, KP_SEAT_ABSENT);
            lift[i] = kp_stack_lift_at(w, 0, few.outer_radius);
            kp_stack_free(w);
        }
        double quarter = (lift[3] - lift[0]) / 4;
        cr_expect(quarter > 0.003 * lift[0], "%g Pa: slots hardly count", pressure);
        for (int i = 1; i < 3; i++)
            cr_expect(lift[i] > lift[0] + quarter && lift[i] < lift[3] - quarter, "%g Pa, way %d: %g m in %g to %g",
                      pressure, i, lift[i], lift[0], lift[3]);
    }
}
