/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tree.h"

#include <string.h>
#include <strings.h>

enum { FIRST_ENTRIES = 4 /* [-] most maps have 2 to 4 keys; doubled when they run out */ };

kp_node *kp_node_new(kp_arena *arena, kp_node_kind kind, kp_place place)
{
    kp_node *node = kp_arena_get(arena, sizeof *node);
    if (node != NULL) {
        node->kind = kind;
        node->place = place;
        node->text = "";
    }
    return node;
}

bool kp_node_append(kp_arena *arena, kp_node *parent, const char *key, kp_place key_place, kp_node *value)
{
    /* An arena cannot enlarge what it gave, so a full table is copied into one twice as large. */
    if (parent->count == parent->capacity) {
        size_t capacity = parent->capacity == 0 ? FIRST_ENTRIES : 2 * parent->capacity;
        kp_entry *entries = kp_arena_get(arena, capacity * sizeof *entries);
        if (entries == NULL) {
            return false;
        }

        if (parent->count > 0) {
            memcpy(entries, parent->entries, parent->count * sizeof *entries);
        }
        parent->entries = entries;
        parent->capacity = capacity;
    }

    parent->entries[parent->count++] = (kp_entry){key, key_place, value};
    return true;
}

kp_entry *kp_node_find(const kp_node *map, const char *key)
{
    for (size_t i = 0; map->kind == KP_NODE_MAP && i < map->count; i++) {
        if (strcmp(map->entries[i].key, key) == 0) {
            return &map->entries[i];
        }
    }
    return NULL;
}

kp_node *kp_node_merge(kp_arena *arena, kp_node *base, kp_node *over)
{
    if (base->kind != KP_NODE_MAP || over->kind != KP_NODE_MAP) {
        return over;
    }

    kp_node *merged = kp_node_new(arena, KP_NODE_MAP, over->place);

    /* Keys of the base, each merged with its namesake. */
    for (size_t i = 0; merged != NULL && i < base->count; i++) {
        kp_entry entry = base->entries[i];
        const kp_entry *on_top = kp_node_find(over, entry.key);

        if (on_top != NULL) {
            entry = (kp_entry){on_top->key, on_top->key_place, kp_node_merge(arena, entry.value, on_top->value)};
        }

        if (entry.value == NULL || !kp_node_append(arena, merged, entry.key, entry.key_place, entry.value)) {
            return NULL;
        }
    }

    /* Keys that only the upper one has. */
    for (size_t i = 0; merged != NULL && i < over->count; i++) {
        const kp_entry *entry = &over->entries[i];
        if (kp_node_find(base, entry->key) == NULL &&
            !kp_node_append(arena, merged, entry->key, entry->key_place, entry->value)) {
            return NULL;
        }
    }

    return merged;
}

void kp_node_prune(kp_node *node)
{
    size_t kept = 0;
    for (size_t i = 0; node->kind != KP_NODE_SCALAR && i < node->count; i++) {
        kp_node *value = node->entries[i].value;

        /* Only a plain `none` drops a key: a quoted one is text. */
        bool none = node->kind == KP_NODE_MAP && value->kind == KP_NODE_SCALAR && value->plain &&
                    strcasecmp(value->text, "none") == 0;
        if (!none) {
            kp_node_prune(value);
            node->entries[kept++] = node->entries[i];
        }
    }

    node->count = kept;
}

/** Reads "[12]"; returns the bytes used, 0 when it is no index. */
static size_t read_index(const char *text, size_t *index)
{
    enum { INDEX_DIGITS = 4 };
    size_t value = 0, at = 1;

    /* At most as many digits as keep the value far below overflow. */
    while (text[at] >= '0' && text[at] <= '9' && at <= INDEX_DIGITS) {
        value = 10 * value + (size_t)(text[at] - '0');
        at++;
    }

    if (at == 1 || text[at] != ']') {
        return 0;
    }

    *index = value;
    return at + 1;
}

size_t kp_path_split(kp_arena *arena, const char *path, kp_step steps[KP_STEPS_MAX])
{
    size_t count = 0;
    const char *at = path;

    for (;;) {
        size_t length = strcspn(at, ".[");
        if (length == 0 || count == KP_STEPS_MAX) {
            return 0;
        }

        /* A key, then any number of indices. */
        steps[count++] = (kp_step){kp_arena_text(arena, at, length), 0};

        if (steps[count - 1].key == NULL) {
            return 0;
        }
        at += length;

        while (*at == '[') {
            size_t index = 0, used = read_index(at, &index);
            if (used == 0 || count == KP_STEPS_MAX) {
                return 0;
            }
            steps[count++] = (kp_step){NULL, index};
            at += used;
        }

        if (*at == '\0') {
            return count;
        }

        if (*at != '.') {
            return 0;
        }
        at++;
    }
}

kp_place kp_path_place(kp_arena *arena, const kp_node *root, const char *path)
{
    kp_step steps[KP_STEPS_MAX];
    size_t count = kp_path_split(arena, path, steps);
    kp_place place = root->place;
    const kp_node *node = root;

    for (size_t i = 0; i < count; i++) {
        const kp_entry *entry = NULL;

        /* A step is a key of a map or an index of a list; the place of the last one that is found is kept. */
        if (steps[i].key != NULL) {
            entry = kp_node_find(node, steps[i].key);
        } else if (node->kind == KP_NODE_LIST && steps[i].index < node->count) {
            entry = &node->entries[steps[i].index];
        }

        if (entry == NULL) {
            break;
        }

        node = entry->value;

        /* A value is pointed at itself; a map or a list is pointed at by its key. */
        place = node->kind == KP_NODE_SCALAR || entry->key == NULL ? node->place : entry->key_place;
    }

    return place;
}

const char *kp_text_find_word(const char *text, const char *word)
{
    size_t length = strlen(word);
    for (; *text != '\0'; text++) {
        if (strncasecmp(text, word, length) == 0) {
            return text;
        }
    }
    return NULL;
}
