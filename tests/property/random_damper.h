/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Random dampers that a workshop could put together, for tests that need no oracle. */
#ifndef KNEEPOINT_TESTS_RANDOM_DAMPER_H
#define KNEEPOINT_TESTS_RANDOM_DAMPER_H

#include "kneepoint/model.h"
#include "num/num.h"

/* Under the sanitizers, which are four times slower and check other things, a quarter is enough. */
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

/** A damper that kp_damper_validate finds no fault in; made from draws of the generator alone. */
kp_damper_data random_damper(kp_random *random);
/** The same, two in five of its stacks with holes, sliding grip, slots, a material, a backing washer, a loose ring or a
    spacer. */
kp_damper_data random_special_damper(kp_random *random);
/** Gives it every kind of hydraulic part by chance: jets, check valves, adjusters, a reservoir. with_stacks false:
   plates on springs in the stacks' place, so that preparing it costs next to nothing. */
void random_hydraulics(kp_random *random, kp_damper_data *damper, bool with_stacks);

#endif
