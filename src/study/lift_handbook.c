/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The edge lift of small deflection, a straight line through zero.
    A handbook knows one plate. A stack of m equal shims is that plate with m times the stiffness, so the closed form
    holds (Roark; a pressure up to the land's inner edge, and over the land, where it falls with the logarithm of the
    radius, ring loads summed by Simpson's rule).
    A stack of several kinds of shim has no closed form. Contact without gaps is proportional to the load, so the line
    is the tangent at zero load, found from one solution without the seat at a load that lifts the face shim by a
    ten-thousandth of its thickness. Shims behind a gap (a crossover) are not reached at that load and do not count:
    there the straight line is furthest from the real lift. */
#include "study/lift_handbook.h"

#include "kneepoint/plate.h"

#include <math.h>

static const double SMALL_LIFT = 1e-4; /* [-] of the face shim's thickness: the cubic term is then about 1e-8 */
static const double PRELOADED = 1e-9;  /* [-] of the face shim's thickness: bent without any load */
enum { LAND_RINGS = 64 };              /* [-] even; Simpson over a land 1 mm wide is exact to 1e-9 */

/* Edge lift of one plate per unit of pressure, by the closed forms. */
static kp_status closed_form(const kp_stack *stack, double clamp, double thickness, double *lift, kp_error *error)
{
    const kp_disc *face = &stack->discs[0];
    double inner = stack->land_inner_radius;
    double outer = stack->land_outer_radius;
    double sum = 0.0;

    /* The full pressure, from the port to the land. */
    kp_status status = kp_plate_pressure_lift(face->outer_radius, clamp, thickness, face->material,
                                              stack->port_inner_radius, inner, 1.0, face->outer_radius, &sum, error);

    /* Over the land, p(r) = ln(outer / r) / ln(outer / inner) of it. */
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

/* All that bends is one kind of plate, and it touches no stop. */
static bool one_kind_of_shim(const kp_lift_study *study)
{
    const kp_disc *face = &study->discs[0];
    bool one = face->slot_count == 0 && study->stack.stop_count == 0;

    for (size_t i = 1; one && i < study->stack.disc_count; i++) {
        const kp_disc *disc = &study->discs[i];

        /* exact: two lines of one size come from the same text */
        bool same = disc->outer_radius == face->outer_radius && disc->thickness == face->thickness &&
                    disc->slot_count == 0 && disc->material.young == face->material.young &&
                    disc->material.poisson == face->material.poisson;
        one = study->parts[i] == KP_SHIM_SPACER || (study->parts[i] == KP_SHIM_PLATE && same);
    }
    return one;
}

/* Number of shims that bend. */
static double plate_count(const kp_lift_study *study)
{
    double count = 0.0;
    for (size_t i = 0; i < study->valve->line_count; i++) {
        count += study->parts[i] == KP_SHIM_PLATE ? study->valve->lines[i].count : 0;
    }
    return count;
}

/* one_shim: [m/Pa] edge lift of the face shim alone. */
static kp_status tangent(kp_lift_study *study, double one_shim, kp_error *error)
{
    const kp_disc *face = &study->discs[0];
    kp_status status = kp_stack_solve(study->workspace, 0.0, KP_SEAT_ABSENT, error);
    if (status != KP_OK) {
        return status;
    }

    /* Bent at rest, the stack has no straight line from zero. */
    if (fabs(kp_stack_lift_at(study->workspace, 0, face->outer_radius)) > PRELOADED * face->thickness) {
        study->small = KP_SMALL_NONE;
        study->small_edge_per_pressure = (double)NAN;
        return KP_OK;
    }

    /* The load at which the face shim alone would lift by SMALL_LIFT; the whole stack lifts by less. */
    double pressure = SMALL_LIFT * face->thickness / one_shim;
    status = kp_stack_solve(study->workspace, pressure, KP_SEAT_ABSENT, error);
    if (status == KP_OK) {
        study->small = KP_SMALL_TANGENT;
        study->small_edge_per_pressure = kp_stack_lift_at(study->workspace, 0, face->outer_radius) / pressure;
    }
    return status;
}

kp_status kp_lift_handbook(kp_lift_study *study, kp_error *error)
{
    double one_shim;
    kp_status status = closed_form(&study->stack, study->clamps[0] / 2.0, study->discs[0].thickness, &one_shim, error);
    if (status == KP_OK && one_kind_of_shim(study)) {
        study->small = KP_SMALL_CLOSED_FORM;
        study->small_edge_per_pressure = one_shim / plate_count(study); /* m equal shims are m times as stiff */
        return KP_OK;
    }
    return status == KP_OK ? tangent(study, one_shim, error) : status;
}
