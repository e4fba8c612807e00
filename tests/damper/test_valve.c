/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Valve and circuit: the explicit arithmetic of tests/truth/force_speed_oracle.csv, limits, slopes. */
#include "damper/damper_internal.h"
#include "truth.h"
#include "van.h"
#include "kneepoint/lift.h"

#include <math.h>

static const double PI = 3.14159265358979323846;

/* The oracle's plate lifts 0.170630 mm per MPa at the seat; a straight table from two points. */
static kp_lift_table *plate_table(double pressure_most)
{
    const double pressure[] = {0, pressure_most}, opening[] = {0, 0.170630e-9 * pressure_most};
    kp_lift_table *table = NULL;
    kp_error error = {0};
    cr_assert_eq(kp_lift_table_from_points(2, pressure, opening, &table, &error), KP_OK, "%s", error.message);
    return table;
}

/* The oracle's coefficients are constant: oil without viscosity for the curtain, a bore of that length/diameter whose
   turbulent end is 0.7 for the bleed (checked below). No port, sharp seat. */
static const kp_flow_oil ORACLE_OIL = {.density = 850, .viscosity = 1e-13};

static kp_circuit oracle_circuit(const kp_lift_table *table, bool with_bleed)
{
    kp_circuit circuit = {
        .oil = ORACLE_OIL,
        .valve = {.lift = table,
                  .curtain = {.perimeter = 2 * PI * 0.013,
                              .land_inner = 0.013,
                              .land_outer = 0.013,
                              .port_area = 1,
                              .discharge = 0.7,
                              .discharge_scale = 1}},
        .leak = {.diameter = 0.040, .length = 0.01},
        .orifice_count = with_bleed ? 1 : 0,
    };
    circuit.orifices[0] = (kp_orifice){.count = 1, .diameter = 1.5e-3, .length = 15.40 * 1.5e-3};
    return circuit;
}

Test(valve, agrees_with_the_explicit_oracle)
{
    truth t = truth_read("force_speed_oracle.csv");
    kp_lift_table *table = plate_table(10e6);
    kp_circuit circuit = oracle_circuit(table, true);
    const double area = PI / 4 * (0.040 * 0.040 - 0.014 * 0.014);
    double slope, bleed_coefficient = kp_orifice_discharge(15.40, true, 1e12, &slope), worst = 0;
    kp_error error = {0};
    cr_assert(fabs(bleed_coefficient - 0.7) <= 1e-4, "the bleed must have the oracle's coefficient: %g",
              bleed_coefficient);
    cr_assert_eq(t.rows, 8);
    for (size_t i = 0; i < t.rows; i++) {
        double drop = 1e6 * truth_number(&t, i, "drop_MPa"), flow = truth_number(&t, i, "flow_L_min") / 6e4;
        double speed = truth_number(&t, i, "speed_m_s"), force = truth_number(&t, i, "force_N");
        double bleed = truth_number(&t, i, "bleed_only_speed_m_s") * area;
        /* the valve alone, explicit */
        kp_valve_state valve;
        cr_assert_eq(kp_valve_at(&circuit.valve, &circuit.oil, drop, &valve, &error), KP_OK, "%s", error.message);
        double digits =
            (truth_last_digit(&t, i, "flow_L_min") / 6e4 + truth_last_digit(&t, i, "bleed_only_speed_m_s") * area) / 2;
        cr_assert(fabs(valve.flow - (flow - bleed)) <= 1e-3 * valve.flow + digits, "row %zu: valve %g for %g", i,
                  valve.flow, flow - bleed);
        cr_assert(fabs(valve.drop / drop - 1) <= 1e-14);
        /* and the whole, found from the speed */
        kp_circuit_state state;
        cr_assert_eq(kp_circuit_at_flow(&circuit, speed * area, &state, &error), KP_OK, "%s", error.message);
        cr_assert(fabs(state.drop * area - force) <= 1e-3 * force, "row %zu: %g N for %g N", i, state.drop * area,
                  force);
        worst = fmax(worst, fabs(state.drop * area / force - 1));
    }
    cr_log_info("force against the oracle: at most %.4f %%", 100 * worst);
    kp_lift_table_free(table);
    truth_free(&t);
}

/* Drop ~ flow^n between two flows. */
static double exponent(const kp_circuit *circuit, double flow, double more)
{
    kp_circuit_state a, b;
    kp_error error = {0};
    cr_assert_eq(kp_circuit_at_flow(circuit, flow, &a, &error), KP_OK, "%s", error.message);
    cr_assert_eq(kp_circuit_at_flow(circuit, flow * more, &b, &error), KP_OK, "%s", error.message);
    return log(b.drop / a.drop) / log(more);
}

Test(valve, has_the_expected_exponents)
{
    kp_lift_table *table = plate_table(200e6);
    kp_circuit open = oracle_circuit(table, false), bleed = oracle_circuit(table, true);
    bleed.valve.curtain.perimeter = 1e-12; /* the valve all but shut */
    cr_assert(fabs(exponent(&open, 1e-4, 3.7) - 2.0 / 3) <= 1e-4, "valve: %g", exponent(&open, 1e-4, 3.7));
    cr_assert(fabs(exponent(&bleed, 1e-4, 3.7) - 2) <= 1e-3, "bleed: %g", exponent(&bleed, 1e-4, 3.7));
    open.valve.port_loss = 1e30; /* choked by its port */
    open.valve.curtain.perimeter = 1e30;
    cr_assert(fabs(exponent(&open, 1e-13, 1.7) - 2) <= 1e-3, "port: %g", exponent(&open, 1e-13, 1.7));
    kp_lift_table_free(table);
}

/* Valve written out by hand at one disc pressure, a rigid table: the load of src/damper/load.c from the curtain's
   parts, and the port in series. The gas is so high that nothing cavitates. */
Test(valve, adds_up_to_its_load_and_its_total_drop)
{
    kp_lift_table *table = plate_table(10e6);
    kp_valve_data data = fixture_van_valve(0);
    data.velocity_head_share = 0.43;
    data.port_area = 161e-6;
    data.has_port_entry = true;
    data.port_entry = 150e-6;
    kp_flow_oil oil = {.density = 843.1, .viscosity = 11.3e-6};
    kp_valve valve = kp_valve_make(&data, 0.0635, &oil, table, (kp_back_pressure){.pressure = 1e9});
    kp_valve_state state;
    kp_error error = {0};
    cr_assert_eq(kp_valve_at(&valve, &oil, 1.31e6, &state, &error), KP_OK);

    kp_curtain curtain = {.perimeter = PI * 0.033 * 0.75,
                          .land_inner = 0.0165,
                          .land_outer = 0.0175,
                          .port_area = 161e-6,
                          .discharge_scale = 1,
                          .flow_force_scale = 1};
    kp_curtain_loss loss = kp_curtain_at(&curtain, &oil, 0.170630e-9 * 1.31e6);
    double q = state.flow, head = 0.5 * oil.density * pow(q / data.port_area, 2);
    double pressure = loss.pressure.quadratic * q * q + loss.pressure.linear * q;
    double inside = pressure - (1 - 0.43) * head;
    double land_area = kp_curtain_land_area(&curtain);
    double area = PI * (0.0165 * 0.0165 - pow(data.port_inner / 2, 2)) + land_area;
    double ring = land_area * (inside - loss.land.linear * q) + (loss.edge.quadratic + loss.suction.quadratic) * q * q;
    cr_assert(fabs(inside - ring / area - 1.31e6) <= 1e-9 * 1.31e6, "load: %g", inside - ring / area);

    double gap = PI / 4 * (pow(0.0635, 2) - pow(0.040, 2)); /* between face shim and bore */
    double through = pow(data.port_area / gap, 2), entry = pow(161e-6 / 150e-6, 2);
    double total = pressure - head + head * (1 + through + entry) / (data.port_discharge * data.port_discharge);
    cr_assert(fabs(state.drop - total) <= 1e-9 * total, "total drop");
    cr_assert(state.drop > 1.31e6);
    kp_lift_table_free(table);
}

/* Over a wide land at high flow the suction is what the chamber's pressure allows: less chamber pressure, less suction,
   and so less flow at the same opening pressure. None is left where the chamber's pressure is gone. */
Test(valve, is_sucked_down_by_no_more_than_the_chamber_allows)
{
    kp_lift_table *table = plate_table(10e6);
    kp_valve_data data = fixture_van_valve(0);
    data.land_outer = data.land_inner + 5e-3;
    kp_flow_oil oil = {.density = 843.1, .viscosity = 11.3e-6};
    kp_error error = {0};
    double flow[4];
    const kp_back_pressure back[] = {{1e9, false, 0}, {2e5, false, 0}, {0, false, 0}, {1e6, true, 0}};
    for (int i = 0; i < 4; i++) {
        kp_valve valve = kp_valve_make(&data, 0.0635, &oil, table, back[i]);
        kp_valve_state state;
        cr_assert_eq(kp_valve_at(&valve, &oil, 2.1e6, &state, &error), KP_OK);
        flow[i] = state.flow;
        cr_assert(i < 3 || state.drop > 1e6, "nothing of the pressure is left");
    }

    /* With none left, the edge alone takes something off. */
    kp_valve valve = kp_valve_make(&data, 0.0635, &oil, table, back[2]);
    kp_curtain_loss loss = kp_curtain_at(&valve.curtain, &oil, 0.170630e-9 * 2.1e6);
    double q = flow[2], pressure = loss.pressure.quadratic * q * q + loss.pressure.linear * q;
    double inside = pressure - 0.5 * valve.velocity_head * q * q;
    double ring = valve.land_area * (inside - loss.land.linear * q) + loss.edge.quadratic * q * q;
    cr_assert(fabs(inside - ring / valve.plate_area - 2.1e6) <= 1e-9 * pressure);
    cr_assert(flow[0] > flow[1] && flow[1] > flow[2], "%g %g %g", flow[0], flow[1], flow[2]);
    cr_assert(fabs(flow[3] / flow[2] - 1) <= 1e-12);
    kp_lift_table_free(table);
}

/* Slopes of valve and circuit against a central difference, near and not identical. */
Test(valve, has_exact_slopes)
{
    kp_damper_data data = fixture_van(0.25e-3);
    data.valves[KP_COMPRESSION].port_area = 70e-6;
    kp_damper *damper = van_begin(&data, 3);
    const kp_circuit *circuit = &damper->circuits[KP_COMPRESSION];
    kp_error error = {0};
    int different = 0, cases = 0, open = 0;
    for (double p = 3e3; p < 3.3e6; p *= 1.173) {
        kp_circuit_state at, above, below;
        double h = 1e-5 * p;
        cr_assert_eq(kp_circuit_at(circuit, p, &at, &error), KP_OK, "%s", error.message);
        cr_assert_eq(kp_circuit_at(circuit, p + h, &above, &error), KP_OK);
        cr_assert_eq(kp_circuit_at(circuit, p - h, &below, &error), KP_OK);
        double drop = (above.drop - below.drop) / (2 * h), flow = (above.flow - below.flow) / (2 * h);
        cr_assert(at.drop_slope >= 1 && at.flow_slope > 0);
        cr_assert(fabs(at.drop_slope - drop) <= 2e-5 * at.drop_slope, "%g: %.10g, %.10g", p, at.drop_slope, drop);
        cr_assert(fabs(at.flow_slope - flow) <= 2e-5 * at.flow_slope, "%g: %.10g, %.10g", p, at.flow_slope, flow);
        different += at.flow_slope != flow;
        cases++;
        open += at.lift.opening > 0;
    }
    cr_assert(different > cases / 2 && open > cases / 4 && open < cases);
    kp_damper_free(damper);
}
