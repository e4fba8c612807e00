/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The command line as data: commands are a table, options are a table, what was asked for is one struct. */
#ifndef KP_CLI_OPTIONS_H
#define KP_CLI_OPTIONS_H

#include "kneepoint/study.h"

enum { KP_MAX_FILES = 8, KP_MAX_SETTINGS = 64, KP_MAX_LIST = 2000, KP_MAX_MEMBERS = 7 };

typedef enum kp_format { KP_FORMAT_TABLE, KP_FORMAT_CSV, KP_FORMAT_JSON } kp_format;

/** Numbers of one --speeds or --pressures. */
typedef struct kp_list {
    size_t count; /* 0: not given */
    double values[KP_MAX_LIST];
} kp_list;

typedef struct kp_options {
    kp_format format;
    kp_unit_system units; /* of tables and plots */
    const char *settings[KP_MAX_SETTINGS];
    size_t setting_count;
    bool plot;
    const char *plot_file; /* NULL with plot: a window or the terminal */
    kp_list speeds;        /* [m/s] > 0 */
    kp_list pressures;     /* [Pa] >= 0 */
    kp_list temperatures;  /* [K]  of the oil: a family of curves */
    kp_list charges;       /* [Pa absolute] the same */
    bool charges_gauge;    /* they were given as gauge */
    bool has_clicks[KP_DIRECTION_COUNT];
    int clicks[KP_DIRECTION_COUNT]; /* of the compression and the rebound adjuster */
    bool has_sweep;
    kp_direction sweep; /* the adjuster whose clicks a family goes through */
    bool has_direction;
    kp_direction direction;
    bool doubts;
    double doubts_lift; /* [m] opening of the seat at which --doubts looks */
    bool discs, profile, free, rebound_up;
    kp_speed_limits limits;
    size_t threads; /* 0: as many as the machine has processors */
    bool stress;    /* lift: colour the drawn shims by it */
    bool band;      /* compare: with noise */
    size_t samples; /* [-] of a band; 0: not given */
    bool has_seed;
    unsigned long long seed;
    bool has_correlation;
    double correlation; /* [-] */
    bool has_lesson;
    kp_lesson_topic lesson;
    const char *files[KP_MAX_FILES];
    size_t file_count;
} kp_options;

typedef struct kp_command {
    const char *name;
    unsigned bit;        /* which options it takes: see options.c */
    const char *operand; /* "FILE" */
    const char *purpose; /* one line */
    const char *details; /* what a newcomer needs beyond the options */
    size_t least_files, most_files;
    kp_status (*run)(const kp_options *options, kp_error *error);
} kp_command;

enum { KP_CHECK = 1, KP_LIFT = 2, KP_CURVE = 4, KP_COMPARE = 8, KP_EXPLAIN = 16, KP_BAND = 32 };

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
                       double least, double most, kp_list *out, kp_error *error);

#endif
