/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The pool of a command: threads as asked for, progress on a terminal, and a first signal to end (Ctrl-C, TERM, HUP)
    that ends the work early but lets the command report what was done. */
#include "cli/pool.h"

#include <errno.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* Set by the signal's handler, read by every thread: lock-free, so that a handler may touch it. */
static atomic_int interrupted;

static const int watched[KP_WATCHED] = {SIGINT, SIGTERM, SIGHUP};

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
    action.sa_flags = (int)SA_RESETHAND; /* a second of its kind ends the program at once */
    sigemptyset(&action.sa_mask);

    for (size_t i = 0; i < KP_WATCHED; i++) {
        watch->catches[i] = sigaction(watched[i], &action, &watch->before[i]) == 0;
        if (watch->catches[i] && watched[i] == SIGHUP && watch->before[i].sa_handler == SIG_IGN) {
            sigaction(SIGHUP, &watch->before[i], NULL); /* nohup: the work goes on without its terminal */
        }
    }

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
    for (size_t i = 0; i < KP_WATCHED; i++) {
        if (watch->catches[i]) {
            sigaction(watched[i], &watch->before[i], NULL);
        }
    }
}
