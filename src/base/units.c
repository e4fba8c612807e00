/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The unit system, built in code.
    Why not the library's own database: it means other things than the trade does (mph is milliphot there, thou is
    unknown), it costs 6 to 10 ms at every start, and it fails to load under a locale with a decimal comma. No prefixes
    are declared either: with them `kin` would be a thousand inches. A unit that is not in the list below is refused. */
#include "units.h"

#include "locale_guard.h"

#include <math.h>
#include <string.h>

/** One row makes a dimension: add a name to kp_dimension and a row here, and it can be read and shown. */
static const kp_dimension_row dimension_rows[KP_DIM_COUNT] = {
    [KP_DIM_NONE] = {"plain number", "", "", "", "", "a plain number or %", "0.7"},
    [KP_DIM_LENGTH] = {"length", "m", "m", "mm", "in", "mm, cm, m, um, in, thou or mil", "40 mm"},
    [KP_DIM_AREA] = {"area", "m2", "m2", "mm2", "in2", "mm2, cm2, m2 or in2", "240 mm2"},
    [KP_DIM_VOLUME] = {"volume", "m3", "m3", "cm3", "in3", "cm3, cc, mL, L, m3 or in3", "350 cm3"},
    [KP_DIM_SPEED] = {"speed", "m/s", "m_s", "m/s", "in/s", "m/s, mm/s, in/s, ft/s, km/h or mph", "0.25 m/s"},
    [KP_DIM_FORCE] = {"force", "N", "N", "N", "lbf", "N, kN or lbf", "60 N"},
    [KP_DIM_PRESSURE] = {"pressure", "Pa", "Pa", "bar", "psi", "bar, MPa, kPa, Pa or psi", "12 bar"},
    [KP_DIM_GAS_PRESSURE] = {"gas pressure", "Pa", "Pa", "bar", "psi",
                             "bar, MPa, kPa, Pa or psi with the word gauge or absolute", "14 bar gauge"},
    [KP_DIM_TEMPERATURE] = {"temperature", "K", "K", "degC", "degF", "degC, degF or K", "40 degC"},
    [KP_DIM_TEMPERATURE_DIFFERENCE] = {"temperature difference", "K", "K", "K", "K", "K", "60 K"},
    [KP_DIM_KINEMATIC_VISCOSITY] = {"kinematic viscosity", "m2/s", "m2_s", "mm2/s", "mm2/s", "mm2/s, cSt or m2/s",
                                    "15 mm2/s"},
    [KP_DIM_DENSITY] = {"density", "kg/m3", "kg_m3", "kg/m3", "lb/ft3", "kg/m3, g/cm3, kg/L or lb/ft3", "860 kg/m3"},
    [KP_DIM_FLOW] = {"flow", "m3/s", "m3_s", "L/min", "in3/s", "L/min, cm3/s, m3/s or in3/s", "12 L/min"},
    [KP_DIM_STIFFNESS] = {"stiffness", "N/m", "N_m", "N/mm", "lbf/in", "N/mm, N/m, kN/m or lbf/in", "45 N/mm"},
    [KP_DIM_DAMPING] = {"damping", "N s/m", "N_s_m", "N s/m", "lbf s/in", "N s/m, N s/mm or lbf s/in", "2500 N s/m"},
    [KP_DIM_MASS] = {"mass", "kg", "kg", "kg", "lb", "kg, g, t or lb", "450 kg"},
    [KP_DIM_TIME] = {"time", "s", "s", "s", "s", "s, ms, min or h", "0.5 s"},
    [KP_DIM_FREQUENCY] = {"frequency", "Hz", "Hz", "Hz", "Hz", "Hz, kHz or 1/min", "1.6 Hz"},
    [KP_DIM_EXPANSION] = {"thermal expansion", "1/K", "1_K", "1/K", "1/degF", "1/K, 1/degC or 1/degF", "8.3e-4 1/K"},
    [KP_DIM_STRESS] = {"stress", "Pa", "Pa", "MPa", "ksi", "MPa, Pa, psi or ksi", "1200 MPa"},
};

/** A unit: factor times powers of metre, kilogram, second and kelvin. */
typedef struct unit_row {
    const char *symbol;
    double factor;
    signed char metre, kilogram, second, kelvin;
    double offset; /* [unit] zero of the scale below the unit's own zero: degC, degF */
} unit_row;

/* Definitions. Exact by definition: inch 0.0254 m and pound 0.45359237 kg (international yard and pound agreement of
   1959), standard gravity 9.80665 m/s2 (3rd CGPM, 1901), 0 degC = 273.15 K; lbf = lb times standard gravity; bar 1e5
   Pa; stokes 1e-4 m2/s. All as in NIST Special Publication 811: from memory. */
#define INCH    0.0254
#define FOOT    (12.0 * INCH)
#define POUND   0.45359237
#define GRAVITY 9.80665
#define LBF     (POUND * GRAVITY)
#define RANKINE (5.0 / 9.0)

static const unit_row unit_rows[] = {
    {"m", 1.0, 1, 0, 0, 0, 0.0},
    {"mm", 1e-3, 1, 0, 0, 0, 0.0},
    {"cm", 1e-2, 1, 0, 0, 0, 0.0},
    {"um", 1e-6, 1, 0, 0, 0, 0.0},
    {"km", 1e3, 1, 0, 0, 0, 0.0},
    {"in", INCH, 1, 0, 0, 0, 0.0},
    {"inch", INCH, 1, 0, 0, 0, 0.0},
    {"thou", 1e-3 * INCH, 1, 0, 0, 0, 0.0},
    {"mil", 1e-3 * INCH, 1, 0, 0, 0, 0.0},
    {"ft", FOOT, 1, 0, 0, 0, 0.0},
    {"L", 1e-3, 3, 0, 0, 0, 0.0},
    {"l", 1e-3, 3, 0, 0, 0, 0.0},
    {"mL", 1e-6, 3, 0, 0, 0, 0.0},
    {"ml", 1e-6, 3, 0, 0, 0, 0.0},
    {"cc", 1e-6, 3, 0, 0, 0, 0.0},
    {"s", 1.0, 0, 0, 1, 0, 0.0},
    {"ms", 1e-3, 0, 0, 1, 0, 0.0},
    {"min", 60.0, 0, 0, 1, 0, 0.0},
    {"h", 3600.0, 0, 0, 1, 0, 0.0},
    {"Hz", 1.0, 0, 0, -1, 0, 0.0},
    {"kHz", 1e3, 0, 0, -1, 0, 0.0},
    {"mph", 5280.0 * FOOT / 3600.0, 1, 0, -1, 0, 0.0},
    {"kg", 1.0, 0, 1, 0, 0, 0.0},
    {"g", 1e-3, 0, 1, 0, 0, 0.0},
    {"t", 1e3, 0, 1, 0, 0, 0.0},
    {"lb", POUND, 0, 1, 0, 0, 0.0},
    {"N", 1.0, 1, 1, -2, 0, 0.0},
    {"kN", 1e3, 1, 1, -2, 0, 0.0},
    {"lbf", LBF, 1, 1, -2, 0, 0.0},
    {"Pa", 1.0, -1, 1, -2, 0, 0.0},
    {"kPa", 1e3, -1, 1, -2, 0, 0.0},
    {"MPa", 1e6, -1, 1, -2, 0, 0.0},
    {"GPa", 1e9, -1, 1, -2, 0, 0.0},
    {"bar", 1e5, -1, 1, -2, 0, 0.0},
    {"mbar", 1e2, -1, 1, -2, 0, 0.0},
    {"psi", LBF / (INCH * INCH), -1, 1, -2, 0, 0.0},
    {"ksi", 1e3 * LBF / (INCH * INCH), -1, 1, -2, 0, 0.0},
    {"St", 1e-4, 2, 0, -1, 0, 0.0},
    {"cSt", 1e-6, 2, 0, -1, 0, 0.0},
    {"K", 1.0, 0, 0, 0, 1, 0.0},
    {"degC", 1.0, 0, 0, 0, 1, 273.15},
    {"degF", RANKINE, 0, 0, 0, 1, 459.67},
};

enum { UNIT_COUNT = sizeof unit_rows / sizeof unit_rows[0], SYSTEM_COUNT = 3 };

/** The once-per-process state: the unit system and the converters of every dimension. Made by kp_units_begin before
    threads start, read only from then on. */
static struct {
    ut_system *system;
    ut_unit *si[KP_DIM_COUNT];
    cv_converter *shown[KP_DIM_COUNT][SYSTEM_COUNT]; /* SI to display unit */
} units;

const kp_dimension_row *kp_dimension_row_of(kp_dimension dimension)
{
    if ((int)dimension < 0 || dimension >= KP_DIM_COUNT) {
        return &dimension_rows[KP_DIM_NONE];
    }
    return &dimension_rows[dimension];
}

const char *kp_dimension_name(kp_dimension dimension)
{
    return kp_dimension_row_of(dimension)->name;
}

const char *kp_dimension_example(kp_dimension dimension)
{
    return kp_dimension_row_of(dimension)->example;
}

/** Multiplies *unit by base to a power; frees what it replaces. */
static bool multiply_power(ut_unit **unit, const ut_unit *base, int power)
{
    if (power == 0) {
        return true;
    }
    ut_unit *raised = ut_raise(base, power);
    ut_unit *product = raised == NULL ? NULL : ut_multiply(*unit, raised);
    if (raised != NULL) {
        ut_free(raised);
    }
    if (product == NULL) {
        return false;
    }
    ut_free(*unit);
    *unit = product;
    return true;
}

static bool declare_unit(ut_system *system, const unit_row *row, ut_unit *const bases[4])
{
    const int powers[4] = {row->metre, row->kilogram, row->second, row->kelvin};
    ut_unit *unit = ut_get_dimensionless_unit_one(system);
    bool good = unit != NULL;
    for (size_t i = 0; good && i < 4; i++) {
        good = multiply_power(&unit, bases[i], powers[i]);
    }
    ut_unit *scaled = good ? ut_scale(row->factor, unit) : NULL;
    if (scaled != NULL && row->offset > 0.0) {
        ut_unit *moved = ut_offset(scaled, row->offset);
        ut_free(scaled);
        scaled = moved;
    }
    good = scaled != NULL && ut_map_symbol_to_unit(row->symbol, UT_ASCII, scaled) == UT_SUCCESS;
    if (scaled != NULL) {
        ut_free(scaled);
    }
    if (unit != NULL) {
        ut_free(unit);
    }
    return good;
}

static ut_system *build_system(void)
{
    ut_system *system = ut_new_system();
    if (system == NULL) {
        return NULL;
    }
    ut_unit *bases[4] = {NULL, NULL, NULL, NULL};
    bool good = true;
    for (size_t i = 0; i < 4; i++) {
        bases[i] = ut_new_base_unit(system);
        good = good && bases[i] != NULL;
    }
    for (size_t i = 0; good && i < UNIT_COUNT; i++) {
        good = declare_unit(system, &unit_rows[i], bases);
    }
    for (size_t i = 0; i < 4; i++) {
        if (bases[i] != NULL) {
            ut_free(bases[i]);
        }
    }
    if (!good) {
        ut_free_system(system);
        return NULL;
    }
    return system;
}

ut_unit *kp_unit_parse(const char *spelt)
{
    if (spelt[0] == '\0') {
        return ut_get_dimensionless_unit_one(units.system);
    }
    kp_locale_guard guard = kp_locale_guard_begin();
    ut_unit *unit = ut_parse(units.system, spelt, UT_ASCII);
    kp_locale_guard_end(guard);
    return unit;
}

/** Converters from SI to what is shown, so that showing a number parses nothing. */
static bool build_converters(void)
{
    for (size_t i = 0; i < KP_DIM_COUNT; i++) {
        const char *shown[SYSTEM_COUNT] = {dimension_rows[i].metric, dimension_rows[i].inch, dimension_rows[i].si};
        units.si[i] = kp_unit_parse(dimension_rows[i].si);
        for (size_t j = 0; units.si[i] != NULL && j < SYSTEM_COUNT; j++) {
            ut_unit *unit = kp_unit_parse(shown[j]);
            if (unit != NULL) {
                units.shown[i][j] = ut_get_converter(units.si[i], unit);
                ut_free(unit);
            }
            if (units.shown[i][j] == NULL) {
                return false;
            }
        }
        if (units.si[i] == NULL) {
            return false;
        }
    }
    return true;
}

kp_status kp_units_begin(kp_error *error)
{
    if (units.system != NULL) {
        return KP_OK;
    }
    ut_set_error_message_handler(ut_ignore); /* it would print to stderr; a room does not print */
    units.system = build_system();
    if (units.system == NULL || !build_converters()) {
        kp_units_end();
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out while the units were set up");
    }
    return KP_OK;
}

void kp_units_end(void)
{
    for (size_t i = 0; i < KP_DIM_COUNT; i++) {
        for (size_t j = 0; j < SYSTEM_COUNT; j++) {
            if (units.shown[i][j] != NULL) {
                cv_free(units.shown[i][j]);
                units.shown[i][j] = NULL;
            }
        }
        if (units.si[i] != NULL) {
            ut_free(units.si[i]);
            units.si[i] = NULL;
        }
    }
    if (units.system != NULL) {
        ut_free_system(units.system);
        units.system = NULL;
    }
}

bool kp_units_ready(void)
{
    return units.system != NULL;
}

bool kp_unit_converts(const ut_unit *unit, kp_dimension dimension)
{
    /* Not ut_are_convertible: that also takes a unit for its reciprocal, so that 0.5 s would be read as 2 Hz. */
    ut_unit *ratio = ut_divide(unit, units.si[dimension]);
    bool same = ratio != NULL && ut_is_dimensionless(ratio) != 0;
    if (ratio != NULL) {
        ut_free(ratio);
    }
    return same;
}

bool kp_unit_to_si(const ut_unit *unit, kp_dimension dimension, double value, double *out)
{
    cv_converter *converter = ut_get_converter((ut_unit *)unit, units.si[dimension]);
    if (converter == NULL) {
        return false;
    }
    *out = cv_convert_double(converter, value);
    cv_free(converter);
    return true;
}

const char *kp_unit_dimension_name(const ut_unit *unit)
{
    for (int i = 0; i < KP_DIM_COUNT; i++) {
        if (kp_unit_converts(unit, (kp_dimension)i)) {
            return dimension_rows[i].name;
        }
    }
    return NULL;
}

const char *kp_unit_nearest(const char *spelt)
{
    const char *symbols[UNIT_COUNT];
    for (size_t i = 0; i < UNIT_COUNT; i++) {
        symbols[i] = unit_rows[i].symbol;
    }
    return kp_text_nearest(spelt, symbols, UNIT_COUNT);
}

double kp_unit_convert(double si_value, kp_dimension dimension, kp_unit_system system)
{
    if ((int)dimension < 0 || dimension >= KP_DIM_COUNT || (int)system < 0 || (int)system >= SYSTEM_COUNT ||
        units.shown[dimension][system] == NULL) {
        return (double)NAN; /* kp_units_begin was forgotten: better no number than one in the wrong unit */
    }
    return cv_convert_double(units.shown[dimension][system], si_value);
}

const char *kp_unit_name(kp_dimension dimension, kp_unit_system system)
{
    const kp_dimension_row *row = kp_dimension_row_of(dimension);
    if (dimension == KP_DIM_GAS_PRESSURE) {
        return system == KP_UNITS_METRIC ? "bar absolute" : system == KP_UNITS_INCH ? "psi absolute" : "Pa absolute";
    }
    return system == KP_UNITS_METRIC ? row->metric : system == KP_UNITS_INCH ? row->inch : row->si;
}

const char *kp_unit_column_suffix(kp_dimension dimension)
{
    return kp_dimension_row_of(dimension)->suffix;
}
