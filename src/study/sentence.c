/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Sentences about parts, and sizes as a drawer label gives them. */
#include "study/study_internal.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double SAME_SIZE = 1e-9; /* [-] relative: 40 mm and 4 cm differ by the rounding of a double alone */

bool kp_size_same(double a, double b)
{
    return fabs(a - b) <= SAME_SIZE * fmax(fabs(a), fabs(b));
}

void kp_sentence_add(kp_sentences *sentences, const char *format, ...)
{
    kp_differences *out = sentences->out;
    if (sentences->status != KP_OK) {
        return;
    }

    if (out->count == out->capacity) {
        size_t capacity = out->capacity == 0 ? 16 : 2 * out->capacity;
        char(*grown)[256] = realloc(out->items, capacity * sizeof *grown);
        if (grown == NULL) {
            sentences->status =
                kp_error_set(sentences->error, KP_NO_MEMORY, "no memory for the list of differences in the parts");
            return;
        }
        out->items = grown;
        out->capacity = capacity;
    }

    /* A sentence that is too long is cut. */
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(out->items[out->count], sizeof out->items[0], format, arguments);
    va_end(arguments);
    out->count++;
}

/* What a sentence is about: "compression dish". */
enum { SUBJECT_TEXT = 128 };

void kp_sentence_number(kp_sentences *sentences, double a, double b, kp_dimension dimension, const char *format, ...)
{
    char subject[SUBJECT_TEXT], before[KP_SIZE_TEXT], after[KP_SIZE_TEXT];
    if (kp_size_same(a, b)) {
        return;
    }
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(subject, sizeof subject, format, arguments);
    va_end(arguments);
    kp_size_texts(a, b, dimension, sentences->system, before, after);
    kp_sentence_add(sentences, "%s changes from %s to %s", subject, before, after);
}

void kp_sentence_count(kp_sentences *sentences, int a, int b, const char *format, ...)
{
    char subject[SUBJECT_TEXT];
    if (a == b) {
        return;
    }
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(subject, sizeof subject, format, arguments);
    va_end(arguments);
    kp_sentence_add(sentences, "%s changes from %d to %d", subject, a, b);
}

bool kp_sentence_both(kp_sentences *sentences, bool a, bool b, const char *format, ...)
{
    char subject[SUBJECT_TEXT];
    if (a != b) {
        va_list arguments;
        va_start(arguments, format);
        vsnprintf(subject, sizeof subject, format, arguments);
        va_end(arguments);
        kp_sentence_add(sentences, "%s %s", subject, b ? "added" : "taken out");
    }
    return a && b;
}

void kp_differences_free(kp_differences *differences)
{
    if (differences == NULL) {
        return;
    }
    free(differences->items);
    memset(differences, 0, sizeof *differences);
}

static void write_size(double value, kp_dimension dimension, kp_unit_system system, int digits, char *buffer)
{
    double shown = kp_unit_convert(value, dimension, system);
    const char *unit = kp_unit_name(dimension, system);
    char number[40];
    bool whole = fabs(shown) >= pow(10.0, digits) && fabs(shown) < 1e9; /* 206000, not 2.06e+05 */
    snprintf(number, sizeof number, whole ? "%.*f" : "%.*g", whole ? 0 : digits, shown);
    snprintf(buffer, KP_SIZE_TEXT, "%s%s%s", number, unit[0] != '\0' ? " " : "", unit);
}

/* Four digits are what a workshop measures; more only where two sizes would read the same. */
enum { MIN_DIGITS = 4, MAX_DIGITS = 9 };

const char *kp_size_text(double value, kp_dimension dimension, kp_unit_system system, char *buffer)
{
    write_size(value, dimension, system, MIN_DIGITS, buffer);
    return buffer;
}

void kp_size_texts(double a, double b, kp_dimension dimension, kp_unit_system system, char *a_text, char *b_text)
{
    for (int digits = MIN_DIGITS; digits <= MAX_DIGITS; digits++) {
        write_size(a, dimension, system, digits, a_text);
        write_size(b, dimension, system, digits, b_text);
        if (strcmp(a_text, b_text) != 0) {
            return;
        }
    }
}

const char *kp_shim_numbers_text(size_t first, size_t count, char *buffer)
{
    if (count == 1) {
        snprintf(buffer, KP_SHIM_NUMBERS_TEXT, "shim %zu", first);
    } else {
        snprintf(buffer, KP_SHIM_NUMBERS_TEXT, "shims %zu %s %zu", first, count == 2 ? "and" : "to", first + count - 1);
    }
    return buffer;
}

const char *kp_shim_size_text(const kp_shim_line *line, kp_unit_system system, int max_decimals, char *buffer)
{
    double outside_shown = kp_unit_convert(line->outside, KP_DIM_LENGTH, system);
    double thickness_shown = kp_unit_convert(line->thickness, KP_DIM_LENGTH, system);
    const char *unit = kp_unit_name(KP_DIM_LENGTH, system);
    char size[KP_SIZE_TEXT];
    int decimals = system == KP_UNITS_INCH ? 4 : system == KP_UNITS_METRIC ? 2 : 5;

    /* A thickness between two drawer sizes (0.125 mm) gets the digit it needs. */
    double scaled = thickness_shown * pow(10.0, decimals);
    if (decimals < max_decimals && fabs(scaled - round(scaled)) > 1e-6 * scaled) {
        decimals++;
    }

    size_t used = (size_t)snprintf(buffer, KP_SHIM_TEXT, "%.*g x %.*f %s", system == KP_UNITS_INCH ? 4 : 6,
                                   outside_shown, decimals, thickness_shown, unit);

    if (line->has_hole && used < KP_SHIM_TEXT) {
        used += (size_t)snprintf(buffer + used, KP_SHIM_TEXT - used, ", hole %s",
                                 kp_size_text(line->hole, KP_DIM_LENGTH, system, size));
    }

    if (line->slot_count > 0 && used < KP_SHIM_TEXT) {
        double width = kp_unit_convert(line->slot_width, KP_DIM_LENGTH, system);
        double depth = kp_unit_convert(line->slot_depth, KP_DIM_LENGTH, system);
        used += (size_t)snprintf(buffer + used, KP_SHIM_TEXT - used, ", slots %d x %.4g", line->slot_count, width);
        if (line->has_slot_depth && used < KP_SHIM_TEXT) {
            used += (size_t)snprintf(buffer + used, KP_SHIM_TEXT - used, " x %.4g", depth);
        }
        if (used < KP_SHIM_TEXT) {
            used += (size_t)snprintf(buffer + used, KP_SHIM_TEXT - used, " %s", unit);
        }
    }

    if (line->material[0] != '\0' && used < KP_SHIM_TEXT) {
        snprintf(buffer + used, KP_SHIM_TEXT - used, ", material %s", line->material);
    }

    return buffer;
}

const char *kp_shim_text(const kp_shim_line *line, kp_unit_system system, char *buffer)
{
    const int max_decimals = 6; /* as many as any system asks for */
    return kp_shim_size_text(line, system, max_decimals, buffer);
}
