/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The memory of a programme, in one block. */
#include "stack/stack_internal.h"

#include "num/num.h"

#include <stdlib.h>
#include <string.h>

/* Bytes of the block. Called twice: with base NULL to count them, then with the block to set each array's pointer. */
static size_t lay_out(kp_qp *p, const kp_stack_workspace *ws, char *base)
{
    size_t used = 0;
#define TAKE(field, amount, each)                                                                                      \
    do {                                                                                                               \
        if (base) {                                                                                                    \
            (field) = (void *)(base + used);                                                                           \
        }                                                                                                              \
        used += ((amount) * (each) + 15) / 16 * 16;                                                                    \
    } while (0)

    /* by gap index */
    TAKE(p->multiplier, p->capacity, sizeof(double));
    TAKE(p->value, p->capacity, sizeof(double));
    TAKE(p->rest_value, p->capacity, sizeof(double));
    TAKE(p->free_gap, p->capacity, sizeof(double));
    TAKE(p->amount, p->capacity, sizeof(double));
    TAKE(p->slot_of, p->capacity, sizeof(size_t));
    TAKE(p->times_added, p->capacity, sizeof(int));
    TAKE(p->skipped, p->capacity, sizeof(bool));

    /* by position in the active set, or by slot */
    TAKE(p->active, p->max_active + 1, sizeof(size_t));
    TAKE(p->free_slots, p->max_active, sizeof(size_t));
    TAKE(p->factor.bandwidth, p->max_active, sizeof(size_t));
    TAKE(p->factor.line, p->max_active, sizeof(size_t));
    TAKE(p->first_of, p->plates, sizeof(size_t));
    TAKE(p->direction, p->max_active + KP_SKYLINE_MORE, sizeof(double));
    TAKE(p->row, p->max_active + KP_SKYLINE_MORE, sizeof(double));
    TAKE(p->batch_row, p->max_active + KP_BATCH, sizeof(double));

    /* by a plate's unknown; the batches of columns */
    TAKE(p->begun, p->widest, sizeof(size_t));
    TAKE(p->column, p->widest, sizeof(double));
    TAKE(p->batches, p->plates, sizeof(kp_batch));

    for (size_t i = 0; i < p->plates; i++) {
        /* As many columns as the plate has contacts, but no more than can be active. */
        size_t columns = ws->plates[i].contacts < p->max_active ? ws->plates[i].contacts : p->max_active;
        kp_batch none, *batch = base ? &p->batches[i] : &none;
        batch->max_count = columns;
        TAKE(batch->gap, columns, sizeof(size_t));
        TAKE(batch->columns, ws->plates[i].unknowns * (columns + KP_BATCH), sizeof(double));
    }

    /* the Schur complement and its factor */
    TAKE(p->coupling, p->max_active * p->max_active, sizeof(double));
    TAKE(p->factor.storage, p->max_active * KP_SKYLINE_STRIDE(p->max_active), sizeof(double));
#undef TAKE
    return used;
}

kp_status kp_qp_begin(kp_qp *p, const kp_stack_workspace *ws, size_t max_active, kp_error *error)
{
    *p =
        (kp_qp){.capacity = ws->gap_count > 0 ? ws->gap_count : 1, .max_active = max_active, .plates = ws->plate_count};
    for (size_t i = 0; i < ws->plate_count; i++) {
        p->widest = ws->plates[i].unknowns > p->widest ? ws->plates[i].unknowns : p->widest;
    }

    p->arena = malloc(lay_out(p, ws, NULL));
    if (!p->arena) {
        return kp_error_set(error, KP_NO_MEMORY, "stack: no memory for %zu possible contacts", ws->gap_count);
    }

    lay_out(p, ws, p->arena);

    /* All other arrays are written before they are read. */
    double *const cleared[] = {p->multiplier, p->value, p->rest_value, p->free_gap};
    for (size_t i = 0; i < sizeof cleared / sizeof cleared[0]; i++) {
        memset(cleared[i], 0, p->capacity * sizeof(double));
    }

    memset(p->skipped, 0, p->capacity * sizeof *p->skipped);
    memset(p->times_added, 0, p->capacity * sizeof *p->times_added);
    kp_skyline_begin(&p->factor, max_active);

    for (size_t i = 0; i < p->plates; i++) {
        p->batches[i].count = p->batches[i].stride = 0;
    }

    return KP_OK;
}

void kp_qp_free(kp_qp *p)
{
    free(p->arena);
    *p = (kp_qp){0};
}
