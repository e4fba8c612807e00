/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Lists of quantities on the command line: --speeds 0.05,0.1,0.25 or 52,131,262mm/s or 0.05..1.0:20. */
#include "cli/options.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define MAX_ITEM   80   /* [bytes] of one number */
#define MAX_POINTS 1000 /* [-] of a range */

/** One entry between two commas, split at its marks. */
typedef struct kp_entry {
    char from[MAX_ITEM], to[MAX_ITEM]; /* to is empty for a single value */
    int points;
} kp_entry;

/** What a list is read against. */
typedef struct kp_list_kind {
    const char *text, *option, *default_unit;
    kp_dimension dimension;
    double min, max; /* [SI] */
} kp_list_kind;

static kp_status wrong(const kp_list_kind *kind, kp_error *error, const char *reason)
{
    char shown[KP_TEXT_SHOWN];
    kp_text_show(kind->text, shown, sizeof shown);
    return kp_error_set(error, KP_USAGE, "%s `%s`: %s", kind->option, shown, reason);
}

static bool is_bare(const char *word)
{
    double value;
    return kp_number_read(word, &value);
}

/* The unit at the end of a word: what is left after digits, signs, point and exponent. */
static const char *unit_of(const char *word)
{
    const char *unit = word + strspn(word, "+-0123456789. ");
    if ((*unit == 'e' || *unit == 'E') && unit[1] != '\0' && strspn(unit + 1, "+-0123456789") > 0) {
        unit += 1 + strspn(unit + 1, "+-0123456789 ");
    }
    return unit;
}

/* FROM, or FROM..TO:POINTS. */
static kp_status split_entry(const kp_list_kind *kind, const char *text, size_t length, kp_entry *entry,
                             kp_error *error)
{
    char whole[MAX_ITEM];

    /* Blanks around an entry do not count. */
    while (length > 0 && *text == ' ') {
        text++;
        length--;
    }

    while (length > 0 && text[length - 1] == ' ') {
        length--;
    }

    if (length == 0) {
        return wrong(kind, error, "a number is missing between two commas or at an end");
    }
    if (length >= sizeof whole) {
        return wrong(kind, error, "one of the numbers is far too long");
    }

    memcpy(whole, text, length);
    whole[length] = '\0';
    memset(entry, 0, sizeof *entry);

    char *dots = strstr(whole, "..");
    if (dots == NULL) {
        memcpy(entry->from, whole, sizeof whole);
        return KP_OK;
    }

    /* A range: its end and the number of its points are behind the dots. */
    char *colon = strchr(dots, ':');
    double points = 0.0;
    if (colon == NULL || !kp_number_read(colon + 1, &points) || points != floor(points) || points < 2.0 ||
        points > MAX_POINTS) {
        return wrong(kind, error,
                     "a range is written FROM..TO:POINTS with 2 to 1000 points, such as 0.05..1.0:20 for 20 of them");
    }

    *dots = '\0';
    *colon = '\0';
    memcpy(entry->from, whole, sizeof whole);
    snprintf(entry->to, sizeof entry->to, "%s", dots + 2);
    entry->points = (int)points;
    return KP_OK;
}

/* One number of the list in SI. shared_unit: the unit a bare number takes. */
static kp_status read_value(const kp_list_kind *kind, const char *word, const char *shared_unit, double *value,
                            kp_error *error)
{
    char text[2 * MAX_ITEM];
    kp_quantity quantity;
    kp_error reason = {0};
    bool bare = is_bare(word);

    /* A bare number gets the unit of the list. */
    snprintf(text, sizeof text, "%s%s%s", word, bare ? " " : "", bare ? shared_unit : "");

    if (kp_quantity_read(text, kind->dimension, &quantity, &reason) != KP_OK) {
        return wrong(kind, error, reason.message);
    }

    if (quantity.has_tolerance || quantity.measured) {
        return wrong(kind, error, "a plain value is wanted here, without tolerance or `measured`");
    }

    if (!(quantity.value >= kind->min && quantity.value <= kind->max)) {
        char range[2 * MAX_ITEM + 120];
        snprintf(range, sizeof range, "%s is outside %g to %g %s", text, kind->min, kind->max,
                 kp_unit_name(kind->dimension, KP_UNITS_SI));
        return wrong(kind, error, range);
    }

    *value = quantity.value;
    return KP_OK;
}

static kp_status append(const kp_list_kind *kind, kp_list *list, double value, kp_error *error)
{
    if (list->count == KP_MAX_LIST) {
        return wrong(kind, error, "more than 2000 values");
    }
    list->values[list->count++] = value;
    return KP_OK;
}

static kp_status append_entry(const kp_list_kind *kind, const kp_entry *entry, const char *shared_unit, kp_list *list,
                              kp_error *error)
{
    double from = 0.0;
    double to = 0.0;
    kp_status status = KP_OK;
    if (entry->points == 0) {
        status = read_value(kind, entry->from, shared_unit, &from, error);
        return status == KP_OK ? append(kind, list, from, error) : status;
    }

    /* 52..1047mm/s:20: the unit behind the end of a range is the unit of its start */
    const char *range_unit = is_bare(entry->to) ? shared_unit : unit_of(entry->to);

    status = read_value(kind, entry->from, range_unit, &from, error);
    if (status == KP_OK) {
        status = read_value(kind, entry->to, shared_unit, &to, error);
    }

    /* Evenly spaced; the last point is the end itself and not a rounded sum. */
    for (int i = 0; status == KP_OK && i < entry->points; i++) {
        double share = (double)i / (double)(entry->points - 1);
        status = append(kind, list, i + 1 == entry->points ? to : from + share * (to - from), error);
    }

    return status;
}

/* Steps through the entries: reads the one at *at and moves on; at the end *at becomes NULL. */
static kp_status next_entry(const kp_list_kind *kind, const char **at, kp_entry *entry, kp_error *error)
{
    size_t length = strcspn(*at, ",");
    kp_status status = split_entry(kind, *at, length, entry, error);
    if (status == KP_OK) {
        *at = (*at)[length] == '\0' ? NULL : *at + length + 1;
    }
    return status;
}

/* The unit for bare numbers: the last one's if it has one. A list half with and half without units has no meaning. */
static kp_status find_shared_unit(const kp_list_kind *kind, char unit[MAX_ITEM], kp_error *error)
{
    kp_entry entry = {0};
    bool bare_before = false;
    bool unit_before = false;
    const char *at = kind->text;

    for (;;) {
        kp_status status = next_entry(kind, &at, &entry, error);
        if (status != KP_OK) {
            return status;
        }

        /* A list whose last entry has no unit must have none anywhere. */
        const char *word = entry.points > 0 ? entry.to : entry.from;
        bool bare = is_bare(word);

        if (at == NULL) {
            snprintf(unit, MAX_ITEM, "%s", bare ? kind->default_unit : unit_of(word));
            if (unit_before && (bare || bare_before)) {
                return wrong(kind, error,
                             "some numbers have a unit and some have none: give one behind the last, or one behind "
                             "each");
            }
            return KP_OK;
        }

        bare_before = bare_before || bare;
        unit_before = unit_before || !bare;
    }
}

kp_status kp_list_read(const char *text, const char *option, kp_dimension dimension, const char *default_unit,
                       double min, double max, kp_list *out, kp_error *error)
{
    const kp_list_kind kind = {text, option, default_unit, dimension, min, max};
    char shared_unit[MAX_ITEM];
    kp_list list = {0};
    kp_status status = find_shared_unit(&kind, shared_unit, error);

    const char *at = text;

    /* All or nothing: the caller's list is unchanged on error. */
    while (status == KP_OK && at != NULL) {
        kp_entry entry = {0};
        status = next_entry(&kind, &at, &entry, error);
        if (status == KP_OK) {
            status = append_entry(&kind, &entry, shared_unit, &list, error);
        }
    }

    if (status == KP_OK) {
        *out = list;
    }

    return status;
}
