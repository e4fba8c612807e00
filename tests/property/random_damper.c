/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "random_damper.h"
#include "num/num.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>

static const double PI = 3.14159265358979323846;

static double uniform(kp_random *r, double low, double high)
{
    return kp_random_uniform(r, low, high);
}

static double log_uniform(kp_random *r, double low, double high)
{
    return exp(uniform(r, log(low), log(high)));
}

static bool chance(kp_random *r, double part)
{
    return uniform(r, 0, 1) < part;
}

/* Shims come in steps: 0.5 mm of diameter, 0.05 mm of thickness. */
static double step(double size, double by)
{
    return by * round(size / by);
}

/* Face shims, then smaller and smaller ones, now and then a crossover or one larger than the one before. */
static void random_stack(kp_random *r, kp_valve_data *v, double bore)
{
    const double face = step(fmin(v->land_outer + uniform(r, 0.5e-3, 4e-3), bore - 1.5e-3), 0.5e-3);
    v->line_count = 0;
    double outside = fmax(face, v->land_outer);
    int lines = kp_random_int(r, 1, 7), shims = 0;
    while ((int)v->line_count < lines && shims < 20) {
        kp_shim_line *line = &v->lines[v->line_count++];
        line->count = chance(r, 0.6) ? 1 : kp_random_int(r, 2, 4);
        line->outside = outside;
        line->thickness = step(uniform(r, 0.10e-3, 0.34e-3), 0.05e-3);
        shims += line->count;
        double room = outside - v->clamp_washer;
        if (chance(r, 0.15)) {
            outside = step(uniform(r, v->clamp_washer + 2e-3, face), 0.5e-3); /* crossover, or back up again */
        } else {
            outside = step(outside - uniform(r, 0.08, 0.4) * room, 0.5e-3);
        }
        outside = fmax(outside, v->clamp_washer + 1.5e-3);
    }
}

/* A last shim smaller than the washer, that does the clamping. */
static void add_spacer(kp_random *r, kp_valve_data *v)
{
    kp_shim_line *line = &v->lines[v->line_count++];
    *line = (kp_shim_line){.count = kp_random_int(r, 1, 2),
                           .outside = v->clamp_washer - uniform(r, 0.3e-3, 2e-3),
                           .thickness = step(uniform(r, 0.1e-3, 0.5e-3), 0.05e-3)};
}

/* A loose ring on the face shim: what lies above it is pressed up, the face shim down. */
static void add_ring(kp_random *r, kp_valve_data *v)
{
    for (size_t i = v->line_count++; i > 1; i--) {
        v->lines[i] = v->lines[i - 1];
    }
    double outside = v->lines[0].outside - uniform(r, 0.0, 3e-3);
    double width = uniform(r, 0.1, 0.5) * (outside - v->clamp_washer);
    v->lines[1] = (kp_shim_line){.count = 1,
                                 .outside = outside,
                                 .thickness = step(uniform(r, 0.05e-3, 0.2e-3), 0.05e-3),
                                 .has_hole = true,
                                 .hole = outside - width};
}

static void add_slots(kp_random *r, kp_valve_data *v)
{
    kp_shim_line *line = &v->lines[kp_random_int(r, 0, (int)v->line_count - 1)];
    double room = line->outside - v->clamp_washer;
    if (line->has_hole || room < 4e-3) {
        return;
    }
    line->slot_count = kp_random_int(r, 2, 8);
    line->has_slot_depth = true;
    line->slot_depth = uniform(r, 0.1, 0.4) * room;
    line->slot_width = uniform(r, 0.05, 0.6) * PI * (line->outside - 2 * line->slot_depth) / line->slot_count;
    if (chance(r, 0.5)) {
        snprintf(line->material, sizeof line->material, "bronze");
    }
}

/* What a workshop puts on beyond plain shims; each with its own chance. */
static void random_specialities(kp_random *r, kp_valve_data *v)
{
    v->has_hole = chance(r, 0.6);
    v->hole = uniform(r, 0.4, 0.7) * v->clamp_washer;
    if (v->has_hole && chance(r, 0.5)) {
        v->grip = KP_GRIP_SLIDING;
        v->nut_load = chance(r, 0.4) ? 0 : log_uniform(r, 300, 30e3);
    }
    if (chance(r, 0.3)) {
        add_slots(r, v);
    }
    if (!v->has_stop && chance(r, 0.3)) {
        v->backing_count = 2;
        v->backing[0] = (kp_backing_point){v->clamp_washer, 0};
        v->backing[1] = (kp_backing_point){v->clamp_washer + uniform(r, 0.1, 0.9) * (v->land_inner - v->clamp_washer),
                                           uniform(r, 0, 0.5e-3)};
    } else if (!v->has_stop && chance(r, 0.3)) {
        add_ring(r, v);
    }
    if (chance(r, 0.2)) {
        add_spacer(r, v);
    }
}

static void random_valve(kp_random *r, kp_valve_data *v, double bore)
{
    v->clamp_washer = step(bore * uniform(r, 0.25, 0.38), 0.5e-3);
    v->land_inner = bore * uniform(r, 0.58, 0.75);
    v->land_outer = v->land_inner + (chance(r, 0.3) ? 0 : uniform(r, 0.4e-3, 3e-3));
    v->port_inner = v->clamp_washer + uniform(r, 0.1, 0.7) * (v->land_inner - v->clamp_washer);
    v->port_area = PI / 4 * bore * bore * uniform(r, 0.04, 0.16);
    v->port_discharge = uniform(r, 0.6, 0.85);
    v->has_curtain_discharge = chance(r, 0.2);
    v->curtain_discharge = v->has_curtain_discharge ? uniform(r, 0.6, 0.8) : 0;
    v->curtain_scale = v->has_curtain_discharge ? 1 : uniform(r, 0.7, 1.4);
    v->flow_force_scale = chance(r, 0.1) ? 0 : uniform(r, 0.5, 1.5);
    v->velocity_head_share = uniform(r, 0, 1);
    v->load_coverage = chance(r, 0.5) ? 1 : uniform(r, 0.5, 1);
    v->curtain_coverage = uniform(r, 0.5, 1);
    v->dish = chance(r, 0.4) ? 0 : uniform(r, -0.1e-3, 0.4e-3);
    random_stack(r, v, bore);
    v->has_stop = chance(r, 0.1);
    if (v->has_stop) {
        v->stop_outside = v->lines[v->line_count - 1].outside;
        v->stop_gap = fmax(v->dish, 0) + uniform(r, 0.3e-3, 1.5e-3);
    }
}

static void random_body(kp_random *r, kp_damper_data *d)
{
    d->bore = uniform(r, 0.036, 0.070);
    d->rod = d->bore * uniform(r, 0.22, 0.45);
    d->stroke = uniform(r, 0.06, 0.35);
    d->position = uniform(r, 0, d->stroke);
    d->friction = uniform(r, 0, 150);
    d->friction_given = true;
    double swept = PI / 4 * d->rod * d->rod * d->stroke;
    d->gas = (kp_gas){.charge_pressure = log_uniform(r, 4e5, 30e5),
                      .charge_temperature = uniform(r, 278, 303),
                      .volume = swept * uniform(r, 1.5, 5),
                      .exponent = uniform(r, 1, 1.4)};
    double thick = log_uniform(r, 5e-6, 50e-6);
    d->oil = (kp_oil){.temperature_1 = 313.15,
                      .viscosity_1 = thick,
                      .temperature_2 = 373.15,
                      .viscosity_2 = thick * uniform(r, 0.17, 0.4),
                      .density = uniform(r, 800, 960),
                      .density_temperature = 288.15,
                      .expansion = uniform(r, 6e-4, 1e-3)};
    d->oil_temperature = uniform(r, 263, 393);
}

kp_damper_data random_damper(kp_random *r)
{
    kp_damper_data d;
    kp_damper_defaults(&d);
    random_body(r, &d);
    d.bleed_count = (size_t)kp_random_int(r, 0, 3);
    for (size_t i = 0; i < d.bleed_count; i++) {
        int ports = kp_random_int(r, 1, 6);
        d.bleeds[i] = (kp_bleed){.ports = ports,
                                 .plugged = kp_random_int(r, 0, ports),
                                 .diameter = uniform(r, 0.6e-3, 3e-3),
                                 .length = uniform(r, 1e-3, 14e-3),
                                 .flows = (kp_flows)kp_random_int(r, KP_FLOWS_BOTH, KP_FLOWS_REBOUND)};
    }
    if (chance(r, 0.7)) {
        d.leak = (kp_leak_data){.clearance = log_uniform(r, 5e-6, 80e-6),
                                .length = uniform(r, 4e-3, 20e-3),
                                .eccentricity = uniform(r, 0, 1)};
    }
    for (int i = 0; i < KP_DIRECTION_COUNT; i++) {
        random_valve(r, &d.valves[i], d.bore);
    }
    return d;
}

static kp_spring_plate random_spring(kp_random *r, double area)
{
    kp_spring_plate plate = {.preload = chance(r, 0.2) ? 0 : area * log_uniform(r, 2e4, 2e6),
                             .lift = uniform(r, 0.4e-3, 3e-3)};
    plate.rate = area * log_uniform(r, 5e4, 3e6) / plate.lift; /* the stop comes up after some bar, or never */
    if (plate.preload == 0 && chance(r, 0.2)) {
        plate.rate = 0; /* floats */
    }
    return plate;
}

static kp_check_data random_check(kp_random *r, double seat_most)
{
    kp_check_data check = {.seat = uniform(r, 0.4, 1) * seat_most};
    check.plate = random_spring(r, 0.1 * PI / 4 * check.seat * check.seat); /* a light spring */
    return check;
}

static kp_adjuster_data random_adjuster(kp_random *r)
{
    kp_adjuster_data a = {.max_clicks = kp_random_int(r, 5, 40),
                          .seat = uniform(r, 2e-3, 6e-3),
                          .has_discharge = true,
                          .discharge = uniform(r, 0.55, 0.8),
                          .flows = (kp_flows)kp_random_int(r, KP_FLOWS_BOTH, KP_FLOWS_REBOUND)};
    a.clicks = kp_random_int(r, 0, a.max_clicks);
    if (chance(r, 0.5)) {
        a.area_per_click = log_uniform(r, 0.02e-6, 0.4e-6);
        a.closed_area = chance(r, 0.5) ? 0 : uniform(r, 0, 0.3e-6);
    } else {
        a.point_count = (size_t)kp_random_int(r, 2, 5);
        for (size_t i = 1; i < a.point_count; i++) {
            a.point_clicks[i] = a.point_clicks[i - 1] + kp_random_int(r, 1, 12);
            a.point_area[i] = a.point_area[i - 1] + uniform(r, 0, 2e-6);
        }
    }
    return a;
}

static kp_bleed random_bleed(kp_random *r)
{
    int ports = kp_random_int(r, 1, 6);
    kp_bleed b = {.ports = ports,
                  .plugged = kp_random_int(r, 0, ports),
                  .diameter = uniform(r, 0.6e-3, 3e-3),
                  .length = uniform(r, 1e-3, 14e-3),
                  .flows = (kp_flows)kp_random_int(r, KP_FLOWS_BOTH, KP_FLOWS_REBOUND)};
    b.jetted = kp_random_int(r, 0, ports - b.plugged);
    b.jet = b.diameter * uniform(r, 0.3, 0.8);
    b.has_jet_length = chance(r, 0.5);
    b.jet_length = b.has_jet_length ? b.length * uniform(r, 0.1, 1) : 0;
    b.entry = chance(r, 0.5) ? KP_ENTRY_SHARP : KP_ENTRY_CHAMFERED;
    b.has_check = b.flows != KP_FLOWS_BOTH && chance(r, 0.5);
    if (b.has_check) {
        b.check = random_check(r, 9e-3);
    }
    return b;
}

static void random_reservoir(kp_random *r, kp_damper_data *d, bool with_stack)
{
    kp_reservoir_data *reservoir = &d->reservoir;
    reservoir->given = true;
    reservoir->has_hose = chance(r, 0.5);
    reservoir->hose = (kp_hose_data){.length = uniform(r, 0.05, 1.5), .bore = uniform(r, 3e-3, 12e-3)};
    reservoir->has_adjuster = chance(r, 0.6);
    reservoir->adjuster = random_adjuster(r);
    reservoir->bleed_count = (size_t)kp_random_int(r, 0, 2);
    for (size_t i = 0; i < reservoir->bleed_count; i++) {
        reservoir->bleeds[i] = random_bleed(r);
    }
    reservoir->has_valve = true;
    reservoir->has_bore = true;
    reservoir->bore = uniform(r, 0.030, 0.050);
    kp_valve_data *v = &d->valves[KP_RESERVOIR_VALVE];
    random_valve(r, v, reservoir->bore);
    v->has_plate = !with_stack;
    if (v->has_plate) {
        v->dish = 0;
        v->line_count = 0;
        v->plate = random_spring(r, PI / 4 * v->land_inner * v->land_inner);
    }
    reservoir->has_return = true;
    reservoir->return_check = random_check(r, 20e-3);
}

void random_hydraulics(kp_random *r, kp_damper_data *d, bool with_stacks)
{
    d->bleed_count = (size_t)kp_random_int(r, 0, 3);
    for (size_t i = 0; i < d->bleed_count; i++) {
        d->bleeds[i] = random_bleed(r);
    }
    d->has_adjuster = chance(r, 0.5);
    d->adjuster = random_adjuster(r);
    for (int i = 0; i < KP_DIRECTION_COUNT; i++) {
        kp_valve_data *v = &d->valves[i];
        v->has_port_entry = chance(r, 0.3);
        v->port_entry = v->has_port_entry ? v->port_area * uniform(r, 0.5, 1.5) : 0;
        if (!with_stacks) {
            v->has_plate = true;
            v->dish = 0;
            v->line_count = 0;
            v->plate = random_spring(r, PI / 4 * v->land_inner * v->land_inner);
        }
    }
    if (chance(r, 0.7)) {
        random_reservoir(r, d, with_stacks);
    }
}

kp_damper_data random_special_damper(kp_random *r)
{
    kp_damper_data d = random_damper(r);
    d.material_count = 1;
    d.materials[0] = (kp_material_data){.name = "bronze", .material = {113e9, 0.34, 510e6, 617e6, 213e6}};
    for (int i = 0; i < KP_DIRECTION_COUNT; i++) {
        if (chance(r, 0.4)) {
            random_specialities(r, &d.valves[i]);
        }
    }
    return d;
}
