/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What differs in adjusters, jets, check valves, plates, reservoir and divider, in words. */
#include "study/study_internal.h"

#include <stdio.h>

static const char *way_of(kp_flows flows)
{
    return flows == KP_FLOWS_BOTH ? "both ways" : flows == KP_FLOWS_COMPRESSION ? "in compression" : "in rebound";
}

static void spring(kp_sentences *sentences, const char *what, const kp_spring_plate *a, const kp_spring_plate *b)
{
    kp_sentence_number(sentences, a->preload, b->preload, KP_DIM_FORCE, "%s: preload", what);
    kp_sentence_number(sentences, a->rate, b->rate, KP_DIM_STIFFNESS, "%s: spring rate", what);
    kp_sentence_number(sentences, a->lift, b->lift, KP_DIM_LENGTH, "%s: lift", what);
}

static void check_valve(kp_sentences *sentences, const char *what, const kp_check_data *a, const kp_check_data *b)
{
    kp_sentence_number(sentences, a->seat, b->seat, KP_DIM_LENGTH, "%s: seat", what);
    spring(sentences, what, &a->plate, &b->plate);
}

/* One sentence for the law of areas: the widest click at which the two differ. */
static void adjuster(kp_sentences *sentences, const char *what, const kp_adjuster_data *a, const kp_adjuster_data *b)
{
    char before[KP_SIZE_TEXT], after[KP_SIZE_TEXT];

    kp_sentence_count(sentences, a->clicks, b->clicks, "%s: clicks from closed", what);
    kp_sentence_count(sentences, a->max_clicks, b->max_clicks, "%s: clicks it has", what);
    kp_sentence_number(sentences, a->seat, b->seat, KP_DIM_LENGTH, "%s: seat", what);
    kp_sentence_number(sentences, a->discharge, b->discharge, KP_DIM_NONE,
                       "%s: discharge coefficient (0 = that of a sharp edge)", what);

    if (a->flows != b->flows) {
        kp_sentence_add(sentences, "%s: open %s instead of %s", what, way_of(b->flows), way_of(a->flows));
    }

    /* From the widest click down, so that the first difference found is the widest. */
    for (int clicks = a->max_clicks > b->max_clicks ? a->max_clicks : b->max_clicks; clicks >= 0; clicks--) {
        double x = kp_adjuster_area(a, clicks), y = kp_adjuster_area(b, clicks);
        if (!kp_size_same(x, y)) {
            kp_size_texts(x, y, KP_DIM_AREA, sentences->system, before, after);
            kp_sentence_add(sentences, "%s: another area against clicks, %s instead of %s at %d clicks", what, after,
                            before, clicks);
            return;
        }
    }
}

/* Jets and check valves of bleed ports, entry by entry; compare_bleed.c has sizes and numbers of ports. */
static void bleed_parts(kp_sentences *sentences, const char *where, const kp_bleed *a, size_t a_count,
                        const kp_bleed *b, size_t b_count)
{
    static const kp_bleed nothing;
    for (size_t i = 0; i < a_count || i < b_count; i++) {
        const kp_bleed *x = i < a_count ? &a[i] : &nothing, *y = i < b_count ? &b[i] : &nothing;

        char name[80];
        snprintf(name, sizeof name, "%sbleed entry %zu: check valve", where, i + 1);

        kp_sentence_count(sentences, x->jetted, y->jetted, "%sbleed entry %zu: jetted ports", where, i + 1);
        if (x->jetted > 0 && y->jetted > 0) {
            kp_sentence_number(sentences, x->jet, y->jet, KP_DIM_LENGTH, "%sbleed entry %zu: jet", where, i + 1);
            kp_sentence_number(sentences, x->jet_length, y->jet_length, KP_DIM_LENGTH,
                               "%sbleed entry %zu: jet length (0 = the port's)", where, i + 1);
        }
        if (x->entry != y->entry) {
            static const char *const edges[] = {[KP_ENTRY_SHARP] = "sharp", [KP_ENTRY_CHAMFERED] = "chamfered"};
            kp_sentence_add(sentences, "%sbleed entry %zu: a %s edge instead of a %s one", where, i + 1,
                            edges[y->entry], edges[x->entry]);
        }

        if (kp_sentence_both(sentences, x->has_check, y->has_check, "%s", name)) {
            check_valve(sentences, name, &x->check, &y->check);
        }
    }
}

static void reservoir_bleeds(kp_sentences *sentences, const kp_reservoir_data *a, const kp_reservoir_data *b)
{
    for (size_t i = 0; i < a->bleed_count || i < b->bleed_count; i++) {
        char name[80];
        snprintf(name, sizeof name, "reservoir bleed entry %zu", i + 1);
        if (!kp_sentence_both(sentences, i < a->bleed_count, i < b->bleed_count, "%s", name)) {
            continue;
        }

        const kp_bleed *x = &a->bleeds[i], *y = &b->bleeds[i];
        kp_sentence_count(sentences, x->ports - x->plugged, y->ports - y->plugged, "%s: open ports", name);
        kp_sentence_number(sentences, x->diameter, y->diameter, KP_DIM_LENGTH, "%s: diameter", name);
        kp_sentence_number(sentences, x->length, y->length, KP_DIM_LENGTH, "%s: length", name);
        if (x->flows != y->flows) {
            kp_sentence_add(sentences, "%s: open %s instead of %s", name, way_of(y->flows), way_of(x->flows));
        }
    }

    bleed_parts(sentences, "reservoir ", a->bleeds, a->bleed_count, b->bleeds, b->bleed_count);
}

void kp_compare_plate(kp_sentences *sentences, const char *direction, const kp_valve_data *a, const kp_valve_data *b)
{
    char name[80];
    snprintf(name, sizeof name, "%s plate on a spring", direction);
    if (kp_sentence_both(sentences, a->has_plate, b->has_plate, "%s", name)) {
        spring(sentences, name, &a->plate, &b->plate);
    }
}

static void reservoir(kp_sentences *sentences, const kp_damper_data *first, const kp_damper_data *second)
{
    const kp_reservoir_data *a = &first->reservoir, *b = &second->reservoir;
    if (!kp_sentence_both(sentences, a->given, b->given, "reservoir")) {
        return;
    }

    /* Both have a reservoir: its sizes, then its valves and its hose. */
    kp_sentence_number(sentences, a->bore, b->bore, KP_DIM_LENGTH, "reservoir bore (0 = that of the body)");
    if (kp_sentence_both(sentences, a->has_adjuster, b->has_adjuster, "compression adjuster")) {
        adjuster(sentences, "compression adjuster", &a->adjuster, &b->adjuster);
    }

    reservoir_bleeds(sentences, a, b);

    kp_sentence_both(sentences, a->has_valve, b->has_valve, "reservoir valve");
    if (kp_sentence_both(sentences, a->has_return, b->has_return, "return check")) {
        check_valve(sentences, "return check", &a->return_check, &b->return_check);
    }

    if (kp_sentence_both(sentences, a->has_hose, b->has_hose, "hose")) {
        kp_sentence_number(sentences, a->hose.length, b->hose.length, KP_DIM_LENGTH, "hose length");
        kp_sentence_number(sentences, a->hose.bore, b->hose.bore, KP_DIM_LENGTH, "hose bore");
    }
}

void kp_compare_hydraulics(kp_sentences *sentences, const kp_damper_data *a, const kp_damper_data *b)
{
    if (kp_sentence_both(sentences, a->has_adjuster, b->has_adjuster, "rebound adjuster")) {
        adjuster(sentences, "rebound adjuster", &a->adjuster, &b->adjuster);
    }

    bleed_parts(sentences, "", a->bleeds, a->bleed_count, b->bleeds, b->bleed_count);
    reservoir(sentences, a, b);

    if (kp_sentence_both(sentences, a->divider.given, b->divider.given, "divider's sizes")) {
        kp_sentence_number(sentences, a->divider.bore, b->divider.bore, KP_DIM_LENGTH, "divider bore");
        kp_sentence_number(sentences, a->divider.depth, b->divider.depth, KP_DIM_LENGTH, "divider depth");
        kp_sentence_number(sentences, a->divider.travel, b->divider.travel, KP_DIM_LENGTH, "divider travel");
        kp_sentence_number(sentences, a->divider.travel_out, b->divider.travel_out, KP_DIM_LENGTH,
                           "divider travel out");
    }

    if (a->has_oil_volume || b->has_oil_volume) {
        kp_sentence_number(sentences, a->oil_volume, b->oil_volume, KP_DIM_VOLUME, "oil volume (0 = not given)");
        kp_sentence_number(sentences, a->fill_temperature, b->fill_temperature, KP_DIM_TEMPERATURE,
                           "oil temperature when charged");
    }
}
