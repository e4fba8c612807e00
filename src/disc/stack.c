/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The stack at one pressure: Newton's method on the condensed energy, contacts
   by a quadratic programme a step, a line search on the total potential energy
   (a residual search stalls: bending and membrane residuals scale apart). */
#include "stack_internal.h"

#include "kneepoint/num.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Newton ends when the step would lower the energy by less than this part of it. [-] The step is taken all the same,
   and Newton squares what is left: lifts right to 1e-5 in 99 of 100 random loads. kp_stack_options.tolerance asks
   for less. */
#define DECREMENT_ENOUGH 2e-5
/* What is near for the first step from a prediction: the next one is then worth some 1e-5 of this. [-] */
#define DECREMENT_PREDICTED 5e-3
/* What a full step may be worth for the rest to go by its tangents. [-] */
#define CHORD_NEAR 1e-2
/* Energy that is none: a lift of 1e-8 t0. [-] A loose ring finding its place without load leaves steps worth 1e-27 by
   rounding; DECREMENT_ENOUGH of this is a lift wrong by 1e-13 t0. */
#define NO_ENERGY 1e-16

/* Lifts that hardly stretch anything. [-] of t0 */
#define LITTLE_LIFT 0.05

/* Neighbours that are this near at rest touch. [-] of t0 */
#define SHUT_AT_REST 1e-9

/* NEWTON_MOST: loads that take more than a few steps go to and fro; descent.c takes those. */
enum { NEWTON_MOST = 16, SEARCH_MOST = 40, HALVINGS_MOST = 4 };

double kp_stack_potential(const kp_stack_workspace *ws, bool trial)
{
    double sum = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        const double *q = trial ? plate->trial : plate->state;
        sum += kp_plate_energy(plate, q);
        for (size_t k = 0; i == 0 && k < plate->unknowns; k++) {
            sum -= ws->pressure * plate->load[k] * q[k];
        }
    }
    return sum;
}

void kp_stack_make_trial(kp_stack_workspace *ws, double part)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        for (size_t k = 0; k < plate->unknowns; k += KP_PAIR) {
            plate->trial[k] = plate->state[k] + part * plate->step[k];
        }
        kp_plate_condense(plate, plate->trial);
    }
}

void kp_stack_look_along(kp_stack_workspace *ws, double part)
{
    kp_stack_make_trial(ws, part);
}

void kp_stack_accept_trial(kp_stack_workspace *ws)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        double *swap = ws->plates[i].state;
        ws->plates[i].state = ws->plates[i].trial;
        ws->plates[i].trial = swap;
    }
}

bool kp_stack_is_open(const kp_stack_workspace *ws)
{
    kp_gap_values(ws, ws->now);
    for (size_t g = 0; g < ws->gap_count; g++) {
        if (ws->now[g] < -KP_OPEN_ENOUGH * ws->pack && ws->gaps[g].enabled) {
            return false;
        }
    }
    return true;
}

bool kp_stack_make_tangents(kp_stack_workspace *ws)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate_force(&ws->plates[i], ws->pressure);
        kp_plate_assemble(&ws->plates[i], false);
    }
    kp_contact_add_tilt(ws, KP_NO_PLATE);
    for (size_t i = 0; i < ws->plate_count; i++) {
        if (!kp_plate_factor(&ws->plates[i])) {
            kp_plate_assemble(&ws->plates[i], true);
            kp_contact_add_tilt(ws, i);
            if (!kp_plate_factor(&ws->plates[i])) {
                return false;
            }
        }
    }
    return true;
}

/* Shortest of the steps tried that lowers the potential as promised; false when
 * none does. */
static bool search(kp_stack_workspace *ws, double decrement)
{
    double before = kp_stack_potential(ws, false);
    double part = 1;
    for (int k = 0; k < SEARCH_MOST; k++) {
        kp_stack_make_trial(ws, part);
        double after = kp_stack_potential(ws, true);
        if (after <= before - KP_SEARCH_SLOPE * part * decrement) {
            return true;
        }
        /* Least of the parabola through value, slope and trial, kept between a
         * tenth and a half. */
        double curve = after - before + part * decrement;
        double next = curve > 0 ? part * part * decrement / (2 * curve) : part / 10;
        part = fmin(fmax(next, part / 10), part / 2);
    }
    return false;
}

kp_promise kp_stack_promise(const kp_stack_workspace *ws)
{
    kp_promise p = {0};
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        for (size_t k = 0; k < plate->unknowns; k += KP_PAIR) {
            p.slope += plate->force[k] * plate->step[k];
        }
    }
    p.size = p.slope;
    for (size_t i = 0; i < ws->programme.count; i++) {
        size_t g = ws->programme.active[i];
        const kp_gap *gap = &ws->gaps[g];
        p.size += ws->programme.multiplier[g] * kp_gap_rise(ws, gap);
    }
    return p;
}

/* Stored energy and work of the pressure: what decrements are measured by. Where forces were last taken. */
double kp_stack_energy_scale(const kp_stack_workspace *ws)
{
    double energy = NO_ENERGY;
    double work = 0;
    for (size_t i = 0; i < ws->plate_count; i++) {
        const kp_plate *plate = &ws->plates[i];
        energy += plate->energy;
        for (size_t k = 0; k < plate->unknowns; k += KP_PAIR) {
            work += ws->pressure * plate->load[k] * plate->state[k];
        }
    }
    return energy + fabs(work);
}

double kp_stack_enough(const kp_stack_workspace *ws)
{
    return ws->tolerance > 0 ? ws->tolerance : DECREMENT_ENOUGH;
}

/* near: the state is a good prediction. The tilt of the faces is taken anew at each step that starts near the answer;
   such a step is taken in full, as is one from a state that is not open (the seat has just been put under the stack).
 */
static bool newton(kp_stack_workspace *ws, bool near)
{
    double enough = kp_stack_enough(ws);
    for (int step = 0; step < NEWTON_MOST; step++) {
        if (near) {
            kp_contact_linearise(ws, 1);
        }
        if (!kp_stack_make_tangents(ws) || !kp_programme_solve(ws)) {
            return false;
        }
        ws->record.newton_steps++;
        kp_promise fall = kp_stack_promise(ws);
        double scale = kp_stack_energy_scale(ws);
        double size = fabs(fall.size) / scale;
        if (!isfinite(size)) {
            return false;
        }
        ws->record.chord_steps = 0; /* those since the last tangents */
        if (near || size <= KP_DECREMENT_ROUNDING || !kp_stack_is_open(ws)) {
            kp_stack_make_trial(ws, 1);
        } else if (!search(ws, fall.slope)) {
            return false;
        }
        kp_stack_accept_trial(ws);
        ws->record.residual = size;
        /* A contact that was let stay a little shut is settled by the next step, unless it comes and goes for ever. */
        if (near && size <= enough && (!ws->programme.loosened || step + 1 == NEWTON_MOST)) {
            return true;
        }
        if (size <= CHORD_NEAR && kp_stack_chords(ws, size, near, scale)) {
            return true;
        }
        near = size <= (near && step == 0 ? DECREMENT_PREDICTED : KP_DECREMENT_NEAR);
    }
    return false;
}

/* Contacts that are shut at rest, so that a stack begins as one that lies together: most of them stay shut at little
   load, and the programme lets go of the others all at once. */
static void begin_shut(kp_stack_workspace *ws)
{
    kp_programme *p = &ws->programme;
    p->count = 0;
    for (size_t g = 0; g < ws->gap_count && p->count < p->most; g++) {
        const kp_gap *gap = &ws->gaps[g];
        if (gap->enabled && gap->allowance == 0 && fabs(gap->rest) <= SHUT_AT_REST) {
            p->active[p->count++] = g;
        }
    }
}

/* The small-deflection answer with contact: from anywhere, open, and close
 * enough for Newton. */
static bool restart(kp_stack_workspace *ws)
{
    begin_shut(ws);
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        memset(plate->state, 0, plate->unknowns * sizeof *plate->state);
    }
    kp_contact_linearise(ws, 1);
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        kp_plate_force(plate, ws->pressure);
        kp_plate_assemble_linear(plate);
        if (!kp_plate_factor(plate)) {
            return false;
        }
    }
    if (!kp_programme_solve(ws)) {
        return false;
    }
    kp_stack_make_trial(ws, 1);
    kp_stack_accept_trial(ws);
    return true;
}

void kp_stack_keep(kp_stack_workspace *ws, bool put_back)
{
    for (size_t i = 0; i < ws->plate_count; i++) {
        kp_plate *plate = &ws->plates[i];
        memcpy(put_back ? plate->state : plate->start, put_back ? plate->start : plate->state,
               plate->unknowns * sizeof *plate->state);
    }
}

static void set_seat(kp_stack_workspace *ws, kp_seat seat)
{
    ws->seat = seat;
    for (size_t g = 0; g < ws->gap_count; g++) {
        if (ws->gaps[g].lower == KP_CONTACT_SEAT) {
            ws->gaps[g].enabled = seat == KP_SEAT_HOLDS;
        }
    }
}

/* Newton from where the latest solutions point. Such a state may overlap a little; its first step is a full one. When
   it fails the state is what it was. */
static bool predict(kp_stack_workspace *ws, double from, double target)
{
    kp_stack_keep(ws, false);
    if (!kp_stack_predict(ws, from, target)) {
        return false;
    }
    ws->pressure = target;
    ws->record.load_steps++;
    if (newton(ws, true)) {
        return true;
    }
    kp_stack_keep(ws, true);
    ws->pressure = from;
    return false;
}

/* The equilibrium at the workspace's pressure from a state near it. When it fails the state is that of `start`. */
static bool reach(kp_stack_workspace *ws)
{
    kp_stack_keep(ws, false);
    ws->record.load_steps++;
    if (newton(ws, false)) {
        return true;
    }
    kp_stack_keep(ws, true);
    if (kp_stack_descend(ws)) {
        return true;
    }
    kp_stack_keep(ws, true);
    return false;
}

/* From the state at `from` to the target, halving the load step where both fail. */
static bool follow(kp_stack_workspace *ws, double from, double target)
{
    double reached = from;
    double next = target;
    for (int halvings = 0; halvings <= HALVINGS_MOST;) {
        ws->pressure = next;
        if (reach(ws)) {
            if (next == target) {
                return true;
            }
            reached = next;
            next = target;
            continue;
        }
        next = reached + (next - reached) / 2;
        halvings++;
    }
    return false;
}

/* From the last solution. One that is not open (the seat has just been put under it) is where only a descent may start.
 */
static bool go_on(kp_stack_workspace *ws, double target)
{
    double from = ws->pressure;
    if (!kp_stack_is_open(ws)) {
        ws->past_count = 0;
        ws->pressure = target;
        ws->record.load_steps++;
        return kp_stack_descend(ws);
    }
    bool done = predict(ws, from, target) || follow(ws, from, target);
    if (done && ws->record.load_steps == 1) {
        kp_stack_remember(ws, from);
    } else {
        ws->past_count = 0;
    }
    return done;
}

/* From nothing. Where little lifts, the small-deflection answer is one but for the tilt of the faces. */
static bool begin_anew(kp_stack_workspace *ws)
{
    if (!restart(ws)) {
        return false;
    }
    if (kp_programme_lift_size(ws, false) <= LITTLE_LIFT) {
        kp_stack_keep(ws, false);
        ws->record.load_steps++;
        if (newton(ws, true)) {
            return true;
        }
        kp_stack_keep(ws, true);
    }
    return reach(ws);
}

kp_status kp_stack_solve(kp_stack_workspace *ws, double pressure, kp_seat seat, kp_error *error)
{
    double target = pressure / kp_stack_pressure_unit(ws);
    if (!isfinite(target) || target < 0) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "stack: pressure %g Pa: must be finite and not negative", pressure);
    }
    ws->record = (kp_stack_record){0};
    ws->programme.changes = 0;
    set_seat(ws, seat);
    if (!ws->solved) {
        ws->pressure = 0;
    }
    bool done = ws->solved && go_on(ws, target);
    size_t no_room = ws->gap_count;
    if (!done) {
        ws->pressure = target;
        ws->past_count = 0;
        done = begin_anew(ws) || kp_stack_harden(ws, &no_room);
    }
    ws->solved = done;
    ws->expected_lift = 0;
    ws->has_tangent = false;
    ws->record.set_changes = ws->programme.changes;
    ws->record.active_contacts = (int)ws->programme.count;
    if (!done) {
        ws->pressure = 0;
        return kp_stack_no_solution(ws, pressure, no_room, error);
    }
    return KP_OK;
}
