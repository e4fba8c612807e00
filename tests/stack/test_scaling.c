/* SPDX-License-Identifier: GPL-3.0-or-later */
/* All lengths times k at equal pressure: lifts times k, stresses as they were. The damper's own law, with the oil's
   viscosity times k, is in tests/property/test_scaling.c. */
#include "random_stack.h"
#include "simple.h"
#include "sizes.h"
#include "num/num.h"

#include <float.h>
#include <math.h>
#include <stdio.h>

/* What is left when k is no power of two: sizes and all that follows from them round differently. The stiffness matrix
   multiplies that by about its condition number, (span/element)^4 of a plate's bending: 13 elements to the span, the
   finest 0.35 of the mean one. [-] of the largest lift, stress. */
static const double ROUNDING = DBL_EPSILON / 2 * (13 / 0.35) * (13 / 0.35) * (13 / 0.35) * (13 / 0.35);

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
static size_t walk(const kp_stack *stack, const kp_stack_options *options, double lengths[], double stresses[])
{
    kp_stack_workspace *w = NULL;
    kp_error error = {0};
    cr_assert(kp_stack_begin(stack, options, &w, &error) == KP_OK, "%s", error.message);
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

typedef struct paths {
    double length[2][8 * RANDOM_LINES], stress[2][8 * RANDOM_LINES];
} paths;

/* Worst difference between the two paths, of the largest lift and stress. */
static double apart(const paths *p, size_t n, double k)
{
    double most = 0, longest = 0, strongest = 0;
    for (size_t i = 0; i < n; i++) {
        longest = fmax(longest, fabs(p->length[0][i]));
        strongest = fmax(strongest, p->stress[0][i]);
    }
    for (size_t i = 0; i < n; i++) {
        most = fmax(most, fabs(p->length[1][i] / k - p->length[0][i]) / longest);
        most = fmax(most, fabs(p->stress[1][i] - p->stress[0][i]) / strongest);
    }
    return most;
}

/* k = 2: the same bits. k = 1.37: ROUNDING; with Newton ended as shipped too, as both end at the same step. */
static void check(const kp_stack_options *options, const char *name)
{
    kp_random random;
    kp_random_seed(&random, 2025112503);
    static paths p;
    double worst = 0;
    int count = sized(60, 3000), done = 0, within = 0;
    for (int i = 0; i < count; i++) {
        random_stack made;
        random_stack_make(&random, &made);
        if (has_rings(&made))
            continue;
        size_t n = walk(&made.stack, options, p.length[0], p.stress[0]);
        scale(&made, 2);
        cr_assert(walk(&made.stack, options, p.length[1], p.stress[1]) == n);
        for (size_t k = 0; k < n; k++) {
            cr_assert(p.length[1][k] == 2 * p.length[0][k], "%s, stack %d: lift %.17g for twice %.17g", name, i,
                      p.length[1][k], p.length[0][k]);
            cr_assert(p.stress[1][k] == p.stress[0][k], "%s, stack %d: stress %.17g for %.17g", name, i, p.stress[1][k],
                      p.stress[0][k]);
        }
        scale(&made, 1.37 / 2);
        walk(&made.stack, options, p.length[1], p.stress[1]);
        double off = apart(&p, n, 1.37);
        cr_assert(off <= ROUNDING, "%s, stack %d: 1.37 times all lengths is %.1e apart", name, i, off);
        worst = fmax(worst, off);
        within += off <= 1e-12;
        done++;
    }
    printf("lengths x 1.37, %s: %d stacks, %d within 1e-12, worst %.1e of %.1e\n", name, done, within, worst, ROUNDING);
    cr_assert(done > count / 2);
}

Test(scaling, all_lengths_times_k, .timeout = 3600)
{
    check(NULL, "as shipped");
    check(&kp_stack_exactly, "exactly");
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
