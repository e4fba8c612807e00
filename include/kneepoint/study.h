/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Studies on whole dampers. */
#ifndef KNEEPOINT_STUDY_H
#define KNEEPOINT_STUDY_H

#include "kneepoint/base.h"
#include "kneepoint/damper.h"
#include "kneepoint/model.h"

/** What differs in the parts, in words, one sentence a difference. */
typedef struct kp_differences {
    size_t count, capacity;
    char (*items)[256];
} kp_differences;
void kp_differences_free(kp_differences *differences);
/** From a to b: "compression stack: 1 of 38 x 0.20 mm added above shim 3"; "2 more bleed ports plugged". */
kp_status kp_compare_parts(const kp_damper_data *a, const kp_damper_data *b, kp_unit_system system, kp_differences *out,
                           kp_error *error);

/* ---- explain.c: which path rules, where the knee is, what each part is worth ------------------------------------- */

enum { KP_EXPLAIN_SPEEDS = 3, KP_PART_TEXT = 256 };
typedef enum kp_explain_speed { KP_AT_LOW, KP_AT_MID, KP_AT_HIGH } kp_explain_speed;

/** What each path has of the whole at one point. All [-]; the members of each line of the ledger sum to 1. */
typedef struct kp_path_shares {
    double bleed_flow, leak_flow, valve_flow, void_flow; /* of |speed| x (bore area - rod area)                  */
    double port_drop, disc_drop;                         /* of the piston drop, on the way through the valve:
                                                            in the port (less what of its jet loads the shims), and
                                                            under the lifted shims                                */
    double bleed_power, leak_power, port_power, disc_power, void_power, reservoir_power; /* of hydraulic force x
                                                            speed; reservoir: its valve or check, and the hose */
} kp_path_shares;
/** Reads the ledger of a point; works nothing out anew. */
kp_path_shares kp_explain_shares(const kp_curve_point *point);

/** What one change of one part does, by a run of its own. */
typedef struct kp_sensitivity {
    char part[KP_PART_TEXT];   /* "compression shim 3 (42 x 0.20 mm)"     */
    char change[KP_PART_TEXT]; /* "taken out"                              */
    bool acts[KP_DIRECTION_COUNT];
    bool solved; /* false: why_not says why there is no such damper, or it found no solution */
    char why_not[256];
    bool past_yield; /* a shim would set or break within the range of the limits                     */
    bool cavitates;
    double change_of_force[KP_DIRECTION_COUNT][KP_EXPLAIN_SPEEDS]; /* [N] of |hydraulic force|; + is firmer */
    kp_curve_summary summaries[KP_DIRECTION_COUNT];
    kp_damper_data *data; /* the changed damper: what was run */
} kp_sensitivity;

typedef struct kp_explanation {
    double speeds[KP_EXPLAIN_SPEEDS]; /* [m/s] half the low limit, the middle of the mid range (geometric), the top */
    kp_curve_point points[KP_DIRECTION_COUNT][KP_EXPLAIN_SPEEDS];
    kp_curve_summary summaries[KP_DIRECTION_COUNT];
    double cracking[KP_DIRECTION_COUNT];       /* [Pa] drop that holds the shims shut; 0 for a flat seat             */
    double cracking_speed[KP_DIRECTION_COUNT]; /* [m/s] where it is reached; 0 for a flat seat, NAN when it never is */
    size_t sensitivity_count;
    kp_sensitivity *sensitivities; /* [sensitivity_count] */
    size_t shown_count; /* [-] how many of them were run when the pool was stopped: sensitivities[0..shown_count-1] */
} kp_explanation;

/** Given:    data as read and examined; limits; pool (threads, stop, progress; no workspaces needed)
    Returned: explanation; every worth is a whole run of the changed damper, so it equals one by hand to the bit. Worths
              need not sum to anything: parts act on each other
    Status:   as kp_damper_begin for the damper itself; KP_INTERRUPTED. A changed damper that cannot be is no error */
kp_status kp_explain(const kp_damper_data *data, kp_speed_limits limits, kp_unit_system system, const kp_pool *pool,
                     kp_explanation *out, kp_error *error);
void kp_explanation_free(kp_explanation *explanation);
/** The worth with the largest change of force there, firmer or softer;
    NULL when none acts. */
const kp_sensitivity *kp_explain_strongest(const kp_explanation *explanation, kp_direction direction,
                                           kp_explain_speed at);

/* ---- lesson.c: one change in steps, from the user's own damper ----------------------------------------------------
 */

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
const char *kp_lesson_name(kp_lesson_topic topic);

enum { KP_LESSON_STEPS = 5 };

typedef struct kp_lesson_step {
    char label[KP_PART_TEXT]; /* "3 open", "0.40 mm (as in the file)" */
    bool as_found;
    bool solved;
    char why_not[256];
    kp_damper_data *data;
    kp_damper *damper; /* NULL unless solved */
    kp_curve_point points[KP_EXPLAIN_SPEEDS];
    kp_curve_summary summary;
} kp_lesson_step;

typedef struct kp_lesson {
    kp_lesson_topic topic;
    kp_direction direction;
    double speeds[KP_EXPLAIN_SPEEDS]; /* [m/s] as in kp_explanation */
    size_t step_count;
    kp_lesson_step steps[KP_LESSON_STEPS];
    char made_up[256]; /* what the lesson had to put in, as the file has none; "" for nothing */
    const char *look_for, *why, *question;
    char answer[640]; /* with the numbers of this family */
} kp_lesson;

/** Makes the steps from the user's damper and runs each whole.
    Status: KP_ANSWER_NO when this damper cannot show the topic, with the reason; as kp_explain otherwise. */
kp_status kp_lesson_run(const kp_damper_data *data, kp_lesson_topic topic, kp_direction direction,
                        kp_speed_limits limits, kp_unit_system system, const kp_pool *pool, kp_lesson *out,
                        kp_error *error);
void kp_lesson_free(kp_lesson *lesson);

/* ---- band.c: how much of a difference is noise ----------------------------------------------------------------------
 */

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
const char *kp_cause_name(kp_cause cause);     /* "strip thickness"                                        */
const char *kp_cause_key(kp_cause cause);      /* "thickness": in column names and options                  */
const char *kp_cause_standing(kp_cause cause); /* where its default comes from, and whether it was read       */

/** Default tolerance of strip of a thickness [m], both ways [m].
    Valid:  0.02 to 3 mm; above 0.40 mm 4 % of the thickness, our continuation
    Source: EN 10140 class B to 0.15 mm (read, restated table), EN ISO 9445 fine above (read, restated table) */
double kp_strip_tolerance(double thickness);

typedef struct kp_band_options {
    size_t samples; /* [-] 40 to 200000 */
    unsigned long long seed;
    double correlation; /* [-] 0 to 1, of the thickness of two shims of one lot */
    size_t speed_count;
    const double *speeds;  /* [m/s] > 0, rising */
    unsigned build;        /* [-] shims of another number are other shims, all else is one and the same damper: two
                              stacks sampled with one seed differ by their shims alone */
    kp_unit_system system; /* of the sizes in kp_cause_found.spread */
} kp_band_options;
kp_band_options kp_band_options_default(void); /* 10000 samples, seed 1, correlation 0.8, no speeds */

/** One cause as it is in this damper. */
typedef struct kp_cause_found {
    bool acts;        /* some tolerance of it is not 0 */
    bool from_file;   /* the file gave one of them      */
    char spread[192]; /* "0.20 mm +/- 0.012 mm, ..."     */
} kp_cause_found;

typedef struct kp_band_point {
    double nominal;                  /* [N] force as the file has it, every part in it, signed        */
    kp_quantile least, middle, most; /* [N] of the force: 2.5, 50 and 97.5 % of builds                 */
    double cavitating;               /* [-] share of builds that cavitate here                          */
    bool has_shares;
    kp_variance_share shares[KP_CAUSE_COUNT]; /* of the force's variance */
} kp_band_point;

typedef struct kp_band {
    kp_cause_found causes[KP_CAUSE_COUNT];
    size_t asked, done; /* [-] samples; fewer done when interrupted                                     */
    size_t share_rows;  /* [-] of them also used for shares                                              */
    size_t speed_count;
    double *speeds;                            /* [m/s] */
    kp_band_point *points[KP_DIRECTION_COUNT]; /* [speed_count] */
    double *damping[KP_DIRECTION_COUNT];       /* [done x speed_count] [N] force without gas, > 0 resists the motion */
    size_t held_out;       /* [-] builds solved whole, to see what the shortened lift costs             */
    double held_out_error; /* [-] largest |shortened - whole| of their forces, over the half width of the band there */
    double held_out_force; /* [N] the same in newtons */
} kp_band;

/** Tolerance band of the force by sampling builds of one damper.
    Given:    data as read; options; pool (threads, stop, progress)
    Returned: band. Same bits for any number of threads; a stop leaves the samples done, with KP_INTERRUPTED and out
              filled (when at least 40 are done)
    Method:   a tolerance is two standard deviations of a normal spread cut at three; grip is anywhere between sliding
              and held, evenly. Whole stacks are solved at the nominal sizes and at sqrt(3) standard deviations of each
              size (and of pairs that act together); from these the logarithm of the lift at a pressure is a polynomial
              of second degree in the sizes. Some builds are solved whole as well: held_out_error says what the
              polynomial costs. Shares by pick-freeze on every second sample (kp_sample_variance_share)
    Status:   KP_OUT_OF_RANGE with the number; as kp_damper_begin; KP_INTERRUPTED */
kp_status kp_band_run(const kp_damper_data *data, const kp_band_options *options, const kp_pool *pool, kp_band *out,
                      kp_error *error);
void kp_band_free(kp_band *band);

/** Where two stacks differ by more than the noise: quantiles of b's damping less a's, build by build. [N]
    Given: bands of one seed, one list of speeds and of builds apart; n = the fewer of their samples. */
typedef struct kp_band_difference {
    kp_quantile least, middle, most; /* 2.5, 50, 97.5 % */
    bool beyond_noise;               /* 0 is outside 2.5 to 97.5 %, by more than their own sampling error */
} kp_band_difference;
kp_status kp_band_compare(const kp_band *a, const kp_band *b, kp_direction direction, size_t speed,
                          kp_band_difference *out, kp_error *error);

#endif
