/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What makes two builds of one damper differ, and by how much when the file does not say. Each number has its
   standing: read in a source, from memory, or assumed. */
#include "study/band_internal.h"
#include "study/study_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double SIGMAS = 2.0; /* [-] a tolerance is this many standard deviations: assumed, 95 % lie within */

/* [m] by nominal thickness, at and above `from`. */
static const struct {
    double from, tolerance;
} strip[] = {
    {0.0, 0.006e-3},     /* EN 10140 class B (fine), width < 125 mm: read in a restated table */
    {0.10e-3, 0.008e-3}, /* the same, over 0.10 to 0.15 mm                                                */
    {0.15e-3, 0.010e-3}, /* EN ISO 9445 fine: read in a restated table, as EN 10140 was cut off     */
    {0.20e-3, 0.012e-3}, {0.25e-3, 0.012e-3}, {0.30e-3, 0.015e-3},
};
static const double STRIP_END = 0.40e-3; /* [m] end of the tables */
static const double BEYOND = 0.04;       /* [-] of the thickness above it: assumed, as at the tables' end */
static const double EDGE = 1e-9;         /* [m] 0.20 mm of an inch file is 0.20 mm */

/* ISO 2768-1 class f (fine), linear sizes, memory: [m] up to a size [m]. For diameters of shims, land and clamp edge.
 */
static const struct {
    double to, tolerance;
} general[] = {{6e-3, 0.05e-3}, {30e-3, 0.10e-3}, {120e-3, 0.15e-3}, {1.0, 0.20e-3}};

/* ISO 286 grade IT11, its half each way, memory: drilled bleed holes. */
static const double HOLE_SMALL = 0.030e-3, HOLE_LARGE = 0.0375e-3, HOLE_SMALL_TO = 3e-3; /* [m] */

static const double DISH = 0.03e-3;           /* [m] of a dished seat: assumed, a good lathe; a flat one is lapped: 0 */
static const double BLEED_DISCHARGE = 0.11;   /* [-] relative: two published short-tube models differ by this (read) */
static const double CURTAIN_DISCHARGE = 0.10; /* [-] of a given coefficient: assumed */
static const double CURTAIN_SCALE = 0.08;     /* [-] the computations' own error (src/flow/curtain.c) */
static const double FLOW_FORCE = 0.25;     /* [-] their error of 6 % in the load, over the quarter that is taken off */
static const double PORT_DISCHARGE = 0.10; /* [-] 0.61 (sharp edge) to 0.81 (short tube): read */
static const double VELOCITY_HEAD = 0.2;   /* [-] assumed: 0.1 in the computed recess, twice that in another */
static const double TEMPERATURE = 10.0;    /* [K] assumed: a damper warmed by hand against one on the road */
static const double CHARGE = 0.5e5;        /* [Pa] assumed: reading of a workshop gauge, and what the hose takes */

static const struct {
    const char *key, *name, *standing;
} causes[KP_CAUSE_COUNT] = {
    [KP_CAUSE_THICKNESS] = {"thickness", "strip thickness",
                            "EN 10140 class B to 0.15 mm, EN ISO 9445 fine above (read in restated tables)"},
    [KP_CAUSE_DIAMETER] = {"diameter", "shim diameter", "ISO 2768-1 fine (memory)"},
    [KP_CAUSE_LAND] = {"land", "land position", "ISO 2768-1 fine (memory)"},
    [KP_CAUSE_CLAMP] = {"clamp", "clamp edge", "ISO 2768-1 fine (memory)"},
    [KP_CAUSE_DISH] = {"dish", "dish", "assumed +/- 0.03 mm on a dished seat, 0 on a flat one"},
    [KP_CAUSE_GRIP] = {"grip", "radial grip",
                       "anywhere between sliding and held, evenly; a hole that the file does not "
                       "give is assumed two thirds of the clamp"},
    [KP_CAUSE_HOLE] = {"hole", "bleed hole size", "ISO 286 IT11, half each way (memory)"},
    [KP_CAUSE_BLEED_DISCHARGE] = {"bleed_discharge", "bleed discharge",
                                  "+/- 11 %, how far two published short-tube models differ (read)"},
    [KP_CAUSE_VALVE_DISCHARGE] = {"valve_discharge", "valve discharge",
                                  "port +/- 0.10 (0.61 to 0.81, read), gap under the shims +/- 8 % and flow force on "
                                  "them +/- 25 % (own error of the computations behind them), share of the jet on the "
                                  "shims +/- 0.2 (assumed)"},
    [KP_CAUSE_TEMPERATURE] = {"temperature", "oil temperature", "assumed +/- 10 K"},
    [KP_CAUSE_CHARGE] = {"charge", "charge", "assumed +/- 0.5 bar"},
    [KP_CAUSE_FRICTION] = {"friction", "friction", "only when the file gives its tolerance"},
};

const char *kp_cause_name(kp_cause cause)
{
    return causes[cause].name;
}

const char *kp_cause_key(kp_cause cause)
{
    return causes[cause].key;
}

const char *kp_cause_standing(kp_cause cause)
{
    return causes[cause].standing;
}

double kp_strip_tolerance(double thickness)
{
    double tolerance = strip[0].tolerance;
    if (thickness > STRIP_END + EDGE) {
        return BEYOND * thickness;
    }
    for (size_t i = 0; i < sizeof strip / sizeof strip[0]; i++) {
        /* EN 10140 counts 0.10 mm to the thinner class, ISO 9445 a limit to the thicker */
        bool reached = i == 1 ? thickness > strip[i].from + EDGE : thickness >= strip[i].from - EDGE;
        tolerance = reached ? strip[i].tolerance : tolerance;
    }
    return tolerance;
}

static double general_tolerance(double size)
{
    size_t i = 0;
    while (i + 1 < sizeof general / sizeof general[0] && size > general[i].to) {
        i++;
    }
    return general[i].tolerance;
}

/* ---- the tolerances of a damper ---- */

typedef struct kp_finding_out {
    const kp_damper_data *data;
    kp_cause_found *found;
    kp_unit_system system;
} kp_finding_out;

/* Standard deviation of a number: the file's own tolerance, else the default. Its spread is
   noted in words, once. */
static double sigma_of(kp_finding_out *out, kp_cause cause, const double *number, double otherwise,
                       kp_dimension dimension)
{
    kp_cause_found *found = &out->found[cause];
    double tolerance = otherwise;
    bool own = kp_damper_tolerance(out->data, number, &tolerance);
    if (!(tolerance > 0.0)) {
        return 0.0;
    }

    /* A tolerance of a temperature or a gas pressure is a difference: no offset, no gauge. */
    char size[KP_SIZE_TEXT], width[KP_SIZE_TEXT], text[3 * KP_SIZE_TEXT];
    kp_dimension of_width = dimension == KP_DIM_TEMPERATURE    ? KP_DIM_TEMPERATURE_DIFFERENCE
                            : dimension == KP_DIM_GAS_PRESSURE ? KP_DIM_PRESSURE
                                                               : dimension;
    kp_size_text(*number, dimension, out->system, size);
    kp_size_text(tolerance, of_width, out->system, width);
    snprintf(text, sizeof text, "%s +/- %s%s", size, width, own ? " (file)" : "");

    /* Several numbers of one cause share its text; each spread is named once. */
    size_t used = strlen(found->spread);
    if (strstr(found->spread, text) == NULL && used + strlen(text) + 3 < sizeof found->spread) {
        snprintf(found->spread + used, sizeof found->spread - used, "%s%s", used > 0 ? "; " : "", text);
    }

    found->acts = true;
    found->from_file = found->from_file || own;
    return tolerance / SIGMAS;
}

static void find_valve(kp_finding_out *out, kp_tolerances *tolerances, int d)
{
    const kp_valve_data *valve = &out->data->valves[d];
    tolerances->port_discharge[d] =
        sigma_of(out, KP_CAUSE_VALVE_DISCHARGE, &valve->port_discharge, PORT_DISCHARGE, KP_DIM_NONE);
    if (valve->has_curtain_discharge) {
        tolerances->curtain_discharge[d] =
            sigma_of(out, KP_CAUSE_VALVE_DISCHARGE, &valve->curtain_discharge, CURTAIN_DISCHARGE, KP_DIM_NONE);
    } else {
        tolerances->curtain_scale[d] =
            sigma_of(out, KP_CAUSE_VALVE_DISCHARGE, &valve->curtain_scale, CURTAIN_SCALE, KP_DIM_NONE);
    }
    tolerances->flow_force[d] =
        sigma_of(out, KP_CAUSE_VALVE_DISCHARGE, &valve->flow_force_scale, FLOW_FORCE, KP_DIM_NONE);
    tolerances->velocity_head[d] =
        sigma_of(out, KP_CAUSE_VALVE_DISCHARGE, &valve->velocity_head_share, VELOCITY_HEAD, KP_DIM_NONE);
}

static void find_stack(kp_finding_out *out, kp_tolerances *tolerances, int d)
{
    const kp_valve_data *valve = &out->data->valves[d];
    double *sigma = tolerances->sigma[d];
    if (valve->has_plate) {
        find_valve(out, tolerances, d);
        return; /* a plate on a spring: its sizes are not varied */
    }

    sigma[KP_DEVIATION_LAND] =
        sigma_of(out, KP_CAUSE_LAND, &valve->land_inner, general_tolerance(valve->land_inner), KP_DIM_LENGTH);
    sigma[KP_DEVIATION_CLAMP] =
        sigma_of(out, KP_CAUSE_CLAMP, &valve->clamp_washer, general_tolerance(valve->clamp_washer), KP_DIM_LENGTH);

    for (size_t i = 0; i < valve->line_count; i++) {
        const kp_shim_line *line = &valve->lines[i];
        sigma[KP_DEVIATION_LINES + i] =
            sigma_of(out, KP_CAUSE_THICKNESS, &line->thickness, kp_strip_tolerance(line->thickness), KP_DIM_LENGTH);

        /* A small shim that does the clamping moves with the clamp's edge. */
        double diameter = 0.0;
        if (line->outside > valve->clamp_washer + SIGMAS * general_tolerance(line->outside)) {
            diameter =
                sigma_of(out, KP_CAUSE_DIAMETER, &line->outside, general_tolerance(line->outside), KP_DIM_LENGTH);
        }
        sigma[KP_DEVIATION_LINES + valve->line_count + i] = diameter;
    }

    tolerances->count[d] = KP_DEVIATION_LINES + 2 * valve->line_count;
    tolerances->dish[d] = sigma_of(out, KP_CAUSE_DISH, &valve->dish, valve->dish > 0.0 ? DISH : 0.0, KP_DIM_LENGTH);
    find_valve(out, tolerances, d);
}

void kp_band_tolerances(const kp_damper_data *data, const kp_band_options *options, kp_tolerances *tolerances,
                        kp_cause_found found[KP_CAUSE_COUNT])
{
    kp_finding_out out = {data, found, options->system};
    memset(found, 0, KP_CAUSE_COUNT * sizeof *found);
    memset(tolerances, 0, sizeof *tolerances);
    tolerances->data = data;
    tolerances->correlation = options->correlation;

    /* Stacks and valves, bleeds, then what the whole damper shares. */
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        find_stack(&out, tolerances, d);
    }

    for (size_t i = 0; i < data->bleed_count; i++) {
        const kp_bleed *bleed = &data->bleeds[i];
        if (bleed->ports > bleed->plugged) {
            tolerances->hole[i] = sigma_of(&out, KP_CAUSE_HOLE, &bleed->diameter,
                                           bleed->diameter <= HOLE_SMALL_TO ? HOLE_SMALL : HOLE_LARGE, KP_DIM_LENGTH);
            tolerances->bleed_discharge = BLEED_DISCHARGE / SIGMAS;
        }
    }

    if (tolerances->bleed_discharge > 0.0) {
        found[KP_CAUSE_BLEED_DISCHARGE].acts = true;
        snprintf(found[KP_CAUSE_BLEED_DISCHARGE].spread, sizeof found[0].spread, "flow +/- %.0f %%",
                 100.0 * BLEED_DISCHARGE);
    }

    tolerances->temperature =
        sigma_of(&out, KP_CAUSE_TEMPERATURE, &data->oil_temperature, TEMPERATURE, KP_DIM_TEMPERATURE);
    tolerances->charge =
        data->gas_open ? 0.0 : sigma_of(&out, KP_CAUSE_CHARGE, &data->gas.charge_pressure, CHARGE, KP_DIM_GAS_PRESSURE);
    tolerances->friction = sigma_of(&out, KP_CAUSE_FRICTION, &data->friction, 0.0, KP_DIM_FORCE);

    found[KP_CAUSE_GRIP].acts = true;
    snprintf(found[KP_CAUSE_GRIP].spread, sizeof found[0].spread, "sliding to held");
}

void kp_band_set_grip(kp_valve_data *valve, kp_grip grip)
{
    valve->grip = grip;
    if (grip == KP_GRIP_SLIDING && !valve->has_hole) {
        valve->has_hole = true;
        valve->hole = kp_assumed_hole(valve->clamp_washer);
    }
}

void kp_band_move_stack(const kp_tolerances *tolerances, kp_direction direction, const double *deviations,
                        kp_damper_data *data)
{
    const double *sigma = tolerances->sigma[direction];
    const kp_valve_data *nominal = &tolerances->data->valves[direction];
    kp_valve_data *valve = &data->valves[direction];

    /* Deviations of land and clamp are diameters [m]. */
    double land = sigma[KP_DEVIATION_LAND] * deviations[KP_DEVIATION_LAND];
    double clamp = sigma[KP_DEVIATION_CLAMP] * deviations[KP_DEVIATION_CLAMP];

    /* Land and clamp edge move as a whole, shims that do the clamping with it. */
    valve->land_inner = nominal->land_inner + land;
    valve->land_outer = nominal->land_outer + land;
    valve->clamp_washer = nominal->clamp_washer + clamp;

    /* Thickness and diameter of each line; a line's number of shims is not varied. */
    for (size_t i = 0; i < nominal->line_count; i++) {
        size_t at = KP_DEVIATION_LINES + i;
        size_t wide = at + nominal->line_count;
        valve->lines[i].thickness = nominal->lines[i].thickness + sigma[at] * deviations[at];
        valve->lines[i].outside =
            nominal->lines[i].outside +
            (nominal->lines[i].outside <= nominal->clamp_washer ? clamp : sigma[wide] * deviations[wide]);
    }
}
