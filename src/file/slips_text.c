/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "slips.h"

#include "keys.h"

#include <string.h>
#include <strings.h>

/** Signs that look like others, and what should be typed. */
static const struct {
    const char *sign, *typed;
    kp_slip slip;
} signs[] = {
    {"\xC2\xA0", " ", KP_SLIP_SPACE},       /* no-break space */
    {"\xE2\x80\xAF", " ", KP_SLIP_SPACE},   /* narrow no-break space */
    {"\xE2\x80\x89", " ", KP_SLIP_SPACE},   /* thin space */
    {"\xE2\x80\x8B", "", KP_SLIP_SPACE},    /* zero width space */
    {"\xE2\x80\x9C", "\"", KP_SLIP_QUOTES}, /* left double quotation mark */
    {"\xE2\x80\x9D", "\"", KP_SLIP_QUOTES}, /* right double quotation mark */
    {"\xE2\x80\x9E", "\"", KP_SLIP_QUOTES}, /* low double quotation mark */
    {"\xE2\x80\x98", "'", KP_SLIP_QUOTES},  /* left single quotation mark */
    {"\xE2\x80\x99", "'", KP_SLIP_QUOTES},  /* right single quotation mark */
    {"\xE2\x88\x92", "-", KP_SLIP_MINUS},   /* minus sign */
};

static const char *const bullets[] = {"\xE2\x80\xA2", "\xE2\x80\xA3", "\xC2\xB7", "\xE2\x80\x93", "\xE2\x80\x94", "*"};

const char *kp_slip_cause(kp_slip slip)
{
    switch (slip) {
    case KP_SLIP_SPACE:
        return "a no-break space stands here, as word processors and web pages write it";
    case KP_SLIP_QUOTES:
        return "typographic quotation marks stand here, as word processors write them";
    case KP_SLIP_MINUS:
        return "a typographic minus stands here in place of a hyphen";
    case KP_SLIP_COMMA:
        return "a decimal number has a point, not a comma";
    case KP_SLIP_BULLET:
        return "a line of a list begins with a hyphen and a blank";
    case KP_SLIP_COLON:
        return "a key is parted from its value by a colon and a blank";
    default:
        return "";
    }
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/** Are these three digits and no more? Then the comma may part thousands, and nothing is guessed. */
static bool are_thousands(const char *text)
{
    return is_digit(text[0]) && is_digit(text[1]) && is_digit(text[2]) && !is_digit(text[3]);
}

static size_t sign_at(const char *text)
{
    size_t i = 0;
    while (i < sizeof signs / sizeof signs[0] && strncmp(text, signs[i].sign, strlen(signs[i].sign)) != 0) {
        i++;
    }
    return i;
}

kp_slip kp_slip_mend_signs(kp_arena *arena, const char *text, const char **mended)
{
    kp_slip first = KP_SLIP_NONE;
    char *out = kp_arena_get(arena, strlen(text) + 1);
    size_t used = 0;
    *mended = out;

    for (const char *at = text; out != NULL && *at != '\0';) {
        size_t sign = sign_at(at);
        if (sign < sizeof signs / sizeof signs[0]) {
            size_t length = strlen(signs[sign].typed);
            memcpy(out + used, signs[sign].typed, length);
            used += length;
            first = first == KP_SLIP_NONE ? signs[sign].slip : first;
            at += strlen(signs[sign].sign);
            continue;
        }

        bool comma = *at == ',' && at > text && is_digit(at[-1]) && is_digit(at[1]) && !are_thousands(at + 1);
        first = first == KP_SLIP_NONE && comma ? KP_SLIP_COMMA : first;
        out[used++] = comma ? '.' : *at;
        at++;
    }

    /* Quotes around the whole value are not typed at all. */
    bool around = first == KP_SLIP_QUOTES && used >= 2 && (out[0] == '"' || out[0] == '\'') && out[used - 1] == out[0];
    if (around) {
        out[used - 1] = '\0';
        *mended = out + 1;
    }
    return first;
}

size_t kp_slip_bullet(const char *text)
{
    if (text[0] == '-' && is_digit(text[1])) {
        return 1;
    }
    for (size_t i = 0; i < sizeof bullets / sizeof bullets[0]; i++) {
        size_t length = strlen(bullets[i]);
        if (strncmp(text, bullets[i], length) == 0 && (text[length] == ' ' || text[length] == '\t')) {
            return length + strspn(text + length, " \t");
        }
    }
    return 0;
}

/** Is the text, of this length, a key anywhere in a damper file? */
static bool is_key(const kp_key_table *table, const char *text, size_t length)
{
    for (size_t i = 0; i < table->count; i++) {
        const kp_key *key = &table->keys[i];
        if (strlen(key->name) == length && strncasecmp(key->name, text, length) == 0) {
            return true;
        }
        const kp_key_table *inside = kp_key_inside(key);
        if (inside != NULL && is_key(inside, text, length)) {
            return true;
        }
    }
    return false;
}

const char *kp_slip_colon(const char *text)
{
    const char *colon = strchr(text, ':');
    bool slip = colon != NULL && colon[1] != '\0' && colon[1] != ' ' && colon[1] != '\t' &&
                is_key(&kp_damper_keys, text, (size_t)(colon - text));
    return slip ? colon : NULL;
}

/** Length of a key at the start of a text that a number follows with no colon between: "dish 0.3 mm". 0: none. */
static size_t key_without_colon(const char *text)
{
    size_t length = strcspn(text, "0123456789");
    bool number = length > 0 && is_digit(text[length]) && text[length - 1] == ' ';
    while (length > 0 && text[length - 1] == ' ') {
        length--;
    }
    return number && is_key(&kp_damper_keys, text, length) ? length : 0;
}

/** The slip of one line without its indentation. Returned through typed: the line as it should be. */
static kp_slip slip_of_line(kp_arena *arena, const char *line, const char **typed)
{
    size_t bullet = kp_slip_bullet(line);
    if (bullet > 0) {
        *typed = kp_arena_print(arena, "- %s", line + bullet);
        return KP_SLIP_BULLET;
    }

    size_t dash = strncmp(line, "- ", 2) == 0 ? 2 : 0;
    const char *colon = kp_slip_colon(line + dash);
    size_t key = key_without_colon(line + dash);
    if (colon != NULL) {
        *typed = kp_arena_print(arena, "%.*s: %s", (int)(colon - line), line, colon + 1);
        return KP_SLIP_COLON;
    }
    if (key > 0) {
        const char *value = line + dash + key;
        *typed = kp_arena_print(arena, "%.*s: %s", (int)(dash + key), line, value + strspn(value, " "));
        return KP_SLIP_COLON;
    }
    return KP_SLIP_NONE;
}

/** One line of a text: where it begins, how far it is indented, and what stands there without a comment. */
typedef struct line {
    const char *start, *end; /* the end is its line feed, or the end of the text */
    size_t indent;
    const char *text; /* in the arena */
} line;

static line line_at(kp_arena *arena, const char *start, const char *end)
{
    const char *feed = memchr(start, '\n', (size_t)(end - start));
    line out = {start, feed == NULL ? end : feed, 0, ""};
    const char *whole = kp_arena_text(arena, start, (size_t)(out.end - start));
    if (whole == NULL) {
        return out;
    }

    out.indent = strspn(whole, " ");
    size_t length = strcspn(whole + out.indent, "#\r");
    while (length > 0 && whole[out.indent + length - 1] == ' ') {
        length--;
    }
    const char *text = kp_arena_text(arena, whole + out.indent, length);
    out.text = text == NULL ? "" : text;
    return out;
}

/** The text with one line typed anew, and with it every later line that has a bullet. */
static const char *put_typed(kp_arena *arena, const char *bytes, size_t size, const line *at, const char *typed,
                             bool in_all)
{
    const char *end = bytes + size;
    char *out = kp_arena_get(arena, 2 * size + strlen(typed) + 1);
    if (out == NULL) {
        return NULL;
    }
    size_t used = (size_t)(at->start - bytes) + at->indent;
    memcpy(out, bytes, used);
    memcpy(out + used, typed, strlen(typed));
    used += strlen(typed);

    /* `* ` becomes `- `, which is no longer. */
    for (const char *rest = at->end; rest < end;) {
        line next = line_at(arena, rest + 1, end);
        size_t bullet = in_all ? kp_slip_bullet(next.text) : 0;
        out[used++] = '\n';
        memcpy(out + used, next.start, next.indent);
        used += next.indent;
        if (bullet > 0) {
            memcpy(out + used, "- ", 2);
            used += 2;
        }
        const char *kept = next.start + next.indent + bullet;
        memcpy(out + used, kept, (size_t)(next.end - kept));
        used += (size_t)(next.end - kept);
        rest = next.end;
    }
    out[used] = '\0';
    return out;
}

const char *kp_slip_mend_text(kp_arena *arena, kp_report *report, kp_place start, const char *bytes, size_t size,
                              size_t last_line)
{
    const char *end = bytes + size;
    kp_place place = start;
    for (const char *next = bytes; next < end && place.line <= last_line; place.line++) {
        const line at = line_at(arena, next, end);
        const char *typed = NULL;
        kp_slip slip = slip_of_line(arena, at.text, &typed);
        if (slip != KP_SLIP_NONE && typed != NULL) {
            place.column = at.indent + 1;
            kp_report_fault(report, place, "", "%s; type `%.300s`", kp_slip_cause(slip), typed);
            return put_typed(arena, bytes, size, &at, typed, slip == KP_SLIP_BULLET);
        }
        next = at.end < end ? at.end + 1 : end;
    }
    return NULL;
}
