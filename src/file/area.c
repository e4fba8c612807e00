/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "area.h"

#include <string.h>

enum { HOLES_MAX = 1000 /* [-] far beyond any piston */ };

static const char TIMES[] = "\xC3\x97";

bool kp_area_is_counted(const char *text)
{
    size_t number = strspn(text, " \t0123456789.");
    return number > 0 && (text[number] == 'x' || text[number] == 'X' || strncmp(text + number, TIMES, 2) == 0);
}

/** The text up to the next x, trimmed, and *at behind it; NULL in *at at the end. */
static const char *next_part(kp_arena *arena, const char **at)
{
    const char *text = *at + strspn(*at, " \t");
    size_t length = strcspn(text, "xX");
    const char *times = strstr(text, TIMES);
    bool sign = times != NULL && (size_t)(times - text) < length;
    length = sign ? (size_t)(times - text) : length;

    *at = text[length] == '\0' ? NULL : text + length + (sign ? 2 : 1);
    while (length > 0 && (text[length - 1] == ' ' || text[length - 1] == '\t')) {
        length--;
    }
    const char *part = kp_arena_text(arena, text, length);
    return part == NULL ? "" : part;
}

/** One size; a bare number takes the unit of the last one, which stands in rest. */
static kp_status read_size(kp_arena *arena, const char *part, const char *rest, double *size, kp_error *error)
{
    kp_quantity read;
    bool bare = rest != NULL && part[0] != '\0' && part[strspn(part, "0123456789.")] == '\0';
    const char *unit = bare ? strpbrk(rest, "abcdefghijklmnopqrstuvwyzABCDEFGHIJKLMNOPQRSTUVWYZ\"") : NULL;
    const char *whole = unit == NULL ? part : kp_arena_print(arena, "%s %s", part, unit);
    kp_status status = whole == NULL ? KP_NO_MEMORY : kp_quantity_read(whole, KP_DIM_LENGTH, &read, error);
    if (status == KP_OK) {
        *size = read.value;
    }
    return status;
}

kp_status kp_area_read(kp_arena *arena, const char *text, double *area, kp_error *error)
{
    const char *at = text;
    double number = 0.0, sizes[2] = {0.0, 0.0};
    size_t count = 0;
    bool good = kp_number_read(next_part(arena, &at), &number) && number >= 1.0 && number <= HOLES_MAX &&
                number <= (double)(int)number;

    for (; good && at != NULL && count < 2; count++) {
        const char *part = next_part(arena, &at);
        kp_status status = read_size(arena, part, at, &sizes[count], error);
        if (status != KP_OK) {
            return status;
        }
        good = sizes[count] > 0.0;
    }

    if (!good || count == 0 || at != NULL) {
        char shown[KP_TEXT_SHOWN];
        kp_text_show(text, shown, sizeof shown);
        return kp_error_set(
            error, KP_BAD_INPUT,
            "`%s`: holes are NUMBER x DIAMETER, `6 x 8 mm`; slots are NUMBER x WIDTH x LENGTH, `6 x 4 x "
            "12 mm`; or give the area, `300 mm2`",
            shown);
    }
    *area = number * (count == 1 ? KP_PI / 4.0 * sizes[0] * sizes[0] : sizes[0] * sizes[1]);
    return KP_OK;
}
