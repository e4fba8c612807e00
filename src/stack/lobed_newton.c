/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Equilibria of the stack with one lobe harmonic, by Newton's method on an augmented Lagrangian (Bertsekas, Constrained
   Optimization and Lagrange Multiplier Methods, chapter 2, from memory):

       L(x) = energy - pressure x load.x + sum over gaps of (max(0, m - c gap)^2 - m^2)/(2 c),

   m the contact forces so far, c the penalty. Its tangent couples the plates, which the quadratic programme of the
   round stack does not: a folded stack stands although each of its shims alone would not. At a minimum in x the forces
   become max(0, m - c gap), and so on until the gaps are closed; that converges with the ratio of the stack's stiffness
   to c. Near the answer forces are taken over within each step.

   Where the tangent is not positive definite, as on the round path beyond its onset, part of the mass matrix is added:
   the step then goes mostly along the shape that the stack folds into, and the line search finds how far. */
#include "stack/lobed.h"

#include <math.h>
#include <string.h>

enum {
    MAX_STEPS = 120,
    MAX_SEARCH_STEPS = 40,
    MAX_SETS = 12,
    MAX_SHIFTS = 12,
    MAX_MODEL_SEARCH = 12,
    MAX_HALVINGS = 6,
    MAX_FROZEN = 4,
    MAX_UPDATES = 8,
    MAX_CORRECTIONS = 6,
    MAX_FAILURES = 3
};
/* [-] of its slope at the start: slope of the model at which a search along it ends; and of its first gain: gain at
   which the model is solved. */
static const double MODEL_FLAT = 0.05, MODEL_SOLVED = 1e-2;
static const double MODEL_GAP = 0.2; /* [-] of the gap tolerance: what the model's gaps are closed to */
/* [-] of the energy: decrement below which contact forces are taken over within a step, steps are not searched along,
   and factors are used again. */
static const double DECREMENT_NEAR = 1e-2;
static const double FROZEN_RATIO = 0.1;     /* [-] least ratio by which such a step must be smaller */
static const double AGAINST = 1e-3;         /* [-] of the mean lift: lobes that stand the wrong way      */
static const double NO_ENERGY = 1e-16;      /* [-] an energy to count as none                            */
static const double RATE_TOLERANCE = 2e-4;  /* [-] last correction of the work of the load along the rate */
static const double RATE_DIFFERENCE = 1e-5; /* [-] of the pressure: interval of a difference of forces */
/* [-] of a thickness: gap of a contact that bears, and penetration, at the end. */
static const double GAP_TOLERANCE = 5e-6;
/* [-] First part of the mass matrix, and its growth. */
static const double FIRST_SHIFT = 0.5, SHIFT_GROWTH = 4;
/* [-] Ratio of gaps after and before contact forces are taken over, above which the penalty grows, and how. */
static const double CLOSES_ENOUGH = 0.25, PENALTY_GROWTH = 4, PENALTY_MOST = 60;
static const double PIVOT_MIN = 1e-12; /* [-] of the diagonal */

/* ---- the Lagrangian ---------------------------------------------------------------------------------------------- */

static double evaluate_plates(kp_stack_workspace *ws, const double *x, double *gradient)
{
    kp_lobed_stack *s = ws->lobed;
    double energy = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        energy += kp_lobed_evaluate(&s->plates[i], x + s->at[i], gradient ? gradient + s->at[i] : NULL);
    }
    return energy;
}

static double work_of_load(const kp_stack_workspace *ws, const double *x)
{
    const kp_lobed_stack *s = ws->lobed;
    return s->pressure * kp_batch_dot(KP_PAIR * ws->plates[0].splines, s->load, x);
}

/* Force of a gap at the state last evaluated, whose gap is `value`. */
static double contact_force(const kp_lobed_stack *s, size_t k)
{
    return fmax(0, s->multiplier[k] - s->penalty * s->value[k]);
}

static double penalties(const kp_stack_workspace *ws)
{
    const kp_lobed_stack *s = ws->lobed;
    double sum = 0;
    for (size_t a = 0; a < KP_ANGLES; a++) {
        for (size_t g = 0; g < ws->gap_count; g++) {
            size_t k = a * ws->gap_count + g;
            if (ws->gaps[g].enabled) {
                double force = contact_force(s, k);
                sum += force * force - s->multiplier[k] * s->multiplier[k];
            }
        }
    }
    return sum / (2 * s->penalty);
}

static double lagrangian(kp_stack_workspace *ws, const double *x)
{
    double energy = evaluate_plates(ws, x, NULL);
    kp_lobed_gaps(ws, x);
    return energy - work_of_load(ws, x) + penalties(ws);
}

/* ---- contacts in gradient and tangent ---------------------------------------------------------------------------- */

/* A gap's gradient: entries among the free unknowns. */
typedef struct entries {
    size_t count;
    size_t at[4 * KP_LOCAL];
    double c[4 * KP_LOCAL];
} entries;

static void add_entries(const kp_stack_workspace *ws, const kp_side *side, const double c[KP_LOCAL], bool valley,
                        entries *to)
{
    const kp_lobed_stack *s = ws->lobed;
    if (side->plate < 0) {
        return;
    }
    for (size_t i = 0; i < KP_LOCAL; i++) {
        if (c[i] != 0) {
            size_t at = s->free_at[side->plate] + side->base + KP_PAIR * i - s->fixed[side->plate];
            to->at[to->count] = at;
            to->c[to->count++] = c[i];
            to->at[to->count] = at + 1;
            to->c[to->count++] = valley ? -c[i] : c[i];
        }
    }
}

static entries entries_of(const kp_stack_workspace *ws, size_t k)
{
    const kp_lobed_stack *s = ws->lobed;
    const kp_gap *gap = &ws->gaps[k < ws->gap_count ? k : k - ws->gap_count];
    entries e;
    e.count = 0;
    for (size_t side = 0; side < 2; side++) {
        add_entries(ws, &gap->side[side], s->rows[k].c[side], k >= ws->gap_count, &e);
    }
    return e;
}

static void add_square(const kp_lobed_stack *s, const entries *e, double factor, double *matrix)
{
    for (size_t i = 0; i < e->count; i++) {
        double *row = matrix + s->row[e->at[i]] - s->begin[e->at[i]], c = factor * e->c[i];
        for (size_t j = 0; j < e->count; j++) {
            if (e->at[j] <= e->at[i]) {
                row[e->at[j]] += c * e->c[j];
            }
        }
    }
}

/* Adds factor x (contact forces at gaps `value`) of the contacts in the set. */
static void add_forces(const kp_stack_workspace *ws, const double *value, double factor, double *to)
{
    const kp_lobed_stack *s = ws->lobed;
    for (size_t k = 0; k < KP_ANGLES * ws->gap_count; k++) {
        if (s->bears[k]) {
            entries e = entries_of(ws, k);
            double force = factor * (s->multiplier[k] - s->penalty * value[k]);
            for (size_t i = 0; i < e.count; i++) {
                to[e.at[i]] += force * e.c[i];
            }
        }
    }
}

/* Adds the stiffness of the contacts in the set to the tangent. */
static void add_stiffness(const kp_stack_workspace *ws)
{
    const kp_lobed_stack *s = ws->lobed;
    for (size_t k = 0; k < KP_ANGLES * ws->gap_count; k++) {
        if (s->bears[k]) {
            entries e = entries_of(ws, k);
            add_square(s, &e, s->penalty, s->matrix);
        }
    }
}

/* Adds to the plates' tangents what the contact forces at x add as faces tilt. */
static void add_tilt(const kp_stack_workspace *ws)
{
    const kp_lobed_stack *s = ws->lobed;
    for (size_t k = 0; k < KP_ANGLES * ws->gap_count; k++) {
        size_t g = k < ws->gap_count ? k : k - ws->gap_count;
        for (size_t side = 0; s->bears[k] && side < 2; side++) {
            double tilt = contact_force(s, k) * ws->tilted[g].turning[side];
            if (tilt > 0) {
                entries slope = {0};
                add_entries(ws, &ws->gaps[g].side[side], ws->gaps[g].side[side].slope, k >= ws->gap_count, &slope);
                add_square(s, &slope, tilt, s->plate_matrix);
            }
        }
    }
}

/* The contacts that bear at gaps `value`. Returns whether they are others than before. */
static bool find_set(kp_stack_workspace *ws, const double *value)
{
    kp_lobed_stack *s = ws->lobed;
    bool changed = false;
    for (size_t k = 0; k < KP_ANGLES * ws->gap_count; k++) {
        bool bears =
            ws->gaps[k < ws->gap_count ? k : k - ws->gap_count].enabled && s->multiplier[k] - s->penalty * value[k] > 0;
        changed = changed || bears != s->bears[k];
        s->bears[k] = bears;
    }
    return changed;
}

/* ---- one Newton step --------------------------------------------------------------------------------------------- */

/* Residual of the free unknowns: minus the Lagrangian's gradient, but for the contacts. */
static void plate_residual(kp_stack_workspace *ws)
{
    kp_lobed_stack *s = ws->lobed;
    for (size_t i = 0; i < ws->plate_count; i++) {
        size_t count = KP_PAIR * ws->plates[i].splines - s->fixed[i];
        const double *gradient = s->gradient + s->at[i] + s->fixed[i], *load = s->load + s->at[i] + s->fixed[i];
        for (size_t k = 0; k < count; k++) {
            s->rhs[s->free_at[i] + k] = s->pressure * load[k] - gradient[k];
        }
    }
}

static void plate_tangents(kp_stack_workspace *ws)
{
    kp_lobed_stack *s = ws->lobed;
    memset(s->plate_matrix, 0, s->row[s->size] * sizeof *s->plate_matrix);
    for (size_t i = 0; i < ws->plate_count; i++) {
        size_t stride = (KP_PAIR * ws->plates[i].splines + KP_BATCH - 1) / KP_BATCH * KP_BATCH;
        size_t count = KP_PAIR * ws->plates[i].splines - s->fixed[i];
        double ridge = ws->plates[i].ring ? kp_plate_ridge(&ws->plates[i]) : 0;
        kp_lobed_tangent(&s->plates[i], s->scratch, stride, s->tangent);
        for (size_t k = 0; k < count; k++) {
            size_t row = s->free_at[i] + k;
            memcpy(s->plate_matrix + s->row[row] + s->free_at[i] - s->couples[i],
                   s->tangent + (s->fixed[i] + k) * stride + s->fixed[i], (k + 1) * sizeof *s->plate_matrix);
            s->plate_matrix[s->row[row] + row - s->couples[i]] += k % KP_PAIR == 0 ? ridge : 0;
        }
    }
}

/* Factors the tangent plus a part of the mass matrix; false: not positive definite. */
static bool factor_tangent(kp_stack_workspace *ws, double shift)
{
    kp_lobed_stack *s = ws->lobed;
    kp_skyline_begin(&s->factor, s->size);
    double *row = s->scratch;
    for (size_t i = 0; i < ws->plate_count; i++) {
        size_t end = i + 1 < ws->plate_count ? s->free_at[i + 1] : s->size;
        for (size_t k = s->free_at[i]; k < end; k++) {
            size_t first = s->couples[i];
            memcpy(row + first, s->matrix + s->row[k], (k - first + 1) * sizeof *row);
            double mass = s->mass[s->at[i] + s->fixed[i] + k - s->free_at[i]];
            row[k] += shift * mass;
            if (!kp_skyline_append(&s->factor, first, row, PIVOT_MIN * row[k])) {
                return false;
            }
        }
    }
    return true;
}

/* Spreads a vector of the free unknowns, in rhs, over the others. */
static void spread(const kp_stack_workspace *ws, double *to)
{
    const kp_lobed_stack *s = ws->lobed;
    for (size_t i = 0; i < ws->plate_count; i++) {
        size_t count = KP_PAIR * ws->plates[i].splines - s->fixed[i];
        memset(to + s->at[i], 0, s->fixed[i] * sizeof *to);
        memcpy(to + s->at[i] + s->fixed[i], s->rhs + s->free_at[i], count * sizeof *to);
    }
}

/* Rate of a free unknown of a plate. */
static double rate_of(const kp_stack_workspace *ws, size_t free_unknown, int plate)
{
    const kp_lobed_stack *s = ws->lobed;
    return s->rate[s->at[plate] + s->fixed[plate] + free_unknown - s->free_at[plate]];
}

/* Takes what the contacts that bear change by along the rate over into `change`, and adds that, less what they still
   open by, and what their forces turn by, to a residual. */
static void add_contact_rates(const kp_stack_workspace *ws, double *change, double *to)
{
    const kp_lobed_stack *s = ws->lobed;
    for (size_t k = 0; k < KP_ANGLES * ws->gap_count; k++) {
        if (!s->bears[k]) {
            continue;
        }
        size_t g = k < ws->gap_count ? k : k - ws->gap_count;
        entries e = entries_of(ws, k);
        double opens = s->penalty * kp_lobed_gap_rate(ws, g, k >= ws->gap_count ? KP_VALLEY : KP_CREST);
        change[k] -= opens;
        for (size_t i = 0; i < e.count; i++) {
            to[e.at[i]] += (change[k] - opens) * e.c[i];
        }
        for (size_t side = 0; side < 2; side++) {
            double tilt = contact_force(s, k) * ws->tilted[g].turning[side];
            entries slope = {0};
            if (tilt > 0) {
                add_entries(ws, &ws->gaps[g].side[side], ws->gaps[g].side[side].slope, k >= ws->gap_count, &slope);
            }
            double turn = 0;
            for (size_t i = 0; i < slope.count; i++) {
                turn += slope.c[i] * rate_of(ws, slope.at[i], ws->gaps[g].side[side].plate);
            }
            for (size_t i = 0; i < slope.count; i++) {
                to[slope.at[i]] -= tilt * turn * slope.c[i];
            }
        }
    }
}

/* Factors the tangent with the set; shift grows until it is positive definite. */
static bool factor_set(kp_stack_workspace *ws, double *shift)
{
    kp_lobed_stack *s = ws->lobed;
    memcpy(s->matrix, s->plate_matrix, s->row[s->size] * sizeof *s->matrix);
    memcpy(s->factored, s->bears, KP_ANGLES * ws->gap_count * sizeof *s->factored);
    add_stiffness(ws);
    for (int k = 0; !factor_tangent(ws, *shift); k++) {
        if (k == MAX_SHIFTS) {
            return false;
        }
        *shift = *shift > 0 ? SHIFT_GROWTH * *shift : FIRST_SHIFT;
    }
    return true;
}

/* Sum over the contacts that bear of force x change, a part of the change further on. */
static double work_rate(const kp_stack_workspace *ws, const double *value, const double *change, double part)
{
    const kp_lobed_stack *s = ws->lobed;
    double sum = 0;
    for (size_t k = 0; k < KP_ANGLES * ws->gap_count; k++) {
        double force = s->multiplier[k] - s->penalty * (value[k] + part * change[k]);
        if (force > 0 && ws->gaps[k < ws->gap_count ? k : k - ws->gap_count].enabled) {
            sum += force * change[k];
        }
    }
    return sum;
}

/* Part of the way at which the model's slope along it, `from` plus a share of `more` less the contacts' work, vanishes;
   1 where it is still falling there. */
static double least_part(const kp_stack_workspace *ws, double from, double more, const double *value,
                         const double *change)
{
    double low = 0, high = 1, at_low = from - work_rate(ws, value, change, 0);
    double at_high = from + more - work_rate(ws, value, change, 1);
    if (at_high <= MODEL_FLAT * fabs(at_low) || !(at_low < 0)) {
        return 1;
    }
    for (int k = 0; k < MAX_MODEL_SEARCH; k++) {
        double part = low + (high - low) * fmin(0.9, fmax(0.1, at_low / (at_low - at_high)));
        double at = from + part * more - work_rate(ws, value, change, part);
        if (fabs(at) <= MODEL_FLAT * fabs(from)) {
            return part;
        }
        if (at < 0) {
            low = part;
            at_low = at;
        } else {
            high = part;
            at_high = at;
        }
    }
    return low > 0 ? low : high;
}

/* Begins the quadratic model at x, where plates and gaps were just evaluated, with no step yet. */
static void begin_model(kp_stack_workspace *ws)
{
    kp_lobed_stack *s = ws->lobed;
    size_t bytes = s->size * sizeof *s->rhs;
    plate_residual(ws);
    memcpy(s->plate_rhs, s->rhs, bytes);
    memcpy(s->residual, s->rhs, bytes);
    memcpy(s->reached, s->value, KP_ANGLES * ws->gap_count * sizeof *s->reached);
    memset(s->so_far, 0, bytes);
}

/* The whole step of the set; in rhs. `expected` gets its gaps, `balanced` what its contacts bear, which is the residual
   of the model without contacts at its end. */
static void step_of_set(kp_stack_workspace *ws)
{
    kp_lobed_stack *s = ws->lobed;
    memcpy(s->rhs, s->plate_rhs, s->size * sizeof *s->rhs);
    add_forces(ws, s->value, 1, s->rhs);
    kp_skyline_forward(&s->factor, 0, s->rhs);
    kp_skyline_backward(&s->factor, s->rhs);
    spread(ws, s->step);
    kp_lobed_gap_steps(ws, s->step, s->expected);
    memset(s->balanced, 0, s->size * sizeof *s->balanced);
    add_forces(ws, s->expected, -1, s->balanced);
}

/* The part of the way from the step so far to that of the set at which the model is least; goes there. Returns how much
   the model's slope would change over all of the way. */
static double go_toward_set(kp_stack_workspace *ws)
{
    kp_lobed_stack *s = ws->lobed;
    double from = 0, to = 0;
    for (size_t i = 0; i < s->size; i++) {
        double change = s->rhs[i] - s->so_far[i];
        from -= s->residual[i] * change;
        to -= s->balanced[i] * change;
    }
    for (size_t i = 0; i < KP_ANGLES * ws->gap_count; i++) {
        s->expected[i] -= s->reached[i];
    }
    double part = least_part(ws, from, to - from, s->reached, s->expected);
    for (size_t i = 0; i < s->size; i++) {
        s->so_far[i] += part * (s->rhs[i] - s->so_far[i]);
        s->residual[i] += part * (s->balanced[i] - s->residual[i]);
    }
    for (size_t i = 0; i < KP_ANGLES * ws->gap_count; i++) {
        s->reached[i] += part * s->expected[i];
    }
    return fabs(to - from);
}

/* The minimum of the model, the contacts with their penalty: a quadratic for each set of contacts. Newton's method on
   it goes from set to set, each time as far as the model falls. The set is left as that of the factors. false: no
   tangent was positive definite. */
static bool solve_model(kp_stack_workspace *ws, bool factored, double *shift)
{
    kp_lobed_stack *s = ws->lobed;
    double first = 0;
    factored = !find_set(ws, s->reached) && factored;
    for (int k = 0; k < MAX_SETS; k++) {
        double before = *shift;
        if (!(factored && k == 0) && !factor_set(ws, shift)) {
            return false;
        }
        if (k > 0 && *shift > before) {
            break; /* another model than that so far */
        }
        step_of_set(ws);
        double gain = go_toward_set(ws);
        first = k == 0 ? gain : first;
        if (!find_set(ws, s->reached) || (k > 0 && gain <= MODEL_SOLVED * first)) {
            break;
        }
    }
    memcpy(s->bears, s->factored, KP_ANGLES * ws->gap_count * sizeof *s->bears);
    return true;
}

/* Largest gap of a contact that bears, or penetration, at x. */
static double largest_opening(const kp_stack_workspace *ws)
{
    const kp_lobed_stack *s = ws->lobed;
    double worst = 0;
    for (size_t k = 0; k < KP_ANGLES * ws->gap_count; k++) {
        if (ws->gaps[k < ws->gap_count ? k : k - ws->gap_count].enabled) {
            worst = fmax(worst, s->multiplier[k] > 0 ? fabs(s->value[k]) : -s->value[k]);
        }
    }
    return worst;
}

/* Contact forces become those at gaps `value`. Returns the largest gap of a contact that bears, or penetration. */
static double update_forces(kp_stack_workspace *ws, const double *value)
{
    kp_lobed_stack *s = ws->lobed;
    double worst = 0;
    for (size_t k = 0; k < KP_ANGLES * ws->gap_count; k++) {
        bool enabled = ws->gaps[k < ws->gap_count ? k : k - ws->gap_count].enabled;
        double force = enabled ? fmax(0, s->multiplier[k] - s->penalty * value[k]) : 0;
        worst = fmax(worst, fabs(force - s->multiplier[k]) / s->penalty);
        s->multiplier[k] = force;
    }
    return worst;
}

/* The step at x, where plates and gaps were just evaluated. Near the answer contact forces are taken over until they
   close the model's gaps. Returns how fast the Lagrangian of the first forces falls along it at x [-] of `scale`; NAN:
   no step was found. */
static double make_step(kp_stack_workspace *ws, double scale, double *shift)
{
    kp_lobed_stack *s = ws->lobed;
    double *downward = s->trial;
    plate_tangents(ws);
    begin_model(ws);
    memcpy(downward, s->plate_rhs, s->size * sizeof *downward);
    find_set(ws, s->value);
    add_tilt(ws);
    add_forces(ws, s->value, 1, downward);
    *shift = 0;
    s->penalty = s->first_penalty;
    if (!solve_model(ws, false, shift)) {
        return NAN;
    }
    double decrement = kp_batch_dot(s->size, downward, s->so_far) / scale, last = INFINITY;
    for (int k = 0; k < MAX_UPDATES && *shift == 0 && decrement <= DECREMENT_NEAR; k++) {
        double open = update_forces(ws, s->reached);
        if (open <= MODEL_GAP * GAP_TOLERANCE) {
            break;
        }
        bool slow = open > CLOSES_ENOUGH * last;
        slow = slow && s->penalty < PENALTY_MOST * s->first_penalty;
        s->penalty *= slow ? PENALTY_GROWTH : 1;
        last = open;
        if (!solve_model(ws, !slow, shift)) {
            return NAN;
        }
    }
    memcpy(s->rhs, s->so_far, s->size * sizeof *s->rhs);
    spread(ws, s->step);
    return decrement;
}

/* trial = x + part of the step. */
static void make_trial(kp_lobed_stack *s, double part)
{
    for (size_t k = 0; k < s->unknowns; k++) {
        s->trial[k] = s->x[k] + part * s->step[k];
    }
}

static bool search(kp_stack_workspace *ws, double before, double decrement)
{
    kp_lobed_stack *s = ws->lobed;
    double part = 1;
    for (int k = 0; k < MAX_SEARCH_STEPS; k++) {
        make_trial(s, part);
        double after = lagrangian(ws, s->trial);
        if (after <= before - KP_ARMIJO * part * decrement) {
            return true;
        }
        double curve = after - before + part * decrement;
        double next = curve > 0 ? part * part * decrement / (2 * curve) : part / 10;
        part = fmin(fmax(next, part / 10), part / 2);
    }
    return false;
}

static void accept(kp_lobed_stack *s)
{
    double *swap = s->x;
    s->x = s->trial;
    s->trial = swap;
}

/* ---- steps with the last factors --------------------------------------------------------------------------------- */

/* Solves with the factors at hand; the result also stays in rhs. Returns its product with what was in rhs. */
static double solve_with_factors(kp_stack_workspace *ws, double *to)
{
    kp_lobed_stack *s = ws->lobed;
    memcpy(s->residual, s->rhs, s->size * sizeof *s->rhs);
    kp_skyline_forward(&s->factor, 0, s->rhs);
    kp_skyline_backward(&s->factor, s->rhs);
    spread(ws, to);
    return kp_batch_dot(s->size, s->residual, s->rhs);
}

/* Evaluates plates and gaps at x. Returns the measure of energies there. */
static double evaluate_state(kp_stack_workspace *ws)
{
    kp_lobed_stack *s = ws->lobed;
    s->energy = evaluate_plates(ws, s->x, s->gradient);
    s->evaluated = KP_STACK_STATE;
    ws->overlap = 1;
    kp_lobed_gaps(ws, s->x);
    return s->energy + fabs(work_of_load(ws, s->x)) + NO_ENERGY;
}

/* A step with the factors and the set of the last one. Returns its decrement [-] of the energy; INFINITY where another
   contact closes, or gaps stay open. */
static double frozen_step(kp_stack_workspace *ws)
{
    kp_lobed_stack *s = ws->lobed;
    double scale = evaluate_state(ws);
    begin_model(ws);
    for (int k = 0; k < MAX_UPDATES; k++) {
        step_of_set(ws);
        for (size_t i = 0; i < KP_ANGLES * ws->gap_count; i++) {
            if (!s->bears[i] && ws->gaps[i < ws->gap_count ? i : i - ws->gap_count].enabled &&
                s->expected[i] < -GAP_TOLERANCE) {
                return INFINITY;
            }
        }
        double decrement = 0;
        for (size_t i = 0; i < s->size; i++) {
            decrement += (s->plate_rhs[i] - s->balanced[i]) * s->rhs[i];
        }
        if (update_forces(ws, s->expected) <= MODEL_GAP * GAP_TOLERANCE || k + 1 == MAX_UPDATES) {
            return fabs(decrement) / scale;
        }
    }
    return INFINITY;
}

/* Steps with the factors of the last one, whose decrement was `before` [-] of the energy. A step's length is the root
   of its decrement, and what remains behind it is as much shorter as it is shorter than the one before. true: x is an
   equilibrium, and the last evaluation is that of x. */
static bool frozen_steps(kp_stack_workspace *ws, double before)
{
    kp_lobed_stack *s = ws->lobed;
    double tolerance = kp_stack_decrement_tolerance(ws);
    for (int k = 0; k < MAX_FROZEN; k++) {
        double decrement = frozen_step(ws);
        if (!(decrement <= FROZEN_RATIO * before)) {
            return false;
        }
        for (size_t i = 0; i < s->unknowns; i++) {
            s->x[i] += s->step[i];
        }
        ws->record.frozen_steps++;
        if (decrement * decrement / before <= tolerance * tolerance) {
            evaluate_state(ws);
            return largest_opening(ws) <= GAP_TOLERANCE;
        }
        before = decrement;
    }
    return false;
}

/* rate = change of x with pressure, with the contacts that bear held closed. The factors are those of a state before x
   and close contacts only by their penalty: their answer is corrected by its residual at x until that changes little.
 */
static void find_rate(kp_stack_workspace *ws)
{
    kp_lobed_stack *s = ws->lobed;
    double part = RATE_DIFFERENCE * s->pressure, work = 0;
    memset(s->rate, 0, s->unknowns * sizeof *s->rate);
    memset(s->expected, 0, KP_ANGLES * ws->gap_count * sizeof *s->expected);
    for (int k = 0; k < MAX_CORRECTIONS; k++) {
        /* Load less the change of the plates' forces, by a difference, and of the contacts'. */
        if (k > 0) {
            kp_lobed_trial_along_rate(ws, part);
            evaluate_plates(ws, s->trial, s->step);
            s->evaluated = KP_STACK_TRIAL;
        }
        for (size_t i = 0; i < ws->plate_count; i++) {
            for (size_t j = s->fixed[i]; j < KP_PAIR * ws->plates[i].splines; j++) {
                size_t at = s->at[i] + j;
                s->rhs[s->free_at[i] + j - s->fixed[i]] =
                    s->load[at] - (k > 0 ? (s->step[at] - s->gradient[at]) / part : 0);
            }
        }
        if (k > 0) {
            add_contact_rates(ws, s->expected, s->rhs);
        }
        solve_with_factors(ws, s->step);
        for (size_t i = 0; i < s->unknowns; i++) {
            s->rate[i] += s->step[i];
        }
        double more = kp_batch_dot(s->unknowns, s->load, s->step);
        work += more;
        if (k > 0 && fabs(more) <= RATE_TOLERANCE * fabs(work)) {
            return;
        }
    }
}

/* ---- the equilibrium --------------------------------------------------------------------------------------------- */

/* Newton's method from x. */
static bool newton(kp_stack_workspace *ws)
{
    kp_lobed_stack *s = ws->lobed;
    double tolerance = kp_stack_decrement_tolerance(ws);
    int failures = 0;
    for (int step = 0; step < MAX_STEPS; step++) {
        double scale = evaluate_state(ws), shift;
        double before = s->energy - work_of_load(ws, s->x) + penalties(ws);
        double decrement = make_step(ws, scale, &shift);
        if (!isfinite(decrement)) {
            return false;
        }
        ws->record.newton_steps++;
        bool near = shift == 0 && decrement <= DECREMENT_NEAR;
        if (near) {
            make_trial(s, 1);
        } else if (!search(ws, before, decrement * scale)) {
            /* Rounding hides the decrease: the contact forces are taken over where it stands. */
            if (++failures > MAX_FAILURES) {
                return false;
            }
            evaluate_state(ws);
            update_forces(ws, s->value);
            continue;
        }
        accept(s);
        if (near && frozen_steps(ws, fmax(decrement, tolerance * tolerance))) {
            return true;
        }
    }
    return false;
}

/* ---- where it starts --------------------------------------------------------------------------------------------- */

/* The state as a power of the pressure, its shape changing with the logarithm of it: from one solution. */
static void predict_from(kp_stack_workspace *ws, const kp_lobed_past *from, double pressure)
{
    kp_lobed_stack *s = ws->lobed;
    double work = kp_batch_dot(s->unknowns, s->load, from->x), ratio = pressure / from->pressure;
    double power = from->pressure * kp_batch_dot(s->unknowns, s->load, from->rate) / work, step = log(ratio);
    double grown = pow(ratio, power);
    for (size_t k = 0; k < s->unknowns; k++) {
        s->x[k] = grown * (from->x[k] + step * (from->pressure * from->rate[k] - power * from->x[k]));
    }
    for (size_t k = 0; k < KP_ANGLES * ws->gap_count; k++) {
        s->multiplier[k] = ratio * from->multiplier[k];
    }
}

/* Between two solutions: Hermite's cubic in the logarithm of the pressure. */
static void predict_between(kp_stack_workspace *ws, const kp_lobed_past *low, const kp_lobed_past *high,
                            double pressure)
{
    kp_lobed_stack *s = ws->lobed;
    double width = log(high->pressure / low->pressure), part = log(pressure / low->pressure) / width, rest = 1 - part;
    double from = rest * rest * (1 + 2 * part), to = part * part * (3 - 2 * part);
    double from_slope = width * part * rest * rest * low->pressure;
    double to_slope = -width * part * part * rest * high->pressure;
    for (size_t k = 0; k < s->unknowns; k++) {
        s->x[k] = from * low->x[k] + to * high->x[k] + from_slope * low->rate[k] + to_slope * high->rate[k];
    }
    for (size_t k = 0; k < KP_ANGLES * ws->gap_count; k++) {
        s->multiplier[k] = rest * low->multiplier[k] + part * high->multiplier[k];
    }
}

/* Makes x what past solutions on the same seat predict. */
static void predict(kp_stack_workspace *ws, double pressure)
{
    kp_lobed_stack *s = ws->lobed;
    const kp_lobed_past *low = NULL, *high = NULL;
    for (size_t k = 0; k < s->past_count; k++) {
        const kp_lobed_past *at = &s->past[k];
        if (at->seat != s->seat || !(at->pressure > 0)) {
            continue;
        }
        if (at->pressure <= pressure && (!low || at->pressure > low->pressure)) {
            low = at;
        }
        if (at->pressure > pressure && (!high || at->pressure < high->pressure)) {
            high = at;
        }
    }
    if (low && high) {
        predict_between(ws, low, high, pressure);
    } else if (pressure > 0 && (low || high)) {
        predict_from(ws, low ? low : high, pressure);
    }
}

/* Keeps the solution. The oldest makes room, but the first is where a path began. */
static void remember(kp_stack_workspace *ws)
{
    kp_lobed_stack *s = ws->lobed;
    size_t at = s->past_count;
    if (at < KP_LOBED_PAST) {
        s->past_count++;
    } else {
        at = s->next_past = s->next_past % (KP_LOBED_PAST - 1) + 1;
    }
    kp_lobed_past *to = &s->past[at];
    to->pressure = s->pressure;
    to->seat = s->seat;
    memcpy(to->x, s->x, s->unknowns * sizeof *to->x);
    memcpy(to->rate, s->rate, s->unknowns * sizeof *to->rate);
    memcpy(to->multiplier, s->multiplier, KP_ANGLES * ws->gap_count * sizeof *to->multiplier);
}

/* Turns the lobes by half a period: crests become valleys. */
static void turn_lobes(kp_stack_workspace *ws)
{
    kp_lobed_stack *s = ws->lobed;
    for (size_t k = 1; k < s->unknowns; k += KP_PAIR) {
        s->x[k] = -s->x[k];
    }
    for (size_t g = 0; g < ws->gap_count; g++) {
        double crest = s->multiplier[g];
        s->multiplier[g] = s->multiplier[ws->gap_count + g];
        s->multiplier[ws->gap_count + g] = crest;
    }
}

/* Newton's method; an equilibrium whose lobes stand against what is out of flat, or against the ports, is another one
   than that reached from rest: from there with its lobes turned. */
static bool newton_from_rest(kp_stack_workspace *ws)
{
    double mean, amplitude;
    if (!newton(ws)) {
        return false;
    }
    kp_lobed_seat_lift(ws, &mean, &amplitude);
    if (amplitude < -AGAINST * fabs(mean)) {
        turn_lobes(ws);
        return newton(ws);
    }
    return true;
}

/* The equilibrium at the pressure; when none is found the state is what it was. */
static bool solve(kp_stack_workspace *ws, double pressure)
{
    kp_lobed_stack *s = ws->lobed;
    double from = s->pressure;
    memcpy(s->last_x, s->x, s->unknowns * sizeof *s->x);
    memcpy(s->last_multiplier, s->multiplier, KP_ANGLES * ws->gap_count * sizeof *s->multiplier);
    predict(ws, pressure);
    s->pressure = pressure;
    ws->record.load_steps++;
    if (newton_from_rest(ws)) {
        find_rate(ws);
        remember(ws);
        return true;
    }
    memcpy(s->x, s->last_x, s->unknowns * sizeof *s->x);
    memcpy(s->multiplier, s->last_multiplier, KP_ANGLES * ws->gap_count * sizeof *s->multiplier);
    s->pressure = from;
    return false;
}

bool kp_lobed_path(kp_stack_workspace *ws, double pressure)
{
    kp_lobed_stack *s = ws->lobed;
    double next = pressure;
    for (int halvings = 0; halvings <= MAX_HALVINGS;) {
        double from = s->pressure;
        if (!solve(ws, next)) {
            next = from + (next - from) / 2;
            halvings++;
        } else if (next == pressure) {
            s->solved = true;
            return true;
        } else {
            next = pressure;
        }
    }
    s->solved = false;
    return false;
}

void kp_lobed_trial_along_rate(kp_stack_workspace *ws, double scaled_step)
{
    kp_lobed_stack *s = ws->lobed;
    for (size_t k = 0; k < s->unknowns; k++) {
        s->trial[k] = s->x[k] + scaled_step * s->rate[k];
    }
    s->evaluated = s->evaluated == KP_STACK_TRIAL ? KP_LOBED_NEITHER : s->evaluated;
}

double kp_lobed_imbalance(kp_stack_workspace *ws)
{
    double shift, scale = evaluate_state(ws);
    double decrement = make_step(ws, scale, &shift);
    return isfinite(decrement) ? fabs(decrement) : INFINITY;
}

double kp_lobed_seat_rate_of(kp_stack_workspace *ws, const double *load)
{
    kp_lobed_stack *s = ws->lobed;
    size_t face = KP_PAIR * ws->plates[0].splines;
    double own[KP_PAIR * KP_MAX_SPLINES], mean, amplitude;
    memcpy(s->last_x, s->rate, s->unknowns * sizeof *s->rate); /* not in use between solutions */
    memcpy(own, s->load, face * sizeof *own);
    for (size_t k = 0; k < face; k += KP_PAIR) {
        s->load[k] = load[k];
        s->load[k + 1] = 0;
    }
    find_rate(ws);
    kp_lobed_seat_rate(ws, &mean, &amplitude);
    memcpy(s->load, own, face * sizeof *own);
    memcpy(s->rate, s->last_x, s->unknowns * sizeof *s->rate);
    s->evaluated = KP_LOBED_NEITHER;
    return mean;
}
