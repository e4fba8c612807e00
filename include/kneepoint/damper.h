/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The damper as a whole: steady force against speed with a ledger of its parts, and what a curve comes to.

    In use: kp_damper_begin once, kp_curve_at for each speed, kp_curve_summarise for each direction, kp_damper_free.
    Outputs are unchanged on error. A prepared damper is const: threads may read one and the same. */
#ifndef KNEEPOINT_DAMPER_H
#define KNEEPOINT_DAMPER_H

#include "kneepoint/base.h"
#include "kneepoint/lift.h"
#include "kneepoint/model.h"

KP_BEGIN_DECLARATIONS

/** Everything prepared for one damper: lift tables of both directions and the branches. */
typedef struct kp_damper kp_damper;

/** Prepares a damper: solves its stacks and builds its branches.
    Given:    data that kp_damper_validate finds no fault in; largest_speed [m/s] > 0: how far the lift tables reach
    Returned: damper; free it with kp_damper_free
    Valid:    monotube, with or without a reservoir; steady flow
    Accuracy: see kp_curve_at
    Errors:   KP_OUT_OF_RANGE with the number that is wrong; KP_NO_SOLUTION with the shim and the load; KP_NO_MEMORY */
KP_API kp_status kp_damper_begin(const kp_damper_data *data, double largest_speed, kp_damper **out, kp_error *error);
/** Given: a damper, or NULL. */
KP_API void kp_damper_free(kp_damper *damper);

/* ---- one point ---- */

/** One point of the steady curve. Signs: speed > 0 in compression; force > 0 resists compression. */
typedef struct kp_curve_point {
    kp_direction direction;
    double speed; /* [m/s] signed */

    /* Forces on the shaft. */
    double force;           /* [N] signed, the sum of the next three */
    double gas_force;       /* [N] (gas pressure - atmosphere) x rod area at this position */
    double friction_force;  /* [N] signed */
    double hydraulic_force; /* [N] signed: each drop times its flow, over the speed */
    double damping_force;   /* [N] signed: hydraulic and friction, gas left out */
    double force_slope;     /* [N s/m] dF/dv */

    /* Drops. */
    double piston_drop;    /* [Pa] >= 0 */
    double disc_pressure;  /* [Pa] the part of it that loads the disc */
    double reservoir_drop; /* [Pa] of reservoir valve or return check, and hose; 0 without a reservoir */
    double hose_drop;      /* [Pa] the hose's part of it */

    /* Flows relative to the piston, >= 0 with the motion. Bleed, leak, valve and void flow sum to
       |speed| x (bore area - rod area). */
    double bleed_flow;   /* [m3/s] */
    double leak_flow;    /* [m3/s] */
    double couette_flow; /* [m3/s] the part of leak_flow that the wall drags */
    double valve_flow;   /* [m3/s] */
    double void_flow;    /* [m3/s] rate at which a void opens behind the piston: 0 unless it cavitates in compression */

    /* To or from the gas, >= 0: |speed| x rod area + void flow - rod void flow. */
    double reservoir_flow; /* [m3/s] */
    double rod_void_flow; /* [m3/s] rate at which a void opens in the compression chamber in rebound, where the way back
                             from the reservoir is too narrow; else 0 */

    /* Shims of the piston's valve. */
    double seat_lift;    /* [m] at the seat */
    double opening;      /* [m] of the gap that the oil passes */
    double edge_lift;    /* [m] at the outer edge */
    double peak_stress;  /* [Pa] */
    size_t peak_line;    /* [-] stack line that carries it */
    bool past_yield;     /* a shim has yielded */
    double fatigue_use;  /* [-] of the most strained shim, from rest to this point and back: kp_cycle.use */
    size_t fatigue_line; /* [-] stack line of that shim */

    /* Shims of the reservoir's valve. */
    double reservoir_peak_stress; /* [Pa] */
    bool reservoir_past_yield;    /* compression only */

    /* Pressure above the one at which air leaves the oil; in the chamber at risk below 0 by what is missing. */
    double compression_margin; /* [Pa] of the compression chamber */
    double rebound_margin;     /* [Pa] of the rebound chamber */
    double cavitation_margin;  /* [Pa] of the chamber at risk; where a drop of more than 150 MPa would be needed, the
                                  most that it could be */
    bool cavitates;            /* cavitation_margin <= 0 */
} kp_curve_point;

/** Force on the shaft at one speed, with the ledger of its parts.
    Given:    prepared damper; speed [m/s] signed, 0 < |speed| <= largest speed
    Returned: point. force_slope is dF/dv by implicit differentiation, exact to rounding wherever the slope of the lift
              table is; flows at each chamber sum to 1e-12
    Valid:    steady flow. The force of a cavitating point is that at this position while the void opens
    Accuracy: an uncalibrated estimate. The arithmetic is exact to rounding but for the interpolation of the lift table
              (0.1 %); the port's coefficient is an input, the curtain's and the load that its
              flow leaves on the disc are computed (own error 8 and 6 %) unless given
    Errors:   KP_OUT_OF_RANGE (speed); KP_NO_SOLUTION; KP_NOT_FINITE
    Source:   continuity and equilibrium, derived at the head of src/damper/curve.c; branches cite their own */
KP_API kp_status kp_curve_at(const kp_damper *damper, double speed, kp_curve_point *out, kp_error *error);

/* ---- whether it is sound ---- */

/** What makes a point, or a damper, one that is not to be driven; bits of a set. Too little travel is none of them: a
    damper whose divider has not the travel for its rod is a fault in its data, and has no curve. */
typedef enum kp_risk {
    KP_RISK_YIELD = 1,           /* a shim of the piston would set or break */
    KP_RISK_RESERVOIR_YIELD = 2, /* a shim of the reservoir's valve would */
    KP_RISK_CAVITATION = 4       /* air leaves the oil in either chamber */
} kp_risk;

/** Returned: the risks of a point, kp_risk bits; 0 is sound. All that marks, warns or refuses goes by this. */
KP_API unsigned kp_point_risks(const kp_curve_point *point);
/** Returned: "" for 0, "a shim would set or break", "it cavitates" and so on, several joined by a comma. */
KP_API const char *kp_risk_words(unsigned risks);

/* ---- the curve of one direction ---- */

/** Bounds of the low, mid and high speed ranges; printed with every summary. */
typedef struct kp_speed_limits {
    double low;  /* [m/s] low speed is below this */
    double high; /* [m/s] high speed is above this, mid speed between the two */
    double top;  /* [m/s] upper end of the high range */
} kp_speed_limits;
/** Returned: 0.13, 0.52 and 1.05 m/s. Source: common practice. */
KP_API kp_speed_limits kp_speed_limits_default(void);

/** What the curve of one direction comes to. Knee: the speed about which the slope of force against speed falls most,
    taken from a factor sqrt(2) below to a factor sqrt(2) above it; it is called a knee only where the slope falls to
    less than half. Sought from low/20 to high on the hydraulic force as it would be without cavitation. */
typedef struct kp_curve_summary {
    bool has_knee;
    double knee_speed; /* [m/s] >= 0; with has_knee */
    double knee_force; /* [N] magnitude; with has_knee */

    /* |hydraulic force|. */
    double low_slope, mid_slope, high_slope; /* [N s/m] mean over each range */
    double low_force, mid_force, high_force; /* [N] at the ends low, high, top */
    double shape_index;                      /* [-] d ln(force)/d ln(speed), mean over the range below */
    double shape_from, shape_to;             /* [m/s] */

    bool margin_goes;        /* the cavitation margin is gone somewhere up to top */
    double margin_speed;     /* [m/s] where it is first gone; with margin_goes */
    double margin_shortfall; /* [Pa] gas pressure missing at this position; 0 when the margin stays */
    bool has_charge_needed;  /* the margin goes, and a charge up to the maximum charge keeps it */
    double charge_needed;    /* [Pa absolute] that charge, as the gas is charged (its own temperature, rod fully out);
                                with has_charge_needed: else only the shortfall is known */

    bool past_yield;              /* a shim yields somewhere up to top */
    double yield_speed;           /* [m/s] with past_yield */
    bool reservoir_past_yield;    /* compression only: a shim of the reservoir's valve */
    double reservoir_yield_speed; /* [m/s] with reservoir_past_yield */
} kp_curve_summary;

/** Given:    prepared damper; direction; limits with 0 < low < high < top <= largest speed
    Returned: the summary. Forces and slopes are those of the curve as it is (a cavitating one stands still). Low slope:
              force at low over low. Shape index: ln(force ratio)/ln(speed ratio) from low to top
    Errors:   KP_OUT_OF_RANGE (limits), and as kp_curve_at */
KP_API kp_status kp_curve_summarise(const kp_damper *damper, kp_direction direction, kp_speed_limits limits,
                                    kp_curve_summary *out, kp_error *error);

/** Returned: the risks met somewhere up to the top, kp_risk bits. */
KP_API unsigned kp_summary_risks(const kp_curve_summary *summary);
/** Returned: how the knee is defined, in one sentence to go with it in every output. */
KP_API const char *kp_knee_definition(void);
/** Given:    shape index [-]
    Returned: "digressive" (below 0.75), "slightly digressive" (below 0.9), "linear" (to 1.1) or "progressive". The word
              is to stand with the index and its range. Source: common practice for 0.9 and 1.1; 0.75 is ours: there the
              slope over the range has fallen by half, over a factor of 8 in speed */
KP_API const char *kp_shape_name(double shape_index);

/* ---- other ways to a damper, and what is in one ---- */

/** The same damper with other bleeds, adjusters, oil, temperature, charge, position or friction.
    Given:    base, which must outlive the new damper; data with the same stacks, clamps and lands
    Returned: a damper that reads base's lift tables; where one does not reach far enough (a much smaller bleed), that
              direction is solved anew
    Errors:   KP_OUT_OF_RANGE when a stack, clamp or land differs; as kp_damper_begin */
KP_API kp_status kp_damper_variant(const kp_damper *base, const kp_damper_data *data, kp_damper **out, kp_error *error);

/** A damper of other sizes on lift tables that the caller has.
    Given:    base and tables [KP_DIRECTION_COUNT], which must outlive the new damper; a NULL table is base's own. The
              reservoir's table is base's. What data holds of shims, clamp and dish counts only through the tables
    Returned: a damper for speeds up to base's. The tables are not extended: a speed that they do not reach is
              KP_OUT_OF_RANGE at kp_curve_at
    Errors:   KP_OUT_OF_RANGE for a coarse table or a reservoir valve that only one of the two has; as kp_damper_begin
 */
KP_API kp_status kp_damper_on_tables(const kp_damper *base, const kp_damper_data *data,
                                     kp_lift_table *const tables[KP_DIRECTION_COUNT], kp_damper **out, kp_error *error);

/** Returned: the damper's own copy of its data. */
KP_API const kp_damper_data *kp_damper_model(const kp_damper *damper);
/** Returned: the lift table of one direction; the damper keeps it. */
KP_API const kp_lift_table *kp_damper_lift_table(const kp_damper *damper, kp_direction direction);

KP_END_DECLARATIONS

#endif
