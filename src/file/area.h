/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Areas of holes and slots that are counted and measured. */
#ifndef KP_FILE_AREA_H
#define KP_FILE_AREA_H

#include "tree.h"

/** Is the text meant as NUMBER x SIZE? */
bool kp_area_is_counted(const char *text);
/** Reads `6 x 8 mm`, holes of pi/4 d^2 each, or `6 x 4 x 12 mm`, slots of width times length.
    Returned: area [m2]. Errors: KP_BAD_INPUT with what would be right; area is then unchanged. */
kp_status kp_area_read(kp_arena *arena, const char *text, double *area, kp_error *error);

#endif
