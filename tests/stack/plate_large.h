/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef KNEEPOINT_TESTS_PLATE_LARGE_H
#define KNEEPOINT_TESTS_PLATE_LARGE_H

#include "kneepoint/stack.h"

/* One plate of any edges, alone, with large deflection: solved by kp_stack_solve (pressure = the load) and read
    like a stack of one disc. */
kp_status plate_large_begin(const kp_plate_case *plate, const kp_stack_options *options, kp_stack_workspace **out,
                            kp_error *error);

#endif
