/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Random dampers that a workshop could put together, for tests that need no oracle. */
#ifndef KNEEPOINT_TESTS_RANDOM_DAMPER_H
#define KNEEPOINT_TESTS_RANDOM_DAMPER_H

#include "kneepoint/model.h"
#include "kneepoint/num.h"

/** A damper that kp_damper_examine finds no fault in; made from draws of the generator alone. */
kp_damper_data random_damper(kp_random *random);

#endif
