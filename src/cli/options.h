/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The command line as data: commands are a table, options are a table, what was asked for is one struct. */
#ifndef KP_CLI_OPTIONS_H
#define KP_CLI_OPTIONS_H

#include "file/file.h"
#include "report/report.h"

typedef enum kp_format { KP_FORMAT_TABLE, KP_FORMAT_CSV, KP_FORMAT_JSON } kp_format;

struct kp_command;

typedef struct kp_options {
    const struct kp_command *commands; /* all there are, closed by one whose name is NULL */
    kp_request request;                /* what the report is to say */
    kp_format format;
    bool plot;
    const char *plot_file; /* NULL with plot: a window or the terminal */
    kp_starter starter;    /* what `new` is to write */
    size_t threads;        /* 0: as many as the machine has processors */
} kp_options;

typedef struct kp_command {
    const char *name;
    unsigned bit;        /* which options it takes: see options.c */
    const char *operand; /* "FILE" */
    const char *purpose; /* one line */
    const char *details; /* what a newcomer needs beyond the options */
    size_t min_files, max_files;
    kp_status (*run)(kp_options *options, kp_error *error);
} kp_command;

enum {
    KP_CHECK = 1,
    KP_LIFT = 2,
    KP_CURVE = 4,
    KP_COMPARE = 8,
    KP_EXPLAIN = 16,
    KP_BAND = 32,
    KP_NEW = 64,
    KP_COMPLETION = 128
};

/** The commands, closed by one whose name is NULL. */
extern const kp_command kp_commands[];

/** Reads what stands behind the command's name. help comes back true when it was asked for instead of the work.
    Errors: KP_USAGE with a sentence. */
kp_status kp_options_read(const kp_command *command, int argument_count, char **arguments, kp_options *options,
                          bool *help, kp_error *error);
/** Writes the options of a command into text for --help. */
void kp_options_describe(const kp_command *command, char *text, size_t size);

/** Reads "0.05,0.1,250 mm/s" or "0.05..1.0:20" into SI values. A bare number takes default_unit; a unit behind the last
    number holds for the bare ones before it. Errors: KP_USAGE. */
kp_status kp_list_read(const char *text, const char *option, kp_dimension dimension, const char *default_unit,
                       double min, double max, kp_list *out, kp_error *error);

#endif
