/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One point of the steady force-speed curve.

   Areas: A_p bore, A_r rod, A_f = A_p - A_r. All flows are taken relative to the piston, through the whole bore:
   moving at v it drives v A_f through bleed, leak and valve (of the v A_p that the compression chamber loses or gains,
   v A_r goes to or comes from the gas). The wall drags pi D c v/2 through the gap on top of what the drop
   drives: the Couette term stands once, with the flow (src/flow/leak.c gives the reason of its sign).

   Pressures (absolute), compression:  p_c = p_g + r,  p_r = p_c - d     at risk: rebound chamber, p_r
                         rebound:      p_c = p_g - r,  p_r = p_c + d     at risk: compression chamber, p_c
   d is the piston drop, r that of the reservoir path (reservoir valve or return check, and hose) at the flow v A_r; r =
   0 in a monotube whose gas stands in the bore itself.

   Force on the shaft, both directions: F = p_c A_p - p_r A_f - p_atm A_r + friction sign(v). With A_p = A_f + A_r the
   pressures' part is (p_g - p_atm) A_r, the gas force, plus sign(v) (r A_r + d A_f), the hydraulic force: the power
   that the shaft puts in, each drop times its flow.

   Margin gone in compression: p_r cannot fall below p_release, so d stays at D = p_c - p_release. The piston
   passes only Q(D); the void behind it opens at v A_f - Q(D), and the reservoir path takes v A_p - Q(D) instead of v
   A_r. So r and D rise together: with q(r) the reservoir path's flow at a drop and m = p_g - p_release, Q(D) + q(D - m)
   = v A_p,   the left side rising in D,   between D = m + r(v A_r) and the full drop. Through a free path r = 0, D = m,
   and the force stands still. That is the force at this position while the void opens; the gas that the void has
   compressed by then is not in it (a stroke in time will have it), so the true force lies a little higher. Margin gone
   in rebound: the return path passes only the q that r = m drives, p_c stands at p_release, and a void opens in the
   compression chamber at v A_r - q. The piston still drives v A_f, so d goes on rising; r stands still. p_g <=
   p_release at rest is refused when the damper is prepared. */
#include "damper/damper_internal.h"

#include "num/num.h"

#include <math.h>

/* A speed above the largest by the caller's rounding is accepted. */
static const double SPEED_ROUNDING = 1e-12; /* [-] */

kp_status kp_damper_full_drop(const kp_damper *damper, kp_direction direction, double speed, kp_circuit_state *out,
                              kp_error *error)
{
    return kp_circuit_at_flow(&damper->circuits[direction], speed * (damper->driven_area - damper->drag_area), out,
                              error);
}

bool kp_damper_end_of_table(const kp_damper *damper, kp_circuit_state *out, kp_error *error)
{
    double reach = kp_lift_table_reach(damper->tables[KP_COMPRESSION]);
    return reach >= KP_MAX_PRESSURE && kp_circuit_at(&damper->circuits[KP_COMPRESSION], reach, out, error) == KP_OK;
}

/* Implicit differentiation of Q(p) = v (A_f - drag area): dp/dv = (A_f - drag area)/(dQ/dp). */
double kp_damper_full_drop_slope(const kp_damper *damper, const kp_circuit_state *state)
{
    return state->drop_slope * (damper->driven_area - damper->drag_area) / state->flow_slope;
}

static kp_status check_speed(const kp_damper *damper, double speed, kp_error *error)
{
    double v = fabs(speed);
    if (v > 0 && v <= damper->largest_speed * (1 + SPEED_ROUNDING)) {
        return KP_OK;
    }
    return kp_error_set(error, KP_OUT_OF_RANGE,
                        "speed %g m/s: this damper is prepared for more than 0 and up to %g m/s", speed,
                        damper->largest_speed);
}

/* ---- the margin gone in compression ---- */

static const double SHARED_BALANCE = 2e-14; /* [-] of the flow that leaves the compression chamber */

bool kp_reservoir_path_free(const kp_reservoir_path *path)
{
    return !path->has_circuit && !path->has_hose;
}

/* m = p_g - p_release: all that the gas gives [Pa]. */
static double gas_margin(const kp_damper *damper)
{
    return damper->gas_pressure - damper->data.release_pressure;
}

typedef struct shared {
    const kp_damper *damper;
    kp_circuit_state piston;
    kp_rod_state rod;
} shared;

/* Q(m + r) + q(r) and its slope. The unknown is r and not D: r may be small compared with it, and their difference
   would be rounding. */
static kp_status shared_flow(double rod_drop, void *context, double *value, double *slope, kp_error *error)
{
    shared *s = context;
    kp_status status =
        kp_circuit_at_drop(&s->damper->circuits[KP_COMPRESSION], gas_margin(s->damper) + rod_drop, &s->piston, error);
    if (status == KP_OK) {
        status = kp_reservoir_path_at_drop(&s->damper->reservoir_paths[KP_COMPRESSION], rod_drop, &s->rod, error);
    }
    if (status == KP_OK) {
        *value = s->piston.flow + s->rod.flow;
        *slope = s->piston.flow_slope / s->piston.drop_slope + 1 / s->rod.slope;
    }
    return status;
}

kp_status kp_damper_saturated(const kp_damper *damper, double speed, double low, double high, kp_circuit_state *piston,
                              kp_rod_state *rod, double *slope, kp_error *error)
{
    const kp_reservoir_path *path = &damper->reservoir_paths[KP_COMPRESSION];
    if (kp_reservoir_path_free(path)) { /* r = 0, D = m */
        double room = gas_margin(damper);
        *rod = (kp_rod_state){0};
        *slope = 0;
        kp_status status = kp_circuit_at_drop(&damper->circuits[KP_COMPRESSION], room, piston, error);
        piston->drop = status == KP_OK ? room : piston->drop;
        return status;
    }

    /* Q(m + r) + q(r) = v (A_p - drag area) */
    shared s = {.damper = damper};
    double rod_drop, per_speed = damper->bore_area - damper->drag_area;
    kp_status status = KP_OK;
    if (high > low * (1 + SHARED_BALANCE)) {
        status = kp_root_rising(shared_flow, &s, speed * per_speed, 0.5 * (low + high), low, high, SHARED_BALANCE,
                                &rod_drop, error);
    } else { /* right at the margin: both ends are the answer */
        double flow;
        status = shared_flow(low, &s, &flow, slope, error);
    }

    /* dD/dv = A_p/(dQ/dD + dq/dr), with the wall's drag taken off A_p */
    if (status == KP_OK) {
        *piston = s.piston;
        *rod = s.rod;
        *slope = per_speed / (s.piston.flow_slope / s.piston.drop_slope + 1 / s.rod.slope);
    }

    return status;
}

/* ---- a point ---- */

kp_status kp_damper_full_states(const kp_damper *damper, kp_direction direction, double speed, kp_circuit_state *piston,
                                kp_rod_state *rod, kp_error *error)
{
    kp_error refusal = {0};
    kp_status full = kp_damper_full_drop(damper, direction, speed, piston, &refusal);
    kp_status status =
        kp_reservoir_path_at_flow(&damper->reservoir_paths[direction], speed * damper->rod_area, rod, error);
    if (full == KP_OK || status != KP_OK) {
        return status;
    }

    /* Beyond the table in compression: the state at its end, where the gas does not bear even that drop. */
    if (full == KP_OUT_OF_RANGE && direction == KP_COMPRESSION && kp_damper_end_of_table(damper, piston, error) &&
        gas_margin(damper) + rod->drop < piston->drop) {
        return KP_OK;
    }
    return kp_error_set(error, full, "%s", refusal.message);
}

kp_status kp_damper_margin(const kp_damper *damper, kp_direction direction, double speed, double *margin,
                           kp_error *error)
{
    kp_circuit_state piston;
    kp_rod_state rod;
    kp_status status = kp_damper_full_states(damper, direction, speed, &piston, &rod, error);
    if (status == KP_OK) {
        double room = gas_margin(damper);
        *margin = direction == KP_COMPRESSION ? room + rod.drop - piston.drop : room - rod.drop;
    }
    return status;
}

/* Flows, drops, lift and stress of the states. */
static void write_states(kp_curve_point *point, const kp_damper *damper, const kp_circuit_state *state,
                         const kp_rod_state *rod)
{
    double v = fabs(point->speed);

    /* Each flow through the piston; the wall's drag stands with the leak. */
    point->piston_drop = state->drop;
    point->disc_pressure = state->disc_pressure;
    point->couette_flow = damper->drag_area * v;
    point->bleed_flow = state->bleed_flow;
    point->leak_flow = state->leak_flow + point->couette_flow;
    point->valve_flow = state->valve_flow;

    /* Lift and strength of the piston's shims at that disc pressure. */
    point->seat_lift = state->lift.seat_lift;
    point->opening = state->lift.opening;
    point->edge_lift = state->lift.edge_lift;
    point->peak_stress = state->lift.peak_stress;
    point->peak_line = state->lift.peak_disc;
    point->fatigue_use = state->lift.fatigue_use;
    point->fatigue_line = state->lift.fatigue_disc;
    point->past_yield =
        damper->yields[point->direction] && state->disc_pressure >= damper->yield_pressure[point->direction];

    /* Valve and hose of the reservoir. */
    point->reservoir_drop = rod->drop;
    point->hose_drop = rod->hose_drop;
    point->reservoir_flow = rod->flow;
    point->reservoir_peak_stress = rod->valve.lift.peak_stress;
    point->reservoir_past_yield = point->direction == KP_COMPRESSION && damper->yields[KP_RESERVOIR_VALVE] &&
                                  rod->valve.disc_pressure >= damper->yield_pressure[KP_RESERVOIR_VALVE];
}

/* What is left when the margin is gone; slope: dF/dv. */
static kp_status cavitate(kp_curve_point *point, const kp_damper *damper, kp_circuit_state *piston, kp_rod_state *rod,
                          double *slope, kp_error *error)
{
    double v = fabs(point->speed), room = gas_margin(damper);

    /* Piston and reservoir path share v A_p: D and r rise together. */
    if (point->direction == KP_COMPRESSION) {
        double drop_slope = 0;
        kp_status status =
            kp_damper_saturated(damper, v, rod->drop, piston->drop - room, piston, rod, &drop_slope, error);
        *slope = drop_slope * damper->bore_area;
        return status;
    }

    /* Rebound: the return path passes what r = m drives and no more; the piston's drop goes on rising. */
    *slope = kp_damper_full_drop_slope(damper, piston) * damper->driven_area;
    kp_status status = kp_reservoir_path_at_drop(&damper->reservoir_paths[KP_REBOUND], room, rod, error);
    point->rod_void_flow = status == KP_OK ? fmax(0, v * damper->rod_area - rod->flow) : 0;
    return status;
}

/* Pressure above release in each chamber: as it stands, and below zero by what is missing in the one at risk. */
static void write_margins(kp_curve_point *point, const kp_damper *damper)
{
    double room = gas_margin(damper);
    if (point->direction == KP_COMPRESSION) {
        point->compression_margin = room + point->reservoir_drop;
        point->rebound_margin =
            point->cavitates ? point->cavitation_margin : point->compression_margin - point->piston_drop;
    } else {
        point->compression_margin = point->cavitation_margin;
        point->rebound_margin = fmax(0, point->cavitation_margin) + point->piston_drop;
    }
}

kp_status kp_curve_at(const kp_damper *damper, double speed, kp_curve_point *out, kp_error *error)
{
    kp_status status = check_speed(damper, speed, error);
    if (status != KP_OK) {
        return status;
    }

    const double sign = speed > 0 ? 1 : -1, v = fabs(speed);
    kp_curve_point point = {.direction = speed > 0 ? KP_COMPRESSION : KP_REBOUND, .speed = speed};
    const char *direction = kp_direction_name(point.direction);

    /* Drops as if nothing cavitated: the margin that they leave shows whether that holds. */
    kp_circuit_state piston;
    kp_rod_state rod;
    status = kp_damper_full_states(damper, point.direction, v, &piston, &rod, error);
    if (status != KP_OK) {
        return kp_error_prefix(error, "%s at %g m/s: ", direction, v);
    }

    /* Pressure above release in the chamber that the piston draws on, and dF/dv while nothing cavitates. */
    double room = gas_margin(damper);
    point.cavitation_margin = point.direction == KP_COMPRESSION ? room + rod.drop - piston.drop : room - rod.drop;
    point.cavitates = point.cavitation_margin <= 0;
    point.force_slope = kp_damper_full_drop_slope(damper, &piston) * damper->driven_area +
                        rod.slope * damper->rod_area * damper->rod_area;

    /* Without margin the drops are those of a chamber held at the release pressure. */
    if (point.cavitates) {
        status = cavitate(&point, damper, &piston, &rod, &point.force_slope, error);
        if (status != KP_OK) {
            return kp_error_prefix(error, "%s at %g m/s, cavitating: ", direction, v);
        }
    }

    /* Ledger: flows at each chamber sum to what the piston and the rod displace. */
    write_states(&point, damper, &piston, &rod);
    if (point.cavitates && point.direction == KP_COMPRESSION) {
        double passed = point.bleed_flow + point.leak_flow + point.valve_flow;
        point.void_flow = fmax(0, v * damper->driven_area - passed);
    }
    if (kp_reservoir_path_free(&damper->reservoir_paths[point.direction])) {
        point.reservoir_flow = v * damper->rod_area + point.void_flow;
    }
    write_margins(&point, damper);

    /* F = p_c A_p - p_r A_f - p_atm A_r + friction: gas and hydraulic part apart, so that no small difference of large
       numbers is taken. */
    point.gas_force = (damper->gas_pressure - KP_ATMOSPHERE) * damper->rod_area;
    point.friction_force = sign * damper->data.friction;
    point.hydraulic_force = sign * (point.piston_drop * damper->driven_area + point.reservoir_drop * damper->rod_area);
    point.damping_force = point.friction_force + point.hydraulic_force;
    point.force = point.gas_force + point.damping_force;

    if (!isfinite(point.force) || !isfinite(point.force_slope)) {
        return kp_error_set(error, KP_NOT_FINITE, "%s at %g m/s: force %g N, slope %g N s/m", direction, v, point.force,
                            point.force_slope);
    }

    *out = point;
    return KP_OK;
}
