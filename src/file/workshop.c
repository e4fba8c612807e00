/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Values as a workshop has them: one viscosity, and sizes left out that have a stated default. */
#include "workshop.h"

#include <math.h>
#include <string.h>

/* ---- one viscosity ------------------------------------------------------------------------------------------------
 */

static const double HUNDRED = 373.15, FORTY = 313.15; /* [K] */

void kp_workshop_viscosity(kp_reading *reading, const kp_node *node, const char *path)
{
    kp_draft *draft = reading->draft;
    kp_quantity viscosity = {0};
    double at = FORTY;
    bool given = false;
    if (!kp_read_quantity_at(reading, node, KP_DIM_KINEMATIC_VISCOSITY, path, &viscosity, &at, &given)) {
        return;
    }
    if (!given) {
        kp_report_fault(
            reading->report, node->place, path,
            "a viscosity goes with its temperature, `15 cSt at 40 degC`; two of them are better, {40 degC: 15 "
            "mm2/s, 100 degC: 3.8 mm2/s}");
        return;
    }
    draft->one_viscosity_given = true;
    draft->one_viscosity = viscosity.value;
    draft->one_viscosity_at = at;
}

/** An oil of this viscosity at 40 degC and index; false when the index cannot be had. */
static bool oil_of_index(double viscosity_40, double index, kp_oil *oil)
{
    oil->temperature_1 = FORTY;
    oil->temperature_2 = HUNDRED;
    oil->viscosity_1 = viscosity_40;
    return kp_viscosity_from_index(viscosity_40, index, &oil->viscosity_2, NULL) == KP_OK;
}

/** The oil of this index that has the viscosity at the temperature: bisection in the viscosity at 40 degC. */
static bool find_oil(double viscosity, double at, double index, kp_oil *oil)
{
    if (fabs(at - FORTY) < 1e-6) { /* [K] far below what is written */
        return oil_of_index(viscosity, index, oil);
    }

    /* 6 to 2000 mm2/s: below, no index is defined; above, no damper oil. 60 halvings of log 333 reach rounding. */
    double low = 6e-6, high = 2e-3, found = 0.0;
    for (int i = 0; i < 60; i++) {
        double middle = sqrt(low * high);
        if (!oil_of_index(middle, index, oil) || kp_oil_viscosity(oil, at, &found, NULL) != KP_OK) {
            return false;
        }
        low = found < viscosity ? middle : low;
        high = found < viscosity ? high : middle;
    }
    return fabs(found - viscosity) <= 1e-9 * viscosity;
}

/** Index of a generic oil: that of the grade nearest in viscosity. */
static double usual_index(double viscosity)
{
    size_t count;
    const kp_oil_grade *grades = kp_oil_grades(&count);
    size_t best = 0;
    for (size_t i = 0; i < count; i++) {
        if (grades[i].index > 0.0 && (!(grades[best].index > 0.0) || fabs(log(grades[i].middle / viscosity)) <
                                                                         fabs(log(grades[best].middle / viscosity)))) {
            best = i;
        }
    }
    return grades[best].index;
}

void kp_workshop_complete_oil(kp_reading *reading)
{
    kp_draft *draft = reading->draft;
    kp_oil *oil = &draft->damper.oil;
    kp_oil made = *oil;
    kp_place place = kp_path_place(reading->arena, reading->root, "oil.viscosity");
    double index = draft->index_given ? draft->index : usual_index(draft->one_viscosity);

    if (!find_oil(draft->one_viscosity, draft->one_viscosity_at, index, &made)) {
        kp_report_fault(reading->report, place, "oil.viscosity",
                        "no oil of viscosity index %g has this viscosity there: give viscosities at two temperatures, "
                        "{40 degC: 15 mm2/s, 100 degC: 3.8 mm2/s}",
                        index);
        made = (kp_oil){FORTY, 15e-6, HUNDRED, 4e-6, oil->density, oil->density_temperature, oil->expansion};
    } else if (!draft->index_given) {
        kp_report_warning(
            reading->report, place, "oil.viscosity",
            "one viscosity is given, and the viscosity index taken as %g, an assumption for a generic oil: "
            "%.3g mm2/s at 40 degC, %.3g mm2/s at 100 degC",
            index, 1e6 * made.viscosity_1, 1e6 * made.viscosity_2);
    }
    *oil = made;
}

/* ---- sizes left out -----------------------------------------------------------------------------------------------
 */

static const double BLEED_LENGTH = 5.0;   /* [diameters] assumed: a port of 1.8 mm through a piston of 9 mm */
static const double DIVIDER_TRAVEL = 0.9; /* [-] of the depth, assumed: the piston must leave some gas */
static const double LAND_OUTER = 1.04;    /* [-] of the inner diameter, assumed: a land 1 mm wide at 50 mm */

/** Is the key in the file, with any value? */
static bool is_given(const kp_reading *reading, const char *path)
{
    kp_step steps[KP_STEPS_MAX];
    size_t count = kp_path_split(reading->arena, path, steps);
    const kp_node *node = reading->root;
    for (size_t i = 0; i < count; i++) {
        const kp_entry *entry = NULL;
        if (steps[i].key != NULL) {
            entry = kp_node_find(node, steps[i].key);
        } else if (node->kind == KP_NODE_LIST && steps[i].index < node->count) {
            entry = &node->entries[steps[i].index];
        }
        if (entry == NULL) {
            return false;
        }
        node = entry->value;
    }
    return true;
}

/** Fills a length that the file leaves out, with a warning that says so. what: "length of the ports". */
static void fill(kp_reading *reading, const char *path, double value, const char *reason, double *out)
{
    if (!(value > 0.0) || is_given(reading, path)) {
        return;
    }
    *out = value;
    kp_report_warning(reading->report, kp_path_place(reading->arena, reading->root, path), path,
                      "not given, and taken as %.4g mm, an assumption: %s", 1e3 * value, reason);
}

static void complete_bleeds(kp_reading *reading, const char *list, kp_bleed *bleeds, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        char path[96];
        kp_text_print(path, sizeof path, "%s[%zu].length", list, i);
        fill(reading, path, BLEED_LENGTH * bleeds[i].diameter, "five diameters", &bleeds[i].length);
    }
}

static void complete_land(kp_reading *reading, const char *valve_path, kp_valve_data *valve)
{
    char land[96], outer[96];
    kp_text_print(land, sizeof land, "%s.land", valve_path);
    kp_text_print(outer, sizeof outer, "%s.land.outer", valve_path);
    if (is_given(reading, land)) {
        fill(reading, outer, LAND_OUTER * valve->land_inner, "a narrow land, 4 % wider than its inner edge",
             &valve->land_outer);
    }
}

void kp_workshop_complete_sizes(kp_reading *reading)
{
    kp_damper_data *damper = &reading->draft->damper;
    complete_bleeds(reading, "piston.bleed", damper->bleeds, damper->bleed_count);
    complete_bleeds(reading, "reservoir.bleed", damper->reservoir.bleeds, damper->reservoir.bleed_count);
    complete_land(reading, "piston.compression", &damper->valves[KP_COMPRESSION]);
    complete_land(reading, "piston.rebound", &damper->valves[KP_REBOUND]);
    complete_land(reading, "reservoir.valve", &damper->valves[KP_RESERVOIR_VALVE]);

    /* The depth alone: the floating piston slides in the reservoir, or in the body, and must leave some gas. */
    if (damper->divider.given) {
        bool apart = damper->reservoir.given && damper->reservoir.has_bore;
        fill(reading, "gas.divider.bore", apart ? damper->reservoir.bore : damper->bore,
             apart ? "the bore of the reservoir" : "the bore of the body", &damper->divider.bore);
        fill(reading, "gas.divider.travel", DIVIDER_TRAVEL * damper->divider.depth, "nine tenths of its depth",
             &damper->divider.travel);
    }
}
