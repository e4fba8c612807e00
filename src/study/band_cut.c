/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tolerances cut at what is possible: a clamp next to its port, a land next to the face shim's edge or a charge next to
   the atmosphere leaves less room than the usual tolerance takes. What could not be built is not sampled: the tolerance
   of the size is narrowed until both of its ends are possible, and the cause says so. */
#include "study/band_internal.h"

#include <stddef.h>
#include <stdlib.h>
#include <string.h>

static const double FAR_OUT = 4.1; /* [standard deviations] no build lies further: see draw_stack in band_draw.c */

enum { BISECTIONS = 10 }; /* [-] the cut is known to a thousandth of the tolerance */

typedef struct kp_cutting {
    kp_tolerances *tolerances;
    kp_cause_found *found;
    kp_damper_data *moved;
    bool valid; /* the file's damper has no fault, so that a moved one is asked for them */
    kp_direction direction;
    double signs[KP_MAX_DEVIATIONS]; /* -1, 0 or 1: the corner that is tried */
    size_t offset;                   /* of the number that is tried alone [bytes into kp_damper_data] */
    double sigma;                    /* of that number */
} kp_cutting;

/* Is the damper in which a corner of the stack's sizes, at a part of its distance, is taken possible? */
static bool corner_possible(const kp_cutting *cutting, double factor)
{
    double deviations[KP_MAX_DEVIATIONS];
    kp_disc discs[KP_MAX_STACK_LINES];
    kp_stack_workspace *workspace = NULL;
    *cutting->moved = *cutting->tolerances->data;
    for (size_t i = 0; i < cutting->tolerances->count[cutting->direction]; i++) {
        deviations[i] = factor * FAR_OUT * cutting->signs[i];
    }

    kp_band_move_stack(cutting->tolerances, cutting->direction, deviations, cutting->moved);
    kp_stack stack = kp_damper_stack(cutting->moved, cutting->direction, discs);
    bool good = (!cutting->valid || kp_damper_fault(cutting->moved, NULL) == KP_OK) &&
                kp_stack_begin(&stack, &kp_stack_exactly, &workspace, NULL) == KP_OK;
    kp_stack_free(workspace);
    return good;
}

/* Is the damper with one number moved to either side possible? */
static bool number_possible(const kp_cutting *cutting, double factor)
{
    bool good = true;
    for (int sign = -1; good && sign <= 1; sign += 2) {
        double value;
        *cutting->moved = *cutting->tolerances->data;
        memcpy(&value, (char *)cutting->moved + cutting->offset, sizeof value);
        value += sign * factor * FAR_OUT * cutting->sigma;
        memcpy((char *)cutting->moved + cutting->offset, &value, sizeof value);
        good = kp_damper_fault(cutting->moved, NULL) == KP_OK;
    }
    return good;
}

/* The largest part of the tolerance that is possible, to BISECTIONS. */
static double possible_part(const kp_cutting *cutting, bool (*possible)(const kp_cutting *, double))
{
    if (possible(cutting, 1.0)) {
        return 1.0;
    }

    double good = 0.0, bad = 1.0; /* a size with no room at all does not vary */
    for (int i = 0; i < BISECTIONS; i++) {
        double middle = 0.5 * (good + bad);
        *(possible(cutting, middle) ? &good : &bad) = middle;
    }
    return good;
}

kp_cause kp_band_cause_of(const kp_tolerances *tolerances, kp_direction direction, size_t deviation)
{
    size_t lines = tolerances->data->valves[direction].line_count;
    return deviation == KP_DEVIATION_LAND           ? KP_CAUSE_LAND
           : deviation == KP_DEVIATION_CLAMP        ? KP_CAUSE_CLAMP
           : deviation < KP_DEVIATION_LINES + lines ? KP_CAUSE_THICKNESS
                                                    : KP_CAUSE_DIAMETER;
}

/* Narrows the tolerance of the sizes that the corner moves. */
static void cut_corner(kp_cutting *cutting)
{
    kp_tolerances *tolerances = cutting->tolerances;
    double part = possible_part(cutting, corner_possible);
    for (size_t i = 0; part < 1.0 && i < tolerances->count[cutting->direction]; i++) {
        double *sigma = &tolerances->sigma[cutting->direction][i];
        if (cutting->signs[i] != 0.0 && *sigma > 0.0) {
            *sigma *= part;
            cutting->found[kp_band_cause_of(tolerances, cutting->direction, i)].cut = true;
        }
    }
}

/* Each size alone, then corners of all: clamp, land and diameters first, and the thicknesses with them. */
static void cut_stack(kp_cutting *cutting)
{
    kp_tolerances *tolerances = cutting->tolerances;
    size_t count = tolerances->count[cutting->direction];
    double *signs = cutting->signs;

    for (size_t i = 0; i < count; i++) {
        for (int sign = -1; tolerances->sigma[cutting->direction][i] > 0.0 && sign <= 1; sign += 2) {
            memset(signs, 0, sizeof cutting->signs);
            signs[i] = sign;
            cut_corner(cutting);
        }
    }

    /* Four kinds of sizes: each bit of the corner is the side of one; without thickness, then with it. */
    for (unsigned corner = 0; corner < 24; corner++) {
        for (size_t i = 0; i < count; i++) {
            unsigned kind = (unsigned)kp_band_cause_of(tolerances, cutting->direction, i);
            unsigned bit = kind == KP_CAUSE_LAND ? 0 : kind == KP_CAUSE_CLAMP ? 1 : kind == KP_CAUSE_DIAMETER ? 2 : 3;
            double side = (corner >> bit & 1U) != 0 ? 1.0 : -1.0;
            signs[i] = bit == 3 && corner < 8 ? 0.0 : side;
        }
        cut_corner(cutting);
    }
}

static void cut_number(kp_cutting *cutting, const double *number, double *sigma, kp_cause cause)
{
    if (!(*sigma > 0.0) || !cutting->valid) {
        return;
    }

    cutting->offset = (size_t)((const char *)number - (const char *)cutting->tolerances->data);
    cutting->sigma = *sigma;
    double part = possible_part(cutting, number_possible);
    if (part < 1.0) {
        *sigma *= part;
        cutting->found[cause].cut = true;
    }
}

kp_status kp_band_cut(kp_tolerances *tolerances, kp_cause_found found[KP_CAUSE_COUNT], kp_error *error)
{
    const kp_damper_data *data = tolerances->data;
    kp_cutting cutting = {.tolerances = tolerances, .found = found, .valid = kp_damper_fault(data, NULL) == KP_OK};
    cutting.moved = malloc(sizeof *cutting.moved);
    if (cutting.moved == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "no memory for a moved damper");
    }

    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        cutting.direction = (kp_direction)d;
        if (tolerances->count[d] > 0) {
            cut_stack(&cutting);
        }
        cut_number(&cutting, &data->valves[d].dish, &tolerances->dish[d], KP_CAUSE_DISH);
    }

    for (size_t i = 0; i < data->bleed_count; i++) {
        cut_number(&cutting, &data->bleeds[i].diameter, &tolerances->hole[i], KP_CAUSE_HOLE);
    }
    cut_number(&cutting, &data->oil_temperature, &tolerances->temperature, KP_CAUSE_TEMPERATURE);
    cut_number(&cutting, &data->gas.charge_pressure, &tolerances->charge, KP_CAUSE_CHARGE);

    free(cutting.moved);
    return KP_OK;
}
