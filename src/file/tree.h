/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A file as a tree of nodes that know their place, and the arena that all of it lives in. */
#ifndef KP_FILE_TREE_H
#define KP_FILE_TREE_H

#include "kneepoint/base.h"

enum {
    KP_FILE_SIZE_MAX = 256 * 1024, /* [bytes] a damper file has some 2 000 */
    KP_FILE_DEPTH_MAX = 32,        /* [-] maps and lists inside each other; a damper file needs 5 */
    KP_FILE_KEYS_MAX = 256         /* [-] keys of one map, so that the search for a key given twice stays cheap */
};

/* ---- arena.c: memory of one reading, given back all at once ------------------------------------------ */

typedef struct kp_arena {
    struct kp_arena_block *blocks;
    bool failed; /* an allocation failed: the reading ends with KP_NO_MEMORY */
} kp_arena;

/** Zeroed memory, or NULL with arena->failed set. */
void *kp_arena_get(kp_arena *arena, size_t size);
char *kp_arena_text(kp_arena *arena, const char *text, size_t length);
char *kp_arena_print(kp_arena *arena, const char *format, ...) KP_PRINTF(2, 3);
void kp_arena_free(kp_arena *arena);

/** strstr that ignores capitals: " of " in "3 OF 40 X 0.20 MM". */
const char *kp_text_find_word(const char *text, const char *word);

/* ---- tree.c ---------------------------------------------------------------------------------------- */

/** Where something stands. */
typedef struct kp_place {
    const char *file; /* as the user named it, or "--set KEY" */
    int order;        /* [-] of the files in the order they were named; settings come after them */
    size_t line;      /* [-] from 1; 0 for a setting */
    size_t column;    /* [-] from 1, in characters */
} kp_place;

typedef enum kp_node_kind { KP_NODE_SCALAR, KP_NODE_MAP, KP_NODE_LIST } kp_node_kind;

struct kp_node;

/** One key of a map, or one item of a list (then key is NULL). */
typedef struct kp_entry {
    const char *key;
    kp_place key_place;
    struct kp_node *value;
} kp_entry;

typedef struct kp_node {
    kp_node_kind kind;
    kp_place place;
    const char *text; /* scalar, without NUL inside */
    bool plain;       /* scalar: written without quotes */
    bool reported;    /* its fault has been reported: nothing more is reported for it */
    size_t count, capacity;
    kp_entry *entries;
} kp_node;

kp_node *kp_node_new(kp_arena *arena, kp_node_kind kind, kp_place place);
/** Appends; false when memory ran out. */
bool kp_node_append(kp_arena *arena, kp_node *parent, const char *key, kp_place key_place, kp_node *value);
/** The entry of a map, or NULL. */
kp_entry *kp_node_find(const kp_node *map, const char *key);
/** Lays over onto base: maps merge key by key, everything else is replaced. The result may share nodes with both. */
kp_node *kp_node_merge(kp_arena *arena, kp_node *base, kp_node *over);
/** Drops every key whose value is the plain word `none`. */
void kp_node_prune(kp_node *node);

/** One step of a path: a key, or an index in a list. */
typedef struct kp_step {
    const char *key; /* NULL: index */
    size_t index;
} kp_step;

enum { KP_STEPS_MAX = 16 /* [-] of a path; piston.compression.stack[2] has 4 */ };

/** Splits "piston.bleed[0].plugged". Returns the number of steps, 0 when the text is no path. */
size_t kp_path_split(kp_arena *arena, const char *path, kp_step steps[KP_STEPS_MAX]);
/** Place of the value at a path, or of the nearest parent that exists. */
kp_place kp_path_place(kp_arena *arena, const kp_node *root, const char *path);

#endif
