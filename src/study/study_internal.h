/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Inside the study room: writing sentences about parts. */
#ifndef KP_STUDY_INTERNAL_H
#define KP_STUDY_INTERNAL_H

#include "kneepoint/study.h"

/** Where sentences go, and in whose units. status keeps the first failure, which is memory; nothing is written after
    it. */
typedef struct kp_sentences {
    kp_differences *out;
    kp_unit_system system;
    kp_status status;
    kp_error *error;
} kp_sentences;

void kp_sentence_add(kp_sentences *sentences, const char *format, ...) KP_PRINTF(2, 3);
/** "SUBJECT changes from A to B" when two sizes differ; format and what follows it make the subject. */
void kp_sentence_number(kp_sentences *sentences, double a, double b, kp_dimension dimension, const char *format, ...)
    KP_PRINTF(5, 6);
void kp_sentence_count(kp_sentences *sentences, int a, int b, const char *format, ...) KP_PRINTF(4, 5);
/** "SUBJECT added" or "SUBJECT taken out" when only one of the two has it.
    Returned: true when both have it, so that its numbers can be compared. */
bool kp_sentence_both(kp_sentences *sentences, bool a, bool b, const char *format, ...) KP_PRINTF(4, 5);

/** True when two values are the same but for the rounding of their units (0.2 mm against 0.007874 in is not). */
bool kp_size_same(double a, double b);

enum { KP_SIZE_TEXT = 64 };
/** "33.5 mm", four digits. */
const char *kp_size_text(double value, kp_dimension dimension, kp_unit_system system, char *buffer);
/** Two sizes with as many digits as make their texts differ. */
void kp_size_texts(double a, double b, kp_dimension dimension, kp_unit_system system, char *a_text, char *b_text);
/** kp_shim_size_text with as many decimals as the thickness needs. */
const char *kp_shim_text(const kp_shim_line *line, kp_unit_system system, char *buffer);

/** compare_stack.c: sentences about what changes from stack a to stack b of one direction. */
void kp_compare_stack(kp_sentences *sentences, const char *direction, const kp_valve_data *a, const kp_valve_data *b);
/** compare_bleed.c: sentences about the bleed ports. */
void kp_compare_bleeds(kp_sentences *sentences, const kp_damper_data *a, const kp_damper_data *b);
/** compare_hydraulic.c: adjusters, jets and checks of bleeds, reservoir but for its valve, divider, oil volume. */
void kp_compare_hydraulics(kp_sentences *sentences, const kp_damper_data *a, const kp_damper_data *b);
/** A plate on a spring in the stack's place. */
void kp_compare_plate(kp_sentences *sentences, const char *direction, const kp_valve_data *a, const kp_valve_data *b);

#endif
