/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What must hold of a stack without any oracle: equal shims, spacers, rings, washers, grip, slots, stop, dish. */
#include "kneepoint/lift.h"
#include "kneepoint/stack.h"
#include "random_stack.h"
#include "simple.h"
#include "sizes.h"
#include "num/num.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double PRESSURES[] = {0.02e6, 0.3e6, 1e6, 4e6}; /* [Pa] */
enum { PRESSURE_COUNT = sizeof PRESSURES / sizeof *PRESSURES };
/* Two ways to the same numbers: Newton's end. [-] */
static const double SAME = 1e-9;

/* n equal shims, in one line or in n, take n times the pressure of one; and each carries its stress. */
Test(invariants, equal_shims_share)
{
    for (int n = 2; n <= 7; n++) {
        const kp_disc one = shim(1, 38, 0.15), pack = shim(n, 38, 0.15);
        kp_disc lines[7];
        for (int i = 0; i < n; i++)
            lines[i] = one;
        kp_stack stacks[] = {stack_of(&one, 1), stack_of(&pack, 1), stack_of(lines, (size_t)n)};
        for (size_t k = 0; k < PRESSURE_COUNT; k++) {
            double lift[3], stress[3];
            for (int i = 0; i < 3; i++) {
                kp_stack_workspace *w = begin(&stacks[i], NULL);
                solve_at(w, (i ? n : 1) * PRESSURES[k], KP_SEAT_ABSENT);
                lift[i] = kp_stack_lift_at(w, 0, 19e-3);
                kp_stack_peak_stress(w, stacks[i].disc_count - 1, &stress[i], NULL, NULL);
                kp_stack_free(w);
            }
            for (int i = 1; i < 3; i++) {
                cr_expect(fabs(lift[i] / lift[0] - 1) <= SAME, "%d shims, %g Pa: %.12g m for %.12g", n, PRESSURES[k],
                          lift[i], lift[0]);
                cr_expect(fabs(stress[i] / stress[0] - 1) <= 100 * SAME, "%d shims: stress %g for %g", n, stress[i],
                          stress[0]);
            }
        }
    }
}

/* Shims at the end of the stack that are smaller than the washer clamp in its place. */
Test(invariants, last_small_shim_is_the_clamp)
{
    const double meshes = 1e-6; /* [-] the washer's edge above means some more nodes */
    const int fine = 40;        /* [-] elements */
    for (double size = 10; size <= 14; size += 2) {
        const kp_disc plain[] = {shim(1, 40, 0.2), shim(1, 34, 0.2)};
        const kp_disc spaced[] = {shim(1, 40, 0.2), shim(1, 34, 0.2), shim(2, size, 0.9)};
        kp_stack small = stack_of(plain, 2), washer = stack_of(spaced, 3), full = stack_of(plain, 2);
        small.clamp_radius = size / 2e3;
        for (size_t k = 0; k < PRESSURE_COUNT; k++) {
            double want = edge_lift_of(&small, PRESSURES[k], fine), got = edge_lift_of(&washer, PRESSURES[k], fine);
            cr_expect(fabs(got / want - 1) <= meshes, "%g mm, %g Pa: %.12g m for %.12g", size, PRESSURES[k], got, want);
            cr_expect(got > 1.02 * edge_lift_of(&full, PRESSURES[k], fine), "%g mm: no softer than the washer", size);
        }
    }
    /* A thin one does so until the next shim meets the washer behind it. */
    const kp_disc thin[] = {shim(1, 40, 0.2), shim(1, 10, 0.02)}, thick[] = {shim(1, 40, 0.2), shim(1, 10, 2)};
    kp_stack a = stack_of(thin, 2), b = stack_of(thick, 2);
    cr_expect(edge_lift_of(&a, 1e6, 0) < 0.97 * edge_lift_of(&b, 1e6, 0));
}

/* A loose ring between flat shims presses them apart: the seat feels it, more for a thicker one, and the force that
   goes into the ring comes out of it. */
Test(invariants, ring_preloads)
{
    double before = 0;
    for (double thickness = 0.05; thickness < 0.3; thickness += 0.05) {
        kp_disc discs[] = {shim(1, 40, 0.2), shim(1, 30, thickness), shim(1, 38, 0.3)};
        discs[1].has_hole = true;
        discs[1].hole_radius = 12e-3;
        kp_stack stack = stack_of(discs, 3);
        kp_stack_workspace *w = begin(&stack, NULL);
        solve_at(w, 0, KP_SEAT_HOLDS);
        double force = kp_stack_seat_force(w), in = 0, out = 0;
        for (size_t i = 0; i < kp_stack_contact_count(w); i++) {
            kp_contact c = kp_stack_contact(w, i);
            in += c.lower == 0 && c.upper == 1 ? c.force : 0;
            out += c.lower == 1 && c.upper == 2 ? c.force : 0;
        }
        cr_expect(force > before, "%g mm: the seat feels %g N, a thinner ring gave %g N", thickness, force, before);
        cr_expect(in > 0 && fabs(in / out - 1) <= 1e-6, "%g mm: %g N below the ring, %g N above", thickness, in, out);
        before = force;
        kp_stack_free(w);
    }
    const kp_disc flat[] = {shim(1, 40, 0.2), shim(1, 38, 0.3)};
    kp_stack stack = stack_of(flat, 2);
    kp_stack_workspace *w = begin(&stack, NULL);
    solve_at(w, 0, KP_SEAT_HOLDS);
    cr_expect(kp_stack_seat_force(w) <= 1e-9, "no ring: %g N", kp_stack_seat_force(w));
    kp_stack_free(w);
}

/* The nearer a bevelled washer stands, the less the stack lifts, and it is never passed. */
Test(invariants, washer_behind_stiffens)
{
    const kp_disc discs[] = {shim(1, 40, 0.2), shim(1, 38, 0.2)};
    double rim = 19e-3;
    for (size_t k = 2; k < PRESSURE_COUNT; k++) {
        kp_stack stack = stack_of(discs, 2);
        double before = edge_lift_of(&stack, PRESSURES[k], 0), touched = 0;
        for (double gap = 1.2e-3; gap > 0.05e-3; gap -= 0.15e-3) {
            stack.stop_count = 3;
            for (size_t i = 0; i < 3; i++) {
                double part = (double)(i + 1) / 3;
                stack.stop_radius[i] = 8e-3 + part * (rim - 8e-3);
                stack.stop_gap[i] = gap * part * part;
            }
            kp_stack_workspace *w = begin(&stack, NULL);
            solve_at(w, PRESSURES[k], KP_SEAT_ABSENT);
            double lift = kp_stack_lift_at(w, 0, 20e-3), force = 0;
            for (size_t i = 0; i < kp_stack_contact_count(w); i++) {
                kp_contact c = kp_stack_contact(w, i);
                force += c.upper == KP_CONTACT_STOP ? c.force : 0;
            }
            cr_expect(force > 0 ? lift < before : fabs(lift / before - 1) <= SAME,
                      "%g Pa, gap %g m: lift %.9g m, %.9g m with more gap, %g N", PRESSURES[k], gap, lift, before,
                      force);
            cr_expect(kp_stack_lift_at(w, 1, rim) <= gap * (1 + 0.02) + 4e-4 * 0.2e-3, "%g m passed %g m",
                      kp_stack_lift_at(w, 1, rim), gap);
            touched += force > 0;
            before = lift;
            kp_stack_free(w);
        }
        cr_expect(touched >= 2, "%g Pa: the washer was hardly met", PRESSURES[k]);
    }
}

/* A flat stop: lifts at its edge stay below it at any load. What the middle surface is allowed beyond is the tilt of
   the face, t w'^2/4. */
Test(invariants, stop_is_never_passed)
{
    const kp_disc discs[] = {shim(2, 40, 0.2), shim(1, 36, 0.2)};
    kp_stack stack = stack_of(discs, 2);
    stack.stop_count = 1;
    stack.stop_radius[0] = 18e-3;
    stack.stop_gap[0] = 0.4e-3;
    kp_stack_workspace *w = begin(&stack, NULL);
    double last = 0;
    for (double pressure = 1e5; pressure < 16e6; pressure *= 1.7) {
        solve_at(w, pressure, KP_SEAT_ABSENT);
        double force = 0;
        for (size_t i = 0; i < kp_stack_contact_count(w); i++) {
            kp_contact c = kp_stack_contact(w, i);
            if (c.upper != KP_CONTACT_STOP)
                continue;
            force += c.force;
            cr_expect(c.gap >= -1e-9 * 0.6e-3, "%g Pa: passed by %g m at %g m", pressure, c.gap, c.radius);
        }
        cr_expect(kp_stack_lift_at(w, 1, 18e-3) <= 0.4e-3 + 4e-4 * 0.2e-3, "%g Pa: %g m", pressure,
                  kp_stack_lift_at(w, 1, 18e-3));
        cr_expect(force >= last, "%g Pa: %g N on the stop after %g N", pressure, force, last);
        last = force;
    }
    cr_expect(last > 100, "the stop was not met: %g N", last);
    kp_stack_free(w);
}

/* Held <= friction <= sliding in lift, the friction's own limits met, and more of it never softer. */
Test(invariants, grip)
{
    kp_disc discs[] = {shim(2, 40, 0.2), shim(1, 36, 0.2), shim(1, 30, 0.2)};
    for (size_t i = 0; i < 3; i++) {
        discs[i].has_hole = true;
        discs[i].hole_radius = 4e-3;
    }
    kp_stack held = stack_of(discs, 3), slides = held;
    slides.grip = KP_GRIP_SLIDING;
    bool between = false;
    for (size_t k = 0; k < PRESSURE_COUNT; k++) {
        double stiff = edge_lift_of(&held, PRESSURES[k], 0), soft = edge_lift_of(&slides, PRESSURES[k], 0);
        cr_expect(soft > stiff, "%g Pa: sliding %.9g m, held %.9g m", PRESSURES[k], soft, stiff);
        cr_expect(k == 0 || soft > 1.01 * stiff, "%g Pa: sliding hardly matters", PRESSURES[k]);
        double before = soft;
        static const double loads[] = {0, 1, 500, 5e3, 20e3, 1e9};
        for (size_t i = 0; i < sizeof loads / sizeof *loads; i++) {
            kp_stack rubs = slides;
            rubs.nut_load = loads[i];
            rubs.nut_friction = 0.15;
            double lift = edge_lift_of(&rubs, PRESSURES[k], 0);
            cr_expect(lift <= before * (1 + SAME) && lift >= stiff * (1 - SAME), "%g Pa, %g N: %.9g m in %.9g to %.9g",
                      PRESSURES[k], loads[i], lift, stiff, before);
            between = between || (lift > 1.001 * stiff && lift < 0.999 * soft);
            before = lift;
            if (i == 0)
                cr_expect(fabs(lift / soft - 1) <= SAME, "no load slides: %.12g for %.12g", lift, soft);
            if (loads[i] > 1e6)
                cr_expect(fabs(lift / stiff - 1) <= SAME, "all load holds: %.12g for %.12g", lift, stiff);
        }
    }
    cr_expect(between, "friction was never between its limits");
    /* One shim: below the threshold it is held to the bit, beyond it softer; the threshold goes with the nut's load. */
    kp_stack one = stack_of(discs, 1), fixed = one;
    one.grip = KP_GRIP_SLIDING;
    one.nut_friction = 0.15;
    double slips[2];
    for (int i = 0; i < 2; i++) {
        one.nut_load = 2e3 * (i + 1);
        slips[i] = 0;
        for (double pressure = 0.02e6; pressure < 4e6 && slips[i] == 0; pressure *= 1.1) {
            double ratio = edge_lift_of(&one, pressure, 0) / edge_lift_of(&fixed, pressure, 0);
            slips[i] = ratio > 1 + SAME ? pressure : 0;
            cr_expect(ratio > 1 - SAME, "%g Pa: %.12g", pressure, ratio);
        }
    }
    cr_expect(slips[0] > 0.025e6 && slips[1] > 1.2 * slips[0], "slips at %g and %g Pa", slips[0], slips[1]);
}

/* Lift of the face shim's edge under a ring load there of 2 mm times the pressure. */
static double edge_lift_under_ring(const kp_stack *stack, double pressure)
{
    const kp_stack_options options = {.line_load = 2e-3};
    kp_stack_workspace *w = begin(stack, &options);
    solve_at(w, pressure, KP_SEAT_ABSENT);
    double lift = kp_stack_lift_at(w, 0, stack->discs[0].outer_radius);
    kp_stack_free(w);
    return lift;
}

/* Slots soften, more of them more: under a load that they do not take away. */
Test(invariants, slots_soften)
{
    kp_disc disc = shim(1, 40, 0.2);
    kp_stack stack = stack_of(&disc, 1);
    for (size_t k = 0; k < PRESSURE_COUNT; k++) {
        disc.slot_count = 0;
        double before = edge_lift_under_ring(&stack, PRESSURES[k]);
        for (int slots = 2; slots <= 8; slots += 2) {
            disc.slot_count = slots;
            disc.slot_width = 3e-3;
            disc.slot_inner = 12e-3;
            double lift = edge_lift_under_ring(&stack, PRESSURES[k]);
            cr_expect(lift > before * 1.001, "%d slots, %g Pa: %.9g m after %.9g m", slots, PRESSURES[k], lift, before);
            before = lift;
        }
    }
}

/* Pressure passes only where all shims are slotted: a thin whole shim above brings the load back, wherever it lies, and
   slots of the same size above take none. */
Test(invariants, slots_let_pressure_through)
{
    const double pressure = 200; /* [Pa] small lift: in proportion to the load */
    kp_disc discs[3] = {shim(1, 40, 0.2), shim(1, 36, 0.2), shim(1, 40, 0.02)};
    for (int i = 0; i < 2; i++) {
        discs[i].slot_count = 8;
        discs[i].slot_width = 4e-3;
        discs[i].slot_inner = 12e-3;
    }
    kp_disc cover = discs[2];
    kp_stack one = stack_of(discs, 1), two = stack_of(discs, 2), covered = stack_of(discs, 3);
    double alone = edge_lift_of(&one, pressure, 0), above = edge_lift_of(&covered, pressure, 0);
    double pair = edge_lift_of(&two, pressure, 0);
    discs[2].outer_radius = 12e-3; /* covers no slot */
    double uncovered = edge_lift_of(&covered, pressure, 0);
    cr_expect(pair < alone && fabs(uncovered / pair - 1) < 0.02, "%g, %g, %g m", alone, pair, uncovered);
    cr_expect(above > 1.1 * uncovered, "%g m below %g mm, %g m below nothing", above, 1e3 * cover.thickness, uncovered);
}

/* A negative dish is a gap at rest: open by it, not cracking at all, and no stress. */
Test(invariants, negative_dish_is_a_gap)
{
    const kp_disc discs[] = {shim(2, 40, 0.2), shim(1, 30, 0.2)};
    kp_stack flat = stack_of(discs, 2);
    for (double dish = -0.1e-3; dish < 0; dish += 0.03e-3) {
        kp_stack stack = flat;
        stack.dish = dish;
        kp_lift_table *table = NULL;
        kp_error error = {0};
        cr_assert(kp_lift_table_build(&stack, 5e6, &table, &error) == KP_OK, "%s", error.message);
        kp_lift lift;
        cr_assert(kp_lift_table_at(table, 0, &lift, &error) == KP_OK);
        cr_expect(fabs(lift.opening + dish) <= 1e-12 && lift.peak_stress <= 1, "open %g m at rest, %g Pa of stress",
                  lift.opening, lift.peak_stress);
        cr_expect(kp_lift_table_cracking(table) == 0);
        cr_assert(kp_lift_table_at(table, 1e6, &lift, &error) == KP_OK);
        kp_stack_workspace *w = begin(&flat, NULL);
        solve_at(w, 1e6, KP_SEAT_ABSENT);
        double want = kp_stack_seat_lift(w) - dish;
        cr_expect(fabs(lift.opening / want - 1) <= 1e-3, "open %g m for %g m", lift.opening, want);
        kp_stack_free(w);
        kp_lift_table_free(table);
    }
}

/* More pressure, more lift, at every edge that the pressure can reach: random stacks of shims that get smaller, no
   rings, no crossovers. */
Test(invariants, lift_grows_with_pressure)
{
    kp_random random;
    kp_random_seed(&random, 2025112506);
    int count = sized(100, 3000);
    for (int i = 0; i < count; i++) {
        kp_disc discs[8];
        int lines = kp_random_int(&random, 1, 8);
        double outside = kp_random_uniform(&random, 36, 50);
        for (int k = 0; k < lines; k++) {
            discs[k] = shim(kp_random_int(&random, 1, 3), outside, 0.05 * kp_random_int(&random, 2, 8));
            outside -= kp_random_uniform(&random, 0, (outside - 17) / 2);
        }
        kp_stack stack = stack_of(discs, (size_t)lines);
        kp_stack_workspace *w = begin(&stack, NULL);
        double seat = 0, edge = 0, energy = 0;
        for (double pressure = 1e3; pressure < 15e6; pressure *= kp_random_uniform(&random, 1.05, 2)) {
            solve_at(w, pressure, KP_SEAT_ABSENT);
            double now = kp_stack_seat_lift(w), rim = kp_stack_lift_at(w, 0, discs[0].outer_radius);
            cr_assert(now > seat && rim > edge && kp_stack_energy(w) > energy,
                      "stack %d at %g Pa: lifts %g, %g m after %g, %g m", i, pressure, now, rim, seat, edge);
            cr_assert(kp_stack_seat_compliance(w) > 0, "stack %d at %g Pa", i, pressure);
            seat = now;
            edge = rim;
            energy = kp_stack_energy(w);
        }
        kp_stack_free(w);
    }
}

/* The slope that the table uses is that of the lift, by a central difference. */
Test(invariants, compliance_is_the_slope)
{
    const double bar = 1e-3, step = 1e-4; /* [-] a contact that changes within the step spoils the difference */
    const kp_disc discs[] = {shim(1, 40, 0.2), shim(1, 22, 0.1), shim(1, 38, 0.2), shim(1, 32, 0.2)};
    kp_stack stack = stack_of(discs, 4);
    kp_stack_workspace *w = begin(&stack, NULL);
    int compared = 0, met = 0;
    for (double pressure = 2e3; pressure < 6e6; pressure *= 1.3) {
        double lift[2];
        for (int i = 0; i < 2; i++) {
            solve_at(w, pressure * (i ? 1 + step : 1 - step), KP_SEAT_ABSENT);
            lift[i] = kp_stack_seat_lift(w);
        }
        solve_at(w, pressure, KP_SEAT_ABSENT);
        double slope = (lift[1] - lift[0]) / (2 * step * pressure), got = kp_stack_seat_compliance(w);
        compared++;
        met += fabs(got / slope - 1) <= bar;
        cr_expect(fabs(got / slope - 1) <= 0.1, "%g Pa: %g m/Pa for %g", pressure, got, slope);
        cr_expect(got != slope, "%g Pa: the same number is no comparison", pressure);
    }
    cr_expect(met >= compared - 3, "%d of %d", met, compared);
    kp_stack_free(w);
}
