/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One point of a table: solved, read, put in. */
#include "lift/lift_internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A rise that is none, of the least that is worth anything. [-] */
#define NO_RISE 1e-9
/* Slopes of stresses: over so small a part of the pressure along the tangent. [-] */
#define ALONG 1e-4

static kp_lift_read *row_of(const kp_lift_table *t, size_t i)
{
    return t->reads + i * kp_lift_read_count(t);
}

static kp_status grow(kp_lift_table *t, kp_error *error)
{
    size_t capacity = 2 * t->capacity + 30, each = kp_lift_read_count(t);
    kp_lift_node *nodes = realloc(t->node, capacity * sizeof *nodes);
    if (!nodes) {
        return kp_error_set(error, KP_NO_MEMORY, "lift table: no memory for %zu points", capacity);
    }
    t->node = nodes;
    kp_lift_read *reads = realloc(t->reads, (capacity + 1) * each * sizeof *reads);
    if (!reads) {
        return kp_error_set(error, KP_NO_MEMORY, "lift table: no memory for %zu points", capacity);
    }
    t->reads = reads;
    kp_lift_read *last = reads + capacity * each;
    if (t->capacity > 0) {
        memmove(last, reads + t->capacity * each, each * sizeof *reads);
    } else {
        memset(last, 0, each * sizeof *reads);
    }
    t->capacity = capacity;
    return KP_OK;
}

kp_status kp_lift_insert(kp_lift_table *t, size_t at, const kp_lift_node *node, kp_error *error)
{
    kp_status status = t->count < t->capacity ? KP_OK : grow(t, error);
    if (status != KP_OK) {
        return status;
    }
    size_t each = kp_lift_read_count(t);
    memmove(t->node + at + 1, t->node + at, (t->count - at) * sizeof *t->node);
    t->node[at] = *node;
    memmove(row_of(t, at + 1), row_of(t, at), (t->count - at) * each * sizeof *t->reads);
    memcpy(row_of(t, at), row_of(t, t->capacity), each * sizeof *t->reads);
    t->count++;
    return KP_OK;
}

kp_status kp_lift_solve(kp_lift_table *t, double pressure, kp_seat seat, kp_error *error)
{
    kp_status status = kp_stack_solve(t->workspace, pressure, seat, error);
    t->cost.solves++;
    t->cost.newton_steps += kp_stack_last_record(t->workspace).newton_steps;
    return status;
}

/* Values of the state, or of the trial into slopes: less the value, times so many. */
static void read_row(kp_lift_table *t, bool trial, double times)
{
    const kp_stack_workspace *ws = t->workspace;
    kp_lift_read *row = row_of(t, t->capacity);
    size_t n = t->disc_count;
    double edge = kp_stack_rim_lift(ws, trial);
    double value[2] = {0};
    int place[2] = {0};
    for (size_t i = 0; i < n; i++) {
        if (i == 0 || !kp_stack_same_peaks(ws, i - 1, i)) {
            kp_peaks peaks = kp_stack_peaks(ws, i, trial);
            value[0] = peaks.stress;
            value[1] = peaks.use;
            place[0] = peaks.stress_place;
            place[1] = peaks.use_place;
        }
        for (size_t k = 0; k < 2; k++) {
            kp_lift_read *read = &row[1 + k * n + i];
            if (trial) {
                read->slope = (value[k] - read->value) * times;
            } else {
                *read = (kp_lift_read){value[k], NAN, place[k]};
            }
        }
    }
    if (trial) {
        row[0].slope = (edge - t->unloaded_edge - row[0].value) * times;
    } else {
        row[0] = (kp_lift_read){edge - t->unloaded_edge, NAN, 0};
    }
}

kp_lift_node kp_lift_read_held(kp_lift_table *t, double pressure, double over)
{
    kp_lift_node n = {.pressure = pressure, .rise = t->dish - t->unloaded};
    read_row(t, false, 0);
    if (over > 0 && isfinite(over) && !t->coarse) {
        kp_stack_make_tangent_step(t->workspace);
        kp_stack_trial_along_tangent(t->workspace, ALONG * over / kp_stack_pressure_unit(t->workspace));
        read_row(t, true, 1 / (ALONG * over));
    }
    return n;
}

/* Under a stop inside it the land can sink again: the power may be below zero. */
kp_lift_node kp_lift_read_free(kp_lift_table *t, double pressure, double rise)
{
    kp_lift_node n = {.pressure = pressure, .rise = fmax(rise, NO_RISE * t->worth)};
    read_row(t, false, 0);
    double power = kp_stack_seat_compliance(t->workspace) * n.pressure / n.rise;
    n.power = isfinite(power) ? power : 0;
    if (!t->coarse) {
        kp_stack_trial_along_tangent(t->workspace, ALONG * kp_stack_scaled_pressure(t->workspace));
        read_row(t, true, 1 / ALONG);
    }
    kp_lift_refer(t, &n);
    return n;
}

/* About how far the stack lifts: by the curve between points, by its extrapolation behind the last. */
static double expected(const kp_lift_table *t, size_t at, double pressure)
{
    double slope;
    if (at < t->count) {
        return kp_lift_rise(t, at - 1, pressure, &slope);
    }
    const kp_lift_node *last = &t->node[at - 1];
    if (!(last->pressure > 0)) {
        kp_lift_node n = {.pressure = pressure, .rise = 1};
        kp_lift_refer(t, &n);
        return n.reference;
    }
    kp_lift_node n = {.pressure = pressure, .rise = last->rise};
    kp_lift_refer(t, &n);
    double step = n.log_pressure - last->log_pressure;
    return n.reference * exp(last->excess + 0.5 * step * last->excess_power);
}

kp_status kp_lift_solve_free(kp_lift_table *t, size_t at, double pressure, kp_error *error)
{
    if (t->unloaded == 0) {
        kp_stack_expect_lift(t->workspace, expected(t, at, pressure));
    }
    kp_status status = kp_lift_solve(t, pressure, KP_SEAT_ABSENT, error);
    if (status != KP_OK) {
        return status;
    }
    kp_lift_node n = kp_lift_read_free(t, pressure, kp_stack_seat_lift(t->workspace) - t->unloaded);
    status = kp_lift_insert(t, at, &n, error);
    if (status != KP_OK) {
        return status;
    }
    if (at > 0) {
        kp_lift_choose_run(t, at - 1);
    }
    if (at + 1 < t->count) {
        kp_lift_choose_run(t, at);
    }
    return KP_OK;
}
