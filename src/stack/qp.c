/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The quadratic programme of one Newton step, by the dual active set of Goldfarb and Idnani (Mathematical Programming
   27 (1983) 1-33, from memory):

       min  d.K d/2 - f.d   subject to  c(d) = c + C d >= 0,

   K the joint tangents of the plates (positive definite, one band a plate), f minus the gradient, one row of C a
   possible contact. For an active set A, whose gaps are held at zero, the step is K^-1 (f + C_A' m) with the
   multipliers (contact forces) m from S m = -c_A, S = C_A K^-1 C_A', c_A the gaps that the free step would give.

   Why it ends. The method keeps m >= 0. It takes a violated contact v and raises its multiplier; the others follow by
   S. Either the gap of v closes (v is added to A: a full step), or a multiplier reaches zero first (that contact is
   removed from A, and v goes on). Each full step raises the dual value strictly, because K is positive definite and v
   was violated; between two full steps contacts are only removed, at most as many as A holds. No set is met twice at a
   full step, and there are finitely many: it ends, with all gaps >= 0, all multipliers >= 0 and their products 0. A
   start from the last step's set with its negative multipliers dropped is the same kind of point (the minimum of the
   programme restricted to that set, m >= 0), so the argument holds from there.

   Why Newton's line search ends. With the tilt of the faces fixed, gaps are linear in the lifts: from an open state,
   every shorter step along an open full step is open too, so the line search never leaves the admissible set, and the
   condensed energy falls at each step unless the state is its constrained minimum. Near the answer the gaps are
   linearised anew and full steps follow; nothing proves that those end, so their number is bounded. What they do not
   solve is left to descent.c, whose searches evaluate each trial at its own tilt. */
#include "stack/stack_internal.h"

#include "num/num.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* [-] of a thickness plus the largest lift: penetration by which a contact counts as violated, for rounding of the
   lifts, */
static const double GAP_ROUNDING = 1e-12;
/* [-] of the step's largest lift: and for the step's own error. Newton's last steps are small, so this fades. */
static const double STEP_ROUNDING = 1e-10;
/* [-] of t0: a dependent contact may keep a penetration of this. */
static const double DEPENDENT_GAP = 1e-8;
/* A contact added this often in one programme gets a tolerance four times larger, and again each time, so that rounding
   cannot keep a programme cycling: seen with several loose rings one on another, and nowhere else. */
enum { RELAX_AFTER = 8 };
/* Contacts that may have been added before the set is ordered anew. */
enum { MAX_ADDED = 24 };
/* Up to this many contacts are removed from the factor one by one; for more it is computed anew. */
enum { MAX_SINGLE_REMOVALS = 4 };

/* ---- the step of given multipliers, and the gaps after it ---- */

static void take_step(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    for (size_t i = 0; i < p->count; i++) {
        p->direction[i] = p->multiplier[p->active[i]];
    }
    kp_qp_finish_step(ws);
}

/* Gaps after the step, with one round of iterative refinement where the active ones are not closed to rounding (a loose
   ring's compliance is thousands of times a disc's). It is undone where it makes things worse: a contact that hardly
   pushes and nearly depends on others would have to pull. */
static void evaluate_and_refine(kp_stack_workspace *ws, double rounding)
{
    kp_qp *p = &ws->qp;
    kp_qp_evaluate_gaps(ws);
    double open = kp_qp_max_active_gap(ws);

    if (open <= rounding) {
        return;
    }

    /* One correction of the multipliers by the gaps that are left. */
    kp_schur_solve(p, p->direction);
    for (size_t i = 0; i < p->count; i++) {
        p->row[i] = p->multiplier[p->active[i]];
        p->multiplier[p->active[i]] = fmax(0, p->row[i] + p->direction[i]);
    }

    take_step(ws);
    kp_qp_evaluate_gaps(ws);

    /* Worse than before: the multipliers are restored. */
    if (kp_qp_max_active_gap(ws) > open) {
        for (size_t i = 0; i < p->count; i++) {
            p->multiplier[p->active[i]] = p->row[i];
        }
        take_step(ws);
        kp_qp_evaluate_gaps(ws);
    }
}

/* Penetration that a contact may keep. */
static double penetration_tolerance(const kp_qp *p, size_t g, double rounding)
{
    return p->times_added[g] < RELAX_AFTER ? rounding : ldexp(rounding, 2 * (p->times_added[g] - RELAX_AFTER));
}

/* Most violated gap above one plate (gaps from..to) that is neither active (those are closed but for rounding) nor
   dependent on active ones; `to` when all are open. */
static size_t most_violated(const kp_stack_workspace *ws, size_t from, size_t to, double rounding)
{
    const kp_qp *p = &ws->qp;
    size_t worst = to;
    double min = 0;

    for (size_t g = from; g < to; g++) {
        if (p->value[g] < min && ws->gaps[g].enabled && !p->skipped[g] &&
            p->value[g] < -penetration_tolerance(p, g, rounding)) {
            min = p->value[g];
            worst = g;
        }
    }

    return worst;
}

/* ---- the active set ---- */

/* Takes a contact out of the set; its row and column of the factor stay. */
static void drop_constraint(kp_stack_workspace *ws, size_t position)
{
    kp_qp *p = &ws->qp;
    kp_schur_release(ws, p->active[position]);
    p->multiplier[p->active[position]] = 0;
    p->skipped[p->active[position]] = false;
    p->count--;
    memmove(p->active + position, p->active + position + 1, (p->count - position) * sizeof *p->active);
    p->changes++;
}

/* Factors from a position on, and drops contacts that depend on those before them. */
static void factor(kp_stack_workspace *ws, size_t from)
{
    kp_qp *p = &ws->qp;
    for (size_t bad = kp_schur_factor(ws, from); bad < p->count; bad = kp_schur_factor(ws, bad)) {
        drop_constraint(ws, bad);
    }
}

/* Multipliers of the active set: S m = - the gaps that the free step would give. */
static void solve_multipliers(kp_stack_workspace *ws)
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

/* Multipliers of the active set, with contacts dropped until none is negative. By the method's argument none is, but
   for rounding and at a warm start. */
static void drop_negative_multipliers(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    for (;;) {
        solve_multipliers(ws);
        /* Not >= 0 catches NaN too. */
        size_t negative = 0, first = p->count;
        for (size_t i = p->count; i-- > 0;) {
            if (!(p->multiplier[p->active[i]] >= 0)) {
                negative++;
                first = i;
            }
        }

        if (negative == 0) {
            return;
        }

        /* Backward, so that the positions ahead stay valid. */
        bool refactor = negative > MAX_SINGLE_REMOVALS && p->factor.envelope_rows == p->factor.count;
        for (size_t i = p->count; i-- > first;) {
            if (!(p->multiplier[p->active[i]] >= 0)) {
                if (!refactor) {
                    kp_skyline_remove_row(&p->factor, i, p->row);
                }
                drop_constraint(ws, i);
            }
        }

        if (refactor) {
            factor(ws, first);
        }
    }
}

/* Starts from the last programme's set, without its disabled, dependent and negative members. */
static void warm_start(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    size_t last_count = p->count;
    p->count = 0;

    for (size_t i = 0; i < last_count; i++) {
        size_t v = p->active[i];
        p->multiplier[v] = 0;
        if (ws->gaps[v].enabled) {
            p->skipped[v] = true;
            p->active[p->count++] = v;
        }
    }

    kp_schur_columns(ws);
    factor(ws, 0);
    drop_negative_multipliers(ws);
}

/* ---- adding a constraint ---- */

typedef enum outcome { ADDED, NOT_VIOLATED, DEPENDENT, INFEASIBLE } outcome;

/* Fills direction with S^-1 x the couplings of v: how the active multipliers fall as v's rises by one; and row with
   L^-1 of them. Returns how v's gap opens as its multiplier rises by one, the others following. */
static double dual_direction(kp_qp *p, size_t v, const double *couplings)
{
    for (size_t i = 0; i < p->count; i++) {
        p->direction[i] = couplings[p->slot_of[p->active[i]]];
    }

    /* Leading zeros of the right-hand side cost nothing. */
    size_t first = 0;
    while (first < p->factor.envelope_rows && p->direction[first] == 0) {
        first++;
    }

    kp_skyline_forward(&p->factor, first, p->direction);
    memcpy(p->row, p->direction, p->count * sizeof *p->row);
    double own = couplings[p->slot_of[v]] - kp_batch_dot(p->count, p->row, p->row);
    kp_skyline_backward(&p->factor, p->direction);
    return own;
}

/* Largest rise of v's multiplier that leaves the active ones >= 0; *blocking: the position that it stops at, or count.
 */
static double partial_step(const kp_qp *p, size_t *blocking)
{
    double partial = INFINITY;
    *blocking = p->count;
    for (size_t i = 0; i < p->count; i++) {
        double m = p->multiplier[p->active[i]];
        if (p->direction[i] > 0 && m < partial * p->direction[i]) {
            partial = m / p->direction[i];
            *blocking = i;
        }
    }

    return partial;
}

/* Raises the multiplier of v until its gap closes, removing contacts whose own reaches zero on the way. stale: others
   have been added since the gaps were evaluated. */
static outcome add_constraint(kp_stack_workspace *ws, size_t v, bool stale, double rounding)
{
    kp_qp *p = &ws->qp;
    double gap = p->value[v];
    p->multiplier[v] = 0; /* it may have one from a set that a restart discarded */
    if (!kp_schur_couple(ws, v)) {
        return gap > -DEPENDENT_GAP ? DEPENDENT : INFEASIBLE;
    }

    /* The gap under the multipliers as they are now. */
    const double *couplings = p->coupling + p->slot_of[v] * p->max_active;
    if (stale) {
        gap = p->free_gap[v];
        for (size_t i = 0; i < p->count; i++) {
            /* v is still violated, and the blocking contact is removed. */
            gap += couplings[p->slot_of[p->active[i]]] * p->multiplier[p->active[i]];
        }

        if (gap >= -penetration_tolerance(p, v, rounding)) {
            kp_schur_release(ws, v);
            return NOT_VIOLATED;
        }
    }

    for (;;) {
        /* Full step: v's gap closes. Partial step: an active multiplier reaches zero first. */
        double own = dual_direction(p, v, couplings);
        bool dependent = !(own > KP_DEPENDENT * couplings[p->slot_of[v]]);
        double full = dependent ? INFINITY : -gap / own;
        size_t blocking;
        double partial = partial_step(p, &blocking);
        /* Neither is possible: v depends on active contacts of which none can be removed. */
        if (isinf(full) && blocking == p->count) {
            kp_schur_release(ws, v);
            return gap > -DEPENDENT_GAP ? DEPENDENT : INFEASIBLE;
        }

        /* The shorter of the two. */
        double t = full <= partial ? full : partial;
        p->multiplier[v] += t;
        for (size_t i = 0; i < p->count; i++) {
            p->multiplier[p->active[i]] -= t * p->direction[i];
        }

        if (full <= partial) {
            kp_skyline_add_row(&p->factor, p->row, own);
            p->active[p->count++] = v;
            p->skipped[v] = true;
            p->changes++;
            return ADDED;
        }

        gap += t * (dependent ? 0 : own);
        kp_skyline_remove_row(&p->factor, blocking, p->row);
        drop_constraint(ws, blocking);
    }
}

/* Adds the most violated contact above each plate, one after another; each sees the forces of those before it.
 *violated: there was one. Returns false when contacts contradict each other. */
static bool add_most_violated(kp_stack_workspace *ws, double rounding, bool *violated)
{
    kp_qp *p = &ws->qp;
    for (size_t from = 0, to; from < ws->gap_count; from = to) {
        to = from + 1;
        while (to < ws->gap_count && ws->gaps[to].lower == ws->gaps[from].lower) {
            to++;
        }
        /* Gaps above one plate are neighbours in the array. */
        size_t v = most_violated(ws, from, to, rounding);
        if (v == to) {
            continue;
        }

        outcome result = add_constraint(ws, v, *violated, rounding);
        *violated = true;
        if (result == INFEASIBLE) {
            return false;
        }
        if (result == DEPENDENT) {
            p->skipped[v] = true;
            p->multiplier[v] = 0;
        }
        p->times_added[v] += result != NOT_VIOLATED;
        p->tolerance_relaxed = p->tolerance_relaxed || p->times_added[v] > RELAX_AFTER;
    }

    return true;
}

/* ---- the programme ---- */

bool kp_qp_solve(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    kp_qp_free_step_of_forces(ws);
    p->tolerance_relaxed = false;
    kp_gap_values(ws, p->rest_value);
    memset(p->skipped, 0, ws->gap_count * sizeof *p->skipped);
    memset(p->times_added, 0, ws->gap_count * sizeof *p->times_added);

    /* The minimum of the programme restricted to the last set. */
    warm_start(ws);
    take_step(ws);
    double rounding = GAP_ROUNDING * (1 + kp_stack_max_lift(ws)) + STEP_ROUNDING * kp_stack_max_step(ws);
    evaluate_and_refine(ws, rounding);

    /* Finite by the argument above; the limit is for rounding. */
    size_t limit = 20 * ws->gap_count + 100;
    for (size_t round = 0; round < limit; round++) {
        bool violated = false;
        if (!add_most_violated(ws, rounding, &violated)) {
            return false;
        }

        if (!violated) {
            return true;
        }

        /* Dense rows of added contacts cost more than a new factor in the envelope. */
        if (p->factor.count - p->factor.envelope_rows > MAX_ADDED) {
            kp_schur_columns(ws);
            factor(ws, 0);
        }

        drop_negative_multipliers(ws);
        take_step(ws);
        evaluate_and_refine(ws, rounding);
    }

    return false;
}

void kp_qp_unconstrained_step(kp_stack_workspace *ws)
{
    ws->has_tangent = false;
    kp_qp_free_step_of_forces(ws);
    kp_schur_columns(ws);
    kp_schur_factor(ws, 0);
    take_step(ws);
}
