/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The stacks that live finite elements are asked about: test_ccx.c holds our lifts against theirs, tests/bench our
    time. */
#ifndef KNEEPOINT_TESTS_CASES_H
#define KNEEPOINT_TESTS_CASES_H

#include "elements.h"

typedef struct elements_case {
    const char *name;
    bool full; /* takes minutes: only under KP_FULL=1 */
    elements_contact contact;
    kp_stack stack; /* without discs, materials and counts: see elements_case_stack */
    kp_disc discs[ELEMENTS_DISCS];
    double pressures[ELEMENTS_LOADS]; /* [Pa] ascending, 0 ends them (but for a first 0) */
} elements_case;

extern const elements_case elements_cases[];
extern const size_t elements_case_count;

/** The case's stack with all that its table leaves out; discs [ELEMENTS_DISCS] must live as long as the stack.
    Returned: number of loads. */
size_t elements_case_stack(const elements_case *c, kp_stack *stack, kp_disc *discs);

#endif
