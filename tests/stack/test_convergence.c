/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The order at which a disc's lift and energy converge with the mesh, and how contact converges. The fast mesh
   (the default) against a fine one on random stacks: test_fast_mesh.c. */
#include "stack/stack_internal.h"
#include "random_stack.h"
#include "simple.h"
#include "sizes.h"
#include "num/num.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const unsigned long long SEED = 2025112504;

typedef struct answer {
    double lift, energy; /* [m], [J] */
    double elements;     /* [-] that the disc really has */
} answer;

static answer solve_with(const kp_stack *stack, double pressure, int elements)
{
    kp_stack_options options = {.elements = elements};
    kp_stack_workspace *w = begin(stack, &options);
    solve_at(w, pressure, KP_SEAT_ABSENT);
    answer a = {kp_stack_lift_at(w, 0, stack->discs[0].outer_radius), kp_stack_energy(w),
                (double)(w->plates[0].nodes - 1)};
    kp_stack_free(w);
    return a;
}

/* One disc under pressure on all of it, so that no edge of the load cuts an element. Cubic elements of a fourth-order
   problem: lift and energy gain the fourth power of the element. Each mesh is held against one of 200 elements. */
Test(convergence, order_of_one_disc)
{
    const double least = 3.7, most = 4.4; /* [-] for meshes asked for with 6, 12 and 24 elements */
    const kp_disc disc = shim(1, 40, 0.2);
    kp_stack stack = stack_of(&disc, 1);
    stack.port_inner_radius = stack.clamp_radius;
    stack.land_inner_radius = stack.land_outer_radius = disc.outer_radius;
    static const double pressures[] = {200, 0.1e6, 0.5e6}; /* [Pa] lifts of 0.02, 3 and 6 thicknesses */
    for (size_t i = 0; i < sizeof pressures / sizeof *pressures; i++) {
        answer exact = solve_with(&stack, pressures[i], 200), before = {0};
        printf("one disc, %g MPa, %.3f mm:", pressures[i] / 1e6, 1e3 * exact.lift);
        for (int elements = 6; elements <= 24; elements *= 2) {
            answer got = solve_with(&stack, pressures[i], elements);
            answer off = {fabs(got.lift / exact.lift - 1), fabs(got.energy / exact.energy - 1), got.elements};
            printf(" %g elements: %.1e", off.elements, off.lift);
            if (elements > 6) {
                double of = log(off.elements / before.elements);
                double lift = log(before.lift / off.lift) / of, energy = log(before.energy / off.energy) / of;
                printf(" (order %.2f; energy %.2f)", lift, energy);
                cr_expect(energy >= least && energy <= most, "%g Pa, %g elements: order %g in energy", pressures[i],
                          off.elements, energy);
                cr_expect(lift >= least && lift <= most, "%g Pa, %g elements: order %g in lift", pressures[i],
                          off.elements, lift);
            }
            before = off;
        }
        printf("\n");
        cr_expect(before.lift < 4e-7, "%g Pa: 24 elements are %g off", pressures[i], before.lift);
    }
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static bool has_rings(const random_stack *made)
{
    for (size_t i = 0; i < made->stack.disc_count; i++)
        if (made->discs[i].hole_radius > made->stack.clamp_radius)
            return true;
    return false;
}

/* With contact a single stack does not converge evenly: where a lone ring of contact may go depends on where the points
   are. Over many stacks the difference from a fine mesh must fall: with each doubling in the middle, with two in
   the tail, where the overlap that contact.c allows between nodes is what is left. */
Test(convergence, contact_converges)
{
    enum { STACKS_MOST = 400, MESHES = 4, REFERENCE = 96 };
    static const double pressure = 1e6;
    static double off[MESHES][STACKS_MOST];
    kp_random random;
    kp_random_seed(&random, SEED + 1);
    int count = SANITIZED ? 40 : sized(40, STACKS_MOST); /* fewer have no 90th percentile */
    for (int i = 0; i < count;) {
        random_stack made;
        random_stack_make(&random, &made);
        if (has_rings(&made) || made.stack.disc_count < 3)
            continue;
        double exact = solve_with(&made.stack, pressure, REFERENCE).lift;
        for (int m = 0; m < MESHES; m++)
            off[m][i] = fabs(solve_with(&made.stack, pressure, 6 << m).lift / exact - 1);
        i++;
    }
    double middle[MESHES], tail[MESHES];
    printf("contact, %d stacks:", count);
    for (int m = 0; m < MESHES; m++) {
        qsort(off[m], (size_t)count, sizeof(double), ascending);
        middle[m] = off[m][count / 2];
        tail[m] = off[m][count * 9 / 10];
        printf(" %d elements: median %.1e, 90th percentile %.1e;", 6 << m, middle[m], tail[m]);
    }
    printf("\n");
    for (int m = 1; m < MESHES; m++)
        cr_expect(middle[m] < 0.8 * middle[m - 1], "median %g with %d elements, %g with half", middle[m], 6 << m,
                  middle[m - 1]);
    for (int m = 2; m < MESHES; m++)
        cr_expect(tail[m] < 0.5 * tail[m - 2], "90th percentile %g with %d elements, %g with a quarter", tail[m],
                  6 << m, tail[m - 2]);
}

/* Integral of the load by the face shim's own functions against closed forms: a wrong Gauss weight or place shows. The
   lifts of an unbent disc are 1, so the load's own sum is the force; and the stored energy of a cone is known. */
Test(convergence, quadrature_is_exact)
{
    /* Lift of a thick small disc by Roark's closed form, with the load cut in the middle of elements and falling as a
       logarithm over the land: six points an element and piece. */
    const double bar = 1e-6; /* [-] of lift, 400 elements */
    kp_disc disc = shim(1, 40, 1);
    kp_stack stack = stack_of(&disc, 1);
    stack.land_outer_radius = stack.land_inner_radius;
    double want, got = edge_lift_of(&stack, 1, 300);
    kp_error error = {0};
    cr_assert(kp_plate_pressure_lift(20e-3, 8e-3, 1e-3, disc.material, 10e-3, 16.5e-3, 1, 20e-3, &want, &error) ==
              KP_OK);
    cr_expect(fabs(got / want - 1) <= bar, "cut load: %.12g for %.12g", got, want);
    /* The land's logarithm as many rings of pressure. */
    stack.land_outer_radius = 18.5e-3;
    got = edge_lift_of(&stack, 1, 300);
    const int rings = 4000;
    want = 0;
    for (int i = 0; i < rings; i++) { /* Abel: each ring of pressure from the port out to r weighs what falls at r */
        double a = 16.5e-3 * pow(18.5 / 16.5, (i + 0.5) / rings), lift;
        cr_assert(kp_plate_pressure_lift(20e-3, 8e-3, 1e-3, disc.material, 10e-3, a, 1, 20e-3, &lift, &error) == KP_OK);
        want += lift / rings;
    }
    cr_expect(fabs(got / want - 1) <= bar, "falling load: %.12g for %.12g", got, want);
}
