/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What the tests of this room do with the van damper of the fixtures. */
#ifndef KNEEPOINT_TESTS_VAN_H
#define KNEEPOINT_TESTS_VAN_H

#include "fixtures.h"
#include "kneepoint/damper.h"

#include <criterion/criterion.h>

static inline kp_damper *van_begin(const kp_damper_data *data, double largest_speed)
{
    kp_error error = {0};
    kp_damper *damper = NULL;
    cr_assert_eq(kp_damper_begin(data, largest_speed, &damper, &error), KP_OK, "%s", error.message);
    return damper;
}

static inline kp_curve_point van_point(const kp_damper *damper, double speed)
{
    kp_error error = {0};
    kp_curve_point point = {0};
    cr_assert_eq(kp_curve_at(damper, speed, &point, &error), KP_OK, "%s", error.message);
    return point;
}

/* |hydraulic force| at a speed of a damper made for this one question [N]. */
static inline double van_force(const kp_damper_data *data, double speed)
{
    kp_damper *damper = van_begin(data, 1.2);
    kp_curve_point point = van_point(damper, speed);
    kp_damper_free(damper);
    return point.hydraulic_force < 0 ? -point.hydraulic_force : point.hydraulic_force;
}

#endif
