/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Equilibria where full Newton steps cycle, as with thick loose rings twisted over the edge of a clamp.

   The whole problem, tilt of the faces included: minimise the potential P(w) subject to gap_i(w) >= 0. Each gap is
   concave in the lifts (contact.c: a plate's tilt only takes away), so that the open shapes are a convex set, and gaps
   linearised at any state admit at least that set. Two methods, the second for what the first does not solve.

   Descent: sequential quadratic programming with an exact penalty (Han, J. Optim. Theory Appl. 22 (1977) 297, from
   memory). From any state, a programme's step d lowers P + weight x (sum of penetrations), the gaps evaluated at each
   trial's own tilt, once the weight is above every contact force: at first by f.d + weight x sum. The line search along
   d accepts no step that does not. Near the answer whole steps pass and it converges as Newton's method does.

   Penalty continuation: compliant contacts, min P + sum of penetration_i^2/(2 compliance). The function is smooth, each
   step is the same programme with the compliance added to the diagonal of its Schur complement, and no contacts
   contradict each other. From a flat stack, the compliance is reduced by stages, each from the last one's state, until
   a descent succeeds. At a stage's answer w, with the forces m = penetration/compliance, P being convex there, every
   shape v with open gaps has

       P(v) >= P(w) + sum of m_i (gap_i(v) - gap_i(w)) >= P(w) + sum of m_i penetration_i.

   Where that bound is above the energy of a strain of STRAIN_ABSURD in every shim, no shape that the elements can take
   keeps the shims out of each other: the stack cannot be clamped flat. (More elements can take slightly more shapes: of
   six such stacks in 100 000 with 10 elements, two have an equilibrium with 24.) Geometry agrees: parallel faces of a
   pack of thickness T can lean aside by about d^2/(2 T) at the distance d from their clamp, and no more. */
#include "stack/stack_internal.h"

#include <math.h>
#include <string.h>

/* MAX_FULL_RELINEARISATIONS: times that the overlap follows the lifts at once; after that half the way, so that the two
   cannot cycle. */
enum { MAX_DESCENT_STEPS = 60, MAX_FULL_RELINEARISATIONS = 4, MAX_STAGES = 24 };
/* [-] Weight of penetrations over the largest contact force. Above 1; at 2 a step that is right but for the curvature
   of the gaps is still accepted. */
static const double WEIGHT_RATIO = 2.0;
/* [-] Shortest part of a step that is tried: below it rounding hides the decrease. */
static const double MIN_PART = 1e-6;
/* [-] of the energy: predicted decrease at which a stage has converged. */
static const double STAGE_TOLERANCE = 1e-6;
/* [-] Contact compliance of the first stage: gap over force, both scaled. At 1 the penetrations of a flat stack hardly
   bend it (seen: its energy is a twentieth of the penalty). */
static const double FIRST_COMPLIANCE = 1.0;
/* [-] Compliance of a stage over that of the next. */
static const double COMPLIANCE_RATIO = 30.0;
/* [-] of t0: largest penetration of a stage's answer from which a descent is tried. */
static const double PENETRATION_SMALL = 1e-2;
/* [-] Strain of all shims that none comes near to: spring steel yields at 0.007. */
static const double STRAIN_ABSURD = 0.05;

/* ---- the penalty function and its line search ---- */

static double penetration(const kp_stack_workspace *ws, const kp_gap *gap)
{
    return gap->enabled ? fmax(0, -kp_gap_value(ws, gap)) : 0;
}

/* The penalty of all penetrations at the state, and its rate of decrease along the step. */
typedef struct penalty {
    double value, decrease; /* [-] */
} penalty;

static penalty penalty_of(const kp_stack_workspace *ws, double weight)
{
    penalty sum = {0};
    for (size_t g = 0; g < ws->gap_count; g++) {
        double depth = penetration(ws, &ws->gaps[g]);
        if (!(depth > 0)) {
            continue;
        }
        if (ws->contact_compliance > 0) {
            sum.value += depth * depth / (2 * ws->contact_compliance);
            sum.decrease += depth / ws->contact_compliance * kp_gap_increment(ws, &ws->gaps[g]);
        } else {
            sum.value += weight * depth;
            sum.decrease += weight * depth; /* the whole step opens every gap */
        }
    }

    return sum;
}

/* Backtracking: takes the first part of the step that lowers potential and penalty enough (Armijo); false when none
   does. unchecked: takes the whole step, where only rounding would be compared. */
static bool search(kp_stack_workspace *ws, double weight, double slope, bool unchecked)
{
    /* Potential and penalty at the state, and their predicted rate of decrease. */
    penalty at_start = penalty_of(ws, weight);
    double before = kp_stack_potential(ws, KP_STACK_STATE) + at_start.value;
    double decrease = slope + at_start.decrease;
    double part = 1;

    while (part > MIN_PART) {
        kp_stack_make_trial(ws, part);
        kp_stack_accept_trial(ws);
        kp_contact_linearise(ws, 0);
        double after = kp_stack_potential(ws, KP_STACK_STATE) + penalty_of(ws, weight).value;
        if (unchecked || after <= before - KP_ARMIJO * part * decrease) {
            return true;
        }
        kp_stack_accept_trial(ws); /* changes places back */

        /* Minimum of the parabola through value, slope and trial, kept between a tenth and a half of the part. */
        double curve = after - before + part * decrease;
        double next = curve > 0 ? part * part * decrease / (2 * curve) : part / 10;
        part = fmin(fmax(next, part / 10), part / 2);
    }

    kp_contact_linearise(ws, 0);
    return false;
}

static double max_contact_force(const kp_stack_workspace *ws)
{
    double max = 0;
    for (size_t i = 0; i < ws->qp.count; i++) {
        max = fmax(max, ws->qp.multiplier[ws->qp.active[i]]);
    }
    return max;
}

/* ---- descent ---- */

bool kp_stack_descend(kp_stack_workspace *ws)
{
    bool compliant = ws->contact_compliance > 0;
    double tolerance = compliant ? STAGE_TOLERANCE : kp_stack_decrement_tolerance(ws);
    double weight = 0;

    /* Whether the overlap follows the state's lifts at this step: at the last one it must. */
    bool updates_overlap = !compliant;
    for (int step = 0, updates = 0; step < MAX_DESCENT_STEPS; step++) {
        updates += updates_overlap;
        kp_contact_linearise(ws, !updates_overlap ? 0 : updates <= MAX_FULL_RELINEARISATIONS ? 1 : 0.5);
        if (!kp_stack_factor_tangents(ws) || !kp_qp_solve(ws)) {
            return false;
        }

        ws->record.newton_steps++;

        /* The decrement measures the distance from the answer, as in Newton's method. */
        kp_predicted_decrease predicted = kp_stack_predicted_decrease(ws);
        double size = fabs(predicted.size) / kp_stack_energy_scale(ws);
        if (!isfinite(size)) {
            return false;
        }

        /* The penalty is exact once its weight is above every contact force. */
        double force = max_contact_force(ws);
        weight = force > weight ? WEIGHT_RATIO * force : weight;

        /* The last step is a whole one, as Newton's is. */
        bool last = size <= tolerance && (compliant || updates_overlap);
        if (!search(ws, weight, predicted.slope, last || size <= KP_DECREMENT_ROUNDING)) {
            return false;
        }

        kp_stack_record_full_step(ws, size);
        if (last && (compliant || kp_stack_is_open(ws))) {
            return true;
        }

        updates_overlap = !compliant && size <= KP_DECREMENT_NEAR;
    }

    return false;
}

/* ---- penalty continuation ---- */

/* Energy of a strain of STRAIN_ABSURD in every shim, divided by 1 - nu^2. */
static double absurd_energy(const kp_stack_workspace *ws)
{
    double strain = STRAIN_ABSURD * pow(ws->length / ws->height, 2);
    double sum = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        double area = (plate->outer * plate->outer - plate->inner * plate->inner) / 2;
        sum += plate->membrane * area * strain * strain / 2;
    }

    return sum;
}

/* A stage's answer. */
typedef struct stage {
    double max_penetration; /* [-] */
    size_t worst;           /*     gap index of it */
    double bound;           /* [-] lower bound of the potential of every shape with open gaps */
} stage;

static stage evaluate_stage(const kp_stack_workspace *ws, double contact_compliance)
{
    stage s = {.bound = kp_stack_potential(ws, KP_STACK_STATE)};
    for (size_t g = 0; g < ws->gap_count; g++) {
        double depth = penetration(ws, &ws->gaps[g]);
        s.bound += depth * depth / contact_compliance;
        if (depth > s.max_penetration) {
            s.max_penetration = depth;
            s.worst = g;
        }
    }

    return s;
}

static void set_flat(kp_stack_workspace *ws)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        memset(plate->state, 0, plate->unknowns * sizeof *plate->state);
    }
    ws->qp.count = 0;
    kp_contact_linearise(ws, 1);
}

/* A descent with compliant contacts, in a programme of its own. */
static bool descend_compliant(kp_stack_workspace *ws, double contact_compliance, kp_qp *own)
{
    kp_qp rigid = ws->qp;
    ws->qp = *own;
    ws->contact_compliance = contact_compliance;
    bool done = kp_stack_descend(ws);
    ws->contact_compliance = 0;
    *own = ws->qp;
    ws->qp = rigid;
    return done;
}

/* A descent with rigid contacts from a stage's answer. When it fails the state is what it was. */
static bool descend_rigid(kp_stack_workspace *ws)
{
    double overlap = ws->overlap;
    kp_stack_save_state(ws);
    ws->qp.count = 0;

    if (kp_stack_descend(ws)) {
        return true;
    }

    kp_stack_restore_state(ws);
    ws->overlap = overlap;
    kp_contact_linearise(ws, 0);
    return false;
}

bool kp_stack_penalty_continuation(kp_stack_workspace *ws, size_t *infeasible_gap)
{
    kp_qp own;
    /* Compliant contacts may all be active at once, and be more than there are unknowns. */
    if (kp_qp_begin(&own, ws, ws->gap_count, NULL) != KP_OK) {
        return false;
    }

    set_flat(ws);
    bool done = false;
    double contact_compliance = FIRST_COMPLIANCE;

    for (int k = 0; k < MAX_STAGES && !done && descend_compliant(ws, contact_compliance, &own); k++) {
        stage s = evaluate_stage(ws, contact_compliance);
        /* No shape with open gaps exists. */
        if (s.bound > absurd_energy(ws)) {
            *infeasible_gap = s.worst;
            break;
        }

        /* Near enough to an open shape for rigid contacts. */
        if (s.max_penetration < PENETRATION_SMALL) {
            done = descend_rigid(ws);
        }

        contact_compliance /= COMPLIANCE_RATIO;
    }

    ws->record.load_steps++;
    ws->qp.changes += own.changes;
    kp_qp_free(&own);
    return done;
}
