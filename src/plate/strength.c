/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stress of a shim at its worst place, now and over a cycle. The low end matters: a stack on a dished seat is stressed
   at rest. */
#include "plate/plate.h"

#include <math.h>

enum { SAMPLES_MOST = 2 * KP_MAX_NODES };

/* Squared. */
static inline double von_mises(double radial, double hoop)
{
    return radial * radial - radial * hoop + hoop * hoop;
}

double kp_plate_peak_stress(const kp_plate *plate, double unit, size_t *place, bool *piston_side)
{
    kp_disc_stress at[SAMPLES_MOST];
    double most = 0;
    *place = 0;
    *piston_side = true;
    kp_surface_stress(plate, plate->state, at);

    for (size_t k = 0; k < kp_surface_count(plate); k++) {
        double near_side = von_mises(at[k].piston_side_radial, at[k].piston_side_hoop);
        double far_side = von_mises(at[k].far_side_radial, at[k].far_side_hoop);
        if (near_side > most || far_side > most) {
            *piston_side = near_side >= far_side;
            most = *piston_side ? near_side : far_side;
            *place = k;
        }
    }
    return unit * sqrt(most);
}

/* Goodman's straight line between fatigue and tensile strength (Shigley's Mechanical Engineering Design, from memory);
   a compressive mean is given no credit. Low and high over the unit. */
static kp_cycle cycle_of(const kp_material *m, double unit, double low_radial, double low_hoop, double high_radial,
                         double high_hoop)
{
    double mean_radial = 0.5 * (high_radial + low_radial);
    double mean_hoop = 0.5 * (high_hoop + low_hoop);
    double amplitude = unit * sqrt(von_mises(0.5 * (high_radial - low_radial), 0.5 * (high_hoop - low_hoop)));
    double mean = copysign(unit * sqrt(von_mises(mean_radial, mean_hoop)), mean_radial + mean_hoop);
    return (kp_cycle){.mean = mean, .amplitude = amplitude, .use = amplitude / m->fatigue + fmax(mean, 0) / m->tensile};
}

/* Of both sides of one place; the piston side where they are alike. */
static kp_cycle worse_side(const kp_material *m, double unit, const kp_disc_stress *low, const kp_disc_stress *high)
{
    kp_cycle near_side = cycle_of(m, unit, low->piston_side_radial, low->piston_side_hoop, high->piston_side_radial,
                                  high->piston_side_hoop);
    kp_cycle far_side =
        cycle_of(m, unit, low->far_side_radial, low->far_side_hoop, high->far_side_radial, high->far_side_hoop);
    near_side.piston_side = true;
    return far_side.use > near_side.use ? far_side : near_side;
}

static bool has_strengths(const kp_material *m)
{
    return m->fatigue > 0 && m->tensile > 0;
}

kp_cycle kp_plate_cycle(const kp_plate *plate, const kp_material *material, double unit)
{
    kp_cycle worst = {0};
    if (!has_strengths(material)) {
        return worst;
    }
    kp_disc_stress at[SAMPLES_MOST];
    kp_surface_stress(plate, plate->state, at);
    for (size_t k = 0; k < kp_surface_count(plate); k++) {
        kp_cycle here = worse_side(material, unit, &plate->rest[k], &at[k]);
        if (here.use > worst.use) {
            worst = here;
            worst.radius = kp_surface_place(plate, k);
        }
    }
    return worst;
}

/* Largest squares of von Mises' stress: of all places, and of those where radial and hoop stress together pull. */
typedef struct squares {
    double all, pulled;
} squares;

static inline void consider(double radial, double hoop, squares *most)
{
    double square = von_mises(radial, hoop);
    double pulled = radial + hoop > 0 ? square : 0;
    most->all = square > most->all ? square : most->all;
    most->pulled = pulled > most->pulled ? pulled : most->pulled;
}

/* Where that square is. */
static int place_of(size_t count, const kp_disc_stress *at, double square, bool pulled)
{
    for (size_t k = 0; k < count; k++) {
        const double radial[2] = {at[k].piston_side_radial, at[k].far_side_radial};
        const double hoop[2] = {at[k].piston_side_hoop, at[k].far_side_hoop};
        for (size_t side = 0; side < 2; side++) {
            if (von_mises(radial[side], hoop[side]) == square && (!pulled || radial[side] + hoop[side] > 0)) {
                return (int)(2 * k + side);
            }
        }
    }
    return 0;
}

static void use_from_nothing(const kp_material *m, double unit, const squares *most, size_t count,
                             const kp_disc_stress *at, kp_peaks *peaks)
{
    double half = 0.5 * unit;
    double all = half * sqrt(most->all) / m->fatigue;
    double pulled = half * sqrt(most->pulled) / m->fatigue + half * sqrt(most->pulled) / m->tensile;
    peaks->use = fmax(all, pulled);
    peaks->use_place = place_of(count, at, pulled > all ? most->pulled : most->all, pulled > all);
}

/* Where nothing is strained at rest, a cycle's amplitude and mean are both half its high end, and its worst place is
   one of the two found by their squares. */
kp_peaks kp_plate_peaks(const kp_plate *plate, const double *state, const kp_material *m, double unit, bool of_cycle)
{
    size_t count = kp_surface_count(plate);
    kp_disc_stress at[SAMPLES_MOST];
    kp_surface_stress(plate, state, at);

    squares most = {0};
    for (size_t k = 0; k < count; k++) {
        consider(at[k].piston_side_radial, at[k].piston_side_hoop, &most);
        consider(at[k].far_side_radial, at[k].far_side_hoop, &most);
    }
    kp_peaks peaks = {.stress = unit * sqrt(most.all), .stress_place = place_of(count, at, most.all, false)};

    if (has_strengths(m) && !of_cycle) {
        use_from_nothing(m, unit, &most, count, at, &peaks);
    } else if (has_strengths(m)) {
        for (size_t k = 0; k < count; k++) {
            kp_cycle c = worse_side(m, unit, &plate->rest[k], &at[k]);
            if (c.use > peaks.use) {
                peaks.use = c.use;
                peaks.use_place = (int)(2 * k) + !c.piston_side;
            }
        }
    }
    return peaks;
}
