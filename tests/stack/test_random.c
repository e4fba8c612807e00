/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random stacks, 2 000 of them (100 000 with KP_FULL set), at 12 to 24 loads up to 15 MPa, the seat under them and
   away: none fails, each state is an equilibrium, and what contact demands holds at every load. A stack whose rings
   cannot be clamped is refused in words, and must be one by geometry too. Prints how many Newton steps a load takes. */
#include "kneepoint/stack.h"
#include "random_stack.h"
#include "ring_room.h"
#include "sizes.h"
#include "num/num.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>

static const double PI = 3.14159265358979323846;
static const unsigned long long SEED = 2025112501;
static const double PRESSURE_MOST = 15e6; /* [Pa] */
/* A gap or a contact force this far below zero is rounding: of the stack's height, of its pressure load. */
static const double ROUNDING = 1e-9; /* [-] */
/* The same for gaps of loose rings: the programme relaxes the tolerance of a contact that cycles (RELAX_AFTER in
   programme.c). */
static const double RING_ROUNDING = 1e-7; /* [-] */
/* What kp_stack_options.tolerance says of a state: energy left to be set free. */
static const double IMBALANCE = 2e-5; /* [-] */
/* Gaps at the state's own tilt rather than that of the step before: of the stack's height and lift together. Lifts are
   right to about this; measured 3.5e-6 in 100 000. */
static const double TILTED_ROUNDING = 5e-6; /* [-] */
/* Rings over the room that geometry alone leaves them (ring_room.h), at and above which a stack may be refused. */
static const double CROWDED = 1; /* [-] */
enum { STEPS_SHOWN = 12, LOADS_MOST = 24 };

typedef struct tally {
    int stacks, rings, three_rings, sliding, stops, solves, held, unclampable, balances;
    long contacts, active;
    int steps[STEPS_SHOWN + 1]; /* solves that took so many Newton steps; the last: that many or more */
    int most_steps, most_load_steps, most_steps_stack, slowest_stack;
    double slowest;                                                /* [s] one load */
    double gap, tilted_gap, imbalance, crowding, crowding_refused; /* [-] worst of each; the last: least */
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

/* Gaps open to `tolerance` of a height, forces pushing, and no force across an open gap. Returns the largest overlap,
   of that height. */
static double check_contacts(const kp_stack_workspace *w, double pressure, double height, double tolerance,
                             const char *who, tally *t)
{
    const kp_stack *stack = kp_stack_of(w);
    double load = fmax(pressure, 1) * PI * stack->land_outer_radius * stack->land_outer_radius;
    double most = 0;
    for (size_t i = 0; i < kp_stack_contact_count(w); i++) {
        kp_contact c = kp_stack_contact(w, i);
        if (!c.enabled) {
            cr_assert(c.force == 0, "%s: a seat that is away pushes with %g N", who, c.force);
            continue;
        }
        double gap = c.gap / height;
        cr_assert(gap >= -tolerance, "%s: gap %g m between %d and %d at %g m", who, c.gap, c.lower, c.upper, c.radius);
        cr_assert(c.force >= -ROUNDING * load, "%s: contact force %g N", who, c.force);
        cr_assert(c.force == 0 || gap <= tolerance, "%s: %g N over a gap of %g m", who, c.force, c.gap);
        most = fmax(most, c.force == 0 ? -gap : fabs(gap));
        t->contacts++;
        t->active += c.force > 0;
    }
    return most;
}

/* The state against the whole problem: forces balance with those of the contacts, which push, across closed gaps. */
static void check_balance(kp_stack_workspace *w, double pressure, const char *who, tally *t)
{
    double imbalance = kp_stack_imbalance(w);
    cr_assert(imbalance <= IMBALANCE, "%s: forces left over would set free %g of the energy", who, imbalance);
    t->imbalance = fmax(t->imbalance, imbalance);
    double reach = height_of(kp_stack_of(w)) + fabs(kp_stack_seat_lift(w));
    t->tilted_gap = fmax(t->tilted_gap, check_contacts(w, pressure, reach, TILTED_ROUNDING, who, t));
    t->balances++;
}

static void count_steps(kp_stack_record record, double took, int index, tally *t)
{
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
}

/* false: the stack cannot be clamped. balance: whether to look at the forces too; it straightens the gaps anew, so that
   the next load begins from there. */
static bool solve(kp_stack_workspace *w, double pressure, kp_seat seat, bool balance, int index, tally *t)
{
    char who[128];
    snprintf(who, sizeof who, "seed %llu, stack %d at %g MPa, seat %s", SEED, index, pressure / 1e6,
             seat == KP_SEAT_HOLDS ? "there" : "away");
    kp_error error = {0};
    double begun = seconds();
    kp_status status = kp_stack_solve(w, pressure, seat, &error);
    double took = seconds() - begun;
    if (status == KP_NOT_MODELLED) {
        double crowded = crowding(kp_stack_of(w));
        printf("%s: %s (%.2f of the room there is)\n", who, error.message, crowded);
        cr_assert(crowded >= CROWDED, "%s: refused with %g of its room taken: %s", who, crowded, error.message);
        t->crowding_refused = fmin(t->crowding_refused, crowded);
        t->unclampable++;
        return false;
    }
    cr_assert_eq(status, KP_OK, "%s: %s", who, error.message);
    t->solves++;
    t->held += seat == KP_SEAT_HOLDS;
    count_steps(kp_stack_last_record(w), took, index, t);
    double tolerance = rings_of(kp_stack_of(w)) > 0 ? RING_ROUNDING : ROUNDING;
    t->gap = fmax(t->gap, check_contacts(w, pressure, height_of(kp_stack_of(w)), tolerance, who, t));
    if (balance)
        check_balance(w, pressure, who, t);
    cr_assert(isfinite(kp_stack_energy(w)) && kp_stack_energy(w) >= 0 && isfinite(kp_stack_seat_lift(w)), "%s", who);
    return true;
}

/* Even stacks: the seat there at rest and for the first loads, then away. Odd ones: away all the way up, then put under
   the stack where it is, at loads falling to nothing. Balance is looked at after the last load; with two rings and more
   after every one. */
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
    cr_assert_eq(status, KP_OK, "seed %llu, stack %d: %s", SEED, index, error.message);
    bool even = index % 2 == 0;
    bool always = rings >= 2;
    bool solved = solve(w, 0, even ? KP_SEAT_HOLDS : KP_SEAT_ABSENT, always, index, t);
    for (int i = 0; i < loads && solved; i++) {
        double pressure = lowest * pow(PRESSURE_MOST / lowest, (double)i / (loads - 1));
        bool last = even && i + 1 == loads;
        solved = solve(w, pressure, even && i < loads / 3 ? KP_SEAT_HOLDS : KP_SEAT_ABSENT, always || last, index, t);
    }
    for (int i = 0; i < 3 && !even && solved; i++)
        solved = solve(w, PRESSURE_MOST * (2 - i) / 4, KP_SEAT_HOLDS, always || i == 2, index, t);
    if (solved)
        t->crowding = fmax(t->crowding, crowding(&made.stack));
    t->stacks++;
    t->rings += rings > 0;
    t->three_rings += rings > 2;
    t->sliding += made.stack.grip == KP_GRIP_SLIDING;
    t->stops += made.stack.stop_count > 0;
    kp_stack_free(w);
}

Test(random, stacks_are_solved_and_keep_what_contact_demands, .timeout = 36000)
{
    kp_random random;
    kp_random_seed(&random, SEED);
    tally t = {.crowding_refused = INFINITY};
    int count = sized(2000, 100000);
    double begun = seconds();
    for (int i = 0; i < count; i++)
        check_stack(&random, i, &t);
    printf("random stacks: seed %llu, %d stacks (%d with rings, %d of them with more than two, %d sliding, %d with "
           "something above), %d loads (%d seated), %ld possible contacts (%ld active), %.1f s\n",
           SEED, t.stacks, t.rings, t.three_rings, t.sliding, t.stops, t.solves, t.held, t.contacts, t.active,
           seconds() - begun);
    printf("none failed; %d cannot be clamped (rings at least %.2f of their room; at most %.2f where solved)\n",
           t.unclampable, t.crowding_refused, t.crowding);
    printf(
        "gaps closed to at most %.1e of the height, %.1e of height and lift at their own tilt; forces left over %.1e "
        "of the energy at most "
        "(%d loads)\n",
        t.gap, t.tilted_gap, t.imbalance, t.balances);
    printf("Newton steps a load:");
    for (int i = 1; i <= STEPS_SHOWN; i++)
        printf(" %d%s: %.2f %%", i, i == STEPS_SHOWN ? "+" : "", 100.0 * t.steps[i] / t.solves);
    printf("; most %d over %d load steps (stack %d); slowest load %.1f ms (stack %d)\n", t.most_steps,
           t.most_load_steps, t.most_steps_stack, 1e3 * t.slowest, t.slowest_stack);
    /* The properties must have met what they are about. */
    cr_assert(t.rings > count / 20 && t.three_rings > count / 100 && t.sliding > count / 10 && t.stops > count / 10);
    cr_assert(t.active > t.contacts / 50 && t.held > t.solves / 8 && t.steps[0] == 0 && t.balances > t.stacks);
    cr_assert(t.unclampable <= count / 10000);
}
