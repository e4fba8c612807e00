/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Three paths in parallel between the two chambers, in one direction: bleed, leak, valve.
   One unknown, the disc pressure: it gives the valve's flow and the total drop, the drop gives bleed and leak. Drop and
   flow both rise with it, so a given flow or a given drop has one disc pressure. */
#include "damper/damper_internal.h"

#include "num/num.h"

#include <float.h>
#include <math.h>

/* A flow or a drop is met to this share of itself: a hundred roundings, far below any number that is printed. */
static const double BALANCE = 2e-14; /* [-] */
/* Start of the search: most dampers work within a decade of it, and Newton's method on logarithms converges from
   there. */
static const double START_PRESSURE = 0.3e6; /* [Pa] */

kp_status kp_circuit_at(const kp_circuit *circuit, double disc_pressure, kp_circuit_state *out, kp_error *error)
{
    kp_valve_state valve;
    kp_status status = kp_valve_at(&circuit->valve, &circuit->oil, disc_pressure, &valve, error);
    if (status != KP_OK) {
        return status;
    }

    /* Bleed: every path in parallel with the valve, each at the full drop. */
    double bleed = 0, parallel_slope = 0; /* [m3/s], [m3/s/Pa] against the drop */
    for (size_t i = 0; i < circuit->orifice_count; i++) {
        kp_flow port = kp_orifice_flow(&circuit->orifices[i], &circuit->oil, valve.drop);
        bleed += port.flow;
        parallel_slope += port.slope;
    }

    for (size_t i = 0; i < circuit->needle_count; i++) {
        kp_flow needle = kp_needle_flow(&circuit->needles[i], &circuit->oil, valve.drop);
        bleed += needle.flow;
        parallel_slope += needle.slope;
    }

    for (size_t i = 0; i < circuit->slotted_count; i++) {
        kp_flow slots = kp_resistance_flow(&circuit->slotted[i], valve.drop, NULL);
        bleed += slots.flow;
        parallel_slope += slots.slope;
    }

    for (size_t i = 0; i < circuit->checked_count; i++) {
        kp_flow checked;
        status = kp_checked_flow(&circuit->checked[i], &circuit->oil, valve.drop, &checked, error);
        if (status != KP_OK) {
            return status;
        }
        bleed += checked.flow;
        parallel_slope += checked.slope;
    }

    kp_flow leak = kp_leak_flow(&circuit->leak, &circuit->oil, valve.drop);
    parallel_slope += leak.slope;

    /* dQ/dp = (dQ_parallel/d drop) (d drop/dp) + dQ_valve/dp */
    *out = (kp_circuit_state){
        .disc_pressure = disc_pressure,
        .drop = valve.drop,
        .drop_slope = valve.drop_slope,
        .bleed_flow = bleed,
        .leak_flow = leak.flow,
        .valve_flow = valve.flow,
        .flow = bleed + leak.flow + valve.flow,
        .flow_slope = parallel_slope * valve.drop_slope + valve.flow_slope,
        .lift = valve.lift,
    };
    return KP_OK;
}

/* The state of the last evaluation is that of the root: kept, so that it is not computed again. */
typedef struct search {
    const kp_circuit *circuit;
    bool for_drop;
    kp_circuit_state state;
} search;

static kp_status evaluate(double disc_pressure, void *context, double *value, double *slope, kp_error *error)
{
    search *s = context;
    kp_status status = kp_circuit_at(s->circuit, disc_pressure, &s->state, error);
    if (status == KP_OK) {
        *value = s->for_drop ? s->state.drop : s->state.flow;
        *slope = s->for_drop ? s->state.drop_slope : s->state.flow_slope;
    }
    return status;
}

/* Lower end of the search [Pa]: without an open bleed and leak nothing flows below cracking. */
static double min_pressure(const kp_circuit *circuit)
{
    if (circuit->orifice_count > 0 || circuit->needle_count > 0 || circuit->slotted_count > 0 ||
        circuit->leak.clearance > 0) {
        return 0;
    }
    double lowest = circuit->valve.cracking;
    for (size_t i = 0; i < circuit->checked_count; i++) {
        lowest =
            fmin(lowest, circuit->checked[i].valve.cracking); /* nothing flows yet: drop and disc pressure are one */
    }
    return lowest;
}

static kp_status find(search *s, double target, double low, kp_circuit_state *out, kp_error *error)
{
    double reach = kp_lift_table_reach(s->circuit->valve.lift), pressure;
    if (!(low < reach)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "nothing is open");
    }

    /* Flow and drop both rise with the disc pressure: one root in (low, reach]. */
    double start = low > 0 ? 1.5 * low : START_PRESSURE;
    kp_status status = kp_root_rising(evaluate, s, target, start, low, reach, BALANCE, &pressure, error);
    if (status != KP_OK) {
        return status;
    }

    *out = s->state;
    return KP_OK;
}

/* Just above cracking the flow may change by 1e-12 of itself from one double number of pressure to the next. A residual
   within such a step is added to the valve's flow, as a pressure between the two would; a larger one never is. */
static void add_residual(kp_circuit_state *state, double flow)
{
    double left = flow - state->flow, step = DBL_EPSILON * state->disc_pressure * state->flow_slope;
    if (fabs(left) <= 2 * step && state->valve_flow > fabs(left)) {
        state->valve_flow += left;
        state->flow = flow;
    }
}

kp_status kp_circuit_at_flow(const kp_circuit *circuit, double flow, kp_circuit_state *out, kp_error *error)
{
    search s = {.circuit = circuit};
    kp_status status = find(&s, flow, min_pressure(circuit), out, error);
    if (status == KP_OK) {
        add_residual(out, flow);
    }

    /* The root lies beyond the end of the lift table. */
    if (status == KP_OUT_OF_RANGE) {
        kp_error_set(error, status,
                     "a flow of %g L/min takes more than the %g MPa on the disc that its lift is known to", flow * 6e4,
                     kp_lift_table_reach(circuit->valve.lift) / 1e6);
    }

    return status;
}

kp_status kp_circuit_at_drop(const kp_circuit *circuit, double drop, kp_circuit_state *out, kp_error *error)
{
    search s = {.circuit = circuit, .for_drop = true};
    kp_status status = find(&s, drop, 0, out, error);
    if (status == KP_OUT_OF_RANGE) {
        kp_error_set(error, status, "a drop of %g MPa takes more than the %g MPa on the disc that its lift is known to",
                     drop / 1e6, kp_lift_table_reach(circuit->valve.lift) / 1e6);
    }
    return status;
}
