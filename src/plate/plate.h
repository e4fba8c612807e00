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
    double *state;               /* [unknowns] last equilibrium or iterate                               */
    double *past[KP_PAST];       /* [unknowns] the solutions before it, latest first                     */
    double *start;               /* [unknowns] state at the start of a load step                         */
    double *trial;               /* [unknowns] of the line search                                        */
    double *step;                /* [unknowns] Newton step                                               */
    bool sticks;                 /* friction holds the inner edge in the state last condensed            */
    double (*slope)[KP_GAUSS];   /* [nodes - 1] W' where the force was last taken ...                    */
    double (*tension)[KP_GAUSS]; /* [nodes - 1] ... e_r + nu e_t there ...                               */
    double energy;               /* [-] ... and the elastic energy                                       */
    double *force;               /* [unknowns] minus the gradient of the energy, U part 0                */
    double *free;                /* [unknowns] L^-1 x force: the step without contacts, half solved      */
    double *factor;              /* [unknowns][KP_JOINT_ROW] tangent, or its Cholesky factor             */
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
/* Minimises U.KU/2 - b.U + slip |U_0|; b comes in u. Sets plate->sticks. */
void kp_plate_solve_radial(kp_plate *plate, double *u);
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
/* What a loose ring's tangent has added to each diagonal entry of W, so that a step is finite where nothing holds it.
 */
double kp_plate_ridge(const kp_plate *plate);
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

/* A field of cubic splines at one point. */
typedef struct kp_field_point {
    double value, slope, curvature;
} kp_field_point;
/* Fills out [kp_surface_count]. q: its first coefficient, the others KP_PAIR apart. */
void kp_surface_field(const kp_plate *plate, const double *q, kp_field_point *out);
/* The same at any one radius. */
kp_field_point kp_surface_field_at(const kp_plate *plate, const double *q, double rho);

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
/* Cycle of one surface point between two stresses over the unit: radial, hoop, shear. */
kp_cycle kp_cycle_between(const kp_material *material, double unit, const double low[3], const double high[3]);
/* Whether a material has the strengths that a cycle needs. */
bool kp_has_strengths(const kp_material *material);
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

/* Matrices of a shape w cos n theta, u cos n theta, v sin n theta (lobe_matrices.c). */
enum {
    KP_LOBE_POWERS = 3,                                       /* of n^2 in the bending energy          */
    KP_LOBE_IN_PLANE = 2,                                     /* unknowns a spline in plane: u, then v */
    KP_LOBE_IN_PLANE_WIDTH = KP_LOBE_IN_PLANE * KP_LOCAL - 1, /* half bandwidth of both            */
    KP_LOBE_IN_PLANE_ROW = KP_LOBE_IN_PLANE_WIDTH + 1,
};
#define KP_LOBE_BENDING_ROOM(splines)  (((splines) + KP_LOCAL) * KP_FIELD_ROW) /* doubles of one power */
#define KP_LOBE_IN_PLANE_ROOM(splines) (KP_LOBE_IN_PLANE * (splines)*KP_LOBE_IN_PLANE_ROW)
/* Fills over [nodes - 1] with N/rho. */
void kp_lobe_over(const kp_plate *plate, kp_element *over);
/* Fills bend [KP_LOBE_POWERS][KP_LOBE_BENDING_ROOM] with the bending matrices of w by powers of n^2, for the energy of
   B [(w'' + nu k)^2 + (1 - nu^2) k^2 + 2 (1 - nu) n^2 (w'/rho - w/rho^2)^2], k = w'/rho - n^2 w/rho^2. */
void kp_lobe_bending(const kp_plate *plate, const kp_element *over, double *bend);
/* Fills band [KP_LOBE_IN_PLANE_ROOM] with the Cholesky factor of u and v's stretching; held: the clamp holds u. */
void kp_lobe_in_plane_factor(const kp_plate *plate, const kp_element *over, double lobes, double membrane, bool held,
                             double *band);

/* ---- a plate with one lobe harmonic (lobed.c, lobed_tangent.c) ----------------------------------------------------

   Lift w + a cos n theta; in plane u0, (u1 cos n theta, v1 sin n theta) and (u2 cos 2n theta, v2 sin 2n theta),
   eliminated. Energies are means round the circle, as above. Unknowns x [2 splines]: w's coefficient of a spline, then
   a's, spline by spline, measured from the plate's shape at rest, which may be out of flat by an a of its own. */

/* One quadrature point's shape functions, and what the tangent is made of. */
typedef struct kp_lobed_point {
    double slope[KP_LOCAL];  /* N'            */
    double over[KP_LOCAL];   /* N/rho         */
    double radial[KP_LOCAL]; /* N' + nu N/rho */
    double hoop[KP_LOCAL];   /* N/rho + nu N' */
    double shear[KP_LOCAL];  /* N' - N/rho    */
} kp_lobed_point;

/* Strains or stresses by harmonic: radial, hoop, shear. */
enum { KP_R0, KP_T0, KP_R1, KP_T1, KP_G1, KP_R2, KP_T2, KP_G2, KP_STRAINS };

typedef double (*kp_points)[KP_GAUSS]; /* [nodes - 1] */

typedef struct kp_lobed {
    kp_plate *plate;
    int lobes;
    kp_lobed_point *point;        /* [nodes - 1][KP_GAUSS]                                     */
    kp_element *over;             /* [nodes - 1]                                               */
    kp_element *shear;            /* [nodes - 1] N\' - N/rho                                    */
    double *bend;                 /* [splines][KP_FIELD_ROW] of a, with the mean of cos^2      */
    double *factor[2];            /* of u1, v1 and of u2, v2, for membrane = 1                 */
    double out_of_flat;           /* [-] a at rest over (rho - flat_to)^2, ...                 */
    double flat_to;               /* ... which begins at this rho                              */
    kp_points rest_slope;         /* a' at rest, ...                                           */
    kp_points rest_hoop;          /* ... and n a/rho                                           */
    kp_points slope;              /* w' where the plate was last evaluated, ...                */
    kp_points lobe_slope;         /* ... a', ...                                               */
    kp_points lobe_hoop;          /* ... n a/rho, both with what they are at rest, and ...     */
    kp_points stress[KP_STRAINS]; /* ... stresses over the membrane stiffness               */
    double *in_plane[3];          /* u0; u1, v1; u2, v2 there                                  */
    double energy;                /* [-] there                                                 */
} kp_lobed;

/* Doubles of the block of one plate. */
size_t kp_lobed_room(const kp_plate *plate);
/* Doubles of kp_lobed_tangent's scratch. */
size_t kp_lobed_scratch_room(const kp_plate *plate);
/* Sets up. out_of_flat: a at rest is this times ((rho - from)/(1 - from))^2, zero inside `from`. */
void kp_lobed_prepare(kp_plate *plate, int lobes, double out_of_flat, double from, double *block, kp_lobed *out);
/* Energy at x; stresses and in-plane shape there, and unless gradient is NULL d(energy)/dx [2 splines], zero where an
   edge fixes x. */
double kp_lobed_evaluate(kp_lobed *lobed, const double *x, double *gradient);
/* Second derivatives of the energy where it was last evaluated: tangent [2 splines][stride], lower triangle. Rows and
   columns that an edge fixes are not meant to be read. */
void kp_lobed_tangent(const kp_lobed *lobed, double *scratch, size_t stride, double *tangent);

/* ---- surface stresses (lobed_surface.c): where the plate was last evaluated, at x ----------------------------------
 */

/* Angles: the crest, the valley and three between, by n theta in eighths of a turn. */
enum { KP_LOBED_ANGLES = 5 };

/* Largest stress and use over the whole circle; as kp_plate_peaks, whose stress points they are coded by. */
kp_peaks kp_lobed_peaks(const kp_lobed *lobed, const double *x, const kp_material *material, double unit,
                        bool stressed_at_rest);
/* Largest stress [Pa], its stress point and side; worst cycle, its radius [-] rho. */
double kp_lobed_peak_stress(const kp_lobed *lobed, const double *x, double unit, size_t *point, bool *piston_side);
kp_cycle kp_lobed_cycle(const kp_lobed *lobed, const double *x, const kp_material *material, double unit);
/* Stresses at one radius of the crest (angle 0) or the valley (KP_LOBED_ANGLES - 1), over the unit. */
kp_disc_stress kp_lobed_stress_at(const kp_lobed *lobed, const double *x, double rho, size_t angle);
/* Lift and lobes at rho, mean and amplitude [-]. */
void kp_lobed_lift(const kp_lobed *lobed, const double *x, double rho, double *mean, double *amplitude);

#endif
