/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading a solution with lobes, in scaled units. */
#include "stack/lobed.h"

#include <math.h>

const kp_lobed *kp_lobed_at(kp_stack_workspace *ws, const kp_plate *plate, kp_stack_shape shape, const double **x)
{
    kp_lobed_stack *s = ws->lobed;
    const double *all = shape == KP_STACK_TRIAL ? s->trial : s->x;
    if (s->evaluated != (int)shape) {
        for (size_t i = 0; i < ws->plate_count; i++) {
            kp_lobed_evaluate(&s->plates[i], all + s->at[i], NULL);
        }
        s->evaluated = (int)shape;
    }
    size_t index = (size_t)(plate - ws->plates);
    *x = all + s->at[index];
    return &s->plates[index];
}

void kp_lobed_plate_lift(const kp_stack_workspace *ws, const kp_plate *plate, kp_stack_shape shape, double rho,
                         double *mean, double *amplitude)
{
    const kp_lobed_stack *s = ws->lobed;
    size_t index = (size_t)(plate - ws->plates);
    kp_lobed_lift(&s->plates[index], (shape == KP_STACK_TRIAL ? s->trial : s->x) + s->at[index], rho, mean, amplitude);
}

/* The first gap is the seat's inner edge under the face shim. */
void kp_lobed_seat_lift(const kp_stack_workspace *ws, double *mean, double *amplitude)
{
    const kp_lobed_stack *s = ws->lobed;
    double rest = ws->gaps[0].rest, crest = s->value[0] - rest, valley = s->value[ws->gap_count] - rest;
    *mean = 0.5 * (crest + valley);
    *amplitude = 0.5 * (crest - valley);
}

double kp_lobed_gap_rate(const kp_stack_workspace *ws, size_t g, int angle)
{
    const kp_lobed_stack *s = ws->lobed;
    const kp_two_block_row *row = &s->rows[(size_t)angle * ws->gap_count + g];
    double sum = 0;
    for (size_t side = 0; side < 2; side++) {
        const kp_side *at = &ws->gaps[g].side[side];
        for (size_t i = 0; at->plate >= 0 && i < KP_LOCAL; i++) {
            const double *rate = s->rate + s->at[at->plate] + at->base + KP_PAIR * i;
            sum += row->c[side][i] * (angle == KP_CREST ? rate[0] + rate[1] : rate[0] - rate[1]);
        }
    }
    return sum;
}

void kp_lobed_seat_rate(const kp_stack_workspace *ws, double *mean, double *amplitude)
{
    double crest = kp_lobed_gap_rate(ws, 0, KP_CREST), valley = kp_lobed_gap_rate(ws, 0, KP_VALLEY);
    *mean = 0.5 * (crest + valley);
    *amplitude = 0.5 * (crest - valley);
}

double kp_lobed_seat_force(const kp_stack_workspace *ws)
{
    const kp_lobed_stack *s = ws->lobed;
    double sum = 0;
    for (size_t g = 0; g < ws->gap_count && ws->gaps[g].lower == KP_CONTACT_SEAT; g++) {
        sum += s->multiplier[g] + s->multiplier[ws->gap_count + g];
    }
    return sum;
}

/* By the penalty: what a gap that bears closes by. */
double kp_lobed_seat_force_rate(kp_stack_workspace *ws)
{
    const kp_lobed_stack *s = ws->lobed;
    double sum = 0;
    for (size_t g = 0; g < ws->gap_count && ws->gaps[g].lower == KP_CONTACT_SEAT; g++) {
        for (int angle = 0; angle < KP_ANGLES; angle++) {
            sum -=
                s->multiplier[(size_t)angle * ws->gap_count + g] > 0 ? s->penalty * kp_lobed_gap_rate(ws, g, angle) : 0;
        }
    }
    return sum;
}
