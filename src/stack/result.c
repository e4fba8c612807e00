/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading a solved stack, in SI. */
#include "stack/lobed.h"

#include <math.h>

const kp_stack *kp_stack_of(const kp_stack_workspace *ws)
{
    return &ws->stack;
}

const kp_plate *kp_stack_plate(const kp_stack_workspace *ws, size_t disc)
{
    size_t plate = disc < ws->stack.disc_count ? ws->plate_of[disc] : KP_NO_PLATE;
    return plate == KP_NO_PLATE ? NULL : &ws->plates[plate];
}

int kp_stack_first_line(const kp_stack_workspace *ws, int plate)
{
    for (size_t i = 0; plate >= 0 && i < ws->stack.disc_count; i++) {
        if (ws->plate_of[i] == (size_t)plate) {
            return (int)i;
        }
    }
    return plate;
}

int kp_stack_last_line(const kp_stack_workspace *ws, int plate)
{
    int line = plate;
    for (size_t i = 0; plate >= 0 && i < ws->stack.disc_count; i++) {
        if (ws->plate_of[i] == (size_t)plate) {
            line = (int)i;
        }
    }
    return line;
}

/* ---- lift, force and energy ---- */

double kp_stack_lift_at(const kp_stack_workspace *workspace, size_t disc, double r)
{
    const kp_stack_workspace *ws = kp_stack_solution(workspace);
    const kp_plate *plate = kp_stack_plate(ws, disc);
    if (!plate) {
        return 0;
    }

    double rho = fmin(fmax(r / ws->length, plate->rho[0]), plate->outer);
    if (ws->folded) {
        double mean, amplitude;
        kp_lobed_plate_lift(ws, plate, KP_STACK_STATE, rho, &mean, &amplitude);
        return ws->height * mean;
    }
    return ws->height * kp_plate_lift(plate, plate->state, rho);
}

double kp_stack_lobe_at(const kp_stack_workspace *workspace, size_t disc, double r)
{
    const kp_stack_workspace *ws = kp_stack_solution(workspace);
    const kp_plate *plate = kp_stack_plate(ws, disc);
    double mean, amplitude = 0;
    if (plate && ws->folded) {
        double rho = fmin(fmax(r / ws->length, plate->rho[0]), plate->outer);
        kp_lobed_plate_lift(ws, plate, KP_STACK_STATE, rho, &mean, &amplitude);
    }
    return ws->height * amplitude;
}

double kp_stack_seat_lobe(const kp_stack_workspace *workspace)
{
    const kp_stack_workspace *ws = kp_stack_solution(workspace);
    double mean, amplitude = 0;
    if (ws->folded) {
        kp_lobed_seat_lift(ws, &mean, &amplitude);
    }
    return ws->height * amplitude;
}

/* The first gap is the seat's inner edge under the face shim; a plate alone has none. */
double kp_stack_seat_lift(const kp_stack_workspace *workspace)
{
    const kp_stack_workspace *ws = kp_stack_solution(workspace);
    if (ws->gap_count == 0) {
        return kp_stack_lift_at(ws, 0, ws->stack.land_inner_radius);
    }
    if (ws->folded) {
        double mean, amplitude;
        kp_lobed_seat_lift(ws, &mean, &amplitude);
        return ws->height * mean;
    }
    return (kp_gap_value(ws, &ws->gaps[0]) - ws->gaps[0].rest) * ws->height;
}

double kp_stack_rim_lift(const kp_stack_workspace *workspace, kp_stack_shape shape)
{
    const kp_stack_workspace *ws = kp_stack_solution(workspace);
    const kp_plate *face = kp_stack_plate(ws, 0);
    if (ws->folded) {
        double mean, amplitude;
        kp_lobed_plate_lift(ws, face, shape, face->outer, &mean, &amplitude);
        return ws->height * mean;
    }
    return ws->height * kp_plate_lift(face, shape == KP_STACK_TRIAL ? face->trial : face->state, face->outer);
}

double kp_stack_seat_force(const kp_stack_workspace *workspace)
{
    const kp_stack_workspace *ws = kp_stack_solution(workspace);
    double sum = ws->folded ? kp_lobed_seat_force(ws) : 0;
    for (size_t i = 0; !ws->folded && i < ws->qp.count; i++) {
        size_t g = ws->qp.active[i];
        sum += ws->gaps[g].lower == KP_CONTACT_SEAT ? ws->qp.multiplier[g] : 0;
    }
    return sum * kp_stack_energy_unit(ws) / ws->height;
}

double kp_stack_imbalance(kp_stack_workspace *workspace)
{
    kp_stack_workspace *ws = kp_stack_solution(workspace);
    if (ws->folded) {
        return kp_lobed_imbalance(ws);
    }
    kp_contact_linearise(ws, 1);
    if (!kp_stack_factor_tangents(ws)) {
        return INFINITY;
    }
    kp_qp_unconstrained_step(ws);
    return fabs(kp_stack_predicted_decrease(ws).size) / kp_stack_energy_scale(ws);
}

double kp_stack_energy(const kp_stack_workspace *workspace)
{
    const kp_stack_workspace *ws = kp_stack_solution(workspace);
    double sum = ws->folded ? ws->lobed->energy : 0;
    for (size_t i = 0; !ws->folded && i < ws->plate_count; i++) {
        sum += kp_plate_energy(&ws->plates[i], ws->plates[i].state);
    }
    return sum * kp_stack_energy_unit(ws);
}

/* ---- contacts and record ---- */

size_t kp_stack_contact_count(const kp_stack_workspace *workspace)
{
    const kp_stack_workspace *ws = kp_stack_solution(workspace);
    return ws->gap_count;
}

kp_contact kp_stack_contact(const kp_stack_workspace *workspace, size_t index)
{
    const kp_stack_workspace *ws = kp_stack_solution(workspace);
    const kp_gap *gap = &ws->gaps[index];
    if (ws->folded) {
        const kp_lobed_stack *s = ws->lobed;
        size_t valley = ws->gap_count + index;
        return (kp_contact){
            .lower = kp_stack_last_line(ws, gap->lower),
            .upper = kp_stack_first_line(ws, gap->upper),
            .enabled = gap->enabled,
            .radius = gap->rho * ws->length,
            .gap = fmin(s->value[index], s->value[valley]) * ws->height,
            .force = (s->multiplier[index] + s->multiplier[valley]) * kp_stack_energy_unit(ws) / ws->height,
        };
    }

    /* Only an active contact has a force. */
    bool active = false;
    for (size_t i = 0; i < ws->qp.count; i++) {
        active = active || ws->qp.active[i] == index;
    }

    return (kp_contact){
        .lower = kp_stack_last_line(ws, gap->lower),
        .upper = kp_stack_first_line(ws, gap->upper),
        .enabled = gap->enabled,
        .radius = gap->rho * ws->length,
        .gap = kp_gap_value(ws, gap) * ws->height,
        .force = active ? ws->qp.multiplier[index] * kp_stack_energy_unit(ws) / ws->height : 0,
    };
}

kp_stack_record kp_stack_last_record(const kp_stack_workspace *workspace)
{
    const kp_stack_workspace *ws = kp_stack_solution(workspace);
    return ws->record;
}

/* ---- gaps at rest ---- */

static bool interferes_at_rest(const kp_stack_workspace *ws, bool at_seat, double tolerance)
{
    for (size_t g = 0; g < ws->gap_count; g++) {
        if (ws->gaps[g].rest < -tolerance && (ws->gaps[g].lower == KP_CONTACT_SEAT) == at_seat) {
            return true;
        }
    }
    return false;
}

bool kp_stack_seat_interferes_at_rest(const kp_stack_workspace *ws, double tolerance)
{
    return interferes_at_rest(ws, true, tolerance);
}

bool kp_stack_shims_interfere_at_rest(const kp_stack_workspace *ws, double tolerance)
{
    return interferes_at_rest(ws, false, tolerance);
}

bool kp_stack_has_gap_within(const kp_stack_workspace *ws, double tolerance, double far)
{
    for (size_t g = 0; g < ws->gap_count; g++) {
        double rest = ws->gaps[g].rest * ws->height;
        if (fabs(rest) > tolerance * ws->height && rest < far && ws->gaps[g].lower != KP_CONTACT_SEAT) {
            return true;
        }
    }
    return false;
}
