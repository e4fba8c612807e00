/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Names and paths of keys in messages, and keys that are refused: of what is not modelled, of another place, in other
    words of the trade, misspelt. */
#include "reader.h"

#include "manual.h"

#include <string.h>

const char *kp_inner_path(kp_reading *reading, const char *path, const char *name)
{
    const char *inner = kp_arena_print(reading->arena, "%s%s%s", path, path[0] == '\0' ? "" : ".", name);
    return inner == NULL ? "" : inner;
}

void kp_list_key_names(const kp_key_table *table, char *out, size_t size)
{
    size_t used = 0;
    out[0] = '\0';
    for (size_t i = 0; i < table->count && used < size; i++) {
        const char *between = i == 0 ? "" : i + 1 == table->count ? " or " : ", ";
        used += kp_text_print(out + used, size - used, "%s%s", between, table->keys[i].name);
    }
}

/** Finds a table in which the name is a key, for one who put it in the wrong place; out: the path to that key. */
static bool find_elsewhere(const kp_key_table *table, const char *name, const char *path, char *out, size_t size)
{
    for (size_t i = 0; i < table->count; i++) {
        const kp_key *key = &table->keys[i];
        char inner[96];
        kp_text_print(inner, sizeof inner, "%s%s%s", path, path[0] == '\0' ? "" : ".", key->name);

        if (strcmp(key->name, name) == 0) {
            kp_text_print(out, size, "%s", inner);
            return true;
        }

        /* Keys of this key's own table, where it has one, are searched at any depth. */
        const kp_key_table *inside = kp_key_inside(key);
        if (inside != NULL && find_elsewhere(inside, name, inner, out, size)) {
            return true;
        }
    }

    return false;
}

void kp_refuse_by_name(kp_reading *reading, kp_place place, const char *path, const kp_refusal *refusal)
{
    if (refusal->not_modelled) {
        kp_report_fault(reading->report, place, path,
                        "not modelled: %s cannot be worked out here; leave the key out, and do not rely on the result "
                        "for a damper that has it",
                        refusal->feature);
    } else {
        kp_report_fault(reading->report, place, path, "not in this version yet: %s; leave it out", refusal->feature);
    }
}

/** What a word of the trade is called here: by its last key, where that is possible in this table. */
static void hint_synonym(const kp_key_table *table, const char *called, char *out, size_t size)
{
    const char *last = strrchr(called, '.');
    last = last == NULL ? called : last + 1;
    const kp_key *key = kp_key_find(table, last);
    char example[700] = "";

    if (key == NULL) {
        kp_text_print(out, size, "this is called `%s`, and belongs here: %s", last, called);
        return;
    }
    kp_key_example(table, key, KP_UNITS_METRIC, example, sizeof example);
    kp_text_print(out, size, "this is called `%s`%s%s%s", last, example[0] == '\0' ? "" : "; write `", example,
                  example[0] == '\0' ? "" : "`");
}

void kp_refuse_unknown(kp_reading *reading, const kp_key_table *table, const kp_entry *entry, const char *parent)
{
    char shown[KP_TEXT_SHOWN], hint[600], elsewhere[96];
    kp_text_show(entry->key, shown, sizeof shown);
    const char *path = kp_inner_path(reading, parent, shown);
    const kp_refusal *refusal = kp_refusal_find(entry->key);

    if (refusal != NULL) {
        kp_refuse_by_name(reading, entry->key_place, path, refusal);
        return;
    }

    /* A misspelt key, a key of another place, or an unknown one. */
    const char *names[KP_FILE_KEYS_MAX];
    for (size_t i = 0; i < table->count; i++) {
        names[i] = table->keys[i].name;
    }

    const char *nearest = kp_text_nearest(entry->key, names, table->count);
    const char *called = kp_synonym_find(entry->key);
    if (called != NULL) {
        hint_synonym(table, called, hint, sizeof hint);
    } else if (find_elsewhere(&kp_damper_keys, entry->key, "", elsewhere, sizeof elsewhere)) {
        kp_text_print(hint, sizeof hint, "it belongs here: %s", elsewhere);
    } else if (nearest != NULL) {
        kp_text_print(hint, sizeof hint, "did you mean `%s`?", nearest);
    } else {
        char list[150];
        kp_list_key_names(table, list, sizeof list);
        kp_text_print(hint, sizeof hint, "possible here: %s", list);
    }

    kp_report_fault(reading->report, entry->key_place, path, "unknown key (%s)", hint);
}
