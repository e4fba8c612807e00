/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What changes in the bleed ports. A two-way bleed that is changed for one direction changes the other too. Every
    sentence warns of it, because that mistake costs a second teardown. */
#include "study/study_internal.h"

#include <stdlib.h>

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

/* "2 more bleed ports of 1.5 mm plugged (4 open before, 2 after)" */
static void add_count(kp_sentences *sentences, int count, const char *more, const char *what, const kp_bleed *a,
                      const kp_bleed *b)
{
    char hole[KP_SIZE_TEXT];
    const char *way = b->flows == KP_FLOWS_BOTH ? "" : b->flows == KP_FLOWS_COMPRESSION ? "compression " : "rebound ";
    kp_sentence_add(sentences, "%d %s %sbleed %s of %s %s (%d open before, %d after)%s", count, more, way,
                    ports_word(count), kp_size_text(b->diameter, KP_DIM_LENGTH, sentences->system, hole), what,
                    a->ports - a->plugged, b->ports - b->plugged, warning(b->flows));
}

/* The same holes, another number drilled or plugged. */
static void compare_counts(kp_sentences *sentences, const kp_bleed *a, const kp_bleed *b)
{
    int drilled = b->ports - a->ports, plugged = b->plugged - a->plugged;
    if (drilled != 0) {
        add_count(sentences, abs(drilled), drilled > 0 ? "more" : "fewer", "drilled", a, b);
    }
    if (plugged != 0) {
        add_count(sentences, abs(plugged), "more", plugged > 0 ? "plugged" : "opened", a, b);
    }
}

/* The same place in both lists, but other holes. */
static void compare_holes(kp_sentences *sentences, size_t entry, const kp_bleed *a, const kp_bleed *b)
{
    const struct {
        const char *name;
        double before, after; /* [m] */
    } sizes[] = {{"diameter", a->diameter, b->diameter}, {"length", a->length, b->length}};
    const char *both = warning(a->flows == KP_FLOWS_BOTH ? a->flows : b->flows);

    for (size_t i = 0; i < 2; i++) {
        char before[KP_SIZE_TEXT], after[KP_SIZE_TEXT];
        if (!kp_size_same(sizes[i].before, sizes[i].after)) {
            kp_size_texts(sizes[i].before, sizes[i].after, KP_DIM_LENGTH, sentences->system, before, after);
            kp_sentence_add(sentences, "bleed ports of entry %zu: %s changes from %s to %s%s", entry, sizes[i].name,
                            before, after, both);
        }
    }

    if (a->flows != b->flows) {
        kp_sentence_add(sentences, "bleed ports of entry %zu: flow %s instead of %s", entry, which_way(b->flows),
                        which_way(a->flows));
    }

    compare_counts(sentences, a, b);
}

/* Ports that only one of the two has. */
static void add_alone(kp_sentences *sentences, const kp_bleed *bleed, const char *what)
{
    char diameter[KP_SIZE_TEXT], length[KP_SIZE_TEXT];
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
                compare_counts(sentences, &a->bleeds[i], &b->bleeds[j]);
                a_done[i] = b_done[j] = true;
            }
        }
    }

    /* ... then what is left at the same place ... */
    for (size_t i = 0; i < a->bleed_count && i < b->bleed_count; i++) {
        if (!a_done[i] && !b_done[i]) {
            compare_holes(sentences, i + 1, &a->bleeds[i], &b->bleeds[i]);
            a_done[i] = b_done[i] = true;
        }
    }

    /* ... and what has no partner. */
    for (size_t i = 0; i < a->bleed_count; i++) {
        if (!a_done[i]) {
            add_alone(sentences, &a->bleeds[i], "are no longer there");
        }
    }

    for (size_t j = 0; j < b->bleed_count; j++) {
        if (!b_done[j]) {
            add_alone(sentences, &b->bleeds[j], "are new");
        }
    }
}
