/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Faults and warnings of one direction's valve: port, land, clamp, shims. Sizes are diameters.
    A relation between two sizes is only validated when both are sound, so that one mistake gives one message. */
#include "validator.h"

#include <math.h>
#include <stdio.h>

static const double THICKNESS_MIN = 0.02e-3;    /* [m] thinner strip is not sold as shims (common practice) */
static const double THICKNESS_MAX = 3e-3;       /* [m] thicker is a washer (common practice) */
static const double LIKELY_MIN = 0.05e-3;       /* [m] thicknesses a slip of the pen may have meant */
static const double LIKELY_MAX = 0.6e-3;        /* [m] */
static const double OUTSIDE_MIN = 5e-3;         /* [m] smaller than the hole of any shim (common practice) */
static const double LIKELY_OUTSIDE_MIN = 8e-3;  /* [m] outside sizes a slip of the pen may have meant */
static const double LIKELY_OUTSIDE_MAX = 80e-3; /* [m] */
/* [-] dish over free width; plate theory takes the square of a slope to be small */
static const double SLOPE_MAX = 0.25;
/* [-] flatness over the face shim's thickness. The stack takes up to 1, which leaves room for thinner variants. */
static const double FLATNESS_MAX = 0.5;
static const double TRIED_FLATNESS_MAX = 0.15; /* [-] its effect was compared with finite elements up to here */
static const double USUAL_DISH_MAX = 1e-3;     /* [m] common practice, no source */
static const double USUAL_ANNULUS = 0.5e-3;    /* [m] width between shim and bore below which it chokes */
static const double INCH = 25.4e-3;            /* [m] exact */
/* [-] of what is computed: beyond, the shape is another one than the model's (own error 8 and 25 %) */
static const double SCALE_MIN = 0.2, SCALE_MAX = 5.0;

/** Which slip of the pen would explain a thickness outside its range; "" when none does. */
static void thickness_hint(double thickness, double outside, char *out, size_t size)
{
    double mm = KP_MM(thickness);
    out[0] = '\0';

    if (thickness > outside && outside >= THICKNESS_MIN && outside <= THICKNESS_MAX) {
        snprintf(out, size, " (are outside and thickness swapped?)");
        return;
    }

    /* A decimal point, or the unit, may have slipped. */
    static const double slips[] = {0.1, 0.01, 0.001, 10.0, 100.0};
    for (size_t i = 0; i < sizeof slips / sizeof slips[0]; i++) {
        double meant = thickness * slips[i];
        if (meant >= LIKELY_MIN && meant <= LIKELY_MAX) {
            kp_text_print(out, size, " (did you mean %.3g mm?)", mm * slips[i]);
            break;
        }
    }

    /* A number in inches may have been given the unit mm. */
    double as_inch = mm * INCH;
    if (thickness < THICKNESS_MIN && as_inch >= LIKELY_MIN && as_inch <= LIKELY_MAX) {
        kp_text_print(out, size, " (did you mean %.3g in?)", mm);
    }
}

/** Which wrong unit would explain an outside size that is far too small; "" when none does. */
static void outside_hint(double outside, char *out, size_t size)
{
    double as_mm = KP_MM(outside), as_thou = outside / (1e-3 * INCH);
    out[0] = '\0';
    if (as_mm * INCH >= LIKELY_OUTSIDE_MIN && as_mm * INCH <= LIKELY_OUTSIDE_MAX) {
        kp_text_print(out, size, " (did you mean %.4g in?)", as_mm);
    } else if (as_thou * INCH >= LIKELY_OUTSIDE_MIN && as_thou * INCH <= LIKELY_OUTSIDE_MAX) {
        kp_text_print(out, size, " (did you mean %.4g in, with a unit of its own?)", as_thou);
    }
}

static bool validate_thickness(kp_validator *validator, const char *path, const char *who, const kp_shim_line *line)
{
    if (!(line->thickness > 0.0)) {
        kp_validator_fault(validator, path, "%s: thickness %g mm must be larger than 0", who, KP_MM(line->thickness));
        return false;
    }

    if (!(line->thickness >= THICKNESS_MIN - KP_SAME_SIZE && line->thickness <= THICKNESS_MAX + KP_SAME_SIZE)) {
        char hint[64];
        thickness_hint(line->thickness, line->outside, hint, sizeof hint);
        kp_validator_fault(validator, path, "%s: thickness %g mm is outside %g to %g mm%s", who, KP_MM(line->thickness),
                           KP_MM(THICKNESS_MIN), KP_MM(THICKNESS_MAX), hint);
        return false;
    }
    return true;
}

static bool validate_outside(kp_validator *validator, const char *path, const char *who, const kp_shim_line *line,
                             double bore)
{
    if (!(line->outside > 0.0 && isfinite(line->outside))) {
        kp_validator_fault(validator, path, "%s: outside %g mm must be larger than 0", who, KP_MM(line->outside));
        return false;
    }
    if (bore > 0.0 && line->outside >= bore - KP_SAME_SIZE) {
        kp_validator_fault(validator, path, "%s: outside %g mm does not fit into the bore, %g mm", who,
                           KP_MM(line->outside), KP_MM(bore));
        return false;
    }

    /* A size in inches that was given the unit mm is far too small. */
    if (line->outside < OUTSIDE_MIN) {
        char hint[64];
        outside_hint(line->outside, hint, sizeof hint);
        kp_validator_fault(validator, path, "%s: outside %g mm is too small for a shim; the minimum is %g mm%s", who,
                           KP_MM(line->outside), KP_MM(OUTSIDE_MIN), hint);
        return false;
    }

    return true;
}

/** Returns whether other sizes can be compared with the face shim; lines_sound: with every other shim too. */
static bool validate_lines(kp_validator *validator, const kp_damper_data *damper, const kp_valve_data *valve,
                           bool *lines_sound)
{
    if (valve->line_count == 0 || valve->line_count > KP_MAX_STACK_LINES) {
        if (valve->line_count == 0) {
            kp_validator_fault(validator, "stack",
                               "no shim: at least the face shim is wanted, such as `1 of 40 x 0.20 mm`");
        } else {
            kp_validator_fault(validator, "stack", "%zu lines; at most %d are possible", valve->line_count,
                               KP_MAX_STACK_LINES);
        }
        return false;
    }

    /* Limits on the whole stack; the face shim's sizes decide what else can be validated. */
    long total = 0;
    bool face_sound = false;
    bool all_sound = true;

    for (size_t i = 0; i < valve->line_count; i++) {
        const kp_shim_line *line = &valve->lines[i];
        char path[32], who[32];
        snprintf(path, sizeof path, "stack[%zu]", i);
        snprintf(who, sizeof who, i == 0 ? "face shim" : "shim line %zu", i + 1);

        /* The sizes of one shim, then the number of shims. */
        bool thickness = validate_thickness(validator, path, who, line);
        bool outside = thickness && validate_outside(validator, path, who, line, damper->bore);

        if (line->count < 1) {
            kp_validator_fault(validator, path, "%s: %d shims; at least 1 is wanted, or leave the line out", who,
                               line->count);
        } else if (total <= KP_MAX_SHIMS && total + line->count > KP_MAX_SHIMS) {
            kp_validator_fault(validator, path, "%s: this makes %ld shims in the stack; at most %d are possible", who,
                               total + line->count, KP_MAX_SHIMS);
        }

        total += line->count > 0 ? line->count : 0;
        face_sound = i == 0 ? thickness && outside : face_sound;
        all_sound = all_sound && thickness && outside && line->count >= 1;
    }

    *lines_sound = all_sound;
    return face_sound;
}

/** Diameter at which the face shim is clamped [m]: the washer's, or that of small shims that do the clamping. */
static double face_clamp(const kp_valve_data *valve)
{
    kp_shim_part parts[KP_MAX_STACK_LINES];
    double clamps[KP_MAX_STACK_LINES];
    kp_valve_parts(valve, parts, clamps);
    return clamps[0];
}

/** The port opens between clamp and land, the ring where pressure acts on the shim. held: diameter of the clamp [m]. */
static void validate_port_inner(kp_validator *validator, const kp_valve_data *valve, double held, bool clamp, bool land)
{
    if (clamp && valve->port_inner < held - KP_SAME_SIZE) {
        kp_validator_fault(validator, "port.inner",
                           "port inner %g mm lies inside the %s, %g mm: pressure reaches the shim outside it",
                           KP_MM(valve->port_inner),
                           held < valve->clamp_washer ? "last shims that clamp" : "clamp washer", KP_MM(held));
    }

    if (land && valve->port_inner >= valve->land_inner - KP_SAME_SIZE) {
        kp_validator_fault(validator, "port.inner", "port inner %g mm is not smaller than land inner, %g mm",
                           KP_MM(valve->port_inner), KP_MM(valve->land_inner));
    }
}

/** The dish must be small against the free width from clamp to seat, because plate theory takes the square of a slope
    to be small. width: the free width [m]; 0 when it is not known. */
static void validate_dish(kp_validator *validator, const kp_valve_data *valve, double width)
{
    if (width > 0.0 && !(fabs(valve->dish) <= SLOPE_MAX * width)) {
        kp_validator_fault(validator, "dish", "dish %g mm is more than %g of the free width from clamp to land, %g mm",
                           KP_MM(valve->dish), SLOPE_MAX, KP_MM(width));
    } else if (fabs(valve->dish) > USUAL_DISH_MAX) {
        kp_validator_warning(validator, "dish", "dish %g mm is unusual: up to %g mm is common", KP_MM(valve->dish),
                             KP_MM(USUAL_DISH_MAX));
    }
}

/** A shim far out of flat is a wave spring, not a disc. */
static void validate_flatness(kp_validator *validator, const kp_valve_data *valve, bool face_sound)
{
    if (!(valve->flatness >= 0.0 && isfinite(valve->flatness))) {
        kp_validator_fault(validator, "flatness", "flatness %g mm must not be negative; 0 mm is a perfect shim",
                           KP_MM(valve->flatness));
        return;
    }
    if (!face_sound) {
        return;
    }

    double thickness = valve->lines[0].thickness;
    if (valve->flatness > FLATNESS_MAX * thickness + KP_SAME_SIZE) {
        kp_validator_fault(validator, "flatness",
                           "flatness %g mm is more than half the face shim's thickness, %g mm: a shim so far out of "
                           "flat is not solved; replace it",
                           KP_MM(valve->flatness), KP_MM(thickness));
    } else if (valve->has_flatness && valve->flatness > TRIED_FLATNESS_MAX * thickness + KP_SAME_SIZE) {
        kp_validator_warning(validator, "flatness",
                             "flatness %g mm is unusual: more than %g of the face shim's thickness, %g mm",
                             KP_MM(valve->flatness), TRIED_FLATNESS_MAX, KP_MM(thickness));
    }
}

/** Clamp, port, land and face shim must lie in that order outward. */
static void validate_radii(kp_validator *validator, const kp_damper_data *damper, const kp_valve_data *valve,
                           bool face_sound)
{
    /* Sizes that are faults already are compared with nothing. */
    bool clamp = kp_validator_positive_size(validator, "clamp.washer", "clamp washer", valve->clamp_washer);
    bool port = kp_validator_positive_size(validator, "port.inner", "port inner", valve->port_inner);
    bool inner = kp_validator_positive_size(validator, "land.inner", "land inner", valve->land_inner);
    bool outer = kp_validator_positive_size(validator, "land.outer", "land outer", valve->land_outer);
    double face = face_sound ? valve->lines[0].outside : 0.0;
    bool face_free = face_sound;

    /* The face shim must reach beyond its clamp. */
    if (clamp && face_sound && face <= valve->clamp_washer + KP_SAME_SIZE) {
        kp_validator_fault(validator, "stack[0]",
                           "face shim: outside %g mm is no larger than the clamp washer, %g mm: it could not bend",
                           KP_MM(face), KP_MM(valve->clamp_washer));
        face_free = false;
    }

    double held = clamp && face_sound ? face_clamp(valve) : valve->clamp_washer;
    if (port) {
        validate_port_inner(validator, valve, held, clamp, inner);
    }

    /* The whole seat lies under the face shim. */
    if (inner && outer && valve->land_outer < valve->land_inner - KP_SAME_SIZE) {
        kp_validator_fault(validator, "land.outer",
                           "land outer %g mm is smaller than land inner, %g mm (a sharp seat has "
                           "them equal)",
                           KP_MM(valve->land_outer), KP_MM(valve->land_inner));
    } else if (outer && face_free && valve->land_outer > face + KP_SAME_SIZE) {
        kp_validator_fault(validator, "land.outer", "land outer %g mm lies outside the face shim, %g mm",
                           KP_MM(valve->land_outer), KP_MM(face));
    }

    /* The gap to the bore carries all of the flow. */
    if (face_free && damper->bore > 0.0 && (damper->bore - face) / 2.0 < USUAL_ANNULUS) {
        kp_validator_warning(validator, "stack[0]",
                             "face shim: only %.2g mm is left to the bore on each side; that gap chokes the flow",
                             KP_MM((damper->bore - face) / 2.0));
    }

    validate_dish(validator, valve, clamp && inner ? (valve->land_inner - held) / 2.0 : 0.0);
}

/** Number and share of the ports belong together, and stand for the load coverage. */
static void validate_port_spacing(kp_validator *validator, const kp_valve_data *valve)
{
    if (valve->has_ports && !valve->has_port_share) {
        kp_validator_fault(validator, "port.ports",
                           "`ports` goes with `share`, the share of the circle that they cover under the shim, such as "
                           "`share: 60 %%`");
    } else if (valve->has_port_share && !valve->has_ports) {
        kp_validator_fault(validator, "port.share",
                           "`share` goes with `ports`, their number; where the ports are uneven or unknown, `load "
                           "coverage` stands in");
    }

    if (valve->has_ports && (valve->port_count < KP_PORTS_MIN || valve->port_count > KP_PORTS_MAX)) {
        kp_validator_fault(validator, "port.ports",
                           "%d ports: %d to %d evenly spaced ones are possible; for any others leave `ports` and "
                           "`share` out and give `load coverage`",
                           valve->port_count, (int)KP_PORTS_MIN, (int)KP_PORTS_MAX);
    }

    if (valve->has_port_share && !(valve->port_share > 0.0 && valve->port_share <= 1.0)) {
        kp_validator_fault(validator, "port.share", "share %g must be larger than 0 and at most 1 (100 %%)",
                           valve->port_share);
    }

    if (valve->has_ports && valve->has_port_share && valve->has_load_coverage) {
        kp_validator_fault(validator, "load coverage",
                           "load coverage stands in where ports are uneven or unknown; here `port.ports` is given, so "
                           "leave it out (in a trial: `load coverage: none`)");
    }
}

static void validate_port(kp_validator *validator, const kp_damper_data *damper, const kp_valve_data *valve)
{
    const double quarter_pi = 0.78539816339744830962;
    double piston = quarter_pi * damper->bore * damper->bore;

    /* The ports together are smaller than the bore. */
    if (!(valve->port_area > 0.0 && isfinite(valve->port_area))) {
        kp_validator_fault(validator, "port.area", "port area %g mm2 must be larger than 0", 1e6 * valve->port_area);
    } else if (damper->bore > 0.0 && valve->port_area >= piston) {
        kp_validator_fault(validator, "port.area", "port area %g mm2 is not smaller than that of the bore, %.4g mm2",
                           1e6 * valve->port_area, 1e6 * piston);
    }

    /* Coefficients and shares of a circle: above 0, at most 1. */
    const struct {
        const char *path, *what;
        double number;
    } shares[] = {
        {"port.discharge coefficient", "discharge coefficient", valve->port_discharge},
        {"curtain discharge coefficient", "discharge coefficient",
         valve->has_curtain_discharge ? valve->curtain_discharge : 1.0},
        {"load coverage", "coverage", valve->load_coverage},
        {"curtain coverage", "coverage", valve->curtain_coverage},
    };
    for (size_t i = 0; i < sizeof shares / sizeof shares[0]; i++) {
        if (!(shares[i].number > 0.0 && shares[i].number <= 1.0)) {
            kp_validator_fault(validator, shares[i].path, "%s %g must be larger than 0 and at most 1 (100 %%)",
                               shares[i].what, shares[i].number);
        }
    }

    validate_port_spacing(validator, valve);
    if (valve->has_curtain_discharge && valve->curtain_scale != 1.0) {
        kp_validator_fault(validator, "curtain scale",
                           "curtain scale %g stands beside a curtain discharge coefficient: give one of them",
                           valve->curtain_scale);
    }
    kp_validator_between(validator, "curtain scale", "curtain scale", valve->curtain_scale, SCALE_MIN, SCALE_MAX);
    kp_validator_between(validator, "flow force scale", "flow force scale", valve->flow_force_scale, 0.0, SCALE_MAX);
    kp_validator_between(validator, "velocity head share", "velocity head share", valve->velocity_head_share, 0.0, 1.0);
}

/** A plate bends no shim: only port, land and its spring are validated. */
static void validate_plate_valve(kp_validator *validator, kp_damper_data *damper, kp_valve_data *valve)
{
    kp_validate_plate(validator, valve);
    if (valve->dish != 0.0) {
        kp_validator_fault(validator, "dish", "a rigid plate has no dish: its spring's preload takes that part");
        valve->dish = 0.0;
    }
    if (valve->has_flatness) {
        kp_validator_fault(validator, "flatness", "a rigid plate does not bend: flatness is a shim's; leave it out");
    }
    valve->clamp_washer = valve->port_inner; /* there is none */
    validate_radii(validator, damper, valve, false);
}

void kp_validate_valve(kp_validator *validator, const kp_damper_data *damper, int direction)
{
    kp_damper_data seen = *damper; /* the reservoir's stack stands in a bore of its own */
    kp_valve_data *valve = &seen.valves[direction];
    char prefix[32];

    if (direction == KP_RESERVOIR_VALVE) {
        snprintf(prefix, sizeof prefix, "reservoir.valve.");
        seen.bore = damper->reservoir.has_bore ? damper->reservoir.bore : damper->bore;
    } else {
        snprintf(prefix, sizeof prefix, "piston.%s.", kp_direction_name((kp_direction)direction));
    }

    validator->prefix = prefix;

    /* Ports, then a plate or a stack on the land. */
    validate_port(validator, &seen, valve);

    if (valve->has_port_entry && !(valve->port_entry > 0.0 && isfinite(valve->port_entry))) {
        kp_validator_fault(validator, "port.entry area", "entry area %g mm2 must not be negative",
                           1e6 * valve->port_entry);
    }

    if (valve->has_plate) {
        validate_plate_valve(validator, &seen, valve);
    } else {
        bool lines_sound = false;
        bool face_sound = validate_lines(validator, &seen, valve, &lines_sound);
        validate_radii(validator, &seen, valve, face_sound);
        validate_flatness(validator, valve, face_sound);
        kp_validate_clamp(validator, &seen, valve, lines_sound);
    }

    validator->prefix = "";
}
