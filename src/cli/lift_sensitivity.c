/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `lift --doubts`: what a workshop cannot know to the last digit, each by itself, as the change of the pressure that
    opens the seat by a given lift. Every row is a stack of its own, solved anew. */
#include "cli/lift.h"
#include "cli/messages.h"
#include "num/num.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double CLAMP_DOUBT = 1e-3; /* [m] of diameter: chamfer and flat are hard to measure (common practice) */
static const double LAND_DOUBT = 1e-3;  /* [m] of diameter: worn or lapped lands (common practice)           */
static const double THICKNESS_DOUBT = 8e-6;     /* [m] of each shim; EN ISO 9445, precision, 0.20 to 0.25 mm (read, as a
                                             steel trade association reprints it)                                  */
static const double FIRST_PRESSURE = 1e3;       /* [Pa] doubled until the seat is open far enough                    */
static const double LAST_PRESSURE = 100e6;      /* [Pa] beyond any shim                                              */
static const double PRESSURE_TOLERANCE = 1e-10; /* [-]  relative                                                     */

typedef enum kp_doubt {
    DOUBT_NONE,
    DOUBT_GRIP,
    DOUBT_CLAMP_LARGER,
    DOUBT_CLAMP_SMALLER,
    DOUBT_LAND_LARGER,
    DOUBT_LAND_SMALLER,
    DOUBT_THICKER,
    DOUBT_THINNER,
    DOUBT_COUNT
} kp_doubt;

/** One stack on the way to its pressure. */
typedef struct kp_search {
    kp_stack_workspace *workspace;
    double target; /* [m] seat lift */
    kp_status status;
    kp_error *error;
} kp_search;

static double miss_at(double pressure, void *context)
{
    kp_search *search = context;
    search->status = kp_stack_solve(search->workspace, pressure, KP_SEAT_ABSENT, search->error);
    return search->status == KP_OK ? kp_stack_seat_lift(search->workspace) - search->target : (double)NAN;
}

static kp_status find_pressure(kp_search *search, double *pressure, kp_error *error)
{
    double low = 0.0;
    double high = FIRST_PRESSURE;
    double miss = miss_at(low, search);
    if (search->status == KP_OK && miss >= 0.0) {
        *pressure = 0.0; /* a float that stands open by more */
        return KP_OK;
    }
    for (miss = miss_at(high, search); search->status == KP_OK && miss < 0.0; miss = miss_at(high, search)) {
        if (high > LAST_PRESSURE) {
            return kp_error_set(error, KP_NO_SOLUTION, "it does not open that far");
        }
        low = high;
        high *= 2.0;
    }
    kp_status status = search->status;
    if (status == KP_OK) {
        status = kp_root_bracketed(miss_at, search, low, high, 0.0, PRESSURE_TOLERANCE, pressure, error);
    }
    return search->status != KP_OK ? search->status : status;
}

/* past_yield: some shim is, at that pressure. */
static kp_status pressure_for(const kp_damper_data *data, kp_direction direction, double opening, double *pressure,
                              bool *past_yield, kp_error *error)
{
    kp_disc discs[KP_MAX_STACK_LINES];
    kp_stack stack = kp_damper_stack(data, direction, discs);
    kp_search search = {.target = stack.dish + opening, .error = error};
    kp_status status = kp_stack_begin(&stack, &kp_stack_exactly, &search.workspace, error);
    if (status != KP_OK) {
        return status;
    }
    status = find_pressure(&search, pressure, error);
    if (status == KP_OK) {
        status = kp_stack_solve(search.workspace, *pressure, KP_SEAT_ABSENT, error);
    }
    *past_yield = false;
    for (size_t i = 0; status == KP_OK && i < stack.disc_count; i++) {
        double stress;
        kp_stack_peak_stress(search.workspace, i, &stress, NULL, NULL);
        *past_yield = *past_yield || stress > discs[i].material.yield;
    }
    kp_stack_free(search.workspace);
    return status;
}

static void change_grip(kp_valve_data *valve, kp_unit_system units, char *words, size_t size)
{
    char hole[KP_SHOWN];
    if (valve->grip == KP_GRIP_SLIDING) {
        valve->grip = KP_GRIP_HELD;
        snprintf(words, size, "grip held instead of sliding");
        return;
    }
    valve->grip = KP_GRIP_SLIDING;
    bool assumed = !valve->has_hole;
    if (assumed) {
        valve->has_hole = true;
        valve->hole = kp_assumed_hole(valve->clamp_washer);
    }
    snprintf(words, size, "grip sliding instead of held (hole %s%s)",
             kp_show(valve->hole, KP_DIM_LENGTH, 1, units, hole), assumed ? ", assumed" : "");
}

/* The washer, or the small last shims that do its work. */
static void change_clamp(const kp_lift_study *study, kp_valve_data *valve, double by)
{
    valve->clamp_washer += by;
    for (size_t i = 0; i < valve->line_count; i++) {
        valve->lines[i].outside += study->parts[i] == KP_SHIM_SPACER ? by : 0.0;
    }
}

static void change_thickness(kp_valve_data *valve, double by)
{
    for (size_t i = 0; i < valve->line_count; i++) {
        valve->lines[i].thickness += by;
    }
}

/* Changes the valve and says how. */
static void apply(kp_doubt doubt, const kp_lift_study *study, kp_valve_data *valve, kp_unit_system units, char *words,
                  size_t size)
{
    double sign = doubt == DOUBT_CLAMP_LARGER || doubt == DOUBT_LAND_LARGER || doubt == DOUBT_THICKER ? 1.0 : -1.0;
    const char *more = sign > 0.0 ? "larger" : "smaller";
    char by[KP_SHOWN];
    switch (doubt) {
    case DOUBT_GRIP:
        change_grip(valve, units, words, size);
        break;
    case DOUBT_CLAMP_LARGER:
    case DOUBT_CLAMP_SMALLER:
        change_clamp(study, valve, sign * CLAMP_DOUBT);
        snprintf(words, size, "clamp %s %s", kp_show(CLAMP_DOUBT, KP_DIM_LENGTH, 1, units, by), more);
        break;
    case DOUBT_LAND_LARGER:
    case DOUBT_LAND_SMALLER:
        valve->land_inner += sign * LAND_DOUBT;
        valve->land_outer += sign * LAND_DOUBT;
        snprintf(words, size, "land %s %s", kp_show(LAND_DOUBT, KP_DIM_LENGTH, 1, units, by), more);
        break;
    case DOUBT_THICKER:
    case DOUBT_THINNER:
        change_thickness(valve, sign * THICKNESS_DOUBT);
        snprintf(words, size, "every shim %s %s", kp_show(THICKNESS_DOUBT, KP_DIM_LENGTH, 3, units, by),
                 sign > 0.0 ? "thicker" : "thinner");
        break;
    default:
        snprintf(words, size, "as in the file");
        break;
    }
}

/** One row. */
typedef struct kp_doubt_row {
    char name[120];             /* the same in every unit */
    char words[120], note[120]; /* for people */
    double pressure, change;    /* [Pa], [%]; NAN when that stack cannot be */
    bool past_yield;
} kp_doubt_row;

/* A stack that a doubt makes impossible (the land outside the face shim) is a row without numbers; a machine that does
   not play along is an error. */
static kp_status work_out(const kp_damper_data *data, const kp_lift_study *study, double opening, kp_unit_system units,
                          kp_doubt_row rows[DOUBT_COUNT], kp_error *error)
{
    kp_damper_data *changed = malloc(sizeof *changed);
    if (changed == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out before the doubts");
    }
    kp_status status = KP_OK;
    for (int i = 0; status == KP_OK && i < DOUBT_COUNT; i++) {
        kp_error reason = {0};
        kp_doubt_row *row = &rows[i];
        *changed = *data;
        apply((kp_doubt)i, study, &changed->valves[study->direction], KP_UNITS_METRIC, row->name, sizeof row->name);
        *changed = *data;
        apply((kp_doubt)i, study, &changed->valves[study->direction], units, row->words, sizeof row->words);
        status = pressure_for(changed, study->direction, opening, &row->pressure, &row->past_yield, &reason);
        row->change = 100.0 * (row->pressure / rows[DOUBT_NONE].pressure - 1.0);
        snprintf(row->note, sizeof row->note, "%s", row->past_yield ? "a shim would set or break" : "");
        if (status == KP_NO_MEMORY || (status != KP_OK && i == DOUBT_NONE)) {
            kp_error_set(error, status, "%s stack, opened by %g mm: %s", kp_direction_name(study->direction),
                         1e3 * opening, reason.message);
        } else if (status != KP_OK) {
            status = KP_OK;
            row->pressure = row->change = (double)NAN;
            row->past_yield = false;
            snprintf(row->note, sizeof row->note, "cannot be: %.100s", reason.message);
        }
    }
    free(changed);
    return status;
}

static kp_status fill(kp_table *table, bool people, double opening, const kp_doubt_row *rows, kp_error *error)
{
    enum { DOUBT, OPENING, PRESSURE, CHANGE, YIELD, NOTE };
    size_t first = people ? 1 : 0; /* behind the mark */
    kp_status status = people ? kp_table_add_text_column(table, "mark", "", NULL, error) : KP_OK;
    status = status == KP_OK ? kp_table_add_text_column(table, "doubt", "doubt", NULL, error) : status;
    status = status == KP_OK ? kp_table_add_column(table, "opening", "opening", KP_DIM_LENGTH, 3, NULL, error) : status;
    status =
        status == KP_OK ? kp_table_add_column(table, "pressure", "pressure", KP_DIM_PRESSURE, 2, NULL, error) : status;
    status = status == KP_OK ? kp_table_add_column(table, "change_percent", "change, %", KP_DIM_NONE, 1, NULL, error)
                             : status;
    status =
        status == KP_OK ? kp_table_add_column(table, "past_yield", "past yield", KP_DIM_NONE, 0, NULL, error) : status;
    status = status == KP_OK ? kp_table_add_text_column(table, "note", "", NULL, error) : status;
    if (status == KP_OK && people) {
        table->columns[first + OPENING].hidden = table->columns[first + YIELD].hidden = true;
    }
    for (int i = 0; status == KP_OK && i < DOUBT_COUNT; i++) {
        size_t row;
        status = kp_table_add_row(table, &row, error);
        if (status != KP_OK) {
            break;
        }
        kp_table_set(table, row, first + OPENING, opening);
        kp_table_set(table, row, first + PRESSURE, rows[i].pressure);
        kp_table_set(table, row, first + CHANGE, i == DOUBT_NONE && people ? (double)NAN : rows[i].change);
        kp_table_set(table, row, first + YIELD, rows[i].past_yield ? 1.0 : 0.0);
        const char *words = people ? rows[i].words : rows[i].name;
        status = people ? kp_table_set_text(table, row, 0, rows[i].past_yield ? "!" : "", error) : KP_OK;
        status = status == KP_OK ? kp_table_set_text(table, row, first + DOUBT, words, error) : status;
        status = status == KP_OK ? kp_table_set_text(table, row, first + NOTE, rows[i].note, error) : status;
    }
    return status;
}

kp_status kp_lift_sensitivity_fill(kp_output *output, const kp_lift_study *study, const kp_damper_data *data,
                                   kp_error *error)
{
    double opening = output->options->doubts_lift;
    kp_unit_system units = output->options->units;
    kp_doubt_row rows[DOUBT_COUNT];
    char shown[KP_SHOWN];
    char heading[200];
    kp_status status = work_out(data, study, opening, units, rows, error);
    if (status != KP_OK) {
        return status;
    }
    snprintf(heading, sizeof heading, "Pressure that opens the seat by %s, and how far each doubt moves it.",
             kp_show(opening, KP_DIM_LENGTH, 3, units, shown));
    kp_section *section = kp_output_section(output, heading);
    if (section == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out while the table was made");
    }
    kp_lines_add(
        &output->foot,
        "Sizes of clamp and land are diameters. Thickness: 0.008 mm is the precision tolerance of 0.20 to 0.25 "
        "mm stainless strip in EN ISO 9445, whose normal one is 0.015 mm; shims of one strip share it, so all "
        "are changed together.");
    status = fill(&output->data, false, opening, rows, error);
    return status == KP_OK ? fill(&section->table, true, opening, rows, error) : status;
}
