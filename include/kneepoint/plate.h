/* SPDX-License-Identifier: GPL-3.0-or-later */
/** One annular plate: its material, the stress at its surfaces, and the closed forms of small deflection that a
    handbook gives for it. All functions are pure, so that any number of threads may call them at once. */
#ifndef KNEEPOINT_PLATE_H
#define KNEEPOINT_PLATE_H

#include "kneepoint/base.h"

KP_BEGIN_DECLARATIONS

/** Isotropic elastic material of a shim. Yield and fatigue strength only raise flags; they change no lift. */
typedef struct kp_material {
    double young;   /* [Pa]  Young's modulus, > 0                                            */
    double poisson; /* [-]   Poisson's ratio, 0 to 0.5                                       */
    double yield;   /* [Pa]  proof stress; a larger stress is reported as yielding           */
    double tensile; /* [Pa]  tensile strength. Fatigue is judged only where this and ...     */
    double fatigue; /* [Pa]  ... the amplitude that lasts at zero mean stress are both > 0   */
} kp_material;

/** Spring steel strip of middle strength.
    Returned: Young's modulus 206 GPa, Poisson's ratio 0.3, yield 1500 MPa, tensile 1700 MPa, fatigue 550 MPa
    Source:   handbook values and assumptions, each explained in src/plate/material.c */
KP_API kp_material kp_material_spring_steel(void);

/** Surface stresses at one radius, tension positive. The piston side is the side that the pressure acts on. */
typedef struct kp_disc_stress {
    double piston_side_radial; /* [Pa] */
    double piston_side_hoop;   /* [Pa] */
    double far_side_radial;    /* [Pa] */
    double far_side_hoop;      /* [Pa] */
} kp_disc_stress;

/** Stress cycle between the marked state and the last solution, at the point where it uses up most of the shim's
    fatigue strength. Guidance only: the strengths are assumptions, and the surface, edges and set of a real shim count
    for more. All fields are 0 for a material whose tensile or fatigue strength is not given. */
typedef struct kp_cycle {
    double mean;      /* [Pa] von Mises, negative where the mean pressure is compressive                 */
    double amplitude; /* [Pa] von Mises                                                                  */
    double use;       /* [-]  amplitude/fatigue + max(mean, 0)/tensile; 1 = on Goodman's line            */
    double radius;    /* [m]                                                                             */
    bool piston_side; /*      the point is on the piston side, else on the far side                      */
} kp_cycle;

/** Edge conditions: free (no moment, no shear), simply supported (no lift, free to turn), guided (free to lift, no
    slope), fixed (no lift, no slope). */
typedef enum kp_edge { KP_EDGE_FREE, KP_EDGE_SUPPORTED, KP_EDGE_GUIDED, KP_EDGE_FIXED } kp_edge;

/** One annular plate under one axisymmetric load. */
typedef struct kp_plate_case {
    double outer_radius; /* [m]                                                                             */
    double inner_radius; /* [m]  > 0 for the closed forms; 0 is a full plate                                */
    double thickness;    /* [m]  > 0                                                                        */
    kp_material material;
    kp_edge inner;    /*      condition of the inner edge ...                                               */
    kp_edge outer;    /*      ... and of the outer edge                                                     */
    bool inner_held;  /*      no radial displacement at the inner edge ...                                  */
    bool outer_held;  /*      ... and at the outer one; small deflection does not depend on either          */
    double load_from; /* [m]  the load is a pressure from this radius ...                                   */
    double load_to;   /* [m]  ... to this one, or a line load where the two radii are equal                 */
} kp_plate_case;

/** State of the plate at one radius. Lift and shear are positive along the load. */
typedef struct kp_plate_answer {
    double lift;          /* [m]                                                                             */
    double slope;         /* [-]   d(lift)/d(radius)                                                         */
    double radial_moment; /* [N]   per unit length; positive: compression on the loaded side                 */
    double shear;         /* [N/m] shear force per unit length                                               */
} kp_plate_answer;

/** State of a plate at radius r by Kirchhoff's linear theory.
    Given:    load [Pa], or [N/m] for a line load; inner_radius <= r <= outer_radius [m]
    Returned: out; unchanged on error
    Valid:    lift small against the thickness; at least one edge supported or fixed
    Accuracy: rounding
    Errors:   KP_OUT_OF_RANGE for radii, material or edges outside these ranges; KP_NOT_FINITE
    Source:   Roark's Formulas for Stress and Strain, table 11.2, cases 1a to 2l */
KP_API kp_status kp_plate_small(const kp_plate_case *plate, double load, double r, kp_plate_answer *out,
                                kp_error *error);

/** Lift of a shim, fixed at the clamp and free at its outer edge, under a line load.
    Given:    radii and thickness [m]; line_load [N/m] at load_radius; clamp_radius <= r <= outer_radius [m]
    Returned: lift [m] at r; unchanged on error
    Valid, Accuracy, Errors: as kp_plate_small
    Source:   Roark, table 11.2, case 1l */
KP_API kp_status kp_plate_ring_lift(double outer_radius, double clamp_radius, double thickness, kp_material material,
                                    double load_radius, double line_load, double r, double *lift, kp_error *error);

/** Lift of the same shim under a pressure.
    Given:    radii and thickness [m]; pressure [Pa] between the radii from and to [m]; clamp_radius <= r <=
   outer_radius Returned: lift [m] at r; unchanged on error Valid, Accuracy, Errors: as kp_plate_small Source:   Roark,
   table 11.2, case 2l */
KP_API kp_status kp_plate_pressure_lift(double outer_radius, double clamp_radius, double thickness,
                                        kp_material material, double from, double to, double pressure, double r,
                                        double *lift, kp_error *error);

/** Returned: von Mises stress [Pa] at a surface, where radial and hoop stress are the principal stresses. */
KP_API double kp_von_mises(double radial, double hoop);

KP_END_DECLARATIONS

#endif
