/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The programme of a Newton step against all sets of contacts tried one by one.
   Small-deflection stacks whose possible contacts are cut down to eight at most: a dense stiffness matrix, all 2^n sets
   of contacts taken as closed, the one that keeps every gap open and every force pushing (Karush, Kuhn and Tucker's
   conditions: for a convex programme there is one). It shares the plates' matrices with the solver, and no method. */
#include "stack/stack_internal.h"
#include "random_stack.h"
#include "simple.h"
#include "sizes.h"
#include "num/num.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { MAX_CONTACTS = 8, UNKNOWNS_MOST = 700, ELEMENTS = 4 };
static const unsigned long long SEED = 2025112502;
/* Rounding of dense and banded elimination, of the largest lift or force. [-] */
static const double ROUNDING = 1e-10;
/* Gaps up to 1e-12 thicknesses are closed to the programme, and a lift further out is up to twenty times that. [-] */
static const double CLOSED = 2e-11;
/* What large deflection and the tilt of the faces add at lifts of 3e-5 thicknesses of the face shim. [-] */
static const double SMALL = 1e-5;

typedef struct dense {
    size_t n; /* W unknowns of all plates */
    size_t first[RANDOM_LINES];
    double *k;                               /* [n][n] Cholesky factor of the stiffness */
    double load[UNKNOWNS_MOST];              /* of unit pressure */
    double row[MAX_CONTACTS][UNKNOWNS_MOST]; /* gap coefficients */
    double offset[MAX_CONTACTS];
    size_t gap[MAX_CONTACTS];
    size_t contacts;
} dense;

static size_t field(const dense *d, size_t plate, size_t joint)
{
    return d->first[plate] + joint / KP_PAIR;
}

static void factor(dense *d)
{
    size_t n = d->n;
    for (size_t i = 0; i < n; i++) {
        for (size_t j = 0; j <= i; j++) {
            double sum = d->k[i * n + j];
            for (size_t m = 0; m < j; m++)
                sum -= d->k[i * n + m] * d->k[j * n + m];
            if (i == j)
                cr_assert(sum > 0, "stiffness not positive at %zu", i);
            d->k[i * n + j] = i == j ? sqrt(sum) : sum / d->k[j * n + j];
        }
    }
}

static void solve_stiffness(const dense *d, const double *b, double *x)
{
    size_t n = d->n;
    for (size_t i = 0; i < n; i++) {
        double sum = b[i];
        for (size_t m = 0; m < i; m++)
            sum -= d->k[i * n + m] * x[m];
        x[i] = sum / d->k[i * n + i];
    }
    for (size_t i = n; i-- > 0;) {
        double sum = x[i];
        for (size_t m = i + 1; m < n; m++)
            sum -= d->k[m * n + i] * x[m];
        x[i] = sum / d->k[i * n + i];
    }
}

static void fill(dense *d, const kp_stack_workspace *w)
{
    d->n = 0;
    for (size_t i = 0; i < w->plate_count; i++) {
        d->first[i] = d->n;
        d->n += w->plates[i].splines;
    }
    cr_assert(d->n <= UNKNOWNS_MOST);
    size_t n = d->n;
    d->k = calloc(n * n, sizeof *d->k);
    cr_assert(d->k != NULL);
    memset(d->load, 0, sizeof d->load);
    for (size_t p = 0; p < w->plate_count; p++) {
        const kp_plate *plate = &w->plates[p];
        for (size_t i = 0; i < plate->splines; i++) {
            size_t at = d->first[p] + i;
            bool clamped = i < 2; /* lift and slope at the clamp */
            for (size_t j = i > KP_FIELD_WIDTH ? i - KP_FIELD_WIDTH : 0; j <= i; j++) {
                double value = clamped || j < 2 ? (i == j ? 1 : 0) : plate->bending_matrix[j * KP_FIELD_ROW + i - j];
                d->k[at * n + d->first[p] + j] = d->k[(d->first[p] + j) * n + at] = value;
            }
            d->load[at] = p == 0 && !clamped ? plate->load[KP_PAIR * i] : 0;
        }
    }
    factor(d);
}

static void gap_row(const dense *d, const kp_gap *gap, double *row)
{
    memset(row, 0, d->n * sizeof *row);
    for (size_t k = 0; k < 2; k++) {
        const kp_side *side = &gap->side[k];
        for (size_t i = 0; side->plate >= 0 && i < 4; i++) {
            size_t joint = side->base + KP_PAIR * i;
            if (joint >= 2 * KP_PAIR)
                row[field(d, (size_t)side->plate, joint)] += side->value[i];
        }
    }
}

static double dot(size_t n, const double *a, const double *b)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += a[i] * b[i];
    return sum;
}

/* Some contacts that the free plates would violate, and some others; the rest do not exist for this case. Only those at
   nodes and tips: nothing may overlap there. */
static void choose(dense *d, kp_stack_workspace *w, kp_random *random, const double *free_lift, bool seat)
{
    static double row[UNKNOWNS_MOST];
    size_t wanted = (size_t)kp_random_int(random, 2, MAX_CONTACTS);
    d->contacts = 0;
    for (size_t g = 0; g < w->gap_count; g++)
        w->gaps[g].enabled = false;
    for (int attempt = 0; attempt < 2000 && d->contacts < wanted; attempt++) {
        size_t g = (size_t)kp_random_int(random, 0, (int)w->gap_count - 1);
        kp_gap *gap = &w->gaps[g];
        gap_row(d, gap, row);
        bool violated = gap->rest + dot(d->n, row, free_lift) < 0;
        bool moves = dot(d->n, row, row) > 0;
        if (gap->enabled || gap->allowance > 0 || !moves || (gap->lower == KP_CONTACT_SEAT && !seat) ||
            (!violated && attempt % 3 != 0))
            continue;
        gap->enabled = true;
    }
    for (size_t g = 0; g < w->gap_count; g++) {
        if (w->gaps[g].enabled && d->contacts < MAX_CONTACTS) {
            gap_row(d, &w->gaps[g], d->row[d->contacts]);
            d->offset[d->contacts] = w->gaps[g].rest;
            d->gap[d->contacts++] = g;
        } else {
            w->gaps[g].enabled = false;
        }
    }
}

/* Solves the contacts of one set as closed, by Gauss with pivoting; false when they depend on each other. */
static bool solve_set(size_t n, double s[MAX_CONTACTS][MAX_CONTACTS], const double *gap, unsigned set, double *force)
{
    size_t at[MAX_CONTACTS], count = 0;
    double a[MAX_CONTACTS][MAX_CONTACTS + 1];
    for (size_t i = 0; i < n; i++) {
        force[i] = 0;
        if (set >> i & 1)
            at[count++] = i;
    }
    for (size_t i = 0; i < count; i++) {
        for (size_t j = 0; j < count; j++)
            a[i][j] = s[at[i]][at[j]];
        a[i][count] = -gap[at[i]];
    }
    for (size_t c = 0; c < count; c++) {
        size_t pivot = c;
        for (size_t i = c; i < count; i++)
            pivot = fabs(a[i][c]) > fabs(a[pivot][c]) ? i : pivot;
        if (fabs(a[pivot][c]) < 1e-12 * s[at[c]][at[c]])
            return false;
        for (size_t j = 0; j <= count; j++) {
            double swap = a[c][j];
            a[c][j] = a[pivot][j];
            a[pivot][j] = swap;
        }
        for (size_t i = 0; i < count; i++) {
            double part = i == c ? 0 : a[i][c] / a[c][c];
            for (size_t j = c; j <= count; j++)
                a[i][j] -= part * a[c][j];
        }
    }
    for (size_t i = 0; i < count; i++)
        force[at[i]] = a[i][count] / a[i][i];
    return true;
}

/* Tries every set. lift [n]: the answer; returns how many sets of positive forces pass. */
static int brute_force(const dense *d, double pressure, const double *free_lift, double *lift, double *force)
{
    static double column[MAX_CONTACTS][UNKNOWNS_MOST];
    double s[MAX_CONTACTS][MAX_CONTACTS], gap[MAX_CONTACTS];
    double size = 0, strongest = 0;
    for (size_t i = 0; i < d->n; i++)
        size = fmax(size, fabs(pressure * free_lift[i]));
    for (size_t i = 0; i < d->contacts; i++) {
        solve_stiffness(d, d->row[i], column[i]);
        gap[i] = d->offset[i] + pressure * dot(d->n, d->row[i], free_lift);
    }
    for (size_t i = 0; i < d->contacts; i++)
        for (size_t j = 0; j < d->contacts; j++)
            s[i][j] = dot(d->n, d->row[i], column[j]);
    int passed = 0;
    for (unsigned set = 0; set < 1u << d->contacts; set++) {
        double f[MAX_CONTACTS];
        if (!solve_set(d->contacts, s, gap, set, f))
            continue;
        bool good = true;
        for (size_t i = 0; i < d->contacts; i++) {
            double open = gap[i] + dot(d->contacts, s[i], f);
            good = good && f[i] >= 0 && open >= -1e-11 * (1 + size) && (!(set >> i & 1) || f[i] > 0);
            strongest = fmax(strongest, f[i]);
        }
        if (!good)
            continue;
        passed++;
        memcpy(force, f, sizeof f);
        for (size_t k = 0; k < d->n; k++) {
            lift[k] = pressure * free_lift[k];
            for (size_t i = 0; i < d->contacts; i++)
                lift[k] += f[i] * column[i][k];
        }
    }
    return passed;
}

/* The solver's own programme from no lift, as kp_stack_solve's first step is. */
static void solve_programme(kp_stack_workspace *w, double pressure)
{
    w->qp.count = 0;
    w->pressure = pressure;
    for (size_t i = 0; i < w->plate_count; i++)
        memset(w->plates[i].state, 0, w->plates[i].unknowns * sizeof(double));
    kp_contact_linearise(w, 1);
    for (size_t i = 0; i < w->plate_count; i++) {
        kp_plate_force(&w->plates[i], pressure);
        kp_plate_assemble_linear(&w->plates[i]);
        cr_assert(kp_plate_factor(&w->plates[i]));
    }
    cr_assert(kp_qp_solve(w));
}

/* Force that the programme ended with. Only active contacts carry one; the rest of the array is old. */
static double force_of(const kp_qp *p, size_t gap)
{
    for (size_t i = 0; i < p->count; i++)
        if (p->active[i] == gap)
            return p->multiplier[gap];
    return 0;
}

/* Largest difference between the plates' lifts (step or state) and the dense answer, of the largest lift. */
static double lift_error(const dense *d, const kp_stack_workspace *w, bool step, const double *lift)
{
    double most = 0, size = 0;
    for (size_t p = 0; p < w->plate_count; p++) {
        const double *q = step ? w->plates[p].step : w->plates[p].state;
        for (size_t k = 0; k < w->plates[p].unknowns; k += KP_PAIR) {
            double want = lift[field(d, p, k)];
            size = fmax(size, fabs(want));
            most = fmax(most, fabs(q[k] - want));
        }
    }
    return most <= CLOSED ? 0 : most / size;
}

typedef struct tally {
    int cases, closed[MAX_CONTACTS + 1], solved, several;
    double worst, worst_solved;
} tally;

static void check_case(dense *d, kp_stack_workspace *w, kp_random *random, int index, tally *t)
{
    static double free_lift[UNKNOWNS_MOST], lift[UNKNOWNS_MOST];
    double force[MAX_CONTACTS] = {0};
    solve_stiffness(d, d->load, free_lift);
    double tip = free_lift[w->plates[0].splines - 1];
    /* A lift of 3e-5 thicknesses: what large deflection and the faces' tilt add is in proportion and below the bar. */
    bool tiny = index % 2 == 0;
    double pressure = (tiny ? 3e-5 : kp_random_uniform(random, 0.1, 4)) / tip;
    for (size_t i = 0; i < d->n; i++)
        lift[i] = pressure * free_lift[i];
    choose(d, w, random, lift, !tiny);
    int passed = brute_force(d, pressure, free_lift, lift, force);
    cr_assert(passed >= 1, "case %d: no set of contacts is the answer", index);
    t->several += passed > 1;
    solve_programme(w, pressure);
    double error = lift_error(d, w, true, lift), strongest = 0;
    t->worst = fmax(t->worst, error);
    cr_assert(error <= ROUNDING, "case %d: lifts differ by %g of the largest", index, error);
    int closed = 0;
    for (size_t i = 0; i < d->contacts; i++) {
        closed += force[i] > 0;
        strongest = fmax(strongest, force[i]);
    }
    for (size_t i = 0; i < d->contacts && passed == 1; i++) {
        double got = force_of(&w->qp, d->gap[i]);
        cr_assert(fabs(got - force[i]) <= 100 * ROUNDING * strongest, "case %d, contact %zu: %g for %g", index, i, got,
                  force[i]);
    }
    t->closed[closed]++;
    t->cases++;
    if (tiny) { /* the whole solver, from the outside */
        kp_error e = {0};
        double unit = w->modulus * pow(w->height / w->length, 4) / w->stack.load_coverage;
        w->solved = false;
        cr_assert_eq(kp_stack_solve(w, pressure * unit, KP_SEAT_ABSENT, &e), KP_OK, "case %d: %s", index, e.message);
        double far = lift_error(d, w, false, lift);
        t->worst_solved = fmax(t->worst_solved, far);
        t->solved++;
        cr_assert(far <= SMALL, "case %d: the solver's lifts differ by %g of the largest", index, far);
    }
}

Test(brute_force, all_sets_of_contacts, .timeout = 3600)
{
    kp_random random;
    kp_random_seed(&random, SEED);
    dense *d = malloc(sizeof *d);
    tally t = {0};
    int wanted = sized(1000, 50000);
    double begun = seconds();
    while (t.cases < wanted) {
        random_stack made;
        random_stack_make(&random, &made);
        made.stack.disc_count = made.stack.disc_count > 7 ? 7 : made.stack.disc_count;
        made.stack.grip = KP_GRIP_HELD;
        for (size_t i = 0; i < made.stack.disc_count; i++)
            made.discs[i].has_hole = false; /* a loose ring has no stiffness of its own to invert */
        kp_stack_options options = {.elements = ELEMENTS};
        kp_stack_workspace *w = begin(&made.stack, &options);
        fill(d, w);
        for (int i = 0; i < 4; i++)
            check_case(d, w, &random, t.cases, &t);
        free(d->k);
        kp_stack_free(w);
    }
    printf("brute force: seed %llu, %d cases (%d more than one set), contacts closed:", SEED, t.cases, t.several);
    for (int i = 0; i <= MAX_CONTACTS; i++)
        printf(" %d: %d", i, t.closed[i]);
    printf("; lifts within %.0e of a thickness or %.1e; whole solver within %.1e in %d; %.1f s\n", CLOSED, t.worst,
           t.worst_solved, t.solved, seconds() - begun);
    free(d);
    cr_assert(t.closed[0] < t.cases / 2 && t.closed[3] + t.closed[4] + t.closed[5] > t.cases / 10 &&
              t.solved > t.cases / 4);
}
