/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What goes to standard error, reading a damper's file, and words that several commands use. */
#ifndef KP_CLI_TALK_H
#define KP_CLI_TALK_H

#include "cli/output.h"
#include "kneepoint/file.h"

/** Reads a damper with the settings of the options. Every message of the file goes to standard error at once, warnings
    also to `warnings`. On KP_BAD_INPUT the error record is left without a message: all of it has been said. */
kp_status kp_cli_read_damper(const char *path, const kp_options *options, kp_damper_data *out, kp_lines *warnings,
                             kp_error *error);
/** Examines a damper whose numbers were changed on the command line: the first fault is the error; doubts at paths that
    begin with `only` are warned of. */
kp_status kp_cli_validate(const char *path, const kp_damper_data *data, const char *only, kp_lines *warnings,
                          kp_error *error);
/** "kneepoint curve: message" on standard error. */
void kp_say_error(const char *command, const char *message);
/** A warning to standard error and into the JSON. */
void kp_warn(kp_lines *warnings, const char *format, ...) KP_PRINTF(2, 3);

/** "40 x 0.20 mm", "38 x 0.20 mm, hole 20 mm, slots 4 x 2 mm, material bronze" */
enum { KP_SHIM_WORDS = 160 };
const char *kp_shim_words(const kp_shim_line *line, kp_unit_system units, char *buffer);
/** "shim 1", "shims 1 and 2" or "shims 4 to 6": the shims of stack lines, counted from the seat. */
const char *kp_shim_numbers(const kp_valve_data *valve, size_t first_line, size_t last_line, char *buffer);
/** "3 of 40 x 0.20 mm, 1 of 22 x 0.10 mm": in a buffer of KP_STACK_WORDS bytes. */
enum { KP_STACK_WORDS = 12288 };
const char *kp_stack_words(const kp_valve_data *valve, kp_unit_system units, char *buffer);
/** "14.0 bar gauge (15.0 bar absolute)" */
const char *kp_charge_words(double absolute, bool gauge, kp_unit_system units, char *buffer, size_t size);
/** One line on gas, rod position and oil, what every force depends on. whose: put in front, may be empty. */
void kp_state_line(kp_lines *lines, const char *whose, const kp_damper_data *data, double gas_pressure,
                   kp_unit_system units);
/** Gas pressure [Pa absolute] at the data's position and temperature. */
kp_status kp_gas_now(const kp_damper_data *data, double *pressure, kp_error *error);
/** Name of the damper, or its file when it has none. */
const char *kp_title_of(const kp_damper_data *data, const char *path);

extern const char *const kp_charge_caution;
/** What fatigue use is, and how far to trust it. */
extern const char *const kp_fatigue_words;
extern const char *const kp_estimate_note;

kp_status kp_cmd_check(const kp_options *options, kp_error *error);
kp_status kp_cmd_lift(const kp_options *options, kp_error *error);
kp_status kp_cmd_curve(const kp_options *options, kp_error *error);
/** sweep.c: `curve` with --temperature, --charge or --clicks-sweep. */
kp_status kp_curve_sweep(const kp_options *options, kp_error *error);
kp_status kp_cmd_compare(const kp_options *options, kp_error *error);
kp_status kp_cmd_band(const kp_options *options, kp_error *error);
kp_status kp_cmd_explain(const kp_options *options, kp_error *error);

#endif
