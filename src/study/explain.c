/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Why the curve has its shape: shares of the paths from the ledger, and the sensitivity to each part.

    The sensitivity to a part is the change of the curve when that part alone is changed, by a run of its own.
    Sensitivities do not sum to the force: taking out two shims changes more than the two changes together, because
    seat, clamp and neighbours are shared. The shares of flow, drop and power do sum, since they are read from one and
    the same point. */
#include "study/explain_internal.h"
#include "num/num.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

kp_path_shares kp_explain_shares(const kp_curve_point *point)
{
    /* Flow: all that the piston displaces, the void included. */
    double flow = point->bleed_flow + point->leak_flow + point->valve_flow + point->void_flow;
    double drop = point->piston_drop;
    kp_path_shares shares = {.bleed_flow = point->bleed_flow / flow,
                             .leak_flow = point->leak_flow / flow,
                             .valve_flow = point->valve_flow / flow,
                             .void_flow = point->void_flow / flow,
                             .disc_drop = drop > 0.0 ? point->disc_pressure / drop : 0.0};
    shares.port_drop = drop > 0.0 ? 1.0 - shares.disc_drop : 0.0;

    /* force x speed = piston drop x flow + reservoir drop x rod flow. The piston's paths stand at one drop, so their
       power is in proportion to their flow; the valve's is divided as its drop is. */
    double rod_flow = point->reservoir_flow - point->void_flow + point->rod_void_flow;
    double power = drop * flow + point->reservoir_drop * rod_flow;
    double piston = power > 0.0 ? drop * flow / power : 0.0;

    shares.bleed_power = piston * shares.bleed_flow;
    shares.leak_power = piston * shares.leak_flow;
    shares.void_power = piston * shares.void_flow;
    shares.port_power = piston * shares.valve_flow * shares.port_drop;
    shares.disc_power = piston * shares.valve_flow * shares.disc_drop;
    shares.reservoir_power = power > 0.0 ? point->reservoir_drop * rod_flow / power : 0.0;
    return shares;
}

void kp_explain_speeds(kp_speed_limits limits, double speeds[KP_EXPLAIN_SPEEDS])
{
    speeds[KP_AT_LOW] = 0.5 * limits.low;
    speeds[KP_AT_MID] = sqrt(limits.low * limits.high);
    speeds[KP_AT_HIGH] = limits.top;
}

kp_status kp_explain_begin(const kp_damper_data *data, double top, kp_damper **out, kp_error *error)
{
    kp_status status = kp_damper_fault(data, error);
    return status == KP_OK ? kp_damper_begin(data, top, out, error) : status;
}

kp_status kp_explain_curve(const kp_damper *damper, kp_direction direction, const double speeds[KP_EXPLAIN_SPEEDS],
                           kp_speed_limits limits, kp_curve_point points[KP_EXPLAIN_SPEEDS], kp_curve_summary *summary,
                           kp_error *error)
{
    kp_status status = KP_OK;
    for (int i = 0; status == KP_OK && i < KP_EXPLAIN_SPEEDS; i++) {
        double speed = direction == KP_COMPRESSION ? speeds[i] : -speeds[i];
        status = kp_curve_at(damper, speed, &points[i], error);
    }
    return status == KP_OK ? kp_curve_summarise(damper, direction, limits, summary, error) : status;
}

kp_status kp_explain_end(kp_status status, const kp_error *own, bool *solved, char why_not[KP_WHY_NOT_TEXT],
                         kp_error *error)
{
    if (status == KP_NO_MEMORY) {
        return kp_error_set(error, status, "%s", own->message);
    }
    *solved = status == KP_OK;
    kp_text_print(why_not, KP_WHY_NOT_TEXT, "%s", own->message);
    return KP_OK;
}

/* ---- the damper itself ---- */

static kp_status explain_itself(const kp_damper_data *data, kp_speed_limits limits, kp_explanation *out,
                                kp_error *error)
{
    kp_damper *damper = NULL;
    kp_status status = kp_damper_begin(data, limits.top, &damper, error);

    /* What each changed damper is compared with. */
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        status =
            kp_explain_curve(damper, (kp_direction)d, out->speeds, limits, out->points[d], &out->summaries[d], error);
        if (status == KP_OK) {
            status = kp_explain_onsets(data, damper, (kp_direction)d, limits.top, out, error);
        }
    }

    if (status == KP_OK) {
        status = kp_explain_held_round(data, limits.top, out, error);
    }

    kp_damper_free(damper);
    return status;
}

/* ---- the runs ---- */

typedef struct kp_runs {
    kp_explanation *explanation;
    kp_speed_limits limits;
} kp_runs;

/* One changed damper. Its own failure is part of the result; only memory ends the whole. */
static kp_status run_sensitivity(size_t index, void *workspace, void *context, kp_error *error)
{
    const kp_runs *runs = context;
    kp_explanation *explanation = runs->explanation;
    kp_sensitivity *sensitivity = &explanation->sensitivities[index];
    kp_damper *damper = NULL;
    kp_error own = {0};
    (void)workspace;

    /* The changed damper in both directions. */
    kp_status status = kp_explain_begin(sensitivity->data, runs->limits.top, &damper, &own);
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        kp_curve_point points[KP_EXPLAIN_SPEEDS];
        bool acts = sensitivity->acts[d];
        status = kp_explain_curve(damper, (kp_direction)d, explanation->speeds, runs->limits, points,
                                  &sensitivity->summaries[d], &own);

        /* Change of |hydraulic force|: + is firmer in either direction. */
        for (int i = 0; status == KP_OK && i < KP_EXPLAIN_SPEEDS; i++) {
            sensitivity->change_of_force[d][i] =
                fabs(points[i].hydraulic_force) - fabs(explanation->points[d][i].hydraulic_force);
            sensitivity->risks |= acts ? kp_point_risks(&points[i]) : 0U;
        }
    }

    kp_damper_free(damper);
    return kp_explain_end(status, &own, &sensitivity->solved, sensitivity->why_not, error);
}

kp_status kp_explain(const kp_damper_data *data, kp_speed_limits limits, kp_unit_system system, const kp_pool *pool,
                     kp_explanation *out, kp_error *error)
{
    kp_explanation made = {0};
    kp_explain_speeds(limits, made.speeds);

    /* The damper itself, the list of its changes, then a run of each. */
    kp_status status = explain_itself(data, limits, &made, error);
    if (status == KP_OK) {
        status = kp_explain_list(data, system, &made, error);
    }
    if (status == KP_OK) {
        kp_runs runs = {&made, limits};
        status = kp_pool_run(pool, made.sensitivity_count, run_sensitivity, &runs, &made.shown_count, error);
    }

    if (status != KP_OK && status != KP_INTERRUPTED) {
        kp_explanation_free(&made);
        return status;
    }

    *out = made;
    return status;
}

void kp_explanation_free(kp_explanation *explanation)
{
    for (size_t i = 0; i < explanation->sensitivity_count; i++) {
        free(explanation->sensitivities[i].data);
    }
    free(explanation->sensitivities);
    memset(explanation, 0, sizeof *explanation);
}

const kp_sensitivity *kp_explain_strongest(const kp_explanation *explanation, kp_direction direction,
                                           kp_explain_speed at)
{
    const kp_sensitivity *best = NULL;
    for (size_t i = 0; i < explanation->shown_count; i++) {
        const kp_sensitivity *one = &explanation->sensitivities[i];
        bool counts = one->solved && one->acts[direction];

        if (counts &&
            (best == NULL || fabs(one->change_of_force[direction][at]) > fabs(best->change_of_force[direction][at]))) {
            best = one;
        }
    }
    return best;
}
