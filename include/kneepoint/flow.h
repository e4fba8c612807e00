/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Flow branches: one kind per file in src/flow. Every branch gives flow and slope against pressure drop. */
#ifndef KNEEPOINT_FLOW_H
#define KNEEPOINT_FLOW_H

#include "kneepoint/base.h"

/** Oil at one temperature. */
typedef struct kp_flow_oil {
    double density;   /* [kg/m3] */
    double viscosity; /* [m2/s] kinematic */
} kp_flow_oil;

/** Flow and its slope. */
typedef struct kp_flow {
    double flow;  /* [m3/s] */
    double slope; /* [m3/s/Pa] d(flow)/d(drop) */
} kp_flow;

#endif
