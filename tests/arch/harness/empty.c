/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A test program with no test in it: tests/run.sh must call it a failure. */
#include <criterion/criterion.h>

TestSuite(harness);
