/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kneepoint/disc.h"

/* Young's modulus and Poisson's ratio: DESIGN value for carbon spring strip, 206 GPa and 0.3; 206 to 210 GPa is the
   range recalled for carbon spring strip (from memory).
   Yield: hardened and tempered C75S is sold at 1200 to 1900 MPa tensile strength (read, supplier's table after
   DIN EN 10132-4:2000). The proof stress of a shim is not printed there; 1500 MPa is our assumption for a shim of
   middle strength, so a flag raised by it is guidance and not a limit. */
kp_material kp_material_spring_steel(void)
{
    return (kp_material){.young = 206e9, .poisson = 0.3, .yield = 1500e6};
}
