/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Private to src/stack: the stack with one lobe harmonic. Its unknowns are each plate's w and a (plate/plate.h), one
   plate after another; its gaps are those of the workspace, each at the crest and in the valley of the lobes, between
   which no gap is smaller, since both faces' lifts run as cos n theta. */
#ifndef KNEEPOINT_STACK_LOBED_H
#define KNEEPOINT_STACK_LOBED_H

#include "stack/stack_internal.h"

enum { KP_CREST = 0, KP_VALLEY = 1, KP_ANGLES = 2 };

/* A solution that others are predicted from. */
typedef struct kp_lobed_past {
    double pressure; /* [-] */
    kp_seat seat;
    double *x, *rate;   /* [unknowns] */
    double *multiplier; /* [2][gaps]  */
} kp_lobed_past;
enum { KP_LOBED_PAST = 16, KP_LOBED_NEITHER = -1 };

typedef struct kp_lobed_stack {
    int lobes;
    size_t unknowns;  /*     of x                                                            */
    size_t size;      /*     of them that no edge fixes                                      */
    size_t *at;       /*     [plates] a plate's first unknown in x                           */
    size_t *free_at;  /*     [plates] its first free one, among the free ones                */
    size_t *fixed;    /*     [plates] its fixed ones, which come first in x                  */
    size_t *couples;  /*     [plates] the free unknown that its rows of the tangent begin at */
    size_t *row;      /*     [size + 1] where a row of the tangent begins in matrix          */
    kp_lobed *plates; /*     [plates]                                                        */

    double *x;                            /*     [unknowns] the state                       */
    double *trial;                        /*     [unknowns] of the line search              */
    double *step;                         /*     [unknowns] Newton step                     */
    double *last_x;                       /*     [unknowns] the last solution               */
    double *rate;                         /*     [unknowns] change of x with pressure       */
    double *load;                         /*     [unknowns] work of unit pressure           */
    double *mass;                         /*     [unknowns] integral of each spline         */
    double *gradient;                     /*     [unknowns] of the energy                   */
    double *matrix;                       /*     tangent, row by row from where it begins to the diagonal */
    double *plate_matrix;                 /* the plates' part of it                     */
    double *rhs;                          /*     [size + KP_SKYLINE_MORE]                   */
    double *plate_rhs;                    /*    [size]                                     */
    double *so_far, *residual, *balanced; /* [size] of the step   */
    size_t *begin;                        /*     [size] where a row begins                  */
    double *scratch;                      /*     of kp_lobed_tangent                        */
    double *tangent;                      /*     [2 splines][2 splines, rounded up]         */
    kp_skyline factor;

    kp_two_block_row *rows;  /* [2][gaps] gradients of the gaps, on crest's or valley's lifts */
    double *lifts;           /* [2][splines of all plates] crest's, then valley's             */
    double *value;           /* [2][gaps] gaps ...                                            */
    double *multiplier;      /* [2][gaps] ... and contact forces                              */
    double *last_multiplier; /* [2][gaps] of the last solution                               */
    double *expected;        /* [2][gaps] gaps after the step                                 */
    double *reached;         /* [2][gaps] and after the step so far                           */
    bool *bears;             /* [2][gaps] contacts in the set of the last step                */
    bool *factored;          /* [2][gaps] ... and in that of the factors                      */
    double first_penalty;    /* [-] stiffness of a closed gap, at first ...                   */
    double penalty;          /* [-] ... and now                                               */
    double pressure;         /* [-] scaled, of x                                              */
    double energy;           /* [-] of x                                                      */
    kp_seat seat;            /* of x */
    size_t past_count, next_past;
    kp_lobed_past past[KP_LOBED_PAST];
    bool solved;
    int evaluated; /* kp_stack_shape that the plates were evaluated at last, or KP_LOBED_NEITHER */
} kp_lobed_stack;

/* Sets up for a number of lobes. */
kp_status kp_lobed_begin(kp_stack_workspace *workspace, int lobes, kp_error *error);
void kp_lobed_free(kp_stack_workspace *workspace);
/* Makes the state that of the workspace's round solution. */
void kp_lobed_from_round(kp_stack_workspace *workspace);
/* Equilibrium at a scaled pressure, from the state; in several load steps where one does not reach it. */
bool kp_lobed_path(kp_stack_workspace *workspace, double pressure);
/* Fills rows, value and lifts at x. */
void kp_lobed_gaps(kp_stack_workspace *workspace, const double *x);

/* [-] Change of the mean seat lift with another load on the face shim's mean lift, laid out as a plate's. */
double kp_lobed_seat_rate_of(kp_stack_workspace *workspace, const double *load);
/* Gaps after a step, by the rows. */
void kp_lobed_gap_steps(kp_stack_workspace *workspace, const double *step, double *value);

/* kp_stack_imbalance of a solution with lobes. */
double kp_lobed_imbalance(kp_stack_workspace *workspace);
/* trial = x + a step of scaled pressure along its rate. */
void kp_lobed_trial_along_rate(kp_stack_workspace *workspace, double scaled_step);

/* ---- reading the state (lobed_result.c) ---- */

/* Mean lift and amplitude of the lobes of the face shim's lower face at the land's inner edge [-]; of the trial its
   middle surface's. */
void kp_lobed_seat_lift(const kp_stack_workspace *workspace, double *mean, double *amplitude);
/* [-] their change with scaled pressure. */
void kp_lobed_seat_rate(const kp_stack_workspace *workspace, double *mean, double *amplitude);
/* A gap's change with scaled pressure, at the crest or in the valley. */
double kp_lobed_gap_rate(const kp_stack_workspace *workspace, size_t gap, int angle);
/* [-] seat force over the unit of forces, and its change with scaled pressure. */
double kp_lobed_seat_force(const kp_stack_workspace *workspace);
double kp_lobed_seat_force_rate(kp_stack_workspace *workspace);
/* Lift of a plate at rho [-], mean and amplitude. */
void kp_lobed_plate_lift(const kp_stack_workspace *workspace, const kp_plate *plate, kp_stack_shape shape, double rho,
                         double *mean, double *amplitude);
/* The plate's part, evaluated at the state or the trial, and its x. */
const kp_lobed *kp_lobed_at(kp_stack_workspace *workspace, const kp_plate *plate, kp_stack_shape shape,
                            const double **x);

#endif
