/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "work.h"

#include "kneepoint/damper.h"
#include "kneepoint/file.h"
#include "num/num.h"
#include "measure.h"
#include "kneepoint/lift.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

const double work_pressure_first = 3e3, work_pressure_last = 3e6;

static const unsigned long long DRAWN_SEED = 2025112509;

/* Diameters: port 18 mm, land 34 mm, clamp 16 mm, as in the tables of tests/truth. */
static void set_up(work_case *out, size_t count)
{
    out->stack = (kp_stack){.clamp_radius = 8e-3,
                            .disc_count = count,
                            .discs = out->discs,
                            .port_inner_radius = 9e-3,
                            .land_inner_radius = 17e-3,
                            .land_outer_radius = 17e-3,
                            .load_coverage = 1,
                            .grip = KP_GRIP_HELD};
    out->seat = KP_SEAT_ABSENT;
    out->loads = WORK_LOADS;
    for (int i = 0; i < WORK_LOADS; i++)
        out->pressures[i] =
            work_pressure_first * pow(work_pressure_last / work_pressure_first, (double)i / (WORK_LOADS - 1));
}

static kp_disc shim(double outside, double thickness)
{
    return (kp_disc){
        .outer_radius = outside / 2, .thickness = thickness, .count = 1, .material = kp_material_spring_steel()};
}

void work_taper(int discs, work_case *out)
{
    static const double target[] = {40e-3, 39e-3, 38e-3, 36e-3, 34e-3, 32e-3, 28e-3, 24e-3}; /* [m] */
    const double largest = 40e-3, smallest = 24e-3, thickness = 0.2e-3;                      /* [m] */
    bool is_target = discs == WORK_TARGET;
    int count = is_target ? (int)(sizeof target / sizeof target[0]) : discs;
    if (count < 1 || count > WORK_DISCS)
        bench_stop("a taper", "must have 1 to 16 discs");
    for (int i = 0; i < count; i++) {
        double even = count > 1 ? largest - (largest - smallest) * i / (count - 1) : largest;
        out->discs[i] = shim(is_target ? target[i] : even, thickness);
    }
    set_up(out, (size_t)count);
}

void work_deck(const truth *decks, const char *name, work_case *out)
{
    size_t count = 0;
    for (size_t row = 0; row < decks->rows; row++) {
        if (strcmp(truth_text(decks, row, "deck"), name) != 0 || count == WORK_DISCS)
            continue;
        out->discs[count++] =
            shim(1e-3 * truth_number(decks, row, "outside_mm"), 1e-3 * truth_number(decks, row, "thickness_mm"));
        set_up(out, count);
        out->stack.port_inner_radius = 1e-3 * truth_number(decks, row, "port_inner_radius_mm");
        out->stack.land_inner_radius = out->stack.land_outer_radius =
            1e-3 * truth_number(decks, row, "port_outer_radius_mm");
        out->stack.dish = 1e-3 * truth_number(decks, row, "dish_mm");
    }
    char file[80];
    snprintf(file, sizeof file, "%s.csv", name);
    truth loads = truth_read(file);
    out->seat = out->stack.dish > 0 ? KP_SEAT_HOLDS : KP_SEAT_ABSENT;
    out->loads = loads.rows < WORK_MAX_LOADS ? loads.rows : WORK_MAX_LOADS;
    for (size_t i = 0; i < out->loads; i++)
        out->pressures[i] = 1e6 * truth_number(&loads, i, "pressure_MPa");
    truth_free(&loads);
}

void work_drawn_taper(size_t index, work_case *out)
{
    static const double thicknesses[] = {0.10e-3, 0.15e-3, 0.20e-3, 0.25e-3, 0.30e-3}; /* [m] */
    kp_random random;
    kp_random_seed(&random, kp_random_mix(DRAWN_SEED, 0, index, 0));
    int count = kp_random_int(&random, 4, 12);
    double face = 1e-3 * kp_random_int(&random, 34, 44);
    double last = 16e-3 + 1e-3 * kp_random_int(&random, 2, 8);
    for (int i = 0; i < count; i++) {
        double part = (i + (i > 0 ? kp_random_uniform(&random, -0.3, 0.3) : 0)) / (count - 1);
        double outside = 0.5e-3 * round((face - (face - last) * part) / 0.5e-3);
        out->discs[i] = shim(outside, thicknesses[kp_random_int(&random, 0, 4)]);
        out->discs[i].count = kp_random_uniform(&random, 0, 1) < 0.15 ? 2 : 1;
    }
    set_up(out, (size_t)count);
    out->stack.land_inner_radius = face / 2 - 3e-3;
    out->stack.land_outer_radius = face / 2 - 2e-3;
    out->stack.load_coverage = 0.8;
    out->stack.dish = kp_random_uniform(&random, 0, 1) < 0.5 ? kp_random_uniform(&random, 0.05e-3, 0.4e-3) : 0;
}

/* ---- the pieces ----------------------------------------------------------------------------------- */

static kp_stack_workspace *begin(const work_case *c)
{
    kp_error error = {0};
    kp_stack_workspace *workspace = NULL;
    if (kp_stack_begin(&c->stack, NULL, &workspace, &error) != KP_OK)
        bench_stop("the set-up of a stack", error.message);
    return workspace;
}

static void setup(void *context)
{
    kp_stack_free(begin(context));
}

static void path(void *context)
{
    work_case *c = context;
    kp_error error = {0};
    kp_stack_workspace *workspace = begin(c);
    c->newton_steps = 0;
    for (size_t i = 0; i < c->loads; i++) {
        if (kp_stack_solve(workspace, c->pressures[i], c->seat, &error) != KP_OK)
            bench_stop("a load path", error.message);
        c->newton_steps += kp_stack_last_record(workspace).newton_steps;
    }
    kp_stack_free(workspace);
}

enum { EXACT, COARSE };
const work_mode work_modes[WORK_MODES] = {
    [EXACT] = {"exact", "table", "drawn", kp_lift_table_build},
    [COARSE] = {"coarse", "coarse table", "drawn, coarse", kp_lift_table_build_coarse},
};

static void make_table(const work_mode *mode, const work_case *c)
{
    kp_error error = {0};
    kp_lift_table *made = NULL;
    if (mode->build(&c->stack, work_pressure_last, &made, &error) != KP_OK)
        bench_stop("a lift table", error.message);
    kp_lift_table_free(made);
}

static void make_drawn(const work_mode *mode)
{
    for (size_t i = 0; i < WORK_DRAWN; i++) {
        work_case c;
        work_drawn_taper(i, &c);
        make_table(mode, &c);
    }
}

static void table(void *context)
{
    make_table(&work_modes[EXACT], context);
}

static void drawn(void *context)
{
    (void)context;
    make_drawn(&work_modes[EXACT]);
}

static void coarse_table(void *context)
{
    make_table(&work_modes[COARSE], context);
}

static void coarse_drawn(void *context)
{
    (void)context;
    make_drawn(&work_modes[COARSE]);
}

/* What the command curve does between reading its arguments and printing: reads the file, prepares the damper, and
   computes six points and the summary of each direction. */
static void curve(void *context)
{
    static const double speeds[] = {0.052, 0.131, 0.262, 0.393, 0.524, 1.047}; /* [m/s] */
    const work_case *c = context;
    kp_speed_limits limits = kp_speed_limits_default();
    kp_damper_data data;
    kp_messages messages = {0};
    kp_error error = {0};
    kp_damper *damper = NULL;
    kp_status status = kp_file_read_damper(c->file, NULL, 0, &data, &messages, &error);
    kp_messages_free(&messages);
    if (status == KP_OK)
        status = kp_damper_begin(&data, fmax(limits.top, speeds[5]), &damper, &error);
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        kp_curve_point point;
        kp_curve_summary summary;
        for (size_t i = 0; status == KP_OK && i < sizeof speeds / sizeof speeds[0]; i++)
            status = kp_curve_at(damper, d == KP_COMPRESSION ? speeds[i] : -speeds[i], &point, &error);
        if (status == KP_OK)
            status = kp_curve_summarise(damper, (kp_direction)d, limits, &summary, &error);
    }
    if (status != KP_OK)
        bench_stop(c->file, error.message);
    kp_damper_free(damper);
}

work_function work_named(const char *name)
{
    static const struct {
        const char *name;
        work_function work;
    } all[] = {{"setup", setup},
               {"path", path},
               {"table", table},
               {"drawn", drawn},
               {"coarse table", coarse_table},
               {"drawn, coarse", coarse_drawn},
               {"curve", curve},
               {"yardstick", bench_yardstick}};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
        if (strcmp(name, all[i].name) == 0)
            return all[i].work;
    }
    return NULL;
}
