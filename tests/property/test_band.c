/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random dampers with rings, slots, spacers, sliding grip, plates on springs, floats and reservoirs: `band` refuses
   none that `curve` solves. One stack in three has a clamp so near to its port, or a land so near to the face shim's
   edge, that the tolerances reach beyond what is possible. */
#include "random_damper.h"

#include "kneepoint/damper.h"
#include "kneepoint/study.h"
#include "num/num.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const unsigned long long SEED = 7410229983;

enum { DAMPERS = SANITIZED ? 3 : 12, FULL_FACTOR = 80, BUILDS = 50, SPEEDS = 2 };

static const double speeds[SPEEDS] = {0.087, 0.613}; /* [m/s] */

/* Sizes at the edge of what is possible. */
static void crowd(kp_random *random, kp_valve_data *valve)
{
    if (valve->has_plate || kp_random_uniform(random, 0, 1) > 0.35) {
        return;
    }
    if (kp_random_uniform(random, 0, 1) < 0.5) {
        valve->port_inner = valve->clamp_washer + kp_random_uniform(random, 0.01e-3, 0.1e-3);
    } else {
        double move = valve->lines[0].outside - kp_random_uniform(random, 0.01e-3, 0.1e-3) - valve->land_outer;
        valve->land_outer += move;
        valve->land_inner += move;
    }
}

static kp_damper_data draw_damper(kp_random *random)
{
    kp_damper_data damper = random_special_damper(random);
    if (kp_random_uniform(random, 0, 1) < 0.6) {
        random_hydraulics(random, &damper, kp_random_uniform(random, 0, 1) < 0.75);
    }
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        crowd(random, &damper.valves[d]);
    }
    return damper;
}

static bool curve_solves(const kp_damper_data *data, kp_error *error)
{
    kp_damper *damper = NULL;
    bool good =
        kp_damper_fault(data, error) == KP_OK && kp_damper_begin(data, speeds[SPEEDS - 1], &damper, error) == KP_OK;
    for (int i = 0; good && i < 2 * SPEEDS; i++) {
        kp_curve_point point;
        good = kp_curve_at(damper, i % 2 == 0 ? speeds[i / 2] : -speeds[i / 2], &point, error) == KP_OK;
    }
    kp_damper_free(damper);
    return good;
}

Test(band, accepts_what_curve_accepts, .timeout = 3000)
{
    const char *asked = getenv("KP_FULL");
    const int dampers = asked != NULL && asked[0] == '1' ? FULL_FACTOR * DAMPERS : DAMPERS;
    const char *only = getenv("KP_ONLY");
    int refused = 0, tried = 0;
    for (int i = 0; i < dampers; i++) {
        kp_random random;
        kp_random_seed(&random, kp_random_mix(SEED, (unsigned)i, 0, 0));
        kp_damper_data data = draw_damper(&random);
        kp_error error = {0};
        if ((only != NULL && atoi(only) != i) || !curve_solves(&data, &error)) {
            continue;
        }

        tried++;
        kp_band_options options = kp_band_options_default();
        options.samples = BUILDS;
        options.speeds = speeds;
        options.speed_count = SPEEDS;
        kp_pool pool = {.threads = 2};
        kp_band band = {0};
        kp_status status = kp_band_run(&data, &options, &pool, &band, &error);
        cr_expect_eq(status, KP_OK, "damper %d: %s", i, error.message);
        refused += status != KP_OK ? 1 : 0;
        for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
            for (size_t k = 0; k < SPEEDS; k++) {
                const kp_band_point *point = &band.points[d][k];
                cr_expect(point->lower.value <= point->median.value && point->median.value <= point->upper.value,
                          "damper %d: %g %g %g N", i, point->lower.value, point->median.value, point->upper.value);
            }
        }
        kp_band_free(&band);
    }
    printf("%d dampers that curve solves, %d refused\n", tried, refused);
    cr_expect(tried > dampers / 2 || only != NULL, "only %d of %d", tried, dampers);
}
