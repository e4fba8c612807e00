/* SPDX-License-Identifier: GPL-3.0-or-later */
/** One damper worked out: its points, its summaries, and what there is to say about them. */
#ifndef KP_CLI_RUN_H
#define KP_CLI_RUN_H

#include "cli/messages.h"

typedef struct kp_run {
    const char *path;
    kp_damper_data data;
    kp_damper *damper;
    double gas_pressure; /* [Pa absolute] at the position and temperature of the data */
    size_t count;        /* [-] points per direction */
    kp_curve_point *points[KP_DIRECTION_COUNT];
    kp_curve_summary summaries[KP_DIRECTION_COUNT];
} kp_run;

/** Speeds of the options, or the usual ones. */
void kp_run_speeds(const kp_options *options, const double **speeds, size_t *count);
/** Reads the file and works out its points. Zero the run before. */
kp_status kp_run_begin(kp_run *run, const char *path, const kp_options *options, kp_lines *warnings, kp_error *error);
/** The same damper with other oil, temperature, charge or clicks; base must outlive it. Zero the run before. */
kp_status kp_run_begin_variant(kp_run *run, const kp_run *base, const kp_damper_data *data, const kp_options *options,
                               kp_error *error);
void kp_run_free(kp_run *run);

/** True for a point below yield whose cycle is beyond a shim's fatigue line. Guidance, not a limit. */
bool kp_point_tires(const kp_curve_point *point);
/** "shim 1 would set or break; cavitates", "shim 1 would tire", "" for a point that is neither. */
enum { KP_NOTE = 160 };
const char *kp_point_note(const kp_run *run, const kp_curve_point *point, char note[KP_NOTE]);
/** Warnings of the curve in words, once each: shims that would set or break, margin gone and what would restore it.
    Returns how many. */
size_t kp_run_warn(const kp_run *run, kp_unit_system units, kp_lines *warnings);
/** True when one of the shown points or the range of the summaries is past yield or cavitates. */
bool kp_run_unsound(const kp_run *run);
/** Smallest margin of the shown points [Pa]. */
double kp_run_least_margin(const kp_run *run);

/** The i-th of count speeds that a drawn line runs through, 0 < speed <= top. */
double kp_dense_speed(double top, size_t i, size_t count);
/** Appends a dense curve of one direction to a panel and marks what is not sound. sign: +1, or -1 to turn it over; an
    empty label leaves the line out of the key. */
kp_status kp_run_draw_force(const kp_run *run, kp_figure *figure, size_t panel, kp_direction direction,
                            const char *label, int style, double sign, kp_unit_system units, kp_error *error);

/** A family of curves: what its members differ in, as a column, and the value of each. */
typedef struct kp_sweep {
    const char *name; /* "temperature" */
    kp_dimension dimension;
    double values[KP_MAX_MEMBERS]; /* [SI] */
} kp_sweep;
/** cmd_curve.c: every point of the runs, for CSV and JSON; family NULL: one run without such a column. */
kp_status kp_curve_fill_data(kp_table *table, const kp_run *runs, size_t count, const kp_sweep *family,
                             kp_error *error);
/** cmd_curve.c: the summary of one direction, for JSON. */
bool kp_curve_summary_json(cJSON *parent, const kp_run *run, kp_direction direction);
/** sweep.c: what a two-way adjuster does to the other direction, in words; nothing where there is none. */
kp_status kp_say_cross_talk(kp_lines *lines, const kp_run *run, const kp_options *options, kp_error *error);

/** figure_curve.c: force, opening and flow share of one damper. */
kp_status kp_figure_of_curve(kp_output *output, const kp_run *run, kp_error *error);
/** figure_compare.c: curves of several dampers overlaid, and the change against the first. */
kp_status kp_figure_of_compare(kp_output *output, const kp_run *runs, size_t count, kp_error *error);

#endif
