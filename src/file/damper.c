/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A damper file from its name to SI data, with every message about it. */
#include "file_internal.h"

#include "reader.h"
#include "workshop.h"

#include <stdlib.h>
#include <string.h>

static const int SETTINGS_ORDER = 1000; /* settings come after all files in the order of messages */

/** The findings of the validation, at their places. None is reported for a key that could not be read. */
static kp_status report_findings(kp_reading *reading, kp_error *error)
{
    kp_findings findings = {0};
    kp_status status = kp_damper_validate(&reading->draft->damper, &findings, error);

    for (size_t i = 0; status == KP_OK && i < findings.count; i++) {
        const kp_finding *finding = &findings.items[i];

        /* One message a key: a fault of reading hides what the validation says of the same key. */
        if (!kp_report_covers(reading->report, finding->path)) {
            kp_place place = kp_path_place(reading->arena, reading->root, finding->path);
            if (finding->fault) {
                kp_report_fault(reading->report, place, finding->path, "%s", finding->text);
            } else {
                kp_report_warning(reading->report, place, finding->path, "%s", finding->text);
            }
        }
    }

    kp_findings_free(&findings);
    return status;
}

/** An oil in place of one whose grade could not be read, so that its validation reports nothing more. The file is
    refused already. */
static void stand_in(kp_oil *oil)
{
    if (!(oil->temperature_1 > 0.0)) {
        *oil = (kp_oil){313.15, 15e-6, 373.15, 4e-6, oil->density, oil->density_temperature, oil->expansion};
    }
    oil->density = oil->density > 0.0 ? oil->density : 850.0;
}

/** Viscosity at 40 and 100 degC, where grade and index are defined. */
static void fill_viscosity(kp_reading *reading, const kp_oil_grade *grade, kp_place place)
{
    kp_draft *draft = reading->draft;
    kp_oil *oil = &draft->damper.oil;
    double index = draft->index_given ? draft->index : grade->index;
    kp_error error = {0};

    if (kp_viscosity_from_index(grade->middle, index, &oil->viscosity_2, &error) != KP_OK) {
        kp_report_fault(reading->report, place, "oil.grade", "%.400s", error.message);
        stand_in(oil);
        return;
    }

    /* Both temperatures in kelvin. */
    oil->temperature_1 = 313.15;
    oil->temperature_2 = 373.15;
    oil->viscosity_1 = grade->middle;

    if (!draft->index_given) {
        kp_report_warning(
            reading->report, place, "oil.grade",
            "the viscosity index is not given and taken as %g, an assumption for a generic oil of this grade", index);
    }
}

/** Viscosity and density of an oil that is named by its grade. */
static void complete_oil(kp_reading *reading)
{
    kp_draft *draft = reading->draft;
    kp_oil *oil = &draft->damper.oil;
    const kp_oil_grade *grade = kp_oil_grade_find(draft->grade);
    kp_place place = kp_path_place(reading->arena, reading->root, "oil.grade");

    if (kp_report_covers(reading->report, "oil.grade")) {
        stand_in(oil);
    } else if (grade == NULL && draft->one_viscosity_given) {
        kp_workshop_complete_oil(reading);
    } else if (grade == NULL && draft->index_given) {
        place = kp_path_place(reading->arena, reading->root, "oil.viscosity index");
        kp_report_fault(
            reading->report, place, "oil.viscosity index",
            "a viscosity index goes with a grade, such as `grade: ISO VG 15`, or with one viscosity; here it is given "
            "at two temperatures");
    } else if (grade != NULL && (oil->temperature_1 > 0.0 || draft->one_viscosity_given ||
                                 kp_report_covers(reading->report, "oil.viscosity"))) {
        kp_report_fault(reading->report, place, "oil.grade",
                        "viscosity is given both by a grade and by numbers: leave one of them out");
        stand_in(oil);
    } else if (grade != NULL) {
        fill_viscosity(reading, grade, place);
    }

    /* A generic density, with a warning. */
    if (grade != NULL && !(oil->density > 0.0)) {
        oil->density = grade->density;
        kp_report_warning(
            reading->report, place, "oil.grade",
            "the density is not given and taken as %g kg/m3 at 15 degC, an assumption for a generic oil of this "
            "grade",
            oil->density);
    }
}

/** What follows from other keys. */
static void complete_draft(kp_reading *reading)
{
    kp_draft *draft = reading->draft;
    kp_damper_data *damper = &draft->damper;

    complete_oil(reading);
    kp_workshop_complete_sizes(reading);

    /* Mid-stroke; the temperature of the charge. */
    if (!draft->position_given) {
        damper->position = damper->stroke / 2.0;
    }

    if (!draft->fill_temperature_given) {
        damper->fill_temperature = damper->gas.charge_temperature;
    }

    /* With the default, the air's own pressure, an open damper would cavitate at rest. */
    if (damper->gas_open && !draft->release_given) {
        damper->release_pressure = kp_open_release_pressure();
        kp_place place = kp_path_place(reading->arena, reading->root, "gas");
        kp_report_warning(reading->report, place, "gas",
                          "the pressure at which air leaves the oil is not given and taken as %.2g bar absolute, an "
                          "assumption for a damper open to the air: `release pressure` of the oil takes its place",
                          damper->release_pressure / 1e5);
    }

    /* A divider determines the gas volume. */
    if (damper->divider.given) {
        if (damper->gas.volume > 0.0) {
            kp_place place = kp_path_place(reading->arena, reading->root, "gas.volume");
            kp_report_fault(reading->report, place, "gas.volume",
                            "the gas volume follows from the divider's bore and depth: leave one of them out");
        }

        const double quarter_pi = 0.78539816339744830962;
        damper->gas.volume = quarter_pi * damper->divider.bore * damper->divider.bore * damper->divider.depth;
    }
}

/** Tree, defaults, keys, validation. The draft is only valid when the report has no fault. */
static kp_status read_draft(kp_source *source, const char *path, const char *const *settings, size_t setting_count,
                            kp_draft *draft, kp_error *error)
{
    kp_node *root = kp_source_read(source, path);
    if (source->status != KP_OK) {
        return kp_error_set(error, source->status, "%s", source->error.message);
    }
    if (root == NULL) {
        return KP_OK; /* the report has the fault */
    }

    for (size_t i = 0; i < setting_count; i++) {
        kp_setting_apply(source->arena, source->report, root, settings[i], SETTINGS_ORDER + (int)i);
    }

    kp_node_prune(root);

    /* Defaults first, then the keys over them, then what follows from other keys. */
    kp_damper_defaults(&draft->damper);
    kp_reading reading = {source->arena, source->report, draft, root};
    kp_file_fill_damper(&reading, root);
    complete_draft(&reading);
    kp_status status = report_findings(&reading, error);

    if (status == KP_OK && source->arena->failed) {
        status = kp_error_set(error, KP_NO_MEMORY, "memory ran out while %s was read", path);
    }

    return status;
}

kp_status kp_file_read_damper_from(kp_opener *open, void *context, const char *path, const char *const *settings,
                                   size_t setting_count, kp_damper_data *out, kp_messages *messages, kp_error *error)
{
    /* Report and draft are too large for a stack. */
    kp_report *report = calloc(1, sizeof *report);
    kp_draft *draft = calloc(1, sizeof *draft);

    if (report == NULL || draft == NULL) {
        free(draft);
        free(report);
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out while %s was read", path);
    }

    /* The report goes out also when there are faults; the damper only without. */
    kp_arena arena = {0};
    report->arena = &arena;
    kp_source source = {.open = open, .context = context, .arena = &arena, .report = report};
    kp_status status = read_draft(&source, path, settings, setting_count, draft, error);

    if (status == KP_OK) {
        status = kp_report_publish(report, messages, error);
    }

    if (status == KP_OK) {
        *out = draft->damper;
    }

    free(draft);
    free(report);
    kp_arena_free(&arena);
    return status;
}

kp_status kp_file_read_damper(const char *path, const char *const *settings, size_t setting_count, kp_damper_data *out,
                              kp_messages *messages, kp_error *error)
{
    bool standard = strcmp(path, "-") == 0;
    return kp_file_read_damper_from(standard ? kp_source_open_standard : kp_source_open, &standard, path, settings,
                                    setting_count, out, messages, error);
}
