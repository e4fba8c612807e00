/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plates of every edge against handbooks: Roark's rows and the ten-case table at small deflection, full plates and
   sliding annuli at large. The numbers, their sources and standing are in the .csv files. */
#include "kneepoint/stack.h"
#include "plate_large.h"
#include "truth.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

/* Outer radius, thickness [m]: no coefficient depends on them. Poisson's ratio of every table: 0.3. */
static const double outer = 21.3e-3, thickness = 0.17e-3;

static double rigidity(void)
{
    kp_material steel = kp_material_spring_steel();
    return steel.young * pow(thickness, 3) / (12 * (1 - steel.poisson * steel.poisson));
}

static kp_edge edge_of(const char *name)
{
    static const char *const names[] = {"free", "supported", "guided", "fixed"};
    static const kp_edge edges[] = {KP_EDGE_FREE, KP_EDGE_SUPPORTED, KP_EDGE_GUIDED, KP_EDGE_FIXED};
    for (size_t i = 0; i < 4; i++)
        if (strcmp(name, names[i]) == 0)
            return edges[i];
    cr_assert(false, "no edge is called %s", name);
    return KP_EDGE_FREE;
}

static kp_plate_case plate_of(kp_edge at_inner, kp_edge at_outer, double inner, double from, double to)
{
    return (kp_plate_case){.outer_radius = outer,
                           .inner_radius = inner,
                           .thickness = thickness,
                           .material = kp_material_spring_steel(),
                           .inner = at_inner,
                           .outer = at_outer,
                           .load_from = from,
                           .load_to = to};
}

static kp_plate_answer at(const kp_plate_case *plate, double r)
{
    kp_plate_answer answer;
    kp_error error = {0};
    cr_assert(kp_plate_small(plate, 1, r, &answer, &error) == KP_OK, "%s", error.message);
    return answer;
}

/* M_t = nu M_r + (1 - nu^2) D theta/r; the sign makes both moments of one plate alike. */
static double hoop_moment(const kp_plate_answer *a, double r)
{
    double nu = kp_material_spring_steel().poisson;
    return nu * a->radial_moment - (1 - nu * nu) * rigidity() * a->slope / r;
}

/* Roark's coefficients: deflection against the load, slope, moments, shear along r. */
static double coefficient(const kp_plate_case *plate, const char *what)
{
    double a = outer, b = plate->inner_radius;
    double load = plate->load_from == plate->load_to ? a : a * a; /* [m or m2] the moment's unit per unit load */
    kp_plate_answer in = at(plate, b), out = at(plate, a);
    if (what[0] == 'y' && strcmp(what, "ymax") != 0)
        return -(what[1] == 'a' ? out : in).lift * rigidity() / (load * a * a);
    if (strcmp(what, "theta_a") == 0 || strcmp(what, "theta_b") == 0)
        return -(what[6] == 'a' ? out : in).slope * rigidity() / (load * a);
    if (strcmp(what, "Mrb") == 0 || strcmp(what, "Mra") == 0)
        return (what[2] == 'a' ? out : in).radial_moment / load;
    if (strcmp(what, "Mtb") == 0)
        return hoop_moment(&in, b) / load;
    if (strcmp(what, "Qb") == 0)
        return in.shear / a;
    double lift = 0, moment = 0;
    for (int i = 0; i <= 2000; i++) { /* the largest, wherever it is */
        kp_plate_answer here = at(plate, i == 2000 ? a : b + (a - b) * i / 2000);
        lift = fmax(lift, here.lift);
        moment = fmax(moment, here.radial_moment);
    }
    cr_assert(strcmp(what, "ymax") == 0 || strcmp(what, "Mrmax") == 0, "%s", what);
    return what[0] == 'y' ? -lift * rigidity() / (load * a * a) : moment / load;
}

/* The edges of Roark's case letters. */
static kp_plate_case roark_case(const char *name, double inner)
{
    static const struct {
        char letter;
        kp_edge inner, outer;
    } letters[] = {{'b', KP_EDGE_GUIDED, KP_EDGE_SUPPORTED}, {'c', KP_EDGE_SUPPORTED, KP_EDGE_SUPPORTED},
                   {'d', KP_EDGE_FIXED, KP_EDGE_SUPPORTED},  {'e', KP_EDGE_FREE, KP_EDGE_FIXED},
                   {'j', KP_EDGE_FIXED, KP_EDGE_GUIDED},     {'k', KP_EDGE_SUPPORTED, KP_EDGE_FREE},
                   {'l', KP_EDGE_FIXED, KP_EDGE_FREE}};
    for (size_t i = 0; i < sizeof letters / sizeof *letters; i++)
        if (name[1] == letters[i].letter)
            return plate_of(letters[i].inner, letters[i].outer, inner, name[0] == '1' ? outer : inner, outer);
    cr_assert(false, "no case %s", name);
    return (kp_plate_case){0};
}

static size_t compare_rows(const char *file, double digits)
{
    static const struct {
        const char *column;
        double ratio;
    } columns[] = {{"b01", 0.1}, {"b03", 0.3}, {"b05", 0.5}, {"b07", 0.7}, {"b09", 0.9}};
    truth table = truth_read(file);
    size_t compared = 0;
    for (size_t row = 0; row < table.rows; row++) {
        for (size_t k = 0; k < 5; k++) {
            if (!truth_has(&table, row, columns[k].column))
                continue;
            kp_plate_case plate = roark_case(truth_text(&table, row, "case"), columns[k].ratio * outer);
            double want = truth_number(&table, row, columns[k].column);
            double got = coefficient(&plate, truth_text(&table, row, "what"));
            double allowed = digits * truth_last_digit(&table, row, columns[k].column);
            cr_expect(fabs(got - want) <= allowed, "%s, case %s, %s, b/a %g: %.6g for %g", file,
                      truth_text(&table, row, "case"), truth_text(&table, row, "what"), columns[k].ratio, got, want);
            compared++;
        }
    }
    truth_free(&table);
    return compared;
}

/* Check 6: to one digit of the print, as its rounding is not always that of the exact value; most are to half a one. */
Test(truth_edges, roark_as_printed)
{
    size_t compared = compare_rows("plate_roark_print.csv", 1.0000001);
    cr_assert(compared == 75, "%zu compared", compared);
}

/* Moments against the slope's own derivative, by a central difference: M_r = D (theta' + nu theta/r). */
Test(truth_edges, moment_is_the_derivative_of_the_slope)
{
    static const char *const cases[] = {"2b", "2c", "2d", "2e", "2j", "2k", "2l", "1j", "1k", "1l"};
    double nu = kp_material_spring_steel().poisson;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        for (double ratio = 0.13; ratio < 0.9; ratio += 0.2) {
            kp_plate_case plate = roark_case(cases[i], ratio * outer);
            double most = 0, apart = 0, h = 1e-5 * outer;
            for (double part = 0.1; part < 0.95; part += 0.1) {
                double r = ratio * outer + part * (1 - ratio) * outer;
                kp_plate_answer low = at(&plate, r - h), here = at(&plate, r), high = at(&plate, r + h);
                double bend = (high.slope - low.slope) / (2 * h);
                double moment = -rigidity() * (bend + nu * here.slope / r);
                apart = fmax(apart, fabs(moment - here.radial_moment));
                most = fmax(most, fabs(here.radial_moment));
                cr_expect(fabs((high.lift - low.lift) / (2 * h) - here.slope) <= 1e-6 * fabs(here.slope) + 1e-16,
                          "case %s, r %g: slope", cases[i], r);
            }
            cr_expect(apart <= 1e-6 * most, "case %s, b/a %g: moments %g apart of %g", cases[i], ratio, apart, most);
        }
    }
}

Test(truth_edges, roark_as_computed)
{
    size_t compared = compare_rows("plate_roark_computed.csv", 0.5000001);
    cr_assert(compared == 30, "%zu compared", compared);
}

/* Largest surface stress of the plate over load per thickness squared: 6 M. */
static double largest_moment(const kp_plate_case *plate)
{
    double most = 0, b = plate->inner_radius;
    for (int i = 0; i <= 2000; i++) {
        double r = i == 2000 ? outer : b + (outer - b) * i / 2000;
        kp_plate_answer a = at(plate, r);
        most = fmax(most, fmax(fabs(a.radial_moment), fabs(hoop_moment(&a, r))));
    }
    return most;
}

static double largest_lift(const kp_plate_case *plate)
{
    double most = 0, b = plate->inner_radius;
    for (int i = 0; i <= 2000; i++)
        most = fmax(most, fabs(at(plate, i == 2000 ? outer : b + (outer - b) * i / 2000).lift));
    return most;
}

Test(truth_edges, ten_cases)
{
    const double band = 0.015; /* [-] the print is up to 1.4 % off */
    static const struct {
        const char *column;
        double ratio;
    } columns[] = {{"r125", 1.25}, {"r15", 1.5}, {"r2", 2}, {"r3", 3}, {"r4", 4}, {"r5", 5}};
    truth table = truth_read("plate_ten_case_all.csv");
    double young = kp_material_spring_steel().young;
    size_t compared = 0;
    for (size_t row = 0; row < table.rows; row++) {
        for (size_t k = 0; k < 6; k++) {
            if (!truth_has(&table, row, columns[k].column))
                continue;
            double inner = outer / columns[k].ratio;
            const char *load = truth_text(&table, row, "load");
            bool pressed = strcmp(load, "q") == 0;
            double place = strcmp(load, "inner") == 0 ? inner : outer;
            kp_plate_case plate =
                plate_of(edge_of(truth_text(&table, row, "inner")), edge_of(truth_text(&table, row, "outer")), inner,
                         pressed ? inner : place, pressed ? outer : place);
            double unit = pressed ? outer * outer : 2 * PI * place; /* [m2]; newtons of 1 N/m */
            bool lift = truth_text(&table, row, "what")[1] == '1';
            double got = lift ? largest_lift(&plate) * young * pow(thickness, 3) / (unit * outer * outer)
                              : 6 * largest_moment(&plate) / unit;
            double want = truth_number(&table, row, columns[k].column);
            double allowed = band * want + 0.5000001 * truth_last_digit(&table, row, columns[k].column);
            cr_expect(fabs(got - want) <= allowed, "case %s, %s, a/b %g: %.5g for %g", truth_text(&table, row, "case"),
                      truth_text(&table, row, "what"), columns[k].ratio, got, want);
            compared++;
        }
    }
    cr_assert(compared == 123, "%zu compared", compared);
    truth_free(&table);
}

/* Lift over thickness, and stress a^2/(E t^2) at centre and edge, of a plate solved with large deflection. */
typedef struct large {
    double lift, centre, edge;
} large;

static large solve_full(const char *edge, double load)
{
    bool supported = strcmp(edge, "supported") == 0, held = strcmp(edge, "held") == 0;
    kp_plate_case plate = plate_of(KP_EDGE_GUIDED, supported ? KP_EDGE_SUPPORTED : KP_EDGE_FIXED, 0, 0, outer);
    plate.inner_held = true; /* the axis */
    plate.outer_held = held;
    kp_stack_options options = {.elements = 40};
    kp_stack_workspace *w = NULL;
    kp_error error = {0};
    cr_assert(plate_large_begin(&plate, &options, &w, &error) == KP_OK, "%s", error.message);
    double young = plate.material.young, ratio = thickness / outer;
    cr_assert(kp_stack_solve(w, load * young * pow(ratio, 4), KP_SEAT_ABSENT, &error) == KP_OK, "%s", error.message);
    /* The centre is looked at beside the axis, where hoop strain is a quotient of nothing by nothing. */
    kp_disc_stress centre = kp_stack_stress_at(w, 0, 1e-3 * outer), rim = kp_stack_stress_at(w, 0, outer);
    double unit = young * ratio * ratio;
    large answer = {kp_stack_lift_at(w, 0, 0) / thickness, centre.far_side_radial / unit,
                    rim.piston_side_radial / unit};
    kp_stack_free(w);
    return answer;
}

/* Full plates against von Karman's equations solved elsewhere: one disc alone, 0.3 %. */
Test(truth_edges, full_plates)
{
    const double bar = 0.003; /* [-] */
    truth table = truth_read("plate_full.csv");
    for (size_t row = 0; row < table.rows; row++) {
        const char *edge = truth_text(&table, row, "edge");
        double load = truth_number(&table, row, "load"), want = truth_number(&table, row, "lift");
        double got = solve_full(edge, load).lift;
        cr_expect(fabs(got - want) <= bar * want, "%s, q* %g: %.6g for %g", edge, load, got, want);
    }
    cr_assert(table.rows == 24);
    truth_free(&table);
}

/* Check 8: Roark 11.11, lifts by K1 and K2 to 1 % up to half a thickness and 5 % up to one. One place is beyond it by
   the formula's own error: held, half a thickness (plate_full.csv: at q* = 3 the exact lift, put into the formula,
   gives 2.964 back). Stress by K3 and K4 is rougher still, 10 % at one thickness: only the centre is compared, and at
   the edge what K3 says of small lifts; single_stress.csv is where stress is held to 2 %. */
Test(truth_edges, full_plates_by_roark)
{
    const double to_half = 0.01, to_one = 0.05, held_half = 0.012;    /* [-] lift */
    const double stress_half = 0.04, stress_one = 0.11, small = 0.01; /* [-] stress */
    truth table = truth_read("plate_full_roark.csv");
    double worst[2] = {0}, worst_stress[2] = {0};
    for (size_t row = 0; row < table.rows; row++) {
        const char *edge = truth_text(&table, row, "edge");
        double k[6];
        static const char *const names[] = {"K1", "K2", "K3_centre", "K4_centre", "K3_edge"};
        for (size_t i = 0; i < 5; i++)
            k[i] = truth_number(&table, row, names[i]);
        for (int i = 1; i <= 10; i++) {
            double y = 0.1 * i;
            large got = solve_full(edge, k[0] * y + k[1] * y * y * y);
            int far = i > 5;
            double off = fabs(got.lift / y - 1);
            double bar = far ? to_one : i == 5 && strcmp(edge, "held") == 0 ? held_half : to_half;
            worst[far] = fmax(worst[far], off);
            cr_expect(off <= bar, "%s, y/t %g: %.4f", edge, y, got.lift);
            double centre = k[2] * got.lift + k[3] * got.lift * got.lift;
            double apart = fabs(got.centre / centre - 1);
            worst_stress[far] = fmax(worst_stress[far], apart);
            cr_expect(apart <= (far ? stress_one : stress_half), "%s, y/t %g, centre: %.4f for %.4f", edge, y,
                      got.centre, centre);
        }
        double y = 0.005;
        large got = solve_full(edge, k[0] * y);
        cr_expect(fabs(got.centre / (k[2] * got.lift) - 1) <= small, "%s, centre: %.4f for %.4f", edge, got.centre,
                  k[2] * got.lift);
        cr_expect(fabs(got.edge - k[4] * got.lift) <= small * k[2] * got.lift, "%s, edge: %.4f for %.4f", edge,
                  got.edge, k[4] * got.lift);
    }
    printf("full plates by Roark 11.11: lift within %.2f %% to half a thickness, %.2f %% to one; stress %.1f %%, %.1f "
           "%%\n",
           100 * worst[0], 100 * worst[1], 100 * worst_stress[0], 100 * worst_stress[1]);
    truth_free(&table);
}

/* Check 7, sliding: inner edge clamped but free to slide radially, outer free. */
Test(truth_edges, sliding_annuli)
{
    const double bar = 0.003; /* [-] one disc alone; the table is good for 0.1 % */
    truth table = truth_read("plate_large_deflection.csv");
    size_t compared = 0;
    for (size_t row = 0; row < table.rows; row++) {
        double inner = outer * truth_number(&table, row, "inner_over_outer");
        bool rim = strcmp(truth_text(&table, row, "load"), "rim") == 0;
        kp_plate_case plate = plate_of(KP_EDGE_FIXED, KP_EDGE_FREE, inner, rim ? outer : inner, outer);
        plate.inner_held = strcmp(truth_text(&table, row, "grip"), "held") == 0;
        double linear = truth_number(&table, row, "linear_lift"), want = truth_number(&table, row, "actual_lift");
        kp_stack_workspace *w = NULL;
        kp_error error = {0};
        cr_assert(plate_large_begin(&plate, NULL, &w, &error) == KP_OK, "%s", error.message);
        double load = linear * thickness / at(&plate, outer).lift;
        cr_assert(kp_stack_solve(w, load, KP_SEAT_ABSENT, &error) == KP_OK, "%s", error.message);
        double got = kp_stack_lift_at(w, 0, outer) / thickness;
        cr_expect(fabs(got - want) <= bar * want, "b/a %g, %s, %s, linear %g: %.5f for %g", inner / outer,
                  truth_text(&table, row, "load"), truth_text(&table, row, "grip"), linear, got, want);
        kp_stack_free(w);
        compared++;
    }
    cr_assert(compared == 56, "%zu compared", compared);
    truth_free(&table);
}

/* Check 7, four discs: the finite elements are coarse, good to 1 %. */
Test(truth_edges, four_discs)
{
    const double bar = 0.01; /* [-] */
    static const double radius_mm[] = {10, 9, 8, 7};
    kp_disc discs[4];
    for (size_t i = 0; i < 4; i++)
        discs[i] = (kp_disc){.outer_radius = 1e-3 * radius_mm[i],
                             .thickness = 0.2e-3,
                             .count = 1,
                             .material = kp_material_spring_steel()};
    truth table = truth_read("stack_four_large.csv");
    double worst = 0;
    for (size_t row = 0; row < table.rows; row++) {
        bool rim = strcmp(truth_text(&table, row, "load"), "rim") == 0;
        kp_stack stack = {.clamp_radius = 5e-3,
                          .disc_count = 4,
                          .discs = discs,
                          .port_inner_radius = 5e-3,
                          .land_inner_radius = 10e-3,
                          .land_outer_radius = 10e-3,
                          .load_coverage = 1};
        kp_stack_options options = {.line_load = rim ? 1 / (2 * PI * 10e-3) : 0};
        kp_stack_workspace *w = NULL;
        kp_error error = {0};
        cr_assert(kp_stack_begin(&stack, &options, &w, &error) == KP_OK, "%s", error.message);
        double amount = truth_number(&table, row, "amount") * (rim ? 1 : 1e6);
        cr_assert(kp_stack_solve(w, amount, KP_SEAT_ABSENT, &error) == KP_OK, "%s", error.message);
        double got = 1e3 * kp_stack_lift_at(w, 0, 10e-3), want = truth_number(&table, row, "edge_lift_mm");
        worst = fmax(worst, fabs(got / want - 1));
        cr_expect(fabs(got / want - 1) <= bar, "%s %g: %.6f mm for %.6f", truth_text(&table, row, "load"), amount, got,
                  want);
        kp_stack_free(w);
    }
    printf("four discs, large deflection: within %.2f %% of coarse finite elements\n", 100 * worst);
    cr_assert(table.rows == 16);
    truth_free(&table);
}
