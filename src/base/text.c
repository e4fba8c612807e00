/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Text for people: locale-proof formatting, showing foreign text safely, the nearest known name. */
#include "kneepoint/base.h"

#include "locale_guard.h"

#include <stdio.h>
#include <string.h>

enum {
    WORD_SIZE_MAX = 64, /* [bytes] no key or unit of ours is longer; a longer word gets no hint */
    SHOWN_BYTES = 48,   /* [bytes] of a foreign text that a message repeats */
    INSERTION_COST = 2, /* costs are doubled so that a change of case or of space, - and _ can cost half a letter */
    HALF_COST = 1
};

size_t kp_text_format(char *buffer, size_t size, const char *format, va_list arguments)
{
    if (size == 0) {
        return 0;
    }

    kp_locale_guard guard = kp_locale_guard_begin();
    int wanted = vsnprintf(buffer, size, format, arguments);
    kp_locale_guard_end(guard);

    if (wanted < 0) {
        buffer[0] = '\0';
        return 0;
    }
    if ((size_t)wanted < size) {
        return (size_t)wanted;
    }

    /* The text was cut: find the lead byte of its last character, and drop that character when its end is missing. */
    size_t end = size - 1;
    size_t start = end;
    while (start > 0 && ((unsigned char)buffer[start - 1] & 0xC0U) == 0x80U) {
        start--;
    }
    if (start > 0 && (unsigned char)buffer[start - 1] >= 0xC0U) {
        unsigned char lead = (unsigned char)buffer[start - 1];
        size_t length = lead >= 0xF0U ? 4 : lead >= 0xE0U ? 3 : 2;
        if (start - 1 + length > end) {
            end = start - 1;
        }
    }

    buffer[end] = '\0';
    return end;
}

size_t kp_text_print(char *buffer, size_t size, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    size_t written = kp_text_format(buffer, size, format, arguments);
    va_end(arguments);
    return written;
}

size_t kp_text_character(const char *text, bool *steers)
{
    const unsigned char *s = (const unsigned char *)text;
    *steers = s[0] < 0x20 || s[0] == 0x7F;
    if (s[0] < 0x80) {
        return 1;
    }

    /* The first byte gives the length; all others must continue the character. */
    size_t length = s[0] >= 0xC2 && s[0] <= 0xDF ? 2 : (s[0] & 0xF0) == 0xE0 ? 3 : s[0] >= 0xF0 && s[0] <= 0xF4 ? 4 : 0;
    unsigned code = length == 2 ? s[0] & 0x1FU : length == 3 ? s[0] & 0x0FU : s[0] & 0x07U;
    for (size_t i = 1; i < length; i++) {
        if ((s[i] & 0xC0) != 0x80) {
            return 0;
        }
        code = code << 6 | (s[i] & 0x3FU);
    }

    /* Some second bytes would make an overlong form, a surrogate, or a code point beyond U+10FFFF. */
    bool overlong = (length == 3 && code < 0x800) || (length == 4 && code < 0x10000);
    bool beyond = (code >= 0xD800 && code <= 0xDFFF) || code > 0x10FFFF;
    if (length == 0 || overlong || beyond) {
        return 0;
    }

    bool c1 = code >= 0x80 && code <= 0x9F;
    bool direction = code == 0x061C || code == 0x200E || code == 0x200F || (code >= 0x202A && code <= 0x202E) ||
                     (code >= 0x2066 && code <= 0x2069);
    bool separator = code == 0x2028 || code == 0x2029;
    *steers = c1 || direction || separator;
    return length;
}

void kp_text_defuse(char *text)
{
    char *out = text;
    while (*text != '\0') {
        bool steers;
        size_t length = kp_text_character(text, &steers);
        if (length == 0 || steers) {
            *out++ = '?';
        } else {
            memmove(out, text, length);
            out += length;
        }
        text += length > 0 ? length : 1;
    }
    *out = '\0';
}

void kp_text_show(const char *text, char *buffer, size_t size)
{
    if (size == 0) {
        return;
    }

    size_t length_max = size - 1 < SHOWN_BYTES ? size - 1 : SHOWN_BYTES;
    size_t length = strlen(text);
    bool cut = length > length_max;

    /* Room for three points, then back to the start of a character. */
    if (cut) {
        length = length_max > 3 ? length_max - 3 : 0;
        while (length > 0 && ((unsigned char)text[length] & 0xC0U) == 0x80U) {
            length--;
        }
    }

    memcpy(buffer, text, length);
    buffer[length] = '\0';
    kp_text_defuse(buffer);
    length = strlen(buffer);

    if (cut && length_max > 3) {
        memcpy(buffer + length, "...", 3);
        length += 3;
    }
    buffer[length] = '\0';
}

static char folded(char c)
{
    if (c >= 'A' && c <= 'Z') {
        return (char)(c - 'A' + 'a');
    }
    return (c == '-' || c == '_') ? ' ' : c;
}

static unsigned change_cost(char a, char b)
{
    if (a == b) {
        return 0;
    }
    return folded(a) == folded(b) ? HALF_COST : INSERTION_COST;
}

/** Damerau-Levenshtein distance in its restricted form (a swap of neighbouring letters is one step), in half letters.
    Only the last three rows of the table of distances are kept. */
static unsigned edit_distance(const char *a, size_t a_length, const char *b, size_t b_length)
{
    unsigned rows[3][WORD_SIZE_MAX + 1];
    unsigned *before = rows[0], *above = rows[1], *row = rows[2];

    /* Row 0: every letter of b is an insertion. */
    for (size_t j = 0; j <= b_length; j++) {
        above[j] = (unsigned)j * INSERTION_COST;
    }

    /* Row i from the two above it: each letter is changed, dropped, added, or swapped with its neighbour. */
    for (size_t i = 1; i <= a_length; i++) {
        row[0] = (unsigned)i * INSERTION_COST;
        for (size_t j = 1; j <= b_length; j++) {
            unsigned best = above[j - 1] + change_cost(a[i - 1], b[j - 1]);
            unsigned dropped = above[j] + INSERTION_COST;
            unsigned added = row[j - 1] + INSERTION_COST;

            best = dropped < best ? dropped : best;
            best = added < best ? added : best;
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                unsigned swapped = before[j - 2] + INSERTION_COST;
                best = swapped < best ? swapped : best;
            }

            row[j] = best;
        }

        unsigned *oldest = before;
        before = above;
        above = row;
        row = oldest;
    }
    return above[b_length];
}

const char *kp_text_nearest(const char *word, const char *const *names, size_t n)
{
    size_t length = strlen(word);
    if (length == 0 || length > WORD_SIZE_MAX) {
        return NULL;
    }

    const char *nearest = NULL;
    unsigned nearest_distance = 0;
    for (size_t i = 0; i < n; i++) {
        size_t name_length = strlen(names[i]);
        if (name_length > WORD_SIZE_MAX) {
            continue;
        }

        /* A name is near when about a third of the longer word's letters must change, or fewer. */
        unsigned distance = edit_distance(word, length, names[i], name_length);
        size_t longer = length > name_length ? length : name_length;
        unsigned near = (unsigned)((longer + 2) / 3) * INSERTION_COST;
        if (distance <= near && (nearest == NULL || distance < nearest_distance)) {
            nearest = names[i];
            nearest_distance = distance;
        }
    }
    return nearest;
}
