/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Quantities. Conversion factors are those of NIST Special Publication 811, appendix B (from memory); those marked
   exact there follow from definitions: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, standard gravity 9.80665 m/s2. */
#include "kneepoint/base.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

/* One rounding of the number, one of the unit's factor, one of their product [-]. */
static const double ROUNDING = 5e-16;

static bool near(double a, double b, double relative)
{
    return fabs(a - b) <= relative * fabs(b);
}

Test(quantity, reads_the_units_of_the_trade)
{
    static const struct {
        const char *text;
        kp_dimension dimension;
        double si, relative; /* relative: of the source's digits; 0 = exact but for rounding */
    } cases[] = {
        {"63.47 mm", KP_DIM_LENGTH, 0.06347, 0},
        {"1.575 in", KP_DIM_LENGTH, 0.040005, 0},
        {"7.9 thou", KP_DIM_LENGTH, 2.0066e-4, 0},
        {"7.9 mil", KP_DIM_LENGTH, 2.0066e-4, 0},
        {"238.5 um", KP_DIM_LENGTH, 2.385e-4, 0},
        {"238.5 \xC2\xB5m", KP_DIM_LENGTH, 2.385e-4, 0},
        {"2.385e2 \xCE\xBCm", KP_DIM_LENGTH, 2.385e-4, 0},
        {"0.413 in2", KP_DIM_AREA, 0.413 * 6.4516e-4, 0},
        {"237 mm2", KP_DIM_AREA, 2.37e-4, 0},
        {"237 mm\xC2\xB2", KP_DIM_AREA, 2.37e-4, 0},
        {"9.07 in3", KP_DIM_VOLUME, 9.07 * 1.6387064e-5, 0},
        {"349.7 cc", KP_DIM_VOLUME, 3.497e-4, 0},
        {"0.8931 L", KP_DIM_VOLUME, 8.931e-4, 0},
        {"41.3 in/s", KP_DIM_SPEED, 1.04902, 0},
        {"23.7 mph", KP_DIM_SPEED, 23.7 * 0.44704, 0},
        {"261.9 mm/s", KP_DIM_SPEED, 0.2619, 0},
        {"13.7 lbf", KP_DIM_FORCE, 13.7 * 4.4482216152605, 0},
        {"203.7 psi", KP_DIM_PRESSURE, 203.7 * 6894.757293168, 1e-12},
        {"14.37 bar", KP_DIM_PRESSURE, 1.437e6, 0},
        {"1.37 MPa", KP_DIM_PRESSURE, 1.37e6, 0},
        {"203.7 psi gauge", KP_DIM_GAS_PRESSURE, 203.7 * 6894.757293168 + 101325.0, 1e-12},
        {"14.37 bar absolute", KP_DIM_GAS_PRESSURE, 1.437e6, 0},
        {"101.3 degF", KP_DIM_TEMPERATURE, (101.3 + 459.67) * 5.0 / 9.0, 0},
        {"38.7 degC", KP_DIM_TEMPERATURE, 311.85, 0},
        {"38.7 \xC2\xB0"
         "C",
         KP_DIM_TEMPERATURE, 311.85, 0},
        {"-17.3 degC", KP_DIM_TEMPERATURE, 255.85, 0},
        {"61.3 K", KP_DIM_TEMPERATURE_DIFFERENCE, 61.3, 0},
        {"15.3 cSt", KP_DIM_KINEMATIC_VISCOSITY, 1.53e-5, 0},
        {"15.3 mm2/s", KP_DIM_KINEMATIC_VISCOSITY, 1.53e-5, 0},
        {"53.7 lb/ft3", KP_DIM_DENSITY, 53.7 * 16.01846337396, 1e-12},
        {"0.861 g/cm3", KP_DIM_DENSITY, 861.0, 0},
        {"861 kg m-3", KP_DIM_DENSITY, 861.0, 0},
        {"12.3 L/min", KP_DIM_FLOW, 12.3e-3 / 60.0, 0},
        {"257.3 lbf/in", KP_DIM_STIFFNESS, 257.3 * 175.1268352464764, 1e-14},
        {"45.1 N/mm", KP_DIM_STIFFNESS, 45100.0, 0},
        {"14.3 lbf s/in", KP_DIM_DAMPING, 14.3 * 175.1268352464764, 1e-14},
        {"2519 N\xC2\xB7s/m", KP_DIM_DAMPING, 2519.0, 0},
        {"987.3 lb", KP_DIM_MASS, 987.3 * 0.45359237, 0},
        {"0.00046 1/degF", KP_DIM_EXPANSION, 8.28e-4, 0},
        {"8.3e-4 1/K", KP_DIM_EXPANSION, 8.3e-4, 0},
        {"1.63 Hz", KP_DIM_FREQUENCY, 1.63, 0},
        {"97.3 1/min", KP_DIM_FREQUENCY, 97.3 / 60.0, 0},
        {"1430 MPa", KP_DIM_STRESS, 1.43e9, 0},
        {"73.7 %", KP_DIM_NONE, 0.737, 0},
        {"0.613", KP_DIM_NONE, 0.613, 0},
        {"  0.613\t", KP_DIM_NONE, 0.613, 0},
        {".37in", KP_DIM_LENGTH, 0.009398, 0},
        {"3.km / h", KP_DIM_SPEED, 3.0 / 3.6, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        kp_error error = {0};
        kp_quantity q = {.value = NAN};
        cr_expect_eq(kp_quantity_read(cases[i].text, cases[i].dimension, &q, &error), KP_OK, "%s: %s", cases[i].text,
                     error.message);
        double allowed = cases[i].relative > 0 ? cases[i].relative : ROUNDING;
        cr_expect(near(q.value, cases[i].si, allowed), "%s: %.17g, not %.17g", cases[i].text, q.value, cases[i].si);
        cr_expect(!q.has_tolerance && !q.measured);
    }
}

/* Fractions of an inch, the inch sign, gauge pressure in one word, bare C and F, capitals. */
Test(quantity, reads_what_a_workshop_writes)
{
    static const struct {
        const char *text;
        kp_dimension dimension;
        double si;
    } cases[] = {
        {"5/8 in", KP_DIM_LENGTH, 0.625 * 0.0254},
        {"5/8\"", KP_DIM_LENGTH, 0.625 * 0.0254},
        {"1-7/8 in", KP_DIM_LENGTH, 1.875 * 0.0254},
        {"1-7/8\"", KP_DIM_LENGTH, 1.875 * 0.0254},
        {"-1/64 in", KP_DIM_LENGTH, -0.015625 * 0.0254},
        {"63/64in", KP_DIM_LENGTH, 0.984375 * 0.0254},
        {"0.008\"", KP_DIM_LENGTH, 0.008 * 0.0254},
        {"0.008 \xE2\x80\xB3", KP_DIM_LENGTH, 0.008 * 0.0254},
        {"40 MM", KP_DIM_LENGTH, 0.040},
        {"1.3 IN", KP_DIM_LENGTH, 1.3 * 0.0254},
        {"8 Mil", KP_DIM_LENGTH, 8e-3 * 0.0254},
        {"237 MM2", KP_DIM_AREA, 2.37e-4},
        {"0.9 KN", KP_DIM_FORCE, 900.0},
        {"1.37 MPA", KP_DIM_PRESSURE, 1.37e6},
        {"1.37 Mpa", KP_DIM_PRESSURE, 1.37e6},
        {"15.3 CST", KP_DIM_KINEMATIC_VISCOSITY, 1.53e-5},
        {"14.37 barg", KP_DIM_GAS_PRESSURE, 1.437e6 + 101325.0},
        {"14.37 BARG", KP_DIM_GAS_PRESSURE, 1.437e6 + 101325.0},
        {"14.37 Bar Gauge", KP_DIM_GAS_PRESSURE, 1.437e6 + 101325.0},
        {"14.37 bara", KP_DIM_GAS_PRESSURE, 1.437e6},
        {"203.7 psig", KP_DIM_GAS_PRESSURE, 203.7 * 6894.757293168361 + 101325.0},
        {"203.7 psia", KP_DIM_GAS_PRESSURE, 203.7 * 6894.757293168361},
        {"38.7 C", KP_DIM_TEMPERATURE, 311.85},
        {"38.7C", KP_DIM_TEMPERATURE, 311.85},
        {"38.7 deg C", KP_DIM_TEMPERATURE, 311.85},
        {"101.3 F", KP_DIM_TEMPERATURE, (101.3 + 459.67) * 5.0 / 9.0},
        {"101.3 DEGF", KP_DIM_TEMPERATURE, (101.3 + 459.67) * 5.0 / 9.0},
        {"0.253 MM MEASURED", KP_DIM_LENGTH, 2.53e-4},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        kp_error error = {0};
        kp_quantity q = {.value = NAN};
        cr_expect_eq(kp_quantity_read(cases[i].text, cases[i].dimension, &q, &error), KP_OK, "%s: %s", cases[i].text,
                     error.message);
        cr_expect(near(q.value, cases[i].si, ROUNDING), "%s: %.17g, not %.17g", cases[i].text, q.value, cases[i].si);
    }

    /* A tolerance may be a fraction too. */
    kp_error error = {0};
    kp_quantity q = {0};
    cr_assert_eq(kp_quantity_read("1-7/8\" +/- 1/64\" measured", KP_DIM_LENGTH, &q, &error), KP_OK, "%s",
                 error.message);
    cr_assert(near(q.value, 1.875 * 0.0254, ROUNDING) && near(q.tolerance, 0.0254 / 64.0, ROUNDING) && q.measured);
}

Test(quantity, reads_tolerance_and_standing)
{
    kp_error error = {0};
    kp_quantity q = {0};
    cr_assert_eq(kp_quantity_read("0.253 mm +/- 0.031 mm measured", KP_DIM_LENGTH, &q, &error), KP_OK);
    cr_assert(near(q.value, 2.53e-4, ROUNDING) && near(q.tolerance, 3.1e-5, ROUNDING));
    cr_assert(q.has_tolerance && q.measured && !q.gauge);
    cr_assert_eq(kp_quantity_read("0.253 mm \xC2\xB1 7 %", KP_DIM_LENGTH, &q, &error), KP_OK);
    cr_assert(near(q.tolerance, 0.07 * 2.53e-4, ROUNDING) && q.has_tolerance && !q.measured);
    cr_assert_eq(kp_quantity_read("8.1 thou measured", KP_DIM_LENGTH, &q, &error), KP_OK);
    cr_assert(q.measured && !q.has_tolerance);
    /* A tolerance never meets the zero of a scale: 3 K, not 276.15 K; 0.4 bar, not 1.4 bar. */
    cr_assert_eq(kp_quantity_read("38.7 degC +/- 3.1 K", KP_DIM_TEMPERATURE, &q, &error), KP_OK);
    cr_assert(near(q.value, 311.85, ROUNDING) && near(q.tolerance, 3.1, ROUNDING));
    cr_assert_eq(kp_quantity_read("14.3 bar gauge +/- 0.4 bar", KP_DIM_GAS_PRESSURE, &q, &error), KP_OK);
    cr_assert(near(q.value, 1531325.0, ROUNDING) && near(q.tolerance, 4e4, ROUNDING) && q.gauge);
    cr_assert_eq(kp_quantity_read("73.7 % +/- 4.1 %", KP_DIM_NONE, &q, &error), KP_OK);
    cr_assert(near(q.value, 0.737, ROUNDING) && near(q.tolerance, 0.041, ROUNDING), "points of per cent, not a share");
}

Test(quantity, refuses_with_what_would_be_right)
{
    static const struct {
        const char *text;
        kp_dimension dimension;
        const char *says; /* must be in the message */
    } cases[] = {
        /* what a more generous reader would take for something else */
        {"1 1/2 in", KP_DIM_LENGTH, "1.5"},
        {"2 2 mm", KP_DIM_LENGTH, "one decimal number"},
        {"10 degC", KP_DIM_TEMPERATURE_DIFFERENCE, "in K"},
        {"5 m since 2000", KP_DIM_LENGTH, "not a unit"},
        {"5 m @ 3", KP_DIM_LENGTH, "not a unit"},
        {"5 mm 3 m", KP_DIM_VOLUME, "not a unit"},
        {"0.5 s", KP_DIM_FREQUENCY, "unit of a time"},
        {"3 1/s", KP_DIM_TIME, "unit of a frequency"},
        {"5 lg(re mm)", KP_DIM_LENGTH, "not a unit"},
        {"40 kin", KP_DIM_LENGTH, "unknown unit `kin`"},
        {"3 gal", KP_DIM_VOLUME, "unknown unit `gal`"},
        {"5 m per2", KP_DIM_LENGTH, "unknown unit `m per2`"},
        {"5 N permm", KP_DIM_STIFFNESS, "unknown unit `N permm`"},
        {"5 m per", KP_DIM_LENGTH, "unknown unit `m per`"},
        {"5 per s", KP_DIM_FREQUENCY, "unknown unit `per s`"},
        {"5 m/per s", KP_DIM_SPEED, "unknown unit `m/per s`"},
        {"40 K since2", KP_DIM_TEMPERATURE, "unknown unit `K since2`"},
        {"5 m0", KP_DIM_LENGTH, "not a unit"},
        {"5 m10", KP_DIM_LENGTH, "not a unit"},
        {"5 m^", KP_DIM_LENGTH, "not a unit"},
        {"5 s- m", KP_DIM_LENGTH, "not a unit"},
        {"5 m//s", KP_DIM_SPEED, "not a unit"},
        {"5 (m)/s", KP_DIM_SPEED, "not a unit"},
        {"5 m.s", KP_DIM_SPEED, "not a unit"},
        {"5 1/1/m", KP_DIM_LENGTH, "one decimal number"},
        {"5 m9 m9 m9 m9 m9 m9 m9 m9 m9 m9 m9 m", KP_DIM_LENGTH, "not a unit"},
        {"5 m m/m s/s m", KP_DIM_SPEED, "unit of an area"},
        {"5 kg m", KP_DIM_LENGTH, "unit of something else"},
        {"5 km9/um9 km9/um9 km9/um9 km9/um8", KP_DIM_LENGTH, "too large"},
        /* numbers that are none */
        {"0x40 mm", KP_DIM_LENGTH, "decimal number"},
        {"nan mm", KP_DIM_LENGTH, "not a finite number"},
        {"-inf mm", KP_DIM_LENGTH, "not a finite number"},
        {".inf mm", KP_DIM_LENGTH, "not a finite number"},
        {"1e999 mm", KP_DIM_LENGTH, "too large"},
        {"1e-999 mm", KP_DIM_LENGTH, "too small"},
        {"1e306 km", KP_DIM_LENGTH, "too large"}, /* a number, but no length in m that a double holds */
        {"1,5 mm", KP_DIM_LENGTH, "point, not a comma"},
        {"forty mm", KP_DIM_LENGTH, "decimal number"},
        {"-", KP_DIM_LENGTH, "decimal number"},
        {"", KP_DIM_LENGTH, "nothing stands here"},
        {"1.5.2 mm", KP_DIM_LENGTH, "one decimal number"},
        /* units */
        {"40", KP_DIM_LENGTH, "unit is missing; a length is wanted, such as `40 mm`"},
        {"40 mM", KP_DIM_LENGTH, "did you mean `mm`?"},
        {"12 mPa", KP_DIM_PRESSURE, "did you mean"},
        {"5/0 in", KP_DIM_LENGTH, "1.5 or 1-1/2"},
        {"1-9/8 in", KP_DIM_LENGTH, "1.5 or 1-1/2"},
        {"5/8/3 in", KP_DIM_LENGTH, "1.5 or 1-1/2"},
        {"5/8", KP_DIM_LENGTH, "unit is missing"},
        {"5/8 kg", KP_DIM_LENGTH, "unit of a mass"},
        {"1/2 in2", KP_DIM_AREA, "no fraction"},
        {"200 psig", KP_DIM_PRESSURE, "unknown unit `psig`"},
        {"200 psig gauge absolute", KP_DIM_GAS_PRESSURE, "unknown unit `psig gauge`"},
        {"40 C", KP_DIM_TEMPERATURE_DIFFERENCE, "unknown unit `C`"},
        {"12\"", KP_DIM_AREA, "not a unit"},
        {"40 furlong", KP_DIM_LENGTH, "mm, cm, m, um, in, thou or mil"},
        {"5 kg", KP_DIM_LENGTH, "unit of a mass; a length"},
        {"5 kg", KP_DIM_AREA, "an area"},
        {"5 %", KP_DIM_LENGTH, "per cent"},
        {"0.7 mm", KP_DIM_NONE, "no unit"},
        {"40 an extremely long name of a unit that nobody has", KP_DIM_LENGTH, "not a unit"},
        {"15 mm2/s/", KP_DIM_KINEMATIC_VISCOSITY, "not a unit"},
        /* pressures, temperatures */
        {"14 bar", KP_DIM_GAS_PRESSURE, "gauge or absolute"},
        {"14 bar gauge", KP_DIM_PRESSURE, "belong to a gas pressure"},
        {"-1.2 bar gauge", KP_DIM_GAS_PRESSURE, "vacuum"},
        {"-280 degC", KP_DIM_TEMPERATURE, "absolute zero"},
        /* tolerances */
        {"5 mm +/- 3", KP_DIM_LENGTH, "unit of the tolerance"},
        {"5 mm +/- -3 mm", KP_DIM_LENGTH, "not negative"},
        {"5 mm +/-", KP_DIM_LENGTH, "tolerance of"},
        {"5 mm +/- 3 mm +/- 1 mm", KP_DIM_LENGTH, "tolerance of"},
        {"40 degC +/- 5 degC", KP_DIM_TEMPERATURE, "in K"},
        {"40 degC +/- 5 %", KP_DIM_TEMPERATURE, "per cent"},
        {"14 bar gauge +/- 1 bar gauge", KP_DIM_GAS_PRESSURE, "difference"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        kp_error error = {0};
        kp_quantity q = {.value = 17.25, .tolerance = 3.75};
        kp_status status = kp_quantity_read(cases[i].text, cases[i].dimension, &q, &error);
        cr_expect_eq(status, KP_BAD_INPUT, "%s was taken as %g", cases[i].text, q.value);
        cr_expect(strstr(error.message, cases[i].says) != NULL, "%s: \"%s\" says nothing of \"%s\"", cases[i].text,
                  error.message, cases[i].says);
        cr_expect(q.value == 17.25 && q.tolerance == 3.75, "%s: the output was changed", cases[i].text);
    }
}

Test(quantity, refuses_an_endless_text)
{
    static char text[100001];
    memset(text, '7', sizeof text - 1);
    kp_error error = {0};
    kp_quantity q;
    cr_assert_eq(kp_quantity_read(text, KP_DIM_LENGTH, &q, &error), KP_BAD_INPUT);
    cr_assert(strlen(error.message) < 300);
}

/* Every dimension: what is shown reads back to the same SI value; its example is good; its texts are there. */
Test(quantity, shows_what_it_reads)
{
    static const double si = 0.013579;
    for (int i = 0; i < KP_DIM_COUNT; i++) {
        kp_dimension dimension = (kp_dimension)i;
        kp_error error = {0};
        kp_quantity q = {.value = NAN};
        cr_expect_eq(kp_quantity_read(kp_dimension_example(dimension), dimension, &q, &error), KP_OK, "%s",
                     error.message);
        cr_expect(strlen(kp_dimension_name(dimension)) > 0);
        cr_expect((strlen(kp_unit_column_suffix(dimension)) > 0) == (dimension != KP_DIM_NONE));
        for (int j = KP_UNITS_METRIC; j <= KP_UNITS_SI; j++) {
            kp_unit_system system = (kp_unit_system)j;
            char number[40], text[80];
            kp_number_write(kp_unit_convert(si, dimension, system), number, sizeof number);
            kp_text_print(text, sizeof text, "%s %s", number, kp_unit_name(dimension, system));
            q.value = NAN;
            cr_expect_eq(kp_quantity_read(text, dimension, &q, &error), KP_OK, "%s: %s", text, error.message);
            /* through a scale with a zero, 0.0136 K is lost in 273.15: 1e-13 of that is 3e-11 */
            bool scale = dimension == KP_DIM_TEMPERATURE;
            cr_expect(fabs(q.value - si) <= (scale ? 3e-11 : 1e-15), "%s -> %.17g", text, q.value);
            if (system == KP_UNITS_SI) {
                cr_expect_eq(kp_unit_convert(si, dimension, system), si);
            }
        }
    }
    cr_assert_str_eq(kp_unit_name(KP_DIM_LENGTH, KP_UNITS_METRIC), "mm");
    cr_assert_str_eq(kp_unit_name(KP_DIM_SPEED, KP_UNITS_INCH), "in/s");
    cr_assert_str_eq(kp_unit_column_suffix(KP_DIM_FLOW), "m3_s");
    cr_assert(near(kp_unit_convert(0.0635, KP_DIM_LENGTH, KP_UNITS_INCH), 2.5, ROUNDING));
    cr_assert(near(kp_unit_convert(310.93, KP_DIM_TEMPERATURE, KP_UNITS_INCH), 310.93 * 1.8 - 459.67, 1e-14));
}

/* Every name in the table, alone: its value must be the factor below times the number, rounded once. */
Test(quantity, knows_every_unit)
{
    static const struct {
        const char *name;
        kp_dimension dimension;
        double factor; /* [SI unit] */
    } units[] = {
        {"m", KP_DIM_LENGTH, 1.0},
        {"mm", KP_DIM_LENGTH, 1e-3},
        {"cm", KP_DIM_LENGTH, 1e-2},
        {"um", KP_DIM_LENGTH, 1e-6},
        {"km", KP_DIM_LENGTH, 1e3},
        {"in", KP_DIM_LENGTH, 0.0254},
        {"inch", KP_DIM_LENGTH, 0.0254},
        {"thou", KP_DIM_LENGTH, 2.54e-5},
        {"mil", KP_DIM_LENGTH, 2.54e-5},
        {"ft", KP_DIM_LENGTH, 0.3048},
        {"L", KP_DIM_VOLUME, 1e-3},
        {"l", KP_DIM_VOLUME, 1e-3},
        {"mL", KP_DIM_VOLUME, 1e-6},
        {"ml", KP_DIM_VOLUME, 1e-6},
        {"cc", KP_DIM_VOLUME, 1e-6},
        {"s", KP_DIM_TIME, 1.0},
        {"ms", KP_DIM_TIME, 1e-3},
        {"min", KP_DIM_TIME, 60.0},
        {"h", KP_DIM_TIME, 3600.0},
        {"Hz", KP_DIM_FREQUENCY, 1.0},
        {"kHz", KP_DIM_FREQUENCY, 1e3},
        {"mph", KP_DIM_SPEED, 0.44704},
        {"kg", KP_DIM_MASS, 1.0},
        {"g", KP_DIM_MASS, 1e-3},
        {"t", KP_DIM_MASS, 1e3},
        {"lb", KP_DIM_MASS, 0.45359237},
        {"N", KP_DIM_FORCE, 1.0},
        {"kN", KP_DIM_FORCE, 1e3},
        {"lbf", KP_DIM_FORCE, 4.4482216152605},
        {"Pa", KP_DIM_STRESS, 1.0},
        {"kPa", KP_DIM_STRESS, 1e3},
        {"MPa", KP_DIM_STRESS, 1e6},
        {"GPa", KP_DIM_STRESS, 1e9},
        {"bar", KP_DIM_STRESS, 1e5},
        {"mbar", KP_DIM_STRESS, 1e2},
        {"psi", KP_DIM_STRESS, 4.4482216152605 / 6.4516e-4},
        {"ksi", KP_DIM_STRESS, 4448.2216152605 / 6.4516e-4},
        {"St", KP_DIM_KINEMATIC_VISCOSITY, 1e-4},
        {"cSt", KP_DIM_KINEMATIC_VISCOSITY, 1e-6},
        {"K", KP_DIM_TEMPERATURE_DIFFERENCE, 1.0},
    };
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        char text[40];
        kp_error error = {0};
        kp_quantity q = {.value = NAN};
        kp_text_print(text, sizeof text, "2.385 %s", units[i].name);
        cr_expect_eq(kp_quantity_read(text, units[i].dimension, &q, &error), KP_OK, "%s: %s", text, error.message);
        cr_expect(near(q.value, 2.385 * units[i].factor, ROUNDING), "%s: %.17g", text, q.value);
    }
}

/* Products, quotients, powers, and the ways to write them. */
Test(quantity, reads_compound_units)
{
    static const struct {
        const char *text;
        kp_dimension dimension;
        double si;
    } cases[] = {
        {"2.385 kg/m/s2 m2", KP_DIM_FORCE, 2.385}, /* from left to right: a slash divides by one factor */
        {"2.385 N s/m", KP_DIM_DAMPING, 2.385},
        {"2.385 N*s/m", KP_DIM_DAMPING, 2.385},
        {"2.385 N\xE2\x8B\x85s/m", KP_DIM_DAMPING, 2.385},
        {"2.385 s N m-1", KP_DIM_DAMPING, 2.385},
        {"2.385 N\t s  /  m", KP_DIM_DAMPING, 2.385},
        {"2.385 N s per m", KP_DIM_DAMPING, 2.385},
        {"2.385 mm PER s", KP_DIM_SPEED, 2.385e-3},
        {"2.385 mm^2", KP_DIM_AREA, 2.385e-6},
        {"2.385 mm^3", KP_DIM_VOLUME, 2.385e-9},
        {"2.385 in\xC2\xB3", KP_DIM_VOLUME, 2.385 * 1.6387064e-5},
        {"2.385 s^-1", KP_DIM_FREQUENCY, 2.385},
        {"2.385 min-1", KP_DIM_FREQUENCY, 2.385 / 60.0},
        {"2.385 1/min", KP_DIM_FREQUENCY, 2.385 / 60.0},
        {"2.385 1/s2 s", KP_DIM_FREQUENCY, 2.385},
        {"2.385 L/cm2", KP_DIM_LENGTH, 23.85},
        {"2.385 psi in2", KP_DIM_FORCE, 2.385 * 4.4482216152605},
        {"2.385 kN/km", KP_DIM_STIFFNESS, 2.385},
        {"2.385 lbf/in/mph in", KP_DIM_DAMPING, 2.385 * 4.4482216152605 / 0.44704},
        {"2.385 m9/m8", KP_DIM_LENGTH, 2.385},
        {"2.385 degC m/m", KP_DIM_TEMPERATURE, 2.385}, /* in a product the scale has no zero */
        {"2.385 1/degC", KP_DIM_EXPANSION, 2.385},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        kp_error error = {0};
        kp_quantity q = {.value = NAN};
        cr_expect_eq(kp_quantity_read(cases[i].text, cases[i].dimension, &q, &error), KP_OK, "%s: %s", cases[i].text,
                     error.message);
        cr_expect(near(q.value, cases[i].si, 2.0 * ROUNDING), "%s: %.17g, not %.17g", cases[i].text, q.value,
                  cases[i].si);
    }
}

/* A factor that rounding alone keeps from 1 is 1: the number itself must come back. */
Test(quantity, leaves_a_number_whose_factor_is_one)
{
    static const struct {
        const char *unit;
        kp_dimension dimension;
    } cases[] = {{"t mil/in", KP_DIM_MASS}, {"cm3/um", KP_DIM_AREA}, {"cm-3 l2", KP_DIM_VOLUME}, {"m", KP_DIM_LENGTH}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[40];
        kp_quantity q = {.value = NAN};
        kp_text_print(text, sizeof text, "237.41 %s", cases[i].unit);
        cr_expect_eq(kp_quantity_read(text, cases[i].dimension, &q, NULL), KP_OK, "%s", text);
        cr_expect_eq(q.value, 237.41, "%s: %.17g", text, q.value);
    }
}

/* Pins, not truth: the bits that a file has given so far. Every number the program prints depends on them. */
Test(quantity, converts_to_the_same_bits)
{
    static const struct {
        const char *text;
        kp_dimension dimension;
        double si;
    } cases[] = {
        {"0.1 in", KP_DIM_LENGTH, 0.00254},
        {"0.3 lb/ft3", KP_DIM_DENSITY, 4.805539012188043},
        {"0.7 lbf s/in", KP_DIM_DAMPING, 122.58878467253345},
        {"0.3 in3/s", KP_DIM_FLOW, 4.9161192e-06},
        {"0.7 L/min", KP_DIM_FLOW, 1.1666666666666666e-05},
        {"0.1 mm2/s", KP_DIM_KINEMATIC_VISCOSITY, 1e-07},
        {"0.7 psi", KP_DIM_PRESSURE, 4826.330105217852},
        {"0.3 ksi", KP_DIM_STRESS, 2068427.1879505082},
        {"0.7 km/h", KP_DIM_SPEED, 0.19444444444444445},
        {"0.3 mph", KP_DIM_SPEED, 0.13411199999999998},
        {"71.3 degF", KP_DIM_TEMPERATURE, 294.98333333333335},
        {"38.7 degC", KP_DIM_TEMPERATURE, 311.84999999999997},
        {"0.7 1/degF", KP_DIM_EXPANSION, 1.2599999999999998},
        {"0.3 g/cm3", KP_DIM_DENSITY, 299.99999999999994},
        {"0.7 m3/mm2", KP_DIM_LENGTH, 700000.0},
        {"0.3 m3 mm-2", KP_DIM_LENGTH, 300000.0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        kp_quantity q = {.value = NAN};
        cr_expect_eq(kp_quantity_read(cases[i].text, cases[i].dimension, &q, NULL), KP_OK, "%s", cases[i].text);
        cr_expect_eq(q.value, cases[i].si, "%s: %a, not %a", cases[i].text, q.value, cases[i].si);
    }
    kp_quantity zero = {.value = NAN};
    cr_assert_eq(kp_quantity_read("-0 mm", KP_DIM_LENGTH, &zero, NULL), KP_OK);
    cr_assert(signbit(zero.value), "the sign of zero stays");
    cr_assert(isnan(kp_unit_convert(1.0, KP_DIM_COUNT, KP_UNITS_METRIC)), "no number rather than one in another unit");
}
