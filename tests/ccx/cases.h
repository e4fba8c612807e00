/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The stacks that are solved with CalculiX: test_ccx.c compares the lifts, tests/bench the times. */
#ifndef KNEEPOINT_TESTS_CASES_H
#define KNEEPOINT_TESTS_CASES_H

#include "elements.h"

typedef struct elements_case {
    const char *name;
    bool full; /* takes minutes: only under KP_FULL=1 */
    elements_contact contact;
    kp_stack stack; /* without discs, materials and counts: see elements_case_stack */
    kp_disc discs[ELEMENTS_DISCS];
    double pressures[ELEMENTS_LOADS]; /* [Pa] ascending; a 0 after the first entry ends the list */
} elements_case;

extern const elements_case elements_cases[];
extern const size_t elements_case_count;

/** Completes the stack of a case with discs, materials and counts.
    Given: discs [ELEMENTS_DISCS], which the stack refers to, so that they must live as long as it.
    Returned: number of loads. */
size_t elements_case_stack(const elements_case *c, kp_stack *stack, kp_disc *discs);

#endif
