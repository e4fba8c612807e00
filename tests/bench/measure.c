/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wait4 reports the memory of one child. It comes from BSD and is not in POSIX. */
#define _DEFAULT_SOURCE
#include "measure.h"

#include "num/num.h"

#include <fcntl.h>
#include <math.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { MAX_ARGUMENTS = 16 };

extern char **environ;

_Noreturn void bench_stop(const char *what, const char *why)
{
    fprintf(stderr, "bench: %s: %s\n", what, why);
    exit(1);
}

/* ---- clocks --------------------------------------------------------------------------------------- */

static double clock_of(clockid_t which)
{
    struct timespec time;
    clock_gettime(which, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

double bench_wall(void)
{
    return clock_of(CLOCK_MONOTONIC);
}

double bench_processor(void)
{
    return clock_of(CLOCK_PROCESS_CPUTIME_ID);
}

bench_spread bench_spread_of(int n, double *values)
{
    size_t count = (size_t)n;
    kp_sample_sort(count, values);
    return (bench_spread){kp_sample_quantile(count, values, 0.5).value, kp_sample_quantile(count, values, 0.1).value,
                          kp_sample_quantile(count, values, 0.9).value};
}

bench_spread bench_time(int repeats, void (*work)(void *), void *context)
{
    enum { MAX_REPEATS = 101 };
    double times[MAX_REPEATS];
    int count = repeats < MAX_REPEATS ? repeats : MAX_REPEATS;
    for (int i = 0; i < count; i++) {
        double began = bench_processor();
        work(context);
        times[i] = bench_processor() - began;
    }
    return bench_spread_of(count, times);
}

/* Cholesky factorisation of a fixed dense matrix of 96 rows, 24 times: short dot products in the first-level cache, as
   in the solver. */
void bench_yardstick(void *unused)
{
    enum { ROWS = 96, TIMES = 24 };
    static double a[ROWS][ROWS];
    static volatile double seen;
    (void)unused;
    for (int time = 0; time < TIMES; time++) {
        for (int i = 0; i < ROWS; i++) {
            for (int j = 0; j <= i; j++) {
                double sum = i == j ? ROWS + 0.37 * time : 1.0 / (1 + i - j);
                for (int k = 0; k < j; k++)
                    sum -= a[i][k] * a[j][k];
                a[i][j] = i == j ? sqrt(sum) : sum / a[j][j];
            }
        }
        seen = a[ROWS - 1][ROWS - 1];
    }
    (void)seen;
}

/* ---- processes ------------------------------------------------------------------------------------ */

static double seconds_of(struct timeval time)
{
    return (double)time.tv_sec + 1e-6 * (double)time.tv_usec;
}

/* Returned: false when the process could not be started or failed. */
static bool run(char *const *arguments, bench_process *out)
{
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 1, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&actions, 2, "/dev/null", O_WRONLY, 0);
    pid_t child;
    int status = -1;
    struct rusage use = {0};
    double began = bench_wall();
    bool started = posix_spawnp(&child, arguments[0], &actions, NULL, arguments, environ) == 0;
    if (started)
        wait4(child, &status, 0, &use);
    *out = (bench_process){bench_wall() - began, seconds_of(use.ru_utime) + seconds_of(use.ru_stime),
                           1024.0 * (double)use.ru_maxrss};
    posix_spawn_file_actions_destroy(&actions);
    return started && status == 0;
}

bench_process bench_run(char *const *arguments)
{
    bench_process process;
    if (!run(arguments, &process))
        bench_stop(arguments[0], "did not end with success");
    return process;
}

int bench_memory_helper(char *const *arguments)
{
    printf("%.0f\n", bench_run(arguments).peak_memory);
    return 0;
}

double bench_memory(char *self, char *const *arguments)
{
    char option[] = BENCH_MEMORY_OPTION;
    char *all[MAX_ARGUMENTS + 3] = {self, option};
    for (size_t i = 0; i < MAX_ARGUMENTS && arguments[i]; i++)
        all[2 + i] = arguments[i];
    int ends[2], status = -1;
    pid_t child;
    posix_spawn_file_actions_t actions;
    if (pipe(ends) != 0)
        bench_stop("peak memory", "the system gives no pipe");
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_adddup2(&actions, ends[1], 1);
    posix_spawn_file_actions_addclose(&actions, ends[0]);
    bool started = posix_spawn(&child, self, &actions, NULL, all, environ) == 0;
    posix_spawn_file_actions_destroy(&actions);
    close(ends[1]);
    FILE *from = fdopen(ends[0], "r");
    double bytes = NAN;
    bool known = from && fscanf(from, "%lf", &bytes) == 1;
    if (from)
        fclose(from);
    if (started)
        waitpid(child, &status, 0);
    if (!known || status != 0)
        bench_stop(arguments[0], "did not report its memory");
    return bytes;
}

/* ---- callgrind ------------------------------------------------------------------------------------ */

/* True when the line announces a call of watched. The file has "cfn=(number) name" the first time and "cfn=(number)"
   afterwards, each followed by "calls=N ..."; "fn=(number) name" gives a name too. number: of watched, once known. */
static bool announces_call(const char *line, const char *watched, long *number)
{
    const char *at = strncmp(line, "cfn=(", 5) == 0 ? line + 5 : strncmp(line, "fn=(", 4) == 0 ? line + 4 : NULL;
    char *end;
    if (at == NULL)
        return false;
    long found = strtol(at, &end, 10);
    if (strncmp(end, ") ", 2) == 0 && strncmp(end + 2, watched, strlen(watched)) == 0 &&
        end[2 + strlen(watched)] == '\n')
        *number = found;
    return line[0] == 'c' && found == *number;
}

static bench_count read_count(const char *path, const char *watched)
{
    bench_count count = {NAN, watched ? 0 : NAN};
    char line[4096];
    long number = -1;
    bool here = false;
    FILE *file = fopen(path, "r");
    while (file && fgets(line, sizeof line, file)) {
        if (strncmp(line, "totals: ", 8) == 0 || strncmp(line, "summary: ", 9) == 0)
            count.instructions = strtod(strchr(line, ' '), NULL);
        else if (watched && here && strncmp(line, "calls=", 6) == 0)
            count.calls += strtod(line + 6, NULL);
        else if (watched)
            here = announces_call(line, watched, &number);
    }
    if (file)
        fclose(file);
    return count;
}

bench_count bench_instructions(char *const *arguments, const char *watched)
{
    char tool[] = "--tool=callgrind", valgrind[] = "valgrind", out[600], path[512];
    char *all[MAX_ARGUMENTS + 4] = {valgrind, tool, out};
    const char *base = getenv("TMPDIR");
    snprintf(path, sizeof path, "%s/kneepoint-bench-XXXXXX", base && *base ? base : "/tmp");
    int file = mkstemp(path);
    if (file < 0)
        bench_stop(path, "cannot be made");
    close(file);
    snprintf(out, sizeof out, "--callgrind-out-file=%s", path);
    for (size_t i = 0; i < MAX_ARGUMENTS && arguments[i]; i++)
        all[3 + i] = arguments[i];
    bench_process process;
    bench_count count = {NAN, NAN};
    if (run(all, &process))
        count = read_count(path, watched);
    unlink(path);
    return count;
}
