/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `lift --profile`: lift and surface stress along every shim. Shims of one stack line are alike, so a line has one
    profile, that of its first shim. */
#include "cli/lift.h"
#include "cli/messages.h"

#include <stdlib.h>

enum { SHOWN_APART = 6 }; /* [-] people see every sixth radius: nine of them */

bool kp_lift_profile_take(const kp_lift_study *study, size_t line, kp_profile_point points[KP_PROFILE_POINTS])
{
    if (study->parts[line] == KP_SHIM_SPACER) {
        return false;
    }
    double outer = study->discs[line].outer_radius;
    double inner = study->parts[line] == KP_SHIM_RING ? study->discs[line].hole_radius : study->clamps[line] / 2.0;
    for (size_t k = 0; k < KP_PROFILE_POINTS; k++) {
        double share = (double)k / (KP_PROFILE_POINTS - 1);
        double radius = k + 1 == KP_PROFILE_POINTS ? outer : inner + share * (outer - inner);
        points[k] = (kp_profile_point){radius, kp_lift_clean(kp_stack_lift_at(study->workspace, line, radius)),
                                       kp_stack_stress_at(study->workspace, line, radius)};
    }
    return true;
}

/** All profiles of a run: [count][line_count][KP_PROFILE_POINTS]. */
typedef struct kp_profiles {
    size_t lines;
    kp_profile_point *points;
} kp_profiles;

static kp_profile_point *profile_of(const kp_profiles *profiles, size_t row, size_t line)
{
    return profiles->points + (row * profiles->lines + line) * KP_PROFILE_POINTS;
}

static void take_row(const kp_lift_study *study, size_t row, void *context)
{
    kp_profiles *profiles = context;
    for (size_t line = 0; line < profiles->lines; line++) {
        kp_lift_profile_take(study, line, profile_of(profiles, row, line));
    }
}

static const struct {
    const char *name, *heading;
    kp_dimension dimension;
    int decimals;
} columns[] = {{"pressure", "pressure", KP_DIM_PRESSURE, 2},
               {"disc", "shim", KP_DIM_NONE, 0},
               {"count", "alike", KP_DIM_NONE, 0},
               {"radius", "radius", KP_DIM_LENGTH, 2},
               {"lift", "lift", KP_DIM_LENGTH, 3},
               {"piston_side_radial_stress", "radial, piston side", KP_DIM_STRESS, 0},
               {"piston_side_hoop_stress", "hoop, piston side", KP_DIM_STRESS, 0},
               {"far_side_radial_stress", "radial, far side", KP_DIM_STRESS, 0},
               {"far_side_hoop_stress", "hoop, far side", KP_DIM_STRESS, 0}};
enum { COLUMNS = sizeof columns / sizeof columns[0] };

static kp_status add_columns(kp_table *table, kp_error *error)
{
    kp_status status = KP_OK;
    for (size_t i = 0; status == KP_OK && i < COLUMNS; i++) {
        status = kp_table_add_column(table, columns[i].name, columns[i].heading, columns[i].dimension,
                                     columns[i].decimals, NULL, error);
    }
    return status;
}

static kp_status add_row(kp_table *table, double pressure, double shim, double alike, const kp_profile_point *point,
                         kp_error *error)
{
    const double values[COLUMNS] = {pressure,
                                    shim,
                                    alike,
                                    point->radius,
                                    point->lift,
                                    point->stress.piston_side_radial,
                                    point->stress.piston_side_hoop,
                                    point->stress.far_side_radial,
                                    point->stress.far_side_hoop};
    size_t row;
    kp_status status = kp_table_add_row(table, &row, error);
    for (size_t i = 0; status == KP_OK && i < COLUMNS; i++) {
        kp_table_set(table, row, i, values[i]);
    }
    return status;
}

/* apart: 1 for every radius. */
static kp_status fill_rows(kp_table *table, const kp_lift_study *study, const kp_profiles *profiles,
                           const kp_lift_row *rows, size_t count, size_t apart, kp_error *error)
{
    kp_status status = add_columns(table, error);
    for (size_t i = 0; i < count; i++) {
        size_t shim = 1;
        for (size_t line = 0; line < profiles->lines; line++) {
            size_t alike = (size_t)study->valve->lines[line].count;
            const kp_profile_point *points = profile_of(profiles, i, line);
            bool spacer = study->parts[line] == KP_SHIM_SPACER;
            for (size_t k = 0; status == KP_OK && !spacer && k < KP_PROFILE_POINTS; k += apart) {
                status = add_row(table, rows[i].pressure, (double)shim, (double)alike, &points[k], error);
            }
            shim += alike;
        }
    }
    return status;
}

kp_status kp_lift_profile_fill(kp_output *output, const kp_lift_study *study, const double *pressures, size_t count,
                               kp_lift_row *rows, kp_error *error)
{
    kp_profiles profiles = {.lines = study->valve->line_count};
    profiles.points = calloc(count * profiles.lines * KP_PROFILE_POINTS, sizeof *profiles.points);
    if (profiles.points == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out for the profiles at %zu pressures", count);
    }
    kp_status status =
        kp_lift_study_rows(study, pressures, count, output->options->free, rows, take_row, &profiles, error);
    kp_section *section = kp_output_section(
        output,
        "Lift from the clamp plane and surface stress along every shim; shim 1 lies on the seat, `alike` is how "
        "many from it on are the same. Tension is positive. CSV and JSON have 49 radii where 9 stand here.");
    if (status == KP_OK && section == NULL) {
        status = kp_error_set(error, KP_NO_MEMORY, "memory ran out while the table was made");
    }
    if (status == KP_OK) {
        status = fill_rows(&output->data, study, &profiles, rows, count, 1, error);
    }
    if (status == KP_OK) {
        status = fill_rows(&section->table, study, &profiles, rows, count, SHOWN_APART, error);
    }
    free(profiles.points);
    return status;
}
