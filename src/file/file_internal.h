/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The whole reading with its file system as an argument, so that tests and the fuzz target can bring their own. */
#ifndef KP_FILE_INTERNAL_H
#define KP_FILE_INTERNAL_H

#include "kneepoint/file.h"
#include "source.h"

kp_status kp_file_read_damper_from(kp_opener *open, void *context, const char *path, const char *const *settings,
                                   size_t setting_count, kp_damper_data *out, kp_messages *messages, kp_error *error);

#endif
