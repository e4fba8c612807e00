/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Where in the curve the shims begin to open, and where they begin to fold; and what the folding changes, by a run of
    the same damper with its shims held round. */
#include "study/explain_internal.h"
#include "num/num.h"

#include <math.h>

typedef struct kp_pressure_search {
    const kp_damper *damper;
    kp_direction direction;
    double pressure; /* [Pa] */
    kp_error error;
} kp_pressure_search;

static double pressure_over(double speed, void *context)
{
    kp_pressure_search *search = context;
    kp_curve_point point;
    double signed_speed = search->direction == KP_COMPRESSION ? speed : -speed;
    kp_status status = kp_curve_at(search->damper, signed_speed, &point, &search->error);
    return status == KP_OK ? point.disc_pressure - search->pressure : (double)NAN;
}

/* Speed [m/s] at which a pressure is on the shims, which rises with speed; NAN where there is none up to top. */
static double speed_of_pressure(const kp_damper *damper, kp_direction direction, double top, double pressure)
{
    static const double TOLERANCE = 1e-6; /* [-] and [m/s]: far below what is printed */
    static const double SLOWEST = 1e-4;   /* [m/s] below it a damper creeps */
    kp_pressure_search search = {.damper = damper, .direction = direction, .pressure = pressure};
    double speed = (double)NAN;
    kp_status status =
        kp_root_bracketed(pressure_over, &search, SLOWEST, top, TOLERANCE, TOLERANCE, &speed, &search.error);
    return status == KP_OK ? speed : (double)NAN;
}

/* Onset of folding up to the pressure at the high speed. A stack whose onset, found without the seat, is below its
   cracking pressure folds as it opens. */
static kp_status find_folding(const kp_stack *stack, double pressure_max, double cracking, kp_folding *out,
                              kp_error *error)
{
    /* Few ports, unless they cover the whole circle, bend the shims into their number. */
    if (stack->ports > 0 && stack->ports <= KP_PORTS_FOLD && stack->port_share < 1.0) {
        *out = (kp_folding){.folds = true, .by_ports = true, .lobes = stack->ports, .pressure = cracking};
        return KP_OK;
    }
    if (!(pressure_max > 0.0)) {
        return KP_OK;
    }

    kp_stack_workspace *workspace = NULL;
    kp_onset onset = {0};
    kp_status status = kp_stack_begin(stack, &kp_stack_exactly, &workspace, error);
    if (status == KP_OK) {
        status = kp_stack_find_onset(workspace, pressure_max, &onset, error);
        kp_stack_free(workspace);
    }
    if (status == KP_OK && onset.folds) {
        *out = (kp_folding){.folds = true, .lobes = onset.lobes, .pressure = fmax(onset.pressure, cracking)};
    }
    return status;
}

kp_status kp_explain_onsets(const kp_damper_data *data, const kp_damper *damper, kp_direction direction, double top,
                            kp_explanation *out, kp_error *error)
{
    double cracking = kp_lift_table_cracking(kp_damper_lift_table(damper, direction));
    if (cracking > 0.0) {
        double speed = speed_of_pressure(damper, direction, top, cracking);
        out->has_cracking[direction] = true;
        out->cracking[direction] = cracking;
        out->has_cracking_speed[direction] = isfinite(speed);
        out->cracking_speed[direction] = isfinite(speed) ? speed : 0.0;
    }

    /* A plate on a spring does not fold, and what is held round must not. */
    kp_folding *folding = &out->folding[direction];
    *folding = (kp_folding){0};
    if (data->valves[direction].has_plate || data->valves[direction].held_round) {
        return KP_OK;
    }

    kp_disc discs[KP_MAX_STACK_LINES];
    kp_stack stack = kp_damper_stack(data, direction, discs);
    kp_status status = find_folding(&stack, out->points[direction][KP_AT_HIGH].disc_pressure, cracking, folding, error);
    if (status == KP_OK && folding->folds && folding->pressure > 0.0) {
        double speed = speed_of_pressure(damper, direction, top, folding->pressure);
        folding->has_speed = isfinite(speed);
        folding->speed = isfinite(speed) ? speed : 0.0;
    }
    return status;
}

kp_status kp_explain_held_round(const kp_damper_data *data, double top, kp_explanation *out, kp_error *error)
{
    kp_damper_data round = *data;
    kp_damper *damper = NULL;
    kp_error own = {0};
    bool any = false;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        round.valves[d].held_round = true;
        any = any || out->folding[d].folds;
    }
    if (!any) {
        return KP_OK;
    }

    /* Without a solution there is nothing to compare with; only memory ends the whole. */
    kp_status status = kp_damper_begin(&round, top, &damper, &own);
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        kp_folding *folding = &out->folding[d];
        kp_curve_point point;
        double speed = out->speeds[KP_AT_HIGH];
        status = kp_curve_at(damper, d == KP_COMPRESSION ? speed : -speed, &point, &own);
        if (status == KP_OK && folding->folds) {
            double held = fabs(point.hydraulic_force), force = fabs(out->points[d][KP_AT_HIGH].hydraulic_force);
            folding->has_change = held > 0.0;
            folding->change = held > 0.0 ? force / held - 1.0 : 0.0;
        }
    }
    kp_damper_free(damper);
    return status == KP_NO_MEMORY ? kp_error_set(error, status, "%s", own.message) : KP_OK;
}
