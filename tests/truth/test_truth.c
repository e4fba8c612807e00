/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The reader must return what the files contain, and must end a test that asks for anything else. */
#include "truth.h"

#include <criterion/criterion.h>
#include <criterion/new/assert.h>
#include <signal.h>

Test(truth, returns_what_the_file_contains)
{
    truth table = truth_read("pair.csv");
    cr_assert(eq(sz, table.rows, 4));
    cr_assert(eq(sz, table.columns, 3));
    cr_assert(eq(dbl, truth_number(&table, 2, "disc2_edge_lift_mm"), 0.33160));
    cr_assert(truth_has_column(&table, "pressure_MPa"));
    cr_assert(not(truth_has_column(&table, "pressure_Pa")));
    cr_assert(epsilon_eq(dbl, truth_last_digit(&table, 2, "disc2_edge_lift_mm"), 1e-5, 1e-12));
    truth_free(&table);

    truth stacks = truth_read("stack_rim_load.csv");
    cr_assert(eq(str, (char *)truth_text(&stacks, 1, "stack"), "two_equal_75"));
    cr_assert(not(truth_has(&stacks, 2, "elements_tip_mm_per_N")));
    cr_assert(epsilon_eq(dbl, truth_last_digit(&stacks, 0, "superposition_tip_mm_per_N"), 1e-7, 1e-14));
    truth_free(&stacks);
}

Test(truth, refuses_an_unknown_file, .signal = SIGABRT)
{
    truth_read("no-such-file.csv");
}

Test(truth, refuses_an_unknown_column, .signal = SIGABRT)
{
    truth table = truth_read("pair.csv");
    truth_number(&table, 0, "pressure_Pa");
}

Test(truth, refuses_a_row_too_far, .signal = SIGABRT)
{
    truth table = truth_read("pair.csv");
    truth_number(&table, 4, "pressure_MPa");
}

Test(truth, refuses_an_empty_cell_as_a_number, .signal = SIGABRT)
{
    truth table = truth_read("stack_rim_load.csv");
    truth_number(&table, 2, "elements_tip_mm_per_N");
}
