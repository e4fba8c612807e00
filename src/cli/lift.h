/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Solves one stack at the pressures asked for, point by point: no interpolation stands between the solver and what
    `lift` prints. */
#ifndef KP_CLI_LIFT_H
#define KP_CLI_LIFT_H

#include "cli/output.h"
#include "kneepoint/lift.h"
#include "kneepoint/stack.h"
#include "kneepoint/model.h"

/** What small-deflection theory is taken from. */
typedef enum kp_small_kind {
    KP_SMALL_CLOSED_FORM, /* one kind of shim: Roark's plate */
    KP_SMALL_TANGENT,     /* several: the stack's own lift at a load small enough to be proportional */
    KP_SMALL_NONE         /* a loose ring bends the stack already: it has no straight line from zero */
} kp_small_kind;

typedef struct kp_lift_study {
    kp_direction direction;
    const kp_valve_data *valve;
    kp_disc discs[KP_MAX_STACK_LINES];
    kp_stack stack; /* its discs are the ones above */
    kp_stack_workspace *workspace;
    double cracking; /* [Pa] 0 when neither dish nor ring presses the stack on its seat */
    kp_small_kind small_kind;
    double small_edge_per_pressure; /* [m/Pa] */
    size_t shim_count;              /* [-] single shims */
    kp_shim_part parts[KP_MAX_STACK_LINES];
    double clamps[KP_MAX_STACK_LINES]; /* [m] diameters */
} kp_lift_study;

/** One pressure. The stack lines share the numbers of their shims: shims of a line deflect together. */
typedef struct kp_lift_row {
    double pressure;                                       /* [Pa] */
    double seat_lift, opening, edge_lift, small_edge_lift; /* [m]  */
    double peak_stress;                                    /* [Pa] */
    bool held;                                             /* the seat holds the face shim */
    double line_edge_lift[KP_MAX_STACK_LINES];             /* [m]  */
    double line_stress[KP_MAX_STACK_LINES];                /* [Pa] */
    kp_cycle line_cycle[KP_MAX_STACK_LINES]; /* from rest to this pressure and back; use NAN without strengths */
    double fatigue_use;                      /* [-] the largest; NAN when no shim's strengths are known */
} kp_lift_row;

/** Looks at the workspace just after a row was solved. */
typedef void (*kp_lift_visit)(const kp_lift_study *study, size_t row, void *context);

/** data must outlive the study. */
kp_status kp_lift_study_begin(const kp_damper_data *data, kp_direction direction, kp_lift_study *study,
                              kp_error *error);
/** rows [count], in the order of pressures [count]; solved from the lowest to the highest. visit may be NULL. */
kp_status kp_lift_study_rows(const kp_lift_study *study, const double *pressures, size_t count, bool free_stack,
                             kp_lift_row *rows, kp_lift_visit visit, void *context, kp_error *error);
/** Lift of the face shim at the land's inner edge [m], as it is solved now. */
double kp_lift_seat_now(const kp_lift_study *study);
/** 0 for what is far below the size of an atom: rounding of a stack at rest, not a lift. [m] */
double kp_lift_clean(double lift);
/** True when the shims of a stack line are past their yield. */
bool kp_lift_row_yields(const kp_lift_study *study, const kp_lift_row *row, size_t line);
/** True when they stay below it, but a cycle from rest to this pressure is beyond their fatigue line. */
bool kp_lift_row_tires(const kp_lift_study *study, const kp_lift_row *row, size_t line);
/** "shims 1 to 3 would set or break; shim 4 would tire", "" when neither. */
enum { KP_LIFT_NOTE = 320 };
const char *kp_lift_note(const kp_lift_study *study, const kp_lift_row *row, char note[KP_LIFT_NOTE]);
void kp_lift_study_end(kp_lift_study *study);
/** One sentence: what the small-deflection column is. */
const char *kp_lift_small_words(const kp_lift_study *study);

/** One radius of a stack line's shims. */
enum { KP_PROFILE_POINTS = 49 }; /* [-] evenly from where the shim is held (a ring: its hole) to its edge */
typedef struct kp_profile_point {
    double radius, lift; /* [m] */
    kp_disc_stress stress;
} kp_profile_point;
/** lift_profile.c: the profile of a line as it is solved now; false for a spacer, which has none. */
bool kp_lift_profile_take(const kp_lift_study *study, size_t line, kp_profile_point points[KP_PROFILE_POINTS]);
/** lift_profile.c: solves and fills the data and the sections of `lift --profile`. */
kp_status kp_lift_profile_fill(kp_output *output, const kp_lift_study *study, const double *pressures, size_t count,
                               kp_lift_row *rows, kp_error *error);
/** lift_sensitivity.c: the data and the section of `lift --doubts`. */
kp_status kp_lift_sensitivity_fill(kp_output *output, const kp_lift_study *study, const kp_damper_data *data,
                                   kp_error *error);
/** lift_table.c: the data and the sections of `lift`. */
kp_status kp_lift_table_fill(kp_output *output, const kp_lift_study *study, const kp_lift_row *rows, size_t count,
                             kp_error *error);

/** figure_section.c: the first `count` panels of the figure become the stack's section at these pressures [Pa], rising,
    the first of them 0; with stress, the shims are coloured by it. */
kp_status kp_figure_add_sections(kp_figure *figure, const kp_lift_study *study, const double *pressures, size_t count,
                                 bool free_stack, bool stress, kp_unit_system units, kp_error *error);
/** figure_lift.c: the section at rest and at some of the pressures [Pa], then lift and stress from 0 to the largest. */
kp_status kp_figure_of_lift(kp_output *output, const kp_lift_study *study, const char *title, const double *pressures,
                            size_t count, kp_error *error);

#endif
