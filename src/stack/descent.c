/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Equilibrium where full Newton steps go to and fro, as thick loose rings twisted over the edge of a clamp do.

   The whole problem, tilt of the faces included: least of the potential P(w) with gap_i(w) >= 0, each gap concave in
   the lifts (contact.c: a plate's tilt only takes away), so that the open shapes are a convex set, and gaps
   straightened at any state admit at least them. Two ways, the second for what the first does not find.

   Descent (sequential quadratic programming, Han, J. Optim. Theory Appl. 22 (1977) 297, from memory). From any state, a
   programme's step d lowers P + weight x (sum of what gaps are shut by), the gaps taken at each trial's own tilt, once
   the weight is above every contact force: at first by f.d + weight x sum. A search along d accepts no step that does
   not. Near the answer whole steps pass and it converges as Newton does.

   Hardening. Contacts that give: least of P + sum of (what gap_i is shut by)^2 / (2 softness). It is smooth, each step
   is the same programme with the softness added to the diagonal of its Schur complement, and none contradicts another.
   From a flat stack, softness is lessened by stages, each from the last one's state, until a descent holds. At a
   stage's answer w, with the forces m = shut/softness, P being convex there, every shape v with open gaps has

       P(v) >= P(w) + sum of m_i (gap_i(v) - gap_i(w)) >= P(w) + sum of m_i shut_i.

   Where that bound passes the energy of a strain of STRAIN_ABSURD in every shim, no shape that the elements can take
   keeps the shims out of each other: the stack cannot be clamped flat. (More elements take a little
   more: of six such stacks in 100 000 with 10 elements, two have an equilibrium with 24.) Geometry says the same:
   parallel faces of a pack of thickness T can lean aside by about d^2/(2 T) at the distance d from their clamp, and no
   more. */
#include "stack/stack_internal.h"

#include <math.h>
#include <string.h>

/* WHOLE_MOVES: times that the overlap allowed for follows the lifts at once; after that half the way. */
enum { DESCENT_MOST = 60, WHOLE_MOVES = 4, STAGES_MOST = 24 };
/* Weight of what is shut, [-] of the largest contact force. Above 1; at 2 a step that is right but for the curvature of
   the gaps is still accepted. */
#define WEIGHT_ABOVE 2.0
/* A part of a step below this is none: rounding hides what it is worth. [-] */
#define LEAST_PART 1e-6
/* A stage has its answer when its step would lower the energy by less than this part. [-] */
#define STAGE_TOLERANCE 1e-6
/* Softness at first, and how much harder the next stage is. [-] Gap over force, both scaled: at 1 the overlaps of a
   flat stack hardly bend it (seen: its energy is a twentieth of what they cost). */
#define COMPLIANCE_FIRST 1.0
#define COMPLIANCE_RATIO 30.0
/* A stage less shut than this may be near enough for a descent. [-] of t0 */
#define PENETRATION_SMALL 1e-2
/* Strain of all shims that none comes near to: spring steel yields at 0.007. [-] */
#define STRAIN_ABSURD 0.05

/* By how much a gap is shut at the state. */
static double penetration(const kp_stack_workspace *ws, const kp_gap *gap)
{
    return gap->enabled ? fmax(0, -kp_gap_value(ws, gap)) : 0;
}

/* What shut gaps cost at the state, and how fast that falls along the step. */
typedef struct cost {
    double value, fall; /* [-] */
} cost;

static cost penalty_of(const kp_stack_workspace *ws, double weight)
{
    cost c = {0};
    for (size_t g = 0; g < ws->gap_count; g++) {
        double shut = penetration(ws, &ws->gaps[g]);
        if (!(shut > 0)) {
            continue;
        }
        if (ws->contact_compliance > 0) {
            c.value += shut * shut / (2 * ws->contact_compliance);
            c.fall += shut / ws->contact_compliance * kp_gap_increment(ws, &ws->gaps[g]);
        } else {
            c.value += weight * shut;
            c.fall += weight * shut; /* the whole step opens every gap */
        }
    }
    return c;
}

/* Takes the longest of the parts of the step tried that lowers potential and cost as promised; false when none does.
   unseen: the whole step, where nothing but rounding would be compared. */
static bool search(kp_stack_workspace *ws, double weight, double slope, bool unseen)
{
    cost shut = penalty_of(ws, weight);
    double before = kp_stack_potential(ws, false) + shut.value;
    double fall = slope + shut.fall;
    double part = 1;
    while (part > LEAST_PART) {
        kp_stack_make_trial(ws, part);
        kp_stack_accept_trial(ws);
        kp_contact_linearise(ws, 0);
        double after = kp_stack_potential(ws, false) + penalty_of(ws, weight).value;
        if (unseen || after <= before - KP_ARMIJO * part * fall) {
            return true;
        }
        kp_stack_accept_trial(ws); /* back */
        double curve = after - before + part * fall;
        double next = curve > 0 ? part * part * fall / (2 * curve) : part / 10;
        part = fmin(fmax(next, part / 10), part / 2);
    }
    kp_contact_linearise(ws, 0);
    return false;
}

static double largest_force(const kp_stack_workspace *ws)
{
    double most = 0;
    for (size_t i = 0; i < ws->qp.count; i++) {
        most = fmax(most, ws->qp.multiplier[ws->qp.active[i]]);
    }
    return most;
}

bool kp_stack_descend(kp_stack_workspace *ws)
{
    bool soft = ws->contact_compliance > 0;
    double enough = soft ? STAGE_TOLERANCE : kp_stack_decrement_tolerance(ws);
    double weight = 0;
    /* Whether the step begins with the overlap that its state's lifts allow: the last one must. */
    bool settles = !soft;
    for (int step = 0, moves = 0; step < DESCENT_MOST; step++) {
        moves += settles;
        kp_contact_linearise(ws, !settles ? 0 : moves <= WHOLE_MOVES ? 1 : 0.5);
        if (!kp_stack_factor_tangents(ws) || !kp_qp_solve(ws)) {
            return false;
        }
        ws->record.newton_steps++;
        kp_predicted_decrease promise = kp_stack_predicted_decrease(ws);
        double size = fabs(promise.size) / kp_stack_energy_scale(ws);
        if (!isfinite(size)) {
            return false;
        }
        double force = largest_force(ws);
        weight = force > weight ? WEIGHT_ABOVE * force : weight;
        /* The last step is a whole one, as Newton's is. */
        bool last = size <= enough && (soft || settles);
        if (!search(ws, weight, promise.slope, last || size <= KP_DECREMENT_ROUNDING)) {
            return false;
        }
        ws->record.residual = size;
        if (last && (soft || kp_stack_is_open(ws))) {
            return true;
        }
        settles = !soft && size <= KP_DECREMENT_NEAR;
    }
    return false;
}

/* Energy that a strain of STRAIN_ABSURD in every shim stores, over (1 - nu^2) or so. */
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

/* What a stage's answer says of all shapes with open gaps. */
typedef struct stage {
    double most;   /* [-] that any gap is shut by    */
    size_t worst;  /*     which                      */
    double energy; /* [-] that an open shape stores, less the pressure's work on it: at least this */
} stage;

static stage look_at(const kp_stack_workspace *ws, double contact_compliance)
{
    stage s = {.energy = kp_stack_potential(ws, false)};
    for (size_t g = 0; g < ws->gap_count; g++) {
        double shut = penetration(ws, &ws->gaps[g]);
        s.energy += shut * shut / contact_compliance;
        if (shut > s.most) {
            s.most = shut;
            s.worst = g;
        }
    }
    return s;
}

static void lay_flat(kp_stack_workspace *ws)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        memset(plate->state, 0, plate->unknowns * sizeof *plate->state);
    }
    ws->qp.count = 0;
    kp_contact_linearise(ws, 1);
}

/* A descent of another softness, with a programme of its own. */
static bool descend_softly(kp_stack_workspace *ws, double contact_compliance, kp_qp *own)
{
    kp_qp hard = ws->qp;
    ws->qp = *own;
    ws->contact_compliance = contact_compliance;
    bool done = kp_stack_descend(ws);
    ws->contact_compliance = 0;
    *own = ws->qp;
    ws->qp = hard;
    return done;
}

bool kp_stack_penalty_continuation(kp_stack_workspace *ws, size_t *no_room)
{
    kp_qp own;
    /* Soft contacts may all be active at once, and hold more than there are unknowns. */
    if (kp_qp_begin(&own, ws, ws->gap_count, NULL) != KP_OK) {
        return false;
    }
    lay_flat(ws);
    bool done = false;
    double contact_compliance = COMPLIANCE_FIRST;
    for (int k = 0; k < STAGES_MOST && !done && descend_softly(ws, contact_compliance, &own); k++) {
        stage s = look_at(ws, contact_compliance);
        if (s.energy > absurd_energy(ws)) {
            *no_room = s.worst;
            break;
        }
        if (s.most < PENETRATION_SMALL) {
            double overlap = ws->overlap;
            kp_stack_keep(ws, false);
            ws->qp.count = 0;
            done = kp_stack_descend(ws);
            if (!done) {
                kp_stack_keep(ws, true);
                ws->overlap = overlap;
                kp_contact_linearise(ws, 0);
            }
        }
        contact_compliance /= COMPLIANCE_RATIO;
    }
    ws->record.load_steps++;
    ws->qp.changes += own.changes;
    kp_qp_free(&own);
    return done;
}
