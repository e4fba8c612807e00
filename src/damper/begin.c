/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The ways to a damper: from its data, as a variant of another, on lift tables that the caller has. */
#include "damper/damper_internal.h"

#include "kneepoint/stack.h"

#include <string.h>

/* The end of each way: the caller gets a finished damper or nothing. */
static kp_status hand_over(kp_status status, kp_damper *damper, kp_damper **out)
{
    if (status != KP_OK) {
        kp_damper_free(damper);
        return status;
    }
    *out = damper;
    return KP_OK;
}

kp_status kp_damper_begin(const kp_damper_data *data, double largest_speed, kp_damper **out, kp_error *error)
{
    kp_damper *damper = NULL;
    kp_flow_oil oil;
    kp_status status = kp_damper_start(data, largest_speed, &damper, &oil, error);

    /* The piston's stacks first: the reservoir's valve must reach what their drop leaves to it. */
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        status = kp_damper_solve_table(damper, (kp_direction)d, &oil, error);
        if (status != KP_OK) {
            kp_error_prefix(error, "%s: ", kp_direction_name((kp_direction)d));
        }
    }

    if (status == KP_OK && kp_damper_has_reservoir_valve(data)) {
        status = kp_damper_solve_reservoir(damper, &oil, error);
    }

    if (status == KP_OK) {
        status = kp_damper_finish(damper, &oil, error);
    }

    /* A table that ends at the largest pressure there is suffices only where the gas does not bear that. */
    kp_circuit_state end, piston;
    kp_rod_state rod;
    if (status == KP_OK && kp_damper_end_of_table(damper, &end, error)) {
        status = kp_damper_full_states(damper, KP_COMPRESSION, largest_speed, &piston, &rod, error);
    }

    return hand_over(status, damper, out);
}

/* ---- variants ---- */

static bool same_disc(const kp_disc *a, const kp_disc *b)
{
    const kp_material *x = &a->material, *y = &b->material;
    return a->count == b->count && a->outer_radius == b->outer_radius && a->thickness == b->thickness &&
           a->hole_radius == b->hole_radius && a->slot_count == b->slot_count && a->slot_width == b->slot_width &&
           a->slot_inner == b->slot_inner && x->young == y->young && x->poisson == y->poisson && x->yield == y->yield &&
           x->tensile == y->tensile && x->fatigue == y->fatigue;
}

/* Same bits in everything that the lift of the stack depends on: all of kp_stack. A size added there belongs here too,
   or a variant would share a table that is not its own. */
static bool same_stack(const kp_damper_data *first, const kp_damper_data *second, kp_direction direction)
{
    const kp_valve_data *p = &first->valves[direction], *q = &second->valves[direction];
    if (p->has_plate != q->has_plate) {
        return false;
    }

    if (p->has_plate &&
        !(p->plate.preload == q->plate.preload && p->plate.rate == q->plate.rate && p->plate.lift == q->plate.lift)) {
        return false;
    }

    /* Sizes that load and hold the stack, then its stop, then each disc. */
    kp_disc first_discs[KP_MAX_STACK_LINES], second_discs[KP_MAX_STACK_LINES];
    kp_stack a = kp_damper_stack(first, direction, first_discs), b = kp_damper_stack(second, direction, second_discs);
    bool same = a.clamp_radius == b.clamp_radius && a.port_inner_radius == b.port_inner_radius &&
                a.land_inner_radius == b.land_inner_radius && a.land_outer_radius == b.land_outer_radius &&
                a.load_coverage == b.load_coverage && a.ports == b.ports && a.port_share == b.port_share &&
                a.dish == b.dish && a.flatness == b.flatness && a.folds == b.folds && a.grip == b.grip &&
                a.nut_load == b.nut_load && a.nut_friction == b.nut_friction && a.stop_count == b.stop_count &&
                a.disc_count == b.disc_count;
    for (size_t i = 0; same && i < a.stop_count; i++) {
        same = a.stop_radius[i] == b.stop_radius[i] && a.stop_gap[i] == b.stop_gap[i];
    }

    for (size_t i = 0; same && i < a.disc_count; i++) {
        same = same_disc(&a.discs[i], &b.discs[i]);
    }

    return same;
}

/* Does the damper, on tables that it was given, reach its largest speed in a direction? KP_OUT_OF_RANGE: no. */
static kp_status reach_status(const kp_damper *damper, kp_direction direction, kp_error *error)
{
    kp_curve_point point;
    kp_error trial = {0};
    double speed = damper->largest_speed;
    kp_status status = kp_curve_at(damper, direction == KP_COMPRESSION ? speed : -speed, &point, &trial);
    return status == KP_OK || status == KP_OUT_OF_RANGE ? status : kp_error_set(error, status, "%s", trial.message);
}

/* Solves again, for the damper itself, each table that does not reach. */
static kp_status reach_further(kp_damper *damper, const kp_flow_oil *oil, kp_error *error)
{
    kp_status status = KP_OK;

    bool changed = false;
    for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
        status = reach_status(damper, (kp_direction)d, error);
        if (status == KP_OUT_OF_RANGE) {
            changed = true;
            status = kp_damper_solve_table(damper, (kp_direction)d, oil, error);
        }
    }

    if (status != KP_OK || !changed) {
        return status;
    }

    /* The reservoir's valve is loaded by what the piston's drop leaves to it, so its table follows. */
    if (kp_damper_has_reservoir_valve(&damper->data)) {
        status = kp_damper_solve_reservoir(damper, oil, error);
    }

    return status == KP_OK ? kp_damper_finish(damper, oil, error) : status;
}

kp_status kp_damper_variant(const kp_damper *base, const kp_damper_data *data, kp_damper **out, kp_error *error)
{
    for (int v = 0; v < KP_VALVE_COUNT; v++) {
        bool there = v < KP_DIRECTION_COUNT || kp_damper_has_reservoir_valve(&base->data);
        bool wanted = v < KP_DIRECTION_COUNT || kp_damper_has_reservoir_valve(data);
        if (there != wanted || (there && !same_stack(&base->data, data, (kp_direction)v))) {
            return kp_error_set(error, KP_OUT_OF_RANGE,
                                "variant: the %s stack, clamp or land differs: it needs a damper of its own",
                                v == KP_RESERVOIR_VALVE ? "reservoir's" : kp_direction_name((kp_direction)v));
        }
    }

    /* Base's tables first; only what they do not reach is solved. */
    kp_damper *damper = NULL;
    kp_flow_oil oil;
    kp_status status = kp_damper_start(data, base->largest_speed, &damper, &oil, error);
    if (status == KP_OK) {
        memcpy(damper->tables, base->tables, sizeof damper->tables);
        status = kp_damper_finish(damper, &oil, error);
    }
    if (status == KP_OK) {
        status = reach_further(damper, &oil, error);
    }

    return hand_over(status, damper, out);
}

kp_status kp_damper_on_tables(const kp_damper *base, const kp_damper_data *data,
                              kp_lift_table *const tables[KP_DIRECTION_COUNT], kp_damper **out, kp_error *error)
{
    if (kp_damper_has_reservoir_valve(&base->data) != kp_damper_has_reservoir_valve(data)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "a damper on given lift tables keeps its reservoir valve");
    }

    /* Coarse tables rank stacks; what a damper gives is read as an answer. */
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        if (tables[d] != NULL && kp_lift_table_is_coarse(tables[d])) {
            return kp_error_set(error, KP_OUT_OF_RANGE,
                                "%s: the lift table is a coarse one, good for ranking stacks only: build it with "
                                "kp_lift_table_build",
                                kp_direction_name((kp_direction)d));
        }
    }

    /* The given tables take the place of base's, one direction each; a reservoir's valve keeps base's. */
    kp_damper *damper = NULL;
    kp_flow_oil oil;
    kp_status status = kp_damper_start(data, base->largest_speed, &damper, &oil, error);
    if (status == KP_OK) {
        memcpy(damper->tables, base->tables, sizeof damper->tables);
        for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
            damper->tables[d] = tables[d] != NULL ? tables[d] : base->tables[d];
        }
        status = kp_damper_finish(damper, &oil, error);
    }

    return hand_over(status, damper, out);
}
