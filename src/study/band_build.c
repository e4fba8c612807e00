/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Forces of one build, on the surrogate of its stacks; and the verification builds, whose stacks are solved as well.
 */
#include "study/band_internal.h"
#include "num/num.h"

#include <math.h>
#include <stdlib.h>

enum { VERIFICATION_BUILDS = 24 }; /* [-] */

kp_status kp_band_forces(const kp_sampling *sampling, const kp_damper *damper, double *forces, double *damping,
                         unsigned char *cavitates, kp_error *error)
{
    size_t at = 0;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        double sign = d == KP_COMPRESSION ? 1.0 : -1.0;
        for (size_t i = 0; i < sampling->options->speed_count; i++, at++) {
            kp_curve_point point;
            kp_status status = kp_curve_at(damper, sign * sampling->options->speeds[i], &point, error);
            if (status != KP_OK) {
                return status;
            }

            /* Damping is positive in both directions and leaves the gas force out. */
            forces[at] = point.force;
            if (damping != NULL) {
                damping[at] = sign * point.damping_force;
                cavitates[at] = point.cavitates;
            }
        }
    }

    return KP_OK;
}

kp_status kp_band_run_build(const kp_sampling *sampling, const kp_build *build, double *forces, double *damping,
                            unsigned char *cavitates, kp_error *error)
{
    kp_lift_table *tables[KP_DIRECTION_COUNT] = {NULL, NULL};
    kp_damper *damper = NULL;
    kp_status status = KP_OK;

    /* No table where a plate on a spring stands in the stack's place: that does not vary. */
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        if (sampling->surrogates[d] != NULL) {
            status = kp_surrogate_table(sampling->surrogates[d], build, &tables[d], error);
        }
    }
    if (status == KP_OK) {
        status = kp_damper_on_tables(sampling->nominal, &build->data, tables, &damper, error);
    }
    if (status == KP_OK) {
        status = kp_band_forces(sampling, damper, forces, damping, cavitates, error);
    }

    kp_damper_free(damper);
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        kp_lift_table_free(tables[d]);
    }

    return status;
}

/* ---- verification builds ---- */

typedef struct kp_verification {
    const kp_sampling *sampling;
    double *solved, *surrogate; /* [VERIFICATION_BUILDS x width] [N] */
} kp_verification;

/* One build, numbered after the band's own samples, at one end of the grip, where its stacks can be solved. */
static kp_status run_verification(size_t index, void *workspace, void *context, kp_error *error)
{
    const kp_verification *verification = context;
    const kp_sampling *sampling = verification->sampling;
    const unsigned char sample_a[KP_CAUSE_COUNT] = {0};
    size_t at = index * sampling->width;
    bool held = index % 2 == 0;
    kp_damper *damper = NULL;
    kp_build build;
    (void)workspace;

    kp_band_draw(&sampling->tolerances, sampling->options, sampling->options->samples + index, sample_a, 1.0, &build);
    build.held = held ? 1.0 : 0.0;

    /* On the surrogate. */
    kp_status status = kp_band_run_build(sampling, &build, &verification->surrogate[at], NULL, NULL, error);
    if (status != KP_OK) {
        return status;
    }

    /* The same build with its stacks solved. */
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        if (sampling->surrogates[d] == NULL) {
            continue; /* a plate on a spring */
        }
        kp_band_move_stack(&sampling->tolerances, (kp_direction)d, build.deviations[d], &build.data);
        if (!sampling->tolerances.grip_fixed[d]) {
            kp_band_set_grip(&build.data.valves[d], held ? KP_GRIP_HELD : KP_GRIP_SLIDING);
        }
    }

    status =
        kp_damper_begin(&build.data, sampling->options->speeds[sampling->options->speed_count - 1], &damper, error);
    if (status == KP_OK) {
        status = kp_band_forces(sampling, damper, &verification->solved[at], NULL, NULL, error);
    }

    kp_damper_free(damper);
    return status;
}

kp_status kp_band_verify(const kp_sampling *sampling, const kp_pool *pool, kp_error *error)
{
    size_t count = VERIFICATION_BUILDS * sampling->width;
    kp_band *band = sampling->band;
    kp_verification verification = {.sampling = sampling};
    kp_pool own = {.threads = pool->threads}; /* runs after an interrupt too: it does not take long */
    verification.solved = calloc(count, sizeof *verification.solved);
    verification.surrogate = calloc(count, sizeof *verification.surrogate);
    kp_status status = verification.solved != NULL && verification.surrogate != NULL
                           ? kp_pool_run(&own, VERIFICATION_BUILDS, run_verification, &verification, NULL, error)
                           : kp_error_set(error, KP_NO_MEMORY, "no memory for the builds solved whole");

    /* Largest difference, in newtons and in half widths of the band. */
    for (size_t i = 0; status == KP_OK && i < count; i++) {
        size_t at = i % sampling->width;
        const kp_band_point *point = &band->points[at / band->speed_count][at % band->speed_count];
        double miss = fabs(verification.surrogate[i] - verification.solved[i]);
        double half = 0.5 * (point->upper.value - point->lower.value);
        band->verification_force = fmax(band->verification_force, miss);
        band->verification_error = half > 0.0 ? fmax(band->verification_error, miss / half) : band->verification_error;
    }

    band->verification_count = VERIFICATION_BUILDS;
    free(verification.solved);
    free(verification.surrogate);
    return status;
}
