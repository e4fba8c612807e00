/* SPDX-License-Identifier: GPL-3.0-or-later */
/** One stack at given pressures.
    Small deflection. The handbook knows one plate. A stack of m equal shims is that plate with m times the stiffness,
    so there the closed form is used (Roark; a pressure up to the land's inner edge, and over the land, where it falls
    with the logarithm of the radius, by ring loads summed with Simpson's rule). A stack of several kinds has no closed
    form: its answer is the straight line that touches the stack's own lift at zero load. Contact without gaps is
    proportional to the load, so that line is found from one solution at a load that lifts the face shim by a
    ten-thousandth of its thickness, without the seat. Shims behind a gap (a crossover) are not reached at that load
    and rightly do not count: that is where the straight line goes most wrong. */
#include "cli/lift.h"

#include <math.h>
#include <stdlib.h>

static const double SMALL_LIFT = 1e-4; /* [-] of the face shim's thickness: the cubic term is then some 1e-8 */
enum { LAND_RINGS = 64 };              /* [-] even; Simpson over a land 1 mm wide is exact to 1e-9 */

/* Lift of the rim of one plate per unit of pressure, by the closed forms. */
static kp_status closed_form(const kp_stack *stack, double thickness, double *lift, kp_error *error)
{
    const kp_disc *face = &stack->discs[0];
    double inner = stack->land_inner_radius;
    double outer = stack->land_outer_radius;
    double sum = 0.0;
    kp_status status = kp_plate_pressure_lift(face->outer_radius, stack->clamp_radius, thickness, face->material,
                                              stack->port_inner_radius, inner, 1.0, face->outer_radius, &sum, error);
    double width = (outer - inner) / LAND_RINGS;
    for (int i = 0; status == KP_OK && outer > inner && i <= LAND_RINGS; i++) {
        double r = inner + width * i;
        double pressure = log(outer / r) / log(outer / inner); /* [-] of the pressure before it */
        double weight = (i == 0 || i == LAND_RINGS ? 1.0 : i % 2 == 1 ? 4.0 : 2.0) / 3.0; /* Simpson */
        double part = 0.0;
        if (pressure > 0.0) {
            status = kp_plate_ring_lift(face->outer_radius, stack->clamp_radius, thickness, face->material, r,
                                        pressure * width * weight, face->outer_radius, &part, error);
        }
        sum += part;
    }
    if (status == KP_OK) {
        *lift = sum * stack->load_coverage;
    }
    return status;
}

static bool one_kind_of_shim(const kp_stack *stack)
{
    for (size_t i = 1; i < stack->disc_count; i++) {
        /* exact: two lines of one drawer size come from the same text */
        if (stack->discs[i].outer_radius != stack->discs[0].outer_radius ||
            stack->discs[i].thickness != stack->discs[0].thickness) {
            return false;
        }
    }
    return true;
}

static kp_status find_small(kp_lift_study *study, kp_error *error)
{
    const kp_stack *stack = &study->stack;
    double one_shim;
    kp_status status = closed_form(stack, stack->discs[0].thickness, &one_shim, error);
    if (status != KP_OK) {
        return status;
    }
    if (one_kind_of_shim(stack)) {
        study->small_kind = KP_SMALL_CLOSED_FORM;
        study->small_edge_per_pressure = one_shim / (double)study->shim_count;
        return KP_OK;
    }
    double pressure = SMALL_LIFT * stack->discs[0].thickness / one_shim;
    status = kp_stack_solve(study->workspace, pressure, KP_SEAT_ABSENT, error);
    if (status == KP_OK) {
        study->small_kind = KP_SMALL_TANGENT;
        study->small_edge_per_pressure = kp_stack_lift_at(study->workspace, 0, stack->discs[0].outer_radius) / pressure;
    }
    return status;
}

const char *kp_lift_small_words(const kp_lift_study *study)
{
    return study->small_kind == KP_SMALL_CLOSED_FORM
               ? "Roark's closed form of a flat plate, clamped inside and free outside, without the seat."
               : "the straight line that touches this stack's lift at zero load, without the seat (no closed form "
                 "holds for several kinds of shim).";
}

/* Cracking comes from the lift table, which finds it to rounding. */
static kp_status find_cracking(kp_lift_study *study, kp_error *error)
{
    if (!(study->stack.dish > 0.0)) {
        study->cracking = 0.0;
        return KP_OK;
    }
    kp_lift_table *table;
    const double little = 1.0; /* [Pa] the table reaches cracking by itself */
    kp_status status = kp_lift_table_build(&study->stack, little, &table, error);
    if (status == KP_OK) {
        study->cracking = kp_lift_table_cracking(table);
        kp_lift_table_free(table);
    }
    return status;
}

kp_status kp_lift_study_begin(const kp_damper_data *data, kp_direction direction, kp_lift_study *study, kp_error *error)
{
    study->direction = direction;
    study->valve = &data->valves[direction];
    study->stack = kp_damper_stack(data, direction, study->discs);
    study->shim_count = 0;
    for (size_t i = 0; i < study->valve->line_count; i++) {
        study->shim_count += (size_t)study->valve->lines[i].count;
    }
    kp_status status = kp_stack_begin(&study->stack, NULL, &study->workspace, error);
    if (status == KP_OK) {
        status = find_small(study, error);
    }
    if (status == KP_OK) {
        status = find_cracking(study, error);
    }
    if (status != KP_OK) {
        kp_error_prefix(error, "%s stack: ", kp_direction_name(direction));
    }
    return status;
}

bool kp_lift_row_yields(const kp_lift_study *study, const kp_lift_row *row, size_t line)
{
    return !(row->line_stress[line] <= study->discs[line].material.yield); /* NaN counts as past */
}

void kp_lift_study_end(kp_lift_study *study)
{
    if (study->workspace != NULL) {
        kp_stack_free(study->workspace);
    }
    study->workspace = NULL;
}

static kp_status solve_row(const kp_lift_study *study, double pressure, bool free_stack, kp_lift_row *row,
                           kp_error *error)
{
    const kp_stack *stack = &study->stack;
    row->pressure = pressure;
    row->small_edge_lift = study->small_edge_per_pressure * pressure;
    row->held = !free_stack && stack->dish > 0.0 && pressure < study->cracking;
    kp_status status = kp_stack_solve(study->workspace, pressure, row->held ? KP_SEAT_HOLDS : KP_SEAT_ABSENT, error);
    if (status != KP_OK) {
        return status;
    }
    row->seat_lift = kp_stack_seat_lift(study->workspace);
    row->opening = row->held ? 0.0 : fmax(0.0, row->seat_lift - stack->dish);
    row->edge_lift = kp_stack_lift_at(study->workspace, 0, stack->discs[0].outer_radius);
    row->peak_stress = 0.0;
    for (size_t i = 0; i < stack->disc_count; i++) {
        row->line_edge_lift[i] = kp_stack_lift_at(study->workspace, i, stack->discs[i].outer_radius);
        kp_stack_peak_stress(study->workspace, i, &row->line_stress[i], NULL, NULL);
        row->peak_stress = fmax(row->peak_stress, row->line_stress[i]);
    }
    return KP_OK;
}

/** A pressure and where its row stands. */
typedef struct kp_turn {
    double pressure;
    size_t row;
} kp_turn;

static int by_pressure(const void *a, const void *b)
{
    const kp_turn *first = a;
    const kp_turn *second = b;
    return (first->pressure > second->pressure) - (first->pressure < second->pressure);
}

kp_status kp_lift_study_rows(const kp_lift_study *study, const double *pressures, size_t count, bool free_stack,
                             kp_lift_row *rows, kp_error *error)
{
    /* From low to high: each solution starts from the one before, whatever order was asked for. */
    kp_turn *turns = calloc(count > 0 ? count : 1, sizeof *turns);
    if (turns == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out for %zu pressures", count);
    }
    for (size_t i = 0; i < count; i++) {
        turns[i] = (kp_turn){pressures[i], i};
    }
    qsort(turns, count, sizeof *turns, by_pressure);
    kp_status status = KP_OK;
    for (size_t i = 0; status == KP_OK && i < count; i++) {
        status = solve_row(study, turns[i].pressure, free_stack, &rows[turns[i].row], error);
    }
    free(turns);
    if (status != KP_OK) {
        kp_error_prefix(error, "%s stack: ", kp_direction_name(study->direction));
    }
    return status;
}
