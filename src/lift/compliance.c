/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Compliance of a stack at zero load, from which its table starts.

   A stack that is stressed at rest has its contacts closed already, and its compliance follows from the smallest load.
   A stack that lies flat needs a small load: large enough to settle which contacts are closed, small enough for
   membrane tension not to matter. */
#include "lift/lift_internal.h"

#include <math.h>

/* The smallest load. [-] of the pressure of kp_lift_face_pressure */
static const double SMALLEST_LOAD = 1e-4;
/* Lift aimed at by the small load, and the limits within which it is used. Membrane tension hardly matters there, and
   the allowed penetration of contacts is already in proportion to the lift; at smaller lifts its constant minimum would
   make the stack up to 0.5 % softer. [-] of the face shim's thickness */
static const double SMALL_LIFT = 0.012;
static const double SMALL_LIFT_MIN = 0.002;
static const double SMALL_LIFT_MAX = 0.04;
enum { SMALL_LOAD_TRIES = 3 };
/* Lift factor of a tapered stack that small_load assumes; 1 000 random tapers lifted 0.2 to 1.2 times as far. [-] */
static const double TAPER_LIFT = 0.5;
/* No stack is stiffer than all its shims together, were they of the face shim's size, by more than this factor. [-] */
static const double STIFFEST = 100;

double kp_lift_face_pressure(const kp_stack *s)
{
    const kp_disc *face = &s->discs[0];
    return face->material.young * pow(face->thickness / face->outer_radius, 4) / s->load_coverage;
}

/* Pressure that lifts a tapered stack by about SMALL_LIFT. Each shim counts with its bending stiffness times the square
   of the fraction of the span that it covers. */
static double small_load(const kp_stack *s)
{
    const kp_disc *face = &s->discs[0];
    double span = face->outer_radius - s->clamp_radius, bending = 0;

    for (size_t i = 0; i < s->disc_count; i++) {
        const kp_disc *d = &s->discs[i];
        double reach = fmin(1, (d->outer_radius - s->clamp_radius) / span);
        bending += reach > 0 ? d->count * pow(d->thickness / face->thickness, 3) * reach * reach : 0;
    }

    return SMALL_LIFT / TAPER_LIFT * kp_lift_face_pressure(s) * bending / pow(span / face->outer_radius, 4);
}

/* Compliance from a small load, which is scaled until its lift is within the limits; 0 when no load's is. */
static kp_status compliance_at_small_load(kp_lift_table *t, double *compliance, kp_error *error)
{
    kp_stack_workspace *ws = t->build.workspace;
    double thickness = kp_stack_of(ws)->discs[0].thickness;
    double pressure = small_load(kp_stack_of(ws));
    *compliance = 0;

    for (int tries = 0; tries < SMALL_LOAD_TRIES; tries++) {
        kp_status status = kp_lift_solve(t, pressure, KP_SEAT_ABSENT, error);
        if (status != KP_OK) {
            return status;
        }

        /* The secant, and what membrane tension takes off it: p = k y (1 + (y/lift)^2). */
        double rise = kp_stack_seat_lift(ws);
        if (rise >= SMALL_LIFT_MIN * thickness && rise <= SMALL_LIFT_MAX * thickness) {
            double part = rise / t->reference.lift;
            *compliance = rise / pressure * (1 + part * part);
            break;
        }
        if (!(rise > 0)) {
            break;
        }

        kp_stack_expect_lift(ws, SMALL_LIFT * thickness);
        pressure *= SMALL_LIFT * thickness / rise;
    }

    return KP_OK;
}

/* Compliance from the smallest load: the tangent where the stack is pressed together at rest, else the secant. */
static kp_status compliance_at_smallest_load(kp_lift_table *t, double *compliance, kp_error *error)
{
    kp_stack_workspace *ws = t->build.workspace;
    double smallest = SMALLEST_LOAD * kp_lift_face_pressure(kp_stack_of(ws));

    kp_status status = kp_lift_solve(t, smallest, KP_SEAT_ABSENT, error);
    if (status == KP_OK) {
        *compliance = t->unloaded_lift != 0 ? kp_stack_seat_compliance(ws) : kp_stack_seat_lift(ws) / smallest;
    }
    return status;
}

kp_status kp_lift_find_compliance(kp_lift_table *t, kp_error *error)
{
    kp_status status = KP_OK;
    if (t->unloaded_lift == 0 && !t->coarse) {
        status = compliance_at_small_load(t, &t->compliance, error);
    }
    if (status == KP_OK && !(t->compliance > 0)) {
        status = compliance_at_smallest_load(t, &t->compliance, error);
    }

    /* The reference takes its slope at zero load from it, unless that is beyond belief. */
    if (status == KP_OK) {
        double pressure = t->reference.lift / t->compliance;
        if (pressure > 0 && pressure < STIFFEST * t->reference.pressure) {
            t->reference.pressure = pressure;
        }
    }
    return status;
}
