/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The tables of dimensions and of units, for the room's own readers. */
#ifndef KP_BASE_UNITS_H
#define KP_BASE_UNITS_H

#include "kneepoint/base.h"

enum {
    KP_UNIT_SIZE_MAX = 32, /* [bytes] longest unit that is read; "mm2/s" has 5 */
    KP_BASE_UNITS = 4      /* [-] metre, kilogram, second, kelvin */
};

/** What a dimension is called, what it is made of and how it is shown. All text in here is plain ASCII. */
typedef struct kp_dimension_row {
    const char *name;                  /* in words, "length" */
    signed char powers[KP_BASE_UNITS]; /* [-] of metre, kilogram, second, kelvin */
    const char *si;                    /* the SI unit; "" for none */
    const char *suffix;                /* of a column in CSV and JSON */
    const char *metric;                /* display units */
    const char *inch;
    const char *accepted; /* some units that would be right, for messages */
    const char *example;  /* a text that would be right */
} kp_dimension_row;

/** Row of a dimension; that of KP_DIM_NONE for a value outside the list. */
const kp_dimension_row *kp_dimension_row_of(kp_dimension dimension);

/** A unit, simple or compound. Value in SI = factor x (reading + offset). */
typedef struct kp_unit {
    double factor;             /* [SI unit] > 0 */
    double offset;             /* [this unit] absolute zero lies this far below the unit's own zero: degC, degF */
    int powers[KP_BASE_UNITS]; /* [-] of metre, kilogram, second, kelvin */
} kp_unit;

/** Rewrites a unit in the spelling that kp_unit_read takes: signs of UTF-8 become ASCII, blanks become single.
    Given: the first length bytes of text; out holds KP_UNIT_SIZE_MAX + 1 bytes.
    Returned: false when the text does not have the form of a unit. */
bool kp_unit_spell(const char *text, size_t length, char *out);
/** Reads a unit.
    Given: text that kp_unit_spell has made, or "" for a plain number.
    Returned: false when a name in it is not in the table. */
bool kp_unit_read(const char *spelt, kp_unit *out);
/** Returned: whether the unit measures this dimension. */
bool kp_unit_measures(const kp_unit *unit, kp_dimension dimension);
/** Reading in the unit -> SI. */
double kp_unit_to_si(const kp_unit *unit, double reading);
/** SI -> reading in the unit. */
double kp_unit_from_si(const kp_unit *unit, double si_value);
/** Returned: name of the first dimension that the unit measures, or NULL. */
const char *kp_unit_dimension_name(const kp_unit *unit);
/** Returned: the name in the table that is nearest to the text, or NULL when none is near. */
const char *kp_unit_nearest(const char *spelt);

#endif
