/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The fast mesh (the default) against a fine one on random stacks, loose rings and all, and the fine one against a
   finer: what is left of an error that a single stack's order of convergence cannot show. On two threads; what is
   drawn and found depends on the stack's number alone. */
#include "kneepoint/disc.h"
#include "kneepoint/num.h"
#include "random_stack.h"
#include "sizes.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>

static const unsigned long long SEED = 2025112504;
enum { THREADS = 2, FAST = 0, FINE = 40, FINER = 96 };
/* The fine solutions meet their contacts to rounding; the fast one is solved as shipped. [-] */
static const double TIGHT = 1e-11;
/* A lift is judged against itself, its way from rest, or this part of the face shim's thickness, whichever is most:
   below 2 um nothing opens for oil, and a loose ring lets a lift pass through nothing on its way. [-] */
static const double LIFT_SEEN = 0.01;
/* The fine mesh's own part in the differences, at the 99.9th percentile: a third of the bar, so that 20 000 stacks do
   not cost an hour. [-] */
static const double FINE_ENOUGH = 1e-3;

static const double loads[] = {0, 0.1e6, 0.5e6, 2e6, 8e6}; /* [Pa] nothing: where a ring holds the stack at rest */
enum { LOADS = sizeof loads / sizeof *loads, LIFTS = LOADS - 1 };

typedef struct outcome {
    bool refused; /* more loose rings than the solver models: it says so */
    int rings;
    int unsolved; /* [-] elements asked of the mesh that found no equilibrium (FAST: 0); -1: both found one */
    kp_error error;
    double off[LIFTS]; /* [-] */
} outcome;

typedef struct comparison {
    int coarse, fine; /* [-] elements */
    double coarse_tolerance;
    outcome *outcomes; /* [stacks] */
} comparison;

static int rings_of(const kp_stack *stack)
{
    int rings = 0;
    for (size_t i = 0; i < stack->disc_count; i++)
        rings += stack->discs[i].hole_radius > stack->clamp_radius;
    return rings;
}

static kp_status lifts_of(const kp_stack *stack, int elements, double tolerance, double lifts[LOADS], kp_error *error)
{
    kp_stack_options options = {.elements = elements, .tolerance = tolerance};
    kp_stack_workspace *w = NULL;
    kp_status status = kp_stack_begin(stack, &options, &w, error);
    for (int i = 0; status == KP_OK && i < LOADS; i++) {
        bool lies_flat = loads[i] == 0 && rings_of(stack) == 0;
        if (!lies_flat)
            status = kp_stack_solve(w, loads[i], KP_SEAT_ABSENT, error);
        lifts[i] = lies_flat ? 0 : status == KP_OK ? kp_stack_seat_lift(w) : NAN;
    }
    kp_stack_free(w);
    return status;
}

static kp_status compare(size_t index, void *workspace, void *context, kp_error *error)
{
    (void)workspace;
    (void)error; /* all stacks are wanted: what is not solved is said at the end */
    const comparison *c = context;
    outcome *o = &c->outcomes[index];
    kp_random random;
    random_stack made;
    kp_random_seed(&random, kp_random_mix(SEED, 0, index, 0));
    random_stack_make(&random, &made);
    o->rings = rings_of(&made.stack);
    double got[LOADS], want[LOADS];
    int elements = c->coarse;
    kp_status status = lifts_of(&made.stack, elements, c->coarse_tolerance, got, &o->error);
    if (status == KP_NOT_MODELLED) {
        o->refused = true;
        return KP_OK;
    }
    if (status == KP_OK) {
        elements = c->fine;
        status = lifts_of(&made.stack, elements, TIGHT, want, &o->error);
    }
    o->unsolved = status == KP_OK ? -1 : elements;
    for (int i = 1; status == KP_OK && i < LOADS; i++) {
        double of = fmax(fmax(fabs(want[i]), fabs(want[i] - want[0])), LIFT_SEEN * made.discs[0].thickness);
        o->off[i - 1] = fabs(got[i] - want[i]) / of;
    }
    return KP_OK;
}

/* How a kind of stacks differs, sorted and printed. */
typedef struct spread {
    int stacks;
    double high, most; /* [-] 99.9th percentile and largest difference */
} spread;

static spread spread_of(const comparison *c, int count, bool rings)
{
    spread s = {0};
    size_t points = 0;
    int worst = -1;
    double *off = calloc((size_t)count * LIFTS, sizeof *off);
    cr_assert(off != NULL);
    for (int i = 0; i < count; i++) {
        const outcome *o = &c->outcomes[i];
        if (o->refused || o->unsolved >= 0 || (o->rings > 0) != rings)
            continue;
        s.stacks++;
        for (int k = 0; k < LIFTS; k++) {
            off[points++] = o->off[k];
            if (!(o->off[k] <= s.most)) { /* so that a NaN stays */
                s.most = o->off[k];
                worst = i;
            }
        }
    }
    cr_assert(s.stacks > 0);
    kp_sample_sort(points, off);
    s.high = kp_sample_quantile(points, off, 0.999).value;
    printf("  %d stacks %s, %zu lifts: median %.4f %%, 99th %.4f %%, 99.9th percentile %.4f %%, most %.4f %% (stack "
           "%d)\n",
           s.stacks, rings ? "with loose rings" : "without", points, 100 * kp_sample_quantile(points, off, 0.5).value,
           100 * kp_sample_quantile(points, off, 0.99).value, 100 * s.high, 100 * s.most, worst);
    free(off);
    return s;
}

/* Solves stacks 0 to count-1 with both meshes; without[0] the stacks without loose rings, [1] those with. */
static void run(int coarse, double coarse_tolerance, int fine, int count, spread kinds[2])
{
    comparison c = {coarse, fine, coarse_tolerance, calloc((size_t)count, sizeof(outcome))};
    cr_assert(c.outcomes != NULL);
    double begun = seconds();
    kp_error error = {0};
    kp_pool pool = {.threads = THREADS};
    kp_status status = kp_pool_run(&pool, (size_t)count, compare, &c, NULL, &error);
    cr_assert(status == KP_OK, "%s", error.message);
    int refused = 0, unsolved = 0;
    for (int i = 0; i < count; i++) {
        const outcome *o = &c.outcomes[i];
        refused += o->refused;
        unsolved += !o->refused && o->unsolved >= 0;
        cr_expect(o->refused || o->unsolved < 0, "seed %llu, stack %d, %d rings, %d elements (0: default): %s", SEED, i,
                  o->rings, o->unsolved, o->error.message);
    }
    printf("%s against %d elements: seed %llu, %d stacks, %d refused for three or more loose rings, %.1f s\n",
           coarse == FAST ? "fast mesh" : "fine mesh", fine, SEED, count, refused, seconds() - begun);
    for (int rings = 0; rings < 2; rings++)
        kinds[rings] = spread_of(&c, count, rings);
    cr_expect(refused < count / 10 && kinds[1].stacks > count / 10);
    cr_expect_eq(refused + unsolved + kinds[0].stacks + kinds[1].stacks, count);
    free(c.outcomes);
}

Test(fast_mesh, against_fine, .timeout = 36000)
{
    const double bar = 3e-3, worst = 6e-3; /* [-] at the 99.9th percentile (DESIGN, bars); measured as printed */
    spread kinds[2];
    run(FAST, 0, FINE, sized(2000, 20000), kinds);
    cr_expect(kinds[0].high <= bar, "99.9th percentile %g", kinds[0].high);
    cr_expect(kinds[0].most <= worst, "most %g", kinds[0].most);
}

Test(fast_mesh, fine_is_fine_enough, .timeout = 36000)
{
    spread kinds[2];
    run(FINE, TIGHT, FINER, sized(200, 2000), kinds);
    for (int rings = 0; rings < 2; rings++)
        cr_expect(kinds[rings].high <= FINE_ENOUGH, "99.9th percentile %g", kinds[rings].high);
}
