/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "slips.h"

#include "keys.h"

#include <string.h>

typedef struct mending {
    kp_arena *arena;
    kp_report *report;
} mending;

/** A fault with the line as it should be typed. */
static void report_slip(const mending *in, kp_place place, const char *path, kp_slip slip, const char *typed)
{
    kp_report_fault(in->report, place, path, "%s; type `%.300s`", kp_slip_cause(slip), typed);
}

static const char *inner_path(const mending *in, const char *path, const char *name)
{
    const char *inner = kp_arena_print(in->arena, "%s%s%.60s", path, path[0] == '\0' ? "" : ".", name);
    return inner == NULL ? "" : inner;
}

/** "key: value" as it would be typed. */
static const char *line_of(const mending *in, const char *key, const char *value)
{
    const char *line = key == NULL ? value : kp_arena_print(in->arena, "%.60s: %.250s", key, value);
    return line == NULL ? "" : line;
}

static bool is_plain(const kp_node *node)
{
    return node->kind == KP_NODE_SCALAR && node->plain;
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool ends_in_digit(const char *text)
{
    size_t length = strlen(text);
    return length > 0 && is_digit(text[length - 1]);
}

static void remove_entry(kp_node *node, size_t index)
{
    memmove(&node->entries[index], &node->entries[index + 1], (node->count - index - 1) * sizeof node->entries[0]);
    node->count--;
}

/* ---- one value ------------------------------------------------------------------------------------------------- */

/** Mends the signs of a value. key: NULL for one of a list. */
static void mend_value(const mending *in, kp_node *node, const char *key, const char *path)
{
    const char *mended = NULL;
    if (node->kind != KP_NODE_SCALAR || node->reported) {
        return;
    }
    kp_slip slip = kp_slip_mend_signs(in->arena, node->text, &mended);
    if (slip != KP_SLIP_NONE && mended != NULL) {
        report_slip(in, node->place, path, slip, line_of(in, key, mended));
        node->text = mended;
    }
}

/** A decimal comma that YAML took for the end of a value in brackets: {bore: 63,5 mm} is the value 63 and the key 5 mm,
    [2 of 40 x 0,20 mm] two items. */
static void join_comma(const mending *in, kp_node *node, size_t index, const char *path)
{
    if (index + 1 >= node->count) {
        return;
    }
    kp_entry *entry = &node->entries[index];
    const kp_entry *next = &node->entries[index + 1];
    bool map = node->kind == KP_NODE_MAP;
    const char *rest = map ? next->key : next->value->text;
    bool alone = is_plain(next->value) && (map ? next->value->text[0] == '\0' : strpbrk(rest, "xX:") == NULL);

    if (!is_plain(entry->value) || !ends_in_digit(entry->value->text) || !alone || !is_digit(rest[0])) {
        return;
    }
    const char *joined = kp_arena_print(in->arena, "%s.%s", entry->value->text, rest);
    if (joined != NULL) {
        report_slip(in, entry->value->place, path, KP_SLIP_COMMA, line_of(in, entry->key, joined));
        entry->value->text = joined;
        remove_entry(node, index + 1);
    }
}

/** A list whose lines begin with bullets is one long text: it becomes the list that was meant. */
static void split_bullets(const mending *in, kp_node *node, const char *path)
{
    size_t bullet = is_plain(node) ? kp_slip_bullet(node->text) : 0;
    if (bullet == 0 || node->reported) {
        return;
    }

    kp_node made = {.kind = KP_NODE_LIST, .place = node->place, .text = ""};
    for (const char *at = node->text + bullet; *at != '\0';) {
        const char *end = at;
        while (*end != '\0' && !(*end == ' ' && kp_slip_bullet(end + 1) > 0)) {
            end++;
        }
        kp_node *item = kp_node_new(in->arena, KP_NODE_SCALAR, node->place);
        if (item == NULL) {
            return;
        }
        item->text = kp_arena_text(in->arena, at, (size_t)(end - at));
        item->plain = true;
        if (item->text == NULL || !kp_node_append(in->arena, &made, NULL, node->place, item)) {
            return;
        }
        at = *end == '\0' ? end : end + 1 + kp_slip_bullet(end + 1);
    }

    if (made.count > 0) {
        const char *typed = kp_arena_print(in->arena, "- %.250s", made.entries[0].value->text);
        report_slip(in, node->place, path, KP_SLIP_BULLET, typed == NULL ? "" : typed);
        *node = made;
    }
}

/* ---- keys ------------------------------------------------------------------------------------------------------ */

/** {bore:63.5 mm} is one long key without a value. */
static void split_key(const mending *in, kp_entry *entry, const char *path)
{
    const char *colon = is_plain(entry->value) && entry->value->text[0] == '\0' ? kp_slip_colon(entry->key) : NULL;
    if (colon == NULL || entry->value->reported) {
        return;
    }
    const char *key = kp_arena_text(in->arena, entry->key, (size_t)(colon - entry->key));
    if (key != NULL) {
        entry->value->text = colon + 1;
        report_slip(in, entry->key_place, inner_path(in, path, key), KP_SLIP_COLON, line_of(in, key, colon + 1));
        entry->key = key;
    }
}

/** Signs in a key, and a bullet in front of it. */
static void mend_key(const mending *in, kp_entry *entry, const char *path)
{
    const char *mended = NULL;
    kp_slip slip = kp_slip_mend_signs(in->arena, entry->key, &mended);
    if (mended == NULL) {
        return;
    }
    while (slip != KP_SLIP_NONE && *mended == ' ') {
        mended++;
    }
    size_t bullet = kp_slip_bullet(mended);
    slip = bullet > 0 ? KP_SLIP_BULLET : slip;
    if (slip == KP_SLIP_NONE || mended[bullet] == '\0') {
        return;
    }

    const char *value = entry->value->kind == KP_NODE_SCALAR ? entry->value->text : "...";
    const char *typed = kp_arena_print(in->arena, "%s%.60s: %.250s", bullet > 0 ? "- " : "", mended + bullet, value);
    report_slip(in, entry->key_place, inner_path(in, path, mended + bullet), slip, typed == NULL ? "" : typed);
    entry->key = mended + bullet;
}

/** The table's spelling of a key in capitals, unless that is there too. */
static void take_capitals(const kp_key_table *table, const kp_node *node, kp_entry *entry)
{
    const kp_key *key = kp_key_find(table, entry->key);
    if (key != NULL && kp_node_find(node, key->name) == NULL) {
        entry->key = key->name;
    }
}

/* ---- the tree -------------------------------------------------------------------------------------------------- */

static void mend_map(const mending *in, const kp_key_table *table, kp_node *node, const char *path);

static void mend_list(const mending *in, const kp_key *item, kp_node *node, const char *path)
{
    for (size_t i = 0; i < node->count; i++) {
        const char *inner = kp_arena_print(in->arena, "%s[%zu]", path, i);
        if (inner == NULL) {
            return;
        }
        if (item->kind == KP_KEY_MAP) {
            mend_map(in, item->inside, node->entries[i].value, inner);
        } else {
            join_comma(in, node, i, inner);
            mend_value(in, node->entries[i].value, NULL, inner);
        }
    }
}

/** The value of a key whose kind is known; NULL: a key of the user's, or of a grammar of its own. */
static void mend_entry(const mending *in, const kp_key *key, kp_entry *entry, const char *path)
{
    kp_node *value = entry->value;
    if (key != NULL && key->kind == KP_KEY_TEXT) {
        return; /* a name may have any sign */
    }
    if (key != NULL && key->kind == KP_KEY_LIST) {
        split_bullets(in, value, path);
        mend_list(in, key->item, value, path);
        return;
    }
    if (value->kind == KP_NODE_MAP) {
        const kp_key_table *inside = key != NULL && key->kind == KP_KEY_MAP ? key->inside : NULL;
        if (key == NULL || key->kind != KP_KEY_NAMED) {
            mend_map(in, inside, value, path);
            return;
        }
        for (size_t i = 0; i < value->count; i++) {
            kp_entry *named = &value->entries[i];
            mend_map(in, key->item->inside, named->value, inner_path(in, path, named->key));
        }
        return;
    }
    mend_value(in, value, entry->key, path);
}

/** table: NULL where the keys are quantities, as under `viscosity`. */
static void mend_map(const mending *in, const kp_key_table *table, kp_node *node, const char *path)
{
    for (size_t i = 0; node->kind == KP_NODE_MAP && i < node->count; i++) {
        kp_entry *entry = &node->entries[i];
        mend_key(in, entry, path);
        if (table != NULL) {
            split_key(in, entry, path);
            take_capitals(table, node, entry);
        }
        join_comma(in, node, i, inner_path(in, path, entry->key));

        const kp_key *key = table == NULL ? NULL : kp_key_find(table, entry->key);
        mend_entry(in, key, entry, table == NULL ? path : inner_path(in, path, entry->key));
    }
}

void kp_slips_mend(kp_arena *arena, kp_report *report, kp_node *root)
{
    const mending in = {arena, report};
    mend_map(&in, &kp_damper_keys, root, "");
}
