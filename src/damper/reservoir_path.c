/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the rod's oil passes between the body and the gas: bleed, adjuster and valve in parallel (a circuit like the
   piston's), and the hose behind them. One unknown again, the pressure on the valve's disc: flow, drop of the valve and
   drop of the hose all follow from it and rise with it. */
#include "damper/damper_internal.h"

#include "num/num.h"

#include <math.h>

static const double BALANCE = 1e-14; /* [-] of the requested drop */

static kp_drop hose_drop(const kp_reservoir_path *path, double flow)
{
    return path->has_hose ? kp_hose_drop(&path->hose, &path->oil, flow) : (kp_drop){0};
}

kp_status kp_reservoir_path_at_flow(const kp_reservoir_path *path, double flow, kp_rod_state *out, kp_error *error)
{
    kp_drop hose = hose_drop(path, flow);
    kp_rod_state state = {.flow = flow, .hose_drop = hose.drop, .drop = hose.drop, .slope = hose.slope};

    /* The valve stands in series with the hose: drops and their slopes add. */
    if (path->has_circuit) {
        kp_status status = kp_circuit_at_flow(&path->circuit, flow, &state.valve, error);
        if (status != KP_OK) {
            return kp_error_prefix(error, "reservoir: ");
        }
        state.drop += state.valve.drop;
        state.slope += state.valve.drop_slope / state.valve.flow_slope;
    }

    *out = state;
    return KP_OK;
}

typedef struct search {
    const kp_reservoir_path *path;
    kp_rod_state state;
} search;

/* Total drop and its slope against the pressure on the valve's disc; d drop/dQ = (d drop/dp)/(dQ/dp) + hose. */
static kp_status drop_by_disc(double pressure, void *context, double *value, double *slope, kp_error *error)
{
    search *s = context;
    kp_circuit_state valve;
    kp_status status = kp_circuit_at(&s->path->circuit, pressure, &valve, error);
    if (status == KP_OK) {
        /* The hose in series, at the flow that the valve passes. */
        kp_drop hose = hose_drop(s->path, valve.flow);
        *value = valve.drop + hose.drop;
        *slope = valve.drop_slope + hose.slope * valve.flow_slope;
        s->state = (kp_rod_state){.flow = valve.flow,
                                  .drop = *value,
                                  .hose_drop = hose.drop,
                                  .slope = valve.flow_slope > 0 ? valve.drop_slope / valve.flow_slope + hose.slope
                                                                : (double)INFINITY,
                                  .valve = valve};
    }

    return status;
}

/* The same against the flow, where the hose stands alone. */
static kp_status drop_by_flow(double flow, void *context, double *value, double *slope, kp_error *error)
{
    search *s = context;
    kp_status status = kp_reservoir_path_at_flow(s->path, flow, &s->state, error);
    if (status == KP_OK) {
        *value = s->state.drop;
        *slope = s->state.slope;
    }
    return status;
}

kp_status kp_reservoir_path_at_drop(const kp_reservoir_path *path, double drop, kp_rod_state *out, kp_error *error)
{
    const double max_flow = 10; /* [m3/s] a thousand times what any damper's rod drives */
    search s = {.path = path};
    double root;

    /* Without valve or bleed the unknown is the flow, else the pressure on the valve's disc. */
    kp_status status =
        path->has_circuit
            ? kp_root_rising(drop_by_disc, &s, drop, drop, 0, fmin(kp_lift_table_reach(path->circuit.valve.lift), drop),
                             BALANCE, &root, error)
            : kp_root_rising(drop_by_flow, &s, drop, 0, 0, max_flow, BALANCE, &root, error);

    if (status != KP_OK) {
        return kp_error_prefix(error, "reservoir, %g MPa over it: ", drop / 1e6);
    }

    *out = s.state;
    return KP_OK;
}
