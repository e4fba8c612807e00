/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Faults and warnings of the damper as a whole. Comparisons are written so that NaN is a fault: !(x > 0).
    Limits of a warning are common practice, no source, unless stated otherwise. */
#include "validator.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double USUAL_BORE_MIN = 20e-3;         /* [m] */
static const double USUAL_BORE_MAX = 150e-3;        /* [m] */
static const double USUAL_CHARGE_MAX = 40e5;        /* [Pa absolute] */
static const double USUAL_VOLUME_SHARE = 0.7;       /* [-] rod volume over gas volume at full stroke */
static const double USUAL_DENSITY_MIN = 700.0;      /* [kg/m3] */
static const double USUAL_DENSITY_MAX = 1100.0;     /* [kg/m3] */
static const double EXPANSION_MAX = 3e-3;           /* [1/K] three times that of the lightest oils */
static const double USUAL_TEMPERATURE_MIN = 233.15; /* [K] -40 degC */
static const double USUAL_TEMPERATURE_MAX = 423.15; /* [K] 150 degC, where seals and oil give up */
static const double USUAL_CLEARANCE_MAX = 0.5e-3;   /* [m] radial; more than that is no piston */
static const double USUAL_FRICTION_MAX = 1000.0;    /* [N] */
static const double BLEED_RATIO_MAX = 10.0;         /* [-] length/diameter up to which the bleed formula holds (read:
                                                        Lichtarowicz et al. 1965, as restated) */
static const double KELVIN = 273.15;                /* [K] 0 degC */

#define CHARGE_CAUTION                                                                                                 \
    "dry nitrogen only, never air or oxygen, with a regulator and a rated hose, face away from the valve; the "        \
    "maker's "                                                                                                         \
    "limit, local rules and licensed practice decide"

static void validate_body(kp_validator *validator, const kp_damper_data *damper)
{
    /* Each size alone, then one against another. */
    bool bore = kp_validator_positive_size(validator, "body.bore", "bore", damper->bore);
    bool rod = kp_validator_positive_size(validator, "body.rod", "rod", damper->rod);
    bool stroke = kp_validator_positive_size(validator, "body.stroke", "stroke", damper->stroke);

    if (bore && rod && damper->rod >= damper->bore - KP_SAME_SIZE) {
        kp_validator_fault(validator, "body.rod", "rod %g mm is not smaller than the bore %g mm", KP_MM(damper->rod),
                           KP_MM(damper->bore));
    }

    if (bore && (damper->bore < USUAL_BORE_MIN || damper->bore > USUAL_BORE_MAX)) {
        kp_validator_warning(validator, "body.bore", "bore %g mm is unusual: %g to %g mm is common",
                             KP_MM(damper->bore), KP_MM(USUAL_BORE_MIN), KP_MM(USUAL_BORE_MAX));
    }

    /* The rod stands within its stroke. */
    if (stroke && !(damper->position >= 0.0 && damper->position <= damper->stroke + KP_SAME_SIZE)) {
        kp_validator_fault(validator, "position", "position %g mm is outside the stroke, 0 to %g mm",
                           KP_MM(damper->position), KP_MM(damper->stroke));
    }

    /* Friction left out counts as none, and most dampers have some. */
    if (!(damper->friction >= 0.0 && isfinite(damper->friction))) {
        kp_validator_fault(validator, "friction", "friction %g N must not be negative", damper->friction);
    } else if (!damper->friction_given) {
        kp_validator_warning(validator, "friction",
                             "friction is not given and taken as 0 N: seals and bushes add some 20 to 150 N "
                             "(common practice, no source), which counts most at low speed");
    } else if (damper->friction > USUAL_FRICTION_MAX) {
        kp_validator_warning(validator, "friction", "friction %g N is more than a working seal makes",
                             damper->friction);
    }
}

static void validate_oil(kp_validator *validator, const kp_damper_data *damper)
{
    const kp_oil *oil = &damper->oil;
    double t = damper->oil_temperature;
    bool temperature = t > 0.0 && isfinite(t);

    if (!temperature) {
        kp_validator_fault(validator, "temperature", "oil temperature %g K must be above absolute zero", t);
    } else if (t < USUAL_TEMPERATURE_MIN || t > USUAL_TEMPERATURE_MAX) {
        kp_validator_warning(validator, "temperature", "oil temperature %g degC is outside %g to %g degC", t - KELVIN,
                             USUAL_TEMPERATURE_MIN - KELVIN, USUAL_TEMPERATURE_MAX - KELVIN);
    }

    /* Viscosity falls as the temperature rises. */
    bool cold_first = oil->temperature_1 < oil->temperature_2;
    double thick = cold_first ? oil->viscosity_1 : oil->viscosity_2;
    double thin = cold_first ? oil->viscosity_2 : oil->viscosity_1;
    double viscosity = 0.0;
    kp_error reason = {0};

    if (!(thin > 0.0 && thick > 0.0 && isfinite(thick) && isfinite(thin))) {
        kp_validator_fault(validator, "oil.viscosity", "viscosities %g and %g mm2/s must be larger than 0", 1e6 * thick,
                           1e6 * thin);
    } else if (!(fabs(oil->temperature_1 - oil->temperature_2) >= 1.0)) {
        kp_validator_fault(validator, "oil.viscosity",
                           "the two temperatures, %g and %g degC, must differ (40 and 100 degC are usual)",
                           oil->temperature_1 - KELVIN, oil->temperature_2 - KELVIN);
    } else if (!(thick > thin)) {
        kp_validator_fault(validator, "oil.viscosity",
                           "oil thins as it warms, but %g mm2/s at the lower temperature is not more than %g mm2/s at "
                           "the higher: are the two points swapped?",
                           1e6 * thick, 1e6 * thin);
    } else if (temperature && kp_oil_viscosity(oil, t, &viscosity, &reason) != KP_OK) {
        kp_validator_fault(validator, "oil.viscosity", "%.300s", reason.message);
    }

    /* Density, expansion and release of air. */
    if (!(oil->density > 0.0 && isfinite(oil->density))) {
        kp_validator_fault(validator, "oil.density", "density %g kg/m3 must be larger than 0", oil->density);
    } else if (oil->density < USUAL_DENSITY_MIN || oil->density > USUAL_DENSITY_MAX) {
        kp_validator_warning(validator, "oil.density", "density %g kg/m3 is unusual: %g to %g kg/m3 is common",
                             oil->density, USUAL_DENSITY_MIN, USUAL_DENSITY_MAX);
    }

    if (!(oil->expansion >= 0.0 && oil->expansion <= EXPANSION_MAX)) {
        kp_validator_fault(validator, "oil.expansion", "expansion %g 1/K is outside 0 to %g 1/K", oil->expansion,
                           EXPANSION_MAX);
    }

    if (!(damper->release_pressure >= 0.0 && isfinite(damper->release_pressure))) {
        kp_validator_fault(validator, "oil.release pressure", "release pressure %g bar absolute must not be negative",
                           damper->release_pressure / 1e5);
    }
}

/* At rest the gas must keep the oil above the pressure at which air leaves it. Returned: true for a fault. */
static bool validate_at_rest(kp_validator *validator, const kp_damper_data *damper)
{
    double pressure = 0.0;
    kp_error reason = {0};
    bool known = kp_damper_gas_pressure(damper, &pressure, &reason) == KP_OK;
    if (!known || pressure > damper->release_pressure) {
        return false;
    }

    kp_validator_fault(validator,
                       damper->gas_open ? "oil.release pressure" : "gas.charge", /* as kp_damper_begin does */
                       "gas pressure %.4g bar absolute with the rod %g mm in is not above %.4g bar absolute, where air "
                       "leaves the oil: the damper cavitates at rest. " CHARGE_CAUTION,
                       pressure / 1e5, KP_MM(damper->position), damper->release_pressure / 1e5);
    return true;
}

static void validate_charge(kp_validator *validator, const kp_damper_data *damper)
{
    double charge = damper->gas.charge_pressure;
    if (!(charge > 0.0 && isfinite(charge))) {
        kp_validator_fault(validator, "gas.charge", "charge %g bar absolute must be larger than 0", charge / 1e5);
        return;
    }

    if (charge < KP_ATMOSPHERE * (1.0 - 1e-9)) { /* the margin is rounding */
        kp_validator_fault(validator, "gas.charge",
                           "charge %.4g bar gauge is below the air's pressure: 0 bar gauge or more is wanted, such as "
                           "`14 bar gauge at 20 degC`; `gas: open` is a cartridge without a charge. " CHARGE_CAUTION,
                           (charge - KP_ATMOSPHERE) / 1e5);
        return;
    }

    /* The limit of the maker, else what is common. */
    if (damper->has_maximum_charge && charge > damper->maximum_charge) {
        kp_validator_fault(validator, "gas.charge",
                           "charge %.4g bar gauge is above the maximum charge, %.4g bar gauge: " CHARGE_CAUTION,
                           (charge - KP_ATMOSPHERE) / 1e5, (damper->maximum_charge - KP_ATMOSPHERE) / 1e5);
    } else if (charge > USUAL_CHARGE_MAX) {
        kp_validator_warning(validator, "gas.charge", "charge %.4g bar gauge is unusually high: " CHARGE_CAUTION,
                             (charge - KP_ATMOSPHERE) / 1e5);
    }

    if (!validate_at_rest(validator, damper) && charge <= damper->release_pressure) {
        kp_validator_warning(validator, "gas.charge",
                             "charge %.4g bar absolute is not above the pressure at which air leaves the oil, %.4g bar "
                             "absolute: the damper cavitates as soon as it moves",
                             charge / 1e5, damper->release_pressure / 1e5);
    }
}

static void validate_gas(kp_validator *validator, const kp_damper_data *damper)
{
    const kp_gas *gas = &damper->gas;
    if (damper->gas_open) {
        validate_at_rest(validator, damper);
        return; /* no charge, and no volume that could be too small */
    }

    if (damper->has_maximum_charge && !(damper->maximum_charge > 0.0 && isfinite(damper->maximum_charge))) {
        kp_validator_fault(validator, "gas.maximum charge", "maximum charge %g bar absolute must be larger than 0",
                           damper->maximum_charge / 1e5);
    }

    if (!(gas->charge_temperature > 0.0 && isfinite(gas->charge_temperature))) {
        kp_validator_fault(validator, "gas.charge", "charge temperature %g K must be above absolute zero",
                           gas->charge_temperature);
    }

    kp_validator_between(validator, "gas.exponent", "gas exponent", gas->exponent, 1.0, 1.4);
    validate_charge(validator, damper);

    if (!(gas->volume > 0.0 && isfinite(gas->volume))) {
        kp_validator_fault(validator, "gas.volume", "gas volume %g cm3 must be larger than 0", 1e6 * gas->volume);
        return;
    }

    /* Rod and warm oil must leave room for the gas at full stroke. */
    double swept = kp_damper_gas_taken(damper, damper->stroke, damper->oil_temperature); /* [m3] at full stroke */
    const char *who = damper->has_oil_volume ? "rod and the oil's expansion take" : "rod displaces";

    if (!isfinite(swept)) {
        return; /* rod or stroke is a fault already */
    }

    if (swept >= gas->volume) {
        kp_validator_fault(validator, "gas.volume",
                           "the %s %.4g cm3 in %g mm of stroke, which is not less than the gas volume, "
                           "%.4g cm3: the rod could not go in",
                           who, 1e6 * swept, KP_MM(damper->stroke), 1e6 * gas->volume);
    } else if (swept > USUAL_VOLUME_SHARE * gas->volume) {
        kp_validator_warning(validator, "gas.volume",
                             "the %s %.4g cm3 of %.4g cm3 of gas at full stroke: the gas pressure rises "
                             "%.2g-fold",
                             who, 1e6 * swept, 1e6 * gas->volume, gas->volume / (gas->volume - swept));
    }
}

static void validate_leak(kp_validator *validator, const kp_damper_data *damper)
{
    const kp_leak_data *leak = &damper->leak;
    if (!(leak->clearance >= 0.0 && isfinite(leak->clearance))) {
        kp_validator_fault(validator, "leak.clearance", "clearance %g mm must not be negative", KP_MM(leak->clearance));
    } else if (leak->clearance > USUAL_CLEARANCE_MAX) {
        kp_validator_warning(validator, "leak.clearance",
                             "radial clearance %g mm is more than %g mm: was the diametral one meant?",
                             KP_MM(leak->clearance), KP_MM(USUAL_CLEARANCE_MAX));
    }

    /* Without clearance the band's length does not matter. */
    if (leak->clearance > 0.0) {
        kp_validator_positive_size(validator, "leak.length", "length of the piston band", leak->length);
    }

    kp_validator_between(validator, "leak.eccentricity", "eccentricity", leak->eccentricity, 0.0, 1.0);
}

static void validate_bleed(kp_validator *validator, const kp_damper_data *damper, const char *where,
                           const kp_bleed *bleed, size_t index)
{
    char prefix[40];
    snprintf(prefix, sizeof prefix, "%s.bleed[%zu].", where, index);
    validator->prefix = prefix;

    if (bleed->ports < 1) {
        kp_validator_fault(validator, "ports", "%d ports: at least 1 is wanted, or leave the entry out", bleed->ports);
    } else if (bleed->plugged < 0 || bleed->plugged > bleed->ports) {
        kp_validator_fault(validator, "plugged", "%d plugged of %d ports: 0 to %d is possible", bleed->plugged,
                           bleed->ports, bleed->ports);
    }

    /* All ports together fit into the bore, and are short tubes. */
    bool diameter = kp_validator_positive_size(validator, "diameter", "diameter", bleed->diameter);
    bool length = kp_validator_positive_size(validator, "length", "length", bleed->length);

    if (diameter && damper->bore > 0.0) {
        double share = bleed->ports * (bleed->diameter / damper->bore) * (bleed->diameter / damper->bore);
        if (share >= 1.0) {
            kp_validator_fault(validator, "diameter", "%d ports of %g mm have more area than the bore of %g mm",
                               bleed->ports, KP_MM(bleed->diameter), KP_MM(damper->bore));
        }
    }

    if (diameter && length && bleed->length > BLEED_RATIO_MAX * bleed->diameter) {
        kp_validator_warning(validator, "length", "length is %.3g diameters: the bleed formula was measured up to %g",
                             bleed->length / bleed->diameter, BLEED_RATIO_MAX);
    }

    /* Jets and check valve. */
    kp_validate_bleed_parts(validator, bleed, damper->bore);
    validator->prefix = "";
}

/** Warns when nothing but the stack lets oil through: right for a closed adjuster, more often a forgotten entry. */
static void validate_passage(kp_validator *validator, const kp_damper_data *damper)
{
    /* Open bleed ports and needle, by the direction in which they pass oil. */
    int open[KP_DIRECTION_COUNT] = {0, 0};
    for (size_t i = 0; i < damper->bleed_count && i < KP_MAX_BLEEDS; i++) {
        int left = damper->bleeds[i].ports - damper->bleeds[i].plugged;
        open[KP_COMPRESSION] += damper->bleeds[i].flows != KP_FLOWS_REBOUND ? left : 0;
        open[KP_REBOUND] += damper->bleeds[i].flows != KP_FLOWS_COMPRESSION ? left : 0;
    }

    const kp_adjuster_data *a = &damper->adjuster;
    bool needle =
        damper->has_adjuster && a->point_count <= KP_MAX_ADJUSTER_POINTS && kp_adjuster_area(a, a->clicks) > 0;
    open[KP_COMPRESSION] += needle && a->flows != KP_FLOWS_REBOUND;
    open[KP_REBOUND] += needle && a->flows != KP_FLOWS_COMPRESSION;

    for (int i = 0; i < KP_DIRECTION_COUNT; i++) { /* slots of either face shim are open both ways */
        const kp_valve_data *valve = &damper->valves[i];
        bool slots = !valve->has_plate && valve->line_count > 0 && valve->lines[0].slot_count > 0 &&
                     kp_valve_slot_inner(valve, &valve->lines[0]) < valve->land_inner;
        open[KP_COMPRESSION] += slots;
        open[KP_REBOUND] += slots;
    }

    for (int i = 0; i < KP_DIRECTION_COUNT; i++) {
        if (open[i] <= 0 && !(damper->leak.clearance > 0.0)) {
            kp_validator_warning(validator, "piston.bleed",
                                 "in %s neither an open bleed port nor a leak is given: below the stack's cracking "
                                 "pressure no oil passes",
                                 kp_direction_name((kp_direction)i));
        }
    }
}

kp_status kp_damper_validate(const kp_damper_data *damper, kp_findings *findings, kp_error *error)
{
    kp_validator validator = {findings, error, KP_OK, ""};

    /* Body, oil, gas and leak. */
    validate_body(&validator, damper);
    validate_oil(&validator, damper);
    validate_gas(&validator, damper);
    validate_leak(&validator, damper);

    /* Paths in parallel with the stacks. */
    if (damper->bleed_count > KP_MAX_BLEEDS) {
        kp_validator_fault(&validator, "piston.bleed", "%zu entries; at most %d are possible", damper->bleed_count,
                           KP_MAX_BLEEDS);
    }

    for (size_t i = 0; i < damper->bleed_count && i < KP_MAX_BLEEDS; i++) {
        validate_bleed(&validator, damper, "piston", &damper->bleeds[i], i);
    }

    for (size_t i = 0; damper->reservoir.given && i < damper->reservoir.bleed_count && i < KP_MAX_BLEEDS; i++) {
        validate_bleed(&validator, damper, "reservoir", &damper->reservoir.bleeds[i], i);
    }

    if (damper->has_adjuster) {
        kp_validate_adjuster(&validator, "piston.adjuster", &damper->adjuster);
    }

    kp_validate_reservoir(&validator, damper);
    kp_validate_divider(&validator, damper);
    kp_validate_oil_range(&validator, damper);

    /* Every way is known by now. */
    validate_passage(&validator, damper);

    /* Materials before the stacks that are made of them. */
    if (damper->material_count > KP_MAX_MATERIALS) {
        kp_validator_fault(&validator, "materials", "%zu materials; at most %d are possible", damper->material_count,
                           KP_MAX_MATERIALS);
    }

    kp_validate_materials(&validator, damper);
    for (int i = 0; i < KP_DIRECTION_COUNT; i++) {
        kp_validate_valve(&validator, damper, i);
    }

    if (damper->reservoir.given && damper->reservoir.has_valve) {
        kp_validate_valve(&validator, damper, KP_RESERVOIR_VALVE);
    }

    return validator.status;
}

kp_status kp_damper_fault(const kp_damper_data *damper, kp_error *error)
{
    kp_findings findings = {0};
    kp_status status = kp_damper_validate(damper, &findings, error);
    for (size_t i = 0; status == KP_OK && i < findings.count; i++) {
        if (findings.items[i].fault) {
            status = kp_error_set(error, KP_BAD_INPUT, "%s", findings.items[i].text);
        }
    }
    kp_findings_free(&findings);
    return status;
}
