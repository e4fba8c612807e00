/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The steady curve: areas and signs, the ledger, both sides of the margin, slopes, variants, refusals. */
#include "van.h"

#include <math.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

static double area(double diameter)
{
    return PI / 4 * diameter * diameter;
}

/* Every part against equilibrium and continuity, written out with the pressures themselves. */
static void check_point(const kp_damper *damper, const kp_curve_point *p)
{
    const kp_damper_data *d = kp_damper_model(damper);
    double bore = area(d->bore), rod = area(d->rod), v = fabs(p->speed), sign = p->speed > 0 ? 1 : -1;
    double gas = d->gas.charge_pressure * d->oil_temperature / d->gas.charge_temperature *
                 pow(d->gas.volume / (d->gas.volume - rod * d->position), d->gas.exponent);
    double compression = gas, rebound = gas - sign * p->piston_drop;
    double force = compression * bore - rebound * (bore - rod) - KP_ATMOSPHERE * rod + sign * d->friction;
    cr_assert(fabs(p->force - force) <= 1e-12 * (compression * bore + fabs(force)), "%g: %g for %g", p->speed, p->force,
              force);
    double parts = p->gas_force + p->friction_force + p->hydraulic_force;
    cr_assert(fabs(p->force - parts) <= 1e-12 * (fabs(p->force) + 1));
    double flows = p->bleed_flow + p->leak_flow + p->valve_flow + p->void_flow, driven = v * (bore - rod);
    cr_assert(fabs(flows - driven) <= 1e-12 * driven, "%g: %.17g for %.17g", p->speed, flows, driven);
    cr_assert(p->bleed_flow >= 0 && p->leak_flow >= p->couette_flow && p->valve_flow >= 0 && p->void_flow >= 0);
    double least = fmin(compression, rebound);
    if (p->cavitates) {
        cr_assert_eq(p->direction, KP_COMPRESSION);
        cr_assert(p->cavitation_margin <= 0 && fabs(least - d->release_pressure) <= 1e-9 * d->release_pressure);
    } else {
        cr_assert_eq(p->void_flow, 0);
        cr_assert(p->cavitation_margin > 0 && fabs(least - d->release_pressure - p->cavitation_margin) <= 1e-9 * gas);
    }
}

/* From creeping to absurd, with flat, dished and floating stacks, with and without bleed and leak. */
Test(curve, adds_up_from_creeping_to_absurd)
{
    const double dishes[] = {0, 0.25e-3, -0.02e-3};
    int points = 0, void_points = 0;
    for (int i = 0; i < 12; i++) {
        kp_damper_data data = fixture_van(dishes[i % 3]);
        data.bleeds[0].plugged = i / 3 % 2 ? 4 : 2;
        data.leak.clearance = i / 6 ? 0 : 30e-6;
        kp_damper *damper = van_begin(&data, 20);
        double before[2] = {0, 0};
        for (double v = 1e-4; v <= 20; v *= 1.37) {
            for (int d = 0; d < 2; d++) {
                kp_curve_point p = van_point(damper, d ? -v : v);
                check_point(damper, &p);
                double f = fabs(p.hydraulic_force);
                cr_assert(p.cavitates ? f >= before[d] : f > before[d], "%g m/s: %.17g after %.17g", v, f, before[d]);
                before[d] = f;
                points++;
                void_points += p.void_flow > 0;
            }
        }
        kp_damper_free(damper);
    }
    cr_assert(points > 700 && void_points > 50);
}

/* dF/dv against a central difference, on both sides of cracking; 0 where the force stands still. */
Test(curve, has_an_exact_slope)
{
    kp_damper_data data = fixture_van(0.25e-3);
    data.gas.charge_pressure = 4.1e6; /* far more than any van is charged with, to keep the margin out of the way */
    kp_damper *damper = van_begin(&data, 3);
    int different = 0, cases = 0;
    for (double v = 2e-4; v < 1.1; v *= 1.31) {
        for (int sign = -1; sign <= 1; sign += 2) {
            double h = 1e-5 * v;
            kp_curve_point at = van_point(damper, sign * v);
            double above = van_point(damper, sign * v + h).force, below = van_point(damper, sign * v - h).force;
            double difference = (above - below) / (2 * h);
            cr_assert(!at.cavitates && at.force_slope > 0);
            cr_assert(fabs(at.force_slope - difference) <= 5e-5 * at.force_slope + 1e-10 * fabs(at.force) / h,
                      "%g m/s: %.10g, %.10g", sign * v, at.force_slope, difference);
            different += at.force_slope != difference;
            cases++;
        }
    }
    cr_assert(different > cases / 2);
    kp_damper_free(damper);
    data.gas.charge_pressure = 0.6e6;
    damper = van_begin(&data, 3);
    kp_curve_point a = van_point(damper, 1.7), b = van_point(damper, 2.3);
    cr_assert(a.cavitates && b.cavitates);
    cr_assert_eq(a.force_slope, 0);
    cr_assert_eq(a.force, b.force);
    kp_damper_free(damper);
}

/* Nothing but a gap past the piston: the closed form, with the wall's drag once and with the flow.
   v A_f = Q(dp) + pi D c v/2. */
Test(curve, takes_the_walls_drag_once)
{
    kp_damper_data data = fixture_van(0.6e-3); /* cracks far above the pressures of this test */
    data.bleeds[0].plugged = 4;
    data.leak = (kp_leak_data){.clearance = 80e-6, .length = 0.012, .eccentricity = 0.37};
    kp_damper *damper = van_begin(&data, 1);
    kp_error error = {0};
    double nu = 0, rho = 0;
    kp_oil_viscosity(&data.oil, data.oil_temperature, &nu, &error);
    kp_oil_density(&data.oil, data.oil_temperature, &rho, &error);
    double gap = PI * data.bore * pow(80e-6, 3) / (12 * nu * rho * 0.012) * (1 + 1.5 * 0.37 * 0.37);
    double driven = area(data.bore) - area(data.rod), drag = 0.5 * PI * data.bore * 80e-6;
    for (int sign = -1; sign <= 1; sign += 2) {
        kp_curve_point p = van_point(damper, sign * 2.3e-4);
        double flow = 2.3e-4 * (driven - drag), u = flow / (PI * data.bore * 80e-6);
        double drop = flow / gap + 1.5 * 0.5 * rho * u * u; /* and the losses of the gap's two ends, 1e-4 of it here */
        cr_assert_eq(p.valve_flow, 0);
        cr_assert(fabs(p.piston_drop - drop) <= 1e-10 * drop, "%g for %g", p.piston_drop, drop);
        cr_assert(fabs(p.couette_flow - 2.3e-4 * drag) <= 1e-12 * p.couette_flow);
    }
    kp_damper_free(damper);
}

/* Laminar leakage from 20 to 80 degC follows the (dynamic) viscosity. */
Test(curve, follows_viscosity_where_it_is_laminar)
{
    kp_damper_data cold = fixture_van(0.6e-3);
    cold.bleeds[0].plugged = 4;
    cold.leak.clearance = 80e-6;
    cold.oil_temperature = 293.15;
    kp_damper_data hot = cold;
    hot.oil_temperature = 353.15;
    /* Viscosities COMPUTED for this project from ASTM D341, 15/3.8 oil: 31.05 and 5.465 mm2/s. */
    double wanted = 31.05 / 5.465 * (1 + 8.3e-4 * (353.15 - 288.15)) / (1 + 8.3e-4 * (293.15 - 288.15));
    double ratio = van_force(&cold, 1e-4) / van_force(&hot, 1e-4);
    cr_assert(fabs(ratio / wanted - 1) <= 1e-3, "%g for %g", ratio, wanted);
}

/* Charge changes gas force and margin only, as long as the margin is there. */
Test(curve, feels_charge_in_gas_force_and_margin_only)
{
    kp_damper_data data = fixture_van(0.25e-3), charged = data;
    charged.gas.charge_pressure = 2.011e6;
    kp_damper *a = van_begin(&data, 2), *b = NULL;
    kp_error error = {0};
    cr_assert_eq(kp_damper_variant(a, &charged, &b, &error), KP_OK, "%s", error.message);
    const double speeds[] = {0.031, 0.17, -0.31, -1.9};
    for (int i = 0; i < 4; i++) {
        kp_curve_point p = van_point(a, speeds[i]), q = van_point(b, speeds[i]);
        cr_assert(!p.cavitates && !q.cavitates);
        cr_assert_eq(p.hydraulic_force, q.hydraulic_force);
        cr_assert(q.gas_force > p.gas_force && q.cavitation_margin > p.cavitation_margin);
    }
    kp_curve_point p = van_point(a, 1.9), q = van_point(b, 1.9);
    cr_assert(p.cavitates && q.cavitates && q.hydraulic_force > p.hydraulic_force);
    kp_damper_free(b);
    kp_damper_free(a);
}

static void expect_same(const kp_damper *a, const kp_damper *b, double tolerance)
{
    for (double v = 3e-4; v < 2; v *= 1.7) {
        for (int sign = -1; sign <= 1; sign += 2) {
            kp_curve_point p = van_point(a, sign * v), q = van_point(b, sign * v);
            cr_assert(fabs(p.force - q.force) <= tolerance * fabs(p.hydraulic_force), "%g m/s: %.12g, %.12g", sign * v,
                      p.force, q.force);
        }
    }
}

/* A variant reads the other's tables and must give what a damper of its own gives; plugged tight, it needs more
   pressure than the shared table knows and solves anew. */
Test(curve, gives_a_variant_its_own_answer)
{
    kp_error error = {0};
    kp_damper_data data = fixture_van(0.25e-3);
    data.bleeds[0] = (kp_bleed){.ports = 16, .diameter = 5e-3, .length = 9e-3};
    kp_damper_data warm = data, plugged = data, other = data;
    kp_damper *base = van_begin(&data, 2), *variant = NULL;
    warm.oil_temperature = 341.7;
    plugged.bleeds[0].plugged = 16;
    kp_damper_data *changed[] = {&warm, &plugged};
    for (int i = 0; i < 2; i++) {
        cr_assert_eq(kp_damper_variant(base, changed[i], &variant, &error), KP_OK, "%s", error.message);
        bool shared = kp_damper_lift_table(variant, KP_REBOUND) == kp_damper_lift_table(base, KP_REBOUND);
        cr_assert_eq(shared, i == 0);
        kp_damper *own = van_begin(changed[i], 2);
        expect_same(own, variant, 1e-3); /* two tables of one stack, each interpolated */
        kp_damper_free(own);
        kp_damper_free(variant);
    }
    variant = NULL;
    other.valves[KP_REBOUND].lines[1].thickness = 0.21e-3;
    cr_assert_eq(kp_damper_variant(base, &other, &variant, &error), KP_OUT_OF_RANGE);
    cr_assert(strstr(error.message, "rebound"), "%s", error.message);
    cr_assert_null(variant);
    kp_damper_free(base);
}

/* Every size that a stack's lift depends on keeps a variant from reading another's table. */
Test(curve, shares_no_table_between_different_stacks)
{
    kp_damper_data data = fixture_van(0.25e-3);
    kp_damper *base = van_begin(&data, 1), *variant = NULL;
    enum { CHANGES = 22 };
    for (int change = 0; change < CHANGES; change++) {
        kp_damper_data other = data;
        kp_valve_data *v = &other.valves[KP_REBOUND];
        kp_shim_line *line = &v->lines[1];
        switch (change) {
        case 0:
            line->count = 2;
            break;
        case 1:
            line->outside += 1e-4;
            break;
        case 2:
            line->thickness += 1e-6;
            break;
        case 3:
            line->has_hole = true;
            line->hole = 11e-3;
            break;
        case 4:
            line->slot_count = 4;
            line->slot_width = 1e-3;
            line->has_slot_depth = true;
            line->slot_depth = 3e-3;
            break;
        case 5:
            strcpy(line->material, "bronze");
            other.material_count = 1;
            other.materials[0] = (kp_material_data){.name = "bronze", .material = {113e9, 0.34, 5e8, 6e8, 2e8}};
            break;
        case 6:
            other.material_count = 1; /* the same but for its fatigue strength: the table holds that too */
            other.materials[0] = (kp_material_data){.name = "spring steel", .material = kp_material_spring_steel()};
            other.materials[0].material.fatigue *= 1.01;
            break;
        case 7:
            v->has_hole = true;
            v->hole = 12e-3;
            break;
        case 8:
            v->grip = KP_GRIP_SLIDING;
            break;
        case 9:
            v->nut_load = 9e3;
            break;
        case 10:
            v->nut_friction = 0.11;
            break;
        case 11:
            v->has_stop = true;
            v->stop_outside = 30e-3;
            v->stop_gap = 1e-3;
            break;
        case 12:
            v->backing_count = 1;
            v->backing[0] = (kp_backing_point){20e-3, 1e-3};
            break;
        case 13:
            v->clamp_washer += 1e-4;
            break;
        case 14:
            v->dish += 1e-6;
            break;
        case 15:
            v->land_inner -= 1e-4;
            break;
        case 16:
            v->land_outer += 1e-4;
            break;
        case 17:
            v->port_inner += 1e-4;
            break;
        case 18:
            v->flatness = 0.02e-3;
            break;
        case 19:
        case 20: /* the load of an even pressure on all of the circle, from ports */
            v->has_ports = v->has_port_share = true;
            v->port_count = change == 19 ? 2 : 24;
            v->port_share = 1;
            break;
        default:
            v->load_coverage = 0.99;
            break;
        }
        kp_error error = {0};
        cr_expect_eq(kp_damper_variant(base, &other, &variant, &error), KP_OUT_OF_RANGE, "change %d", change);
        cr_expect(variant == NULL && strstr(error.message, change == 6 ? "compression" : "rebound") != NULL,
                  "change %d: %s", change, error.message);
    }
    kp_damper_free(base);
}

/* All lengths and the oil's kinematic viscosity times k: at equal pressure the same speed, forces times k squared. No
   formula of any branch passes this with a length in the wrong place. */
Test(curve, scales_with_size)
{
    const double k = 1.73;
    kp_damper_data small = fixture_van(0.25e-3), large = small;
    double *lengths[] = {&large.bore,
                         &large.rod,
                         &large.stroke,
                         &large.position,
                         &large.bleeds[0].diameter,
                         &large.bleeds[0].length,
                         &large.leak.clearance,
                         &large.leak.length};
    for (size_t i = 0; i < sizeof lengths / sizeof *lengths; i++) {
        *lengths[i] *= k;
    }
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        kp_valve_data *v = &large.valves[d];
        double *more[] = {&v->port_inner, &v->land_inner, &v->land_outer, &v->dish, &v->clamp_washer, &v->flatness};
        for (size_t i = 0; i < sizeof more / sizeof *more; i++) {
            *more[i] *= k;
        }
        v->port_area *= k * k;
        for (size_t i = 0; i < v->line_count; i++) {
            v->lines[i].outside *= k;
            v->lines[i].thickness *= k;
        }
    }
    large.gas.volume *= k * k * k;
    kp_error error = {0};
    double nu = 0;
    cr_assert_eq(kp_oil_viscosity(&small.oil, small.oil_temperature, &nu, &error), KP_OK);
    large.oil.temperature_1 = small.oil_temperature; /* a first point right at the curve's temperature */
    large.oil.viscosity_1 = k * nu;
    large.oil.viscosity_2 = 0.5 * k * nu;
    kp_damper *a = van_begin(&small, 2), *b = van_begin(&large, 2);
    for (double v = 1e-3; v < 2; v *= 1.9) {
        for (int sign = -1; sign <= 1; sign += 2) {
            double f = van_point(a, sign * v).hydraulic_force, g = van_point(b, sign * v).hydraulic_force;
            /* A folded stack is solved to some 1e-6; in that, rounding grows to 1e-8. */
            cr_assert(fabs(g / (k * k * f) - 1) <= 2e-8, "%g m/s: %.12g", sign * v, g / (k * k * f));
        }
    }
    kp_damper_free(a);
    kp_damper_free(b);
}

Test(curve, one_way_bleeds_work_one_way)
{
    kp_damper_data both = fixture_van(0.25e-3), one = both;
    one.bleeds[0].flows = KP_FLOWS_REBOUND;
    kp_damper *a = van_begin(&both, 1), *b = van_begin(&one, 1);
    cr_assert_eq(van_point(b, 0.02).bleed_flow, 0);
    cr_assert(van_point(b, 0.02).hydraulic_force > 1.2 * van_point(a, 0.02).hydraulic_force);
    cr_assert_eq(van_point(b, -0.02).hydraulic_force, van_point(a, -0.02).hydraulic_force);
    kp_damper_free(a);
    kp_damper_free(b);
}

Test(curve, refuses_with_its_outputs_unchanged)
{
    kp_damper_data good = fixture_van(0.25e-3);
    kp_damper *damper = van_begin(&good, 1.5);
    kp_error error = {0};
    kp_curve_point point = {.force = 17.25};
    const double speeds[] = {0, 1.5001, -2, NAN, INFINITY};
    for (int i = 0; i < 5; i++) {
        cr_assert_eq(kp_curve_at(damper, speeds[i], &point, &error), KP_OUT_OF_RANGE, "%g", speeds[i]);
    }
    cr_assert_eq(kp_curve_at(damper, -1.5, &point, &error), KP_OK);
    kp_damper_free(damper);

    enum { WRONG = 17 };
    kp_damper_data bad[WRONG];
    for (int i = 0; i < WRONG; i++) {
        bad[i] = good;
    }
    bad[0].rod = bad[0].bore;
    bad[1].bore = NAN;
    bad[2].position = 0.251;
    bad[3].friction = -1;
    bad[4].leak.length = 0;
    bad[5].leak.eccentricity = 1.01;
    bad[6].bleeds[0].plugged = 5;
    bad[7].bleeds[0].diameter = 0;
    bad[8].valves[KP_REBOUND].port_area = 0;
    bad[9].valves[KP_COMPRESSION].land_outer = 0.032;
    bad[10].valves[KP_COMPRESSION].curtain_coverage = 1.5;
    bad[11].valves[KP_REBOUND].velocity_head_share = NAN;
    bad[12].gas.charge_pressure = 60e3; /* below the pressure at which air is released */
    bad[13].gas.volume = 20e-6;         /* less than the rod takes */
    bad[14].oil.viscosity_2 = 20e-6;
    bad[15].oil.density = -860;
    bad[16].leak.clearance = 30e-3;
    for (int i = 0; i < WRONG; i++) {
        kp_damper *none = NULL;
        error = (kp_error){0};
        cr_assert_eq(kp_damper_begin(&bad[i], 1.5, &none, &error), KP_OUT_OF_RANGE, "wrong damper %d: %s", i,
                     error.message);
        cr_assert(error.message[0] != '\0');
        cr_assert_null(none);
    }
    kp_damper *none = NULL;
    cr_assert_eq(kp_damper_begin(&good, 0, &none, &error), KP_OUT_OF_RANGE);
    good.valves[KP_REBOUND].lines[0].count = 60;
    good.valves[KP_REBOUND].port_area = 60e-6;
    cr_assert_eq(kp_damper_begin(&good, 90, &none, &error), KP_OUT_OF_RANGE, "a pressure beyond reason");
    cr_assert(strstr(error.message, "rebound: ") && strstr(error.message, "90 m/s"), "%s", error.message);
    cr_assert_null(none);
}

/* A port so small that compression would need far more than 150 MPa if nothing cavitated: the drop stands at what the
   gas gives, and the margin is at most the one stated. In rebound nothing limits the drop, and the damper is refused.
 */
Test(curve, cavitates_where_the_full_drop_is_beyond_any_table)
{
    kp_damper_data data = fixture_van(0.25e-3);
    data.bleed_count = 0;
    data.leak.clearance = 0;
    data.valves[KP_COMPRESSION].port_area = 1e-6;
    kp_damper *damper = van_begin(&data, 2);
    double room = 0, last = 0;
    for (double v = 0.01; v < 2; v *= 2.1) {
        kp_curve_point p = van_point(damper, v);
        last = fmax(last, -p.cavitation_margin);
        room = p.compression_margin;
        cr_assert(v < 0.1 || (p.cavitates && fabs(p.piston_drop / room - 1) <= 1e-9), "%g m/s: %g of %g", v,
                  p.piston_drop, room);
    }
    cr_assert(last > 150e6);
    kp_damper_free(damper);

    data.valves[KP_REBOUND].port_area = 1e-6;
    kp_error error = {0};
    cr_assert_eq(kp_damper_begin(&data, 2, &damper, &error), KP_OUT_OF_RANGE);
    cr_assert(strstr(error.message, "rebound: ") && strstr(error.message, "120 MPa"), "%s", error.message);
}
