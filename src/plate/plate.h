/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One plate of a stack by finite elements in the radius.

   Scaling. Everything in this room and in stack is dimensionless, so that tolerances are relative to the stack and
   scaling all lengths changes no decision: radius rho = r/R0, lift W = w/t0, radial displacement U = u R0/t0^2, energy
   in 2 pi E0 t0^5/R0^2, pressure P = p R0^4/(E0 t0^4), with R0 the largest shim's radius, t0 and E0 the face shim's
   thickness and Young's modulus. */
#ifndef KNEEPOINT_PLATE_PLATE_H
#define KNEEPOINT_PLATE_PLATE_H

#include "kneepoint/plate.h"
#include "num/num.h"

enum {
    KP_PAIR = 2,                       /* unknowns a spline: W's coefficient, then U's */
    KP_LOCAL = 4,                      /* splines that are not zero in an element      */
    KP_JOINT_WIDTH = 7,                /* half bandwidth of the joint matrix           */
    KP_JOINT_ROW = KP_JOINT_WIDTH + 1, /* entries a row of the packed band */
    KP_FIELD_WIDTH = 3,                /* half bandwidth of W alone or U alone         */
    KP_FIELD_ROW = KP_FIELD_WIDTH + 1,
    KP_PAST = 3,        /* solutions kept for predicting the next         */
    KP_GAUSS = 4,       /* points an element: W'^4 times rho is degree 9; measured enough */
    KP_MAX_NODES = 512, /* a plate: elements across it plus one for every tip */
};

/* ---- one plate: shims of one size laid together (plate_element.c) ---- */

/* Value and first two derivatives at node i of the three splines that are not zero there: i, i + 1, i + 2. */
typedef struct kp_knot {
    double value[3], slope[3], curve[3];
} kp_knot;

/* One of the places where surface stresses are read (surface.c). */
typedef struct kp_sample {
    double curve[4]; /* [-] weights of the four curvatures that its own is taken from */
    double turns;    /* [-] 1/rho                                                     */
} kp_sample;

enum { KP_FIX_LIFT = 1, KP_FIX_SLOPE = 2, KP_FIX_RADIAL = 4 };

typedef struct kp_plate {
    double inner;         /* [-] rho of its first node: clamp, or hole of a loose ring */
    double outer;         /* [-] rho of the free edge                             */
    double bottom;        /* [-] height of its lower face at rest, over t0        */
    bool ring;            /*     loose: held by its neighbours only               */
    double membrane;      /* [-] count x E t / (1 - nu^2), scaled                  */
    double bending;       /* [-] count x E t^3 / (12 (1 - nu^2)), scaled           */
    double nu;            /* [-]                                                 */
    double thickness;     /* [-] of all its shims together, over t0               */
    double one_thickness; /* [-] of one shim, over t0                        */
    double young;         /* [-] over E0                                          */
    unsigned fixed_first; /* KP_FIX_ bits of the first node */
    unsigned fixed_last;  /* and of the last  */
    double grip;          /* [-] stiffness of the ring under the clamp, over membrane;
                             without KP_FIX_RADIAL only */
    double slip;          /* [-] friction of the clamp, over membrane: the stretch is held
                             up to it */
    int slot_count;       /* [-]                                                  */
    double slot_width;    /* [-] over R0                                          */
    double slot_inner;    /* [-] rho                                              */

    size_t nodes;
    size_t splines;             /* nodes + 2: cubic, second derivative continuous at every node */
    size_t unknowns;            /* KP_PAIR x splines                         */
    size_t contacts;            /* gaps that it is a side of                 */
    size_t lifts_at;            /* its first spline in the workspace's lifts */
    double *rho;                /* [nodes]                                   */
    kp_knot *lift_knot;         /* [nodes] W's splines there ...             */
    kp_knot *radial_knot;       /* [nodes] ... and U's                       */
    double (*weight)[KP_GAUSS]; /* [nodes - 1] quadrature weight x rho        */
    kp_element *slope_shape;    /* [nodes - 1] dN/drho of an element's four splines */
    kp_element *radial_shape;   /* [nodes - 1] dN/drho + nu N/rho             */
    double *constant;           /* [unknowns][KP_JOINT_ROW] joint tangent at no lift */
    double *bend;               /* [splines][KP_FIELD_ROW] bending stiffness of W, full    */
    double *diagonals;          /* the same by diagonals */
    double *stretch;            /* [splines][KP_FIELD_ROW] membrane stiffness of U for
                                   membrane = 1    */
    double *radial_factor;      /* its Cholesky factor, edges as fixed        */
    double *slip_factor;        /* the same with the clamp held too, for slip > 0 */
    kp_sample *sample;          /* [kp_surface_count] */
    kp_disc_stress *rest;       /* [kp_surface_count] at the low end of a stress cycle, over the unit */
    bool sticks;                /* that friction holds, at the state last condensed */

    double *state;               /* [unknowns] equilibrium so far                           */
    double *past[KP_PAST];       /* [unknowns] the solutions before the state, latest first */
    double *start;               /* [unknowns] state at the start of a load step            */
    double *trial;               /* [unknowns] of the line search                           */
    double (*slope)[KP_GAUSS];   /* [nodes - 1] W' where the force was last taken ... */
    double (*tension)[KP_GAUSS]; /* [nodes - 1] ... e_r + nu e_t there ... */
    double energy;               /* [-] ... and the elastic energy */
    double *force;               /* [unknowns] minus the gradient of the energy, U part 0   */
    double *free;                /* [unknowns] L^-1 of the force: the step without contact, half solved */
    double *step;                /* [unknowns] Newton step                                  */
    double *load;                /* [unknowns] work of unit pressure, U part 0; zero but for the
                                    face shim */
    double *factor;              /* [unknowns][KP_JOINT_ROW]                                */
} kp_plate;

/* Everything constant of a plate whose nodes, stiffness and outer radius are
 * set. */
void kp_plate_prepare(kp_plate *plate);
/* The splines' values and slopes at the nodes, edges as fixed (plate_basis.c). */
void kp_plate_make_knots(kp_plate *plate);
/* Splines next to an edge, from it inward, whose lift its bits fix (see plate_basis.c). */
static inline size_t kp_edge_holds(unsigned fixed)
{
    bool lift = fixed & KP_FIX_LIFT, slope = fixed & KP_FIX_SLOPE;
    return lift && slope ? 2 : lift || slope ? 1 : 0;
}
/* Whether unknown (joint index) has a fixed value. */
static inline bool kp_plate_fixes(const kp_plate *plate, size_t unknown)
{
    size_t spline = unknown / KP_PAIR;
    size_t from_last = plate->splines - 1 - spline;
    if (unknown % KP_PAIR == 1) {
        return (spline == 0 && (plate->fixed_first & KP_FIX_RADIAL)) ||
               (from_last == 0 && (plate->fixed_last & KP_FIX_RADIAL));
    }
    return spline < kp_edge_holds(plate->fixed_first) || from_last < kp_edge_holds(plate->fixed_last);
}
/* Makes unknown i of a band that of a fixed value: its row and column vanish, its diagonal is one. */
void kp_band_fix(double *band, size_t width, size_t i);
/* The U part of q from its W part, by the plate's own radial equilibrium. */
void kp_plate_condense(kp_plate *plate, double *q);
/* Elastic energy of q, whose U part is condensed. */
double kp_plate_energy(const kp_plate *plate, const double *q);
/* Fills plate->force with minus the gradient of (energy - pressure x load) at plate->state, whose U part is condensed;
   slope, tension and energy are the state's then. */
void kp_plate_force(kp_plate *plate, double pressure);
/* Fills plate->factor with the joint tangent where the force was last taken. clamp_tension: compressive N_r left out,
   which keeps it positive. Linear: the tangent at no lift, for the starting guess. */
void kp_plate_assemble(kp_plate *plate, bool clamp_tension);
void kp_plate_assemble_linear(kp_plate *plate);
/* Adds stiffness x (slope . unknowns)^2/2 of a contact in the element whose first unknown is base. */
void kp_plate_add_tilt(kp_plate *plate, size_t base, const double slope[4], double stiffness);
/* Cholesky of what was assembled. */
bool kp_plate_factor(kp_plate *plate);
/* Element that holds rho, and its four splines of W there, and their derivatives. */
size_t kp_plate_shape(const kp_plate *plate, double rho, double value[4], double first[4]);
/* The same of U, in an element. */
void kp_plate_radial_shape(const kp_plate *plate, size_t element, double rho, double value[4], double first[4]);
/* Sum of c[i] x the i-th of a node's three or an element's four lifts (its stretches: q one further on). */
static inline double kp_knot_sum(const double c[3], const double *q)
{
    return c[0] * q[0] + c[1] * q[2] + c[2] * q[4];
}
static inline double kp_plate_sum(const double c[4], const double *q)
{
    return (c[0] * q[0] + c[1] * q[2]) + (c[2] * q[4] + c[3] * q[6]);
}
double kp_plate_lift(const kp_plate *plate, const double *q, double rho);

/* Node positions: mesh.c. breakpoints ascending, first = clamp, last = largest
 * edge. */
typedef struct kp_mesh_rule {
    double clamp;    /* [-] rho of the clamp                                    */
    double span;     /* [-] largest edge less clamp                             */
    double finest;   /* [-] element at the clamp                                */
    double coarsest; /* [-] element far from it                                 */
    double reach;    /* [-] distance from the clamp at which elements are coarsest */
} kp_mesh_rule;
double kp_mesh_size(const kp_mesh_rule *rule, double rho);
/* Writes at most capacity nodes; returns how many there are. */
size_t kp_mesh_nodes(const kp_mesh_rule *rule, size_t breakpoints, const double *at, size_t capacity, double *nodes);

/* ---- surface stresses of a plate: at the ends and middle of each element, k = 0 to 2 x elements (surface.c) ---- */
static inline size_t kp_surface_count(const kp_plate *plate)
{
    return 2 * plate->nodes - 1;
}
double kp_surface_place(const kp_plate *plate, size_t k); /* [-] rho */
void kp_surface_prepare(kp_plate *plate);
/* Those of the state given, [kp_surface_count] over the unit; the unit [Pa]. */
void kp_surface_stress(const kp_plate *plate, const double *state, kp_disc_stress *out);
/* The same at one radius of the plate. */
kp_disc_stress kp_surface_stress_at(const kp_plate *plate, const double *state, double rho);

/* ---- the worst places of a plate's surface (strength.c): stress [Pa], `unit` [Pa] that of kp_surface_stress ---- */
typedef struct kp_peaks {
    double stress, use;          /* [Pa] von Mises, [-] of the fatigue strength             */
    int stress_place, use_place; /* surface place x 2, + 1 on the far side; not of a trial */
} kp_peaks;
/* of_cycle: the low end of the cycle is plate->rest; else it is nothing. */
kp_peaks kp_plate_peaks(const kp_plate *plate, const double *state, const kp_material *material, double unit,
                        bool of_cycle);
/* Largest von Mises stress of the state [Pa], with its place and side. */
double kp_plate_peak_stress(const kp_plate *plate, double unit, size_t *place, bool *piston_side);
/* Worst cycle from plate->rest to the state; its radius is [-] rho. */
kp_cycle kp_plate_cycle(const kp_plate *plate, const kp_material *material, double unit);
#endif
