/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The summary against the curve itself. */
#include "damper/damper_internal.h"
#include "van.h"
#include "kneepoint/lift.h"

#include <math.h>
#include <string.h>

static kp_curve_summary summarise(const kp_damper *damper, kp_direction direction)
{
    kp_error error = {0};
    kp_curve_summary s = {0};
    cr_assert_eq(kp_curve_summarise(damper, direction, kp_speed_limits_default(), &s, &error), KP_OK, "%s",
                 error.message);
    return s;
}

Test(summary, reads_forces_and_slopes_off_the_curve)
{
    kp_damper_data data = fixture_van(0.25e-3);
    kp_damper *damper = van_begin(&data, 1.5);
    kp_speed_limits l = kp_speed_limits_default();
    kp_curve_summary s = summarise(damper, KP_REBOUND);
    double low = -van_point(damper, -l.low).hydraulic_force, high = -van_point(damper, -l.high).hydraulic_force,
           top = -van_point(damper, -l.top).hydraulic_force;
    cr_assert_eq(s.low_force, low);
    cr_assert_eq(s.mid_force, high);
    cr_assert_eq(s.high_force, top);
    cr_assert(fabs(s.low_slope * l.low - low) <= 1e-12 * low);
    cr_assert(fabs(s.mid_slope * (l.high - l.low) - (high - low)) <= 1e-12 * high);
    cr_assert(fabs(s.high_slope * (l.top - l.high) - (top - high)) <= 1e-12 * top);
    cr_assert(fabs(pow(l.top / l.low, s.shape_index) * low - top) <= 1e-9 * top);
    cr_assert(s.shape_from == l.low && s.shape_to == l.top);
    cr_assert(!s.margin_goes && s.margin_shortfall == 0 && !s.has_charge_needed);
    kp_damper_free(damper);
}

/* Shape of known power laws: a port alone is v^2, and a valve that lifts in proportion v^(2/3). The stack is a table.
 */
static double shape_of(double opening_per_pressure, double bleed, double *ratio)
{
    kp_damper_data data = fixture_van(0);
    data.gas.charge_pressure = 200e6; /* margin out of the way */
    data.oil.viscosity_1 = 0.3e-6;    /* thin, to be turbulent throughout */
    data.oil.viscosity_2 = 0.25e-6;
    data.leak.clearance = 0;
    data.bleeds[0] = (kp_bleed){.ports = 1, .diameter = bleed, .length = 3 * bleed};
    const double pressure[] = {0, 150e6}, opening[] = {0, 150e6 * opening_per_pressure};
    kp_lift_table *tables[2];
    for (int d = 0; d < 2; d++) {
        data.valves[d].land_outer = data.valves[d].land_inner;
        data.valves[d].port_area = 1;
        data.valves[d].has_curtain_discharge = true; /* constant, and the load is the pressure: a power law */
        data.valves[d].curtain_discharge = 0.7;
        data.valves[d].flow_force_scale = 0;
        cr_assert_eq(kp_lift_table_from_points(2, pressure, opening, &tables[d], NULL), KP_OK);
    }
    const kp_damper_data van = fixture_van(0);
    kp_damper *base = van_begin(&van, 2), *damper = NULL;
    kp_error error = {0};
    cr_assert_eq(kp_damper_on_tables(base, &data, tables, &damper, &error), KP_OK, "%s", error.message);
    kp_curve_summary s = summarise(damper, KP_COMPRESSION);
    cr_assert(!s.has_knee, "a power law has no knee");
    *ratio = s.high_slope / s.mid_slope;
    kp_damper_free(damper);
    kp_damper_free(base);
    kp_lift_table_free(tables[0]);
    kp_lift_table_free(tables[1]);
    return s.shape_index;
}

Test(summary, knows_the_shapes)
{
    double ratio;
    double port = shape_of(0, 9e-3, &ratio);
    cr_assert(fabs(port - 2) <= 0.01, "%g", port);
    cr_assert(ratio > 2);
    double plate = shape_of(0.3e-9, 1e-5, &ratio);
    cr_assert(fabs(plate - 2.0 / 3) <= 0.01, "%g", plate);
    cr_assert(ratio < 0.9);
    cr_assert_str_eq(kp_shape_name(port), "progressive");
    cr_assert_str_eq(kp_shape_name(plate), "digressive");
    cr_assert_str_eq(kp_shape_name(0.7499), "digressive");
    cr_assert_str_eq(kp_shape_name(0.75), "slightly digressive");
    cr_assert_str_eq(kp_shape_name(0.8999), "slightly digressive");
    cr_assert_str_eq(kp_shape_name(0.9), "linear");
    cr_assert_str_eq(kp_shape_name(1.1), "linear");
    cr_assert_str_eq(kp_shape_name(1.1001), "progressive");
}

/* A dished stack has its knee where it cracks: between the speed at which it just cracks and twice that. By the
   definition, checked with differences of the forces themselves. A flat one has none. */
Test(summary, finds_the_knee_where_the_stack_cracks)
{
    kp_damper_data data = fixture_van(0.35e-3);
    data.gas.charge_pressure = 4.1e6;
    kp_damper *damper = van_begin(&data, 1.5);
    for (int d = 0; d < 2; d++) {
        kp_curve_summary s = summarise(damper, (kp_direction)d);
        double sign = d == KP_COMPRESSION ? 1 : -1, cracking = 0;
        for (double v = 1e-4; van_point(damper, sign * v).opening == 0; v *= 1.001) {
            cracking = v;
        }
        cr_assert(s.has_knee);
        cr_assert(s.knee_speed > cracking && s.knee_speed < 2 * cracking, "%g against %g m/s", s.knee_speed, cracking);
        double at = fabs(van_point(damper, sign * s.knee_speed).hydraulic_force);
        cr_assert(fabs(s.knee_force - at) <= 1e-9 * at);
        double a = s.knee_speed / sqrt(2), b = s.knee_speed * sqrt(2), h = 1e-4;
        double below = van_point(damper, sign * a * (1 + h)).force - van_point(damper, sign * a * (1 - h)).force;
        double above = van_point(damper, sign * b * (1 + h)).force - van_point(damper, sign * b * (1 - h)).force;
        cr_assert(sign * above / b < 0.5 * sign * below / a);
    }
    kp_damper_free(damper);
    data = fixture_van(0);
    damper = van_begin(&data, 1.5);
    cr_assert(!summarise(damper, KP_COMPRESSION).has_knee);
    kp_damper_free(damper);
    cr_assert(strlen(kp_knee_definition()) > 40);
}

/* The margin goes where that of the curve does; the charge named keeps it, one bar less does not; and it is only named
   up to the maximum charge. */
Test(summary, says_where_the_margin_goes_and_what_would_keep_it)
{
    kp_damper_data data = fixture_van(0.25e-3);
    data.gas.charge_pressure = 0.9e6;
    data.has_maximum_charge = true;
    data.maximum_charge = 9e6;
    kp_damper *damper = van_begin(&data, 1.5);
    kp_curve_summary s = summarise(damper, KP_COMPRESSION);
    cr_assert(s.margin_goes && s.has_charge_needed && s.margin_speed > 0.1 && s.margin_speed < 1.05);
    cr_assert(van_point(damper, s.margin_speed * 0.9999).cavitation_margin > 0);
    cr_assert(van_point(damper, s.margin_speed * 1.0001).cavitates);
    cr_assert(fabs(van_point(damper, 1.05).cavitation_margin + s.margin_shortfall) <= 1e-9 * s.margin_shortfall);

    kp_error error = {0};
    const double charges[] = {s.charge_needed * 1.0001, s.charge_needed - 1e5};
    for (int i = 0; i < 2; i++) {
        kp_damper_data charged = data;
        charged.gas.charge_pressure = charges[i];
        kp_damper *variant = NULL;
        cr_assert_eq(kp_damper_variant(damper, &charged, &variant, &error), KP_OK);
        cr_assert_eq(summarise(variant, KP_COMPRESSION).margin_goes, i == 1);
        kp_damper_free(variant);
    }
    for (int i = 0; i < 2; i++) {
        kp_damper_data limited = data;
        limited.has_maximum_charge = i == 0;
        limited.maximum_charge = s.charge_needed - 1e5;
        kp_damper *variant = NULL;
        cr_assert_eq(kp_damper_variant(damper, &limited, &variant, &error), KP_OK);
        kp_curve_summary t = summarise(variant, KP_COMPRESSION);
        cr_assert(t.margin_goes && !t.has_charge_needed && t.charge_needed == 0);
        cr_assert_eq(t.margin_shortfall, s.margin_shortfall);
        kp_damper_free(variant);
    }
    kp_damper_free(damper);
}

Test(summary, says_where_a_shim_yields)
{
    kp_damper_data data = fixture_van(0.25e-3);
    kp_damper *damper = van_begin(&data, 1.5);
    kp_curve_summary s = summarise(damper, KP_REBOUND);
    cr_assert(s.past_yield && s.yield_speed > 0);
    cr_assert(!van_point(damper, -s.yield_speed * 0.9999).past_yield);
    cr_assert(van_point(damper, -s.yield_speed * 1.0001).past_yield);
    kp_curve_point p = van_point(damper, -s.yield_speed);
    double yield = kp_material_spring_steel().yield;
    cr_assert(fabs(p.peak_stress / yield - 1) <= 0.01, "%g MPa", p.peak_stress / 1e6);
    cr_assert(p.peak_line < data.valves[KP_REBOUND].line_count);
    kp_damper_free(damper);
}

Test(summary, refuses_limits_that_do_not_rise)
{
    kp_damper_data data = fixture_van(0.25e-3);
    kp_damper *damper = van_begin(&data, 1.0);
    const kp_speed_limits wrong[] = {
        {0, 0.5, 0.9}, {0.5, 0.5, 0.9}, {0.1, 0.9, 0.9}, {0.1, 0.5, 1.01}, {NAN, 0.5, 0.9}};
    kp_curve_summary s = {.knee_force = 17.25};
    kp_error error = {0};
    for (int i = 0; i < 5; i++) {
        cr_assert_eq(kp_curve_summarise(damper, KP_REBOUND, wrong[i], &s, &error), KP_OUT_OF_RANGE, "limits %d", i);
    }
    cr_assert_eq(s.knee_force, 17.25);
    kp_damper_free(damper);
}

/* A coarse table is refused wherever a damper is made of given tables, in either direction. */
Test(summary, refuses_screening_tables)
{
    kp_damper_data data = fixture_van(0.25e-3);
    kp_damper *base = van_begin(&data, 1.5), *made = NULL;
    kp_disc discs[KP_MAX_STACK_LINES];
    kp_lift_table *screen = NULL, *table = NULL;
    kp_error error = {0};
    kp_stack stack = kp_damper_stack(&data, KP_COMPRESSION, discs);
    cr_assert_eq(kp_lift_table_build_coarse(&stack, 10e6, &screen, &error), KP_OK, "%s", error.message);
    cr_assert_eq(kp_lift_table_build(&stack, 10e6, &table, &error), KP_OK, "%s", error.message);
    cr_assert_eq(kp_lift_table_extend(screen, 20e6, &error), KP_OK, "%s", error.message);
    cr_assert(kp_lift_table_is_coarse(screen), "covering more makes no better table of it");
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        kp_lift_table *tables[KP_DIRECTION_COUNT] = {table, table};
        cr_assert_eq(kp_damper_on_tables(base, &data, tables, &made, &error), KP_OK, "%s", error.message);
        kp_damper_free(made);
        made = NULL;
        tables[d] = screen;
        cr_assert_eq(kp_damper_on_tables(base, &data, tables, &made, &error), KP_OUT_OF_RANGE);
        cr_assert(made == NULL && strstr(error.message, "ranking") && strstr(error.message, kp_direction_name(d)));
    }
    kp_lift_table_free(screen);
    kp_lift_table_free(table);
    kp_damper_free(base);
}

/* Bent past its yield at rest by its dish, and tight, so that the margin is gone with the first movement: it yields
   from rest. Where the cracking drop is more than the gas bears, yield that comes between the two is never reached. */
Test(summary, knows_a_stack_that_yields_at_rest)
{
    kp_damper_data data = fixture_van(1.9e-3);
    data.bleeds[0].plugged = data.bleeds[0].ports;
    data.leak.clearance = 0;
    kp_damper *damper = van_begin(&data, 1.5);
    double yield;
    cr_assert(kp_lift_table_yields(kp_damper_lift_table(damper, KP_COMPRESSION), &yield, NULL));
    cr_assert_eq(yield, 0);
    kp_curve_summary s = summarise(damper, KP_COMPRESSION);
    cr_assert(s.margin_goes && s.past_yield && s.yield_speed == 0);
    cr_assert(van_point(damper, 0.3).cavitates);
    kp_damper_free(damper);
}
