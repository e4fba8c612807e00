/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reservoir valve, hose, adjusters, slots, oil expansion; the cavitation margin with and without them. */
#include "damper/damper_internal.h"
#include "van.h"

#include <math.h>
#include <stdio.h>

static const double PI = 3.14159265358979323846;

static kp_reservoir_data hose_only(double length, double bore)
{
    return (kp_reservoir_data){.given = true, .has_hose = true, .hose = {.length = length, .bore = bore}};
}

/* The van with a compression stack far too stiff for its charge, nitrogen at 14 bar gauge (about 200 psi, common
   practice, no source). */
static kp_damper_data stiff_van(void)
{
    kp_damper_data d = fixture_van(0.25e-3);
    d.valves[KP_COMPRESSION].lines[0].count = 8;
    d.gas.charge_pressure = 14e5 + KP_ATMOSPHERE;
    return d;
}

static void give_reservoir(kp_damper_data *d, double preload)
{
    kp_valve_data *v = &d->valves[KP_RESERVOIR_VALVE];
    *v = fixture_van_valve(0);
    v->line_count = 0;
    v->port_area = 120e-6;
    v->port_inner = 0.010;
    v->land_inner = v->land_outer = 0.016;
    v->has_plate = true;
    v->plate = (kp_spring_plate){.preload = preload, .rate = 40e3, .lift = 2e-3};
    d->reservoir =
        (kp_reservoir_data){.given = true,
                            .has_valve = true,
                            .has_bore = true,
                            .bore = 0.040,
                            .has_return = true,
                            .return_check = {.seat = 0.016, .plate = {.preload = 2, .rate = 1e3, .lift = 2e-3}}};
}

static kp_curve_summary summary_of(const kp_damper *damper, kp_direction direction)
{
    kp_error error = {0};
    kp_curve_summary s = {0};
    cr_assert_eq(kp_curve_summarise(damper, direction, kp_speed_limits_default(), &s, &error), KP_OK, "%s",
                 error.message);
    return s;
}

/* A hose alone: its drop is that of the hose's own formula at the rod's flow, in both directions, and it comes
   back as force on the rod. */
Test(reservoir, hose_drop_is_the_hoses)
{
    kp_damper_data plain = fixture_van(0.25e-3), with;
    plain.gas.charge_pressure = 9e6; /* nothing cavitates, nor does the suction under the shim */
    with = plain;
    with.reservoir = hose_only(0.6, 6e-3);
    kp_damper *a = van_begin(&plain, 1.2), *b = van_begin(&with, 1.2);
    const double rod = PI / 4 * plain.rod * plain.rod;
    const kp_hose hose = {.length = 0.6, .bore = 6e-3};
    for (int sign = -1; sign <= 1; sign += 2) {
        for (double v = 0.01; v < 1.2; v *= 2.3) {
            kp_curve_point p = van_point(a, sign * v), q = van_point(b, sign * v);
            double drop = kp_hose_drop(&hose, &b->circuits[0].oil, v * rod).drop;
            cr_assert(fabs(q.reservoir_drop - drop) <= 1e-12 * drop && q.hose_drop == q.reservoir_drop);
            double more = fabs(q.hydraulic_force) - fabs(p.hydraulic_force);
            cr_assert(fabs(more - drop * rod) <= 1e-9 * fabs(q.hydraulic_force), "%g m/s", sign * v);
            /* compression: it holds the margin up; rebound: it takes from it */
            cr_assert(fabs(q.cavitation_margin - p.cavitation_margin - sign * drop) <= 1e-6);
        }
    }
    kp_damper_free(a);
    kp_damper_free(b);
}

/* Must show 4: at which compression speed the stiff stack cavitates, how a reservoir valve or more charge moves it,
   what a hose does to rebound. The table is printed; the figures are ours, the order and the equation at the margin are
   what is checked. */
Test(reservoir, margin_table_of_the_van)
{
    enum { CASES = 6 };
    const char *names[CASES] = {"14 bar, no reservoir",         "17 bar, no reservoir",
                                "14 bar, reservoir valve 60 N", "14 bar, reservoir valve 150 N",
                                "14 bar, 0.6 m of 6 mm hose",   "14 bar, valve 60 N and that hose"};
    double gone[CASES], rebound_margin[CASES];
    for (int i = 0; i < CASES; i++) {
        kp_damper_data d = stiff_van();
        if (i == 1) {
            d.gas.charge_pressure += 3e5;
        }
        if (i == 2 || i == 3 || i == 5) {
            give_reservoir(&d, i == 3 ? 150 : 60);
        }
        if (i >= 4) {
            d.reservoir.given = true;
            d.reservoir.has_hose = true;
            d.reservoir.hose = (kp_hose_data){.length = 0.6, .bore = 6e-3};
        }
        kp_damper *damper = van_begin(&d, 1.2);
        kp_curve_summary s = summary_of(damper, KP_COMPRESSION);
        gone[i] = s.margin_goes ? s.margin_speed : INFINITY;
        rebound_margin[i] = van_point(damper, -1.05).cavitation_margin;
        printf("%-34s compression cavitates from %.3f m/s, rebound margin at 1.05 m/s %.2f bar\n", names[i], gone[i],
               rebound_margin[i] / 1e5);
        if (s.margin_goes) {
            kp_curve_point p = van_point(damper, s.margin_speed * (1 - 1e-9)),
                           q = van_point(damper, s.margin_speed * (1 + 1e-9));
            cr_assert(!p.cavitates && q.cavitates);
            cr_assert(fabs(p.rebound_margin) <= 1 && fabs(p.force - q.force) <= 1e-5 * p.force, "it is one curve");
            cr_assert(q.force_slope < p.force_slope && q.void_flow >= 0);
        }
        kp_damper_free(damper);
    }
    cr_assert(gone[0] < 1.05 && gone[1] > gone[0] && gone[2] > gone[0] && gone[3] > gone[2] && gone[4] > gone[0] &&
              gone[5] > gone[2]);
    cr_assert(rebound_margin[4] < rebound_margin[0] - 1e5 && rebound_margin[5] < rebound_margin[2] - 1e5);
}

/* Past the margin, by hand from the point's own numbers: the rebound chamber stands at release, what the piston lets
   through and what the reservoir takes make the whole, and the force is that of the two pressures. */
Test(reservoir, shares_the_flow_past_the_margin)
{
    kp_damper_data d = stiff_van();
    give_reservoir(&d, 60);
    d.gas.charge_pressure = 6e5;
    kp_damper *damper = van_begin(&d, 1.2);
    int seen = 0;
    double gas = 0;
    kp_error error = {0};
    cr_assert_eq(kp_damper_gas_pressure(&d, &gas, &error), KP_OK);
    const double bore = PI / 4 * d.bore * d.bore, rod = PI / 4 * d.rod * d.rod;
    for (double v = 0.05; v < 1.2; v *= 1.1) {
        kp_curve_point p = van_point(damper, v);
        if (!p.cavitates) {
            continue;
        }
        seen++;
        double compression = gas + p.reservoir_drop, rebound = compression - p.piston_drop;
        cr_assert(fabs(rebound - d.release_pressure) <= 1e-9 * compression, "%g m/s: %g Pa", v, rebound);
        cr_assert(fabs(p.bleed_flow + p.leak_flow + p.valve_flow + p.reservoir_flow - v * bore) <= 1e-12 * v * bore);
        double force = compression * bore - rebound * (bore - rod) - KP_ATMOSPHERE * rod + d.friction;
        cr_assert(fabs(p.force - force) <= 1e-9 * force, "%g m/s", v);
        /* the reservoir's flow is what its own drop drives */
        kp_rod_state alone;
        cr_assert_eq(
            kp_reservoir_path_at_flow(&damper->reservoir_paths[KP_COMPRESSION], p.reservoir_flow, &alone, &error),
            KP_OK);
        cr_assert(fabs(alone.drop / p.reservoir_drop - 1) <= 1e-9);
    }
    cr_assert(seen > 5);
    kp_damper_free(damper);
}

/* Rebound with a hose too narrow: the compression chamber stands at release, a void opens in it. */
Test(reservoir, starves_in_rebound)
{
    kp_damper_data d = stiff_van();
    d.gas.charge_pressure = 4e5;
    d.reservoir = hose_only(1.5, 3.2e-3);
    kp_damper *damper = van_begin(&d, 1.2);
    kp_curve_summary s = summary_of(damper, KP_REBOUND);
    cr_assert(s.margin_goes && s.margin_shortfall > 0 && s.margin_speed < 1.05);
    kp_curve_point p = van_point(damper, -1.05);
    const double rod = PI / 4 * d.rod * d.rod;
    cr_assert(p.cavitates && p.rod_void_flow > 0 && p.void_flow == 0);
    cr_assert(fabs(p.reservoir_flow + p.rod_void_flow - 1.05 * rod) <= 1e-12 * rod);
    kp_damper_free(damper);
}

/* Check 9: in laminar leakage force goes with the viscosity: 0.1 %. Bleed plugged, stack far from cracking, the wall's
   drag the same at both. */
Test(reservoir, leak_force_goes_with_viscosity)
{
    kp_damper_data cold = fixture_van(0.6e-3);
    cold.bleeds[0].plugged = 4;
    cold.leak.clearance = 60e-6;
    cold.oil.viscosity_1 = 32e-6;
    cold.oil.viscosity_2 = 5.4e-6;
    cold.oil_temperature = 293.15;
    kp_damper_data hot = cold;
    hot.oil_temperature = 353.15;
    kp_damper *a = van_begin(&cold, 1.2), *b = van_begin(&hot, 1.2);
    kp_curve_point p = van_point(a, 1e-4), q = van_point(b, 1e-4);
    cr_assert(p.opening == 0 && q.opening == 0 && p.bleed_flow == 0);
    double ratio =
        86.28 / 8.533 * (1 + 8.3e-4 * 65) / (1 + 8.3e-4 * 5); /* D341's table (COMPUTED), density by expansion */
    cr_assert(fabs(p.hydraulic_force / q.hydraulic_force / ratio - 1) <= 1e-3, "%g for %g",
              p.hydraulic_force / q.hydraulic_force, ratio);
    kp_damper_free(a);
    kp_damper_free(b);
}

static kp_adjuster_data needle(int clicks, kp_flows flows)
{
    return (kp_adjuster_data){
        .clicks = clicks, .max_clicks = 20, .seat = 4e-3, .flows = flows, .area_per_click = 0.2e-6};
}

/* Clicks soften; without a check they soften the other direction too; a variant is the damper made anew. */
Test(reservoir, adjusters_open_both_ways_unless_checked)
{
    kp_damper_data d = fixture_van(0.25e-3);
    d.has_adjuster = true;
    d.adjuster = needle(0, KP_FLOWS_BOTH);
    kp_damper *shut = van_begin(&d, 1.2);
    double before[2] = {INFINITY, INFINITY};
    for (int clicks = 0; clicks <= 20; clicks += 5) {
        d.adjuster.clicks = clicks;
        kp_damper *variant = NULL, *anew = van_begin(&d, 1.2);
        kp_error error = {0};
        cr_assert_eq(kp_damper_variant(shut, &d, &variant, &error), KP_OK, "%s", error.message);
        for (int sign = -1; sign <= 1; sign += 2) {
            kp_curve_point p = van_point(variant, 0.1 * sign), q = van_point(anew, 0.1 * sign);
            cr_assert_eq(p.force, q.force);
            double force = fabs(p.hydraulic_force);
            cr_assert(force < before[sign > 0], "%d clicks", clicks);
            before[sign > 0] = force;
        }
        kp_damper_free(variant);
        kp_damper_free(anew);
    }
    d.adjuster = needle(20, KP_FLOWS_REBOUND);
    kp_damper *checked = van_begin(&d, 1.2);
    cr_assert_eq(van_point(checked, 0.1).force, van_point(shut, 0.1).force);
    cr_assert(fabs(van_point(checked, -0.1).hydraulic_force) < fabs(van_point(shut, -0.1).hydraulic_force));
    kp_damper_free(checked);
    kp_damper_free(shut);
    /* linear and table: the same areas */
    kp_adjuster_data linear = needle(0, KP_FLOWS_BOTH), table = linear;
    table.point_count = 3;
    table.point_clicks[1] = 8;
    table.point_clicks[2] = 20;
    table.point_area[1] = 1.6e-6;
    table.point_area[2] = 4e-6;
    for (int clicks = 0; clicks <= 20; clicks++) {
        cr_assert(fabs(kp_adjuster_area(&linear, clicks) - kp_adjuster_area(&table, clicks)) <= 1e-18);
    }
}

/* Slots of one face shim are open both ways, and pass what an opening of the shim's thickness would. */
Test(reservoir, slots_are_bleed_both_ways)
{
    kp_damper_data d = fixture_van(0.25e-3);
    d.bleed_count = 0;
    d.leak.clearance = 0;
    d.valves[KP_COMPRESSION].lines[0].slot_count = 4;
    d.valves[KP_COMPRESSION].lines[0].slot_width = 2e-3;
    kp_damper *damper = van_begin(&d, 1.2);
    for (int sign = -1; sign <= 1; sign += 2) {
        kp_curve_point p = van_point(damper, 1e-3 * sign);
        const kp_valve_data *v = &d.valves[KP_COMPRESSION];
        kp_slot slots = {.width = 4 * 2e-3,
                         .height = v->lines[0].thickness,
                         .land_width = 0.5 * v->land_inner * log(v->land_outer / v->land_inner),
                         .discharge = 0.70};
        kp_resistance r = kp_slot_resistance(&slots, &damper->circuits[0].oil);
        double drop = r.quadratic * p.bleed_flow * p.bleed_flow + r.linear * p.bleed_flow;
        cr_assert(p.bleed_flow > 0 && p.opening == 0 && fabs(drop / p.piston_drop - 1) <= 1e-9, "%d", sign);
    }
    kp_damper_free(damper);
}

/* A worked example of the trade (common practice, no source): 0.9 L of oil, +60 K: a 350 cm3 charge roughly doubles in
 * pressure when bottomed. */
Test(reservoir, oil_expansion_takes_gas_volume)
{
    kp_damper_data d = fixture_van(0.25e-3);
    d.gas.charge_temperature = d.fill_temperature = 293.15;
    d.oil_temperature = 353.15;
    d.position = d.stroke;
    d.has_oil_volume = true;
    d.oil_volume = 0.9e-3;
    d.oil.density_temperature = 293.15; /* so that the expansion counts from there */
    double taken = kp_damper_gas_taken(&d, d.position, d.oil_temperature), pressure = 0;
    double rod = PI / 4 * d.rod * d.rod * d.stroke;
    cr_assert(fabs(taken - rod - 0.9e-3 * 8.3e-4 * 60) <= 1e-12);
    kp_error error = {0};
    cr_assert_eq(kp_damper_gas_pressure(&d, &pressure, &error), KP_OK);
    double ratio = pressure / d.gas.charge_pressure;
    cr_assert(fabs(ratio - 353.15 / 293.15 * 350e-6 / (350e-6 - taken)) <= 1e-12);
    cr_assert(ratio > 1.9 && ratio < 2.1, "%g", ratio);

    /* The exponent is that of the stroke: warm oil takes its room at exponent 1 first. */
    d.gas.exponent = 1.4;
    cr_assert_eq(kp_damper_gas_pressure(&d, &pressure, &error), KP_OK);
    double left = 350e-6 - (taken - rod), fast = pow(left / (left - rod), 1.4);
    cr_assert(fabs(pressure / d.gas.charge_pressure - 353.15 / 293.15 * 350e-6 / left * fast) <= 1e-12);
    d.gas.exponent = 1;

    /* cold oil gives room: the same law the other way */
    d.position = 0;
    d.oil_temperature = 263.15;
    cr_assert_eq(kp_damper_gas_pressure(&d, &pressure, &error), KP_OK);
    double room = 0.9e-3 * 8.3e-4 * 30;
    cr_assert(fabs(pressure / d.gas.charge_pressure - 263.15 / 293.15 * 350e-6 / (350e-6 + room)) <= 1e-12);
}

/* What `check` calls a fault is what the damper refuses, and the other way round. */
Test(reservoir, check_and_damper_agree_on_the_gas)
{
    for (double charge = 0.9e5; charge < 4e5; charge += 0.05e5) {
        kp_damper_data d = fixture_van(0.25e-3);
        d.gas.charge_pressure = charge;
        d.release_pressure = 1.9e5;
        kp_findings findings = {0};
        kp_error error = {0};
        kp_damper *damper = NULL;
        cr_assert_eq(kp_damper_validate(&d, &findings, &error), KP_OK);
        bool refused = kp_damper_begin(&d, 1, &damper, &error) != KP_OK;
        /* a charge of no more than the air's pressure is a fault of its own */
        cr_assert(refused == (kp_findings_fault_count(&findings) > 0) || charge <= KP_ATMOSPHERE, "%g Pa", charge);
        kp_findings_free(&findings);
        kp_damper_free(damper);
    }
}

/* A jet is as long as it says, or else as its port: the flow is that of a hole of its own size. */
Test(reservoir, jets_have_a_length_of_their_own)
{
    kp_damper_data data = fixture_van(0.6e-3);
    data.leak.clearance = 0;
    data.bleeds[0].jetted = data.bleeds[0].ports - data.bleeds[0].plugged;
    data.bleeds[0].jet = 1.1e-3;
    for (int i = 0; i < 3; i++) {
        data.bleeds[0].has_jet_length = i > 0;
        data.bleeds[0].jet_length = i > 0 ? 1.3e-3 : 0;
        data.bleeds[0].entry = i == 2 ? KP_ENTRY_CHAMFERED : KP_ENTRY_SHARP;
        kp_damper *damper = van_begin(&data, 0.2);
        kp_curve_point p = van_point(damper, 0.01);
        kp_orifice hole = {.count = data.bleeds[0].jetted,
                           .diameter = 1.1e-3,
                           .length = i > 0 ? 1.3e-3 : data.bleeds[0].length,
                           .chamfered = i == 2};
        double flow = kp_orifice_flow(&hole, &damper->circuits[0].oil, p.piston_drop).flow;
        cr_assert(p.opening == 0 && fabs(p.bleed_flow / flow - 1) <= 1e-12, "case %d: %g of %g", i, p.bleed_flow, flow);
        kp_damper_free(damper);
    }
}
