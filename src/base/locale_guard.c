/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "locale_guard.h"

kp_locale_guard kp_locale_guard_begin(void)
{
    kp_locale_guard guard = {(locale_t)0, (locale_t)0};
    guard.ours = newlocale(LC_ALL_MASK, "C", (locale_t)0); /* glibc keeps "C" ready: this allocates nothing */
    if (guard.ours != (locale_t)0) {
        guard.before = uselocale(guard.ours);
    }
    return guard;
}

void kp_locale_guard_end(kp_locale_guard guard)
{
    if (guard.ours != (locale_t)0) {
        uselocale(guard.before);
        freelocale(guard.ours);
    }
}
