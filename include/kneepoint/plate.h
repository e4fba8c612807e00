/* SPDX-License-Identifier: GPL-3.0-or-later */
/** One annular plate: its material, the stress at its surfaces, and the closed forms of small deflection that a
   handbook gives for it. */
#ifndef KNEEPOINT_PLATE_H
#define KNEEPOINT_PLATE_H

#include "kneepoint/base.h"

/** Shim material. Yield and fatigue strength only raise flags; they change no
 * lift. */
typedef struct kp_material {
    double young;   /* [Pa]  Young's modulus, > 0               */
    double poisson; /* [-]   0 to 0.5                            */
    double yield;   /* [Pa]  proof stress used for the set flag  */
    double tensile; /* [Pa]  tensile strength                    */
    double fatigue; /* [Pa]  amplitude that lasts at zero mean   */
} kp_material;

/** Spring steel strip: E 206 GPa, nu 0.3; see material.c for the standing of
 * each number. */
kp_material kp_material_spring_steel(void);

/** Surface stresses [Pa], tension positive. Piston side = the side the pressure is on. */
typedef struct kp_disc_stress {
    double piston_side_radial, piston_side_hoop, far_side_radial, far_side_hoop;
} kp_disc_stress;

/** Stress over a cycle between the marked state and the last solution, where it uses up most of the shim's fatigue
    strength. Guidance: the strengths are assumptions and the surface, edges and set of a real shim count for more. */
typedef struct kp_cycle {
    double mean;      /* [Pa] von Mises, negative where the mean pressure is compressive */
    double amplitude; /* [Pa] von Mises                                                 */
    double use;       /* [-]  amplitude/fatigue + mean/tensile (Goodman's line); 1 = at the line */
    double radius;    /* [m]                                                            */
    bool piston_side;
} kp_cycle;
typedef enum kp_edge { KP_EDGE_FREE, KP_EDGE_SUPPORTED, KP_EDGE_GUIDED, KP_EDGE_FIXED } kp_edge;

/** One annular plate under one load. Supported: no lift, free to turn. Guided: free to lift, no slope. */
typedef struct kp_plate_case {
    double outer_radius; /* [m]                                                                       */
    double inner_radius; /* [m]  > 0; 0 = full plate                        */
    double thickness;    /* [m]                                                                       */
    kp_material material;
    kp_edge inner, outer;
    bool inner_held, outer_held; /* radially; large deflection only                                 */
    double load_from, load_to;   /* [m]  a pressure between them, or a line load where they are one   */
} kp_plate_case;

/** What the plate does at a radius. Positive lift and shear are along the load. */
typedef struct kp_plate_answer {
    double lift;          /* [m]                                                                            */
    double slope;         /* [-]                                                                            */
    double radial_moment; /* [N]   per unit length; positive: the loaded side is pressed together            */
    double shear;         /* [N/m]                                                                          */
} kp_plate_answer;

/** Given: load [Pa], or [N/m] for a line load; inner_radius <= r <= outer_radius. Small deflection.
    Valid: the edges hold the plate (at least one supported or fixed). Accuracy: rounding.
    Errors: KP_OUT_OF_RANGE. Source: Roark's Formulas for Stress and Strain, table 11.2, cases 1a to 2l. */
kp_status kp_plate_small(const kp_plate_case *plate, double load, double r, kp_plate_answer *out, kp_error *error);

/** The same for a shim, inner edge fixed and outer free: a line load [N/m] (case 1l), a pressure [Pa] (case 2l). */
kp_status kp_plate_ring_lift(double outer_radius, double clamp_radius, double thickness, kp_material material,
                             double load_radius, double line_load, double r, double *lift, kp_error *error);
kp_status kp_plate_pressure_lift(double outer_radius, double clamp_radius, double thickness, kp_material material,
                                 double from, double to, double pressure, double r, double *lift, kp_error *error);

#endif
