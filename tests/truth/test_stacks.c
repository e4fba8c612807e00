/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Thin stacks against finite elements: with shear out of the way contact itself is compared, every disc's edge. */
#include "kneepoint/disc.h"
#include "truth.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static const double PI = 3.14159265358979323846;
/* The finite elements are good for 0.1 %, and a sixteenth of 0.8 % is left of what plate theory leaves out. [-] */
static const double BAR = 0.0015;

enum { MAX_DISCS = 8 };

/* Solves the stack whose rows begin at first; returns the row behind its last. */
static size_t solve_stack(const truth *table, size_t first, kp_stack_workspace **out, double *amount)
{
    kp_disc discs[MAX_DISCS];
    size_t row = first;
    bool rim = strcmp(truth_text(table, first, "load"), "rim") == 0;
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
    /* A line load per unit of "pressure": the pressure's number is then the newtons on the whole circle. */
    kp_stack_options options = {.line_load = rim ? 1 / (2 * PI * discs[0].outer_radius) : 0};
    *amount = truth_number(table, first, "amount") * (rim ? 1 : 1e6);
    kp_error error = {0};
    cr_assert(kp_stack_begin(&stack, &options, out, &error) == KP_OK, "%s", error.message);
    cr_assert(kp_stack_solve(*out, *amount, KP_SEAT_ABSENT, &error) == KP_OK, "%s", error.message);
    return row;
}

Test(truth_stacks, thin_stacks_touch_as_finite_elements_do)
{
    truth table = truth_read("stack_thin.csv");
    size_t compared = 0;
    double worst = 0;
    for (size_t row = 0; row < table.rows;) {
        kp_stack_workspace *workspace = NULL;
        double amount;
        size_t first = row;
        row = solve_stack(&table, first, &workspace, &amount);
        for (size_t disc = 0; disc < row - first; disc++) {
            double want = 1e-3 * truth_number(&table, first + disc, "edge_lift_mm");
            double got =
                kp_stack_lift_at(workspace, disc, 1e-3 * truth_number(&table, first + disc, "outer_radius_mm"));
            cr_expect(fabs(got - want) <= BAR * want, "%s, %s, disc %zu: %g mm, finite elements %g mm",
                      truth_text(&table, first, "stack"), truth_text(&table, first, "load"), disc + 1, 1e3 * got,
                      1e3 * want);
            worst = fmax(worst, fabs(got / want - 1));
            compared++;
        }
        kp_stack_free(workspace);
    }
    cr_assert(compared == 18, "%zu compared", compared);
    cr_log_info("worst %.3f %%", 100 * worst);
    truth_free(&table);
}
