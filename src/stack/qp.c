/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The quadratic programme of one Newton step, by the dual active set of
   Goldfarb and Idnani (Mathematical Programming 27 (1983) 1-33, from memory):

       least of  d.K d/2 - f.d   with  c(d) = c + C d >= 0,

   K the joint tangents of the plates (positive definite, one band a plate), f
   minus the gradient, one row of C a possible contact. For a set A of contacts
   held at zero, the step is K^-1 (f + C_A' m) with the multipliers (contact
   forces) m from S m = -c_A, S = C_A K^-1 C_A', c_A the gaps that the free step
   would give.

   Why it ends. The method keeps m >= 0. It takes a violated contact v
   and raises its multiplier; the others follow by S. Either the gap of v closes
   (v joins A: a full step), or a multiplier reaches zero first (that contact
   leaves A, and v goes on). Each full step raises the dual value strictly,
   because K is positive definite and v was violated; between two full steps
   only contacts leave, at most as many as A holds. No set is met twice at a
   full step, and there are finitely many: it ends, with all gaps >= 0, all
   multipliers >= 0 and their products 0. Starting from the last step's set with
   its negative multipliers dropped is the same kind of point (the least of the
   programme restricted to that set, m >= 0), so the argument holds from there.
   Why the search ends. With the tilt of the faces fixed, gaps are linear in the
   lifts: from an open state, every shorter step along an open full step is open
   too, so the line search never leaves the admissible set, and the condensed
   energy falls at each step unless the state is its constrained least. Near the
   answer the tilt is taken anew and full steps follow; nothing proves those to
   end, so their number is bounded. What they do not settle is left to
   descent.c, whose searches take the tilt along. */
#include "stack/stack_internal.h"

#include "num/num.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Gap below which a contact counts as violated. [-] of a thickness plus the
 * largest lift: rounding of the lifts ... */
#define GAP_ROUNDING 1e-12
/* ... and of the step's own error, [-] of its largest lift. Newton's last steps
 * are small, so this fades. */
#define STEP_ROUNDING 1e-10
/* A contact taken up this often in one programme may stay a little shut, four times more each time again, so that
   rounding cannot keep a programme going round: seen with several loose rings one on another, and nowhere else. */
enum { VISITS = 8 };
/* Contacts that may have joined before all are ordered anew. */
enum { JOINED_MOST = 24 };
/* So many contacts leave one by one. */
enum { FEW = 4 };
/* A dependent contact may stay this far open to doubt. [-] of t0 */
#define DEPENDENT_GAP 1e-8

/* Takes a contact out of the set; its row and column of the factor stay. */
static void drop(kp_stack_workspace *ws, size_t position)
{
    kp_qp *p = &ws->qp;
    kp_schur_release(ws, p->active[position]);
    p->multiplier[p->active[position]] = 0;
    p->passed_over[p->active[position]] = false;
    p->count--;
    memmove(p->active + position, p->active + position + 1, (p->count - position) * sizeof *p->active);
    p->changes++;
}

void kp_qp_start_free(kp_stack_workspace *ws, bool loads_only)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        size_t n = plate->unknowns;
        memcpy(plate->free, loads_only ? plate->load : plate->force, n * sizeof *plate->free);
        kp_banded_forward(n, KP_JOINT_WIDTH, plate->factor, 0, plate->free);
    }
}

double kp_qp_finish_step(kp_stack_workspace *ws)
{
    kp_schur_push(ws);
    double size = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        size += kp_batch_dot(plate->unknowns, plate->step, plate->step);
        kp_banded_backward(plate->unknowns, KP_JOINT_WIDTH, plate->factor, plate->step);
    }
    return size;
}

static void take_step(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    for (size_t i = 0; i < p->count; i++) {
        p->direction[i] = p->multiplier[p->active[i]];
    }
    kp_qp_finish_step(ws);
}

void kp_qp_evaluate_gaps(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    kp_gap_increments(ws, p->rest_value, p->value);
    for (size_t i = 0; i < p->count; i++) {
        p->value[p->active[i]] += ws->contact_compliance * p->multiplier[p->active[i]];
    }
}

/* Multipliers of the active set from the gaps that the free step would give. */
static void settle(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    for (size_t i = 0; i < p->count; i++) {
        p->direction[i] = -p->free_gap[p->active[i]];
    }
    kp_schur_solve(p, p->direction);
    for (size_t i = 0; i < p->count; i++) {
        p->multiplier[p->active[i]] = p->direction[i];
    }
}

/* Factors from a position on; what depends on those before it is dropped. */
static void factor(kp_stack_workspace *ws, size_t from)
{
    kp_qp *p = &ws->qp;
    for (size_t bad = kp_schur_factor(ws, from); bad < p->count; bad = kp_schur_factor(ws, bad)) {
        drop(ws, bad);
    }
}

/* Multipliers of the active set, those that come out negative dropped: by the method's argument none does but for
   rounding, save at a warm start. A few leave the factor one by one; it is made anew without many. */
static void clean(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    for (;;) {
        settle(ws);
        size_t pulls = 0, first = p->count;
        for (size_t i = p->count; i-- > 0;) {
            if (!(p->multiplier[p->active[i]] >= 0)) {
                pulls++;
                first = i;
            }
        }
        if (pulls == 0) {
            return;
        }
        bool anew = pulls > FEW && p->factor.envelope_rows == p->factor.count;
        for (size_t i = p->count; i-- > first;) {
            if (!(p->multiplier[p->active[i]] >= 0)) {
                if (!anew) {
                    kp_skyline_remove_row(&p->factor, i, p->row);
                }
                drop(ws, i);
            }
        }
        if (anew) {
            factor(ws, first);
        }
    }
}

/* The last set, its disabled, dependent and negative members dropped. */
static void warm_start(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    size_t kept = p->count;
    p->count = 0;
    for (size_t i = 0; i < kept; i++) {
        size_t v = p->active[i];
        p->multiplier[v] = 0;
        if (ws->gaps[v].enabled) {
            p->passed_over[v] = true;
            p->active[p->count++] = v;
        }
    }
    kp_schur_columns(ws);
    factor(ws, 0);
    clean(ws);
}

double kp_qp_max_active_gap(const kp_stack_workspace *ws)
{
    const kp_qp *p = &ws->qp;
    double open = 0;
    for (size_t i = 0; i < p->count; i++) {
        p->direction[i] = -p->value[p->active[i]];
        open = fmax(open, fabs(p->direction[i]));
    }
    return open;
}

/* Gaps for the step taken; one round of refinement where the active ones are not shut to rounding (a loose ring's
   compliance is thousands of times a disc's). It is undone where it makes things worse: a contact that hardly pushes
   and nearly depends on others would have to pull. */
static void look(kp_stack_workspace *ws, double rounding)
{
    kp_qp *p = &ws->qp;
    kp_qp_evaluate_gaps(ws);
    double open = kp_qp_max_active_gap(ws);
    if (open <= rounding) {
        return;
    }
    kp_schur_solve(p, p->direction);
    for (size_t i = 0; i < p->count; i++) {
        p->row[i] = p->multiplier[p->active[i]];
        p->multiplier[p->active[i]] = fmax(0, p->row[i] + p->direction[i]);
    }
    take_step(ws);
    kp_qp_evaluate_gaps(ws);
    if (kp_qp_max_active_gap(ws) > open) {
        for (size_t i = 0; i < p->count; i++) {
            p->multiplier[p->active[i]] = p->row[i];
        }
        take_step(ws);
        kp_qp_evaluate_gaps(ws);
    }
}

/* How far a gap may be shut. */
static double allowed(const kp_qp *p, size_t g, double rounding)
{
    return p->visits[g] < VISITS ? rounding : ldexp(rounding, 2 * (p->visits[g] - VISITS));
}

/* Most violated gap above one plate (gaps from..to) that is neither active (those are shut but for rounding) nor
   dependent on active ones; `to` when all are open. */
static size_t most_violated(const kp_stack_workspace *ws, size_t from, size_t to, double rounding)
{
    const kp_qp *p = &ws->qp;
    size_t worst = to;
    double least = 0;
    for (size_t g = from; g < to; g++) {
        if (p->value[g] < least && ws->gaps[g].enabled && !p->passed_over[g] &&
            p->value[g] < -allowed(p, g, rounding)) {
            least = p->value[g];
            worst = g;
        }
    }
    return worst;
}

typedef enum outcome { JOINED, OPEN, DEPENDS, CONTRADICTS } outcome;

/* Raises the multiplier of v until its gap closes, dropping contacts that let
 * go on the way. stale: others have joined since its gap was looked at. */
static outcome admit(kp_stack_workspace *ws, size_t v, bool stale, double rounding)
{
    kp_qp *p = &ws->qp;
    double gap = p->value[v];
    p->multiplier[v] = 0; /* it may carry one from a set that a restart threw away */
    if (!kp_schur_couple(ws, v)) {
        return gap > -DEPENDENT_GAP ? DEPENDS : CONTRADICTS;
    }
    const double *row = p->coupling + p->slot_of[v] * p->most;
    if (stale) {
        gap = p->free_gap[v];
        for (size_t i = 0; i < p->count; i++) {
            gap += row[p->slot_of[p->active[i]]] * p->multiplier[p->active[i]];
        }
        if (gap >= -allowed(p, v, rounding)) {
            kp_schur_release(ws, v);
            return OPEN;
        }
    }
    for (;;) {
        for (size_t i = 0; i < p->count; i++) {
            p->direction[i] = row[p->slot_of[p->active[i]]];
        }
        size_t first = 0;
        while (first < p->factor.envelope_rows && p->direction[first] == 0) {
            first++;
        }
        kp_skyline_forward(&p->factor, first, p->direction);
        memcpy(p->row, p->direction, p->count * sizeof *p->row);
        double own = row[p->slot_of[v]] - kp_batch_dot(p->count, p->row, p->row);
        kp_skyline_backward(&p->factor, p->direction);
        bool dependent = !(own > KP_DEPENDENT * row[p->slot_of[v]]);
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
            kp_schur_release(ws, v);
            return gap > -DEPENDENT_GAP ? DEPENDS : CONTRADICTS;
        }
        double t = full <= partial ? full : partial;
        p->multiplier[v] += t;
        for (size_t i = 0; i < p->count; i++) {
            p->multiplier[p->active[i]] -= t * p->direction[i];
        }
        if (full <= partial) {
            kp_skyline_add_row(&p->factor, p->row, own);
            p->active[p->count++] = v;
            p->passed_over[v] = true;
            p->changes++;
            return JOINED;
        }
        gap += t * (dependent ? 0 : own);
        kp_skyline_remove_row(&p->factor, leaves, p->row);
        drop(ws, leaves);
    }
}

/* Takes up the most violated contact above each plate, one after another; each sees what those before it did. shut:
   there was one. Returns false when contacts contradict each other. */
static bool admit_worst(kp_stack_workspace *ws, double rounding, bool *shut)
{
    kp_qp *p = &ws->qp;
    for (size_t from = 0, to; from < ws->gap_count; from = to) {
        to = from + 1;
        while (to < ws->gap_count && ws->gaps[to].lower == ws->gaps[from].lower) {
            to++;
        }
        size_t v = most_violated(ws, from, to, rounding);
        if (v == to) {
            continue;
        }
        outcome result = admit(ws, v, *shut, rounding);
        *shut = true;
        if (result == CONTRADICTS) {
            return false;
        }
        if (result == DEPENDS) {
            p->passed_over[v] = true;
            p->multiplier[v] = 0;
        }
        p->visits[v] += result != OPEN;
        p->loosened = p->loosened || p->visits[v] > VISITS;
    }
    return true;
}

bool kp_qp_solve(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    kp_qp_start_free(ws, false);
    p->loosened = false;
    kp_gap_values(ws, p->rest_value);
    memset(p->passed_over, 0, ws->gap_count * sizeof *p->passed_over);
    memset(p->visits, 0, ws->gap_count * sizeof *p->visits);
    warm_start(ws);
    take_step(ws);
    double rounding = GAP_ROUNDING * (1 + kp_stack_max_lift(ws, false)) + STEP_ROUNDING * kp_stack_max_lift(ws, true);
    look(ws, rounding);
    size_t limit = 20 * ws->gap_count + 100;
    for (size_t round = 0; round < limit; round++) {
        bool shut = false;
        if (!admit_worst(ws, rounding, &shut)) {
            return false;
        }
        if (!shut) {
            return true;
        }
        if (p->factor.count - p->factor.envelope_rows > JOINED_MOST) {
            kp_schur_columns(ws);
            factor(ws, 0);
        }
        clean(ws);
        take_step(ws);
        look(ws, rounding);
    }
    return false;
}

void kp_qp_unconstrained_step(kp_stack_workspace *ws)
{
    ws->has_tangent = false;
    kp_qp_start_free(ws, false);
    kp_schur_columns(ws);
    kp_schur_factor(ws, 0);
    take_step(ws);
}
