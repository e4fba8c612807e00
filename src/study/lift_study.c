/* SPDX-License-Identifier: GPL-3.0-or-later */
/** One stack, solved at each of the given pressures. */
#include "kneepoint/lift.h"
#include "study/lift_handbook.h"

#include <math.h>
#include <stdlib.h>

/* What Newton's method leaves of a stack at rest is rounding, far below the size of an atom. */
static const double NO_LIFT = 1e-15;  /* [m]  */
static const double NO_STRESS = 1e-6; /* [Pa] */

/* Cracking comes from the lift table, which finds it to rounding. */
static kp_status find_cracking(kp_lift_study *study, kp_error *error)
{
    bool pressed = study->stack.dish > 0.0; /* by its dish, or by a loose ring */
    for (size_t i = 0; i < study->valve->line_count; i++) {
        pressed = pressed || study->parts[i] == KP_SHIM_RING;
    }

    /* A stack that nothing presses on its seat opens at any pressure. */
    study->cracking = 0.0;
    if (!pressed) {
        return KP_OK;
    }

    kp_lift_table *table;
    const double pressure_max = 1.0; /* [Pa] the table goes on to cracking by itself */
    kp_status status = kp_lift_table_build(&study->stack, pressure_max, &table, error);
    if (status == KP_OK) {
        study->cracking = kp_lift_table_cracking(table);
        kp_lift_table_free(table);
    }
    return status;
}

/* The onset, and the stack held round beside the one that folds. */
static kp_status begin_round(kp_lift_study *study, kp_error *error)
{
    const double pressure_max = 10e6; /* [Pa] beyond any damper's */
    if (study->round) {
        return KP_OK;
    }
    kp_stack held = study->stack;
    held.folds = false;
    kp_status status = kp_stack_begin(&held, &kp_stack_exactly, &study->held_round, error);
    return status == KP_OK ? kp_stack_find_onset(study->workspace, pressure_max, &study->onset, error) : status;
}

kp_status kp_lift_study_begin(const kp_damper_data *data, kp_direction direction, kp_lift_study *study, kp_error *error)
{
    /* The stack and its parts. */
    study->direction = direction;
    study->valve = &data->valves[direction];
    study->stack = kp_damper_stack(data, direction, study->discs);
    study->stack.folds = study->stack.folds && !study->round;
    study->shim_count = 0;
    for (size_t i = 0; i < study->valve->line_count; i++) {
        study->shim_count += (size_t)study->valve->lines[i].count;
    }
    kp_valve_parts(study->valve, study->parts, study->clamps);

    /* The handbook's tangent needs the workspace. */
    kp_status status = kp_stack_begin(&study->stack, &kp_stack_exactly, &study->workspace, error);
    if (status == KP_OK) {
        status = kp_lift_handbook(study, error);
    }
    if (status == KP_OK) {
        status = find_cracking(study, error);
    }
    if (status == KP_OK) {
        status = begin_round(study, error);
    }
    if (status != KP_OK) {
        kp_error_prefix(error, "%s stack: ", kp_direction_name(direction));
    }
    return status;
}

void kp_lift_study_end(kp_lift_study *study)
{
    if (study->workspace != NULL) {
        kp_stack_free(study->workspace);
    }
    if (study->held_round != NULL) {
        kp_stack_free(study->held_round);
    }
    study->workspace = study->held_round = NULL;
}

static double without_rounding(double lift)
{
    return fabs(lift) < NO_LIFT ? 0.0 : lift;
}

static kp_lift_line line_result(const kp_lift_study *study, size_t line)
{
    const kp_disc *disc = &study->discs[line];
    kp_lift_line result;

    result.edge_lift = without_rounding(kp_stack_lift_at(study->workspace, line, disc->outer_radius));

    /* Stress at this pressure. */
    kp_stack_peak_stress(study->workspace, line, &result.peak_stress, NULL, NULL);
    result.peak_stress = result.peak_stress < NO_STRESS ? 0.0 : result.peak_stress;
    result.yields = !(result.peak_stress <= disc->material.yield); /* NaN counts as past */

    /* Fatigue, where the material's strengths are known. */
    result.cycle = kp_stack_cycle(study->workspace, line);
    if (!(disc->material.fatigue > 0.0 && disc->material.tensile > 0.0)) {
        result.cycle = (kp_cycle){.mean = (double)NAN, .amplitude = (double)NAN, .use = (double)NAN};
    }
    result.tires = result.cycle.use >= 1.0 && !result.yields;
    return result;
}

/* Lifts at the seat of the last solution. */
static void read_lift(const kp_lift_study *study, kp_lift_row *row)
{
    kp_onset onset;
    double lobe = kp_stack_seat_lobe(study->workspace), dish = study->stack.dish;
    row->seat_lift = without_rounding(kp_stack_seat_lift(study->workspace));
    row->seat_lift_crest = row->seat_lift + lobe;
    row->seat_lift_valley = row->seat_lift - lobe;
    row->opening = row->held ? 0.0 : fmax(0.0, row->seat_lift - dish);
    row->opening_max = row->held ? 0.0 : fmax(0.0, row->seat_lift_crest - dish);

    /* What is out of flat has lobes below the onset too, but hardly any. */
    bool folded = kp_stack_is_folded(study->workspace, &onset);
    row->lobes = folded && (study->stack.ports > 0 || row->pressure >= study->onset.pressure) ? onset.lobes : 0;
}

static kp_status solve_row(const kp_lift_study *study, double pressure, bool free_stack, kp_lift_row *row,
                           kp_error *error)
{
    /* Below cracking the seat holds the face shim. */
    row->pressure = pressure;
    row->small_edge_lift = study->small_edge_per_pressure * pressure;
    row->held = !free_stack && pressure < study->cracking;
    kp_seat seat = row->held ? KP_SEAT_HOLDS : KP_SEAT_ABSENT;
    kp_status status = kp_stack_solve(study->workspace, pressure, seat, error);
    if (status != KP_OK) {
        return status;
    }
    read_lift(study, row);

    /* Each line, and the largest of them. */
    row->peak_stress = 0.0;
    row->fatigue_use = (double)NAN;
    row->past_yield = false;
    for (size_t i = 0; i < study->stack.disc_count; i++) {
        row->lines[i] = line_result(study, i);
        row->peak_stress = fmax(row->peak_stress, row->lines[i].peak_stress);
        row->fatigue_use = fmax(row->fatigue_use, row->lines[i].cycle.use); /* fmax ignores NAN */
        row->past_yield = row->past_yield || row->lines[i].yields;
    }
    row->edge_lift = row->round_edge_lift = row->lines[0].edge_lift;

    /* The stack held round, where it differs. */
    if (row->lobes > 0) {
        status = kp_stack_solve(study->held_round, pressure, seat, error);
        row->round_edge_lift = without_rounding(kp_stack_lift_at(study->held_round, 0, study->discs[0].outer_radius));
    }
    return status;
}

/** A pressure and the row it belongs to. */
typedef struct kp_row_order {
    double pressure;
    size_t row;
} kp_row_order;

static int by_pressure(const void *a, const void *b)
{
    const kp_row_order *first = a;
    const kp_row_order *second = b;
    return (first->pressure > second->pressure) - (first->pressure < second->pressure);
}

/* The low end of a stress cycle: the stack at no pressure, on its seat or without it. */
static kp_status mark_rest(const kp_lift_study *study, bool free_stack, kp_error *error)
{
    kp_status status = kp_stack_solve(study->workspace, 0.0, free_stack ? KP_SEAT_ABSENT : KP_SEAT_HOLDS, error);
    if (status == KP_OK) {
        kp_stack_mark_rest(study->workspace);
    }
    return status;
}

kp_status kp_lift_study_rows(const kp_lift_study *study, const double *pressures, size_t count, bool free_stack,
                             kp_lift_row *rows, kp_lift_visit visit, void *context, kp_error *error)
{
    /* From low to high, whatever the order given: each solution starts from the one before. */
    kp_row_order *order = calloc(count > 0 ? count : 1, sizeof *order);
    if (order == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out for %zu pressures", count);
    }
    for (size_t i = 0; i < count; i++) {
        order[i] = (kp_row_order){pressures[i], i};
    }
    qsort(order, count, sizeof *order, by_pressure);

    /* The cycle of fatigue begins at rest, so rest is solved first. */
    kp_status status = mark_rest(study, free_stack, error);
    for (size_t i = 0; status == KP_OK && i < count; i++) {
        status = solve_row(study, order[i].pressure, free_stack, &rows[order[i].row], error);
        if (status == KP_OK && visit != NULL) {
            visit(study, order[i].row, context);
        }
    }
    free(order);

    if (status != KP_OK) {
        kp_error_prefix(error, "%s stack: ", kp_direction_name(study->direction));
    }
    return status;
}

bool kp_lift_profile(const kp_lift_study *study, size_t line, kp_profile_point points[KP_PROFILE_POINTS])
{
    if (study->parts[line] == KP_SHIM_SPACER) {
        return false;
    }

    /* A ring is free at both edges, so its profile begins at its hole. */
    double outer = study->discs[line].outer_radius;
    double inner = study->parts[line] == KP_SHIM_RING ? study->discs[line].hole_radius : study->clamps[line] / 2.0;

    for (size_t k = 0; k < KP_PROFILE_POINTS; k++) {
        double share = (double)k / (KP_PROFILE_POINTS - 1);
        double radius = k + 1 == KP_PROFILE_POINTS ? outer : inner + share * (outer - inner);
        points[k] = (kp_profile_point){radius, without_rounding(kp_stack_lift_at(study->workspace, line, radius)),
                                       kp_stack_stress_at(study->workspace, line, radius)};
    }
    return true;
}
