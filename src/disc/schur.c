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
    memset(side->forward, 0, plate->unknowns * sizeof *side->forward);
    for (size_t i = 0; i < 4; i++) {
        size_t unknown = side->base + KP_PAIR * i;
        if (side->shape[i] != 0 && !kp_plate_fixes(plate, unknown)) {
            side->forward[unknown] = side->shape[i];
        }
    }
}

static double dot(const double *a, const double *b, size_t n)
{
    double s0 = 0, s1 = 0, s2 = 0, s3 = 0;
    size_t k = 0;
    for (; k + 4 <= n; k += 4) {
        s0 += a[k] * b[k];
        s1 += a[k + 1] * b[k + 1];
        s2 += a[k + 2] * b[k + 2];
        s3 += a[k + 3] * b[k + 3];
    }
    for (; k < n; k++) {
        s0 += a[k] * b[k];
    }
    return (s0 + s1) + (s2 + s3);
}

static double dot_sides(const kp_plate *plate, const kp_side *a, const kp_side *b)
{
    size_t from = a->first > b->first ? a->first : b->first;
    return dot(a->forward + from, b->forward + from, plate->unknowns - from);
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
            gap += dot(side->forward + side->first, plate->free + side->first, plate->unknowns - side->first);
        }
    }
    ws->programme.free_gap[g] = gap;
}

/* Columns of several sides on one plate, four at a time; sides by radius. */
static void solve_columns(const kp_plate *plate, size_t count, kp_side *const *sides)
{
    size_t n = plate->unknowns;
    size_t i = 0;
    for (; i + 4 <= count; i += 4) {
        size_t first = n;
        double *b[4];
        for (size_t k = 0; k < 4; k++) {
            b[k] = sides[i + k]->forward;
            first = sides[i + k]->first < first ? sides[i + k]->first : first;
        }
        kp_banded_forward_four(n, KP_JOINT_WIDTH, plate->factor, first, b);
    }
    for (; i < count; i++) {
        kp_banded_forward(n, KP_JOINT_WIDTH, plate->factor, sides[i]->first, sides[i]->forward);
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
    for (size_t plate_index = 0; plate_index < ws->plate_count; plate_index++) {
        const kp_plate *plate = &ws->plates[plate_index];
        size_t count = 0;
        for (size_t i = 0; i < p->count; i++) {
            for (size_t k = 0; k < 2; k++) {
                kp_side *side = &ws->gaps[p->active[i]].side[k];
                if (side->plate == (int)plate_index) {
                    start_column(plate, side);
                    p->sides[count] = side;
                    p->side_gap[count++] = p->active[i];
                }
            }
        }
        solve_columns(plate, count, p->sides);
        for (size_t i = 0; i < count; i++) {
            for (size_t j = 0; j <= i; j++) {
                add_coupling(p, p->side_gap[i], p->side_gap[j], dot_sides(plate, p->sides[i], p->sides[j]));
            }
        }
    }
    for (size_t i = 0; i < p->count; i++) {
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
    p->coupling[slot * p->most + slot] = 0;
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

size_t kp_schur_factor(kp_stack_workspace *ws, size_t from)
{
    kp_programme *p = &ws->programme;
    find_first(ws);
    for (size_t i = from; i < p->count; i++) {
        double *li = p->factor + i * p->most;
        const double *si = p->coupling + p->slot_of[p->active[i]] * p->most;
        size_t first = i;
        for (size_t k = 0; k < 2; k++) {
            int plate = ws->gaps[p->active[i]].side[k].plate;
            first = plate >= 0 && p->first_of[plate] < first ? p->first_of[plate] : first;
        }
        p->envelope[i] = first;
        double before = si[p->slot_of[p->active[i]]];
        double pivot = before;
        for (size_t j = first; j < i; j++) {
            const double *lj = p->factor + j * p->most;
            size_t k = p->envelope[j] > first ? p->envelope[j] : first;
            double sum = si[p->slot_of[p->active[j]]] - dot(li + k, lj + k, j - k);
            li[j] = sum * lj[j]; /* the diagonal holds its reciprocal */
            pivot -= li[j] * li[j];
        }
        if (!(pivot > KP_DEPENDENT * before)) {
            return i;
        }
        li[i] = 1 / sqrt(pivot);
    }
    return p->count;
}

void kp_schur_solve(const kp_programme *p, double *b)
{
    for (size_t i = 0; i < p->count; i++) {
        const double *li = p->factor + i * p->most;
        size_t k = p->envelope[i];
        b[i] = (b[i] - dot(li + k, b + k, i - k)) * li[i];
    }
    for (size_t i = p->count; i-- > 0;) {
        const double *li = p->factor + i * p->most;
        double x = b[i] * li[i];
        b[i] = x;
        for (size_t k = p->envelope[i]; k < i; k++) {
            b[k] -= li[k] * x;
        }
    }
}
