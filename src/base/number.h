/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The decimal grammar, for the room's own readers. */
#ifndef KP_BASE_NUMBER_H
#define KP_BASE_NUMBER_H

#include <stdbool.h>
#include <stddef.h>

/** Length of the decimal number that text begins with; 0 when it begins with none.
    Grammar: [+-] digits [. digits] [e [+-] digits], with a digit on at least one side of the point. */
size_t kp_number_length(const char *text);
/** Value of the first length bytes, which kp_number_length has measured; false when it is not a finite double
    (1e999) or has vanished (1e-999). */
bool kp_number_value(const char *text, size_t length, double *out);

#endif
