/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Files: YAML in, with places for every message. libyaml stays in this room. */
#ifndef KNEEPOINT_FILE_H
#define KNEEPOINT_FILE_H

#include "kneepoint/base.h"
#include "kneepoint/model.h"

/** One message with its place, ready to print: "stacks/trial.yaml:14:9: piston.compression.stack[2]: ...". */
typedef struct kp_message {
    bool fault; /* else a warning */
    char text[768];
} kp_message;

typedef struct kp_messages {
    size_t count, capacity;
    kp_message *items; /* in order of file, line, column */
} kp_messages;

void kp_messages_free(kp_messages *messages);

/** Reads a damper or trial file (with what it is based on), applies settings ("piston.compression.dish=0.3 mm"),
    fills defaults, examines. Every fault and warning goes to messages. Outputs unchanged on error.
    Returns KP_OK, KP_BAD_INPUT (faults are in messages; error holds the first), KP_SYSTEM. */
kp_status kp_file_read_damper(const char *path, const char *const *settings, size_t setting_count, kp_damper_data *out,
                              kp_messages *messages, kp_error *error);

#endif
