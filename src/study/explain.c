/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Why the curve has its shape: shares of the paths from the ledger, and what each part is worth by runs of their own.

    A part's worth is the change it makes when it alone is changed. Worths do not sum to the force: two shims together
    are worth more than both by themselves, because the seat, the clamp and the neighbours are shared. The shares of
    flow, drop and power do sum, since they are read from one and the same point. */
#include "study/explain_internal.h"
#include "num/num.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

kp_path_shares kp_explain_shares(const kp_curve_point *point)
{
    double flow = point->bleed_flow + point->leak_flow + point->valve_flow + point->void_flow;
    double drop = point->piston_drop;
    kp_path_shares shares = {.bleed_flow = point->bleed_flow / flow,
                             .leak_flow = point->leak_flow / flow,
                             .valve_flow = point->valve_flow / flow,
                             .void_flow = point->void_flow / flow,
                             .disc_drop = drop > 0.0 ? point->disc_pressure / drop : 0.0};
    shares.port_drop = drop > 0.0 ? 1.0 - shares.disc_drop : 0.0;
    /* The piston's paths stand at one drop, so power goes as flow; the valve's is split as its drop is. The rod's own
       oil, |speed| x rod area, goes through the reservoir: force x speed = drop x flow + reservoir drop x that. */
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

kp_status kp_explain_points(const kp_damper *damper, kp_direction direction, const double speeds[KP_EXPLAIN_SPEEDS],
                            kp_curve_point points[KP_EXPLAIN_SPEEDS], kp_error *error)
{
    kp_status status = KP_OK;
    for (int i = 0; status == KP_OK && i < KP_EXPLAIN_SPEEDS; i++) {
        double speed = direction == KP_COMPRESSION ? speeds[i] : -speeds[i];
        status = kp_curve_at(damper, speed, &points[i], error);
    }
    return status;
}

bool kp_explain_possible(const kp_damper_data *data, char *why_not, size_t size)
{
    kp_findings findings = {0};
    kp_error error = {0};
    bool possible = kp_damper_validate(data, &findings, &error) == KP_OK;
    if (!possible) {
        kp_text_print(why_not, size, "%s", error.message);
    }
    for (size_t i = 0; possible && i < findings.count; i++) {
        if (findings.items[i].fault) {
            kp_text_print(why_not, size, "%s", findings.items[i].text);
            possible = false;
        }
    }
    kp_findings_free(&findings);
    return possible;
}

/* ---- the damper itself --------------------------------------------------------------------------------------------
 */

typedef struct kp_seek {
    const kp_damper *damper;
    kp_direction direction;
    double cracking; /* [Pa] */
    kp_error error;
} kp_seek;

static double pressure_over_cracking(double speed, void *context)
{
    kp_seek *seek = context;
    kp_curve_point point;
    double signed_speed = seek->direction == KP_COMPRESSION ? speed : -speed;
    return kp_curve_at(seek->damper, signed_speed, &point, &seek->error) == KP_OK ? point.disc_pressure - seek->cracking
                                                                                  : (double)NAN;
}

/* Speed at which the shims begin to open. */
static double cracking_speed(const kp_damper *damper, kp_direction direction, double cracking, double top)
{
    static const double ENOUGH = 1e-6;  /* [-] and [m/s]: far below what is printed */
    static const double SLOWEST = 1e-4; /* [m/s] below it a damper creeps */
    kp_seek seek = {.damper = damper, .direction = direction, .cracking = cracking};
    double speed;
    if (!(cracking > 0.0)) {
        return 0.0;
    }
    kp_status status =
        kp_root_bracketed(pressure_over_cracking, &seek, SLOWEST, top, ENOUGH, ENOUGH, &speed, &seek.error);
    return status == KP_OK ? speed : (double)NAN;
}

static kp_status explain_itself(const kp_damper_data *data, kp_speed_limits limits, kp_explanation *out,
                                kp_error *error)
{
    kp_damper *damper = NULL;
    kp_status status = kp_damper_begin(data, limits.top, &damper, error);
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        status = kp_explain_points(damper, (kp_direction)d, out->speeds, out->points[d], error);
        if (status == KP_OK) {
            status = kp_curve_summarise(damper, (kp_direction)d, limits, &out->summaries[d], error);
        }
        if (status == KP_OK) {
            out->cracking[d] = kp_lift_table_cracking(kp_damper_lift_table(damper, (kp_direction)d));
            out->cracking_speed[d] = cracking_speed(damper, (kp_direction)d, out->cracking[d], limits.top);
        }
    }
    if (damper != NULL) {
        kp_damper_free(damper);
    }
    return status;
}

/* ---- the runs ------------------------------------------------------------------------------------------------------
 */

typedef struct kp_runs {
    kp_explanation *explanation;
    kp_speed_limits limits;
} kp_runs;

/* One changed damper. What goes wrong with it is its own affair; only memory is everybody's. */
static kp_status run_sensitivity(size_t index, void *workspace, void *context, kp_error *error)
{
    const kp_runs *runs = context;
    kp_explanation *explanation = runs->explanation;
    kp_sensitivity *worth = &explanation->sensitivities[index];
    kp_damper *damper = NULL;
    kp_error own = {0};
    (void)workspace;
    if (!kp_explain_possible(worth->data, worth->why_not, sizeof worth->why_not)) {
        return KP_OK;
    }
    kp_status status = kp_damper_begin(worth->data, runs->limits.top, &damper, &own);
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        kp_curve_point points[KP_EXPLAIN_SPEEDS];
        status = kp_explain_points(damper, (kp_direction)d, explanation->speeds, points, &own);
        if (status == KP_OK) {
            status = kp_curve_summarise(damper, (kp_direction)d, runs->limits, &worth->summaries[d], &own);
        }
        for (int i = 0; status == KP_OK && i < KP_EXPLAIN_SPEEDS; i++) {
            worth->change_of_force[d][i] =
                fabs(points[i].hydraulic_force) - fabs(explanation->points[d][i].hydraulic_force);
            worth->past_yield = worth->past_yield || (worth->acts[d] && points[i].past_yield);
            worth->cavitates = worth->cavitates || (worth->acts[d] && points[i].cavitates);
        }
    }
    if (damper != NULL) {
        kp_damper_free(damper);
    }
    if (status == KP_NO_MEMORY) {
        return kp_error_set(error, status, "%s", own.message);
    }
    worth->solved = status == KP_OK;
    kp_text_print(worth->why_not, sizeof worth->why_not, "%s", own.message);
    return KP_OK;
}

kp_status kp_explain(const kp_damper_data *data, kp_speed_limits limits, kp_unit_system system, const kp_pool *pool,
                     kp_explanation *out, kp_error *error)
{
    kp_explanation made = {0};
    kp_explain_speeds(limits, made.speeds);
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
        const kp_sensitivity *worth = &explanation->sensitivities[i];
        if (worth->solved && worth->acts[direction] &&
            (best == NULL ||
             fabs(worth->change_of_force[direction][at]) > fabs(best->change_of_force[direction][at]))) {
            best = worth;
        }
    }
    return best;
}
