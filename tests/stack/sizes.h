/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How many random cases: a quarter under the sanitizers, which are several times slower and look for other things. */
#ifndef KNEEPOINT_TESTS_STACK_SIZES_H
#define KNEEPOINT_TESTS_STACK_SIZES_H

#include <stdlib.h>
#include <time.h>

#if defined(__SANITIZE_ADDRESS__)
#define SANITIZED 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define SANITIZED 1
#endif
#endif
#ifndef SANITIZED
#define SANITIZED 0
#endif

/* Cases to run: as many as the full-size run asks for with KP_FULL set. */
static inline int sized(int normal, int full)
{
    return getenv("KP_FULL") ? full : SANITIZED ? normal / 8 : normal;
}

static inline double seconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

#endif
