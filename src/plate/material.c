/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plate/plate.h"

/* Young's modulus and Poisson's ratio: DESIGN value for carbon spring strip,
   206 GPa and 0.3; 206 to 210 GPa is the range recalled for carbon spring strip
   (from memory). Strength: hardened and tempered C75S is sold at 1200 to 1900
   MPa tensile strength (read, a supplier's table after DIN EN 10132-4:2000);
   1700 MPa and a proof stress of 1500 MPa are our assumption for a shim of
   middle strength. Fatigue: 600 to 700 MPa in reversed bending for carbon
   flapper strip of 1900 MPa (from memory, weak); 550 MPa scales the lower value
   to 1700 MPa. Flags raised by these are guidance, not limits. */
kp_material kp_material_spring_steel(void)
{
    return (kp_material){.young = 206e9, .poisson = 0.3, .yield = 1500e6, .tensile = 1700e6, .fatigue = 550e6};
}
