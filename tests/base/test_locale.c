/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Numbers keep their point under a locale that writes a comma. The locale is made here (localedef); where it cannot be
    made the test says so and is skipped. */
#include "kneepoint/base.h"

#include <criterion/criterion.h>
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool make_comma_locale(void)
{
    static char folder[] = "/tmp/kneepoint-locale-XXXXXX";
    char command[200];
    if (mkdtemp(folder) == NULL) {
        return false;
    }
    snprintf(command, sizeof command, "localedef -i de_DE -f UTF-8 %s/de_DE.UTF-8 >/dev/null 2>&1", folder);
    bool made = system(command) == 0;
    setenv("LOCPATH", folder, 1);
    bool set = made && setlocale(LC_ALL, "de_DE.UTF-8") != NULL && strcmp(localeconv()->decimal_point, ",") == 0;
    snprintf(command, sizeof command, "rm -rf %s", folder);
    if (system(command) != 0) {
        fprintf(stderr, "%s is left behind\n", folder);
    }
    return set;
}

Test(locale, changes_no_number)
{
    if (!make_comma_locale()) {
        cr_skip_test("no locale with a decimal comma can be made here (Debian: locales)");
    }
    char proof[20];
    snprintf(proof, sizeof proof, "%.1f", 2.5);
    cr_assert_str_eq(proof, "2,5", "the locale is in force");

    kp_error error = {0};
    kp_quantity q = {0};
    double value = 0;
    char text[40];
    cr_assert(kp_number_read("2.385", &value) && value == 2.385);
    cr_assert(!kp_number_read("2,385", &value));
    kp_number_write(2.385, text, sizeof text);
    cr_assert_str_eq(text, "2.385");
    cr_assert_eq(kp_quantity_read("0.253 mm", KP_DIM_LENGTH, &q, &error), KP_OK, "%s", error.message);
    cr_assert(q.value > 0.2529e-3 && q.value < 0.2531e-3);
    kp_error_set(&error, KP_BAD_INPUT, "%.3f mm", 0.253);
    cr_assert_str_eq(error.message, "0.253 mm");
    cr_assert_str_eq(localeconv()->decimal_point, ",", "the caller's locale is as it was");
}
