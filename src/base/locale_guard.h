/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Puts the calling thread into the "C" locale for a moment, so that numbers have a point and not a comma.
    Why per thread and not setlocale: a library must not change the locale of the program that uses it. */
#ifndef KP_BASE_LOCALE_GUARD_H
#define KP_BASE_LOCALE_GUARD_H

#include <locale.h>

typedef struct kp_locale_guard {
    locale_t ours, before; /* both (locale_t)0 when the "C" locale could not be had; then nothing was changed */
} kp_locale_guard;

kp_locale_guard kp_locale_guard_begin(void);
void kp_locale_guard_end(kp_locale_guard guard);

#endif
