/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A test that reads past its memory: tests/run.sh must call it a failure. */
#include <criterion/criterion.h>
#include <stdlib.h>

static volatile size_t beyond = 41;

Test(harness, overrun)
{
    volatile char *memory = calloc(41, 1);
    char found = memory[beyond];
    (void)found;
    free((void *)memory);
}
