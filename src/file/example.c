/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "manual.h"

static size_t write_value(const kp_key_table *table, const kp_key *key, kp_unit_system system, char *out, size_t size)
{
    const kp_key_note *note = kp_key_note_of(table, key);
    const char *text = note == NULL ? "" : system == KP_UNITS_INCH ? note->inch : note->metric;
    if (text[0] != '\0' || key->kind != KP_KEY_MAP) {
        return kp_text_print(out, size, "%s", text);
    }

    /* A block of the keys that it needs. */
    size_t used = kp_text_print(out, size, "{");
    bool first = true;
    for (size_t i = 0; i < key->inside->count && used < size; i++) {
        const kp_key *inner = &key->inside->keys[i];
        if (inner->required) {
            used += kp_text_print(out + used, size - used, "%s%s: ", first ? "" : ", ", inner->name);
            used += write_value(key->inside, inner, system, out + used, size - used);
            first = false;
        }
    }
    return used + kp_text_print(out + used, size - used, "}");
}

size_t kp_key_example(const kp_key_table *table, const kp_key *key, kp_unit_system system, char *out, size_t size)
{
    char value[600];
    out[0] = '\0';
    return write_value(table, key, system, value, sizeof value) == 0
               ? 0
               : kp_text_print(out, size, "%s: %s", key->name, value);
}
