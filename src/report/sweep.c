/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `curve` as a sweep: one damper at several oil temperatures, charges or clicks. */
#include "report/report_internal.h"

#include <math.h>
#include <stdio.h>

void kp_report_name_members(const kp_report *report, kp_sweep *sweep)
{
    const kp_request *request = report->request;

    for (size_t i = 0; i < sweep->count; i++) {
        double value = sweep->values[i];
        char *label = sweep->labels[i];

        /* In the units and with the reference that were asked for. */
        if (sweep->dimension == KP_DIM_TEMPERATURE) {
            kp_show(value, KP_DIM_TEMPERATURE, 0, request->units, label);
        } else if (sweep->dimension == KP_DIM_PRESSURE) {
            double shift = request->charges_gauge ? KP_ATMOSPHERE : 0.0;
            snprintf(label, KP_MEMBER_LABEL, "%s %s", KP_SHOW(value - shift, KP_DIM_PRESSURE, 1, request->units),
                     request->charges_gauge ? "gauge" : "absolute");
        } else {
            snprintf(label, KP_MEMBER_LABEL, "%d click%s", (int)value, (int)value == 1 ? "" : "s");
        }
    }
}

/* What the members differ in: "temperature", "rebound clicks from closed". */
static void name_sweep(const kp_report *report, const kp_sweep *sweep, char *text, size_t size)
{
    bool clicks = report->request->has_sweep;
    snprintf(text, size, "%s%s", clicks ? kp_direction_name(report->request->sweep) : "",
             clicks ? " clicks from closed" : sweep->name);
}

/* ---- tables ------------------------------------------------------------------------------------------------------ */

/* Force at each speed, one column a member. */
static void add_forces(kp_report *report, const kp_sweep *sweep, kp_direction direction)
{
    kp_section *section =
        kp_report_section(report, "%s, %s", kp_direction_capital(direction), kp_shown_force_words(report));
    kp_table_add_column(&section->table, "speed", "speed", KP_DIM_SPEED, 3, NULL, NULL);

    for (size_t m = 0; m < sweep->count; m++) {
        kp_table_add_column(&section->table, "force", sweep->labels[m], KP_DIM_FORCE, 0, NULL, NULL);
    }

    for (size_t i = 0; i < sweep->runs[0].count; i++) {
        kp_row row = kp_row_add(&section->table);
        kp_row_number(&row, fabs(sweep->runs[0].points[direction][i].speed));

        for (size_t m = 0; m < sweep->count; m++) {
            kp_row_number(&row, kp_shown_force(report, &sweep->runs[m].points[direction][i]));
        }
    }
}

/* The margin of each member: where it is gone, or what is left. */
static void add_margins(kp_report *report, const kp_sweep *sweep)
{
    static const kp_column_spec columns[] = {KP_TEXT_COLUMN("member", ""), KP_TEXT_COLUMN("gas", "gas here, absolute"),
                                             KP_TEXT_COLUMN("compression", "compression cavitates"),
                                             KP_TEXT_COLUMN("rebound", "rebound cavitates")};
    kp_unit_system units = report->request->units;
    kp_section *section = kp_report_section(report, "Cavitation margin");
    kp_table_add_columns(&section->table, columns, KP_COUNT(columns));

    for (size_t m = 0; m < sweep->count; m++) {
        const kp_run *run = &sweep->runs[m];
        kp_row row = kp_row_add(&section->table);
        kp_row_text(&row, sweep->labels[m]);
        kp_row_text(&row, KP_SHOW(run->gas_pressure, KP_DIM_PRESSURE, 1, units));

        for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
            const kp_curve_summary *summary = &run->summaries[d];
            char words[2 * KP_SHOWN];

            /* Where the margin is gone, the speed from which on; else the speed up to which it holds. */
            double speed = summary->margin_goes ? summary->margin_speed : run->limits.top;
            snprintf(words, sizeof words, "%s%s", summary->margin_goes ? "! from " : "no, to ",
                     KP_SHOW(speed, KP_DIM_SPEED, 3, units));
            kp_row_text(&row, words);
        }
    }
}

static void add_json(kp_report *report, const kp_sweep *sweep)
{
    char name[64];
    kp_column column = {.dimension = sweep->dimension};

    snprintf(column.name, sizeof column.name, "%s", sweep->name);
    kp_column_full_name(&column, name, sizeof name);

    kp_json_text(report, report->extra, "family", sweep->name);
    cJSON *list = kp_json_array(report, report->extra, "members");

    for (size_t m = 0; m < sweep->count; m++) {
        cJSON *object = kp_json_object(report, list, NULL);
        kp_json_text(report, object, "label", sweep->labels[m]);
        kp_json_number(report, object, name, sweep->values[m]);
        kp_json_number(report, object, "gas_pressure_absolute_Pa", sweep->runs[m].gas_pressure);
        kp_json_summary(report, object, &sweep->runs[m], KP_COMPRESSION);
        kp_json_summary(report, object, &sweep->runs[m], KP_REBOUND);
    }

    kp_json_text(report, report->extra, "caution", kp_charge_caution);
}

/* ---- all of it --------------------------------------------------------------------------------------------------- */

void kp_report_sweep(kp_report *report, const kp_run *base, const kp_sweep *sweep)
{
    char what[64];

    name_sweep(report, sweep, what, sizeof what);
    kp_add_points(report, sweep->runs, sweep->count, sweep);
    add_json(report, sweep);

    kp_lines_add(&report->top, "%s, %zu curves by %s. %s", kp_title_of(&base->data, base->path), sweep->count, what,
                 kp_estimate_note);
    add_forces(report, sweep, KP_COMPRESSION);
    add_forces(report, sweep, KP_REBOUND);
    add_margins(report, sweep);

    kp_add_adjuster_effects(report, base);
    if (sweep->dimension == KP_DIM_PRESSURE) {
        kp_lines_add(&report->foot, "Charge changes damping only through gas force, seal drag and lost margin, and a "
                                    "little shortly before it is lost.");
    }

    kp_lines_add(&report->foot, "%s", kp_charge_caution);
}

void kp_figure_of_sweep(kp_report *report, const kp_run *base, const kp_sweep *sweep)
{
    char what[64];
    char title[192];
    name_sweep(report, sweep, what, sizeof what);
    snprintf(title, sizeof title, "%s, by %s", kp_title_of(&base->data, base->path), what);
    kp_draw_overlay(report, title, sweep->runs, sweep->count);
}
