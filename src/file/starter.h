/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The sizes of a damper file to start from. */
#ifndef KP_FILE_STARTER_H
#define KP_FILE_STARTER_H

#include "file.h"

/** Sizes of a starter [m], and the rest in SI. */
typedef struct kp_starter_stack {
    size_t count;
    int shims[4];
    double outside[4], thickness[4];
} kp_starter_stack;

typedef struct kp_starter_valve {
    double port_area, port_inner, land_inner, land_outer, curtain, dish, washer;
    kp_starter_stack stack;
} kp_starter_valve;

typedef struct kp_starter_sizes {
    double bore, rod, stroke;
    double friction; /* [N] */
    double gas_bore, gas_depth, gas_travel;
    double clearance, band;
    int bleed_ports, bleed_plugged;
    double bleed_diameter, bleed_length;
    kp_starter_valve valves[2]; /* compression, rebound */
    /* Reservoir: scaled with the rod, whose oil it takes. */
    double reservoir_bore, needle_seat, area_per_click, hose_length, hose_bore, check_seat, check_lift;
    double rebound_needle_seat, rebound_area_per_click;
    kp_starter_valve reservoir_valve;
} kp_starter_sizes;

/** starter_sizes.c: the sizes, rounded as they will be printed. Valid: as kp_starter_write. */
void kp_starter_fill(const kp_starter *starter, kp_starter_sizes *sizes);

#endif
