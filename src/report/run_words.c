/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Sentences about one run: what is risky in it, and what its adjusters do. */
#include "report/report_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Just past the speed of a limit. [-] */
#define PAST (1.0 + 1e-6)

/* ---- one point --------------------------------------------------------------------------------------------------- */

const char *kp_point_note(const kp_run *run, const kp_curve_point *point, char note[KP_NOTE])
{
    const kp_valve_data *valve = &run->data.valves[point->direction];
    char shims[KP_SHOWN];

    note[0] = '\0';

    /* Each note is a risk of its own, so several may stand together. */
    if (point->past_yield) {
        kp_append(note, KP_NOTE, "%s would set or break",
                  kp_shim_numbers(valve, point->peak_line, point->peak_line, shims));
    }
    if (kp_point_tires(point)) {
        kp_append(note, KP_NOTE, "%s would tire",
                  kp_shim_numbers(valve, point->fatigue_line, point->fatigue_line, shims));
    }
    if (point->reservoir_past_yield) {
        kp_append(note, KP_NOTE, "%sa shim of the reservoir's valve would set or break", note[0] != '\0' ? "; " : "");
    }
    if ((kp_point_risks(point) & KP_RISK_CAVITATION) != 0) {
        kp_append(note, KP_NOTE, "%scavitates", note[0] != '\0' ? "; " : "");
    }

    return note;
}

double kp_shown_force(const kp_report *report, const kp_curve_point *point)
{
    return report->request->with_gas ? point->force : point->damping_force;
}

const char *kp_shown_force_words(const kp_report *report)
{
    return report->request->with_gas ? "force with gas and friction" : "damping: oil and friction, gas left out";
}

/* ---- risks ------------------------------------------------------------------------------------------------------- */

static void warn_yield(kp_report *report, const kp_run *run, kp_direction direction)
{
    double yield_speed = run->summaries[direction].yield_speed;
    char buffer[KP_SHOWN];
    const char *shims = "a shim";

    /* the shims that pass their yield first are those of the slowest point past it */
    kp_curve_point point;
    kp_error ignored = {0};
    double speed = yield_speed * PAST;
    if (kp_curve_at(run->damper, direction == KP_COMPRESSION ? speed : -speed, &point, &ignored) == KP_OK) {
        shims = kp_shim_numbers(&run->data.valves[direction], point.peak_line, point.peak_line, buffer);
    }

    kp_report_warn(
        report, "%s: %s: %s would set or break from %s on; this is guidance, the yield of a shim is not on its label",
        run->path, kp_direction_name(direction), shims, KP_SHOW(yield_speed, KP_DIM_SPEED, 3, report->request->units));
}

static void warn_margin(kp_report *report, const kp_run *run, kp_direction direction)
{
    const kp_curve_summary *summary = &run->summaries[direction];
    kp_unit_system units = report->request->units;
    const char *name = kp_direction_name(direction);
    const char *speed = KP_SHOW(summary->margin_speed, KP_DIM_SPEED, 3, units);
    char charge[KP_CHARGE_WORDS];

    /* A charge is only advised within the maximum that the file names. */
    if (summary->has_charge_needed) {
        kp_report_warn(report,
                       "%s: %s cavitates from %s on; a charge of %s at the charge temperature would keep the margin "
                       "within the file's maximum. %s",
                       run->path, name, speed,
                       kp_charge_words(summary->charge_needed, run->data.charge_was_gauge, units, charge),
                       kp_charge_caution);
    } else {
        kp_report_warn(report, "%s: %s cavitates from %s on: %s of gas pressure is missing at the top speed; %s",
                       run->path, name, speed, KP_SHOW(summary->margin_shortfall, KP_DIM_PRESSURE, 1, units),
                       run->data.gas_open ? "the gas is open to the air and takes no charge, so soften this direction"
                       : run->data.has_maximum_charge
                           ? "no charge within the file's maximum restores it, so soften this direction"
                           : "the file names no maximum charge, so no charge is advised");
    }
}

/* The first point asked for that is risky beyond the range of the summary, or in a way that the summary does not say.
 */
static void warn_point(kp_report *report, const kp_run *run, kp_direction direction)
{
    const kp_curve_summary *summary = &run->summaries[direction];

    for (size_t i = 0; i < run->count; i++) {
        const kp_curve_point *point = &run->points[direction][i];

        /* Said already when the summary reports the same risk. */
        bool said = (kp_point_risks(point) & ~kp_summary_risks(summary)) == 0;
        char note[KP_NOTE];

        if (!said) {
            kp_report_warn(report, "%s: %s at %s: %s", run->path, kp_direction_name(direction),
                           KP_SHOW(fabs(point->speed), KP_DIM_SPEED, 3, report->request->units),
                           kp_point_note(run, point, note));
            return;
        }
    }
}

void kp_report_risks(kp_report *report, const kp_run *run)
{
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        const kp_curve_summary *summary = &run->summaries[d];

        if (summary->past_yield) {
            warn_yield(report, run, (kp_direction)d);
        }

        if (summary->reservoir_past_yield) {
            kp_report_warn(report, "%s: a shim of the reservoir's valve would set or break from %s on", run->path,
                           KP_SHOW(summary->reservoir_yield_speed, KP_DIM_SPEED, 3, report->request->units));
        }

        if (summary->margin_goes) {
            warn_margin(report, run, (kp_direction)d);
        }

        warn_point(report, run, (kp_direction)d);
    }
}

/* ---- adjusters --------------------------------------------------------------------------------------------------- */

void kp_add_adjuster_effects(kp_report *report, const kp_run *run)
{
    for (int which = 0; which < KP_DIRECTION_COUNT; which++) {
        double change[KP_DIRECTION_COUNT];
        if (!kp_adjuster_effect(run, (kp_direction)which, change)) {
            continue;
        }

        /* A copy, because kp_adjuster_of gives a place to change. */
        kp_damper_data data = run->data;
        const kp_adjuster_data *adjuster = kp_adjuster_of(&data, (kp_direction)which);
        int other = 1 - which;

        kp_lines_add(
            &report->foot,
            "%s adjuster at %d of %d clicks from closed. Fully open, %s at %s would change by %+.1f %%, and %s by "
            "%+.1f %% (oil's force)%s.",
            kp_direction_capital((kp_direction)which), adjuster->clicks, adjuster->max_clicks,
            kp_direction_name((kp_direction)which), KP_SHOW(run->limits.low, KP_DIM_SPEED, 3, report->request->units),
            change[which], kp_direction_name((kp_direction)other), change[other],
            adjuster->flows == KP_FLOWS_BOTH ? ": no check stands in it, so it is open both ways" : "");
    }
}
