/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A build drawn from the tolerances. Every number has a generator of its own, seeded by its place (sample, build
   number, cause, place): a build is the same whichever thread draws it, whatever was drawn before, and whatever else
   the file holds. So two stacks of one seed share the piston, the oil, the charge and the strip lots, and differ in
   their shims alone. */
#include "study/band_internal.h"
#include "num/num.h"

#include <math.h>

static const double CUT = 3.0; /* [standard deviations] inspection takes out what lies further: assumed */

/* Places within a cause. */
enum { PLACE_OF_LOT = 0x8000, PLACE_OF_BUILD = 0x1000, PLACE_OF_DIRECTION = 0x100 };

typedef struct kp_drawing {
    const kp_band_options *options;
    unsigned long long index;
    const unsigned char *sample; /* [KP_CAUSE_COUNT] */
    double part;                 /* [-] of every deviation */
} kp_drawing;

static kp_random generator(const kp_drawing *drawing, kp_cause cause, unsigned place)
{
    kp_random random;
    kp_random_seed(&random, kp_random_mix(drawing->options->seed, drawing->sample[cause], drawing->index,
                                          ((unsigned)cause << 16) | place));
    return random;
}

/* Standard normal, cut at CUT by rejection; then the part of it that is asked for. */
static double draw(const kp_drawing *drawing, kp_cause cause, unsigned place)
{
    kp_random random = generator(drawing, cause, place);
    double z;
    do {
        z = kp_random_normal(&random, 0.0, 1.0);
    } while (!(fabs(z) <= CUT));
    return drawing->part * z;
}

/* Shims of one nominal thickness share their lot's deviation; the line's own is the mean of its shims'. */
static void draw_stack(const kp_tolerances *tolerances, const kp_drawing *drawing, int d, double *deviations)
{
    const kp_valve_data *valve = &tolerances->data->valves[d];

    /* Each direction and each build number has random numbers of its own. */
    const unsigned direction = (unsigned)d * PLACE_OF_DIRECTION;
    const unsigned build = (drawing->options->build % 7) * PLACE_OF_BUILD;
    const double shared = sqrt(tolerances->correlation);

    /* Thickness: sqrt(rho) of the lot's deviation and sqrt((1 - rho)/n) of the line's own. */
    deviations[KP_DEVIATION_LAND] = draw(drawing, KP_CAUSE_LAND, direction);
    deviations[KP_DEVIATION_CLAMP] = draw(drawing, KP_CAUSE_CLAMP, direction);

    for (size_t i = 0; i < valve->line_count; i++) {
        const kp_shim_line *line = &valve->lines[i];
        size_t at = KP_DEVIATION_LINES + i;
        unsigned lot = PLACE_OF_LOT + (unsigned)lround(line->thickness * 1e6) % PLACE_OF_LOT; /* whole micrometres */
        unsigned own = build + direction + (unsigned)i;
        double alone = sqrt((1.0 - tolerances->correlation) / line->count);

        deviations[at] =
            shared * draw(drawing, KP_CAUSE_THICKNESS, lot) + alone * draw(drawing, KP_CAUSE_THICKNESS, own);
        deviations[at + valve->line_count] = draw(drawing, KP_CAUSE_DIAMETER, own) / sqrt(line->count);
    }
}

static double within(double value, double min, double max)
{
    return value < min ? min : value > max ? max : value;
}

void kp_band_draw(const kp_tolerances *tolerances, const kp_band_options *options, unsigned long long index,
                  const unsigned char sample[KP_CAUSE_COUNT], double part, kp_build *build)
{
    const double min_coefficient = 0.05; /* [-] outside any sensible tolerance: keeps a coefficient positive */
    const kp_drawing drawing = {options, index, sample, part};

    /* The grip lies anywhere between sliding and held. */
    kp_random grip = generator(&drawing, KP_CAUSE_GRIP, 0);
    kp_damper_data *data = &build->data;
    *data = *tolerances->data;
    build->held = kp_random_uniform(&grip, 0.0, 1.0);

    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        const unsigned direction = (unsigned)d * PLACE_OF_DIRECTION;
        kp_valve_data *valve = &data->valves[d];
        draw_stack(tolerances, &drawing, d, build->deviations[d]);

        /* The curtain moves with the land; shims, clamp and dish are in the lift table alone. */
        double land = tolerances->sigma[d][KP_DEVIATION_LAND] * build->deviations[d][KP_DEVIATION_LAND];
        valve->land_inner += land;
        valve->land_outer += land;
        valve->dish += tolerances->dish[d] * draw(&drawing, KP_CAUSE_DISH, direction);

        /* Coefficients stay within what they can be. */
        valve->port_discharge += tolerances->port_discharge[d] * draw(&drawing, KP_CAUSE_VALVE_DISCHARGE, direction);
        valve->port_discharge = within(valve->port_discharge, min_coefficient, 1.0);
        double curtain = draw(&drawing, KP_CAUSE_VALVE_DISCHARGE, direction + 1);
        if (valve->has_curtain_discharge) {
            valve->curtain_discharge += tolerances->curtain_discharge[d] * curtain;
            valve->curtain_discharge = within(valve->curtain_discharge, min_coefficient, 1.0);
        } else {
            valve->curtain_scale += tolerances->curtain_scale[d] * curtain;
            valve->curtain_scale = fmax(valve->curtain_scale, min_coefficient);
        }
        valve->flow_force_scale += tolerances->flow_force[d] * draw(&drawing, KP_CAUSE_VALVE_DISCHARGE, direction + 3);
        valve->flow_force_scale = fmax(valve->flow_force_scale, 0.0);
        valve->velocity_head_share +=
            tolerances->velocity_head[d] * draw(&drawing, KP_CAUSE_VALVE_DISCHARGE, direction + 2);
        valve->velocity_head_share = within(valve->velocity_head_share, 0.0, 1.0);
    }

    /* A larger coefficient as a larger area: flow is in proportion to both. */
    double flow = 1.0 + tolerances->bleed_discharge * draw(&drawing, KP_CAUSE_BLEED_DISCHARGE, 0);
    for (size_t i = 0; i < data->bleed_count; i++) {
        kp_bleed *bleed = &data->bleeds[i];
        double wider = tolerances->hole[i] * draw(&drawing, KP_CAUSE_HOLE, (unsigned)i);
        bleed->diameter = (bleed->diameter + wider) * sqrt(flow);
        bleed->jet = bleed->jetted > 0 ? (bleed->jet + wider) * sqrt(flow) : bleed->jet;
    }

    /* What both directions share. */
    data->oil_temperature += tolerances->temperature * draw(&drawing, KP_CAUSE_TEMPERATURE, 0);
    data->gas.charge_pressure += tolerances->charge * draw(&drawing, KP_CAUSE_CHARGE, 0);
    data->friction += tolerances->friction * draw(&drawing, KP_CAUSE_FRICTION, 0);
    data->friction = fmax(data->friction, 0.0);
}
