/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which model gives a solution. A stack that may fold is round as far as nothing folds it: up to a share of its onset,
   which is found when a solution is met that is not surely round, and where the seat holds it; from there on it has one
   lobe harmonic, in the number of its ports or of its onset. On few ports it has from the first load on. */
#include "stack/lobed.h"

#include <math.h>

/* [-] Pressure from which the lobes of what is out of flat are followed, of the onset's; the mean lift steps by some
   1e-5 of itself there. */
static const double LOBED_FROM = 0.4;
/* [-] Onsets are looked for up to this multiple of the first pressure that is not surely round. */
static const double ONSET_RANGE = 64;
/* On few ports that leave some of the circle. */
static bool ports_fold(const kp_stack *stack)
{
    return stack->ports >= KP_LOBES_MIN && stack->ports <= KP_PORTS_FOLD && stack->port_share < 1;
}

/* The workspace that folds. */
static kp_status begin_folding(kp_stack_workspace *ws, kp_error *error)
{
    if (ws->folding) {
        return KP_OK;
    }
    kp_stack_options options = ws->options;
    options.elements = kp_stack_folding_elements(ws);
    return kp_stack_begin_with(&ws->stack, &options, true, &ws->folding, error);
}

/* The onset, of the stack without its seat. */
static kp_status find_onset(kp_stack_workspace *ws, double pressure_max, kp_error *error)
{
    kp_status status = begin_folding(ws, error);
    if (status == KP_OK) {
        status = kp_stack_find_onset_from(ws->folding, ws->round_up_to, pressure_max, &ws->onset, error);
        ws->onset_known = status == KP_OK;
    }
    return status;
}

/* The low end of its stress cycles, where the caller has marked that of the round stack. */
static kp_status mark_rest(kp_stack_workspace *folding, kp_error *error)
{
    kp_status status = kp_stack_solve_shape(folding, 0, KP_SEAT_HOLDS, error);
    if (status == KP_OK) {
        kp_stack_mark_rest(folding);
        kp_stack_start_afresh(folding);
    }
    return status;
}

/* Solves with lobes, from the state that they have or else from the round one at a pressure not beyond `from` [Pa]. */
static kp_status solve_lobed(kp_stack_workspace *ws, int lobes, double from, double pressure, kp_seat seat,
                             kp_error *error)
{
    kp_status status = begin_folding(ws, error);
    kp_stack_workspace *folding = ws->folding;
    if (status == KP_OK && ws->rest_is_marked && !folding->rest_is_marked) {
        folding->folded = false;
        status = mark_rest(folding, error);
    }
    status = status == KP_OK ? kp_lobed_begin(folding, lobes, error) : status;
    for (int attempt = 0; status == KP_OK && attempt < 2; attempt++) {
        kp_lobed_stack *s = folding->lobed;
        if (!s->solved || s->seat != seat) {
            folding->folded = false;
            status = kp_stack_solve_shape(folding, fmin(from, pressure), seat, error);
            if (status != KP_OK) {
                return status;
            }
            kp_lobed_from_round(folding);
            s->past_count = 0;
            s->seat = seat;
        }
        kp_stack_set_seat(folding, seat);
        folding->record = (kp_stack_record){0};
        ws->folded = folding->folded = kp_lobed_path(folding, pressure / kp_stack_pressure_unit(ws));
        if (ws->folded) {
            folding->pressure = pressure / kp_stack_pressure_unit(ws);
            ws->expected_lift = 0;
            return KP_OK;
        }
        s->solved = false;
    }
    return status != KP_OK
               ? status
               : kp_error_set(error, KP_NO_SOLUTION, "stack: no folded equilibrium found at %.6g MPa", pressure / 1e6);
}

kp_status kp_stack_solve(kp_stack_workspace *ws, double pressure, kp_seat seat, kp_error *error)
{
    ws->folded = false;
    if (ws->stack.folds && ports_fold(&ws->stack) && pressure > 0 && isfinite(pressure)) {
        return solve_lobed(ws, ws->stack.ports, 0, pressure, seat, error);
    }
    if (!ws->stack.folds || seat == KP_SEAT_HOLDS) {
        return kp_stack_solve_shape(ws, pressure, seat, error);
    }

    /* Round, until a solution is not surely so. */
    if (!ws->onset_known) {
        kp_status status = kp_stack_solve_shape(ws, pressure, seat, error);
        if (status != KP_OK || kp_stack_is_surely_round(ws)) {
            ws->round_up_to = status == KP_OK ? fmax(ws->round_up_to, pressure) : ws->round_up_to;
            return status;
        }
        status = find_onset(ws, ONSET_RANGE * pressure, error);
        if (status != KP_OK) {
            return status;
        }
        if (!ws->onset.folds) {
            return KP_OK;
        }
    }
    double from = !ws->onset.folds         ? INFINITY
                  : ws->stack.flatness > 0 ? LOBED_FROM * ws->onset.pressure
                                           : ws->onset.pressure;
    if (!(pressure > from)) {
        return kp_stack_solve_shape(ws, pressure, seat, error);
    }
    return solve_lobed(ws, ws->onset.lobes, LOBED_FROM * ws->onset.pressure, pressure, seat, error);
}

bool kp_stack_is_folded(const kp_stack_workspace *ws, kp_onset *onset)
{
    if (ws->folded && onset) {
        *onset = ws->onset;
        onset->lobes = ws->folding->lobed->lobes; /* those of its ports have no onset */
    }
    return ws->folded;
}

kp_status kp_stack_find_onset(kp_stack_workspace *ws, double pressure_max, kp_onset *out, kp_error *error)
{
    if (!(pressure_max > 0) || !isfinite(pressure_max)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "stack: onset sought up to %g Pa: must be positive", pressure_max);
    }
    ws->folded = false;
    kp_onset found;
    kp_status status = begin_folding(ws, error);
    if (status == KP_OK) {
        ws->folding->folded = false;
        status = kp_stack_find_onset_from(ws->folding, 0, pressure_max, &found, error);
    }
    if (status == KP_OK) {
        *out = found;
        ws->onset = found.folds ? found : ws->onset;
        ws->onset_known = ws->onset_known || found.folds;
    }
    return status;
}
