/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A test that overflows an integer: tests/run.sh must call it a failure. */
#include <criterion/criterion.h>

static volatile int large = 2147480000;

Test(harness, undefined)
{
    large = large + 7919;
}
