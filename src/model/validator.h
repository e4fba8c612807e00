/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The parts of kp_damper_validate. validator.c has what all of them use and calls none of them; validate.c calls the
    parts in the order of the file. */
#ifndef KP_MODEL_VALIDATOR_H
#define KP_MODEL_VALIDATOR_H

#include "kneepoint/model.h"

#define KP_MM(metres) (1e3 * (metres)) /* for messages */
/* Two sizes from different units ("1.3 in", "33.02 mm") differ by rounding: less than this is the same size [m]. */
#define KP_SAME_SIZE 1e-9

/* ---- validator.c ------------------------------------------------------------------------------------------- */

/** Where findings go. The first failure to record one stays in status, and later calls do nothing. */
typedef struct kp_validator {
    kp_findings *findings;
    kp_error *error;
    kp_status status;
    const char *prefix; /* put in front of each path: "piston.compression." */
} kp_validator;

void kp_validator_fault(kp_validator *validator, const char *path, const char *format, ...) KP_PRINTF(3, 4);
void kp_validator_warning(kp_validator *validator, const char *path, const char *format, ...) KP_PRINTF(3, 4);

/** Is the size [m] > 0 and finite? If not, that is a fault ("bore -3 mm must be larger than 0"). */
bool kp_validator_positive_size(kp_validator *validator, const char *path, const char *what, double size);
/** Is from <= number <= to [-]? If not, that is a fault. */
bool kp_validator_between(kp_validator *validator, const char *path, const char *what, double number, double from,
                          double to);

/* ---- validate_clamp.c -------------------------------------------------------------------------------------- */

void kp_validate_materials(kp_validator *validator, const kp_damper_data *damper);
/** Clamp, stop and backing washer; where lines_sound also the holes, slots and materials of the shims. */
void kp_validate_clamp(kp_validator *validator, const kp_damper_data *damper, const kp_valve_data *valve,
                       bool lines_sound);

/* ---- validate_valve.c -------------------------------------------------------------------------------------- */

/** One valve: a kp_direction, or KP_RESERVOIR_VALVE. */
void kp_validate_valve(kp_validator *validator, const kp_damper_data *damper, int direction);

/* ---- validate_hydraulic.c ---------------------------------------------------------------------------------- */

/** A plate in a stack's place; the prefix is the valve's. */
void kp_validate_plate(kp_validator *validator, const kp_valve_data *valve);
/** Jets and check valve of a bleed; the prefix is the bleed's. bore [m] bounds the seat of the check valve. */
void kp_validate_bleed_parts(kp_validator *validator, const kp_bleed *bleed, double bore);
/** An adjuster; path is its key. */
void kp_validate_adjuster(kp_validator *validator, const char *path, const kp_adjuster_data *adjuster);
void kp_validate_reservoir(kp_validator *validator, const kp_damper_data *damper);
void kp_validate_divider(kp_validator *validator, const kp_damper_data *damper);
void kp_validate_oil_range(kp_validator *validator, const kp_damper_data *damper);

#endif
