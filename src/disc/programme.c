/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The quadratic programme of one Newton step, by the dual active set of
   Goldfarb and Idnani (Mathematical Programming 27 (1983) 1-33, from memory):

       least of  d.K d/2 - f.d   with  c(d) = c + C d >= 0,

   K the joint tangents of the plates (positive definite, one band a plate), f
   minus the gradient, one row of C a possible contact. For a set A of contacts
   held at zero, the step is K^-1 (f + C_A' m) with the multipliers (contact
   forces) m from S m = -c_A, S = C_A K^-1 C_A', c_A the gaps that the free step
   would give.

   Why it ends. The method keeps m >= 0. It takes the most violated contact v
   and raises its multiplier; the others follow by S. Either the gap of v closes
   (v joins A: a full step), or a multiplier reaches zero first (that contact
   leaves A, and v goes on). Each full step raises the dual value strictly,
   because K is positive definite and v was violated; between two full steps
   only contacts leave, at most as many as A holds. No set is met twice at a
   full step, and there are finitely many: it ends, with all gaps >= 0, all
   multipliers >= 0 and their products 0. Starting from the last step's set with
   its negative multipliers dropped is the same kind of point (the least of the
   programme restricted to that set, m >= 0), so the argument holds from there.
   Why the search ends. Gaps are linear in the lifts: from an open state, every
   shorter step along an open full step is open too, so the line search never
   leaves the admissible set, and the condensed energy falls at each step unless
   the state is its constrained least.

   Contacts couple only through a plate that they share. Ordered by lower plate
   and radius, S is block-banded; its Cholesky factor keeps within the envelope
   of S, and a change of the set refactors only the rows after it. */
#include "stack_internal.h"

#include "kneepoint/num.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Gap below which a contact counts as violated. [-] of a thickness plus the
 * largest lift: rounding of the lifts ... */
#define GAP_ROUNDING 1e-12
/* ... and of the step's own error, [-] of its largest lift. Newton's last steps
 * are small, so this fades. */
#define STEP_ROUNDING 1e-10
/* A contact whose own direction is this small a part of its compliance depends
 * on the active ones. [-] */
#define DEPENDENT 1e-11
/* A contact taken up this often in one programme may stay a little shut, four times more each time again, so that
   rounding cannot keep a programme going round: seen with several loose rings one on another, and nowhere else. */
enum { VISITS = 8 };
/* A dependent contact may stay this far open to doubt. [-] of t0 */
#define DEPENDENT_GAP 1e-8

kp_status kp_programme_begin(kp_programme *p, size_t gaps, kp_error *error)
{
    gaps = gaps > 0 ? gaps : 1;
    *p = (kp_programme){.capacity = gaps};
    p->active = malloc(gaps * sizeof *p->active);
    p->multiplier = calloc(gaps, sizeof *p->multiplier);
    p->value = calloc(gaps, sizeof *p->value);
    p->coupling = malloc(gaps * gaps * sizeof *p->coupling);
    p->factor = malloc(gaps * gaps * sizeof *p->factor);
    p->envelope = malloc(gaps * sizeof *p->envelope);
    p->direction = malloc(gaps * sizeof *p->direction);
    p->free_gap = malloc(gaps * sizeof *p->free_gap);
    p->passed_over = malloc(gaps * sizeof *p->passed_over);
    p->visits = malloc(gaps * sizeof *p->visits);
    if (!p->active || !p->multiplier || !p->value || !p->coupling || !p->factor || !p->envelope || !p->direction ||
        !p->free_gap || !p->passed_over || !p->visits) {
        kp_programme_free(p);
        return kp_error_set(error, KP_NO_MEMORY, "stack: no memory for %zu possible contacts", gaps);
    }
    return KP_OK;
}

void kp_programme_free(kp_programme *p)
{
    free(p->active);
    free(p->multiplier);
    free(p->value);
    free(p->coupling);
    free(p->factor);
    free(p->envelope);
    free(p->direction);
    free(p->free_gap);
    free(p->passed_over);
    free(p->visits);
    *p = (kp_programme){0};
}

static const size_t local_unknown[4] = {0, 1, 4, 5};

/* L^-1 of a contact's column, for this tangent. */
static void make_forward(kp_stack_workspace *ws, kp_gap *gap)
{
    if (gap->stamp == ws->stamp) {
        return;
    }
    gap->stamp = ws->stamp;
    for (size_t k = 0; k < 2; k++) {
        kp_side *side = &gap->side[k];
        if (side->plate < 0) {
            continue;
        }
        const kp_plate *plate = &ws->plates[side->plate];
        size_t n = KP_NODE_DOFS * plate->nodes;
        memset(side->forward + side->first, 0, (n - side->first) * sizeof *side->forward);
        for (size_t i = 0; i < 4; i++) {
            if (side->shape[i] != 0 && !kp_plate_fixes(plate, side->base + local_unknown[i])) {
                side->forward[side->base + local_unknown[i]] = side->shape[i];
            }
        }
        kp_banded_forward(n, KP_JOINT_WIDTH, plate->factor, side->first, side->forward);
    }
}

static bool couples(const kp_gap *a, const kp_gap *b)
{
    for (size_t i = 0; i < 2; i++) {
        for (size_t j = 0; j < 2; j++) {
            if (a->side[i].plate >= 0 && a->side[i].plate == b->side[j].plate) {
                return true;
            }
        }
    }
    return false;
}

static double coupling_of(const kp_stack_workspace *ws, const kp_gap *a, const kp_gap *b)
{
    double sum = 0;
    for (size_t i = 0; i < 2; i++) {
        for (size_t j = 0; j < 2; j++) {
            const kp_side *x = &a->side[i];
            const kp_side *y = &b->side[j];
            if (x->plate < 0 || x->plate != y->plate) {
                continue;
            }
            size_t n = KP_NODE_DOFS * ws->plates[x->plate].nodes;
            size_t from = x->first > y->first ? x->first : y->first;
            double s0 = 0, s1 = 0, s2 = 0, s3 = 0;
            size_t k = from;
            for (; k + 4 <= n; k += 4) {
                s0 += x->forward[k] * y->forward[k];
                s1 += x->forward[k + 1] * y->forward[k + 1];
                s2 += x->forward[k + 2] * y->forward[k + 2];
                s3 += x->forward[k + 3] * y->forward[k + 3];
            }
            for (; k < n; k++) {
                s0 += x->forward[k] * y->forward[k];
            }
            sum += (s0 + s1) + (s2 + s3);
        }
    }
    return sum;
}

/* Fills the couplings of gap v with the active ones (and itself). */
static void couple(kp_stack_workspace *ws, size_t v)
{
    kp_programme *p = &ws->programme;
    make_forward(ws, &ws->gaps[v]);
    p->coupling[v * p->capacity + v] = coupling_of(ws, &ws->gaps[v], &ws->gaps[v]);
    for (size_t i = 0; i < p->count; i++) {
        size_t j = p->active[i];
        double s = couples(&ws->gaps[v], &ws->gaps[j]) ? coupling_of(ws, &ws->gaps[v], &ws->gaps[j]) : 0;
        p->coupling[v * p->capacity + j] = s;
        p->coupling[j * p->capacity + v] = s;
    }
}

/* Refactors the rows from position `from`. Returns count, or the position whose
 * pivot failed. */
static size_t refactor(kp_stack_workspace *ws, size_t from)
{
    kp_programme *p = &ws->programme;
    for (size_t i = from; i < p->count; i++) {
        double *li = p->factor + i * p->capacity;
        const double *si = p->coupling + p->active[i] * p->capacity;
        size_t first = 0;
        while (first < i && !couples(&ws->gaps[p->active[i]], &ws->gaps[p->active[first]])) {
            first++;
        }
        p->envelope[i] = first;
        double pivot = si[p->active[i]];
        double before = pivot;
        for (size_t j = first; j < i; j++) {
            const double *lj = p->factor + j * p->capacity;
            size_t k = p->envelope[j] > first ? p->envelope[j] : first;
            double sum = si[p->active[j]];
            for (; k < j; k++) {
                sum -= li[k] * lj[k];
            }
            li[j] = sum * lj[j]; /* the diagonal holds its reciprocal */
            pivot -= li[j] * li[j];
        }
        if (!(pivot > DEPENDENT * before)) {
            return i;
        }
        li[i] = 1 / sqrt(pivot);
    }
    return p->count;
}

/* S x = b by position, in place. */
static void solve_active(const kp_programme *p, double *b)
{
    for (size_t i = 0; i < p->count; i++) {
        const double *li = p->factor + i * p->capacity;
        double sum = b[i];
        for (size_t k = p->envelope[i]; k < i; k++) {
            sum -= li[k] * b[k];
        }
        b[i] = sum * li[i];
    }
    for (size_t i = p->count; i-- > 0;) {
        const double *li = p->factor + i * p->capacity;
        double x = b[i] * li[i];
        b[i] = x;
        for (size_t k = p->envelope[i]; k < i; k++) {
            b[k] -= li[k] * x;
        }
    }
}

static void insert(kp_programme *p, size_t position, size_t v)
{
    memmove(p->active + position + 1, p->active + position, (p->count - position) * sizeof *p->active);
    p->active[position] = v;
    p->passed_over[v] = true;
    p->count++;
    p->changes++;
}

static void drop(kp_programme *p, size_t position)
{
    p->multiplier[p->active[position]] = 0;
    p->passed_over[p->active[position]] = false;
    p->count--;
    memmove(p->active + position, p->active + position + 1, (p->count - position) * sizeof *p->active);
    p->changes++;
}

/* step = K^-1 (right-hand side + C' m); rhs is plate->force, or pressure's load
 * for the tangent. */
static void take_step(kp_stack_workspace *ws, bool loads_only)
{
    kp_programme *p = &ws->programme;
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        memcpy(plate->step, loads_only ? plate->load : plate->force, KP_NODE_DOFS * plate->nodes * sizeof *plate->step);
    }
    for (size_t a = 0; a < p->count; a++) {
        const kp_gap *gap = &ws->gaps[p->active[a]];
        double m = p->multiplier[p->active[a]];
        for (size_t k = 0; k < 2; k++) {
            const kp_side *side = &gap->side[k];
            if (side->plate < 0) {
                continue;
            }
            double *step = ws->plates[side->plate].step + side->base;
            for (size_t i = 0; i < 4; i++) {
                step[local_unknown[i]] += m * side->shape[i];
            }
        }
    }
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        size_t n = KP_NODE_DOFS * plate->nodes;
        for (size_t k = 0; k < 2; k++) {
            size_t last = n - KP_NODE_DOFS + k;
            plate->step[k] = kp_plate_fixes(plate, k) ? 0 : plate->step[k];
            plate->step[last] = kp_plate_fixes(plate, last) ? 0 : plate->step[last];
        }
        kp_banded_forward(n, KP_JOINT_WIDTH, plate->factor, 0, plate->step);
        kp_banded_backward(n, KP_JOINT_WIDTH, plate->factor, plate->step);
    }
}

static void evaluate(kp_stack_workspace *ws)
{
    for (size_t g = 0; g < ws->gap_count; g++) {
        ws->programme.value[g] = kp_gap_value(ws, &ws->gaps[g], true);
    }
}

/* Multipliers of the active set from the gaps that the free step would give. */
static void settle(kp_stack_workspace *ws)
{
    kp_programme *p = &ws->programme;
    for (size_t i = 0; i < p->count; i++) {
        p->direction[i] = -p->free_gap[p->active[i]];
    }
    solve_active(p, p->direction);
    for (size_t i = 0; i < p->count; i++) {
        p->multiplier[p->active[i]] = p->direction[i];
    }
}

/* Multipliers of the active set, those that come out negative dropped: by the method's argument none does but for
   rounding, save at a warm start. `from`: first position not yet factored. */
static void clean(kp_stack_workspace *ws, size_t from)
{
    kp_programme *p = &ws->programme;
    for (;;) {
        for (size_t bad = refactor(ws, from); bad < p->count; bad = refactor(ws, bad)) {
            drop(p, bad);
        }
        settle(ws);
        bool dropped = false;
        for (size_t i = p->count; i-- > 0;) {
            if (!(p->multiplier[p->active[i]] >= 0)) {
                drop(p, i);
                from = i;
                dropped = true;
            }
        }
        if (!dropped) {
            return;
        }
    }
}

/* The last set, its disabled, dependent and negative members dropped. */
static void warm_start(kp_stack_workspace *ws)
{
    kp_programme *p = &ws->programme;
    size_t kept = p->count;
    p->count = 0;
    for (size_t i = 0; i < kept; i++) {
        size_t v = p->active[i];
        p->multiplier[v] = 0;
        if (ws->gaps[v].enabled) {
            couple(ws, v);
            p->passed_over[v] = true;
            p->active[p->count++] = v;
        }
    }
    clean(ws, 0);
}

/* Step and gaps for the multipliers; one round of refinement where the active gaps are not shut to rounding (a loose
   ring's compliance is thousands of times a disc's). */
static void step_and_look(kp_stack_workspace *ws, double rounding)
{
    kp_programme *p = &ws->programme;
    take_step(ws, false);
    evaluate(ws);
    double open = 0;
    for (size_t i = 0; i < p->count; i++) {
        p->direction[i] = -p->value[p->active[i]];
        open = fmax(open, fabs(p->direction[i]));
    }
    if (open <= rounding) {
        return;
    }
    solve_active(p, p->direction);
    for (size_t i = 0; i < p->count; i++) {
        p->multiplier[p->active[i]] = fmax(0, p->multiplier[p->active[i]] + p->direction[i]);
    }
    take_step(ws, false);
    evaluate(ws);
}

/* Most violated enabled gap that is not active (those are shut but for rounding) nor dependent on active ones; capacity
   when all are open. */
static size_t most_violated(const kp_stack_workspace *ws, double rounding)
{
    const kp_programme *p = &ws->programme;
    size_t worst = p->capacity;
    double least = 0;
    for (size_t g = 0; g < ws->gap_count; g++) {
        if (!ws->gaps[g].enabled || p->passed_over[g] || p->value[g] >= least) {
            continue;
        }
        double allowed = p->visits[g] < VISITS ? rounding : ldexp(rounding, 2 * (p->visits[g] - VISITS));
        if (p->value[g] < -allowed) {
            least = p->value[g];
            worst = g;
        }
    }
    return worst;
}

typedef enum outcome { JOINED, DEPENDS, CONTRADICTS } outcome;

/* Raises the multiplier of v until its gap closes, dropping contacts that let
 * go on the way. */
static outcome admit(kp_stack_workspace *ws, size_t v)
{
    kp_programme *p = &ws->programme;
    double gap = p->value[v];
    p->multiplier[v] = 0; /* it may carry one from a set that a restart threw away */
    couple(ws, v);
    const double *row = p->coupling + v * p->capacity;
    for (;;) {
        for (size_t i = 0; i < p->count; i++) {
            p->direction[i] = row[p->active[i]];
        }
        solve_active(p, p->direction);
        double own = row[v];
        for (size_t i = 0; i < p->count; i++) {
            own -= row[p->active[i]] * p->direction[i];
        }
        bool dependent = !(own > DEPENDENT * row[v]);
        double full = dependent ? INFINITY : -gap / own;
        double partial = INFINITY;
        size_t leaves = p->count;
        for (size_t i = 0; i < p->count; i++) {
            double m = p->multiplier[p->active[i]];
            if (p->direction[i] > 0 && m < partial * p->direction[i]) {
                partial = m / p->direction[i];
                leaves = i;
            }
        }
        if (isinf(full) && leaves == p->count) {
            return gap > -DEPENDENT_GAP ? DEPENDS : CONTRADICTS;
        }
        double t = full <= partial ? full : partial;
        p->multiplier[v] += t;
        for (size_t i = 0; i < p->count; i++) {
            p->multiplier[p->active[i]] -= t * p->direction[i];
        }
        if (full <= partial) {
            break;
        }
        gap += t * (dependent ? 0 : own);
        drop(p, leaves);
        refactor(ws, leaves);
    }
    size_t position = p->count;
    while (position > 0 && p->active[position - 1] > v) {
        position--;
    }
    insert(p, position, v);
    if (refactor(ws, position) < p->count) {
        drop(p, position);
        refactor(ws, position);
        return gap > -DEPENDENT_GAP ? DEPENDS : CONTRADICTS;
    }
    return JOINED;
}

/* Largest lift of the step or of the state. */
static double lift_size(const kp_stack_workspace *ws, bool of_step)
{
    double most = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        for (size_t k = 0; k < KP_NODE_DOFS * plate->nodes; k += KP_NODE_DOFS) {
            most = fmax(most, fabs(of_step ? plate->step[k] : plate->state[k]));
        }
    }
    return most;
}

bool kp_programme_solve(kp_stack_workspace *ws)
{
    kp_programme *p = &ws->programme;
    size_t kept = p->count;
    p->count = 0;
    take_step(ws, false);
    evaluate(ws);
    p->count = kept;
    memcpy(p->free_gap, p->value, ws->gap_count * sizeof *p->value);
    memset(p->passed_over, 0, ws->gap_count * sizeof *p->passed_over);
    memset(p->visits, 0, ws->gap_count * sizeof *p->visits);
    warm_start(ws);
    double rounding = GAP_ROUNDING * (1 + lift_size(ws, false)) + STEP_ROUNDING * lift_size(ws, true);
    step_and_look(ws, rounding);
    size_t limit = 20 * ws->gap_count + 100;
    for (size_t round = 0; round < limit; round++) {
        size_t v = most_violated(ws, rounding);
        if (v == p->capacity) {
            return true;
        }
        outcome result = admit(ws, v);
        if (result == CONTRADICTS) {
            return false;
        }
        if (result == DEPENDS) {
            p->passed_over[v] = true;
            p->multiplier[v] = 0;
        }
        p->visits[v]++;
        clean(ws, p->count);
        step_and_look(ws, rounding);
    }
    return false;
}

void kp_programme_tangent(kp_stack_workspace *ws)
{
    kp_programme *p = &ws->programme;
    size_t kept = p->count;
    p->count = 0;
    take_step(ws, true);
    p->count = kept;
    for (size_t i = 0; i < kept; i++) {
        const kp_gap *gap = &ws->gaps[p->active[i]];
        p->direction[i] = -(kp_gap_value(ws, gap, true) - kp_gap_value(ws, gap, false));
    }
    solve_active(p, p->direction);
    /* The multipliers of the state are put aside in free_gap: the tangent's own
     * take their place for a moment. */
    for (size_t i = 0; i < kept; i++) {
        size_t g = p->active[i];
        p->free_gap[g] = p->multiplier[g];
        p->multiplier[g] = p->direction[i];
    }
    take_step(ws, true);
    for (size_t i = 0; i < kept; i++) {
        p->multiplier[p->active[i]] = p->free_gap[p->active[i]];
    }
}
