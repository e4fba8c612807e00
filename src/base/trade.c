/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "trade.h"

#include <string.h>
#include <strings.h>

enum { DIGITS_MAX = 6 /* [-] of one part of a fraction: 1-63/64 has two */ };

/** Digits at *at as a number, and *at behind them; false when there are none, or more than any fraction has. */
static bool read_digits(const char **at, double *out)
{
    double value = 0.0;
    size_t count = 0;
    for (; **at >= '0' && **at <= '9'; (*at)++) {
        value = 10.0 * value + (double)(**at - '0');
        count++;
    }
    *out = value;
    return count > 0 && count <= DIGITS_MAX;
}

size_t kp_fraction_read(const char *text, double *out)
{
    const char *at = text;
    double sign = *at == '-' ? -1.0 : 1.0;
    at += *at == '-' || *at == '+' ? 1 : 0;

    double whole = 0.0, numerator = 0.0, denominator = 0.0;
    if (!read_digits(&at, &numerator)) {
        return 0;
    }
    bool mixed = *at == '-';
    if (mixed) {
        whole = numerator;
        at++;
        if (!read_digits(&at, &numerator)) {
            return 0;
        }
    }

    if (*at != '/') {
        return 0;
    }
    at++;
    if (!read_digits(&at, &denominator) || !(denominator > 0.0) || (mixed && !(numerator < denominator))) {
        return 0;
    }

    /* 5/8.2 and 5/8/3 are no fractions. */
    if (*at == '.' || *at == ',' || *at == '/' || *at == '-') {
        return 0;
    }
    *out = sign * (whole + numerator / denominator);
    return (size_t)(at - text);
}

typedef struct trade_unit {
    const char *name, *unit;
    kp_dimension dimension;
    bool gauge, absolute;
} trade_unit;

/* Each in one dimension only: a C could be a coulomb elsewhere. */
static const trade_unit trade_units[] = {
    {"\"", "in", KP_DIM_LENGTH, false, false},
    {"\xE2\x80\xB3", "in", KP_DIM_LENGTH, false, false}, /* double prime */
    {"psig", "psi", KP_DIM_GAS_PRESSURE, true, false},
    {"barg", "bar", KP_DIM_GAS_PRESSURE, true, false},
    {"psia", "psi", KP_DIM_GAS_PRESSURE, false, true},
    {"bara", "bar", KP_DIM_GAS_PRESSURE, false, true},
    {"C", "degC", KP_DIM_TEMPERATURE, false, false},
    {"F", "degF", KP_DIM_TEMPERATURE, false, false},
    {"deg C", "degC", KP_DIM_TEMPERATURE, false, false},
    {"deg F", "degF", KP_DIM_TEMPERATURE, false, false},
    {"\xC2\xB0 C", "degC", KP_DIM_TEMPERATURE, false, false},
    {"\xC2\xB0 F", "degF", KP_DIM_TEMPERATURE, false, false},
};

bool kp_trade_unit(const char *text, size_t length, kp_dimension dimension, char *unit, bool *gauge, bool *absolute)
{
    for (size_t i = 0; i < sizeof trade_units / sizeof trade_units[0]; i++) {
        const trade_unit *row = &trade_units[i];
        if (row->dimension == dimension && strlen(row->name) == length && strncasecmp(row->name, text, length) == 0) {
            kp_text_print(unit, KP_UNIT_SIZE_MAX + 1, "%s", row->unit);
            *gauge = *gauge || row->gauge;
            *absolute = *absolute || row->absolute;
            return true;
        }
    }
    return false;
}
