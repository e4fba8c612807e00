/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Files: YAML in, and every message with its place. */
#ifndef KNEEPOINT_FILE_H
#define KNEEPOINT_FILE_H

#include "kneepoint/base.h"
#include "kneepoint/model.h"

KP_BEGIN_DECLARATIONS

/** One message with its place, ready to print: "stacks/trial.yaml:14:9: piston.compression.stack[2]: ...". */
typedef struct kp_message {
    bool fault; /* else a warning */
    char text[768];
} kp_message;

/** Zero it before use; kp_messages_free gives its memory back. */
typedef struct kp_messages {
    size_t count, capacity;
    kp_message *items; /* [count] in order of file, line, column */
} kp_messages;

/** Frees the items; the record is then as zeroed. */
KP_API void kp_messages_free(kp_messages *messages);

/** Reads a damper file, or a trial with all that it is based on, fills the defaults and validates the damper.
    Given:    path, or "-" for standard input
    Given:    settings [setting_count], each laid over the file: "piston.compression.dish=0.3 mm"
    Returned: out; messages, to which every fault and warning is appended
    Valid:    UTF-8, at most 256 KiB a file, YAML without anchors, tags and merge keys
    Errors:   KP_BAD_INPUT, the faults are among the messages and error holds the first; KP_SYSTEM; KP_NO_MEMORY. out is
              then unchanged */
KP_API kp_status kp_file_read_damper(const char *path, const char *const *settings, size_t setting_count,
                                     kp_damper_data *out, kp_messages *messages, kp_error *error);

KP_END_DECLARATIONS

#endif
