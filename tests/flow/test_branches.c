/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Leak, port, slots. */
#include "flow/flow.h"

#include <criterion/criterion.h>
#include <math.h>

static const double PI = 3.14159265358979323846;
static const kp_flow_oil OIL = {.density = 847.3, .viscosity = 14.7e-6};

/* COMPUTED for this project from Rabie 2009 eq. 2.19 (READ): D = 36 mm, c = 25 um, L = 10 mm, mu = 0.010 Pa s, 1 MPa
   -> 1.473e-6 m3/s; 3.68e-6 when the piston touches. */
Test(leak, gives_the_computed_numbers)
{
    kp_leak leak = {.diameter = 0.036, .clearance = 25e-6, .length = 0.010};
    kp_flow_oil oil = {.density = 800, .viscosity = 0.010 / 800};
    kp_flow centred = kp_leak_flow(&leak, &oil, 1e6);
    kp_flow creeping = kp_leak_flow(&leak, &oil, 1); /* the ends take nothing: the formula itself */
    cr_assert(fabs(1e6 * creeping.flow - 1.473e-6) <= 0.5e-9);
    cr_assert(fabs(creeping.flow - 1.472622e-12) <= 1e-18 &&
              fabs(creeping.slope - creeping.flow) <= 1e-9 * creeping.flow);
    cr_assert(centred.flow < creeping.flow * 1e6 && centred.flow > creeping.flow * 1e6 * (1 - 1e-3));
    leak.eccentricity = 1;
    cr_assert(fabs(kp_leak_flow(&leak, &oil, 1e6).flow - 3.68e-6) <= 0.005e-6);
    leak.clearance = 0;
    cr_assert_eq(kp_leak_flow(&leak, &oil, 1e6).flow, 0);
}

/* A worn ring: its ring-shaped opening cannot pass more than an orifice of K = 1.5 velocity heads, though the laminar
   formula alone would say more than twice that; both slopes against a central difference. */
Test(leak, of_a_worn_ring_is_choked)
{
    kp_leak leak = {.diameter = 0.0635, .clearance = 0.25e-3, .length = 0.008, .eccentricity = 0.5};
    double laminar = kp_leak_flow(&leak, &OIL, 1e-3).slope * 2e6, area = PI * 0.0635 * 0.25e-3;
    kp_flow at = kp_leak_flow(&leak, &OIL, 2e6);
    double choked = area * sqrt(2 * 2e6 / (1.5 * OIL.density));
    cr_assert(at.flow < choked && at.flow > 0.7 * choked && laminar > 2 * choked, "%g of %g, laminar %g", at.flow,
              choked, laminar);
    double above = kp_leak_flow(&leak, &OIL, 2e6 + 20).flow, below = kp_leak_flow(&leak, &OIL, 2e6 - 20).flow;
    cr_assert(fabs((above - below) / 40 - at.slope) <= 1e-7 * at.slope);
}

/* The wall's drag: half the wall's speed over the gap's ring, with the driven flow, whichever way the piston goes. */
Test(leak, is_dragged_by_the_wall)
{
    kp_leak leak = {.diameter = 0.0635, .clearance = 41e-6, .length = 0.012};
    double ring = PI / 4 * (pow(0.0635, 2) - pow(0.0635 - 2 * 41e-6, 2));
    cr_assert(fabs(kp_leak_couette(&leak, 0.83) / (0.5 * ring * 0.83) - 1) <= 1e-3); /* thin ring: c/D = 6.5e-4 */
    cr_assert_eq(kp_leak_couette(&leak, -0.83), kp_leak_couette(&leak, 0.83));
}

/* Worked problem READ (university course on fluid power, week 3): 840 kg/m3, C = 0.6, 2 L/min, 2 kPa -> area
   2.54e-5 m2 (exact 2.5459e-5). */
Test(port, solves_the_worked_problem)
{
    kp_port port = {.area = 2.5459e-5, .discharge = 0.6};
    kp_flow_oil oil = {.density = 840, .viscosity = 30e-6};
    kp_resistance r = kp_port_resistance(&port, &oil);
    double flow = 2e-3 / 60;
    cr_assert(fabs(r.quadratic * flow * flow - 2000) <= 0.1);
    cr_assert_eq(r.linear, 0);
    cr_assert(fabs(kp_resistance_flow(&r, 2000, NULL).flow - flow) <= 1e-4 * flow);
}

/* Slots: at high flow C B y sqrt(2 drop/rho); at a small height over a land the plane channel, B y^3 drop/(12 mu w); on
   a sharp seat Merritt's laminar slot, C = 0.157 sqrt(Re) below Re = 15 on the actual velocity (from memory). */
Test(slot, has_the_limits_it_claims)
{
    kp_slot slot = {.width = 7.3e-3, .height = 4e-3, .land_width = 0.93e-3, .discharge = 0.71};
    kp_resistance r = kp_slot_resistance(&slot, &OIL);
    double jet = 0.71 * 7.3e-3 * 4e-3 * sqrt(2 * 9e6 / 847.3);
    cr_assert(fabs(kp_resistance_flow(&r, 9e6, NULL).flow / jet - 1) <= 2e-3);

    slot.height = 3e-6;
    r = kp_slot_resistance(&slot, &OIL);
    double channel = 7.3e-3 * 27e-18 * 3.1e5 / (12 * 847.3 * 14.7e-6 * 0.93e-3);
    double ratio = kp_resistance_flow(&r, 3.1e5, NULL).flow / channel;
    cr_assert(ratio < 1 && ratio > 0.99, "%g", ratio); /* never above Poiseuille's */

    kp_slot sharp = {.width = 0.1, .height = 11e-6, .discharge = 0.61};
    double reynolds = 0.01, speed = reynolds * OIL.viscosity / (2 * 11e-6);
    double drop = 0.5 * OIL.density * pow(speed / (0.157 * sqrt(reynolds)), 2);
    r = kp_slot_resistance(&sharp, &OIL);
    cr_assert(fabs(kp_resistance_flow(&r, drop, NULL).flow / (speed * 11e-6 * 0.1) - 1) <= 1e-3);
}
