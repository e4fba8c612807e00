/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The manual of a damper file, made from the key table and a note for each key. */
#ifndef KP_FILE_MANUAL_H
#define KP_FILE_MANUAL_H

#include "keys.h"

typedef struct kp_key_note {
    const char *key;     /* "clamp.washer" */
    const char *metric;  /* example of its value; "" for a block that is made of its keys */
    const char *inch;    /* the same in inches */
    const char *without; /* what holds when it is left out; "" for a key that must be there */
    const char *measure; /* how to measure it, or where to find it */
} kp_key_note;

/** The note of a key in this table; NULL when it has none. */
const kp_key_note *kp_key_note_of(const kp_key_table *table, const kp_key *key);

/** The note of that name: "body.bore". Valid: one that there is. */
const kp_key_note *kp_key_note_named(const char *key);

/** Writes "bore: 63.5 mm", or a whole block with the keys it needs: "gas: {charge: ..., volume: 350 cm3}".
    Returned: bytes written; "" when the key has no example. */
size_t kp_key_example(const kp_key_table *table, const kp_key *key, kp_unit_system system, char *out, size_t size);

#endif
