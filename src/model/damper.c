/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kneepoint/model.h"

const char *kp_direction_name(kp_direction direction)
{
    return direction == KP_REBOUND ? "rebound" : "compression";
}

kp_stack kp_damper_stack(const kp_damper_data *damper, kp_direction direction, kp_disc *discs)
{
    const kp_valve_data *valve = &damper->valves[direction];
    for (size_t i = 0; i < valve->line_count; i++) {
        const kp_shim_line *line = &valve->lines[i];
        discs[i] = (kp_disc){.outer_radius = line->outside / 2.0,
                             .thickness = line->thickness,
                             .count = line->count,
                             .material = kp_material_spring_steel()};
    }
    return (kp_stack){
        .clamp_radius = valve->clamp_washer / 2.0,
        .disc_count = valve->line_count,
        .discs = discs,
        .port_inner_radius = valve->port_inner / 2.0,
        .land_inner_radius = valve->land_inner / 2.0,
        .land_outer_radius = valve->land_outer / 2.0,
        .load_coverage = valve->load_coverage,
        .dish = valve->dish,
        .stop_count = valve->has_stop ? 1 : 0,
        .stop_radius = {valve->stop_outside / 2.0},
        .stop_gap = {valve->stop_gap},
        .grip = valve->grip,
    };
}
