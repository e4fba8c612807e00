/* SPDX-License-Identifier: GPL-3.0-or-later */
/** One stack by itself: rows do not depend on the order of their pressures, small deflection is the slope at zero load,
    and a sensitivity is the root that the rows confirm. */
#include "fixtures.h"
#include "kneepoint/study.h"
#include "num/num.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static kp_damper_data data;

/* Invented van damper: a flat seat, several kinds of shim, the last one small enough to act as a washer. */
static void begin(void)
{
    static const kp_shim_line lines[] = {{.count = 2, .outside = 40e-3, .thickness = 0.20e-3},
                                         {.count = 1, .outside = 31e-3, .thickness = 0.15e-3},
                                         {.count = 1, .outside = 15e-3, .thickness = 0.30e-3}};
    kp_damper_defaults(&data);
    kp_valve_data *valve = &data.valves[KP_COMPRESSION];
    valve->port_area = 240e-6;
    valve->port_inner = 20e-3;
    valve->land_inner = 33e-3;
    valve->land_outer = 35e-3;
    valve->clamp_washer = 16e-3;
    valve->line_count = 3;
    memcpy(valve->lines, lines, sizeof lines);
}

TestSuite(lift, .init = begin);

Test(lift, rows_stand_in_the_order_of_their_pressures)
{
    const double rising[] = {1.13e5, 7.9e5, 23.85e5}, falling[] = {23.85e5, 7.9e5, 1.13e5};
    kp_lift_row a[3], b[3];
    kp_lift_study study = {0};
    kp_error error = {0};
    cr_assert_eq(kp_lift_study_begin(&data, KP_COMPRESSION, &study, &error), KP_OK, "%s", error.message);
    cr_assert(study.shim_count == 4 && study.cracking == 0.0 && study.parts[2] == KP_SHIM_SPACER);
    cr_assert_eq(kp_lift_study_rows(&study, rising, 3, false, a, NULL, NULL, &error), KP_OK, "%s", error.message);
    cr_assert_eq(kp_lift_study_rows(&study, falling, 3, false, b, NULL, NULL, &error), KP_OK, "%s", error.message);
    for (size_t i = 0; i < 3; i++) {
        cr_assert_eq(a[i].pressure, rising[i]);
        cr_assert_float_eq(a[i].edge_lift, b[2 - i].edge_lift, 1e-9 * a[i].edge_lift);
        cr_assert(i == 0 || a[i].edge_lift > a[i - 1].edge_lift);
        cr_assert_eq(a[i].edge_lift, a[i].lines[0].edge_lift);
        cr_assert_eq(a[i].past_yield, a[i].lines[0].yields || a[i].lines[1].yields || a[i].lines[2].yields);
    }

    /* the last solution, at the highest pressure, is what a profile shows; the spacer has none */
    kp_profile_point points[KP_PROFILE_POINTS];
    cr_assert(!kp_lift_profile(&study, 2, points));
    cr_assert(kp_lift_profile(&study, 0, points));
    cr_assert_eq(points[KP_PROFILE_POINTS - 1].lift, b[0].edge_lift);
    cr_assert_eq(points[0].lift, 0.0);
    kp_lift_study_end(&study);
}

/* The tangent of a mixed stack against its own lift at a tenth of the load: the rest of the error goes with the square
   of lift over thickness, here below 1e-4. A stack of one kind against the mixed one whose kinds are made equal. */
Test(lift, small_deflection_is_the_slope_at_zero_load)
{
    kp_lift_study study = {0};
    kp_lift_row row;
    kp_error error = {0};
    const double pressure = 1e3;
    cr_assert_eq(kp_lift_study_begin(&data, KP_COMPRESSION, &study, &error), KP_OK, "%s", error.message);
    cr_assert_eq(study.small, KP_SMALL_TANGENT);
    cr_assert_eq(kp_lift_study_rows(&study, &pressure, 1, true, &row, NULL, NULL, &error), KP_OK, "%s", error.message);
    cr_assert_float_eq(row.edge_lift, row.small_edge_lift, 1e-4 * row.small_edge_lift);
    kp_lift_study_end(&study);

    data.valves[KP_COMPRESSION].line_count = 1;
    study = (kp_lift_study){0};
    cr_assert_eq(kp_lift_study_begin(&data, KP_COMPRESSION, &study, &error), KP_OK, "%s", error.message);
    cr_assert_eq(study.small, KP_SMALL_CLOSED_FORM);
    cr_assert_eq(kp_lift_study_rows(&study, &pressure, 1, true, &row, NULL, NULL, &error), KP_OK, "%s", error.message);
    cr_assert_float_eq(row.edge_lift, row.small_edge_lift, 2e-4 * row.small_edge_lift);
    kp_lift_study_end(&study);
}

Test(lift, a_sensitivity_is_a_root_that_the_rows_confirm)
{
    const double opening = 0.237e-3;
    kp_lift_sensitivity rows[KP_LIFT_SENSITIVITIES];
    kp_error error = {0};
    cr_assert_eq(kp_lift_sensitivities(&data, KP_COMPRESSION, opening, rows, &error), KP_OK, "%s", error.message);
    cr_assert(rows[1].grip == KP_GRIP_SLIDING && rows[1].hole_assumed && rows[1].hole == kp_assumed_hole(16e-3));

    for (size_t i = 0; i < KP_LIFT_SENSITIVITIES; i++) {
        kp_damper_data changed = data;
        kp_valve_data *valve = &changed.valves[KP_COMPRESSION];
        double step = rows[i].step;
        if (rows[i].parameter == KP_LIFT_GRIP) {
            valve->grip = rows[i].grip;
            valve->has_hole = true;
            valve->hole = rows[i].hole;
        } else if (rows[i].parameter == KP_LIFT_CLAMP) {
            valve->clamp_washer += step;
            valve->lines[2].outside += step;
        } else if (rows[i].parameter == KP_LIFT_LAND) {
            valve->land_inner += step;
            valve->land_outer += step;
        }
        for (size_t line = 0; rows[i].parameter == KP_LIFT_THICKNESS && line < 3; line++) {
            valve->lines[line].thickness += step;
        }

        kp_lift_study study = {0};
        kp_lift_row row;
        cr_assert(rows[i].solved, "%s", rows[i].why_not);
        cr_assert_eq(kp_lift_study_begin(&changed, KP_COMPRESSION, &study, &error), KP_OK, "%s", error.message);
        cr_assert_eq(kp_lift_study_rows(&study, &rows[i].pressure, 1, false, &row, NULL, NULL, &error), KP_OK);
        cr_assert_float_eq(row.opening, opening, 1e-9 * opening, "row %zu: %g", i, row.opening);
        cr_assert_float_eq(rows[i].change, rows[i].pressure / rows[0].pressure - 1.0, 1e-12);
        kp_lift_study_end(&study);
    }
    cr_assert(rows[2].change > 0.01 && rows[3].change < -0.01 && rows[4].change < -0.01 && rows[6].change > 0.01);

    /* the land outside the face shim: a row without numbers */
    data.valves[KP_COMPRESSION].land_outer = 39.6e-3;
    cr_assert_eq(kp_lift_sensitivities(&data, KP_COMPRESSION, opening, rows, &error), KP_OK, "%s", error.message);
    cr_assert(!rows[4].solved && isnan(rows[4].pressure) && rows[4].why_not[0] != '\0');
    cr_assert(rows[5].solved && isnan(rows[4].change) && !rows[4].past_yield);

    /* in a whole damper it is said in the file's terms, in millimetres and to its end */
    kp_damper_data van = fixture_van(0.0);
    kp_valve_data *valve = &van.valves[KP_REBOUND];
    valve->land_outer = valve->lines[0].outside - 0.4e-3;
    valve->land_inner = valve->land_outer - 2.5e-3;
    cr_assert_eq(kp_lift_sensitivities(&van, KP_REBOUND, opening, rows, &error), KP_OK, "%s", error.message);
    cr_assert(!rows[4].solved && isnan(rows[4].pressure) && isnan(rows[4].change));
    cr_assert(strstr(rows[4].why_not, "mm lies outside the face shim") != NULL, "%s", rows[4].why_not);
}

/* Uniaxial, equibiaxial and pure shear: |s|, |s| and sqrt(3) |s|. [Pa] */
Test(lift, von_mises_of_known_states)
{
    const double s = 237.5e6;
    cr_assert_float_eq(kp_von_mises(s, 0.0), s, 1e-15 * s);
    cr_assert_float_eq(kp_von_mises(-s, -s), s, 1e-15 * s);
    cr_assert_float_eq(kp_von_mises(s, -s), sqrt(3.0) * s, 1e-15 * s);
}
