/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Tolerance band: samples builds on the pool. What one build gives is in band_build.c, what all of them come to in
    band_summary.c. */
#include "study/band_internal.h"
#include "num/num.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    MAX_SAMPLES = 200000,
    MAX_SPEEDS = 200,
    BLOCK = 50,      /* [-] samples of one piece of work */
    MAX_HALVINGS = 7 /* [-] of the distance of a build without a solution, before the file's own sizes are taken */
};
/* The lift tables must reach this factor beyond what the nominal damper needs: a build's bleed may be smaller, its
   stack stiffer. */
static const double REACH = 4.0; /* [-] */

kp_band_options kp_band_options_default(void)
{
    return (kp_band_options){.samples = 10000, .seed = 1, .correlation = 0.8};
}

/* ---- preparing ---- */

static kp_status check_options(const kp_band_options *options, kp_error *error)
{
    if (options->samples < KP_BAND_MIN_SAMPLES || options->samples > MAX_SAMPLES) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "band: %zu samples are outside %d to %d", options->samples,
                            (int)KP_BAND_MIN_SAMPLES, (int)MAX_SAMPLES);
    }

    if (!(options->correlation >= 0.0 && options->correlation <= 1.0)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "band: a correlation of %g is outside 0 to 1",
                            options->correlation);
    }

    /* The last speed is taken as the largest. */
    bool rising = options->speed_count >= 1 && options->speed_count <= MAX_SPEEDS && options->speeds[0] > 0.0;
    for (size_t i = 1; rising && i < options->speed_count; i++) {
        rising = options->speeds[i] > options->speeds[i - 1];
    }

    return rising ? KP_OK
                  : kp_error_set(error, KP_OUT_OF_RANGE, "band: 1 to %d rising speeds are wanted", (int)MAX_SPEEDS);
}

static kp_status make_room(kp_sampling *sampling, kp_error *error)
{
    const kp_band_options *options = sampling->options;
    kp_band *band = sampling->band;
    size_t n = options->samples;
    size_t rows = (n + KP_BAND_SHARE_EVERY - 1) / KP_BAND_SHARE_EVERY;

    /* Per sample, width numbers; per row of shares, sample b and each cause. */
    sampling->width = KP_DIRECTION_COUNT * options->speed_count;
    sampling->forces = calloc(n * sampling->width, sizeof *sampling->forces);
    sampling->damping = calloc(n * sampling->width, sizeof *sampling->damping);
    sampling->cavitates = calloc(n * sampling->width, sizeof *sampling->cavitates);
    sampling->nearer = calloc(n, sizeof *sampling->nearer);
    sampling->shared = calloc(rows * (1 + KP_CAUSE_COUNT) * sampling->width, sizeof *sampling->shared);

    band->speeds = calloc(options->speed_count, sizeof *band->speeds);
    bool good = sampling->forces != NULL && sampling->damping != NULL && sampling->cavitates != NULL &&
                sampling->nearer != NULL && sampling->shared != NULL && band->speeds != NULL;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        band->points[d] = calloc(options->speed_count, sizeof *band->points[d]);
        band->damping[d] = calloc(n * options->speed_count, sizeof *band->damping[d]);
        good = good && band->points[d] != NULL && band->damping[d] != NULL;
    }

    if (!good) {
        return kp_error_set(error, KP_NO_MEMORY, "no memory for a band of %zu samples", n);
    }

    memcpy(band->speeds, options->speeds, options->speed_count * sizeof *band->speeds);
    band->speed_count = options->speed_count;
    band->asked = n;
    return KP_OK;
}

/* Surrogates up to the pressures that the builds reach. */
static kp_status prepare_surrogates(kp_sampling *sampling, const kp_pool *pool, kp_error *error)
{
    kp_pool quiet = *pool;
    quiet.progress = NULL; /* progress is that of the samples */
    double top = sampling->options->speeds[sampling->options->speed_count - 1];

    /* The largest speed loads the shims most, and a build may be loaded more than the nominal one. */
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        if (sampling->tolerances.data->valves[d].has_plate) {
            continue; /* a plate on a spring does not vary */
        }

        const kp_lift_table *table = kp_damper_lift_table(sampling->nominal, (kp_direction)d);
        kp_curve_point point;
        kp_status status = kp_curve_at(sampling->nominal, d == KP_COMPRESSION ? top : -top, &point, error);
        if (status != KP_OK) {
            return status;
        }

        /* Where it cavitates the nominal drop stands still, but the circuit is solved for the full drop. */
        double reach = REACH * fmax(point.disc_pressure, kp_lift_table_cracking(table));
        reach = fmax(reach, kp_lift_table_reach(table));
        status = kp_surrogate_begin(&sampling->tolerances, sampling->band->causes, (kp_direction)d, reach, &quiet,
                                    &sampling->surrogates[d], error);
        if (status != KP_OK) {
            return status != KP_INTERRUPTED ? status
                                            : kp_error_set(error, status, "interrupted before a build was sampled");
        }
    }

    return KP_OK;
}

/* ---- sampling ---- */

/* sample [KP_CAUSE_COUNT]: 0 or 1 for each cause, which of the two samples it is taken from. A build that has no
   solution is taken nearer to the file's sizes, whose damper has one, in halves. nearer comes back true then. */
static kp_status run_build(const kp_sampling *sampling, unsigned long long index, const unsigned char *sample,
                           double *forces, double *damping, unsigned char *cavitates, unsigned char *nearer,
                           kp_error *error)
{
    kp_status status = KP_OK;
    for (int halvings = 0; halvings <= MAX_HALVINGS; halvings++) {
        kp_build build;
        double part = halvings < MAX_HALVINGS ? ldexp(1.0, -halvings) : 0.0;
        kp_band_draw(&sampling->tolerances, sampling->options, index, sample, part, &build);
        status = kp_band_run_build(sampling, &build, forces, damping, cavitates, error);

        bool unsolved = status == KP_OUT_OF_RANGE || status == KP_NO_SOLUTION || status == KP_NOT_FINITE;
        if (nearer != NULL) {
            *nearer = halvings > 0;
        }
        if (!unsolved) {
            break;
        }
    }

    return status == KP_OK ? status : kp_error_prefix(error, "build %llu within the tolerances: ", index + 1);
}

static kp_status run_block(size_t index, void *workspace, void *context, kp_error *error)
{
    kp_sampling *sampling = context;
    const unsigned char sample_a[KP_CAUSE_COUNT] = {0};
    size_t width = sampling->width, from = index * BLOCK;
    size_t to = from + BLOCK < sampling->options->samples ? from + BLOCK : sampling->options->samples;
    kp_status status = KP_OK;
    (void)workspace;

    for (size_t i = from; status == KP_OK && i < to; i++) {
        status = run_build(sampling, i, sample_a, &sampling->forces[i * width], &sampling->damping[i * width],
                           &sampling->cavitates[i * width], &sampling->nearer[i], error);

        /* Pick-freeze: sample b, then sample a with one cause taken from b. */
        double *row = &sampling->shared[i / KP_BAND_SHARE_EVERY * (1 + KP_CAUSE_COUNT) * width];
        for (int k = 0; status == KP_OK && i % KP_BAND_SHARE_EVERY == 0 && k <= KP_CAUSE_COUNT; k++) {
            unsigned char sample[KP_CAUSE_COUNT] = {0};
            if (k == 0) {
                memset(sample, 1, sizeof sample);
            } else if (sampling->band->causes[k - 1].acts) {
                sample[k - 1] = 1;
            } else {
                continue;
            }

            status = run_build(sampling, i, sample, &row[(size_t)k * width], NULL, NULL, NULL, error);
        }
    }

    return status;
}

static kp_status sample_builds(kp_sampling *sampling, const kp_pool *pool, kp_error *error)
{
    kp_band *band = sampling->band;
    size_t blocks = (sampling->options->samples + BLOCK - 1) / BLOCK, completed = 0;
    kp_status sampled = kp_pool_run(pool, blocks, run_block, sampling, &completed, error);
    if (sampled != KP_OK && sampled != KP_INTERRUPTED) {
        return sampled;
    }

    /* The pool completes whole blocks: after an interrupt the first `done` builds count. */
    band->done = completed * BLOCK < sampling->options->samples ? completed * BLOCK : sampling->options->samples;
    band->share_rows = (band->done + KP_BAND_SHARE_EVERY - 1) / KP_BAND_SHARE_EVERY;
    if (sampled == KP_INTERRUPTED) {
        kp_error_set(error, sampled, "interrupted after %zu of %zu builds%s", band->done, band->asked,
                     band->done < KP_BAND_MIN_SAMPLES ? ", too few to say anything" : "");
    }
    if (band->done < KP_BAND_MIN_SAMPLES) {
        return sampled;
    }

    for (size_t i = 0; i < band->done; i++) {
        band->nearer += sampling->nearer[i];
    }

    /* The message of an interrupt stays unless what follows fails. */
    kp_error own = {0};
    kp_status status = kp_band_summarise(sampling, &own);
    if (status == KP_OK) {
        status = kp_band_verify(sampling, pool, &own);
    }
    if (status != KP_OK && error != NULL) {
        *error = own;
    }

    return status == KP_OK ? sampled : status;
}

kp_status kp_band_run(const kp_damper_data *data, const kp_band_options *options, const kp_pool *pool, kp_band *out,
                      kp_error *error)
{
    kp_band made = {0};
    kp_damper *nominal = NULL;
    kp_sampling sampling = {.options = options, .band = &made};
    kp_status status = check_options(options, error);
    if (status == KP_OK) {
        kp_band_tolerances(data, options, &sampling.tolerances, made.causes);
        status = kp_damper_begin(data, options->speeds[options->speed_count - 1], &nominal, error);
    }

    sampling.nominal = nominal;

    /* Surrogates of the stacks, then the builds on them. */
    if (status == KP_OK) {
        status = kp_band_cut(&sampling.tolerances, made.causes, error);
    }
    if (status == KP_OK) {
        status = make_room(&sampling, error);
    }
    if (status == KP_OK) {
        status = prepare_surrogates(&sampling, pool, error);
    }
    if (status == KP_OK) {
        status = sample_builds(&sampling, pool, error);
    }

    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        kp_surrogate_free(sampling.surrogates[d]);
    }

    kp_damper_free(nominal);
    free(sampling.forces);
    free(sampling.damping);
    free(sampling.cavitates);
    free(sampling.nearer);
    free(sampling.shared);

    /* What was sampled before an interrupt is given out. */
    if (status != KP_OK && (status != KP_INTERRUPTED || made.done < KP_BAND_MIN_SAMPLES)) {
        kp_band_free(&made);
        return status;
    }

    *out = made;
    return status;
}

void kp_band_free(kp_band *band)
{
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        free(band->points[d]);
        free(band->damping[d]);
    }
    free(band->speeds);
    memset(band, 0, sizeof *band);
}
