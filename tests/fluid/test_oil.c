/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kneepoint/fluid.h"

#include <criterion/criterion.h>
#include <math.h>

static double viscosity(const kp_oil *oil, double celsius, double zero)
{
    kp_error error = {0};
    double nu = NAN;
    cr_assert_eq(kp_oil_viscosity(oil, celsius + zero, &nu, &error), KP_OK, "%s", error.message);
    return nu * 1e6;
}

/* Worked example of ASTM D341 READ in print (publication not identified; its T is t + 273): 32 mm2/s at 40 degC and
   5.4 at 100 degC give 8.5 at 80 degC. COMPUTED from its formula for this project: 8.533104, and with 273.15
   8.533215. */
Test(oil, reproduces_the_worked_example)
{
    kp_oil oil = {.temperature_1 = 313, .viscosity_1 = 32e-6, .temperature_2 = 373, .viscosity_2 = 5.4e-6};
    cr_assert(fabs(viscosity(&oil, 80, 273) - 8.5) <= 0.05);
    cr_assert(fabs(viscosity(&oil, 80, 273) - 8.533104) <= 2e-6);
    oil.temperature_1 = 313.15;
    oil.temperature_2 = 373.15;
    cr_assert(fabs(viscosity(&oil, 80, 273.15) - 8.533215) <= 2e-6);
}

/* Table COMPUTED for this project from the equation (numpy), T = t + 273.15; last printed digit. */
Test(oil, reproduces_the_computed_table)
{
    const double celsius[] = {-20, 0, 20, 40, 60, 80, 100, 120};
    const double thick[] = {2291.5, 336.0, 86.28, 32.00, 15.19, 8.533, 5.400, 3.724};
    const double thick_digit[] = {0.1, 0.1, 0.01, 0.01, 0.01, 0.001, 0.001, 0.001};
    const double thin[] = {309.04, 81.76, 31.05, 15.00, 8.545, 5.465, 3.800, 2.812};
    const double thin_digit[] = {0.01, 0.01, 0.01, 0.01, 0.001, 0.001, 0.001, 0.001};
    kp_oil oil_32 = {.temperature_1 = 313.15, .viscosity_1 = 32e-6, .temperature_2 = 373.15, .viscosity_2 = 5.4e-6};
    kp_oil oil_15 = {.temperature_1 = 373.15, .viscosity_1 = 3.8e-6, .temperature_2 = 313.15, .viscosity_2 = 15e-6};

    /* Below 4 mm2/s the table's plain v + 0.7 and our full Z part by up to 1e-5 of the viscosity. */
    for (int i = 0; i < 8; i++) {
        cr_assert(fabs(viscosity(&oil_32, celsius[i], 273.15) - thick[i]) <= 0.51 * thick_digit[i], "32 at %g: %g",
                  celsius[i], viscosity(&oil_32, celsius[i], 273.15));
        cr_assert(fabs(viscosity(&oil_15, celsius[i], 273.15) - thin[i]) <= 0.51 * thin_digit[i], "15 at %g: %g",
                  celsius[i], viscosity(&oil_15, celsius[i], 273.15));
    }
}

/* The two points come back, also where the exponential of Z counts; and viscosity falls all the way. The bound on the
   standard's own fitted inverse (READ as restated, its square a correction from MEMORY) is a second method for thin
   oil. */
Test(oil, gives_its_points_back_and_falls)
{
    kp_oil thin = {.temperature_1 = 293.15, .viscosity_1 = 4.71e-6, .temperature_2 = 371.4, .viscosity_2 = 0.913e-6};
    cr_assert(fabs(viscosity(&thin, 293.15, 0) - 4.71) <= 1e-12 * 4.71);
    cr_assert(fabs(viscosity(&thin, 371.4, 0) - 0.913) <= 1e-12);
    double before = 1e30;

    for (double t = 240; t < 410; t += 7.3) {
        double nu = viscosity(&thin, t, 0);
        cr_assert(nu < before);
        before = nu;
        double z = nu + 0.7 + exp(-1.47 - 1.84 * nu - 0.51 * nu * nu), y = z - 0.7;
        double fitted = y - exp(-0.7487 - 3.295 * y + 0.6119 * y * y - 0.3193 * y * y * y);
        cr_assert(fabs(fitted - nu) <= 0.005 * nu, "at %g K %g against the standard's inverse %g", t, nu, fitted);
    }
}

Test(oil, refuses_what_makes_no_oil)
{
    const kp_oil good = {.temperature_1 = 313, .viscosity_1 = 32e-6, .temperature_2 = 373, .viscosity_2 = 5.4e-6};
    kp_error error = {0};
    double nu = 17.25;
    kp_oil bad = good;
    bad.viscosity_2 = 40e-6; /* thicker when hot */
    cr_assert_eq(kp_oil_viscosity(&bad, 350, &nu, &error), KP_OUT_OF_RANGE);
    bad = good;
    bad.temperature_2 = 313;
    cr_assert_eq(kp_oil_viscosity(&bad, 350, &nu, &error), KP_OUT_OF_RANGE);
    bad = good;
    bad.viscosity_2 = 0.1e-6; /* below the equation's range */
    cr_assert_eq(kp_oil_viscosity(&bad, 350, &nu, &error), KP_OUT_OF_RANGE);
    bad = good;
    bad.viscosity_1 = NAN;
    cr_assert_eq(kp_oil_viscosity(&bad, 350, &nu, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_oil_viscosity(&good, -3, &nu, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_oil_viscosity(&good, NAN, &nu, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_oil_viscosity(&good, 1100, &nu, &error), KP_OUT_OF_RANGE); /* extrapolates below 0.21 mm2/s */
    cr_assert_eq(nu, 17.25);
}

Test(oil, thins_by_its_expansion)
{
    kp_oil oil = {.density = 861.7, .density_temperature = 288.15, .expansion = 8.3e-4};
    kp_error error = {0};
    double density = 0;
    cr_assert_eq(kp_oil_density(&oil, 288.15, &density, &error), KP_OK);
    cr_assert(fabs(density - 861.7) <= 1e-12 * 861.7);

    /* A kilogram takes 1 + 8.3e-4 x 61.3 of its volume 61.3 K up. */
    cr_assert_eq(kp_oil_density(&oil, 288.15 + 61.3, &density, &error), KP_OK);
    cr_assert(fabs(density * 1.050879 - 861.7) <= 1e-9 * 861.7);
    density = 17.25;
    oil.density = 0;
    cr_assert_eq(kp_oil_density(&oil, 300, &density, &error), KP_OUT_OF_RANGE);
    oil.density = 861.7;
    oil.expansion = -0.1;
    cr_assert_eq(kp_oil_density(&oil, 300, &density, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(density, 17.25);
}
