/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Everything there is to say about a file, with places, until it is put in order and handed out. */
#ifndef KP_FILE_REPORT_H
#define KP_FILE_REPORT_H

#include "kneepoint/file.h"
#include "tree.h"

enum { KP_REPORT_MOST = 100 /* [-] messages kept; nobody reads more */ };

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
    kp_report_item items[KP_REPORT_MOST];
} kp_report;

void kp_report_add(kp_report *report, bool fault, kp_place place, const char *path, const char *format, ...)
    KP_PRINTF(5, 6);
/** Has a fault been reported at this path, above it or below it? */
bool kp_report_covers(const kp_report *report, const char *path);
/** Sorts by file, line, column and appends to messages. error gets the first fault. */
kp_status kp_report_publish(kp_report *report, kp_messages *messages, kp_error *error);

#endif
