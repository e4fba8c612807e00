/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Oil and gas. */
#ifndef KNEEPOINT_FLUID_H
#define KNEEPOINT_FLUID_H

#include "kneepoint/base.h"

/** Oil as data. Viscosity by ASTM D341 from two points. */
typedef struct kp_oil {
    double temperature_1, viscosity_1; /* [K], [m2/s] */
    double temperature_2, viscosity_2; /* [K], [m2/s] */
    double density;                    /* [kg/m3] at density_temperature */
    double density_temperature;        /* [K]  */
    double expansion;                  /* [1/K] cubical */
} kp_oil;

/** Kinematic viscosity [m2/s] at a temperature [K]. */
kp_status kp_oil_viscosity(const kp_oil *oil, double temperature, double *viscosity, kp_error *error);
/** Density [kg/m3] at a temperature [K]. */
kp_status kp_oil_density(const kp_oil *oil, double temperature, double *density, kp_error *error);

/** Gas charge as data: polytropic, p V^n = const. All pressures absolute. */
typedef struct kp_gas {
    double charge_pressure;    /* [Pa] absolute, at charge_temperature, rod fully out */
    double charge_temperature; /* [K]  */
    double volume;             /* [m3] at that state */
    double exponent;           /* [-]  1 to 1.4 */
} kp_gas;

/** Gas pressure [Pa absolute] with rod_volume [m3] of rod in the oil, at a temperature [K]. */
kp_status kp_gas_pressure(const kp_gas *gas, double rod_volume, double temperature, double *pressure, kp_error *error);

#endif
