/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Compliance of a stack at hardly any load, from which its table starts. */
#include "lift/lift_internal.h"

#include <math.h>

/* Hardly any load: of the pressure that bends the face shim alone. [-] */
#define HARDLY 1e-4
/* A little load lifts so far: it hardly stretches anything, and the overlap allowed for (contact.c) goes with the lift
   already, where the least share of it makes a stack that hardly lifts 0.5 % softer. [-] of the face shim's thickness
 */
#define LITTLE_LIFT  0.012
#define LITTLE_LEAST 0.002
#define LITTLE_MOST  0.04
/* What little_load() reckons with; 1 000 drawn tapers lift 0.2 to 1.2 times that. [-] */
#define TAPER_LIFT 0.5
/* No stack is so many times stiffer than all its shims together, were they of the face shim's size. [-] */
#define STIFFEST 100
enum { LITTLE_TRIES = 3 };

/* Its order is what bends the face shim alone. */
double kp_lift_pressure_alone(const kp_stack *s)
{
    const kp_disc *face = &s->discs[0];
    return face->material.young * pow(face->thickness / face->outer_radius, 4) / s->load_coverage;
}

/* Pressure that lifts a taper about LITTLE_LIFT: each shim's bending stiffness by how far it reaches, squared. */
static double little_load(const kp_stack *s)
{
    const kp_disc *face = &s->discs[0];
    double span = face->outer_radius - s->clamp_radius, bending = 0;
    for (size_t i = 0; i < s->disc_count; i++) {
        const kp_disc *d = &s->discs[i];
        double reach = fmin(1, (d->outer_radius - s->clamp_radius) / span);
        bending += reach > 0 ? d->count * pow(d->thickness / face->thickness, 3) * reach * reach : 0;
    }
    return LITTLE_LIFT / TAPER_LIFT * kp_lift_pressure_alone(s) * bending / pow(span / face->outer_radius, 4);
}

/* From a little load. *compliance: 0 where none was found that lifts little. */
static kp_status look_at_little(kp_lift_table *t, double *compliance, kp_error *error)
{
    const kp_stack *s = kp_stack_of(t->workspace);
    double thickness = s->discs[0].thickness;
    double pressure = little_load(s);
    *compliance = 0;
    for (int tries = 0; tries < LITTLE_TRIES; tries++) {
        kp_status status = kp_lift_solve(t, pressure, KP_SEAT_ABSENT, error);
        if (status != KP_OK) {
            return status;
        }
        double rise = kp_stack_seat_lift(t->workspace);
        if (rise >= LITTLE_LEAST * thickness && rise <= LITTLE_MOST * thickness) {
            double part = rise / t->reference.lift;
            *compliance = rise / pressure * (1 + part * part);
            break;
        }
        if (!(rise > 0)) {
            break;
        }
        kp_stack_expect_lift(t->workspace, LITTLE_LIFT * thickness);
        pressure *= LITTLE_LIFT * thickness / rise;
    }
    return KP_OK;
}

/* Of the free stack. One that is pressed together at rest knows its contacts at hardly any load; that pressure's order
   is the face shim's alone. */
kp_status kp_lift_find_compliance(kp_lift_table *t, kp_error *error)
{
    double little = HARDLY * kp_lift_pressure_alone(kp_stack_of(t->workspace));
    kp_status status = KP_OK;
    if (t->unloaded == 0 && !t->coarse) {
        status = look_at_little(t, &t->compliance, error);
    }
    if (status == KP_OK && !(t->compliance > 0)) {
        status = kp_lift_solve(t, little, KP_SEAT_ABSENT, error);
        if (status == KP_OK) {
            t->compliance =
                t->unloaded != 0 ? kp_stack_seat_compliance(t->workspace) : kp_stack_seat_lift(t->workspace) / little;
        }
    }
    if (status == KP_OK) {
        double meant = t->reference.lift / t->compliance;
        if (meant > 0 && meant < STIFFEST * t->reference.pressure) {
            t->reference.pressure = meant;
        }
    }
    return status;
}
