/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "keys.h"

#include <stddef.h>
#include <string.h>

/* Short names for the columns of the tables below. */
#define DAMPER(field)      offsetof(kp_draft, damper.field)
#define VALVE(field)       offsetof(kp_valve_data, field)
#define QUANTITY(dim, at)  .kind = KP_KEY_QUANTITY, .dimension = (dim), .offset = (at)
#define FLAG(at)           .has_flag = true, .flag = (at)
#define FLAG_NONZERO(at)   FLAG(at), .zero_is_absent = true
#define MAP(keys, at)      .kind = KP_KEY_MAP, .inside = &(keys), .offset = (at)
#define SPECIAL(which)     .kind = KP_KEY_SPECIAL, .special = (which)
#define NEEDED             .required = true
#define NEEDED_UNLESS(key) .required = true, .unless = (key)
#define ADJUSTER(field)    offsetof(kp_adjuster_data, field)
#define TABLE(array)                                                                                                   \
    {                                                                                                                  \
#array, (array), sizeof(array) / sizeof((array)[0])                                                            \
    }

/* ---- body, oil, gas, leak ---------------------------------------------------------------------------- */

static const kp_key body_list[] = {
    {"bore", "Bore of the body, a diameter.", QUANTITY(KP_DIM_LENGTH, DAMPER(bore)), NEEDED},
    {"rod", "Diameter of the rod (shaft).", QUANTITY(KP_DIM_LENGTH, DAMPER(rod)), NEEDED},
    {"stroke", "Travel from fully out to fully in.", QUANTITY(KP_DIM_LENGTH, DAMPER(stroke)), NEEDED},
};
static const kp_key_table body_keys = TABLE(body_list);

static const kp_key range_list[] = {
    {"from", "Coldest.", QUANTITY(KP_DIM_TEMPERATURE, DAMPER(oil_coldest)), NEEDED},
    {"to", "Hottest.", QUANTITY(KP_DIM_TEMPERATURE, DAMPER(oil_hottest)), NEEDED},
};
static const kp_key_table range_keys = TABLE(range_list);

static const kp_key oil_list[] = {
    {"viscosity",
     "Two temperatures, each with its kinematic viscosity: 40 degC: 15 mm2/s, 100 degC: 3.8 mm2/s; or one, "
     "`15 cSt at 40 degC`.",
     SPECIAL(KP_SPECIAL_VISCOSITY), .offset = DAMPER(oil), .dimension = KP_DIM_KINEMATIC_VISCOSITY,
     NEEDED_UNLESS("grade")},
    {"grade", "Instead of two viscosities: the ISO grade, as `ISO VG 15`.", SPECIAL(KP_SPECIAL_GRADE),
     .offset = offsetof(kp_draft, grade)},
    {"viscosity index", "With a grade or one viscosity: how little the oil thins, by ASTM D2270.",
     QUANTITY(KP_DIM_NONE, offsetof(kp_draft, index)), FLAG(offsetof(kp_draft, index_given))},
    {"density", "Density, with `at TEMPERATURE` when it is not that at 15 degC.", SPECIAL(KP_SPECIAL_DENSITY),
     .offset = DAMPER(oil), .dimension = KP_DIM_DENSITY, NEEDED_UNLESS("grade")},
    {"volume", "Of all the oil: its expansion then takes gas volume.", QUANTITY(KP_DIM_VOLUME, DAMPER(oil_volume)),
     FLAG_NONZERO(DAMPER(has_oil_volume))},
    {"fill temperature", "Of the oil when the gas was charged; that of the charge when left out.",
     QUANTITY(KP_DIM_TEMPERATURE, DAMPER(fill_temperature)), FLAG(offsetof(kp_draft, fill_temperature_given))},
    {"range", "Temperatures that the oil's maker states.", MAP(range_keys, 0), FLAG(DAMPER(has_oil_range))},
    {"expansion", "Cubical thermal expansion.", QUANTITY(KP_DIM_EXPANSION, DAMPER(oil.expansion))},
    {"release pressure", "Absolute pressure below which air comes out of the oil.",
     QUANTITY(KP_DIM_GAS_PRESSURE, DAMPER(release_pressure)), FLAG(offsetof(kp_draft, release_given))},
};
static const kp_key_table oil_keys = TABLE(oil_list);

static const kp_key divider_list[] = {
    {"bore", "Bore that it slides in.", QUANTITY(KP_DIM_LENGTH, DAMPER(divider.bore))},
    {"depth", "Depth of the gas behind it at the charge, rod fully out.",
     QUANTITY(KP_DIM_LENGTH, DAMPER(divider.depth)), NEEDED},
    {"travel", "How far it can go into the gas from there.", QUANTITY(KP_DIM_LENGTH, DAMPER(divider.travel))},
    {"travel out", "How far it can go the other way, as cold oil shrinks.",
     QUANTITY(KP_DIM_LENGTH, DAMPER(divider.travel_out)), FLAG_NONZERO(DAMPER(divider.has_travel_out))},
};
static const kp_key_table divider_keys = TABLE(divider_list);

static const kp_key gas_list[] = {
    {"charge", "Charge pressure, gauge or absolute, at its temperature, rod fully out: 14 bar gauge at 20 degC.",
     SPECIAL(KP_SPECIAL_CHARGE), .dimension = KP_DIM_GAS_PRESSURE, NEEDED},
    {"maximum charge", "The maker's limit: no advice goes beyond it.",
     QUANTITY(KP_DIM_GAS_PRESSURE, DAMPER(maximum_charge)), FLAG(DAMPER(has_maximum_charge))},
    {"volume", "Gas volume at the charge, rod fully out.", QUANTITY(KP_DIM_VOLUME, DAMPER(gas.volume)),
     NEEDED_UNLESS("divider")},
    {"divider", "What the gas stands behind, instead of its volume.", MAP(divider_keys, 0),
     FLAG(DAMPER(divider.given))},
    {"exponent", "Polytropic exponent of strokes, 1 (slow) to 1.4 (fast); warm oil takes its room slowly.",
     QUANTITY(KP_DIM_NONE, DAMPER(gas.exponent))},
};
static const kp_key_table gas_keys = TABLE(gas_list);

static const kp_key leak_list[] = {
    {"clearance", "Radial clearance between piston band and bore.", QUANTITY(KP_DIM_LENGTH, DAMPER(leak.clearance)),
     NEEDED},
    {"length", "Length of the piston band along the bore.", QUANTITY(KP_DIM_LENGTH, DAMPER(leak.length)), NEEDED},
    {"eccentricity", "0 centred to 1 touching.", QUANTITY(KP_DIM_NONE, DAMPER(leak.eccentricity))},
};
static const kp_key_table leak_keys = TABLE(leak_list);

/* ---- piston ------------------------------------------------------------------------------------------ */

static const char *const entry_words[] = {[KP_ENTRY_SHARP] = "sharp", [KP_ENTRY_CHAMFERED] = "chamfered", NULL};
static const char *const flows_words[] = {
    [KP_FLOWS_BOTH] = "both", [KP_FLOWS_COMPRESSION] = "compression", [KP_FLOWS_REBOUND] = "rebound", NULL};

static const kp_key plate_list[] = {
    {"preload", "Spring force on the closed plate.", QUANTITY(KP_DIM_FORCE, offsetof(kp_spring_plate, preload)),
     NEEDED},
    {"rate", "Spring rate; with a preload of 0 N it may be 0: a floating plate.",
     QUANTITY(KP_DIM_STIFFNESS, offsetof(kp_spring_plate, rate)), NEEDED},
    {"lift", "Lift at its stop.", QUANTITY(KP_DIM_LENGTH, offsetof(kp_spring_plate, lift)), NEEDED},
};
static const kp_key_table plate_keys = TABLE(plate_list);

static const kp_key check_list[] = {
    {"seat", "Diameter of its seat.", QUANTITY(KP_DIM_LENGTH, offsetof(kp_check_data, seat)), NEEDED},
    {"preload", "Spring force, closed.", QUANTITY(KP_DIM_FORCE, offsetof(kp_check_data, plate.preload)), NEEDED},
    {"rate", "Spring rate.", QUANTITY(KP_DIM_STIFFNESS, offsetof(kp_check_data, plate.rate)), NEEDED},
    {"lift", "Lift at its stop.", QUANTITY(KP_DIM_LENGTH, offsetof(kp_check_data, plate.lift)), NEEDED},
};
static const kp_key_table check_keys = TABLE(check_list);

static const kp_key adjuster_list[] = {
    {"clicks", "Where it stands, counted from closed.", .kind = KP_KEY_COUNT, .offset = ADJUSTER(clicks), NEEDED},
    {"most clicks", "Clicks from closed to fully open.", .kind = KP_KEY_COUNT, .offset = ADJUSTER(max_clicks), NEEDED},
    {"seat", "Diameter of the needle's seat.", QUANTITY(KP_DIM_LENGTH, ADJUSTER(seat)), NEEDED},
    {"areas", "Open area against clicks: {0: 0 mm2, 10: 1.2 mm2, 20: 3 mm2}.", SPECIAL(KP_SPECIAL_AREAS),
     .dimension = KP_DIM_AREA, .offset = 0, NEEDED_UNLESS("area per click")},
    {"area per click", "Open area that a click adds.", QUANTITY(KP_DIM_AREA, ADJUSTER(area_per_click))},
    {"closed area", "Open area left at 0 clicks, with an area per click.",
     QUANTITY(KP_DIM_AREA, ADJUSTER(closed_area))},
    {"flows", "Which way oil passes; both unless a check stands in it.", .kind = KP_KEY_WORD, .words = flows_words,
     .offset = ADJUSTER(flows)},
    {"discharge coefficient", "Of the needle, wide open; that of a sharp edge in the seat's bore when left out.",
     QUANTITY(KP_DIM_NONE, ADJUSTER(discharge)), FLAG_NONZERO(ADJUSTER(has_discharge))},
};
static const kp_key_table adjuster_keys = TABLE(adjuster_list);

static const kp_key bleed_list[] = {
    {"ports", "How many are drilled.", .kind = KP_KEY_COUNT, .offset = offsetof(kp_bleed, ports), NEEDED},
    {"plugged", "How many of these are plugged.", .kind = KP_KEY_COUNT, .offset = offsetof(kp_bleed, plugged)},
    {"diameter", "Diameter of each.", QUANTITY(KP_DIM_LENGTH, offsetof(kp_bleed, diameter)), NEEDED},
    {"length", "Length of each.", QUANTITY(KP_DIM_LENGTH, offsetof(kp_bleed, length))},
    {"flows", "Which way oil passes.", .kind = KP_KEY_WORD, .words = flows_words, .offset = offsetof(kp_bleed, flows)},
    {"jetted", "How many of the open ones have a jet.", .kind = KP_KEY_COUNT, .offset = offsetof(kp_bleed, jetted)},
    {"jet", "Diameter of the jets.", QUANTITY(KP_DIM_LENGTH, offsetof(kp_bleed, jet))},
    {"jet length", "Length of the jets; the port's when left out.",
     QUANTITY(KP_DIM_LENGTH, offsetof(kp_bleed, jet_length)), FLAG_NONZERO(offsetof(kp_bleed, has_jet_length))},
    {"entry", "Edge at which oil enters port and jet; it counts where they are shorter than two diameters.",
     .kind = KP_KEY_WORD, .words = entry_words, .offset = offsetof(kp_bleed, entry)},
    {"check", "A check valve behind them: they are then one-way, in the direction of `flows`.",
     MAP(check_keys, offsetof(kp_bleed, check)), FLAG(offsetof(kp_bleed, has_check))},
};
static const kp_key_table bleed_keys = TABLE(bleed_list);
static const kp_key bleed_item = {"bleed", "Bleed ports of one size.", MAP(bleed_keys, 0)};

static const kp_key port_list[] = {
    {"area", "Area of all ports of this direction together: 300 mm2, holes as 6 x 8 mm, slots as 6 x 4 x 12 mm.",
     QUANTITY(KP_DIM_AREA, VALVE(port_area)), NEEDED},
    {"inner", "Diameter from which pressure reaches the face shim.", QUANTITY(KP_DIM_LENGTH, VALVE(port_inner)),
     NEEDED},
    {"ports", "How many evenly spaced ports open under the face shim, 2 to 24; together with `share`.",
     .kind = KP_KEY_COUNT, .offset = VALVE(port_count), FLAG(VALVE(has_ports))},
    {"share", "Share of the circle that these ports cover under the face shim.",
     QUANTITY(KP_DIM_NONE, VALVE(port_share)), FLAG(VALVE(has_port_share))},
    {"discharge coefficient", "Of the port.", QUANTITY(KP_DIM_NONE, VALVE(port_discharge))},
    {"entry area", "Open area of the port entries, where something covers part of them; in series.",
     QUANTITY(KP_DIM_AREA, VALVE(port_entry)), FLAG_NONZERO(VALVE(has_port_entry))},
};
static const kp_key_table port_keys = TABLE(port_list);

static const kp_key land_list[] = {
    {"inner", "Inner diameter of the land the face shim sits on.", QUANTITY(KP_DIM_LENGTH, VALVE(land_inner)), NEEDED},
    {"outer", "Outer diameter of the land; a sharp seat has inner = outer.",
     QUANTITY(KP_DIM_LENGTH, VALVE(land_outer))},
};
static const kp_key_table land_keys = TABLE(land_list);

static const char *const grip_words[] = {[KP_GRIP_HELD] = "held", [KP_GRIP_SLIDING] = "sliding", NULL};

static const kp_key clamp_list[] = {
    {"washer", "Diameter of the clamp washer's flat face, less its chamfer.",
     QUANTITY(KP_DIM_LENGTH, VALVE(clamp_washer)), NEEDED},
    {"grip", "Whether the clamp holds the shims' inner edges radially.", .kind = KP_KEY_WORD, .words = grip_words,
     .offset = VALVE(grip)},
    {"hole", "Hole of every shim that gives none of its own; a sliding grip needs it.",
     QUANTITY(KP_DIM_LENGTH, VALVE(hole)), FLAG(VALVE(has_hole))},
    {"nut load", "Axial load of the nut: the friction that a sliding grip has to overcome.",
     QUANTITY(KP_DIM_FORCE, VALVE(nut_load))},
    {"friction", "Friction coefficient of the clamped faces.", QUANTITY(KP_DIM_NONE, VALVE(nut_friction))},
};
static const kp_key_table clamp_keys = TABLE(clamp_list);

static const kp_key stop_list[] = {
    {"outside", "Diameter of the lift stop.", QUANTITY(KP_DIM_LENGTH, VALVE(stop_outside)), NEEDED},
    {"gap", "Its height above the far face of the clamped pack.", QUANTITY(KP_DIM_LENGTH, VALVE(stop_gap)), NEEDED},
};
static const kp_key_table stop_keys = TABLE(stop_list);

static const kp_key backing_point_list[] = {
    {"diameter", "Where; never falling from one point to the next, twice the same for a step.",
     QUANTITY(KP_DIM_LENGTH, offsetof(kp_backing_point, diameter)), NEEDED},
    {"gap", "Height of the washer's face there above the far face of the clamped pack.",
     QUANTITY(KP_DIM_LENGTH, offsetof(kp_backing_point, gap)), NEEDED},
};
static const kp_key_table backing_point_keys = TABLE(backing_point_list);
static const kp_key backing_point_item = {"point", "One point of the profile.", MAP(backing_point_keys, 0)};

static const kp_key backing_list[] = {
    {"profile", "Points from the clamp washer outward, straight between them, nothing beyond the last.",
     .kind = KP_KEY_LIST, .item = &backing_point_item, .offset = VALVE(backing), .item_size = sizeof(kp_backing_point),
     .item_max = KP_STOP_POINTS, .count = VALVE(backing_count), NEEDED},
};
static const kp_key_table backing_keys = TABLE(backing_list);

static const kp_key shim_item = {"shim",
                                 "COUNT of OUTSIDE x THICKNESS unit, as `3 of 40 x 0.20 mm`; after commas the "
                                 "special features: hole SIZE, slots N x WIDTH x DEPTH, material NAME.",
                                 SPECIAL(KP_SPECIAL_SHIM_LINE), .dimension = KP_DIM_LENGTH};

static const kp_key valve_list[] = {
    {"port", "The ports that feed this direction's stack.", MAP(port_keys, 0), NEEDED},
    {"land", "The ring the face shim closes on.", MAP(land_keys, 0), NEEDED},
    {"load coverage",
     "Share of the circle on which pressure reaches the face shim, where its ports are uneven or unknown.",
     QUANTITY(KP_DIM_NONE, VALVE(load_coverage)), FLAG(VALVE(has_load_coverage))},
    {"curtain coverage", "Share of the land's circle that oil can leave through.",
     QUANTITY(KP_DIM_NONE, VALVE(curtain_coverage))},
    {"curtain discharge coefficient",
     "Of the gap between land and face shim, wide open; computed from its shape when left out.",
     QUANTITY(KP_DIM_NONE, VALVE(curtain_discharge)), FLAG_NONZERO(VALVE(has_curtain_discharge))},
    {"curtain scale", "Factor on the discharge coefficient of the gap between land and face shim; 1 as computed.",
     QUANTITY(KP_DIM_NONE, VALVE(curtain_scale))},
    {"flow force scale", "Factor on what the oil's speed takes off the load on the face shim; 1 as computed.",
     QUANTITY(KP_DIM_NONE, VALVE(flow_force_scale))},
    {"velocity head share", "Share of the port's exit velocity head that loads the face shim, 0 to 1.",
     QUANTITY(KP_DIM_NONE, VALVE(velocity_head_share))},
    {"dish", "Height of the land above the clamp plane; 0 is a flat seat.", QUANTITY(KP_DIM_LENGTH, VALVE(dish))},
    {"flatness",
     "Out-of-flat of the face shim at rest, peak to valley at its rim; 0 mm is a perfect shim, 0.01 mm is assumed.",
     QUANTITY(KP_DIM_LENGTH, VALVE(flatness)), FLAG(VALVE(has_flatness))},
    {"clamp", "What holds the stack.", MAP(clamp_keys, 0), NEEDED_UNLESS("plate")},
    {"plate", "A rigid plate on a spring, in the stack's place.", MAP(plate_keys, VALVE(plate)),
     FLAG(VALVE(has_plate))},
    {"stop", "A rigid flat lift stop above the stack.", MAP(stop_keys, 0), FLAG(VALVE(has_stop))},
    {"backing", "A bevelled or stepped backing washer above the stack, in place of a flat stop.", MAP(backing_keys, 0)},
    {"stack", "Shims from the piston face outward.", .kind = KP_KEY_LIST, .item = &shim_item, .offset = VALVE(lines),
     .item_size = sizeof(kp_shim_line), .item_max = KP_MAX_STACK_LINES, .count = VALVE(line_count),
     NEEDED_UNLESS("plate")},
};
static const kp_key_table valve_keys = TABLE(valve_list);

static const kp_key piston_list[] = {
    {"bleed", "Bleed ports, an entry for each size.", .kind = KP_KEY_LIST, .item = &bleed_item,
     .offset = DAMPER(bleeds), .item_size = sizeof(kp_bleed), .item_max = KP_MAX_BLEEDS, .count = DAMPER(bleed_count)},
    {"adjuster", "Rebound adjuster through the rod: a needle in parallel with the bleed ports.",
     MAP(adjuster_keys, DAMPER(adjuster)), FLAG(DAMPER(has_adjuster))},
    {"compression", "The valve that works in compression; its stack sits on the rod side of the piston.",
     MAP(valve_keys, DAMPER(valves[KP_COMPRESSION])), NEEDED},
    {"rebound", "The valve that works in rebound.", MAP(valve_keys, DAMPER(valves[KP_REBOUND])), NEEDED},
};
static const kp_key_table piston_keys = TABLE(piston_list);

static const kp_key material_list[] = {
    {"young", "Young's modulus.", QUANTITY(KP_DIM_STRESS, offsetof(kp_material_data, material.young)), NEEDED},
    {"poisson", "Poisson's ratio.", QUANTITY(KP_DIM_NONE, offsetof(kp_material_data, material.poisson)), NEEDED},
    {"yield", "Proof stress: a shim beyond it takes a set.",
     QUANTITY(KP_DIM_STRESS, offsetof(kp_material_data, material.yield)), NEEDED},
    {"tensile", "Tensile strength; together with `fatigue`, fatigue is assessed.",
     QUANTITY(KP_DIM_STRESS, offsetof(kp_material_data, material.tensile))},
    {"fatigue", "Stress amplitude that lasts when the mean stress is zero.",
     QUANTITY(KP_DIM_STRESS, offsetof(kp_material_data, material.fatigue))},
};
static const kp_key_table material_keys = TABLE(material_list);
static const kp_key material_item = {"material", "One shim material.", MAP(material_keys, 0)};
static const kp_key hose_list[] = {
    {"length", "Length.", QUANTITY(KP_DIM_LENGTH, DAMPER(reservoir.hose.length)), NEEDED},
    {"bore", "Bore.", QUANTITY(KP_DIM_LENGTH, DAMPER(reservoir.hose.bore)), NEEDED},
};
static const kp_key_table hose_keys = TABLE(hose_list);

static const kp_key reservoir_list[] = {
    {"bore", "Bore around its stack; that of the body when left out.", QUANTITY(KP_DIM_LENGTH, DAMPER(reservoir.bore)),
     FLAG_NONZERO(DAMPER(reservoir.has_bore))},
    {"bleed", "Bleed ports in parallel with its valve.", .kind = KP_KEY_LIST, .item = &bleed_item,
     .offset = DAMPER(reservoir.bleeds), .item_size = sizeof(kp_bleed), .item_max = KP_MAX_BLEEDS,
     .count = DAMPER(reservoir.bleed_count)},
    {"adjuster", "Compression adjuster: a needle in parallel with its valve.",
     MAP(adjuster_keys, DAMPER(reservoir.adjuster)), FLAG(DAMPER(reservoir.has_adjuster))},
    {"valve", "The valve that the rod's oil opens in compression.", MAP(valve_keys, DAMPER(valves[KP_RESERVOIR_VALVE])),
     FLAG(DAMPER(reservoir.has_valve))},
    {"return check", "The check valve that lets it back in rebound.", MAP(check_keys, DAMPER(reservoir.return_check)),
     FLAG(DAMPER(reservoir.has_return))},
    {"hose", "Between body and reservoir.", MAP(hose_keys, 0), FLAG(DAMPER(reservoir.has_hose))},
};
static const kp_key_table reservoir_keys = TABLE(reservoir_list);

static const char *const units_words[] = {[KP_UNITS_METRIC] = "metric", [KP_UNITS_INCH] = "inch", NULL};

static const kp_key damper_list[] = {
    {"format", "Version of this file format: 1.", SPECIAL(KP_SPECIAL_FORMAT), NEEDED},
    {"based on", "A trial: the file that this one changes, relative to this one.", SPECIAL(KP_SPECIAL_BASED_ON)},
    {"name", "What to call this damper in tables and plots.", .kind = KP_KEY_TEXT, .offset = DAMPER(name),
     .text_size = sizeof(((kp_damper_data *)0)->name), NEEDED},
    {"units", "Units of the answers: metric or inch. The file's own values keep theirs.", .kind = KP_KEY_WORD,
     .words = units_words, .offset = DAMPER(units), FLAG(DAMPER(has_units))},
    {"body", "Bore, rod and stroke.", MAP(body_keys, 0), NEEDED},
    {"oil", "The oil.", MAP(oil_keys, 0), NEEDED},
    {"gas", "The gas charge; or `open`: a cartridge under the air's pressure, without a charge.", MAP(gas_keys, 0),
     .alone = "open", .alone_flag = DAMPER(gas_open), NEEDED},
    {"friction", "Friction of seals and bushes.", QUANTITY(KP_DIM_FORCE, DAMPER(friction)),
     FLAG(DAMPER(friction_given))},
    {"temperature", "Oil temperature at which the curve is calculated.",
     QUANTITY(KP_DIM_TEMPERATURE, DAMPER(oil_temperature))},
    {"position", "How far the rod is in; mid-stroke when left out.", QUANTITY(KP_DIM_LENGTH, DAMPER(position)),
     FLAG(offsetof(kp_draft, position_given))},
    {"materials", "Shim materials by name; `spring steel` is there without it, and may be replaced.",
     .kind = KP_KEY_NAMED, .item = &material_item, .offset = DAMPER(materials), .item_size = sizeof(kp_material_data),
     .item_max = KP_MAX_MATERIALS, .count = DAMPER(material_count), .text_size = KP_MATERIAL_NAME},
    {"leak", "Leak past the piston band; none when left out.", MAP(leak_keys, 0)},
    {"piston", "Bleed ports and the two valves.", MAP(piston_keys, 0), NEEDED},
    {"reservoir", "What the rod's oil passes to the gas; a free way when left out.", MAP(reservoir_keys, 0),
     FLAG(DAMPER(reservoir.given))},
    {KP_BASE_VALVE, "The same as `reservoir`, for a valve at the foot of a twin tube or a cartridge.",
     MAP(reservoir_keys, 0), FLAG(DAMPER(reservoir.given))},
};
const kp_key_table kp_damper_keys = TABLE(damper_list);

/* ---- names that are refused for a reason of their own --------------------------------------------------------- */

static const kp_refusal refusals[] = {
    {"shim friction", true, "friction between shims"},
    {"friction between shims", true, "friction between shims"},
    {"discrete ports", true, "discrete three-dimensional ports"},
    {"port shape", true, "discrete three-dimensional ports"},
    {"twin tube", true, "the outer tube of a twin-tube damper (its level and foaming)"},
    {"outer tube", true, "the outer tube of a twin-tube damper (its level and foaming)"},
    {"bypass", true, "bypass tubes"},
    {"bypass tube", true, "bypass tubes"},
    {"bypass tubes", true, "bypass tubes"},
    {"bump zone", true, "a hydraulic bump zone"},
    {"bump zones", true, "a hydraulic bump zone"},
    {"hydraulic bump zone", true, "a hydraulic bump zone"},
    {"hydraulic bump zones", true, "a hydraulic bump zone"},
    {"hydraulic bump stop", true, "a hydraulic bump zone"},
    {"frequency selective", true, "a frequency-selective valve"},
    {"frequency selective valve", true, "a frequency-selective valve"},
    {"frequency selective valves", true, "a frequency-selective valve"},
    {"hub", false, "the hub under the stack"},
    {"bulk modulus", false, "compressible oil"},
    {"air", false, "air in the oil"},
    {"calibration", false, "a calibration"},
};

const kp_refusal *kp_refusal_find(const char *name)
{
    for (size_t i = 0; i < sizeof refusals / sizeof refusals[0]; i++) {
        if (kp_key_same_name(refusals[i].name, name)) {
            return &refusals[i];
        }
    }
    return NULL;
}
