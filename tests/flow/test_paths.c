/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sharp opening, contraction, hose. */
#include "flow/flow.h"
#include "truth.h"

#include <criterion/criterion.h>
#include <math.h>

static const double PI = 3.14159265358979323846;
static const kp_flow_oil OIL = {.density = 851.7, .viscosity = 13.9e-6};

/* To the table's last digit. */
Test(contraction, gives_the_table)
{
    truth t = truth_read("contraction.csv");
    cr_assert_eq(t.rows, 10);
    for (size_t i = 0; i < t.rows; i++) {
        double c = kp_contraction(truth_number(&t, i, "diameter_ratio"));
        cr_assert(fabs(c - truth_number(&t, i, "contraction")) <= 0.51 * truth_last_digit(&t, i, "contraction"), "%g",
                  c);
    }
    cr_assert(fabs(kp_contraction(0) - PI / (PI + 2)) <= 1e-12);
    cr_assert(fabs(kp_contraction(1) - 1) <= 1e-6); /* the equation is flat there: half the digits are left */
    truth_free(&t);
}

/* Limits with their observed exponents: drop^1 at the laminar end with Merritt's C = 0.157 sqrt(Re) on the actual
   velocity (from memory), drop^1/2 with C = 0.611 (READ, Rabie 2009 eq. 2.39) at the other. */
Test(sharp, has_the_limits_it_claims)
{
    const kp_needle needle = {.area = 1.3e-6, .hydraulic_diameter = 0.21e-3, .discharge = PI / (PI + 2)};
    double small = kp_needle_flow(&needle, &OIL, 1e-3).flow, more = kp_needle_flow(&needle, &OIL, 2.3e-3).flow;
    cr_assert(fabs(log(more / small) / log(2.3) - 1) <= 1e-4, "laminar exponent");
    double u = small / needle.area, reynolds = u * needle.hydraulic_diameter / OIL.viscosity;
    double c = small / (needle.area * sqrt(2 * 1e-3 / OIL.density));
    cr_assert(fabs(c / (0.157 * sqrt(reynolds)) - 1) <= 1e-4, "Merritt's low end: %g", c / sqrt(reynolds));
    double large = kp_needle_flow(&needle, &OIL, 40e6).flow, larger = kp_needle_flow(&needle, &OIL, 92e6).flow;
    cr_assert(fabs(log(larger / large) / log(2.3) - 0.5) <= 1e-4, "turbulent exponent");
    cr_assert(fabs(large / (0.6110 * needle.area * sqrt(2 * 40e6 / OIL.density)) - 1) <= 1e-3, "0.611");
    cr_assert(kp_needle_flow(&needle, &OIL, 0).flow == 0 && kp_needle_flow(&needle, &OIL, 0).slope > 0);
}

static void check_slope(double at, double (*value)(double), double slope)
{
    double h = 1e-5 * at, central = (value(at + h) - value(at - h)) / (2 * h);
    cr_assert(fabs(slope - central) <= 1e-8 * fabs(central), "at %g: %.12g, central difference %.12g", at, slope,
              central);
}

static const kp_needle needle_here = {.area = 0.9e-6, .hydraulic_diameter = 0.3e-3, .discharge = 0.64};
static const kp_hose hose_here = {.length = 0.41, .bore = 7.7e-3};

static double sharp_value(double drop)
{
    return kp_needle_flow(&needle_here, &OIL, drop).flow;
}

static double hose_value(double flow)
{
    return kp_hose_drop(&hose_here, &OIL, flow).drop;
}

Test(paths, have_exact_slopes)
{
    for (double x = 1; x < 3e7; x *= 3.7) {
        check_slope(x, sharp_value, kp_needle_flow(&needle_here, &OIL, x).slope);
    }
    for (double q = 1e-7; q < 3e-3; q *= 2.3) {
        check_slope(q, hose_value, kp_hose_drop(&hose_here, &OIL, q).slope);
    }
}

/* Hagen-Poiseuille, exact: 128 mu L Q/(pi d^4), the wall's part never below it; at high Reynolds number Blasius' 0.316
   Re^(-1/4) (from memory), and the end losses of 1.5 velocity heads (READ: K = 0.5 and 1, FLUIDS fittings). */
Test(hose, lies_between_its_limits)
{
    const double mu = OIL.density * OIL.viscosity, area = PI / 4 * pow(hose_here.bore, 2);
    for (double q = 1e-9; q < 1e-2; q *= 1.7) {
        double u = q / area, head = 0.5 * OIL.density * u * u, reynolds = u * hose_here.bore / OIL.viscosity;
        double poiseuille = 128 * mu * hose_here.length * q / (PI * pow(hose_here.bore, 4));
        double blasius = 0.316 * pow(reynolds, -0.25) * hose_here.length / hose_here.bore * head;
        double wall = kp_hose_drop(&hose_here, &OIL, q).drop - 1.5 * head;
        double higher = fmax(poiseuille, blasius);
        cr_assert(wall >= higher * (1 - 1e-9) && wall <= higher * pow(2, 1.0 / 8) * (1 + 1e-9), "%g m3/s", q);
        cr_assert(reynolds > 300 || fabs(wall / poiseuille - 1) <= 1e-3, "Re %g: %g", reynolds, wall / poiseuille);
        cr_assert(reynolds < 5000 || fabs(wall / blasius - 1) <= 1e-3, "Re %g: %g", reynolds, wall / blasius);
    }

    double slope = kp_hose_drop(&hose_here, &OIL, 0).slope;
    cr_assert(fabs(slope / (128 * mu * hose_here.length / (PI * pow(hose_here.bore, 4))) - 1) <= 1e-14);
}
