/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One point of a table: solved, taken from the solution, inserted. */
#include "lift/lift_internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Smallest rise that a point is given, so that its logarithm exists. [-] of the smallest opening */
static const double RISE_MIN = 1e-9;
/* Step along the tangent over which the slopes of quantities are taken as a difference. [-] of the pressure */
static const double TANGENT_STEP = 1e-4;
/* First room for points. */
enum { ROOM = 30 };

/* ---- room for points --------------------------------------------------------------------------------------------- */

static kp_status grow(kp_lift_table *t, kp_error *error)
{
    size_t capacity = 2 * t->build.capacity + ROOM, each = kp_lift_quantity_count(t);
    kp_lift_node *nodes = realloc(t->node, capacity * sizeof *nodes);
    if (!nodes) {
        return kp_error_set(error, KP_NO_MEMORY, "lift table: no memory for %zu points", capacity);
    }
    t->node = nodes;

    kp_lift_quantity *quantities = realloc(t->quantity, (capacity + 1) * each * sizeof *quantities);
    if (!quantities) {
        return kp_error_set(error, KP_NO_MEMORY, "lift table: no memory for %zu points", capacity);
    }
    t->quantity = quantities;

    /* The row of the last solution stays the last one. */
    kp_lift_quantity *last = quantities + capacity * each;
    if (t->build.capacity > 0) {
        memmove(last, quantities + t->build.capacity * each, each * sizeof *quantities);
    } else {
        memset(last, 0, each * sizeof *quantities);
    }

    t->build.capacity = capacity;
    return KP_OK;
}

kp_status kp_lift_insert(kp_lift_table *t, size_t at, const kp_lift_node *node, kp_error *error)
{
    kp_status status = t->count < t->build.capacity ? KP_OK : grow(t, error);
    if (status != KP_OK) {
        return status;
    }

    /* The node, and its row of quantities. */
    memmove(t->node + at + 1, t->node + at, (t->count - at) * sizeof *t->node);
    t->node[at] = *node;

    size_t each = kp_lift_quantity_count(t);
    memmove(kp_lift_row(t, at + 1), kp_lift_row(t, at), (t->count - at) * each * sizeof *t->quantity);
    memcpy(kp_lift_row(t, at), kp_lift_row(t, t->build.capacity), each * sizeof *t->quantity);

    t->count++;
    return KP_OK;
}

/* ---- a solution as a point --------------------------------------------------------------------------------------- */

kp_status kp_lift_solve(kp_lift_table *t, double pressure, kp_seat seat, kp_error *error)
{
    kp_status status = kp_stack_solve(t->build.workspace, pressure, seat, error);
    t->build.cost.solves++;
    t->build.cost.newton_steps += kp_stack_last_record(t->build.workspace).newton_steps;
    return status;
}

kp_lift_node kp_lift_held_node(kp_lift_table *t, double pressure, double range)
{
    kp_stack_workspace *ws = t->build.workspace;
    kp_lift_node n = {.pressure = pressure, .rise = t->dish - t->unloaded_lift};
    kp_lift_take_values(t);

    /* Slopes by the pressure itself. */
    if (range > 0 && isfinite(range) && !t->coarse) {
        kp_stack_make_tangent_step(ws);
        kp_stack_trial_along_tangent(ws, TANGENT_STEP * range / kp_stack_pressure_unit(ws));
        kp_lift_take_slopes(t, 1 / (TANGENT_STEP * range));
    }

    return n;
}

kp_lift_node kp_lift_free_node(kp_lift_table *t, double pressure, double rise)
{
    kp_stack_workspace *ws = t->build.workspace;
    kp_lift_node n = {.pressure = pressure, .rise = fmax(rise, RISE_MIN * t->build.smallest_opening)};
    kp_lift_take_values(t);
    n.ring_area = kp_lift_take_ring_area(t);

    /* Below zero where the land sinks again, under a stop inside it. */
    double power = kp_stack_seat_compliance(ws) * n.pressure / n.rise;
    n.power = isfinite(power) ? power : 0;

    /* Slopes by ln(pressure); the compliance has made the tangent step. */
    if (!t->coarse) {
        kp_stack_trial_along_tangent(ws, TANGENT_STEP * kp_stack_scaled_pressure(ws));
        kp_lift_take_slopes(t, 1 / TANGENT_STEP);
    }

    kp_lift_set_correction(t, &n);
    n.folded = kp_stack_is_folded(ws, NULL);
    return n;
}

/* Rise expected at a pressure: from the curve between points; beyond the last point by extrapolating its correction,
   whose slope is taken to fall to zero over the step. */
static double expected_rise(const kp_lift_table *t, size_t at, double pressure)
{
    double slope;
    if (at < t->count) {
        return kp_lift_rise(t, at - 1, pressure, &slope);
    }

    const kp_lift_node *last = &t->node[at - 1];
    if (!(last->pressure > 0)) {
        kp_lift_node n = {.pressure = pressure, .rise = 1};
        kp_lift_set_correction(t, &n);
        return n.reference;
    }

    kp_lift_node n = {.pressure = pressure, .rise = last->rise};
    kp_lift_set_correction(t, &n);
    double step = n.log_pressure - last->log_pressure;
    return n.reference * exp(last->correction + 0.5 * step * last->correction_slope);
}

kp_status kp_lift_solve_free(kp_lift_table *t, size_t at, double pressure, kp_error *error)
{
    if (t->unloaded_lift == 0) {
        kp_stack_expect_lift(t->build.workspace, expected_rise(t, at, pressure));
    }

    kp_status status = kp_lift_solve(t, pressure, KP_SEAT_ABSENT, error);
    if (status != KP_OK) {
        return status;
    }

    kp_lift_node n = kp_lift_free_node(t, pressure, kp_stack_seat_lift(t->build.workspace) - t->unloaded_lift);
    status = kp_lift_insert(t, at, &n, error);
    if (status != KP_OK) {
        return status;
    }

    if (at > 0) {
        kp_lift_choose_interval(t, at - 1);
    }
    if (at + 1 < t->count) {
        kp_lift_choose_interval(t, at);
    }
    return KP_OK;
}
