/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Reads the options of a command into one struct. */
#include "cli/option_table.h"
#include "cli/print.h"

#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define FIRST_ID 256 /* above every character: a long option is never mistaken for a short one */

void kp_options_describe(const kp_command *command, char *text, size_t size)
{
    size_t used = 0;
    text[0] = '\0';

    for (const kp_option_row *row = kp_option_rows; row->name != NULL; row++) {
        if ((row->commands & command->bit) == 0) {
            continue;
        }

        /* The option and its argument stand in the first column, its help in the second. */
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
    const char *names[KP_MAX_OPTIONS];
    size_t count = 0;
    char bare[64];

    /* Without dashes and value. */
    snprintf(bare, sizeof bare, "%.*s", (int)strcspn(word + strspn(word, "-"), "="), word + strspn(word, "-"));
    if (command->bit == KP_LIFT && strcmp(bare, "doubts") == 0) {
        return kp_error_set(error, KP_USAGE, "--doubts is called --sensitivity now");
    }

    /* Only names of this command. getopt calls a flag with a value unknown too. */
    for (const kp_option_row *row = kp_option_rows; row->name != NULL; row++) {
        if ((row->commands & command->bit) == 0) {
            continue;
        }

        if (strcmp(row->name, bare) == 0 && row->argument == NULL) {
            return kp_error_set(error, KP_USAGE, "--%s takes no value", bare);
        }
        names[count++] = row->name;
    }

    char shown[KP_TEXT_SHOWN];
    kp_text_show(word, shown, sizeof shown);
    const char *nearest = kp_text_nearest(bare, names, count);
    return kp_error_set(error, KP_USAGE, "unknown option `%s`%s%s%s", shown,
                        nearest != NULL ? " (did you mean `--" : "", nearest != NULL ? nearest : "",
                        nearest != NULL ? "`?)" : "");
}

/* ---- getopt ------------------------------------------------------------------------------------------------------ */

static bool ends_with(const char *text, const char *ending)
{
    size_t length = strlen(text);
    size_t size = strlen(ending);
    return length > size && strcmp(text + length - size, ending) == 0;
}

/* --plot may be followed by its file as a word of its own. That word is a plot's name when it ends like one; a word
   that ends in .yaml or names a file that is there is the damper. */
static bool word_is_for_plot(const char *word)
{
    if (word == NULL || word[0] == '-') {
        return false;
    }
    if (kp_figure_path_is_drawable(word)) {
        return true;
    }
    return !ends_with(word, ".yaml") && !ends_with(word, ".yml") && access(word, F_OK) != 0;
}

/* The rows of this command as getopt wants them. */
static void fill_getopt(const kp_command *command, struct option *long_options)
{
    size_t count = 0;

    for (int i = 0; kp_option_rows[i].name != NULL; i++) {
        const kp_option_row *row = &kp_option_rows[i];
        if ((row->commands & command->bit) != 0) {
            int argument = row->argument == NULL     ? no_argument
                           : row->argument[0] == '[' ? optional_argument
                                                     : required_argument;
            long_options[count++] = (struct option){row->name, argument, NULL, FIRST_ID + i};
        }
    }

    /* getopt's end of the list. */
    long_options[count] = (struct option){NULL, 0, NULL, 0};
}

/* help comes back true for the row that asks for it. */
static kp_status read_row(const kp_option_row *row, const char *value, kp_options *options, bool *help, kp_error *error)
{
    if (row->read != NULL) {
        return row->read(value, options, error);
    }

    const bool set = true;
    if (row->flag > 0) {
        memcpy((char *)options + row->flag, &set, sizeof set);
    } else {
        *help = true;
    }

    return KP_OK;
}

/* The environment's units serve a whole shop; an option or a file says otherwise. */
static kp_status read_environment(kp_options *options, kp_error *error)
{
    const char *units = getenv("KNEEPOINT_UNITS");
    if (units == NULL || units[0] == '\0' || strcmp(units, "metric") == 0) {
        return KP_OK;
    }
    if (strcmp(units, "inch") != 0) {
        return kp_error_set(error, KP_USAGE, "KNEEPOINT_UNITS `%.40s`: metric or inch is wanted", units);
    }
    options->request.units = KP_UNITS_INCH;
    return KP_OK;
}

/* --units counts before all others, because bare numbers take their unit from it. Faults are left to the second time.
 */
static void read_units_first(const kp_command *command, int argument_count, char **arguments, kp_options *options)
{
    struct option long_options[KP_MAX_OPTIONS + 1];
    fill_getopt(command, long_options);
    opterr = 0;
    optind = 0;

    /* getopt moves words; a plot's file must stay behind its option. */
    char **copy = malloc(((size_t)argument_count + 1) * sizeof *copy);
    for (int i = 0; copy != NULL && i <= argument_count; i++) {
        copy[i] = arguments[i];
    }

    for (int id = copy == NULL ? -1 : 0; id != -1;) {
        id = getopt_long(argument_count, copy, ":h", long_options, NULL);
        if (id >= FIRST_ID && strcmp(kp_option_rows[id - FIRST_ID].name, "units") == 0) {
            (void)kp_option_rows[id - FIRST_ID].read(optarg, options, NULL);
        }
    }
    free(copy);
}

static kp_status read_rows(const kp_command *command, int argument_count, char **arguments, kp_options *options,
                           bool *help, kp_error *error)
{
    struct option long_options[KP_MAX_OPTIONS + 1];
    fill_getopt(command, long_options);
    opterr = 0; /* our own sentence, with the nearest name */
    optind = 0; /* getopt begins anew: it has been through the words once */

    for (;;) {
        int before = optind > 0 ? optind : 1;
        int id = getopt_long(argument_count, arguments, ":h", long_options, NULL);
        if (id == -1) {
            return KP_OK;
        }
        if (id == 'h') {
            *help = true;
            return KP_OK;
        }
        if (id == '?') {
            return unknown_option(command, arguments[optind > before ? optind - 1 : before], error);
        }
        if (id == ':') {
            return kp_error_set(error, KP_USAGE, "%.60s needs a value", arguments[optind - 1]);
        }

        /* A file for the plot may be a word of its own, which getopt does not take for an optional value. */
        const kp_option_row *row = &kp_option_rows[id - FIRST_ID];
        const char *value = optarg;
        if (strcmp(row->name, "plot") == 0 && value == NULL && optind < argument_count &&
            word_is_for_plot(arguments[optind])) {
            value = arguments[optind++];
        }

        kp_status status = read_row(row, value, options, help, error);
        if (status != KP_OK || *help) {
            return status;
        }
    }
}

/* ---- what does not go together ----------------------------------------------------------------------------------- */

static kp_status count_files(const kp_command *command, const kp_options *options, kp_error *error)
{
    if (options->request.file_count < command->min_files) {
        return kp_error_set(error, KP_USAGE, "%s file%s wanted, %zu given: kneepoint %s %s",
                            command->min_files == 1 ? "a damper" : "at least two damper",
                            command->min_files == 1 ? " is" : "s are", options->request.file_count, command->name,
                            command->operand);
    }

    if (options->request.file_count > command->max_files) {
        return kp_error_set(error, KP_USAGE, "one file too many: `%.60s`", options->request.files[command->max_files]);
    }

    return KP_OK;
}

/* Options that each make sense alone. */
static kp_status check_together(const kp_options *options, kp_error *error)
{
    const kp_request *request = &options->request;

    /* Members of the family, where the request lists them. */
    size_t members = request->temperatures.count > 0 ? request->temperatures.count : request->charges.count;
    if (options->plot && options->plot_file == NULL && options->format != KP_FORMAT_TABLE && !kp_has_display()) {
        return kp_error_set(error, KP_USAGE,
                            "--plot without a file draws in the terminal here, which would break the csv or json: name "
                            "a file behind --plot");
    }

    if (request->discs + request->profile + request->sensitivity > 1) {
        return kp_error_set(error, KP_USAGE,
                            "--discs, --profile and --sensitivity are three tables: ask for one at a time");
    }

    if (request->sensitivity && request->pressures.count > 0) {
        return kp_error_set(error, KP_USAGE, "--sensitivity finds the pressures itself: leave --pressures out");
    }

    if ((request->temperatures.count > 0) + (request->charges.count > 0) + request->has_sweep > 1) {
        return kp_error_set(
            error, KP_USAGE,
            "--temperature, --charge and --clicks-sweep each make a family of curves: one at a time, the "
            "others can be set with --set or --clicks");
    }

    if (members > KP_MAX_MEMBERS) {
        return kp_error_set(error, KP_USAGE, "%zu curves in one picture cannot be told apart: at most %d", members,
                            (int)KP_MAX_MEMBERS);
    }

    return KP_OK;
}

kp_status kp_options_read(const kp_command *command, int argument_count, char **arguments, kp_options *options,
                          bool *help, kp_error *error)
{
    kp_request *request = &options->request;
    request->limits = kp_speed_limits_default();
    kp_status status = read_environment(options, error);
    if (status != KP_OK) {
        return status;
    }
    read_units_first(command, argument_count, arguments, options);
    status = read_rows(command, argument_count, arguments, options, help, error);
    if (status != KP_OK || *help) {
        return status;
    }

    /* getopt has put the words that are no options behind the others. */
    for (; optind < argument_count; optind++) {
        if (request->file_count >= KP_MAX_FILES) {
            return kp_error_set(error, KP_USAGE, "more than %d files", KP_MAX_FILES);
        }
        request->files[request->file_count++] = arguments[optind];
    }

    status = check_together(options, error);
    return status == KP_OK ? count_files(command, options, error) : status;
}
