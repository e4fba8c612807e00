/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Messages, and words that several commands use. */
#include "cli/messages.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define PI 3.14159265358979323846

const char *const kp_charge_caution =
    "Charging: dry nitrogen only, never air or oxygen; regulator and rated hose, face away from the valve; gauge "
    "value cold, rod fully out. The maker's limit, local rules and licensed practice decide, not this estimate.";

const char *const kp_estimate_note = "Uncalibrated estimate: no measured run backs these numbers yet.";

const char *const kp_fatigue_words =
    "Fatigue use: alternating stress over fatigue strength plus mean stress over tensile strength, from rest to "
    "the point and back; 1 is Goodman's line for endless cycles, which a rare stroke may pass. Guidance only: spring "
    "strip is sold at 1200 to 1900 MPa where 1700 MPa "
    "is "
    "assumed, so the line may lie 30 % lower or 12 % higher, and scratches, edges and set count for more.";

void kp_say_error(const char *command, const char *message)
{
    fprintf(stderr, "%skneepoint%s%s:%s %s\n", kp_bold(true), command != NULL ? " " : "",
            command != NULL ? command : "", kp_plain(true), message);
}

void kp_warn(kp_lines *warnings, const char *format, ...)
{
    char text[1024];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    if (!warnings->quiet) {
        fprintf(stderr, "%swarning:%s %s\n", kp_bold(true), kp_plain(true), text);
    }
    kp_lines_add(warnings, "%s", text);
}

/* --clicks: the adjusters of a damper that has been read. */
static kp_status set_clicks(kp_damper_data *data, const kp_options *options, kp_error *error)
{
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        bool there = d == KP_REBOUND ? data->has_adjuster : data->reservoir.given && data->reservoir.has_adjuster;
        kp_adjuster_data *adjuster = d == KP_REBOUND ? &data->adjuster : &data->reservoir.adjuster;
        const char *name = kp_direction_name((kp_direction)d);
        if (!options->has_clicks[d]) {
            continue;
        }
        if (!there) {
            return kp_error_set(error, KP_BAD_INPUT, "--clicks %s=%d: the file has no %s adjuster (%s)", name,
                                options->clicks[d], name, d == KP_REBOUND ? "piston.adjuster" : "reservoir.adjuster");
        }
        if (options->clicks[d] > adjuster->max_clicks) {
            return kp_error_set(error, KP_OUT_OF_RANGE, "--clicks %s=%d: this adjuster has 0 (closed) to %d", name,
                                options->clicks[d], adjuster->max_clicks);
        }
        adjuster->clicks = options->clicks[d];
    }
    return KP_OK;
}

kp_status kp_cli_validate(const char *path, const kp_damper_data *data, const char *only, kp_lines *warnings,
                          kp_error *error)
{
    kp_findings findings = {0};
    kp_status status = kp_damper_validate(data, &findings, error);
    for (size_t i = 0; status == KP_OK && i < findings.count; i++) {
        const kp_finding *finding = &findings.items[i];
        if (finding->fault) {
            status = kp_error_set(error, KP_BAD_INPUT, "%s: %s: %s", path, finding->path, finding->text);
        } else if (strncmp(finding->path, only, strlen(only)) == 0) {
            kp_warn(warnings, "%s: %s: %s", path, finding->path, finding->text);
        }
    }
    kp_findings_free(&findings);
    return status;
}

kp_status kp_cli_read_damper(const char *path, const kp_options *options, kp_damper_data *out, kp_lines *warnings,
                             kp_error *error)
{
    kp_messages messages = {0};
    kp_status status = kp_file_read_damper(path, options->settings, options->setting_count, out, &messages, error);
    bool quiet = warnings->quiet;
    warnings->quiet = quiet && status == KP_OK; /* faults and doubts of a bad file stand together */
    for (size_t i = 0; i < messages.count; i++) {
        if (messages.items[i].fault) {
            fprintf(stderr, "%s\n", messages.items[i].text);
        } else {
            kp_warn(warnings, "%s", messages.items[i].text);
        }
    }
    warnings->quiet = quiet;
    if (status == KP_BAD_INPUT && messages.count > 0 && error != NULL) {
        error->message[0] = '\0'; /* all of it has been said */
    }
    kp_messages_free(&messages);
    if (status == KP_OK && (options->has_clicks[KP_COMPRESSION] || options->has_clicks[KP_REBOUND])) {
        status = set_clicks(out, options, error);
        if (status == KP_OK) { /* closed, it may shut the only way */
            status = kp_cli_validate(path, out, "piston.bleed", warnings, error);
        }
    }
    return status;
}

const char *kp_shim_words(const kp_shim_line *line, kp_unit_system units, char *buffer)
{
    double outside = kp_unit_convert(line->outside, KP_DIM_LENGTH, units);
    double thickness = kp_unit_convert(line->thickness, KP_DIM_LENGTH, units);
    int decimals = units == KP_UNITS_INCH ? 4 : 2;
    double scaled = thickness * pow(10.0, decimals);
    if (fabs(scaled - round(scaled)) > 1e-6 * scaled && decimals < 4) {
        decimals++; /* 0.125 mm keeps its last digit */
    }
    const char *unit = kp_unit_name(KP_DIM_LENGTH, units);
    int used = snprintf(buffer, KP_SHIM_WORDS, "%.*g x %.*f %s", units == KP_UNITS_INCH ? 4 : 6, outside, decimals,
                        thickness, unit);
    if (line->has_hole && used < KP_SHIM_WORDS) {
        used += snprintf(buffer + used, (size_t)(KP_SHIM_WORDS - used), ", hole %.4g %s",
                         kp_unit_convert(line->hole, KP_DIM_LENGTH, units), unit);
    }
    if (line->slot_count > 0 && used < KP_SHIM_WORDS) {
        used += snprintf(buffer + used, (size_t)(KP_SHIM_WORDS - used), ", slots %d x %.4g %s", line->slot_count,
                         kp_unit_convert(line->slot_width, KP_DIM_LENGTH, units), unit);
    }
    if (line->material[0] != '\0' && used < KP_SHIM_WORDS) {
        snprintf(buffer + used, (size_t)(KP_SHIM_WORDS - used), ", %s", line->material);
    }
    return buffer;
}

const char *kp_shim_numbers(const kp_valve_data *valve, size_t first_line, size_t last_line, char *buffer)
{
    int first = 1;
    for (size_t i = 0; i < first_line && i < valve->line_count; i++) {
        first += valve->lines[i].count;
    }
    int last = first - 1;
    for (size_t i = first_line; i <= last_line && i < valve->line_count; i++) {
        last += valve->lines[i].count;
    }
    if (last <= first) {
        snprintf(buffer, KP_SHOWN, "shim %d", first);
    } else {
        snprintf(buffer, KP_SHOWN, "shims %d %s %d", first, last == first + 1 ? "and" : "to", last);
    }
    return buffer;
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

const char *kp_charge_words(double absolute, bool gauge, kp_unit_system units, char *buffer, size_t size)
{
    char as_gauge[KP_SHOWN];
    char as_absolute[KP_SHOWN];
    kp_show(absolute - KP_ATMOSPHERE, KP_DIM_PRESSURE, 1, units, as_gauge);
    kp_show(absolute, KP_DIM_PRESSURE, 1, units, as_absolute);
    if (gauge) {
        snprintf(buffer, size, "%s gauge (%s absolute)", as_gauge, as_absolute);
    } else {
        snprintf(buffer, size, "%s absolute (%s gauge)", as_absolute, as_gauge);
    }
    return buffer;
}

kp_status kp_gas_now(const kp_damper_data *data, double *pressure, kp_error *error)
{
    return kp_damper_gas_pressure(data, pressure, error);
}

void kp_state_line(kp_lines *lines, const char *whose, const kp_damper_data *data, double gas_pressure,
                   kp_unit_system units)
{
    char charge[3 * KP_SHOWN];
    char charge_temperature[KP_SHOWN];
    char now[3 * KP_SHOWN];
    char position[KP_SHOWN];
    char stroke[KP_SHOWN];
    char oil[KP_SHOWN];
    char force[KP_SHOWN];
    double gas_force = 0.25 * PI * data->rod * data->rod * (gas_pressure - KP_ATMOSPHERE); /* [N] */
    kp_lines_add(lines, "%sCharge %s at %s, rod fully out. Here: rod pushed in %s of %s, oil %s, gas %s, gas force %s.",
                 whose,
                 kp_charge_words(data->gas.charge_pressure, data->charge_was_gauge, units, charge, sizeof charge),
                 kp_show(data->gas.charge_temperature, KP_DIM_TEMPERATURE, 0, units, charge_temperature),
                 kp_show(data->position, KP_DIM_LENGTH, 0, units, position),
                 kp_show(data->stroke, KP_DIM_LENGTH, 0, units, stroke),
                 kp_show(data->oil_temperature, KP_DIM_TEMPERATURE, 0, units, oil),
                 kp_charge_words(gas_pressure, data->charge_was_gauge, units, now, sizeof now),
                 kp_show(gas_force, KP_DIM_FORCE, 0, units, force));
}

const char *kp_title_of(const kp_damper_data *data, const char *path)
{
    return data->name[0] != '\0' ? data->name : path;
}
