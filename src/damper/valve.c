/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Valve path, explicit in the pressure p that loads the disc:

       p -> opening y(p)                        lift table
       p = (a_c(y) + s h) Q^2 + b_c(y) Q        curtain drop, plus the share s of the port's exit velocity head
       drop = p - s h Q^2 + k Q^2               h = rho/(2 A_port^2), k = h/C_port^2

   The jet out of the port is stopped by the disc: of its velocity head h Q^2 the share s acts on the disc over and
   above the pressure difference across it. No source was found for s; it is an input (and one to fit), 0 to 1. Since
   C_port <= 1, k >= h >= s h and the drop never falls as p rises: one disc pressure for every drop and every flow. */
#include "damper/damper_internal.h"

#include <math.h>

double kp_valve_plate_area(const kp_valve_data *data)
{
    double port = data->port_inner / 2, inner = data->land_inner / 2, outer = data->land_outer / 2;
    double full = KP_PI * (inner * inner - port * port);
    /* over the land the pressure falls to nothing with the logarithm of the radius: the integral of 2 pi r ln(r_o/r) */
    double land =
        outer > inner ? KP_PI * ((outer * outer - inner * inner) / (2 * log(outer / inner)) - inner * inner) : 0;
    return kp_valve_load_share(data) * (full + land);
}

/* Entries before the port and the ring between shim and bore behind it: what the disc does not feel. The ring is taken
   at the face shim's full diameter, with the port's coefficient; a plate has its land's outer diameter. */
static double series_loss(const kp_valve_data *data, double bore, const kp_flow_oil *oil)
{
    double loss = 0, face = data->has_plate || data->line_count == 0 ? data->land_outer : data->lines[0].outside;
    if (data->has_port_entry) {
        kp_port entry = {.area = data->port_entry, .discharge = data->port_discharge};
        loss += kp_port_resistance(&entry, oil).quadratic;
    }
    if (bore > face) {
        kp_port ring = {.area = KP_PI / 4 * (bore * bore - face * face), .discharge = data->port_discharge};
        loss += kp_port_resistance(&ring, oil).quadratic;
    }
    return loss;
}

kp_valve kp_valve_make(const kp_valve_data *data, double bore, const kp_flow_oil *oil, const kp_lift_table *lift)
{
    kp_port port = {.area = data->port_area, .discharge = data->port_discharge};
    double loss = kp_port_resistance(&port, oil).quadratic;
    return (kp_valve){
        .lift = lift,
        .cracking = data->has_plate ? kp_spring_cracking(&data->plate, kp_valve_plate_area(data))
                                    : kp_lift_table_cracking(lift),
        .curtain = {.perimeter = KP_PI * data->land_inner * data->curtain_coverage,
                    .land_width = 0.5 * data->land_inner * log(data->land_outer / data->land_inner),
                    .discharge = data->curtain_discharge},
        .port_loss = loss + series_loss(data, bore, oil),
        /* the ideal velocity head is the loss of a port with coefficient 1 */
        .velocity_head = data->velocity_head_share * loss * data->port_discharge * data->port_discharge,
    };
}

kp_status kp_valve_at(const kp_valve *valve, const kp_flow_oil *oil, double disc_pressure, kp_valve_state *out,
                      kp_error *error)
{
    kp_valve_state state = {.drop = disc_pressure, .drop_slope = 1};
    kp_status status = kp_lift_table_at(valve->lift, disc_pressure, &state.lift, error);
    if (status != KP_OK) {
        return status;
    }

    /* p = (a_c + s h) Q^2 + b_c Q at the opening that p makes; then drop = p + (k - s h) Q^2. */
    if (state.lift.opening > 0) {
        kp_resistance path = kp_curtain_resistance(&valve->curtain, oil, state.lift.opening);
        path.quadratic += valve->velocity_head;
        double opening_slope;
        kp_flow flow = kp_resistance_flow(&path, disc_pressure, &opening_slope);

        double beyond = valve->port_loss - valve->velocity_head; /* k - s h: what the disc does not feel */
        state.flow = flow.flow;
        state.flow_slope = flow.slope + opening_slope * state.lift.opening_slope;
        state.drop += beyond * state.flow * state.flow;
        state.drop_slope += 2 * beyond * state.flow * state.flow_slope;
    }

    if (!isfinite(state.flow) || !isfinite(state.flow_slope) || !isfinite(state.drop)) {
        return kp_error_set(error, KP_NOT_FINITE,
                            "valve: at %g Pa on the disc the opening is %g m and the flow %g m3/s", disc_pressure,
                            state.lift.opening, state.flow);
    }

    *out = state;
    return KP_OK;
}
