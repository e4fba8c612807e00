/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Slotted shims, held round, beside three-dimensional finite elements of the slots themselves:
   tests/truth/slots_3d.csv, rows below the load at which the shim folds. */
#include "simple.h"
#include "truth.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Own error of the elements 0.2 %. They leave the slots open, and load the metal that is left, as we do. */
Test(slots, lift_as_in_three_dimensions)
{
    const double bar = 0.04; /* [-] measured: 3.3 % at the land, 3.8 % at the edge */
    truth table = truth_read("slots_3d.csv");
    int rows = 0;
    double worst_land = 0, worst_edge = 0;
    for (size_t row = 0; row < table.rows; row++) {
        if (strcmp(truth_text(&table, row, "folds"), "no") != 0)
            continue;
        kp_disc disc = shim(1, 2 * truth_number(&table, row, "outer_radius"), truth_number(&table, row, "thickness"));
        disc.slot_count = (int)truth_number(&table, row, "N");
        disc.slot_width = 1e-3 * truth_number(&table, row, "width");
        disc.slot_inner = 1e-3 * truth_number(&table, row, "slot_inner");
        kp_stack stack = stack_of(&disc, 1);
        stack.clamp_radius = 1e-3 * truth_number(&table, row, "clamp");
        stack.port_inner_radius = 1e-3 * truth_number(&table, row, "port_inner");
        stack.land_inner_radius = stack.land_outer_radius = 1e-3 * truth_number(&table, row, "port_outer");
        double pressure = 1e6 * truth_number(&table, row, "pressure");
        kp_stack_workspace *w = begin(&stack, NULL);
        kp_error error = {0};
        cr_assert(kp_stack_solve(w, pressure, KP_SEAT_ABSENT, &error) == KP_OK, "%s", error.message);
        double land = 1e3 * kp_stack_seat_lift(w) / truth_number(&table, row, "land_mean") - 1;
        double edge = 1e3 * kp_stack_lift_at(w, 0, disc.outer_radius) / truth_number(&table, row, "edge_mean") - 1;
        printf("%d x %g from %g at %g MPa: land %+.2f %%, edge %+.2f %%\n", disc.slot_count, 1e3 * disc.slot_width,
               1e3 * disc.slot_inner, 1e-6 * pressure, 100 * land, 100 * edge);
        worst_land = fmax(worst_land, fabs(land));
        worst_edge = fmax(worst_edge, fabs(edge));
        rows++;
        kp_stack_free(w);
    }
    truth_free(&table);
    printf("slots: %d rows, land within %.2f %%, edge within %.2f %%\n", rows, 100 * worst_land, 100 * worst_edge);
    cr_expect(rows == 35 && worst_land <= bar && worst_edge <= bar, "%d rows, %g, %g", rows, worst_land, worst_edge);
}

/* No hoop stress crosses a slot, so little is left between many; and none of what a plate's hoop would carry at the
   edge may pass for the largest stress of the shim. */
Test(slots, hoop_is_nearly_free_of_stress)
{
    kp_disc disc = shim(1, 40, 0.2);
    double hoop[2];
    for (int k = 0; k < 2; k++) {
        disc.slot_count = k == 0 ? 0 : 8;
        disc.slot_width = 2e-3;
        disc.slot_inner = 12e-3;
        kp_stack stack = stack_of(&disc, 1);
        kp_stack_workspace *w = begin(&stack, NULL);
        double stress, radius;
        solve_at(w, 0.5e6, KP_SEAT_ABSENT);
        hoop[k] = kp_stack_stress_at(w, 0, 18e-3).far_side_hoop;
        kp_stack_peak_stress(w, 0, &stress, &radius, NULL);
        cr_expect(radius < 8.5e-3, "%d slots: %g MPa at %g mm", disc.slot_count, 1e-6 * stress, 1e3 * radius);
        kp_stack_free(w);
    }
    cr_expect(hoop[0] < 0 && fabs(hoop[1]) < 0.4 * fabs(hoop[0]), "%g and %g MPa", 1e-6 * hoop[0], 1e-6 * hoop[1]);
}
