/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The keys of a damper file, declared once: the reader, the nearest-name hints and the JSON Schema all follow it. */
#ifndef KP_FILE_KEYS_H
#define KP_FILE_KEYS_H

#include "kneepoint/file.h"

/** A damper while it is being read, with what the finished one does not need to remember. */
typedef struct kp_draft {
    kp_damper_data damper;
    bool position_given;
    bool release_given;
    bool charge_temperature_given, fill_temperature_given;
    int grade; /* [-] ISO VG, 0 = not given */
    bool index_given;
    double index;             /* [-] viscosity index */
    bool one_viscosity_given; /* instead of two */
    double one_viscosity;     /* [m2/s] */
    double one_viscosity_at;  /* [K] */
} kp_draft;

typedef enum kp_key_kind {
    KP_KEY_QUANTITY, /* a value with its unit -> double */
    KP_KEY_COUNT,    /* a whole number, 0 or more -> int */
    KP_KEY_TEXT,     /* words -> char[text_size] */
    KP_KEY_WORD,     /* one of words, its index -> int (an enum) */
    KP_KEY_MAP,      /* keys of their own, target moved by offset */
    KP_KEY_LIST,     /* items of one kind -> array */
    KP_KEY_NAMED,    /* names of the user's, each with an item -> array of structs that begin with
                        char[text_size], the name */
    KP_KEY_SPECIAL   /* read by special */
} kp_key_kind;

/** Grammars that are not one quantity. Read by values.c and shim_line.c. */
typedef enum kp_special {
    KP_SPECIAL_FORMAT,    /* 1 */
    KP_SPECIAL_BASED_ON,  /* a file, read before the keys */
    KP_SPECIAL_VISCOSITY, /* two temperatures, each with a viscosity -> kp_oil */
    KP_SPECIAL_DENSITY,   /* 860 kg/m3 [at 15 degC] -> kp_oil */
    KP_SPECIAL_CHARGE,    /* 14 bar gauge at 20 degC -> kp_draft */
    KP_SPECIAL_GRADE,     /* ISO VG 15 -> int */
    KP_SPECIAL_AREAS,     /* clicks, each with an area -> kp_adjuster_data */
    KP_SPECIAL_SHIM_LINE  /* 3 of 40 x 0.20 mm[, hole 12 mm][...] -> kp_shim_line */
} kp_special;

struct kp_key_table;

typedef struct kp_key {
    const char *name;
    const char *about;                 /* one line for an editor: shown beside the key */
    size_t offset;                     /* in the struct that the table's keys fill */
    size_t flag;                       /* has_flag: where the bool "was given" stands */
    size_t text_size;                  /* TEXT, NAMED */
    const char *const *words;          /* WORD, closed by NULL */
    const struct kp_key_table *inside; /* MAP */
    const struct kp_key *item;         /* LIST, NAMED: what one item is (its offset is not used) */
    size_t item_size, item_max, count; /* LIST, NAMED: of one item, how many fit, where their number goes */
    kp_key_kind kind;
    kp_dimension dimension; /* QUANTITY, and the one that LIST, SPECIAL need for hints */
    kp_special special;     /* SPECIAL */
    const char *alone;      /* MAP: a word that may stand in its place; alone_flag is then true */
    size_t alone_flag;      /* [bytes] of the bool, in the struct that holds the map */
    const char *unless;     /* required: but not where this neighbour is given; it stands for both in the schema */
    bool required;
    bool has_flag;
    bool zero_is_absent; /* QUANTITY with a flag: 0 is the same as leaving the key out */
} kp_key;

typedef struct kp_key_table {
    const char *name; /* of the array in keys.c, "body_list": the notes of the manual refer to it */
    const kp_key *keys;
    size_t count;
} kp_key_table;

/** Another name for the key `reservoir`: the tree is given that key as soon as it is parsed. */
#define KP_BASE_VALVE "base valve"

/** The whole file; offsets are in kp_draft. */
extern const kp_key_table kp_damper_keys;

/** A name that somebody may well write, of a feature that is not modelled, or not in this version. */
typedef struct kp_refusal {
    const char *name;
    bool not_modelled; /* else: not in this version yet */
    const char *feature;
} kp_refusal;
/** Ignores case, and takes - and _ for a blank. NULL when the name is none of these. */
const kp_refusal *kp_refusal_find(const char *name);

/** Is a name the same as another but for case and for -, _ and blank? */
bool kp_key_same_name(const char *a, const char *b);
/** The key of this table, in any case: `Bore` is `bore`. NULL when it has none of that name. */
const kp_key *kp_key_find(const kp_key_table *table, const char *name);
/** The table of a key's own keys, or of its items'; NULL when it has none. */
const kp_key_table *kp_key_inside(const kp_key *key);

/** Path of the key that a word of the trade means: "gas.divider" for an IFP. NULL when it is none of those. */
const char *kp_synonym_find(const char *name);

#endif
