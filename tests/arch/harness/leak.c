/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A test that leaks and passes all the same, as Criterion sees it. tests/run.sh must call it a failure. */
#include <criterion/criterion.h>
#include <stdlib.h>

static char *volatile lost;

Test(harness, leak)
{
    lost = malloc(2385);
    cr_assert(lost != NULL);
    lost = NULL;
}
