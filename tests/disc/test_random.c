/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random stacks, 2 000 of them (100 000 with KP_FULL set), at 12 to 24 loads up to 15 MPa, the seat under them and
   away: none of the 2 000 fails, and what contact demands holds at every load. Prints how many Newton steps a load
   takes. */
#include "kneepoint/disc.h"
#include "random_stack.h"
#include "sizes.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>

static const double PI = 3.14159265358979323846;
static const unsigned long long SEED = 2025112501;
static const double PRESSURE_MOST = 15e6; /* [Pa] */
/* A gap or a contact force this far below zero is rounding: of the stack's height, of its pressure load. */
static const double ROUNDING = 1e-9; /* [-] */
/* Loose rings: the programme lets a contact that comes and goes stay a little shut (VISITS in programme.c). Measured
   1e-8 of the height in 2 000 stacks, on two rings that carry 1.4 kN; two of a kind beside the clamp that store 34 J
   reach 5e-7, 3 nm, once in 20 000. [-] */
static const double RING_ROUNDING = 1e-7, PAIR_ROUNDING = 1e-6;

/* Two rings of 0.15 mm close to the clamp under a bevelled washer twist the pack by 0.3 rad and store 35 J: about one
   random stack in 20 000 is such a one, and is refused in words. Only the full-size run meets any. */
enum { STACKS_A_FAILURE = 5000 };
enum { STEPS_SHOWN = 12, RINGS_SOLVED = 2, LOADS_MOST = 24 };

typedef struct tally {
    int stacks, unsolved, rings_refused, rings, sliding, stops, solves, held;
    long contacts, active;
    int steps[STEPS_SHOWN + 1]; /* solves that took so many Newton steps; the last: that many or more */
    int most_steps, most_load_steps, most_steps_stack, slowest_stack;
    double slowest; /* [s] one load */
} tally;

static int rings_of(const kp_stack *stack)
{
    int rings = 0;
    for (size_t i = 0; i < stack->disc_count; i++)
        rings += stack->discs[i].hole_radius > stack->clamp_radius;
    return rings;
}

static double height_of(const kp_stack *stack)
{
    double height = 0;
    for (size_t i = 0; i < stack->disc_count; i++)
        height += stack->discs[i].count * stack->discs[i].thickness;
    return height;
}

/* Gaps open, forces pushing, and no force across an open gap. */
static void check_contacts(const kp_stack_workspace *w, double pressure, const char *who, tally *t)
{
    const kp_stack *stack = kp_stack_of(w);
    int rings = rings_of(stack);
    double height = height_of(stack);
    double shut = (rings == RINGS_SOLVED && getenv("KP_FULL") ? PAIR_ROUNDING
                   : rings > 0                                ? RING_ROUNDING
                                                              : ROUNDING) *
                  height;
    double load = fmax(pressure, 1) * PI * stack->land_outer_radius * stack->land_outer_radius;
    for (size_t i = 0; i < kp_stack_contact_count(w); i++) {
        kp_contact c = kp_stack_contact(w, i);
        if (!c.enabled) {
            cr_assert(c.force == 0, "%s: a seat that is away pushes with %g N", who, c.force);
            continue;
        }
        cr_assert(c.gap >= -shut, "%s: gap %g m between %d and %d at %g m", who, c.gap, c.lower, c.upper, c.radius);
        cr_assert(c.force >= -ROUNDING * load, "%s: contact force %g N", who, c.force);
        cr_assert(c.force == 0 || c.gap <= shut, "%s: %g N over a gap of %g m", who, c.force, c.gap);
        t->contacts++;
        t->active += c.force > 0;
    }
}

/* false: two loose rings that nobody could clamp, which the solver says it cannot solve. */
static bool solve(kp_stack_workspace *w, double pressure, kp_seat seat, int index, tally *t)
{
    char who[128];
    snprintf(who, sizeof who, "seed %llu, stack %d at %g MPa, seat %s", SEED, index, pressure / 1e6,
             seat == KP_SEAT_HOLDS ? "there" : "away");
    kp_error error = {0};
    double begun = seconds();
    kp_status status = kp_stack_solve(w, pressure, seat, &error);
    if (status == KP_NO_SOLUTION && rings_of(kp_stack_of(w)) == RINGS_SOLVED &&
        t->unsolved < index / STACKS_A_FAILURE) {
        printf("%s: %s\n", who, error.message);
        t->unsolved++;
        return false;
    }
    cr_assert_eq(status, KP_OK, "%s: %s", who, error.message);
    double took = seconds() - begun;
    kp_stack_record record = kp_stack_last_record(w);
    t->solves++;
    t->held += seat == KP_SEAT_HOLDS;
    t->steps[record.newton_steps < STEPS_SHOWN ? record.newton_steps : STEPS_SHOWN]++;
    if (record.newton_steps > t->most_steps) {
        t->most_steps = record.newton_steps;
        t->most_load_steps = record.load_steps;
        t->most_steps_stack = index;
    }
    if (took > t->slowest) {
        t->slowest = took;
        t->slowest_stack = index;
    }
    check_contacts(w, pressure, who, t);
    cr_assert(isfinite(kp_stack_energy(w)) && kp_stack_energy(w) >= 0 && isfinite(kp_stack_seat_lift(w)), "%s", who);
    return true;
}

/* Even stacks: the seat there at rest and for the first loads, then away. Odd ones: away all the way up, then put under
   the stack where it is, at loads falling to nothing. */
static void check_stack(kp_random *random, int index, tally *t)
{
    random_stack made;
    random_stack_make(random, &made);
    int loads = kp_random_int(random, 12, LOADS_MOST);
    double lowest = 1e4 * kp_random_uniform(random, 1, 10);
    int rings = rings_of(&made.stack);
    kp_stack_workspace *w = NULL;
    kp_error error = {0};
    kp_status status = kp_stack_begin(&made.stack, NULL, &w, &error);
    if (rings > RINGS_SOLVED) {
        cr_assert_eq(status, KP_NOT_MODELLED, "stack %d of %d rings", index, rings);
        t->rings_refused++;
        return;
    }
    cr_assert_eq(status, KP_OK, "seed %llu, stack %d: %s", SEED, index, error.message);
    bool even = index % 2 == 0;
    bool solved = solve(w, 0, even ? KP_SEAT_HOLDS : KP_SEAT_ABSENT, index, t);
    for (int i = 0; i < loads && solved; i++) {
        double pressure = lowest * pow(PRESSURE_MOST / lowest, (double)i / (loads - 1));
        solved = solve(w, pressure, even && i < loads / 3 ? KP_SEAT_HOLDS : KP_SEAT_ABSENT, index, t);
    }
    for (int i = 0; i < 3 && !even && solved; i++)
        solved = solve(w, PRESSURE_MOST * (2 - i) / 4, KP_SEAT_HOLDS, index, t);
    t->stacks++;
    t->rings += rings > 0;
    t->sliding += made.stack.grip == KP_GRIP_SLIDING;
    t->stops += made.stack.stop_count > 0;
    kp_stack_free(w);
}

Test(random, stacks_are_solved_and_keep_what_contact_demands, .timeout = 36000)
{
    kp_random random;
    kp_random_seed(&random, SEED);
    tally t = {0};
    int count = sized(2000, 100000);
    double begun = seconds();
    for (int i = 0; i < count; i++)
        check_stack(&random, i, &t);
    printf(
        "random stacks: seed %llu, %d stacks (%d with rings, %d sliding, %d with something above; %d refused for their "
        "rings), %d loads (%d seated), %ld possible contacts (%ld active), %.1f s\n",
        SEED, t.stacks, t.rings, t.sliding, t.stops, t.rings_refused, t.solves, t.held, t.contacts, t.active,
        seconds() - begun);
    printf("%d pairs of rings not solved\n", t.unsolved);
    printf("Newton steps a load:");
    for (int i = 1; i <= STEPS_SHOWN; i++)
        printf(" %d%s: %.2f %%", i, i == STEPS_SHOWN ? "+" : "", 100.0 * t.steps[i] / t.solves);
    printf("; most %d over %d load steps (stack %d); slowest load %.1f ms (stack %d)\n", t.most_steps,
           t.most_load_steps, t.most_steps_stack, 1e3 * t.slowest, t.slowest_stack);
    /* The properties must have met what they are about. */
    cr_assert(t.rings > count / 20 && t.sliding > count / 10 && t.stops > count / 10 && t.rings_refused < count / 20);
    cr_assert(t.active > t.contacts / 50 && t.held > t.solves / 8 && t.steps[0] == 0);
}
