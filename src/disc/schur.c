/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Schur complement S = C K^-1 C' of the active contacts, K = L L' one band a plate.
   A contact's column of L^-1 C' on a plate starts at its own element, so couplings are short dot products, and S is
   block-banded along the plates: its Cholesky factor keeps within the envelope. Couplings are kept by slot (a contact
   has the same slot as long as it is active), the factor by position in the ordered set. */
#include "stack_internal.h"

#include "kneepoint/num.h"

#include <math.h>
#include <string.h>

/* C' of one side, ready to be solved. */
static void start_column(const kp_plate *plate, kp_side *side)
{
    memset(side->forward + side->first, 0, (plate->unknowns - side->first) * sizeof *side->forward);
    for (size_t i = 0; i < 4; i++) {
        size_t unknown = side->base + KP_PAIR * i;
        if (side->shape[i] != 0 && !kp_plate_fixes(plate, unknown)) {
            side->forward[unknown] = side->shape[i];
        }
    }
}

static double dot_sides(const kp_plate *plate, const kp_side *a, const kp_side *b)
{
    size_t from = a->first > b->first ? a->first : b->first;
    return kp_beside_dot(plate->unknowns - from, a->forward + from, b->forward + from);
}

static void add_coupling(kp_programme *p, size_t a, size_t b, double amount)
{
    size_t i = p->slot_of[a];
    size_t j = p->slot_of[b];
    p->coupling[i * p->most + j] += amount;
    if (i != j) {
        p->coupling[j * p->most + i] += amount;
    }
}

/* Gap that the free step would give: through the column and L^-1 of the forces. */
static void set_free_gap(kp_stack_workspace *ws, size_t g)
{
    double gap = ws->programme.rest_value[g];
    for (size_t k = 0; k < 2; k++) {
        const kp_side *side = &ws->gaps[g].side[k];
        if (side->plate >= 0) {
            const kp_plate *plate = &ws->plates[side->plate];
            gap += kp_beside_dot(plate->unknowns - side->first, side->forward + side->first, plate->free + side->first);
        }
    }
    ws->programme.free_gap[g] = gap;
}

/* The active contacts' sides on one plate, in the order in which their columns begin. */
static size_t gather_sides(kp_stack_workspace *ws, size_t plate)
{
    kp_programme *p = &ws->programme;
    size_t count = 0;
    for (size_t i = 0; i < p->count; i++) {
        kp_gap *gap = &ws->gaps[p->active[i]];
        size_t k = gap->side[0].plate == (int)plate ? 0 : 1;
        kp_side *side = &gap->side[k];
        if (side->plate != (int)plate) {
            continue;
        }
        size_t at = count++;
        for (; at > 0 && p->sides[at - 1]->first > side->first; at--) {
            p->sides[at] = p->sides[at - 1];
            p->side_gap[at] = p->side_gap[at - 1];
        }
        p->sides[at] = side;
        p->side_gap[at] = p->active[i];
    }
    return count;
}

/* Their columns L^-1 C', side by side, and each to its own place as well. stride: of a row of p->beside. */
static void solve_columns(kp_programme *p, const kp_plate *plate, size_t count, size_t stride)
{
    size_t n = plate->unknowns;
    memset(p->beside, 0, n * stride * sizeof *p->beside);
    for (size_t lane = 0; lane < count; lane++) {
        const kp_side *side = p->sides[lane];
        for (size_t i = 0; i < KP_LOCAL; i++) {
            size_t unknown = side->base + KP_PAIR * i;
            p->beside[unknown * stride + lane] = kp_plate_fixes(plate, unknown) ? 0 : side->shape[i];
        }
    }
    size_t begun = 0;
    for (size_t i = 0; i < n; i++) {
        while (begun < count && p->sides[begun]->first <= i) {
            begun++;
        }
        p->started[i] = begun;
    }
    kp_beside_forward(n, KP_JOINT_WIDTH, plate->factor, p->started, stride, p->beside);
    for (size_t lane = 0; lane < count; lane++) {
        double *forward = p->sides[lane]->forward;
        for (size_t i = p->sides[lane]->first; i < n; i++) {
            forward[i] = p->beside[i * stride + lane];
        }
    }
}

/* Adds the columns' products to the couplings. */
static void couple_columns(kp_programme *p, size_t n, size_t count, size_t stride)
{
    for (size_t a = 0; a < count; a += KP_BESIDE) {
        size_t first = p->sides[a]->first;
        const double *rows = p->beside + first * stride;
        for (size_t b = 0; b <= a; b += KP_BESIDE) {
            double product[KP_BESIDE][KP_BESIDE];
            kp_beside_multiply(n - first, stride, rows + a, rows + b, product);
            for (size_t k = 0; k < KP_BESIDE && a + k < count; k++) {
                size_t i = p->slot_of[p->side_gap[a + k]];
                for (size_t m = 0; m < KP_BESIDE && b + m <= a + k; m++) {
                    size_t j = p->slot_of[p->side_gap[b + m]];
                    p->coupling[i * p->most + j] += product[k][m];
                    p->coupling[j * p->most + i] = p->coupling[i * p->most + j];
                }
            }
        }
    }
}

void kp_schur_columns(kp_stack_workspace *ws)
{
    kp_programme *p = &ws->programme;
    for (size_t i = 0; i < p->count; i++) {
        p->slot_of[p->active[i]] = i;
        memset(p->coupling + i * p->most, 0, p->count * sizeof *p->coupling);
    }
    p->slots = p->count;
    p->spare_count = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        size_t count = gather_sides(ws, i);
        size_t stride = (count + KP_BESIDE - 1) / KP_BESIDE * KP_BESIDE;
        if (count > 0) {
            solve_columns(p, &ws->plates[i], count, stride);
            couple_columns(p, ws->plates[i].unknowns, count, stride);
        }
    }
    for (size_t i = 0; i < p->count; i++) {
        add_coupling(p, p->active[i], p->active[i], ws->softness);
        set_free_gap(ws, p->active[i]);
    }
}

bool kp_schur_couple(kp_stack_workspace *ws, size_t v)
{
    kp_programme *p = &ws->programme;
    if (p->spare_count == 0 && p->slots == p->most) {
        return false;
    }
    size_t slot = p->spare_count > 0 ? p->spare[--p->spare_count] : p->slots++;
    p->slot_of[v] = slot;
    for (size_t i = 0; i < p->count; i++) {
        size_t j = p->slot_of[p->active[i]];
        p->coupling[slot * p->most + j] = p->coupling[j * p->most + slot] = 0;
    }
    p->coupling[slot * p->most + slot] = ws->softness;
    for (size_t k = 0; k < 2; k++) {
        kp_side *side = &ws->gaps[v].side[k];
        if (side->plate < 0) {
            continue;
        }
        const kp_plate *plate = &ws->plates[side->plate];
        start_column(plate, side);
        kp_banded_forward(plate->unknowns, KP_JOINT_WIDTH, plate->factor, side->first, side->forward);
        add_coupling(p, v, v, dot_sides(plate, side, side));
        for (size_t i = 0; i < p->count; i++) {
            for (size_t m = 0; m < 2; m++) {
                const kp_side *other = &ws->gaps[p->active[i]].side[m];
                if (other->plate == side->plate) {
                    add_coupling(p, v, p->active[i], dot_sides(plate, side, other));
                }
            }
        }
    }
    set_free_gap(ws, v);
    return true;
}

void kp_schur_release(kp_programme *p, size_t v)
{
    p->spare[p->spare_count++] = p->slot_of[v];
}

/* First position that touches each plate. */
static void find_first(kp_stack_workspace *ws)
{
    kp_programme *p = &ws->programme;
    for (size_t i = 0; i < ws->plate_count; i++) {
        p->first_of[i] = p->count;
    }
    for (size_t i = p->count; i-- > 0;) {
        for (size_t k = 0; k < 2; k++) {
            int plate = ws->gaps[p->active[i]].side[k].plate;
            if (plate >= 0) {
                p->first_of[plate] = i;
            }
        }
    }
}

/* Row `row` of L into the factor's columns: those before it see it as far as the contacts couple. */
static void put_row(kp_programme *p, size_t row, size_t first, const double *entries)
{
    for (size_t j = first; j < row; j++) {
        double *column = p->factor + j * p->most;
        for (size_t k = p->reach[j] + 1; k < row; k++) {
            column[k] = 0;
        }
        column[row] = entries[j];
        p->reach[j] = row;
    }
    p->reach[row] = row;
}

size_t kp_schur_factor(kp_stack_workspace *ws, size_t from)
{
    kp_programme *p = &ws->programme;
    find_first(ws);
    for (size_t j = 0; j < from; j++) {
        p->reach[j] = p->reach[j] < from ? p->reach[j] : from - 1;
    }
    for (size_t i = from; i < p->count; i++) {
        const double *si = p->coupling + p->slot_of[p->active[i]] * p->most;
        size_t first = i;
        for (size_t k = 0; k < 2; k++) {
            int plate = ws->gaps[p->active[i]].side[k].plate;
            first = plate >= 0 && p->first_of[plate] < first ? p->first_of[plate] : first;
        }
        double *x = p->row;
        for (size_t j = first; j < i; j++) {
            x[j] = si[p->slot_of[p->active[j]]];
        }
        double before = si[p->slot_of[p->active[i]]];
        double pivot = before;
        for (size_t j = first; j < i; j++) {
            const double *column = p->factor + j * p->most;
            size_t last = p->reach[j] < i - 1 ? p->reach[j] : i - 1;
            double entry = x[j] * column[j];
            x[j] = entry;
            pivot -= entry * entry;
            kp_beside_subtract(last - j, entry, column + j + 1, x + j + 1);
        }
        if (!(pivot > KP_DEPENDENT * before)) {
            return i;
        }
        put_row(p, i, first, x);
        p->factor[i * p->most + i] = 1 / sqrt(pivot);
    }
    return p->count;
}

void kp_schur_solve(const kp_programme *p, double *b)
{
    for (size_t i = 0; i < p->count; i++) {
        const double *column = p->factor + i * p->most;
        double x = b[i] * column[i];
        b[i] = x;
        kp_beside_subtract(p->reach[i] - i, x, column + i + 1, b + i + 1);
    }
    for (size_t i = p->count; i-- > 0;) {
        const double *column = p->factor + i * p->most;
        b[i] = (b[i] - kp_beside_dot(p->reach[i] - i, column + i + 1, b + i + 1)) * column[i];
    }
}
