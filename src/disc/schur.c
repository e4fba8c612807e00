/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Schur complement S = C K^-1 C' of the active contacts, K = L L' one band a plate.
   A contact's column of L^-1 C' on a plate starts at its own element, so couplings are short dot products. They are
   kept by slot (a contact has the same slot as long as it is active). schur_factor.c factors S. */
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
        if (side->shape[i] != 0) {
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

double kp_schur_rise(const kp_stack_workspace *ws, size_t g)
{
    double rise = 0;
    for (size_t k = 0; k < 2; k++) {
        const kp_side *side = &ws->gaps[g].side[k];
        if (side->plate >= 0) {
            const kp_plate *plate = &ws->plates[side->plate];
            rise +=
                kp_beside_dot(plate->unknowns - side->first, side->forward + side->first, plate->free + side->first);
        }
    }
    return rise;
}

static void set_free_gap(kp_stack_workspace *ws, size_t g)
{
    ws->programme.free_gap[g] = ws->programme.rest_value[g] + kp_schur_rise(ws, g);
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
            p->beside[unknown * stride + lane] = side->shape[i];
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

/* By plate and radius, as the gaps are. Hardly ever far from it. */
static void sort_active(kp_programme *p)
{
    for (size_t i = 1; i < p->count; i++) {
        size_t g = p->active[i], at = i;
        for (; at > 0 && p->active[at - 1] > g; at--) {
            p->active[at] = p->active[at - 1];
        }
        p->active[at] = g;
    }
}

void kp_schur_columns(kp_stack_workspace *ws)
{
    kp_programme *p = &ws->programme;
    sort_active(p);
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
