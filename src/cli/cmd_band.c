/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `band`: within what limits the force lies when parts, oil and charge are only as good as their tolerances. */
#include "cli/band.h"
#include "cli/pool.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Closer together at low speed, where the knee is; the dyno presets of `curve` among them. [m/s] */
static const double usual_speeds[] = {0.026, 0.052, 0.131, 0.196, 0.262, 0.393, 0.524, 0.786, 1.047};
static const double SMALL_SHARE = 0.005; /* [-] of the variance, everywhere: not worth a row for people */

static int compare_speeds(const double *a, size_t count, double speed)
{
    for (size_t i = 0; i < count; i++) {
        if (a[i] >= speed) {
            return a[i] > speed ? (int)i : -1;
        }
    }
    return (int)count;
}

void kp_cli_band_options(const kp_options *options, double *speeds, kp_band_options *band)
{
    const double *given = options->speeds.count > 0 ? options->speeds.values : usual_speeds;
    size_t count = options->speeds.count > 0 ? options->speeds.count : sizeof usual_speeds / sizeof usual_speeds[0];
    *band = kp_band_options_default();
    band->speeds = speeds;
    band->system = options->units;
    for (size_t i = 0; i < count; i++) { /* rising, each once */
        int at = compare_speeds(speeds, band->speed_count, given[i]);
        if (at >= 0) {
            memmove(&speeds[at + 1], &speeds[at], (band->speed_count - (size_t)at) * sizeof *speeds);
            speeds[at] = given[i];
            band->speed_count++;
        }
    }
    band->samples = options->samples > 0 ? options->samples : band->samples;
    band->seed = options->has_seed ? options->seed : band->seed;
    band->correlation = options->has_correlation ? options->correlation : band->correlation;
}

/* ---- tables ----------------------------------------------------------------------------------------------------- */

typedef struct kp_band_column {
    const char *name, *heading;
    kp_dimension dimension;
} kp_band_column;

static const kp_band_column columns[] = {
    {"force", "force as in file", KP_DIM_FORCE},      {"force_least", "2.5 %", KP_DIM_FORCE},
    {"force_least_low", "2.5 %, from", KP_DIM_FORCE}, {"force_least_high", "2.5 %, to", KP_DIM_FORCE},
    {"force_middle", "middle", KP_DIM_FORCE},         {"force_most", "97.5 %", KP_DIM_FORCE},
    {"force_most_low", "97.5 %, from", KP_DIM_FORCE}, {"force_most_high", "97.5 %, to", KP_DIM_FORCE},
    {"cavitating_share", "cavitating", KP_DIM_NONE},
};
enum { COLUMNS = sizeof columns / sizeof columns[0] };

static kp_status fill_data(kp_table *table, const kp_band *band, kp_error *error)
{
    kp_status status = kp_table_add_text_column(table, "direction", "direction", NULL, error);
    status = status == KP_OK ? kp_table_add_column(table, "speed", "speed", KP_DIM_SPEED, 3, NULL, error) : status;
    for (size_t i = 0; status == KP_OK && i < COLUMNS; i++) {
        status = kp_table_add_column(table, columns[i].name, columns[i].heading, columns[i].dimension, 1, NULL, error);
    }
    static const char *const endings[4] = {"first", "first_error", "total", "total_error"};
    for (int k = 0; k < KP_CAUSE_COUNT; k++) {
        for (int e = 0; status == KP_OK && e < 4; e++) {
            char name[48];
            snprintf(name, sizeof name, "%s_%s", kp_cause_key((kp_cause)k), endings[e]);
            status = kp_table_add_column(table, name, name, KP_DIM_NONE, 3, NULL, error);
        }
    }
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        for (size_t i = 0; status == KP_OK && i < band->speed_count; i++) {
            const kp_band_point *point = &band->points[d][i];
            const double values[COLUMNS] = {point->nominal,    point->lower.value,  point->lower.low,
                                            point->lower.high, point->median.value, point->upper.value,
                                            point->upper.low,  point->upper.high,   point->cavitating};
            size_t row;
            size_t column = 2;
            status = kp_table_add_row(table, &row, error);
            status =
                status == KP_OK ? kp_table_set_text(table, row, 0, kp_direction_name((kp_direction)d), error) : status;
            if (status != KP_OK) {
                break;
            }
            kp_table_set(table, row, 1, band->speeds[i]);
            for (size_t c = 0; c < COLUMNS; c++) {
                kp_table_set(table, row, column++, values[c]);
            }
            for (int k = 0; k < KP_CAUSE_COUNT; k++) {
                const kp_variance_share *share = &point->shares[k];
                const double four[4] = {share->first, share->first_error, share->total, share->total_error};
                for (int e = 0; e < 4; e++) {
                    kp_table_set(table, row, column++,
                                 point->has_shares && band->causes[k].acts ? four[e] : (double)NAN);
                }
            }
        }
    }
    return status;
}

/* Damping is what the band is per cent of: the gas force would make a small number of it. */
double kp_band_percent(const kp_band_point *point, double force, double gas_force)
{
    double damping = fabs(point->nominal - gas_force);
    return damping > 0.0 ? 100.0 * (force - point->nominal) / damping : (double)NAN;
}

static kp_status fill_band(kp_section *section, const kp_band *band, kp_direction direction, double gas_force,
                           kp_error *error)
{
    static const kp_band_column shown[] = {{"force", "as in file", KP_DIM_FORCE},
                                           {"least", "2.5 %", KP_DIM_FORCE},
                                           {"middle", "middle", KP_DIM_FORCE},
                                           {"most", "97.5 %", KP_DIM_FORCE},
                                           {"error", "limits +/-", KP_DIM_FORCE}};
    kp_table *table = &section->table;
    double sign = direction == KP_COMPRESSION ? 1.0 : -1.0;
    kp_status status = kp_table_add_column(table, "speed", "speed", KP_DIM_SPEED, 3, NULL, error);
    for (size_t i = 0; status == KP_OK && i < sizeof shown / sizeof shown[0]; i++) {
        status = kp_table_add_column(table, shown[i].name, shown[i].heading, shown[i].dimension, 0, NULL, error);
    }
    status = status == KP_OK ? kp_table_add_text_column(table, "softer", "softer, %", NULL, error) : status;
    status = status == KP_OK ? kp_table_add_text_column(table, "firmer", "firmer, %", NULL, error) : status;
    status = status == KP_OK ? kp_table_add_column(table, "cavit", "cavitate, %", KP_DIM_NONE, 0, NULL, error) : status;
    for (size_t i = 0; status == KP_OK && i < band->speed_count; i++) {
        const kp_band_point *point = &band->points[direction][i];
        char text[2][32];
        size_t row;
        status = kp_table_add_row(table, &row, error);
        if (status != KP_OK) {
            break;
        }
        double sampling = fmax(point->lower.high - point->lower.low, point->upper.high - point->upper.low) / 2.0;
        double limits[2] = {sign * kp_band_percent(point, point->lower.value, gas_force),
                            sign * kp_band_percent(point, point->upper.value, gas_force)};
        snprintf(text[0], sizeof text[0], "%+7.0f", fmin(limits[0], limits[1]));
        snprintf(text[1], sizeof text[1], "%+7.0f", fmax(limits[0], limits[1]));
        const double values[] = {band->speeds[i],     point->nominal,     point->lower.value,
                                 point->median.value, point->upper.value, sampling};
        for (size_t c = 0; c < sizeof values / sizeof values[0]; c++) {
            kp_table_set(table, row, c, values[c]);
        }
        status = kp_table_set_text(table, row, 6, text[0], error);
        status = status == KP_OK ? kp_table_set_text(table, row, 7, text[1], error) : status;
        kp_table_set(table, row, 8, 100.0 * point->cavitating);
    }
    return status;
}

static bool is_worth_a_row(const kp_band *band, kp_direction direction, int cause)
{
    for (size_t i = 0; i < band->speed_count; i++) {
        if (band->points[direction][i].shares[cause].total > SMALL_SHARE) {
            return band->causes[cause].acts;
        }
    }
    return false;
}

/* "41 (43)": alone, and with its interactions. */
static kp_status fill_shares(kp_section *section, const kp_band *band, kp_direction direction, kp_unit_system units,
                             kp_error *error)
{
    kp_table *table = &section->table;
    kp_status status = kp_table_add_text_column(table, "cause", "cause", NULL, error);
    for (size_t i = 0; status == KP_OK && i < band->speed_count; i++) {
        char heading[48];
        kp_show(band->speeds[i], KP_DIM_SPEED, 3, units, heading);
        status = kp_table_add_text_column(table, heading, heading, NULL, error);
    }
    for (int k = 0; status == KP_OK && k < KP_CAUSE_COUNT; k++) {
        size_t row;
        if (!is_worth_a_row(band, direction, k)) {
            continue;
        }
        status = kp_table_add_row(table, &row, error);
        status = status == KP_OK ? kp_table_set_text(table, row, 0, kp_cause_name((kp_cause)k), error) : status;
        for (size_t i = 0; status == KP_OK && i < band->speed_count; i++) {
            const kp_variance_share *share = &band->points[direction][i].shares[k];
            char text[32];
            snprintf(text, sizeof text, "%2.0f (%2.0f)", 100.0 * fmax(0.0, share->first), 100.0 * share->total);
            status = kp_table_set_text(table, row, 1 + i, text, error);
        }
    }
    return status;
}

/* ---- words ------------------------------------------------------------------------------------------------------ */

static size_t nearest_speed(const kp_band *band, double wanted)
{
    size_t best = 0;
    for (size_t i = 1; i < band->speed_count; i++) {
        best = fabs(band->speeds[i] - wanted) < fabs(band->speeds[best] - wanted) ? i : best;
    }
    return best;
}

/* "At 0.262 m/s 95 of 100 such builds lie from -9 to +12 % about the compression of the file; most of it from ..." */
static void say_headline(kp_output *output, const kp_band *band, kp_direction direction, double gas_force)
{
    const double headline_speed = 0.262; /* [m/s] mid speed */
    size_t i = nearest_speed(band, headline_speed);
    const kp_band_point *point = &band->points[direction][i];
    double sign = direction == KP_COMPRESSION ? 1.0 : -1.0;
    double a = sign * kp_band_percent(point, point->lower.value, gas_force);
    double b = sign * kp_band_percent(point, point->upper.value, gas_force);
    char speed[KP_SHOWN];
    char why[200] = "";
    size_t used = 0;
    bool said[KP_CAUSE_COUNT] = {false};
    for (int turn = 0; point->has_shares && turn < 3; turn++) {
        int best = -1;
        for (int k = 0; k < KP_CAUSE_COUNT; k++) {
            bool larger = best < 0 || point->shares[k].total > point->shares[best].total;
            best = !said[k] && band->causes[k].acts && larger ? k : best;
        }
        if (best >= 0 && used < sizeof why) {
            said[best] = true;
            int wrote = snprintf(why + used, sizeof why - used, "%s%s (%.0f %%)",
                                 turn > 0 ? ", " : " Most of it: ", kp_cause_name((kp_cause)best),
                                 100.0 * point->shares[best].total);
            used += wrote > 0 ? (size_t)wrote : 0;
        }
    }
    kp_lines_add(&output->top,
                 "%s at %s: 95 of 100 builds to these tolerances lie %+.0f to %+.0f %% about the damping "
                 "of the file.%s%s",
                 direction == KP_COMPRESSION ? "Compression" : "Rebound",
                 kp_show(band->speeds[i], KP_DIM_SPEED, 3, output->options->units, speed), fmin(a, b), fmax(a, b), why,
                 used > 0 ? "." : "");
}

void kp_band_say_causes(kp_lines *lines, const kp_band *band)
{
    for (int k = 0; k < KP_CAUSE_COUNT; k++) {
        const kp_cause_found *found = &band->causes[k];
        if (found->acts) {
            kp_lines_add(lines, "   - %s: %s. %s: %s", kp_cause_name((kp_cause)k), found->spread,
                         found->from_file ? "From the file where it says so, else" : "Default",
                         kp_cause_standing((kp_cause)k));
        }
    }
}

void kp_band_say_method(kp_lines *lines, const kp_band *band, const kp_band_options *used)
{
    kp_lines_add(
        lines,
        "Sampled %zu builds, seed %llu; a tolerance is two standard deviations of a normal spread. Shims of one "
        "nominal thickness are of one strip lot; thickness of two of them correlates by %.2f (assumed; "
        "--correlation). `limits +/-` is the sampling error of the limits, with 95 %% confidence.",
        band->done, used->seed, used->correlation);
    kp_lines_add(
        lines,
        "Stacks of the builds come from a second-degree polynomial in their sizes; %zu builds solved whole lie "
        "at most %.1f %% of the band's half width away.",
        band->verification_count, 100.0 * band->verification_error);
}

static bool add_extra(cJSON *extra, const kp_band *band, const kp_band_options *used)
{
    cJSON *causes = cJSON_AddObjectToObject(extra, "causes");
    bool good = causes != NULL && kp_json_add_number(extra, "samples_asked", (double)band->asked) &&
                kp_json_add_number(extra, "samples_done", (double)band->done) &&
                kp_json_add_number(extra, "share_rows", (double)band->share_rows) &&
                kp_json_add_number(extra, "seed", (double)used->seed) &&
                kp_json_add_number(extra, "correlation", used->correlation) &&
                kp_json_add_number(extra, "held_out_builds", (double)band->verification_count) &&
                kp_json_add_number(extra, "held_out_error_of_half_width", band->verification_error) &&
                kp_json_add_number(extra, "held_out_error_N", band->verification_force);
    for (int k = 0; good && k < KP_CAUSE_COUNT; k++) {
        cJSON *cause = band->causes[k].acts ? cJSON_AddObjectToObject(causes, kp_cause_key((kp_cause)k)) : NULL;
        good = !band->causes[k].acts || (cause != NULL && kp_json_add_text(cause, "spread", band->causes[k].spread) &&
                                         kp_json_add_text(cause, "standing", kp_cause_standing((kp_cause)k)));
    }
    return good;
}

static kp_status add_sections(kp_output *output, const kp_band *band, double gas_force, kp_error *error)
{
    kp_status status = KP_OK;
    for (int kind = 0; status == KP_OK && kind < 2; kind++) {
        for (int d = 0; status == KP_OK && d < KP_DIRECTION_COUNT; d++) {
            char heading[200];
            const char *name = d == KP_COMPRESSION ? "Compression" : "Rebound";
            if (kind == 1 && !band->points[d][0].has_shares) {
                continue;
            }
            snprintf(heading, sizeof heading,
                     kind == 0 ? "%s: force with gas and friction; softer and firmer in %% of the damping"
                               : "%s: share of each cause in the variance, %%: alone (with its interactions)",
                     name);
            kp_section *section = kp_output_section(output, heading);
            if (section == NULL) {
                return kp_error_set(error, KP_NO_MEMORY, "memory ran out while the tables were made");
            }
            status = kind == 0 ? fill_band(section, band, (kp_direction)d, gas_force, error)
                               : fill_shares(section, band, (kp_direction)d, output->options->units, error);
        }
    }
    return status;
}

static kp_status fill_output(kp_output *output, const kp_run *run, const kp_band *band, const kp_band_options *used,
                             kp_error *error)
{
    double gas_force = run->points[0][0].gas_force;
    output->extra = cJSON_CreateObject();
    if (output->extra == NULL || !kp_json_add_text(output->extra, "name", run->data.name) ||
        !add_extra(output->extra, band, used)) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out while the answer was put together");
    }
    if (band->done < band->asked) {
        kp_lines_add(&output->top, "INTERRUPTED: %zu of %zu builds were sampled; this is their band.", band->done,
                     band->asked);
    }
    for (int d = 0; d < KP_DIRECTION_COUNT; d++) {
        say_headline(output, band, (kp_direction)d, gas_force);
    }
    kp_lines_add(&output->top, "%s", kp_estimate_note);
    kp_status status = fill_data(&output->data, band, error);
    status = status == KP_OK ? add_sections(output, band, gas_force, error) : status;
    kp_lines_add(&output->foot, "What varies:");
    kp_band_say_causes(&output->foot, band);
    kp_band_say_method(&output->foot, band, used);
    kp_state_line(&output->foot, "", &run->data, run->gas_pressure, output->options->units);
    kp_lines_add(&output->foot, "%s", kp_charge_caution);
    return status;
}

kp_status kp_cmd_band(const kp_options *options, kp_error *error)
{
    double speeds[KP_MAX_LIST] = {0};
    kp_run run = {0};
    kp_band band = {0};
    kp_band_options used;
    kp_output output;
    kp_cli_band_options(options, speeds, &used);
    kp_status status = kp_output_begin(&output, options, error);
    status = status == KP_OK ? kp_run_begin(&run, options->files[0], options, &output.warnings, error) : status;
    kp_status sampled = KP_OK;
    if (status == KP_OK) {
        kp_watch watch;
        kp_run_warn(&run, options->units, &output.warnings);
        kp_pool pool = kp_watch_begin(&watch, "band", options);
        sampled = kp_band_run(&run.data, &used, &pool, &band, error);
        kp_watch_end(&watch);
        status = sampled == KP_INTERRUPTED && band.done > 0 ? KP_OK : sampled;
    }
    status = status == KP_OK ? fill_output(&output, &run, &band, &used, error) : status;
    if (status == KP_OK && options->plot) {
        status = kp_figure_of_band(&output, &run, &band, error);
    }
    status = status == KP_OK ? kp_output_print(&output, error) : status;
    kp_band_free(&band);
    kp_run_free(&run);
    kp_output_free(&output);
    return status == KP_OK ? sampled : status;
}
