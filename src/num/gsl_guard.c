/* SPDX-License-Identifier: GPL-3.0-or-later */
/* GSL's default error handler ends the process, and there is one handler for all threads. A library must neither end
   its host nor change the host's handler, so the handler is off only while some thread of ours is inside GSL. */
#include "gsl_guard.h"

#include <pthread.h>
#include <stddef.h>

#include <gsl/gsl_errno.h>

static struct {
    pthread_mutex_t lock;      /* guards the rest                               */
    size_t inside;             /* calls of kp_gsl_enter that have not left yet  */
    gsl_error_handler_t *host; /* handler to put back; NULL is GSL's default    */
} guard = {.lock = PTHREAD_MUTEX_INITIALIZER};

/* GSL's own "off" handler does the same, but has no name by which kp_gsl_leave could recognise it. */
static void ignore(const char *reason, const char *file, int line, int code)
{
    (void)reason;
    (void)file;
    (void)line;
    (void)code;
}

void kp_gsl_enter(void)
{
    pthread_mutex_lock(&guard.lock);
    if (guard.inside++ == 0) {
        guard.host = gsl_set_error_handler(ignore);
    }
    pthread_mutex_unlock(&guard.lock);
}

void kp_gsl_leave(void)
{
    pthread_mutex_lock(&guard.lock);
    if (--guard.inside == 0) {
        gsl_error_handler_t *found = gsl_set_error_handler(guard.host);

        /* The host has set another handler while we were inside: that one stays. */
        if (found != ignore) {
            gsl_set_error_handler(found);
        }
    }
    pthread_mutex_unlock(&guard.lock);
}
