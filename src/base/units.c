/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The table of units, and the reader of compound units such as "lbf s/in".
    There are no prefixes: with them `kin` would be a thousand inches. A unit that is not in the table is refused. */
#include "units.h"

#include <float.h>
#include <math.h>
#include <string.h>
#include <strings.h>

/** One name of a unit. */
typedef struct unit_row {
    const char *name;
    kp_dimension dimension;
    double factor; /* [SI unit] of the dimension */
    double offset; /* [this unit] absolute zero lies this far below the unit's own zero */
} unit_row;

/* Exact by definition: inch 0.0254 m and pound 0.45359237 kg (international yard and pound agreement of 1959), standard
   gravity 9.80665 m/s2 (3rd CGPM, 1901), 0 degC = 273.15 K; lbf = lb times standard gravity; bar 1e5 Pa; stokes 1e-4
   m2/s. All as in NIST Special Publication 811: from memory. */
#define INCH    0.0254                /* [m] */
#define FOOT    (12.0 * INCH)         /* [m] */
#define POUND   0.45359237            /* [kg] */
#define GRAVITY 9.80665               /* [m/s2] */
#define LBF     (POUND * GRAVITY)     /* [N] */
#define PSI     (LBF / (INCH * INCH)) /* [Pa] */
#define RANKINE (5.0 / 9.0)           /* [K] */

/* One line makes a name of a unit: a second name is a second line. */
static const unit_row unit_rows[] = {
    {"m", KP_DIM_LENGTH, 1.0, 0.0},
    {"mm", KP_DIM_LENGTH, 1e-3, 0.0},
    {"cm", KP_DIM_LENGTH, 1e-2, 0.0},
    {"um", KP_DIM_LENGTH, 1e-6, 0.0},
    {"km", KP_DIM_LENGTH, 1e3, 0.0},
    {"in", KP_DIM_LENGTH, INCH, 0.0},
    {"inch", KP_DIM_LENGTH, INCH, 0.0},
    {"thou", KP_DIM_LENGTH, 1e-3 * INCH, 0.0},
    {"mil", KP_DIM_LENGTH, 1e-3 * INCH, 0.0},
    {"ft", KP_DIM_LENGTH, FOOT, 0.0},
    {"L", KP_DIM_VOLUME, 1e-3, 0.0},
    {"l", KP_DIM_VOLUME, 1e-3, 0.0},
    {"mL", KP_DIM_VOLUME, 1e-6, 0.0},
    {"ml", KP_DIM_VOLUME, 1e-6, 0.0},
    {"cc", KP_DIM_VOLUME, 1e-6, 0.0},
    {"s", KP_DIM_TIME, 1.0, 0.0},
    {"ms", KP_DIM_TIME, 1e-3, 0.0},
    {"min", KP_DIM_TIME, 60.0, 0.0},
    {"h", KP_DIM_TIME, 3600.0, 0.0},
    {"Hz", KP_DIM_FREQUENCY, 1.0, 0.0},
    {"kHz", KP_DIM_FREQUENCY, 1e3, 0.0},
    {"mph", KP_DIM_SPEED, 5280.0 * FOOT / 3600.0, 0.0},
    {"kg", KP_DIM_MASS, 1.0, 0.0},
    {"g", KP_DIM_MASS, 1e-3, 0.0},
    {"t", KP_DIM_MASS, 1e3, 0.0},
    {"lb", KP_DIM_MASS, POUND, 0.0},
    {"N", KP_DIM_FORCE, 1.0, 0.0},
    {"kN", KP_DIM_FORCE, 1e3, 0.0},
    {"lbf", KP_DIM_FORCE, LBF, 0.0},
    {"Pa", KP_DIM_PRESSURE, 1.0, 0.0},
    {"kPa", KP_DIM_PRESSURE, 1e3, 0.0},
    {"MPa", KP_DIM_PRESSURE, 1e6, 0.0},
    {"GPa", KP_DIM_PRESSURE, 1e9, 0.0},
    {"bar", KP_DIM_PRESSURE, 1e5, 0.0},
    {"mbar", KP_DIM_PRESSURE, 1e2, 0.0},
    {"psi", KP_DIM_PRESSURE, PSI, 0.0},
    {"ksi", KP_DIM_PRESSURE, 1e3 * LBF / (INCH * INCH), 0.0},
    {"St", KP_DIM_KINEMATIC_VISCOSITY, 1e-4, 0.0},
    {"cSt", KP_DIM_KINEMATIC_VISCOSITY, 1e-6, 0.0},
    {"K", KP_DIM_TEMPERATURE, 1.0, 0.0},
    {"degC", KP_DIM_TEMPERATURE, 1.0, 273.15},
    {"degF", KP_DIM_TEMPERATURE, RANKINE, 459.67},
};

enum { UNIT_COUNT = sizeof unit_rows / sizeof unit_rows[0] };

/* A compound factor this near to 1 differs from it by rounding alone: the reading is then left as it is. */
#define FACTOR_ROUNDING (10.0 * DBL_EPSILON) /* [-] */

static bool is_capital(char c)
{
    return c >= 'A' && c <= 'Z';
}

/** MM, Bar and MPA, but not mPa, whose m may stand for milli: all capitals, or the first letter alone. */
static bool is_in_capitals(const char *name, size_t length)
{
    if (length == 0 || !is_capital(name[0])) {
        return false;
    }
    size_t capitals = 0;
    for (size_t i = 0; i < length; i++) {
        capitals += is_capital(name[i]) ? 1 : 0;
    }
    return capitals == length || capitals == 1;
}

/** No two rows differ in capitals alone and have different factors. */
static const unit_row *find_row(const char *name, size_t length)
{
    const unit_row *in_capitals = NULL;
    bool capitals = is_in_capitals(name, length);
    for (size_t i = 0; i < UNIT_COUNT; i++) {
        if (strlen(unit_rows[i].name) != length) {
            continue;
        }
        if (strncmp(unit_rows[i].name, name, length) == 0) {
            return &unit_rows[i];
        }
        if (capitals && strncasecmp(unit_rows[i].name, name, length) == 0) {
            in_capitals = &unit_rows[i];
        }
    }
    return in_capitals;
}

/** Reads one factor of a compound unit, "in", "mm2" or "m^-3", and moves *at behind it. */
static bool read_factor(const char **at, kp_unit *out)
{
    const char *name = *at;
    size_t length = 0;
    while ((name[length] >= 'a' && name[length] <= 'z') || (name[length] >= 'A' && name[length] <= 'Z')) {
        length++;
    }

    const unit_row *row = find_row(name, length);
    if (row == NULL) {
        return false;
    }

    /* What follows the name is its power, 1 when nothing does. */
    const char *end = name + length;
    end += *end == '^' ? 1 : 0;
    int sign = *end == '-' ? -1 : 1;
    end += *end == '-' ? 1 : 0;
    int power = sign;
    if (*end >= '1' && *end <= '9') {
        power = sign * (*end - '0');
        end++;
    }

    /* A power of a unit has no zero of its own. pow is not the same to the bit as repeated multiplication. */
    bool raised = power != 1;
    out->factor = raised ? pow(row->factor, power) : row->factor;
    out->offset = raised ? 0.0 : row->offset;
    for (size_t i = 0; i < KP_BASE_UNITS; i++) {
        out->powers[i] = power * kp_dimension_row_of(row->dimension)->powers[i];
    }

    *at = end;
    return true;
}

/** product = product x factor, or product / factor. The result has no zero of its own. */
static void multiply(kp_unit *product, const kp_unit *factor, bool divide)
{
    double value = product->factor * (divide ? 1.0 / factor->factor : factor->factor);
    product->factor = fabs(1.0 - value) < FACTOR_ROUNDING ? 1.0 : value;
    product->offset = 0.0;
    for (size_t i = 0; i < KP_BASE_UNITS; i++) {
        product->powers[i] += divide ? -factor->powers[i] : factor->powers[i];
    }
}

/** Moves *at behind what stands between two factors. Returned: whether it divides. */
static bool skip_operator(const char **at)
{
    static const struct {
        const char *text;
        bool divides;
    } operators[] = {{" per ", true}, {" / ", true}, {" /", true}, {"/ ", true}, {"/", true}, {" ", false}};

    for (size_t i = 0; i < sizeof operators / sizeof operators[0]; i++) {
        size_t length = strlen(operators[i].text);
        if (strncasecmp(*at, operators[i].text, length) == 0) {
            *at += length;
            return operators[i].divides;
        }
    }
    return false;
}

bool kp_unit_read(const char *spelt, kp_unit *out)
{
    kp_unit product = {.factor = 1.0};
    const char *at = spelt;

    /* A leading `1/` divides by the first factor too. */
    bool reciprocal = strncmp(at, "1/", 2) == 0;
    bool divide = reciprocal;
    at += reciprocal ? 2 : 0;

    for (bool first = true; *at != '\0'; first = false) {
        kp_unit factor;
        if (!read_factor(&at, &factor)) {
            return false;
        }
        if (first && !reciprocal) {
            product = factor; /* alone, degC and degF keep their zero */
        } else {
            multiply(&product, &factor, divide);
        }
        divide = skip_operator(&at);
    }

    *out = product;
    return true;
}

bool kp_unit_measures(const kp_unit *unit, kp_dimension dimension)
{
    /* A unit and its reciprocal are different: 0.5 s is not 2 Hz. */
    const kp_dimension_row *row = kp_dimension_row_of(dimension);
    for (size_t i = 0; i < KP_BASE_UNITS; i++) {
        if (unit->powers[i] != row->powers[i]) {
            return false;
        }
    }
    return true;
}

double kp_unit_to_si(const kp_unit *unit, double reading)
{
    double si_value = unit->factor * reading;
    return unit->offset > 0.0 ? si_value + unit->factor * unit->offset : si_value;
}

double kp_unit_from_si(const kp_unit *unit, double si_value)
{
    return si_value * (1.0 / unit->factor) - unit->offset;
}

const char *kp_unit_nearest(const char *spelt)
{
    const char *names[UNIT_COUNT];
    for (size_t i = 0; i < UNIT_COUNT; i++) {
        names[i] = unit_rows[i].name;
    }
    return kp_text_nearest(spelt, names, UNIT_COUNT);
}
