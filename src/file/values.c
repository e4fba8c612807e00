/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Values with a grammar of their own: shim lines, charge, density, viscosity. */
#include "reader.h"

#include <string.h>

static const char TIMES[] = "\xC3\x97"; /* the multiplication sign, which people paste */

bool kp_read_quantity(kp_reading *reading, const char *text, kp_dimension dimension, kp_place place, const char *path,
                      kp_quantity *out)
{
    kp_error error = {0};
    kp_status status = kp_quantity_read(text, dimension, out, &error);
    if (status == KP_NO_MEMORY) {
        reading->arena->failed = true;
    } else if (status != KP_OK) {
        kp_report_add(reading->report, true, place, path, "%s", error.message);
    }
    return status == KP_OK;
}

void kp_keep_tolerance(kp_reading *reading, const kp_quantity *quantity, kp_place place, const char *path,
                       const double *number)
{
    if (quantity->has_tolerance && !kp_damper_keep_tolerance(&reading->draft->damper, number, quantity->tolerance)) {
        kp_report_add(reading->report, false, place, path,
                      "its tolerance is not kept: a damper has room for %d of them", (int)KP_MAX_TOLERANCES);
    }
}

/* ---- VALUE at TEMPERATURE -------------------------------------------------------------------------------- */

/** Splits "14 bar gauge at 20 degC"; temperature is NULL when there is no " at ". */
static bool split_at(kp_reading *reading, const char *text, const char **value, const char **temperature)
{
    const char *at = strstr(text, " at ");
    *value = at == NULL ? text : kp_arena_text(reading->arena, text, (size_t)(at - text));
    *temperature = at == NULL ? NULL : at + strlen(" at ");
    return *value != NULL;
}

/** Reads both; a temperature that is not there leaves *at alone. */
static bool read_at(kp_reading *reading, const kp_node *node, kp_dimension dimension, const char *path,
                    kp_quantity *value, double *at, bool *at_given)
{
    const char *value_text = NULL, *temperature_text = NULL;
    kp_quantity temperature = {0};
    *at_given = false;
    if (!split_at(reading, node->text, &value_text, &temperature_text) ||
        !kp_read_quantity(reading, value_text, dimension, node->place, path, value)) {
        return false;
    }
    if (temperature_text == NULL) {
        return true;
    }
    if (!kp_read_quantity(reading, temperature_text, KP_DIM_TEMPERATURE, node->place, path, &temperature)) {
        return false;
    }
    *at = temperature.value;
    *at_given = true;
    return true;
}

static void read_density(kp_reading *reading, const kp_node *node, const char *path, kp_oil *oil)
{
    kp_quantity density = {0};
    bool given = false;
    if (read_at(reading, node, KP_DIM_DENSITY, path, &density, &oil->density_temperature, &given)) {
        oil->density = density.value;
    }
}

static void read_charge(kp_reading *reading, const kp_node *node, const char *path, kp_draft *draft)
{
    kp_quantity charge = {0};
    bool given = false;
    if (read_at(reading, node, KP_DIM_GAS_PRESSURE, path, &charge, &draft->damper.gas.charge_temperature, &given)) {
        draft->damper.gas.charge_pressure = charge.value;
        kp_keep_tolerance(reading, &charge, node->place, path, &draft->damper.gas.charge_pressure);
        draft->damper.charge_was_gauge = charge.gauge;
        draft->charge_temperature_given = given;
        if (!given) {
            kp_report_add(reading->report, false, node->place, path,
                          "the temperature of the charge is not given and taken as 20 degC; `14 bar gauge at 20 degC` "
                          "would be whole");
        }
    }
}

/* ---- viscosity ------------------------------------------------------------------------------------------- */

static void read_viscosity(kp_reading *reading, const kp_node *node, const char *path, kp_oil *oil)
{
    static const char example[] = "{40 degC: 15 mm2/s, 100 degC: 3.8 mm2/s}";
    if (node->kind != KP_NODE_MAP || node->count != 2) {
        bool many = node->kind == KP_NODE_MAP && node->count > 2;
        kp_report_add(reading->report, true, node->place, path,
                      "viscosity at exactly two temperatures is wanted, such as %s%s", example,
                      many ? "; on top of a file that has others, say `none` to those" : "");
        return;
    }
    double temperatures[2] = {0.0, 0.0}, viscosities[2] = {0.0, 0.0};
    bool good = true;
    for (size_t i = 0; i < 2; i++) {
        const kp_entry *entry = &node->entries[i];
        kp_quantity temperature = {0}, viscosity = {0};
        if (entry->value->spoilt) {
            return;
        }
        if (entry->value->kind != KP_NODE_SCALAR) {
            kp_report_add(reading->report, true, entry->value->place, path, "one viscosity is wanted here, such as %s",
                          example);
            return;
        }
        good = kp_read_quantity(reading, entry->key, KP_DIM_TEMPERATURE, entry->key_place, path, &temperature) && good;
        good = kp_read_quantity(reading, entry->value->text, KP_DIM_KINEMATIC_VISCOSITY, entry->value->place, path,
                                &viscosity) &&
               good;
        temperatures[i] = temperature.value;
        viscosities[i] = viscosity.value;
    }
    if (good) {
        oil->temperature_1 = temperatures[0];
        oil->viscosity_1 = viscosities[0];
        oil->temperature_2 = temperatures[1];
        oil->viscosity_2 = viscosities[1];
    }
}

/* ---- shim lines ------------------------------------------------------------------------------------------ */

enum { SIZES_MOST = 3 /* parts between x signs that are looked at: one more than are right */ };

/** The text between x signs, trimmed. */
typedef struct sizes {
    size_t count;
    const char *parts[SIZES_MOST];
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
        const char *sign = strpbrk(text, "xX");
        const char *times = strstr(text, TIMES);
        size_t sign_length = 1;
        if (times != NULL && (sign == NULL || times < sign)) {
            sign = times;
            sign_length = strlen(TIMES);
        }
        size_t length = sign == NULL ? strlen(text) : (size_t)(sign - text);
        if (out.count < SIZES_MOST) {
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
    const char *unit = size + strspn(size, "0123456789.+-");
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
    kp_report_add(reading->report, true, node->place, path, "`%s`: %s", shown, reason);
}

/** What may stand behind the sizes of a shim. */
static const char *const extra_names[] = {"hole", "slots", "material"};
enum { EXTRA_HOLE, EXTRA_SLOTS, EXTRA_MATERIAL, EXTRA_COUNT };

/** "hole", "slots" or "material" at the front of text: which, or EXTRA_COUNT. */
static size_t extra_of(const char *text)
{
    size_t length = strcspn(text, " \t");
    for (size_t i = 0; i < EXTRA_COUNT; i++) {
        if (strlen(extra_names[i]) == length && strncmp(text, extra_names[i], length) == 0) {
            return i;
        }
    }
    return EXTRA_COUNT;
}

static bool is_extra(const char *text)
{
    return extra_of(text) != EXTRA_COUNT;
}

/** No " of ": which of the usual slips is it? */
static void refuse_countless(kp_reading *reading, const kp_node *node, const char *path)
{
    sizes found = split_sizes(reading, node->text);
    if (is_extra(node->text)) {
        refuse_shim(reading, node, path,
                    "this belongs to the shim before it; in a list in brackets, a shim with commas stands in quotes: "
                    "[\"3 of 40 x 0.20 mm, hole 12 mm\"]");
    } else if (found.count == 3) {
        refuse_shim(reading, node, path,
                    "three bare sizes can be read two ways, as shims are also sold as hole x outside x thickness; "
                    "write COUNT of OUTSIDE x THICKNESS unit, such as `1 of 40 x 0.20 mm`");
    } else if (found.count == 2) {
        refuse_shim(reading, node, path,
                    "how many? write COUNT of OUTSIDE x THICKNESS unit, such as `1 of 40 x 0.20 mm`");
    } else {
        refuse_shim(reading, node, path,
                    "a shim line is COUNT of OUTSIDE x THICKNESS unit, such as `3 of 40 x 0.20 mm`");
    }
}

static bool read_shim_count(kp_reading *reading, const kp_node *node, const char *path, const char *text, int *out)
{
    enum { COUNT_MOST = 1000000 /* keeps int arithmetic safe; the examiner allows far fewer */ };
    double number = 0.0;
    bool good = kp_number_read(text, &number) && number >= 1.0 && number <= COUNT_MOST && number <= (double)(int)number;
    if (!good) {
        refuse_shim(reading, node, path, "COUNT is a whole number, 1 or more, such as `3 of 40 x 0.20 mm`");
        return false;
    }
    *out = (int)number;
    return true;
}

/** A length of a shim line; a bare number takes the unit of the last size beside it. */
static bool read_shim_size(kp_reading *reading, const kp_node *node, const char *path, const char *text,
                           const char *last, double *out, kp_quantity *whole)
{
    double bare = 0.0;
    kp_quantity size = {0};
    if (text != last && kp_number_read(text, &bare)) {
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

/** One of the things behind commas. seen: which were there already. */
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

static void read_shim_line(kp_reading *reading, const kp_node *node, const char *path, kp_shim_line *line)
{
    const char *of = strstr(node->text, " of ");
    if (of == NULL) {
        refuse_countless(reading, node, path);
        return;
    }
    const char *rest = of + strlen(" of ");
    const char *comma = strchr(rest, ',');
    const char *count_text = trim_copy(reading, node->text, (size_t)(of - node->text));
    const char *sizes_text = trim_copy(reading, rest, comma == NULL ? strlen(rest) : (size_t)(comma - rest));
    kp_shim_line made = {0};
    if (!read_shim_count(reading, node, path, count_text, &made.count) ||
        (comma != NULL && !read_shim_extras(reading, node, path, comma + 1, &made))) {
        return;
    }
    sizes found = split_sizes(reading, sizes_text);
    if (found.count != 2) {
        refuse_shim(reading, node, path,
                    found.count == 3
                        ? "a shim line has two sizes, OUTSIDE x THICKNESS; shims are also sold as hole x "
                          "outside x thickness, but here the hole stands behind a comma: `1 of 40 x 0.20 mm, hole "
                          "12 mm`"
                        : "a shim line has two sizes, OUTSIDE x THICKNESS: `1 of 40 x 0.20 mm`");
        return;
    }
    /* One unit at the end serves both sizes. */
    kp_quantity thickness = {0};
    kp_quantity outside = {0};
    if (read_shim_size(reading, node, path, found.parts[1], found.parts[1], &made.thickness, &thickness) &&
        read_shim_size(reading, node, path, found.parts[0], found.parts[1], &made.outside, &outside)) {
        *line = made;
        kp_keep_tolerance(reading, &thickness, node->place, path, &line->thickness);
        kp_keep_tolerance(reading, &outside, node->place, path, &line->outside);
    }
}

/* ---- grade, adjuster --------------------------------------------------------------------------------------- */

static void read_grade(kp_reading *reading, const kp_node *node, const char *path, int *grade)
{
    static const char name[] = "ISO VG ";
    double number = 0.0;
    if (strncmp(node->text, name, strlen(name)) == 0 && kp_number_read(node->text + strlen(name), &number) &&
        number >= 1.0 && number <= 1000.0 && kp_oil_grade_find((int)number) != NULL && number <= (double)(int)number) {
        *grade = (int)number;
        return;
    }
    char shown[KP_TEXT_SHOWN], list[120];
    size_t count, used = 0;
    const kp_oil_grade *grades = kp_oil_grades(&count);
    for (size_t i = 0; i < count; i++) {
        used += kp_text_print(list + used, sizeof list - used, "%s%d", i == 0 ? "" : ", ", grades[i].grade);
    }
    kp_text_show(node->text, shown, sizeof shown);
    kp_report_add(reading->report, true, node->place, path,
                  "`%s`: a grade of ISO 3448 is wanted, as `ISO VG 15`, with one of %s", shown, list);
}

static void read_areas(kp_reading *reading, const kp_node *node, const char *path, kp_adjuster_data *adjuster)
{
    static const char example[] = "{0: 0 mm2, 10: 1.2 mm2, 20: 3 mm2}";
    if (node->kind != KP_NODE_MAP || node->count < 2 || node->count > KP_MAX_ADJUSTER_POINTS) {
        kp_report_add(reading->report, true, node->place, path, "2 to %d clicks, each with its area, are wanted: %s",
                      KP_MAX_ADJUSTER_POINTS, example);
        return;
    }
    for (size_t i = 0; i < node->count; i++) {
        const kp_entry *entry = &node->entries[i];
        kp_quantity area = {0};
        double clicks = 0.0;
        if (entry->value->spoilt) {
            return;
        }
        if (!kp_number_read(entry->key, &clicks) || !(clicks >= 0.0 && clicks <= 1e6) || clicks > (double)(int)clicks ||
            entry->value->kind != KP_NODE_SCALAR) {
            char shown[KP_TEXT_SHOWN];
            kp_text_show(entry->key, shown, sizeof shown);
            kp_report_add(reading->report, true, entry->key_place, path,
                          "`%s`: a whole number of clicks with its area is wanted, such as %s", shown, example);
            return;
        }
        if (!kp_read_quantity(reading, entry->value->text, KP_DIM_AREA, entry->value->place, path, &area)) {
            return;
        }
        size_t before = i > 0 ? i - 1 : 0;
        bool rises =
            i == 0 || ((int)clicks > adjuster->point_clicks[before] && area.value >= adjuster->point_area[before]);
        if (!rises) {
            kp_report_add(
                reading->report, true, entry->key_place, path,
                "%d clicks with %g mm2 after %d clicks with %g mm2: clicks must rise, and the area must never "
                "fall with them",
                (int)clicks, 1e6 * area.value, adjuster->point_clicks[before], 1e6 * adjuster->point_area[before]);
            return;
        }
        adjuster->point_clicks[i] = (int)clicks;
        adjuster->point_area[i] = area.value;
    }
    adjuster->point_count = node->count;
}

/* ---- all of them ----------------------------------------------------------------------------------------- */

static void read_format(kp_reading *reading, const kp_node *node, const char *path)
{
    if (strcmp(node->text, "1") != 0) {
        char shown[KP_TEXT_SHOWN];
        kp_text_show(node->text, shown, sizeof shown);
        kp_report_add(reading->report, true, node->place, path, "format `%s` is not known; this program reads format 1",
                      shown);
    }
}

void kp_read_special(kp_reading *reading, const kp_key *key, const kp_node *node, const char *path, void *target)
{
    if (node->spoilt) {
        return;
    }
    if (key->special != KP_SPECIAL_VISCOSITY && key->special != KP_SPECIAL_AREAS && node->kind != KP_NODE_SCALAR) {
        kp_report_add(reading->report, true, node->place, path, "a single value is wanted here: %s", key->about);
        return;
    }
    switch (key->special) {
    case KP_SPECIAL_FORMAT:
        read_format(reading, node, path);
        break;
    case KP_SPECIAL_BASED_ON:
        break; /* the file has been read already */
    case KP_SPECIAL_VISCOSITY:
        read_viscosity(reading, node, path, target);
        break;
    case KP_SPECIAL_DENSITY:
        read_density(reading, node, path, target);
        break;
    case KP_SPECIAL_CHARGE:
        read_charge(reading, node, path, target);
        break;
    case KP_SPECIAL_GRADE:
        read_grade(reading, node, path, target);
        break;
    case KP_SPECIAL_AREAS:
        read_areas(reading, node, path, target);
        break;
    case KP_SPECIAL_SHIM_LINE:
        read_shim_line(reading, node, path, target);
        break;
    }
}
