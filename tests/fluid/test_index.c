/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Viscosity index, grades and bulk modulus against outside numbers. */
#include "kneepoint/fluid.h"
#include "truth.h"

#include <criterion/criterion.h>
#include <math.h>

/* 0.1 % (the list); the index itself to one tenth, which the standard rounds to a whole number. */
Test(index, gives_the_three_examples)
{
    truth t = truth_read("viscosity_index.csv");
    cr_assert_eq(t.rows, 3);
    for (size_t i = 0; i < t.rows; i++) {
        double v40 = 1e-6 * truth_number(&t, i, "viscosity_40_mm2_s");
        double v100 = 1e-6 * truth_number(&t, i, "viscosity_100_mm2_s"), l, h, index = 0, back = 0;
        kp_error error = {0};
        kp_viscosity_index_bounds(v100, &l, &h);
        cr_assert(fabs(l / truth_number(&t, i, "l") - 1) <= 2e-4, "L %g", l);
        cr_assert(fabs(h / truth_number(&t, i, "h") - 1) <= 2e-4, "H %g", h);
        cr_assert_eq(kp_viscosity_index(v40, v100, &index, &error), KP_OK, "%s", error.message);
        cr_assert(fabs(index - truth_number(&t, i, "index")) <= 0.1, "%g", index);
        cr_assert_eq(kp_viscosity_from_index(v40, index, &back, &error), KP_OK, "%s", error.message);
        cr_assert(fabs(back / v100 - 1) <= 1e-12, "%.15g for %.15g", back, v100);
    }

    truth_free(&t);
}

/* The coefficients are from memory: a wrong digit would tear the pieces apart where they join, and the curve through
   them would bend where it must not. */
Test(index, has_pieces_that_join)
{
    const double joints[] = {3.8, 4.4, 5, 6.4, 7, 7.7, 9, 12, 15, 18, 22, 28, 40, 55, 70};
    for (size_t i = 0; i < sizeof joints / sizeof *joints; i++) {
        double below[2], above[2];
        kp_viscosity_index_bounds(joints[i] * 1e-6 * (1 - 1e-12), &below[0], &below[1]);
        kp_viscosity_index_bounds(joints[i] * 1e-6 * (1 + 1e-12), &above[0], &above[1]);
        for (int k = 0; k < 2; k++) {
            cr_assert(fabs(above[k] / below[k] - 1) <= 3e-3, "at %g mm2/s: %g and %g", joints[i], below[k], above[k]);
        }
    }

    double last[2] = {0, 0}, l, h;
    for (double y = 2; y < 120; y *= 1.003) {
        kp_viscosity_index_bounds(y * 1e-6, &l, &h);
        cr_assert(l > last[0] && h > last[1] && l > h && h > y, "at %g", y);
        last[0] = l;
        last[1] = h;
    }
}

Test(index, refuses_what_is_not_defined)
{
    kp_error error = {0};
    double out = 7;
    cr_assert_eq(kp_viscosity_index(4.6e-6, 1.5e-6, &out, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_viscosity_index(4.6e-6, 5e-6, &out, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_viscosity_index(NAN, 5e-6, &out, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_viscosity_from_index(3e-6, 100, &out, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_viscosity_from_index(15e-6, 500, &out, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_viscosity_from_index(15e-6, NAN, &out, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(out, 7);
}

Test(grades, are_those_of_the_standard)
{
    truth t = truth_read("viscosity_grades.csv");
    size_t count;
    const kp_oil_grade *grades = kp_oil_grades(&count);
    cr_assert_eq(count, t.rows);

    for (size_t i = 0; i < t.rows; i++) {
        const kp_oil_grade *g = kp_oil_grade_find((int)truth_number(&t, i, "grade"));
        cr_assert(g == &grades[i]);
        cr_assert(fabs(g->min * 1e6 - truth_number(&t, i, "least_mm2_s")) <= 1e-9);
        cr_assert(fabs(g->middle * 1e6 - truth_number(&t, i, "middle_mm2_s")) <= 1e-9);
        cr_assert(fabs(g->max * 1e6 - truth_number(&t, i, "most_mm2_s")) <= 1e-9);
        double v100;
        kp_error error = {0};
        /* every generic index is one that an oil of that grade can have; the thinnest have none */
        cr_assert(g->index == 0 || kp_viscosity_from_index(g->middle, g->index, &v100, &error) == KP_OK, "%d: %s",
                  g->grade, error.message);
    }

    cr_assert_null(kp_oil_grade_find(17));
    truth_free(&t);
}

/* 1e-4 (the list; the table has five digits). The trap: the second form with the air's share at atmospheric pressure is
   2.4 to 4.8 times too soft at 0.5 to 5 MPa. */
Test(bulk, gives_the_table_of_two_forms)
{
    truth t = truth_read("bulk_modulus.csv");
    const struct {
        const char *column;
        double air, exponent;
    } columns[] = {{"air_0005_n_1_Pa", 0.005, 1}, {"air_0005_n_14_Pa", 0.005, 1.4}, {"air_002_n_14_Pa", 0.02, 1.4}};
    cr_assert_eq(t.rows, 6);

    for (size_t i = 0; i < t.rows; i++) {
        double p = truth_number(&t, i, "gauge_Pa"), modulus = 0;
        kp_error error = {0};
        for (int k = 0; k < 3; k++) {
            cr_assert_eq(kp_oil_bulk_modulus(1.5e9, columns[k].air, columns[k].exponent, p, &modulus, &error), KP_OK);
            cr_assert(fabs(modulus / truth_number(&t, i, columns[k].column) - 1) <= 1e-4, "%g Pa: %g", p, modulus);
        }
        /* the second form, with the air's share at the pressure */
        double absolute = p + 101325, ratio = 0.005 * 101325 / absolute, share = ratio / (1 + ratio);
        double second = 1 / (share / absolute + (1 - share) / 1.5e9);
        kp_oil_bulk_modulus(1.5e9, 0.005, 1, p, &modulus, &error);
        cr_assert(fabs(second / modulus - 1) <= 1e-12 &&
                  fabs(second / truth_number(&t, i, "second_form_Pa") - 1) <= 1e-4);
        double literal = 1 / (0.005 / absolute + 0.995 / 1.5e9);
        cr_assert(p < 5e5 || modulus > 2.3 * literal, "the trap must be one");
    }

    truth_free(&t);
    double none = 0;
    kp_error error = {0};
    cr_assert_eq(kp_oil_bulk_modulus(1.5e9, 0, 1.2, 1e6, &none, &error), KP_OK);
    cr_assert(fabs(none - 1.5e9) <= 1e-6);
    cr_assert_eq(kp_oil_bulk_modulus(1.5e9, 0.01, 1.2, -2e5, &none, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_oil_bulk_modulus(-1, 0.01, 1.2, 0, &none, &error), KP_OUT_OF_RANGE);
}
