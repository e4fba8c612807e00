/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `--set KEY=VALUE`: one value laid over the tree. */
#include "keys.h"
#include "source.h"

#include "yaml.h"

#include <string.h>

/** Goes one step down, making maps on the way; NULL when it cannot (then the fault is reported). */
static kp_entry *step_down(kp_arena *arena, kp_report *report, kp_node *node, const kp_step *step, kp_place place)
{
    if (step->key == NULL) {
        if (node->kind != KP_NODE_LIST || step->index >= node->count) {
            kp_report_fault(report, place, "", "there is no entry [%zu]: the list has %zu, counted from [0]",
                            step->index, node->kind == KP_NODE_LIST ? node->count : 0);
            return NULL;
        }
        return &node->entries[step->index];
    }

    char shown[KP_TEXT_SHOWN];
    kp_text_show(step->key, shown, sizeof shown);

    if (node->kind != KP_NODE_MAP) {
        kp_report_fault(report, place, "", "`%s` cannot be a key here: this is %s", shown,
                        node->kind == KP_NODE_LIST ? "a list, and an entry is named by its number, as [0]"
                                                   : "a single value");
        return NULL;
    }

    /* A key that is missing is made, as an empty map. */
    kp_entry *entry = kp_node_find(node, step->key);
    if (entry == NULL) {
        kp_node *made = kp_node_new(arena, KP_NODE_MAP, place);
        if (made == NULL || !kp_node_append(arena, node, step->key, place, made)) {
            return NULL;
        }
        entry = &node->entries[node->count - 1];
    }

    return entry;
}

static void lay_over(kp_arena *arena, kp_report *report, kp_node *root, const kp_step *steps, size_t count,
                     kp_node *value)
{
    kp_node *node = root;
    for (size_t i = 0; i < count; i++) {
        kp_entry *entry = step_down(arena, report, node, &steps[i], value->place);
        if (entry == NULL) {
            return;
        }

        /* The last step takes the value. */
        if (i + 1 == count) {
            kp_node *merged = kp_node_merge(arena, entry->value, value);
            if (merged != NULL) {
                entry->value = merged;
                entry->key_place = value->place;
            }
        }

        node = entry->value;
    }
}

void kp_setting_apply(kp_arena *arena, kp_report *report, kp_node *root, const char *setting, int order)
{
    /* The key ends at the first equals sign. */
    const char *equals = strchr(setting, '=');
    size_t key_length = equals == NULL ? strlen(setting) : (size_t)(equals - setting);
    const char *key = kp_arena_text(arena, setting, key_length);

    if (key == NULL) {
        return;
    }

    char shown[KP_TEXT_SHOWN];
    kp_text_show(key, shown, sizeof shown);
    kp_place place = {kp_arena_print(arena, "--set %s", strlen(key) < sizeof shown ? key : shown), order, 0, 0};

    /* The key is a path of the tree. */
    kp_step steps[KP_STEPS_MAX];
    size_t count = kp_path_split(arena, key, steps);

    if (place.file == NULL) {
        return;
    }

    if (equals == NULL || count == 0) {
        kp_report_fault(report, place, "",
                        "KEY=VALUE is wanted, such as `piston.compression.dish=0.3 mm` or "
                        "`piston.bleed[0].plugged=4`");
        return;
    }

    if (steps[0].key != NULL && kp_key_same_name(steps[0].key, KP_BASE_VALVE)) {
        steps[0].key = "reservoir"; /* the same object */
    }
    if (strcmp(steps[0].key == NULL ? "" : steps[0].key, "based on") == 0) {
        kp_report_fault(report, place, "", "what a file is based on cannot be set for one run: name another file");
        return;
    }

    /* The value is YAML of its own. */
    kp_node *value = kp_yaml_parse(arena, report, equals + 1, strlen(equals + 1), place);
    if (value != NULL && !value->reported) {
        lay_over(arena, report, root, steps, count, value);
    }
}
