/* SPDX-License-Identifier: GPL-3.0-or-later */
/* For clang-tidy only, put in front of every file by .ci/run: the analyzer looks at one file at a time, so it does not
   know that kp_error_set and kp_error_prefix give back the status they are given or hold, and sees paths on which a
   failure came back as KP_OK. This tells it. */
#include "kneepoint/base.h"

#define kp_error_set(error, status, ...) ((void)(kp_error_set)(error, status, __VA_ARGS__), (status))
