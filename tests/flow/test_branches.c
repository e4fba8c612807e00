/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Leak, port, curtain. */
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

/* Limits with their observed exponents against the opening: y^3 on a land, y^2 on a sharp seat, y at large opening;
   and against the drop: 1, then 1/2. */
static double exponent(const kp_curtain *curtain, double opening, double drop, double more_opening, double more_drop)
{
    kp_resistance a = kp_curtain_resistance(curtain, &OIL, opening);
    kp_resistance b = kp_curtain_resistance(curtain, &OIL, opening * more_opening);
    double ratio = kp_resistance_flow(&b, drop * more_drop, NULL).flow / kp_resistance_flow(&a, drop, NULL).flow;
    return log(ratio) / log(more_opening * more_drop);
}

Test(curtain, has_the_limits_it_claims)
{
    kp_curtain sharp = {.perimeter = PI * 0.033, .discharge = 0.71};
    kp_curtain land = {.perimeter = PI * 0.033, .land_width = 0.93e-3, .discharge = 0.71};
    cr_assert(fabs(exponent(&land, 1e-8, 3.1e5, 1.1, 1) - 3) <= 1e-3);
    cr_assert(fabs(exponent(&sharp, 1e-8, 3.1e5, 1.1, 1) - 2) <= 1e-3);
    cr_assert(fabs(exponent(&land, 0.05, 3.1e5, 1.1, 1) - 1) <= 1e-3);
    cr_assert(fabs(exponent(&land, 2e-5, 1e-3, 1, 1.1) - 1) <= 1e-3);
    cr_assert(fabs(exponent(&land, 2e-3, 3.1e6, 1, 1.1) - 0.5) <= 3e-3);

    /* Large opening: C P y sqrt(2 drop/rho). Small opening on a land: plane channel, P y^3 drop/(12 mu w). */
    kp_resistance wide = kp_curtain_resistance(&land, &OIL, 4e-3), narrow = kp_curtain_resistance(&land, &OIL, 3e-6);
    double jet = 0.71 * PI * 0.033 * 4e-3 * sqrt(2 * 9e6 / 847.3);
    double channel = PI * 0.033 * 27e-18 * 3.1e5 / (12 * 847.3 * 14.7e-6 * 0.93e-3);
    cr_assert(fabs(kp_resistance_flow(&wide, 9e6, NULL).flow / jet - 1) <= 2e-3);
    double ratio = kp_resistance_flow(&narrow, 3.1e5, NULL).flow / channel;
    cr_assert(ratio < 1 && ratio > 0.99, "%g", ratio); /* never above Poiseuille's */
}

/* Merritt's transition (from memory): for a slot C = 0.157 sqrt(Re) below Re = 15, Re on the actual velocity. */
Test(curtain, has_merritts_slot_at_its_laminar_end)
{
    kp_curtain sharp = {.perimeter = 0.1, .discharge = 0.61};
    double opening = 11e-6, reynolds = 0.01, speed = reynolds * OIL.viscosity / (2 * opening);
    double drop = 0.5 * OIL.density * pow(speed / (0.157 * sqrt(reynolds)), 2);
    kp_resistance r = kp_curtain_resistance(&sharp, &OIL, opening);
    cr_assert(fabs(kp_resistance_flow(&r, drop, NULL).flow / (speed * opening * 0.1) - 1) <= 1e-3);
}

Test(curtain, has_exact_slopes)
{
    const double widths[] = {0, 0.93e-3};
    int different = 0, cases = 0;
    for (int w = 0; w < 2; w++) {
        kp_curtain curtain = {.perimeter = PI * 0.033, .land_width = widths[w], .discharge = 0.71};
        for (double opening = 1e-7; opening < 3e-3; opening *= 2.9) {
            for (double drop = 1e2; drop < 1e8; drop *= 7.7) {
                double opening_slope, h = 1e-4 * drop, k = 1e-4 * opening;
                kp_resistance at = kp_curtain_resistance(&curtain, &OIL, opening);
                kp_resistance above = kp_curtain_resistance(&curtain, &OIL, opening + k);
                kp_resistance below = kp_curtain_resistance(&curtain, &OIL, opening - k);
                kp_flow flow = kp_resistance_flow(&at, drop, &opening_slope);
                double by_drop =
                    (kp_resistance_flow(&at, drop + h, NULL).flow - kp_resistance_flow(&at, drop - h, NULL).flow) /
                    (2 * h);
                double by_opening =
                    (kp_resistance_flow(&above, drop, NULL).flow - kp_resistance_flow(&below, drop, NULL).flow) /
                    (2 * k);
                cr_assert(flow.slope > 0 && opening_slope > 0);
                cr_assert(fabs(flow.slope - by_drop) <= 1e-7 * flow.slope);
                cr_assert(fabs(opening_slope - by_opening) <= 1e-7 * opening_slope);
                different += (flow.slope != by_drop) + (opening_slope != by_opening);
                cases += 2;
            }
        }
    }

    cr_assert(different > cases / 2);
}
