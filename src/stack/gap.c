/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The gaps of contact.c at a state: their linearisation at its tilt, their values there and after a step, and the
   stiffness that contact forces add as plates tilt. */
#include "stack/stack_internal.h"

#include <math.h>

/* [-] of the face shim's thickness: largest lift below which the allowed penetration falls in proportion. */
static const double FULL_LIFT = 0.5;
/* [-] of the allowed penetration: it falls no further than this. */
static const double MIN_SHARE = 0.01;

/* Share of the allowed penetration at the state's lifts; all of it before anything has lifted. */
static double overlap_share(const kp_stack_workspace *ws)
{
    double lift = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        /* A plate's last coefficient of W is the lift of its edge, near enough. */
        lift = fmax(lift, plate->ring ? 0 : fabs(plate->state[plate->unknowns - KP_PAIR]));
    }
    return lift > 0 ? fmin(1, fmax(MIN_SHARE, lift / FULL_LIFT)) : 1;
}

typedef enum vector { OF_STATE, OF_STEP } vector;

/* W's coefficients of all plates, one plate after another. */
static const double *gather_lifts(const kp_stack_workspace *ws, vector which)
{
    double *to = ws->lifts;
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        const double *q = which == OF_STEP ? plate->step : plate->state;
        for (size_t k = 0; k < plate->splines; k++) {
            *to++ = q[KP_PAIR * k];
        }
    }

    return ws->lifts;
}

void kp_contact_linearise(kp_stack_workspace *ws, double part)
{
    ws->overlap += part * (overlap_share(ws) - ws->overlap);
    for (size_t g = 0; g < ws->gap_count; g++) {
        ws->offset[g] = ws->gaps[g].rest + ws->overlap * ws->gaps[g].allowance;
    }
    kp_two_block_rows_linearise(ws->gap_count, ws->tilted, gather_lifts(ws, OF_STATE), ws->rows, ws->offset);
}

/* A contact force F adds F t w'^2/4 to the potential: its second derivative, at the forces of the last step. */
void kp_contact_add_tilt(kp_stack_workspace *ws, size_t plate)
{
    for (size_t i = 0; i < ws->qp.count; i++) {
        size_t g = ws->qp.active[i];
        for (size_t k = 0; k < 2; k++) {
            const kp_side *side = &ws->gaps[g].side[k];
            /* Second derivative of F t w'^2/4: F t/2, on the square of the slope. */
            double tilt = ws->tilted[g].turning[k];
            if (tilt > 0 && (plate == KP_NO_PLATE || side->plate == (int)plate)) {
                kp_plate_add_tilt(&ws->plates[side->plate], side->base, side->slope, ws->qp.multiplier[g] * tilt);
            }
        }
    }
}

double kp_gap_increment(const kp_stack_workspace *ws, const kp_gap *gap)
{
    double sum = 0;
    for (size_t k = 0; k < 2; k++) {
        const kp_side *side = &gap->side[k];
        sum += side->plate < 0 ? 0 : kp_plate_sum(side->shape, ws->plates[side->plate].step + side->base);
    }
    return sum;
}

double kp_gap_value(const kp_stack_workspace *ws, const kp_gap *gap)
{
    double value = ws->offset[gap - ws->gaps];
    for (size_t k = 0; k < 2; k++) {
        const kp_side *side = &gap->side[k];
        value += side->plate < 0 ? 0 : kp_plate_sum(side->shape, ws->plates[side->plate].state + side->base);
    }
    return value;
}

void kp_gap_values(const kp_stack_workspace *ws, double *values)
{
    kp_two_block_rows_times(ws->gap_count, ws->rows, gather_lifts(ws, OF_STATE), ws->offset, values);
}

void kp_gap_increments(const kp_stack_workspace *ws, const double *from, double *values)
{
    kp_two_block_rows_times(ws->gap_count, ws->rows, gather_lifts(ws, OF_STEP), from, values);
}
