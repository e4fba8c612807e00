/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Energy and gradient of a plate with one lobe harmonic. Strains by harmonic, n lobes, b = n a/rho:

       e_r:  u0' + w'^2/2 + a'^2/4     u1' + w' a'                    u2' + a'^2/4
       e_t:  u0/rho + b^2/4            (u1 + n v1)/rho                (u2 + 2n v2)/rho - b^2/4
       g:                              v1' - (v1 + n u1)/rho - b w'   v2' - (v2 + 2n u2)/rho - a' b/2

   The energy over 2 pi is that of plate/element.c, of harmonic 0 in full and of the others half, with the shear's
   A/2 (1 - nu)/2 g^2; and half of lobe.c's bending energy of a. For given w and a it is quadratic in the in-plane
   fields, harmonic by harmonic, with constant matrices: they are eliminated as U is in element.c.

   A plate out of flat is one whose strains are those of its shape less those of its shape at rest (Marguerre's shallow
   shell): only products of a with itself change. */
#include "plate/plate.h"

#include "num/num.h"

#include <math.h>
#include <string.h>

static size_t points_room(const kp_plate *plate)
{
    return (plate->nodes - 1) * KP_GAUSS;
}

/* The part of a block that begins at *used; NULL where there is no block yet. */
static void *take(double *base, size_t *used, size_t amount)
{
    double *at = base ? base + *used : NULL;
    *used += amount;
    return at;
}

/* Doubles of the block. Called twice: with base NULL to count them, then with the block to set each array's pointer. */
static size_t lay_out(const kp_plate *plate, double *base, kp_lobed *l)
{
    size_t used = 0, elements = plate->nodes - 1, points = points_room(plate), n = plate->splines;
    l->point = take(base, &used, points * sizeof(kp_lobed_point) / sizeof(double));
    l->over = take(base, &used, elements * sizeof(kp_element) / sizeof(double));
    l->shear = take(base, &used, elements * sizeof(kp_element) / sizeof(double));
    l->bend = take(base, &used, KP_LOBE_BENDING_ROOM(n));
    l->factor[0] = take(base, &used, KP_LOBE_IN_PLANE_ROOM(n));
    l->factor[1] = take(base, &used, KP_LOBE_IN_PLANE_ROOM(n));
    kp_points *const fields[] = {&l->rest_slope, &l->rest_hoop, &l->slope, &l->lobe_slope, &l->lobe_hoop};
    for (size_t i = 0; i < sizeof fields / sizeof fields[0]; i++) {
        *fields[i] = take(base, &used, points);
    }
    for (size_t i = 0; i < KP_STRAINS; i++) {
        l->stress[i] = take(base, &used, points);
    }
    l->in_plane[0] = take(base, &used, n);
    l->in_plane[1] = take(base, &used, KP_LOBE_IN_PLANE * n);
    l->in_plane[2] = take(base, &used, KP_LOBE_IN_PLANE * n);
    return used;
}

size_t kp_lobed_room(const kp_plate *plate)
{
    kp_lobed none;
    return lay_out(plate, NULL, &none);
}

/* ---- setting up -------------------------------------------------------------------------------------------------- */

static void prepare_points(const kp_plate *plate, kp_lobed *l)
{
    double nu = plate->nu;
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            kp_lobed_point *at = &l->point[e * KP_GAUSS + p];
            for (size_t i = 0; i < KP_LOCAL; i++) {
                at->slope[i] = plate->slope_shape[e].at[i][p];
                at->over[i] = l->over[e].at[i][p];
                at->radial[i] = plate->radial_shape[e].at[i][p];
                at->hoop[i] = plate->hoop_shape[e].at[i][p];
                at->shear[i] = l->shear[e].at[i][p] = at->radial[i] - (1 + nu) * at->over[i];
            }
        }
    }
}

/* a at rest, c (rho - from)^2, and what follows from it at each point. */
static void prepare_rest(const kp_plate *plate, kp_lobed *l)
{
    double place[KP_GAUSS], weight[KP_GAUSS], c = l->out_of_flat;
    kp_plate_gauss(place, weight);
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            double rho = plate->rho[e] + 0.5 * (1 + place[p]) * (plate->rho[e + 1] - plate->rho[e]);
            double beyond = fmax(0, rho - l->flat_to);
            l->rest_slope[e][p] = 2 * c * beyond;
            l->rest_hoop[e][p] = l->lobes * c * beyond * beyond / rho;
        }
    }
}

void kp_lobed_prepare(kp_plate *plate, int lobes, double out_of_flat, double from, double *block, kp_lobed *out)
{
    *out = (kp_lobed){.plate = plate};
    lay_out(plate, block, out);
    out->lobes = lobes;
    out->out_of_flat = plate->ring ? 0 : out_of_flat / ((1 - from) * (1 - from));
    out->flat_to = from;
    kp_lobe_over(plate, out->over);
    prepare_points(plate, out);
    prepare_rest(plate, out);

    /* A clamp with friction holds the lobes' in-plane shape: what slips is the mean. */
    bool held = !plate->ring && ((plate->fixed_first & KP_FIX_RADIAL) || plate->slip > 0);
    kp_lobe_in_plane_factor(plate, out->over, lobes, 1, held, out->factor[0]);
    kp_lobe_in_plane_factor(plate, out->over, 2 * lobes, 1, held, out->factor[1]);

    /* Half of the bending energy's powers of n^2. */
    size_t power = KP_LOBE_BENDING_ROOM(plate->splines);
    double bend[KP_LOBE_POWERS * KP_LOBE_BENDING_ROOM(KP_MAX_SPLINES)], n2 = (double)lobes * lobes;
    kp_lobe_bending(plate, out->over, bend);
    for (size_t i = 0; i < power; i++) {
        out->bend[i] = 0.5 * (bend[i] + n2 * (bend[power + i] + n2 * bend[2 * power + i]));
    }
}

/* ---- evaluation -------------------------------------------------------------------------------------------------- */

/* The coefficients of w or a. */
static void take_field(const kp_plate *plate, const double *x, size_t part, double *field)
{
    for (size_t i = 0; i < plate->splines; i++) {
        field[i] = x[KP_PAIR * i + part];
    }
}

/* Slopes and lobes at the points, with what they are at rest; and the strains without the in-plane fields, in place of
   the stresses. */
static void lift_strains(kp_lobed *l, const double *w, const double *a)
{
    const kp_plate *plate = l->plate;
    size_t elements = plate->nodes - 1;
    kp_element_values(elements, plate->slope_shape, w, l->slope);
    kp_element_values(elements, plate->slope_shape, a, l->lobe_slope);
    kp_element_values(elements, l->over, a, l->lobe_hoop);
    for (size_t e = 0; e < elements; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            double rest_slope = l->rest_slope[e][p], rest_hoop = l->rest_hoop[e][p], slope = l->slope[e][p];
            double lobe_slope = l->lobe_slope[e][p] + rest_slope, lobe_hoop = l->lobes * l->lobe_hoop[e][p] + rest_hoop;
            double radial = 0.25 * (lobe_slope * lobe_slope - rest_slope * rest_slope);
            double hoop = 0.25 * (lobe_hoop * lobe_hoop - rest_hoop * rest_hoop);
            l->lobe_slope[e][p] = lobe_slope;
            l->lobe_hoop[e][p] = lobe_hoop;
            l->stress[KP_R0][e][p] = 0.5 * slope * slope + radial;
            l->stress[KP_T0][e][p] = hoop;
            l->stress[KP_R1][e][p] = slope * lobe_slope;
            l->stress[KP_T1][e][p] = 0;
            l->stress[KP_G1][e][p] = -slope * lobe_hoop;
            l->stress[KP_R2][e][p] = radial;
            l->stress[KP_T2][e][p] = -hoop;
            l->stress[KP_G2][e][p] = -0.5 * (lobe_slope * lobe_hoop - rest_slope * rest_hoop);
        }
    }
}

/* Stresses over the membrane stiffness from strains, in place. */
static void stresses_of(double nu, size_t elements, kp_points radial, kp_points hoop, kp_points shear)
{
    for (size_t e = 0; e < elements; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            double er = radial[e][p], et = hoop[e][p];
            radial[e][p] = er + nu * et;
            hoop[e][p] = et + nu * er;
            if (shear) {
                shear[e][p] *= 0.5 * (1 - nu);
            }
        }
    }
}

/* u0 by its equilibrium under the strains of the lift. */
static void solve_mean(kp_lobed *l)
{
    kp_plate *plate = l->plate;
    size_t elements = plate->nodes - 1, last = plate->splines - 1;
    double push[KP_MAX_NODES][KP_GAUSS], turn[KP_MAX_NODES][KP_GAUSS], *u = l->in_plane[0];
    for (size_t e = 0; e < elements; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            push[e][p] = -plate->weight[e][p] * l->stress[KP_R0][e][p];
            turn[e][p] = -plate->weight[e][p] * l->stress[KP_T0][e][p];
        }
    }
    memset(u, 0, plate->splines * sizeof *u);
    kp_element_loads(elements, plate->radial_shape, (const double(*)[KP_GAUSS])push, u);
    kp_element_loads(elements, plate->hoop_shape, (const double(*)[KP_GAUSS])turn, u);
    u[0] = plate->fixed_first & KP_FIX_RADIAL ? 0 : u[0];
    u[last] = plate->fixed_last & KP_FIX_RADIAL ? 0 : u[last];
    kp_plate_solve_radial(plate, u);

    /* Its strains. */
    kp_element_values(elements, plate->radial_shape, u, push);
    kp_element_values(elements, l->over, u, turn);
    for (size_t e = 0; e < elements; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            l->stress[KP_R0][e][p] += push[e][p] - plate->nu * turn[e][p];
            l->stress[KP_T0][e][p] += turn[e][p];
        }
    }
}

/* u and v of harmonic m (n or 2n) likewise; radial, hoop, shear: its strains. */
static void solve_harmonic(kp_lobed *l, double m, const double *factor, double *uv, kp_points radial, kp_points hoop,
                           kp_points shear)
{
    const kp_plate *plate = l->plate;
    size_t elements = plate->nodes - 1, unknowns = KP_LOBE_IN_PLANE * plate->splines;
    double nu = plate->nu, shear_ratio = 0.5 * (1 - nu), u[KP_MAX_SPLINES] = {0}, v[KP_MAX_SPLINES] = {0};
    double push[KP_MAX_NODES][KP_GAUSS], turn[KP_MAX_NODES][KP_GAUSS], twist[KP_MAX_NODES][KP_GAUSS];
    double along[KP_MAX_NODES][KP_GAUSS], across[KP_MAX_NODES][KP_GAUSS];
    for (size_t e = 0; e < elements; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            double weight = -plate->weight[e][p], er = weight * radial[e][p], et = weight * hoop[e][p];
            push[e][p] = er;
            turn[e][p] = et;
            twist[e][p] = shear_ratio * weight * shear[e][p];
            across[e][p] = -m * twist[e][p];
            along[e][p] = m * (nu * er + et);
        }
    }
    kp_element_loads(elements, plate->radial_shape, (const double(*)[KP_GAUSS])push, u);
    kp_element_loads(elements, plate->hoop_shape, (const double(*)[KP_GAUSS])turn, u);
    kp_element_loads(elements, l->over, (const double(*)[KP_GAUSS])across, u);
    kp_element_loads(elements, l->over, (const double(*)[KP_GAUSS])along, v);
    kp_element_loads(elements, l->shear, (const double(*)[KP_GAUSS])twist, v);

    /* What the clamp holds is 1 on the diagonal of the factor, and has no load. */
    bool held = !plate->ring && ((plate->fixed_first & KP_FIX_RADIAL) || plate->slip > 0);
    u[0] = held ? 0 : u[0];
    v[0] = plate->ring ? v[0] : 0;
    for (size_t i = 0; i < plate->splines; i++) {
        uv[2 * i] = u[i];
        uv[2 * i + 1] = v[i];
    }
    kp_banded_forward(unknowns, KP_LOBE_IN_PLANE_WIDTH, factor, 0, uv);
    kp_banded_backward(unknowns, KP_LOBE_IN_PLANE_WIDTH, factor, uv);

    /* Their strains. */
    for (size_t i = 0; i < plate->splines; i++) {
        u[i] = uv[2 * i];
        v[i] = uv[2 * i + 1];
    }
    kp_element_values(elements, plate->radial_shape, u, push);
    kp_element_values(elements, l->over, u, across);
    kp_element_values(elements, l->over, v, along);
    kp_element_values(elements, l->shear, v, twist);
    for (size_t e = 0; e < elements; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            radial[e][p] += push[e][p] - nu * across[e][p];
            hoop[e][p] += across[e][p] + m * along[e][p];
            shear[e][p] += twist[e][p] - m * across[e][p];
        }
    }
}

/* Energy over the membrane stiffness of strains whose stresses are wanted: half of strain times stress; strains become
   stresses. */
static double membrane_energy(kp_lobed *l)
{
    const kp_plate *plate = l->plate;
    size_t elements = plate->nodes - 1;
    double nu = plate->nu, shear_ratio = 0.5 * (1 - nu), sum[KP_GAUSS] = {0};
    for (size_t e = 0; e < elements; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            double r0 = l->stress[KP_R0][e][p], t0 = l->stress[KP_T0][e][p];
            double r1 = l->stress[KP_R1][e][p], t1 = l->stress[KP_T1][e][p], g1 = l->stress[KP_G1][e][p];
            double r2 = l->stress[KP_R2][e][p], t2 = l->stress[KP_T2][e][p], g2 = l->stress[KP_G2][e][p];
            double mean = r0 * r0 + t0 * t0 + 2 * nu * r0 * t0;
            double one = r1 * r1 + t1 * t1 + 2 * nu * r1 * t1 + shear_ratio * g1 * g1;
            double two = r2 * r2 + t2 * t2 + 2 * nu * r2 * t2 + shear_ratio * g2 * g2;
            sum[p] += plate->weight[e][p] * (mean + 0.5 * (one + two));
        }
    }
    stresses_of(nu, elements, l->stress[KP_R0], l->stress[KP_T0], NULL);
    stresses_of(nu, elements, l->stress[KP_R1], l->stress[KP_T1], l->stress[KP_G1]);
    stresses_of(nu, elements, l->stress[KP_R2], l->stress[KP_T2], l->stress[KP_G2]);

    /* The clamp's ring and friction. */
    double u = l->in_plane[0][0], clamp = 0;
    if (!plate->ring && !(plate->fixed_first & KP_FIX_RADIAL)) {
        double u1 = l->in_plane[1][0], u2 = l->in_plane[2][0];
        clamp = plate->grip * (u * u + 0.5 * (u1 * u1 + u2 * u2)) + 2 * plate->slip * fabs(u);
    }
    return 0.5 * ((sum[0] + sum[2]) + (sum[1] + sum[3]) + clamp);
}

/* Adds the bending forces of both fields to y (w's splines, then a's); returns twice the energy. */
static double bending(const kp_lobed *l, const double *w, const double *a, double *y)
{
    const kp_plate *plate = l->plate;
    size_t n = plate->splines;
    double twice = 0, shift = plate->ring ? w[0] : 0; /* a rigid displacement stores no energy, nor may its rounding */
    for (size_t i = 0; i < n; i++) {
        y[i] = y[n + i] = 0;
    }
    for (size_t i = 0; i < n; i++) {
        const double *mean = plate->bending_matrix + i * KP_FIELD_ROW, *lobe = l->bend + i * KP_FIELD_ROW;
        double wi = w[i] - shift;
        y[i] += mean[0] * wi;
        y[n + i] += lobe[0] * a[i];
        for (size_t k = 1; k < KP_FIELD_ROW && i + k < n; k++) {
            y[i] += mean[k] * (w[i + k] - shift);
            y[i + k] += mean[k] * wi;
            y[n + i] += lobe[k] * a[i + k];
            y[n + i + k] += lobe[k] * a[i];
        }
    }
    for (size_t i = 0; i < n; i++) {
        twice += y[i] * (w[i] - shift) + y[n + i] * a[i];
    }
    return twice;
}

/* Adds the membrane's forces to y. */
static void membrane_forces(const kp_lobed *l, double *y)
{
    const kp_plate *plate = l->plate;
    size_t elements = plate->nodes - 1;
    double by_slope[KP_MAX_NODES][KP_GAUSS], by_lobe_slope[KP_MAX_NODES][KP_GAUSS], by_lobe[KP_MAX_NODES][KP_GAUSS];
    for (size_t e = 0; e < elements; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            double c = plate->membrane * plate->weight[e][p];
            double w = l->slope[e][p], a = l->lobe_slope[e][p], b = l->lobe_hoop[e][p];
            double r0 = l->stress[KP_R0][e][p], r1 = l->stress[KP_R1][e][p], g1 = l->stress[KP_G1][e][p];
            double g2 = l->stress[KP_G2][e][p];
            by_slope[e][p] = c * (r0 * w + 0.5 * (r1 * a - g1 * b));
            by_lobe_slope[e][p] = 0.5 * c * (r0 * a + r1 * w + 0.5 * (l->stress[KP_R2][e][p] * a - g2 * b));
            by_lobe[e][p] = 0.5 * c * l->lobes *
                            (l->stress[KP_T0][e][p] * b - g1 * w - 0.5 * (l->stress[KP_T2][e][p] * b + g2 * a));
        }
    }
    kp_element_loads(elements, plate->slope_shape, (const double(*)[KP_GAUSS])by_slope, y);
    kp_element_loads(elements, plate->slope_shape, (const double(*)[KP_GAUSS])by_lobe_slope, y + plate->splines);
    kp_element_loads(elements, l->over, (const double(*)[KP_GAUSS])by_lobe, y + plate->splines);
}

double kp_lobed_evaluate(kp_lobed *l, const double *x, double *gradient)
{
    const kp_plate *plate = l->plate;
    size_t n = plate->splines, fixed = kp_edge_fixed_splines(plate->fixed_first);
    double w[KP_MAX_SPLINES] = {0}, a[KP_MAX_SPLINES] = {0}, y[2 * KP_MAX_SPLINES];
    take_field(plate, x, 0, w);
    take_field(plate, x, 1, a);

    /* The in-plane fields, harmonic by harmonic. */
    lift_strains(l, w, a);
    solve_mean(l);
    solve_harmonic(l, l->lobes, l->factor[0], l->in_plane[1], l->stress[KP_R1], l->stress[KP_T1], l->stress[KP_G1]);
    solve_harmonic(l, 2 * l->lobes, l->factor[1], l->in_plane[2], l->stress[KP_R2], l->stress[KP_T2], l->stress[KP_G2]);

    l->energy = plate->membrane * membrane_energy(l) + 0.5 * bending(l, w, a, y);
    if (gradient) {
        membrane_forces(l, y);
        for (size_t i = 0; i < n; i++) {
            gradient[KP_PAIR * i] = i < fixed ? 0 : y[i];
            gradient[KP_PAIR * i + 1] = i < fixed ? 0 : y[n + i];
        }
    }
    return l->energy;
}
