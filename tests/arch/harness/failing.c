/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One test that passes, one whose assertion fails, one that crashes: tests/run.sh must count 1 and 2. */
#include <criterion/criterion.h>
#include <criterion/new/assert.h>
#include <math.h>
#include <stdlib.h>

Test(harness, passing)
{
    cr_assert(epsilon_eq(dbl, 2.385e5, 2.385e5, 1e-3));
}

Test(harness, failing)
{
    cr_assert(epsilon_eq(dbl, (double)NAN, 2.385e5, 1e-3)); /* NaN must not compare as near */
}

Test(harness, crashing)
{
    abort();
}
