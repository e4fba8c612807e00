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

double kp_stack_seat_compliance(kp_stack_workspace *ws)
{
    kp_programme_tangent(ws);
    double pressure_unit = ws->modulus * pow(ws->height / ws->length, 4) / ws->stack.load_coverage;
    double rise;
    if (ws->gap_count == 0) {
        rise = kp_plate_lift(&ws->plates[0], ws->plates[0].step, ws->stack.land_inner_radius / ws->length);
    } else {
        rise = kp_gap_rise(ws, &ws->gaps[0]);
    }
    return rise * ws->height / pressure_unit;
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

/* Curvature W''. A cubic's own runs straight in each element and is off in its middle, but at the two points of
   two-point Gauss quadrature it is an order better (Barlow, Int. J. Numer. Methods Eng. 10 (1976) 243, from memory). A
   cubic through the four such points nearest to the element's middle gives it everywhere. */
static double curvature_at(const kp_plate *plate, const double *state, size_t element, double rho)
{
    static const double place[2] = {0.21132486540518711775, 0.78867513459481288225};
    size_t elements = plate->nodes - 1;
    size_t first = element > 0 ? 2 * element - 1 : 0; /* of all the points, two an element */
    first = elements < 2 ? 0 : first + 4 > 2 * elements ? 2 * elements - 4 : first;
    size_t count = elements < 2 ? 2 : 4;
    double x[4], y[4];
    for (size_t k = 0; k < count; k++) {
        size_t e = (first + k) / 2;
        double part = place[(first + k) % 2];
        double left = kp_knot_sum(plate->lift_knot[e].curve, state + KP_PAIR * e);
        double right = kp_knot_sum(plate->lift_knot[e + 1].curve, state + KP_PAIR * (e + 1));
        x[k] = plate->rho[e] + part * (plate->rho[e + 1] - plate->rho[e]);
        y[k] = left + part * (right - left);
    }
    for (size_t step = 1; step < count; step++) { /* Neville */
        for (size_t k = 0; k + step < count; k++) {
            y[k] = ((rho - x[k]) * y[k + 1] - (rho - x[k + step]) * y[k]) / (x[k + step] - x[k]);
        }
    }
    return y[0];
}

/* W', U' and U. */
typedef struct strains {
    double slope, pull, stretch;
} strains;

static strains strains_at_node(const kp_plate *plate, const double *state, size_t node)
{
    const double *q = state + KP_PAIR * node;
    return (strains){kp_knot_sum(plate->lift_knot[node].slope, q), kp_knot_sum(plate->stretch_knot[node].slope, q + 1),
                     kp_knot_sum(plate->stretch_knot[node].value, q + 1)};
}

static strains strains_within(const kp_plate *plate, const double *state, size_t element, double rho)
{
    double n[4], d[4], lift[4];
    const double *q = state + KP_PAIR * element;
    kp_plate_shape_in(plate, element, rho, NULL, lift, NULL);
    kp_plate_stretch_in(plate, element, rho, n, d);
    return (strains){kp_plate_sum(lift, q), kp_plate_sum(d, q + 1), kp_plate_sum(n, q + 1)};
}

/* Surface stress from strains of the middle surface and curvatures, plane
 * stress; z points away from the piston. */
static kp_disc_stress stress_in(const kp_stack_workspace *ws, const kp_plate *plate, const double *state,
                                size_t element, double rho)
{
    strains at = rho == plate->rho[element]       ? strains_at_node(plate, state, element)
                 : rho == plate->rho[element + 1] ? strains_at_node(plate, state, element + 1)
                                                  : strains_within(plate, state, element, rho);
    double slope = at.slope;
    double curve = curvature_at(plate, state, element, rho);
    double along = at.pull + 0.5 * slope * slope;
    double around = at.stretch / rho;
    double nu = plate->nu;
    double ratio = ws->height / ws->length;
    double unit = ws->modulus * plate->young / (1 - nu * nu) * ratio * ratio;
    double half = 0.5 * plate->one_thickness;
    double membrane_radial = along + nu * around;
    double membrane_hoop = around + nu * along;
    double bend_radial = half * (curve + nu * slope / rho);
    double bend_hoop = half * (slope / rho + nu * curve);
    return (kp_disc_stress){
        .piston_side_radial = unit * (membrane_radial + bend_radial),
        .piston_side_hoop = unit * (membrane_hoop + bend_hoop),
        .far_side_radial = unit * (membrane_radial - bend_radial),
        .far_side_hoop = unit * (membrane_hoop - bend_hoop),
    };
}

kp_disc_stress kp_stack_stress_at(const kp_stack_workspace *ws, size_t disc, double r)
{
    const kp_plate *plate = kp_stack_plate(ws, disc);
    if (!plate) {
        return (kp_disc_stress){0};
    }
    double rho = fmin(fmax(r / ws->length, plate->rho[0]), plate->outer);
    double n[4];
    return stress_in(ws, plate, plate->state, kp_plate_shape(plate, rho, n, NULL, NULL), rho);
}

double kp_von_mises(double a, double b)
{
    return sqrt(a * a - a * b + b * b);
}

/* Ends and middle of each element, k = 0 to 2 x elements. Returns the radius. */
double kp_stack_sample(const kp_stack_workspace *ws, const kp_plate *plate, const double *state, size_t k,
                       kp_disc_stress *out)
{
    size_t element = k / 2 < plate->nodes - 1 ? k / 2 : plate->nodes - 2;
    double part = k / 2 < plate->nodes - 1 ? 0.5 * (double)(k % 2) : 1;
    double rho = plate->rho[element] + part * (plate->rho[element + 1] - plate->rho[element]);
    *out = stress_in(ws, plate, state, element, rho);
    return rho * ws->length;
}

void kp_stack_peak_stress(const kp_stack_workspace *ws, size_t disc, double *stress, double *radius, bool *piston_side)
{
    const kp_plate *plate = kp_stack_plate(ws, disc);
    double most = 0;
    double where = 0;
    bool side = true;
    for (size_t k = 0; plate && k <= 2 * (plate->nodes - 1); k++) {
        kp_disc_stress s;
        double r = kp_stack_sample(ws, plate, plate->state, k, &s);
        double near_side = kp_von_mises(s.piston_side_radial, s.piston_side_hoop);
        double far_side = kp_von_mises(s.far_side_radial, s.far_side_hoop);
        if (near_side > most || far_side > most) {
            side = near_side >= far_side;
            most = side ? near_side : far_side;
            where = r;
        }
    }
    if (stress) {
        *stress = most;
    }
    if (radius) {
        *radius = where;
    }
    if (piston_side) {
        *piston_side = side;
    }
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
