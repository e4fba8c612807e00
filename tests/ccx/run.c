/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs ccx on a deck in a temporary folder and reads its results. */
#include "run.h"

#include <dirent.h>
#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/* TIME_LIMIT [s]: the slowest deck takes about 40 s on a desktop processor. */
enum { TIME_LIMIT = 1200 };

void run_path(const run_folder *at, const char *name, char out[2 * RUN_PATH])
{
    snprintf(out, 2 * RUN_PATH, "%s/%s", at->path, name);
}

void run_end(const run_folder *at)
{
    DIR *open = opendir(at->path);
    for (struct dirent *entry; open && (entry = readdir(open));) {
        char path[2 * RUN_PATH];
        run_path(at, entry->d_name, path);
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0)
            unlink(path);
    }
    if (open)
        closedir(open);
    rmdir(at->path);
}

_Noreturn void run_give_up(const run_folder *at, const char *what)
{
    char path[2 * RUN_PATH], line[512];
    fprintf(stderr, "elements: %s\n", what);
    run_path(at, "log", path);
    FILE *log = fopen(path, "r");
    while (log && fgets(line, sizeof line, log)) {
        if (strstr(line, "*ERROR") || strstr(line, "diverge"))
            fputs(line, stderr);
    }
    if (log)
        fclose(log);
    run_end(at);
    exit(1);
}

bool elements_available(void)
{
    const char *path = getenv("PATH");
    for (const char *at = path ? path : ""; *at;) {
        size_t length = strcspn(at, ":");
        char file[RUN_PATH];
        snprintf(file, sizeof file, "%.*s/ccx", (int)length, at);
        if (access(file, X_OK) == 0)
            return true;
        at += length + (at[length] == ':');
    }
    return false;
}

static double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static _Noreturn void become_ccx(const run_folder *at)
{
    static char *const arguments[] = {"ccx", "-i", "deck", NULL};
    int log = -1;
    if (chdir(at->path) == 0)
        log = open("log", O_WRONLY | O_CREAT | O_TRUNC, 0600);
    if (log < 0 || dup2(log, 1) < 0 || dup2(log, 2) < 0)
        _exit(126);
    setenv("OMP_NUM_THREADS", "1", 1);
    unsetenv("CCX_NPROC_STIFFNESS");
    unsetenv("CCX_NPROC_RESULTS");
    unsetenv("NUMBER_OF_CPUS");
    alarm(TIME_LIMIT);
    execvp(arguments[0], arguments);
    _exit(127);
}

/* Processor time of all children that have ended [s]. */
static double children_seconds(void)
{
    struct rusage use;
    getrusage(RUSAGE_CHILDREN, &use);
    return (double)use.ru_utime.tv_sec + (double)use.ru_stime.tv_sec +
           1e-6 * ((double)use.ru_utime.tv_usec + (double)use.ru_stime.tv_usec);
}

elements_seconds run_ccx(const run_folder *at)
{
    double wall = now(), processor = children_seconds();
    pid_t child = fork();
    if (child == 0)
        become_ccx(at);
    int status = -1;
    if (child < 0 || waitpid(child, &status, 0) != child)
        run_give_up(at, "ccx could not be started");
    if (status != 0)
        run_give_up(at, "ccx did not run to its end");
    return (elements_seconds){now() - wall, children_seconds() - processor};
}

FILE *run_begin(run_folder *at)
{
    char path[2 * RUN_PATH];
    const char *base = getenv("TMPDIR");
    snprintf(at->path, sizeof at->path, "%s/kneepoint-ccx-XXXXXX", base && *base ? base : "/tmp");
    if (!mkdtemp(at->path)) {
        fprintf(stderr, "elements: %s cannot be made\n", at->path);
        exit(1);
    }
    run_path(at, "deck.inp", path);
    FILE *file = fopen(path, "w");
    if (!file)
        run_give_up(at, "the deck cannot be written");
    return file;
}

/* Stores the lift of one printed node. Returned: number of places it was needed for. */
static int store_lift(const elements_deck *deck, size_t node, double lift, elements_lift *out)
{
    int found = 0;
    if (node == deck->seat_node) {
        out->seat = lift;
        found++;
    }
    for (size_t k = 0; k < deck->disc_count; k++) {
        if (node == deck->edge_node[k]) {
            out->edge[k] = lift + deck->raised[k];
            found++;
        }
    }
    return found;
}

/* Reads blocks that begin with "displacements ... time T"; step n ends at T = n. A missing lift ends the test. */
static void read_lifts(const run_folder *at, const elements_deck *deck, size_t loads, elements_lift *lifts)
{
    char path[2 * RUN_PATH], line[256];
    size_t load = loads;
    int found = 0;
    run_path(at, "deck.dat", path);
    FILE *file = fopen(path, "r");
    while (file && fgets(line, sizeof line, file)) {
        const char *time = strstr(line, "time ");
        size_t node;
        double u, w;
        if (time) {
            double step = strtod(time + 5, NULL) - 1 - (double)deck->first_load;
            bool is_load = step > -0.5 && step < (double)loads - 0.5 && fabs(step - round(step)) < 1e-6;
            load = is_load ? (size_t)lround(step) : loads;
        } else if (load < loads && sscanf(line, "%zu %lf %lf", &node, &u, &w) == 3) {
            found += store_lift(deck, node, 1e-3 * w, &lifts[load]);
        }
    }
    if (file)
        fclose(file);
    if (found != (int)(loads * (deck->disc_count + 1)))
        run_give_up(at, "ccx did not print all requested lifts");
}

elements_seconds elements_solve(const kp_stack *stack, elements_contact contact, size_t loads, const double *pressures,
                                elements_lift *lifts)
{
    run_folder at;
    FILE *file = run_begin(&at);
    elements_deck deck = elements_write(file, stack, contact, loads, pressures);
    if (ferror(file) | fclose(file))
        run_give_up(&at, "the deck cannot be written");
    elements_seconds seconds = run_ccx(&at);
    read_lifts(&at, &deck, loads, lifts);
    run_end(&at);
    return seconds;
}
