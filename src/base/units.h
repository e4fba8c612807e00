/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Our unit system: the tables of dimensions and units, and the udunits2 objects made from them. */
#ifndef KP_BASE_UNITS_H
#define KP_BASE_UNITS_H

#include "kneepoint/base.h"

#include <udunits2.h>

enum { KP_LONGEST_UNIT = 32 /* [bytes] what is handed to the library; "mm2/s" has 5 */ };

/** What a dimension is called and how it is shown. All text in here is plain ASCII. */
typedef struct kp_dimension_row {
    const char *name;   /* in words, "length"                                       */
    const char *si;     /* SI unit as the unit system spells it; "" for none        */
    const char *suffix; /* of a column in CSV and JSON                              */
    const char *metric; /* display units                                            */
    const char *inch;
    const char *accepted; /* some units that would be right, for messages             */
    const char *example;  /* a text that would be right                               */
} kp_dimension_row;

const kp_dimension_row *kp_dimension_row_of(kp_dimension dimension);

/** Has kp_units_begin done its work? */
bool kp_units_ready(void);

/** A unit from text that kp_unit_spell has made; NULL when the system does not know it. Free with ut_free. */
ut_unit *kp_unit_parse(const char *spelt);
/** Rewrites a unit as the library may see it: UTF-8 signs to ASCII, blanks single, offsets and stray numbers refused.
    out holds KP_LONGEST_UNIT + 1 bytes. Returns false when the text is no unit by our grammar. */
bool kp_unit_spell(const char *text, size_t length, char *out);
/** Is the unit one of this dimension? */
bool kp_unit_converts(const ut_unit *unit, kp_dimension dimension);
/** Value in that unit -> SI; false when the unit is of another dimension or memory ran out. */
bool kp_unit_to_si(const ut_unit *unit, kp_dimension dimension, double value, double *out);
/** Name of the dimension the unit belongs to, or NULL. */
const char *kp_unit_dimension_name(const ut_unit *unit);
/** Nearest symbol we know, or NULL. */
const char *kp_unit_nearest(const char *spelt);

#endif
