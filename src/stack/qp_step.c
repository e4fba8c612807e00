/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The step of a programme under given contact forces, and the gaps after it: what the programme, the frozen steps and
   the tangent share. With K = L L', the step is L'^-1 (L^-1 f + L^-1 C' m), whose parts in brackets are kept: the first
   is each plate's free step, the columns of the second are schur.c's. */
#include "stack/stack_internal.h"

#include "num/num.h"

#include <math.h>
#include <string.h>

static void half_solve(kp_plate *plate, const double *force)
{
    size_t n = plate->unknowns;
    memcpy(plate->free, force, n * sizeof *plate->free);
    kp_banded_forward(n, KP_JOINT_WIDTH, plate->factor, 0, plate->free);
}

void kp_qp_free_step_of_forces(kp_stack_workspace *ws)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        half_solve(&ws->plates[i], ws->plates[i].force);
    }
}

void kp_qp_free_step_of_load(kp_stack_workspace *ws)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        half_solve(&ws->plates[i], ws->plates[i].load);
    }
}

double kp_qp_finish_step(kp_stack_workspace *ws)
{
    kp_schur_push(ws);
    double size = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        /* d.K d = |L' d|^2, before the backward solve. */
        size += kp_batch_dot(plate->unknowns, plate->step, plate->step);
        kp_banded_backward(plate->unknowns, KP_JOINT_WIDTH, plate->factor, plate->step);
    }

    return size;
}

void kp_qp_evaluate_gaps(kp_stack_workspace *ws)
{
    kp_qp *p = &ws->qp;
    kp_gap_increments(ws, p->rest_value, p->value);

    /* A compliant contact may be a penetration in proportion to its force. */
    for (size_t i = 0; i < p->count; i++) {
        p->value[p->active[i]] += ws->contact_compliance * p->multiplier[p->active[i]];
    }
}

double kp_qp_max_active_gap(const kp_stack_workspace *ws)
{
    const kp_qp *p = &ws->qp;
    double open = 0;
    for (size_t i = 0; i < p->count; i++) {
        p->direction[i] = -p->value[p->active[i]];
        open = fmax(open, fabs(p->direction[i]));
    }
    return open;
}
