/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Statuses, the error record, quantities with units, and the named-column table. */
#ifndef KNEEPOINT_BASE_H
#define KNEEPOINT_BASE_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>

#if defined(__GNUC__)
#define KP_PRINTF(format_index, first_argument) __attribute__((format(printf, format_index, first_argument)))
#else
#define KP_PRINTF(format_index, first_argument)
#endif

/** Marks what the shared library exports. */
#if defined(__GNUC__)
#define KP_API __attribute__((visibility("default")))
#else
#define KP_API
#endif

/* C linkage for C++ programs. */
#ifdef __cplusplus
#define KP_BEGIN_DECLARATIONS extern "C" {
#define KP_END_DECLARATIONS   }
#else
#define KP_BEGIN_DECLARATIONS
#define KP_END_DECLARATIONS
#endif

KP_BEGIN_DECLARATIONS

#define KP_PI 3.14159265358979323846

/** The one list of outcomes: name, exit status of the program, text. */
#define KP_STATUS_LIST(X)                                                                                              \
    X(KP_OK, 0, "done")                                                                                                \
    X(KP_ANSWER_NO, 1, "the answer is no")                                                                             \
    X(KP_USAGE, 2, "the command line does not make sense")                                                             \
    X(KP_BAD_INPUT, 3, "the input is wrong")                                                                           \
    X(KP_OUT_OF_RANGE, 3, "a number is outside its range")                                                             \
    X(KP_NOT_MODELLED, 3, "this is not modelled")                                                                      \
    X(KP_NO_SOLUTION, 4, "no solution was found")                                                                      \
    X(KP_NOT_FINITE, 4, "a calculation gave no finite number")                                                         \
    X(KP_NO_MEMORY, 5, "memory ran out")                                                                               \
    X(KP_SYSTEM, 5, "the operating system refused")                                                                    \
    X(KP_INTERRUPTED, 5, "interrupted")

typedef enum kp_status {
#define KP_X(name, exit_status, text) name,
    KP_STATUS_LIST(KP_X)
#undef KP_X
        KP_STATUS_COUNT
} kp_status;

/** Given: any status, also one outside the list. Returned: its short text, never NULL. */
KP_API const char *kp_status_text(kp_status status);
/** Given: any status. Returned: exit status of the program for it, 0 to 5; 5 for one outside the list. */
KP_API int kp_status_exit(kp_status status);

/** The caller's record of what went wrong. Zero it before use. The message carries place and numbers. */
typedef struct kp_error {
    kp_status status;
    char message[1024]; /* no newline at the end; UTF-8 */
} kp_error;

/** Fills the record, so that a caller can say `return kp_error_set(error, KP_OUT_OF_RANGE, "...", ...);`
    Given: the record, or NULL when only the status is wanted; a printf format.
    Returned: status, as given. A message too long for the record is cut at a whole character. */
KP_API kp_status kp_error_set(kp_error *error, kp_status status, const char *format, ...) KP_PRINTF(3, 4);
/** Puts text in front of the message already there ("compression stack: ").
    Given: a record filled before, or NULL; a printf format.
    Returned: the status in the record; KP_OK without a record. */
KP_API kp_status kp_error_prefix(kp_error *error, const char *format, ...) KP_PRINTF(2, 3);
/** vsnprintf whose numbers have a point whatever the locale.
    Given: a buffer of size bytes, of which 0 is allowed.
    Returned: bytes written, without the closing NUL. A text too long is cut at a whole UTF-8 character. */
KP_API size_t kp_text_format(char *buffer, size_t size, const char *format, va_list arguments) KP_PRINTF(3, 0);
/** kp_text_format with the arguments in place. Use it instead of snprintf wherever a double is written. */
KP_API size_t kp_text_print(char *buffer, size_t size, const char *format, ...) KP_PRINTF(3, 4);

/* ---- quantities ------------------------------------------------------------------------- */

/** What a number may be. Every one has an SI unit, a metric and an inch display unit. */
typedef enum kp_dimension {
    KP_DIM_NONE,                   /* [-]      plain number or per cent             */
    KP_DIM_LENGTH,                 /* [m]      mm, cm, m, um, in, thou, mil         */
    KP_DIM_AREA,                   /* [m2]                                          */
    KP_DIM_VOLUME,                 /* [m3]     cm3, L, mL, in3                      */
    KP_DIM_SPEED,                  /* [m/s]    mm/s, m/s, in/s                      */
    KP_DIM_FORCE,                  /* [N]      N, kN, lbf                           */
    KP_DIM_PRESSURE,               /* [Pa]     a difference or a stress: bar, MPa, psi */
    KP_DIM_GAS_PRESSURE,           /* [Pa]     absolute; text must say gauge or absolute */
    KP_DIM_TEMPERATURE,            /* [K]      degC, degF, K (absolute)             */
    KP_DIM_TEMPERATURE_DIFFERENCE, /* [K]                                  */
    KP_DIM_KINEMATIC_VISCOSITY,    /* [m2/s]  mm2/s, cSt                   */
    KP_DIM_DENSITY,                /* [kg/m3]                                       */
    KP_DIM_FLOW,                   /* [m3/s]   L/min, cm3/s                         */
    KP_DIM_STIFFNESS,              /* [N/m]    N/mm, lbf/in                         */
    KP_DIM_DAMPING,                /* [N s/m]                                       */
    KP_DIM_MASS,                   /* [kg]                                          */
    KP_DIM_TIME,                   /* [s]                                           */
    KP_DIM_FREQUENCY,              /* [Hz]                                          */
    KP_DIM_EXPANSION,              /* [1/K]                                         */
    KP_DIM_STRESS,                 /* [Pa]     in a shim: MPa, psi, ksi; shown in MPa where a drop is shown in bar */
    KP_DIM_COUNT
} kp_dimension;

typedef enum kp_unit_system { KP_UNITS_METRIC, KP_UNITS_INCH, KP_UNITS_SI } kp_unit_system;

/** A value with its optional tolerance ("0.25 mm +/- 0.03 mm measured"). */
typedef struct kp_quantity {
    double value;     /* [SI unit of the dimension] */
    double tolerance; /* [SI unit of the dimension] 0 when none was given */
    bool has_tolerance;
    bool measured; /* the word `measured` stood behind it */
    bool gauge;    /* gas pressure only: was given as gauge (value is absolute all the same) */
} kp_quantity;

/** Reads a quantity such as "40 mm", "14 bar gauge" or "0.25 mm +/- 0.03 mm measured".
    Given: text of one decimal number and its unit, which only KP_DIM_NONE does without; the dimension expected.
    Returned: out in SI. A gauge pressure becomes absolute with KP_ATMOSPHERE. out is unchanged on error.
    Valid: any thread, at any time, in any locale.
    Errors: KP_BAD_INPUT with what is wrong and what would be right; the caller puts the place in front. */
KP_API kp_status kp_quantity_read(const char *text, kp_dimension dimension, kp_quantity *out, kp_error *error);
/** SI value -> number in the display unit.
    Given: a value [SI unit of the dimension]. Returned: number [kp_unit_name]; NAN for a dimension or system outside
    its list. KP_UNITS_SI gives the value back. */
KP_API double kp_unit_convert(double si_value, kp_dimension dimension, kp_unit_system system);
/** Returned: text of the display unit ("mm", "N", "bar absolute", "in/s"); "" for KP_DIM_NONE. */
KP_API const char *kp_unit_name(kp_dimension dimension, kp_unit_system system);
/** Returned: the SI unit as column names have it: "m", "N", "Pa", "m3_s", "m_s"; "" for KP_DIM_NONE. */
KP_API const char *kp_unit_column_suffix(kp_dimension dimension);
/** Returned: the dimension in words ("length", "gas pressure"). */
KP_API const char *kp_dimension_name(kp_dimension dimension);
/** Returned: some units that kp_quantity_read takes for the dimension, in words ("mm, cm, m, um, in, thou or mil"). */
KP_API const char *kp_dimension_units(kp_dimension dimension);
/** Returned: a text that kp_quantity_read takes for the dimension ("40 mm"). */
KP_API const char *kp_dimension_example(kp_dimension dimension);

#define KP_ATMOSPHERE 101325.0 /* [Pa] standard atmosphere, ISO 2533:1975 (from memory) */

/* ---- numbers and text in any locale --------------------------------------------------------- */

/** Reads a decimal number with a point.
    Given: text that is the number and nothing else; no hexadecimal, nan or inf.
    Returned: false, with out unchanged, when it is none, or too large or too small for a double. */
KP_API bool kp_number_read(const char *text, double *out);
/** Writes the shortest text of at least 15 digits' precision that reads back to the same double, with a point.
    Given: a buffer of size bytes; 25 hold any double. */
KP_API void kp_number_write(double value, char *buffer, size_t size);
/** Given: a word, and n names. Returned: the name nearest to the word by edit distance, or NULL when none is near. */
KP_API const char *kp_text_nearest(const char *word, const char *const *names, size_t n);
/** Measures the UTF-8 character at the beginning of a text.
    Given: a text that is not empty. Returned: its length [bytes]; 0 when it is not well formed. steers: it is not shown
    but tells a terminal or a reader what to do: a control character of C0 (ESC, line end, tab) or C1, DEL, a mark of
    writing direction, a separator of lines or paragraphs; false when it is not well formed.
    Source: The Unicode Standard, version 15, table 3-7 and the property Bidi_Control, from memory. */
KP_API size_t kp_text_character(const char *text, bool *steers);
/** Makes a text from outside safe to print: in place, each character that steers a terminal, and each byte that is not
    UTF-8, becomes one `?`. */
KP_API void kp_text_defuse(char *text);
/** Writes a text from outside as a message may show it: cut to 48 bytes at a whole character, and defused.
    Given: a buffer of size bytes; KP_TEXT_SHOWN always suffice. */
KP_API void kp_text_show(const char *text, char *buffer, size_t size);
enum { KP_TEXT_SHOWN = 64 }; /* [bytes] */

/* ---- the named-column table ---------------------------------------------------------------------- */

/** A column: doubles in SI, or text. Name without unit; the SI suffix is appended on CSV and JSON. */
typedef struct kp_column {
    char name[48];    /* "force", "seat_lift": CSV name is name + "_" + suffix            */
    char heading[48]; /* for people: "force", "seat lift"                                 */
    kp_dimension dimension;
    bool is_text;
    bool hidden;    /* left out of the table for people, kept in CSV and JSON           */
    int decimals;   /* digits after the point in the table for people                   */
    double *values; /* [rows] NAN = no value: empty in CSV, null in JSON, "-" in tables */
    char **texts;   /* [rows] when is_text                                              */
} kp_column;

/** What a column is before it has rows: for constant lists of columns. */
typedef struct kp_column_spec {
    const char *name, *heading; /* below 48 bytes each */
    kp_dimension dimension;     /* KP_DIM_NONE for text */
    int decimals;
    bool is_text;
    bool hidden;
} kp_column_spec;

/** A table remembers its first failure. From then on adding and setting do nothing, so a caller may build a whole table
    and ask kp_table_status once. */
typedef struct kp_table {
    size_t column_count, row_count, row_capacity;
    kp_column *columns;
    kp_error failure; /* KP_OK while nothing has failed */
} kp_table;

/** Makes an empty table. Given: memory that holds no table yet. Returned: KP_OK. Free it with kp_table_free. */
KP_API kp_status kp_table_begin(kp_table *table, kp_error *error);
/** Frees what the table holds and makes it empty, its failure included. */
KP_API void kp_table_free(kp_table *table);
/** Returned: status of the first failure, and its message in error (NULL allowed); KP_OK, with error unchanged, when
    nothing has failed. */
KP_API kp_status kp_table_status(const kp_table *table, kp_error *error);
/** Appends columns in order.
    Valid: before the first row.
    Errors, by kp_table_status: KP_OUT_OF_RANGE for a name or heading too long or a column after a row; KP_NO_MEMORY. */
KP_API void kp_table_add_columns(kp_table *table, const kp_column_spec *specs, size_t count);
/** Appends a column of numbers.
    Given: name and heading below 48 bytes; decimals after the point in the table for people.
    Returned: its index through column (NULL allowed), 0 after a failure. Valid and errors: as kp_table_add_columns, and
    the status of any failure before. */
KP_API kp_status kp_table_add_column(kp_table *table, const char *name, const char *heading, kp_dimension dimension,
                                     int decimals, size_t *column, kp_error *error);
/** Appends a column of text. As kp_table_add_column. */
KP_API kp_status kp_table_add_text_column(kp_table *table, const char *name, const char *heading, size_t *column,
                                          kp_error *error);
/** Appends a row without values.
    Returned: its index through row (NULL allowed), 0 after a failure. Errors: KP_NO_MEMORY, or any failure before. */
KP_API kp_status kp_table_add_row(kp_table *table, size_t *row, kp_error *error);
/** Sets a number. Given: indices of a row and of a column of numbers; a value in SI, NAN for none. */
KP_API void kp_table_set(kp_table *table, size_t row, size_t column, double si_value);
/** Sets a text. Given: indices of a row and of a column of text; the text is copied.
    Errors: KP_NO_MEMORY, or any failure before. */
KP_API kp_status kp_table_set_text(kp_table *table, size_t row, size_t column, const char *text, kp_error *error);

/* ---- what studies are given and give back ---- */

enum { KP_MAX_THREADS = 64 };

/** Work to be handed out. Zero it, then fill what is wanted. */
typedef struct kp_pool {
    size_t threads;                                             /* [-] 0 = as many as the machine has processors */
    void *const *workspaces;                                    /* [threads] one a worker; NULL: none            */
    bool (*stop)(void *watcher);                                /* asked before each piece: true ends it early; NULL:
                                                                   never. Called from every thread                */
    void (*progress)(size_t done, size_t count, void *watcher); /* called on the calling thread only; NULL: not */
    void *watcher;
} kp_pool;

/** A quantile of a sample with where it lies with 95 % confidence, whatever the distribution. */
typedef struct kp_quantile {
    double value, low, high; /* [unit of the values] */
} kp_quantile;
/** How much of the variance one cause explains, each with its standard error. */
typedef struct kp_variance_share {
    double first, first_error; /* [-] alone: what would go if this cause were known exactly              */
    double total, total_error; /* [-] with all its interactions: what would stay if only this were unknown */
} kp_variance_share;

KP_END_DECLARATIONS

#endif
