/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The public functions of the lift table: making, extending and reading it. */
#include "lift/lift_internal.h"

#include "num/num.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Tolerance of the solver, as in kp_stack_options. [-] The slope is that of the state before Newton's last step: with
   the default 2e-5 it would be off by up to 2e-3 of itself. */
static const double SOLVE_TOLERANCE = 1e-6;
static const double SOLVE_TOLERANCE_COARSE = 1e-2;
/* Opening below which tolerances are absolute: 2 um, through which hardly any oil flows. [-] of the face shim's
   thickness */
static const double SMALLEST_OPENING = 0.01;
enum { COARSE_ELEMENTS = 4 }; /* [-] across the largest disc of a coarse table */

/* ---- made from a stack ------------------------------------------------------------------------------------------- */

/* What a table copies out of its stack. */
static kp_status take_stack(kp_lift_table *t, const kp_stack *stack, kp_error *error)
{
    t->dish = stack->dish;
    t->disc_count = stack->disc_count;
    t->build.smallest_opening = SMALLEST_OPENING * stack->discs[0].thickness;

    t->build.yield = malloc(stack->disc_count * sizeof *t->build.yield);
    if (!t->build.yield) {
        return kp_error_set(error, KP_NO_MEMORY, "lift table: no memory for %zu shims", stack->disc_count);
    }
    for (size_t i = 0; i < stack->disc_count; i++) {
        t->build.yield[i] = stack->discs[i].material.yield;
    }
    return KP_OK;
}

/* A table without points, with the stack in its workspace. */
static kp_status begin(const kp_stack *stack, bool coarse, kp_lift_table **out, kp_error *error)
{
    kp_lift_table *t = calloc(1, sizeof *t);
    if (!t) {
        return kp_error_set(error, KP_NO_MEMORY, "lift table: no memory");
    }
    t->coarse = coarse;
    t->yields_from = INFINITY;

    kp_stack_options options = {.elements = coarse ? COARSE_ELEMENTS : 0,
                                .tolerance = coarse ? SOLVE_TOLERANCE_COARSE : SOLVE_TOLERANCE};
    kp_status status = kp_stack_begin(stack, &options, &t->build.workspace, error);
    status = status == KP_OK ? take_stack(t, stack, error) : status;
    if (status != KP_OK) {
        kp_lift_table_free(t);
        return status;
    }

    *out = t;
    return KP_OK;
}

static kp_status build(const kp_stack *stack, double pressure_max, bool coarse, kp_lift_table **out, kp_error *error)
{
    if (!(pressure_max > 0) || !isfinite(pressure_max)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "lift table: largest pressure %g Pa must be positive",
                            pressure_max);
    }

    kp_lift_table *t = NULL;
    kp_status status = begin(stack, coarse, &t, error);
    if (status != KP_OK) {
        return status;
    }

    status = kp_lift_solve_first(t, error);
    status = status == KP_OK ? kp_lift_solve_to(t, pressure_max, error) : status;
    if (status != KP_OK) {
        kp_lift_table_free(t);
        return status;
    }
    *out = t;
    return KP_OK;
}

kp_status kp_lift_table_build(const kp_stack *stack, double pressure_max, kp_lift_table **out, kp_error *error)
{
    return build(stack, pressure_max, false, out, error);
}

kp_status kp_lift_table_build_coarse(const kp_stack *stack, double pressure_max, kp_lift_table **out, kp_error *error)
{
    return build(stack, pressure_max, true, out, error);
}

bool kp_lift_table_is_coarse(const kp_lift_table *t)
{
    return t->coarse;
}

kp_lift_table_cost kp_lift_table_cost_of(const kp_lift_table *t)
{
    kp_lift_table_cost cost = t->build.cost;
    cost.points = (int)t->count;
    return cost;
}

/* ---- made from points: monotone cubics in the pressure ----------------------------------------------------------- */

/* Copies the points and gives them slopes: secants over both neighbours, limited so that the curve is monotone. */
static kp_status take_points(kp_lift_table *t, size_t n, const double *pressure, const double *opening, kp_error *error)
{
    double **columns[] = {&t->given_pressure, &t->given_opening, &t->given_slope};
    for (size_t k = 0; k < 3; k++) {
        *columns[k] = malloc(n * sizeof(double));
        if (!*columns[k]) {
            return kp_error_set(error, KP_NO_MEMORY, "lift table: no memory for %zu points", n);
        }
    }

    /* The points, and the slopes. */
    t->count = n;
    t->yields_from = INFINITY;
    memcpy(t->given_pressure, pressure, n * sizeof *pressure);
    memcpy(t->given_opening, opening, n * sizeof *opening);

    for (size_t i = 0; i < n; i++) {
        size_t a = i > 0 ? i - 1 : 0;
        size_t b = i + 1 < n ? i + 1 : i;
        t->given_slope[i] = (opening[b] - opening[a]) / (pressure[b] - pressure[a]);
    }
    kp_hermite_limit(n, t->given_pressure, t->given_opening, t->given_slope);
    return KP_OK;
}

kp_status kp_lift_table_from_points(size_t n, const double *pressure, const double *opening, kp_lift_table **out,
                                    kp_error *error)
{
    /* Written so that a NaN is refused. */
    bool ordered = n >= 2 && pressure[0] == 0 && opening[0] >= 0;
    for (size_t i = 1; ordered && i < n; i++) {
        ordered = pressure[i] > pressure[i - 1] && opening[i] >= opening[i - 1];
    }
    if (!ordered) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "lift table: %zu points given; need two or more, "
                            "pressures rising from 0, openings from 0 "
                            "or more and never falling",
                            n);
    }

    kp_lift_table *t = calloc(1, sizeof *t);
    kp_status status = t ? KP_OK : kp_error_set(error, KP_NO_MEMORY, "lift table: no memory");
    status = status == KP_OK ? take_points(t, n, pressure, opening, error) : status;
    if (status != KP_OK) {
        kp_lift_table_free(t);
        return status;
    }
    *out = t;
    return KP_OK;
}

/* ---- extending --------------------------------------------------------------------------------------------------- */

kp_status kp_lift_table_extend(kp_lift_table *t, double pressure, kp_error *error)
{
    if (pressure <= kp_lift_table_reach(t)) {
        return KP_OK;
    }
    if (!t->build.workspace || !isfinite(pressure)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "lift table: made from points up to %g MPa, asked for %g MPa",
                            kp_lift_table_reach(t) / 1e6, pressure / 1e6);
    }

    return kp_lift_solve_to(t, pressure, error);
}

/* ---- reading ----------------------------------------------------------------------------------------------------- */

double kp_lift_table_reach(const kp_lift_table *t)
{
    return t->node ? t->node[t->count - 1].pressure : t->given_pressure[t->count - 1];
}

double kp_lift_table_cracking(const kp_lift_table *t)
{
    return t->cracking;
}

/* The interval that holds the pressure. */
static size_t interval_of(const kp_lift_table *t, double pressure)
{
    size_t low = 0, high = t->count - 1;

    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (t->node[middle].pressure <= pressure) {
            low = middle;
        } else {
            high = middle;
        }
    }

    return low;
}

/* State at a pressure, of a table made from a stack. */
static kp_lift solved_at(const kp_lift_table *t, double pressure)
{
    kp_lift lift = {0};
    size_t i = interval_of(t, pressure);
    double slope;

    /* Lifts and opening. */
    double rise = kp_lift_rise(t, i, pressure, &slope);
    lift.seat_lift = t->unloaded_lift + rise;
    if (t->node[i].interval == KP_INTERVAL_HELD) {
        lift.seat_lift = t->dish;
    } else {
        lift.opening_slope = slope;
        lift.opening = fmax(0, rise - (t->dish - t->unloaded_lift));
    }
    lift.edge_lift = t->unloaded_edge + kp_lift_quantity_at(t, i, 0, pressure, rise);

    /* The discs with the largest stress and fatigue use. */
    for (size_t k = 0; k < t->disc_count; k++) {
        double stress = kp_lift_quantity_at(t, i, 1 + k, pressure, rise);
        double use = kp_lift_quantity_at(t, i, 1 + t->disc_count + k, pressure, rise);

        lift.peak_disc = stress > lift.peak_stress ? k : lift.peak_disc;
        lift.peak_stress = fmax(lift.peak_stress, stress);
        lift.fatigue_disc = use > lift.fatigue_use ? k : lift.fatigue_disc;
        lift.fatigue_use = fmax(lift.fatigue_use, use);
    }

    return lift;
}

kp_status kp_lift_table_at(const kp_lift_table *t, double pressure, kp_lift *out, kp_error *error)
{
    if (!(pressure >= 0 && pressure <= kp_lift_table_reach(t))) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "lift table: %g MPa is outside 0 to %g MPa", pressure / 1e6,
                            kp_lift_table_reach(t) / 1e6);
    }

    if (t->node) {
        *out = solved_at(t, pressure);
        return KP_OK;
    }

    /* A table made from points: the seat and the edge lift by the opening. */
    kp_lift lift = {0};
    kp_hermite_at(t->count, t->given_pressure, t->given_opening, t->given_slope, pressure, &lift.opening,
                  &lift.opening_slope);
    lift.seat_lift = lift.edge_lift = lift.opening = fmax(0, lift.opening);
    *out = lift;
    return KP_OK;
}

/* ---- ring areas ---------------------------------------------------------------------------------------------------
 */

/* Straight between the points of a table made from them. */
static double given_area(const kp_lift_table *t, double pressure, double *slope)
{
    size_t i = 0;
    while (i + 2 < t->count && t->given_pressure[i + 1] <= pressure) {
        i++;
    }
    *slope = (t->given_ring[i + 1] - t->given_ring[i]) / (t->given_pressure[i + 1] - t->given_pressure[i]);
    return t->given_ring[i] + *slope * (pressure - t->given_pressure[i]);
}

double kp_lift_table_ring_area(const kp_lift_table *t, double pressure, double *slope)
{
    double reach = kp_lift_table_reach(t), seen = fmin(pressure, reach), at = 0, area = 0;
    if (t->node && !t->coarse) {
        area = kp_lift_ring_area(t, interval_of(t, seen), seen, &at);
    } else if (t->given_ring) {
        area = given_area(t, seen, &at);
    }

    if (slope) {
        *slope = pressure < reach ? at : 0;
    }
    return area;
}

kp_status kp_lift_table_set_ring_area(kp_lift_table *t, const double *area, kp_error *error)
{
    if (!t->given_pressure) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "lift table: one that was solved has ring areas of its own");
    }
    double *kept = malloc(t->count * sizeof *kept);
    if (!kept) {
        return kp_error_set(error, KP_NO_MEMORY, "lift table: no memory for %zu points", t->count);
    }

    memcpy(kept, area, t->count * sizeof *kept);
    free(t->given_ring);
    t->given_ring = kept;
    return KP_OK;
}

/* ---- yield, freeing -----------------------------------------------------------------------------------------------
 */

bool kp_lift_table_yields(const kp_lift_table *t, double *pressure, size_t *disc)
{
    if (!isfinite(t->yields_from)) {
        return false;
    }

    if (pressure) {
        *pressure = t->yields_from;
    }
    if (disc) {
        *disc = t->yielding_disc;
    }
    return true;
}

void kp_lift_table_free(kp_lift_table *t)
{
    if (!t) {
        return;
    }

    kp_stack_free(t->build.workspace);
    free(t->build.yield);
    free(t->node);
    free(t->quantity);
    free(t->given_pressure);
    free(t->given_opening);
    free(t->given_slope);
    free(t->given_ring);
    free(t);
}
