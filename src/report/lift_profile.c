/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Lift and surface stress along every shim. The shims of one stack line are alike, so a line has one profile. */
#include "report/lift_report.h"

#include <stdlib.h>

#define SECTION_STEP 6 /* people see every sixth radius: nine of them */

/** All profiles of a run: [count][line_count][KP_PROFILE_POINTS]. */
typedef struct kp_profiles {
    size_t lines;
    kp_profile_point *points;
} kp_profiles;

static kp_profile_point *profile_of(const kp_profiles *profiles, size_t row, size_t line)
{
    return profiles->points + (row * profiles->lines + line) * KP_PROFILE_POINTS;
}

/* kp_lift_visit */
static void keep_profiles(const kp_lift_study *study, size_t row, void *context)
{
    kp_profiles *profiles = context;
    for (size_t line = 0; line < profiles->lines; line++) {
        kp_lift_profile(study, line, profile_of(profiles, row, line));
    }
}

static const kp_column_spec columns[] = {
    KP_NUMBER_COLUMN("pressure", "pressure", KP_DIM_PRESSURE, 2),
    KP_NUMBER_COLUMN("disc", "shim", KP_DIM_NONE, 0),
    KP_NUMBER_COLUMN("count", "alike", KP_DIM_NONE, 0),
    KP_NUMBER_COLUMN("radius", "radius", KP_DIM_LENGTH, 2),
    KP_NUMBER_COLUMN("lift", "lift", KP_DIM_LENGTH, 3),
    KP_NUMBER_COLUMN("piston_side_radial_stress", "radial, piston side", KP_DIM_STRESS, 0),
    KP_NUMBER_COLUMN("piston_side_hoop_stress", "hoop, piston side", KP_DIM_STRESS, 0),
    KP_NUMBER_COLUMN("far_side_radial_stress", "radial, far side", KP_DIM_STRESS, 0),
    KP_NUMBER_COLUMN("far_side_hoop_stress", "hoop, far side", KP_DIM_STRESS, 0)};

/* step: 1 for every radius. */
static void add_rows(kp_table *table, const kp_lift_study *study, const kp_profiles *profiles, const kp_lift_row *rows,
                     size_t count, size_t step)
{
    kp_table_add_columns(table, columns, KP_COUNT(columns));

    for (size_t i = 0; i < count; i++) {
        size_t shim = 1;
        for (size_t line = 0; line < profiles->lines; line++) {
            size_t alike = (size_t)study->valve->lines[line].count;
            const kp_profile_point *points = profile_of(profiles, i, line);
            bool spacer = study->parts[line] == KP_SHIM_SPACER;

            for (size_t k = 0; !spacer && k < KP_PROFILE_POINTS; k += step) {
                const kp_disc_stress *stress = &points[k].stress;
                kp_row out = kp_row_add(table);
                const double values[KP_COUNT(columns)] = {rows[i].pressure,
                                                          (double)shim,
                                                          (double)alike,
                                                          points[k].radius,
                                                          points[k].lift,
                                                          stress->piston_side_radial,
                                                          stress->piston_side_hoop,
                                                          stress->far_side_radial,
                                                          stress->far_side_hoop};
                kp_row_numbers(&out, values, KP_COUNT(values));
            }

            /* A spacer has no rows, but its shims count. */
            shim += alike;
        }
    }
}

void kp_report_lift_profile(kp_report *report, const kp_lift_study *study)
{
    size_t count;
    const double *pressures = kp_lift_pressures(report->request, &count);
    kp_profiles profiles = {.lines = study->valve->line_count};
    profiles.points = calloc(count * profiles.lines * KP_PROFILE_POINTS, sizeof *profiles.points);
    kp_lift_row *rows = calloc(count, sizeof *rows);

    if (profiles.points == NULL || rows == NULL) {
        kp_error_set(&report->failure, KP_NO_MEMORY, "memory ran out for the profiles at %zu pressures", count);
    } else if (kp_lift_study_rows(study, pressures, count, report->request->free, rows, keep_profiles, &profiles,
                                  &report->failure) == KP_OK) {
        kp_section *section = kp_report_section(
            report,
            "Lift from the clamp plane and surface stress along every shim; shim 1 lies on the seat, `alike` is "
            "how many from it on are the same. Tension is positive. CSV and JSON have 49 radii where 9 stand "
            "here.");

        /* The same rows, at fewer radii for people. */
        add_rows(&report->data, study, &profiles, rows, count, 1);
        add_rows(&section->table, study, &profiles, rows, count, SECTION_STEP);
    }

    free(profiles.points);
    free(rows);
}
