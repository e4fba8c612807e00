/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Studies on whole dampers. */
#ifndef KNEEPOINT_STUDY_H
#define KNEEPOINT_STUDY_H

#include "kneepoint/base.h"
#include "kneepoint/damper.h"
#include "kneepoint/model.h"
#include "kneepoint/num.h"

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
    double bleed_power, leak_power, port_power, disc_power, void_power; /* of hydraulic force x speed          */
} kp_path_shares;
/** Reads the ledger of a point; works nothing out anew. */
kp_path_shares kp_explain_shares(const kp_curve_point *point);

/** What one change of one part does, by a run of its own. */
typedef struct kp_worth {
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
} kp_worth;

typedef struct kp_explanation {
    double speeds[KP_EXPLAIN_SPEEDS]; /* [m/s] half the low limit, the middle of the mid range (geometric), the top */
    kp_curve_point points[KP_DIRECTION_COUNT][KP_EXPLAIN_SPEEDS];
    kp_curve_summary summaries[KP_DIRECTION_COUNT];
    double cracking[KP_DIRECTION_COUNT];       /* [Pa] drop that holds the shims shut; 0 for a flat seat             */
    double cracking_speed[KP_DIRECTION_COUNT]; /* [m/s] where it is reached; 0 for a flat seat, NAN when it never is */
    size_t worth_count;
    kp_worth *worths;   /* [worth_count] */
    size_t shown_count; /* [-] how many of them were run when the pool was stopped: worths[0..shown_count-1] */
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
const kp_worth *kp_explain_strongest(const kp_explanation *explanation, kp_direction direction, kp_explain_speed at);

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

#endif
