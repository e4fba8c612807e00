/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One point of the steady force-speed curve.

   Areas: A_p bore, A_r rod, A_f = A_p - A_r. All flows are taken relative to the piston, through the whole bore:
   moving at v it drives v A_f through bleed, leak and valve (of the v A_p that the compression chamber loses or gains,
   v A_r goes to or comes from the gas chamber). The wall drags pi D c v/2 through the gap on top of what the drop
   drives: the Couette term stands once, with the flow (leak.c gives the sign's reason).

   Pressures (absolute), compression:  p_c = p_g + d_rod,  p_r = p_c - d_p     at risk: rebound chamber, p_r
                         rebound:      p_c = p_g - d_rod,  p_r = p_c + d_p     at risk: compression chamber, p_c
   d_p is the piston drop, d_rod that of the path of the rod's oil. In this monotube the gas stands behind a divider in
   the bore itself, so that path is open and d_rod = 0; a reservoir valve, hose or return check would come in there.

   Force on the shaft, both directions: F = p_c A_p - p_r A_f - p_atm A_r + friction sign(v).
   With d_rod = 0 the pressures' part is (p_g - p_atm) A_r, the gas force, plus +/- d_p A_f, the hydraulic force.

   Margin gone in compression: p_r cannot fall below p_release, so the drop stays at D = p_c - p_release. The piston
   passes only Q(D); the void behind it opens at v A_f - Q(D), and the divider takes v A_p - Q(D) instead of v A_r.
   The force stands still there. That is the force at this position while the void opens; the gas that the void has
   compressed by then is not in it (a stroke in time will have it), so the true force lies a little higher.
   Margin gone in rebound: with d_rod = 0 that is p_g <= p_release, refused when the damper is prepared. */
#include "damper/damper_internal.h"

#include <math.h>

/* A speed just over the largest by the rounding of whoever computed it is let through. */
static const double SPEED_ROUNDING = 1e-12; /* [-] */

kp_status kp_damper_full_drop(const kp_damper *damper, kp_direction direction, double speed, kp_circuit_state *out,
                              kp_error *error)
{
    return kp_circuit_at_flow(&damper->circuits[direction], speed * (damper->driven_area - damper->drag_area), out,
                              error);
}

/* Implicit differentiation of Q(p) = v (A_f - drag area): dp/dv = (A_f - drag area)/(dQ/dp). */
double kp_damper_full_drop_slope(const kp_damper *damper, const kp_circuit_state *state)
{
    return state->drop_slope * (damper->driven_area - damper->drag_area) / state->flow_slope;
}

/* Drop of the path between the chamber that the rod enters and the gas, at a flow [m3/s]: none in this monotube. */
static double rod_path_drop(void)
{
    return 0;
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

/* Flows, drop, lift and stress of a circuit state. */
static void write_state(kp_curve_point *point, const kp_damper *damper, const kp_circuit_state *state)
{
    double v = fabs(point->speed);
    point->piston_drop = state->drop;
    point->disc_pressure = state->disc_pressure;
    point->couette_flow = damper->drag_area * v;
    point->bleed_flow = state->bleed_flow;
    point->leak_flow = state->leak_flow + point->couette_flow;
    point->valve_flow = state->valve_flow;
    point->seat_lift = state->lift.seat_lift;
    point->opening = state->lift.opening;
    point->edge_lift = state->lift.edge_lift;
    point->peak_stress = state->lift.peak_stress;
    point->peak_line = state->lift.peak_disc;
    point->fatigue_use = state->lift.fatigue_use;
    point->fatigue_line = state->lift.fatigue_disc;
    point->past_yield =
        damper->yields[point->direction] && state->disc_pressure >= damper->yield_pressure[point->direction];
}

/* Force on the shaft at one speed, with the ledger of its parts.
   Given:    prepared damper, speed [m/s] signed, 0 < |speed| <= largest speed
   Returned: point; force_slope is dF/dv by implicit differentiation, exact to rounding wherever the lift table's own
             slope is; flows sum to |v| A_f to 1e-13
   Valid:    steady flow; see the head of this file for what a cavitating point means
   Accuracy: an uncalibrated estimate. The arithmetic is exact to rounding but for the lift table's interpolation
             (0.1 %); coefficients of port and curtain are inputs
   Status:   KP_OUT_OF_RANGE (speed), KP_NO_SOLUTION, KP_NOT_FINITE
   Source:   continuity and equilibrium, above; branches cite their own */
kp_status kp_curve_at(const kp_damper *damper, double speed, kp_curve_point *out, kp_error *error)
{
    kp_status status = check_speed(damper, speed, error);
    if (status != KP_OK) {
        return status;
    }
    const kp_damper_data *data = &damper->data;
    const double sign = speed > 0 ? 1 : -1, v = fabs(speed);
    kp_curve_point point = {.direction = speed > 0 ? KP_COMPRESSION : KP_REBOUND, .speed = speed};
    const kp_circuit *circuit = &damper->circuits[point.direction];
    kp_circuit_state state;
    status = kp_damper_full_drop(damper, point.direction, v, &state, error);
    if (status != KP_OK) {
        return kp_error_prefix(error, "%s at %g m/s: ", kp_direction_name(point.direction), v);
    }
    double compression_pressure = damper->gas_pressure + sign * rod_path_drop();
    double room = compression_pressure - data->release_pressure; /* all that the chamber at risk has */
    point.cavitation_margin = point.direction == KP_COMPRESSION ? room - state.drop : room;
    point.cavitates = point.cavitation_margin <= 0;
    point.force_slope = kp_damper_full_drop_slope(damper, &state) * damper->driven_area;
    if (point.cavitates) {
        status = kp_circuit_at_drop(circuit, room, &state, error);
        if (status != KP_OK) {
            return kp_error_prefix(error, "%s at %g m/s, cavitating: ", kp_direction_name(point.direction), v);
        }
        state.drop = room;
        point.force_slope = 0;
    }
    write_state(&point, damper, &state);
    if (point.cavitates) {
        double passed = point.bleed_flow + point.leak_flow + point.valve_flow;
        point.void_flow = fmax(0, v * damper->driven_area - passed);
    }
    point.gas_force = (damper->gas_pressure - KP_ATMOSPHERE) * damper->rod_area;
    point.friction_force = sign * data->friction;
    /* p_c A_p - p_r A_f - p_atm A_r with d_rod = 0, without taking a small difference of large numbers */
    point.hydraulic_force = sign * point.piston_drop * damper->driven_area;
    point.force = point.gas_force + point.friction_force + point.hydraulic_force;
    if (!isfinite(point.force) || !isfinite(point.force_slope)) {
        return kp_error_set(error, KP_NOT_FINITE, "%s at %g m/s: force %g N, slope %g N s/m",
                            kp_direction_name(point.direction), v, point.force, point.force_slope);
    }
    *out = point;
    return KP_OK;
}
