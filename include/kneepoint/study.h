/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Studies on whole dampers: what differs between two, why a curve has its shape, one change in steps, and how far
   builds of one damper scatter. Outputs are unchanged on error unless stated; each has a function that frees what it
   holds. */
#ifndef KNEEPOINT_STUDY_H
#define KNEEPOINT_STUDY_H

#include "kneepoint/base.h"
#include "kneepoint/damper.h"
#include "kneepoint/model.h"

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
kp_status kp_compare_parts(const kp_damper_data *a, const kp_damper_data *b, kp_unit_system system, kp_differences *out,
                           kp_error *error);
void kp_differences_free(kp_differences *differences);

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
kp_path_shares kp_explain_shares(const kp_curve_point *point);

/** What one change of one part does, by a run of its own. */
typedef struct kp_sensitivity {
    char part[KP_PART_TEXT];       /* "compression shim 3 (42 x 0.20 mm)" */
    char change[KP_PART_TEXT];     /* "taken out" */
    bool acts[KP_DIRECTION_COUNT]; /* the part takes part in this direction */
    bool solved;                   /* the changed damper exists and has a solution; else see why_not */
    char why_not[KP_WHY_NOT_TEXT];
    bool past_yield; /* a shim yields at one of the three speeds */
    bool cavitates;  /* at one of the three speeds */
    /* [N] of |hydraulic force|; + is firmer */
    double change_of_force[KP_DIRECTION_COUNT][KP_EXPLAIN_SPEEDS];
    kp_curve_summary summaries[KP_DIRECTION_COUNT];
    kp_damper_data *data; /* the changed damper: what was run */
} kp_sensitivity;

typedef struct kp_explanation {
    double speeds[KP_EXPLAIN_SPEEDS]; /* [m/s] half the low limit, the geometric middle of the mid range, the top */
    kp_curve_point points[KP_DIRECTION_COUNT][KP_EXPLAIN_SPEEDS];
    kp_curve_summary summaries[KP_DIRECTION_COUNT];
    bool has_cracking[KP_DIRECTION_COUNT];       /* the shims are pressed on their seat: not so on a flat one */
    double cracking[KP_DIRECTION_COUNT];         /* [Pa] drop that holds them shut; with has_cracking */
    bool has_cracking_speed[KP_DIRECTION_COUNT]; /* that drop is reached below the top */
    double cracking_speed[KP_DIRECTION_COUNT];   /* [m/s] where; with has_cracking_speed */
    size_t sensitivity_count;                    /* [-] changes listed */
    size_t shown_count;                          /* [-] of them run before the pool was stopped: the first ones */
    kp_sensitivity *sensitivities;               /* [sensitivity_count] */
} kp_explanation;

/** Given:    data that kp_damper_validate finds no fault in; limits; unit system of sizes in the texts; pool (threads,
              stop, progress; no workspaces needed)
    Returned: explanation. Each sensitivity is a whole run of the changed damper, so it equals one by hand to the bit.
              Sensitivities need not sum to anything: parts act on each other
    Errors:   as kp_damper_begin for the damper itself; KP_INTERRUPTED, with out filled. A changed damper that cannot be
              is no error */
kp_status kp_explain(const kp_damper_data *data, kp_speed_limits limits, kp_unit_system system, const kp_pool *pool,
                     kp_explanation *out, kp_error *error);
void kp_explanation_free(kp_explanation *explanation);
/** Returned: the sensitivity with the largest change of force there, firmer or softer; NULL when none acts. */
const kp_sensitivity *kp_explain_strongest(const kp_explanation *explanation, kp_direction direction,
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
    KP_LESSON_COUNT
} kp_lesson_topic;
/** Returned: "bleed", "dish" and so on. */
const char *kp_lesson_name(kp_lesson_topic topic);

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
kp_status kp_lesson_run(const kp_damper_data *data, kp_lesson_topic topic, kp_direction direction,
                        kp_speed_limits limits, kp_unit_system system, const kp_pool *pool, kp_lesson *out,
                        kp_error *error);
void kp_lesson_free(kp_lesson *lesson);

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
const char *kp_cause_name(kp_cause cause);
/** Returned: "thickness", for column names and options. */
const char *kp_cause_key(kp_cause cause);
/** Returned: where its default comes from, and whether it was read. */
const char *kp_cause_standing(kp_cause cause);

/** Given:    thickness [m] of a strip
    Returned: its default tolerance, each way [m]
    Valid:    0.02 to 3 mm; above 0.40 mm 4 % of the thickness, our continuation
    Source:   EN 10140 class B to 0.15 mm, EN ISO 9445 fine above (both read in restated tables) */
double kp_strip_tolerance(double thickness);

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
kp_band_options kp_band_options_default(void);

/** One cause as it is in this damper. */
typedef struct kp_cause_found {
    bool acts;        /* some tolerance of it is not 0 */
    bool from_file;   /* the file gave one of them */
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
kp_status kp_band_run(const kp_damper_data *data, const kp_band_options *options, const kp_pool *pool, kp_band *out,
                      kp_error *error);
void kp_band_free(kp_band *band);

/** Quantiles of b's damping less a's, build by build. */
typedef struct kp_band_difference {
    kp_quantile lower, median, upper; /* [N] 2.5, 50, 97.5 % */
    bool beyond_noise;                /* 0 is outside 2.5 to 97.5 %, by more than their own sampling error */
} kp_band_difference;
/** Where two stacks differ by more than the noise.
    Given:    bands of one seed and one list of speeds, with builds of different number; direction; speed: its index
    Returned: the difference over the smaller of their numbers of samples
    Errors:   KP_OUT_OF_RANGE when speeds differ or fewer than 40 samples are in common; KP_NO_MEMORY */
kp_status kp_band_compare(const kp_band *a, const kp_band *b, kp_direction direction, size_t speed,
                          kp_band_difference *out, kp_error *error);

#endif
