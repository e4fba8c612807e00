/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kneepoint/model.h"

#include <stdint.h>
#include <string.h>

const char kp_spring_steel_name[] = "spring steel";
/* [-] relative: how far the washer's own edge, and the second of two points of a step, is moved out. The solver wants
   radii that rise from the clamp; a micrometre is below any washer's roundness. */
static const double STEP = 5e-5;

const char *kp_direction_name(kp_direction direction)
{
    return direction == KP_REBOUND ? "rebound" : "compression";
}

/* Place of a number in the damper; false for one that is somewhere else. */
static bool place_of(const kp_damper_data *damper, const double *number, size_t *offset)
{
    uintptr_t from = (uintptr_t)damper;
    uintptr_t at = (uintptr_t)number;
    *offset = at - from;
    return at >= from && at < from + sizeof *damper;
}

bool kp_damper_keep_tolerance(kp_damper_data *damper, const double *number, double tolerance)
{
    size_t offset;
    if (!place_of(damper, number, &offset) || damper->tolerance_count >= KP_MAX_TOLERANCES) {
        return false;
    }
    damper->tolerances[damper->tolerance_count++] = (kp_tolerance){offset, tolerance};
    return true;
}

bool kp_damper_tolerance(const kp_damper_data *damper, const double *number, double *tolerance)
{
    size_t offset;
    if (!place_of(damper, number, &offset)) {
        return false;
    }

    for (size_t i = 0; i < damper->tolerance_count; i++) {
        if (damper->tolerances[i].offset == offset) {
            *tolerance = damper->tolerances[i].tolerance;
            return true;
        }
    }
    return false;
}

bool kp_damper_material(const kp_damper_data *damper, const kp_shim_line *line, kp_material *out)
{
    const char *name = line->material[0] == '\0' ? kp_spring_steel_name : line->material;
    for (size_t i = 0; i < damper->material_count && i < KP_MAX_MATERIALS; i++) {
        if (strcmp(damper->materials[i].name, name) == 0) {
            *out = damper->materials[i].material;
            return true;
        }
    }

    *out = kp_material_spring_steel();
    return strcmp(name, kp_spring_steel_name) == 0;
}

double kp_valve_load_share(const kp_valve_data *valve)
{
    return valve->has_ports ? valve->port_share : valve->load_coverage;
}

double kp_valve_slot_inner(const kp_valve_data *valve, const kp_shim_line *line)
{
    return line->has_slot_depth ? line->outside - 2.0 * line->slot_depth : valve->land_inner - 2.0 * line->slot_width;
}

double kp_valve_hole(const kp_valve_data *valve, const kp_shim_line *line)
{
    return line->has_hole ? line->hole : valve->has_hole ? valve->hole : 0.0;
}

void kp_valve_parts(const kp_valve_data *valve, kp_shim_part *parts, double *clamps)
{
    double held = valve->clamp_washer;
    for (size_t i = valve->line_count; i-- > 0;) {
        const kp_shim_line *line = &valve->lines[i];
        clamps[i] = held;
        if (kp_valve_hole(valve, line) > held) {
            parts[i] = KP_SHIM_RING;
        } else if (line->outside <= held) {
            parts[i] = KP_SHIM_SPACER;
            held = line->outside;
        } else {
            parts[i] = KP_SHIM_PLATE;
        }
    }
}

/* Lift stop or backing washer: points in radii, rising from the clamp's edge. */
static void put_backing(const kp_valve_data *valve, kp_stack *stack)
{
    if (valve->has_stop && valve->backing_count == 0) {
        stack->stop_count = valve->stop_outside > valve->clamp_washer ? 1 : 0; /* else no shim can reach it */
        stack->stop_radius[0] = valve->stop_outside / 2.0;
        stack->stop_gap[0] = valve->stop_gap;
        return;
    }

    /* A profile: radii that rise strictly from the clamp. */
    double min = valve->clamp_washer / 2.0 * (1.0 + STEP);
    for (size_t i = 0; i < valve->backing_count && i < KP_STOP_POINTS; i++) {
        double radius = valve->backing[i].diameter / 2.0;
        stack->stop_radius[i] = radius > min ? radius : min;
        stack->stop_gap[i] = valve->backing[i].gap;
        stack->stop_count++;
        min = stack->stop_radius[i] * (1.0 + STEP);
    }
}

kp_stack kp_damper_stack(const kp_damper_data *damper, kp_direction direction, kp_disc *discs)
{
    const kp_valve_data *valve = &damper->valves[direction];
    for (size_t i = 0; i < valve->line_count; i++) {
        const kp_shim_line *line = &valve->lines[i];
        double hole = kp_valve_hole(valve, line);
        discs[i] = (kp_disc){.outer_radius = line->outside / 2.0,
                             .thickness = line->thickness,
                             .count = line->count,
                             .has_hole = hole > 0.0,
                             .hole_radius = hole / 2.0};
        if (line->slot_count > 0) {
            discs[i].slot_count = line->slot_count;
            discs[i].slot_width = line->slot_width;
            discs[i].slot_inner = kp_valve_slot_inner(valve, line) / 2.0;
        }
        kp_damper_material(damper, line, &discs[i].material);
    }

    /* Valve diameters become radii. */
    kp_stack stack = {
        .clamp_radius = valve->clamp_washer / 2.0,
        .disc_count = valve->line_count,
        .discs = discs,
        .port_inner_radius = valve->port_inner / 2.0,
        .land_inner_radius = valve->land_inner / 2.0,
        .land_outer_radius = valve->land_outer / 2.0,
        .load_coverage = kp_valve_load_share(valve),
        .ports = valve->has_ports ? valve->port_count : 0,
        .port_share = valve->has_ports ? valve->port_share : 0.0,
        .dish = valve->dish,
        .flatness = valve->flatness,
        .folds = !valve->held_round,
        .grip = valve->grip,
        .nut_load = valve->nut_load,
        .nut_friction = valve->nut_friction,
    };
    put_backing(valve, &stack);
    return stack;
}
