/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The stack with one lobe harmonic: its memory, its gaps, its state. */
#include "stack/lobed.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* [-] of a thickness: out of flat of a shim that is to be followed as perfect. */
static const double SEED = 1e-3;
/* [-] of the largest stiffness of a plate's spline: stiffness of a closed gap. */
static const double PENALTY = 0.3;

/* ---- memory ------------------------------------------------------------------------------------------------------ */

static size_t tangent_stride(const kp_plate *plate)
{
    return (KP_PAIR * plate->splines + KP_BATCH - 1) / KP_BATCH * KP_BATCH;
}

/* Where the rows of each plate's tangent begin: at the lowest plate that it can touch. */
static void find_couplings(kp_stack_workspace *ws, kp_lobed_stack *s)
{
    s->unknowns = s->size = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        s->at[i] = s->unknowns;
        s->fixed[i] = KP_PAIR * kp_edge_fixed_splines(plate->fixed_first);
        s->free_at[i] = s->couples[i] = s->size;
        s->unknowns += KP_PAIR * plate->splines;
        s->size += KP_PAIR * plate->splines - s->fixed[i];
    }
    for (size_t g = 0; g < ws->gap_count; g++) {
        int below = ws->gaps[g].side[0].plate, above = ws->gaps[g].side[1].plate;
        if (below >= 0 && above >= 0 && s->free_at[below] < s->couples[above]) {
            s->couples[above] = s->free_at[below];
        }
    }
}

static void find_rows(const kp_stack_workspace *ws, kp_lobed_stack *s)
{
    size_t row = 0, place = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        size_t end = i + 1 < ws->plate_count ? s->free_at[i + 1] : s->size;
        for (; row < end; row++) {
            s->row[row] = place;
            s->begin[row] = s->couples[i];
            place += row - s->couples[i] + 1;
        }
    }
    s->row[row] = place;
}

/* Bytes of the arrays behind the struct. Called twice: with base NULL to count them, then with the block to set each
   array's pointer. */
static size_t lay_out(const kp_stack_workspace *ws, kp_lobed_stack *s, char *base)
{
    size_t used = 0, lifts = 0, scratch = 0, tangent = 0, gaps = KP_ANGLES * ws->gap_count, blocks = 0;
    double *block = NULL;
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        size_t here = kp_lobed_scratch_room(plate), square = KP_PAIR * plate->splines * tangent_stride(plate);
        lifts += plate->splines;
        scratch = here > scratch ? here : scratch;
        tangent = square > tangent ? square : tangent;
        blocks += kp_lobed_room(plate);
    }
    scratch = scratch > s->size + KP_SKYLINE_MORE + 1 ? scratch : s->size + KP_SKYLINE_MORE + 1; /* and a row */
#define TAKE(field, amount, each)                                                                                      \
    do {                                                                                                               \
        if (base) {                                                                                                    \
            (field) = (void *)(base + used);                                                                           \
        }                                                                                                              \
        used += ((amount) * (each) + 15) / 16 * 16;                                                                    \
    } while (0)

    TAKE(s->row, s->size + 1, sizeof(size_t));
    TAKE(s->x, s->unknowns, sizeof(double));
    TAKE(s->trial, s->unknowns, sizeof(double));
    TAKE(s->step, s->unknowns, sizeof(double));
    TAKE(s->last_x, s->unknowns, sizeof(double));
    TAKE(s->rate, s->unknowns, sizeof(double));
    TAKE(s->load, s->unknowns, sizeof(double));
    TAKE(s->mass, s->unknowns, sizeof(double));
    TAKE(s->gradient, s->unknowns, sizeof(double));
    TAKE(s->rhs, s->size + KP_SKYLINE_MORE, sizeof(double));
    TAKE(s->scratch, scratch, sizeof(double));
    TAKE(s->tangent, tangent, sizeof(double));
    TAKE(s->rows, gaps, sizeof(kp_two_block_row));
    TAKE(s->lifts, KP_ANGLES * lifts + 3, sizeof(double));
    TAKE(s->value, gaps, sizeof(double));
    TAKE(s->multiplier, gaps, sizeof(double));
    TAKE(s->last_multiplier, gaps, sizeof(double));
    TAKE(s->expected, gaps, sizeof(double));
    TAKE(s->reached, gaps, sizeof(double));
    TAKE(s->bears, gaps, sizeof(bool));
    TAKE(s->factored, gaps, sizeof(bool));
    TAKE(s->factor.bandwidth, s->size, sizeof(size_t));
    TAKE(s->factor.line, s->size, sizeof(size_t));
    TAKE(s->factor.storage, s->size * KP_SKYLINE_STRIDE(s->size), sizeof(double));
    TAKE(s->matrix, s->size * (s->size + 1) / 2, sizeof(double));
    TAKE(s->plate_matrix, s->size * (s->size + 1) / 2, sizeof(double));
    TAKE(s->plate_rhs, s->size, sizeof(double));
    TAKE(s->so_far, s->size, sizeof(double));
    TAKE(s->residual, s->size, sizeof(double));
    TAKE(s->balanced, s->size, sizeof(double));
    TAKE(s->begin, s->size, sizeof(size_t));
    for (size_t i = 0; i < KP_LOBED_PAST; i++) {
        TAKE(s->past[i].x, s->unknowns, sizeof(double));
        TAKE(s->past[i].rate, s->unknowns, sizeof(double));
        TAKE(s->past[i].multiplier, gaps, sizeof(double));
    }
    TAKE(block, blocks, sizeof(double));
#undef TAKE
    for (size_t i = 0; base && i < ws->plate_count; i++) {
        s->plates[i] = (kp_lobed){.plate = &ws->plates[i], .point = (void *)block}; /* until prepared */
        block += kp_lobed_room(&ws->plates[i]);
    }
    return used;
}

/* ---- setting up -------------------------------------------------------------------------------------------------- */

/* Pressure on N ports over the share c of the circle is c p round and, in harmonic N, 2 p sin(pi c)/pi, whose work on
   a is half that. */
static double load_on_lobes(const kp_stack *stack, int lobes)
{
    double covered = KP_PI * stack->port_share;
    return stack->ports == lobes && stack->port_share < 1 ? sin(covered) / covered : 0;
}

/* Out of flat of the shims, never none: the round path is a saddle beyond its onset. [m] */
static double out_of_flat(const kp_stack *stack)
{
    return fmax(stack->flatness, SEED * stack->discs[0].thickness);
}

static void prepare_plate(kp_stack_workspace *ws, size_t i)
{
    kp_lobed_stack *s = ws->lobed;
    kp_plate *plate = &ws->plates[i];
    double *block = (void *)s->plates[i].point, from = 0;
    for (size_t k = 0; k < ws->plate_count; k++) {
        from = ws->plates[k].ring ? from : fmax(from, ws->plates[k].inner);
    }
    double flatness = 0.5 * out_of_flat(&ws->stack) / ws->height; /* amplitude of what is peak to valley */
    kp_lobed_prepare(plate, s->lobes, flatness, from, block, &s->plates[i]);

    double *mass = s->mass + s->at[i];
    for (size_t k = 0; k < KP_PAIR * plate->splines; k++) {
        mass[k] = 0;
    }
    double place[KP_GAUSS], weight[KP_GAUSS];
    kp_plate_gauss(place, weight);
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            double rho = plate->rho[e] + 0.5 * (1 + place[p]) * (plate->rho[e + 1] - plate->rho[e]);
            for (size_t k = 0; k < KP_LOCAL; k++) {
                double m = plate->weight[e][p] * rho * s->plates[i].over[e].at[k][p];
                mass[KP_PAIR * (e + k)] += m;
                mass[KP_PAIR * (e + k) + 1] += 0.5 * m;
            }
        }
    }
}

static double largest_stiffness(const kp_stack_workspace *ws)
{
    double largest = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        for (size_t k = 0; k < ws->plates[i].splines; k++) {
            largest = fmax(largest, ws->plates[i].bending_matrix[k * KP_FIELD_ROW]);
        }
    }
    return largest;
}

kp_status kp_lobed_begin(kp_stack_workspace *ws, int lobes, kp_error *error)
{
    if (ws->lobed && ws->lobed->lobes == lobes) {
        return KP_OK;
    }
    kp_lobed_free(ws);
    size_t plates = ws->plate_count;
    kp_lobed_stack *s = calloc(1, sizeof *s + plates * (4 * sizeof(size_t) + sizeof(kp_lobed)));
    if (!s) {
        return kp_error_set(error, KP_NO_MEMORY, "stack: no memory for a folded stack");
    }
    s->lobes = lobes;
    s->plates = (void *)(s + 1);
    s->at = (void *)(s->plates + plates);
    s->free_at = s->at + plates;
    s->fixed = s->free_at + plates;
    s->couples = s->fixed + plates;
    find_couplings(ws, s);

    char *block = calloc(1, lay_out(ws, s, NULL));
    if (!block) {
        free(s);
        return kp_error_set(error, KP_NO_MEMORY, "stack: no memory for a folded stack of %zu plates", plates);
    }
    lay_out(ws, s, block);
    ws->lobed = s;
    find_rows(ws, s);
    s->factor.max_rows = s->size;
    kp_skyline_begin(&s->factor, s->size);
    for (size_t i = 0; i < plates; i++) {
        prepare_plate(ws, i);
    }
    for (size_t k = 0; k < ws->plates[0].unknowns; k += KP_PAIR) {
        s->load[k] = ws->plates[0].load[k];
        s->load[k + 1] = load_on_lobes(&ws->stack, lobes) * ws->plates[0].load[k];
    }
    for (size_t a = 0; a < KP_ANGLES; a++) {
        memcpy(s->rows + a * ws->gap_count, ws->rows, ws->gap_count * sizeof *s->rows);
    }
    s->first_penalty = PENALTY * largest_stiffness(ws);
    return KP_OK;
}

void kp_lobed_free(kp_stack_workspace *ws)
{
    if (ws->lobed) {
        free(ws->lobed->row); /* the block's first array */
        free(ws->lobed);
        ws->lobed = NULL;
    }
}

/* ---- state and gaps ---------------------------------------------------------------------------------------------- */

void kp_lobed_from_round(kp_stack_workspace *ws)
{
    kp_lobed_stack *s = ws->lobed;
    for (size_t i = 0; i < ws->plate_count; i++) {
        for (size_t k = 0; k < ws->plates[i].unknowns; k += KP_PAIR) {
            s->x[s->at[i] + k] = ws->plates[i].state[k];
            s->x[s->at[i] + k + 1] = 0;
        }
    }
    memset(s->multiplier, 0, KP_ANGLES * ws->gap_count * sizeof *s->multiplier);
    for (size_t i = 0; i < ws->qp.count; i++) {
        size_t g = ws->qp.active[i];
        s->multiplier[g] = s->multiplier[ws->gap_count + g] = 0.5 * ws->qp.multiplier[g];
    }
    s->pressure = ws->pressure;
    s->solved = true;
}

/* Crest's and valley's coefficients of all plates. Returns how many there are of each. */
static size_t gather_lifts(kp_stack_workspace *ws, const double *x)
{
    kp_lobed_stack *s = ws->lobed;
    size_t lifts = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        lifts += ws->plates[i].splines;
    }
    for (size_t i = 0; i < ws->plate_count; i++) {
        const double *q = x + s->at[i];
        double *crest = s->lifts + ws->plates[i].lifts_at, *valley = crest + lifts;
        for (size_t k = 0; k < ws->plates[i].splines; k++) {
            crest[k] = q[KP_PAIR * k] + q[KP_PAIR * k + 1];
            valley[k] = q[KP_PAIR * k] - q[KP_PAIR * k + 1];
        }
    }
    return lifts;
}

void kp_lobed_gaps(kp_stack_workspace *ws, const double *x)
{
    kp_lobed_stack *s = ws->lobed;
    size_t lifts = gather_lifts(ws, x);
    for (size_t a = 0; a < KP_ANGLES; a++) {
        double *value = s->value + a * ws->gap_count;
        kp_two_block_row *rows = s->rows + a * ws->gap_count;
        const double *at = s->lifts + a * lifts;
        for (size_t g = 0; g < ws->gap_count; g++) {
            value[g] = ws->gaps[g].rest + ws->overlap * ws->gaps[g].allowance;
        }
        kp_two_block_rows_linearise(ws->gap_count, ws->tilted, at, rows, value);
        kp_two_block_rows_times(ws->gap_count, rows, at, value, value);
    }
}

void kp_lobed_gap_steps(kp_stack_workspace *ws, const double *step, double *value)
{
    const kp_lobed_stack *s = ws->lobed;
    size_t lifts = gather_lifts(ws, step);
    for (size_t a = 0; a < KP_ANGLES; a++) {
        size_t first = a * ws->gap_count;
        kp_two_block_rows_times(ws->gap_count, s->rows + first, s->lifts + a * lifts, s->value + first, value + first);
    }
}
