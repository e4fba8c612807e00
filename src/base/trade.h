/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Numbers and units as a workshop writes them: 1-7/8", 0.008", 200 psig, 40 C. */
#ifndef KP_BASE_TRADE_H
#define KP_BASE_TRADE_H

#include "kneepoint/base.h"
#include "units.h"

/** Reads a fraction in front of a length: "5/8", "1-7/8", "-1/64".
    Returned: its length [bytes], 0 when the text does not begin with one; out is then unchanged. */
size_t kp_fraction_read(const char *text, double *out);

/** The table's spelling of a unit that only the trade writes.
    Given:    the first length bytes of text; the dimension expected; unit holds KP_UNIT_SIZE_MAX + 1 bytes
    Returned: false, with nothing changed, when it is no such unit. gauge or absolute comes back true for psig, psia,
   barg and bara, and is unchanged otherwise. */
bool kp_trade_unit(const char *text, size_t length, kp_dimension dimension, char *unit, bool *gauge, bool *absolute);

#endif
