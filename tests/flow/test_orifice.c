/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "flow/flow.h"
#include "truth.h"

#include <criterion/criterion.h>
#include <math.h>

static const double PI = 3.14159265358979323846;

/* The correlation against 48 points and the two values of a program that cites the paper; tests/truth/long_orifice.csv
 * says which is which. */
Test(orifice, correlation_gives_the_published_points)
{
    truth t = truth_read("long_orifice.csv");
    int doctests = 0;
    for (size_t i = 0; i < t.rows; i++) {
        double x = truth_number(&t, i, "length_over_diameter"), re = truth_number(&t, i, "hydraulic_reynolds");
        double wanted = truth_number(&t, i, "discharge");
        bool doctest = truth_text(&t, i, "mark")[0] == 'd';
        double got = kp_orifice_correlation(x, re, NULL);
        cr_assert(fabs(got - wanted) <= (doctest ? 1e-13 : 0.51e-4), "L/d %g Re %g: %.8f for %.8f", x, re, got, wanted);
        doctests += doctest;
    }

    cr_assert_eq(t.rows, 50);
    cr_assert_eq(doctests, 2);
    truth_free(&t);
}

/* The blended coefficient: never above Hagen-Poiseuille nor the correlation, and near the correlation where that keeps
   well under the bound. */
Test(orifice, keeps_under_poiseuille)
{
    int broken_by_correlation = 0;
    for (double x = 0.3; x < 40; x *= 1.37) {
        for (double re = 1e-6; re < 1e6; re *= 3.1) {
            double slope, bound = re / (64 * x), open = kp_orifice_correlation(x, re, NULL);
            double c = kp_orifice_discharge(x, true, re, &slope);
            cr_assert(c > 0 && c < bound * (1 + 1e-15) && c <= open, "L/d %g Re %g: %g of %g, %g", x, re, c, open,
                      bound);
            cr_assert(slope > -0.02 && slope < 1 + 1e-12, "L/d %g Re %g: %g", x, re, slope);
            broken_by_correlation += open > bound;
            if (bound > 2 * open) {
                cr_assert(c > 0.999 * open);
            }
        }
    }

    cr_assert(broken_by_correlation > 20, "the bound must have something to do");
}

/* Merritt's short tube (1967, READ in Rabie 2009, eqs. 2.40 and 2.41) uses the Reynolds number on the actual velocity:
   find the hydraulic one at which our coefficient has it, and compare. A second model, not a measurement: 11 % is the
   distance between the two published ones. */
static double merritt(double actual_reynolds, double x)
{
    double along = actual_reynolds / x;
    return along > 50 ? 1 / sqrt(1.5 + 13.74 / sqrt(along)) : 1 / sqrt(2.28 + 64 / along);
}

Test(orifice, agrees_with_the_other_short_tube)
{
    const double ratios[] = {2, 4, 10}, reynolds[] = {10, 30, 100, 300, 1e3, 3e3, 1e4};
    double worst = 0;
    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 7; j++) {
            double low = reynolds[j], high = 100 * reynolds[j], slope; /* of the hydraulic number: C Re_h = Re */
            for (int k = 0; k < 100; k++) {
                double middle = sqrt(low * high);
                if (kp_orifice_discharge(ratios[i], true, middle, &slope) * middle < reynolds[j]) {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            double ours = kp_orifice_discharge(ratios[i], true, low, &slope), theirs = merritt(reynolds[j], ratios[i]);
            cr_assert(fabs(ours / theirs - 1) <= 0.11, "L/d %g Re %g: %g against %g", ratios[i], reynolds[j], ours,
                      theirs);
            worst = fmax(worst, fabs(ours / theirs - 1));
        }
    }

    cr_log_info("orifice against Merritt: at most %.1f %%", 100 * worst);
}

/* Observed exponents at both ends: flow ~ drop, then ~ sqrt(drop); and Hagen-Poiseuille itself for a long bore. */
Test(orifice, is_laminar_then_turbulent)
{
    kp_orifice bore = {.count = 3, .diameter = 1.53e-3, .length = 9.1e-3};
    kp_flow_oil oil = {.density = 847.3, .viscosity = 14.7e-6};
    double laminar = log(kp_orifice_flow(&bore, &oil, 2e-3).flow / kp_orifice_flow(&bore, &oil, 1e-3).flow) / log(2);
    double turbulent = log(kp_orifice_flow(&bore, &oil, 4e8).flow / kp_orifice_flow(&bore, &oil, 2e8).flow) / log(2);
    cr_assert(fabs(laminar - 1) <= 1e-4, "%g", laminar);
    cr_assert(fabs(turbulent - 0.5) <= 0.01, "%g", turbulent);

    /* x = 40: the bound stands far below the correlation's laminar end (20 + 45 x 10 against 64 x 40). */
    bore.length = 40 * bore.diameter;
    double mu = oil.density * oil.viscosity, d = bore.diameter;
    double poiseuille = 3 * PI * d * d * d * d / (128 * mu * bore.length);
    kp_flow zero = kp_orifice_flow(&bore, &oil, 0);
    cr_assert_eq(zero.flow, 0);
    cr_assert(fabs(zero.slope / poiseuille - 1) <= 1e-3, "%g for %g", zero.slope, poiseuille);
    bore.count = 0;
    cr_assert_eq(kp_orifice_flow(&bore, &oil, 1e5).flow, 0);
}

/* Slope against a central difference: near, not the same number, not zero; value and slope continuous where the
   straight line takes over at tiny drops, and at the end of the correlation, L/d = 10. */
Test(orifice, has_an_exact_slope)
{
    kp_flow_oil oil = {.density = 847.3, .viscosity = 14.7e-6};
    int different = 0, cases = 0;
    for (double x = 0.7; x < 30; x *= 1.7) {
        kp_orifice bore = {.count = 2, .diameter = 1.53e-3, .length = 1.53e-3 * x};
        for (double drop = 1e-7; drop < 1e9; drop *= 4.7) {
            kp_flow at = kp_orifice_flow(&bore, &oil, drop);
            double h = 1e-4 * drop;
            double difference =
                (kp_orifice_flow(&bore, &oil, drop + h).flow - kp_orifice_flow(&bore, &oil, drop - h).flow) / (2 * h);
            cr_assert(at.slope > 0);
            cr_assert(fabs(at.slope - difference) <= 1e-7 * at.slope, "L/d %g drop %g: %.12g, %.12g", x, drop, at.slope,
                      difference);
            different += at.slope != difference;
            cases++;
        }
    }

    cr_assert(different > cases / 2, "a slope that is the difference itself proves nothing");
    kp_orifice bore = {.count = 2, .diameter = 1.53e-3, .length = 15.3e-3 * (1 - 1e-12)}, longer = bore;
    longer.length = 15.3e-3 * (1 + 1e-12);
    cr_assert(fabs(kp_orifice_flow(&bore, &oil, 4e5).flow / kp_orifice_flow(&longer, &oil, 4e5).flow - 1) <= 1e-11);
}

/* A short hole with a sharp entry passes what a sharp edge does, 0.611 (Rabie, Fluid Power Engineering, 2009, eq. 2.39,
   read); from two diameters of length on the entry makes no difference; between them the coefficient only rises. */
Test(orifice, contracts_where_it_is_short_and_sharp)
{
    double slope, last = 0;
    cr_assert(fabs(kp_orifice_discharge(0.4, false, 1e9, &slope) / (PI / (PI + 2)) - 1) <= 0.005);
    cr_assert(kp_orifice_discharge(0.4, true, 1e9, &slope) > 0.8);
    for (double x = 0.2; x < 3; x += 0.05) {
        double sharp = kp_orifice_discharge(x, false, 1e9, &slope), round = kp_orifice_discharge(x, true, 1e9, &slope);
        cr_assert(sharp <= round * (1 + 1e-12) && (x < 2 || sharp == round), "L/d %g: %g, %g", x, sharp, round);
        cr_assert(x > 2 || sharp >= last * (1 - 1e-3), "L/d %g: %g after %g", x, sharp, last);
        last = sharp;
    }

    for (double re = 3; re < 1e6; re *= 2.9) { /* the slope, against a central difference */
        double above = kp_orifice_discharge(0.9, false, re * 1.0001, &slope);
        double below = kp_orifice_discharge(0.9, false, re / 1.0001, &slope);
        kp_orifice_discharge(0.9, false, re, &slope);
        cr_assert(fabs(slope - log(above / below) / (2 * log(1.0001))) <= 1e-6);
    }
}
