/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Results as tables, sentences and figures. A report is data: nothing here prints, reads arguments or the environment.
    What goes wrong while a report is filled stays in it; the caller asks once, with kp_report_status. */
#ifndef KP_REPORT_H
#define KP_REPORT_H

#include "kneepoint/draw.h"
#include "kneepoint/model.h"
#include "kneepoint/study.h"

/* ---- what a reader asked to see ---------------------------------------------------------------------------------- */

#define KP_MAX_FILES    8
#define KP_MAX_SETTINGS 64
#define KP_MAX_LIST     2000

/** Numbers of one list, such as speeds. */
typedef struct kp_list {
    size_t count; /* 0: not given */
    double values[KP_MAX_LIST];
} kp_list;

typedef struct kp_request {
    const char *files[KP_MAX_FILES];
    size_t file_count;
    const char *settings[KP_MAX_SETTINGS]; /* "piston.compression.dish=0.3 mm" */
    size_t setting_count;
    kp_unit_system units; /* of tables, sentences and figures */
    bool has_units;       /* asked for: a file does not change them */
    kp_speed_limits limits;
    kp_list speeds;       /* [m/s] > 0 */
    kp_list pressures;    /* [Pa] >= 0 */
    kp_list temperatures; /* [K]  of the oil: a sweep of curves */
    kp_list charges;      /* [Pa absolute] the same */
    bool charges_gauge;   /* they were given as gauge */
    bool has_clicks[KP_DIRECTION_COUNT];
    int clicks[KP_DIRECTION_COUNT]; /* of the compression and the rebound adjuster */
    bool has_sweep;
    kp_direction sweep; /* the adjuster whose clicks a sweep goes through */
    bool has_direction;
    kp_direction direction;
    bool sensitivity;
    bool round;              /* `lift`: shims held round */
    double sensitivity_lift; /* [m] opening of the seat at which sensitivities are taken */
    bool discs, profile, free, rebound_up;
    bool with_gas;  /* forces shown to people hold the gas force; the data have every part in any case */
    bool stress;    /* lift: colour the drawn shims by it */
    bool band;      /* compare: with noise */
    size_t samples; /* [-] of a band; 0: not given */
    bool has_seed;
    unsigned long long seed;
    bool has_correlation;
    double correlation; /* [-] */
    bool has_lesson;
    kp_lesson_topic lesson;
} kp_request;

/* ---- lines of text ----------------------------------------------------------------------------------------------- */

typedef struct kp_line {
    char *text;
    bool heading; /* of a table: a terminal may show it bold */
} kp_line;

/** Lines that grow. Zero it before use. */
typedef struct kp_lines {
    size_t count, capacity;
    kp_line *items;
    bool failed; /* memory ran out */
} kp_lines;

/** Adds a line of at most 4095 bytes. */
void kp_lines_add(kp_lines *lines, const char *format, ...) KP_PRINTF(2, 3);
void kp_lines_free(kp_lines *lines);

/* ---- the report -------------------------------------------------------------------------------------------------- */

#define KP_MAX_SECTIONS 20

/** A table for people with the words above it. */
typedef struct kp_section {
    kp_lines heading;
    kp_table table;
} kp_section;

/** What one run has to say, in the forms that a reader may ask for. */
typedef struct kp_report {
    kp_request *request; /* its units may be settled by the file that is read */
    kp_lines top;        /* people: verdict and standing, above everything */
    size_t section_count;
    kp_section sections[KP_MAX_SECTIONS + 1]; /* people; the last takes what is one too many */
    kp_lines foot;                            /* people: explanations and cautions */
    kp_lines warnings;                        /* JSON; the program says them on standard error too */
    size_t warnings_said;                     /* how many of them it has said already */
    kp_table data;                            /* CSV, and "columns" of JSON: full precision, SI */
    struct cJSON *extra;                      /* JSON: further keys of the top level ("summary", ...) */
    kp_figure figure;                         /* without panels until one is asked for */
    kp_error failure;                         /* the first thing that went wrong */
} kp_report;

/** Makes an empty report. request must outlive it. */
void kp_report_begin(kp_report *report, kp_request *request);
void kp_report_free(kp_report *report);
/** Version of the JSON library, "1.7.15". */
const char *kp_report_json_version(void);
/** Returned: status of the first failure in any part of the report, with its message in error. */
kp_status kp_report_status(const kp_report *report, kp_error *error);

/** Adds a warning; the program says it later. */
void kp_report_warn(kp_report *report, const char *format, ...) KP_PRINTF(2, 3);

/** Lays the report out for people: lines of at most width letters, tables as wide as they are. */
void kp_report_text(const kp_report *report, size_t width, kp_lines *page);
/** The data as CSV (RFC 4180), in SI and full precision. Returned: text for the caller to free; NULL with
    KP_NO_MEMORY. */
char *kp_report_csv(const kp_report *report, kp_error *error);
/** The whole JSON document. As kp_report_csv. */
char *kp_report_json(const kp_report *report, kp_error *error);

/* ---- numbers and words ------------------------------------------------------------------------------------------- */

#define KP_SHOWN 48 /* [bytes] of a number with its unit */
/** "0.524 m/s" in the units asked for, "-" for what is not finite; buffer of KP_SHOWN bytes. */
const char *kp_show(double si_value, kp_dimension dimension, int decimals, kp_unit_system units, char *buffer);
/** kp_show into a buffer that lives to the end of the block. */
#define KP_SHOW(si_value, dimension, decimals, units)                                                                  \
    kp_show((si_value), (dimension), (decimals), (units), (char[KP_SHOWN]){0})

/** Name of the damper, or its file when it has none. */
const char *kp_title_of(const kp_damper_data *data, const char *path);

/* ---- reports on studies: each adds to a report, nothing is worked out anew but the lines of figures -------------- */

/** Warns of shims that would set or break and of oil that would cavitate, and says what would restore the margin. */
void kp_report_risks(kp_report *report, const kp_run *run);

/** One file of `check`. Given: the run; where in the report's warnings those of its file and its risks begin. */
void kp_report_check(kp_report *report, const kp_run *run, size_t first_warning, size_t first_risk);
/** Ends a check of all its files. */
void kp_report_check_end(kp_report *report, bool sound);

void kp_report_curve(kp_report *report, const kp_run *run);
void kp_figure_of_curve(kp_report *report, const kp_run *run);

/** study: of data, one stack of it. The pressures of the request, or the usual ones, are solved here. */
void kp_report_lift(kp_report *report, const kp_lift_study *study, const kp_damper_data *data);
void kp_figure_of_lift(kp_report *report, const kp_lift_study *study, const kp_damper_data *data);

/** Names the members in the units asked for: "60 degC", "14.0 bar gauge", "3 clicks". */
void kp_report_name_members(const kp_report *report, kp_sweep *sweep);
void kp_report_sweep(kp_report *report, const kp_run *base, const kp_sweep *sweep);
void kp_figure_of_sweep(kp_report *report, const kp_run *base, const kp_sweep *sweep);

/** runs [count]: each further one against the first. */
void kp_report_compare(kp_report *report, const kp_run *runs, size_t count);
/** bands [count]: where each further one differs from the first by more than the noise. */
void kp_report_compare_bands(kp_report *report, const kp_band *bands, size_t count, const kp_band_options *used);
void kp_figure_of_compare(kp_report *report, const kp_run *runs, size_t count);

void kp_report_band(kp_report *report, const kp_run *run, const kp_band *band, const kp_band_options *used);
void kp_figure_of_band(kp_report *report, const kp_run *run, const kp_band *band);

void kp_report_explain(kp_report *report, const kp_run *run, const kp_explanation *explanation);
void kp_figure_of_explain(kp_report *report, const kp_run *run);

void kp_report_lesson(kp_report *report, const kp_lesson *lesson, const kp_damper_data *data);
void kp_figure_of_lesson(kp_report *report, const kp_lesson *lesson, const kp_damper_data *data);

#endif
