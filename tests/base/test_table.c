/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kneepoint/base.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

Test(table, keeps_numbers_and_texts)
{
    kp_error error = {0};
    kp_table table;
    size_t direction = 9, force = 9, row = 9;
    cr_assert_eq(kp_table_begin(&table, &error), KP_OK);
    cr_assert_eq(kp_table_add_text_column(&table, "direction", "direction", &direction, &error), KP_OK);
    cr_assert_eq(kp_table_add_column(&table, "force", "force", KP_DIM_FORCE, 1, &force, &error), KP_OK);
    cr_assert(direction == 0 && force == 1);
    for (size_t i = 0; i < 1000; i++) {
        cr_assert_eq(kp_table_add_row(&table, &row, &error), KP_OK);
        cr_assert_eq(row, i);
        cr_assert(isnan(table.columns[force].values[row]), "no value until one is set");
        cr_assert(table.columns[direction].texts[row] == NULL);
        kp_table_set(&table, row, force, 237.5 * (double)i);
        cr_assert_eq(kp_table_set_text(&table, row, direction, i % 2 == 0 ? "compression" : "rebound", &error), KP_OK);
    }
    cr_assert_eq(kp_table_set_text(&table, 7, direction, "second", &error), KP_OK);
    cr_assert_eq(table.row_count, 1000);
    cr_assert_eq(table.columns[force].values[999], 237.5 * 999);
    cr_assert_str_eq(table.columns[direction].texts[998], "compression");
    cr_assert_str_eq(table.columns[direction].texts[7], "second");
    cr_assert(table.columns[force].dimension == KP_DIM_FORCE && table.columns[force].decimals == 1);
    kp_table_free(&table);
    cr_assert(table.columns == NULL && table.row_count == 0);
    kp_table_free(&table);
}

Test(table, refuses_what_does_not_fit)
{
    kp_error error = {0};
    kp_table table;
    char long_name[60];
    memset(long_name, 'n', sizeof long_name - 1);
    long_name[sizeof long_name - 1] = '\0';
    kp_table_begin(&table, &error);
    cr_assert_eq(kp_table_add_column(&table, long_name, "x", KP_DIM_NONE, 0, NULL, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_table_add_column(&table, "x", long_name, KP_DIM_NONE, 0, NULL, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(table.column_count, 0);
    cr_assert_eq(kp_table_add_column(&table, "x", "x", KP_DIM_NONE, 0, NULL, &error), KP_OK);
    cr_assert_eq(kp_table_add_row(&table, NULL, &error), KP_OK);
    cr_assert_eq(kp_table_add_column(&table, "y", "y", KP_DIM_NONE, 0, NULL, &error), KP_OUT_OF_RANGE);
    cr_assert(strstr(error.message, "`y`") != NULL);
    kp_table_free(&table);
}
