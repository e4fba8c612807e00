/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Oil and gas. Outputs are unchanged on error. */
#ifndef KNEEPOINT_FLUID_H
#define KNEEPOINT_FLUID_H

#include "kneepoint/base.h"

KP_BEGIN_DECLARATIONS

/* ---- oil ----------------------------------------------------------------------------------------------------- */

/** Oil as data: two points of kinematic viscosity, in either order, and one density. */
typedef struct kp_oil {
    double temperature_1;       /* [K] */
    double viscosity_1;         /* [m2/s] at temperature_1 */
    double temperature_2;       /* [K] */
    double viscosity_2;         /* [m2/s] at temperature_2 */
    double density;             /* [kg/m3] at density_temperature */
    double density_temperature; /* [K] */
    double expansion;           /* [1/K] cubical, against the volume at density_temperature */
} kp_oil;

/** Kinematic viscosity by ASTM D341 through the oil's two points.
    Given:    oil, temperature [K]
    Returned: viscosity [m2/s]
    Valid:    0.21 mm2/s and up, wherever the oil is a plain liquid
    Accuracy: the given points to 1e-13; worked example 8.5 mm2/s to its last digit; a real oil some per cent between
              its points, worse outside
    Errors:   KP_OUT_OF_RANGE with the numbers
    Source:   ASTM D341, see oil.c */
KP_API kp_status kp_oil_viscosity(const kp_oil *oil, double temperature, double *viscosity, kp_error *error);

/** Density from one value and the cubical expansion: rho_0/(1 + beta (T - T_0)).
    Given:    oil, temperature [K]
    Returned: density [kg/m3] at atmospheric pressure (compression by 10 MPa adds about 0.6 %, left out)
    Valid:    constant beta; 1 + beta (T - T_0) > 0
    Accuracy: exact for constant beta
    Errors:   KP_OUT_OF_RANGE with the numbers
    Source:   definition of cubical expansion */
KP_API kp_status kp_oil_density(const kp_oil *oil, double temperature, double *density, kp_error *error);

/** Viscosity index by ASTM D2270.
    Given:    kinematic viscosities [m2/s] at 40 and at 100 degC
    Returned: index [-]
    Valid:    2 to 500 mm2/s at 100 degC
    Accuracy: 0.1 of an index at the three examples read; L and H of the standard's tables within 0.02 % there
    Errors:   KP_OUT_OF_RANGE with the numbers
    Source:   ASTM D2270, see index.c */
KP_API kp_status kp_viscosity_index(double viscosity_40, double viscosity_100, double *index, kp_error *error);
/** Inverse of kp_viscosity_index: the viscosity at 100 degC [m2/s] that gives the index [-].
    Valid:    up to an index of 400
    Accuracy: rounding
    Errors:   KP_OUT_OF_RANGE when no viscosity gives it */
KP_API kp_status kp_viscosity_from_index(double viscosity_40, double index, double *viscosity_100, kp_error *error);
/** L and H [mm2/s] of ASTM D2270 at a viscosity at 100 degC [m2/s]. Valid: 2 mm2/s and more. */
KP_API void kp_viscosity_index_bounds(double viscosity_100, double *l, double *h);

/** A grade of ISO 3448 and the generic oil of that grade. */
typedef struct kp_oil_grade {
    int grade;      /* [-] ISO VG */
    double min;     /* [m2/s] lower limit at 40 degC */
    double middle;  /* [m2/s] at 40 degC */
    double max;     /* [m2/s] upper limit at 40 degC */
    double index;   /* [-] viscosity index of the generic oil; 0: so thin that none is defined */
    double density; /* [kg/m3] of the generic oil at 15 degC */
} kp_oil_grade;
/** The grades 2 to 100 in rising order; count [-]. Source: see index.c. */
KP_API const kp_oil_grade *kp_oil_grades(size_t *count);
/** The grade of that number; NULL when ISO 3448 has none (of 2 to 100). */
KP_API const kp_oil_grade *kp_oil_grade_find(int grade);

/** Effective bulk modulus of oil with entrained air, for strokes in the time domain.
    Given:    liquid [Pa], modulus of the oil alone; air [-], volume over the liquid's at atmospheric pressure (not at
              the working pressure); exponent [-] of the air, 1 to 1.4; gauge_pressure [Pa]
    Returned: modulus [Pa]
    Valid:    air as bubbles, none dissolving; rigid walls
    Accuracy: the formula to rounding
    Errors:   KP_OUT_OF_RANGE with the numbers
    Source:   definition of the modulus, see bulk.c */
KP_API kp_status kp_oil_bulk_modulus(double liquid, double air, double exponent, double gauge_pressure, double *modulus,
                                     kp_error *error);

/* ---- gas ----------------------------------------------------------------------------------------------------- */

/** Gas charge as data: polytropic, p V^n = const. */
typedef struct kp_gas {
    double charge_pressure;    /* [Pa] absolute, at charge_temperature, rod fully out */
    double charge_temperature; /* [K] */
    double volume;             /* [m3] at that state */
    double exponent;           /* [-] 1 (slow) to 1.4 (fast) */
} kp_gas;

/** Gas pressure with some rod in the oil: p0 (T/T0) (V0/(V0 - rod_volume))^n.
    Given:    gas; rod_volume [m3] >= 0; temperature [K] of the gas before the rod comes in
    Returned: pressure [Pa absolute]
    Valid:    rod_volume < V0. The oil's own expansion is not in it (0.9 L of oil, +60 K takes about 45 cm3): the caller
              adds it to rod_volume
    Accuracy: the ideal gas; against the reference equation of nitrogen 0.04 % isothermal, 0.4 % isentropic at 1.2 times
              compression
    Errors:   KP_OUT_OF_RANGE, KP_NOT_FINITE, with the numbers
    Source:   polytropic gas, any text; gas.c */
KP_API kp_status kp_gas_pressure(const kp_gas *gas, double rod_volume, double temperature, double *pressure,
                                 kp_error *error);

KP_END_DECLARATIONS

#endif
