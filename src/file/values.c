/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The other values with a grammar of their own: density, charge, viscosity, grade, an adjuster's areas. */
#include "reader.h"
#include "workshop.h"

#include <string.h>
#include <strings.h>

/* ---- oil and gas ------------------------------------------------------------------------------------------- */

static void read_density(kp_reading *reading, const kp_node *node, const char *path, kp_oil *oil)
{
    kp_quantity density = {0};
    bool given = false;
    if (kp_read_quantity_at(reading, node, KP_DIM_DENSITY, path, &density, &oil->density_temperature, &given)) {
        oil->density = density.value;
    }
}

static void read_charge(kp_reading *reading, const kp_node *node, const char *path, kp_draft *draft)
{
    kp_quantity charge = {0};
    bool given = false;

    /* The charge is kept as absolute pressure, with the way in which it was given. */
    if (kp_read_quantity_at(reading, node, KP_DIM_GAS_PRESSURE, path, &charge, &draft->damper.gas.charge_temperature,
                            &given)) {
        draft->damper.gas.charge_pressure = charge.value;
        kp_keep_tolerance(reading, &charge, node->place, path, &draft->damper.gas.charge_pressure);
        draft->damper.charge_was_gauge = charge.gauge;
        draft->charge_temperature_given = given;

        if (!given) {
            kp_report_warning(
                reading->report, node->place, path,
                "the temperature of the charge is not given and taken as 20 degC; `14 bar gauge at 20 degC` "
                "would be whole");
        }
    }
}

static void read_viscosity(kp_reading *reading, const kp_node *node, const char *path, kp_oil *oil)
{
    static const char example[] = "{40 degC: 15 mm2/s, 100 degC: 3.8 mm2/s}";
    if (node->kind == KP_NODE_SCALAR) {
        kp_workshop_viscosity(reading, node, path);
        return;
    }
    if (node->kind != KP_NODE_MAP || node->count != 2) {
        bool many = node->kind == KP_NODE_MAP && node->count > 2;
        kp_report_fault(reading->report, node->place, path,
                        "viscosity at exactly two temperatures is wanted, such as %s, or one as `15 cSt at 40 degC`%s",
                        example, many ? "; on top of a file that has others, say `none` to those" : "");
        return;
    }

    /* Both points are read before either counts. */
    double temperatures[2] = {0.0, 0.0}, viscosities[2] = {0.0, 0.0};
    bool good = true;

    for (size_t i = 0; i < 2; i++) {
        const kp_entry *entry = &node->entries[i];
        kp_quantity temperature = {0}, viscosity = {0};

        if (entry->value->reported) {
            return;
        }
        if (entry->value->kind != KP_NODE_SCALAR) {
            kp_report_fault(reading->report, entry->value->place, path, "one viscosity is wanted here, such as %s",
                            example);
            return;
        }

        /* Both texts are read even when the first is a fault, so that one run reports both. */
        good = kp_read_quantity(reading, entry->key, KP_DIM_TEMPERATURE, entry->key_place, path, &temperature) && good;
        good = kp_read_quantity(reading, entry->value->text, KP_DIM_KINEMATIC_VISCOSITY, entry->value->place, path,
                                &viscosity) &&
               good;

        temperatures[i] = temperature.value;
        viscosities[i] = viscosity.value;
    }

    if (good) {
        oil->temperature_1 = temperatures[0];
        oil->viscosity_1 = viscosities[0];
        oil->temperature_2 = temperatures[1];
        oil->viscosity_2 = viscosities[1];
    }
}

static void read_grade(kp_reading *reading, const kp_node *node, const char *path, int *grade)
{
    /* ISO VG and a whole number that is a grade. */
    static const char name[] = "ISO VG ";
    double number = 0.0;

    if (strncasecmp(node->text, name, strlen(name)) == 0 && kp_number_read(node->text + strlen(name), &number) &&
        number >= 1.0 && number <= 1000.0 && kp_oil_grade_find((int)number) != NULL && number <= (double)(int)number) {
        *grade = (int)number;
        return;
    }

    /* The grades that there are. */
    char shown[KP_TEXT_SHOWN], list[120];
    size_t count, used = 0;
    const kp_oil_grade *grades = kp_oil_grades(&count);

    for (size_t i = 0; i < count; i++) {
        used += kp_text_print(list + used, sizeof list - used, "%s%d", i == 0 ? "" : ", ", grades[i].grade);
    }

    kp_text_show(node->text, shown, sizeof shown);
    kp_report_fault(reading->report, node->place, path,
                    "`%s`: a grade of ISO 3448 is wanted, as `ISO VG 15`, with one of %s", shown, list);
}

/* ---- adjuster ---------------------------------------------------------------------------------------------- */

static void read_areas(kp_reading *reading, const kp_node *node, const char *path, kp_adjuster_data *adjuster)
{
    static const char example[] = "{0: 0 mm2, 10: 1.2 mm2, 20: 3 mm2}";
    if (node->kind != KP_NODE_MAP || node->count < 2 || node->count > KP_MAX_ADJUSTER_POINTS) {
        kp_report_fault(reading->report, node->place, path, "2 to %d clicks, each with its area, are wanted: %s",
                        KP_MAX_ADJUSTER_POINTS, example);
        return;
    }

    for (size_t i = 0; i < node->count; i++) {
        const kp_entry *entry = &node->entries[i];
        kp_quantity area = {0};
        double clicks = 0.0;
        if (entry->value->reported) {
            return;
        }

        /* Clicks, then their area. */
        if (!kp_number_read(entry->key, &clicks) || !(clicks >= 0.0 && clicks <= 1e6) || clicks > (double)(int)clicks ||
            entry->value->kind != KP_NODE_SCALAR) {
            char shown[KP_TEXT_SHOWN];
            kp_text_show(entry->key, shown, sizeof shown);
            kp_report_fault(reading->report, entry->key_place, path,
                            "`%s`: a whole number of clicks with its area is wanted, such as %s", shown, example);
            return;
        }

        if (!kp_read_quantity(reading, entry->value->text, KP_DIM_AREA, entry->value->place, path, &area)) {
            return;
        }

        /* Clicks rise, the area never falls. */
        size_t before = i > 0 ? i - 1 : 0;
        bool rises =
            i == 0 || ((int)clicks > adjuster->point_clicks[before] && area.value >= adjuster->point_area[before]);
        if (!rises) {
            kp_report_fault(
                reading->report, entry->key_place, path,
                "%d clicks with %g mm2 after %d clicks with %g mm2: clicks must rise, and the area must never "
                "fall with them",
                (int)clicks, 1e6 * area.value, adjuster->point_clicks[before], 1e6 * adjuster->point_area[before]);
            return;
        }

        adjuster->point_clicks[i] = (int)clicks;
        adjuster->point_area[i] = area.value;
    }

    adjuster->point_count = node->count;
}

/* ---- all of them ----------------------------------------------------------------------------------------- */

static void read_format(kp_reading *reading, const kp_node *node, const char *path)
{
    if (strcmp(node->text, "1") != 0) {
        char shown[KP_TEXT_SHOWN];
        kp_text_show(node->text, shown, sizeof shown);
        kp_report_fault(reading->report, node->place, path, "format `%s` is not known; this program reads format 1",
                        shown);
    }
}

void kp_read_special(kp_reading *reading, const kp_key *key, const kp_node *node, const char *path, void *target)
{
    if (node->reported) {
        return;
    }

    if (key->special != KP_SPECIAL_VISCOSITY && key->special != KP_SPECIAL_AREAS && node->kind != KP_NODE_SCALAR) {
        kp_report_fault(reading->report, node->place, path, "a single value is wanted here: %s", key->about);
        return;
    }

    switch (key->special) {
    case KP_SPECIAL_FORMAT:
        read_format(reading, node, path);
        break;
    case KP_SPECIAL_BASED_ON:
        break; /* the file has been read already */
    case KP_SPECIAL_VISCOSITY:
        read_viscosity(reading, node, path, target);
        break;
    case KP_SPECIAL_DENSITY:
        read_density(reading, node, path, target);
        break;
    case KP_SPECIAL_CHARGE:
        read_charge(reading, node, path, target);
        break;
    case KP_SPECIAL_GRADE:
        read_grade(reading, node, path, target);
        break;
    case KP_SPECIAL_AREAS:
        read_areas(reading, node, path, target);
        break;
    case KP_SPECIAL_SHIM_LINE:
        kp_read_shim_line(reading, node, path, target);
        break;
    }
}
