/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A text of the file as a quantity: faults reported at their place, tolerances kept. */
#include "area.h"
#include "reader.h"

#include <string.h>

bool kp_read_quantity(kp_reading *reading, const char *text, kp_dimension dimension, kp_place place, const char *path,
                      kp_quantity *out)
{
    kp_error error = {0};
    kp_status status;
    if (dimension == KP_DIM_AREA && kp_area_is_counted(text)) {
        kp_quantity area = {0};
        status = kp_area_read(reading->arena, text, &area.value, &error);
        *out = status == KP_OK ? area : *out;
    } else {
        status = kp_quantity_read(text, dimension, out, &error);
    }

    if (status == KP_NO_MEMORY) {
        reading->arena->failed = true;
    } else if (status != KP_OK) {
        kp_report_fault(reading->report, place, path, "%s", error.message);
    }
    return status == KP_OK;
}

void kp_keep_tolerance(kp_reading *reading, const kp_quantity *quantity, kp_place place, const char *path,
                       const double *number)
{
    if (quantity->has_tolerance && !kp_damper_keep_tolerance(&reading->draft->damper, number, quantity->tolerance)) {
        kp_report_warning(reading->report, place, path, "its tolerance is not kept: a damper has room for %d of them",
                          (int)KP_MAX_TOLERANCES);
    }
}

/** Splits "14 bar gauge at 20 degC"; temperature is NULL when there is no " at ". */
static bool split_at(kp_reading *reading, const char *text, const char **value, const char **temperature)
{
    const char *at = kp_text_find_word(text, " at ");
    *value = at == NULL ? text : kp_arena_text(reading->arena, text, (size_t)(at - text));
    *temperature = at == NULL ? NULL : at + strlen(" at ");
    return *value != NULL;
}

bool kp_read_quantity_at(kp_reading *reading, const kp_node *node, kp_dimension dimension, const char *path,
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

    /* Both parts are sound. */
    *at = temperature.value;
    *at_given = true;
    return true;
}
