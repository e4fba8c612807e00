/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Figures of a damper that fails on the way: the failure is kept, and nothing is taken from a point that was not
    found. */
#include "fixtures.h"
#include "report/report_internal.h"

#include <criterion/criterion.h>
#include <string.h>

static const double SENTINEL = -7.25e8; /* what stands in a number before; no conversion gives it */

Test(figures, no_value_is_read_before_its_status)
{
    kp_error error = {0};
    kp_damper_data data = fixture_van(0.317e-3);
    kp_request request = {.files = {"van.yaml"}, .file_count = 1};
    kp_report report;
    kp_damper *damper = NULL;
    cr_assert_eq(kp_damper_begin(&data, 0.43, &damper, &error), KP_OK, "%s", error.message);

    /* Asked for more speed than the damper is prepared for. */
    static kp_curve_point points[KP_DENSE];
    double x[KP_DENSE];
    for (size_t i = 0; i < KP_DENSE; i++) {
        x[i] = SENTINEL;
        points[i].force = SENTINEL;
    }
    kp_report_begin(&report, &request);
    cr_expect_not(kp_dense_points(&report, damper, KP_COMPRESSION, 0.86, KP_DENSE, points, x));
    cr_expect_eq(report.failure.status, KP_OUT_OF_RANGE);
    size_t found = 0;
    for (size_t i = 0; i < KP_DENSE; i++) {
        cr_expect_eq(x[i] == SENTINEL, points[i].force == SENTINEL, "point %zu", i);
        found += points[i].force != SENTINEL ? 1 : 0;
    }
    cr_expect(found > 10 && found < KP_DENSE, "%zu points", found);
    kp_report_free(&report);

    /* The band's own picture, of a run that does not reach its speeds. */
    double speeds[] = {0.11, 0.79};
    kp_band_point limits[2] = {0};
    kp_run run = {.path = "van.yaml", .data = data, .damper = damper};
    kp_band band = {.speed_count = 2, .speeds = speeds, .points = {limits, limits}};
    kp_report_begin(&report, &request);
    kp_figure_of_band(&report, &run, &band);
    cr_expect_eq(report.failure.status, KP_OUT_OF_RANGE, "%s", report.failure.message);
    for (size_t s = 0; s < report.figure.panels[0].series_count; s++) {
        cr_expect_null(strstr(report.figure.panels[0].series[s].label, "as in the file"), "a line of no points");
    }
    kp_report_free(&report);
    kp_damper_free(damper);
}
