/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Schur complement S = C K^-1 C' of the active contacts, K = L L' one band a plate.
   A contact's columns L^-1 C' stand beside those of the others on the same plate, a lane each, and start at its own
   element. Couplings are kept by slot (a contact has the same slot as long as it is active), those of two contacts in
   the row of the one behind in the ordered set, or of the one that joined later. Contacts couple only through a plate
   that they share: ordered by plate and radius S is block-banded, and its factor keeps within the envelope (num's
   skyline). Those that join on the way come behind; the next programme orders them in. */
#include "stack/stack_internal.h"

#include "num/num.h"

#include <math.h>
#include <string.h>

/* Lanes that are left for contacts that join. */
enum { ROOM = 8 };

static size_t filled_up(size_t lanes)
{
    return (lanes + KP_BATCH - 1) / KP_BATCH * KP_BATCH;
}

static kp_side *side_on(kp_stack_workspace *ws, size_t gap, size_t plate)
{
    kp_side *side = ws->gaps[gap].side;
    return side[0].plate == (int)plate ? &side[0] : &side[1];
}

/* The active contacts' lanes on their plates, in the order in which their columns begin. */
static void give_lanes(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    for (size_t i = 0; i < ws->plate_count; i++) {
        p->lanes[i].count = 0;
    }
    for (size_t i = 0; i < p->count; i++) {
        size_t gap = p->active[i];
        for (size_t k = 0; k < 2; k++) {
            const kp_side *side = &ws->gaps[gap].side[k];
            if (side->plate < 0) {
                continue;
            }
            kp_batch *lanes = &p->lanes[side->plate];
            size_t at = lanes->count++;
            for (; at > 0 && side_on(ws, lanes->gap[at - 1], (size_t)side->plate)->first > side->first; at--) {
                lanes->gap[at] = lanes->gap[at - 1];
            }
            lanes->gap[at] = gap;
        }
    }
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_batch *lanes = &p->lanes[i];
        size_t most = filled_up(lanes->most);
        lanes->stride = filled_up(lanes->count + ROOM);
        lanes->stride = lanes->stride < most ? lanes->stride : most;
    }
}

static void solve_columns(kp_stack_workspace *ws, size_t i)
{
    kp_qp *p = &ws->qp;
    const kp_plate *plate = &ws->plates[i];
    kp_batch *lanes = &p->lanes[i];
    size_t n = plate->unknowns, begun = 0;
    memset(lanes->column, 0, n * lanes->stride * sizeof *lanes->column);
    for (size_t lane = 0; lane < lanes->count; lane++) {
        kp_side *side = side_on(ws, lanes->gap[lane], i);
        side->lane = lane;
        for (size_t k = 0; k < KP_LOCAL; k++) {
            lanes->column[(side->base + KP_PAIR * k) * lanes->stride + lane] = side->shape[k];
        }
        for (; begun < side->first; begun++) {
            p->started[begun] = lane;
        }
    }
    for (; begun < n; begun++) {
        p->started[begun] = lanes->count;
    }
    kp_batch_forward(n, KP_JOINT_WIDTH, plate->factor, p->started, lanes->stride, lanes->column);
}

/* Adds the columns' products to the couplings: slots are positions here. */
static void couple_columns(kp_stack_workspace *ws, size_t plate)
{
    kp_qp *p = &ws->qp;
    const kp_batch *lanes = &p->lanes[plate];
    for (size_t a = 0; a < lanes->count; a += KP_BATCH) {
        size_t first = side_on(ws, lanes->gap[a], plate)->first;
        const double *rows = lanes->column + first * lanes->stride;
        for (size_t b = 0; b <= a; b += KP_BATCH) {
            double product[KP_BATCH][KP_BATCH];
            kp_batch_multiply(ws->plates[plate].unknowns - first, lanes->stride, rows + a, rows + b, product);
            for (size_t k = 0; k < KP_BATCH && a + k < lanes->count; k++) {
                size_t i = p->slot_of[lanes->gap[a + k]];
                for (size_t m = 0; m < KP_BATCH && b + m <= a + k; m++) {
                    size_t j = p->slot_of[lanes->gap[b + m]];
                    p->coupling[i > j ? i * p->most + j : j * p->most + i] += product[k][m];
                }
            }
        }
    }
}

/* By plate and radius, as the gaps are. Hardly ever far from it. */
static void sort_active(kp_qp *p)
{
    for (size_t i = 1; i < p->count; i++) {
        size_t g = p->active[i], at = i;
        for (; at > 0 && p->active[at - 1] > g; at--) {
            p->active[at] = p->active[at - 1];
        }
        p->active[at] = g;
    }
}

void kp_schur_free_gaps(kp_stack_workspace *ws, const double *offset)
{
    kp_qp *p = &ws->qp;
    for (size_t i = 0; i < p->count; i++) {
        p->free_gap[p->active[i]] = offset ? offset[p->active[i]] : 0;
    }
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_batch *lanes = &p->lanes[i];
        kp_batch_sum(ws->plates[i].unknowns, filled_up(lanes->count), lanes->stride, lanes->column, ws->plates[i].free,
                     p->across);
        for (size_t lane = 0; lane < lanes->count; lane++) {
            p->free_gap[lanes->gap[lane]] += p->across[lane];
        }
    }
}

void kp_schur_push(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    for (size_t i = 0; i < p->count; i++) {
        p->amount[p->active[i]] = p->direction[i];
    }
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        const kp_batch *lanes = &p->lanes[i];
        memcpy(plate->step, plate->free, plate->unknowns * sizeof *plate->step);
        for (size_t lane = 0; lane < lanes->count; lane++) {
            p->across[lane] = p->amount[lanes->gap[lane]];
        }
        for (size_t lane = lanes->count; lane < filled_up(lanes->count); lane++) {
            p->across[lane] = 0;
        }
        kp_batch_spread(plate->unknowns, filled_up(lanes->count), lanes->stride, lanes->column, p->across, plate->step);
    }
}

/* First position that touches each plate. */
static void find_first(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
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

/* First position that the contact at one couples with. */
static size_t first_coupled(const kp_stack_workspace *ws, size_t position)
{
    const kp_qp *p = &ws->qp;
    size_t first = position;
    for (size_t k = 0; k < 2; k++) {
        int plate = ws->gaps[p->active[position]].side[k].plate;
        first = plate >= 0 && p->first_of[plate] < first ? p->first_of[plate] : first;
    }
    return first;
}

void kp_schur_columns(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    sort_active(p);
    find_first(ws);
    for (size_t i = 0; i < p->count; i++) {
        double *row = p->coupling + i * p->most;
        p->slot_of[p->active[i]] = i;
        for (size_t j = first_coupled(ws, i); j < i; j++) {
            row[j] = 0;
        }
        row[i] = ws->contact_compliance;
    }
    p->slots = p->count;
    p->spare_count = 0;
    give_lanes(ws);
    for (size_t i = 0; i < ws->plate_count; i++) {
        solve_columns(ws, i);
        couple_columns(ws, i);
    }
    kp_schur_free_gaps(ws, p->rest_value);
}

/* Room for one lane more; there is one less than `most`. */
static void widen(kp_batch *lanes, size_t rows)
{
    if (lanes->count < lanes->stride) {
        return;
    }
    size_t old = lanes->stride, most = filled_up(lanes->most);
    lanes->stride = old + ROOM < most ? old + ROOM : most;
    for (size_t i = rows; i-- > 0;) {
        double *to = lanes->column + i * lanes->stride;
        memmove(to, lanes->column + i * old, old * sizeof *to);
        memset(to + old, 0, (lanes->stride - old) * sizeof *to);
    }
}

/* A contact's column on a plate, and what it adds to its couplings and its free gap. */
static void add_lane(kp_stack_workspace *ws, size_t v, const kp_side *side)
{
    kp_qp *p = &ws->qp;
    const kp_plate *plate = &ws->plates[side->plate];
    kp_batch *lanes = &p->lanes[side->plate];
    size_t n = plate->unknowns, first = side->first;
    double *x = p->column, *row = p->coupling + p->slot_of[v] * p->most;
    memset(x, 0, n * sizeof *x);
    for (size_t k = 0; k < KP_LOCAL; k++) {
        x[side->base + KP_PAIR * k] = side->shape[k];
    }
    kp_banded_forward(n, KP_JOINT_WIDTH, plate->factor, first, x);
    kp_batch_sum(n - first, filled_up(lanes->count), lanes->stride, lanes->column + first * lanes->stride, x + first,
                 p->across);
    for (size_t lane = 0; lane < lanes->count; lane++) {
        row[p->slot_of[lanes->gap[lane]]] += p->across[lane];
    }
    row[p->slot_of[v]] += kp_batch_dot(n - first, x + first, x + first);
    p->free_gap[v] += kp_batch_dot(n - first, x + first, plate->free + first);
    for (size_t i = first; i < n; i++) {
        lanes->column[i * lanes->stride + side->lane] = x[i];
    }
}

static bool has_room(const kp_qp *p, const kp_side sides[2])
{
    for (size_t k = 0; k < 2; k++) {
        if (sides[k].plate >= 0 && p->lanes[sides[k].plate].count == p->lanes[sides[k].plate].most) {
            return false;
        }
    }
    return p->spare_count > 0 || p->slots < p->most;
}

bool kp_schur_couple(kp_stack_workspace *ws, size_t v)
{
    kp_qp *p = &ws->qp;
    kp_side *sides = ws->gaps[v].side;
    if (!has_room(p, sides)) {
        return false;
    }
    size_t slot = p->spare_count > 0 ? p->spare[--p->spare_count] : p->slots++;
    p->slot_of[v] = slot;
    for (size_t i = 0; i < p->count; i++) {
        p->coupling[slot * p->most + p->slot_of[p->active[i]]] = 0;
    }
    p->coupling[slot * p->most + slot] = ws->contact_compliance;
    p->free_gap[v] = p->rest_value[v];
    for (size_t k = 0; k < 2; k++) {
        if (sides[k].plate >= 0) {
            kp_batch *lanes = &p->lanes[sides[k].plate];
            widen(lanes, ws->plates[sides[k].plate].unknowns);
            sides[k].lane = lanes->count;
            add_lane(ws, v, &sides[k]);
            lanes->gap[lanes->count++] = v;
        }
    }
    return true;
}

void kp_schur_release(kp_stack_workspace *ws, size_t v)
{
    kp_qp *p = &ws->qp;
    p->spare[p->spare_count++] = p->slot_of[v];
    for (size_t k = 0; k < 2; k++) {
        const kp_side *side = &ws->gaps[v].side[k];
        if (side->plate < 0) {
            continue;
        }
        /* The last lane takes its place. */
        kp_batch *lanes = &p->lanes[side->plate];
        size_t last = --lanes->count;
        double *column = lanes->column;
        for (size_t i = 0; i < ws->plates[side->plate].unknowns; i++, column += lanes->stride) {
            column[side->lane] = column[last];
            column[last] = 0;
        }
        lanes->gap[side->lane] = lanes->gap[last];
        side_on(ws, lanes->gap[last], (size_t)side->plate)->lane = side->lane;
    }
}

size_t kp_schur_factor(kp_stack_workspace *ws, size_t from)
{
    kp_qp *p = &ws->qp;
    find_first(ws);
    kp_skyline_cut(&p->factor, from);
    for (size_t i = from; i < p->count; i++) {
        const double *si = p->coupling + p->slot_of[p->active[i]] * p->most;
        size_t first = first_coupled(ws, i);
        for (size_t j = first; j <= i; j++) {
            p->row[j] = si[p->slot_of[p->active[j]]];
        }
        if (!kp_skyline_append(&p->factor, first, p->row, KP_DEPENDENT * p->row[i])) {
            return i;
        }
    }
    return p->count;
}

void kp_schur_solve(const kp_qp *p, double *b)
{
    kp_skyline_forward(&p->factor, 0, b);
    kp_skyline_backward(&p->factor, b);
}
