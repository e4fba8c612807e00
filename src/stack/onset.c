/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The load at which a stack stops being round: the least at which the second variation of all plates' energies
   (plate/lobe.c) is no longer positive for some number of lobes. Plates that press on one another keep together there:
   the opening of each contact that carries a force is held by a stiffness so large that it moves the onset by less than
   1e-4. Contacts that touch without a force, and friction, are left out.

   The second variation is factored as L D L' with the rim of the face shim last. Its last pivot is the stiffness that
   the rim has left against being lobed: it falls nearly in proportion to the load and is zero at the onset, so the
   onset is found by false position. Where an earlier pivot is negative the load is far beyond. */
#include "stack/stack_internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A rim that lifts less is stable, since one shim's lifts 1.9 at its onset or more. [-] of the thinnest shim */
static const double SURELY_ROUND = 1.2;
static const double HOLD = 1e5; /* [-] stiffness of a contact, of the largest of the plates' own             */
static const double ONSET_TOLERANCE = 3e-4; /* [-] of the pressure */
static const double FIRST_PRESSURE = 1e-3;  /* [-] scaled: far below any onset, a rim lifts some 1e-4 thicknesses  */
static const double STEP = 1.6;       /* [-] from one load to the next on the way up, ...                          */
static const double STEP_ROUND = 2.6; /* ... and while the stack is surely round                                      */
enum { SEARCH_MAX = 60 };

/* The second variation of the whole stack: w's splines of all plates, from the last plate to the face shim. */
struct kp_lobe_system {
    size_t size;       /* splines of all plates                    */
    size_t *begin;     /* [size] where a row begins to differ from zero: at the furthest plate that can touch its own */
    double *matrix;    /* [size][size] L below the diagonal        */
    double *pivot;     /* [size]                                   */
    double *row;       /* [size] scratch                            */
    double *stiffness; /* [splines of a plate]^2 scratch           */
    double *scratch;   /* of kp_lobe_stiffness                     */
    double **constant; /* [plates] kp_lobe_prepare's blocks         */
};

/* Where a plate's first spline stands. */
static size_t place_of_plate(const kp_stack_workspace *ws, size_t plate)
{
    return ws->lobes->size - ws->plates[plate].lifts_at - ws->plates[plate].splines;
}

/* Where a spline of a plate stands, given its place in the workspace's lifts. */
static size_t place_of(const kp_stack_workspace *ws, int plate, size_t lift)
{
    return place_of_plate(ws, (size_t)plate) + lift - ws->plates[plate].lifts_at;
}

static void find_begins(kp_stack_workspace *ws)
{
    struct kp_lobe_system *s = ws->lobes;
    for (size_t k = 0; k < ws->plate_count; k++) {
        for (size_t i = 0; i < ws->plates[k].splines; i++) {
            s->begin[place_of_plate(ws, k) + i] = place_of_plate(ws, k);
        }
    }
    for (size_t g = 0; g < ws->gap_count; g++) {
        int below = ws->gaps[g].side[0].plate, above = ws->gaps[g].side[1].plate;
        if (below < 0 || above < 0) {
            continue;
        }
        size_t first = place_of_plate(ws, (size_t)below), begins = place_of_plate(ws, (size_t)above);
        for (size_t i = 0; i < ws->plates[below].splines && s->begin[first + i] > begins; i++) {
            s->begin[first + i] = begins;
        }
    }
}

static double thinnest_shim(const kp_stack_workspace *ws)
{
    double thinnest = INFINITY;
    for (size_t i = 0; i < ws->plate_count; i++) {
        thinnest = fmin(thinnest, ws->plates[i].one_thickness);
    }
    return thinnest * ws->height;
}

bool kp_stack_is_surely_round(const kp_stack_workspace *ws)
{
    return kp_stack_rim_lift(ws, KP_STACK_STATE) < SURELY_ROUND * thinnest_shim(ws);
}

kp_status kp_stack_begin_lobes(kp_stack_workspace *ws, kp_error *error)
{
    size_t largest = 0, scratch = 0, constants = 0, size = 0;
    if (ws->lobes) {
        return KP_OK;
    }
    for (size_t i = 0; i < ws->plate_count; i++) {
        size_t here = kp_lobe_scratch_room(&ws->plates[i]);
        largest = ws->plates[i].splines > largest ? ws->plates[i].splines : largest;
        scratch = here > scratch ? here : scratch;
        constants += kp_lobe_constant_room(&ws->plates[i]);
        size += ws->plates[i].splines;
    }
    struct kp_lobe_system *s =
        malloc(sizeof *s + ws->plate_count * sizeof *s->constant + size * sizeof *s->begin +
               (size * size + 2 * size + largest * largest + scratch + constants) * sizeof(double));
    if (!s) {
        return kp_error_set(error, KP_NO_MEMORY, "stack: no memory for the onset of folding");
    }
    s->size = size;
    s->constant = (void *)(s + 1);
    s->begin = (void *)(s->constant + ws->plate_count);
    s->matrix = (void *)(s->begin + size);
    s->pivot = s->matrix + size * size;
    s->row = s->pivot + size;
    s->stiffness = s->row + size;
    s->scratch = s->stiffness + largest * largest;
    double *block = s->scratch + scratch;
    for (size_t i = 0; i < ws->plate_count; i++) {
        s->constant[i] = block;
        kp_lobe_prepare(&ws->plates[i], block);
        block += kp_lobe_constant_room(&ws->plates[i]);
    }
    ws->lobes = s;
    find_begins(ws);
    return KP_OK;
}

void kp_stack_free_lobes(kp_stack_workspace *ws)
{
    free(ws->lobes);
    ws->lobes = NULL;
}

/* The plates' own parts. Returns the largest entry of the diagonal. */
static double add_plates(const kp_stack_workspace *ws, int lobes)
{
    struct kp_lobe_system *s = ws->lobes;
    double largest = 0;
    memset(s->matrix, 0, s->size * s->size * sizeof *s->matrix);
    for (size_t k = 0; k < ws->plate_count; k++) {
        const kp_plate *plate = &ws->plates[k];
        size_t n = plate->splines, at = place_of_plate(ws, k);
        kp_lobe_stiffness(plate, s->constant[k], plate->state, lobes, s->scratch, s->stiffness);
        for (size_t i = 0; i < n; i++) {
            memcpy(s->matrix + (at + i) * s->size + at, s->stiffness + i * n, n * sizeof *s->matrix);
            largest = fmax(largest, s->stiffness[i * n + i]);
        }
    }
    return largest;
}

/* Contacts that carry a force. */
static void hold_contacts(const kp_stack_workspace *ws, double stiffness)
{
    struct kp_lobe_system *s = ws->lobes;
    const kp_qp *qp = &ws->qp;
    for (size_t k = 0; k < qp->count; k++) {
        const kp_two_block_row *gap = &ws->rows[qp->active[k]];
        if (!(qp->multiplier[qp->active[k]] > 0)) {
            continue;
        }
        size_t place[2 * KP_LOCAL];
        for (size_t i = 0; i < 2 * KP_LOCAL; i++) {
            int plate = ws->gaps[qp->active[k]].side[i / KP_LOCAL].plate;
            place[i] = plate < 0 ? 0 : place_of(ws, plate, (size_t)gap->at[i / KP_LOCAL] + i % KP_LOCAL);
        }
        for (size_t i = 0; i < 2 * KP_LOCAL; i++) {
            double c = stiffness * gap->c[i / KP_LOCAL][i % KP_LOCAL];
            for (size_t j = 0; c != 0 && j < 2 * KP_LOCAL; j++) {
                double d = gap->c[j / KP_LOCAL][j % KP_LOCAL];
                s->matrix[place[i] * s->size + place[j]] += d != 0 ? c * d : 0;
            }
        }
    }
}

/* What is left of the rim's stiffness against n lobes at the last solution; minus infinity where an
   earlier pivot is negative. */
static double rim_stiffness(const kp_stack_workspace *ws, int lobes)
{
    struct kp_lobe_system *s = ws->lobes;
    hold_contacts(ws, HOLD * add_plates(ws, lobes));
    for (size_t i = 0; i < s->size; i++) {
        double *row = s->matrix + i * s->size, rest = row[i];
        size_t first = s->begin[i];
        for (size_t j = first; j < i; j++) {
            size_t both = s->begin[j] > first ? s->begin[j] : first;
            s->row[j] = row[j] - kp_batch_dot(j - both, s->row + both, s->matrix + j * s->size + both);
        }
        for (size_t j = first; j < i; j++) {
            row[j] = s->row[j] / s->pivot[j];
            rest -= row[j] * s->row[j];
        }
        s->pivot[i] = rest;
        if (!(rest > 0)) {
            return i + 1 == s->size ? rest : -INFINITY;
        }
    }
    return s->pivot[s->size - 1];
}

int kp_stack_unstable_lobes(kp_stack_workspace *ws, int except)
{
    for (int k = 0; k <= KP_LOBES_MAX - KP_LOBES_MIN; k++) {
        static const int order[] = {3, 4, 2, 5, 6, 7}; /* the likely ones first */
        if (order[k] != except && !(rim_stiffness(ws, order[k]) > 0)) {
            return order[k];
        }
    }
    return 0;
}

/* Pressure between low (stable) and high (not) at which a number of lobes begins. The state is the one there. */
static kp_status begins_at(kp_stack_workspace *ws, int lobes, double low, double high, double *found, kp_error *error)
{
    double at_low = NAN, at_high = -INFINITY, pressure = 0.5 * (low + high);
    int last = 0;
    for (int k = 0; k < SEARCH_MAX && high - low > ONSET_TOLERANCE * high; k++) {
        kp_status status = kp_stack_solve_shape(ws, pressure, KP_SEAT_ABSENT, error);
        if (status != KP_OK) {
            return status;
        }
        double left = rim_stiffness(ws, lobes);
        if (left > 0) {
            low = pressure;
            at_low = left;
            at_high = last > 0 ? 0.5 * at_high : at_high; /* Illinois: the end that stays counts half */
            last = 1;
        } else {
            high = pressure;
            at_high = left;
            at_low = last < 0 ? 0.5 * at_low : at_low;
            last = -1;
        }
        bool known = isfinite(at_low) && isfinite(at_high);
        pressure = known ? low + (high - low) * at_low / (at_low - at_high) : 0.5 * (low + high);
        /* Not at an end: the bracket is to close from both sides. */
        double margin = 0.3 * ONSET_TOLERANCE * high;
        pressure = fmin(fmax(pressure, low + margin), high - margin);
    }
    *found = high;
    return kp_stack_solve_shape(ws, high, KP_SEAT_ABSENT, error);
}

kp_status kp_stack_find_onset_from(kp_stack_workspace *ws, double from, double pressure_max, kp_onset *out,
                                   kp_error *error)
{
    double low = from, high = fmin(fmax(FIRST_PRESSURE * kp_stack_pressure_unit(ws), STEP * from), pressure_max);
    int lobes = 0;
    kp_status status = kp_stack_begin_lobes(ws, error);
    *out = (kp_onset){.folds = false};

    /* Upward until some number of lobes is unstable. */
    while (status == KP_OK && lobes == 0 && low < pressure_max) {
        status = kp_stack_solve_shape(ws, high, KP_SEAT_ABSENT, error);
        bool sure = status == KP_OK && kp_stack_is_surely_round(ws);
        lobes = status == KP_OK && !sure ? kp_stack_unstable_lobes(ws, 0) : 0;
        low = lobes == 0 ? high : low;
        high = lobes == 0 ? fmin((sure ? STEP_ROUND : STEP) * high, pressure_max) : high;
    }

    /* Where that one begins; then whether another one began before, by more than the search can tell. */
    for (int k = 0; status == KP_OK && lobes != 0 && k <= KP_LOBES_MAX - KP_LOBES_MIN; k++) {
        double before = high;
        int other = lobes;
        status = begins_at(ws, lobes, low, high, &high, error);
        if (k > 0 && high > before * (1 - 2 * ONSET_TOLERANCE)) {
            break;
        }
        out->folds = true;
        out->lobes = lobes;
        out->pressure = high;
        lobes = status == KP_OK ? kp_stack_unstable_lobes(ws, other) : 0;
    }
    if (status == KP_OK && out->folds) {
        out->seat_lift = kp_stack_seat_lift(ws);
        out->rim_lift = kp_stack_rim_lift(ws, KP_STACK_STATE);
    }
    return status;
}
