/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `band`: within what limits the force lies when parts, oil and charge are only as good as their tolerances. */
#include "report/report_internal.h"

#include <math.h>
#include <stdio.h>

#define SMALL_SHARE    0.005 /* [-] of the variance at every speed: a smaller cause has no row in the table */
#define HEADLINE_SPEED 0.262 /* [m/s] mid speed */
#define NAMED_CAUSES   3     /* [-] of a headline */

/* A force's distance from the nominal one. Damping is what it is per cent of: the gas force would make a small number
   of it. [%] */
static double percent_of(const kp_band_point *point, double force, double gas_force)
{
    double damping = fabs(point->nominal - gas_force);
    return damping > 0.0 ? 100.0 * (force - point->nominal) / damping : (double)NAN;
}

/* Limits of the band as softer and firmer than the damping of the file. [%] */
static void find_limits(const kp_band_point *point, kp_direction direction, double gas_force, double *softer,
                        double *firmer)
{
    double sign = direction == KP_COMPRESSION ? 1.0 : -1.0;
    double a = sign * percent_of(point, point->lower.value, gas_force);
    double b = sign * percent_of(point, point->upper.value, gas_force);
    *softer = fmin(a, b);
    *firmer = fmax(a, b);
}

/* ---- data -------------------------------------------------------------------------------------------------------- */

static void add_data_columns(kp_table *table)
{
    static const kp_column_spec columns[] = {
        KP_TEXT_COLUMN("direction", "direction"),
        KP_NUMBER_COLUMN("speed", "speed", KP_DIM_SPEED, 3),
        KP_NUMBER_COLUMN("force", "force as in file", KP_DIM_FORCE, 1),
        KP_NUMBER_COLUMN("force_least", "2.5 %", KP_DIM_FORCE, 1),
        KP_NUMBER_COLUMN("force_least_low", "2.5 %, from", KP_DIM_FORCE, 1),
        KP_NUMBER_COLUMN("force_least_high", "2.5 %, to", KP_DIM_FORCE, 1),
        KP_NUMBER_COLUMN("force_middle", "middle", KP_DIM_FORCE, 1),
        KP_NUMBER_COLUMN("force_most", "97.5 %", KP_DIM_FORCE, 1),
        KP_NUMBER_COLUMN("force_most_low", "97.5 %, from", KP_DIM_FORCE, 1),
        KP_NUMBER_COLUMN("force_most_high", "97.5 %, to", KP_DIM_FORCE, 1),
        KP_NUMBER_COLUMN("cavitating_share", "cavitating", KP_DIM_NONE, 1),
        KP_NUMBER_COLUMN("samples_done", "builds", KP_DIM_NONE, 0),
        KP_NUMBER_COLUMN("samples_asked", "builds asked for", KP_DIM_NONE, 0), /* more than done: interrupted */
    };
    static const char *const endings[] = {"first", "first_error", "total", "total_error"};
    kp_table_add_columns(table, columns, KP_COUNT(columns));

    for (int cause = 0; cause < KP_CAUSE_COUNT; cause++) {
        for (size_t e = 0; e < KP_COUNT(endings); e++) {
            char name[48];
            snprintf(name, sizeof name, "%s_%s", kp_cause_key((kp_cause)cause), endings[e]);
            kp_table_add_column(table, name, name, KP_DIM_NONE, 3, NULL, NULL);
        }
    }
}

static void add_data(kp_report *report, const kp_band *band)
{
    static const double none[] = {(double)NAN, (double)NAN, (double)NAN, (double)NAN};
    add_data_columns(&report->data);

    /* Every speed of both directions, with all quantiles and shares. */
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (size_t i = 0; i < band->speed_count; i++) {
            const kp_band_point *point = &band->points[d][i];
            const double values[] = {band->speeds[i],   point->nominal,      point->lower.value, point->lower.low,
                                     point->lower.high, point->median.value, point->upper.value, point->upper.low,
                                     point->upper.high, point->cavitating,   (double)band->done, (double)band->asked};

            kp_row row = kp_row_add(&report->data);
            kp_row_text(&row, kp_direction_name((kp_direction)d));
            kp_row_numbers(&row, values, KP_COUNT(values));

            for (int cause = 0; cause < KP_CAUSE_COUNT; cause++) {
                const kp_variance_share *share = &point->shares[cause];
                const double four[] = {share->first, share->first_error, share->total, share->total_error};
                kp_row_numbers(&row, point->has_shares && band->causes[cause].acts ? four : none, 4);
            }
        }
    }
}

static void add_json(kp_report *report, const kp_run *run, const kp_band *band, const kp_band_options *used)
{
    cJSON *extra = report->extra;
    kp_json_text(report, extra, "name", run->data.name);

    cJSON *causes = kp_json_object(report, extra, "causes");

    kp_json_number(report, extra, "samples_asked", (double)band->asked);
    kp_json_number(report, extra, "samples_done", (double)band->done);
    kp_json_number(report, extra, "share_rows", (double)band->share_rows);
    kp_json_number(report, extra, "seed", (double)used->seed);
    kp_json_number(report, extra, "correlation", used->correlation);
    kp_json_number(report, extra, "held_out_builds", (double)band->verification_count);
    kp_json_number(report, extra, "held_out_error_of_half_width", band->verification_error);
    kp_json_number(report, extra, "held_out_error_N", band->verification_force);

    /* Only causes that act in this damper are named. */
    for (int k = 0; k < KP_CAUSE_COUNT; k++) {
        if (band->causes[k].acts) {
            cJSON *cause = kp_json_object(report, causes, kp_cause_key((kp_cause)k));
            kp_json_text(report, cause, "spread", band->causes[k].spread);
            kp_json_text(report, cause, "standing", kp_cause_standing((kp_cause)k));
        }
    }
}

/* ---- tables for people ------------------------------------------------------------------------------------------- */

static void add_limits(kp_report *report, const kp_band *band, kp_direction direction, double gas_force)
{
    static const kp_column_spec columns[] = {KP_NUMBER_COLUMN("speed", "speed", KP_DIM_SPEED, 3),
                                             KP_NUMBER_COLUMN("force", "as in file", KP_DIM_FORCE, 0),
                                             KP_NUMBER_COLUMN("min", "2.5 %", KP_DIM_FORCE, 0),
                                             KP_NUMBER_COLUMN("middle", "middle", KP_DIM_FORCE, 0),
                                             KP_NUMBER_COLUMN("max", "97.5 %", KP_DIM_FORCE, 0),
                                             KP_NUMBER_COLUMN("error", "limits +/-", KP_DIM_FORCE, 0),
                                             KP_TEXT_COLUMN("softer", "softer, %"),
                                             KP_TEXT_COLUMN("firmer", "firmer, %"),
                                             KP_NUMBER_COLUMN("cavit", "cavitate, %", KP_DIM_NONE, 0)};
    kp_section *section =
        kp_report_section(report, "%s: force with gas and friction; softer and firmer in %% of the damping",
                          kp_direction_capital(direction));
    kp_table_add_columns(&section->table, columns, KP_COUNT(columns));

    for (size_t i = 0; i < band->speed_count; i++) {
        const kp_band_point *point = &band->points[direction][i];
        /* The limits are estimates themselves: half the wider of their intervals of confidence. */
        double sampling = fmax(point->lower.high - point->lower.low, point->upper.high - point->upper.low) / 2.0;
        const double values[] = {band->speeds[i],     point->nominal,     point->lower.value,
                                 point->median.value, point->upper.value, sampling};

        double softer;
        double firmer;
        char text[32];
        find_limits(point, direction, gas_force, &softer, &firmer);

        kp_row row = kp_row_add(&section->table);
        kp_row_numbers(&row, values, KP_COUNT(values));

        /* The limits again, in per cent of the nominal damping. */
        snprintf(text, sizeof text, "%+7.0f", softer);
        kp_row_text(&row, text);
        snprintf(text, sizeof text, "%+7.0f", firmer);
        kp_row_text(&row, text);
        kp_row_number(&row, 100.0 * point->cavitating);
    }
}

static bool has_a_row(const kp_band *band, kp_direction direction, int cause)
{
    for (size_t i = 0; i < band->speed_count; i++) {
        if (band->points[direction][i].shares[cause].total > SMALL_SHARE) {
            return band->causes[cause].acts;
        }
    }
    return false;
}

/* "41 (43)": alone, and with its interactions. */
static void add_shares(kp_report *report, const kp_band *band, kp_direction direction)
{
    kp_section *section =
        kp_report_section(report, "%s: share of each cause in the variance, %%: alone (with its interactions)",
                          kp_direction_capital(direction));
    kp_table_add_text_column(&section->table, "cause", "cause", NULL, NULL);

    for (size_t i = 0; i < band->speed_count; i++) {
        const char *heading = KP_SHOW(band->speeds[i], KP_DIM_SPEED, 3, report->request->units);
        kp_table_add_text_column(&section->table, heading, heading, NULL, NULL);
    }

    for (int k = 0; k < KP_CAUSE_COUNT; k++) {
        if (!has_a_row(band, direction, k)) {
            continue;
        }

        kp_row row = kp_row_add(&section->table);
        kp_row_text(&row, kp_cause_name((kp_cause)k));

        for (size_t i = 0; i < band->speed_count; i++) {
            const kp_variance_share *share = &band->points[direction][i].shares[k];
            char text[32];
            snprintf(text, sizeof text, "%2.0f (%2.0f)", 100.0 * fmax(0.0, share->first), 100.0 * share->total);
            kp_row_text(&row, text);
        }
    }
}

/* ---- sentences --------------------------------------------------------------------------------------------------- */

static size_t nearest_speed(const kp_band *band, double wanted)
{
    size_t best = 0;
    for (size_t i = 1; i < band->speed_count; i++) {
        best = fabs(band->speeds[i] - wanted) < fabs(band->speeds[best] - wanted) ? i : best;
    }
    return best;
}

/* " Most of it: strip thickness (41 %), dish (20 %), land (9 %)." */
static void cause_words(const kp_band *band, const kp_band_point *point, char *text, size_t size)
{
    bool named[KP_CAUSE_COUNT] = {false};
    text[0] = '\0';

    /* The causes with the largest total shares, largest first. */
    for (int turn = 0; point->has_shares && turn < NAMED_CAUSES; turn++) {
        int best = -1;
        for (int k = 0; k < KP_CAUSE_COUNT; k++) {
            bool larger = best < 0 || point->shares[k].total > point->shares[best].total;
            best = !named[k] && band->causes[k].acts && larger ? k : best;
        }

        if (best >= 0) {
            named[best] = true;
            kp_append(text, size, "%s%s (%.0f %%)", turn > 0 ? ", " : " Most of it: ", kp_cause_name((kp_cause)best),
                      100.0 * point->shares[best].total);
        }
    }

    if (text[0] != '\0') {
        kp_append(text, size, ".");
    }
}

/* "At 0.262 m/s 95 of 100 such builds lie from -9 to +12 % about the compression of the file; most of it from ..." */
static void add_headline(kp_report *report, const kp_band *band, kp_direction direction, double gas_force)
{
    size_t i = nearest_speed(band, HEADLINE_SPEED);
    const kp_band_point *point = &band->points[direction][i];
    double softer;
    double firmer;
    char why[200];

    find_limits(point, direction, gas_force, &softer, &firmer);
    cause_words(band, point, why, sizeof why);
    kp_lines_add(&report->top,
                 "%s at %s: 95 of 100 builds to these tolerances lie %+.0f to %+.0f %% about the damping "
                 "of the file.%s",
                 kp_direction_capital(direction), KP_SHOW(band->speeds[i], KP_DIM_SPEED, 3, report->request->units),
                 softer, firmer, why);
}

static void add_causes(kp_report *report, const kp_band *band)
{
    kp_lines_add(&report->foot, "What varies:");

    for (int k = 0; k < KP_CAUSE_COUNT; k++) {
        const kp_cause_found *found = &band->causes[k];
        if (found->acts) {
            kp_lines_add(&report->foot, "   - %s: %s. %s: %s%s", kp_cause_name((kp_cause)k), found->spread,
                         found->from_file ? "From the file where it says so, else" : "Default",
                         kp_cause_standing((kp_cause)k),
                         found->cut ? ". CUT where a build further out would be impossible" : "");
        }
    }
}

void kp_add_band_method(kp_report *report, const kp_band *band, const kp_band_options *used)
{
    kp_lines_add(
        &report->foot,
        "Sampled %zu builds, seed %llu; a tolerance is two standard deviations of a normal spread. Shims of one "
        "nominal thickness are of one strip lot; thickness of two of them correlates by %.2f (assumed; "
        "--correlation). `limits +/-` is the sampling error of the limits, with 95 %% confidence.",
        band->done, used->seed, used->correlation);
    kp_lines_add(
        &report->foot,
        "Stacks of the builds come from a second-degree polynomial in their sizes (of more than 16 kinds of shims, "
        "neighbours together); %zu builds solved whole lie "
        "at most %.1f %% of the band's half width away.",
        band->verification_count, 100.0 * band->verification_error);
    if (band->nearer > 0) {
        kp_lines_add(&report->foot,
                     "%zu of the builds had no solution as drawn, and were taken nearer to the sizes of the file.",
                     band->nearer);
    }
}

/* ---- all of it --------------------------------------------------------------------------------------------------- */

void kp_report_band(kp_report *report, const kp_run *run, const kp_band *band, const kp_band_options *used)
{
    double gas_force = run->points[0][0].gas_force;

    add_json(report, run, band, used);
    add_data(report, band);

    /* An interrupted run says so before anything else. */
    if (band->done < band->asked) {
        kp_lines_add(&report->top, "INTERRUPTED: %zu of %zu builds were sampled; this is their band.", band->done,
                     band->asked);
    }

    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        add_headline(report, band, (kp_direction)d, gas_force);
    }

    kp_lines_add(&report->top, "%s", kp_estimate_note);

    /* Tables: limits, then shares where they could be worked out. */
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        add_limits(report, band, (kp_direction)d, gas_force);
    }

    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        if (band->points[d][0].has_shares) {
            add_shares(report, band, (kp_direction)d);
        }
    }

    add_causes(report, band);
    kp_add_band_method(report, band, used);
    kp_add_state(&report->foot, &run->data, run->gas_pressure, report->request->units);
    kp_lines_add(&report->foot, "%s", kp_charge_caution);
}
