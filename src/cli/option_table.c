/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Every option: its name, who takes it, its help, and how its value is read. */
#include "cli/option_table.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define MIN_SPEED                1e-4     /* [m/s] below this a damper creeps and friction rules */
#define MAX_SPEED                10.0     /* [m/s] beyond any suspension */
#define DEFAULT_SENSITIVITY_LIFT 0.4e-3   /* [m] a valve wide open */
#define MIN_LIFT                 1e-6     /* [m] */
#define MAX_LIFT                 5e-3     /* [m] beyond any shim */
#define MAX_PRESSURE             100e6    /* [Pa] beyond any shim */
#define MIN_TEMPERATURE          200.0    /* [K] */
#define MAX_TEMPERATURE          500.0    /* [K] */
#define MAX_CHARGE               10e6     /* [Pa absolute] beyond any damper */
#define MIN_SAMPLES              40.0     /* [-] of a band, as kp_band_run takes them */
#define MAX_SAMPLES              200000.0 /* [-] */
#define MAX_SEED                 1e15     /* [-] every whole number up to it is a double */
#define MAX_CLICKS               1000.0   /* [-] */

static const char *const directions[] = {"compression", "rebound"};

/* ---- words and numbers ------------------------------------------------------------------------------------------- */

/* One of a few words, or a usage error that lists them. */
static kp_status read_word(const char *option, const char *value, const char *const *words, size_t count, int *index,
                           kp_error *error)
{
    char list[120] = "";

    for (size_t i = 0; i < count; i++) {
        if (strcmp(value, words[i]) == 0) {
            *index = (int)i;
            return KP_OK;
        }

        size_t used = strlen(list);
        snprintf(list + used, sizeof list - used, "%s%s", i == 0 ? "" : i + 1 == count ? " or " : ", ", words[i]);
    }

    char shown[KP_TEXT_SHOWN];
    kp_text_show(value, shown, sizeof shown);
    return kp_error_set(error, KP_USAGE, "%s `%s`: %s is wanted", option, shown, list);
}

/* A whole number of a range. */
static kp_status read_count(const char *option, const char *value, double min, double max, size_t *out, kp_error *error)
{
    double number = 0.0;
    char shown[KP_TEXT_SHOWN];
    if (!kp_number_read(value, &number) || number != floor(number) || number < min || number > max) {
        kp_text_show(value, shown, sizeof shown);
        return kp_error_set(error, KP_USAGE, "%s `%s`: a whole number from %.0f to %.0f is wanted", option, shown, min,
                            max);
    }

    *out = (size_t)number;
    return KP_OK;
}

/* ---- lists of quantities ----------------------------------------------------------------------------------------- */

static bool inch(const kp_options *options)
{
    return options->request.units == KP_UNITS_INCH;
}

/* The unit of a bare speed: kp_options_read has seen --units already, wherever it stands. */
static const char *bare_speed(const kp_options *options)
{
    return inch(options) ? "in/s" : "m/s";
}

static kp_status read_speeds(const char *value, kp_options *options, kp_error *error)
{
    return kp_list_read(value, "--speeds", KP_DIM_SPEED, bare_speed(options), MIN_SPEED, MAX_SPEED,
                        &options->request.speeds, error);
}

static kp_status read_pressures(const char *value, kp_options *options, kp_error *error)
{
    return kp_list_read(value, "--pressures", KP_DIM_PRESSURE, "", 0.0, MAX_PRESSURE, &options->request.pressures,
                        error);
}

static kp_status read_temperatures(const char *value, kp_options *options, kp_error *error)
{
    return kp_list_read(value, "--temperature", KP_DIM_TEMPERATURE, inch(options) ? "degF" : "degC", MIN_TEMPERATURE,
                        MAX_TEMPERATURE, &options->request.temperatures, error);
}

static kp_status read_charges(const char *value, kp_options *options, kp_error *error)
{
    options->request.charges_gauge = strstr(value, "gauge") != NULL;
    return kp_list_read(value, "--charge", KP_DIM_GAS_PRESSURE, "", 0.0, MAX_CHARGE, &options->request.charges, error);
}

static kp_status read_limits(const char *value, kp_options *options, kp_error *error)
{
    kp_list list;
    kp_status status =
        kp_list_read(value, "--limits", KP_DIM_SPEED, bare_speed(options), MIN_SPEED, MAX_SPEED, &list, error);
    if (status != KP_OK) {
        return status;
    }

    if (list.count != 3 || !(list.values[0] < list.values[1] && list.values[1] < list.values[2])) {
        return kp_error_set(error, KP_USAGE,
                            "--limits `%.60s`: three rising speeds are wanted: where low speed ends, where high speed "
                            "begins, and the top, such as 0.1,0.5,1.05",
                            value);
    }

    options->request.limits = (kp_speed_limits){list.values[0], list.values[1], list.values[2]};
    return KP_OK;
}

static kp_status read_sensitivity(const char *value, kp_options *options, kp_error *error)
{
    kp_list list = {.count = 1, .values = {DEFAULT_SENSITIVITY_LIFT}};
    kp_status status = KP_OK;

    /* Without a value the default lift stands. */
    if (value != NULL) {
        status = kp_list_read(value, "--sensitivity", KP_DIM_LENGTH, "", MIN_LIFT, MAX_LIFT, &list, error);
    }

    if (status == KP_OK && list.count != 1) {
        return kp_error_set(error, KP_USAGE, "--sensitivity=%.60s: one lift is wanted, such as --sensitivity=0.4mm",
                            value);
    }

    options->request.sensitivity = status == KP_OK;
    options->request.sensitivity_lift = list.values[0];
    return status;
}

/* ---- what the report is to say ----------------------------------------------------------------------------------- */

static kp_status read_units(const char *value, kp_options *options, kp_error *error)
{
    static const char *const systems[] = {"metric", "inch"};
    int index = 0;
    kp_status status = read_word("--units", value, systems, 2, &index, error);
    options->request.units = index == 0 ? KP_UNITS_METRIC : KP_UNITS_INCH;
    options->request.has_units = status == KP_OK;
    return status;
}

static kp_status read_direction(const char *value, kp_options *options, kp_error *error)
{
    int index = 0;
    kp_status status = read_word("--direction", value, directions, 2, &index, error);
    options->request.direction = index == 0 ? KP_COMPRESSION : KP_REBOUND;
    options->request.has_direction = true;
    return status;
}

static kp_status read_sweep(const char *value, kp_options *options, kp_error *error)
{
    int index = 0;
    kp_status status = read_word("--clicks-sweep", value, directions, 2, &index, error);
    options->request.sweep = index == 0 ? KP_COMPRESSION : KP_REBOUND;
    options->request.has_sweep = true;
    return status;
}

/* "compression=8,rebound=4" */
static kp_status read_clicks(const char *value, kp_options *options, kp_error *error)
{
    const char *at = value;

    while (at != NULL) {
        size_t length = strcspn(at, ",");
        char item[48];
        double clicks = -1.0;
        int which = -1;
        snprintf(item, sizeof item, "%.*s", (int)(length < sizeof item ? length : sizeof item - 1), at);

        /* Direction before the equals sign, clicks behind it. */
        char *equals = strchr(item, '=');
        if (equals != NULL) {
            *equals = '\0';
            which = strcmp(item, "compression") == 0 ? KP_COMPRESSION : strcmp(item, "rebound") == 0 ? KP_REBOUND : -1;
        }

        if (which < 0 || !kp_number_read(equals + 1, &clicks) || !(clicks >= 0.0 && clicks <= MAX_CLICKS) ||
            clicks > (double)(int)clicks) {
            return kp_error_set(
                error, KP_USAGE,
                "--clicks `%.60s`: compression=8, rebound=4 or both with a comma between them are wanted, "
                "whole clicks from closed",
                value);
        }

        options->request.has_clicks[which] = true;
        options->request.clicks[which] = (int)clicks;
        at = at[length] == ',' ? at + length + 1 : NULL;
    }

    return KP_OK;
}

static kp_status read_setting(const char *value, kp_options *options, kp_error *error)
{
    const char *equals = strchr(value, '=');
    if (equals == NULL || equals == value) {
        return kp_error_set(error, KP_USAGE, "--set `%.60s`: KEY=VALUE is wanted, such as 'body.rod=22 mm'", value);
    }

    if (options->request.setting_count == KP_MAX_SETTINGS) {
        return kp_error_set(error, KP_USAGE, "more than %d times --set: write a trial file `based on` the other",
                            KP_MAX_SETTINGS);
    }

    options->request.settings[options->request.setting_count++] = value;
    return KP_OK;
}

static kp_status read_lesson(const char *value, kp_options *options, kp_error *error)
{
    const char *topics[KP_LESSON_COUNT];
    int index = 0;

    for (int i = 0; i < KP_LESSON_COUNT; i++) {
        topics[i] = kp_lesson_name((kp_lesson_topic)i);
    }

    kp_status status = read_word("--lesson", value, topics, KP_LESSON_COUNT, &index, error);

    options->request.lesson = (kp_lesson_topic)index;
    options->request.has_lesson = status == KP_OK;
    return status;
}

static kp_status read_samples(const char *value, kp_options *options, kp_error *error)
{
    return read_count("--samples", value, MIN_SAMPLES, MAX_SAMPLES, &options->request.samples, error);
}

static kp_status read_seed(const char *value, kp_options *options, kp_error *error)
{
    size_t seed = 0;
    kp_status status = read_count("--seed", value, 0.0, MAX_SEED, &seed, error);
    options->request.seed = seed;
    options->request.has_seed = status == KP_OK;
    return status;
}

static kp_status read_correlation(const char *value, kp_options *options, kp_error *error)
{
    kp_quantity share;
    char shown[KP_TEXT_SHOWN];
    if (kp_quantity_read(value, KP_DIM_NONE, &share, NULL) != KP_OK || share.has_tolerance ||
        !(share.value >= 0.0 && share.value <= 1.0)) {
        kp_text_show(value, shown, sizeof shown);
        return kp_error_set(error, KP_USAGE, "--correlation `%s`: 0 to 1 is wanted, or per cent such as '80 %%'",
                            shown);
    }

    options->request.correlation = share.value;
    options->request.has_correlation = true;
    return KP_OK;
}

/* ---- what `new` writes ------------------------------------------------------------------------------------------- */

/* A length, kept as it was typed. */
static kp_status read_size(const char *option, const char *value, kp_starter_size *out, kp_error *error)
{
    kp_quantity size;
    kp_error reason = {0};
    if (kp_quantity_read(value, KP_DIM_LENGTH, &size, &reason) != KP_OK) {
        return kp_error_set(error, KP_USAGE, "%s %.200s", option, reason.message);
    }

    *out = (kp_starter_size){value + strspn(value, " \t"), size.value};
    return KP_OK;
}

static kp_status read_bore(const char *value, kp_options *options, kp_error *error)
{
    kp_status status = read_size("--bore", value, &options->starter.bore, error);
    bool inch =
        strpbrk(value, "\"iI") != NULL || strstr(value, "\xE2\x80\xB3") != NULL || strstr(value, "thou") != NULL;
    options->starter.units = inch ? KP_UNITS_INCH : KP_UNITS_METRIC;
    return status;
}

static kp_status read_shaft(const char *value, kp_options *options, kp_error *error)
{
    return read_size("--shaft", value, &options->starter.rod, error);
}

static kp_status read_stroke(const char *value, kp_options *options, kp_error *error)
{
    return read_size("--stroke", value, &options->starter.stroke, error);
}

static kp_status read_piston(const char *value, kp_options *options, kp_error *error)
{
    static const char *const pistons[] = {"digressive", "linear"};
    int index = 0;
    kp_status status = read_word("--piston", value, pistons, 2, &index, error);
    options->starter.piston = (kp_starter_piston)index;
    return status;
}

/* ---- how it is given --------------------------------------------------------------------------------------------- */

static kp_status read_format(const char *value, kp_options *options, kp_error *error)
{
    static const char *const formats[] = {"table", "csv", "json"};
    int index = 0;
    kp_status status = read_word("--format", value, formats, 3, &index, error);
    options->format = (kp_format)index;
    return status;
}

static kp_status read_plot(const char *value, kp_options *options, kp_error *error)
{
    options->plot = true;
    options->plot_file = value;
    if (value != NULL && !kp_figure_path_is_drawable(value)) {
        return kp_error_set(error, KP_USAGE, "--plot `%.60s`: a plot file ends in .svg, .png or .pdf", value);
    }
    return KP_OK;
}

static kp_status read_threads(const char *value, kp_options *options, kp_error *error)
{
    return read_count("--threads", value, 1.0, KP_MAX_THREADS, &options->threads, error);
}

/* ---- the table --------------------------------------------------------------------------------------------------- */

#define ALL (KP_CHECK | KP_LIFT | KP_CURVE | KP_COMPARE | KP_EXPLAIN | KP_BAND)

const kp_option_row kp_option_rows[] = {
    {"bore", "SIZE", read_bore, 0, KP_NEW, "bore of the body: 63.5mm, 2.5in or '2-1/2 in' (2.5 in if not given)"},
    {"shaft", "SIZE", read_shaft, 0, KP_NEW, "diameter of the rod"},
    {"stroke", "SIZE", read_stroke, 0, KP_NEW, "travel from fully out to fully in"},
    {"piston", "KIND", read_piston, 0, KP_NEW, "digressive (if not given): a dished seat; linear: a flat one"},
    {"reservoir", NULL, NULL, offsetof(kp_options, starter.reservoir), KP_NEW,
     "with a reservoir on a hose, and adjusters in both directions"},
    {"speeds", "LIST", read_speeds, 0, KP_CURVE | KP_COMPARE | KP_CHECK | KP_EXPLAIN | KP_BAND,
     "shaft speeds, in m/s (with --units inch in/s) unless a unit is\n"
     "given: 0.05,0.1,0.25 or "
     "52,131,262mm/s or 0.05..1.0:20 (20 of them, evenly spaced).\n"
     "Without it: 0.052,0.131,0.262,0.393,0.524,1.047 m/s"},
    {"limits", "LOW,HIGH,TOP", read_limits, 0, KP_CURVE | KP_COMPARE | KP_CHECK | KP_EXPLAIN,
     "where low speed ends, high speed begins, and the range ends"},
    {"lesson", "TOPIC", read_lesson, 0, KP_EXPLAIN,
     "bleed, dish, crossover, taper, thickness, charge, temperature,\n"
     "clamp or folding: that one thing changed in steps, from this very file"},
    {"direction", "WHICH", read_direction, 0, KP_LIFT | KP_EXPLAIN,
     "compression (if not given) or rebound: which stack; for explain,\n"
     "of a lesson"},
    {"pressures", "LIST", read_pressures, 0, KP_LIFT,
     "pressures on the face shim with their unit: 0.25MPa,0.5MPa or\n"
     "1..40bar:40"},
    {"discs", NULL, NULL, offsetof(kp_options, request.discs), KP_LIFT,
     "edge lift, peak stress, mean and alternating stress of every\n"
     "shim; shim 1 lies on the seat"},
    {"profile", NULL, NULL, offsetof(kp_options, request.profile), KP_LIFT,
     "radius, lift and surface stresses along every shim"},
    {"sensitivity", "[=LIFT]", read_sensitivity, 0, KP_LIFT,
     "what grip, clamp, land and thickness may change, as pressure that\n"
     "opens the seat by LIFT (0.4 mm if not given): --sensitivity=0.3mm"},
    {"free", NULL, NULL, offsetof(kp_options, request.free), KP_LIFT, "the stack without its seat"},
    {"round", NULL, NULL, offsetof(kp_options, request.round), KP_LIFT,
     "shims held round, which no real ones are once they fold: for\n"
     "comparison and teaching"},
    {"clicks", "LIST", read_clicks, 0, ALL & ~(unsigned)KP_LIFT,
     "where the adjusters stand for this run, clicks from closed:\n"
     "compression=8,rebound=4"},
    {"clicks-sweep", "WHICH", read_sweep, 0, KP_CURVE,
     "a family of curves, closed to open: the compression or the\n"
     "rebound adjuster, and what it does to the other direction"},
    {"temperature", "LIST", read_temperatures, 0, KP_CURVE,
     "a family of curves, one for each oil temperature: 20,60,100\n"
     "(degC, with --units inch degF, unless a unit is given)"},
    {"charge", "LIST", read_charges, 0, KP_CURVE,
     "a family of curves, one for each charge, up to the file's\n"
     "maximum: '10,14,18 bar gauge'"},
    {"set", "KEY=VALUE", read_setting, 0, ALL,
     "one key of the file for this run, may be repeated:\n"
     "--set 'piston.compression.dish=0.3 mm'"},
    {"format", "KIND", read_format, 0, ALL, "table (if not given), csv or json; csv and json are in SI units"},
    {"units", "SYSTEM", read_units, 0, ALL | KP_NEW,
     "metric or inch, for answers and for numbers without a unit; if not\n"
     "given those of the file, else of KNEEPOINT_UNITS, else metric"},
    {"plot", "[FILE]", read_plot, 0, KP_LIFT | KP_CURVE | KP_COMPARE | KP_EXPLAIN | KP_BAND,
     "draw into FILE.svg, FILE.png or FILE.pdf; without a file in a\n"
     "window or, with no display, in the terminal"},
    {"stress", NULL, NULL, offsetof(kp_options, request.stress), KP_LIFT, "colour the shims of --plot by their stress"},
    {"band", NULL, NULL, offsetof(kp_options, request.band), KP_COMPARE,
     "at which speeds they differ by more than parts, oil and charge scatter"},
    {"samples", "N", read_samples, 0, KP_BAND | KP_COMPARE, "builds to sample for a band (10000 if not given)"},
    {"seed", "N", read_seed, 0, KP_BAND | KP_COMPARE,
     "another seed gives other samples of the same band (1 if not given)"},
    {"correlation", "SHARE", read_correlation, 0, KP_BAND | KP_COMPARE,
     "between the thicknesses of two shims of one strip lot, 0 to 1 or\n"
     "in % (80 % if not given)"},
    {"threads", "N", read_threads, 0, KP_EXPLAIN | KP_BAND | KP_COMPARE,
     "processors to work on (if not given: all); changes no number"},
    {"rebound-up", NULL, NULL, offsetof(kp_options, request.rebound_up), KP_CURVE | KP_COMPARE | KP_BAND,
     "plot rebound up and compression down"},
    {"with-gas", NULL, NULL, offsetof(kp_options, request.with_gas), KP_CURVE | KP_COMPARE | KP_EXPLAIN,
     "show the whole force, gas force in it, instead of the damping force\n"
     "(compare: in the plot); csv and json have all parts in any case"},
    {"help", NULL, NULL, 0, ALL | KP_NEW | KP_COMPLETION, "this text"},
    {NULL, NULL, NULL, 0, 0, NULL},
};
