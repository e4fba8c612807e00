/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One plate against handbooks and against plate equations solved elsewhere: small deflection, large deflection, stress.
 */
#include "kneepoint/stack.h"
#include "truth.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

/* Outer radius, thickness [m]: no coefficient depends on them. Poisson's ratio of every table: 0.3. */
static const double outer = 19.7e-3, thickness = 0.213e-3;

/* A plate clamped inside and free outside under a unit load: a pressure [1 Pa] on the whole of it, or a line load
   [1 N/m] at its rim. */
static void solve_plate(double inner, bool rim, kp_plate_answer *at_rim, kp_plate_answer *at_clamp)
{
    kp_plate_case plate = {.outer_radius = outer,
                           .inner_radius = inner,
                           .thickness = thickness,
                           .material = kp_material_spring_steel(),
                           .inner = KP_EDGE_FIXED,
                           .outer = KP_EDGE_FREE,
                           .load_from = rim ? outer : inner,
                           .load_to = outer};
    kp_error error = {0};
    cr_assert(kp_plate_small(&plate, 1, outer, at_rim, &error) == KP_OK, "%s", error.message);
    cr_assert(kp_plate_small(&plate, 1, inner, at_clamp, &error) == KP_OK, "%s", error.message);
}

/* A magnitude against a number of a table: within relative of it, and half of its last digit. */
static void compare(const truth *table, size_t row, const char *column, double got, double relative)
{
    double want = truth_number(table, row, column);
    double allowed = relative * want + 0.5000001 * truth_last_digit(table, row, column);
    cr_expect(fabs(got - want) <= allowed, "%s row %zu, %s: %.6g for %.6g", table->name, row, column, got, want);
}

/* Cases 7 and 8 of the ten-case table: k1 (lift) and k2 (stress), six ratios. */
Test(truth_plates, ten_case_table)
{
    const double print = 0.015; /* [-] the print is up to 1.4 % off */
    truth table = truth_read("plate_ten_case.csv");
    double young = kp_material_spring_steel().young;
    for (size_t row = 0; row < table.rows; row++) {
        bool rim = truth_number(&table, row, "case") > 7.5;
        kp_plate_answer tip, clamp;
        solve_plate(outer / truth_number(&table, row, "outer_over_inner"), rim, &tip, &clamp);
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
Test(truth_plates, roark_coefficients)
{
    truth table = truth_read("plate_coefficients.csv");
    kp_material steel = kp_material_spring_steel();
    double rigidity = steel.young * pow(thickness, 3) / (12 * (1 - steel.poisson * steel.poisson));
    for (size_t row = 0; row < table.rows; row++) {
        bool rim = strcmp(truth_text(&table, row, "case"), "1l") == 0;
        kp_plate_answer tip, clamp;
        solve_plate(outer * truth_number(&table, row, "inner_over_outer"), rim, &tip, &clamp);
        double moment = rim ? outer : outer * outer; /* [m2 or m] per unit load */
        compare(&table, row, "lift", fabs(tip.lift) * rigidity / (moment * outer * outer), 0);
        compare(&table, row, "slope", fabs(tip.slope) * rigidity / (moment * outer), 0);
        compare(&table, row, "moment", fabs(clamp.radial_moment) / moment, 0);
    }
    cr_assert(table.rows == 10);
    truth_free(&table);
}

static kp_stack one_disc(const kp_disc *disc, double clamp_radius)
{
    return (kp_stack){.clamp_radius = clamp_radius,
                      .disc_count = 1,
                      .discs = disc,
                      .port_inner_radius = clamp_radius,
                      .land_inner_radius = disc->outer_radius,
                      .land_outer_radius = disc->outer_radius,
                      .load_coverage = 1};
}

/* Rim lift over thickness at a load that would lift linear x thickness by the closed form. */
static double large_lift(double inner, bool rim, double linear)
{
    kp_plate_answer tip, clamp;
    solve_plate(inner, rim, &tip, &clamp);
    kp_disc disc = {.outer_radius = outer, .thickness = thickness, .count = 1, .material = kp_material_spring_steel()};
    kp_stack stack = one_disc(&disc, inner);
    kp_stack_options options = {.line_load = rim ? 1 : 0};
    kp_stack_workspace *workspace = NULL;
    kp_error error = {0};
    cr_assert(kp_stack_begin(&stack, &options, &workspace, &error) == KP_OK, "%s", error.message);
    double load = linear * thickness / fabs(tip.lift);
    cr_assert(kp_stack_solve(workspace, load, KP_SEAT_ABSENT, &error) == KP_OK, "%s", error.message);
    double lift = kp_stack_lift_at(workspace, 0, outer) / thickness;
    kp_stack_free(workspace);
    return lift;
}

/* Large deflection, inner edge held: von Karman's equations solved elsewhere, to four thicknesses of linear lift. */
Test(truth_plates, large_deflection_of_an_annulus)
{
    const double bar = 0.003; /* [-] one disc alone; the table is good for 0.1 % */
    truth table = truth_read("plate_large_deflection.csv");
    size_t compared = 0;
    for (size_t row = 0; row < table.rows; row++) {
        if (strcmp(truth_text(&table, row, "grip"), "held") != 0)
            continue; /* "sliding" there is free; ours has the ring under the washer */
        double got =
            large_lift(outer * truth_number(&table, row, "inner_over_outer"),
                       strcmp(truth_text(&table, row, "load"), "rim") == 0, truth_number(&table, row, "linear_lift"));
        compare(&table, row, "actual_lift", got, bar);
        compared++;
    }
    cr_assert(compared == 42, "%zu compared", compared);
    truth_free(&table);
}

/* Surface stress of one disc, small to large deflection, by finite elements good for about 1 %. Components that are
   small beside the others are differences of large numbers: 2 % is of the largest of the four at that radius. */
Test(truth_plates, stress_of_one_disc)
{
    const double bar = 0.02, corner = 8.5; /* [-]; [mm] from here outward: half a millimetre off the clamp's corner */
    truth table = truth_read("single_stress.csv");
    kp_disc disc = {.outer_radius = 20e-3, .thickness = 0.2e-3, .count = 1, .material = kp_material_spring_steel()};
    kp_stack stack = one_disc(&disc, 8e-3);
    stack.port_inner_radius = 9e-3;
    stack.land_inner_radius = stack.land_outer_radius = 17e-3;
    kp_stack_workspace *workspace = NULL;
    kp_error error = {0};
    cr_assert(kp_stack_begin(&stack, NULL, &workspace, &error) == KP_OK, "%s", error.message);
    size_t compared = 0;
    for (size_t row = 0; row < table.rows; row++) {
        double radius = truth_number(&table, row, "radius_mm"), pressure = truth_number(&table, row, "pressure_MPa");
        if (radius < corner)
            continue;
        cr_assert(kp_stack_solve(workspace, 1e6 * pressure, KP_SEAT_ABSENT, &error) == KP_OK, "%s", error.message);
        kp_disc_stress got = kp_stack_stress_at(workspace, 0, 1e-3 * radius);
        const double ours[] = {got.piston_side_radial, got.piston_side_hoop, got.far_side_radial, got.far_side_hoop};
        static const char *const columns[] = {"pressure_side_radial_MPa", "pressure_side_hoop_MPa",
                                              "far_side_radial_MPa", "far_side_hoop_MPa"};
        double largest = 0;
        for (size_t i = 0; i < 4; i++)
            largest = fmax(largest, fabs(truth_number(&table, row, columns[i])));
        for (size_t i = 0; i < 4; i++) {
            double want = truth_number(&table, row, columns[i]);
            cr_expect(fabs(1e-6 * ours[i] - want) <= bar * largest, "%g MPa, radius %g mm, %s: %.2f for %.2f", pressure,
                      radius, columns[i], 1e-6 * ours[i], want);
            compared++;
        }
    }
    cr_assert(compared == 112, "%zu compared", compared);
    kp_stack_free(workspace);
    truth_free(&table);
}
