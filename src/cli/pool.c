/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The pool of a command: threads as asked for, progress on a terminal, and a first Ctrl-C that ends the work early but
    lets the command report what was done. */
#include "cli/pool.h"

#include <errno.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* Set by the signal's handler, read by every thread: lock-free, so that a handler may touch it. */
static atomic_int interrupted;

static void on_interrupt(int number)
{
    (void)number;
    atomic_store(&interrupted, 1);
}

static bool is_interrupted(void *watcher)
{
    (void)watcher;
    return atomic_load(&interrupted) != 0;
}

static void show_progress(size_t done, size_t count, void *watcher)
{
    kp_watch *watch = watcher;
    int percent = count > 0 ? (int)(100 * done / count) : 100;
    if (percent != watch->last_percent) {
        watch->last_percent = percent;
        fprintf(stderr, "\r%s: %d %%", watch->what, percent);
    }
}

kp_pool kp_watch_begin(kp_watch *watch, const char *what, const kp_options *options)
{
    memset(watch, 0, sizeof *watch);
    watch->what = what;
    watch->last_percent = -1;

    watch->shows = isatty(STDERR_FILENO) == 1;

    /* The handler holds for one signal only, so that a program that does not stop can still be ended. */
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = on_interrupt;
    action.sa_flags = (int)SA_RESETHAND; /* a second Ctrl-C ends the program at once */
    sigemptyset(&action.sa_mask);

    watch->catches = sigaction(SIGINT, &action, &watch->before) == 0;

    return (kp_pool){.threads = options->threads,
                     .stop = is_interrupted,
                     .progress = watch->shows ? show_progress : NULL,
                     .watcher = watch};
}

void kp_watch_end(kp_watch *watch)
{
    if (watch->shows && watch->last_percent >= 0) {
        fprintf(stderr, "\r%*s\r", (int)strlen(watch->what) + 8, "");
    }
    if (watch->catches) {
        sigaction(SIGINT, &watch->before, NULL);
    }
}
