/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One plate of a stack by finite elements in the radius. Functions change nothing but the plate they are given, so that
   threads may work on different plates at once; those of a const plate share it.

   Scaling. Everything in this room and in stack is dimensionless, so that tolerances are relative to the stack and
   scaling all lengths changes no decision: radius rho = r/R0, lift W = w/t0, radial displacement U = u R0/t0^2, energy
   in 2 pi E0 t0^5/R0^2, pressure P = p R0^4/(E0 t0^4), with R0 the largest shim's radius, t0 and E0 the face shim's
   thickness and Young's modulus. */
#ifndef KNEEPOINT_PLATE_PLATE_H
#define KNEEPOINT_PLATE_PLATE_H

#include "kneepoint/plate.h"
#include "num/num.h"

#define KP_TWO_PI (2 * KP_PI)

enum {
    KP_PAIR = 2,                            /* unknowns per spline: the coefficient of W, then that of U              */
    KP_LOCAL = 4,                           /* splines that are not zero in an element                                */
    KP_JOINT_WIDTH = 7,                     /* half bandwidth of the joint matrix of W and U                          */
    KP_JOINT_ROW = KP_JOINT_WIDTH + 1,      /* entries per row of its packed band                                     */
    KP_FIELD_WIDTH = 3,                     /* half bandwidth of the matrix of W alone or U alone                     */
    KP_FIELD_ROW = KP_FIELD_WIDTH + 1,      /* entries per row of its packed band                                     */
    KP_PAST = 3,                            /* earlier solutions kept for extrapolating the next                      */
    KP_GAUSS = 4,                           /* Gauss points per element: W'^4 rho has degree 9, four points integrate
                                               degree 7; more change no lift measurably                               */
    KP_MAX_NODES = 512,                     /* per plate: elements across it plus one node for every rim              */
    KP_MAX_SPLINES = KP_MAX_NODES + 2,      /* per plate                                                              */
    KP_MAX_STRESS_POINTS = 2 * KP_MAX_NODES /* per plate                                                              */
};

/* ---- the plate: shims of one size laid together ------------------------------------------------------------------ */

/* The three splines that are not zero at node i, which are splines i, i + 1 and i + 2: their values and first two
   derivatives there. */
typedef struct kp_nodal_splines {
    double value[3], slope[3], curvature[3];
} kp_nodal_splines;

/* What slots leave of the hoop's stiffness (prepare.c); all 1 where there are none. */
typedef struct kp_hoop {
    double bent;      /* [-] share of the bending stiffness                                          */
    double radial;    /* [-] radial bending stiffness, over that of a plate                          */
    double stretched; /* [-] square root of the share of the stretching stiffness, on the hoop strain */
} kp_hoop;

/* A point of the radius at which surface stresses are evaluated (surface.c). */
typedef struct kp_stress_point {
    double weight[4];      /* [-] of the curvatures at the four nearest Barlow points */
    double inverse_radius; /* [-] 1/rho                                               */
    kp_hoop hoop;          /* of the metal between slots there                        */
} kp_stress_point;

/* What an edge condition fixes at a plate's first or last node. */
enum { KP_FIX_LIFT = 1, KP_FIX_SLOPE = 2, KP_FIX_RADIAL = 4 };

typedef struct kp_plate {
    /* Given by whoever sets the plate up. */
    double inner;         /* [-] rho of the first node: clamp, or hole of a loose ring                   */
    double outer;         /* [-] rho of the free edge                                                    */
    double bottom;        /* [-] height of the lower face at rest, over t0                               */
    bool ring;            /*     loose ring, held by its neighbours only                                 */
    double membrane;      /* [-] count x E t / (1 - nu^2), scaled                                        */
    double bending;       /* [-] count x E t^3 / (12 (1 - nu^2)), scaled                                 */
    double nu;            /* [-] Poisson's ratio                                                         */
    double thickness;     /* [-] of all its shims together, over t0                                      */
    double one_thickness; /* [-] of one shim, over t0                                                    */
    double young;         /* [-] Young's modulus over E0                                                 */
    unsigned fixed_first; /*     KP_FIX_ bits of the first node ...                                      */
    unsigned fixed_last;  /*     ... and of the last                                                     */
    double grip;          /* [-] radial stiffness of the ring under the clamp, over membrane; used where
                                 KP_FIX_RADIAL is not set                                                */
    double slip;          /* [-] largest friction force of the clamp, over membrane                      */
    int slot_count;       /* [-] radial slots from the outer edge                                        */
    double slot_width;    /* [-] over R0                                                                 */
    double slot_inner;    /* [-] rho that the slots reach in to                                          */
    size_t nodes;         /*     at least 2                                                              */
    size_t splines;       /*     nodes + 2: cubic, second derivative continuous at every node            */
    size_t unknowns;      /*     KP_PAIR x splines                                                       */
    size_t contacts;      /*     gaps that it is a side of                                               */
    size_t lifts_at;      /*     position of its first spline in the workspace's lifts                   */
    double *rho;          /*     [nodes] ascending                                                       */
    double *load;         /*     [unknowns] work of unit pressure, U part 0; zero but for the face shim  */

    /* Constant, made by kp_plate_prepare and kp_surface_prepare. */
    kp_nodal_splines *lift_nodal;   /* [nodes] splines of W at the nodes ...                             */
    kp_nodal_splines *radial_nodal; /* [nodes] ... and of U                                              */
    double (*weight)[KP_GAUSS];     /* [nodes - 1] quadrature weight x rho                               */
    kp_element *slope_shape;        /* [nodes - 1] dN/drho of an element's four splines of W             */
    kp_element *hoop_shape;         /* [nodes - 1] N/rho + nu dN/drho of its four splines of U           */
    kp_element *radial_shape;       /* [nodes - 1] dN/drho + nu N/rho of its four splines of U           */
    double *linear_tangent;         /* [unknowns][KP_JOINT_ROW] joint tangent at zero lift               */
    double *bending_matrix;         /* [splines][KP_FIELD_ROW] of W, no spline fixed                     */
    double *bending_diagonals;      /* the same stored by diagonals                                      */
    double *membrane_matrix;        /* [splines][KP_FIELD_ROW] of U for membrane = 1, no spline fixed    */
    double *radial_factor;          /* its Cholesky factor, edges as fixed                               */
    double *slip_factor;            /* the same with the first spline fixed too, for slip > 0            */
    kp_stress_point *stress_point;  /* [kp_surface_count]                                                */
    kp_disc_stress *rest;           /* [kp_surface_count] low end of a stress cycle, over the unit       */

    /* Changing. */
    double *state;                  /* [unknowns] last equilibrium or iterate                               */
    double *past[KP_PAST];          /* [unknowns] the solutions before it, latest first                     */
    double *start;                  /* [unknowns] state at the start of a load step                         */
    double *trial;                  /* [unknowns] of the line search                                        */
    double *step;                   /* [unknowns] Newton step                                               */
    bool folded;                    /* beyond the onset: the hoop's compression is relaxed (fold.c)      */
    double *onset;                  /* [unknowns] the state at the onset                                 */
    double (*onset_hoop)[KP_GAUSS]; /* [nodes - 1] e_t + nu e_r there, where negative                     */
    double (*relaxation)[KP_GAUSS]; /* [nodes - 1] slope of the relaxation where the force was last taken */
    bool sticks;                    /* friction holds the inner edge in the state last condensed            */
    double (*slope)[KP_GAUSS];      /* [nodes - 1] W' where the force was last taken ...                    */
    double (*tension)[KP_GAUSS];    /* [nodes - 1] ... e_r + nu e_t there ...                               */
    double energy;                  /* [-] ... and the elastic energy                                       */
    double *force;                  /* [unknowns] minus the gradient of the energy, U part 0                */
    double *free;                   /* [unknowns] L^-1 x force: the step without contacts, half solved      */
    double *factor;                 /* [unknowns][KP_JOINT_ROW] tangent, or its Cholesky factor             */
} kp_plate;

/* Fills the Gauss points and weights of an element, on -1 to 1. */
void kp_plate_gauss(double point[KP_GAUSS], double weight[KP_GAUSS]);
/* Fraction of the circle at rho that the plate's slots leave [-]. */
double kp_plate_solid_fraction(const kp_plate *plate, double rho);
/* What its slots leave of the hoop at rho. */
kp_hoop kp_plate_hoop(const kp_plate *plate, double rho);
/* Makes the plate's constants but for its stress points. Needs the plate's given fields; fixed edges included. */
void kp_plate_prepare(kp_plate *plate);

/* ---- splines (basis.c) ------------------------------------------------------------------------------------------- */

/* Fills lift_nodal and radial_nodal from rho and the edge conditions. */
void kp_plate_make_nodal_splines(kp_plate *plate);
/* Finds the element that holds rho; fills the values and slopes of its four splines of W there. */
size_t kp_plate_shape(const kp_plate *plate, double rho, double value[4], double first[4]);
/* Fills the values and slopes of an element's four splines of U at rho. */
void kp_plate_radial_shape(const kp_plate *plate, size_t element, double rho, double value[4], double first[4]);
/* Lift at rho of the unknowns q [-]. */
double kp_plate_lift(const kp_plate *plate, const double *q, double rho);

/* Sum of a node's three splines, weighted by coefficients of W from q on (of U: from q + 1 on). */
static inline double kp_nodal_sum(const double c[3], const double *q)
{
    return c[0] * q[0] + c[1] * q[2] + c[2] * q[4];
}

/* The same of an element's four splines. */
static inline double kp_plate_sum(const double c[4], const double *q)
{
    return (c[0] * q[0] + c[1] * q[2]) + (c[2] * q[4] + c[3] * q[6]);
}

/* Number of splines of W, counted from an edge inward, that its KP_FIX_ bits hold at zero (explained in basis.c). */
static inline size_t kp_edge_fixed_splines(unsigned fixed)
{
    bool lift = fixed & KP_FIX_LIFT, slope = fixed & KP_FIX_SLOPE;
    return lift && slope ? 2 : lift || slope ? 1 : 0;
}

/* Whether an edge condition holds an unknown (joint index) at zero. */
static inline bool kp_plate_is_fixed(const kp_plate *plate, size_t unknown)
{
    size_t spline = unknown / KP_PAIR;
    size_t from_last = plate->splines - 1 - spline;
    if (unknown % KP_PAIR == 1) {
        return (spline == 0 && (plate->fixed_first & KP_FIX_RADIAL)) ||
               (from_last == 0 && (plate->fixed_last & KP_FIX_RADIAL));
    }
    return spline < kp_edge_fixed_splines(plate->fixed_first) || from_last < kp_edge_fixed_splines(plate->fixed_last);
}

/* ---- energy, forces, tangent (element.c) ------------------------------------------------------------------------- */

/* Solves the plate's radial equilibrium for the U part of q, from its W part. Sets plate->sticks. */
void kp_plate_condense(kp_plate *plate, double *q);
/* Elastic energy of q [-]. Needs the U part of q condensed. */
double kp_plate_energy(const kp_plate *plate, const double *q);
/* Fills plate->force with minus the gradient of (energy - pressure x load) at plate->state, and slope, tension and
   energy with the state's. Needs the U part of the state condensed. */
void kp_plate_force(kp_plate *plate, double pressure);
/* Fills plate->factor with the joint tangent where the force was last taken. clamp_tension: leaves compressive N_r out,
   which makes the tangent positive definite. */
void kp_plate_assemble(kp_plate *plate, bool clamp_tension);
/* Fills plate->factor with the joint tangent at zero lift. */
void kp_plate_assemble_linear(kp_plate *plate);
/* Adds to the tangent that of the energy stiffness x (slope . unknowns)^2/2 of a contact in the element whose first
   unknown is base. */
void kp_plate_add_tilt(kp_plate *plate, size_t base, const double slope[4], double stiffness);
/* Replaces the tangent by its Cholesky factor, edges as fixed; false when it is not positive definite. */
bool kp_plate_factor(kp_plate *plate);

/* ---- node positions (mesh.c) ------------------------------------------------------------------------------------- */

/* Element size over the radius: finest at the clamp, growing in proportion to the distance from it. */
typedef struct kp_mesh_rule {
    double clamp;    /* [-] rho of the clamp                                          */
    double span;     /* [-] largest edge less clamp                                   */
    double finest;   /* [-] element size at the clamp ...                             */
    double coarsest; /* [-] ... and far from it                                       */
    double reach;    /* [-] distance from the clamp from which elements are coarsest  */
} kp_mesh_rule;
/* Element size at rho [-]. */
double kp_mesh_size(const kp_mesh_rule *rule, double rho);
/* Writes at most capacity nodes between ascending breakpoints, every breakpoint a node; returns their number. */
size_t kp_mesh_nodes(const kp_mesh_rule *rule, size_t breakpoints, const double *at, size_t capacity, double *nodes);

/* ---- surface stresses (surface.c): stress points k = 0 to 2 x elements, at the ends and middle of each element --- */

static inline size_t kp_surface_count(const kp_plate *plate)
{
    return 2 * plate->nodes - 1;
}

/* Radius of a stress point [-] rho. */
double kp_surface_radius(const kp_plate *plate, size_t k);
/* Fills plate->stress_point. Needs the nodes. */
void kp_surface_prepare(kp_plate *plate);
/* Fills out [kp_surface_count] with the stresses of a state, over the unit E t0^2/R0^2/(1 - nu^2) of the plate. */
void kp_surface_stress(const kp_plate *plate, const double *state, kp_disc_stress *out);
/* The same at any one radius. */
kp_disc_stress kp_surface_stress_at(const kp_plate *plate, const double *state, double rho);

/* ---- largest stress and fatigue use of a plate (strength.c); unit [Pa]: that of kp_surface_stress ---------------- */

/* Stress points are coded 2 k, and 2 k + 1 on the far side. */
typedef struct kp_peaks {
    double stress;    /* [Pa] largest von Mises stress                */
    double use;       /* [-]  largest kp_cycle use                    */
    int stress_point; /*      coded point of the largest stress ...   */
    int use_point;    /*      ... and of the largest use              */
} kp_peaks;
/* Both peaks of a state. stressed_at_rest: the cycle begins at plate->rest, else without stress. */
kp_peaks kp_plate_peaks(const kp_plate *plate, const double *state, const kp_material *material, double unit,
                        bool stressed_at_rest);
/* Largest von Mises stress of plate->state [Pa], with its stress point and side. */
double kp_plate_peak_stress(const kp_plate *plate, double unit, size_t *point, bool *piston_side);
/* Worst cycle from plate->rest to plate->state; its radius is [-] rho. */
kp_cycle kp_plate_cycle(const kp_plate *plate, const kp_material *material, double unit);
/* ---- stability of the round shape (lobe.c) ------------------------------------------------------------------------
 */

enum { KP_LOBES_MIN = 2, KP_LOBES_MAX = 7 };

/* Doubles of the two blocks below. */
size_t kp_lobe_constant_room(const kp_plate *plate);
size_t kp_lobe_scratch_room(const kp_plate *plate);
/* Fills the block of what does not depend on the state. */
void kp_lobe_prepare(const kp_plate *plate, double *block);
/* Second variation of the plate's energy at a round state for a lift w cos(lobes theta), u and v eliminated: stiffness
   [splines][splines] on the splines of w, symmetric; those that an edge fixes stand alone. */
void kp_lobe_stiffness(const kp_plate *plate, double *block, const double *state, int lobes, double *scratch,
                       double *stiffness);

/* ---- a folded plate's mean shape (fold.c) -------------------------------------------------------------------------
 */

/* Takes the state as that of the onset. */
void kp_plate_fold_from(kp_plate *plate, const double *state);

/* What relaxation changes at one point. Strains are e_t + nu e_r; energies are over the membrane stiffness. */
typedef struct kp_relaxed {
    double less;   /* [-] relaxed strain less the strain itself, >= 0                */
    double slope;  /* [-] its derivative by the strain, -1 to 0                      */
    double energy; /* [-] its integral from the onset, <= 0                          */
} kp_relaxed;
/* onset: the strain at the onset, 0 where that is not compressive. */
kp_relaxed kp_fold_relax(double strain, double onset, double nu);
/* U of a folded plate from W, by its own radial equilibrium; u comes with a guess. Sets plate->sticks. */
void kp_fold_condense(kp_plate *plate, const double *w, double *u);
/* Fills slopes, radial tensions N_r/A and, unless NULL, the relaxation's slope. Returns twice the membrane energy over
   the stiffness, with the clamp's slip counted once. */
double kp_fold_strain(const kp_plate *plate, const double *w, const double *u, double (*slope)[KP_GAUSS],
                      double (*tension)[KP_GAUSS], double (*relaxation)[KP_GAUSS]);
/* Adds the relaxation's part to the joint tangent. */
void kp_fold_assemble(kp_plate *plate);

#endif
