/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What the samples come to: quantiles of the forces, shares of the causes, the difference of two bands. */
#include "study/band_internal.h"
#include "num/num.h"

#include <stdlib.h>

static const double LOWER = 0.025, MEDIAN = 0.5, UPPER = 0.975; /* [-] share of builds below */

static void take_quantiles(const kp_sampling *sampling, size_t at, double *column, kp_band_point *point)
{
    size_t n = sampling->band->done;
    double cavitating = 0.0;

    /* One column of the matrix of samples, and how many of its builds cavitate. */
    for (size_t i = 0; i < n; i++) {
        column[i] = sampling->forces[i * sampling->width + at];
        cavitating += sampling->cavitates[i * sampling->width + at];
    }

    point->cavitating = cavitating / (double)n;

    kp_sample_sort(n, column);
    point->lower = kp_sample_quantile(n, column, LOWER);
    point->median = kp_sample_quantile(n, column, MEDIAN);
    point->upper = kp_sample_quantile(n, column, UPPER);
}

/* Pick-freeze shares of the causes. column [3 x rows]: sample a, sample b, and a with one cause taken from b. */
static kp_status take_shares(const kp_sampling *sampling, size_t at, double *column, kp_band_point *point,
                             kp_error *error)
{
    size_t rows = sampling->band->share_rows;
    size_t width = sampling->width;
    kp_status status = KP_OK;
    if (rows < KP_BAND_MIN_SAMPLES) {
        return KP_OK; /* too few for shares with an error */
    }

    /* Forces of samples a and b, the same for every cause. */
    for (size_t r = 0; r < rows; r++) {
        column[r] = sampling->forces[r * KP_BAND_SHARE_EVERY * width + at];
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

kp_status kp_band_summarise(const kp_sampling *sampling, kp_error *error)
{
    kp_band *band = sampling->band;
    double *column = calloc(band->done + 3 * band->share_rows, sizeof *column);
    double *nominal = calloc(sampling->width, sizeof *nominal);

    kp_status status = column != NULL && nominal != NULL
                           ? kp_band_forces(sampling, sampling->nominal, nominal, NULL, NULL, error)
                           : kp_error_set(error, KP_NO_MEMORY, "no memory for the band of %zu samples", band->done);

    /* Direction by direction, speed by speed. */
    for (size_t at = 0; status == KP_OK && at < sampling->width; at++) {
        size_t d = at / band->speed_count, speed = at % band->speed_count;
        kp_band_point *point = &band->points[d][speed];

        point->nominal = nominal[at];
        take_quantiles(sampling, at, column, point);
        status = take_shares(sampling, at, column, point, error);

        for (size_t i = 0; i < band->done; i++) {
            band->damping[d][i * band->speed_count + speed] = sampling->damping[i * sampling->width + at];
        }
    }

    free(column);
    free(nominal);
    return status;
}

kp_status kp_band_compare(const kp_band *a, const kp_band *b, kp_direction direction, size_t speed,
                          kp_band_difference *out, kp_error *error)
{
    size_t n = a->done < b->done ? a->done : b->done;
    if (a->speed_count != b->speed_count || speed >= a->speed_count || a->speeds[speed] != b->speeds[speed] ||
        n < KP_BAND_MIN_SAMPLES) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "bands to compare: %zu and %zu speeds, %zu builds in common (at least %d)", a->speed_count,
                            b->speed_count, n, (int)KP_BAND_MIN_SAMPLES);
    }

    double *difference = calloc(n, sizeof *difference);
    if (difference == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "no memory for %zu differences", n);
    }

    /* Damping of the same build number in both bands: what the two share cancels. */
    for (size_t i = 0; i < n; i++) {
        difference[i] =
            b->damping[direction][i * b->speed_count + speed] - a->damping[direction][i * a->speed_count + speed];
    }

    kp_sample_sort(n, difference);
    kp_band_difference made = {.lower = kp_sample_quantile(n, difference, LOWER),
                               .median = kp_sample_quantile(n, difference, MEDIAN),
                               .upper = kp_sample_quantile(n, difference, UPPER)};

    /* Beyond the noise: even the confidence interval of an outer quantile does not reach 0. */
    made.beyond_noise = made.lower.low > 0.0 || made.upper.high < 0.0;
    free(difference);
    *out = made;
    return KP_OK;
}
