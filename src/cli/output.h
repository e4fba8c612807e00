/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What a command has to say, collected first and printed at the end: a run that fails prints nothing on stdout. */
#ifndef KP_CLI_OUTPUT_H
#define KP_CLI_OUTPUT_H

#include "cli/options.h"
#include "kneepoint/draw.h"

#include <cjson/cJSON.h>

/** Lines of text that grow. Zero it before use. */
typedef struct kp_lines {
    size_t count, capacity;
    char **items;
    bool failed; /* memory ran out: the next writer says so */
    bool quiet;  /* kp_warn only keeps: the command prints the warnings itself */
} kp_lines;
void kp_lines_add(kp_lines *lines, const char *format, ...) KP_PRINTF(2, 3);
void kp_lines_free(kp_lines *lines);

/** A table for people with the words above it. */
typedef struct kp_section {
    kp_lines heading;
    kp_table table;
} kp_section;

enum { KP_MAX_SECTIONS = 20 };

/** Everything one run says on stdout. Zero it with kp_output_begin. */
typedef struct kp_output {
    const kp_options *options;
    kp_lines top; /* people: verdict and standing, above everything                 */
    size_t section_count;
    kp_section sections[KP_MAX_SECTIONS]; /* people                                       */
    kp_lines foot;                        /* people: explanations and cautions                              */
    kp_lines warnings;                    /* JSON; on stderr they stood already                             */
    kp_table data;                        /* CSV, and "columns" of JSON: full precision, SI                  */
    cJSON *extra;                         /* JSON: further keys of the top level ("summary", ...), or NULL   */
    kp_figure figure;                     /* drawn when options ask for it and it has panels                */
} kp_output;

kp_status kp_output_begin(kp_output *output, const kp_options *options, kp_error *error);
void kp_output_free(kp_output *output);
/** A new table for people; the heading's first line is given. NULL when there are too many (never seen). */
kp_section *kp_output_section(kp_output *output, const char *heading);
/** Prints what --format asks for, then draws what --plot asks for. */
kp_status kp_output_print(kp_output *output, kp_error *error);

/** table.c: one table for people, in the units asked for. */
void kp_table_print(const kp_table *table, kp_unit_system units);
/** table.c: RFC 4180, SI, full precision. */
void kp_table_print_csv(const kp_table *table);
/** Name of a column with its SI suffix: "force_N". */
void kp_column_full_name(const kp_column *column, char *name, size_t size);

/** json.c: the whole document. */
kp_status kp_output_print_json(const kp_output *output, kp_error *error);
/** json.c: adds a number that reads back to the same double; null when it is not finite. */
bool kp_json_add_number(cJSON *object, const char *name, double value);
bool kp_json_add_text(cJSON *object, const char *name, const char *text);

/** A display that a window could open on. */
bool kp_has_display(void);
/** Emphasis on a terminal that wants it ("" elsewhere, and under NO_COLOR). */
const char *kp_bold(bool to_stderr);
const char *kp_plain(bool to_stderr);

/** "0.524 m/s" in the units asked for; buffer of KP_SHOWN bytes. */
enum { KP_SHOWN = 48 };
const char *kp_show(double si_value, kp_dimension dimension, int decimals, kp_unit_system units, char *buffer);
/** Digits after the point that say as much in the asked units as `decimals` says in metric ones. */
int kp_decimals_for(kp_dimension dimension, int decimals, kp_unit_system units);

#endif
