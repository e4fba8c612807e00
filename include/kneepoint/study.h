/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Studies on whole dampers. */
#ifndef KNEEPOINT_STUDY_H
#define KNEEPOINT_STUDY_H

#include "kneepoint/base.h"
#include "kneepoint/damper.h"
#include "kneepoint/model.h"

/** What differs in the parts, in words, one sentence a difference. */
typedef struct kp_differences {
    size_t count, capacity;
    char (*items)[256];
} kp_differences;
void kp_differences_free(kp_differences *differences);
/** From a to b: "compression stack: 1 of 38 x 0.20 mm added above shim 3"; "2 more bleed ports plugged". */
kp_status kp_compare_parts(const kp_damper_data *a, const kp_damper_data *b, kp_unit_system system, kp_differences *out,
                           kp_error *error);

#endif
