/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Solves one stack at the pressures asked for, point by point: no interpolation stands between the solver and what
    `lift` prints. */
#ifndef KP_CLI_LIFT_H
#define KP_CLI_LIFT_H

#include "cli/output.h"
#include "kneepoint/disc.h"
#include "kneepoint/model.h"

/** What small-deflection theory is taken from. */
typedef enum kp_small_kind {
    KP_SMALL_CLOSED_FORM, /* one kind of shim: Roark's plate */
    KP_SMALL_TANGENT      /* several: the stack's own lift at a load small enough to be proportional */
} kp_small_kind;

typedef struct kp_lift_study {
    kp_direction direction;
    const kp_valve_data *valve;
    kp_disc discs[KP_MAX_STACK_LINES];
    kp_stack stack; /* its discs are the ones above */
    kp_stack_workspace *workspace;
    double cracking; /* [Pa] 0 when flat or negative dish */
    kp_small_kind small_kind;
    double small_edge_per_pressure; /* [m/Pa] */
    size_t shim_count;              /* [-] single shims */
} kp_lift_study;

/** One pressure. The stack lines share the numbers of their shims: shims of a line deflect together. */
typedef struct kp_lift_row {
    double pressure;                                       /* [Pa] */
    double seat_lift, opening, edge_lift, small_edge_lift; /* [m]  */
    double peak_stress;                                    /* [Pa] */
    bool held;                                             /* the seat holds the face shim */
    double line_edge_lift[KP_MAX_STACK_LINES];             /* [m]  */
    double line_stress[KP_MAX_STACK_LINES];                /* [Pa] */
} kp_lift_row;

/** data must outlive the study. */
kp_status kp_lift_study_begin(const kp_damper_data *data, kp_direction direction, kp_lift_study *study,
                              kp_error *error);
/** rows [count], in the order of pressures [count]; solved from the lowest to the highest. */
kp_status kp_lift_study_rows(const kp_lift_study *study, const double *pressures, size_t count, bool free_stack,
                             kp_lift_row *rows, kp_error *error);
/** True when the shims of a stack line are past their yield. */
bool kp_lift_row_yields(const kp_lift_study *study, const kp_lift_row *row, size_t line);
void kp_lift_study_end(kp_lift_study *study);
/** One sentence: what the small-deflection column is. */
const char *kp_lift_small_words(const kp_lift_study *study);

/** figure_lift.c: lift and stress from 0 to a pressure [Pa]. */
kp_status kp_figure_of_lift(kp_output *output, const kp_lift_study *study, const char *title, double most,
                            kp_error *error);

#endif
