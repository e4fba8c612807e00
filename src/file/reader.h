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

/* ---- unknown_key.c ----------------------------------------------------------------------------------------- */

/** Returned: the path of a key inside another, `body.bore`; "" when memory ran out. */
const char *kp_inner_path(kp_reading *reading, const char *path, const char *name);
/** Writes the names of a table's keys, "a, b or c", cut when there are many. */
void kp_list_key_names(const kp_key_table *table, char *out, size_t size);
/** Reports what is not modelled, or not in this version. */
void kp_refuse_by_name(kp_reading *reading, kp_place place, const char *path, const kp_refusal *refusal);
/** Reports an entry that is no key of the table, with a hint at what may have been meant. */
void kp_refuse_unknown(kp_reading *reading, const kp_key_table *table, const kp_entry *entry, const char *parent);

/* ---- quantity.c -------------------------------------------------------------------------------------------- */

/** Reads a text as a quantity of the dimension; false when it is none (then a fault was reported, or the arena has
    failed). */
bool kp_read_quantity(kp_reading *reading, const char *text, kp_dimension dimension, kp_place place, const char *path,
                      kp_quantity *out);
/** Reads "14 bar gauge at 20 degC". *at_given: a temperature was there; without one *at [K] is unchanged. */
bool kp_read_quantity_at(kp_reading *reading, const kp_node *node, kp_dimension dimension, const char *path,
                         kp_quantity *value, double *at, bool *at_given);
/** Keeps the quantity's tolerance, when it has one, for a number of the draft. */
void kp_keep_tolerance(kp_reading *reading, const kp_quantity *quantity, kp_place place, const char *path,
                       const double *number);

/* ---- shim_line.c, values.c --------------------------------------------------------------------------------- */

void kp_read_shim_line(kp_reading *reading, const kp_node *node, const char *path, kp_shim_line *line);
/** Reads one value of a grammar of its own. target: the struct that the key's comment in keys.h names. */
void kp_read_special(kp_reading *reading, const kp_key *key, const kp_node *node, const char *path, void *target);

#endif
