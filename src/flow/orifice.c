/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drilled bleed port as a short tube: discharge coefficient of length/diameter and Reynolds number.

   With the *hydraulic* Reynolds number Re_h = (d/nu) sqrt(2 drop/rho), which needs no flow (so the port is explicit in
   the drop), and x = L/d, Lichtarowicz, Duggins and Markland give
       1/C_L = 1/C_u + (20 + 45 x)/Re_h - 0.005 x/(1 + 7.5 [log10(1.5e-4 Re_h)]^2),     C_u = 0.827 - 0.0085 x.
   The paper was read as restated only. The equation's Re is the hydraulic one: only so is C proportional to Re at the
   laminar end, where flow must be proportional to drop. (With the Reynolds number in the bore, as one restatement has
   it, C comes out up to 83 % low.)

   No bore can pass more than Hagen-Poiseuille's law, C_P = Re_h/(64 x); the correlation breaks that bound at its
   laminar end for x > 1.05. The two are blended by C = (C_L^-m + C_P^-m)^(-1/m),   m = 8, which lies below both, is
   smooth, keeps both powers of Re_h at either end, and falls short of the lower one by 8.3 % where they are equal and
   by 0.1 % where they are 1.8 times apart. Why 8: with it the coefficient stays near Merritt's short tube in the
   crossing, which neither a sharp minimum nor a plain sum does (tests/flow).

   Below x = 2 the correlation is taken for a hole whose entry is chamfered. With a sharp entry the turbulent
   end goes from a sharp edge's 0.611 up to x = 0.5 to the correlation's at x = 2, as a smooth step: our assumption.

   Beyond x = 10, where the correlation ends, the turbulent end goes on as 1/C_u^2 rising by a constant for each bore
   diameter of length: the slope of the correlation itself at x = 10, 0.0416, which is also a smooth pipe's friction
   factor near Re = 3 300 (Blasius, 0.316 Re^(-1/4), from memory). The (20 + 45 x) and the last term keep x = 10 there;
   the bound takes the laminar end over. */
#include "flow/flow.h"

#include <math.h>

static const double LENGTH_RATIO_MAX = 10.0; /* [-] end of the correlation's stated range */
static const double BLEND = 8.0;             /* [-] m above */
static const double CONTRACTED = 0.611;    /* [-] pi/(pi + 2): Rabie, Fluid Power Engineering, 2009, eq. 2.39 (read) */
static const double CONTRACTED_TO = 0.5;   /* [-] length/diameter up to which the jet stays off the wall: from memory */
static const double REATTACHED_FROM = 2.0; /* [-] and from which it is back: the correlation holds */

/* Through a hole with a sharp entry the jet contracts, and comes back to the wall within the first two diameters of
   length. */
static double short_end(double x)
{
    double s = (x - CONTRACTED_TO) / (REATTACHED_FROM - CONTRACTED_TO);
    double share = s < 0 ? 0 : s * s * (3 - 2 * s);
    double reattached = 0.827 - 0.0085 * REATTACHED_FROM;
    return CONTRACTED + share * (reattached - CONTRACTED);
}

static double turbulent_end(double x)
{
    if (x <= LENGTH_RATIO_MAX) {
        return 0.827 - 0.0085 * x;
    }
    double at_end = 0.827 - 0.0085 * LENGTH_RATIO_MAX;
    double friction = 2 * 0.0085 / (at_end * at_end * at_end); /* d(1/C_u^2)/dx there */
    return 1 / sqrt(1 / (at_end * at_end) + friction * (x - LENGTH_RATIO_MAX));
}

/* 1/C_L above, with a turbulent end of its own. */
static double correlation(double length_ratio, double end, double reynolds, double *log_slope)
{
    /* The three terms of 1/C_L above. */
    double x = fmin(length_ratio, LENGTH_RATIO_MAX);
    double laminar = (20 + 45 * x) / reynolds;
    double l = log10(1.5e-4 * reynolds);
    double hump = 1 + 7.5 * l * l;
    double inverse = 1 / end + laminar - 0.005 * x / hump;

    if (log_slope != NULL) {
        double d_inverse = -laminar + 0.005 * x * 15 * l / (log(10) * hump * hump);
        *log_slope = -d_inverse / inverse;
    }

    return 1 / inverse;
}

double kp_orifice_correlation(double length_ratio, double reynolds, double *log_slope)
{
    return correlation(length_ratio, turbulent_end(length_ratio), reynolds, log_slope);
}

double kp_orifice_discharge(double length_ratio, bool chamfered, double reynolds, double *log_slope)
{
    bool contracts = !chamfered && length_ratio < REATTACHED_FROM;
    double end = contracts ? short_end(length_ratio) : turbulent_end(length_ratio), slope;
    double open = correlation(length_ratio, end, reynolds, &slope);

    if (!(length_ratio > 0)) {
        *log_slope = slope; /* a hole without length has no bore to be laminar in */
        return open;
    }

    /* Blend with the bound of Hagen-Poiseuille, C_P = Re_h/(64 x). */
    double bound = reynolds / (64 * length_ratio);
    double share = pow(open / bound, BLEND); /* small where the bound is far above */
    double part = share / (1 + share);
    *log_slope = slope * (1 - part) + part; /* the bound's own slope is 1 */
    return open * pow(1 + share, -1 / BLEND);
}

kp_flow kp_orifice_flow(const kp_orifice *orifice, const kp_flow_oil *oil, double drop)
{
    double d = orifice->diameter, area = orifice->count * KP_PI / 4 * d * d;
    double x = orifice->length / d;

    /* Below this the coefficient is proportional to Re_h within 1e-8, so flow is the straight line through it. */
    const double min_reynolds = 1e-7; /* [-] */
    double min_drop = 0.5 * oil->density * pow(min_reynolds * oil->viscosity / d, 2);

    double seen = fmax(drop, min_drop);
    double ideal = sqrt(2 * seen / oil->density);
    double log_slope;

    double flow = kp_orifice_discharge(x, orifice->chamfered, ideal * d / oil->viscosity, &log_slope) * area * ideal;

    if (drop < min_drop) {
        return (kp_flow){.flow = flow * (drop / min_drop), .slope = flow / min_drop};
    }

    /* ln flow = ln C(ln Re_h) + ln(drop)/2 + const, and ln Re_h = ln(drop)/2 + const. */
    return (kp_flow){.flow = flow, .slope = flow / drop * 0.5 * (1 + log_slope)};
}
