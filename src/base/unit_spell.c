/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The grammar of a unit: what may reach the unit library, and how. */
#include "units.h"

#include <string.h>

/** Signs that people and spreadsheets write, and what the unit system knows them as. */
static const struct {
    const char *sign, *ascii;
} signs[] = {
    {"\xC2\xB5", "u"},     /* micro sign            */
    {"\xCE\xBC", "u"},     /* Greek mu              */
    {"\xC2\xB0", "deg"},   /* degree sign           */
    {"\xC2\xB2", "2"},     /* superscript two       */
    {"\xC2\xB3", "3"},     /* superscript three     */
    {"\xC2\xB7", " "},     /* middle dot            */
    {"\xE2\x8B\x85", " "}, /* dot operator          */
};

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/** Rewrites signs and blanks; false when it does not fit or holds a byte that no unit of ours has. */
static bool rewrite_signs(const char *text, size_t length, char *out)
{
    size_t used = 0;
    for (size_t i = 0; i < length;) {
        const char *put = NULL;
        size_t taken = 1;
        char one[2] = {text[i], '\0'};
        for (size_t j = 0; j < sizeof signs / sizeof signs[0]; j++) {
            size_t sign_length = strlen(signs[j].sign);
            if (sign_length <= length - i && memcmp(text + i, signs[j].sign, sign_length) == 0) {
                put = signs[j].ascii;
                taken = sign_length;
            }
        }
        if (put == NULL) {
            put = one[0] == '\t' || one[0] == '*' ? " " : one;
        }
        bool doubled_blank = put[0] == ' ' && (used == 0 || out[used - 1] == ' ');
        if (!doubled_blank) {
            size_t put_length = strlen(put);
            if (used + put_length > KP_LONGEST_UNIT) {
                return false;
            }
            memcpy(out + used, put, put_length);
            used += put_length;
        }
        i += taken;
    }
    while (used > 0 && out[used - 1] == ' ') {
        used--;
    }
    out[used] = '\0';
    return true;
}

bool kp_unit_spell(const char *text, size_t length, char *out)
{
    if (!rewrite_signs(text, length, out)) {
        return false;
    }
    /* unit := ["1/"] factor { (blank | "/") factor }, factor := letters ["^"] ["-"] [digit]: so no offset ("@"), no
       second number ("2 2 mm"), no bracket and no logarithm can reach the library. */
    const char *at = out;
    if (strncmp(at, "1/", 2) == 0) {
        at += 2;
    }
    for (;;) {
        if (!is_letter(*at)) {
            return false;
        }
        while (is_letter(*at)) {
            at++;
        }
        bool raised = *at == '^';
        at += raised ? 1 : 0;
        bool negative = *at == '-';
        at += negative ? 1 : 0;
        bool power = *at >= '1' && *at <= '9';
        if ((raised || negative) && !power) {
            return false;
        }
        at += power ? 1 : 0;
        if (*at == '\0') {
            return true;
        }
        if (*at == ' ' && at[1] == '/') {
            at++;
        }
        if (*at != ' ' && *at != '/') {
            return false;
        }
        at++;
        if (*at == ' ' && at[-1] == '/') {
            at++;
        }
    }
}
