/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a curve comes to: slopes over the three ranges, shape index, knee, where the margin goes and a shim yields.

   Ranges. Bounds of low, mid and high speed differ from workshop to workshop: 0.13, 0.52 and 1.05 m/s are the 131, 524
   and 1047 mm/s points of a 100 mm stroke dyno preset (common practice, no source), and can be changed.

   Knee. In words: kp_knee_definition. Why so: below the knee a fixed port's force goes with v to v^2 and its slope
   rises; where the stack lets go the slope falls. A pure power law F ~ v^n has the ratio 2^(n - 1) everywhere, so 0.79
   for a flat stack's 2/3 and never below one half: a curve that only bends gently has no knee, however digressive. The
   slope is exact, so the ratio needs no smoothing; it is scanned on a logarithmic grid and its minimum refined by a
   parabola. */
#include "damper/damper_internal.h"

#include "num/num.h"

#include <math.h>

kp_speed_limits kp_speed_limits_default(void)
{
    return (kp_speed_limits){.low = 0.13, .high = 0.52, .top = 1.05};
}

const char *kp_knee_definition(void)
{
    return "knee: the speed about which the slope of force against speed falls most, from a factor 1.41 below to a "
           "factor 1.41 above it; called a knee only where the slope falls to less than half";
}

/* Bounds of the shape index: common practice, no source. */
static const double DIGRESSIVE_BELOW = 0.75, LINEAR_FROM = 0.9, LINEAR_TO = 1.1; /* [-] */

const char *kp_shape_name(double shape_index)
{
    if (shape_index < DIGRESSIVE_BELOW) {
        return "digressive";
    }
    if (shape_index < LINEAR_FROM) {
        return "slightly digressive";
    }
    return shape_index <= LINEAR_TO ? "linear" : "progressive";
}

/* ---- knee ---- */

enum {
    PER_OCTAVE = 16,              /* [-] grid points for each doubling of speed */
    HALF_WINDOW = PER_OCTAVE / 2, /* a factor sqrt(2) */
    MAX_GRID = 512                /* 32 doublings */
};
static const double SEEK_FROM = 1.0 / 20; /* [-] of the low-speed bound */
static const double KNEE_RATIO = 0.5;     /* [-] the slope falls at least to this share */

typedef struct knee_grid {
    int count;
    double speed[MAX_GRID];     /* [m/s] */
    double log_ratio[MAX_GRID]; /* ln(slope a window above / slope a window below) */
} knee_grid;

/* dF/dv of the hydraulic force F = d A_f + r A_r [N s/m]. */
static kp_status full_slope(const kp_damper *damper, kp_direction direction, double speed, double *slope,
                            kp_error *error)
{
    kp_circuit_state state;
    kp_rod_state rod;
    kp_status status = kp_damper_full_states(damper, direction, speed, &state, &rod, error);
    if (status == KP_OK) {
        *slope = kp_damper_full_drop_slope(damper, &state) * damper->driven_area +
                 rod.slope * damper->rod_area * damper->rod_area;
    }
    return status;
}

/* to = the highest speed at which a knee may stand; a window above it must be within the damper's range. */
static kp_status fill_grid(const kp_damper *damper, kp_direction direction, double from, double to, knee_grid *grid,
                           kp_error *error)
{
    /* Slopes at speeds in equal ratios, from half a window below the range to half a window above it. */
    double slopes[MAX_GRID];
    const double step = pow(2, 1.0 / PER_OCTAVE);
    int points = 0; /* speed[i] is slopes[i + HALF_WINDOW]'s place */
    for (double v = from / sqrt(2); v <= to * sqrt(2) && points < MAX_GRID; v *= step) {
        kp_status status = full_slope(damper, direction, v, &slopes[points], error);
        if (status != KP_OK) {
            return status;
        }
        points++;
    }

    /* ln ratio of the slopes a window above and a window below each point */
    grid->count = points > 2 * HALF_WINDOW ? points - 2 * HALF_WINDOW : 0;
    for (int i = 0; i < grid->count; i++) {
        grid->speed[i] = from * pow(2, (double)i / PER_OCTAVE);
        grid->log_ratio[i] = log(slopes[i + 2 * HALF_WINDOW] / slopes[i]);
    }

    return KP_OK;
}

static kp_status find_knee(const kp_damper *damper, kp_direction direction, kp_speed_limits limits,
                           kp_curve_summary *summary, kp_error *error)
{
    knee_grid grid;
    double to = fmin(limits.high, fmin(limits.top, damper->largest_speed) / sqrt(2));
    kp_status status = fill_grid(damper, direction, limits.low * SEEK_FROM, to, &grid, error);
    if (status != KP_OK) {
        return status;
    }

    /* The deepest minimum of ln(slope above/slope below) within the grid. */
    int best = 0; /* none: an end of the range is no turn of the curve */
    for (int i = 1; i + 1 < grid.count; i++) {
        bool minimum = grid.log_ratio[i] <= grid.log_ratio[i - 1] && grid.log_ratio[i] < grid.log_ratio[i + 1];
        if (minimum && (best == 0 || grid.log_ratio[i] < grid.log_ratio[best])) {
            best = i;
        }
    }

    if (best == 0 || grid.log_ratio[best] > log(KNEE_RATIO)) {
        return KP_OK;
    }

    /* Vertex of the parabola through the minimum and its neighbours. */
    double left = grid.log_ratio[best - 1], middle = grid.log_ratio[best], right = grid.log_ratio[best + 1];
    double shift = 0.5 * (left - right) / (left - 2 * middle + right); /* [grid steps] */
    double speed = grid.speed[best] * pow(2, shift / PER_OCTAVE);

    kp_circuit_state state;
    kp_rod_state rod;
    status = kp_damper_full_states(damper, direction, speed, &state, &rod, error);
    if (status == KP_OK) {
        summary->has_knee = true;
        summary->knee_speed = speed;
        summary->knee_force = state.drop * damper->driven_area + rod.drop * damper->rod_area;
    }

    return status;
}

/* ---- margin and yield ---- */

/* Speed that drives a circuit state. */
static double speed_of(const kp_damper *damper, const kp_circuit_state *state)
{
    return state->flow / (damper->driven_area - damper->drag_area);
}

/* The minimum of the margin over the range, and where it is first gone. The margin falls steadily where the way to the
   gas is free; with a reservoir valve it may rise again with speed, so the whole range is scanned. */
enum { MARGIN_POINTS = 48 };
static const double MARGIN_FROM = 1e-3;   /* [-] of the top speed: the margin is still whole there or the gas is gone */
static const double MARGIN_SPEED = 1e-12; /* [-] the speed found, relative                                       */

typedef struct margin_search {
    const kp_damper *damper;
    kp_direction direction;
    kp_status status;
    kp_error *error;
} margin_search;

static double margin_at(double speed, void *context)
{
    margin_search *m = context;
    double margin = (double)NAN;
    kp_status status = kp_damper_margin(m->damper, m->direction, speed, &margin, m->error);
    m->status = status == KP_OK ? m->status : status;
    return margin;
}

static kp_status find_margin(const kp_damper *damper, kp_direction direction, double top, kp_curve_summary *summary,
                             kp_error *error)
{
    if (direction == KP_REBOUND && kp_reservoir_path_free(&damper->reservoir_paths[KP_REBOUND])) {
        return KP_OK; /* the chamber at risk stands at gas pressure */
    }

    margin_search m = {damper, direction, KP_OK, error};

    /* The smallest margin of the scan, and the two speeds between which the margin is lost. */
    double minimum = INFINITY, before = 0, gone_from = 0, gone_to = 0;
    for (int i = 0; i <= MARGIN_POINTS; i++) {
        double speed = i == MARGIN_POINTS ? top : top * pow(MARGIN_FROM, 1 - (double)i / MARGIN_POINTS);
        double margin = margin_at(speed, &m);
        if (m.status != KP_OK) {
            return m.status;
        }

        if (margin <= 0 && gone_to <= 0) {
            gone_from = before;
            gone_to = speed;
        }
        minimum = fmin(minimum, margin);
        before = speed;
    }

    if (!(minimum <= 0)) {
        return KP_OK;
    }

    /* The gas pressure that is missing where the margin is smallest. */
    summary->margin_goes = true;
    summary->margin_shortfall = -minimum;
    summary->margin_speed = gone_to;

    /* Gas pressure at any position is proportional to the charge. */
    const kp_damper_data *data = &damper->data;
    double per_charge = damper->gas_pressure / data->gas.charge_pressure;
    double charge = (damper->gas_pressure - minimum) / per_charge;
    if (!data->gas_open && data->has_maximum_charge && charge <= data->maximum_charge) {
        summary->has_charge_needed = true;
        summary->charge_needed = charge;
    }

    if (!(gone_from > 0)) {
        return KP_OK; /* gone from the slowest speed of the scan */
    }

    /* The margin changes sign between the last speed that has one and the first that has none. */
    return kp_root_bracketed(margin_at, &m, gone_from, gone_to, 0, MARGIN_SPEED, &summary->margin_speed, error);
}

/* Speed at which the piston's drop comes to that of a state past the margin in compression. */
static kp_status saturated_speed(const kp_damper *damper, const kp_circuit_state *state, double *speed, kp_error *error)
{
    kp_rod_state rod;
    double room = damper->gas_pressure - damper->data.release_pressure;
    kp_status status =
        kp_reservoir_path_at_drop(&damper->reservoir_paths[KP_COMPRESSION], state->drop - room, &rod, error);
    if (status == KP_OK) {
        *speed = (state->flow + rod.flow) / (damper->bore_area - damper->drag_area);
    }
    return status;
}

static kp_status find_yield(const kp_damper *damper, kp_direction direction, double top, kp_curve_summary *summary,
                            kp_error *error)
{
    if (!damper->yields[direction]) {
        return KP_OK;
    }

    kp_circuit_state state;
    kp_status status = kp_circuit_at(&damper->circuits[direction], damper->yield_pressure[direction], &state, error);
    if (status != KP_OK) {
        return status;
    }

    /* Q(p_yield) = v (A_f - drag area) while there is margin. A stack may be past its yield at rest, or before anything
       flows. */
    double speed = speed_of(damper, &state), margin = 1;
    if (speed <= top && direction == KP_COMPRESSION && summary->margin_goes) {
        margin = damper->gas_pressure - damper->data.release_pressure - state.drop;
        status = speed > 0 ? kp_damper_margin(damper, direction, speed, &margin, error) : KP_OK;
    }

    if (status == KP_OK && margin <= 0) { /* past the margin the drop rises slower, through a free path not at all */
        speed = INFINITY;
        if (!kp_reservoir_path_free(&damper->reservoir_paths[KP_COMPRESSION])) {
            status = saturated_speed(damper, &state, &speed, error);
        }
    }

    if (status == KP_OK && speed <= top) {
        summary->past_yield = true;
        summary->yield_speed = speed;
    }

    return status;
}

static kp_status find_reservoir_yield(const kp_damper *damper, double top, kp_curve_summary *summary, kp_error *error)
{
    if (!damper->yields[KP_RESERVOIR_VALVE]) {
        return KP_OK;
    }

    kp_circuit_state state;
    kp_status status = kp_circuit_at(&damper->reservoir_paths[KP_COMPRESSION].circuit,
                                     damper->yield_pressure[KP_RESERVOIR_VALVE], &state, error);

    /* Past the margin more than the rod's oil passes, so it may come earlier: a point there carries the mark, the
       speed here is that of the rod's oil alone. */
    double speed = status == KP_OK ? state.flow / damper->rod_area : INFINITY;
    if (status == KP_OK && speed <= top) {
        summary->reservoir_past_yield = true;
        summary->reservoir_yield_speed = speed;
    }

    return status;
}

/* ---- the summary ---- */

/* |hydraulic force| at a speed > 0 [N]. */
static kp_status hydraulic(const kp_damper *damper, kp_direction direction, double speed, double *force,
                           kp_error *error)
{
    kp_curve_point point;
    kp_status status = kp_curve_at(damper, direction == KP_COMPRESSION ? speed : -speed, &point, error);
    if (status == KP_OK) {
        *force = fabs(point.hydraulic_force);
    }
    return status;
}

static kp_status check_limits(const kp_damper *damper, kp_speed_limits limits, kp_error *error)
{
    bool rising = limits.low > 0 && limits.high > limits.low && limits.top > limits.high;
    if (rising && limits.top <= damper->largest_speed) {
        return KP_OK;
    }
    return kp_error_set(error, KP_OUT_OF_RANGE,
                        "speed limits low %g, high %g, top %g m/s: they must rise from above 0 to at most the %g m/s "
                        "that this damper is prepared for",
                        limits.low, limits.high, limits.top, damper->largest_speed);
}

kp_status kp_curve_summarise(const kp_damper *damper, kp_direction direction, kp_speed_limits limits,
                             kp_curve_summary *out, kp_error *error)
{
    /* Hydraulic force at the three limits of the speed ranges. */
    kp_curve_summary s = {.shape_from = limits.low, .shape_to = limits.top};
    const double speeds[] = {limits.low, limits.high, limits.top};
    double *const forces[] = {&s.low_force, &s.mid_force, &s.high_force};
    kp_status status = check_limits(damper, limits, error);
    for (int i = 0; status == KP_OK && i < 3; i++) {
        status = hydraulic(damper, direction, speeds[i], forces[i], error);
    }
    if (status != KP_OK) {
        return status;
    }

    /* Mean slopes, and n = ln(F_top/F_low)/ln(v_top/v_low). */
    s.low_slope = s.low_force / limits.low;
    s.mid_slope = (s.mid_force - s.low_force) / (limits.high - limits.low);
    s.high_slope = (s.high_force - s.mid_force) / (limits.top - limits.high);
    s.shape_index = log(s.high_force / s.low_force) / log(limits.top / limits.low);

    status = find_knee(damper, direction, limits, &s, error);
    if (status == KP_OK) {
        status = find_margin(damper, direction, limits.top, &s, error);
    }
    if (status == KP_OK && direction == KP_COMPRESSION) {
        status = find_reservoir_yield(damper, limits.top, &s, error);
    }
    if (status == KP_OK) { /* needs to know whether the margin goes */
        status = find_yield(damper, direction, limits.top, &s, error);
    }

    if (status == KP_OK) {
        *out = s;
    }

    return status;
}
