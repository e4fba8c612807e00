/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bleed ports with a check valve behind them: the ports' flow follows from their own drop, the check's from its own, so
   the drop must be divided between the two. This is the one root inside a root of the circuit: ports whose coefficient
   goes with the Reynolds number have no flow in closed form. p is the check's share:

       Q_check(p) - Q_ports(drop - p) + Q_ports(drop) = Q_ports(drop),   the left side rising from 0 at p = 0 */
#include "damper/damper_internal.h"

#include "num/num.h"

#include <float.h>
#include <math.h>

typedef struct search {
    const kp_checked *checked;
    const kp_flow_oil *oil;
    double drop, whole; /* [Pa], [m3/s] flow of the ports under all of it */
    kp_flow ports;      /* at the last p, slope against the ports' drop    */
    double flow, slope; /* of the check, against the drop over it */
} search;

static kp_flow ports_flow(const kp_checked *checked, const kp_flow_oil *oil, double drop)
{
    kp_flow a = {0}, b = {0};
    if (checked->ports.count > 0) {
        a = kp_orifice_flow(&checked->ports, oil, drop);
    }
    if (checked->jets.count > 0) {
        b = kp_orifice_flow(&checked->jets, oil, drop);
    }
    return (kp_flow){a.flow + b.flow, a.slope + b.slope};
}

/* Left side of the equation and its slope. p here is the pressure on the check's plate; its seat's loss comes on top.
 */
static kp_status evaluate(double p, void *context, double *value, double *slope, kp_error *error)
{
    search *s = context;
    kp_valve_state valve;
    kp_status status = kp_valve_at(&s->checked->valve, s->oil, p, &valve, error);
    if (status != KP_OK) {
        return status;
    }

    /* What the valve passes, and what the ports behind it pass at the drop that is left for them. */
    s->flow = valve.flow;
    s->slope = valve.flow_slope / valve.drop_slope;
    double left = s->drop - valve.drop;
    s->ports = ports_flow(s->checked, s->oil, fmax(left, 0));

    /* Beyond the whole drop the function continues with the ports' slope, so that it goes on rising. */
    double back = left >= 0 ? s->ports.flow : s->ports.slope * left;
    *value = valve.flow - back + s->whole;
    *slope = valve.flow_slope + s->ports.slope * valve.drop_slope;
    return KP_OK;
}

kp_status kp_checked_flow(const kp_checked *checked, const kp_flow_oil *oil, double drop, kp_flow *out, kp_error *error)
{
    if (!(drop > checked->valve.cracking)) {
        *out = (kp_flow){0};
        return KP_OK;
    }

    /* Pressure on the plate at which the check valve and the ports behind it pass the same flow. */
    search s = {.checked = checked, .oil = oil, .drop = drop, .whole = ports_flow(checked, oil, drop).flow};
    double p;
    kp_status status =
        kp_root_rising(evaluate, &s, s.whole, 0.5 * (drop + checked->valve.cracking), 0, drop, DBL_EPSILON, &p, error);
    if (status != KP_OK) {
        return kp_error_prefix(error, "bleed with a check valve, %g MPa: ", drop / 1e6);
    }

    /* Two paths in series: their slopes combine like resistances. */
    double slope = s.slope > 0 ? s.slope * s.ports.slope / (s.slope + s.ports.slope) : 0;
    *out = (kp_flow){.flow = s.flow, .slope = slope};
    return KP_OK;
}
