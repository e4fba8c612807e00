/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stresses at the surfaces of a plate with one lobe harmonic, over the unit of kp_surface_stress. At the angle theta
   the strains of the membrane are those of lobed.c summed over the harmonics; those of bending are half a thickness
   times the curvatures

       w0'' + a'' c,   w0'/rho + (a'/rho - n^2 a/rho^2) c,   -n (a'/rho - a/rho^2) s,    c, s = cos, sin n theta. */
#include "plate/plate.h"

#include <math.h>

/* cos and sin of n theta at each angle. */
static const double cosine[KP_LOBED_ANGLES] = {1, 0.70710678118654752440, 0, -0.70710678118654752440, -1};
static const double sine[KP_LOBED_ANGLES] = {0, 0.70710678118654752440, 1, 0.70710678118654752440, 0};

/* All fields at one radius. */
typedef struct fields {
    kp_field_point w, a, u0, u1, v1, u2, v2;
} fields;

/* Surface stresses at one point: radial, hoop, shear; piston side, far side. */
typedef struct surface {
    double side[2][3];
} surface;

static surface stress_of(const kp_lobed *l, const fields *f, double inverse_radius, double c, double s)
{
    double nu = l->plate->nu, n = l->lobes, half = 0.5 * l->plate->one_thickness, c2 = c * c - s * s, s2 = 2 * s * c;
    double b = n * f->a.value * inverse_radius;

    /* Membrane: what the shape adds to that at rest, rest_slope and rest_hoop. */
    double beyond = fmax(0, 1 / inverse_radius - l->flat_to), rest_slope = 2 * l->out_of_flat * beyond * c;
    double rest_hoop = n * l->out_of_flat * beyond * beyond * inverse_radius * s;
    double slope = f->w.slope + f->a.slope * c + rest_slope, hoop = b * s + rest_hoop;
    double er = f->u0.slope + f->u1.slope * c + f->u2.slope * c2 + 0.5 * (slope * slope - rest_slope * rest_slope);
    double et = inverse_radius *
                    (f->u0.value + (f->u1.value + n * f->v1.value) * c + (f->u2.value + 2 * n * f->v2.value) * c2) +
                0.5 * (hoop * hoop - rest_hoop * rest_hoop);
    double shear = (f->v1.slope - inverse_radius * (f->v1.value + n * f->u1.value)) * s +
                   (f->v2.slope - inverse_radius * (f->v2.value + 2 * n * f->u2.value)) * s2 -
                   (slope * hoop - rest_slope * rest_hoop);

    /* Bending. */
    double kr = f->w.curvature + f->a.curvature * c;
    double kt = inverse_radius * (f->w.slope + (f->a.slope - n * b) * c);
    double twist = -n * inverse_radius * (f->a.slope - f->a.value * inverse_radius) * s;

    surface out;
    for (size_t side = 0; side < 2; side++) {
        double arm = side == 0 ? half : -half;
        out.side[side][0] = er + nu * et + arm * (kr + nu * kt);
        out.side[side][1] = et + nu * er + arm * (kt + nu * kr);
        out.side[side][2] = 0.5 * (1 - nu) * shear + (1 - nu) * arm * twist;
    }
    return out;
}

/* ---- at all stress points ---------------------------------------------------------------------------------------- */

/* u0's coefficients as far apart as those of the other fields. */
static void spread_mean(const kp_lobed *l, double *to)
{
    for (size_t i = 0; i < l->plate->splines; i++) {
        to[KP_PAIR * i] = l->in_plane[0][i];
    }
}

typedef struct field_set {
    kp_field_point w[KP_MAX_STRESS_POINTS], a[KP_MAX_STRESS_POINTS], u0[KP_MAX_STRESS_POINTS];
    kp_field_point u1[KP_MAX_STRESS_POINTS], v1[KP_MAX_STRESS_POINTS];
    kp_field_point u2[KP_MAX_STRESS_POINTS], v2[KP_MAX_STRESS_POINTS];
} field_set;

static void read_fields(const kp_lobed *l, const double *x, field_set *f)
{
    double u0[KP_PAIR * KP_MAX_SPLINES];
    spread_mean(l, u0);
    kp_surface_field(l->plate, x, f->w);
    kp_surface_field(l->plate, x + 1, f->a);
    kp_surface_field(l->plate, u0, f->u0);
    kp_surface_field(l->plate, l->in_plane[1], f->u1);
    kp_surface_field(l->plate, l->in_plane[1] + 1, f->v1);
    kp_surface_field(l->plate, l->in_plane[2], f->u2);
    kp_surface_field(l->plate, l->in_plane[2] + 1, f->v2);
}

static fields fields_at(const field_set *f, size_t k)
{
    return (fields){f->w[k], f->a[k], f->u0[k], f->u1[k], f->v1[k], f->u2[k], f->v2[k]};
}

static double von_mises(const double s[3])
{
    return sqrt(s[0] * s[0] - s[0] * s[1] + s[1] * s[1] + 3 * s[2] * s[2]);
}

static kp_cycle cycle_at(const kp_lobed *l, const kp_material *m, double unit, bool stressed_at_rest, size_t k,
                         size_t side, const double high[3])
{
    double low[3] = {0};
    if (stressed_at_rest) {
        const kp_disc_stress *rest = &l->plate->rest[k];
        low[0] = side == 0 ? rest->piston_side_radial : rest->far_side_radial;
        low[1] = side == 0 ? rest->piston_side_hoop : rest->far_side_hoop;
    }
    return kp_cycle_between(m, unit, low, high);
}

/* Largest stress and worst cycle over all stress points, angles and sides. */
static void worst(const kp_lobed *l, const double *x, const kp_material *m, double unit, bool stressed_at_rest,
                  kp_peaks *peaks, kp_cycle *cycle)
{
    field_set f;
    read_fields(l, x, &f);
    bool fatigue = m && kp_has_strengths(m);
    *peaks = (kp_peaks){0};
    *cycle = (kp_cycle){0};
    for (size_t k = 0; k < kp_surface_count(l->plate); k++) {
        fields at = fields_at(&f, k);
        for (size_t angle = 0; angle < KP_LOBED_ANGLES; angle++) {
            surface s = stress_of(l, &at, l->plate->stress_point[k].inverse_radius, cosine[angle], sine[angle]);
            for (size_t side = 0; side < 2; side++) {
                double stress = unit * von_mises(s.side[side]);
                if (stress > peaks->stress) {
                    peaks->stress = stress;
                    peaks->stress_point = (int)(2 * k + side);
                }
                kp_cycle c = fatigue ? cycle_at(l, m, unit, stressed_at_rest, k, side, s.side[side]) : *cycle;
                if (fatigue && c.use > peaks->use) {
                    peaks->use = c.use;
                    peaks->use_point = (int)(2 * k + side);
                    *cycle = c;
                    cycle->piston_side = side == 0;
                    cycle->radius = kp_surface_radius(l->plate, k);
                }
            }
        }
    }
}

kp_peaks kp_lobed_peaks(const kp_lobed *l, const double *x, const kp_material *m, double unit, bool stressed_at_rest)
{
    kp_peaks peaks;
    kp_cycle cycle;
    worst(l, x, m, unit, stressed_at_rest, &peaks, &cycle);
    return peaks;
}

double kp_lobed_peak_stress(const kp_lobed *l, const double *x, double unit, size_t *point, bool *piston_side)
{
    kp_peaks peaks;
    kp_cycle cycle;
    worst(l, x, NULL, unit, false, &peaks, &cycle);
    *point = (size_t)peaks.stress_point / 2;
    *piston_side = peaks.stress_point % 2 == 0;
    return peaks.stress;
}

kp_cycle kp_lobed_cycle(const kp_lobed *l, const double *x, const kp_material *m, double unit)
{
    kp_peaks peaks;
    kp_cycle cycle;
    worst(l, x, m, unit, true, &peaks, &cycle);
    return cycle;
}

/* ---- at one radius ----------------------------------------------------------------------------------------------- */

kp_disc_stress kp_lobed_stress_at(const kp_lobed *l, const double *x, double rho, size_t angle)
{
    double u0[KP_PAIR * KP_MAX_SPLINES];
    const kp_plate *plate = l->plate;
    spread_mean(l, u0);
    fields at = {
        .w = kp_surface_field_at(plate, x, rho),
        .a = kp_surface_field_at(plate, x + 1, rho),
        .u0 = kp_surface_field_at(plate, u0, rho),
        .u1 = kp_surface_field_at(plate, l->in_plane[1], rho),
        .v1 = kp_surface_field_at(plate, l->in_plane[1] + 1, rho),
        .u2 = kp_surface_field_at(plate, l->in_plane[2], rho),
        .v2 = kp_surface_field_at(plate, l->in_plane[2] + 1, rho),
    };
    surface s = stress_of(l, &at, 1 / rho, cosine[angle], sine[angle]);
    return (kp_disc_stress){s.side[0][0], s.side[0][1], s.side[1][0], s.side[1][1]};
}

void kp_lobed_lift(const kp_lobed *l, const double *x, double rho, double *mean, double *amplitude)
{
    double n[4], d[4];
    size_t element = kp_plate_shape(l->plate, rho, n, d);
    *mean = kp_plate_sum(n, x + KP_PAIR * element);
    *amplitude = kp_plate_sum(n, x + KP_PAIR * element + 1);
}
