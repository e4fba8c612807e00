/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Faults and warnings of adjusters, check valves, spring-loaded plates, reservoir, hose and divider.
    Limits of a warning are common practice, no source, unless stated otherwise. */
#include "validator.h"

#include <math.h>
#include <stdio.h>

static const double JET_SHARE_MAX = 0.8;    /* [-] jet over port: beyond, the port behind it counts too (our estimate:
                                                its loss is then more than 0.8^4 = 0.4 of the jet's) */
static const int CLICKS_MAX = 500;          /* [-] no adjuster has more */
static const double TRAVEL_SHARE_MAX = 0.9; /* [-] of the divider's travel */
static const double USUAL_HOSE_MAX = 3.0;   /* [m] */
static const double KELVIN = 273.15;        /* [K] 0 degC */

static bool validate_spring(kp_validator *validator, const char *path, const kp_spring_plate *plate)
{
    char key[64];
    bool good = true;
    snprintf(key, sizeof key, "%s.preload", path);
    if (!(plate->preload >= 0.0 && isfinite(plate->preload))) {
        kp_validator_fault(validator, key, "preload %g N must not be negative", plate->preload);
        good = false;
    }

    snprintf(key, sizeof key, "%s.lift", path);
    good = kp_validator_positive_size(validator, key, "lift", plate->lift) && good;

    /* A rate of 0 is only possible for a plate that floats. */
    snprintf(key, sizeof key, "%s.rate", path);
    if (!(plate->rate >= 0.0 && isfinite(plate->rate))) {
        kp_validator_fault(validator, key, "rate %g N/mm must not be negative", plate->rate / 1e3);
        good = false;
    } else if (good && !(plate->rate > 0.0) && plate->preload > 0.0) {
        kp_validator_fault(
            validator, key,
            "rate 0 N/mm with a preload of %g N: the plate would jump open; a floating plate has a preload "
            "of 0 N, any other a rate above 0",
            plate->preload);
        good = false;
    }

    return good;
}

static void validate_check(kp_validator *validator, const char *path, const kp_check_data *check, double bore)
{
    char key[64];
    snprintf(key, sizeof key, "%s.seat", path);
    if (kp_validator_positive_size(validator, key, "seat", check->seat) && bore > 0.0 && check->seat >= bore) {
        kp_validator_fault(validator, key, "seat %g mm does not fit into the bore, %g mm", KP_MM(check->seat),
                           KP_MM(bore));
    }
    validate_spring(validator, path, &check->plate);
}

void kp_validate_plate(kp_validator *validator, const kp_valve_data *valve)
{
    validate_spring(validator, "plate", &valve->plate);
    if (valve->line_count > 0) {
        kp_validator_fault(validator, "stack", "a plate stands in the stack's place: leave one of them out");
    }
}

void kp_validate_bleed_parts(kp_validator *validator, const kp_bleed *bleed, double bore)
{
    /* A jet stands in an open port and is smaller than it. */
    int open = bleed->ports - bleed->plugged;
    if (bleed->jetted < 0 || bleed->jetted > (open > 0 ? open : 0)) {
        kp_validator_fault(validator, "jetted", "%d jetted of %d open ports: 0 to %d is possible", bleed->jetted, open,
                           open > 0 ? open : 0);
    } else if (bleed->jetted > 0 && kp_validator_positive_size(validator, "jet", "jet", bleed->jet)) {
        if (bleed->jet >= bleed->diameter) {
            kp_validator_fault(validator, "jet", "jet %g mm is not smaller than its port, %g mm", KP_MM(bleed->jet),
                               KP_MM(bleed->diameter));
        } else if (bleed->jet > JET_SHARE_MAX * bleed->diameter) {
            kp_validator_warning(
                validator, "jet",
                "jet %g mm in a port of %g mm: only the jet is counted, so a little too much oil passes",
                KP_MM(bleed->jet), KP_MM(bleed->diameter));
        }
    }

    if (bleed->has_jet_length && kp_validator_positive_size(validator, "jet length", "jet length", bleed->jet_length)) {
        if (bleed->jet_length > bleed->length) {
            kp_validator_fault(validator, "jet length", "jet length %g mm is more than its port's, %g mm",
                               KP_MM(bleed->jet_length), KP_MM(bleed->length));
        }
    }

    if (bleed->has_check) {
        if (bleed->flows == KP_FLOWS_BOTH) {
            kp_validator_fault(validator, "flows",
                               "a check valve lets oil one way only: say `flows: compression` or `flows: rebound`");
        }
        validate_check(validator, "check", &bleed->check, bore);
    }
}

/** Area against clicks: by a table, or by an area per click. False when the table cannot be interpolated. */
static bool validate_areas(kp_validator *validator, const char *path, const kp_adjuster_data *a)
{
    char key[64];

    /* One of the two laws, and only one, must be given. */
    bool table = a->point_count > 0;
    snprintf(key, sizeof key, "%s.area per click", path);
    if (table && a->area_per_click != 0.0) {
        kp_validator_fault(validator, key, "areas and an area per click are both given: leave one of them out");
    } else if (!table && a->area_per_click == 0.0) {
        snprintf(key, sizeof key, "%s.areas", path);
        kp_validator_fault(validator, key, "no area: areas against clicks, or an area per click, are wanted");
    } else if (!table && !(a->area_per_click > 0.0 && isfinite(a->area_per_click))) {
        kp_validator_fault(validator, key, "area per click %g mm2 must be larger than 0: more clicks open it further",
                           1e6 * a->area_per_click);
    }

    snprintf(key, sizeof key, "%s.closed area", path);
    if (!(a->closed_area >= 0.0 && isfinite(a->closed_area))) {
        kp_validator_fault(validator, key, "closed area %g mm2 must not be negative", 1e6 * a->closed_area);
    } else if (table && a->closed_area > 0.0) {
        kp_validator_fault(validator, key, "with areas the closed area is the one at 0 clicks: leave this key out");
    }

    /* The table must rise, and reach over all clicks. */
    snprintf(key, sizeof key, "%s.areas", path);
    for (size_t i = 1; i < a->point_count && i < KP_MAX_ADJUSTER_POINTS; i++) {
        if (!(a->point_clicks[i] > a->point_clicks[i - 1] && a->point_area[i] >= a->point_area[i - 1])) {
            kp_validator_fault(validator, key, "clicks must rise and the area must never fall with them");
            return false;
        }
    }

    if (table && !(a->point_area[0] >= 0.0)) {
        kp_validator_fault(validator, key, "an area of %g mm2 must not be negative", 1e6 * a->point_area[0]);
    } else if (table && a->max_clicks >= 1 &&
               (a->point_clicks[0] > 0 || a->point_clicks[a->point_count - 1] < a->max_clicks)) {
        kp_validator_warning(validator, key,
                             "the areas run from %d to %d clicks, the adjuster from 0 to %d: level outside",
                             a->point_clicks[0], a->point_clicks[a->point_count - 1], a->max_clicks);
    }

    return true;
}

void kp_validate_adjuster(kp_validator *validator, const char *path, const kp_adjuster_data *a)
{
    char key[64];
    snprintf(key, sizeof key, "%s.most clicks", path);
    if (a->max_clicks < 1 || a->max_clicks > CLICKS_MAX) {
        kp_validator_fault(validator, key, "%d clicks from closed to fully open: 1 to %d are possible", a->max_clicks,
                           CLICKS_MAX);
    } else if (a->clicks < 0 || a->clicks > a->max_clicks) {
        snprintf(key, sizeof key, "%s.clicks", path);
        kp_validator_fault(validator, key, "%d clicks: this adjuster has 0 (closed) to %d", a->clicks, a->max_clicks);
    }

    snprintf(key, sizeof key, "%s.seat", path);
    bool seat = kp_validator_positive_size(validator, key, "seat", a->seat);

    snprintf(key, sizeof key, "%s.discharge coefficient", path);
    if (a->has_discharge && !(a->discharge > 0.0 && a->discharge <= 1.0)) {
        kp_validator_fault(validator, key,
                           "discharge coefficient %g is outside 0 to 1 (left out or 0: that of a sharp edge)",
                           a->discharge);
    }

    /* Wide open, the needle must not have more area than its seat's bore. */
    if (!validate_areas(validator, path, a)) {
        return;
    }

    double widest = kp_adjuster_area(a, a->max_clicks > 0 ? a->max_clicks : 0);
    if (seat && widest > KP_PI / 4.0 * a->seat * a->seat) {
        snprintf(key, sizeof key, "%s.seat", path);
        kp_validator_warning(validator, key,
                             "fully open it has %.3g mm2, more than the seat's bore of %g mm lets through",
                             1e6 * widest, KP_MM(a->seat));
    }
}

/** The rod's oil needs a way out in compression and a way back in rebound. */
static void validate_ways(kp_validator *validator, const kp_damper_data *damper)
{
    const kp_reservoir_data *r = &damper->reservoir;
    bool there = r->has_valve, back = r->has_return;
    bool narrows = r->has_valve || r->bleed_count > 0 || r->has_adjuster;

    /* The valve and the open bleed ports, each by the direction in which it passes oil. */
    for (size_t i = 0; i < r->bleed_count && i < KP_MAX_BLEEDS; i++) {
        bool open = r->bleeds[i].ports > r->bleeds[i].plugged;
        there = there || (open && r->bleeds[i].flows != KP_FLOWS_REBOUND);
        back = back || (open && r->bleeds[i].flows != KP_FLOWS_COMPRESSION);
    }

    /* An open adjuster is a way too. */
    const kp_adjuster_data *a = &r->adjuster;
    if (r->has_adjuster && a->point_count <= KP_MAX_ADJUSTER_POINTS && kp_adjuster_area(a, a->clicks) > 0.0) {
        there = there || a->flows != KP_FLOWS_REBOUND;
        back = back || a->flows != KP_FLOWS_COMPRESSION;
    }

    /* Where something narrows the way it must be open both ways. */
    if (narrows && !there) {
        kp_validator_fault(
            validator, "reservoir",
            "nothing lets the rod's oil out in compression: a valve, an open bleed or an open adjuster is "
            "wanted");
    }

    if (narrows && !back) {
        kp_validator_fault(validator, "reservoir",
                           "nothing lets the oil back in rebound: a return check, an open two-way bleed or an open "
                           "adjuster is wanted");
    }

    if (!narrows && r->has_return) {
        kp_validator_warning(
            validator, "reservoir.return check",
            "without valve, bleed or adjuster the way is free both ways: the return check does nothing");
    }
}

void kp_validate_reservoir(kp_validator *validator, const kp_damper_data *damper)
{
    const kp_reservoir_data *r = &damper->reservoir;
    if (!r->given) {
        return;
    }

    if (r->has_bore && !(r->bore > 0.0 && isfinite(r->bore))) {
        kp_validator_fault(validator, "reservoir.bore", "bore %g mm must be larger than 0", KP_MM(r->bore));
    }

    if (r->has_adjuster) {
        kp_validate_adjuster(validator, "reservoir.adjuster", &r->adjuster);
    }

    if (r->has_return) {
        validate_check(validator, "reservoir.return check", &r->return_check, damper->bore);
    }

    /* A hose longer than usual gets a warning. */
    if (r->has_hose) {
        bool length = kp_validator_positive_size(validator, "reservoir.hose.length", "length", r->hose.length);
        kp_validator_positive_size(validator, "reservoir.hose.bore", "bore", r->hose.bore);
        if (length && r->hose.length > USUAL_HOSE_MAX) {
            kp_validator_warning(validator, "reservoir.hose.length", "a hose of %g m is unusual: up to %g m is common",
                                 r->hose.length, USUAL_HOSE_MAX);
        }
    }

    validate_ways(validator, damper);
}

/** The divider must have room for the rod, and for the oil as it warms. */
void kp_validate_divider(kp_validator *validator, const kp_damper_data *damper)
{
    const kp_divider_data *d = &damper->divider;
    if (!d->given) {
        return;
    }

    bool bore = kp_validator_positive_size(validator, "gas.divider.bore", "bore", d->bore);
    bool depth = kp_validator_positive_size(validator, "gas.divider.depth", "depth", d->depth);
    bool travel = kp_validator_positive_size(validator, "gas.divider.travel", "travel", d->travel);

    if (d->has_travel_out && !(d->travel_out > 0.0 && isfinite(d->travel_out))) {
        kp_validator_fault(validator, "gas.divider.travel out", "travel %g mm must not be negative",
                           KP_MM(d->travel_out));
    }

    if (!bore || !depth || !travel || !(damper->oil_temperature > 0.0) || !isfinite(damper->stroke * damper->rod)) {
        return;
    }
    if (d->travel >= d->depth) {
        kp_validator_fault(validator, "gas.divider.travel",
                           "travel %g mm is not less than the depth of the gas, %g mm: no gas would be left",
                           KP_MM(d->travel), KP_MM(d->depth));
        return;
    }

    /* Travel that rod and oil take of it, at full stroke and fully out. */
    double area = KP_PI / 4.0 * d->bore * d->bore;
    double in = kp_damper_gas_taken(damper, damper->stroke, damper->oil_temperature) / area;
    double out = -kp_damper_gas_taken(damper, 0.0, damper->oil_temperature) / area;
    const char *oil = damper->has_oil_volume ? "and the oil's expansion"
                                             : "(no oil volume is given, so without the "
                                               "oil's expansion)";

    /* The way into the gas, then the other way. */
    if (in > d->travel) {
        kp_validator_fault(
            validator, "gas.divider.travel",
            "at full stroke and %.3g degC the rod %s push the divider %.4g mm, more than its travel of %g "
            "mm: the damper locks before it bottoms",
            damper->oil_temperature - KELVIN, oil, KP_MM(in), KP_MM(d->travel));
    } else if (in > TRAVEL_SHARE_MAX * d->travel) {
        kp_validator_warning(validator, "gas.divider.travel",
                             "at full stroke and %.3g degC the rod %s push the divider %.4g of its %g mm",
                             damper->oil_temperature - KELVIN, oil, KP_MM(in), KP_MM(d->travel));
    }

    if (d->has_travel_out && out > d->travel_out) {
        kp_validator_fault(
            validator, "gas.divider.travel out",
            "at %.3g degC and rod fully out the oil shrinks by %.4g mm of the divider's travel, more than "
            "the %g mm it has that way: the gas would no longer press on the oil",
            damper->oil_temperature - KELVIN, KP_MM(out), KP_MM(d->travel_out));
    }
}

void kp_validate_oil_range(kp_validator *validator, const kp_damper_data *damper)
{
    if (damper->has_oil_volume && !(damper->oil_volume > 0.0 && isfinite(damper->oil_volume))) {
        kp_validator_fault(validator, "oil.volume", "oil volume %g L must be larger than 0", 1e3 * damper->oil_volume);
    }

    if (!(damper->fill_temperature > 0.0 && isfinite(damper->fill_temperature))) {
        kp_validator_fault(validator, "oil.fill temperature", "fill temperature %g K must be above absolute zero",
                           damper->fill_temperature);
    }

    if (!damper->has_oil_range) {
        return;
    }

    /* The curve lies in the range that the maker states. */
    double from = damper->oil_coldest, to = damper->oil_hottest, t = damper->oil_temperature;
    if (!(from > 0.0 && to > from && isfinite(to))) {
        kp_validator_fault(validator, "oil.range", "range %.4g to %.4g degC: the first must be the colder",
                           from - KELVIN, to - KELVIN);
    } else if (t < from || t > to) {
        kp_validator_warning(validator, "temperature", "%.4g degC is outside the oil's range, %.4g to %.4g degC",
                             t - KELVIN, from - KELVIN, to - KELVIN);
    }
}
