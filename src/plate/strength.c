/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Largest von Mises stress of a plate, and largest fatigue use over a cycle. The low end of the cycle matters: a stack
   on a dished seat is stressed at rest. Stresses of stress points are over the unit of kp_surface_stress. */
#include "plate/plate.h"

#include <math.h>

/* Square of von Mises' stress, plane stress. */
static inline double von_mises_squared(double radial, double hoop)
{
    return radial * radial - radial * hoop + hoop * hoop;
}

double kp_von_mises(double radial, double hoop)
{
    return sqrt(von_mises_squared(radial, hoop));
}

double kp_plate_peak_stress(const kp_plate *plate, double unit, size_t *point, bool *piston_side)
{
    kp_disc_stress at[KP_MAX_STRESS_POINTS];
    double max = 0;
    *point = 0;
    *piston_side = true;
    kp_surface_stress(plate, plate->state, at);

    for (size_t k = 0; k < kp_surface_count(plate); k++) {
        /* The piston side where both are alike. */
        double on_piston_side = von_mises_squared(at[k].piston_side_radial, at[k].piston_side_hoop);
        double on_far_side = von_mises_squared(at[k].far_side_radial, at[k].far_side_hoop);

        if (on_piston_side > max || on_far_side > max) {
            *piston_side = on_piston_side >= on_far_side;
            max = *piston_side ? on_piston_side : on_far_side;
            *point = k;
        }
    }

    return unit * sqrt(max);
}

/* Cycle of one side of a stress point. Source: Goodman's straight line between fatigue and tensile strength, as in
   Shigley's Mechanical Engineering Design (from memory); a compressive mean is given no credit. */
kp_cycle kp_cycle_between(const kp_material *m, double unit, const double low[3], const double high[3])
{
    double mean[3], half[3];
    for (size_t i = 0; i < 3; i++) {
        mean[i] = 0.5 * (high[i] + low[i]);
        half[i] = 0.5 * (high[i] - low[i]);
    }

    double amplitude = unit * sqrt(von_mises_squared(half[0], half[1]) + 3 * half[2] * half[2]);
    double level = unit * sqrt(von_mises_squared(mean[0], mean[1]) + 3 * mean[2] * mean[2]);
    double signed_mean = copysign(level, mean[0] + mean[1]);

    return (kp_cycle){
        .mean = signed_mean, .amplitude = amplitude, .use = amplitude / m->fatigue + fmax(signed_mean, 0) / m->tensile};
}

static kp_cycle cycle_of(const kp_material *m, double unit, double low_radial, double low_hoop, double high_radial,
                         double high_hoop)
{
    return kp_cycle_between(m, unit, (const double[]){low_radial, low_hoop, 0},
                            (const double[]){high_radial, high_hoop, 0});
}

/* Cycle of the worse side of a stress point; of the piston side where both are alike. */
static kp_cycle worse_side(const kp_material *m, double unit, const kp_disc_stress *low, const kp_disc_stress *high)
{
    kp_cycle piston_side = cycle_of(m, unit, low->piston_side_radial, low->piston_side_hoop, high->piston_side_radial,
                                    high->piston_side_hoop);
    kp_cycle far_side =
        cycle_of(m, unit, low->far_side_radial, low->far_side_hoop, high->far_side_radial, high->far_side_hoop);

    piston_side.piston_side = true;
    return far_side.use > piston_side.use ? far_side : piston_side;
}

bool kp_has_strengths(const kp_material *m)
{
    return m->fatigue > 0 && m->tensile > 0;
}

kp_cycle kp_plate_cycle(const kp_plate *plate, const kp_material *material, double unit)
{
    kp_cycle worst = {0};
    if (!kp_has_strengths(material)) {
        return worst;
    }

    kp_disc_stress at[KP_MAX_STRESS_POINTS];
    kp_surface_stress(plate, plate->state, at);

    for (size_t k = 0; k < kp_surface_count(plate); k++) {
        kp_cycle here = worse_side(material, unit, &plate->rest[k], &at[k]);
        if (here.use > worst.use) {
            worst = here;
            worst.radius = kp_surface_radius(plate, k);
        }
    }

    return worst;
}

/* Largest squares of von Mises' stress: of all stress points, and of those whose mean pressure is tensile. */
typedef struct squares {
    double all, tensile;
} squares;

static inline void consider(double radial, double hoop, squares *max)
{
    double square = von_mises_squared(radial, hoop);
    double tensile = radial + hoop > 0 ? square : 0;

    max->all = square > max->all ? square : max->all;
    max->tensile = tensile > max->tensile ? tensile : max->tensile;
}

/* Coded stress point (kp_peaks) that has this square; tensile: among those in tension. */
static int point_of(size_t count, const kp_disc_stress *at, double square, bool tensile)
{
    for (size_t k = 0; k < count; k++) {
        const double radial[2] = {at[k].piston_side_radial, at[k].far_side_radial};
        const double hoop[2] = {at[k].piston_side_hoop, at[k].far_side_hoop};

        for (size_t side = 0; side < 2; side++) {
            bool in_tension = radial[side] + hoop[side] > 0;
            if (von_mises_squared(radial[side], hoop[side]) == square && (!tensile || in_tension)) {
                return (int)(2 * k + side);
            }
        }
    }
    return 0;
}

/* Fatigue use of a cycle that begins without stress. Its amplitude and its mean are both half the high end, so that the
   worst point is one of the two with the largest squares: in compression only the amplitude counts. */
static void use_from_zero(const kp_material *m, double unit, const squares *max, size_t count, const kp_disc_stress *at,
                          kp_peaks *peaks)
{
    double half = 0.5 * unit;
    double all = half * sqrt(max->all) / m->fatigue;
    double tensile = half * sqrt(max->tensile) / m->fatigue + half * sqrt(max->tensile) / m->tensile;

    peaks->use = fmax(all, tensile);
    peaks->use_point = point_of(count, at, tensile > all ? max->tensile : max->all, tensile > all);
}

kp_peaks kp_plate_peaks(const kp_plate *plate, const double *state, const kp_material *m, double unit,
                        bool stressed_at_rest)
{
    size_t count = kp_surface_count(plate);
    kp_disc_stress at[KP_MAX_STRESS_POINTS];
    kp_surface_stress(plate, state, at);

    /* Largest stress. */
    squares max = {0};
    for (size_t k = 0; k < count; k++) {
        consider(at[k].piston_side_radial, at[k].piston_side_hoop, &max);
        consider(at[k].far_side_radial, at[k].far_side_hoop, &max);
    }
    kp_peaks peaks = {.stress = unit * sqrt(max.all), .stress_point = point_of(count, at, max.all, false)};

    /* Largest fatigue use; 0 where a strength is not given. */
    if (kp_has_strengths(m) && !stressed_at_rest) {
        use_from_zero(m, unit, &max, count, at, &peaks);
    } else if (kp_has_strengths(m)) {
        for (size_t k = 0; k < count; k++) {
            kp_cycle c = worse_side(m, unit, &plate->rest[k], &at[k]);
            if (c.use > peaks.use) {
                peaks.use = c.use;
                peaks.use_point = (int)(2 * k) + !c.piston_side;
            }
        }
    }

    return peaks;
}
