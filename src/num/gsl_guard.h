/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Private to src/num: GSL's error handler is switched off around our own calls and then put back. */
#ifndef KNEEPOINT_NUM_GSL_GUARD_H
#define KNEEPOINT_NUM_GSL_GUARD_H

/** Stand around every GSL call that can raise an error, from any thread, nested or not.
    Given:    each kp_gsl_enter is followed by one kp_gsl_leave of the same thread
    Returned: between the two GSL returns its error codes and calls no handler; after the last kp_gsl_leave the handler
              is the one that the first kp_gsl_enter found, or the one that the host has set in the meantime
    Valid:    GSL has one handler for the whole process. A thread of the host that calls GSL while one of ours is
              between the two finds the handler off: its errors come back as codes only. */
void kp_gsl_enter(void);
void kp_gsl_leave(void);

#endif
