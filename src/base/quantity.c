/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Reads "0.25 mm +/- 0.03 mm measured", "14 bar gauge" and a length of 1-7/8".
    One number, one unit, words behind it: "1 1/2 in", "2 2 mm" and a difference of "10 degC" are refused. */
#include "kneepoint/base.h"

#include "number.h"
#include "trade.h"
#include "units.h"

#include <math.h>
#include <string.h>
#include <strings.h>

enum { QUANTITY_SIZE_MAX = 200 /* [bytes] "0.25 mm +/- 0.03 mm measured" has 28 */ };

/** One number with its unit and the words behind it, still as text. */
typedef struct term {
    double number;
    bool per_cent, gauge, absolute, measured;
    bool has_unit;
    char unit[KP_UNIT_SIZE_MAX + 1];
} term;

typedef struct reading {
    const char *text; /* as shown in messages */
    kp_dimension dimension;
    kp_error *error;
} reading;

static const char *skip_blanks(const char *text)
{
    while (*text == ' ' || *text == '\t') {
        text++;
    }
    return text;
}

static size_t trimmed(const char *text, size_t length)
{
    while (length > 0 && (text[length - 1] == ' ' || text[length - 1] == '\t')) {
        length--;
    }
    return length;
}

/** Removes a word from the end of the text. Returned: false when it does not stand there. */
static bool take_word(const char *text, size_t *length, const char *word)
{
    size_t word_length = strlen(word);
    if (*length < word_length || strncasecmp(text + *length - word_length, word, word_length) != 0) {
        return false;
    }
    size_t left = *length - word_length;
    if (left > 0 && text[left - 1] != ' ' && text[left - 1] != '\t') {
        return false;
    }
    *length = trimmed(text, left);
    return true;
}

/** Returned: the indefinite article of the name, "a" or "an". */
static const char *article(const char *name)
{
    return strchr("aeiou", name[0]) != NULL ? "an" : "a";
}

/** Reports a fault together with an example of what would be right. */
static kp_status wrong(const reading *from, const char *reason)
{
    char shown[KP_TEXT_SHOWN];
    kp_text_show(from->text, shown, sizeof shown);
    return kp_error_set(from->error, KP_BAD_INPUT, "`%s`: %s; %s %s is wanted, such as `%s`", shown, reason,
                        article(kp_dimension_name(from->dimension)), kp_dimension_name(from->dimension),
                        kp_dimension_example(from->dimension));
}

/** Reports why the text does not begin with a decimal number, as exactly as can be known. */
static kp_status wrong_number(const reading *from, const char *at)
{
    size_t length = kp_number_length(at);
    const char *rest = at + length;

    /* Spellings of numbers that are not finite, with and without a sign. */
    if (length == 0) {
        const char *sign = skip_blanks(*at == '-' || *at == '+' ? at + 1 : at);
        if (strncmp(sign, "nan", 3) == 0 || strncmp(sign, "NaN", 3) == 0 || strncmp(sign, ".nan", 4) == 0 ||
            strncmp(sign, "inf", 3) == 0 || strncmp(sign, "Inf", 3) == 0 || strncmp(sign, ".inf", 4) == 0) {
            return wrong(from, "not a finite number");
        }
        return wrong(from, "does not begin with a decimal number");
    }

    if (*rest == ',') {
        return wrong(from, "a decimal number has a point, not a comma");
    }
    if (*rest == 'x' || *rest == 'X') {
        return wrong(from, "only decimal numbers are read");
    }
    return wrong(from, "the number is too large or too small to hold");
}

/** Reads what stands behind the number of a term: the words at its end first, then the unit. */
static kp_status read_unit(const reading *from, const char *at, size_t length, term *out)
{
    /* `measured` may stand behind `gauge` or `absolute`, not before it. */
    out->measured = take_word(at, &length, "measured");
    out->gauge = take_word(at, &length, "gauge");
    out->absolute = !out->gauge && take_word(at, &length, "absolute");
    out->has_unit = length > 0;
    out->per_cent = length == 1 && at[0] == '%';

    if (!out->has_unit || out->per_cent) {
        out->unit[0] = '\0';
        return KP_OK;
    }

    /* Faults of the number that show only behind it: a comma, a second number, a fraction. */
    if (*at == ',') {
        return wrong(from, "a decimal number has a point, not a comma");
    }

    /* Behind the number `1/min` is a unit; a second number or a fraction is a mistake. */
    bool number_follows = kp_number_length(at) > 0 && strncmp(at, "1/", 2) != 0;
    bool fraction = *at == '/' || (kp_number_length(at) == 1 && at[1] == '/' && at[2] >= '0' && at[2] <= '9');
    if (number_follows || fraction) {
        return wrong(from, from->dimension == KP_DIM_LENGTH
                               ? "one decimal number is wanted (1 1/2 is written 1.5 or 1-1/2)"
                               : "one decimal number is wanted, and no fraction (1 1/2 is written 1.5)");
    }

    if (kp_trade_unit(at, length, from->dimension, out->unit, &out->gauge, &out->absolute)) {
        return KP_OK;
    }

    if (!kp_unit_spell(at, length, out->unit)) {
        return wrong(from, "what stands behind the number is not a unit");
    }
    return KP_OK;
}

static kp_status read_term(const reading *from, const char *text, size_t length, term *out)
{
    *out = (term){0};

    size_t number_length = from->dimension == KP_DIM_LENGTH ? kp_fraction_read(text, &out->number) : 0;
    if (number_length == 0 || number_length > length) {
        number_length = kp_number_length(text);
        if (number_length > length || !kp_number_value(text, number_length, &out->number)) {
            return wrong_number(from, text);
        }
    }
    if ((text[number_length] == 'x' || text[number_length] == 'X') && number_length < length) {
        return wrong(from, "only one decimal number is read here");
    }

    /* What follows the number, up to the end of the term. */
    const char *at = skip_blanks(text + number_length);
    size_t taken = (size_t)(at - text);
    return read_unit(from, at, taken < length ? trimmed(at, length - taken) : 0, out);
}

/** Reports a unit that is unknown (unit NULL) or measures something else, and the units that would be right. */
static kp_status wrong_unit(const reading *from, const char *spelt, const kp_unit *unit)
{
    char shown[KP_TEXT_SHOWN];
    kp_text_show(from->text, shown, sizeof shown);

    const kp_dimension_row *row = kp_dimension_row_of(from->dimension);

    /* A spelling that is no unit at all may be a slip of one that is. */
    if (unit == NULL) {
        const char *nearest = kp_unit_nearest(spelt);
        return kp_error_set(from->error, KP_BAD_INPUT, "`%s`: unknown unit `%s`%s%s%s; %s %s is given in %s", shown,
                            spelt, nearest == NULL ? "" : " (did you mean `", nearest == NULL ? "" : nearest,
                            nearest == NULL ? "" : "`?)", article(row->name), row->name, row->accepted);
    }

    const char *other = kp_unit_dimension_name(unit);
    return kp_error_set(from->error, KP_BAD_INPUT, "`%s`: `%s` is the unit of %s %s; %s %s is wanted, given in %s",
                        shown, spelt, other == NULL ? "something" : article(other), other == NULL ? "else" : other,
                        article(row->name), row->name, row->accepted);
}

/** SI value of a term as the given dimension (the value's own, or the one its tolerance has). */
static kp_status term_to_si(const reading *from, const term *in, kp_dimension dimension, double *out)
{
    kp_unit unit;
    reading as = *from;
    as.dimension = dimension;

    if (!kp_unit_read(in->unit, &unit)) {
        return wrong_unit(&as, in->unit, NULL);
    }
    if (!kp_unit_measures(&unit, dimension)) {
        return wrong_unit(&as, in->unit, &unit);
    }

    /* 10 degC of difference would become 283.15 K. */
    bool has_zero = strcmp(in->unit, "degC") == 0 || strcmp(in->unit, "degF") == 0;
    if (dimension == KP_DIM_TEMPERATURE_DIFFERENCE && has_zero) {
        return wrong(&as, "a difference of temperature is given in K");
    }

    double value = kp_unit_to_si(&unit, in->number);
    if (!isfinite(value)) {
        return wrong(&as, "the number is too large to hold");
    }

    *out = value;
    return KP_OK;
}

/** Dimension of a tolerance: that of a difference, where the value is counted from an absolute zero. */
static kp_dimension tolerance_dimension(kp_dimension dimension)
{
    switch (dimension) {
    case KP_DIM_TEMPERATURE:
        return KP_DIM_TEMPERATURE_DIFFERENCE;
    case KP_DIM_GAS_PRESSURE:
        return KP_DIM_PRESSURE;
    default:
        return dimension;
    }
}

static kp_status read_value(const reading *from, const char *text, size_t length, kp_quantity *out)
{
    term value;
    kp_status status = read_term(from, text, length, &value);
    if (status != KP_OK) {
        return status;
    }

    /* the unit, and the words that a gas pressure must have and nothing else may */
    if (from->dimension == KP_DIM_NONE) {
        if (value.has_unit && !value.per_cent) {
            return wrong(from, "this has no unit");
        }
    } else if (value.per_cent || !value.has_unit) {
        return wrong(from, value.per_cent ? "per cent is no unit here" : "the unit is missing");
    }

    /* A gas pressure must state its reference; any other pressure is a difference, which has none. */
    if (from->dimension == KP_DIM_GAS_PRESSURE) {
        if (!value.gauge && !value.absolute) {
            return wrong(from, "say whether this is gauge or absolute");
        }
    } else if (value.gauge || value.absolute) {
        return wrong(from, "`gauge` and `absolute` belong to a gas pressure");
    }

    status = term_to_si(from, &value, from->dimension, &out->value);
    if (status != KP_OK) {
        return status;
    }

    /* Per cent becomes a share, and gauge pressure absolute. */
    out->value = value.per_cent ? out->value / 100.0 : out->value;
    out->value = value.gauge ? out->value + KP_ATMOSPHERE : out->value;
    out->gauge = value.gauge;
    out->measured = value.measured;

    if (from->dimension == KP_DIM_GAS_PRESSURE && out->value < 0.0) {
        return wrong(from, "no pressure lies below vacuum");
    }
    if (from->dimension == KP_DIM_TEMPERATURE && out->value < 0.0) {
        return wrong(from, "no temperature lies below absolute zero, -273.15 degC");
    }
    return KP_OK;
}

static kp_status read_tolerance(const reading *from, const char *text, kp_quantity *out)
{
    term width;
    kp_status status = read_term(from, text, trimmed(text, strlen(text)), &width);
    if (status != KP_OK) {
        return kp_error_prefix(from->error, "tolerance of ");
    }

    if (width.gauge || width.absolute) {
        return wrong(from, "a tolerance is a difference, neither gauge nor absolute");
    }

    /* Per cent of a value needs a true zero, which a temperature and a gas pressure do not have. */
    bool relative = width.per_cent && from->dimension != KP_DIM_NONE;
    if (relative && tolerance_dimension(from->dimension) != from->dimension) {
        return wrong(from, "a tolerance of this cannot be in per cent");
    }

    if (!width.has_unit && from->dimension != KP_DIM_NONE) {
        return wrong(from, "the unit of the tolerance is missing");
    }

    /* Per cent of the value, but for a plain number: there per cent are points. */
    double si = width.number / 100.0 * fabs(out->value);
    if (!relative) {
        status = term_to_si(from, &width, tolerance_dimension(from->dimension), &si);
        if (status != KP_OK) {
            return status;
        }
        si = width.per_cent ? si / 100.0 : si;
    }

    if (!(si >= 0.0)) {
        return wrong(from, "a tolerance is not negative");
    }

    out->tolerance = si;
    out->has_tolerance = true;
    out->measured = out->measured || width.measured;
    return KP_OK;
}

kp_status kp_quantity_read(const char *text, kp_dimension dimension, kp_quantity *out, kp_error *error)
{
    const char *begin = skip_blanks(text);
    size_t length = trimmed(begin, strlen(begin));
    reading from = {begin, dimension, error};

    if (length == 0) {
        return wrong(&from, "nothing stands here");
    }
    if (length > QUANTITY_SIZE_MAX) {
        return wrong(&from, "far too long for a value");
    }

    /* The first mark parts the value from its tolerance. */
    static const char *const marks[] = {"+/-", "\xC2\xB1"}; /* the second is the plus-minus sign */
    const char *tolerance = NULL;
    size_t value_length = length;
    for (size_t i = 0; i < sizeof marks / sizeof marks[0] && tolerance == NULL; i++) {
        const char *mark = strstr(begin, marks[i]);
        if (mark != NULL) {
            value_length = trimmed(begin, (size_t)(mark - begin));
            tolerance = skip_blanks(mark + strlen(marks[i]));
        }
    }

    /* The value first: a tolerance in per cent is taken of it. */
    kp_quantity read = {0};
    kp_status status = read_value(&from, begin, value_length, &read);
    if (status == KP_OK && tolerance != NULL) {
        status = read_tolerance(&from, tolerance, &read);
    }

    if (status == KP_OK) {
        *out = read;
    }
    return status;
}
