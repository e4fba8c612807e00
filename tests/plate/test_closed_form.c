/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The closed forms of small deflection, for plates with every edge condition, against handbooks: Roark's table 11.2 and
   the ten-case table. The numbers, their sources and standing are in the .csv files of tests/truth. */
#include "kneepoint/plate.h"
#include "truth.h"

#include <criterion/criterion.h>
#include <math.h>
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

/* A magnitude against a number of a table: within relative of it, and half of its last digit. */
static void compare(const truth *table, size_t row, const char *column, double got, double relative)
{
    double want = truth_number(table, row, column);
    double allowed = relative * want + 0.5000001 * truth_last_digit(table, row, column);
    cr_expect(fabs(got - want) <= allowed, "%s row %zu, %s: %.6g for %.6g", table->name, row, column, got, want);
}

/* Cases 7 and 8 of the ten-case table: k1 (lift) and k2 (stress), six ratios. */
Test(plate, ten_case_table)
{
    const double print = 0.015; /* [-] the print is up to 1.4 % off */
    truth table = truth_read("plate_ten_case.csv");
    double young = kp_material_spring_steel().young;
    for (size_t row = 0; row < table.rows; row++) {
        bool rim = truth_number(&table, row, "case") > 7.5;
        double inner = outer / truth_number(&table, row, "outer_over_inner");
        kp_plate_case plate = plate_of(KP_EDGE_FIXED, KP_EDGE_FREE, inner, rim ? outer : inner, outer);
        kp_plate_answer tip = at(&plate, outer), clamp = at(&plate, inner);
        /* per q a^2 and q a^4, or per P = 2 pi a w and P a^2 */
        double force = rim ? 2 * PI * outer : outer * outer;
        double k1 = fabs(tip.lift) * young * pow(thickness, 3) / (force * outer * outer);
        double k2 = 6 * fabs(clamp.radial_moment) / force;
        compare(&table, row, "printed_k1", k1, print);
        compare(&table, row, "printed_k2", k2, print);
        compare(&table, row, "exact_k1", k1, 0);
        compare(&table, row, "exact_k2", k2, 0);
    }
    cr_assert(table.rows == 12);
    truth_free(&table);
}

/* Roark's cases 2l and 1l: rim lift, rim slope, clamp moment. */
Test(plate, roark_coefficients)
{
    truth table = truth_read("plate_coefficients.csv");
    for (size_t row = 0; row < table.rows; row++) {
        bool rim = strcmp(truth_text(&table, row, "case"), "1l") == 0;
        double inner = outer * truth_number(&table, row, "inner_over_outer");
        kp_plate_case plate = plate_of(KP_EDGE_FIXED, KP_EDGE_FREE, inner, rim ? outer : inner, outer);
        kp_plate_answer tip = at(&plate, outer), clamp = at(&plate, inner);
        double moment = rim ? outer : outer * outer; /* [m2 or m] per unit load */
        compare(&table, row, "lift", fabs(tip.lift) * rigidity() / (moment * outer * outer), 0);
        compare(&table, row, "slope", fabs(tip.slope) * rigidity() / (moment * outer), 0);
        compare(&table, row, "moment", fabs(clamp.radial_moment) / moment, 0);
    }
    cr_assert(table.rows == 10);
    truth_free(&table);
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

/* To one unit of the last printed digit, because the print is not always rounded from the exact value; most are within
   half a unit. */
Test(plate, roark_as_printed)
{
    size_t compared = compare_rows("plate_roark_print.csv", 1.0000001);
    cr_assert(compared == 75, "%zu compared", compared);
}

/* Moments against the slope's own derivative, by a central difference: M_r = D (theta' + nu theta/r). */
Test(plate, moment_is_the_derivative_of_the_slope)
{
    static const char *const cases[] = {"2b", "2c", "2d", "2e", "2j", "2k", "2l", "1j", "1k", "1l"};
    double nu = kp_material_spring_steel().poisson;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        for (double ratio = 0.13; ratio < 0.9; ratio += 0.2) {
            kp_plate_case plate = roark_case(cases[i], ratio * outer);
            double max = 0, apart = 0, h = 1e-5 * outer;
            for (double part = 0.1; part < 0.95; part += 0.1) {
                double r = ratio * outer + part * (1 - ratio) * outer;
                kp_plate_answer low = at(&plate, r - h), here = at(&plate, r), high = at(&plate, r + h);
                double bend = (high.slope - low.slope) / (2 * h);
                double moment = -rigidity() * (bend + nu * here.slope / r);
                apart = fmax(apart, fabs(moment - here.radial_moment));
                max = fmax(max, fabs(here.radial_moment));
                cr_expect(fabs((high.lift - low.lift) / (2 * h) - here.slope) <= 1e-6 * fabs(here.slope) + 1e-16,
                          "case %s, r %g: slope", cases[i], r);
            }
            cr_expect(apart <= 1e-6 * max, "case %s, b/a %g: moments %g apart of %g", cases[i], ratio, apart, max);
        }
    }
}

Test(plate, roark_as_computed)
{
    size_t compared = compare_rows("plate_roark_computed.csv", 0.5000001);
    cr_assert(compared == 30, "%zu compared", compared);
}

/* Largest surface stress of the plate over load per thickness squared: 6 M. */
static double largest_moment(const kp_plate_case *plate)
{
    double max = 0, b = plate->inner_radius;
    for (int i = 0; i <= 2000; i++) {
        double r = i == 2000 ? outer : b + (outer - b) * i / 2000;
        kp_plate_answer a = at(plate, r);
        max = fmax(max, fmax(fabs(a.radial_moment), fabs(hoop_moment(&a, r))));
    }
    return max;
}

static double largest_lift(const kp_plate_case *plate)
{
    double max = 0, b = plate->inner_radius;
    for (int i = 0; i <= 2000; i++)
        max = fmax(max, fabs(at(plate, i == 2000 ? outer : b + (outer - b) * i / 2000).lift));
    return max;
}

Test(plate, ten_cases)
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
