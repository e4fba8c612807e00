/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The damper as a whole: valve, circuit, steady curve with a ledger of parts, metrics. */
#ifndef KNEEPOINT_DAMPER_H
#define KNEEPOINT_DAMPER_H

#include "kneepoint/base.h"
#include "kneepoint/lift.h"
#include "kneepoint/model.h"

/** One point of the steady curve. Signs: speed > 0 in compression; force > 0 resists compression. */
typedef struct kp_curve_point {
    kp_direction direction;
    double speed;           /* [m/s]  signed                                            */
    double force;           /* [N]    signed, all parts                                 */
    double gas_force;       /* [N]    p_g A_rod - p_atm A_rod at this position           */
    double friction_force;  /* [N]    signed                                            */
    double hydraulic_force; /* [N]    force - gas_force - friction_force: each drop times its flow, over the speed */
    double piston_drop;     /* [Pa]   >= 0                                              */
    double disc_pressure;   /* [Pa]   the drop that loads the disc                       */
    double bleed_flow, leak_flow, valve_flow; /* [m3/s] relative to the piston, >= 0 with the motion               */
    double void_flow;                         /* [m3/s] rate at which a void opens behind the piston: 0 unless it
                                                  cavitates in compression. Bleed, leak, valve and void flow sum to
                                                  |speed| x (bore area - rod area), always                       */
    double rod_void_flow;  /* [m3/s] the same in rebound, in the compression chamber, where the way back from the
                               reservoir is too narrow; else 0                                                     */
    double reservoir_flow; /* [m3/s] to or from the gas, >= 0: |speed| x rod area + void flow - rod void flow */
    double reservoir_drop; /* [Pa]   of reservoir valve or return check, and hose; 0 without a reservoir              */
    double hose_drop;      /* [Pa]   of these, the hose                                                              */
    double compression_margin, rebound_margin; /* [Pa] pressure above release in each chamber; below 0 in the one at
                                                   risk: by what is missing                                         */
    double reservoir_peak_stress;              /* [Pa]   in the reservoir's stack                          */
    bool reservoir_past_yield;
    double couette_flow;       /* [m3/s] part of leak_flow dragged by the wall, signed       */
    double seat_lift, opening; /* [m]    */
    double edge_lift;          /* [m]    */
    double peak_stress;        /* [Pa]   */
    size_t peak_line;          /* [-]    stack line that carries it                          */
    bool past_yield;
    double fatigue_use;       /* [-]    of the most strained shim, from rest to this point and back: kp_cycle.use    */
    size_t fatigue_line;      /* [-]    stack line that it is in                                                    */
    double cavitation_margin; /* [Pa]   of the chamber at risk; <= 0: gone                  */
    bool cavitates;
    double force_slope; /* [N s/m] dF/dv */
} kp_curve_point;

/** Everything prepared for one damper: lift tables of both directions and the branches. Const once built. */
typedef struct kp_damper kp_damper;

/** Builds lift tables and branches. largest_speed [m/s] > 0 says how far the tables must reach. */
kp_status kp_damper_begin(const kp_damper_data *data, double largest_speed, kp_damper **out, kp_error *error);
void kp_damper_free(kp_damper *damper);
const kp_damper_data *kp_damper_model(const kp_damper *damper);
const kp_lift_table *kp_damper_lift_table(const kp_damper *damper, kp_direction direction);
/** The same damper with other bleeds, oil, temperature, charge, position, friction; stacks and lands must be
    the same: the lift tables are shared, not solved again. The old damper must outlive the new one. */
kp_status kp_damper_variant(const kp_damper *base, const kp_damper_data *data, kp_damper **out, kp_error *error);

/** A damper of other sizes on lift tables of its caller's for the piston's two stacks (NULL: base's own; the
   reservoir's is base's): what data says of shims, clamp and dish counts only through them. tables and base must
   outlive the new damper; the tables are not extended, so a speed that they do not reach is KP_OUT_OF_RANGE at
   kp_curve_at. */
kp_status kp_damper_on_tables(const kp_damper *base, const kp_damper_data *data,
                              kp_lift_table *const tables[KP_DIRECTION_COUNT], kp_damper **out, kp_error *error);

/** One point. speed [m/s] signed, 0 < |speed| <= largest_speed. */
kp_status kp_curve_at(const kp_damper *damper, double speed, kp_curve_point *out, kp_error *error);

/** Bounds of the speed ranges the trade speaks of [m/s]; printed with every summary. */
typedef struct kp_speed_limits {
    double low;  /* low speed is below this                */
    double high; /* high speed is above this; mid is between */
    double top;  /* upper end of the high range            */
} kp_speed_limits;
kp_speed_limits kp_speed_limits_default(void);

/** How the knee is defined, in one sentence, to stand beside it in every output. */
const char *kp_knee_definition(void);

/** What the curve of one direction comes to. Knee: the speed about which the slope of force against speed falls most,
    taken from a factor sqrt(2) below to a factor sqrt(2) above it; it is called a knee only where the slope falls to
    less than half. Sought from low/20 to high on the hydraulic force as it is before any cavitation. */
typedef struct kp_curve_summary {
    bool has_knee;
    double knee_speed, knee_force;           /* [m/s] >= 0, [N] magnitude                                 */
    double low_slope, mid_slope, high_slope; /* [N s/m] mean slope of |hydraulic force| over each range    */
    double low_force, mid_force, high_force; /* [N] |force - gas - friction| at the ends low, high, top    */
    double shape_index;                      /* [-] d ln|hydraulic force| / d ln|v|, mean over the range   */
    double shape_from, shape_to;             /* [m/s] that range                                          */
    bool margin_goes;                        /* the cavitation margin is gone within the range            */
    double margin_speed;                     /* [m/s] where                                               */
    double margin_shortfall;                 /* [Pa] gas pressure missing at top, at this position; 0 when the
                                                 margin stays                                            */
    bool has_charge_needed;                  /* the margin goes, and a charge up to the maximum charge keeps it */
    double charge_needed;                    /* [Pa absolute] that charge, as the gas is charged (its own temperature,
                                                 rod fully out); 0 without has_charge_needed: only the shortfall is
                                                 stated then                                              */
    bool past_yield;
    double yield_speed;           /* [m/s] */
    bool reservoir_past_yield;    /* compression only: a shim of the reservoir's valve */
    double reservoir_yield_speed; /* [m/s] */
} kp_curve_summary;
kp_status kp_curve_summarise(const kp_damper *damper, kp_direction direction, kp_speed_limits limits,
                             kp_curve_summary *out, kp_error *error);
/** "digressive", "linear" or "progressive" for a shape index. */
const char *kp_shape_name(double shape_index);

#endif
