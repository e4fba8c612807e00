/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Work, energy and force belong together.
   A pressure that rises from nothing does the work p V - integral of V dp on a stack that sweeps the volume V. A
   contact force does none, as long as the gap that it holds closed stays closed: then the work is the energy stored.
   But between nodes contact.c allows the faces to overlap, by more as the stack lifts (below half a thickness of lift):
   seen from the plates, a wall that is moved from outside, and what the forces do on it is

       dE = p dV + sum of (contact force x d gap),  gap = distance of the faces, less than zero where they overlap.

   It could be made to vanish by letting the overlap's own derivative push back, on the tip whose lift sets it: a force
   of 4e-4 of the sum of all contact forces where no shim touches. Forces and lifts are what the solver is for, and no
   answer is read off the work, so the wall is right and is kept; here its work is accounted for. */
#include "stack/stack_internal.h"
#include "random_stack.h"
#include "simple.h"
#include "sizes.h"
#include "num/num.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

/* Gauss-Legendre, five points on 0..1. Abramowitz and Stegun, table 25.4 (from memory; a wrong digit fails below). */
enum { GAUSS = 5, MAX_GAPS = 4000, MAX_DEPTH = 24 };
static const double place[GAUSS] = {0.5 - 0.5 * 0.90617984593866399280, 0.5 - 0.5 * 0.53846931010568309104, 0.5,
                                    0.5 + 0.5 * 0.53846931010568309104, 0.5 + 0.5 * 0.90617984593866399280};
static const double weight[GAUSS] = {0.5 * 0.23692688505618908751, 0.5 * 0.47862867049936646804,
                                     0.5 * 0.56888888888888888889, 0.5 * 0.47862867049936646804,
                                     0.5 * 0.23692688505618908751};

/* A load path being integrated. */
typedef struct path {
    kp_stack_workspace *w;
    double tolerance; /* [J] a panel whose halves differ from it by less is not halved again */
    bool contacts;    /* work of the contact forces is followed too */
    long solves;
    int deepest;
} path;

typedef struct work {
    double pressure, contact; /* [J] integral of V dp; of contact force x d gap */
    double doubt;             /* [J] */
} work;

/* Of the polynomial through the Gauss points, for the value at h: its derivative at g; what it is at either end. */
static void polynomial(double rate[GAUSS][GAUSS], double end[2][GAUSS])
{
    for (int h = 0; h < GAUSS; h++) {
        end[0][h] = end[1][h] = 1;
        for (int g = 0; g < GAUSS; g++) {
            end[0][h] *= g == h ? 1 : (0 - place[g]) / (place[h] - place[g]);
            end[1][h] *= g == h ? 1 : (1 - place[g]) / (place[h] - place[g]);
            rate[g][h] = g == h ? 0 : 1 / (place[h] - place[g]);
            for (int m = 0; m < GAUSS; m++) {
                if (g == h)
                    rate[g][h] += m == g ? 0 : 1 / (place[g] - place[m]);
                else
                    rate[g][h] *= m == g || m == h ? 1 : (place[g] - place[m]) / (place[h] - place[m]);
            }
        }
    }
}

/* Volume that the face shim has swept under the pressure [m3]: work of unit pressure. */
static double volume_of(const kp_stack_workspace *w)
{
    double sum = 0;
    const kp_plate *face = &w->plates[0];
    for (size_t k = 0; k < face->unknowns; k++)
        sum += face->load[k] * face->state[k];
    return sum * 2 * PI * w->length * w->length * w->height * w->stack.load_coverage;
}

/* Height of a disc's face above where it lies at rest [m]: lift of its middle, and t w'^2/4 out to its side as it
   tilts, the slope by differences. side: +1 the far face, -1 the one towards the piston. */
static double face_at(const kp_stack_workspace *w, int disc, double r, double side)
{
    if (disc < 0)
        return 0;
    const kp_plate *plate = kp_stack_plate(w, (size_t)disc);
    if (r <= plate->inner * w->length)
        return 0;
    /* To one side, as curvature may jump at a node; inward at the tip. */
    double h = 1e-5 * w->length;
    h = r + 2 * h > plate->outer * w->length ? -h : h;
    double lift = kp_stack_lift_at(w, (size_t)disc, r);
    double next = kp_stack_lift_at(w, (size_t)disc, r + h), second = kp_stack_lift_at(w, (size_t)disc, r + 2 * h);
    double slope = (4 * next - second - 3 * lift) / (2 * h);
    return lift + side * plate->thickness * w->height * slope * slope / 4;
}

/* Gap and force of every contact, the volume: at the Gauss points, then at the ends. */
typedef struct samples {
    double volume[GAUSS + 2];
    double force[GAUSS + 2][MAX_GAPS], gap[GAUSS + 2][MAX_GAPS];
} samples;

static size_t sample(path *along, double from, double to, samples *s)
{
    kp_stack_workspace *w = along->w;
    size_t gaps = along->contacts ? kp_stack_contact_count(w) : 0;
    cr_assert(gaps <= MAX_GAPS);
    for (int g = 0; g < GAUSS + 2; g++) {
        solve_at(w, g < GAUSS ? from + (to - from) * place[g] : g == GAUSS ? from : to, KP_SEAT_ABSENT);
        along->solves++;
        s->volume[g] = volume_of(w);
        for (size_t k = 0; k < gaps; k++) {
            kp_contact c = kp_stack_contact(w, k);
            s->force[g][k] = c.force;
            s->gap[g][k] = face_at(w, c.upper, c.radius, -1) - face_at(w, c.lower, c.radius, +1);
        }
    }
    return gaps;
}

/* By how much the polynomial misses an end. */
static double miss(const double end[GAUSS], const double value[], size_t stride, int which)
{
    double sum = -value[(size_t)(GAUSS + which) * stride];
    for (size_t h = 0; h < GAUSS; h++)
        sum += end[h] * value[h * stride];
    return sum;
}

/* By Gauss; what a contact does is its force times the derivative of its gap. doubt: a kink between an end and the
   Gauss point next to it escapes all of them, but the polynomial then misses the end; how large that error can be. */
static work panel(path *along, double from, double to)
{
    static samples s;
    double rate[GAUSS][GAUSS], end[2][GAUSS];
    polynomial(rate, end);
    size_t gaps = sample(along, from, to, &s);
    work sum = {0};
    for (int g = 0; g < GAUSS; g++)
        sum.pressure += weight[g] * (to - from) * s.volume[g];
    for (int e = 0; e < 2; e++)
        sum.doubt += 0.5 * place[0] * (to - from) * fabs(miss(end[e], s.volume, 1, e));
    for (size_t k = 0; k < gaps; k++) {
        for (int g = 0; g < GAUSS; g++)
            for (int h = 0; s.force[g][k] > 0 && h < GAUSS; h++)
                sum.contact += weight[g] * s.force[g][k] * rate[g][h] * s.gap[h][k];
    }
    return sum;
}

static work sum_of(work a, work b)
{
    return (work){a.pressure + b.pressure, a.contact + b.contact, a.doubt + b.doubt};
}

/* Halves a panel until that changes nothing: where contacts come and go the volume's slope jumps. */
static work integral(path *along, double from, double to, work whole, int depth)
{
    double middle = 0.5 * (from + to);
    work low = panel(along, from, middle), high = panel(along, middle, to), sum = sum_of(low, high);
    along->deepest = depth > along->deepest ? depth : along->deepest;
    double change = fabs(sum.pressure - whole.pressure) + fabs(sum.contact - whole.contact);
    if (change + sum.doubt <= along->tolerance || depth == MAX_DEPTH)
        return sum;
    return sum_of(integral(along, from, middle, low, depth + 1), integral(along, middle, to, high, depth + 1));
}

typedef struct balance {
    double energy, error, contact; /* [J] stored; [-] of it: what is missing, what the contacts did */
    long solves;
    int deepest;
} balance;

/* Work of a pressure that rises from nothing against the energy stored. The path is cut where the pressure doubles, as
   lifts go as powers of it; what is stored below the first piece is below 1e-10 of all. */
static balance balance_of(const kp_stack *stack, double pressure, bool contacts)
{
    enum { DOUBLINGS = 20 };
    const double tolerance = 1e-12; /* [-] of the energy: some hundred panels may err by it */
    /* [-] The overlap is that of the state before Newton's last step: this square is what is left of the difference.
       With 1e-11 contacts seem to do up to 3e-8 too little. */
    const double last_step = 1e-17;
    kp_stack_options options = {.elements = 12, .tolerance = last_step};
    path along = {.contacts = contacts};
    kp_error error = {0};
    cr_assert(kp_stack_begin(stack, &options, &along.w, &error) == KP_OK, "%s", error.message);
    solve_at(along.w, pressure, KP_SEAT_ABSENT);
    balance got = {.energy = kp_stack_energy(along.w)};
    double volume = volume_of(along.w);
    along.tolerance = tolerance * got.energy;
    work sum = panel(&along, 0, ldexp(pressure, -DOUBLINGS));
    for (int i = -DOUBLINGS; i < 0; i++) {
        double from = ldexp(pressure, i);
        sum = sum_of(sum, integral(&along, from, 2 * from, panel(&along, from, 2 * from), 0));
    }
    kp_stack_free(along.w);
    got.contact = sum.contact / got.energy;
    got.error = (pressure * volume - sum.pressure + sum.contact) / got.energy - 1;
    got.solves = along.solves;
    got.deepest = along.deepest;
    return got;
}

/* Work = energy to 1e-9. No contact's share is counted but in the taper: the others are borne by tips and nodes as long
   as the overlap between nodes grows, and a taper is on its mesh, where that does up to 1e-4. */
Test(energy, work_of_the_pressure)
{
    const double bar = 1e-9; /* [-] */
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
        double pressure;
        bool contacts;
    } cases[] = {
        {"one", one, 1, KP_GRIP_HELD, 0.01e6, false},
        {"one", one, 1, KP_GRIP_HELD, 2e6, false},
        {"one, sliding", one, 1, KP_GRIP_SLIDING, 1e6, false},
        {"five alike", five, 2, KP_GRIP_HELD, 3e6, false},
        {"two unlike", unlike, 2, KP_GRIP_HELD, 2e6, false},
        {"taper", taper, 4, KP_GRIP_HELD, 0.02e6, true},
        {"taper", taper, 4, KP_GRIP_HELD, 2e6, true},
        {"crossover", crossover, 4, KP_GRIP_HELD, 0.02e6, false},
        {"crossover", crossover, 4, KP_GRIP_HELD, 1.5e6, false},
        {"crossover, sliding", crossover, 4, KP_GRIP_SLIDING, 4e6, false},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        kp_disc discs[4];
        memcpy(discs, cases[i].discs, cases[i].count * sizeof *discs);
        for (size_t k = 0; k < cases[i].count; k++) {
            discs[k].has_hole = cases[i].grip == KP_GRIP_SLIDING;
            discs[k].hole_radius = 4e-3;
        }
        kp_stack stack = stack_of(discs, cases[i].count);
        stack.grip = cases[i].grip;
        balance got = balance_of(&stack, cases[i].pressure, cases[i].contacts);
        printf("work against energy, %s at %g MPa: %.1e of %.4g J (%ld loads, halved %d times at most)\n",
               cases[i].name, cases[i].pressure / 1e6, got.error, got.energy, got.solves, got.deepest);
        cr_expect(fabs(got.error) <= bar, "%s at %g MPa: work and energy differ by %.2e", cases[i].name,
                  cases[i].pressure / 1e6, got.error);
    }
}

/* Random stacks, crossovers, stops and bevelled washers among them: with the contacts' work, to 1e-9 as well; and that
   work is small. */
Test(energy, work_of_pressure_and_contacts, .timeout = 3600)
{
    const double bar = 1e-9, small = 2e-3; /* [-] */
    kp_random random;
    kp_random_seed(&random, 2025112507);
    int wanted = sized(40, 400), counted = 0;
    double worst = 0, most = 0;
    for (int i = 0; i < wanted;) {
        random_stack made;
        random_stack_make(&random, &made);
        bool ring = false;
        for (size_t k = 0; k < made.stack.disc_count; k++)
            ring = ring || made.discs[k].hole_radius > made.stack.clamp_radius;
        if (ring || made.stack.disc_count < 2 || made.stack.disc_count > 7)
            continue;
        double pressure = i % 2 ? 2e4 : 2e6;
        balance got = balance_of(&made.stack, pressure, true);
        cr_expect(fabs(got.error) <= bar, "stack %d at %g MPa: %.2e is missing; contacts did %.1e", i, pressure / 1e6,
                  got.error, got.contact);
        cr_expect(fabs(got.contact) <= small, "stack %d at %g MPa: contacts did %.1e", i, pressure / 1e6, got.contact);
        counted += fabs(got.contact) > 100 * bar;
        worst = fmax(worst, fabs(got.error));
        most = fmax(most, fabs(got.contact));
        i++;
    }
    printf("work of pressure and contacts against energy: %d stacks, worst %.1e; contacts did %.1e at most, more than "
           "1e-7 in %d\n",
           wanted, worst, most, counted);
    cr_expect(counted >= wanted / 20, "only %d stacks met a moving overlap", counted);
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
