/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How much room parallel faces leave a loose ring, by geometry alone: no elasticity, none of the code of the solver. */
#ifndef KNEEPOINT_TESTS_RING_ROOM_H
#define KNEEPOINT_TESTS_RING_ROOM_H

#include "kneepoint/stack.h"

#include <math.h>
#include <stdbool.h>

enum { ROOM_LINES = 64 };

/* Height of whatever is above the stack over its clamped pack, at r. */
static inline double upper_surface_over(const kp_stack *s, double r)
{
    if (r <= s->clamp_radius)
        return 0;
    for (size_t i = 0; i < s->stop_count; i++) {
        if (r > s->stop_radius[i])
            continue;
        double before = i > 0 ? s->stop_radius[i - 1] : 0, gap = i > 0 ? s->stop_gap[i - 1] : s->stop_gap[0];
        return gap + (s->stop_gap[i] - gap) * (r - before) / (s->stop_radius[i] - before);
    }
    return INFINITY;
}

/* How far the first face beyond a ring can lean away from it at r, going from line `from` downward (way -1) or upward.
   Each plate on the way is clamped at its own radius c, and the faces of those between stay parallel, T from it: a
   point that is d outside c and leans further than T - sqrt(T^2 - d^2), about d^2/(2 T), would be closer than T to c.
   Lines that do not reach to r leave their thickness free. */
static inline double room_beyond(const kp_stack *s, size_t from, int way, double r)
{
    double clamp[ROOM_LINES];
    double held = s->clamp_radius;
    for (size_t i = s->disc_count; i-- > 0;) {
        clamp[i] = held;
        held = s->discs[i].outer_radius < held ? s->discs[i].outer_radius : held;
    }
    double room = INFINITY, thick = 0, open = 0;
    for (size_t k = 1; k < ROOM_LINES; k++) {
        size_t i = way > 0 ? from + k : from - k;
        if (i >= s->disc_count) /* below line 0 as well */
            break;
        const kp_disc *disc = &s->discs[i];
        double t = disc->count * disc->thickness;
        if (disc->hole_radius > clamp[i])
            continue;
        if (disc->outer_radius < r) {
            open += t;
            continue;
        }
        thick += t;
        room = fmin(room, open + (r - clamp[i]) * (r - clamp[i]) / (2 * thick));
    }
    return way > 0 ? fmin(room, open + upper_surface_over(s, r)) : room;
}

/* The thickness of the rings at a ring's hole over the room that they find there, largest of all rings. Much above 1 a
   stack cannot be clamped flat. */
static inline double crowding(const kp_stack *s)
{
    double max = 0;
    for (size_t i = 0; i < s->disc_count; i++) {
        double r = s->discs[i].hole_radius;
        if (!(r > s->clamp_radius))
            continue;
        double rings = 0;
        for (int way = -1; way <= 1; way += 2) {
            for (size_t j = way > 0 ? i : i - 1; j < s->disc_count; j += (size_t)way) {
                const kp_disc *disc = &s->discs[j];
                bool ring = disc->hole_radius > s->clamp_radius;
                if (!ring && disc->outer_radius >= r)
                    break;
                rings += ring && disc->hole_radius <= r && disc->outer_radius >= r ? disc->count * disc->thickness : 0;
            }
        }
        max = fmax(max, rings / (room_beyond(s, i, -1, r) + room_beyond(s, i, +1, r)));
    }
    return max;
}

#endif
