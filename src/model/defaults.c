/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Every default of a damper, each with its standing:
    read:     seen in the source named, or, where "as restated" follows, in another text that restates it;
    memory:   recalled, not looked up;
    computed: by computations of this project, not measured;
    assumed:  our choice, with its reason; a calibration against a measured run may change it. */
#include "kneepoint/model.h"

#include <string.h>

/* [-] Port: assumed. Between a sharp edge, pi/(pi+2) = 0.611 (read: Rabie, Fluid Power Engineering, 2009, eq. 2.39,
   citing Merritt 1967), and a drilled tube of two diameters' length, 0.81 (read: formula of Lichtarowicz, Duggins and
   Markland, J. Mech. Eng. Sci. 7(2), 1965, as restated). */
static const double PORT_DISCHARGE = 0.70;

/* [-] Scales on the curtain's discharge coefficient and on the flow force: 1, as computed (src/flow/curtain.c: fitted
   to computational fluid dynamics of this project, whose own error is 8 % in the coefficient and 6 % in the load). */
static const double CURTAIN_SCALE = 1.0;
static const double FLOW_FORCE_SCALE = 1.0;

/* [-] Share of the port's exit velocity head that loads the disc: computed, as the curtain, with a recess of 1 mm depth
   behind the land; between 0 (the jet is spent in the recess) and 1 (it stagnates on the shim). */
static const double VELOCITY_HEAD_SHARE = 0.5;

/* [-] Coverages: assumed 1, ports that open into a full groove behind an unbroken land. */
static const double LOAD_COVERAGE = 1.0;
static const double CURTAIN_COVERAGE = 1.0;

/* [m] Out-of-flat of a face shim at rest, peak to valley at its rim: assumed, a good stamped or ground shim; 0.03 mm is
   a poor one. No standard for shims was found. */
static const double FLATNESS = 0.01e-3;

/* [1/K] Cubical expansion of oil: read, 0.00046 per degF for the oil of MIL-H-5606 in a table of hydraulic fluids.
 */
static const double OIL_EXPANSION = 8.3e-4;

/* [-] Friction of the clamped faces: assumed 0.12, the middle of 0.1 to 0.15 for oiled steel on steel (memory). It only
   counts with a sliding grip and a nut load. */
static const double NUT_FRICTION = 0.12;

/* [K] Temperature at which a density without one is meant: memory, 15 degC, the reference of petroleum measurement
   (ISO 12185, ASTM D1298). */
static const double DENSITY_TEMPERATURE = 288.15;

/* [K] Temperature of the oil for the curve: assumed, 40 degC, a damper warmed up by hand or on a dyno; it is also the
   temperature at which oil grades are defined (ISO 3448, read as restated). */
static const double OIL_TEMPERATURE = 313.15;

/* [K] Temperature of a charge that does not state its own: assumed, 20 degC, a workshop. The reader warns. */
static const double CHARGE_TEMPERATURE = 293.15;

/* [-] Gas exponent: assumed 1. A steady curve holds the rod at one position, so the gas has had time to reach the oil's
   temperature; 1 is also the value that predicts the smallest cavitation margin. */
static const double GAS_EXPONENT = 1.0;

/* [Pa absolute] Air comes out of the oil below this: assumed, the standard atmosphere. Oil filled in the open is
   saturated with air at that pressure (Henry's law); release takes time, so this errs on the safe side. */
static const double RELEASE_PRESSURE = KP_ATMOSPHERE;
/* [Pa absolute] For a damper open to the air: assumed, no source; the reader warns. */
static const double OPEN_RELEASE_PRESSURE = 0.3e5;

/* [-] Hole of a shim, of the diameter that clamps it: assumed, a 12 mm shim under an 18 mm washer. */
static const double HOLE_IN_CLAMP = 2.0 / 3.0;

double kp_assumed_hole(double clamp)
{
    return HOLE_IN_CLAMP * clamp;
}

void kp_damper_defaults(kp_damper_data *damper)
{
    memset(damper, 0, sizeof *damper); /* 0: no bleed, no leak (tight), no friction, flat seat, no stop, no nut load */

    /* Oil and gas. */
    damper->oil.expansion = OIL_EXPANSION;
    damper->oil.density_temperature = DENSITY_TEMPERATURE;
    damper->gas.charge_temperature = CHARGE_TEMPERATURE;
    damper->gas.exponent = GAS_EXPONENT;
    damper->release_pressure = RELEASE_PRESSURE;
    damper->oil_temperature = OIL_TEMPERATURE;
    damper->fill_temperature = CHARGE_TEMPERATURE;

    for (int i = 0; i < KP_VALVE_COUNT; i++) {
        kp_valve_data *valve = &damper->valves[i];
        valve->port_discharge = PORT_DISCHARGE;
        valve->curtain_scale = CURTAIN_SCALE;
        valve->flow_force_scale = FLOW_FORCE_SCALE;
        valve->velocity_head_share = VELOCITY_HEAD_SHARE;
        valve->load_coverage = LOAD_COVERAGE;
        valve->curtain_coverage = CURTAIN_COVERAGE;
        valve->flatness = FLATNESS;
        valve->grip = KP_GRIP_HELD;
        valve->nut_friction = NUT_FRICTION;
    }
}

double kp_open_release_pressure(void)
{
    return OPEN_RELEASE_PRESSURE;
}
