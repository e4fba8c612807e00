/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stacks beyond the load at which they stop being round: the onset, the mean lift of the folded stack, and what must
   hold of any elastic stack. */
#include "random_stack.h"
#include "simple.h"
#include "sizes.h"
#include "stack/lobed.h"
#include "truth.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { DISCS_MAX = 8 };

/* A stack from "40x0.2+30x0.2" and radii [mm]. */
static kp_stack stack_from(const char *text, double clamp, double port, double land, bool sliding, kp_disc *discs)
{
    size_t count = 0;
    for (const char *at = text; at && count < DISCS_MAX; at = strchr(at, '+')) {
        double outside, thickness;
        at += *at == '+';
        cr_assert(sscanf(at, "%lfx%lf", &outside, &thickness) == 2, "%s", text);
        discs[count] = shim(1, outside, thickness);
        discs[count].has_hole = sliding;
        discs[count++].hole_radius = sliding ? 5e-3 : 0;
    }
    return (kp_stack){.clamp_radius = clamp / 1e3,
                      .disc_count = count,
                      .discs = discs,
                      .port_inner_radius = port / 1e3,
                      .land_inner_radius = land / 1e3,
                      .land_outer_radius = land / 1e3,
                      .load_coverage = 1,
                      .grip = sliding ? KP_GRIP_SLIDING : KP_GRIP_HELD,
                      .folds = true};
}

static kp_onset onset_of(const kp_stack *stack)
{
    kp_stack_workspace *w = begin(stack, NULL);
    kp_onset onset;
    kp_error error = {0};
    cr_assert(kp_stack_find_onset(w, 20e6, &onset, &error) == KP_OK, "%s", error.message);
    kp_stack_free(w);
    return onset;
}

/* One shim 0.1 %, half of the last digit. Stacks 1.5 %: the other program ties discs at its own nodes. */
Test(fold, onsets_of_stacks)
{
    truth table = truth_read("fold_onset.csv");
    for (size_t row = 0; row < table.rows; row++) {
        kp_disc discs[DISCS_MAX];
        kp_stack stack = stack_from(truth_text(&table, row, "discs"), truth_number(&table, row, "clamp_mm"),
                                    truth_number(&table, row, "port_mm"), truth_number(&table, row, "land_mm"),
                                    truth_number(&table, row, "sliding") > 0, discs);
        kp_onset onset = onset_of(&stack);
        double want = 1e6 * truth_number(&table, row, "pressure_MPa");
        cr_expect(onset.folds && onset.lobes == (int)truth_number(&table, row, "lobes"), "row %zu: %d lobes", row,
                  onset.lobes);
        double tolerance = stack.disc_count == 1 ? 0.001 : 0.015;
        cr_expect(fabs(onset.pressure / want - 1) <= tolerance, "row %zu: %.5g Pa, not %.5g", row, onset.pressure,
                  want);
    }
    truth_free(&table);
}

Test(fold, onsets_of_clamp_ratios)
{
    truth table = truth_read("fold_onset_ratio.csv");
    for (size_t row = 0; row < table.rows; row++) {
        double rim = 21.7e-3, t = 0.23e-3, clamp = truth_number(&table, row, "clamp_over_rim") * rim;
        kp_disc disc = shim(1, 2e3 * rim, 1e3 * t);
        kp_stack stack = stack_from("40x0.2", 1e3 * clamp, 1e3 * (clamp + (rim - clamp) / 6),
                                    1e3 * (rim - 0.21 * (rim - clamp)), false, &(kp_disc){0});
        stack.discs = &disc;
        kp_onset onset = onset_of(&stack);
        double load = onset.pressure * pow(rim / t, 4) / disc.material.young;
        cr_expect(onset.lobes == (int)truth_number(&table, row, "lobes"), "row %zu: %d lobes", row, onset.lobes);
        cr_expect(fabs(load / truth_number(&table, row, "load") - 1) <= 0.01, "row %zu: load %g", row, load);
        cr_expect(fabs(onset.rim_lift / t / truth_number(&table, row, "rim_lift") - 1) <= 0.01,
                  "row %zu: rim lift %g t", row, onset.rim_lift / t);
    }
    truth_free(&table);
}

/* ---- lifts against three-dimensional elements ---------------------------------------------------------------------
 */

/* Columns of a table: mean lift at the land's inner edge, crest's and valley's; what is added to them. */
typedef struct columns {
    const char *mean, *crest, *valley;
    double plus;
} columns;

/* Largest differences from a table. */
typedef struct differences {
    double to_four, to_six, beyond; /* [-] of the mean lift, by thicknesses of the face shim                     */
    double lobes;                   /* [-] of crest and valley, of the mean; to six thicknesses                  */
    int rows, folded;
} differences;

/* From 0.85 to 1.2 of the onset the disturbance that starts the lobes is worth 1 % of the mean in the tables, and more
   of crest and valley: such rows count for the mean only, 1 % less. */
static void add_row(const kp_stack *stack, double lift, double lobe, const double want[3], double load, differences *d)
{
    double thicknesses = want[0] / 1e3 / stack->discs[0].thickness;
    bool near = load > 0.85 && load < 1.2;
    double mean = fmax(0, fabs(lift / want[0] - 1) - (near ? 0.01 : 0));
    double *worst = thicknesses <= 4 ? &d->to_four : thicknesses <= 6 ? &d->to_six : &d->beyond;
    *worst = fmax(*worst, mean);
    if (!near && thicknesses <= 6 && isfinite(want[1])) {
        d->lobes = fmax(d->lobes, fmax(fabs(lift + lobe - want[1]), fabs(lift - lobe - want[2])) / want[0]);
    }
}

static differences compare_with(const char *file, const char *only, columns c, const kp_stack *stack)
{
    truth table = truth_read(file);
    kp_stack_workspace *w = begin(stack, NULL);
    kp_onset onset = stack->ports > 0 ? (kp_onset){.pressure = INFINITY} : onset_of(stack);
    differences d = {0};
    for (size_t row = 0; row < table.rows; row++) {
        if ((only && strcmp(truth_text(&table, row, "case"), only) != 0) || !truth_has(&table, row, c.mean)) {
            continue;
        }
        double pressure = 1e6 * truth_number(&table, row, "pressure");
        solve_at(w, pressure, KP_SEAT_ABSENT);
        const double want[3] = {truth_number(&table, row, c.mean) + c.plus,
                                c.crest ? truth_number(&table, row, c.crest) + c.plus : (double)NAN,
                                c.crest ? truth_number(&table, row, c.valley) + c.plus : (double)NAN};
        add_row(stack, 1e3 * kp_stack_seat_lift(w), 1e3 * kp_stack_seat_lobe(w), want, pressure / onset.pressure, &d);
        d.rows++;
        d.folded += kp_stack_is_folded(w, NULL);
    }
    kp_stack_free(w);
    truth_free(&table);
    return d;
}

static const columns lifts = {"mean", "max", "min", 0};

/* Bars: 2 % to four thicknesses, 3 % to six; crest and valley 6 % of the mean. Beyond six one harmonic of the lift
   falls short: 5 % at eight. */
static void check(const char *name, differences d)
{
    cr_log_info("%s: mean %.2f %% to four thicknesses, %.2f to six, %.2f beyond; crest and valley %.2f %% (%d rows)",
                name, 100 * d.to_four, 100 * d.to_six, 100 * d.beyond, 100 * d.lobes, d.rows);
    cr_expect(d.rows >= 4 && d.folded >= 2, "%s: %d rows, %d folded", name, d.rows, d.folded);
    cr_expect(d.to_four <= 0.02 && d.to_six <= 0.03 && d.beyond <= 0.05, "%s: mean %g, %g, %g", name, d.to_four,
              d.to_six, d.beyond);
    cr_expect(d.lobes <= 0.065, "%s: crest and valley %g", name, d.lobes);
}

Test(fold, lifts_against_three_dimensional_elements)
{
    static const struct {
        const char *file, *only, *discs;
        double clamp, port, land;
        bool sliding;
    } cases[] = {
        {"fold_single.csv", "c8", "40x0.2", 8, 10, 17.5, false},
        {"fold_single.csv", "c10", "40x0.2", 10, 12, 17.5, false},
        {"fold_single.csv", "w38", "38x0.25", 8, 10, 16.5, false},
        {"fold_stacks.csv", "40+30", "40x0.2+30x0.2", 8, 10, 17.5, false},
        {"fold_stacks.csv", "40+40", "40x0.2+40x0.2", 8, 10, 17.5, false},
        {"fold_stacks.csv", "van", "52x0.2+52x0.2+44x0.2+34x0.2+28x0.2", 10, 12, 23, false},
        {"fold_crossover.csv", NULL, "40x0.2+24x0.1+38x0.2", 8, 10, 17.5, false},
        {"fold_sliding.csv", "held", "40x0.2", 8, 10, 17.5, true},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        kp_disc discs[DISCS_MAX];
        kp_stack stack =
            stack_from(cases[i].discs, cases[i].clamp, cases[i].port, cases[i].land, cases[i].sliding, discs);
        check(cases[i].only ? cases[i].only : cases[i].file, compare_with(cases[i].file, cases[i].only, lifts, &stack));
    }
}

/* Once a dished stack has cracked, its mean opening is the free stack's mean lift less the dish: of the finite
   elements, within 0.0003 mm; so the free column is ours to meet. */
Test(fold, a_dished_pair)
{
    kp_disc discs[DISCS_MAX];
    kp_stack stack = stack_from("40x0.2+36x0.2", 8, 10, 17.5, false, discs);
    check("dished pair",
          compare_with("fold_seat_stack.csv", NULL, (columns){"free_minus_dish", NULL, NULL, 0.25}, &stack));
}

/* On ports: 1 % to three thicknesses, 4 % to six for three and four ports. Four ports beyond 1.6 thicknesses are
   a lower bound in the table, whose sector admits 4 and 8 lobes only; so are our four lobes. Six ports fold in three,
   as an even pressure of their mean does: 3.2 % to four thicknesses. */
Test(fold, ports)
{
    truth table = truth_read("fold_ports.csv");
    int seen = 0;
    double worst[3] = {0}; /* to three thicknesses, to six; six ports to four */
    for (size_t row = 0; row < table.rows; row++) {
        kp_disc discs[DISCS_MAX];
        kp_stack stack = stack_from("40x0.2", 8, 10, 17.5, false, discs);
        stack.ports = (int)truth_number(&table, row, "N");
        stack.port_share = stack.load_coverage = truth_number(&table, row, "coverage");
        kp_stack_workspace *w = begin(&stack, NULL);
        solve_at(w, 1e6 * truth_number(&table, row, "pressure"), KP_SEAT_ABSENT);
        double want = truth_number(&table, row, "mean"), thicknesses = want / 0.2;
        double off = fabs(1e3 * kp_stack_seat_lift(w) / want - 1);
        double lobes =
            fmax(fabs(1e3 * (kp_stack_seat_lift(w) + kp_stack_seat_lobe(w)) - truth_number(&table, row, "max")),
                 fabs(1e3 * (kp_stack_seat_lift(w) - kp_stack_seat_lobe(w)) - truth_number(&table, row, "min")));
        if (stack.ports == 6) {
            worst[2] = thicknesses <= 4 ? fmax(worst[2], off) : worst[2];
        } else {
            size_t band = thicknesses <= 3 ? 0 : 1;
            worst[band] = thicknesses <= 6 ? fmax(worst[band], off) : worst[band];
            cr_expect(thicknesses > 6 || lobes <= 0.06 * want, "row %zu: crest or valley %g mm off", row, lobes);
        }
        seen++;
        kp_stack_free(w);
    }
    cr_log_info("ports: %.2f %% to three thicknesses, %.2f to six; six ports %.2f to four", 100 * worst[0],
                100 * worst[1], 100 * worst[2]);
    cr_expect(seen > 50 && worst[0] <= 0.01 && worst[1] <= 0.04 && worst[2] <= 0.032, "%d rows: %g, %g, %g", seen,
              worst[0], worst[1], worst[2]);
    truth_free(&table);
}

/* The largest stress off the clamp's corner, over the whole circle, against the elements: 5 %. */
Test(fold, largest_stress)
{
    truth table = truth_read("fold_stress_peaks.csv");
    for (size_t row = 0; row < table.rows; row++) {
        kp_disc discs[DISCS_MAX];
        bool single = strcmp(truth_text(&table, row, "case"), "single") == 0;
        kp_stack stack = stack_from(single ? "40x0.2" : "40x0.2+30x0.2", 8, 10, 17.5, false, discs);
        kp_stack_workspace *w = begin(&stack, NULL);
        solve_at(w, 1e6 * truth_number(&table, row, "pressure"), KP_SEAT_ABSENT);
        size_t disc = (size_t)truth_number(&table, row, "shim") - 1;
        kp_disc_stress s = kp_stack_stress_at(w, disc, truth_number(&table, row, "r") / 1e3);
        double ours = kp_von_mises(s.piston_side_radial, s.piston_side_hoop) / 1e6;
        double want = truth_number(&table, row, "peak_vm");
        cr_expect(fabs(ours / want - 1) <= 0.05, "row %zu: %g MPa, not %g", row, ours, want);
        cr_log_info("largest stress, row %zu: %.0f MPa for %.0f", row, ours, want);
        kp_stack_free(w);
    }
    truth_free(&table);
}

/* ---- what must hold of any elastic stack --------------------------------------------------------------------------
 */

/* Gradient and tangent of a plate with lobes are the derivatives of its energy, by central differences. */
Test(fold, derivatives_of_the_energy)
{
    kp_disc discs[DISCS_MAX];
    kp_stack stack = stack_from("40x0.2", 8, 10, 17.5, true, discs);
    stack.flatness = 0.02e-3;
    kp_stack_workspace *w = begin(&stack, NULL);
    solve_at(w, 0.21e6, KP_SEAT_ABSENT);
    cr_assert(kp_stack_is_folded(w, NULL));
    kp_lobed *plate = &w->folding->lobed->plates[0];
    enum { MAX = 2 * KP_MAX_SPLINES };
    size_t n = KP_PAIR * plate->plate->splines, stride = (n + KP_BATCH - 1) / KP_BATCH * KP_BATCH;
    double x[MAX], gradient[MAX], side[2][MAX], largest = 0, stiffest = 0, off = 0, off_tangent = 0;
    double *tangent = malloc(n * stride * sizeof *tangent);
    memcpy(x, w->folding->lobed->x, n * sizeof *x);
    kp_lobed_evaluate(plate, x, gradient);
    kp_lobed_tangent(plate, w->folding->lobed->scratch, stride, tangent);
    for (size_t k = 4; k < n; k++) {
        const double h = 1e-5, at = x[k];
        double energy[2];
        for (int s = 0; s < 2; s++) {
            x[k] = at + (s == 0 ? -h : h);
            energy[s] = kp_lobed_evaluate(plate, x, side[s]);
        }
        x[k] = at;
        off = fmax(off, fabs((energy[1] - energy[0]) / (2 * h) - gradient[k]));
        largest = fmax(largest, fabs(gradient[k]));
        for (size_t j = k; j < n; j++) {
            off_tangent = fmax(off_tangent, fabs((side[1][j] - side[0][j]) / (2 * h) - tangent[j * stride + k]));
            stiffest = fmax(stiffest, fabs(tangent[j * stride + k]));
        }
    }
    cr_expect(off <= 1e-6 * largest && off_tangent <= 1e-9 * stiffest, "gradient %g of %g, tangent %g of %g", off,
              largest, off_tangent, stiffest);
    free(tangent);
    kp_stack_free(w);
}

/* Below its onset a perfect stack that may fold is the round one: bit for bit until the onset is looked for, and after
   that within the 1e-9 that another start leaves. */
Test(fold, below_the_onset_nothing_changes)
{
    kp_disc discs[DISCS_MAX];
    kp_stack folding = stack_from("52x0.2+52x0.2+44x0.2+34x0.2+28x0.2", 10, 12, 23, false, discs), round = folding;
    round.folds = false;
    kp_stack_workspace *a = begin(&folding, NULL), *b = begin(&round, NULL);
    const double pressures[] = {0.013e6, 0.047e6, 0.104e6, 0.31e6, 0.082e6};
    for (size_t i = 0; i < sizeof pressures / sizeof pressures[0]; i++) {
        bool beyond = pressures[i] > 0.2e6;
        solve_at(a, pressures[i], KP_SEAT_ABSENT);
        if (!beyond) {
            solve_at(b, pressures[i], KP_SEAT_ABSENT);
        }
        cr_expect(kp_stack_is_folded(a, NULL) == beyond);
        double lift = kp_stack_seat_lift(a), other = kp_stack_seat_lift(b);
        cr_expect(i < 1 ? lift == other : beyond || fabs(lift / other - 1) <= 1e-9, "%g: %.17g, %.17g", pressures[i],
                  lift, other);
    }
    kp_stack_free(a);
    kp_stack_free(b);
}

/* The relaxed membrane has an energy: what the pressure does from rest is stored, through the onset and beyond.
   The trapezoidal rule over 200 steps below the onset and 200 above it is good for 2e-5. */
Test(fold, work_is_stored)
{
    kp_disc discs[DISCS_MAX];
    kp_stack stack = stack_from("40x0.2+24x0.1+38x0.2", 8, 10, 17.5, false, discs);
    kp_onset onset = onset_of(&stack);
    kp_stack_workspace *w = begin(&stack, NULL);
    enum { STEPS = 200 };
    double work = 0, stored = 0;
    double bounds[3] = {0.05 * onset.pressure, onset.pressure * (1 + 1e-9), 4 * onset.pressure};
    solve_at(w, bounds[0], KP_SEAT_ABSENT);
    double at_first = kp_stack_energy(w);
    for (int part = 0; part < 2; part++) {
        double volume[STEPS + 1], pressure[STEPS + 1];
        for (int i = 0; i <= STEPS; i++) {
            pressure[i] = bounds[part] * pow(bounds[part + 1] / bounds[part], (double)i / STEPS);
            solve_at(w, pressure[i], KP_SEAT_ABSENT);
            const kp_plate *face = &w->plates[0];
            const double *mean = kp_stack_is_folded(w, NULL) ? w->folding->lobed->x : face->state;
            face = &kp_stack_solution(w)->plates[0];
            volume[i] = 0;
            for (size_t k = 0; k < face->unknowns; k += KP_PAIR) {
                volume[i] += face->load[k] * mean[k];
            }
        }
        for (int i = 0; i < STEPS; i++) {
            work += 0.5 * (pressure[i] + pressure[i + 1]) * (volume[i + 1] - volume[i]);
        }
        stored = kp_stack_energy(w);
    }
    work *= kp_stack_energy_unit(w) / kp_stack_pressure_unit(w);
    cr_expect(fabs(work / (stored - at_first) - 1) <= 2e-5, "work %g J, stored %g J", work, stored - at_first);
    kp_stack_free(w);
}

/* All lengths twice as large: the same pressures, lifts twice as large. */
Test(fold, lengths_scale)
{
    kp_disc discs[DISCS_MAX], twice[DISCS_MAX];
    kp_stack small = stack_from("40x0.2+30x0.2", 8, 10, 17.5, false, discs);
    kp_stack large = stack_from("80x0.4+60x0.4", 16, 20, 35, false, twice);
    kp_stack_workspace *a = begin(&small, NULL), *b = begin(&large, NULL);
    for (double p = 0.03e6; p < 1e6; p *= 1.7) {
        solve_at(a, p, KP_SEAT_ABSENT);
        solve_at(b, p, KP_SEAT_ABSENT);
        cr_expect(fabs(2 * kp_stack_seat_lift(a) / kp_stack_seat_lift(b) - 1) <= 1e-12, "%g", p);
        cr_expect(kp_stack_is_folded(a, NULL) == kp_stack_is_folded(b, NULL));
    }
    kp_stack_free(a);
    kp_stack_free(b);
}

/* ---- random stacks ------------------------------------------------------------------------------------------------
 */

/* What random stacks came to. */
typedef struct counts {
    int stacks, refused, loads, folded, most_steps;
    int by_lobes[KP_LOBES_MAX + 1];
    double least_lift, most_lift; /* [-] thicknesses of the face shim at the least load that is folded */
} counts;

/* Ports on three in ten; perfect, nearly flat, usual and poor shims. */
static void make_foldable(kp_random *random, random_stack *s)
{
    static const double flatness[] = {0, 1e-6, 10e-6, 30e-6};
    random_stack_make(random, s);
    s->stack.folds = true;
    s->stack.flatness = flatness[(size_t)kp_random_uniform(random, 0, 3.999)];
    int ports = 2 + (int)kp_random_uniform(random, 0, 5.99);
    double share = kp_random_uniform(random, 0.35, 0.9);
    if (kp_random_uniform(random, 0, 1) < 0.3) {
        s->stack.ports = ports;
        s->stack.port_share = share;
    }
}

/* Six loads, from small ones to what no shim bears. */
static void load_up(const random_stack *s, double top, int index, counts *c)
{
    kp_stack_workspace *w = NULL;
    kp_error error = {0};
    kp_onset onset = {0};
    bool folded = false;
    cr_assert_eq(kp_stack_begin(&s->stack, NULL, &w, &error), KP_OK, "stack %d: %s", index, error.message);
    for (int k = 5; k >= 0; k--) {
        kp_status status = kp_stack_solve(w, top * pow(0.4, k), KP_SEAT_ABSENT, &error);
        if (status == KP_NOT_MODELLED) {
            c->refused++; /* it cannot be clamped flat */
            break;
        }
        cr_assert_eq(status, KP_OK, "stack %d, load %d: %s", index, k, error.message);
        c->loads++;
        double lift = kp_stack_seat_lift(w) / s->discs[0].thickness;
        bool now = kp_stack_is_folded(w, &onset);
        if (now && !folded) {
            c->least_lift = fmin(c->least_lift, lift);
        }
        c->most_lift = now ? fmax(c->most_lift, lift) : c->most_lift;
        c->most_steps = now && kp_stack_last_record(w).newton_steps > c->most_steps
                            ? kp_stack_last_record(w).newton_steps
                            : c->most_steps;
        folded = folded || now;
    }
    c->folded += folded;
    c->by_lobes[folded ? onset.lobes : 0]++;
    kp_stack_free(w);
}

/* None fails. 2 000 were run once: none failed, 72 % folded. */
Test(fold, random_stacks)
{
    kp_random random;
    kp_random_seed(&random, 2025112503);
    counts c = {.stacks = SANITIZED ? 8 : sized(40, 20000), .least_lift = INFINITY};
    for (int i = 0; i < c.stacks; i++) {
        random_stack s;
        make_foldable(&random, &s);
        load_up(&s, 1e6 * exp(kp_random_uniform(&random, 0, 2.3)), i, &c);
    }
    cr_log_info(
        "%d stacks, %d loads, %d folded from %.2g thicknesses on to %.3g; 2 lobes %d, 3: %d, 4: %d, 5: %d, 6: %d, "
        "7: %d; at most %d steps a load; %d cannot be clamped",
        c.stacks, c.loads, c.folded, c.least_lift, c.most_lift, c.by_lobes[2], c.by_lobes[3], c.by_lobes[4],
        c.by_lobes[5], c.by_lobes[6], c.by_lobes[7], c.most_steps, c.refused);
    cr_expect(2 * c.folded > c.stacks, "%d of %d stacks folded", c.folded, c.stacks);
}
