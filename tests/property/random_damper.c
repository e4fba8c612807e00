/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "random_damper.h"

#include <math.h>
#include <stdbool.h>

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

static void random_valve(kp_random *r, kp_valve_data *v, double bore)
{
    v->clamp_washer = step(bore * uniform(r, 0.25, 0.38), 0.5e-3);
    v->land_inner = bore * uniform(r, 0.58, 0.75);
    v->land_outer = v->land_inner + (chance(r, 0.3) ? 0 : uniform(r, 0.4e-3, 3e-3));
    v->port_inner = v->clamp_washer + uniform(r, 0.1, 0.7) * (v->land_inner - v->clamp_washer);
    v->port_area = PI / 4 * bore * bore * uniform(r, 0.04, 0.16);
    v->port_discharge = uniform(r, 0.6, 0.85);
    v->curtain_discharge = uniform(r, 0.6, 0.8);
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
