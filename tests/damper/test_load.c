/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The load that a flow leaves on a disc: against stacks solved with pressure and ring together, and monotone. */
#include "damper/damper_internal.h"
#include "kneepoint/file.h"
#include "kneepoint/stack.h"
#include "num/num.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>

static const double PI = 3.14159265358979323846;

/* ---- the stacks of the example dampers ---- */

static const char *const files[] = {"van-rear-linear.yaml",
                                    "van-rear-linear-firmer.yaml",
                                    "van-rear-digressive.yaml",
                                    "van-rear-digressive-firmer.yaml",
                                    "van-rear-digressive-comfort.yaml",
                                    "van-rear-reservoir.yaml",
                                    "trail-ambulance-inch.yaml"};

static double at(const kp_resistance *r, double flow)
{
    return r->quadratic * flow * flow + r->linear * flow;
}

/* Opening by the circuit against the stack solved with the pressure inside the land and the ring of force at it, both
   written out here from the curtain's parts. Suction is far from what the chamber allows, which is checked. */
static double opening_error(const kp_damper *damper, kp_direction direction, double speed)
{
    const kp_circuit *circuit = &damper->circuits[direction];
    const kp_valve *valve = &circuit->valve;
    kp_circuit_state state;
    kp_error error = {0};
    cr_assert_eq(kp_damper_full_drop(damper, direction, speed, &state, &error), KP_OK, "%s", error.message);
    if (!(state.lift.opening > 0)) {
        return 0;
    }

    kp_curtain_loss loss = kp_curtain_at(&valve->curtain, &circuit->oil, state.lift.opening);
    double q = state.valve_flow, inside = at(&loss.pressure, q) - 0.5 * valve->velocity_head * q * q;
    double ring = valve->land_area * (inside - at(&loss.land, q)) + at(&loss.edge, q) + at(&loss.suction, q);
    cr_assert(valve->head_share == 0.5 && at(&loss.suction, q) < 0.9 * valve->suction_area * valve->back.pressure);

    kp_disc discs[KP_MAX_STACK_LINES];
    kp_stack stack = kp_damper_stack(&damper->data, direction, discs);
    kp_stack_options options = {.tolerance = 1e-9, .land_load = -ring / inside};
    kp_stack_workspace *workspace = NULL;
    cr_assert_eq(kp_stack_begin(&stack, &options, &workspace, &error), KP_OK, "%s", error.message);
    cr_assert_eq(kp_stack_solve(workspace, inside, KP_SEAT_ABSENT, &error), KP_OK, "%s", error.message);
    double opening = kp_stack_seat_lift(workspace) - stack.dish;
    kp_stack_free(workspace);

    double share = ring / kp_lift_table_ring_area(valve->lift, inside, NULL) / inside;
    cr_log_info("%s, %s at %g m/s: opening %.4f mm, solved %.4f mm, off by %.2f %%; ring takes %.0f %%",
                damper->data.name, kp_direction_name(direction), speed, 1e3 * state.lift.opening, 1e3 * opening,
                100 * (state.lift.opening / opening - 1), 100 * share);
    return fabs(state.lift.opening / opening - 1);
}

Test(load, opens_the_example_stacks_as_solved_with_both_loads)
{
    double worst = 0;
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        char path[512];
        kp_damper_data data;
        kp_messages messages = {0};
        kp_damper *damper = NULL;
        kp_error error = {0};
        snprintf(path, sizeof path, KP_SOURCE_DIR "/stacks/%s", files[i]);
        cr_assert_eq(kp_file_read_damper(path, NULL, 0, &data, &messages, &error), KP_OK, "%s", error.message);

        /* At the file's charge a linear van cavitates at the top speed, which limits the suction. */
        data.has_maximum_charge = false;
        data.gas.charge_pressure = 9e6;
        cr_assert_eq(kp_damper_begin(&data, 2, &damper, &error), KP_OK, "%s", error.message);
        for (double speed = 0.1; speed < 2; speed *= 2.1) {
            worst = fmax(worst, opening_error(damper, KP_COMPRESSION, speed));
            worst = fmax(worst, opening_error(damper, KP_REBOUND, speed));
        }
        kp_damper_free(damper);
        kp_messages_free(&messages);
    }
    cr_log_info("at worst %.2f %%", 100 * worst);
    cr_assert(worst <= 0.01);
}

/* ---- monotone ---- */

/* A valve of any sizes, its disc as stiff or as soft as may be, preloaded or not. */
static kp_valve random_valve(kp_random *r, kp_lift_table **table)
{
    enum { POINTS = 12 };
    double pressure[POINTS] = {0}, opening[POINTS] = {0};
    double first = pow(10, kp_random_uniform(r, 3, 6)), y = pow(10, kp_random_uniform(r, -6, -3.5));
    bool preloaded = kp_random_uniform(r, 0, 1) < 0.4;
    for (int i = 1; i < POINTS; i++) {
        pressure[i] = first * pow(2.3, i - 1);
        opening[i] = preloaded && i == 1 ? 0 : opening[i - 1] + y * pow(2, kp_random_uniform(r, -6, i - 3));
    }
    kp_error error = {0};
    cr_assert_eq(kp_lift_table_from_points(POINTS, pressure, opening, table, &error), KP_OK, "%s", error.message);

    kp_valve_data d;
    static kp_damper_data defaults;
    kp_damper_defaults(&defaults);
    d = defaults.valves[0];
    d.land_inner = kp_random_uniform(r, 15e-3, 60e-3);
    d.land_outer = d.land_inner + (kp_random_uniform(r, 0, 1) < 0.3 ? 0 : kp_random_uniform(r, 0.1e-3, 6e-3));
    d.port_inner = d.land_inner * kp_random_uniform(r, 0.3, 0.9);
    d.port_area = PI / 4 * d.land_inner * d.land_inner * kp_random_uniform(r, 0.02, 0.9);
    d.port_discharge = kp_random_uniform(r, 0.5, 1);
    d.velocity_head_share = kp_random_uniform(r, 0, 1);
    d.load_coverage = kp_random_uniform(r, 0.5, 1);
    d.curtain_coverage = kp_random_uniform(r, 0.3, 1);
    d.curtain_scale = kp_random_uniform(r, 0.7, 1.4);
    d.flow_force_scale = kp_random_uniform(r, 0, 2);
    kp_flow_oil oil = {.density = 850, .viscosity = 1e-6};
    kp_back_pressure back = {pow(10, kp_random_uniform(r, 5, 7)), kp_random_uniform(r, 0, 1) < 0.5, 101325};
    kp_valve valve = kp_valve_make(&d, 2 * d.land_outer, &oil, *table, back);
    valve.cracking = 0;
    valve.plate_area *= kp_random_uniform(r, 0.2, 1.2); /* as a stack's ring area would be */
    return valve;
}

/* Flow and drop rise with the disc pressure, the drop never below it, and the load never below a tenth of the
   stagnation pressure, in 10 000 random valves. */
Test(load, leaves_flow_and_drop_monotone)
{
    kp_random r;
    kp_random_seed(&r, 20260115);
    int limited = 0;
    for (int i = 0; i < 10000; i++) {
        kp_lift_table *table = NULL;
        kp_valve valve = random_valve(&r, &table);
        kp_flow_oil oil = {.density = 850, .viscosity = pow(10, kp_random_uniform(&r, -6, -4))};
        kp_valve_state last = {0};
        kp_error error = {0};
        double reach = kp_lift_table_reach(table);
        for (int k = 40; k >= 0; k--) {
            double pressure = reach * pow(0.7, k);
            kp_valve_state state;
            cr_assert_eq(kp_valve_at(&valve, &oil, pressure, &state, &error), KP_OK, "%s", error.message);
            cr_assert(state.flow >= last.flow * (1 - 1e-12), "case %d at %g Pa: flow %g after %g", i, pressure,
                      state.flow, last.flow);
            cr_assert(state.drop > last.drop && state.drop >= pressure * (1 - 1e-12),
                      "case %d at %g Pa: drop %g after %g", i, pressure, state.drop, last.drop);
            cr_assert(state.flow_slope >= 0 && state.drop_slope > 0, "case %d at %g Pa: slopes %g, %g", i, pressure,
                      state.flow_slope, state.drop_slope);
            limited += state.lift.opening > 0 && state.drop > valve.back.pressure;
            last = state;
        }
        kp_lift_table_free(table);
    }
    cr_assert(limited > 1000);
}
