/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The points of curves as data, and the summary of a direction. */
#include "report/report_internal.h"

#include <math.h>
#include <string.h>

/** One number of a point, by its place in the struct, and the column it fills. */
typedef struct kp_point_column {
    kp_column_spec column;
    size_t offset; /* [bytes] */
} kp_point_column;

#define POINT(name, heading, dimension, member)                                                                        \
    {                                                                                                                  \
        KP_NUMBER_COLUMN(name, heading, dimension, 3), offsetof(kp_curve_point, member)                                \
    }

static const kp_point_column point_columns[] = {
    POINT("force", "force", KP_DIM_FORCE, force),
    POINT("damping_force", "damping force", KP_DIM_FORCE, damping_force),
    POINT("gas_force", "gas force", KP_DIM_FORCE, gas_force),
    POINT("piston_drop", "piston drop", KP_DIM_PRESSURE, piston_drop),
    POINT("disc_pressure", "disc pressure", KP_DIM_PRESSURE, disc_pressure),
    POINT("bleed_flow", "bleed flow", KP_DIM_FLOW, bleed_flow),
    POINT("leak_flow", "leak flow", KP_DIM_FLOW, leak_flow),
    POINT("valve_flow", "valve flow", KP_DIM_FLOW, valve_flow),
    POINT("seat_lift", "seat lift", KP_DIM_LENGTH, seat_lift),
    POINT("peak_stress", "peak stress", KP_DIM_STRESS, peak_stress),
    POINT("cavitation_margin", "margin", KP_DIM_PRESSURE, cavitation_margin),
    POINT("friction_force", "friction", KP_DIM_FORCE, friction_force),
    POINT("hydraulic_force", "hydraulic force", KP_DIM_FORCE, hydraulic_force),
    POINT("force_slope", "slope", KP_DIM_DAMPING, force_slope),
    POINT("opening", "opening", KP_DIM_LENGTH, opening),
    POINT("edge_lift", "edge lift", KP_DIM_LENGTH, edge_lift),
    POINT("void_flow", "void flow", KP_DIM_FLOW, void_flow),
    POINT("couette_flow", "wall drag flow", KP_DIM_FLOW, couette_flow),
    POINT("fatigue_use", "fatigue use", KP_DIM_NONE, fatigue_use),
    POINT("reservoir_flow", "reservoir flow", KP_DIM_FLOW, reservoir_flow),
    POINT("reservoir_drop", "reservoir drop", KP_DIM_PRESSURE, reservoir_drop),
    POINT("hose_drop", "hose drop", KP_DIM_PRESSURE, hose_drop),
    POINT("rod_void_flow", "void flow, compression chamber", KP_DIM_FLOW, rod_void_flow),
    POINT("compression_chamber_margin", "margin, compression chamber", KP_DIM_PRESSURE, compression_margin),
    POINT("rebound_chamber_margin", "margin, rebound chamber", KP_DIM_PRESSURE, rebound_margin),
    POINT("reservoir_peak_stress", "peak stress, reservoir", KP_DIM_STRESS, reservoir_peak_stress),
};

static void add_point(kp_table *table, const kp_run *run, const kp_curve_point *point, const double *member)
{
    char note[KP_NOTE];
    kp_row row = kp_row_add(table);

    kp_row_text(&row, kp_direction_name(point->direction));
    kp_row_number(&row, fabs(point->speed));

    if (member != NULL) {
        kp_row_number(&row, *member);
    }

    /* The numbers of a point, by the table above. */
    for (size_t i = 0; i < KP_COUNT(point_columns); i++) {
        double value;
        memcpy(&value, (const char *)point + point_columns[i].offset, sizeof value);
        kp_row_number(&row, value);
    }

    kp_row_number(&row, point->past_yield ? 1.0 : 0.0);
    kp_row_number(&row, point->cavitates ? 1.0 : 0.0);
    kp_row_number(&row, point->reservoir_past_yield ? 1.0 : 0.0);
    kp_row_number(&row, kp_point_risks(point) == 0 ? 1.0 : 0.0);
    kp_row_text(&row, kp_point_note(run, point, note));
}

void kp_add_points(kp_report *report, const kp_run *runs, size_t count, const kp_sweep *sweep)
{
    static const kp_column_spec first[] = {KP_TEXT_COLUMN("direction", "direction"),
                                           KP_NUMBER_COLUMN("speed", "speed", KP_DIM_SPEED, 3)};
    static const kp_column_spec last[] = {
        KP_NUMBER_COLUMN("past_yield", "past yield", KP_DIM_NONE, 0),
        KP_NUMBER_COLUMN("cavitates", "cavitates", KP_DIM_NONE, 0),
        KP_NUMBER_COLUMN("reservoir_past_yield", "reservoir past yield", KP_DIM_NONE, 0),
        KP_NUMBER_COLUMN("sound", "sound", KP_DIM_NONE, 0), KP_TEXT_COLUMN("note", "")};
    kp_table *table = &report->data;

    /* Direction and speed, the swept value where there is one, the numbers of a point, then marks and note. */
    kp_table_add_columns(table, first, KP_COUNT(first));
    if (sweep != NULL) {
        kp_table_add_column(table, sweep->name, sweep->name, sweep->dimension, 3, NULL, NULL);
    }

    for (size_t i = 0; i < KP_COUNT(point_columns); i++) {
        kp_table_add_columns(table, &point_columns[i].column, 1);
    }

    kp_table_add_columns(table, last, KP_COUNT(last));

    /* Runs one after another, each first in compression, then in rebound. */
    for (size_t r = 0; r < count; r++) {
        for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
            for (size_t i = 0; i < runs[r].count; i++) {
                add_point(table, &runs[r], &runs[r].points[d][i], sweep != NULL ? &sweep->values[r] : NULL);
            }
        }
    }
}

void kp_json_summary(kp_report *report, cJSON *parent, const kp_run *run, kp_direction direction)
{
    const kp_curve_summary *s = &run->summaries[direction];
    const double none = (double)NAN;
    cJSON *object = kp_json_object(report, parent, kp_direction_name(direction));

    /* Knee, slopes and forces. */
    kp_json_number(report, object, "knee_speed_m_s", s->has_knee ? s->knee_speed : none);
    kp_json_number(report, object, "knee_force_N", s->has_knee ? s->knee_force : none);
    kp_json_number(report, object, "low_slope_N_s_m", s->low_slope);
    kp_json_number(report, object, "mid_slope_N_s_m", s->mid_slope);
    kp_json_number(report, object, "high_slope_N_s_m", s->high_slope);
    kp_json_number(report, object, "low_force_N", s->low_force);
    kp_json_number(report, object, "mid_force_N", s->mid_force);
    kp_json_number(report, object, "high_force_N", s->high_force);

    /* Shape. */
    kp_json_number(report, object, "shape_index", s->shape_index);
    kp_json_text(report, object, "shape", kp_shape_name(s->shape_index));
    kp_json_number(report, object, "shape_from_m_s", s->shape_from);
    kp_json_number(report, object, "shape_to_m_s", s->shape_to);

    /* What limits the range: margin and yield. */
    kp_json_number(report, object, "margin_gone_speed_m_s", s->margin_goes ? s->margin_speed : none);
    kp_json_number(report, object, "margin_shortfall_Pa", s->margin_goes ? s->margin_shortfall : 0.0);
    kp_json_number(report, object, "charge_needed_Pa", s->has_charge_needed ? s->charge_needed : none);
    kp_json_number(report, object, "yield_speed_m_s", s->past_yield ? s->yield_speed : none);
    kp_json_number(report, object, "reservoir_yield_speed_m_s",
                   s->reservoir_past_yield ? s->reservoir_yield_speed : none);
    kp_json_bool(report, object, "sound", kp_summary_risks(s) == 0);
}
