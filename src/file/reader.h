/* SPDX-License-Identifier: GPL-3.0-or-later */
/** From a tree to a damper, led by the key tables. */
#ifndef KP_FILE_READER_H
#define KP_FILE_READER_H

#include "keys.h"
#include "report.h"

typedef struct kp_reading {
    kp_arena *arena;
    kp_report *report;
    kp_draft *draft;
    const kp_node *root; /* for places of parents */
} kp_reading;

/** Reads the whole tree into reading->draft. Every fault goes to the report. */
void kp_file_fill_damper(kp_reading *reading, const kp_node *root);

/** values.c: reads one special value. target: the struct that the key's comment in keys.h names. */
void kp_read_special(kp_reading *reading, const kp_key *key, const kp_node *node, const char *path, void *target);
/** values.c: text as a quantity, faults reported. */
bool kp_read_quantity(kp_reading *reading, const char *text, kp_dimension dimension, kp_place place, const char *path,
                      kp_quantity *out);
/** values.c: keeps the tolerance of a number of the draft, when it has one. */
void kp_keep_tolerance(kp_reading *reading, const kp_quantity *quantity, kp_place place, const char *path,
                       const double *number);

#endif
