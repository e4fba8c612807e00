/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A test whose child process leaks and whose exit status it ignores, as a test of the program might. tests/run.sh must
   call it a failure. */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

static char *volatile lost;

Test(harness, child)
{
    pid_t child = fork();
    if (child == 0) {
        lost = malloc(2385);
        lost = NULL;
        exit(0);
    }
    cr_assert(child > 0);
    waitpid(child, NULL, 0);
}
