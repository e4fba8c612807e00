/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Reads the options of a command into one struct. */
#include "cli/output.h"

#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static const double SLOWEST = 1e-4;             /* [m/s] below this a damper creeps and friction rules */
static const double FASTEST = 10.0;             /* [m/s] beyond any suspension */
static const double USUAL_DOUBTS_LIFT = 0.4e-3; /* [m] a valve wide open */
static const double LEAST_LIFT = 1e-6;          /* [m] */
static const double MOST_LIFT = 5e-3;           /* [m] beyond any shim */
static const double MOST_PRESSURE = 100e6;      /* [Pa]  beyond any shim */

static const double LEAST_SAMPLES = 40.0, MOST_SAMPLES = 200000.0; /* [-] of a band: study.h */
static const double LARGEST_SEED = 1e15;                           /* [-] every whole number up to it is a double */

enum { ALL = KP_CHECK | KP_LIFT | KP_CURVE | KP_COMPARE | KP_EXPLAIN | KP_BAND };

typedef enum kp_option_id {
    OPTION_FORMAT = 256, /* above every character: a long option is never mistaken for a short one */
    OPTION_UNITS,
    OPTION_SET,
    OPTION_PLOT,
    OPTION_SPEEDS,
    OPTION_PRESSURES,
    OPTION_DIRECTION,
    OPTION_DISCS,
    OPTION_PROFILE,
    OPTION_DOUBTS,
    OPTION_FREE,
    OPTION_LIMITS,
    OPTION_REBOUND_UP,
    OPTION_LESSON,
    OPTION_BAND,
    OPTION_STRESS,
    OPTION_SAMPLES,
    OPTION_SEED,
    OPTION_CORRELATION,
    OPTION_THREADS,
    OPTION_TEMPERATURE,
    OPTION_CHARGE,
    OPTION_CLICKS,
    OPTION_SWEEP,
    OPTION_HELP
} kp_option_id;

typedef struct kp_option_row {
    const char *name;
    const char *argument; /* NULL: takes none */
    kp_option_id id;
    unsigned commands;
    const char *help; /* lines after the first are indented by the writer */
} kp_option_row;

static const kp_option_row option_rows[] = {
    {"speeds", "LIST", OPTION_SPEEDS, KP_CURVE | KP_COMPARE | KP_CHECK | KP_EXPLAIN | KP_BAND,
     "shaft speeds, in m/s unless a unit is given: 0.05,0.1,0.25 or\n"
     "52,131,262mm/s or 0.05..1.0:20 (20 of them, evenly spaced).\n"
     "Without it: 0.052,0.131,0.262,0.393,0.524,1.047 m/s"},
    {"limits", "LOW,HIGH,TOP", OPTION_LIMITS, KP_CURVE | KP_COMPARE | KP_CHECK | KP_EXPLAIN,
     "where low speed ends, high speed begins, and the range ends"},
    {"lesson", "TOPIC", OPTION_LESSON, KP_EXPLAIN,
     "bleed, dish, crossover, taper, thickness, charge, temperature\n"
     "or clamp: that one thing changed in steps, from this very file"},
    {"direction", "WHICH", OPTION_DIRECTION, KP_LIFT | KP_EXPLAIN,
     "compression (if not given) or rebound: which stack; for explain,\n"
     "of a lesson"},
    {"pressures", "LIST", OPTION_PRESSURES, KP_LIFT,
     "pressures on the face shim with their unit: 0.25MPa,0.5MPa or\n"
     "1..40bar:40"},
    {"discs", NULL, OPTION_DISCS, KP_LIFT,
     "edge lift, peak stress, mean and alternating stress of every\n"
     "shim; shim 1 lies on the seat"},
    {"profile", NULL, OPTION_PROFILE, KP_LIFT, "radius, lift and surface stresses along every shim"},
    {"doubts", "[=LIFT]", OPTION_DOUBTS, KP_LIFT,
     "what grip, clamp, land and thickness may change, as pressure that\n"
     "opens the seat by LIFT (0.4 mm if not given): --doubts=0.3mm"},
    {"free", NULL, OPTION_FREE, KP_LIFT, "the stack without its seat"},
    {"clicks", "LIST", OPTION_CLICKS, ALL & ~(unsigned)KP_LIFT,
     "where the adjusters stand for this run, clicks from closed:\n"
     "compression=8,rebound=4"},
    {"clicks-sweep", "WHICH", OPTION_SWEEP, KP_CURVE,
     "a family of curves, closed to open: the compression or the\n"
     "rebound adjuster, and what it does to the other direction"},
    {"temperature", "LIST", OPTION_TEMPERATURE, KP_CURVE,
     "a family of curves, one for each oil temperature: 20,60,100\n"
     "(degC unless a unit is given)"},
    {"charge", "LIST", OPTION_CHARGE, KP_CURVE,
     "a family of curves, one for each charge, up to the file's\n"
     "maximum: '10,14,18 bar gauge'"},
    {"set", "KEY=VALUE", OPTION_SET, ALL,
     "one key of the file for this run, may be repeated:\n"
     "--set 'piston.compression.dish=0.3 mm'"},
    {"format", "KIND", OPTION_FORMAT, ALL, "table (if not given), csv or json; csv and json are in SI units"},
    {"units", "SYSTEM", OPTION_UNITS, ALL, "metric (if not given) or inch, for tables and plots"},
    {"plot", "[FILE]", OPTION_PLOT, KP_LIFT | KP_CURVE | KP_COMPARE | KP_EXPLAIN | KP_BAND,
     "draw into FILE.svg, FILE.png or FILE.pdf; without a file in a\n"
     "window or, with no display, in the terminal"},
    {"stress", NULL, OPTION_STRESS, KP_LIFT, "colour the shims of --plot by their stress"},
    {"band", NULL, OPTION_BAND, KP_COMPARE, "at which speeds they differ by more than parts, oil and charge scatter"},
    {"samples", "N", OPTION_SAMPLES, KP_BAND | KP_COMPARE, "builds to sample for a band (10000 if not given)"},
    {"seed", "N", OPTION_SEED, KP_BAND | KP_COMPARE,
     "another seed gives other samples of the same band (1 if not given)"},
    {"correlation", "SHARE", OPTION_CORRELATION, KP_BAND | KP_COMPARE,
     "between the thicknesses of two shims of one strip lot, 0 to 1 or\n"
     "in % (80 % if not given)"},
    {"threads", "N", OPTION_THREADS, KP_EXPLAIN | KP_BAND | KP_COMPARE,
     "processors to work on (if not given: all); changes no number"},
    {"rebound-up", NULL, OPTION_REBOUND_UP, KP_CURVE | KP_COMPARE | KP_BAND, "plot rebound up and compression down"},
    {"help", NULL, OPTION_HELP, ALL, "this text"},
};
enum { OPTION_COUNT = sizeof option_rows / sizeof option_rows[0] };

static const char *const ours_to_plot[] = {".svg", ".png", ".pdf"};

static bool ends_with(const char *text, const char *ending)
{
    size_t length = strlen(text);
    size_t size = strlen(ending);
    return length > size && strcmp(text + length - size, ending) == 0;
}

static bool is_plot_name(const char *path)
{
    for (size_t i = 0; i < sizeof ours_to_plot / sizeof ours_to_plot[0]; i++) {
        if (ends_with(path, ours_to_plot[i])) {
            return true;
        }
    }
    return false;
}

/* --plot may be followed by its file as a word of its own. That word is a plot's name when it ends like one; a word
   that ends in .yaml or names a file that is there is the damper. */
static bool word_is_for_plot(const char *word)
{
    if (word == NULL || word[0] == '-') {
        return false;
    }
    if (is_plot_name(word)) {
        return true;
    }
    return !ends_with(word, ".yaml") && !ends_with(word, ".yml") && access(word, F_OK) != 0;
}

void kp_options_describe(const kp_command *command, char *text, size_t size)
{
    size_t used = 0;
    text[0] = '\0';
    for (size_t i = 0; i < OPTION_COUNT; i++) {
        const kp_option_row *row = &option_rows[i];
        if ((row->commands & command->bit) == 0) {
            continue;
        }
        char head[48];
        bool apart = row->argument != NULL && strncmp(row->argument, "[=", 2) != 0;
        snprintf(head, sizeof head, "--%s%s%s", row->name, apart ? " " : "",
                 row->argument != NULL ? row->argument : "");
        for (const char *line = row->help; line != NULL && used < size;) {
            size_t length = strcspn(line, "\n");
            int wrote =
                snprintf(text + used, size - used, "  %-22s %.*s\n", line == row->help ? head : "", (int)length, line);
            used += wrote > 0 ? (size_t)wrote : 0;
            line = line[length] == '\n' ? line + length + 1 : NULL;
        }
    }
}

/* What getopt did not like, with the nearest name. */
static kp_status unknown_option(const kp_command *command, const char *word, kp_error *error)
{
    const char *names[OPTION_COUNT];
    size_t count = 0;
    char bare[64];
    snprintf(bare, sizeof bare, "%.*s", (int)strcspn(word + strspn(word, "-"), "="), word + strspn(word, "-"));
    for (size_t i = 0; i < OPTION_COUNT; i++) {
        if (strcmp(option_rows[i].name, bare) == 0 && (option_rows[i].commands & command->bit) != 0 &&
            option_rows[i].argument == NULL) {
            return kp_error_set(error, KP_USAGE, "--%s takes no value", bare);
        }
        if ((option_rows[i].commands & command->bit) != 0) {
            names[count++] = option_rows[i].name;
        }
    }
    char shown[KP_TEXT_SHOWN];
    kp_text_show(word, shown, sizeof shown);
    const char *nearest = kp_text_nearest(bare, names, count);
    return kp_error_set(error, KP_USAGE, "unknown option `%s`%s%s%s", shown,
                        nearest != NULL ? " (did you mean `--" : "", nearest != NULL ? nearest : "",
                        nearest != NULL ? "`?)" : "");
}

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

static kp_status read_limits(const char *value, kp_options *options, kp_error *error)
{
    kp_list list;
    kp_status status = kp_list_read(value, "--limits", KP_DIM_SPEED, "m/s", SLOWEST, FASTEST, &list, error);
    if (status != KP_OK) {
        return status;
    }
    if (list.count != 3 || !(list.values[0] < list.values[1] && list.values[1] < list.values[2])) {
        return kp_error_set(error, KP_USAGE,
                            "--limits `%.60s`: three rising speeds are wanted: where low speed ends, where high speed "
                            "begins, and the top, such as 0.1,0.5,1.05",
                            value);
    }
    options->limits = (kp_speed_limits){list.values[0], list.values[1], list.values[2]};
    return KP_OK;
}

static kp_status read_doubts(const char *value, kp_options *options, kp_error *error)
{
    kp_list list = {.count = 1, .values = {USUAL_DOUBTS_LIFT}};
    kp_status status = KP_OK;
    if (value != NULL) {
        status = kp_list_read(value, "--doubts", KP_DIM_LENGTH, "", LEAST_LIFT, MOST_LIFT, &list, error);
    }
    if (status == KP_OK && list.count != 1) {
        status = kp_error_set(error, KP_USAGE, "--doubts=%.60s: one lift is wanted, such as --doubts=0.4mm", value);
    }
    if (status == KP_OK) {
        options->doubts = true;
        options->doubts_lift = list.values[0];
    }
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
        char *equals = strchr(item, '=');
        if (equals != NULL) {
            *equals = '\0';
            which = strcmp(item, "compression") == 0 ? KP_COMPRESSION : strcmp(item, "rebound") == 0 ? KP_REBOUND : -1;
        }
        if (which < 0 || !kp_number_read(equals + 1, &clicks) || !(clicks >= 0.0 && clicks <= 1000.0) ||
            clicks > (double)(int)clicks) {
            return kp_error_set(
                error, KP_USAGE,
                "--clicks `%.60s`: compression=8, rebound=4 or both with a comma between them are wanted, "
                "whole clicks from closed",
                value);
        }
        options->has_clicks[which] = true;
        options->clicks[which] = (int)clicks;
        at = at[length] == ',' ? at + length + 1 : NULL;
    }
    return KP_OK;
}

static const double COLDEST = 200.0;    /* [K] */
static const double HOTTEST = 500.0;    /* [K] */
static const double MOST_CHARGE = 10e6; /* [Pa absolute] beyond any damper */

static kp_status read_charges(const char *value, kp_options *options, kp_error *error)
{
    options->charges_gauge = strstr(value, "gauge") != NULL;
    return kp_list_read(value, "--charge", KP_DIM_GAS_PRESSURE, "", 0.0, MOST_CHARGE, &options->charges, error);
}

static kp_status read_setting(const char *value, kp_options *options, kp_error *error)
{
    const char *equals = strchr(value, '=');
    if (equals == NULL || equals == value) {
        return kp_error_set(error, KP_USAGE, "--set `%.60s`: KEY=VALUE is wanted, such as 'body.rod=22 mm'", value);
    }
    if (options->setting_count == KP_MAX_SETTINGS) {
        return kp_error_set(error, KP_USAGE, "more than %d times --set: write a trial file `based on` the other",
                            KP_MAX_SETTINGS);
    }
    options->settings[options->setting_count++] = value;
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
    options->lesson = (kp_lesson_topic)index;
    options->has_lesson = status == KP_OK;
    return status;
}

/* A whole number of a range. */
static kp_status read_count(const char *option, const char *value, double least, double most, size_t *out,
                            kp_error *error)
{
    double number = 0.0;
    char shown[KP_TEXT_SHOWN];
    if (!kp_number_read(value, &number) || number != floor(number) || number < least || number > most) {
        kp_text_show(value, shown, sizeof shown);
        return kp_error_set(error, KP_USAGE, "%s `%s`: a whole number from %.0f to %.0f is wanted", option, shown,
                            least, most);
    }
    *out = (size_t)number;
    return KP_OK;
}

static kp_status read_seed(const char *value, kp_options *options, kp_error *error)
{
    size_t seed = 0;
    kp_status status = read_count("--seed", value, 0.0, LARGEST_SEED, &seed, error);
    options->seed = seed;
    options->has_seed = status == KP_OK;
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
    options->correlation = share.value;
    options->has_correlation = true;
    return KP_OK;
}

static kp_status read_option(int id, const char *value, kp_options *options, bool *help, kp_error *error)
{
    static const char *const formats[] = {"table", "csv", "json"};
    static const char *const systems[] = {"metric", "inch"};
    static const char *const directions[] = {"compression", "rebound"};
    int index = 0;
    kp_status status = KP_OK;
    switch ((kp_option_id)id) {
    case OPTION_FORMAT:
        status = read_word("--format", value, formats, 3, &index, error);
        options->format = index == 0 ? KP_FORMAT_TABLE : index == 1 ? KP_FORMAT_CSV : KP_FORMAT_JSON;
        break;
    case OPTION_UNITS:
        status = read_word("--units", value, systems, 2, &index, error);
        options->units = index == 0 ? KP_UNITS_METRIC : KP_UNITS_INCH;
        break;
    case OPTION_DIRECTION:
        status = read_word("--direction", value, directions, 2, &index, error);
        options->direction = index == 0 ? KP_COMPRESSION : KP_REBOUND;
        options->has_direction = true;
        break;
    case OPTION_LESSON:
        status = read_lesson(value, options, error);
        break;
    case OPTION_THREADS:
        return read_count("--threads", value, 1.0, KP_MAX_THREADS, &options->threads, error);
    case OPTION_STRESS:
        options->stress = true;
        break;
    case OPTION_BAND:
        options->band = true;
        break;
    case OPTION_SAMPLES:
        return read_count("--samples", value, LEAST_SAMPLES, MOST_SAMPLES, &options->samples, error);
    case OPTION_SEED:
        return read_seed(value, options, error);
    case OPTION_CORRELATION:
        return read_correlation(value, options, error);
    case OPTION_SET:
        return read_setting(value, options, error);
    case OPTION_PLOT:
        options->plot = true;
        options->plot_file = value;
        if (value != NULL && !is_plot_name(value)) {
            status = kp_error_set(error, KP_USAGE, "--plot `%.60s`: a plot file ends in .svg, .png or .pdf", value);
        }
        break;
    case OPTION_SPEEDS:
        return kp_list_read(value, "--speeds", KP_DIM_SPEED, "m/s", SLOWEST, FASTEST, &options->speeds, error);
    case OPTION_PRESSURES:
        return kp_list_read(value, "--pressures", KP_DIM_PRESSURE, "", 0.0, MOST_PRESSURE, &options->pressures, error);
    case OPTION_TEMPERATURE:
        return kp_list_read(value, "--temperature", KP_DIM_TEMPERATURE, "degC", COLDEST, HOTTEST,
                            &options->temperatures, error);
    case OPTION_CHARGE:
        return read_charges(value, options, error);
    case OPTION_CLICKS:
        return read_clicks(value, options, error);
    case OPTION_SWEEP:
        status = read_word("--clicks-sweep", value, directions, 2, &index, error);
        options->sweep = index == 0 ? KP_COMPRESSION : KP_REBOUND;
        options->has_sweep = true;
        break;
    case OPTION_LIMITS:
        return read_limits(value, options, error);
    case OPTION_DISCS:
        options->discs = true;
        break;
    case OPTION_PROFILE:
        options->profile = true;
        break;
    case OPTION_DOUBTS:
        return read_doubts(value, options, error);
    case OPTION_FREE:
        options->free = true;
        break;
    case OPTION_REBOUND_UP:
        options->rebound_up = true;
        break;
    case OPTION_HELP:
        *help = true;
        break;
    }
    return status;
}

/* The rows of this command as getopt wants them. */
static void fill_getopt(const kp_command *command, struct option *long_options)
{
    size_t count = 0;
    for (size_t i = 0; i < OPTION_COUNT; i++) {
        const kp_option_row *row = &option_rows[i];
        if ((row->commands & command->bit) != 0) {
            int argument = row->argument == NULL                                ? no_argument
                           : row->id == OPTION_PLOT || row->id == OPTION_DOUBTS ? optional_argument
                                                                                : required_argument;
            long_options[count++] = (struct option){row->name, argument, NULL, (int)row->id};
        }
    }
    long_options[count] = (struct option){NULL, 0, NULL, 0};
}

static kp_status count_files(const kp_command *command, const kp_options *options, kp_error *error)
{
    if (options->file_count < command->least_files) {
        return kp_error_set(error, KP_USAGE, "%s file%s wanted, %zu given: kneepoint %s %s",
                            command->least_files == 1 ? "a damper" : "at least two damper",
                            command->least_files == 1 ? " is" : "s are", options->file_count, command->name,
                            command->operand);
    }
    if (options->file_count > command->most_files) {
        return kp_error_set(error, KP_USAGE, "one file too many: `%.60s`", options->files[command->most_files]);
    }
    return KP_OK;
}

kp_status kp_options_read(const kp_command *command, int argument_count, char **arguments, kp_options *options,
                          bool *help, kp_error *error)
{
    struct option long_options[OPTION_COUNT + 1];
    fill_getopt(command, long_options);
    options->limits = kp_speed_limits_default();
    opterr = 0; /* our own sentence, with the nearest name */
    optind = 1;
    for (;;) {
        int before = optind;
        int id = getopt_long(argument_count, arguments, ":h", long_options, NULL);
        if (id == -1) {
            break;
        }
        if (id == '?') {
            return unknown_option(command, arguments[optind > before ? optind - 1 : before], error);
        }
        if (id == ':') {
            return kp_error_set(error, KP_USAGE, "%.60s needs a value", arguments[optind - 1]);
        }
        char *value = optarg;
        if (id == OPTION_PLOT && value == NULL && optind < argument_count && word_is_for_plot(arguments[optind])) {
            value = arguments[optind++];
        }
        kp_status status = read_option(id == 'h' ? OPTION_HELP : id, value, options, help, error);
        if (status != KP_OK || *help) {
            return status;
        }
    }
    for (; optind < argument_count; optind++) {
        if (options->file_count >= KP_MAX_FILES) {
            return kp_error_set(error, KP_USAGE, "more than %d files", KP_MAX_FILES);
        }
        options->files[options->file_count++] = arguments[optind];
    }
    if (options->plot && options->plot_file == NULL && options->format != KP_FORMAT_TABLE && !kp_has_display()) {
        return kp_error_set(error, KP_USAGE,
                            "--plot without a file draws in the terminal here, which would spoil the csv or json: name "
                            "a file behind --plot");
    }
    if (options->discs + options->profile + options->doubts > 1) {
        return kp_error_set(error, KP_USAGE, "--discs, --profile and --doubts are three tables: ask for one at a time");
    }
    if (options->doubts && options->pressures.count > 0) {
        return kp_error_set(error, KP_USAGE, "--doubts finds the pressures itself: leave --pressures out");
    }
    size_t members = options->temperatures.count > 0 ? options->temperatures.count : options->charges.count;
    if ((options->temperatures.count > 0) + (options->charges.count > 0) + options->has_sweep > 1) {
        return kp_error_set(
            error, KP_USAGE,
            "--temperature, --charge and --clicks-sweep each make a family of curves: one at a time, the "
            "others can be set with --set or --clicks");
    }
    if (members > KP_MAX_MEMBERS) {
        return kp_error_set(error, KP_USAGE, "%zu curves in one picture cannot be told apart: at most %d", members,
                            (int)KP_MAX_MEMBERS);
    }
    return count_files(command, options, error);
}
