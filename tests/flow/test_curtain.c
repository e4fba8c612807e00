/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Curtain: against computational fluid dynamics, its limits, its slopes, and that it is monotone. */
#include "flow/flow.h"
#include "num/num.h"
#include "truth.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const double PI = 3.14159265358979323846;
static const kp_flow_oil OIL = {.density = 847.3, .viscosity = 14.7e-6};

/* ---- against tests/truth/curtain_cfd.csv ---- */

/* One run: all of it but the mesh and the other flow models. Runs with an entry of their own state the pressure of the
   chamber; they are compared as if the entry lost nothing. */
typedef struct run {
    kp_curtain curtain;
    kp_flow_oil oil;
    double opening, flow, pressure, force;
    double full_area; /* [m2] inside the land */
} run;

static bool read_run(const truth *t, size_t row, run *out)
{
    const char *series = truth_text(t, row, "series");
    if (!strcmp(series, "mesh") || !strcmp(series, "over") || !strcmp(series, "ras")) {
        return false;
    }

    double feed_in = 0, feed_out = 0, inner = 17e-3, port = 12e-3;
    cr_assert_eq(sscanf(truth_text(t, row, "feed_r_mm"), "%lf-%lf", &feed_in, &feed_out), 2);
    *out = (run){
        .curtain = {.perimeter = 2 * PI * inner,
                    .land_inner = inner,
                    .land_outer = inner + 1e-3 * truth_number(t, row, "w_mm"),
                    .port_area = PI * 1e-6 * (feed_out * feed_out - feed_in * feed_in),
                    .discharge_scale = 1,
                    .flow_force_scale = 1},
        .oil = {.density = 860, .viscosity = truth_number(t, row, "nu")},
        .opening = 1e-3 * truth_number(t, row, "y_mm"),
        .flow = truth_number(t, row, "Q_m3s"),
        .pressure = truth_number(t, row, "p0"),
        .force = truth_number(t, row, "F"),
        .full_area = PI * (inner * inner - port * port),
    };
    return true;
}

static double value(const kp_resistance *r, double flow)
{
    return r->quadratic * flow * flow + r->linear * flow;
}

/* Flow at the run's pressure, and the load that goes with it: half of the port's head does not load the disc. */
static double flow_and_force(const run *r, double opening, double *force)
{
    kp_curtain_loss loss = kp_curtain_at(&r->curtain, &r->oil, opening);
    double flow = kp_resistance_flow(&loss.pressure, r->pressure, NULL).flow;
    double head = 0.5 * r->oil.density * pow(flow / r->curtain.port_area, 2);
    *force = (r->pressure - 0.5 * head) * r->full_area + value(&loss.land, flow) * kp_curtain_land_area(&r->curtain) -
             value(&loss.edge, flow) - value(&loss.suction, flow);
    return flow;
}

/* Flow at the run's pressure with the disc on a spring through zero which the run's own force opens as far as the run.
 */
static double sprung_flow(const run *r)
{
    double low = 1e-6, high = 4e-3, force, rate = r->force / r->opening;
    for (int i = 0; i < 60; i++) {
        double middle = 0.5 * (low + high);
        flow_and_force(r, middle, &force);
        low = force > rate * middle ? middle : low;
        high = force > rate * middle ? high : middle;
    }
    return flow_and_force(r, low, &force);
}

typedef struct errors {
    double squares, worst;
    size_t count;
} errors;

static void add_error(errors *e, double error)
{
    e->squares += error * error;
    e->worst = fmax(e->worst, fabs(error));
    e->count++;
}

static double rms(const errors *e)
{
    return sqrt(e->squares / (double)e->count);
}

Test(curtain, agrees_with_computational_fluid_dynamics)
{
    truth t = truth_read("curtain_cfd.csv");
    errors flow = {0}, force = {0}, sprung = {0}, old_flow = {0}, old_force = {0}, old_sprung = {0};

    for (size_t i = 0; i < t.rows; i++) {
        run r;
        if (!read_run(&t, i, &r)) {
            continue;
        }
        double load;
        add_error(&flow, flow_and_force(&r, r.opening, &load) / r.flow - 1);
        add_error(&force, load / r.force - 1);
        add_error(&sprung, sprung_flow(&r) / r.flow - 1);
        if (truth_has(&t, i, "code_Q")) { /* the earlier formula beside it */
            add_error(&old_flow, truth_number(&t, i, "code_Q"));
            add_error(&old_force, truth_number(&t, i, "code_F"));
            add_error(&old_sprung, truth_number(&t, i, "code_sprung"));
        }
    }

    cr_log_info("flow %.2f %% RMS, %.2f %% at worst (earlier formula %.1f, %.1f); force %.2f, %.1f (%.1f, %.1f); "
                "sprung %.2f, %.1f (%.1f, %.1f)",
                100 * rms(&flow), 100 * flow.worst, 100 * rms(&old_flow), 100 * old_flow.worst, 100 * rms(&force),
                100 * force.worst, 100 * rms(&old_force), 100 * old_force.worst, 100 * rms(&sprung), 100 * sprung.worst,
                100 * rms(&old_sprung), 100 * old_sprung.worst);
    cr_assert_eq(flow.count, 44);
    cr_assert(rms(&flow) <= 0.05 && flow.worst <= 0.10);
    cr_assert(rms(&force) <= 0.07);
    cr_assert(rms(&sprung) <= 0.05);
    cr_assert(rms(&old_flow) > 0.10 && rms(&old_force) > 0.30, "the earlier formula is worse");
    truth_free(&t);
}

/* ---- limits ---- */

static kp_curtain curtain_of(double inner, double width, double port_area)
{
    return (kp_curtain){.perimeter = 2 * PI * inner,
                        .land_inner = inner,
                        .land_outer = inner + width,
                        .port_area = port_area,
                        .discharge_scale = 1,
                        .flow_force_scale = 1};
}

/* Slow flow over a land far wider than the gap: pi y^3 P/(6 mu ln(r_o/r_i)), any text, and the pressure on the land
   falls with the logarithm of the radius. */
Test(curtain, is_lubrication_at_small_reynolds_number)
{
    kp_curtain land = curtain_of(17e-3, 3e-3, 200e-6);
    double y = 3e-6, pressure = 2.7e5, mu = OIL.density * OIL.viscosity;
    kp_curtain_loss loss = kp_curtain_at(&land, &OIL, y);
    double flow = kp_resistance_flow(&loss.pressure, pressure, NULL).flow;
    double exact = PI * y * y * y * pressure / (6 * mu * log(20.0 / 17));
    cr_assert(fabs(flow / exact - 1) <= 1e-3, "%g", flow / exact - 1);
    cr_assert(fabs(value(&loss.land, flow) / pressure - 1) <= 1e-3);

    /* The logarithmic fall over the land, integrated with Simpson's rule, less what the oil's speed takes. */
    double area = 0, r_i = 17e-3, r_o = 20e-3, step = (r_o - r_i) / 200;
    for (int i = 0; i <= 200; i++) {
        double r = r_i + i * step;
        area += (i == 0 || i == 200 ? 1 : i % 2 ? 4 : 2) * step / 3 * 2 * PI * r * log(r_o / r) / log(r_o / r_i);
    }
    double load =
        value(&loss.land, flow) * kp_curtain_land_area(&land) - value(&loss.edge, flow) - value(&loss.suction, flow);
    cr_assert(fabs(load / (pressure * area) - 1) <= 1e-3, "%g", load / (pressure * area) - 1);
}

/* A sharp seat under a wide port: the free jet's pi/(pi + 2) (Rabie, Fluid Power Engineering, 2009, eq. 2.39, read). A
   curtain far wider than its port: the port's head is lost (Borda). */
Test(curtain, is_a_free_jet_or_a_port_at_large_reynolds_number)
{
    kp_curtain sharp = curtain_of(17e-3, 0, 1);
    kp_curtain_loss loss = kp_curtain_at(&sharp, &OIL, 0.3e-3);
    double flow = kp_resistance_flow(&loss.pressure, 1e9, NULL).flow;
    double jet = 2 * PI * 17e-3 * 0.3e-3 * sqrt(2 * 1e9 / OIL.density);
    cr_assert(fabs(flow / (jet * PI / (PI + 2)) - 1) <= 0.01, "%g", flow / jet);

    kp_curtain choked = curtain_of(17e-3, 1e-3, 50e-6);
    double y = 5 * 50e-6 / choked.perimeter;
    double quadratic = kp_curtain_at(&choked, &OIL, y).pressure.quadratic;
    cr_assert(fabs(quadratic / (0.5 * OIL.density / (50e-6 * 50e-6)) - 1) <= 1e-3);
}

/* A given coefficient stands in for the computed one; the scales act on what they say. */
Test(curtain, takes_its_inputs)
{
    kp_curtain land = curtain_of(17e-3, 1e-3, 200e-6), given = land, scaled = land;
    given.discharge = 0.71;
    double y = 0.4e-3;
    double head = 0.5 * OIL.density / pow(land.perimeter * y, 2);
    kp_curtain_loss a = kp_curtain_at(&land, &OIL, y), b = kp_curtain_at(&given, &OIL, y);
    cr_assert(fabs(b.pressure.quadratic / (head / (0.71 * 0.71)) - 1) <= 1e-12);
    cr_assert_eq(a.pressure.linear, b.pressure.linear);

    scaled.discharge_scale = 1.13;
    scaled.flow_force_scale = 0.37;
    kp_curtain_loss c = kp_curtain_at(&scaled, &OIL, y);
    cr_assert(fabs(a.pressure.quadratic / c.pressure.quadratic / (1.13 * 1.13) - 1) <= 1e-12);
    cr_assert(fabs(c.edge.quadratic / a.edge.quadratic / 0.37 - 1) <= 1e-12);
    cr_assert(fabs(c.suction.quadratic / a.suction.quadratic / 0.37 - 1) <= 1e-12);
}

/* ---- slopes and monotony ---- */

static kp_curtain random_curtain(kp_random *random)
{
    double inner = kp_random_uniform(random, 5e-3, 40e-3), cover = kp_random_uniform(random, 0.3, 1);
    double width = kp_random_uniform(random, 0, 1) < 0.2 ? 0 : kp_random_uniform(random, 0.05e-3, 0.4 * inner);
    double port = PI * inner * inner * kp_random_uniform(random, 0.02, 1);
    kp_curtain curtain = curtain_of(inner, width, port);
    curtain.perimeter *= cover;
    return curtain;
}

Test(curtain, has_exact_slopes)
{
    kp_random random;
    kp_random_seed(&random, 20260113);
    int different = 0;
    for (int i = 0; i < 400; i++) {
        kp_curtain curtain = random_curtain(&random);
        double y = 1e-6 * pow(5e3, kp_random_uniform(&random, 0, 1)), k = 1e-5 * y;
        kp_curtain_loss at = kp_curtain_at(&curtain, &OIL, y), above = kp_curtain_at(&curtain, &OIL, y + k);
        kp_curtain_loss below = kp_curtain_at(&curtain, &OIL, y - k);
        const double slope[] = {at.pressure.quadratic_slope, at.pressure.linear_slope, at.land.linear_slope,
                                at.edge.quadratic_slope, at.suction.quadratic_slope};
        const double central[] = {above.pressure.quadratic - below.pressure.quadratic,
                                  above.pressure.linear - below.pressure.linear, above.land.linear - below.land.linear,
                                  above.edge.quadratic - below.edge.quadratic,
                                  above.suction.quadratic - below.suction.quadratic};
        const double size[] = {at.pressure.quadratic, at.pressure.linear, at.land.linear, at.edge.quadratic,
                               at.suction.quadratic};
        for (int j = 0; j < 5; j++) {
            double difference = central[j] / (2 * k);
            cr_assert(fabs(slope[j] - difference) <= 1e-6 * size[j] / y, "case %d, part %d: %g, %g", i, j, slope[j],
                      difference);
            different += slope[j] != difference;
        }
    }
    cr_assert(different > 1000);
}

/* Flow rises with the drop and with the opening in 10 000 random geometries, and is never more than the curtain's area
   or the port's would pass without contraction or loss, but for what the land's diffuser gives back. */
Test(curtain, is_monotone)
{
    kp_random random;
    kp_random_seed(&random, 20260114);
    for (int i = 0; i < 10000; i++) {
        kp_curtain curtain = random_curtain(&random);
        double y = 1e-6 * pow(5e3, kp_random_uniform(&random, 0, 1));
        double drop = pow(10, kp_random_uniform(&random, 1, 8)), opening_slope;
        kp_curtain_loss at = kp_curtain_at(&curtain, &OIL, y), wider = kp_curtain_at(&curtain, &OIL, 1.07 * y);
        kp_flow flow = kp_resistance_flow(&at.pressure, drop, &opening_slope);
        cr_assert(isfinite(flow.flow) && flow.flow > 0 && flow.slope > 0 && opening_slope >= 0, "case %d", i);
        cr_assert(kp_resistance_flow(&wider.pressure, drop, NULL).flow >= flow.flow * (1 - 1e-12), "case %d", i);
        cr_assert(kp_resistance_flow(&at.pressure, 1.07 * drop, NULL).flow > flow.flow, "case %d", i);
        double speed = sqrt(2 * drop / OIL.density), back = curtain.land_outer / curtain.land_inner;
        cr_assert(flow.flow <= fmin(curtain.perimeter * y * back, curtain.port_area) * speed * (1 + 1e-9), "case %d",
                  i);
    }
}
