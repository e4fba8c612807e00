/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random dampers, 500 of them (10 000 with KP_FULL set; a quarter under the sanitizers, which are four times slower and
   check other things): what must hold without any oracle.
   For each: it is valid and prepares without failure; at speeds from 1 mm/s up, flows sum to speed times area, force
   grows with speed (never falls while it cavitates), the margin and the force belong together, a point is flagged when
   and only when a shim is past yield; the stack solved directly at the disc's pressure keeps gap >= 0, contact
   force >= 0 and their product 0; and prepared once more, the same bits come out. */
#include "random_damper.h"

#include "kneepoint/damper.h"
#include "num/num.h"
#include "kneepoint/lift.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

static const double PI = 3.14159265358979323846;
static const unsigned long long SEED = 6350220314;

enum { DAMPERS = SANITIZED ? 125 : 500, FULL_FACTOR = 20, SPEEDS = 12 };

/* Flow balance: a thousand roundings of the flow that the piston drives. */
/* Just above cracking the opening is the small difference of lift and dish: one double of pressure is 1e-11 of the
 * flow. */
static const double BALANCE = 2e-11; /* [-] */
/* A gap or a contact force this far below zero is rounding: of the stack's height, of its pressure load. */
static const double CONTACT_ROUNDING = 1e-9; /* [-] */
/* The same where a stack is folded: its contact forces are taken over until gaps are closed to 5e-6 of the face shim.
 */
static const double CONTACT_FOLDED = 5e-6; /* [-] */
/* The table's stress is interpolated: within this of yield the flag may be either way. */
static const double YIELD_BAND = 0.02; /* [-] */
/* Where a stack folds it is solved on fewer elements, and the table goes over from one mesh to the other. */
static const double YIELD_BAND_FOLDED = 0.09; /* [-] */

/* Opening read from a table against solved: the bar, which one in a hundred may miss where shims come to touch right
   there (measured: one in three hundred), and the most that one may. */
static const double OPENING_BAR = 1e-3;   /* [-] */
static const double OPENING_WORST = 3e-2; /* [-] */
static const double SMALL_OPENING = 1e-6; /* [m] less is no opening */

typedef struct tally {
    int openings, openings_off;
    int dampers, points, cavitating, past_yield, contacts, active;
    double slowest; /* [s] to prepare */
} tally;

static void check_point(const kp_damper_data *d, const kp_curve_point *p, const char *who)
{
    double driven = fabs(p->speed) * PI / 4 * (d->bore * d->bore - d->rod * d->rod);
    double flows = p->bleed_flow + p->leak_flow + p->valve_flow + p->void_flow;
    cr_assert(fabs(flows - driven) <= BALANCE * driven, "%s: flows %.17g for %.17g", who, flows, driven);
    cr_assert(p->bleed_flow >= 0 && p->leak_flow >= 0 && p->valve_flow >= 0 && p->void_flow >= 0, "%s", who);
    cr_assert(p->piston_drop > 0 && p->disc_pressure > 0, "%s", who);
    cr_assert(p->disc_pressure <= p->piston_drop * (1 + 1e-12), "%s", who); /* a share of a head never adds */
    cr_assert(p->cavitates == (p->cavitation_margin <= 0), "%s", who);
    cr_assert(p->cavitates ? p->force_slope == 0 : p->force_slope > 0, "%s: slope %g", who, p->force_slope);
    double parts = p->gas_force + p->friction_force + p->hydraulic_force;
    cr_assert(fabs(p->force - parts) <= 1e-12 * (fabs(parts) + fabs(p->gas_force)), "%s", who);
}

/* The contacts of the stack at one pressure, from the stack itself. */
static void check_contacts(kp_stack_workspace *w, const kp_stack *stack, double pressure, bool seated, const char *who,
                           tally *t)
{
    kp_error error = {0};
    cr_assert_eq(kp_stack_solve(w, pressure, seated ? KP_SEAT_HOLDS : KP_SEAT_ABSENT, &error), KP_OK, "%s: %s", who,
                 error.message);
    double height = 0, load = pressure * PI * stack->land_outer_radius * stack->land_outer_radius;
    for (size_t i = 0; i < stack->disc_count; i++) {
        height += stack->discs[i].thickness * stack->discs[i].count;
    }
    double rounding = kp_stack_is_folded(w, NULL) ? CONTACT_FOLDED : CONTACT_ROUNDING;
    double pressed = 0; /* [N] by loose rings, whatever the pressure */
    for (size_t i = 0; i < kp_stack_contact_count(w); i++) {
        pressed = fmax(pressed, kp_stack_contact(w, i).force);
    }
    load += pressed;
    for (size_t i = 0; i < kp_stack_contact_count(w); i++) {
        kp_contact c = kp_stack_contact(w, i);
        cr_assert(!c.enabled || c.gap >= -rounding * height, "%s: gap %g m", who, c.gap);
        cr_assert(c.force >= -rounding * load, "%s: contact force %g N", who, c.force);
        cr_assert(fabs(c.gap * c.force) <= rounding * height * load, "%s: %g m x %g N", who, c.gap, c.force);
        t->contacts++;
        t->active += c.force > 0;
    }
}

/* The curve reads its opening from a table: against the stack solved at that very pressure. */
static void check_opening(const kp_stack_workspace *w, const kp_stack *stack, const kp_curve_point *p, bool seated,
                          const char *who, tally *t)
{
    double opening = kp_stack_seat_lift(w) - stack->dish;
    if (seated || opening < SMALL_OPENING) {
        return;
    }
    double off = fabs(p->opening / opening - 1);
    cr_assert(off <= OPENING_WORST, "%s: opening %g m, solved %g m", who, p->opening, opening);
    t->openings++;
    t->openings_off += off > OPENING_BAR;
}

/* Largest stress over yield of the stack as it is solved now. */
static double yield_ratio(const kp_stack_workspace *w, const kp_stack *stack)
{
    double ratio = 0;
    for (size_t i = 0; i < stack->disc_count; i++) {
        double stress;
        kp_stack_peak_stress(w, i, &stress, NULL, NULL);
        ratio = fmax(ratio, stress / stack->discs[i].material.yield);
    }
    return ratio;
}

/* Flag against the stress of the stack solved directly. A stack that lifts off a dished seat may be less strained than
   at rest; one that was past its yield on the way stays flagged. */
static void check_yield(kp_stack_workspace *w, const kp_stack *stack, const kp_lift_table *table,
                        const kp_curve_point *p, const char *who)
{
    double ratio = yield_ratio(w, stack), from;
    kp_error error = {0};
    if (p->past_yield && ratio < 1 && kp_lift_table_yields(table, &from, NULL)) {
        kp_seat seat = from < kp_lift_table_cracking(table) ? KP_SEAT_HOLDS : KP_SEAT_ABSENT;
        cr_assert_eq(kp_stack_solve(w, from, seat, &error), KP_OK, "%s: %s", who, error.message);
        ratio = fmax(ratio, yield_ratio(w, stack));
    }
    if (fabs(ratio - 1) > (kp_stack_of(w)->folds ? YIELD_BAND_FOLDED : YIELD_BAND)) {
        cr_assert(p->past_yield == (ratio > 1), "%s: %g of yield, %s", who, ratio,
                  p->past_yield ? "flagged" : "not flagged");
    }
}

static void check_direction(const kp_damper *damper, kp_direction direction, const double *speeds, int index, tally *t)
{
    const kp_damper_data *d = kp_damper_model(damper);
    kp_disc discs[KP_MAX_STACK_LINES];
    kp_stack stack = kp_damper_stack(d, direction, discs);
    kp_stack_workspace *w = NULL;
    kp_error error = {0};
    cr_assert_eq(kp_stack_begin(&stack, NULL, &w, &error), KP_OK, "damper %d: %s", index, error.message);
    double before = 0;
    for (int i = 0; i < SPEEDS; i++) {
        char who[96];
        kp_curve_point p;
        double speed = direction == KP_COMPRESSION ? speeds[i] : -speeds[i];
        snprintf(who, sizeof who, "seed %llu, damper %d at %g m/s", SEED, index, speed);
        cr_assert_eq(kp_curve_at(damper, speed, &p, &error), KP_OK, "%s: %s", who, error.message);
        check_point(d, &p, who);
        double force = fabs(p.hydraulic_force);
        cr_assert(p.cavitates ? force >= before : force > before, "%s: %.17g N after %.17g N", who, force, before);
        before = force;
        t->points++;
        t->cavitating += p.cavitates;
        t->past_yield += p.past_yield;
        if (i % 4 == 3) {
            bool seated = p.disc_pressure < kp_lift_table_cracking(kp_damper_lift_table(damper, direction));
            check_contacts(w, &stack, p.disc_pressure, seated, who, t);
            check_opening(w, &stack, &p, seated, who, t);
            check_yield(w, &stack, kp_damper_lift_table(damper, direction), &p, who);
        }
    }
    kp_stack_free(w);
}

/* Prepared once more from nothing: every number of a point with the same bits. */
static void check_bits(const kp_damper *damper, double largest, const double *speeds, int index)
{
    kp_error error = {0};
    kp_damper *again = NULL;
    cr_assert_eq(kp_damper_begin(kp_damper_model(damper), largest, &again, &error), KP_OK, "%s", error.message);
    for (int i = 0; i < SPEEDS; i++) {
        double speed = i % 2 ? speeds[i] : -speeds[i];
        kp_curve_point a, b;
        cr_assert_eq(kp_curve_at(damper, speed, &a, &error), KP_OK);
        cr_assert_eq(kp_curve_at(again, speed, &b, &error), KP_OK);
        const double first[] = {a.force,       a.gas_force,    a.friction_force, a.hydraulic_force,   a.piston_drop,
                                a.bleed_flow,  a.leak_flow,    a.valve_flow,     a.void_flow,         a.couette_flow,
                                a.seat_lift,   a.opening,      a.edge_lift,      a.cavitation_margin, a.peak_stress,
                                a.force_slope, a.disc_pressure};
        const double second[] = {b.force,       b.gas_force,    b.friction_force, b.hydraulic_force,   b.piston_drop,
                                 b.bleed_flow,  b.leak_flow,    b.valve_flow,     b.void_flow,         b.couette_flow,
                                 b.seat_lift,   b.opening,      b.edge_lift,      b.cavitation_margin, b.peak_stress,
                                 b.force_slope, b.disc_pressure};
        for (size_t k = 0; k < sizeof first / sizeof *first; k++) {
            cr_assert(first[k] == second[k], "damper %d at %g m/s, number %zu: %.17g, %.17g", index, speed, k, first[k],
                      second[k]);
        }
        cr_assert(a.peak_line == b.peak_line && a.past_yield == b.past_yield);
    }
    kp_damper_free(again);
}

static double seconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void check_damper(kp_random *random, int index, tally *t)
{
    kp_damper_data data = random_special_damper(random);
    double largest = kp_random_uniform(random, 0.8, 3), speeds[SPEEDS];
    for (int i = 0; i < SPEEDS; i++) {
        speeds[i] = 1e-3 * pow(largest / 1e-3, (double)i / (SPEEDS - 1));
    }
    speeds[SPEEDS - 1] = largest;
    kp_findings findings = {0};
    kp_error error = {0};
    cr_assert_eq(kp_damper_validate(&data, &findings, &error), KP_OK, "%s", error.message);
    cr_assert_eq(kp_findings_fault_count(&findings), 0, "seed %llu, damper %d: %s: %s", SEED, index,
                 findings.items[0].path, findings.items[0].text);
    kp_findings_free(&findings);
    kp_damper *damper = NULL;
    double begun = seconds();
    kp_status status = kp_damper_begin(&data, largest, &damper, &error);
    cr_assert_eq(status, KP_OK, "seed %llu, damper %d: %s", SEED, index, error.message);
    t->slowest = fmax(t->slowest, seconds() - begun);
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        check_direction(damper, (kp_direction)d, speeds, index, t);
    }
    check_bits(damper, largest, speeds, index);
    kp_damper_free(damper);
    t->dampers++;
}

Test(property, random_dampers_keep_their_invariants)
{
    kp_random random;
    kp_random_seed(&random, SEED);
    tally t = {0};
    int count = DAMPERS * (getenv("KP_FULL") ? FULL_FACTOR : 1);
    double begun = seconds();
    for (int i = 0; i < count; i++) {
        check_damper(&random, i, &t);
    }
    printf("random dampers: seed %llu, %d dampers, %d points (%d cavitating, %d past yield), %d possible contacts (%d "
           "active), slowest to prepare %.1f ms, %.1f s in all\n",
           SEED, t.dampers, t.points, t.cavitating, t.past_yield, t.contacts, t.active, 1e3 * t.slowest,
           seconds() - begun);
    printf("openings: %d compared, %d off by more than %g\n", t.openings, t.openings_off, OPENING_BAR);
    cr_assert(t.openings > t.points / 10 && t.openings_off <= t.openings / 100, "%d of %d", t.openings_off, t.openings);
    /* the properties must have met what they are about */
    cr_assert(t.cavitating > t.points / 50 && t.past_yield > t.points / 50 && t.active > t.points / 10);
}
