/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How fast: one load path, the finite-element decks of tests/truth beside the wall time those took, and a whole
   `kneepoint curve` process. Reports, never asserts: a shared machine's clock proves nothing.

       bench [--json] [--paths N] [--stack-only]

   --paths N only walks the load path N times (what callgrind.sh counts instructions of). */
#include "kneepoint/disc.h"
#include "truth.h"

#include <fcntl.h>
#include <math.h>
#include <spawn.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>

enum {
    LOADS = 24,        /* [-] of the load path, in geometric steps                    */
    PATH_REPEATS = 41, /* [-] odd, so that the median is one of them                   */
    PROCESS_REPEATS = 21,
    MAX_DISCS = 16,
    MAX_TIMES = 64
};
static const double path_first = 3e3, path_last = 3e6; /* [Pa] */

static double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(size_t n, double *times)
{
    qsort(times, n, sizeof *times, ascending);
    return times[n / 2];
}

static void stop(const char *what, const kp_error *error)
{
    fprintf(stderr, "bench: %s: %s\n", what, error->message);
    exit(1);
}

/* Eight distinct shims, a plain taper: the stack that the speed target is set on. */
static kp_stack eight_discs(kp_disc *discs)
{
    static const double outside[] = {40e-3, 39e-3, 38e-3, 36e-3, 34e-3, 32e-3, 28e-3, 24e-3}; /* [m] */
    size_t count = sizeof outside / sizeof outside[0];
    for (size_t i = 0; i < count; i++)
        discs[i] = (kp_disc){
            .outer_radius = outside[i] / 2, .thickness = 0.2e-3, .count = 1, .material = kp_material_spring_steel()};
    return (kp_stack){.clamp_radius = 8e-3,
                      .disc_count = count,
                      .discs = discs,
                      .port_inner_radius = 9e-3,
                      .land_inner_radius = 17e-3,
                      .land_outer_radius = 17e-3,
                      .load_coverage = 1,
                      .grip = KP_GRIP_HELD};
}

/* Seconds of one path from zero load, its set-up apart. */
static double walk(const kp_stack *stack, size_t loads, const double *pressures, kp_seat seat, double *setup)
{
    kp_error error = {0};
    kp_stack_workspace *workspace = NULL;
    double began = now();
    if (kp_stack_begin(stack, NULL, &workspace, &error) != KP_OK)
        stop("setting up the stack", &error);
    double ready = now();
    for (size_t i = 0; i < loads; i++) {
        if (kp_stack_solve(workspace, pressures[i], seat, &error) != KP_OK)
            stop("solving", &error);
    }
    double done = now();
    kp_stack_free(workspace);
    *setup = ready - began;
    return done - ready;
}

static void path_times(const kp_stack *stack, size_t loads, const double *pressures, kp_seat seat, double *path,
                       double *setup)
{
    double paths[PATH_REPEATS], setups[PATH_REPEATS];
    for (size_t i = 0; i < PATH_REPEATS; i++)
        paths[i] = walk(stack, loads, pressures, seat, &setups[i]);
    *path = median(PATH_REPEATS, paths);
    *setup = median(PATH_REPEATS, setups);
}

static void geometric_loads(double *pressures)
{
    for (int i = 0; i < LOADS; i++)
        pressures[i] = path_first * pow(path_last / path_first, (double)i / (LOADS - 1));
}

/* ---- the finite-element decks ------------------------------------------------------------------ */

static kp_stack read_deck(const truth *decks, const char *name, kp_disc *discs)
{
    kp_stack stack = {.clamp_radius = 8e-3, .discs = discs, .load_coverage = 1, .grip = KP_GRIP_HELD};
    for (size_t row = 0; row < decks->rows; row++) {
        if (strcmp(truth_text(decks, row, "deck"), name) != 0 || stack.disc_count == MAX_DISCS)
            continue;
        discs[stack.disc_count++] = (kp_disc){.outer_radius = 0.5e-3 * truth_number(decks, row, "outside_mm"),
                                              .thickness = 1e-3 * truth_number(decks, row, "thickness_mm"),
                                              .count = 1,
                                              .material = kp_material_spring_steel()};
        stack.port_inner_radius = 1e-3 * truth_number(decks, row, "port_inner_radius_mm");
        stack.land_inner_radius = stack.land_outer_radius = 1e-3 * truth_number(decks, row, "port_outer_radius_mm");
        stack.dish = 1e-3 * truth_number(decks, row, "dish_mm");
    }
    return stack;
}

static void report_decks(bool json)
{
    truth decks = truth_read("decks.csv"), times = truth_read("elements_wall_time.csv");
    for (size_t row = 0; row < times.rows; row++) {
        const char *name = truth_text(&times, row, "deck");
        char file[80];
        snprintf(file, sizeof file, "%s.csv", name);
        truth loads = truth_read(file);
        kp_disc discs[MAX_DISCS];
        kp_stack stack = read_deck(&decks, name, discs);
        double pressures[MAX_TIMES], path, setup;
        size_t count = loads.rows < MAX_TIMES ? loads.rows : MAX_TIMES;
        for (size_t i = 0; i < count; i++)
            pressures[i] = 1e6 * truth_number(&loads, i, "pressure_MPa");
        path_times(&stack, count, pressures, stack.dish > 0 ? KP_SEAT_HOLDS : KP_SEAT_ABSENT, &path, &setup);
        double elements = truth_number(&times, row, "seconds");
        if (json)
            printf("%s\n    {\"deck\": \"%s\", \"loads\": %zu, \"seconds\": %.6g, \"elements_seconds\": %g, "
                   "\"ratio\": %.6g}",
                   row == 0 ? "" : ",", name, count, path + setup, elements, elements / (path + setup));
        else
            printf("  %-8s %zu loads  %8.3f ms   finite elements %4.0f s   %9.0f times\n", name, count,
                   1e3 * (path + setup), elements, elements / (path + setup));
        truth_free(&loads);
    }
    truth_free(&decks);
    truth_free(&times);
}

/* ---- the whole process --------------------------------------------------------------------------- */

extern char **environ;

static double run_process(char *const *arguments)
{
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 1, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&actions, 2, "/dev/null", O_WRONLY, 0);
    pid_t child;
    int status = -1;
    double began = now();
    int refused = posix_spawn(&child, arguments[0], &actions, NULL, arguments, environ);
    if (refused == 0)
        waitpid(child, &status, 0);
    double seconds = now() - began;
    posix_spawn_file_actions_destroy(&actions);
    if (refused != 0 || status != 0) {
        fprintf(stderr, "bench: %s %s did not run to its end\n", arguments[0], arguments[1]);
        exit(1);
    }
    return seconds;
}

static double process_time(const char *stack_file)
{
    char program[] = KP_PROGRAM, command[] = "curve", format[] = "--format", csv[] = "csv", file[1024];
    snprintf(file, sizeof file, "%s/stacks/%s", KP_SOURCE_DIR, stack_file);
    char *arguments[] = {program, command, file, format, csv, NULL};
    double times[PROCESS_REPEATS];
    for (size_t i = 0; i < PROCESS_REPEATS; i++)
        times[i] = run_process(arguments);
    return median(PROCESS_REPEATS, times);
}

static void report_processes(bool json)
{
    static const char *const files[] = {"van-rear-linear.yaml", "van-rear-digressive.yaml"};
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        double seconds = process_time(files[i]);
        if (json)
            printf("%s\n    {\"command\": \"curve stacks/%s\", \"seconds\": %.6g}", i == 0 ? "" : ",", files[i],
                   seconds);
        else
            printf("  curve stacks/%-26s %8.2f ms\n", files[i], 1e3 * seconds);
    }
}

static void report_path(bool json)
{
    kp_disc discs[MAX_DISCS];
    kp_stack stack = eight_discs(discs);
    double pressures[LOADS], path, setup;
    geometric_loads(pressures);
    path_times(&stack, LOADS, pressures, KP_SEAT_ABSENT, &path, &setup);
    if (json)
        printf("{\n  \"path\": {\"loads\": %d, \"discs\": %zu, \"seconds\": %.6g, \"setup_seconds\": %.6g},\n", LOADS,
               stack.disc_count, path, setup);
    else
        printf("One load path, %d loads to %g MPa, %zu distinct shims (median of %d)\n"
               "  solving  %8.3f ms\n  set-up   %8.3f ms\n",
               LOADS, 1e-6 * path_last, stack.disc_count, (int)PATH_REPEATS, 1e3 * path, 1e3 * setup);
}

int main(int argc, char **argv)
{
    bool json = false, stack_only = false;
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--json") == 0) {
            json = true;
        } else if (strcmp(argv[i], "--stack-only") == 0) {
            stack_only = true;
        } else if (strcmp(argv[i], "--paths") == 0 && i + 1 < argc) {
            kp_disc discs[MAX_DISCS];
            kp_stack stack = eight_discs(discs);
            double pressures[LOADS], setup;
            geometric_loads(pressures);
            for (long n = strtol(argv[i + 1], NULL, 10); n > 0; n--)
                (void)walk(&stack, LOADS, pressures, KP_SEAT_ABSENT, &setup);
            return 0;
        } else {
            fprintf(stderr, "usage: bench [--json] [--stack-only] [--paths N]\n");
            return 2;
        }
    }
    report_path(json);
    printf(json ? "  \"decks\": [" : "The finite-element decks of tests/truth, one core each (set-up and all loads)\n");
    report_decks(json);
    if (!stack_only) {
        printf(json ? "\n  ],\n  \"processes\": [" : "Whole processes (median of %d)\n", (int)PROCESS_REPEATS);
        report_processes(json);
    }
    if (json)
        printf("\n  ]\n}\n");
    return 0;
}
