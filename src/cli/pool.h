/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The pool of a command: see pool.c. */
#ifndef KP_CLI_POOL_H
#define KP_CLI_POOL_H

#include "cli/options.h"
#include "num/num.h"

#include <signal.h>

enum { KP_WATCHED = 3 }; /* [-] signals: INT, TERM, HUP */

typedef struct kp_watch {
    const char *what; /* "explain": stands in front of the percentage */
    int last_percent;
    bool shows, catches[KP_WATCHED];
    struct sigaction before[KP_WATCHED];
} kp_watch;

/** A pool that shows progress on standard error when that is a terminal, and stops at the first SIGINT, SIGTERM or
   SIGHUP. watch must live until kp_watch_end, which puts the signals back and wipes the line. */
kp_pool kp_watch_begin(kp_watch *watch, const char *what, const kp_options *options);
void kp_watch_end(kp_watch *watch);

#endif
