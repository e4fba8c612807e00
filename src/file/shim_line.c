/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The grammar of a shim line: [COUNT of ]OUTSIDE x THICKNESS unit[, hole SIZE][, slots N x WIDTH[ x DEPTH]][, material
    NAME]. */
#include "reader.h"

#include <string.h>
#include <strings.h>

static const char TIMES[] = "\xC3\x97"; /* the multiplication sign, which people paste */

enum { SIZES_MAX = 3 /* [-] parts between x signs that are kept: a third one may be a hole, or a depth */ };

/** The text between x signs, trimmed. */
typedef struct sizes {
    size_t count;
    const char *parts[SIZES_MAX];
} sizes;

static const char *trim_copy(kp_reading *reading, const char *text, size_t length)
{
    while (length > 0 && (*text == ' ' || *text == '\t')) {
        text++;
        length--;
    }
    while (length > 0 && (text[length - 1] == ' ' || text[length - 1] == '\t')) {
        length--;
    }

    const char *copy = kp_arena_text(reading->arena, text, length);
    return copy == NULL ? "" : copy;
}

static sizes split_sizes(kp_reading *reading, const char *text)
{
    sizes out = {0, {"", "", ""}};
    for (;;) {
        /* The nearest x, or the sign that people paste. */
        const char *sign = strpbrk(text, "xX");
        const char *times = strstr(text, TIMES);
        size_t sign_length = 1;
        if (times != NULL && (sign == NULL || times < sign)) {
            sign = times;
            sign_length = strlen(TIMES);
        }

        size_t length = sign == NULL ? strlen(text) : (size_t)(sign - text);
        if (out.count < SIZES_MAX) {
            out.parts[out.count] = trim_copy(reading, text, length);
        }
        out.count++;

        if (sign == NULL) {
            return out;
        }
        text = sign + sign_length;
    }
}

/** The unit behind a number: "mm" of "0.20 mm +/- 0.01 mm". */
static const char *unit_of(kp_reading *reading, const char *size)
{
    /* Past the number and its exponent. */
    const char *unit = size + strspn(size, "0123456789.+-/");
    if ((*unit == 'e' || *unit == 'E') && strspn(unit + 1, "0123456789+-") > 0) {
        unit++;
        unit += strspn(unit, "0123456789+-");
    }
    unit += strspn(unit, " \t");
    return trim_copy(reading, unit, strcspn(unit, " \t+"));
}

static void refuse_shim(kp_reading *reading, const kp_node *node, const char *path, const char *reason)
{
    char shown[KP_TEXT_SHOWN];
    kp_text_show(node->text, shown, sizeof shown);
    kp_report_fault(reading->report, node->place, path, "`%s`: %s", shown, reason);
}

/** The special features of a shim, each after a comma. */
static const char *const extra_names[] = {"hole", "slots", "material"};
enum { EXTRA_HOLE, EXTRA_SLOTS, EXTRA_MATERIAL, EXTRA_COUNT };

/** "hole", "slots" or "material" at the front of text: which, or EXTRA_COUNT. */
static size_t extra_of(const char *text)
{
    size_t length = strcspn(text, " \t");
    for (size_t i = 0; i < EXTRA_COUNT; i++) {
        if (strlen(extra_names[i]) == length && strncasecmp(text, extra_names[i], length) == 0) {
            return i;
        }
    }
    return EXTRA_COUNT;
}

static bool is_extra(const char *text)
{
    return extra_of(text) != EXTRA_COUNT;
}

/** Reports sizes that are not two, by the usual slips. */
static void refuse_sizes(kp_reading *reading, const kp_node *node, const char *path, size_t count, bool counted)
{
    if (is_extra(node->text)) {
        refuse_shim(reading, node, path,
                    "this belongs to the shim before it; in a list in brackets, a shim with commas stands in quotes: "
                    "[\"3 of 40 x 0.20 mm, hole 12 mm\"]");
    } else if (count == 3 && counted) {
        refuse_shim(reading, node, path,
                    "a shim line has two sizes, OUTSIDE x THICKNESS; shims are also sold as hole x outside x "
                    "thickness, but here the hole stands behind a comma: `1 of 40 x 0.20 mm, hole 12 mm`");
    } else if (count == 3) {
        refuse_shim(reading, node, path,
                    "three bare sizes can be read two ways, as shims are also sold as hole x outside x thickness; "
                    "write COUNT of OUTSIDE x THICKNESS unit, such as `1 of 40 x 0.20 mm`");
    } else if (counted) {
        refuse_shim(reading, node, path, "a shim line has two sizes, OUTSIDE x THICKNESS: `1 of 40 x 0.20 mm`");
    } else {
        refuse_shim(reading, node, path,
                    "a shim line is COUNT of OUTSIDE x THICKNESS unit, such as `3 of 40 x 0.20 mm`, or for one shim "
                    "`40 x 0.20 mm`");
    }
}

static bool read_shim_count(kp_reading *reading, const kp_node *node, const char *path, const char *text, int *out)
{
    enum { COUNT_MAX = 1000000 /* keeps int arithmetic safe; the validation allows far fewer */ };
    double number = 0.0;
    bool good = kp_number_read(text, &number) && number >= 1.0 && number <= COUNT_MAX && number <= (double)(int)number;

    if (!good) {
        refuse_shim(reading, node, path, "COUNT is a whole number, 1 or more, such as `3 of 40 x 0.20 mm`");
        return false;
    }

    *out = (int)number;
    return true;
}

/** A length of a shim line; a bare number takes the unit of the last size of the line. */
static bool read_shim_size(kp_reading *reading, const kp_node *node, const char *path, const char *text,
                           const char *last, double *out, kp_quantity *whole)
{
    kp_quantity size = {0};

    /* "40 x 0.20 mm": the outside has no unit of its own. */
    if (text != last && text[0] != '\0' && unit_of(reading, text)[0] == '\0') {
        text = kp_arena_print(reading->arena, "%s %s", text, unit_of(reading, last));
    }

    if (text == NULL || !kp_read_quantity(reading, text, KP_DIM_LENGTH, node->place, path, &size)) {
        return false;
    }

    *out = size.value;
    if (whole != NULL) {
        *whole = size;
    }

    return true;
}

/** "4 x 2 mm" or "4 x 2 x 6 mm". */
static bool read_slots(kp_reading *reading, const kp_node *node, const char *path, const char *text, kp_shim_line *line)
{
    sizes found = split_sizes(reading, text);
    double number = 0.0;

    if (found.count < 2 || found.count > 3 || !kp_number_read(found.parts[0], &number) || !(number >= 1.0) ||
        !(number <= 1000.0) || number > (double)(int)number) {
        refuse_shim(reading, node, path,
                    "slots are N x WIDTH or N x WIDTH x DEPTH, N a whole number: `slots 4 x 2 mm`, `slots 4 x 2 x 6 "
                    "mm`");
        return false;
    }

    /* Width and, where there are three parts, depth. */
    line->slot_count = (int)number;
    const char *last = found.parts[found.count - 1];
    line->has_slot_depth = found.count == 3;
    return read_shim_size(reading, node, path, found.parts[1], last, &line->slot_width, NULL) &&
           (!line->has_slot_depth || read_shim_size(reading, node, path, last, last, &line->slot_depth, NULL));
}

static bool read_material_name(kp_reading *reading, const kp_node *node, const char *path, const char *text,
                               kp_shim_line *line)
{
    size_t length = strlen(text);
    if (length == 0 || length >= sizeof line->material) {
        refuse_shim(reading, node, path, "material is followed by its name under `materials`: `material bronze`");
        return false;
    }
    memcpy(line->material, text, length + 1);
    return true;
}

/** One special feature. seen: those that the line has had already. */
static bool read_shim_extra(kp_reading *reading, const kp_node *node, const char *path, const char *text,
                            bool seen[EXTRA_COUNT], kp_shim_line *line)
{
    size_t which = extra_of(text);

    if (*text >= '0' && *text <= '9') {
        refuse_shim(reading, node, path, "a decimal number has a point, not a comma: `3 of 40 x 0.20 mm`");
        return false;
    }

    if (which == EXTRA_COUNT) {
        refuse_shim(reading, node, path,
                    "nothing that could stand behind the comma is known: hole SIZE, slots N x WIDTH x DEPTH or "
                    "material NAME, as `3 of 40 x 0.20 mm, hole 12 mm`");
        return false;
    }

    if (seen[which]) {
        char reason[80];
        kp_text_print(reason, sizeof reason, "%s is there twice: keep one of them", extra_names[which]);
        refuse_shim(reading, node, path, reason);
        return false;
    }

    /* The value after its name. */
    seen[which] = true;
    const char *value = text + strlen(extra_names[which]);
    value += strspn(value, " \t");

    switch (which) {
    case EXTRA_HOLE:
        line->has_hole = true;
        return read_shim_size(reading, node, path, value, value, &line->hole, NULL);
    case EXTRA_SLOTS:
        return read_slots(reading, node, path, value, line);
    default:
        return read_material_name(reading, node, path, value, line);
    }
}

/** All that follows the first comma. */
static bool read_shim_extras(kp_reading *reading, const kp_node *node, const char *path, const char *extras,
                             kp_shim_line *line)
{
    bool seen[EXTRA_COUNT] = {false};
    for (;;) {
        /* Up to the next comma, which no special feature contains. */
        size_t length = strcspn(extras, ",");
        if (!read_shim_extra(reading, node, path, trim_copy(reading, extras, length), seen, line)) {
            return false;
        }

        if (extras[length] == '\0') {
            return true;
        }
        extras += length + 1;
    }
}

void kp_read_shim_line(kp_reading *reading, const kp_node *node, const char *path, kp_shim_line *line)
{
    /* COUNT of SIZES, then the special features. Sizes alone are one shim. */
    const char *of = kp_text_find_word(node->text, " of ");
    const char *rest = of == NULL ? node->text : of + strlen(" of ");
    const char *comma = strchr(rest, ',');
    const char *sizes_text = trim_copy(reading, rest, comma == NULL ? strlen(rest) : (size_t)(comma - rest));
    sizes found = split_sizes(reading, sizes_text);
    kp_shim_line made = {.count = 1};

    if (of == NULL && (found.count != 2 || is_extra(node->text))) {
        refuse_sizes(reading, node, path, found.count, false);
        return;
    }

    const char *count_text = of == NULL ? "1" : trim_copy(reading, node->text, (size_t)(of - node->text));
    if (!read_shim_count(reading, node, path, count_text, &made.count) ||
        (comma != NULL && !read_shim_extras(reading, node, path, comma + 1, &made))) {
        return;
    }

    /* Two sizes, and one unit that serves both. */
    if (found.count != 2) {
        refuse_sizes(reading, node, path, found.count, true);
        return;
    }

    kp_quantity thickness = {0};
    kp_quantity outside = {0};

    if (read_shim_size(reading, node, path, found.parts[1], found.parts[1], &made.thickness, &thickness) &&
        read_shim_size(reading, node, path, found.parts[0], found.parts[1], &made.outside, &outside)) {
        *line = made;
        kp_keep_tolerance(reading, &thickness, node->place, path, &line->thickness);
        kp_keep_tolerance(reading, &outside, node->place, path, &line->outside);
    }
}
