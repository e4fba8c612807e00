/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Decimal numbers in and out. strtod alone will not do: it also reads 0x40, nan and inf, and follows the locale. */
#include "kneepoint/base.h"

#include "locale_guard.h"
#include "number.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    NUMBER_SIZE_MAX =
        400,         /* [bytes] the longest plain double, 5e-324 written out, has some 330 digits before rounding */
    DIGITS_MIN = 15, /* [-] every 15-digit decimal survives a double (IEEE 754)       */
    DIGITS_MAX = 17  /* [-] 17 digits always read back to the same double (IEEE 754)  */
};

static size_t digits(const char *text)
{
    size_t n = 0;
    while (text[n] >= '0' && text[n] <= '9') {
        n++;
    }
    return n;
}

size_t kp_number_length(const char *text)
{
    size_t at = (text[0] == '+' || text[0] == '-') ? 1 : 0;

    /* the digits, of which at least one stands before or behind the point */
    size_t whole = digits(text + at);
    at += whole;
    if (text[at] == '.') {
        size_t part = digits(text + at + 1);
        if (whole + part == 0) {
            return 0;
        }
        at += 1 + part;
    } else if (whole == 0) {
        return 0;
    }

    /* An `e` without digits behind it does not belong to the number. */
    if (text[at] == 'e' || text[at] == 'E') {
        size_t sign = (text[at + 1] == '+' || text[at + 1] == '-') ? 1 : 0;
        size_t power = digits(text + at + 1 + sign);
        if (power > 0) {
            at += 1 + sign + power;
        }
    }

    return at;
}

bool kp_number_value(const char *text, size_t length, double *out)
{
    char copy[NUMBER_SIZE_MAX + 1];
    if (length == 0 || length > NUMBER_SIZE_MAX) {
        return false;
    }
    memcpy(copy, text, length);
    copy[length] = '\0';

    /* strtod expects the decimal point of the locale; every number here has a point. */
    kp_locale_guard guard = kp_locale_guard_begin();
    char *end = NULL;
    double value = strtod(copy, &end);
    kp_locale_guard_end(guard);

    if (end != copy + length || !isfinite(value)) {
        return false;
    }
    if (fpclassify(value) == FP_ZERO && strcspn(copy, "123456789") < strcspn(copy, "eE")) {
        return false; /* the number has a digit other than 0, so it is too small for a double */
    }

    *out = value;
    return true;
}

bool kp_number_read(const char *text, double *out)
{
    size_t length = kp_number_length(text);
    return length > 0 && text[length] == '\0' && kp_number_value(text, length, out);
}

void kp_number_write(double value, char *buffer, size_t size)
{
    if (size == 0) {
        return;
    }

    kp_locale_guard guard = kp_locale_guard_begin();

    /* The shortest text that reads back as the same double. */
    char text[40];
    for (int precision = DIGITS_MIN; precision <= DIGITS_MAX; precision++) {
        snprintf(text, sizeof text, "%.*g", precision, value);
        if (!isfinite(value) || strtod(text, NULL) == value) { /* equality is meant: the same double must come back */
            break;
        }
    }
    kp_locale_guard_end(guard);

    snprintf(buffer, size, "%s", text);
}
