/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The memory of a programme, in one block. */
#include "stack/stack_internal.h"

#include "num/num.h"

#include <stdlib.h>
#include <string.h>

/* Bytes of it; the same walk lays it out when base is given. */
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
    TAKE(p->multiplier, p->capacity, sizeof(double));
    TAKE(p->value, p->capacity, sizeof(double));
    TAKE(p->rest_value, p->capacity, sizeof(double));
    TAKE(p->free_gap, p->capacity, sizeof(double));
    TAKE(p->amount, p->capacity, sizeof(double));
    TAKE(p->slot_of, p->capacity, sizeof(size_t));
    TAKE(p->visits, p->capacity, sizeof(int));
    TAKE(p->passed_over, p->capacity, sizeof(bool));
    TAKE(p->active, p->most + 1, sizeof(size_t));
    TAKE(p->spare, p->most, sizeof(size_t));
    TAKE(p->factor.bandwidth, p->most, sizeof(size_t));
    TAKE(p->factor.line, p->most, sizeof(size_t));
    TAKE(p->first_of, p->plates, sizeof(size_t));
    TAKE(p->direction, p->most + KP_SKYLINE_MORE, sizeof(double));
    TAKE(p->row, p->most + KP_SKYLINE_MORE, sizeof(double));
    TAKE(p->across, p->most + KP_BATCH, sizeof(double));
    TAKE(p->started, p->widest, sizeof(size_t));
    TAKE(p->column, p->widest, sizeof(double));
    TAKE(p->lanes, p->plates, sizeof(kp_batch));
    for (size_t i = 0; i < p->plates; i++) {
        /* All that the plate can have, but no more than can be active. */
        size_t most = ws->plates[i].contacts < p->most ? ws->plates[i].contacts : p->most;
        kp_batch none, *lanes = base ? &p->lanes[i] : &none;
        lanes->most = most;
        TAKE(lanes->gap, most, sizeof(size_t));
        TAKE(lanes->column, ws->plates[i].unknowns * (most + KP_BATCH), sizeof(double));
    }
    TAKE(p->coupling, p->most * p->most, sizeof(double));
    TAKE(p->factor.storage, p->most * KP_SKYLINE_STRIDE(p->most), sizeof(double));
#undef TAKE
    return used;
}

kp_status kp_qp_begin(kp_qp *p, const kp_stack_workspace *ws, size_t most, kp_error *error)
{
    *p = (kp_qp){.capacity = ws->gap_count > 0 ? ws->gap_count : 1, .most = most, .plates = ws->plate_count};
    for (size_t i = 0; i < ws->plate_count; i++) {
        p->widest = ws->plates[i].unknowns > p->widest ? ws->plates[i].unknowns : p->widest;
    }
    p->arena = malloc(lay_out(p, ws, NULL));
    if (!p->arena) {
        return kp_error_set(error, KP_NO_MEMORY, "stack: no memory for %zu possible contacts", ws->gap_count);
    }
    lay_out(p, ws, p->arena);
    double *const cleared[] = {p->multiplier, p->value, p->rest_value, p->free_gap};
    for (size_t i = 0; i < sizeof cleared / sizeof cleared[0]; i++) {
        memset(cleared[i], 0, p->capacity * sizeof(double));
    }
    memset(p->passed_over, 0, p->capacity * sizeof *p->passed_over);
    memset(p->visits, 0, p->capacity * sizeof *p->visits);
    kp_skyline_begin(&p->factor, most);
    for (size_t i = 0; i < p->plates; i++) {
        p->lanes[i].count = p->lanes[i].stride = 0;
    }
    return KP_OK;
}

void kp_qp_free(kp_qp *p)
{
    free(p->arena);
    *p = (kp_qp){0};
}
