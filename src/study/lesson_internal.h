/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Inside the study room: the steps of a lesson. */
#ifndef KP_LESSON_INTERNAL_H
#define KP_LESSON_INTERNAL_H

#include "study/explain_internal.h"

/** lesson_steps.c: fills the steps of lesson->topic, not yet run. Errors: KP_ANSWER_NO when this damper cannot show it;
    KP_NO_MEMORY. */
kp_status kp_lesson_list(const kp_damper_data *data, kp_unit_system system, kp_lesson *lesson, kp_error *error);

#endif
