/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One disc against plate equations solved elsewhere: large deflection, stress. */
#include "kneepoint/stack.h"
#include "truth.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

/* Outer radius, thickness [m]: no coefficient depends on them. Poisson's ratio of every table: 0.3. */
static const double outer = 19.7e-3, thickness = 0.213e-3;

/* Rim lift by the closed form [m] of a plate clamped inside and free outside under a unit load: a pressure [1 Pa] on
   the whole of it, or a line load [1 N/m] at its rim. */
static double linear_lift(double inner, bool rim)
{
    kp_plate_case plate = {.outer_radius = outer,
                           .inner_radius = inner,
                           .thickness = thickness,
                           .material = kp_material_spring_steel(),
                           .inner = KP_EDGE_FIXED,
                           .outer = KP_EDGE_FREE,
                           .load_from = rim ? outer : inner,
                           .load_to = outer};
    kp_plate_answer at_rim;
    kp_error error = {0};
    cr_assert(kp_plate_small(&plate, 1, outer, &at_rim, &error) == KP_OK, "%s", error.message);
    return at_rim.lift;
}

/* A magnitude against a number of a table: within relative of it, and half of its last digit. */
static void compare(const truth *table, size_t row, const char *column, double got, double relative)
{
    double want = truth_number(table, row, column);
    double allowed = relative * want + 0.5000001 * truth_last_digit(table, row, column);
    cr_expect(fabs(got - want) <= allowed, "%s row %zu, %s: %.6g for %.6g", table->name, row, column, got, want);
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
    kp_disc disc = {.outer_radius = outer, .thickness = thickness, .count = 1, .material = kp_material_spring_steel()};
    kp_stack stack = one_disc(&disc, inner);
    kp_stack_options options = {.line_load = rim ? 1 : 0};
    kp_stack_workspace *workspace = NULL;
    kp_error error = {0};
    cr_assert(kp_stack_begin(&stack, &options, &workspace, &error) == KP_OK, "%s", error.message);
    double load = linear * thickness / fabs(linear_lift(inner, rim));
    cr_assert(kp_stack_solve(workspace, load, KP_SEAT_ABSENT, &error) == KP_OK, "%s", error.message);
    double lift = kp_stack_lift_at(workspace, 0, outer) / thickness;
    kp_stack_free(workspace);
    return lift;
}

/* Large deflection, inner edge held: von Karman's equations solved elsewhere, to four thicknesses of linear lift. */
Test(truth_plates, large_deflection_of_an_annulus)
{
    const double tolerance = 0.003; /* [-] one disc alone; the table is good for 0.1 % */
    truth table = truth_read("plate_large_deflection.csv");
    size_t compared = 0;
    for (size_t row = 0; row < table.rows; row++) {
        if (strcmp(truth_text(&table, row, "grip"), "held") != 0)
            continue; /* "sliding" there is free; ours has the ring under the washer */
        double got =
            large_lift(outer * truth_number(&table, row, "inner_over_outer"),
                       strcmp(truth_text(&table, row, "load"), "rim") == 0, truth_number(&table, row, "linear_lift"));
        compare(&table, row, "actual_lift", got, tolerance);
        compared++;
    }
    cr_assert(compared == 42, "%zu compared", compared);
    truth_free(&table);
}

/* Surface stress of one disc, small to large deflection, by finite elements good for about 1 %. Components that are
   small beside the others are differences of large numbers: 2 % is of the largest of the four at that radius. */
Test(truth_plates, stress_of_one_disc)
{
    const double tolerance = 0.02,
                 corner = 8.5; /* [-]; [mm] from here outward: half a millimetre off the clamp's corner */
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
            cr_expect(fabs(1e-6 * ours[i] - want) <= tolerance * largest, "%g MPa, radius %g mm, %s: %.2f for %.2f",
                      pressure, radius, columns[i], 1e-6 * ours[i], want);
            compared++;
        }
    }
    cr_assert(compared == 112, "%zu compared", compared);
    kp_stack_free(workspace);
    truth_free(&table);
}
