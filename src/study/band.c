/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Tolerance band: builds sampled on the pool, quantiles of their forces, and shares of the causes. */
#include "study/band_internal.h"
#include "num/num.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    LEAST_SAMPLES = 40,
    MOST_SAMPLES = 200000,
    BLOCK = 50,      /* [-] samples of one piece of work                */
    SHARE_EVERY = 2, /* [-] of the samples is used for shares too         */
    HELD_OUT = 24,   /* [-] builds solved whole                           */
    MOST_SPEEDS = 200
};
static const double QUANTILES[3] = {0.025, 0.5, 0.975}; /* [-] */
/* The lift tables must reach this much more than the nominal damper needs: a build's bleed may be smaller, its stack
   stiffer. */
static const double REACH = 4.0; /* [-] */

static const unsigned char all_a[KP_CAUSE_COUNT] = {0};

kp_band_options kp_band_options_default(void)
{
    return (kp_band_options){.samples = 10000, .seed = 1, .correlation = 0.8};
}

/* Everything that the pieces of work share. */
typedef struct kp_sampling {
    const kp_band_options *options;
    kp_tolerances tolerances;
    const kp_damper *nominal;
    kp_surrogate *lifts[KP_DIRECTION_COUNT];
    kp_band *band;
    size_t width;             /* [-] numbers of one build: directions x speeds       */
    double *forces;           /* [samples x width] [N]                                */
    double *damping;          /* [samples x width] [N]                                */
    unsigned char *cavitates; /* [samples x width]                                    */
    double *shared;           /* [rows x (1 + KP_CAUSE_COUNT) x width] [N] b, then ab of each cause */
} kp_sampling;

/* ---- one build
 * ------------------------------------------------------------------------------------------------------- */

/* Forces of one prepared damper; damping and cavitates may be NULL. */
static kp_status read_forces(const kp_sampling *sampling, const kp_damper *damper, double *forces, double *damping,
                             unsigned char *cavitates, kp_error *error)
{
    size_t at = 0;
    kp_status status = KP_OK;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        double sign = d == KP_COMPRESSION ? 1.0 : -1.0;
        for (size_t i = 0; status == KP_OK && i < sampling->options->speed_count; i++, at++) {
            kp_curve_point point;
            status = kp_curve_at(damper, sign * sampling->options->speeds[i], &point, error);
            if (status == KP_OK) {
                forces[at] = point.force;
            }
            if (status == KP_OK && damping != NULL) {
                damping[at] = sign * (point.force - point.gas_force);
                cavitates[at] = point.cavitates;
            }
        }
    }
    return status;
}

/* Lift tables of a build; NULL where a plate on a spring stands in the stack's place: that does not vary. */
static kp_status make_tables(const kp_sampling *sampling, const kp_build *build,
                             kp_lift_table *tables[KP_DIRECTION_COUNT], kp_error *error)
{
    kp_status status = KP_OK;
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        if (sampling->lifts[d] != NULL) {
            status = kp_surrogate_table(sampling->lifts[d], build, &tables[d], error);
        }
    }
    return status;
}

/* On shortened lift. */
static kp_status run_build(const kp_sampling *sampling, unsigned long long index, const unsigned char *sample,
                           double *forces, double *damping, unsigned char *cavitates, kp_error *error)
{
    kp_build build;
    kp_lift_table *tables[KP_DIRECTION_COUNT] = {NULL, NULL};
    kp_damper *damper = NULL;
    kp_band_draw(&sampling->tolerances, sampling->options, index, sample, &build);
    kp_status status = make_tables(sampling, &build, tables, error);
    status = status == KP_OK ? kp_damper_on_tables(sampling->nominal, &build.data, tables, &damper, error) : status;
    status = status == KP_OK ? read_forces(sampling, damper, forces, damping, cavitates, error) : status;
    if (damper != NULL) {
        kp_damper_free(damper);
    }
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        kp_lift_table_free(tables[d]);
    }
    return status == KP_OK ? status : kp_error_prefix(error, "build %llu within the tolerances: ", index + 1);
}

static kp_status run_block(size_t index, void *workspace, void *context, kp_error *error)
{
    kp_sampling *sampling = context;
    size_t width = sampling->width;
    size_t from = index * BLOCK;
    size_t to = from + BLOCK < sampling->options->samples ? from + BLOCK : sampling->options->samples;
    kp_status status = KP_OK;
    (void)workspace;
    for (size_t i = from; status == KP_OK && i < to; i++) {
        status = run_build(sampling, i, all_a, &sampling->forces[i * width], &sampling->damping[i * width],
                           &sampling->cavitates[i * width], error);
        double *row = &sampling->shared[i / SHARE_EVERY * (1 + KP_CAUSE_COUNT) * width];
        for (int k = 0; status == KP_OK && i % SHARE_EVERY == 0 && k <= KP_CAUSE_COUNT; k++) {
            unsigned char sample[KP_CAUSE_COUNT] = {0};
            if (k == 0) {
                memset(sample, 1, sizeof sample);
            } else if (sampling->band->causes[k - 1].acts) {
                sample[k - 1] = 1;
            } else {
                continue;
            }
            status = run_build(sampling, i, sample, &row[(size_t)k * width], NULL, NULL, error);
        }
    }
    return status;
}

/* ---- builds solved whole
 * ----------------------------------------------------------------------------------------------- */

typedef struct kp_held_out {
    const kp_sampling *sampling;
    double *whole, *shortened; /* [HELD_OUT x width] [N] */
} kp_held_out;

/* The sampled builds HELD_OUT apart from the band's own (their numbers come after the samples), at the two ends of the
   grip in turn, where a whole solution exists. */
static kp_status run_whole(size_t index, void *workspace, void *context, kp_error *error)
{
    const kp_held_out *held_out = context;
    const kp_sampling *sampling = held_out->sampling;
    size_t width = sampling->width;
    kp_lift_table *tables[KP_DIRECTION_COUNT] = {NULL, NULL};
    kp_damper *shortened = NULL;
    kp_damper *whole = NULL;
    kp_build build;
    (void)workspace;
    kp_band_draw(&sampling->tolerances, sampling->options, sampling->options->samples + index, all_a, &build);
    build.held = index % 2 == 0 ? 1.0 : 0.0;
    kp_status status = make_tables(sampling, &build, tables, error);
    status = status == KP_OK ? kp_damper_on_tables(sampling->nominal, &build.data, tables, &shortened, error) : status;
    status = status == KP_OK ? read_forces(sampling, shortened, &held_out->shortened[index * width], NULL, NULL, error)
                             : status;
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        kp_band_move_stack(&sampling->tolerances, (kp_direction)d, build.deviations[d], &build.data);
        kp_band_set_grip(&build.data.valves[d], index % 2 == 0 ? KP_GRIP_HELD : KP_GRIP_SLIDING);
    }
    double top = sampling->options->speeds[sampling->options->speed_count - 1];
    status = status == KP_OK ? kp_damper_begin(&build.data, top, &whole, error) : status;
    status =
        status == KP_OK ? read_forces(sampling, whole, &held_out->whole[index * width], NULL, NULL, error) : status;
    if (shortened != NULL) {
        kp_damper_free(shortened);
    }
    if (whole != NULL) {
        kp_damper_free(whole);
    }
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        kp_lift_table_free(tables[d]);
    }
    return status;
}

static kp_status hold_out(const kp_sampling *sampling, const kp_pool *pool, kp_error *error)
{
    size_t width = sampling->width;
    kp_band *band = sampling->band;
    kp_held_out held_out = {.sampling = sampling};
    kp_pool own = {.threads = pool->threads}; /* short, and wanted after an interrupt too */
    held_out.whole = calloc(HELD_OUT * width, sizeof *held_out.whole);
    held_out.shortened = calloc(HELD_OUT * width, sizeof *held_out.shortened);
    kp_status status = held_out.whole != NULL && held_out.shortened != NULL
                           ? kp_pool_run(&own, HELD_OUT, run_whole, &held_out, NULL, error)
                           : kp_error_set(error, KP_NO_MEMORY, "no memory for the builds solved whole");
    for (size_t i = 0; status == KP_OK && i < HELD_OUT * width; i++) {
        size_t at = i % width;
        const kp_band_point *point = &band->points[at / band->speed_count][at % band->speed_count];
        double miss = fabs(held_out.shortened[i] - held_out.whole[i]);
        double half = 0.5 * (point->most.value - point->least.value);
        band->held_out_force = fmax(band->held_out_force, miss);
        band->held_out_error = half > 0.0 ? fmax(band->held_out_error, miss / half) : band->held_out_error;
    }
    band->held_out = HELD_OUT;
    free(held_out.whole);
    free(held_out.shortened);
    return status;
}

/* ---- what the samples say
 * -------------------------------------------------------------------------------------------------- */

static kp_status take_quantiles(const kp_sampling *sampling, size_t at, double *column, kp_band_point *point)
{
    size_t n = sampling->band->done;
    double cavitating = 0.0;
    for (size_t i = 0; i < n; i++) {
        column[i] = sampling->forces[i * sampling->width + at];
        cavitating += sampling->cavitates[i * sampling->width + at];
    }
    kp_sample_sort(n, column);
    point->least = kp_sample_quantile(n, column, QUANTILES[0]);
    point->middle = kp_sample_quantile(n, column, QUANTILES[1]);
    point->most = kp_sample_quantile(n, column, QUANTILES[2]);
    point->cavitating = cavitating / (double)n;
    return KP_OK;
}

/* column: [3 x rows] */
static kp_status take_shares(const kp_sampling *sampling, size_t at, double *column, kp_band_point *point,
                             kp_error *error)
{
    size_t rows = sampling->band->share_rows;
    size_t width = sampling->width;
    kp_status status = KP_OK;
    if (rows < LEAST_SAMPLES) {
        return KP_OK; /* too few for shares with an error */
    }
    for (size_t r = 0; r < rows; r++) {
        column[r] = sampling->forces[r * SHARE_EVERY * width + at];
        column[rows + r] = sampling->shared[r * (1 + KP_CAUSE_COUNT) * width + at];
    }
    for (int k = 0; status == KP_OK && k < KP_CAUSE_COUNT; k++) {
        if (!sampling->band->causes[k].acts) {
            continue;
        }
        for (size_t r = 0; r < rows; r++) {
            column[2 * rows + r] = sampling->shared[(r * (1 + KP_CAUSE_COUNT) + (size_t)k + 1) * width + at];
        }
        status = kp_sample_variance_share(rows, column, column + rows, column + 2 * rows, &point->shares[k], error);
    }
    point->has_shares = status == KP_OK;
    return status;
}

static kp_status summarise(const kp_sampling *sampling, kp_error *error)
{
    kp_band *band = sampling->band;
    kp_status status = KP_OK;
    double *column = calloc(band->done + 3 * band->share_rows, sizeof *column);
    double *nominal = calloc(sampling->width, sizeof *nominal);
    if (column == NULL || nominal == NULL) {
        status = kp_error_set(error, KP_NO_MEMORY, "no memory for the band of %zu samples", band->done);
    }
    status = status == KP_OK ? read_forces(sampling, sampling->nominal, nominal, NULL, NULL, error) : status;
    for (size_t at = 0; status == KP_OK && at < sampling->width; at++) {
        size_t d = at / band->speed_count;
        size_t speed = at % band->speed_count;
        kp_band_point *point = &band->points[d][speed];
        point->nominal = nominal[at];
        status = take_quantiles(sampling, at, column, point);
        status = status == KP_OK ? take_shares(sampling, at, column, point, error) : status;
        for (size_t i = 0; i < band->done; i++) {
            band->damping[d][i * band->speed_count + speed] = sampling->damping[i * sampling->width + at];
        }
    }
    free(column);
    free(nominal);
    return status;
}

/* ---- putting it together
 * ------------------------------------------------------------------------------------------------------- */

static kp_status check_options(const kp_band_options *options, kp_error *error)
{
    if (options->samples < LEAST_SAMPLES || options->samples > MOST_SAMPLES) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "band: %zu samples are outside %d to %d", options->samples,
                            (int)LEAST_SAMPLES, (int)MOST_SAMPLES);
    }
    if (!(options->correlation >= 0.0 && options->correlation <= 1.0)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "band: a correlation of %g is outside 0 to 1",
                            options->correlation);
    }
    bool rising = options->speed_count >= 1 && options->speed_count <= MOST_SPEEDS && options->speeds[0] > 0.0;
    for (size_t i = 1; rising && i < options->speed_count; i++) {
        rising = options->speeds[i] > options->speeds[i - 1];
    }
    return rising ? KP_OK
                  : kp_error_set(error, KP_OUT_OF_RANGE, "band: 1 to %d rising speeds are wanted", (int)MOST_SPEEDS);
}

static kp_status make_room(kp_sampling *sampling, kp_error *error)
{
    const kp_band_options *options = sampling->options;
    kp_band *band = sampling->band;
    size_t n = options->samples;
    size_t rows = (n + SHARE_EVERY - 1) / SHARE_EVERY;
    sampling->width = KP_DIRECTION_COUNT * options->speed_count;
    sampling->forces = calloc(n * sampling->width, sizeof *sampling->forces);
    sampling->damping = calloc(n * sampling->width, sizeof *sampling->damping);
    sampling->cavitates = calloc(n * sampling->width, sizeof *sampling->cavitates);
    sampling->shared = calloc(rows * (1 + KP_CAUSE_COUNT) * sampling->width, sizeof *sampling->shared);
    band->speeds = calloc(options->speed_count, sizeof *band->speeds);
    bool good = sampling->forces != NULL && sampling->damping != NULL && sampling->cavitates != NULL &&
                sampling->shared != NULL && band->speeds != NULL;
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

/* Shortened lifts that reach far enough. */
static kp_status prepare_lifts(kp_sampling *sampling, const kp_pool *pool, kp_error *error)
{
    kp_status status = KP_OK;
    kp_pool quiet = *pool;
    quiet.progress = NULL; /* the samples' progress is the one to show */
    double top = sampling->options->speeds[sampling->options->speed_count - 1];
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        kp_curve_point point;
        status = kp_curve_at(sampling->nominal, d == KP_COMPRESSION ? top : -top, &point, error);
        double reach = REACH * fmax(point.disc_pressure,
                                    kp_lift_table_cracking(kp_damper_lift_table(sampling->nominal, (kp_direction)d)));
        /* where it cavitates the nominal drop stands still, but the circuit looks for the full one */
        reach = fmax(reach, kp_lift_table_reach(kp_damper_lift_table(sampling->nominal, (kp_direction)d)));
        if (status == KP_OK) {
            status =
                kp_surrogate_begin(&sampling->tolerances, (kp_direction)d, reach, &quiet, &sampling->lifts[d], error);
        }
    }
    return status;
}

static kp_status sample(kp_sampling *sampling, const kp_pool *pool, kp_error *error)
{
    kp_band *band = sampling->band;
    size_t blocks = (sampling->options->samples + BLOCK - 1) / BLOCK;
    size_t completed = 0;
    kp_status sampled = kp_pool_run(pool, blocks, run_block, sampling, &completed, error);
    if (sampled != KP_OK && sampled != KP_INTERRUPTED) {
        return sampled;
    }
    band->done = completed * BLOCK < sampling->options->samples ? completed * BLOCK : sampling->options->samples;
    band->share_rows = (band->done + SHARE_EVERY - 1) / SHARE_EVERY;
    if (band->done < LEAST_SAMPLES) {
        return sampled; /* interrupted before there was anything to report */
    }
    kp_error own = {0};
    kp_status status = summarise(sampling, &own);
    status = status == KP_OK ? hold_out(sampling, pool, &own) : status;
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
    status = status == KP_OK ? make_room(&sampling, error) : status;
    status = status == KP_OK ? prepare_lifts(&sampling, pool, error) : status;
    status = status == KP_OK ? sample(&sampling, pool, error) : status;
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        kp_surrogate_free(sampling.lifts[d]);
    }
    if (nominal != NULL) {
        kp_damper_free(nominal);
    }
    free(sampling.forces);
    free(sampling.damping);
    free(sampling.cavitates);
    free(sampling.shared);
    if (status != KP_OK && (status != KP_INTERRUPTED || made.done < LEAST_SAMPLES)) {
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

kp_status kp_band_compare(const kp_band *a, const kp_band *b, kp_direction direction, size_t speed,
                          kp_band_difference *out, kp_error *error)
{
    size_t n = a->done < b->done ? a->done : b->done;
    if (a->speed_count != b->speed_count || speed >= a->speed_count || a->speeds[speed] != b->speeds[speed] ||
        n < LEAST_SAMPLES) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "bands to compare: %zu and %zu speeds, %zu builds in common (at least %d)", a->speed_count,
                            b->speed_count, n, (int)LEAST_SAMPLES);
    }
    double *difference = calloc(n, sizeof *difference);
    if (difference == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "no memory for %zu differences", n);
    }
    for (size_t i = 0; i < n; i++) {
        difference[i] =
            b->damping[direction][i * b->speed_count + speed] - a->damping[direction][i * a->speed_count + speed];
    }
    kp_sample_sort(n, difference);
    kp_band_difference made = {.least = kp_sample_quantile(n, difference, QUANTILES[0]),
                               .middle = kp_sample_quantile(n, difference, QUANTILES[1]),
                               .most = kp_sample_quantile(n, difference, QUANTILES[2])};
    made.beyond_noise = made.least.low > 0.0 || made.most.high < 0.0;
    free(difference);
    *out = made;
    return KP_OK;
}
