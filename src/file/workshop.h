/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Values as a workshop has them. */
#ifndef KP_FILE_WORKSHOP_H
#define KP_FILE_WORKSHOP_H

#include "reader.h"

/** Reads `15 cSt at 40 degC` into the draft. */
void kp_workshop_viscosity(kp_reading *reading, const kp_node *node, const char *path);
/** The oil of the draft's one viscosity, with its index or an assumed one. Accuracy: rounding at that temperature;
    elsewhere as good as the index. */
void kp_workshop_complete_oil(kp_reading *reading);
/** Sizes that the file leaves out and that have a default, each with a warning. */
void kp_workshop_complete_sizes(kp_reading *reading);

#endif
