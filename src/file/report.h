/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The messages about a file, with their places, until they are sorted and handed out. */
#ifndef KP_FILE_REPORT_H
#define KP_FILE_REPORT_H

#include "kneepoint/file.h"
#include "tree.h"

enum { KP_REPORT_MAX = 100 /* [-] messages kept; the rest are counted */ };

typedef struct kp_report_item {
    kp_place place;
    bool fault;
    const char *path; /* in the arena; "" when the message is about the file */
    const char *text; /* in the arena */
    size_t sequence;  /* [-] order of arrival: messages of one place keep it */
} kp_report_item;

typedef struct kp_report {
    kp_arena *arena;
    size_t count, fault_count, left_out;
    kp_report_item items[KP_REPORT_MAX];
} kp_report;

void kp_report_fault(kp_report *report, kp_place place, const char *path, const char *format, ...) KP_PRINTF(4, 5);
void kp_report_warning(kp_report *report, kp_place place, const char *path, const char *format, ...) KP_PRINTF(4, 5);
/** Has a fault been reported at this path, above it or below it? */
bool kp_report_covers(const kp_report *report, const char *path);
/** Sorts by file, line, column and appends to messages. Returned: KP_OK without a fault, KP_BAD_INPUT with one; error
    then holds the first. Errors: KP_NO_MEMORY. */
kp_status kp_report_publish(kp_report *report, kp_messages *messages, kp_error *error);

#endif
