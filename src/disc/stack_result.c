/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading a solved stack, in SI. */
#include "stack_internal.h"

#include <math.h>

static const double two_pi = 6.28318530717958647693;

const kp_stack *kp_stack_of(const kp_stack_workspace *ws)
{
    return &ws->stack;
}

static double energy_unit(const kp_stack_workspace *ws)
{
    return two_pi * ws->modulus * pow(ws->height, 5) / (ws->length * ws->length);
}

const kp_plate *kp_stack_plate(const kp_stack_workspace *ws, size_t disc)
{
    size_t plate = disc < ws->stack.disc_count ? ws->plate_of[disc] : KP_NO_PLATE;
    return plate == KP_NO_PLATE ? NULL : &ws->plates[plate];
}

double kp_stack_lift_at(const kp_stack_workspace *ws, size_t disc, double r)
{
    const kp_plate *plate = kp_stack_plate(ws, disc);
    if (!plate) {
        return 0;
    }
    double rho = fmin(fmax(r / ws->length, plate->rho[0]), plate->outer);
    return ws->height * kp_plate_lift(plate, plate->state, rho);
}

/* The first gap is the seat's inner edge under the face shim; a plate alone has none. */
double kp_stack_seat_lift(const kp_stack_workspace *ws)
{
    if (ws->gap_count == 0) {
        return kp_stack_lift_at(ws, 0, ws->stack.land_inner_radius);
    }
    return (kp_gap_value(ws, &ws->gaps[0]) - ws->gaps[0].rest) * ws->height;
}

double kp_stack_seat_rise(kp_stack_workspace *ws)
{
    kp_programme_tangent(ws);
    double rise;
    if (ws->gap_count == 0) {
        rise = kp_plate_lift(&ws->plates[0], ws->plates[0].step, ws->stack.land_inner_radius / ws->length);
    } else {
        rise = kp_gap_rise(ws, &ws->gaps[0]);
    }
    return rise * ws->height;
}

double kp_stack_pressure_unit(const kp_stack_workspace *ws)
{
    return ws->modulus * pow(ws->height / ws->length, 4) / ws->stack.load_coverage;
}

double kp_stack_seat_compliance(kp_stack_workspace *ws)
{
    return kp_stack_seat_rise(ws) / kp_stack_pressure_unit(ws);
}

double kp_stack_seat_change(kp_stack_workspace *ws)
{
    kp_programme_tangent(ws);
    return ws->seat_change * energy_unit(ws) / ws->height / kp_stack_pressure_unit(ws);
}

double kp_stack_seat_force(const kp_stack_workspace *ws)
{
    double sum = 0;
    for (size_t i = 0; i < ws->programme.count; i++) {
        size_t g = ws->programme.active[i];
        sum += ws->gaps[g].lower == KP_CONTACT_SEAT ? ws->programme.multiplier[g] : 0;
    }
    return sum * energy_unit(ws) / ws->height;
}

double kp_stack_imbalance(kp_stack_workspace *ws)
{
    kp_contact_linearise(ws, 1);
    if (!kp_stack_make_tangents(ws)) {
        return INFINITY;
    }
    kp_programme_relax(ws);
    return fabs(kp_stack_promise(ws).size) / kp_stack_energy_scale(ws);
}

double kp_stack_energy(const kp_stack_workspace *ws)
{
    double sum = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        sum += kp_plate_energy(&ws->plates[i], ws->plates[i].state);
    }
    return sum * energy_unit(ws);
}

size_t kp_stack_contact_count(const kp_stack_workspace *ws)
{
    return ws->gap_count;
}

/* First shim line of a merged plate, last one for the far side. */
static int line_of(const kp_stack_workspace *ws, int plate, bool last)
{
    int line = plate;
    for (size_t i = 0; plate >= 0 && i < ws->stack.disc_count; i++) {
        if (ws->plate_of[i] == (size_t)plate) {
            line = (int)i;
            if (!last) {
                break;
            }
        }
    }
    return line;
}

kp_contact kp_stack_contact(const kp_stack_workspace *ws, size_t index)
{
    const kp_gap *gap = &ws->gaps[index];
    bool active = false;
    for (size_t i = 0; i < ws->programme.count; i++) {
        active = active || ws->programme.active[i] == index;
    }
    return (kp_contact){
        .lower = line_of(ws, gap->lower, true),
        .upper = line_of(ws, gap->upper, false),
        .enabled = gap->enabled,
        .radius = gap->rho * ws->length,
        .gap = kp_gap_value(ws, gap) * ws->height,
        .force = active ? ws->programme.multiplier[index] * energy_unit(ws) / ws->height : 0,
    };
}

kp_stack_record kp_stack_last_record(const kp_stack_workspace *ws)
{
    return ws->record;
}

/* Which shim is furthest from equilibrium, for the message. */
static size_t worst_shim(const kp_stack_workspace *ws)
{
    size_t worst = 0;
    double most = -1;
    for (size_t i = 0; i < ws->stack.disc_count; i++) {
        if (ws->plate_of[i] == KP_NO_PLATE) {
            continue;
        }
        const kp_plate *plate = &ws->plates[ws->plate_of[i]];
        double sum = 0;
        for (size_t k = 0; k < plate->unknowns; k++) {
            sum += plate->step[k] * plate->force[k];
        }
        if (fabs(sum) > most) {
            most = fabs(sum);
            worst = i;
        }
    }
    return worst;
}

kp_status kp_stack_no_solution(const kp_stack_workspace *ws, double pressure, size_t no_room, kp_error *error)
{
    if (no_room < ws->gap_count) {
        const kp_gap *gap = &ws->gaps[no_room];
        return kp_error_set(
            error, KP_NOT_MODELLED,
            "stack: it cannot be clamped flat: whatever shape its shims take, they would pass through "
            "each other, most of all at line %d, %.4g mm across; a loose ring is too thick or too close "
            "to the clamp, or the seat too close to what lies above",
            line_of(ws, gap->lower < 0 ? gap->upper : gap->lower, true) + 1, 2e3 * gap->rho * ws->length);
    }
    size_t shim = worst_shim(ws);
    return kp_error_set(
        error, KP_NO_SOLUTION, "stack: no equilibrium found at %.6g MPa; furthest from it is line %zu, %g x %g mm",
        pressure / 1e6, shim + 1, 2e3 * ws->stack.discs[shim].outer_radius, 1e3 * ws->stack.discs[shim].thickness);
}
