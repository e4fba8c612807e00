/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Names of keys as people write them: in capitals, or in other words of the trade. */
#include "keys.h"

#include <string.h>
#include <strings.h>

bool kp_key_same_name(const char *a, const char *b)
{
    for (;; a++, b++) {
        char x = *a, y = *b;
        x = (x >= 'A' && x <= 'Z') ? (char)(x - 'A' + 'a') : (x == '-' || x == '_') ? ' ' : x;
        y = (y >= 'A' && y <= 'Z') ? (char)(y - 'A' + 'a') : (y == '-' || y == '_') ? ' ' : y;

        if (x != y) {
            return false;
        }
        if (x == '\0') {
            return true;
        }
    }
}

const kp_key *kp_key_find(const kp_key_table *table, const char *name)
{
    for (size_t i = 0; i < table->count; i++) {
        if (strcasecmp(table->keys[i].name, name) == 0) {
            return &table->keys[i];
        }
    }
    return NULL;
}

const kp_key_table *kp_key_inside(const kp_key *key)
{
    switch (key->kind) {
    case KP_KEY_MAP:
        return key->inside;
    case KP_KEY_LIST:
    case KP_KEY_NAMED:
        return key->item->inside;
    default:
        return NULL;
    }
}

/* Where the word could mean either valve, the path is that of compression. */
static const struct {
    const char *word, *path;
} synonyms[] = {
    {"shaft", "body.rod"},
    {"shaft diameter", "body.rod"},
    {"rod diameter", "body.rod"},
    {"piston rod", "body.rod"},
    {"tube", "body.bore"},
    {"cylinder", "body.bore"},
    {"bore diameter", "body.bore"},
    {"piston diameter", "body.bore"},
    {"travel length", "body.stroke"},
    {"shock travel", "body.stroke"},
    {"fluid", "oil"},
    {"kinematic viscosity", "oil.viscosity"},
    {"vi", "oil.viscosity index"},
    {"nitrogen", "gas.charge"},
    {"n2", "gas.charge"},
    {"pressure", "gas.charge"},
    {"nitrogen pressure", "gas.charge"},
    {"gas pressure", "gas.charge"},
    {"charge pressure", "gas.charge"},
    {"ifp", "gas.divider"},
    {"floating piston", "gas.divider"},
    {"internal floating piston", "gas.divider"},
    {"bladder", "gas.divider"},
    {"ifp depth", "gas.divider.depth"},
    {"floating piston depth", "gas.divider.depth"},
    {"seal drag", "friction"},
    {"stiction", "friction"},
    {"oil temperature", "temperature"},
    {"piston band", "leak"},
    {"band clearance", "leak.clearance"},
    {"bleeds", "piston.bleed"},
    {"bleed holes", "piston.bleed"},
    {"bleed ports", "piston.bleed"},
    {"free bleed", "piston.bleed"},
    {"clicker", "piston.adjuster"},
    {"needle", "piston.adjuster"},
    {"max clicks", "piston.adjuster.most clicks"},
    {"comp", "piston.compression"},
    {"bump", "piston.compression"},
    {"reb", "piston.rebound"},
    {"extension", "piston.rebound"},
    {"shims", "piston.compression.stack"},
    {"shim stack", "piston.compression.stack"},
    {"discs", "piston.compression.stack"},
    {"valving", "piston.compression.stack"},
    {"seat", "piston.compression.land"},
    {"valve seat", "piston.compression.land"},
    {"number of ports", "piston.compression.port.ports"},
    {"out of flat", "piston.compression.flatness"},
    {"seat height", "piston.compression.dish"},
    {"preload", "piston.compression.dish"},
    {"float", "piston.compression.dish"},
    {"pivot", "piston.compression.clamp.washer"},
    {"clamp shim", "piston.compression.clamp.washer"},
    {"clamp washer", "piston.compression.clamp.washer"},
    {"port area", "piston.compression.port.area"},
    {"holes", "piston.compression.port"},
    {"lift stop", "piston.compression.stop"},
    {"stop washer", "piston.compression.stop"},
    {"backing washer", "piston.compression.backing"},
    {"piggyback", "reservoir"},
    {"remote reservoir", "reservoir"},
};

const char *kp_synonym_find(const char *name)
{
    for (size_t i = 0; i < sizeof synonyms / sizeof synonyms[0]; i++) {
        if (kp_key_same_name(synonyms[i].word, name)) {
            return synonyms[i].path;
        }
    }
    return NULL;
}
