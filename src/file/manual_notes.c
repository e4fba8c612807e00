/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What the manual says of each key beside its meaning: an example, what holds without it, and how to measure it. The
    examples are those of one invented damper of a rescue van, so that several of them together make a file. Standings:
    read, memory and assumed, as in src/model/defaults.c. */
#include "manual.h"

#include <string.h>

/* Context is the table's name in keys.c without `_list`. No example: it is made of those of the keys that the block
   needs. */
static const kp_key_note notes[] = {
    {"damper.format", "1", "1", "", "Write 1."},
    {"damper.based on", "van-rear.yaml", "van-rear.yaml", "a file of its own",
     "Write the name of the file that this one changes."},
    {"damper.name", "Rescue van, rear", "Rescue van, rear", "", "Write what is stamped on the body, and the date."},
    {"damper.units", "metric", "inch", "those of KNEEPOINT_UNITS, else metric", "Choose what you think in."},
    {"damper.friction", "60 N", "13 lbf", "0 N, with a warning",
     "Without gas and oil, pull the rod slowly with a spring balance."},
    {"damper.temperature", "40 degC", "104 degF", "assumed: a damper warmed up by hand or on a dyno",
     "Hold a contact thermometer to the body after a run."},
    {"damper.position", "125 mm", "5 in", "mid-stroke", "Measure at ride height how far the rod is in."},
    {"body.bore", "63.5 mm", "2.5 in", "", "Measure inside the body with calipers or a bore gauge, in two directions."},
    {"body.rod", "22 mm", "7/8 in", "", "Measure with calipers on the bright part of the rod."},
    {"body.stroke", "250 mm", "10 in", "",
     "Measure the rod fully out, then fully in; the difference, without the bump stop."},
    {"oil.viscosity", "{40 degC: 15 mm2/s, 100 degC: 3.8 mm2/s}", "{104 degF: 15 cSt, 212 degF: 3.8 cSt}", "",
     "Copy both from the oil's data sheet."},
    {"oil.grade", "ISO VG 15", "ISO VG 15", "two viscosities", "Copy it from the oil's label."},
    {"oil.viscosity index", "150", "150", "assumed: that of a generic oil of the grade, with a warning",
     "Copy it from the oil's data sheet."},
    {"oil.density", "860 kg/m3", "53.7 lb/ft3", "with a grade: assumed, a generic oil of the grade, with a warning",
     "Weigh 100 mL of oil: 86 g is 860 kg/m3."},
    {"oil.volume", "0.9 L", "55 in3", "its expansion takes no gas volume",
     "Weigh the oil that comes out, and divide by its density."},
    {"oil.fill temperature", "20 degC", "68 degF", "that of the charge",
     "Read a thermometer in the oil as the gas is charged."},
    {"oil.range", "{from: -30 degC, to: 110 degC}", "{from: -22 degF, to: 230 degF}", "not checked",
     "Copy it from the oil's data sheet."},
    {"oil.expansion", "8.3e-4 1/K", "4.6e-4 1/degF", "read: oil of MIL-H-5606 in a table of hydraulic fluids",
     "Copy it from the oil's data sheet."},
    {"oil.release pressure", "1 bar absolute", "14.7 psi absolute",
     "assumed: the standard atmosphere, on the safe side; with `gas: open` 0.3 bar absolute, with a warning",
     "It is not measured in a workshop."},
    {"range.from", "-30 degC", "-22 degF", "", "Copy it from the oil's data sheet."},
    {"range.to", "110 degC", "230 degF", "", "Copy it from the oil's data sheet."},
    {"gas.charge", "14 bar gauge at 20 degC", "200 psi gauge at 68 degF", "",
     "Read the gauge with the damper cold and the rod fully out. Copy the pressure from the maker's sheet."},
    {"gas.maximum charge", "20 bar gauge", "290 psi gauge", "no limit is known", "Copy it from the maker's sheet."},
    {"gas.volume", "350 cm3", "21 in3", "it follows from the divider",
     "Fill the empty gas side with oil from a measuring cylinder, or give a divider instead."},
    {"gas.divider", "{bore: 60 mm, depth: 124 mm, travel: 70 mm}", "{bore: 2.4 in, depth: 4.9 in, travel: 2.8 in}",
     "a gas volume", "Give it for a floating piston or a bladder."},
    {"gas.exponent", "1", "1", "assumed: gas as warm as the oil, rod held still",
     "It is not measured: 1 is slow, 1.4 is fast."},
    {"divider.bore", "60 mm", "2.4 in", "assumed: the bore of the reservoir, else of the body; with a warning",
     "Measure inside what it slides in with calipers."},
    {"divider.depth", "124 mm", "4.9 in", "",
     "Set the floating piston as for charging; measure from it to the end of the gas side."},
    {"divider.travel", "70 mm", "2.8 in", "assumed: nine tenths of the depth; with a warning",
     "Measure from there to where the piston would touch the end of the gas side."},
    {"divider.travel out", "30 mm", "1.2 in", "not checked",
     "Measure how far it could go the other way before it touches."},
    {"leak.clearance", "0.02 mm", "0.8 thou", "",
     "Halve the difference of bore and band, or find the thickest feeler gauge that goes in."},
    {"leak.length", "8 mm", "0.31 in", "", "Measure the band along the bore with calipers."},
    {"leak.eccentricity", "0.5", "0.5", "0: centred", "It is not measured: 0 is centred, 1 touches."},
    {"plate.preload", "80 N", "18 lbf", "", "Press the plate on a scale until it just opens."},
    {"plate.rate", "40 N/mm", "230 lbf/in", "", "Press the spring on a scale by 1 mm; read the change of force."},
    {"plate.lift", "2 mm", "0.08 in", "",
     "Measure with the depth rod of the calipers from the closed plate to its stop."},
    {"check.seat", "14 mm", "0.55 in", "", "Measure the mark that the seat leaves on the plate."},
    {"check.preload", "2 N", "0.45 lbf", "", "Press the plate on a scale until it just opens."},
    {"check.rate", "1 N/mm", "5.7 lbf/in", "", "Press the spring on a scale by 1 mm; read the change of force."},
    {"check.lift", "2 mm", "0.08 in", "",
     "Measure with the depth rod of the calipers from the closed plate to its stop."},
    {"adjuster.clicks", "8", "8", "", "Count the clicks as you close it, then set it back."},
    {"adjuster.most clicks", "20", "20", "", "Count the clicks from closed to fully open."},
    {"adjuster.seat", "4 mm", "0.157 in", "", "Find the drill shank that just fits the seat."},
    {"adjuster.areas", "{0: 0 mm2, 10: 1.5 mm2, 20: 5 mm2}", "{0: 0 in2, 10: 0.0023 in2, 20: 0.0078 in2}",
     "an area per click", "Measure needle and seat, and work out the ring between them at each click."},
    {"adjuster.area per click", "0.3 mm2", "0.0005 in2", "0 mm2", "Divide the open area of the needle by the clicks."},
    {"adjuster.closed area", "0.1 mm2", "0.00016 in2", "0 mm2: tight when closed",
     "Work it out from the play of the closed needle."},
    {"adjuster.flows", "both", "both", "both", "Look for a check valve in its passage."},
    {"adjuster.discharge coefficient", "0.7", "0.7", "that of a sharp edge in the seat's bore",
     "It is not measured in a workshop."},
    {"bleed.ports", "6", "6", "", "Count the holes."},
    {"bleed.plugged", "2", "2", "0", "Count the screws or plugs."},
    {"bleed.diameter", "1.8 mm", "0.071 in", "", "Find the largest drill shank that goes in."},
    {"bleed.length", "9 mm", "0.35 in", "assumed: five diameters; with a warning",
     "Measure the thickness of the piston there with calipers."},
    {"bleed.flows", "both", "both", "both", "Look whether a shim or a check valve closes them in one direction."},
    {"bleed.jetted", "2", "2", "0", "Count the jets."},
    {"bleed.jet", "1 mm", "0.04 in", "no jets", "Find the largest drill shank that goes into the jet."},
    {"bleed.jet length", "3 mm", "0.12 in", "the port's", "Measure the jet's bore along its axis."},
    {"bleed.entry", "sharp", "sharp", "chamfered", "Look at the edge with a lens: a burr-free square edge is sharp."},
    {"bleed.check", "{seat: 8 mm, preload: 2 N, rate: 1 N/mm, lift: 1 mm}",
     "{seat: 0.31 in, preload: 0.45 lbf, rate: 5.7 lbf/in, lift: 0.04 in}", "open both ways",
     "Give it where a check valve stands behind them."},
    {"port.area", "520 mm2", "0.8 in2", "",
     "Count the ports and measure one with calipers or a drill shank; the number x the diameter will do."},
    {"port.inner", "24 mm", "0.94 in", "",
     "Measure with calipers across the piston, from the inner edge of one port to that of the opposite one."},
    {"port.ports", "8", "8", "a load coverage in their place", "Count the openings under the first shim."},
    {"port.share", "60 %", "60 %", "a load coverage in its place",
     "Measure how wide one opening is along the circle through their middles; multiply by their number and divide by "
     "the circle."},
    {"port.discharge coefficient", "0.7", "0.7", "assumed: between a sharp edge, 0.61, and a drilled tube, 0.81",
     "It is not measured in a workshop."},
    {"port.entry area", "400 mm2", "0.6 in2", "as wide as the ports",
     "Measure what the other stack or a washer leaves open of the entries."},
    {"land.inner", "50 mm", "1.97 in", "", "Measure the bright ring on the piston with calipers, inside."},
    {"land.outer", "52 mm", "2.05 in", "assumed: a narrow land, 4 % wider than its inner edge; with a warning",
     "Measure the bright ring on the piston with calipers, outside."},
    {"clamp.washer", "18 mm", "0.71 in", "", "Measure the flat of the washer with calipers, without its chamfer."},
    {"clamp.grip", "held", "held", "held: assumed for a tight nut",
     "It is held where the nut is tight, sliding where the stack hangs on a sleeve."},
    {"clamp.hole", "12 mm", "0.47 in", "two thirds of what clamps it, assumed",
     "Measure the shaft of the stack with calipers."},
    {"clamp.nut load", "9 kN", "2000 lbf", "0 N", "Work it out from the nut's torque."},
    {"clamp.friction", "0.12", "0.12", "assumed: oiled steel on steel", "It is not measured in a workshop."},
    {"stop.outside", "40 mm", "1.57 in", "", "Measure the stop with calipers."},
    {"stop.gap", "1.5 mm", "0.06 in", "", "Find the feeler gauge that fits between the stack's edge and the stop."},
    {"backing.profile", "[{diameter: 18 mm, gap: 0 mm}, {diameter: 24 mm, gap: 0.4 mm}]",
     "[{diameter: 0.71 in, gap: 0 in}, {diameter: 0.95 in, gap: 0.016 in}]", "",
     "Lay the washer flat and measure under its bevel with feeler gauges."},
    {"backing_point.diameter", "24 mm", "0.95 in", "", "Measure with calipers."},
    {"backing_point.gap", "0.4 mm", "0.016 in", "", "Measure with feeler gauges under a straight edge."},
    {"valve.port", "", "", "", "Measure the holes that feed this stack."},
    {"valve.land", "{inner: 50 mm, outer: 52 mm}", "{inner: 1.97 in, outer: 2.05 in}", "",
     "Measure the bright ring that the first shim lies on."},
    {"valve.load coverage", "100 %", "100 %", "assumed: ports that open into a full groove",
     "Where the ports are uneven, divide the length of their openings under the shim by the whole circle. Leave it out "
     "beside `ports` and `share`."},
    {"valve.curtain coverage", "90 %", "90 %", "assumed: an unbroken land",
     "Divide the part of the ring that oil can leave over by the whole circle."},
    {"valve.curtain discharge coefficient", "0.7", "0.7", "computed from the shape of the gap",
     "It is not measured in a workshop."},
    {"valve.curtain scale", "1.05", "1.05", "1: as computed, good for 8 %", "A dyno run can move it."},
    {"valve.flow force scale", "0.9", "0.9", "1: as computed, good for 25 %", "A dyno run can move it."},
    {"valve.velocity head share", "0.5", "0.5",
     "assumed: halfway between a spent jet, 0, and one that stagnates on the shim, 1",
     "It is not measured in a workshop."},
    {"valve.dish", "0.40 mm", "0.016 in", "0 mm: a flat seat",
     "Lay a straight edge over the seat; find the feeler gauge that fits between it and the clamp's face."},
    {"valve.flatness", "0.01 mm", "0.4 thou", "assumed: a good stamped or ground shim; 0.03 mm is a poor one",
     "Lay the first shim on a flat plate; find the feeler gauge that goes under its rim, or turn it under a dial "
     "gauge."},
    {"valve.clamp", "", "", "", "Measure the washer that the nut presses on the stack."},
    {"valve.plate", "{preload: 80 N, rate: 40 N/mm, lift: 2 mm}", "{preload: 18 lbf, rate: 230 lbf/in, lift: 0.08 in}",
     "a stack", "Give it where a plate on a spring takes the stack's place."},
    {"valve.stop", "{outside: 40 mm, gap: 1.5 mm}", "{outside: 1.57 in, gap: 0.06 in}", "no stop",
     "Give it where a flat washer limits the lift."},
    {"valve.backing", "{profile: [{diameter: 18 mm, gap: 0 mm}, {diameter: 24 mm, gap: 0.4 mm}]}",
     "{profile: [{diameter: 0.71 in, gap: 0 in}, {diameter: 0.95 in, gap: 0.016 in}]}", "no backing washer",
     "Give it where the washer above the stack has a bevel or a step."},
    {"valve.stack", "[2 of 56 x 0.20 mm, 1 of 42 x 0.20 mm, 1 of 30 x 0.20 mm]",
     "[2 of 2.2 in x 8 mil, 1 of 1.65 in x 8 mil, 1 of 1.2 in x 8 mil]", "",
     "Thread the stack on a rod in its order; measure each shim with a micrometer."},
    {"piston.bleed", "[{ports: 6, plugged: 2, diameter: 1.8 mm, length: 9 mm}]",
     "[{ports: 6, plugged: 2, diameter: 0.071 in, length: 0.35 in}]", "no bleed",
     "Look for small holes that no shim covers."},
    {"piston.adjuster", "{clicks: 8, most clicks: 20, seat: 4 mm, area per click: 0.3 mm2}",
     "{clicks: 8, most clicks: 20, seat: 0.157 in, area per click: 0.0005 in2}", "no adjuster",
     "Give it where a needle goes through the rod."},
    {"piston.compression", "", "", "", "Measure the stack on the rod side of the piston."},
    {"piston.rebound", "", "", "", "Measure the stack on the side away from the rod."},
    {"material.young", "110 GPa", "16000 ksi", "", "Copy it from the strip's data sheet."},
    {"material.poisson", "0.34", "0.34", "", "Copy it from the strip's data sheet."},
    {"material.yield", "510 MPa", "74 ksi", "", "Copy it from the strip's data sheet."},
    {"material.tensile", "620 MPa", "90 ksi", "fatigue is not assessed", "Copy it from the strip's data sheet."},
    {"material.fatigue", "210 MPa", "30 ksi", "fatigue is not assessed", "Copy it from the strip's data sheet."},
    {"hose.length", "400 mm", "16 in", "", "Measure it with a tape."},
    {"hose.bore", "8 mm", "0.31 in", "", "Find the drill shank that fits the fitting."},
    {"reservoir.bore", "50 mm", "2 in", "that of the body", "Measure inside with calipers."},
    {"reservoir.bleed", "[{ports: 2, diameter: 2 mm, length: 9 mm}]",
     "[{ports: 2, diameter: 0.08 in, length: 0.35 in}]", "no bleed", "Look for small holes that no shim covers."},
    {"reservoir.adjuster", "{clicks: 8, most clicks: 20, seat: 5 mm, areas: {0: 0 mm2, 10: 1.5 mm2, 20: 5 mm2}}",
     "{clicks: 8, most clicks: 20, seat: 0.197 in, areas: {0: 0 in2, 10: 0.0023 in2, 20: 0.0078 in2}}", "no adjuster",
     "Give it where a needle stands between body and gas."},
    {"reservoir.valve",
     "{port: {area: 90 mm2, inner: 8 mm}, land: {inner: 14 mm, outer: 15 mm}, plate: {preload: 60 N, rate: 25 N/mm, "
     "lift: 2 mm}}",
     "{port: {area: 0.14 in2, inner: 0.31 in}, land: {inner: 0.55 in, outer: 0.59 in}, plate: {preload: 13.5 lbf, "
     "rate: 143 lbf/in, lift: 0.08 in}}",
     "no valve", "Measure it as those of the piston."},
    {"reservoir.return check", "{seat: 14 mm, preload: 2 N, rate: 1 N/mm, lift: 2 mm}",
     "{seat: 0.55 in, preload: 0.45 lbf, rate: 5.7 lbf/in, lift: 0.08 in}", "no check valve",
     "Give it where a shim or plate lets the oil back."},
    {"reservoir.hose", "{length: 400 mm, bore: 8 mm}", "{length: 16 in, bore: 0.31 in}", "no hose",
     "Give it where the reservoir hangs on a hose."},
    {"damper.body", "", "", "", "Measure the body."},
    {"damper.oil", "", "", "", "Copy it from the oil's data sheet."},
    {"damper.gas", "", "", "", "Read the maker's sheet; a damper without a charging valve is `open`."},
    {"damper.materials", "{bronze: {young: 110 GPa, poisson: 0.34, yield: 510 MPa}}",
     "{bronze: {young: 16000 ksi, poisson: 0.34, yield: 74 ksi}}", "spring steel alone",
     "Copy them from the strip's data sheet."},
    {"damper.leak", "{clearance: 0.02 mm, length: 8 mm, eccentricity: 0.5}",
     "{clearance: 0.8 thou, length: 0.31 in, eccentricity: 0.5}", "no leak",
     "Give the gap between the piston band and the bore."},
    {"damper.piston", "", "", "", "Measure the piston on the bench."},
    {"damper.reservoir", "{hose: {length: 400 mm, bore: 8 mm}}", "{hose: {length: 16 in, bore: 0.31 in}}", "a free way",
     "Give it where the rod's oil passes a valve or a hose."},
    {"damper.base valve",
     "{valve: {port: {area: 90 mm2, inner: 8 mm}, land: {inner: 14 mm, outer: 15 mm}, plate: {preload: 60 N, rate: 25 "
     "N/mm, lift: 2 mm}}, return check: {seat: 14 mm, preload: 2 N, rate: 1 N/mm, lift: 2 mm}}",
     "{valve: {port: {area: 0.14 in2, inner: 0.31 in}, land: {inner: 0.55 in, outer: 0.59 in}, plate: {preload: 13.5 "
     "lbf, rate: 143 lbf/in, lift: 0.08 in}}, return check: {seat: 0.55 in, preload: 0.45 lbf, rate: 5.7 lbf/in, lift: "
     "0.08 in}}",
     "a free way", "Take the valve out of the foot of the tube; measure it as those of the piston."},
};

static bool names_table(const char *context, size_t length, const char *table)
{
    static const char ending[] = "_list";
    return strncmp(context, table, length) == 0 && strcmp(table + length, ending) == 0;
}

const kp_key_note *kp_key_note_of(const kp_key_table *table, const kp_key *key)
{
    for (size_t i = 0; i < sizeof notes / sizeof notes[0]; i++) {
        const char *point = strchr(notes[i].key, '.');
        if (point != NULL && strcmp(point + 1, key->name) == 0 &&
            names_table(notes[i].key, (size_t)(point - notes[i].key), table->name)) {
            return &notes[i];
        }
    }
    return NULL;
}

const kp_key_note *kp_key_note_named(const char *key)
{
    size_t i = 0;
    while (i + 1 < sizeof notes / sizeof notes[0] && strcmp(notes[i].key, key) != 0) {
        i++;
    }
    return &notes[i];
}
