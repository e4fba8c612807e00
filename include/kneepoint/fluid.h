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

/** Viscosity index by ASTM D2270 from the kinematic viscosities [m2/s] at 40 and 100 degC.
    Valid: 2 mm2/s and more at 100 degC. Accuracy: 0.1 of an index at the three examples read; L and H of the standard's
    tables within 0.02 % there. Errors: KP_OUT_OF_RANGE with the numbers. Source: index.c. */
kp_status kp_viscosity_index(double viscosity_40, double viscosity_100, double *index, kp_error *error);
/** The viscosity at 100 degC that gives the index: its inverse. Errors: KP_OUT_OF_RANGE when none does. */
kp_status kp_viscosity_from_index(double viscosity_40, double index, double *viscosity_100, kp_error *error);
/** L and H [mm2/s] of the standard at a viscosity at 100 degC of 2 mm2/s or more. */
void kp_viscosity_index_bounds(double viscosity_100, double *l, double *h);

/** A grade of ISO 3448 and the generic oil of that grade. */
typedef struct kp_oil_grade {
    int grade;                  /* [-] ISO VG                                                        */
    double least, middle, most; /* [m2/s] at 40 degC                                                 */
    double index;               /* [-] of the generic oil; 0 = too thin for an index to be defined     */
    double density;             /* [kg/m3] of the generic oil at 15 degC                             */
} kp_oil_grade;
const kp_oil_grade *kp_oil_grades(size_t *count);
/** NULL when ISO 3448 has no such grade (of 2 to 100). */
const kp_oil_grade *kp_oil_grade_find(int grade);

/** Effective bulk modulus [Pa] of oil with entrained air.
    Given:    liquid [Pa] modulus of the oil alone; air [-] volume over the liquid's at atmospheric pressure (not at the
              working pressure); exponent [-] of the air, 1 to 1.4; gauge_pressure [Pa]
    Valid:    air as bubbles, none dissolving; rigid walls. Accuracy: the formula to rounding
    Status:   KP_OUT_OF_RANGE with the numbers. Source: bulk.c */
kp_status kp_oil_bulk_modulus(double liquid, double air, double exponent, double gauge_pressure, double *modulus,
                              kp_error *error);

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
