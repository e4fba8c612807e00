/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Umbrella of the public API. */
#ifndef KNEEPOINT_KNEEPOINT_H
#define KNEEPOINT_KNEEPOINT_H

#include "kneepoint/base.h"
#include "kneepoint/damper.h"
#include "kneepoint/draw.h"
#include "kneepoint/file.h"
#include "kneepoint/fluid.h"
#include "kneepoint/lift.h"
#include "kneepoint/model.h"
#include "kneepoint/plate.h"
#include "kneepoint/stack.h"
#include "kneepoint/study.h"

#endif
