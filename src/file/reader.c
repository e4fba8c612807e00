/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reader.h"

#include "manual.h"

#include <string.h>
#include <strings.h>

static void read_value(kp_reading *reading, const kp_key *key, const kp_node *node, const char *path, char *target);

static const kp_key *find_key(const kp_key_table *table, const char *name)
{
    for (size_t i = 0; i < table->count; i++) {
        if (strcmp(table->keys[i].name, name) == 0) {
            return &table->keys[i];
        }
    }
    return NULL;
}

/** Returns whether the node is of a kind; if not, that is a fault. how: an example, or "". */
static bool has_kind(kp_reading *reading, const kp_node *node, kp_node_kind wanted, const char *path, const char *how)
{
    if (node->reported) {
        return false;
    }
    if (node->kind == wanted) {
        return true;
    }

    static const char *const kinds[] = {"a single value", "a map of keys", "a list"};
    bool nothing = node->kind == KP_NODE_SCALAR && node->plain && node->text[0] == '\0';
    kp_report_fault(reading->report, node->place, path, "expected %s%s%s, found %s", kinds[wanted],
                    how[0] == '\0' ? "" : ", such as ", how, nothing ? "nothing" : kinds[node->kind]);
    return false;
}

static void read_map(kp_reading *reading, const kp_key_table *table, const kp_node *node, kp_place place,
                     const char *path, char *target)
{
    char names[150];
    kp_list_key_names(table, names, sizeof names);
    const char *how = kp_arena_print(reading->arena, "keys %s", names);

    if (how == NULL || !has_kind(reading, node, KP_NODE_MAP, path, how)) {
        return;
    }

    for (size_t i = 0; i < node->count; i++) {
        const kp_entry *entry = &node->entries[i];

        /* An unknown key is refused with a hint. */
        const kp_key *key = find_key(table, entry->key);
        if (key == NULL) {
            kp_refuse_unknown(reading, table, entry, path);
        } else {
            read_value(reading, key, entry->value, kp_inner_path(reading, path, key->name), target);
        }
    }

    for (size_t i = 0; i < table->count; i++) {
        const kp_key *key = &table->keys[i];

        /* A neighbour may stand in for a required key. */
        bool stands_in = key->unless != NULL && kp_node_find(node, key->unless) != NULL;
        if (key->required && !stands_in && kp_node_find(node, key->name) == NULL) {
            char example[700];
            bool shown = kp_key_example(table, key, KP_UNITS_METRIC, example, sizeof example) > 0;
            kp_report_fault(reading->report, place, kp_inner_path(reading, path, key->name),
                            "this key is missing: %s%s%s%s", key->about, shown ? " Write `" : "", example,
                            shown ? "`" : "");
        }
    }
}

static void read_list(kp_reading *reading, const kp_key *key, const kp_node *node, const char *path, char *target)
{
    if (!has_kind(reading, node, KP_NODE_LIST, path,
                  key->item->kind == KP_KEY_MAP ? "lines that begin with `- `" : "lines `- 3 of 40 x 0.20 mm`")) {
        return;
    }
    if (node->count > key->item_max) {
        kp_report_fault(reading->report, node->place, path, "%zu entries; at most %zu are possible", node->count,
                        key->item_max);
        return;
    }

    /* Each entry has a path of its own, such as `bleed[0]`. */
    for (size_t i = 0; i < node->count; i++) {
        const kp_node *value = node->entries[i].value;
        const char *inner = kp_arena_print(reading->arena, "%s[%zu]", path, i);
        if (inner != NULL) {
            char *item = target + key->offset + i * key->item_size;
            if (key->item->kind == KP_KEY_MAP) {
                read_map(reading, key->item->inside, value, value->place, inner, item);
            } else {
                kp_read_special(reading, key->item, value, inner, item);
            }
        }
    }

    size_t count = node->count;
    memcpy(target + key->count, &count, sizeof count);
}

/** A user's name is one that can stand in a path and behind a comma. */
static bool read_name(kp_reading *reading, const kp_key *key, const kp_entry *entry, const char *path, char *out)
{
    size_t length = strlen(entry->key);

    /* No control characters, and none with a meaning in a path or a shim line. */
    bool good = length > 0 && length < key->text_size;

    for (size_t i = 0; good && i < length; i++) {
        good = strchr(",.:[]{}=\"'#`", entry->key[i]) == NULL && (unsigned char)entry->key[i] >= 0x20U &&
               entry->key[i] != 0x7F;
    }

    if (!good) {
        kp_report_fault(reading->report, entry->key_place, path,
                        "a name has 1 to %zu letters, digits, blanks or hyphens", key->text_size - 1);
        return false;
    }

    memcpy(out, entry->key, length + 1);
    return true;
}

static void read_named(kp_reading *reading, const kp_key *key, const kp_node *node, const char *path, char *target)
{
    if (!has_kind(reading, node, KP_NODE_MAP, path, "names, each with its keys")) {
        return;
    }
    if (node->count > key->item_max) {
        kp_report_fault(reading->report, node->place, path, "%zu entries; at most %zu are possible", node->count,
                        key->item_max);
        return;
    }

    /* A name that is refused leaves its place to the next one. */
    size_t count = 0;
    for (size_t i = 0; i < node->count; i++) {
        const kp_entry *entry = &node->entries[i];

        char *item = target + key->offset + count * key->item_size;
        char shown[KP_TEXT_SHOWN];
        kp_text_show(entry->key, shown, sizeof shown);

        const char *inner = kp_inner_path(reading, path, shown);
        if (read_name(reading, key, entry, inner, item)) {
            read_map(reading, key->item->inside, entry->value, entry->value->place, inner, item);
            count++;
        }
    }

    memcpy(target + key->count, &count, sizeof count);
}

static void read_count(kp_reading *reading, const kp_node *node, const char *path, int *out)
{
    enum { COUNT_MAX = 1000000 /* far beyond any part; keeps int arithmetic safe */ };
    double number = 0.0;

    if (!kp_number_read(node->text, &number) || !(number >= 0.0 && number <= COUNT_MAX) ||
        number > (double)(int)number) {
        char shown[KP_TEXT_SHOWN];
        kp_text_show(node->text, shown, sizeof shown);
        kp_report_fault(reading->report, node->place, path, "`%s`: a whole number is wanted, such as `4`", shown);
        return;
    }

    *out = (int)number;
}

static void read_word(kp_reading *reading, const kp_key *key, const kp_node *node, const char *path, int *out)
{
    /* The words stand in the order of the enumeration. */
    size_t count = 0;
    while (key->words[count] != NULL) {
        if (strcasecmp(key->words[count], node->text) == 0) {
            *out = (int)count;
            return;
        }
        count++;
    }

    /* A word of a feature that is refused by name. */
    const kp_refusal *refusal = kp_refusal_find(node->text);
    if (refusal != NULL) {
        kp_refuse_by_name(reading, node->place, path, refusal);
        return;
    }

    /* Otherwise list the possible words. */
    char shown[KP_TEXT_SHOWN], list[100];
    size_t used = 0;

    for (size_t i = 0; i < count; i++) {
        used += kp_text_print(list + used, sizeof list - used, "%s`%s`",
                              i == 0           ? ""
                              : i + 1 == count ? " or "
                                               : ", ",
                              key->words[i]);
    }

    kp_text_show(node->text, shown, sizeof shown);
    kp_report_fault(reading->report, node->place, path, "expected %s, found `%s`", list, shown);
}

static void read_text(kp_reading *reading, const kp_key *key, const kp_node *node, const char *path, char *out)
{
    size_t length = strlen(node->text);
    if (length == 0 || length >= key->text_size) {
        kp_report_fault(reading->report, node->place, path, "%zu bytes of text; 1 to %zu are possible", length,
                        key->text_size - 1);
        return;
    }

    for (size_t i = 0; i < length; i++) {
        unsigned char byte = (unsigned char)node->text[i];
        if (byte < 0x20U || byte == 0x7FU) {
            kp_report_fault(reading->report, node->place, path, "control character 0x%02X in the text", byte);
            return;
        }
    }

    memcpy(out, node->text, length + 1);
}

_Static_assert(sizeof(kp_flows) == sizeof(int) && sizeof(kp_grip) == sizeof(int) &&
                   sizeof(kp_unit_system) == sizeof(int),
               "words are stored as int");

static void set_flag(const kp_key *key, char *target, bool given)
{
    memcpy(target + key->flag, &given, sizeof given);
}

/** target: the struct that the key's offsets are in. */
static void read_scalar(kp_reading *reading, const kp_key *key, const kp_node *node, const char *path, char *target)
{
    char *place = target + key->offset;
    kp_quantity quantity = {0};
    int number = 0;

    /* The place has the type that the key's kind stands for; memcpy, because it is only known as bytes. */
    switch (key->kind) {
    case KP_KEY_QUANTITY:
        if (kp_read_quantity(reading, node->text, key->dimension, node->place, path, &quantity)) {
            memcpy(place, &quantity.value, sizeof quantity.value);
            if (key->zero_is_absent) {
                set_flag(key, target, quantity.value != 0.0);
            }
            kp_keep_tolerance(reading, &quantity, node->place, path, (const double *)(const void *)place);
        }
        break;
    case KP_KEY_COUNT:
        read_count(reading, node, path, &number);
        memcpy(place, &number, sizeof number);
        break;
    case KP_KEY_WORD:
        read_word(reading, key, node, path, &number);
        memcpy(place, &number, sizeof number);
        break;
    default:
        read_text(reading, key, node, path, place);
        break;
    }
}

/** The word that may stand in a map's place. */
static void read_alone(kp_reading *reading, const kp_key *key, const kp_node *node, const char *path, char *target)
{
    const bool alone = true;
    if (strcasecmp(node->text, key->alone) == 0) {
        memcpy(target + key->alone_flag, &alone, sizeof alone);
        return;
    }

    char shown[KP_TEXT_SHOWN], names[150];
    kp_text_show(node->text, shown, sizeof shown);
    kp_list_key_names(key->inside, names, sizeof names);
    kp_report_fault(reading->report, node->place, path, "expected `%s`, or a block of keys %s, found `%s`", key->alone,
                    names, shown);
}

static void read_value(kp_reading *reading, const kp_key *key, const kp_node *node, const char *path, char *target)
{
    if (node->reported) {
        return;
    }

    if (key->has_flag) {
        set_flag(key, target, true);
    }

    /* Maps, lists and named entries hold further keys. */
    switch (key->kind) {
    case KP_KEY_MAP:
        if (key->alone != NULL && node->kind == KP_NODE_SCALAR) {
            read_alone(reading, key, node, path, target);
            break;
        }
        read_map(reading, key->inside, node, kp_path_place(reading->arena, reading->root, path), path,
                 target + key->offset);
        break;
    case KP_KEY_LIST:
        read_list(reading, key, node, path, target);
        break;
    case KP_KEY_NAMED:
        read_named(reading, key, node, path, target);
        break;
    case KP_KEY_SPECIAL:
        kp_read_special(reading, key, node, path, target + key->offset);
        break;
    default:
        if (has_kind(reading, node, KP_NODE_SCALAR, path,
                     key->kind == KP_KEY_QUANTITY ? kp_dimension_example(key->dimension) : "")) {
            read_scalar(reading, key, node, path, target);
        }
        break;
    }
}

void kp_file_fill_damper(kp_reading *reading, const kp_node *root)
{
    read_map(reading, &kp_damper_keys, root, root->place, "", (char *)reading->draft);
}
