/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Where bytes come from, the chain of `based on`, and settings. */
#ifndef KP_FILE_SOURCE_H
#define KP_FILE_SOURCE_H

#include "report.h"

enum { KP_CHAIN_MAX = 16 /* [-] files based on each other; a trial of a trial of a baseline has 3 */ };

/** The bytes of a file. */
typedef struct kp_bytes {
    char *bytes; /* in the arena */
    size_t size;
    const char *identity; /* two names of one file have the same identity */
} kp_bytes;

/** Opens a file by name. KP_BAD_INPUT with the reason when it cannot be read; KP_SYSTEM; KP_NO_MEMORY. */
typedef kp_status kp_opener(void *context, kp_arena *arena, const char *path, kp_bytes *out, kp_error *error);

/** The opener of the real file system; context is not used. */
kp_status kp_source_open(void *context, kp_arena *arena, const char *path, kp_bytes *out, kp_error *error);

/** The opener of `-`, standard input, and of the files that it is based on. context: a bool that is true until standard
    input has been read. */
kp_status kp_source_open_standard(void *context, kp_arena *arena, const char *path, kp_bytes *out, kp_error *error);

/** A file and all that it is based on. */
typedef struct kp_source {
    kp_opener *open;
    void *context;
    kp_arena *arena;
    kp_report *report;
    const char *identities[KP_CHAIN_MAX];
    const char *paths[KP_CHAIN_MAX];
    size_t depth;     /* [-] files read so far; it orders their messages */
    kp_status status; /* KP_OK, KP_SYSTEM or KP_NO_MEMORY */
    kp_error error;
} kp_source;

/** Reads the file and everything it is based on into one tree. NULL when it cannot be: then a fault was reported, or
    status is not KP_OK. */
kp_node *kp_source_read(kp_source *source, const char *path);

/** setting.c: lays "piston.compression.dish=0.3 mm" over the tree; faults go to the report. order: of the place. */
void kp_setting_apply(kp_arena *arena, kp_report *report, kp_node *root, const char *setting, int order);

#endif
