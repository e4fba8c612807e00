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
    cr_assert_eq(table.column_count, 0);
    kp_table_begin(&table, &error);
    cr_assert_eq(kp_table_add_column(&table, "x", long_name, KP_DIM_NONE, 0, NULL, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(table.column_count, 0);
    kp_table_begin(&table, &error);
    cr_assert_eq(kp_table_add_column(&table, "x", "x", KP_DIM_NONE, 0, NULL, &error), KP_OK);
    cr_assert_eq(kp_table_add_row(&table, NULL, &error), KP_OK);
    cr_assert_eq(kp_table_add_column(&table, "y", "y", KP_DIM_NONE, 0, NULL, &error), KP_OUT_OF_RANGE);
    cr_assert(strstr(error.message, "`y`") != NULL);
    kp_table_free(&table);
}

Test(table, takes_a_constant_list_of_columns)
{
    static const kp_column_spec specs[] = {
        {.name = "direction", .heading = "direction", .is_text = true},
        {.name = "force", .heading = "force", .dimension = KP_DIM_FORCE, .decimals = 1},
        {.name = "seat_lift", .heading = "seat lift", .dimension = KP_DIM_LENGTH, .decimals = 3, .hidden = true},
    };
    kp_error error = {0};
    kp_table table;
    kp_table_begin(&table, NULL);
    kp_table_add_columns(&table, specs, 3);
    kp_table_add_row(&table, NULL, NULL);
    kp_table_set(&table, 0, 1, 237.5);
    kp_table_set_text(&table, 0, 0, "rebound", NULL);
    cr_assert_eq(kp_table_status(&table, &error), KP_OK);
    cr_assert(error.status == KP_OK && error.message[0] == '\0', "the caller's record is unchanged");
    cr_assert_eq(table.column_count, 3);
    cr_assert(table.columns[0].is_text && !table.columns[1].is_text && table.columns[2].hidden);
    cr_assert(table.columns[1].decimals == 1 && table.columns[2].dimension == KP_DIM_LENGTH);
    cr_assert_str_eq(table.columns[2].name, "seat_lift");
    cr_assert_str_eq(table.columns[2].heading, "seat lift");
    cr_assert_eq(table.columns[1].values[0], 237.5);
    kp_table_free(&table);
}

/* After the first failure nothing is added or set, and its status and message are what every call gives. */
Test(table, remembers_its_first_failure)
{
    static const kp_column_spec specs[] = {{.name = "x", .heading = "x"}, {.name = "y", .heading = "y"}};
    kp_error error = {0}, last = {0};
    kp_table table;
    size_t row = 9, column = 9;
    kp_table_begin(&table, NULL);
    kp_table_add_columns(&table, specs, 2);
    kp_table_add_row(&table, NULL, NULL);
    cr_assert_eq(kp_table_add_column(&table, "late", "late", KP_DIM_NONE, 0, &column, &error), KP_OUT_OF_RANGE);
    cr_assert(strstr(error.message, "`late`") != NULL && column == 0);
    cr_assert_eq(kp_table_add_text_column(&table, "later", "later", NULL, NULL), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_table_add_row(&table, &row, NULL), KP_OUT_OF_RANGE);
    cr_assert(row == 0 && table.row_count == 1 && table.column_count == 2);
    kp_table_set(&table, 0, 0, 2.385);
    kp_table_set(&table, 99, 99, 2.385);
    cr_assert(isnan(table.columns[0].values[0]));
    cr_assert_eq(kp_table_set_text(&table, 99, 99, "x", NULL), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_table_status(&table, NULL), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_table_status(&table, &last), KP_OUT_OF_RANGE);
    cr_assert_str_eq(last.message, error.message, "the first message stays");
    kp_table_free(&table);
    cr_assert_eq(kp_table_status(&table, NULL), KP_OK);
}
