/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The form of a unit: which texts may be looked up at all, and in which spelling. */
#include "units.h"

#include <string.h>

/** Signs that people and spreadsheets write, and their spelling in the table of units. */
static const struct {
    const char *sign, *ascii;
} signs[] = {
    {"\xC2\xB5", "u"},     /* micro sign */
    {"\xCE\xBC", "u"},     /* Greek mu */
    {"\xC2\xB0", "deg"},   /* degree sign */
    {"\xC2\xB2", "2"},     /* superscript two */
    {"\xC2\xB3", "3"},     /* superscript three */
    {"\xC2\xB7", " "},     /* middle dot */
    {"\xE2\x8B\x85", " "}, /* dot operator */
    {"\t", " "},           {"*", " "},
};

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/** Spelling of the sign or byte that text begins with; byte has room for one that stands for itself.
    Returned through taken: the bytes it has in text. */
static const char *spelling(const char *text, size_t length, char byte[2], size_t *taken)
{
    for (size_t i = 0; i < sizeof signs / sizeof signs[0]; i++) {
        size_t sign_length = strlen(signs[i].sign);
        if (sign_length <= length && memcmp(text, signs[i].sign, sign_length) == 0) {
            *taken = sign_length;
            return signs[i].ascii;
        }
    }

    /* Any other byte stands for itself. */
    byte[0] = text[0];
    byte[1] = '\0';
    *taken = 1;
    return byte;
}

/** Rewrites signs, and runs of blanks as one. Returned: false when the result does not fit. */
static bool rewrite_signs(const char *text, size_t length, char *out)
{
    size_t used = 0, taken = 0;
    for (size_t i = 0; i < length; i += taken) {
        char byte[2];
        const char *put = spelling(text + i, length - i, byte, &taken);
        if (put[0] == ' ' && (used == 0 || out[used - 1] == ' ')) {
            continue;
        }

        size_t put_length = strlen(put);
        if (used + put_length > KP_UNIT_SIZE_MAX) {
            return false;
        }
        memcpy(out + used, put, put_length);
        used += put_length;
    }

    /* No blank at the end either. */
    while (used > 0 && out[used - 1] == ' ') {
        used--;
    }
    out[used] = '\0';
    return true;
}

/** End of the factor that begins here, or NULL when none does. factor := letters ["^"] ["-"] [digit 1 to 9]; the digit
    must be there when the sign in front of it is. */
static const char *factor_end(const char *at)
{
    if (!is_letter(*at)) {
        return NULL;
    }

    while (is_letter(*at)) {
        at++;
    }

    /* An exponent: its sign, its minus, its digit, each of which may be missing. */
    bool signs_seen = *at == '^' || *at == '-';
    at += *at == '^' ? 1 : 0;
    at += *at == '-' ? 1 : 0;
    bool power = *at >= '1' && *at <= '9';

    if (signs_seen && !power) {
        return NULL;
    }
    return power ? at + 1 : at;
}

bool kp_unit_spell(const char *text, size_t length, char *out)
{
    if (!rewrite_signs(text, length, out)) {
        return false;
    }

    /* unit := ["1/"] factor { (blank | [blank] "/" [blank]) factor }. No other number may stand in a unit: "2 2 mm" is
       not 4 mm. */
    const char *at = out;
    at += strncmp(at, "1/", 2) == 0 ? 2 : 0;
    for (;;) {
        at = factor_end(at);
        if (at == NULL) {
            return false;
        }
        if (*at == '\0') {
            return true;
        }

        const char *slash = *at == ' ' && at[1] == '/' ? at + 1 : at;
        if (*slash != '/' && *slash != ' ') {
            return false;
        }
        at = slash + 1;
        at += *slash == '/' && *at == ' ' ? 1 : 0;
    }
}
