/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random stacks of the kind a workshop could build, and some that it would not. */
#ifndef KNEEPOINT_TESTS_RANDOM_STACK_H
#define KNEEPOINT_TESTS_RANDOM_STACK_H

#include "kneepoint/stack.h"
#include "num/num.h"

enum { RANDOM_LINES = 20 };

typedef struct random_stack {
    kp_stack stack; /* its discs point into this struct: do not copy it */
    kp_disc discs[RANDOM_LINES];
} random_stack;

/* 1 to 20 lines of 0.1 to 0.5 mm, 24 to 50 mm outside, dish -0.1 to 0.6 mm; some crossovers, bigger over smaller,
   spacers, loose rings, sliding grips with and without friction, stops and bevelled washers. */
void random_stack_make(kp_random *random, random_stack *out);

#endif
