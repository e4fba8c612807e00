/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Text that grows, and the quoting that stops gnuplot from running words of a file as commands. */
#include "draw/draw_internal.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Makes room for extra bytes and the closing NUL. */
static bool text_reserve(kp_draw_text *text, size_t extra)
{
    if (text->failed) {
        return false;
    }
    if (text->length + extra + 1 <= text->capacity) {
        return true;
    }

    /* Room doubles, so that the text is copied seldom. */
    size_t capacity = 2 * text->capacity + extra + 256;
    char *grown = realloc(text->data, capacity);
    if (grown == NULL) {
        text->failed = true;
        return false;
    }

    text->data = grown;
    text->capacity = capacity;
    return true;
}

void kp_draw_text_bytes(kp_draw_text *text, const char *bytes, size_t count)
{
    if (!text_reserve(text, count)) {
        return;
    }
    memcpy(text->data + text->length, bytes, count);
    text->length += count;
    text->data[text->length] = '\0';
}

void kp_draw_text_add(kp_draw_text *text, const char *format, ...)
{
    char line[512];
    va_list arguments;

    va_start(arguments, format);
    int length = vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);

    /* Only short phrases of this room are written here; words of a file go through kp_draw_text_quoted. */
    if (length < 0 || (size_t)length >= sizeof line) {
        text->failed = true;
        return;
    }

    kp_draw_text_bytes(text, line, (size_t)length);
}

void kp_draw_text_number(kp_draw_text *text, double value)
{
    char number[40];
    kp_number_write(value, number, sizeof number);
    kp_draw_text_bytes(text, number, strlen(number));
}

void kp_draw_text_quoted(kp_draw_text *text, const char *words)
{
    kp_draw_text_bytes(text, "'", 1);
    for (const char *s = words; *s != '\0';) {
        bool steers;
        size_t length = kp_text_character(s, &steers);

        if (length == 0) {
            kp_draw_text_bytes(text, "?", 1);
            s++;
        } else if (steers) {
            /* A line end would close the string and start a command; the rest would steer whoever shows the picture. */
            kp_draw_text_bytes(text, " ", 1);
            s += length;
        } else {
            if (*s == '\'') {
                /* gnuplot 5.4 was seen to close the string at a doubled quote that stands first or behind another
                   doubled quote. A blank in front of it prevents that. */
                bool behind_quote = text->length > 0 && text->data[text->length - 1] == '\'';
                kp_draw_text_bytes(text, behind_quote ? " '" : "'", behind_quote ? 2 : 1);
            }
            kp_draw_text_bytes(text, s, length);
            s += length;
        }
    }

    kp_draw_text_bytes(text, "'", 1);
}

void kp_draw_text_range(kp_draw_text *text, const char *axis, double from, double to)
{
    kp_draw_text_add(text, "set %srange [", axis);
    kp_draw_text_number(text, from);
    kp_draw_text_add(text, ":");
    kp_draw_text_number(text, to);
    kp_draw_text_add(text, "]\n");
}

void kp_draw_text_free(kp_draw_text *text)
{
    free(text->data);
    memset(text, 0, sizeof *text);
}
