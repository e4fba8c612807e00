/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Inside the study room: a build drawn from the tolerances, the surrogate of its stacks, and the sampling. */
#ifndef KP_BAND_INTERNAL_H
#define KP_BAND_INTERNAL_H

#include "kneepoint/study.h"

/** Sizes of one direction's stack that the lift depends on, each as a deviation in standard deviations. */
enum {
    KP_DEVIATION_LAND,
    KP_DEVIATION_CLAMP,
    KP_DEVIATION_LINES /* then the thickness of each line, then the diameter of each line */
};
enum { KP_MAX_DEVIATIONS = KP_DEVIATION_LINES + 2 * KP_MAX_STACK_LINES };

/** Standard deviations of every number that varies. */
typedef struct kp_tolerances {
    const kp_damper_data *data;
    double correlation;                                  /* [-] */
    size_t count[KP_DIRECTION_COUNT];                    /* deviations of the stack */
    double sigma[KP_DIRECTION_COUNT][KP_MAX_DEVIATIONS]; /* [m] 0: does not vary    */
    double dish[KP_DIRECTION_COUNT];                     /* [m]                     */
    double hole[KP_MAX_BLEEDS];                          /* [m]                     */
    double bleed_discharge;                              /* [-] relative             */
    double port_discharge[KP_DIRECTION_COUNT], curtain_discharge[KP_DIRECTION_COUNT];
    double curtain_scale[KP_DIRECTION_COUNT], flow_force[KP_DIRECTION_COUNT],
        velocity_head[KP_DIRECTION_COUNT]; /* [-] */
    double temperature, charge, friction;  /* [K], [Pa], [N]           */
    bool grip_fixed[KP_DIRECTION_COUNT];   /* the stack is solved with the file's grip alone */
} kp_tolerances;

/** band_causes.c: tolerances of the file, or their defaults; what was found, in words. */
void kp_band_tolerances(const kp_damper_data *data, const kp_band_options *options, kp_tolerances *tolerances,
                        kp_cause_found found[KP_CAUSE_COUNT]);
/** band_cut.c: narrows the tolerances to what is possible, and marks the causes. Errors: KP_NO_MEMORY. */
/** The cause that a deviation of a stack belongs to. */
kp_cause kp_band_cause_of(const kp_tolerances *tolerances, kp_direction direction, size_t deviation);
kp_status kp_band_cut(kp_tolerances *tolerances, kp_cause_found found[KP_CAUSE_COUNT], kp_error *error);
/** band_causes.c: the damper's data with one direction's stack moved by deviations [count], in standard deviations. */
void kp_band_move_stack(const kp_tolerances *tolerances, kp_direction direction, const double *deviations,
                        kp_damper_data *data);

/** One build: its stacks' deviations, its grip, and the data of all that is not in a lift table. */
typedef struct kp_build {
    double deviations[KP_DIRECTION_COUNT][KP_MAX_DEVIATIONS]; /* [standard deviations] */
    double held;                                              /* [-] 0 sliding to 1 held */
    kp_damper_data data;                                      /* dish, holes, coefficients, oil, charge are the build's;
                                                                 stacks are nominal */
} kp_build;
/** band_draw.c: build `index` of sample 0 (a) or 1 (b), cause by cause. part [-]: of its distance from the file's
    sizes, 1 for the build itself. */
void kp_band_draw(const kp_tolerances *tolerances, const kp_band_options *options, unsigned long long index,
                  const unsigned char sample[KP_CAUSE_COUNT], double part, kp_build *build);

/** Which deviations of a stack move together in its surrogate: see surrogate_axes.c. */
typedef struct kp_axes {
    size_t count;                     /* [-] axes: land, clamp, thicknesses, diameters */
    size_t pairing;                   /* [-] the first of them, whose pairs are solved too */
    size_t deviations;                /* [-] */
    size_t axis[KP_MAX_DEVIATIONS];   /* [deviations] */
    double weight[KP_MAX_DEVIATIONS]; /* [deviations] [-] sum to 1 on each axis that varies */
    bool varies[KP_MAX_DEVIATIONS];   /* [count] */
} kp_axes;
void kp_axes_make(const kp_tolerances *tolerances, kp_direction direction, kp_axes *axes);
/** x [count]: a build's place on each axis [standard deviations]. */
void kp_axes_of_build(const kp_axes *axes, const double *deviations, double *x);
/** Sets every deviation of one axis. */
void kp_axes_move(const kp_axes *axes, size_t axis, double step, double *deviations);

/** The surrogate of one direction's stack: lift against pressure and deviations, as a response surface. */
typedef struct kp_surrogate kp_surrogate;
/** surrogate.c: solves the stacks of the design on the pool. reach [Pa]. A tolerance at whose end a stack has no
   solution is narrowed in tolerances and marked in found. */
kp_status kp_surrogate_begin(kp_tolerances *tolerances, kp_cause_found found[KP_CAUSE_COUNT], kp_direction direction,
                             double reach, const kp_pool *pool, kp_surrogate **out, kp_error *error);
void kp_surrogate_free(kp_surrogate *surrogate);
/** surrogate.c: a lift table of a build. */
kp_status kp_surrogate_table(const kp_surrogate *surrogate, const kp_build *build, kp_lift_table **out,
                             kp_error *error);
/** band_causes.c: the two ends of the grip as data: held, or sliding with a hole (assumed where none is given). */
void kp_band_set_grip(kp_valve_data *valve, kp_grip grip);

enum {
    KP_BAND_MIN_SAMPLES = 40,
    KP_BAND_SHARE_EVERY = 2 /* [-] one sample in so many is used for shares too */
};

/** What the pieces of work share. */
typedef struct kp_sampling {
    const kp_band_options *options;
    kp_tolerances tolerances;
    const kp_damper *nominal;
    kp_surrogate *surrogates[KP_DIRECTION_COUNT];
    kp_band *band;
    size_t width;             /* [-] numbers of one build: directions x speeds */
    double *forces;           /* [samples x width] [N] */
    double *damping;          /* [samples x width] [N] */
    unsigned char *cavitates; /* [samples x width] */
    unsigned char *nearer;    /* [samples] 1: no damper, or not solved, as drawn; taken nearer to the file's sizes */
    double *shared;           /* [rows x (1 + KP_CAUSE_COUNT) x width] [N] sample b, then a with each cause from b */
} kp_sampling;

/** band_build.c: forces [width] of a prepared damper; damping and cavitates [width] may be NULL. */
kp_status kp_band_forces(const kp_sampling *sampling, const kp_damper *damper, double *forces, double *damping,
                         unsigned char *cavitates, kp_error *error);
/** band_build.c: the same of a build, on the surrogates. */
kp_status kp_band_run_build(const kp_sampling *sampling, const kp_build *build, double *forces, double *damping,
                            unsigned char *cavitates, kp_error *error);
/** band_build.c: solves the verification builds and compares them with the surrogate. */
kp_status kp_band_verify(const kp_sampling *sampling, const kp_pool *pool, kp_error *error);
/** band_summary.c: fills the band's points from the samples done. */
kp_status kp_band_summarise(const kp_sampling *sampling, kp_error *error);

#endif
