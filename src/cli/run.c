/* SPDX-License-Identifier: GPL-3.0-or-later */
/** One damper worked out. */
#include "cli/run.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Speeds of a 100 mm stroke dyno's presets: common practice, no source. [m/s] */
static const double usual_speeds[] = {0.052, 0.131, 0.262, 0.393, 0.524, 1.047};

void kp_run_speeds(const kp_options *options, const double **speeds, size_t *count)
{
    *speeds = options->speeds.count > 0 ? options->speeds.values : usual_speeds;
    *count = options->speeds.count > 0 ? options->speeds.count : sizeof usual_speeds / sizeof usual_speeds[0];
}

/* base: a damper of the same stacks and largest speed, or NULL. */
static kp_status work_out(kp_run *run, const kp_damper *base, const kp_options *options, kp_error *error)
{
    const double *speeds;
    kp_run_speeds(options, &speeds, &run->count);
    double largest = options->limits.top;
    for (size_t i = 0; i < run->count; i++) {
        largest = fmax(largest, speeds[i]);
    }
    kp_status status = kp_gas_now(&run->data, &run->gas_pressure, error);
    if (status == KP_OK) {
        status = base != NULL ? kp_damper_variant(base, &run->data, &run->damper, error)
                              : kp_damper_begin(&run->data, largest, &run->damper, error);
    }
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        run->points[d] = calloc(run->count, sizeof *run->points[d]);
        if (run->points[d] == NULL) {
            return kp_error_set(error, KP_NO_MEMORY, "memory ran out for %zu speeds", run->count);
        }
        for (size_t i = 0; status == KP_OK && i < run->count; i++) {
            double speed = d == KP_COMPRESSION ? speeds[i] : -speeds[i];
            status = kp_curve_at(run->damper, speed, &run->points[d][i], error);
        }
        if (status == KP_OK) {
            status = kp_curve_summarise(run->damper, (kp_direction)d, options->limits, &run->summaries[d], error);
        }
    }
    return status;
}

kp_status kp_run_begin(kp_run *run, const char *path, const kp_options *options, kp_lines *warnings, kp_error *error)
{
    run->path = path;
    kp_status status = kp_cli_read_damper(path, options, &run->data, warnings, error);
    if (status != KP_OK) {
        return status;
    }
    status = work_out(run, NULL, options, error);
    if (status != KP_OK && error != NULL) {
        kp_error_prefix(error, "%s: ", path);
    }
    return status;
}

kp_status kp_run_begin_variant(kp_run *run, const kp_run *base, const kp_damper_data *data, const kp_options *options,
                               kp_error *error)
{
    run->path = base->path;
    run->data = *data;
    kp_status status = work_out(run, base->damper, options, error);
    if (status != KP_OK && error != NULL) {
        kp_error_prefix(error, "%s: ", run->path);
    }
    return status;
}

void kp_run_free(kp_run *run)
{
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        free(run->points[d]);
    }
    if (run->damper != NULL) {
        kp_damper_free(run->damper);
    }
    memset(run, 0, sizeof *run);
}

bool kp_point_tires(const kp_curve_point *point)
{
    return point->fatigue_use >= 1.0 && !point->past_yield;
}

const char *kp_point_note(const kp_run *run, const kp_curve_point *point, char note[KP_NOTE])
{
    note[0] = '\0';
    if (point->past_yield) {
        char shims[KP_SHOWN];
        snprintf(note, KP_NOTE, "%s would set or break",
                 kp_shim_numbers(&run->data.valves[point->direction], point->peak_line, point->peak_line, shims));
    }
    if (kp_point_tires(point)) {
        char shims[KP_SHOWN];
        snprintf(note, KP_NOTE, "%s would tire",
                 kp_shim_numbers(&run->data.valves[point->direction], point->fatigue_line, point->fatigue_line, shims));
    }
    if (point->reservoir_past_yield) {
        size_t used = strlen(note);
        snprintf(note + used, KP_NOTE - used, "%sa shim of the reservoir's valve would set or break",
                 used > 0 ? "; " : "");
    }
    if (point->cavitates) {
        size_t used = strlen(note);
        snprintf(note + used, KP_NOTE - used, "%scavitates", used > 0 ? "; " : "");
    }
    return note;
}

double kp_run_least_margin(const kp_run *run)
{
    double least = INFINITY;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (size_t i = 0; i < run->count; i++) {
            least = fmin(least, run->points[d][i].cavitation_margin);
        }
    }
    return least;
}

bool kp_run_unsound(const kp_run *run)
{
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        if (run->summaries[d].past_yield || run->summaries[d].margin_goes || run->summaries[d].reservoir_past_yield) {
            return true;
        }
        for (size_t i = 0; i < run->count; i++) {
            if (run->points[d][i].past_yield || run->points[d][i].cavitates || run->points[d][i].reservoir_past_yield) {
                return true;
            }
        }
    }
    return false;
}

/* The line whose shims pass their yield first in the direction: that of the slowest point past yield. */
static const char *yielding_shims(const kp_run *run, int direction, char *buffer)
{
    kp_curve_point point;
    double speed = run->summaries[direction].yield_speed * (1.0 + 1e-6); /* just past it */
    kp_error ignored = {0};
    if (kp_curve_at(run->damper, direction == KP_COMPRESSION ? speed : -speed, &point, &ignored) == KP_OK) {
        return kp_shim_numbers(&run->data.valves[direction], point.peak_line, point.peak_line, buffer);
    }
    return "a shim";
}

static void warn_yield(const kp_run *run, int direction, kp_unit_system units, kp_lines *warnings)
{
    char speed[KP_SHOWN];
    char shims[KP_SHOWN];
    kp_warn(warnings,
            "%s: %s: %s would set or break from %s on; this is guidance, the yield of a shim is not on its label",
            run->path, kp_direction_name((kp_direction)direction), yielding_shims(run, direction, shims),
            kp_show(run->summaries[direction].yield_speed, KP_DIM_SPEED, 3, units, speed));
}

static void warn_margin(const kp_run *run, int direction, kp_unit_system units, kp_lines *warnings)
{
    const kp_curve_summary *summary = &run->summaries[direction];
    char speed[KP_SHOWN];
    char shortfall[KP_SHOWN];
    char charge[3 * KP_SHOWN];
    kp_show(summary->margin_speed, KP_DIM_SPEED, 3, units, speed);
    kp_show(summary->margin_shortfall, KP_DIM_PRESSURE, 1, units, shortfall);
    const char *name = kp_direction_name((kp_direction)direction);
    if (summary->has_charge_needed) {
        kp_warn(warnings,
                "%s: %s cavitates from %s on; a charge of %s at the charge temperature would keep the margin within "
                "the file's maximum. %s",
                run->path, name, speed,
                kp_charge_words(summary->charge_needed, run->data.charge_was_gauge, units, charge, sizeof charge),
                kp_charge_caution);
    } else {
        kp_warn(warnings, "%s: %s cavitates from %s on: %s of gas pressure is missing at the top speed; %s", run->path,
                name, speed, shortfall,
                run->data.has_maximum_charge
                    ? "no charge within the file's maximum restores it, so soften this direction"
                    : "the file names no maximum charge, so no charge is advised");
    }
}

size_t kp_run_warn(const kp_run *run, kp_unit_system units, kp_lines *warnings)
{
    size_t before = warnings->count;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        if (run->summaries[d].past_yield) {
            warn_yield(run, d, units, warnings);
        }
        if (run->summaries[d].reservoir_past_yield) {
            char speed[KP_SHOWN];
            kp_warn(warnings, "%s: a shim of the reservoir's valve would set or break from %s on", run->path,
                    kp_show(run->summaries[d].reservoir_yield_speed, KP_DIM_SPEED, 3, units, speed));
        }
        if (run->summaries[d].margin_goes) {
            warn_margin(run, d, units, warnings);
        }
        /* beyond the range of the summary: the points asked for */
        for (size_t i = 0; i < run->count; i++) {
            const kp_curve_point *point = &run->points[d][i];
            bool said = (!point->past_yield || run->summaries[d].past_yield) &&
                        (!point->cavitates || run->summaries[d].margin_goes);
            char note[KP_NOTE];
            char speed[KP_SHOWN];
            if (!said) {
                kp_warn(warnings, "%s: %s at %s: %s", run->path, kp_direction_name((kp_direction)d),
                        kp_show(fabs(point->speed), KP_DIM_SPEED, 3, units, speed), kp_point_note(run, point, note));
                break;
            }
        }
    }
    return warnings->count - before;
}

enum { DENSE = 160, CROSSES = 6 };

double kp_dense_speed(double top, size_t i, size_t count)
{
    /* closer together at low speed, where the knee is */
    return top * pow((double)(i + 1) / (double)count, 1.5);
}

/* One entry in the key is enough for a mark that all lines of the panel share. */
static bool is_listed(const kp_figure *figure, size_t panel, const char *label)
{
    for (size_t s = 0; s < figure->panels[panel].series_count; s++) {
        if (strcmp(figure->panels[panel].series[s].label, label) == 0) {
            return true;
        }
    }
    return false;
}

/* A few crosses along the part of the line that is not sound: first and last of it among them. */
static kp_status draw_crosses(kp_figure *figure, size_t panel, const double *x, const double *y, const bool *bad,
                              const char *label, int style, kp_error *error)
{
    double cross_x[CROSSES];
    double cross_y[CROSSES];
    size_t first = DENSE;
    size_t last = 0;
    size_t count = 0;
    for (size_t i = 0; i < DENSE; i++) {
        if (bad[i]) {
            first = i < first ? i : first;
            last = i;
        }
    }
    for (size_t k = 0; first < DENSE && k < CROSSES; k++) {
        size_t i = first + (last - first) * k / (CROSSES - 1);
        if (bad[i] && (count == 0 || cross_x[count - 1] < x[i])) {
            cross_x[count] = x[i];
            cross_y[count] = y[i];
            count++;
        }
    }
    if (count == 0) {
        return KP_OK;
    }
    return kp_figure_add(figure, panel, label, count, cross_x, cross_y, style, true, !is_listed(figure, panel, label),
                         error);
}

static kp_status draw_knee(const kp_run *run, kp_figure *figure, size_t panel, kp_direction direction, int style,
                           double sign, kp_unit_system units, kp_error *error)
{
    const kp_curve_summary *summary = &run->summaries[direction];
    kp_curve_point point;
    if (!summary->has_knee) {
        return KP_OK;
    }
    double speed = direction == KP_COMPRESSION ? summary->knee_speed : -summary->knee_speed;
    kp_status status = kp_curve_at(run->damper, speed, &point, error);
    if (status != KP_OK) {
        return status;
    }
    double x = kp_unit_convert(summary->knee_speed, KP_DIM_SPEED, units);
    double y = sign * kp_unit_convert(point.force, KP_DIM_FORCE, units);
    return kp_figure_add(figure, panel, "knee (large mark)", 1, &x, &y, style, true,
                         !is_listed(figure, panel, "knee (large mark)"), error);
}

kp_status kp_run_draw_force(const kp_run *run, kp_figure *figure, size_t panel, kp_direction direction,
                            const char *label, int style, double sign, kp_unit_system units, kp_error *error)
{
    double x[DENSE];
    double y[DENSE];
    bool set[DENSE] = {false};
    bool cavitating[DENSE] = {false};
    double top = 0.0;
    kp_status status = KP_OK;
    for (size_t i = 0; i < run->count; i++) {
        top = fmax(top, fabs(run->points[direction][i].speed));
    }
    for (size_t i = 0; status == KP_OK && i < DENSE; i++) {
        kp_curve_point point;
        double speed = kp_dense_speed(top, i, DENSE);
        status = kp_curve_at(run->damper, direction == KP_COMPRESSION ? speed : -speed, &point, error);
        x[i] = kp_unit_convert(speed, KP_DIM_SPEED, units);
        y[i] = sign * kp_unit_convert(point.force, KP_DIM_FORCE, units);
        set[i] = point.past_yield;
        cavitating[i] = point.cavitates;
    }
    if (status == KP_OK) {
        status = kp_figure_add(figure, panel, label, DENSE, x, y, style, false, label[0] != '\0', error);
    }
    if (status == KP_OK) {
        status = draw_knee(run, figure, panel, direction, style, sign, units, error);
    }
    if (status == KP_OK) {
        status = draw_crosses(figure, panel, x, y, set, "a shim would set or break", KP_STYLE_CROSS, error);
    }
    return status == KP_OK ? draw_crosses(figure, panel, x, y, cavitating, "cavitates", KP_STYLE_RING, error) : status;
}
