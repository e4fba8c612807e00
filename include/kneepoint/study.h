/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Studies on whole dampers: what differs between two, why a curve has its shape, one change in steps, and how far
   builds of one damper scatter. Outputs are unchanged on error unless stated; each has a function that frees what it
   holds. */
#ifndef KNEEPOINT_STUDY_H
#define KNEEPOINT_STUDY_H

#include "kneepoint/base.h"
#include "kneepoint/damper.h"
#include "kneepoint/model.h"
#include "kneepoint/stack.h"

KP_BEGIN_DECLARATIONS

/* ---- what differs in the parts ---- */

/** One sentence a difference. */
typedef struct kp_differences {
    size_t count, capacity; /* [-] */
    char (*items)[256];     /* [count] */
} kp_differences;

/** Given:    two dampers, a and b; the unit system of the sizes in the sentences
    Returned: what changes from a to b: "compression stack: 1 of 38 x 0.20 mm added above shim 3". Sizes that differ by
              the rounding of their units are the same
    Errors:   KP_NO_MEMORY */
KP_API kp_status kp_compare_parts(const kp_damper_data *a, const kp_damper_data *b, kp_unit_system system,
                                  kp_differences *out, kp_error *error);
/** Frees the items; the record is then as zeroed. */
KP_API void kp_differences_free(kp_differences *differences);

/* ---- explain: which path carries the flow, where the knee is, how sensitive the curve is to each part ---- */

enum { KP_EXPLAIN_SPEEDS = 3, KP_PART_TEXT = 256, KP_WHY_NOT_TEXT = 256 };
typedef enum kp_explain_speed { KP_AT_LOW, KP_AT_MID, KP_AT_HIGH } kp_explain_speed;

/** Share of each path in the whole at one point. The members of each group sum to 1. */
typedef struct kp_path_shares {
    /* [-] of |speed| x (bore area - rod area) */
    double bleed_flow, leak_flow, valve_flow, void_flow;
    /* [-] of the piston drop, on the way through the valve: in the port (less the part of its jet that loads the
       shims), and under the lifted shims */
    double port_drop, disc_drop;
    /* [-] of hydraulic force x speed; reservoir: its valve or check, and the hose */
    double bleed_power, leak_power, port_power, disc_power, void_power, reservoir_power;
} kp_path_shares;
/** Given:    a point of the curve
    Returned: the shares, from the ledger of the point alone
    Accuracy: each group sums to 1 within 1e-12 */
KP_API kp_path_shares kp_explain_shares(const kp_curve_point *point);

/** What one change of one part does, by a run of its own. */
typedef struct kp_sensitivity {
    char part[KP_PART_TEXT];       /* "compression shim 3 (42 x 0.20 mm)" */
    char change[KP_PART_TEXT];     /* "taken out" */
    bool acts[KP_DIRECTION_COUNT]; /* the part takes part in this direction */
    bool solved;                   /* the changed damper exists and has a solution; else see why_not */
    char why_not[KP_WHY_NOT_TEXT];
    unsigned risks; /* kp_risk bits, at one of the three speeds */
    /* [N] of |hydraulic force|; + is firmer */
    double change_of_force[KP_DIRECTION_COUNT][KP_EXPLAIN_SPEEDS];
    kp_curve_summary summaries[KP_DIRECTION_COUNT];
    kp_damper_data *data; /* the changed damper: what was run */
} kp_sensitivity;

/** Where the shims of one direction stop being round, and what that does to its curve. */
typedef struct kp_folding {
    bool folds;      /* up to the high speed; all else is 0 where not */
    bool by_ports;   /* the ports bend the shims into their own number, as soon as they open */
    int lobes;       /* [-] */
    double pressure; /* [Pa] on the shims, from which on they are folded: that of cracking where they fold as they open,
                        0 where that is at once */
    bool has_speed;  /* that pressure is reached between creeping and the top */
    double speed;    /* [m/s] where; with has_speed */
    bool has_change; /* the same damper with its shims held round has a solution */
    double change;   /* [-] of |hydraulic force| at the high speed, against shims held round; with has_change */
} kp_folding;

typedef struct kp_explanation {
    double speeds[KP_EXPLAIN_SPEEDS]; /* [m/s] half the low limit, the geometric middle of the mid range, the top */
    kp_curve_point points[KP_DIRECTION_COUNT][KP_EXPLAIN_SPEEDS];
    kp_curve_summary summaries[KP_DIRECTION_COUNT];
    bool has_cracking[KP_DIRECTION_COUNT];       /* the shims are pressed on their seat: not so on a flat one */
    double cracking[KP_DIRECTION_COUNT];         /* [Pa] drop up to which they stay closed; with has_cracking */
    bool has_cracking_speed[KP_DIRECTION_COUNT]; /* that drop is reached below the top */
    double cracking_speed[KP_DIRECTION_COUNT];   /* [m/s] where; with has_cracking_speed */
    kp_folding folding[KP_DIRECTION_COUNT];
    size_t lines_left_out;         /* [-] stack lines too many to change each: evenly left out */
    size_t sensitivity_count;      /* [-] changes listed */
    size_t shown_count;            /* [-] of them run before the pool was stopped: the first ones */
    kp_sensitivity *sensitivities; /* [sensitivity_count] */
} kp_explanation;

/** Given:    data that kp_damper_validate finds no fault in; limits; unit system of sizes in the texts; pool (threads,
              stop, progress; no workspaces needed)
    Returned: explanation. Each sensitivity is a whole run of the changed damper, so it equals one by hand to the bit.
              Sensitivities need not sum to anything: parts act on each other
    Errors:   as kp_damper_begin for the damper itself; KP_INTERRUPTED, with out filled. A changed damper that cannot be
              is no error */
KP_API kp_status kp_explain(const kp_damper_data *data, kp_speed_limits limits, kp_unit_system system,
                            const kp_pool *pool, kp_explanation *out, kp_error *error);
/** Frees what kp_explain allocated in the record. */
KP_API void kp_explanation_free(kp_explanation *explanation);
/** Returned: the sensitivity with the largest change of force there, firmer or softer; NULL when none acts. */
KP_API const kp_sensitivity *kp_explain_strongest(const kp_explanation *explanation, kp_direction direction,
                                                  kp_explain_speed at);

/* ---- lesson: one change in steps, from the user's own damper ---- */

typedef enum kp_lesson_topic {
    KP_LESSON_BLEED,
    KP_LESSON_DISH,
    KP_LESSON_CROSSOVER,
    KP_LESSON_TAPER,
    KP_LESSON_THICKNESS,
    KP_LESSON_CHARGE,
    KP_LESSON_TEMPERATURE,
    KP_LESSON_CLAMP,
    KP_LESSON_FOLDING,
    KP_LESSON_COUNT
} kp_lesson_topic;
/** Returned: "bleed", "dish" and so on. */
KP_API const char *kp_lesson_name(kp_lesson_topic topic);

enum { KP_LESSON_STEPS = 5 };

typedef struct kp_lesson_step {
    char label[KP_PART_TEXT]; /* "3 open", "0.40 mm (as in the file)" */
    bool as_found;            /* the damper as the user gave it */
    bool solved;              /* else see why_not */
    char why_not[KP_WHY_NOT_TEXT];
    kp_damper_data *data;
    kp_damper *damper; /* NULL unless it could be prepared */
    kp_curve_point points[KP_EXPLAIN_SPEEDS];
    kp_curve_summary summary;
} kp_lesson_step;

typedef struct kp_lesson {
    kp_lesson_topic topic;
    kp_direction direction;
    double speeds[KP_EXPLAIN_SPEEDS]; /* [m/s] as in kp_explanation */
    size_t step_count;                /* [-] */
    kp_lesson_step steps[KP_LESSON_STEPS];
    char made_up[256]; /* what the lesson had to put in, as the file has none; "" for nothing */
    const char *look_for, *why, *question;
    char answer[640]; /* with the numbers of this sweep */
} kp_lesson;

/** Makes the steps from the user's damper and runs each whole.
    Given:    as kp_explain; topic; direction
    Returned: lesson
    Errors:   KP_ANSWER_NO with the reason when this damper cannot show the topic; KP_INTERRUPTED; KP_NO_MEMORY. A step
              that cannot be is no error */
KP_API kp_status kp_lesson_run(const kp_damper_data *data, kp_lesson_topic topic, kp_direction direction,
                               kp_speed_limits limits, kp_unit_system system, const kp_pool *pool, kp_lesson *out,
                               kp_error *error);
/** Frees what kp_lesson_run allocated in the record. */
KP_API void kp_lesson_free(kp_lesson *lesson);

/* ---- band: how much of a difference is noise ---- */

/** What makes two builds of one damper differ. Shims of one nominal thickness are of one strip lot. */
typedef enum kp_cause {
    KP_CAUSE_THICKNESS,
    KP_CAUSE_DIAMETER,
    KP_CAUSE_LAND,
    KP_CAUSE_CLAMP,
    KP_CAUSE_DISH,
    KP_CAUSE_GRIP,
    KP_CAUSE_HOLE,
    KP_CAUSE_BLEED_DISCHARGE,
    KP_CAUSE_VALVE_DISCHARGE,
    KP_CAUSE_TEMPERATURE,
    KP_CAUSE_CHARGE,
    KP_CAUSE_FRICTION,
    KP_CAUSE_COUNT
} kp_cause;
/** Returned: "strip thickness", for people. */
KP_API const char *kp_cause_name(kp_cause cause);
/** Returned: "thickness", for column names and options. */
KP_API const char *kp_cause_key(kp_cause cause);
/** Returned: where its default comes from, and whether it was read. */
KP_API const char *kp_cause_standing(kp_cause cause);

/** Given:    thickness [m] of a strip
    Returned: its default tolerance, each way [m]
    Valid:    0.02 to 3 mm; above 0.40 mm 4 % of the thickness, our continuation
    Source:   EN 10140 class B to 0.15 mm, EN ISO 9445 fine above (both read in restated tables) */
KP_API double kp_strip_tolerance(double thickness);

typedef struct kp_band_options {
    size_t samples;          /* [-] 40 to 200000 */
    unsigned long long seed; /* [-] */
    double correlation;      /* [-] 0 to 1, between the thicknesses of two shims of one lot */
    size_t speed_count;      /* [-] 1 to 200 */
    const double *speeds;    /* [speed_count] [m/s] > 0, rising */
    unsigned build;          /* [-] builds of different number have shims of their own and share all else: two stacks
                                sampled with one seed differ by their shims alone */
    kp_unit_system system;   /* of the sizes in kp_cause_found.spread */
} kp_band_options;
/** Returned: 10000 samples, seed 1, correlation 0.8, no speeds. */
KP_API kp_band_options kp_band_options_default(void);

/** One cause as it is in this damper. */
typedef struct kp_cause_found {
    bool acts;        /* some tolerance of it is not 0 */
    bool from_file;   /* the file gave one of them */
    bool cut;         /* one of them is narrower than that: further out there is no such damper, or no solution */
    char spread[192]; /* "0.20 mm +/- 0.012 mm, ..." */
} kp_cause_found;

typedef struct kp_band_point {
    double nominal;                           /* [N] force as the file has it, every part in it, signed */
    kp_quantile lower, median, upper;         /* [N] of the force: 2.5, 50 and 97.5 % of builds */
    double cavitating;                        /* [-] share of builds that cavitate here */
    bool has_shares;                          /* enough samples for shares */
    kp_variance_share shares[KP_CAUSE_COUNT]; /* of the force's variance; with has_shares */
} kp_band_point;

typedef struct kp_band {
    kp_cause_found causes[KP_CAUSE_COUNT];
    size_t asked, done;                        /* [-] samples; fewer done when interrupted */
    size_t share_rows;                         /* [-] of them also used for shares */
    size_t nearer;                             /* [-] of the done ones, taken nearer to the file's sizes than drawn, as
                                                  the damper that was drawn has no solution */
    size_t speed_count;                        /* [-] */
    double *speeds;                            /* [speed_count] [m/s] */
    kp_band_point *points[KP_DIRECTION_COUNT]; /* [speed_count] */
    double *damping[KP_DIRECTION_COUNT];       /* [done x speed_count] [N] force without gas, > 0 resists the motion */
    size_t verification_count;                 /* [-] builds also solved without the surrogate */
    double verification_error; /* [-] largest |surrogate - solved| of their forces over the half width of the
                                  band there */
    double verification_force; /* [N] the same in newtons */
} kp_band;

/** Tolerance band of the force by sampling builds of one damper.
    Given:    data that kp_damper_validate finds no fault in; options; pool (threads, stop, progress)
    Returned: band: the same bits for any number of threads. A tolerance is two standard deviations of a normal spread
              cut at three; grip is uniform between sliding and held. The lift of each build comes from a surrogate:
              stacks are solved on a central composite design, at the nominal sizes and at sqrt(3) standard deviations
              of each size and of pairs of sizes, and the logarithm of the lift at a pressure is a polynomial of second
              degree in the sizes. Shares by pick-freeze on every second sample (Saltelli et al., Comput. Phys. Commun.
              181 (2010) 259)
    Accuracy: sampling error in each quantile and share; verification_error is the cost of the surrogate
    Errors:   KP_OUT_OF_RANGE with the number; as kp_damper_begin; KP_INTERRUPTED: out holds the samples done when these
              are at least 40, else it is unchanged */
KP_API kp_status kp_band_run(const kp_damper_data *data, const kp_band_options *options, const kp_pool *pool,
                             kp_band *out, kp_error *error);
/** Frees what kp_band_run allocated in the record. */
KP_API void kp_band_free(kp_band *band);

/** Quantiles of b's damping less a's, build by build. */
typedef struct kp_band_difference {
    kp_quantile lower, median, upper; /* [N] 2.5, 50, 97.5 % */
    bool beyond_noise;                /* 0 is outside 2.5 to 97.5 %, by more than their own sampling error */
} kp_band_difference;
/** Where two stacks differ by more than the noise.
    Given:    bands of one seed and one list of speeds, with builds of different number; direction; speed: its index
    Returned: the difference over the smaller of their numbers of samples
    Errors:   KP_OUT_OF_RANGE when speeds differ or fewer than 40 samples are in common; KP_NO_MEMORY */
KP_API kp_status kp_band_compare(const kp_band *a, const kp_band *b, kp_direction direction, size_t speed,
                                 kp_band_difference *out, kp_error *error);

/* ---- run.c: one damper worked out -------------------------------------------------------------------------------- */

/** A damper with its points at the speeds asked for, in both directions, and its summaries. Zero it before use. */
typedef struct kp_run {
    const char *path; /* what messages call it: its file. It must outlive the run */
    kp_damper_data data;
    kp_damper *damper;
    double gas_pressure; /* [Pa absolute] at the position and temperature of the data */
    kp_speed_limits limits;
    const double *speeds; /* [count] [m/s] > 0; they must outlive the run */
    size_t count;         /* [-] points per direction */
    kp_curve_point *points[KP_DIRECTION_COUNT];
    kp_curve_summary summaries[KP_DIRECTION_COUNT];
} kp_run;

/** Works out the points and the summaries of one damper.
    Given:    path for messages; data as read and examined; speeds [count] [m/s] > 0; limits of the summaries [m/s]
    Returned: run, to be freed with kp_run_free, after an error too
    Status:   as kp_damper_begin, kp_curve_at and kp_curve_summarise, with the path in front of the message */
KP_API kp_status kp_run_begin(kp_run *run, const char *path, const kp_damper_data *data, const double *speeds,
                              size_t count, kp_speed_limits limits, kp_error *error);
/** The same damper with other oil, temperature, charge or clicks, so that the shims need no new solution.
    Given:    base, which must outlive the run; data that differs from base's in these alone
    Returned: run at the speeds and limits of base, otherwise as kp_run_begin
    Status:   as kp_damper_variant, kp_curve_at and kp_curve_summarise, with the path in front of the message */
KP_API kp_status kp_run_begin_variant(kp_run *run, const kp_run *base, const kp_damper_data *data, kp_error *error);
/** Given: a run, also one that was only zeroed. */
KP_API void kp_run_free(kp_run *run);

/** Returned: the smallest cavitation margin of the points [Pa]. */
KP_API double kp_run_min_margin(const kp_run *run);
/** Returned: the risks of every point and of the range of the summaries, kp_risk bits; 0 is sound. */
KP_API unsigned kp_run_risks(const kp_run *run);
/** Returned: index of the point whose speed is nearest to the one given [m/s]; the first of equals. */
KP_API size_t kp_run_nearest(const kp_run *run, double speed);
/** Returned: the largest speed of the points [m/s]. */
KP_API double kp_run_top_speed(const kp_run *run);
/** Returned: true for a point below yield whose cycle is beyond a shim's fatigue line. Guidance, not a limit. */
KP_API bool kp_point_tires(const kp_curve_point *point);
/** Returned: force without gas force [N], positive when it resists the motion: what most dynos show. */
KP_API double kp_point_damping(const kp_curve_point *point);

/** Returned: the speeds of a curve when none are asked for [count] [m/s]. */
KP_API const double *kp_default_speeds(size_t *count);
/** Returned: the speeds of a band when none are asked for [count] [m/s]. */
KP_API const double *kp_default_band_speeds(size_t *count);
/** Given: speeds [count] [m/s] in any order. Returned: how many there are, rising and each once, in sorted [count]. */
KP_API size_t kp_sort_speeds(const double *speeds, size_t count, double *sorted);

/* ---- sweep.c: one damper at several oil temperatures, charges or clicks ------------------------------------------ */

enum { KP_MAX_MEMBERS = 7, KP_MEMBER_LABEL = 96 };

/** A family of curves. Zero it before use, fill it with one of the three functions, name its members, run each. */
typedef struct kp_sweep {
    const char *name; /* "temperature", "charge" or "clicks": what its members differ in */
    kp_dimension dimension;
    size_t count;
    double values[KP_MAX_MEMBERS];                /* [SI] of what they differ in */
    char labels[KP_MAX_MEMBERS][KP_MEMBER_LABEL]; /* "60 degC": the caller's words */
    char paths[KP_MAX_MEMBERS][KP_MEMBER_LABEL + 256];
    kp_run runs[KP_MAX_MEMBERS]; /* data from the start, the rest once it is run */
} kp_sweep;

/** Given: base; values [count] [K], count <= KP_MAX_MEMBERS. Returned: sweep whose members have base's data but for the
    oil's temperature. */
KP_API void kp_sweep_temperatures(kp_sweep *sweep, const kp_damper_data *base, const double *values, size_t count);
/** The same with charges [Pa absolute]; gauge: they were given as gauge. */
KP_API void kp_sweep_charges(kp_sweep *sweep, const kp_damper_data *base, const double *values, size_t count,
                             bool gauge);
/** The same with up to six places of an adjuster from closed to open. Valid: the damper has the adjuster. */
KP_API void kp_sweep_clicks(kp_sweep *sweep, const kp_damper_data *base, kp_direction adjuster);
/** Runs one member. Given: base, worked out, which must outlive the sweep. Returned: the run, named after its label.
    Status: as kp_run_begin_variant, with the label in front of the message. */
KP_API kp_status kp_sweep_run(kp_sweep *sweep, size_t member, const kp_run *base, kp_error *error);
/** Frees what the sweep allocated in the record. */
KP_API void kp_sweep_free(kp_sweep *sweep);

/** Returned: the adjuster of a direction, rebound's in the piston and compression's at the reservoir; NULL for none. */
KP_API kp_adjuster_data *kp_adjuster_of(kp_damper_data *data, kp_direction direction);
/** What opening an adjuster from where it stands does at the low-speed limit, in both directions.
    Returned: false when the damper has no such adjuster or cannot be worked out; else change of the oil's force [%]. */
KP_API bool kp_adjuster_effect(const kp_run *run, kp_direction which, double change[KP_DIRECTION_COUNT]);

/* ---- lift_study.c: one stack against pressure -------------------------------------------------------------------- */

/** Where the lift of small deflection comes from. */
typedef enum kp_small_lift {
    KP_SMALL_CLOSED_FORM, /* one kind of shim: Roark's plate */
    KP_SMALL_TANGENT,     /* several kinds: the stack's own lift at a load small enough to be proportional */
    KP_SMALL_NONE         /* a loose ring bends the stack before there is any load */
} kp_small_lift;

typedef struct kp_lift_study {
    kp_direction direction;
    const kp_valve_data *valve;
    kp_disc discs[KP_MAX_STACK_LINES];
    kp_stack stack;                         /* of these discs */
    kp_shim_part parts[KP_MAX_STACK_LINES]; /* what each stack line is */
    double clamps[KP_MAX_STACK_LINES];      /* [m] diameters that clamp them */
    size_t shim_count;                      /* [-] single shims */
    bool round;                             /* set before the study begins: the stack is held round */
    kp_stack_workspace *workspace;
    kp_stack_workspace
        *held_round; /* the same stack held round, which no real one is beyond its onset; NULL: this is it */
    kp_onset onset;  /* of the stack without its seat, up to 10 MPa; even pressure */
    double cracking; /* [Pa] 0 when neither dish nor ring presses the stack on its seat */
    kp_small_lift small;
    double small_edge_per_pressure; /* [m/Pa] lift of the face shim's edge; NAN for KP_SMALL_NONE */
} kp_lift_study;

/** The shims of one stack line, which deflect together, at one pressure. */
typedef struct kp_lift_line {
    double edge_lift;   /* [m] */
    double peak_stress; /* [Pa] von Mises */
    kp_cycle cycle;     /* from rest to this pressure and back; NAN without strengths */
    bool yields;        /* peak stress is past the yield, or not finite */
    bool tires;         /* it does not yield, but the cycle is beyond Goodman's line */
} kp_lift_line;

/** The stack at one pressure. */
typedef struct kp_lift_row {
    double pressure;        /* [Pa] */
    double seat_lift;       /* [m] of the face shim at the land's inner edge, from the clamp plane; the mean of lobes */
    double seat_lift_crest; /* [m] the same at the crest of a lobe ...                                    */
    double seat_lift_valley; /* [m] ... and in the valley                                                  */
    double opening;          /* [m] of the seat, >= 0; the mean                                            */
    double opening_max;      /* [m] the largest                                                            */
    double edge_lift;        /* [m] of the face shim's edge; the mean                                      */
    int lobes;               /* [-] 0 while it is round                                                    */
    double round_edge_lift;  /* [m] edge_lift of the stack held round                                      */
    double small_edge_lift;  /* [m] the same by small deflection, without the seat */
    double peak_stress;      /* [Pa] the largest of all lines */
    double fatigue_use;      /* [-] the largest of all lines; NAN when no shim's strengths are known */
    bool held;               /* the seat holds the face shim */
    bool past_yield;         /* some line yields */
    kp_lift_line lines[KP_MAX_STACK_LINES];
} kp_lift_row;

/** Called just after a row is solved; the study's workspace holds its solution. */
typedef void (*kp_lift_visit)(const kp_lift_study *study, size_t row, void *context);

/** Given:    data as read and validated, which must outlive the study; study zeroed but for `round`
    Returned: study with cracking pressure, onset of folding and small-deflection lift. Free it with kp_lift_study_end,
   after an error too Status:   as kp_stack_begin, kp_stack_solve and kp_lift_table_build */
KP_API kp_status kp_lift_study_begin(const kp_damper_data *data, kp_direction direction, kp_lift_study *study,
                                     kp_error *error);
/** Frees the study's workspace. */
KP_API void kp_lift_study_end(kp_lift_study *study);

/** Solves the stack at each pressure; nothing is interpolated.
    Given:    pressures [count], Pa, >= 0, in any order; free_stack: without the seat; visit: NULL for none
    Returned: rows [count] in the order of the pressures. They are solved from the lowest pressure to the highest, so
              the bits of a row depend on the other pressures; fatigue is that of a cycle from rest
    Status:   as kp_stack_solve; KP_NO_MEMORY */
KP_API kp_status kp_lift_study_rows(const kp_lift_study *study, const double *pressures, size_t count, bool free_stack,
                                    kp_lift_row *rows, kp_lift_visit visit, void *context, kp_error *error);

enum { KP_PROFILE_POINTS = 49 }; /* [-] evenly from where a shim is clamped (a ring: from its hole) to its edge */

/** One radius of the shims of a stack line. */
typedef struct kp_profile_point {
    double radius, lift; /* [m] */
    kp_disc_stress stress;
} kp_profile_point;

/** Returned: the profile of a stack line in the state that the study solved last, from the inside outward; false for a
    spacer, which does not bend. */
KP_API bool kp_lift_profile(const kp_lift_study *study, size_t line, kp_profile_point points[KP_PROFILE_POINTS]);

/* ---- lift_sensitivity.c: what a workshop cannot measure exactly ---------------------------------------------------
 */

typedef enum kp_lift_parameter {
    KP_LIFT_NOMINAL, /* the stack as given */
    KP_LIFT_GRIP,
    KP_LIFT_CLAMP,
    KP_LIFT_LAND,
    KP_LIFT_THICKNESS
} kp_lift_parameter;

/** The stack with one parameter changed. */
typedef struct kp_lift_sensitivity {
    kp_lift_parameter parameter;
    double step;       /* [m] signed, of the diameter or of each shim's thickness; 0 for the others */
    kp_grip grip;      /* of the changed stack */
    double hole;       /* [m] of the changed stack, when its shims slide */
    bool hole_assumed; /* the file names no hole */
    bool solved;       /* false: why_not says why there is no such stack or pressure */
    char why_not[256];
    double pressure; /* [Pa] that opens the seat so far; NAN unless solved */
    double change;   /* [-] of the pressure, relative to the nominal one; NAN unless solved */
    bool past_yield; /* some shim is, at that pressure */
} kp_lift_sensitivity;

enum { KP_LIFT_SENSITIVITIES = 8 };

/** Pressure that opens the seat by a given lift, and its change when one parameter changes.
    Given:    data as read and validated; opening of the seat [m], > 0
    Returned: rows, the nominal one first, then grip, clamp, land and thickness, larger before smaller. Each is the root
              of a stack of its own, solved without the seat
    Accuracy: pressure to 1e-10 of itself
    Status:   that of the nominal stack; KP_NO_MEMORY. A changed stack that is impossible is a row that is not solved */
KP_API kp_status kp_lift_sensitivities(const kp_damper_data *data, kp_direction direction, double opening,
                                       kp_lift_sensitivity rows[KP_LIFT_SENSITIVITIES], kp_error *error);

/* ---- sentence.c: a shim in words --------------------------------------------------------------------------------- */

enum { KP_SHIM_TEXT = 160 };
/** Returned: "38 x 0.20 mm", "1.496 x 0.0079 in", "38 x 0.20 mm, hole 20 mm, slots 4 x 2 mm, material bronze", in
   buffer [KP_SHIM_TEXT]. A thickness between two usual ones (0.125 mm) gets one decimal more, up to max_decimals. */
KP_API const char *kp_shim_size_text(const kp_shim_line *line, kp_unit_system system, int max_decimals, char *buffer);

enum { KP_SHIM_NUMBERS_TEXT = 48 };
/** Given:    the number of the first shim, counted from 1 at the seat; how many follow one another from it; a buffer of
              KP_SHIM_NUMBERS_TEXT bytes
    Returned: the buffer: "shim 3", "shims 3 and 4", "shims 3 to 5" */
KP_API const char *kp_shim_numbers_text(size_t first, size_t count, char *buffer);

KP_END_DECLARATIONS

#endif
