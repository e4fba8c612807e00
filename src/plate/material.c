/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The material assumed where none is given. */
#include "plate/plate.h"

/* Carbon spring steel strip, hardened and tempered. Stresses raise flags that are guidance, not limits. */
static const double YOUNG = 206e9;    /* [Pa] common handbook value; handbooks give 206 to 210 GPa (from memory) */
static const double POISSON = 0.3;    /* [-] common handbook value for steel (from memory) */
static const double TENSILE = 1700e6; /* [Pa] assumed middle of the 1200 to 1900 MPa that DIN EN 10132-4:2000 gives for
                                         C75S (read second-hand) */
static const double YIELD = 1500e6;   /* [Pa] proof stress assumed for a strip of that strength */
static const double FATIGUE = 550e6;  /* [Pa] reversed bending: 600 to 700 MPa for flapper valve strip of 1900 MPa
                                         (from memory, weak), the lower value scaled to the strength above */

kp_material kp_material_spring_steel(void)
{
    return (kp_material){.young = YOUNG, .poisson = POISSON, .yield = YIELD, .tensile = TENSILE, .fatigue = FATIGUE};
}
