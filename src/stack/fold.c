/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A stack that folds: round up to its onset, found once, when a solution is met that is no longer stable; beyond it the
   plates' hoops are relaxed (plate/fold.c). A stack that its seat holds is round. */
#include "stack/stack_internal.h"

#include <math.h>

/* A rim that lifts less is stable, since one shim's lifts 1.9 at its onset or more. [-] of the thinnest shim */
static const double SURELY_ROUND = 1.2;

static void set_folded(kp_stack_workspace *ws, bool folded)
{
    if (ws->folded == folded) {
        return;
    }
    ws->folded = folded;
    ws->previous_count = 0; /* the path has a kink here */
    for (size_t i = 0; i < ws->plate_count; i++) {
        ws->plates[i].folded = folded && !ws->plates[i].ring;
    }
}

/* Whether the last solution lifts too little for any shim to fold. */
static bool is_surely_round(const kp_stack_workspace *ws)
{
    double thinnest = INFINITY;
    for (size_t i = 0; i < ws->plate_count; i++) {
        thinnest = fmin(thinnest, ws->plates[i].one_thickness);
    }
    return kp_stack_rim_lift(ws, KP_STACK_STATE) < SURELY_ROUND * thinnest * ws->height;
}

/* The onset below a pressure at which the last, round, solution is unstable. */
static kp_status find_onset(kp_stack_workspace *ws, double pressure, kp_error *error)
{
    kp_onset onset = {0};
    kp_status status =
        kp_stack_find_onset_from(ws, ws->stable_up_to * kp_stack_pressure_unit(ws), pressure, &onset, error);
    if (status == KP_OK && onset.folds) {
        ws->onset = onset;
        ws->onset_known = true;
        for (size_t i = 0; i < ws->plate_count; i++) {
            kp_plate_fold_from(&ws->plates[i], ws->plates[i].state);
        }
    }
    return status;
}

kp_status kp_stack_solve(kp_stack_workspace *ws, double pressure, kp_seat seat, kp_error *error)
{
    if (!ws->stack.folds || seat == KP_SEAT_HOLDS) {
        set_folded(ws, false);
        return kp_stack_solve_shape(ws, pressure, seat, error);
    }

    /* In the shape that is known to be stable there. */
    set_folded(ws, ws->onset_known && pressure > ws->onset.pressure);
    double expected = ws->expected_lift;
    kp_status status = kp_stack_solve_shape(ws, pressure, seat, error);
    bool known = ws->onset_known || ws->pressure <= ws->stable_up_to;
    if (status != KP_OK || known || is_surely_round(ws)) {
        return status;
    }

    /* A round solution beyond any seen so far. */
    status = kp_stack_begin_lobes(ws, error);
    if (status != KP_OK) {
        return status;
    }
    if (kp_stack_unstable_lobes(ws, 0) == 0) {
        ws->stable_up_to = ws->pressure;
        return KP_OK;
    }
    status = find_onset(ws, pressure, error);
    if (status == KP_OK && ws->onset_known && pressure > ws->onset.pressure) {
        set_folded(ws, true);
        ws->expected_lift = expected;
        status = kp_stack_solve_shape(ws, pressure, seat, error);
    }
    return status;
}

bool kp_stack_is_folded(const kp_stack_workspace *ws, kp_onset *onset)
{
    if (ws->folded && onset) {
        *onset = ws->onset;
    }
    return ws->folded;
}

kp_status kp_stack_find_onset(kp_stack_workspace *ws, double pressure_max, kp_onset *out, kp_error *error)
{
    if (!(pressure_max > 0) || !isfinite(pressure_max)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "stack: onset sought up to %g Pa: must be positive", pressure_max);
    }
    set_folded(ws, false);
    kp_onset found;
    kp_status status = kp_stack_find_onset_from(ws, 0, pressure_max, &found, error);
    if (status == KP_OK) {
        *out = found;
    }
    return status;
}
