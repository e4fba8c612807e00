/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "starter.h"

#include "manual.h"

#include <string.h>

/** The text as it grows. */
typedef struct page {
    kp_unit_system units;
    char *text;
    size_t used;
} page;

static const char ASSUMED[] = "assumed: measure";
static const char COUNTED[] = "assumed: count";

KP_PRINTF(2, 3)
static void put(page *to, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    to->used += kp_text_format(to->text + to->used, (size_t)KP_STARTER_SIZE - to->used, format, arguments);
    va_end(arguments);
}

/** One key with its value, standing behind it, how to measure it above it. note: "body.bore" in the manual. */
static void put_key(page *to, int indent, const char *note, const char *value, const char *standing)
{
    const char *measure = kp_key_note_named(note)->measure;
    const char *name = strchr(note, '.') + 1;
    char line[200];
    kp_text_print(line, sizeof line, "%*s%s: %s", indent, "", name, value);

    put(to, "%*s# %s\n", indent, "", measure);
    put(to, "%-34s # %s\n", line, standing);
}

/** A value in the units of the file, with no more digits than it has. */
static void show(const page *to, double value, kp_dimension dimension, char out[40])
{
    double number = kp_unit_convert(value, dimension, to->units);
    kp_text_print(out, 40, "%.4g %s", number, kp_unit_name(dimension, to->units));
}

static void put_size(page *to, int indent, const char *note, double value, kp_dimension dimension)
{
    char text[40];
    show(to, value, dimension, text);
    put_key(to, indent, note, text, ASSUMED);
}

/** A length of the damper: as given, or typical. */
static void put_given(page *to, const char *note, const kp_starter_size *given, double value)
{
    if (given->text != NULL) {
        put_key(to, 2, note, given->text, "as given");
    } else {
        put_size(to, 2, note, value, KP_DIM_LENGTH);
    }
}

/** Per cent and other plain numbers. */
static void put_plain(page *to, int indent, const char *note, const char *value)
{
    put_key(to, indent, note, value, ASSUMED);
}

static void put_count(page *to, int indent, const char *note, int count)
{
    char text[20];
    kp_text_print(text, sizeof text, "%d", count);
    put_key(to, indent, note, text, COUNTED);
}

/* ---- blocks ---------------------------------------------------------------------------------------------------- */

static void put_body(page *to, const kp_starter *starter, const kp_starter_sizes *sizes)
{
    put(to, "body:\n");
    put_given(to, "body.bore", &starter->bore, sizes->bore);
    put_given(to, "body.rod", &starter->rod, sizes->rod);
    put_given(to, "body.stroke", &starter->stroke, sizes->stroke);
}

static void put_oil_and_gas(page *to, const kp_starter_sizes *sizes)
{
    bool inch = to->units == KP_UNITS_INCH;
    put(to, "oil:\n");
    put_key(to, 2, "oil.viscosity",
            inch ? "{104 degF: 15 cSt, 212 degF: 3.8 cSt}" : "{40 degC: 15 mm2/s, 100 degC: 3.8 mm2/s}",
            "assumed: from its data sheet");
    put_key(to, 2, "oil.density", inch ? "53.7 lb/ft3" : "860 kg/m3", ASSUMED);

    put(to, "gas:\n");
    put(to, "  # Dry nitrogen only. Charging is for licensed practice, within the maker's limit, which goes here:\n");
    put(to, "  # maximum charge: %s\n", inch ? "290 psi gauge" : "20 bar gauge");
    put_key(to, 2, "gas.charge", inch ? "200 psi gauge at 68 degF" : "14 bar gauge at 20 degC", ASSUMED);
    put(to, "  divider:                         # the floating piston that the gas stands behind\n");
    put_size(to, 4, "divider.bore", sizes->gas_bore, KP_DIM_LENGTH);
    put_size(to, 4, "divider.depth", sizes->gas_depth, KP_DIM_LENGTH);
    put_size(to, 4, "divider.travel", sizes->gas_travel, KP_DIM_LENGTH);
}

static void put_stack(page *to, int indent, const kp_starter_stack *stack)
{
    bool inch = to->units == KP_UNITS_INCH;
    put(to, "%*s# %s\n", indent, "", kp_key_note_named("valve.stack")->measure);
    put(to, "%*sstack:%*s# from the piston face outward; assumed: measure\n", indent, "", 29 - indent, "");
    for (size_t i = 0; i < stack->count; i++) {
        double outside = kp_unit_convert(stack->outside[i], KP_DIM_LENGTH, to->units);
        if (inch) {
            put(to, "%*s- %d of %.4g in x %.3g thou\n", indent + 2, "", stack->shims[i], outside,
                stack->thickness[i] / 25.4e-6);
        } else {
            put(to, "%*s- %d of %.4g x %.2f mm\n", indent + 2, "", stack->shims[i], outside, 1e3 * stack->thickness[i]);
        }
    }
}

static void put_valve(page *to, int indent, const kp_starter_valve *valve)
{
    char curtain[20];
    kp_text_print(curtain, sizeof curtain, "%.0f %%", 100.0 * valve->curtain);

    put(to, "%*sport:\n", indent, "");
    put_size(to, indent + 2, "port.area", valve->port_area, KP_DIM_AREA);
    put_size(to, indent + 2, "port.inner", valve->port_inner, KP_DIM_LENGTH);
    put(to, "%*sland:\n", indent, "");
    put_size(to, indent + 2, "land.inner", valve->land_inner, KP_DIM_LENGTH);
    put_size(to, indent + 2, "land.outer", valve->land_outer, KP_DIM_LENGTH);
    put_plain(to, indent, "valve.load coverage", "100 %");
    put_plain(to, indent, "valve.curtain coverage", curtain);
    put_size(to, indent, "valve.dish", valve->dish, KP_DIM_LENGTH);
    put(to, "%*sclamp:\n", indent, "");
    put_size(to, indent + 2, "clamp.washer", valve->washer, KP_DIM_LENGTH);
    put_key(to, indent + 2, "clamp.grip", "held", "assumed");
    put_stack(to, indent, &valve->stack);
}

static void put_adjuster(page *to, int indent, double seat, double per_click)
{
    put(to, "%*sadjuster:\n", indent, "");
    put_count(to, indent + 2, "adjuster.clicks", 8);
    put_count(to, indent + 2, "adjuster.most clicks", 20);
    put_size(to, indent + 2, "adjuster.seat", seat, KP_DIM_LENGTH);
    put_size(to, indent + 2, "adjuster.area per click", per_click, KP_DIM_AREA);
}

static void put_piston(page *to, const kp_starter *starter, const kp_starter_sizes *sizes)
{
    put(to, "piston:\n  bleed:\n    -\n");
    put_count(to, 6, "bleed.ports", sizes->bleed_ports);
    put_count(to, 6, "bleed.plugged", sizes->bleed_plugged);
    put_size(to, 6, "bleed.diameter", sizes->bleed_diameter, KP_DIM_LENGTH);
    put_size(to, 6, "bleed.length", sizes->bleed_length, KP_DIM_LENGTH);
    if (starter->reservoir) {
        put(to, "  # The rebound needle through the rod; without one delete this block.\n");
        put_adjuster(to, 2, sizes->rebound_needle_seat, sizes->rebound_area_per_click);
    }
    put(to, "  compression:                     # this stack sits on the rod side of the piston\n");
    put_valve(to, 4, &sizes->valves[0]);
    put(to, "  rebound:                         # this stack sits on the side away from the rod\n");
    put_valve(to, 4, &sizes->valves[1]);
}

static void put_reservoir(page *to, const kp_starter_sizes *sizes)
{
    bool inch = to->units == KP_UNITS_INCH;
    put(to, "reservoir:\n");
    put_size(to, 2, "reservoir.bore", sizes->reservoir_bore, KP_DIM_LENGTH);
    put(to, "  # The compression needle; without one delete this block.\n");
    put_adjuster(to, 2, sizes->needle_seat, sizes->area_per_click);
    put(to, "  valve:                           # opened in compression by the oil that the rod displaces\n");
    put_valve(to, 4, &sizes->reservoir_valve);
    put(to, "  return check:                    # lets the oil back in rebound\n");
    put_size(to, 4, "check.seat", sizes->check_seat, KP_DIM_LENGTH);
    put_key(to, 4, "check.preload", inch ? "0.45 lbf" : "2 N", ASSUMED);
    put_key(to, 4, "check.rate", inch ? "5.7 lbf/in" : "1 N/mm", ASSUMED);
    put_size(to, 4, "check.lift", sizes->check_lift, KP_DIM_LENGTH);
    put(to, "  hose:                            # a piggyback has none: delete this block\n");
    put_size(to, 4, "hose.length", sizes->hose_length, KP_DIM_LENGTH);
    put_size(to, 4, "hose.bore", sizes->hose_bore, KP_DIM_LENGTH);
}

/* ---- the file -------------------------------------------------------------------------------------------------- */

static kp_status check_range(const kp_starter_sizes *sizes, kp_error *error)
{
    if (!(sizes->bore >= 20e-3 && sizes->bore <= 120e-3)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "a bore of %.4g mm is outside 20 to 120 mm (0.8 to 4.7 in)",
                            1e3 * sizes->bore);
    }
    if (!(sizes->rod >= 0.2 * sizes->bore && sizes->rod <= 0.7 * sizes->bore)) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "a shaft of %.4g mm is outside 0.2 to 0.7 of the bore, %.4g to %.4g mm", 1e3 * sizes->rod,
                            200.0 * sizes->bore, 700.0 * sizes->bore);
    }
    if (!(sizes->stroke >= 20e-3 && sizes->stroke <= 600e-3)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "a stroke of %.4g mm is outside 20 to 600 mm (0.8 to 23.6 in)",
                            1e3 * sizes->stroke);
    }
    return KP_OK;
}

kp_status kp_starter_write(const kp_starter *starter, char *text, kp_error *error)
{
    kp_starter_sizes sizes;
    kp_starter_fill(starter, &sizes);
    kp_status status = check_range(&sizes, error);
    if (status != KP_OK) {
        return status;
    }

    page to = {starter->units, text, 0};
    put(&to, "# A damper file to start from. Sizes marked \"assumed\" are typical for the bore; they are not yours.\n"
             "# Measure, type your own, and take the mark away. `kneepoint check` says what is still wrong; all keys,\n"
             "# also those that are not here, are explained by `kneepoint help file`.\n"
             "# Let the charge out before you open a damper. That is for licensed practice.\n"
             "format: 1\n");
    put(&to, "name: %s damper, first file\n", starter->piston == KP_STARTER_LINEAR ? "Linear" : "Digressive");
    put_body(&to, starter, &sizes);
    put_oil_and_gas(&to, &sizes);
    put_size(&to, 0, "damper.friction", sizes.friction, KP_DIM_FORCE);
    put_plain(&to, 0, "damper.temperature", to.units == KP_UNITS_INCH ? "104 degF" : "40 degC");
    put(&to, "leak:\n");
    put_key(&to, 2, "leak.clearance", to.units == KP_UNITS_INCH ? "0.8 thou" : "0.02 mm", ASSUMED);
    put_size(&to, 2, "leak.length", sizes.band, KP_DIM_LENGTH);
    put_key(&to, 2, "leak.eccentricity", "0.5", "assumed");
    put_piston(&to, starter, &sizes);
    if (starter->reservoir) {
        put_reservoir(&to, &sizes);
    }
    return KP_OK;
}
