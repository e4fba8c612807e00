/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stepped stacks against superposed closed forms and finite elements: the lift of each disc's edge and the forces
   between discs. */
#include "kneepoint/stack.h"
#include "truth.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static const double PI = 3.14159265358979323846;
enum { MAX_DISCS = 8 };

/* Solves the stack whose rows begin at first. rim: amount is a force [N] on the whole circle at the face shim's edge;
   otherwise a pressure [Pa] on the whole shim. Returned: the row after the last one of the stack. */
static size_t solve_stack(const truth *table, size_t first, bool rim, double amount, kp_stack_workspace **out)
{
    kp_disc discs[MAX_DISCS];
    size_t row = first;
    for (; row < table->rows && (row == first || truth_number(table, row, "disc") > 1); row++)
        discs[row - first] = (kp_disc){.outer_radius = 1e-3 * truth_number(table, row, "outer_radius_mm"),
                                       .thickness = 1e-3 * truth_number(table, row, "thickness_mm"),
                                       .count = 1,
                                       .material = kp_material_spring_steel()};
    kp_stack stack = {.clamp_radius = 5e-3,
                      .disc_count = row - first,
                      .discs = discs,
                      .port_inner_radius = 5e-3,
                      .land_inner_radius = discs[0].outer_radius,
                      .land_outer_radius = discs[0].outer_radius,
                      .load_coverage = 1};
    /* With this line load per unit of pressure, the number passed as pressure is the force on the whole circle. */
    kp_stack_options options = {.line_load = rim ? 1 / (2 * PI * discs[0].outer_radius) : 0};
    kp_error error = {0};
    cr_assert(kp_stack_begin(&stack, &options, out, &error) == KP_OK, "%s", error.message);
    cr_assert(kp_stack_solve(*out, amount, KP_SEAT_ABSENT, &error) == KP_OK, "%s", error.message);
    return row;
}

/* Lift of a disc's edge [m]. */
static double edge_lift(const kp_stack_workspace *workspace, const truth *table, size_t row)
{
    size_t disc = (size_t)truth_number(table, row, "disc") - 1;
    return kp_stack_lift_at(workspace, disc, 1e-3 * truth_number(table, row, "outer_radius_mm"));
}

/* Force between a disc and the next [N]. */
static double force_above(const kp_stack_workspace *workspace, int disc)
{
    double force = 0;
    for (size_t i = 0; i < kp_stack_contact_count(workspace); i++) {
        kp_contact contact = kp_stack_contact(workspace, i);
        force += contact.lower == disc && contact.upper == disc + 1 ? contact.force : 0;
    }
    return force;
}

static void compare(const truth *table, size_t row, const char *column, double got, double relative)
{
    if (!truth_has(table, row, column))
        return;
    double want = truth_number(table, row, column);
    double allowed = relative * want + 0.5000001 * truth_last_digit(table, row, column);
    cr_expect(fabs(got - want) <= allowed, "%s, disc %s of %s, %s: %.6g for %.6g", table->name,
              truth_text(table, row, "disc"), truth_text(table, row, "stack"), column, got, want);
}

/* four_rising at full thickness is checked in thin_stacks below. Its last disc, 0.25 mm thick, reaches only 1.5 mm
   beyond the clamp; shear makes the finite elements 0.6 to 0.8 % softer than plate theory, and superposition lets its
   discs pass through each other. */
static bool is_stubby(const truth *table, size_t row)
{
    return strcmp(truth_text(table, row, "stack"), "four_rising") == 0;
}

Test(truth_stacks, rim_load)
{
    const double newtons = 1e-4; /* lift of about 1e-4 thicknesses: small deflection */
    /* Superposition is exact where discs touch at their rims only. Its lifts have five digits, its forces four. */
    const double exact = 1e-4, elements = 0.005; /* [-] */
    truth table = truth_read("stack_rim_load.csv");
    size_t compared = 0;
    for (size_t row = 0; row < table.rows;) {
        kp_stack_workspace *workspace = NULL;
        size_t next = solve_stack(&table, row, true, newtons, &workspace);
        for (; row < next; row++) {
            if (is_stubby(&table, row))
                continue;
            double lift = 1e3 * edge_lift(workspace, &table, row) / newtons; /* [mm/N] */
            compare(&table, row, "superposition_tip_mm_per_N", lift, exact);
            compare(&table, row, "elements_tip_mm_per_N", lift, elements);
            int disc = (int)truth_number(&table, row, "disc") - 1;
            compare(&table, row, "ring_force_ratio", force_above(workspace, disc) / newtons, exact);
            compared++;
        }
        kp_stack_free(workspace);
    }
    cr_assert(compared == 14, "%zu compared", compared);
    truth_free(&table);
}

Test(truth_stacks, pressure_load)
{
    const double pascals = 1, elements = 0.005; /* [Pa]; [-] */
    truth table = truth_read("stack_pressure_load.csv");
    size_t compared = 0;
    for (size_t row = 0; row < table.rows;) {
        kp_stack_workspace *workspace = NULL;
        size_t next = solve_stack(&table, row, false, pascals, &workspace);
        for (; row < next; row++) {
            if (is_stubby(&table, row) || !truth_has(&table, row, "elements_tip_mm_per_MPa"))
                continue;
            compare(&table, row, "elements_tip_mm_per_MPa", 1e9 * edge_lift(workspace, &table, row) / pascals,
                    elements);
            compared++;
        }
        kp_stack_free(workspace);
    }
    cr_assert(compared == 1, "%zu compared", compared);
    truth_free(&table);
}

/* In thin stacks shear is negligible and the contact itself is compared. */
Test(truth_stacks, thin_stacks)
{
    /* The finite elements are accurate to 0.1 %; a sixteenth of the 0.8 % that plate theory leaves out adds 0.05 %. */
    const double bar = 0.0015; /* [-] */
    truth table = truth_read("stack_thin.csv");
    size_t compared = 0;
    for (size_t row = 0; row < table.rows;) {
        kp_stack_workspace *workspace = NULL;
        bool rim = strcmp(truth_text(&table, row, "load"), "rim") == 0;
        double amount = truth_number(&table, row, "amount") * (rim ? 1 : 1e6);
        size_t next = solve_stack(&table, row, rim, amount, &workspace);
        for (; row < next; row++, compared++)
            compare(&table, row, "edge_lift_mm", 1e3 * edge_lift(workspace, &table, row), bar);
        kp_stack_free(workspace);
    }
    cr_assert(compared == 18, "%zu compared", compared);
    truth_free(&table);
}
