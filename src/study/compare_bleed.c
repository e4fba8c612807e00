/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What changes in the bleed ports. A two-way bleed that is changed for one direction changes the other too: said
    every time, because it is the mistake that costs a second teardown. */
#include "study/study_internal.h"

#include <stdio.h>

static bool same_hole(const kp_bleed *a, const kp_bleed *b)
{
    return kp_size_same(a->diameter, b->diameter) && kp_size_same(a->length, b->length) && a->flows == b->flows;
}

static const char *which_way(kp_flows flows)
{
    switch (flows) {
    case KP_FLOWS_COMPRESSION:
        return "compression only";
    case KP_FLOWS_REBOUND:
        return "rebound only";
    case KP_FLOWS_BOTH:
        break;
    }
    return "both directions";
}

static const char *warning(kp_flows flows)
{
    return flows == KP_FLOWS_BOTH ? "; these flow both ways, so compression and rebound both change" : "";
}

static const char *ports_word(int count)
{
    return count == 1 ? "port" : "ports";
}

/* Same holes, other number drilled or plugged. */
static void say_counts(kp_sentences *sentences, const kp_bleed *a, const kp_bleed *b)
{
    char hole[KP_SIZE_TEXT];
    kp_size_text(b->diameter, KP_DIM_LENGTH, sentences->system, hole);
    int more_plugged = b->plugged - a->plugged;
    int more_drilled = b->ports - a->ports;
    const char *way = b->flows == KP_FLOWS_BOTH ? "" : b->flows == KP_FLOWS_COMPRESSION ? "compression " : "rebound ";
    if (more_drilled != 0) {
        kp_sentence_add(sentences, "%d %s %sbleed %s of %s drilled (%d open before, %d after)%s",
                        more_drilled > 0 ? more_drilled : -more_drilled, more_drilled > 0 ? "more" : "fewer", way,
                        ports_word(more_drilled > 0 ? more_drilled : -more_drilled), hole, a->ports - a->plugged,
                        b->ports - b->plugged, warning(b->flows));
    }
    if (more_plugged > 0) {
        kp_sentence_add(sentences, "%d more %sbleed %s of %s plugged (%d open before, %d after)%s", more_plugged, way,
                        ports_word(more_plugged), hole, a->ports - a->plugged, b->ports - b->plugged,
                        warning(b->flows));
    } else if (more_plugged < 0) {
        kp_sentence_add(sentences, "%d more %sbleed %s of %s opened (%d open before, %d after)%s", -more_plugged, way,
                        ports_word(-more_plugged), hole, a->ports - a->plugged, b->ports - b->plugged,
                        warning(b->flows));
    }
}

/* The same place in both lists, but other holes. */
static void say_hole(kp_sentences *sentences, size_t number, const kp_bleed *a, const kp_bleed *b)
{
    char before[KP_SIZE_TEXT];
    char after[KP_SIZE_TEXT];
    const char *both = warning(a->flows == KP_FLOWS_BOTH ? a->flows : b->flows);
    if (!kp_size_same(a->diameter, b->diameter)) {
        kp_size_texts(a->diameter, b->diameter, KP_DIM_LENGTH, sentences->system, before, after);
        kp_sentence_add(sentences, "bleed ports of entry %zu: diameter changes from %s to %s%s", number, before, after,
                        both);
    }
    if (!kp_size_same(a->length, b->length)) {
        kp_size_texts(a->length, b->length, KP_DIM_LENGTH, sentences->system, before, after);
        kp_sentence_add(sentences, "bleed ports of entry %zu: length changes from %s to %s%s", number, before, after,
                        both);
    }
    if (a->flows != b->flows) {
        kp_sentence_add(sentences, "bleed ports of entry %zu: flow %s instead of %s", number, which_way(b->flows),
                        which_way(a->flows));
    }
    say_counts(sentences, a, b);
}

/* Ports that only one of the two has. */
static void say_alone(kp_sentences *sentences, const kp_bleed *bleed, const char *what)
{
    char diameter[KP_SIZE_TEXT];
    char length[KP_SIZE_TEXT];
    kp_sentence_add(sentences, "%d bleed %s of %s, %s long, %d of them plugged, %s%s", bleed->ports,
                    ports_word(bleed->ports), kp_size_text(bleed->diameter, KP_DIM_LENGTH, sentences->system, diameter),
                    kp_size_text(bleed->length, KP_DIM_LENGTH, sentences->system, length), bleed->plugged, what,
                    warning(bleed->flows));
}

void kp_compare_bleeds(kp_sentences *sentences, const kp_damper_data *a, const kp_damper_data *b)
{
    bool a_done[KP_MAX_BLEEDS] = {false};
    bool b_done[KP_MAX_BLEEDS] = {false};
    /* First the entries with the same holes, wherever they stand in the list ... */
    for (size_t i = 0; i < a->bleed_count; i++) {
        for (size_t j = 0; j < b->bleed_count && !a_done[i]; j++) {
            if (!b_done[j] && same_hole(&a->bleeds[i], &b->bleeds[j])) {
                say_counts(sentences, &a->bleeds[i], &b->bleeds[j]);
                a_done[i] = b_done[j] = true;
            }
        }
    }
    /* ... then what is left at the same place ... */
    for (size_t i = 0; i < a->bleed_count && i < b->bleed_count; i++) {
        if (!a_done[i] && !b_done[i]) {
            say_hole(sentences, i + 1, &a->bleeds[i], &b->bleeds[i]);
            a_done[i] = b_done[i] = true;
        }
    }
    /* ... and what has no partner. */
    for (size_t i = 0; i < a->bleed_count; i++) {
        if (!a_done[i]) {
            say_alone(sentences, &a->bleeds[i], "are no longer there");
        }
    }
    for (size_t j = 0; j < b->bleed_count; j++) {
        if (!b_done[j]) {
            say_alone(sentences, &b->bleeds[j], "are new");
        }
    }
}
