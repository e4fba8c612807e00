/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Surrogate of one stack: a response surface of its free lift w in the sizes that vary within their tolerances.

   The lift of the stack without its seat does not know the dish; the opening is that lift less the dish. So at each
   pressure p_j of a fixed grid

       ln w(p_j; x) = a + sum b_i x_i + sum c_i x_i^2 + sum d_ik x_i x_k

   with x in standard deviations, from central differences on a central composite design: the stack is solved at the
   nominal sizes, at +h and -h in each size, and at (+h, +h) for each pair of thicknesses, land and clamp. h = sqrt(3)
   matches the fourth moment of a normal spread, so that mean and variance of a quartic come out right as well.
   Diameters of shims matter so little that their pairs are left out. Held and sliding grip each have their own
   polynomial; a build in between lies between the two, in proportion, in ln w. The error of all this is measured on
   verification builds (band_build.c). */
#include "study/band_internal.h"
#include "num/num.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { GRID = 48, GRIPS = 2, MAX_TRIES = 40 };
static const double LEAST_LIFT = 2e-3; /* [-] of the face shim's thickness: lift of a stack that is shut */

/* The grid begins where the nominal stack has lifted by this part of its face shim's thickness: where the lift tables
   themselves begin. Below it the lift is in proportion to the pressure. */
static const double FIRST_LIFT = 0.05;         /* [-] */
static const double MAX_SPAN = 1e6;            /* [-] last over first pressure of the grid */
static const double STEP = 1.7320508075688772; /* [standard deviations] sqrt(3) */
static const double NARROWER = 0.5;            /* [-] tolerance after a stack at its end had no solution */
static const double BEHIND_CRACKING = 1e-4;    /* [-] a point just behind, for the slope there */

/* One point of the design: one or two sizes moved by STEP. second = first: one alone. */
typedef struct kp_design_point {
    size_t first, second;
    double sign; /* 0: nominal */
} kp_design_point;

struct kp_surrogate {
    kp_direction direction;
    size_t count; /* axes */
    kp_axes axes;
    size_t pair_count;
    size_t *pairs;         /* [2 x pair_count] */
    double pressure[GRID]; /* [Pa] */
    double *constant;      /* [GRIPS x GRID]               ln w                      */
    double *linear;        /* [GRIPS x count x GRID]                                  */
    double *square;        /* [GRIPS x count x GRID]                                  */
    double *cross;         /* [GRIPS x pair_count x GRID]                             */
    double *ring_constant; /* [GRIPS x GRID]               ln of the ring area [m2]   */
    double *ring_linear;   /* [GRIPS x count x GRID]                                  */
};

typedef struct kp_design_work {
    const kp_tolerances *tolerances;
    kp_surrogate *surrogate;
    size_t point_count;
    kp_design_point *points;
    double *answers; /* [GRIPS x point_count x GRID] ln w */
    double *areas;   /* [GRIPS x point_count x GRID] ln of the ring area */
} kp_design_work;

/* ln w at the grid's pressures of the stack at one design point; the first half of the pieces slides, the other is
   held. */
static kp_status solve_design_point(size_t index, void *workspace, void *context, kp_error *error)
{
    kp_design_work *work = context;
    const kp_surrogate *surrogate = work->surrogate;
    const kp_design_point *point = &work->points[index % work->point_count];
    double deviations[KP_MAX_DEVIATIONS] = {0};
    kp_disc discs[KP_MAX_STACK_LINES];
    kp_lift_table *table = NULL;
    (void)workspace;

    /* x of this design point, with the grip of its half. */
    if (point->sign != 0.0) {
        kp_axes_move(&surrogate->axes, point->first, point->sign * STEP, deviations);
        kp_axes_move(&surrogate->axes, point->second, point->sign * STEP, deviations);
    }

    kp_damper_data *data = malloc(sizeof *data);
    if (data == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "no memory for a moved stack");
    }

    *data = *work->tolerances->data;
    kp_band_move_stack(work->tolerances, surrogate->direction, deviations, data);
    if (!work->tolerances->grip_fixed[surrogate->direction]) {
        kp_band_set_grip(&data->valves[surrogate->direction],
                         index < work->point_count ? KP_GRIP_SLIDING : KP_GRIP_HELD);
    }
    data->valves[surrogate->direction].dish = 0.0;

    /* Free lift: no dish. */
    kp_stack stack = kp_damper_stack(data, surrogate->direction, discs);
    kp_status status = kp_lift_table_build(&stack, surrogate->pressure[GRID - 1], &table, error);

    /* w = ln(lift at the seat) at each pressure of the grid. */
    for (size_t j = 0; status == KP_OK && j < GRID; j++) {
        kp_lift at;
        status = kp_lift_table_at(table, surrogate->pressure[j], &at, error);
        if (status != KP_OK) {
            break;
        }
        work->areas[index * GRID + j] = log(kp_lift_table_ring_area(table, surrogate->pressure[j], NULL));

        /* A loose ring may still press this build on its seat where the file's own has lifted. */
        double least = LEAST_LIFT * discs[0].thickness;
        work->answers[index * GRID + j] = log(at.seat_lift < least ? least : at.seat_lift);
        if (!isfinite(work->answers[index * GRID + j])) {
            status = kp_error_set(error, KP_NOT_FINITE, "it lifts by %g mm at %g bar, which has no logarithm",
                                  1e3 * at.seat_lift, 1e-5 * surrogate->pressure[j]);
        }
    }

    kp_lift_table_free(table);
    free(data);
    return status == KP_OK
               ? status
               : kp_error_prefix(error, "%s stack within its tolerances: ", kp_direction_name(surrogate->direction));
}

/* The design: nominal, then plus and minus of each deviation that varies, then the pairs. */
static void list_design_points(kp_design_work *work)
{
    kp_surrogate *surrogate = work->surrogate;
    const bool *varies = surrogate->axes.varies;
    size_t pairing = surrogate->axes.pairing; /* land, clamp and thicknesses; diameters come behind */
    work->points[work->point_count++] = (kp_design_point){0, 0, 0.0};

    /* Two points a deviation: their difference is the slope, their sum the curvature. */
    for (size_t i = 0; i < surrogate->count; i++) {
        if (varies[i]) {
            work->points[work->point_count++] = (kp_design_point){i, i, 1.0};
            work->points[work->point_count++] = (kp_design_point){i, i, -1.0};
        }
    }

    /* One point a pair: both up by a step. */
    for (size_t i = 0; i < pairing; i++) {
        for (size_t k = i + 1; k < pairing; k++) {
            if (varies[i] && varies[k]) {
                work->points[work->point_count++] = (kp_design_point){i, k, 1.0};
                surrogate->pairs[2 * surrogate->pair_count] = i;
                surrogate->pairs[2 * surrogate->pair_count + 1] = k;
                surrogate->pair_count++;
            }
        }
    }
}

/* The ring area's constant and linear coefficients of one grip. */
static void take_ring_differences(const kp_design_work *work, size_t grip)
{
    kp_surrogate *surrogate = work->surrogate;
    const double *areas = &work->areas[grip * work->point_count * GRID];
    double *linear = &surrogate->ring_linear[grip * surrogate->count * GRID];
    memcpy(&surrogate->ring_constant[grip * GRID], areas, GRID * sizeof *areas);

    for (size_t s = 1; s < work->point_count; s++) {
        const kp_design_point *point = &work->points[s];
        const double *plus = &areas[s * GRID], *minus = plus + GRID; /* stands next in the list */
        for (size_t j = 0; point->first == point->second && point->sign > 0.0 && j < GRID; j++) {
            linear[point->first * GRID + j] = (plus[j] - minus[j]) / (2.0 * STEP);
        }
    }
}

/* Coefficients of one grip by differences of the solutions: b = (w+ - w-)/2h, c = (w+ - 2 w0 + w-)/2h^2, and d from
   what a pair adds to the sum of its two. */
static void take_differences(const kp_design_work *work, size_t grip)
{
    kp_surrogate *surrogate = work->surrogate;
    const double *answers = &work->answers[grip * work->point_count * GRID];
    double *constant = &surrogate->constant[grip * GRID];
    double *linear = &surrogate->linear[grip * surrogate->count * GRID];
    double *square = &surrogate->square[grip * surrogate->count * GRID];
    double *cross = &surrogate->cross[grip * surrogate->pair_count * GRID];
    size_t pair = 0;

    /* w0: the nominal stack. */
    for (size_t j = 0; j < GRID; j++) {
        constant[j] = answers[j];
    }
    take_ring_differences(work, grip);

    for (size_t s = 1; s < work->point_count; s++) {
        const kp_design_point *point = &work->points[s];
        const double *plus = &answers[s * GRID];

        if (point->first != point->second) {
            const double *b_i = &linear[point->first * GRID], *c_i = &square[point->first * GRID];
            const double *b_k = &linear[point->second * GRID], *c_k = &square[point->second * GRID];
            for (size_t j = 0; j < GRID; j++) {
                double alone = constant[j] + STEP * (b_i[j] + b_k[j]) + STEP * STEP * (c_i[j] + c_k[j]);
                cross[pair * GRID + j] = (plus[j] - alone) / (STEP * STEP);
            }
            pair++;
        } else if (point->sign > 0.0) {
            const double *minus = plus + GRID; /* stands next in the list */
            for (size_t j = 0; j < GRID; j++) {
                linear[point->first * GRID + j] = (plus[j] - minus[j]) / (2.0 * STEP);
                square[point->first * GRID + j] = (plus[j] - 2.0 * constant[j] + minus[j]) / (2.0 * STEP * STEP);
            }
        }
    }
}

static kp_status make_room(kp_surrogate *surrogate, kp_design_work *work, kp_error *error)
{
    /* Every array at its largest: pairs and points are counted only when they are listed. */
    size_t max_pairs = surrogate->count * surrogate->count / 2 + 1;
    size_t max_points = 1 + 2 * surrogate->count + max_pairs;

    surrogate->pairs = calloc(2 * max_pairs, sizeof *surrogate->pairs);
    surrogate->constant = calloc(GRIPS * GRID, sizeof *surrogate->constant);
    surrogate->linear = calloc(GRIPS * surrogate->count * GRID, sizeof *surrogate->linear);
    surrogate->square = calloc(GRIPS * surrogate->count * GRID, sizeof *surrogate->square);
    surrogate->cross = calloc(GRIPS * max_pairs * GRID, sizeof *surrogate->cross);
    work->points = calloc(max_points, sizeof *work->points);
    work->answers = calloc(GRIPS * max_points * GRID, sizeof *work->answers);
    work->areas = calloc(GRIPS * max_points * GRID, sizeof *work->areas);
    surrogate->ring_constant = calloc(GRIPS * GRID, sizeof *surrogate->ring_constant);
    surrogate->ring_linear = calloc(GRIPS * surrogate->count * GRID, sizeof *surrogate->ring_linear);

    bool good = surrogate->pairs != NULL && surrogate->constant != NULL && surrogate->linear != NULL &&
                surrogate->square != NULL && surrogate->cross != NULL && work->points != NULL &&
                work->answers != NULL && work->areas != NULL && surrogate->ring_constant != NULL &&
                surrogate->ring_linear != NULL;
    return good ? KP_OK : kp_error_set(error, KP_NO_MEMORY, "no memory for the stacks within their tolerances");
}

/* Pressures in equal ratios from the nominal stack's first lift to the reach. */
static kp_status set_grid(const kp_tolerances *tolerances, kp_surrogate *surrogate, double reach, kp_error *error)
{
    kp_disc discs[KP_MAX_STACK_LINES];
    kp_stack stack = kp_damper_stack(tolerances->data, surrogate->direction, discs);
    kp_lift_table *table = NULL;
    double first = reach;

    /* Halve the pressure until the free lift is small. */
    stack.dish = 0.0;
    kp_status status = kp_lift_table_build(&stack, reach, &table, error);
    while (status == KP_OK && first > reach / MAX_SPAN) {
        kp_lift at;
        status = kp_lift_table_at(table, first, &at, error);
        if (status == KP_OK && at.seat_lift <= FIRST_LIFT * discs[0].thickness) {
            break;
        }
        first *= 0.5;
    }

    kp_lift_table_free(table);

    /* p_j = reach (first/reach)^(1 - j/(n - 1)) */
    for (size_t j = 0; j < GRID; j++) {
        surrogate->pressure[j] = reach * pow(reach / first, (double)j / (GRID - 1) - 1.0);
    }

    return status;
}

/* Narrows what a stack of the design that has no solution was moved by. Returned: false when that is nothing: the
   file's own stack has none. */
static bool narrow(kp_tolerances *tolerances, kp_cause_found *found, const kp_design_work *work, size_t failed)
{
    const kp_surrogate *surrogate = work->surrogate;
    const kp_design_point *point = &work->points[failed % work->point_count];
    if (point->sign == 0.0) {
        bool varied = !tolerances->grip_fixed[surrogate->direction];
        tolerances->grip_fixed[surrogate->direction] = true; /* the other grip has no solution, so it is not one */
        found[KP_CAUSE_GRIP].cut = true;
        return varied;
    }

    for (size_t i = 0; i < surrogate->axes.deviations; i++) {
        if (surrogate->axes.axis[i] == point->first || surrogate->axes.axis[i] == point->second) {
            tolerances->sigma[surrogate->direction][i] *= NARROWER;
            found[kp_band_cause_of(tolerances, surrogate->direction, i)].cut = true;
        }
    }
    return true;
}

/* The whole design on the pool, both grips. */
static kp_status solve_design(kp_tolerances *tolerances, kp_cause_found *found, kp_design_work *work,
                              const kp_pool *pool, kp_error *error)
{
    for (int tries = 0;; tries++) {
        size_t completed = 0;
        kp_error own = {0};
        kp_status status = kp_pool_run(pool, GRIPS * work->point_count, solve_design_point, work, &completed, &own);
        bool unsolved = status == KP_OUT_OF_RANGE || status == KP_NO_SOLUTION || status == KP_NOT_FINITE;
        if (status == KP_OK || !unsolved || tries == MAX_TRIES || !narrow(tolerances, found, work, completed)) {
            return status == KP_OK ? status : kp_error_set(error, status, "%s", own.message);
        }
    }
}

kp_status kp_surrogate_begin(kp_tolerances *tolerances, kp_cause_found found[KP_CAUSE_COUNT], kp_direction direction,
                             double reach, const kp_pool *pool, kp_surrogate **out, kp_error *error)
{
    kp_surrogate *surrogate = calloc(1, sizeof *surrogate);
    if (surrogate == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "no memory for the stacks within their tolerances");
    }

    kp_design_work work = {.tolerances = tolerances, .surrogate = surrogate};
    surrogate->direction = direction;
    kp_axes_make(tolerances, direction, &surrogate->axes);
    surrogate->count = surrogate->axes.count;

    kp_status status = set_grid(tolerances, surrogate, reach, error);
    if (status == KP_OK) {
        status = make_room(surrogate, &work, error);
    }

    /* Both grips on the pool, then the coefficients of each. */
    if (status == KP_OK) {
        list_design_points(&work);
        status = solve_design(tolerances, found, &work, pool, error);
    }

    for (size_t grip = 0; status == KP_OK && grip < GRIPS; grip++) {
        take_differences(&work, grip);
    }

    free(work.points);
    free(work.answers);
    free(work.areas);

    if (status != KP_OK) {
        kp_surrogate_free(surrogate);
        return status;
    }

    *out = surrogate;
    return KP_OK;
}

void kp_surrogate_free(kp_surrogate *surrogate)
{
    if (surrogate == NULL) {
        return;
    }
    free(surrogate->pairs);
    free(surrogate->constant);
    free(surrogate->linear);
    free(surrogate->square);
    free(surrogate->cross);
    free(surrogate->ring_constant);
    free(surrogate->ring_linear);
    free(surrogate);
}

/* ln of the free lift of a build at the grid's pressures. */
static void evaluate(const kp_surrogate *surrogate, const kp_build *build, double log_lift[GRID])
{
    double x[KP_MAX_DEVIATIONS];
    const double weights[GRIPS] = {1.0 - build->held, build->held};

    kp_axes_of_build(&surrogate->axes, build->deviations[surrogate->direction], x);
    for (size_t j = 0; j < GRID; j++) {
        log_lift[j] = 0.0;
    }

    for (size_t grip = 0; grip < GRIPS; grip++) {
        const double weight = weights[grip];
        const double *constant = &surrogate->constant[grip * GRID];
        for (size_t j = 0; j < GRID; j++) {
            log_lift[j] += weight * constant[j];
        }

        /* b_i x_i + c_i x_i^2 */
        for (size_t i = 0; i < surrogate->count; i++) {
            const double *b = &surrogate->linear[(grip * surrogate->count + i) * GRID];
            const double *c = &surrogate->square[(grip * surrogate->count + i) * GRID];
            const double first = weight * x[i];
            const double second = weight * x[i] * x[i];
            for (size_t j = 0; j < GRID; j++) {
                log_lift[j] += first * b[j] + second * c[j];
            }
        }

        /* d_ik x_i x_k */
        for (size_t k = 0; k < surrogate->pair_count; k++) {
            const double *d = &surrogate->cross[(grip * surrogate->pair_count + k) * GRID];
            const double both = weight * x[surrogate->pairs[2 * k]] * x[surrogate->pairs[2 * k + 1]];
            for (size_t j = 0; j < GRID; j++) {
                log_lift[j] += both * d[j];
            }
        }
    }
}

/* Ring areas of a build at the grid's pressures: they change so little that the linear terms are enough. */
static void evaluate_ring(const kp_surrogate *surrogate, const kp_build *build, double area[GRID])
{
    double x[KP_MAX_DEVIATIONS];
    kp_axes_of_build(&surrogate->axes, build->deviations[surrogate->direction], x);
    const double weights[GRIPS] = {1.0 - build->held, build->held};

    for (size_t j = 0; j < GRID; j++) {
        double sum = 0.0;
        for (size_t grip = 0; grip < GRIPS; grip++) {
            double moved = surrogate->ring_constant[grip * GRID + j];
            for (size_t i = 0; i < surrogate->count; i++) {
                moved += x[i] * surrogate->ring_linear[(grip * surrogate->count + i) * GRID + j];
            }
            sum += weights[grip] * moved;
        }
        area[j] = exp(sum);
    }
}

/* Gives a build's table the ring areas, between the grid's pressures straight in their logarithm. */
static kp_status set_ring_areas(const kp_surrogate *surrogate, const kp_build *build, size_t n, const double *pressure,
                                kp_lift_table *table, kp_error *error)
{
    double area[GRID], at[GRID + 3];
    evaluate_ring(surrogate, build, area);

    for (size_t i = 0, j = 0; i < n; i++) {
        while (j + 2 < GRID && surrogate->pressure[j + 1] <= pressure[i]) {
            j++;
        }
        double below = surrogate->pressure[j], above = surrogate->pressure[j + 1];
        double part = pressure[i] > below ? log(pressure[i] / below) / log(above / below) : 0.0;
        at[i] = area[j] + part * (area[j + 1] - area[j]);
    }
    return kp_lift_table_set_ring_area(table, at, error);
}

/* Pressure at which the free lift is w: a parabola through three points of ln p against ln w. */
static double pressure_at(const kp_surrogate *surrogate, const double log_lift[GRID], double log_wanted)
{
    /* The three grid points around w, or the last three. */
    size_t j = 1;
    while (j + 2 < GRID && log_lift[j + 1] < log_wanted) {
        j++;
    }

    /* Inverse interpolation: ln p as a function of the logarithm of the lift. */
    double p[3];
    double w[3];
    for (size_t k = 0; k < 3; k++) {
        p[k] = log(surrogate->pressure[j - 1 + k]);
        w[k] = log_lift[j - 1 + k];
    }

    /* Newton's divided differences. */
    double first = (p[1] - p[0]) / (w[1] - w[0]);
    double second = ((p[2] - p[1]) / (w[2] - w[1]) - first) / (w[2] - w[0]);
    return exp(p[0] + (log_wanted - w[0]) * (first + second * (log_wanted - w[1])));
}

kp_status kp_surrogate_table(const kp_surrogate *surrogate, const kp_build *build, kp_lift_table **out, kp_error *error)
{
    double log_lift[GRID];
    double pressure[GRID + 3];
    double opening[GRID + 3];
    size_t n = 0;
    const double dish = build->data.valves[surrogate->direction].dish;
    double cracking = 0.0;
    evaluate(surrogate, build, log_lift);

    /* Closed up to cracking, where the free lift is the dish. */
    pressure[n] = 0.0;
    opening[n++] = fmax(0.0, -dish); /* a seat below the clamp plane is never closed */
    if (dish > 0.0) {
        if (!(log_lift[GRID - 1] > log(dish))) {
            return kp_error_set(error, KP_OUT_OF_RANGE, "a build of the %s stack does not open up to %g MPa",
                                kp_direction_name(surrogate->direction), surrogate->pressure[GRID - 1] / 1e6);
        }

        cracking = pressure_at(surrogate, log_lift, log(dish));
        pressure[n] = cracking;
        opening[n++] = 0.0;
    }

    /* Then the free lift less the dish. */
    for (size_t j = 0; j < GRID; j++) {
        if (surrogate->pressure[j] <= cracking * (1.0 + 2.0 * BEHIND_CRACKING) && cracking > 0.0) {
            continue;
        }

        double here = exp(log_lift[j]) - dish;
        if (n == 2 && cracking > 0.0) { /* just behind cracking, on the straight line to the first point */
            pressure[n] = cracking * (1.0 + BEHIND_CRACKING);
            opening[n] = here * (pressure[n] - cracking) / (surrogate->pressure[j] - cracking);
            n++;
        }

        pressure[n] = surrogate->pressure[j];
        opening[n] = fmax(here, opening[n - 1]); /* far out in a tail the polynomial may dip by a hair */
        n++;
    }

    kp_lift_table *table = NULL;
    kp_status status = kp_lift_table_from_points(n, pressure, opening, &table, error);
    if (status == KP_OK) {
        status = set_ring_areas(surrogate, build, n, pressure, table, error);
    }
    if (status != KP_OK) {
        kp_lift_table_free(table);
        return status;
    }
    *out = table;
    return KP_OK;
}
