/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The memory of a programme, in one block. */
#include "stack_internal.h"

#include "kneepoint/num.h"

#include <stdlib.h>

/* Most contacts that a plate's columns hold: all that it can have, but no more than can be active. */
static size_t lanes_of(const kp_programme *p, const kp_stack_workspace *ws, size_t plate)
{
    size_t count = 0;
    for (size_t g = 0; g < ws->gap_count; g++) {
        count += ws->gaps[g].side[0].plate == (int)plate || ws->gaps[g].side[1].plate == (int)plate;
    }
    return count < p->most ? count : p->most;
}

/* Bytes of it; the same walk lays it out when base is given. */
static size_t lay_out(kp_programme *p, const kp_stack_workspace *ws, char *base)
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
    TAKE(p->reach, p->most, sizeof(size_t));
    TAKE(p->place, p->most, sizeof(size_t));
    TAKE(p->first_of, p->plates, sizeof(size_t));
    TAKE(p->direction, p->most, sizeof(double));
    TAKE(p->row, p->most, sizeof(double));
    TAKE(p->across, p->most + KP_BESIDE, sizeof(double));
    TAKE(p->started, p->widest, sizeof(size_t));
    TAKE(p->column, p->widest, sizeof(double));
    TAKE(p->lanes, p->plates, sizeof(kp_lanes));
    for (size_t i = 0; i < p->plates; i++) {
        size_t most = lanes_of(p, ws, i);
        kp_lanes none, *lanes = base ? &p->lanes[i] : &none;
        lanes->most = most;
        TAKE(lanes->gap, most, sizeof(size_t));
        TAKE(lanes->column, ws->plates[i].unknowns * (most + KP_BESIDE), sizeof(double));
    }
    TAKE(p->coupling, p->most * p->most, sizeof(double));
    TAKE(p->factor, p->most * p->most, sizeof(double));
#undef TAKE
    return used;
}

kp_status kp_programme_begin(kp_programme *p, const kp_stack_workspace *ws, size_t most, kp_error *error)
{
    *p = (kp_programme){.capacity = ws->gap_count > 0 ? ws->gap_count : 1, .most = most, .plates = ws->plate_count};
    for (size_t i = 0; i < ws->plate_count; i++) {
        p->widest = ws->plates[i].unknowns > p->widest ? ws->plates[i].unknowns : p->widest;
    }
    p->arena = malloc(lay_out(p, ws, NULL));
    if (!p->arena) {
        return kp_error_set(error, KP_NO_MEMORY, "stack: no memory for %zu possible contacts", ws->gap_count);
    }
    lay_out(p, ws, p->arena);
    for (size_t g = 0; g < p->capacity; g++) {
        p->multiplier[g] = p->value[g] = p->rest_value[g] = p->free_gap[g] = 0;
        p->passed_over[g] = false;
        p->visits[g] = 0;
    }
    for (size_t i = 0; i < most; i++) {
        p->place[i] = i;
    }
    for (size_t i = 0; i < p->plates; i++) {
        p->lanes[i].count = p->lanes[i].stride = 0;
    }
    return KP_OK;
}

void kp_programme_free(kp_programme *p)
{
    free(p->arena);
    *p = (kp_programme){0};
}
