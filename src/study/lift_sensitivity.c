/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Sensitivities of a stack: the change of the pressure that opens the seat by a given lift, one parameter at a time.
    Every row is a stack of its own, solved anew. */
#include "kneepoint/study.h"
#include "num/num.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* Chamfer and flat of a clamp are hard to measure; lands wear and are lapped. Common practice. [m] of diameter */
static const double CLAMP_STEP = 1e-3, LAND_STEP = 1e-3;
/* Of each shim: EN ISO 9445, precision, 0.20 to 0.25 mm (read, as a steel trade association reprints it). [m] */
static const double THICKNESS_STEP = 8e-6;

static const double FIRST_PRESSURE = 1e3;       /* [Pa] doubled until the seat is open far enough */
static const double LAST_PRESSURE = 100e6;      /* [Pa] beyond any shim */
static const double PRESSURE_TOLERANCE = 1e-10; /* [-] relative */

/** The root search of one stack. */
typedef struct kp_search {
    kp_stack_workspace *workspace;
    double target; /* [m] seat lift */
    kp_status status;
    kp_error *error;
} kp_search;

static double residual_at(double pressure, void *context)
{
    kp_search *search = context;
    search->status = kp_stack_solve(search->workspace, pressure, KP_SEAT_ABSENT, search->error);
    return search->status == KP_OK ? kp_stack_seat_lift(search->workspace) - search->target : (double)NAN;
}

static kp_status find_pressure(kp_search *search, double *pressure, kp_error *error)
{
    double low = 0.0;
    double high = FIRST_PRESSURE;

    double residual = residual_at(low, search);
    if (search->status == KP_OK && residual >= 0.0) {
        *pressure = 0.0; /* at rest it stands open by more */
        return KP_OK;
    }

    /* Bracket: double the pressure until the seat is open far enough. */
    for (residual = residual_at(high, search); search->status == KP_OK && residual < 0.0;
         residual = residual_at(high, search)) {
        if (high > LAST_PRESSURE) {
            return kp_error_set(error, KP_NO_SOLUTION, "it does not open that far");
        }
        low = high;
        high *= 2.0;
    }

    /* The status of a stack that cannot be solved comes before that of the search. */
    kp_status status = search->status;
    if (status == KP_OK) {
        status = kp_root_bracketed(residual_at, search, low, high, 0.0, PRESSURE_TOLERANCE, pressure, error);
    }
    return search->status != KP_OK ? search->status : status;
}

/* Pressure and past_yield of a row. */
static kp_status solve_row(const kp_damper_data *data, kp_direction direction, double opening, kp_lift_sensitivity *row,
                           kp_error *error)
{
    kp_disc discs[KP_MAX_STACK_LINES];
    kp_stack stack = kp_damper_stack(data, direction, discs);
    kp_search search = {.target = stack.dish + opening, .error = error};
    kp_status status = kp_stack_begin(&stack, &kp_stack_exactly, &search.workspace, error);
    if (status != KP_OK) {
        return status;
    }

    /* The search may have solved another pressure last, and the stress is that at the root. */
    status = find_pressure(&search, &row->pressure, error);
    if (status == KP_OK) {
        status = kp_stack_solve(search.workspace, row->pressure, KP_SEAT_ABSENT, error);
    }

    for (size_t i = 0; status == KP_OK && i < stack.disc_count; i++) {
        double stress;
        kp_stack_peak_stress(search.workspace, i, &stress, NULL, NULL);
        row->past_yield = row->past_yield || stress > discs[i].material.yield;
    }
    kp_stack_free(search.workspace);
    return status;
}

static void change_grip(kp_valve_data *valve, kp_lift_sensitivity *row)
{
    valve->grip = valve->grip == KP_GRIP_SLIDING ? KP_GRIP_HELD : KP_GRIP_SLIDING;

    /* Shims that slide need a hole. */
    if (valve->grip == KP_GRIP_SLIDING && !valve->has_hole) {
        row->hole_assumed = true;
        valve->has_hole = true;
        valve->hole = kp_assumed_hole(valve->clamp_washer);
    }
    row->hole = valve->hole;
}

/* The washer, and small last shims that act as one. */
static void change_clamp(kp_valve_data *valve, double step)
{
    kp_shim_part parts[KP_MAX_STACK_LINES];
    double clamps[KP_MAX_STACK_LINES];
    kp_valve_parts(valve, parts, clamps);

    valve->clamp_washer += step;
    for (size_t i = 0; i < valve->line_count; i++) {
        valve->lines[i].outside += parts[i] == KP_SHIM_SPACER ? step : 0.0;
    }
}

static void change(kp_valve_data *valve, kp_lift_sensitivity *row)
{
    switch (row->parameter) {
    case KP_LIFT_NOMINAL:
        break;
    case KP_LIFT_GRIP:
        change_grip(valve, row);
        break;
    case KP_LIFT_CLAMP:
        change_clamp(valve, row->step);
        break;
    case KP_LIFT_LAND:
        valve->land_inner += row->step;
        valve->land_outer += row->step;
        break;
    case KP_LIFT_THICKNESS:
        for (size_t i = 0; i < valve->line_count; i++) {
            valve->lines[i].thickness += row->step;
        }
        break;
    }

    row->grip = valve->grip;
}

/* The solver speaks of radii in metres. Where the change makes a fault in a damper that had none, the fault says it in
   the file's terms. */
static void explain_failure(const kp_damper_data *data, const kp_damper_data *changed, kp_error *reason)
{
    kp_error fault = {0};
    if (kp_damper_fault(data, &fault) == KP_OK && kp_damper_fault(changed, &fault) == KP_BAD_INPUT) {
        *reason = fault;
    }
}

kp_status kp_lift_sensitivities(const kp_damper_data *data, kp_direction direction, double opening,
                                kp_lift_sensitivity rows[KP_LIFT_SENSITIVITIES], kp_error *error)
{
    const struct {
        kp_lift_parameter parameter;
        double step;
    } changes[KP_LIFT_SENSITIVITIES] = {
        {KP_LIFT_NOMINAL, 0.0},
        {KP_LIFT_GRIP, 0.0},
        {KP_LIFT_CLAMP, CLAMP_STEP},
        {KP_LIFT_CLAMP, -CLAMP_STEP},
        {KP_LIFT_LAND, LAND_STEP},
        {KP_LIFT_LAND, -LAND_STEP},
        {KP_LIFT_THICKNESS, THICKNESS_STEP},
        {KP_LIFT_THICKNESS, -THICKNESS_STEP},
    };
    kp_damper_data *changed = malloc(sizeof *changed);
    if (changed == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out before the sensitivities");
    }

    kp_status status = KP_OK;
    for (size_t i = 0; status == KP_OK && i < KP_LIFT_SENSITIVITIES; i++) {
        kp_error reason = {0};
        kp_lift_sensitivity *row = &rows[i];

        /* One parameter changed, all else as given. */
        *row = (kp_lift_sensitivity){.parameter = changes[i].parameter, .step = changes[i].step};
        *changed = *data;
        change(&changed->valves[direction], row);
        row->pressure = row->change = (double)NAN;
        status = solve_row(changed, direction, opening, row, &reason);

        /* An impossible changed stack is an unsolved row; an impossible nominal one, or lack of memory, is an error. */
        row->solved = status == KP_OK;
        if (status == KP_OK) {
            row->change = row->pressure / rows[0].pressure - 1.0;
        } else if (status == KP_NO_MEMORY || row->parameter == KP_LIFT_NOMINAL) {
            kp_error_set(error, status, "%s stack, opened by %g mm: %s", kp_direction_name(direction), 1e3 * opening,
                         reason.message);
        } else {
            status = KP_OK;
            row->pressure = (double)NAN; /* found, and then the stress not */
            row->past_yield = false;
            explain_failure(data, changed, &reason);
            snprintf(row->why_not, sizeof row->why_not, "%.255s", reason.message);
        }
    }

    free(changed);
    return status;
}
