/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Schur complement S = C K^-1 C' of the active contacts, K = L L' one band a plate.

   A contact's column on a plate is L^-1 C', which starts at the contact's own element; the columns of all active
   contacts on one plate are batched right-hand sides, side by side. S is the sum over the plates of the columns'
   products. Its entries, the couplings, are stored by slot (a contact has the same slot as long as it is active), that
   of two contacts in the row of the one behind in the ordered set, or of the one that was added later.

   Contacts couple only through a plate that they share: ordered by plate and radius S is block-banded, and its factor
   keeps within the envelope (num's skyline). Contacts that are added during a programme come behind; the next programme
   orders them in. */
#include "stack/stack_internal.h"

#include "num/num.h"

#include <math.h>
#include <string.h>

/* Columns that a batch leaves free for contacts to be added. */
enum { FREE_COLUMNS = 8 };

static size_t whole_batches(size_t columns)
{
    return (columns + KP_BATCH - 1) / KP_BATCH * KP_BATCH;
}

static kp_side *side_on(kp_stack_workspace *ws, size_t gap, size_t plate)
{
    kp_side *side = ws->gaps[gap].side;
    return side[0].plate == (int)plate ? &side[0] : &side[1];
}

/* ---- all columns of the active set ---- */

/* Numbers the active contacts' columns on their plates, in the order in which the columns begin. */
static void number_columns(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    for (size_t i = 0; i < ws->plate_count; i++) {
        p->batches[i].count = 0;
    }

    for (size_t i = 0; i < p->count; i++) {
        size_t gap = p->active[i];
        for (size_t k = 0; k < 2; k++) {
            const kp_side *side = &ws->gaps[gap].side[k];
            if (side->plate < 0) {
                continue;
            }
            kp_batch *batch = &p->batches[side->plate];
            /* Insertion by first entry, so that kp_batch_forward can start columns one after another. */
            size_t at = batch->count++;
            for (; at > 0 && side_on(ws, batch->gap[at - 1], (size_t)side->plate)->first > side->first; at--) {
                batch->gap[at] = batch->gap[at - 1];
            }
            batch->gap[at] = gap;
        }
    }

    /* Whole batches, with some columns free. */
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_batch *batch = &p->batches[i];
        size_t widest = whole_batches(batch->max_count);
        batch->stride = whole_batches(batch->count + FREE_COLUMNS);
        batch->stride = batch->stride < widest ? batch->stride : widest;
    }
}

/* L^-1 C' of one plate, all columns at once; each joins the elimination at its first entry. */
static void solve_columns(kp_stack_workspace *ws, size_t plate_index)
{
    kp_qp *p = &ws->qp;
    const kp_plate *plate = &ws->plates[plate_index];
    kp_batch *batch = &p->batches[plate_index];
    size_t n = plate->unknowns, row = 0;
    memset(batch->columns, 0, n * batch->stride * sizeof *batch->columns);

    /* Right-hand sides, and for each row the number of columns that have begun there. */
    for (size_t column = 0; column < batch->count; column++) {
        kp_side *side = side_on(ws, batch->gap[column], plate_index);
        side->column = column;
        for (size_t k = 0; k < KP_LOCAL; k++) {
            batch->columns[(side->base + KP_PAIR * k) * batch->stride + column] = side->shape[k];
        }
        for (; row < side->first; row++) {
            p->begun[row] = column;
        }
    }

    for (; row < n; row++) {
        p->begun[row] = batch->count;
    }

    kp_batch_forward(n, KP_JOINT_WIDTH, plate->factor, p->begun, batch->stride, batch->columns);
}

/* Adds the columns' products to the couplings, KP_BATCH by KP_BATCH. */
static void couple_columns(kp_stack_workspace *ws, size_t plate)
{
    kp_qp *p = &ws->qp;
    const kp_batch *batch = &p->batches[plate];
    for (size_t a = 0; a < batch->count; a += KP_BATCH) {
        /* Rows before the first column begins hold zeros only. */
        size_t first = side_on(ws, batch->gap[a], plate)->first;
        const double *rows = batch->columns + first * batch->stride;
        for (size_t b = 0; b <= a; b += KP_BATCH) {
            double product[KP_BATCH][KP_BATCH];
            kp_batch_multiply(ws->plates[plate].unknowns - first, batch->stride, rows + a, rows + b, product);
            for (size_t k = 0; k < KP_BATCH && a + k < batch->count; k++) {
                size_t i = p->slot_of[batch->gap[a + k]];
                for (size_t m = 0; m < KP_BATCH && b + m <= a + k; m++) {
                    size_t j = p->slot_of[batch->gap[b + m]];
                    p->coupling[i > j ? i * p->max_active + j : j * p->max_active + i] += product[k][m];
                }
            }
        }
    }
}

/* By plate and radius, as the gaps are. Insertion, since the set is nearly in order. */
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

/* First position that the contact at one couples with: where the envelope of its row begins. */
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

    /* Slots are positions, and the couplings begin at zero within the envelope. */
    for (size_t i = 0; i < p->count; i++) {
        double *row = p->coupling + i * p->max_active;
        p->slot_of[p->active[i]] = i;
        for (size_t j = first_coupled(ws, i); j < i; j++) {
            row[j] = 0;
        }
        row[i] = ws->contact_compliance;
    }

    p->slot_count = p->count;
    p->free_slot_count = 0;

    /* One batched solve and one product a plate. */
    number_columns(ws);
    for (size_t i = 0; i < ws->plate_count; i++) {
        solve_columns(ws, i);
        couple_columns(ws, i);
    }

    kp_schur_free_gaps(ws, p->rest_value);
}

/* ---- one contact added, one released ---- */

/* Makes room in a batch for one more column. Its columns are fewer than max_count. */
static void widen(kp_batch *batch, size_t rows)
{
    if (batch->count < batch->stride) {
        return;
    }

    size_t old = batch->stride, widest = whole_batches(batch->max_count);
    batch->stride = old + FREE_COLUMNS < widest ? old + FREE_COLUMNS : widest;

    /* Rows move apart from the last to the first, so that none is overwritten. */
    for (size_t i = rows; i-- > 0;) {
        double *to = batch->columns + i * batch->stride;
        memmove(to, batch->columns + i * old, old * sizeof *to);
        memset(to + old, 0, (batch->stride - old) * sizeof *to);
    }
}

/* A contact's column on a plate, and its share of the contact's couplings and free gap. */
static void add_column(kp_stack_workspace *ws, size_t v, const kp_side *side)
{
    kp_qp *p = &ws->qp;
    const kp_plate *plate = &ws->plates[side->plate];
    kp_batch *batch = &p->batches[side->plate];
    size_t n = plate->unknowns, first = side->first;
    double *x = p->column, *row = p->coupling + p->slot_of[v] * p->max_active;

    /* x = L^-1 C'. */
    memset(x, 0, n * sizeof *x);
    for (size_t k = 0; k < KP_LOCAL; k++) {
        x[side->base + KP_PAIR * k] = side->shape[k];
    }

    kp_banded_forward(n, KP_JOINT_WIDTH, plate->factor, first, x);

    /* Its products with the other columns, with itself, and with the free step. */
    kp_batch_sum(n - first, whole_batches(batch->count), batch->stride, batch->columns + first * batch->stride,
                 x + first, p->batch_row);
    for (size_t column = 0; column < batch->count; column++) {
        row[p->slot_of[batch->gap[column]]] += p->batch_row[column];
    }

    row[p->slot_of[v]] += kp_batch_dot(n - first, x + first, x + first);
    p->free_gap[v] += kp_batch_dot(n - first, x + first, plate->free + first);

    /* It becomes the batch's last column. */
    for (size_t i = first; i < n; i++) {
        batch->columns[i * batch->stride + side->column] = x[i];
    }
}

static bool has_room(const kp_qp *p, const kp_side sides[2])
{
    for (size_t k = 0; k < 2; k++) {
        if (sides[k].plate >= 0 && p->batches[sides[k].plate].count == p->batches[sides[k].plate].max_count) {
            return false;
        }
    }
    return p->free_slot_count > 0 || p->slot_count < p->max_active;
}

bool kp_schur_couple(kp_stack_workspace *ws, size_t v)
{
    kp_qp *p = &ws->qp;
    kp_side *sides = ws->gaps[v].side;
    if (!has_room(p, sides)) {
        return false;
    }

    /* A slot of its own, with couplings that begin at zero. */
    size_t slot = p->free_slot_count > 0 ? p->free_slots[--p->free_slot_count] : p->slot_count++;
    p->slot_of[v] = slot;
    for (size_t i = 0; i < p->count; i++) {
        p->coupling[slot * p->max_active + p->slot_of[p->active[i]]] = 0;
    }

    p->coupling[slot * p->max_active + slot] = ws->contact_compliance;
    p->free_gap[v] = p->rest_value[v];

    /* A column on each plate that it touches. */
    for (size_t k = 0; k < 2; k++) {
        if (sides[k].plate >= 0) {
            kp_batch *batch = &p->batches[sides[k].plate];
            widen(batch, ws->plates[sides[k].plate].unknowns);
            sides[k].column = batch->count;
            add_column(ws, v, &sides[k]);
            batch->gap[batch->count++] = v;
        }
    }

    return true;
}

void kp_schur_release(kp_stack_workspace *ws, size_t v)
{
    kp_qp *p = &ws->qp;
    p->free_slots[p->free_slot_count++] = p->slot_of[v];
    for (size_t k = 0; k < 2; k++) {
        const kp_side *side = &ws->gaps[v].side[k];
        if (side->plate < 0) {
            continue;
        }
        /* The batch's last column moves to where this one was. */
        kp_batch *batch = &p->batches[side->plate];
        size_t last = --batch->count;
        double *row = batch->columns;
        for (size_t i = 0; i < ws->plates[side->plate].unknowns; i++, row += batch->stride) {
            row[side->column] = row[last];
            row[last] = 0;
        }
        batch->gap[side->column] = batch->gap[last];
        side_on(ws, batch->gap[last], (size_t)side->plate)->column = side->column;
    }
}

/* ---- what is done with the columns ---- */

void kp_schur_free_gaps(kp_stack_workspace *ws, const double *offset)
{
    kp_qp *p = &ws->qp;
    for (size_t i = 0; i < p->count; i++) {
        p->free_gap[p->active[i]] = offset ? offset[p->active[i]] : 0;
    }

    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_batch *batch = &p->batches[i];
        /* C K^-1 f = (L^-1 C')' (L^-1 f). */
        kp_batch_sum(ws->plates[i].unknowns, whole_batches(batch->count), batch->stride, batch->columns,
                     ws->plates[i].free, p->batch_row);
        for (size_t column = 0; column < batch->count; column++) {
            p->free_gap[batch->gap[column]] += p->batch_row[column];
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
        const kp_batch *batch = &p->batches[i];
        size_t columns = whole_batches(batch->count);
        memcpy(plate->step, plate->free, plate->unknowns * sizeof *plate->step);
        for (size_t column = 0; column < batch->count; column++) {
            p->batch_row[column] = p->amount[batch->gap[column]];
        }
        /* The columns that fill the batch up have no force. */
        for (size_t column = batch->count; column < columns; column++) {
            p->batch_row[column] = 0;
        }
        kp_batch_spread(plate->unknowns, columns, batch->stride, batch->columns, p->batch_row, plate->step);
    }
}

/* ---- the factor of S ---- */

size_t kp_schur_factor(kp_stack_workspace *ws, size_t from)
{
    kp_qp *p = &ws->qp;
    find_first(ws);
    kp_skyline_cut(&p->factor, from);

    for (size_t i = from; i < p->count; i++) {
        const double *couplings = p->coupling + p->slot_of[p->active[i]] * p->max_active;
        size_t first = first_coupled(ws, i);
        /* The row of S by position, from its envelope to the diagonal. */
        for (size_t j = first; j <= i; j++) {
            p->row[j] = couplings[p->slot_of[p->active[j]]];
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
