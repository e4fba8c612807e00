/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Words that several reports use. */
#include "report/report_internal.h"

#include <stdio.h>
#include <string.h>

const char *const kp_charge_caution =
    "Charging: dry nitrogen only, never air or oxygen; regulator and rated hose, face away from the valve; gauge "
    "value cold, rod fully out. The maker's limit, local rules and licensed practice decide, not this estimate.";

const char *const kp_estimate_note = "Uncalibrated estimate: no measured run backs these numbers yet.";

const char *const kp_fatigue_words =
    "Fatigue use: alternating stress over fatigue strength plus mean stress over tensile strength, from rest to "
    "the point and back; 1 is Goodman's line for endless cycles, which a rare stroke may pass. Guidance only: spring "
    "strip is sold at 1200 to 1900 MPa where 1700 MPa is assumed, "
    "so the line may lie 30 % lower or 12 % higher, and scratches, edges and set count for more.";

const char *kp_shim_words(const kp_shim_line *line, kp_unit_system units, char *buffer)
{
    const int max_decimals = 4;
    return kp_shim_size_text(line, units, max_decimals, buffer);
}

_Static_assert(KP_SHOWN >= KP_SHIM_NUMBERS_TEXT, "a text of KP_SHOWN bytes holds the numbers of shims");

const char *kp_shim_numbers(const kp_valve_data *valve, size_t first_line, size_t last_line, char *buffer)
{
    size_t first = 1, count = 0;

    for (size_t i = 0; i < first_line && i < valve->line_count; i++) {
        first += (size_t)valve->lines[i].count;
    }
    for (size_t i = first_line; i <= last_line && i < valve->line_count; i++) {
        count += (size_t)valve->lines[i].count;
    }

    return kp_shim_numbers_text(first, count, buffer);
}

const char *kp_stack_words(const kp_valve_data *valve, kp_unit_system units, char *buffer)
{
    size_t used = 0;
    buffer[0] = '\0';

    for (size_t i = 0; i < valve->line_count && used < KP_STACK_WORDS; i++) {
        char shim[KP_SHIM_WORDS];

        kp_shim_words(&valve->lines[i], units, shim);
        int wrote = snprintf(buffer + used, KP_STACK_WORDS - used, "%s%d of %s", i > 0 ? ", " : "",
                             valve->lines[i].count, shim);
        used += wrote > 0 ? (size_t)wrote : 0;
    }

    return buffer;
}

const char *kp_charge_words(double absolute, bool gauge, kp_unit_system units, char *buffer)
{
    char as_gauge[KP_SHOWN];
    char as_absolute[KP_SHOWN];

    kp_show(absolute - KP_ATMOSPHERE, KP_DIM_PRESSURE, 1, units, as_gauge);
    kp_show(absolute, KP_DIM_PRESSURE, 1, units, as_absolute);

    /* First in the way in which the file gives it. */
    if (gauge) {
        snprintf(buffer, KP_CHARGE_WORDS, "%s gauge (%s absolute)", as_gauge, as_absolute);
    } else {
        snprintf(buffer, KP_CHARGE_WORDS, "%s absolute (%s gauge)", as_absolute, as_gauge);
    }

    return buffer;
}

void kp_add_state(kp_lines *lines, const kp_damper_data *data, double gas_pressure, kp_unit_system units)
{
    if (data->gas_open) {
        kp_lines_add(
            lines,
            "Gas open to the air, without a charge: no gas force, at any position. Here: rod pushed in %s of %s, "
            "oil %s. Left out: foaming, and the level of the oil in the outer tube.",
            KP_SHOW(data->position, KP_DIM_LENGTH, 0, units), KP_SHOW(data->stroke, KP_DIM_LENGTH, 0, units),
            KP_SHOW(data->oil_temperature, KP_DIM_TEMPERATURE, 0, units));
        return;
    }

    char charge[KP_CHARGE_WORDS];
    char now[KP_CHARGE_WORDS];
    double gas_force = 0.25 * KP_PI * data->rod * data->rod * (gas_pressure - KP_ATMOSPHERE); /* [N] */
    kp_lines_add(lines, "Charge %s at %s, rod fully out. Here: rod pushed in %s of %s, oil %s, gas %s, gas force %s.",
                 kp_charge_words(data->gas.charge_pressure, data->charge_was_gauge, units, charge),
                 KP_SHOW(data->gas.charge_temperature, KP_DIM_TEMPERATURE, 0, units),
                 KP_SHOW(data->position, KP_DIM_LENGTH, 0, units), KP_SHOW(data->stroke, KP_DIM_LENGTH, 0, units),
                 KP_SHOW(data->oil_temperature, KP_DIM_TEMPERATURE, 0, units),
                 kp_charge_words(gas_pressure, data->charge_was_gauge, units, now),
                 KP_SHOW(gas_force, KP_DIM_FORCE, 0, units));
}

const char *kp_title_of(const kp_damper_data *data, const char *path)
{
    return data->name[0] != '\0' ? data->name : path;
}

const char *kp_direction_capital(kp_direction direction)
{
    return direction == KP_COMPRESSION ? "Compression" : "Rebound";
}
