/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Inside the study room: the lift that a handbook's small deflection gives for a stack. */
#ifndef KP_STUDY_LIFT_HANDBOOK_H
#define KP_STUDY_LIFT_HANDBOOK_H

#include "kneepoint/study.h"

/** Sets small and small_edge_per_pressure of a study whose other fields are set. */
kp_status kp_lift_handbook(kp_lift_study *study, kp_error *error);

#endif
