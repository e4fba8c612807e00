/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What the examiners of one room share. */
#ifndef KP_MODEL_EXAMINE_H
#define KP_MODEL_EXAMINE_H

#include "kneepoint/model.h"

/** Where findings go. The first failure to record one stays in status, and later calls do nothing. */
typedef struct kp_examiner {
    kp_findings *findings;
    kp_error *error;
    kp_status status;
    const char *prefix; /* put in front of each path: "piston.compression." */
} kp_examiner;

void kp_examiner_fault(kp_examiner *examiner, const char *path, const char *format, ...) KP_PRINTF(3, 4);
void kp_examiner_doubt(kp_examiner *examiner, const char *path, const char *format, ...) KP_PRINTF(3, 4);

/** Is the size > 0 and finite? If not, that is a fault ("bore -3 mm: must be larger than 0"). Sizes in m. */
bool kp_examiner_positive_size(kp_examiner *examiner, const char *path, const char *what, double size);
/** Is from <= number <= to? If not, that is a fault. Pure numbers. */
bool kp_examiner_between(kp_examiner *examiner, const char *path, const char *what, double number, double from,
                         double to);

#define KP_MM(metres) (1e3 * (metres)) /* for messages */
/* Two sizes from different units ("1.3 in", "33.02 mm") differ by rounding: less than this is the same size [m]. */
#define KP_SAME_SIZE 1e-9

void kp_examine_materials(kp_examiner *examiner, const kp_damper_data *damper);
/** Clamp, stop and backing washer; holes, slots and materials of the shims where lines_sound. */
void kp_examine_clamp(kp_examiner *examiner, const kp_damper_data *damper, const kp_valve_data *valve,
                      bool lines_sound);
/** One valve; KP_RESERVOIR_VALVE too. */
void kp_examine_valve(kp_examiner *examiner, const kp_damper_data *damper, int direction);
/** A plate in a stack's place; the prefix is the valve's. */
void kp_examine_plate(kp_examiner *examiner, const kp_valve_data *valve);
/** Jets and check valve of a bleed; the prefix is the bleed's. */
void kp_examine_bleed_parts(kp_examiner *examiner, const kp_bleed *bleed, double bore);
void kp_examine_adjuster(kp_examiner *examiner, const char *path, const kp_adjuster_data *adjuster);
void kp_examine_reservoir(kp_examiner *examiner, const kp_damper_data *damper);
void kp_examine_divider(kp_examiner *examiner, const kp_damper_data *damper);
void kp_examine_oil_range(kp_examiner *examiner, const kp_damper_data *damper);

#endif
