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

#include "cli/messages.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* [m] a hundred-thousandth of an atom: what is left of a lift when Newton's method comes back to a stack at rest */
static const double NO_LIFT = 1e-15;
static const double NO_STRESS = 1e-6; /* [Pa] the same for its stress */

static const double SMALL_LIFT = 1e-4; /* [-] of the face shim's thickness: the cubic term is then some 1e-8 */
static const double PRELOADED = 1e-9;  /* [-] of the face shim's thickness: bent without any load */
enum { LAND_RINGS = 64 };              /* [-] even; Simpson over a land 1 mm wide is exact to 1e-9 */

/* Lift of the rim of one plate per unit of pressure, by the closed forms. */
static kp_status closed_form(const kp_stack *stack, double clamp, double thickness, double *lift, kp_error *error)
{
    const kp_disc *face = &stack->discs[0];
    double inner = stack->land_inner_radius;
    double outer = stack->land_outer_radius;
    double sum = 0.0;
    kp_status status = kp_plate_pressure_lift(face->outer_radius, clamp, thickness, face->material,
                                              stack->port_inner_radius, inner, 1.0, face->outer_radius, &sum, error);
    double width = (outer - inner) / LAND_RINGS;
    for (int i = 0; status == KP_OK && outer > inner && i <= LAND_RINGS; i++) {
        double r = inner + width * i;
        double pressure = log(outer / r) / log(outer / inner); /* [-] of the pressure before it */
        double weight = (i == 0 || i == LAND_RINGS ? 1.0 : i % 2 == 1 ? 4.0 : 2.0) / 3.0; /* Simpson */
        double part = 0.0;
        if (pressure > 0.0) {
            status = kp_plate_ring_lift(face->outer_radius, clamp, thickness, face->material, r,
                                        pressure * width * weight, face->outer_radius, &part, error);
        }
        sum += part;
    }
    if (status == KP_OK) {
        *lift = sum * stack->load_coverage;
    }
    return status;
}

/* One kind of plate, and nothing else that bends or is touched. */
static bool one_kind_of_shim(const kp_lift_study *study)
{
    const kp_disc *face = &study->discs[0];
    bool one = face->slot_count == 0 && study->stack.stop_count == 0;
    for (size_t i = 1; one && i < study->stack.disc_count; i++) {
        const kp_disc *disc = &study->discs[i];
        /* exact: two lines of one drawer size come from the same text */
        bool same = disc->outer_radius == face->outer_radius && disc->thickness == face->thickness &&
                    disc->slot_count == 0 && disc->material.young == face->material.young &&
                    disc->material.poisson == face->material.poisson;
        one = study->parts[i] == KP_SHIM_SPACER || (study->parts[i] == KP_SHIM_PLATE && same);
    }
    return one;
}

/* Shims that bend, all of them. */
static double plate_count(const kp_lift_study *study)
{
    double count = 0.0;
    for (size_t i = 0; i < study->valve->line_count; i++) {
        count += study->parts[i] == KP_SHIM_PLATE ? study->valve->lines[i].count : 0;
    }
    return count;
}

static kp_status find_small(kp_lift_study *study, kp_error *error)
{
    const kp_stack *stack = &study->stack;
    double one_shim;
    kp_status status = closed_form(stack, study->clamps[0] / 2.0, stack->discs[0].thickness, &one_shim, error);
    if (status != KP_OK) {
        return status;
    }
    if (one_kind_of_shim(study)) {
        study->small_kind = KP_SMALL_CLOSED_FORM;
        study->small_edge_per_pressure = one_shim / plate_count(study);
        return KP_OK;
    }
    status = kp_stack_solve(study->workspace, 0.0, KP_SEAT_ABSENT, error);
    double rest = kp_stack_lift_at(study->workspace, 0, stack->discs[0].outer_radius);
    if (status == KP_OK && fabs(rest) > PRELOADED * stack->discs[0].thickness) {
        study->small_kind = KP_SMALL_NONE;
        study->small_edge_per_pressure = (double)NAN;
        return KP_OK;
    }
    double pressure = SMALL_LIFT * stack->discs[0].thickness / one_shim;
    status = status == KP_OK ? kp_stack_solve(study->workspace, pressure, KP_SEAT_ABSENT, error) : status;
    if (status == KP_OK) {
        study->small_kind = KP_SMALL_TANGENT;
        study->small_edge_per_pressure = kp_stack_lift_at(study->workspace, 0, stack->discs[0].outer_radius) / pressure;
    }
    return status;
}

const char *kp_lift_small_words(const kp_lift_study *study)
{
    if (study->small_kind == KP_SMALL_NONE) {
        return "none: a loose ring bends this stack before there is any pressure, so no straight line holds.";
    }
    return study->small_kind == KP_SMALL_CLOSED_FORM
               ? "Roark's closed form of a flat plate, clamped inside and free outside, without the seat."
               : "the straight line that touches this stack's lift at zero load, without the seat (no closed form "
                 "holds for several kinds of shim).";
}

/* Cracking comes from the lift table, which finds it to rounding. */
static kp_status find_cracking(kp_lift_study *study, kp_error *error)
{
    bool pressed = study->stack.dish > 0.0; /* by its dish, or by a loose ring */
    for (size_t i = 0; i < study->valve->line_count; i++) {
        pressed = pressed || study->parts[i] == KP_SHIM_RING;
    }
    if (!pressed) {
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
    kp_valve_parts(study->valve, study->parts, study->clamps);
    kp_status status = kp_stack_begin(&study->stack, &kp_stack_exactly, &study->workspace, error);
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

double kp_lift_clean(double lift)
{
    return fabs(lift) < NO_LIFT ? 0.0 : lift;
}

double kp_lift_seat_now(const kp_lift_study *study)
{
    return kp_stack_seat_lift(study->workspace);
}

bool kp_lift_row_tires(const kp_lift_study *study, const kp_lift_row *row, size_t line)
{
    return row->line_cycle[line].use >= 1.0 && !kp_lift_row_yields(study, row, line);
}

/* Lines for which a test holds, neighbours taken together. */
static size_t add_shims(const kp_lift_study *study, const kp_lift_row *row,
                        bool (*holds)(const kp_lift_study *, const kp_lift_row *, size_t), const char *words,
                        char note[KP_LIFT_NOTE], size_t used)
{
    bool any = false;
    for (size_t i = 0; i < study->valve->line_count && used < KP_LIFT_NOTE; i++) {
        size_t last = i;
        char shims[KP_SHOWN];
        if (!holds(study, row, i)) {
            continue;
        }
        while (last + 1 < study->valve->line_count && holds(study, row, last + 1)) {
            last++;
        }
        int wrote = snprintf(note + used, KP_LIFT_NOTE - used, "%s%s",
                             any        ? ", "
                             : used > 0 ? "; "
                                        : "",
                             kp_shim_numbers(study->valve, i, last, shims));
        used += wrote > 0 ? (size_t)wrote : 0;
        any = true;
        i = last;
    }
    if (any && used < KP_LIFT_NOTE) {
        int wrote = snprintf(note + used, KP_LIFT_NOTE - used, " %s", words);
        used += wrote > 0 ? (size_t)wrote : 0;
    }
    return used;
}

const char *kp_lift_note(const kp_lift_study *study, const kp_lift_row *row, char note[KP_LIFT_NOTE])
{
    note[0] = '\0';
    size_t used = add_shims(study, row, kp_lift_row_yields, "would set or break", note, 0);
    add_shims(study, row, kp_lift_row_tires, "would tire", note, used);
    return note;
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
    row->held = !free_stack && pressure < study->cracking;
    kp_status status = kp_stack_solve(study->workspace, pressure, row->held ? KP_SEAT_HOLDS : KP_SEAT_ABSENT, error);
    if (status != KP_OK) {
        return status;
    }
    row->seat_lift = kp_lift_clean(kp_lift_seat_now(study));
    row->opening = row->held ? 0.0 : fmax(0.0, row->seat_lift - stack->dish);
    row->edge_lift = kp_stack_lift_at(study->workspace, 0, stack->discs[0].outer_radius);
    row->edge_lift = kp_lift_clean(row->edge_lift);
    row->peak_stress = 0.0;
    row->fatigue_use = (double)NAN;
    for (size_t i = 0; i < stack->disc_count; i++) {
        const kp_material *material = &stack->discs[i].material;
        row->line_edge_lift[i] = kp_lift_clean(kp_stack_lift_at(study->workspace, i, stack->discs[i].outer_radius));
        kp_stack_peak_stress(study->workspace, i, &row->line_stress[i], NULL, NULL);
        row->line_stress[i] = row->line_stress[i] < NO_STRESS ? 0.0 : row->line_stress[i];
        row->peak_stress = fmax(row->peak_stress, row->line_stress[i]);
        row->line_cycle[i] = kp_stack_cycle(study->workspace, i);
        if (!(material->fatigue > 0.0 && material->tensile > 0.0)) {
            row->line_cycle[i] = (kp_cycle){.mean = (double)NAN, .amplitude = (double)NAN, .use = (double)NAN};
        }
        row->fatigue_use = fmax(row->fatigue_use, row->line_cycle[i].use); /* fmax leaves NAN aside */
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

/* The low end of a stress cycle: the stack on its seat, or without it, and no pressure. */
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
    /* From low to high: each solution starts from the one before, whatever order was asked for. */
    kp_turn *turns = calloc(count > 0 ? count : 1, sizeof *turns);
    if (turns == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out for %zu pressures", count);
    }
    for (size_t i = 0; i < count; i++) {
        turns[i] = (kp_turn){pressures[i], i};
    }
    qsort(turns, count, sizeof *turns, by_pressure);
    kp_status status = mark_rest(study, free_stack, error);
    for (size_t i = 0; status == KP_OK && i < count; i++) {
        status = solve_row(study, turns[i].pressure, free_stack, &rows[turns[i].row], error);
        if (status == KP_OK && visit != NULL) {
            visit(study, turns[i].row, context);
        }
    }
    free(turns);
    if (status != KP_OK) {
        kp_error_prefix(error, "%s stack: ", kp_direction_name(study->direction));
    }
    return status;
}
