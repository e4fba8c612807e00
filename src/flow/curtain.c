/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Curtain between land and lifted disc. Land from r_i to r_o, opening y, perimeter B (2 pi r_i times the coverage),
   flow Q, port area A; over the chamber that the oil leaves into:

       P = K q + (24 x + 10) q/Re                stagnation pressure in the recess under the disc
       F = P A_full - (1 - s) h A_full + (24 x q/Re) A_land - E q B y - (E_l q B y + g q A_d)          load on the disc

       q = (rho/2) (Q/(B y))^2, Re = Q/(B nu), x = r_i ln(r_o/r_i)/y, a = B y/A, h = (rho/2) (Q/A)^2 = a^2 q
       g = x^2/(x^2 + 1.22^2)
       K = (K_f^12 + a^24)^(1/12),   K_f = 1 - g (1 - (r_i/r_o)^2) + (0.56 + 1.1187 (1 - g)) exp(-3 a^2)
       E = 1,   E_l = 2.4 x^2/(x^2 + 3.1^2),   A_d = 2 pi r_i^2 ln(r_o/r_i) - pi r_i^2 (1 - (r_i/r_o)^2)

   The first two parts of F act inside the land and are the caller's (A_full is the area inside it, s the share of the
   port's head that loads the disc); A_land is the integral of the logarithmic fall over the land. The other parts act
   at the land. E: the oil speeds up towards the land's inner edge, where its pressure falls. E_l and g: the jet leaves
   the land there and the pressure goes below the chamber's, then comes back as over a diffuser.

   24 x q/Re = 12 mu w u/y^2, w = r_i ln(r_o/r_i), is exact for slow flow between parallel faces (plane channel over a
   ring). 0.56 + 1.1187 = ((pi + 2)/pi)^2 - 1: a sharp edge far from other walls contracts the jet to pi/(pi + 2)
   (Kirchhoff's free jet; Rabie, Fluid Power Engineering, 2009, eq. 2.39, read). a^24: a wide open curtain loses the
   port's head, P = h (Borda); there q K/K_f stands for q in the last parts of F, so that the share of P that is left as
   load does not rise again. The other numbers are fitted, by least squares, to the 44 runs of computational fluid
   dynamics in tests/truth/curtain_cfd.csv, which were made for this project: COMPUTED, with an error of their own of
   8 % in the discharge coefficient and 6 % in the load. Nothing here is measured. */
#include "flow/flow.h"

#include <math.h>

static const double SLOW = 10.0;          /* [-] the sharp edge's part of the linear loss */
static const double REATTACHED = 1.22;    /* [-] x at which half of the jets are back on the land */
static const double LAND_LOSS = 0.56;     /* [-] of the jet that is back on the land */
static const double EDGE_LOSS = 1.6786;   /* [-] of the free jet: ((pi + 2)/pi)^2 - 1 */
static const double WIDE = 3.0;           /* [-] how fast the contraction is lost as the port narrows */
static const double LAND_SUCTION = 2.4;   /* [-] at the far end */
static const double SUCTION_LENGTH = 3.1; /* [-] x of half of that */
enum { BLEND = 12 };                      /* [-] exponent where the port's head takes over */

/* K above, of y; *choked: K/K_f. */
static kp_sloped head_factor(const kp_curtain *curtain, kp_sloped g, double port_ratio_per_opening, double opening,
                             kp_sloped *choked)
{
    if (curtain->discharge > 0) {
        *choked = kp_constant(1);
        return kp_constant(1 / (curtain->discharge * curtain->discharge));
    }

    double shrink = curtain->land_inner / curtain->land_outer;
    double a = port_ratio_per_opening * opening, fade = exp(-WIDE * a * a);
    kp_sloped contraction = {fade, -2 * WIDE * a * port_ratio_per_opening * fade};
    kp_sloped edge = kp_less(kp_constant(EDGE_LOSS), kp_times(EDGE_LOSS - LAND_LOSS, g));
    kp_sloped fitted = kp_sum(kp_less(kp_constant(1), kp_times(1 - shrink * shrink, g)), kp_product(edge, contraction));

    /* (K_f^12 + a^24)^(1/12) = K_f (1 + t^12)^(1/12), t = a^2/K_f, or with both the other way round. */
    kp_sloped port = {a * a, 2 * a * port_ratio_per_opening};
    kp_sloped large = fitted.value > port.value ? fitted : port, small = fitted.value > port.value ? port : fitted;
    kp_sloped t = kp_quotient(small, large);
    double power = pow(t.value, BLEND);
    double blend = pow(1 + power, 1.0 / BLEND);
    double blend_slope = t.value > 0 ? blend / (1 + power) * power / t.value * t.slope : 0;
    kp_sloped k = kp_product(large, (kp_sloped){blend, blend_slope});
    *choked = kp_quotient(k, fitted);
    return k;
}

double kp_curtain_land_area(const kp_curtain *curtain)
{
    double inner = curtain->land_inner, outer = curtain->land_outer;
    return outer > inner ? KP_PI * ((outer * outer - inner * inner) / (2 * log(outer / inner)) - inner * inner) : 0;
}

kp_curtain_loss kp_curtain_at(const kp_curtain *curtain, const kp_flow_oil *oil, double opening)
{
    const double inner = curtain->land_inner, outer = curtain->land_outer, p = curtain->perimeter;
    double wide = log(outer / inner), shrink = inner / outer; /* ln(r_o/r_i), r_i/r_o */
    double scale = curtain->discharge_scale, force = curtain->flow_force_scale;
    kp_sloped y = {opening, 1};

    /* x, and how much of the jet is back on the land. */
    kp_sloped x = kp_quotient(kp_constant(inner * wide), y), xx = kp_product(x, x);
    kp_sloped g = kp_quotient(xx, kp_sum(xx, kp_constant(REATTACHED * REATTACHED)));

    /* q per flow squared, and q/Re per flow. */
    kp_sloped area = kp_times(p, y);
    kp_sloped head = kp_quotient(kp_constant(0.5 * oil->density), kp_product(area, area));
    kp_sloped slow = kp_times(p * oil->viscosity, head);

    /* P: both parts of a Q^2 + b Q. */
    kp_sloped choked, k = head_factor(curtain, g, p / curtain->port_area, opening, &choked);
    kp_sloped quadratic = kp_times(1 / (scale * scale), kp_product(k, head));
    kp_sloped land = kp_times(24, kp_product(x, slow));
    kp_sloped linear = kp_sum(land, kp_times(SLOW, slow));

    /* The load that the oil's speed takes off, at the edge and over the land, by q K/K_f. */
    kp_sloped taken = kp_times(force, kp_product(choked, head));
    kp_sloped edge = kp_product(area, taken);
    kp_sloped reach = kp_quotient(xx, kp_sum(xx, kp_constant(SUCTION_LENGTH * SUCTION_LENGTH)));
    double diffuser = p * inner * (wide - 0.5 * (1 - shrink * shrink)); /* A_d times the coverage */
    kp_sloped suction =
        kp_sum(kp_times(LAND_SUCTION, kp_product(reach, edge)), kp_times(diffuser, kp_product(g, taken)));

    return (kp_curtain_loss){
        .pressure = {.quadratic = quadratic.value,
                     .linear = linear.value,
                     .quadratic_slope = quadratic.slope,
                     .linear_slope = linear.slope},
        .land = {.linear = land.value, .linear_slope = land.slope},
        .edge = {.quadratic = edge.value, .quadratic_slope = edge.slope},
        .suction = {.quadratic = suction.value, .quadratic_slope = suction.slope},
    };
}
