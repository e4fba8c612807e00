/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Flow branches: one kind in each file of src/flow. Every branch gives flow and slope against pressure drop. None of
    them fails: sizes in the ranges given give a finite number. */
#ifndef KP_FLOW_FLOW_H
#define KP_FLOW_FLOW_H

#include "kneepoint/base.h"

#include <math.h>

/* ---- a number with its slope -------------------------------------------------------------------------------- */

/** A number with its slope against one variable: sums, products and quotients carry the slope along by the rules of
    differentiation, so that an equation is written once. */
typedef struct kp_sloped {
    double value, slope;
} kp_sloped;

static inline kp_sloped kp_constant(double value)
{
    return (kp_sloped){value, 0};
}

static inline kp_sloped kp_sum(kp_sloped a, kp_sloped b)
{
    return (kp_sloped){a.value + b.value, a.slope + b.slope};
}

static inline kp_sloped kp_times(double factor, kp_sloped a)
{
    return (kp_sloped){factor * a.value, factor * a.slope};
}

static inline kp_sloped kp_less(kp_sloped a, kp_sloped b)
{
    return (kp_sloped){a.value - b.value, a.slope - b.slope};
}

static inline kp_sloped kp_product(kp_sloped a, kp_sloped b)
{
    return (kp_sloped){a.value * b.value, a.slope * b.value + a.value * b.slope};
}

/* b is not 0. */
static inline kp_sloped kp_quotient(kp_sloped a, kp_sloped b)
{
    double ratio = a.value / b.value;
    return (kp_sloped){ratio, (a.slope - ratio * b.slope) / b.value};
}

/* The larger of the two; where they are less than the width apart, a parabola that leaves both with their slopes. It
   rises with both. width > 0 */
static inline kp_sloped kp_smooth_max(kp_sloped a, kp_sloped b, double width)
{
    double apart = a.value - b.value, share = 0.5 * (apart / width + 1);
    if (share >= 1) {
        return a;
    }
    if (share <= 0) {
        return b;
    }
    return (kp_sloped){b.value + width * share * share, b.slope + share * (a.slope - b.slope)};
}

/* ---- oil and flow ---- */

/** Oil at one temperature. */
typedef struct kp_flow_oil {
    double density;   /* [kg/m3] */
    double viscosity; /* [m2/s] kinematic */
} kp_flow_oil;

/** Flow and its slope. */
typedef struct kp_flow {
    double flow;  /* [m3/s] */
    double slope; /* [m3/s/Pa] d(flow)/d(drop) */
} kp_flow;

/* ---- orifice.c: drilled bleed port, a short tube ------------------------------------------------------------ */

/** Equal drilled ports in parallel. */
typedef struct kp_orifice {
    int count;       /* [-] open ports, >= 0 */
    double diameter; /* [m] > 0 */
    double length;   /* [m] > 0 */
    bool chamfered;  /* entry; else sharp, which counts where the length is below two diameters */
} kp_orifice;

/** Flow through a drilled port at a drop.
    Given:    orifice, oil, drop [Pa] >= 0
    Returned: flow and slope; at zero drop the flow is 0 and the slope Hagen-Poiseuille's (or the correlation's own
              laminar end, where that is lower)
    Valid:    length/diameter 0.5 to 10, hydraulic Reynolds number to 2e4; beyond, continued as orifice.c states
    Accuracy: within 11 % of a second published short-tube model (Merritt) at length/diameter 2 to 10, Reynolds numbers
              10 to 1e4 on the actual velocity; never above Hagen-Poiseuille
    Source:   Lichtarowicz, Duggins and Markland, J. Mech. Eng. Sci. 7(2), 1965, read as restated */
kp_flow kp_orifice_flow(const kp_orifice *orifice, const kp_flow_oil *oil, double drop);
/** Discharge coefficient of a drilled port.
    Given:    length_ratio [-], length/diameter; chamfered: the entry, else sharp; reynolds [-] > 0, the hydraulic
   Reynolds number (d/nu) sqrt(2 drop/density) Returned: C [-]; log_slope [-], d ln C/d ln Re Valid, accuracy, source:
   as kp_orifice_flow */
double kp_orifice_discharge(double length_ratio, bool chamfered, double reynolds, double *log_slope);
/** The correlation alone, without the laminar bound: arguments as kp_orifice_discharge; log_slope may be NULL. */
double kp_orifice_correlation(double length_ratio, double reynolds, double *log_slope);

/* ---- leak.c: annular gap past the piston band ------------------------------------------------------------------- */

/** Annular gap between piston band and bore. */
typedef struct kp_leak {
    double diameter;     /* [m] bore */
    double clearance;    /* [m] radial, >= 0; 0: tight, no flow */
    double length;       /* [m] > 0, of the gap */
    double eccentricity; /* [-] 0 centred to 1 touching */
} kp_leak;

/** Flow that the pressure drop drives through the gap.
    Given:    leak, oil, drop [Pa]
    Returned: flow and its slope: pi D c^3 drop/(12 mu L) (1 + 1.5 e^2), less where the losses at the gap's ends count
              (a worn ring); 0 for a tight one
    Valid:    laminar flow in the gap, c << D
    Accuracy: exact for that; 2.5 times the centred flow when the piston touches; the end losses are leak.c's assumption
    Source:   concentric gap: M. G. Rabie, Fluid Power Engineering, 2009, eq. 2.19 (read); eccentric factor from memory
 */
kp_flow kp_leak_flow(const kp_leak *leak, const kp_flow_oil *oil, double drop);
/** Flow dragged through the gap by the bore wall, relative to the piston: pi D c |V|/2.
    Given:    leak; speed [m/s] of the piston, either sign
    Returned: flow [m3/s] >= 0, counted positive with the flow that the piston drives
    Valid:    c << D
    Sign: seen from the piston the wall moves from the chamber that shrinks to the one that grows, which is the way the
    driven flow goes. It belongs to flows relative to the piston with the *bore* area as the piston's, and is added
    there once. (Relative to the body, with the piston's own smaller area, the same oil shows as minus pi D c |V|/2.)
    Source:   sliding term from memory (plane Couette flow, any text). */
double kp_leak_couette(const kp_leak *leak, double speed);

/* ---- port.c: a drop with a part linear and a part quadratic in the flow -------------------------------------------
 */

/** drop = quadratic x flow^2 + linear x flow at one opening, with its change as the opening changes. */
typedef struct kp_resistance {
    double quadratic;       /* [Pa s2/m6] */
    double linear;          /* [Pa s/m3] */
    double quadratic_slope; /* [Pa s2/m7] d/d(opening) */
    double linear_slope;    /* [Pa s/m4]  d/d(opening) */
} kp_resistance;

/** Flow through a resistance.
    Given:    resistance, drop [Pa] >= 0
    Returned: flow and slope; opening_slope [m2/s], d(flow)/d(opening) (may be NULL)
    Accuracy: rounding; the form of the root does not cancel
    Source:   quadratic equation */
kp_flow kp_resistance_flow(const kp_resistance *resistance, double drop, double *opening_slope);

/** An orifice of fixed coefficient. */
typedef struct kp_port {
    double area;      /* [m2] > 0 */
    double discharge; /* [-] > 0, discharge coefficient */
} kp_port;

/** Resistance of an orifice: drop = (rho/2) (flow/(C A))^2.
    Given:    port, oil
    Returned: resistance, quadratic only
    Valid:    turbulent flow, which a valve port's is wherever its drop counts. Its slope flow/drop has no value at zero
              drop: use it in series with another resistance
    Source:   orifice equation, any text */
kp_resistance kp_port_resistance(const kp_port *port, const kp_flow_oil *oil);

/* ---- needle.c: the needle of an adjuster ------------------------------------------------------------------------- */

/** A sharp-edged opening in a seat's bore. */
typedef struct kp_needle {
    double area;               /* [m2] >= 0 */
    double hydraulic_diameter; /* [m] > 0: 4 area/wetted edge, twice the gap of a needle in its seat */
    double discharge;          /* [-] > 0, at high flow number */
} kp_needle;

/** Flow past a needle at a drop.
    Given:    needle, oil, drop [Pa] >= 0
    Returned: flow and slope; at zero drop the flow is 0 and the slope that of the laminar end
    Valid:    an edge, no bore behind it
    Accuracy: the two ends are Merritt's (from memory); the passage between them is a smooth form in common use
    Source:   see needle.c */
kp_flow kp_needle_flow(const kp_needle *needle, const kp_flow_oil *oil, double drop);
/** Discharge coefficient of a needle.
    Given:    needle; flow_number [-] >= 0, (D_h/nu) sqrt(2 drop/density)
    Returned: C [-]; log_slope [-], d ln C/d ln flow number (may be NULL)
    Valid, accuracy, source: as kp_needle_flow */
double kp_needle_discharge(const kp_needle *needle, double flow_number, double *log_slope);

/* ---- contraction.c: the jet behind an opening in a bore ---------------------------------------------------------- */

/** Contraction coefficient of a round opening in a bore.
    Given:    diameter_ratio [-], opening over bore, 0 to 1
    Returned: 0.611 in a wide bore to 1 in one of the opening's own size [-]
    Valid:    a sharp edge, high Reynolds number
    Accuracy: rounding
    Source:   Rabie, Fluid Power Engineering, 2009, eq. 2.38 (read), citing Merritt */
double kp_contraction(double diameter_ratio);

/* ---- hose.c: the hose to a reservoir ----------------------------------------------------------------------------- */

typedef struct kp_hose {
    double length; /* [m] > 0 */
    double bore;   /* [m] > 0 */
} kp_hose;

/** A drop and its slope. */
typedef struct kp_drop {
    double drop;  /* [Pa] */
    double slope; /* [Pa s/m3] d(drop)/d(flow) */
} kp_drop;

/** Drop along a hose.
    Given:    hose, oil, flow [m3/s] >= 0
    Returned: drop and slope; never below Hagen-Poiseuille
    Valid:    straight, smooth, rigid; Reynolds number to 1e5
    Accuracy: exact where laminar but for the end losses; Blasius within some 5 % where turbulent (from memory)
    Source:   see hose.c */
kp_drop kp_hose_drop(const kp_hose *hose, const kp_flow_oil *oil, double flow);

/* ---- slot.c: slots in a face shim ----------------------------------------------------------------------------------
 */

/** Equal slots in parallel, as one. */
typedef struct kp_slot {
    double width;      /* [m] of all together, > 0 */
    double height;     /* [m] > 0: the shim's thickness */
    double land_width; /* [m] that the oil crosses; 0 for a sharp seat */
    double discharge;  /* [-] at high flow number */
} kp_slot;

/** Resistance of slots: an edge, a laminar slot, a plane channel over the land.
    Given:    slot, oil
    Returned: resistance, without slopes
    Valid:    slots wide compared with their height
    Accuracy: the coefficient is an input; the laminar parts are those of a sharp slot and of a plane channel
    Source:   see slot.c */
kp_resistance kp_slot_resistance(const kp_slot *slot, const kp_flow_oil *oil);

/* ---- curtain.c: the opening between land and lifted disc --------------------------------------------------------- */

typedef struct kp_curtain {
    double perimeter;        /* [m] land's inner circumference x curtain coverage */
    double land_inner;       /* [m] radius > 0 */
    double land_outer;       /* [m] radius >= land_inner; equal for a sharp seat */
    double port_area;        /* [m2] > 0, of the port under the disc; unused with a given coefficient */
    double discharge;        /* [-] given discharge coefficient at high flow number; 0: computed */
    double discharge_scale;  /* [-] > 0, on the discharge coefficient at high flow number; 1 as computed */
    double flow_force_scale; /* [-] >= 0, on what the oil's speed takes off the load; 1 as computed */
} kp_curtain;

/** What a flow through the curtain takes: each is quadratic x flow^2 + linear x flow. */
typedef struct kp_curtain_loss {
    kp_resistance pressure; /* [Pa] stagnation pressure under the disc, over the chamber that the oil leaves into */
    kp_resistance land;     /* [Pa] the part of it that falls over the land with the logarithm of the radius */
    kp_resistance edge;     /* [N] that the oil takes off the load as it speeds up towards the land's inner edge */
    kp_resistance suction;  /* [N] that it takes off over the land, where its pressure is below the chamber's */
} kp_curtain_loss;

/** Pressure and load of the flow through the curtain at an opening.
    Given:    curtain, oil, opening [m] > 0, the mean round the circle
    Returned: pressure and load, with their change with the opening
    Valid:    opening 0.1 to 0.8 mm, land 0.2 to 3 mm wide at 17 mm radius, Re 30 to 6600, curtain up to 0.9 of the
   port, parallel faces, no cavitation; beyond, it goes on to the limits that curtain.c states Accuracy: against 44 runs
   of computational fluid dynamics, flow at a drop within 3.4 % RMS (at worst 9.7 %) and load within 6 % RMS; these runs
   have an error of their own of 8 % in the flow and 6 % in the load. Not measured Source:   see curtain.c */
kp_curtain_loss kp_curtain_at(const kp_curtain *curtain, const kp_flow_oil *oil, double opening);
/** Area [m2] that a pressure acts on which falls over the land with the logarithm of the radius, from full at its inner
    edge to nothing at its outer. */
double kp_curtain_land_area(const kp_curtain *curtain);

#endif
