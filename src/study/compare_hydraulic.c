/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What differs in adjusters, jets, check valves, plates, reservoir and divider, in words. */
#include "study/study_internal.h"

#include <stdio.h>
#include <string.h>

/** One number, before and after. */
static void number(kp_sentences *sentences, const char *what, double a, double b, kp_dimension dimension)
{
    char before[KP_SIZE_TEXT], after[KP_SIZE_TEXT];
    if (!kp_size_same(a, b)) {
        kp_size_texts(a, b, dimension, sentences->system, before, after);
        kp_sentence_add(sentences, "%s changes from %s to %s", what, before, after);
    }
}

static void whole_number(kp_sentences *sentences, const char *what, int a, int b)
{
    if (a != b) {
        kp_sentence_add(sentences, "%s changes from %d to %d", what, a, b);
    }
}

/** True when both have it, so that its numbers can be compared; says it when only one has. */
static bool in_both(kp_sentences *sentences, const char *what, bool a, bool b)
{
    if (a != b) {
        kp_sentence_add(sentences, "%s %s", what, b ? "added" : "taken out");
    }
    return a && b;
}

static const char *way_of(kp_flows flows)
{
    return flows == KP_FLOWS_BOTH ? "both ways" : flows == KP_FLOWS_COMPRESSION ? "in compression" : "in rebound";
}

static void spring(kp_sentences *sentences, const char *what, const kp_spring_plate *a, const kp_spring_plate *b)
{
    char name[96];
    snprintf(name, sizeof name, "%s: preload", what);
    number(sentences, name, a->preload, b->preload, KP_DIM_FORCE);
    snprintf(name, sizeof name, "%s: spring rate", what);
    number(sentences, name, a->rate, b->rate, KP_DIM_STIFFNESS);
    snprintf(name, sizeof name, "%s: lift", what);
    number(sentences, name, a->lift, b->lift, KP_DIM_LENGTH);
}

static void check_valve(kp_sentences *sentences, const char *what, const kp_check_data *a, const kp_check_data *b)
{
    char name[96];
    snprintf(name, sizeof name, "%s: seat", what);
    number(sentences, name, a->seat, b->seat, KP_DIM_LENGTH);
    spring(sentences, what, &a->plate, &b->plate);
}

/* The law of areas is one sentence: where it differs most is at one of its clicks. */
static void adjuster(kp_sentences *sentences, const char *what, const kp_adjuster_data *a, const kp_adjuster_data *b)
{
    char name[96], before[KP_SIZE_TEXT], after[KP_SIZE_TEXT];
    snprintf(name, sizeof name, "%s: clicks from closed", what);
    whole_number(sentences, name, a->clicks, b->clicks);
    snprintf(name, sizeof name, "%s: clicks it has", what);
    whole_number(sentences, name, a->max_clicks, b->max_clicks);
    snprintf(name, sizeof name, "%s: seat", what);
    number(sentences, name, a->seat, b->seat, KP_DIM_LENGTH);
    snprintf(name, sizeof name, "%s: discharge coefficient (0 = that of a sharp edge)", what);
    number(sentences, name, a->discharge, b->discharge, KP_DIM_NONE);
    if (a->flows != b->flows) {
        kp_sentence_add(sentences, "%s: open %s instead of %s", what, way_of(b->flows), way_of(a->flows));
    }
    int most = a->max_clicks > b->max_clicks ? a->max_clicks : b->max_clicks;
    for (int clicks = most; clicks >= 0; clicks--) {
        double x = kp_adjuster_area(a, clicks), y = kp_adjuster_area(b, clicks);
        if (!kp_size_same(x, y)) {
            kp_size_texts(x, y, KP_DIM_AREA, sentences->system, before, after);
            kp_sentence_add(sentences, "%s: another area against clicks, %s instead of %s at %d clicks", what, after,
                            before, clicks);
            break;
        }
    }
}

/* Jets and check valves of bleed ports, entry by entry: sizes and numbers of ports are told elsewhere. */
static void bleed_parts(kp_sentences *sentences, const char *where, const kp_bleed *a, size_t a_count,
                        const kp_bleed *b, size_t b_count)
{
    static const kp_bleed nothing;
    for (size_t i = 0; i < a_count || i < b_count; i++) {
        const kp_bleed *x = i < a_count ? &a[i] : &nothing, *y = i < b_count ? &b[i] : &nothing;
        char name[80];
        snprintf(name, sizeof name, "%sbleed entry %zu: jetted ports", where, i + 1);
        whole_number(sentences, name, x->jetted, y->jetted);
        if (x->jetted > 0 && y->jetted > 0) {
            snprintf(name, sizeof name, "%sbleed entry %zu: jet", where, i + 1);
            number(sentences, name, x->jet, y->jet, KP_DIM_LENGTH);
        }
        snprintf(name, sizeof name, "%sbleed entry %zu: check valve", where, i + 1);
        if (in_both(sentences, name, x->has_check, y->has_check)) {
            check_valve(sentences, name, &x->check, &y->check);
        }
    }
}

static void reservoir_bleeds(kp_sentences *sentences, const kp_reservoir_data *a, const kp_reservoir_data *b)
{
    for (size_t i = 0; i < a->bleed_count || i < b->bleed_count; i++) {
        char name[80];
        snprintf(name, sizeof name, "reservoir bleed entry %zu", i + 1);
        if (!in_both(sentences, name, i < a->bleed_count, i < b->bleed_count)) {
            continue;
        }
        const kp_bleed *x = &a->bleeds[i], *y = &b->bleeds[i];
        snprintf(name, sizeof name, "reservoir bleed entry %zu: open ports", i + 1);
        whole_number(sentences, name, x->ports - x->plugged, y->ports - y->plugged);
        snprintf(name, sizeof name, "reservoir bleed entry %zu: diameter", i + 1);
        number(sentences, name, x->diameter, y->diameter, KP_DIM_LENGTH);
        snprintf(name, sizeof name, "reservoir bleed entry %zu: length", i + 1);
        number(sentences, name, x->length, y->length, KP_DIM_LENGTH);
        if (x->flows != y->flows) {
            kp_sentence_add(sentences, "reservoir bleed entry %zu: open %s instead of %s", i + 1, way_of(y->flows),
                            way_of(x->flows));
        }
    }
    bleed_parts(sentences, "reservoir ", a->bleeds, a->bleed_count, b->bleeds, b->bleed_count);
}

void kp_compare_plate(kp_sentences *sentences, const char *direction, const kp_valve_data *a, const kp_valve_data *b)
{
    char name[80];
    snprintf(name, sizeof name, "%s plate on a spring", direction);
    if (in_both(sentences, name, a->has_plate, b->has_plate)) {
        spring(sentences, name, &a->plate, &b->plate);
    }
}

static void reservoir(kp_sentences *sentences, const kp_damper_data *first, const kp_damper_data *second)
{
    const kp_reservoir_data *a = &first->reservoir, *b = &second->reservoir;
    if (!in_both(sentences, "reservoir", a->given, b->given)) {
        return;
    }
    number(sentences, "reservoir bore (0 = that of the body)", a->bore, b->bore, KP_DIM_LENGTH);
    if (in_both(sentences, "compression adjuster", a->has_adjuster, b->has_adjuster)) {
        adjuster(sentences, "compression adjuster", &a->adjuster, &b->adjuster);
    }
    reservoir_bleeds(sentences, a, b);
    in_both(sentences, "reservoir valve", a->has_valve, b->has_valve);
    if (in_both(sentences, "return check", a->has_return, b->has_return)) {
        check_valve(sentences, "return check", &a->return_check, &b->return_check);
    }
    if (in_both(sentences, "hose", a->has_hose, b->has_hose)) {
        number(sentences, "hose length", a->hose.length, b->hose.length, KP_DIM_LENGTH);
        number(sentences, "hose bore", a->hose.bore, b->hose.bore, KP_DIM_LENGTH);
    }
}

void kp_compare_hydraulics(kp_sentences *sentences, const kp_damper_data *a, const kp_damper_data *b)
{
    if (in_both(sentences, "rebound adjuster", a->has_adjuster, b->has_adjuster)) {
        adjuster(sentences, "rebound adjuster", &a->adjuster, &b->adjuster);
    }
    bleed_parts(sentences, "", a->bleeds, a->bleed_count, b->bleeds, b->bleed_count);
    reservoir(sentences, a, b);
    if (in_both(sentences, "divider's sizes", a->divider.given, b->divider.given)) {
        number(sentences, "divider bore", a->divider.bore, b->divider.bore, KP_DIM_LENGTH);
        number(sentences, "divider depth", a->divider.depth, b->divider.depth, KP_DIM_LENGTH);
        number(sentences, "divider travel", a->divider.travel, b->divider.travel, KP_DIM_LENGTH);
        number(sentences, "divider travel out", a->divider.travel_out, b->divider.travel_out, KP_DIM_LENGTH);
    }
    if (a->has_oil_volume || b->has_oil_volume) {
        number(sentences, "oil volume (0 = not given)", a->oil_volume, b->oil_volume, KP_DIM_VOLUME);
        number(sentences, "oil temperature when charged", a->fill_temperature, b->fill_temperature, KP_DIM_TEMPERATURE);
    }
}
