/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Valve path, explicit in one variable, the pressure p_e that alone would open the stack as far as it is open:

       p_e -> opening y(p_e)          lift table
       p_e = a(y) Q^2 + b(y) Q        the load that the flow leaves on the disc (load.c), solved for Q
       drop = P(y, Q) + (k - h) Q^2   P: stagnation pressure under the disc (src/flow/curtain.c); h = rho/(2 A_port^2),
   k = h/C_port^2 and what stands in series: the port's exit velocity head h Q^2 is in P already

   a and b fall as y rises, and the share of P that the load keeps falls too: so Q and the drop rise with p_e, and there
   is one p_e for every drop and every flow. */
#include "damper/damper_internal.h"

#include <math.h>

/* [m] Far below an atom: keeps 1/y^3 finite. */
static const double LEAST_OPENING = 1e-18;

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

kp_valve kp_valve_make(const kp_valve_data *data, double bore, const kp_flow_oil *oil, const kp_lift_table *lift,
                       kp_back_pressure back)
{
    kp_port port = {.area = data->port_area, .discharge = data->port_discharge};
    double loss = kp_port_resistance(&port, oil).quadratic;
    double inner = data->land_inner / 2, outer = data->land_outer / 2;
    kp_valve valve = {
        .lift = lift,
        .cracking = data->has_plate ? kp_spring_cracking(&data->plate, kp_valve_plate_area(data))
                                    : kp_lift_table_cracking(lift),
        .curtain = {.perimeter = 2 * KP_PI * inner * data->curtain_coverage,
                    .land_inner = inner,
                    .land_outer = outer,
                    .port_area = data->port_area,
                    .discharge = data->has_curtain_discharge ? data->curtain_discharge : 0,
                    .discharge_scale = data->curtain_scale,
                    .flow_force_scale = data->flow_force_scale},
        .port_loss = loss + series_loss(data, bore, oil),
        /* the ideal velocity head is the loss of a port with coefficient 1 */
        .velocity_head = loss * data->port_discharge * data->port_discharge,
        .head_share = data->velocity_head_share,
        .plate_area = kp_valve_plate_area(data),
        .suction_area = KP_PI * (outer * outer - inner * inner) * data->curtain_coverage,
        .back = back,
    };
    valve.land_area = data->load_coverage * kp_curtain_land_area(&valve.curtain);
    return valve;
}

kp_status kp_valve_at(const kp_valve *valve, const kp_flow_oil *oil, double disc_pressure, kp_valve_state *out,
                      kp_error *error)
{
    kp_valve_state state = {.drop = disc_pressure, .drop_slope = 1};
    kp_status status = kp_lift_table_at(valve->lift, disc_pressure, &state.lift, error);
    if (status != KP_OK) {
        return status;
    }

    /* Flow by the load on the disc, and the drop that it takes. */
    if (state.lift.opening > 0) {
        kp_curtain_loss loss = kp_curtain_at(&valve->curtain, oil, fmax(state.lift.opening, LEAST_OPENING));
        kp_flow flow = kp_valve_flow(valve, &loss, &state.lift, disc_pressure);
        double opening = state.lift.opening_slope, q = flow.flow;
        double a = loss.pressure.quadratic + valve->port_loss - valve->velocity_head, b = loss.pressure.linear;

        state.flow = q;
        state.flow_slope = flow.slope;
        state.drop = (a * q + b) * q;
        state.drop_slope = (loss.pressure.quadratic_slope * q + loss.pressure.linear_slope) * q * opening +
                           (2 * a * q + b) * flow.slope;
    }

    if (!isfinite(state.flow) || !isfinite(state.flow_slope) || !isfinite(state.drop)) {
        return kp_error_set(error, KP_NOT_FINITE,
                            "valve: at %g Pa on the disc the opening is %g m and the flow %g m3/s", disc_pressure,
                            state.lift.opening, state.flow);
    }

    *out = state;
    return KP_OK;
}
