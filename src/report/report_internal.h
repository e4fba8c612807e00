/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Inside the room report: how tables, JSON and sentences are written. */
#ifndef KP_REPORT_INTERNAL_H
#define KP_REPORT_INTERNAL_H

#include "report/report.h"

#include <cjson/cJSON.h>

#define KP_COUNT(array) (sizeof(array) / sizeof(array)[0])

/* ---- tables ------------------------------------------------------------------------------------------------------ */

/** Starts a table for people under a heading. When there is no room, the failure stays in the report and the section
    swallows what is put into it. */
kp_section *kp_report_section(kp_report *report, const char *format, ...) KP_PRINTF(2, 3);

/** One column of a constant list. */
#define KP_NUMBER_COLUMN(name, heading, dimension, decimals)                                                           \
    {                                                                                                                  \
        (name), (heading), (dimension), (decimals), false, false                                                       \
    }
#define KP_TEXT_COLUMN(name, heading)                                                                                  \
    {                                                                                                                  \
        (name), (heading), KP_DIM_NONE, 0, true, false                                                                 \
    }

/** A new row, filled from left to right. A failure stays in the table. */
typedef struct kp_row {
    kp_table *table;
    size_t row, column;
} kp_row;
kp_row kp_row_add(kp_table *table);
void kp_row_number(kp_row *row, double si_value);
void kp_row_numbers(kp_row *row, const double *si_values, size_t count);
void kp_row_text(kp_row *row, const char *text);
/** "    +12" in a column of text: the sign says the direction of a change even where colour and column are lost. */
void kp_row_signed(kp_row *row, double shown, int decimals);

/** Digits after the point that say as much in the asked units as `decimals` says in metric ones. */
int kp_decimals_for(kp_dimension dimension, int decimals, kp_unit_system units);
/** Name of a column with its SI suffix: "force_N". */
void kp_column_full_name(const kp_column *column, char *name, size_t size);

/* ---- JSON: a failure stays in the report ------------------------------------------------------------------------- */

/** Each adds to an object under a name or, with name NULL, to an array. */
void kp_json_number(kp_report *report, cJSON *parent, const char *name, double value); /* null when not finite */
void kp_json_text(kp_report *report, cJSON *parent, const char *name, const char *text);
void kp_json_bool(kp_report *report, cJSON *parent, const char *name, bool value);
cJSON *kp_json_object(kp_report *report, cJSON *parent, const char *name);
cJSON *kp_json_array(kp_report *report, cJSON *parent, const char *name);

/* ---- sentences --------------------------------------------------------------------------------------------------- */

/** Adds to the end of a text in a buffer of size bytes. */
void kp_append(char *text, size_t size, const char *format, ...) KP_PRINTF(3, 4);
/** "Compression": the direction's name at the beginning of a sentence. */
const char *kp_direction_capital(kp_direction direction);

/** "40 x 0.20 mm", "38 x 0.20 mm, hole 20 mm, slots 4 x 2 mm, material bronze" */
#define KP_SHIM_WORDS KP_SHIM_TEXT
const char *kp_shim_words(const kp_shim_line *line, kp_unit_system units, char *buffer);
/** "shim 1", "shims 1 and 2" or "shims 4 to 6": the shims of stack lines, counted from the seat; KP_SHOWN bytes. */
const char *kp_shim_numbers(const kp_valve_data *valve, size_t first_line, size_t last_line, char *buffer);
/** "3 of 40 x 0.20 mm, 1 of 22 x 0.10 mm": in a buffer of KP_STACK_WORDS bytes. */
#define KP_STACK_WORDS 12288
const char *kp_stack_words(const kp_valve_data *valve, kp_unit_system units, char *buffer);
/** "14.0 bar gauge (15.0 bar absolute)": in a buffer of KP_CHARGE_WORDS bytes. */
#define KP_CHARGE_WORDS (3 * KP_SHOWN)
const char *kp_charge_words(double absolute, bool gauge, kp_unit_system units, char *buffer);
/** One line on gas, rod position and oil, what every force depends on. */
void kp_add_state(kp_lines *lines, const kp_damper_data *data, double gas_pressure, kp_unit_system units);

/** "shim 1 would set or break; cavitates", "shim 1 would tire", "" for a point that is neither. */
#define KP_NOTE 160
const char *kp_point_note(const kp_run *run, const kp_curve_point *point, char note[KP_NOTE]);
/** The force that is shown to people [N] signed: damping, or all with --with-gas; and what it is, in words. */
double kp_shown_force(const kp_report *report, const kp_curve_point *point);
const char *kp_shown_force_words(const kp_report *report);
/** What opening each adjuster would do, in both directions; nothing where there is none. */
void kp_add_adjuster_effects(kp_report *report, const kp_run *run);

extern const char *const kp_charge_caution;
/** What fatigue use is, and how far to trust it. */
extern const char *const kp_fatigue_words;
extern const char *const kp_estimate_note;

/* ---- parts of several reports ------------------------------------------------------------------------------------ */

/** Every point of the runs as data; sweep NULL: one run, without a column of what members differ in. */
void kp_add_points(kp_report *report, const kp_run *runs, size_t count, const kp_sweep *sweep);
/** The summary of one direction. */
void kp_json_summary(kp_report *report, cJSON *parent, const kp_run *run, kp_direction direction);
/** "low", "mid" and "high": the speeds of an explanation. */
extern const char *const kp_range_names[KP_EXPLAIN_SPEEDS];
/** How a band was sampled, and what that costs. */
void kp_add_band_method(kp_report *report, const kp_band *band, const kp_band_options *used);
/** Why one direction is as it is at low speed, what would soften it, where the knee is. */
void kp_add_reasons(kp_report *report, const kp_run *run, const kp_explanation *explanation, kp_direction direction);
/** Change of the oil's force by a sensitivity against the force there [%]; NAN when there is none. */
double kp_sensitivity_percent(const kp_explanation *explanation, const kp_sensitivity *sensitivity,
                              kp_direction direction, int at);

/* ---- figures: a failure stays in the report, and nothing more is drawn ------------------------------------------- */

#define KP_DENSE 160 /* [-] points of most drawn lines, and the most that one has */

/** A figure over shaft speed. Returned: false after a failure. */
bool kp_draw_begin(kp_report *report, const char *title, size_t panels);
/** Title and vertical axis of a panel: "force [N]"; dimension KP_DIM_NONE: per cent. */
void kp_draw_panel(kp_report *report, size_t panel, const char *title, const char *what, kp_dimension dimension);
void kp_draw_line(kp_report *report, size_t panel, const char *label, size_t count, const double *x, const double *y,
                  int style, bool in_key);
/** Single points; count may be 0. */
void kp_draw_marks(kp_report *report, size_t panel, const char *label, size_t count, const double *x, const double *y,
                   int style, bool in_key);
void kp_draw_area(kp_report *report, size_t panel, const char *label, size_t count, const double *x, const double *base,
                  const double *y, int style);
/** count points of a line from 0 to top [m/s], closer together at low speed, and their speeds in display units.
    Returned: false after a failure. */
bool kp_dense_points(kp_report *report, const kp_damper *damper, kp_direction direction, double top, size_t count,
                     kp_curve_point *points, double *x);
/** Appends the force of one direction to the first panel and marks what is not sound. sign: +1, or -1 to turn it over;
    an empty label leaves the line out of the key. */
void kp_draw_force(kp_report *report, const kp_run *run, kp_direction direction, const char *label, int style,
                   double sign);
/** Curves overlaid, and the change against the first. */
void kp_draw_overlay(kp_report *report, const char *title, const kp_run *runs, size_t count);

#endif
