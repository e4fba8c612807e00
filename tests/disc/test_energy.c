/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Work, energy and force belong together; and all lengths times k change nothing but by k. */
#include "disc/stack_internal.h"
#include "random_stack.h"
#include "simple.h"
#include "sizes.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

/* Gauss-Legendre, five points on 0..1. Abramowitz and Stegun, table 25.4 (from memory; a wrong digit fails below). */
static const double place[5] = {0.5 - 0.5 * 0.90617984593866399280, 0.5 - 0.5 * 0.53846931010568309104, 0.5,
                                0.5 + 0.5 * 0.53846931010568309104, 0.5 + 0.5 * 0.90617984593866399280};
static const double weight[5] = {0.5 * 0.23692688505618908751, 0.5 * 0.47862867049936646804,
                                 0.5 * 0.56888888888888888889, 0.5 * 0.47862867049936646804,
                                 0.5 * 0.23692688505618908751};

/* Volume that the face shim has swept under the pressure [m3]: work of unit pressure. */
static double volume_of(const kp_stack_workspace *w)
{
    double sum = 0;
    const kp_plate *face = &w->plates[0];
    for (size_t k = 0; k < face->unknowns; k++)
        sum += face->load[k] * face->state[k];
    return sum * 2 * PI * w->length * w->length * w->height * w->stack.load_coverage;
}

/* Integral of volume over pressure from p0 to p1 by panels of Gauss. */
static double integral(kp_stack_workspace *w, double from, double to, int panels)
{
    double sum = 0;
    for (int i = 0; i < panels; i++) {
        for (int g = 0; g < 5; g++) {
            solve_at(w, from + (to - from) * (i + place[g]) / panels, KP_SEAT_ABSENT);
            sum += weight[g] * (to - from) / panels * volume_of(w);
        }
    }
    return sum;
}

/* Work of a pressure that rises from nothing, against the energy stored: relative difference. The path is cut where the
   pressure doubles, as lifts go as powers of it. */
static double work_error(const kp_stack *stack, double pressure, int doublings, int panels, double *energy)
{
    kp_stack_options options = {.elements = 12};
    kp_stack_workspace *w = begin(stack, &options);
    double first = ldexp(pressure, -doublings);
    double sum = integral(w, 0, first, 2);
    for (int i = 0; i < doublings; i++)
        sum += integral(w, ldexp(first, i), ldexp(first, i + 1), panels);
    solve_at(w, pressure, KP_SEAT_ABSENT);
    double work = pressure * volume_of(w) - sum;
    *energy = kp_stack_energy(w);
    kp_stack_free(w);
    return fabs(work / *energy - 1);
}

/* Work = energy to 1e-9. Above a crossover a lone ring of contact wanders from point to point with the load, and the
   overlap that contact.c allows between nodes grows with the lift, so that the forces there do work that no plate
   stores: 1e-9 is then just missed. */
Test(energy, work_of_the_pressure)
{
    const double bar = 1e-9, crossing = 1e-7; /* [-] measured: 5e-10 at most, and 3e-8 */
    const kp_disc one[] = {shim(1, 40, 0.2)};
    const kp_disc five[] = {shim(2, 40, 0.2), shim(3, 40, 0.2)};
    const kp_disc unlike[] = {shim(1, 38, 0.15), shim(2, 38, 0.3)};
    const kp_disc taper[] = {shim(2, 40, 0.2), shim(1, 36, 0.2), shim(1, 30, 0.2), shim(1, 24, 0.25)};
    const kp_disc crossover[] = {shim(1, 40, 0.2), shim(1, 22, 0.1), shim(1, 38, 0.2), shim(1, 32, 0.2)};
    const struct {
        const char *name;
        const kp_disc *discs;
        size_t count;
        kp_grip grip;
        double pressure, bar;
        int doublings, panels;
    } cases[] = {
        {"one", one, 1, KP_GRIP_HELD, 0.01e6, bar, 10, 1},
        {"one", one, 1, KP_GRIP_HELD, 2e6, bar, 16, 2},
        {"one, sliding", one, 1, KP_GRIP_SLIDING, 1e6, bar, 16, 2},
        {"five alike", five, 2, KP_GRIP_HELD, 3e6, bar, 16, 2},
        {"two unlike", unlike, 2, KP_GRIP_HELD, 2e6, bar, 16, 60},
        {"taper", taper, 4, KP_GRIP_HELD, 2e6, bar, 14, 100},
        {"crossover", crossover, 4, KP_GRIP_HELD, 1.5e6, crossing, 14, 60},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        kp_disc discs[4];
        memcpy(discs, cases[i].discs, cases[i].count * sizeof *discs);
        for (size_t k = 0; k < cases[i].count; k++)
            discs[k].hole_radius = cases[i].grip == KP_GRIP_SLIDING ? 4e-3 : 0;
        kp_stack stack = stack_of(discs, cases[i].count);
        stack.grip = cases[i].grip;
        double energy = 0;
        double error = work_error(&stack, cases[i].pressure, cases[i].doublings, cases[i].panels, &energy);
        printf("work against energy, %s at %g MPa: %.1e of %.4g J\n", cases[i].name, cases[i].pressure / 1e6, error,
               energy);
        cr_expect(error <= cases[i].bar, "%s at %g MPa: work and energy differ by %.2e", cases[i].name,
                  cases[i].pressure / 1e6, error);
    }
}

/* dE over the way of a ring load's point is that load, from outside: no matrix of the solver is looked at. */
Test(energy, force_from_energy)
{
    const double step = 1e-3, bar = 5e-7; /* [-] a central difference is good for about its square, 1e-6 */
    const kp_disc one[] = {shim(1, 40, 0.2)};
    const kp_disc taper[] = {shim(1, 40, 0.2), shim(1, 36, 0.2), shim(1, 30, 0.2)};
    for (int i = 0; i < 2; i++) {
        kp_stack stack = stack_of(i ? taper : one, i ? 3 : 1);
        double rim = 20e-3;
        kp_stack_options options = {.line_load = 1 / (2 * PI * rim)}; /* the "pressure" is newtons */
        kp_stack_workspace *w = begin(&stack, &options);
        for (double force = 1; force < 1500; force *= 5) {
            double energy[2], lift[2];
            for (int k = 0; k < 2; k++) {
                solve_at(w, force * (k ? 1 + step : 1 - step), KP_SEAT_ABSENT);
                energy[k] = kp_stack_energy(w);
                lift[k] = kp_stack_lift_at(w, 0, rim);
            }
            double got = (energy[1] - energy[0]) / (lift[1] - lift[0]);
            cr_expect(fabs(got / force - 1) <= bar, "%d discs: %.9g N from energy, %g N applied (%.1e)", i ? 3 : 1, got,
                      force, got / force - 1);
        }
        kp_stack_free(w);
    }
}

static void scale(random_stack *made, double k)
{
    for (size_t i = 0; i < made->stack.disc_count; i++) {
        made->discs[i].outer_radius *= k;
        made->discs[i].thickness *= k;
        made->discs[i].hole_radius *= k;
    }
    kp_stack *s = &made->stack;
    s->clamp_radius *= k;
    s->port_inner_radius *= k;
    s->land_inner_radius *= k;
    s->land_outer_radius *= k;
    s->dish *= k;
    s->nut_load *= k * k;
    for (size_t i = 0; i < s->stop_count; i++) {
        s->stop_radius[i] *= k;
        s->stop_gap[i] *= k;
    }
}

/* What a path of loads gives: lifts of the seat, of all edges, and peak stresses. */
static size_t walk(const kp_stack *stack, double lengths[], double stresses[])
{
    kp_stack_workspace *w = begin(stack, NULL);
    size_t count = 0;
    static const double loads[] = {0, 0.05e6, 0.3e6, 1.2e6, 6e6};
    for (size_t i = 0; i < sizeof loads / sizeof *loads; i++) {
        solve_at(w, loads[i], i < 2 ? KP_SEAT_HOLDS : KP_SEAT_ABSENT);
        for (size_t k = 0; k < stack->disc_count; k++, count++) {
            lengths[count] = k ? kp_stack_lift_at(w, k, stack->discs[k].outer_radius) : kp_stack_seat_lift(w);
            kp_stack_peak_stress(w, k, &stresses[count], NULL, NULL);
        }
    }
    kp_stack_free(w);
    return count;
}

static bool has_rings(const random_stack *made)
{
    for (size_t i = 0; i < made->stack.disc_count; i++)
        if (made->discs[i].hole_radius > made->stack.clamp_radius)
            return true;
    return false;
}

/* All lengths times k at equal pressure: lifts times k, stresses as they were. k = 2: the same bits. Cross-reference:
   the damper's own law, speed at equal pressure with viscosity times k, is in tests/damper. */
Test(energy, all_lengths_times_k)
{
    /* What 1.37 rounds in the sizes themselves comes back multiplied where a stack is near to a change of contact;
       Newton ends within about 1e-10 of it. */
    const double bar = 1e-8; /* [-] of the largest lift, stress */
    kp_random random;
    kp_random_seed(&random, 2025112503);
    static double length[2][8 * RANDOM_LINES], stress[2][8 * RANDOM_LINES];
    double worst = 0;
    int count = sized(60, 3000), done = 0, within = 0;
    for (int i = 0; i < count; i++) {
        random_stack made;
        random_stack_make(&random, &made);
        if (has_rings(&made))
            continue;
        size_t n = walk(&made.stack, length[0], stress[0]);
        scale(&made, 2);
        cr_assert(walk(&made.stack, length[1], stress[1]) == n);
        double longest = 0, strongest = 0;
        for (size_t k = 0; k < n; k++) {
            cr_assert(length[1][k] == 2 * length[0][k], "stack %d: lift %.17g for twice %.17g", i, length[1][k],
                      length[0][k]);
            cr_assert(stress[1][k] == stress[0][k], "stack %d: stress %.17g for %.17g", i, stress[1][k], stress[0][k]);
            longest = fmax(longest, fabs(length[0][k]));
            strongest = fmax(strongest, stress[0][k]);
        }
        scale(&made, 1.37 / 2);
        walk(&made.stack, length[1], stress[1]);
        double apart = 0;
        for (size_t k = 0; k < n; k++) {
            apart = fmax(apart, fabs(length[1][k] / 1.37 - length[0][k]) / longest);
            apart = fmax(apart, fabs(stress[1][k] - stress[0][k]) / strongest);
        }
        cr_assert(apart <= bar, "stack %d: 1.37 times all lengths is %.1e apart", i, apart);
        worst = fmax(worst, apart);
        within += apart <= 1e-12;
        done++;
    }
    printf("lengths x 1.37: %d stacks, %d within 1e-12, worst %.1e\n", done, within, worst);
    cr_assert(done > count / 2);
}

/* One disc alone, where nothing multiplies rounding. */
Test(energy, one_disc_times_k)
{
    const double bar =
        1e-11; /* [-] rounding of 1e-16 times the stiffness matrix's spread of some 1e4; measured 2e-12 */
    const kp_disc small = shim(1, 40, 0.2);
    kp_disc large = small;
    large.outer_radius *= 1.37;
    large.thickness *= 1.37;
    kp_stack a = stack_of(&small, 1), b = stack_of(&large, 1);
    b.clamp_radius *= 1.37;
    b.port_inner_radius *= 1.37;
    b.land_inner_radius *= 1.37;
    b.land_outer_radius *= 1.37;
    for (double pressure = 1e3; pressure < 2e6; pressure *= 3) {
        double ratio = edge_lift_of(&b, pressure, 0) / edge_lift_of(&a, pressure, 0);
        cr_expect(fabs(ratio / 1.37 - 1) <= bar, "%g Pa: %.15g", pressure, ratio);
    }
}
