/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tangent of a plate with one lobe harmonic. With d = (w', a', b) at a point and s the stresses there (lobed.c), the
   second derivative of the energy for fixed in-plane fields is

       w' w':  s_r0 + [w'^2 + a'^2/2 + (1-nu)/4 b^2]          with the strains' first derivatives in brackets, their
       w' a':  s_r1/2 + [w' a' + a' w'/2]                     products summed as the energy does: e_r0 and e_t0 in
       w' b:  -s_g1/2 + [nu w' b/2 + (1-nu)/4 b w']           full, the others half;
       a' a':  s_r0/2 + s_r2/4 + [...],   a' b:  -s_g2/4 + [...],   b b:  s_t0/2 - s_t2/4 + [...];

   then the in-plane fields are eliminated: less G' M^-1 G a harmonic, M its constant matrix and G its coupling with w
   and a. Matrices of w and of a stand apart until the end: a vector then holds four splines of one of them. */
#include "plate/plate.h"

#include "num/num.h"

#include <string.h>

static size_t stride_of(const kp_plate *plate)
{
    return (plate->splines + KP_BATCH - 1) / KP_BATCH * KP_BATCH;
}

/* Scratch: G by w and by a, and the tangent's blocks w w, a w and a a. */
typedef struct blocks {
    size_t stride;
    double *g[2];
    double *ww, *aw, *aa; /* [splines][stride], with room for a vector behind */
} blocks;

static size_t block_room(const kp_plate *plate)
{
    return stride_of(plate) * stride_of(plate) + KP_BATCH;
}

size_t kp_lobed_scratch_room(const kp_plate *plate)
{
    return 2 * KP_LOBE_IN_PLANE * (plate->splines + 1) * stride_of(plate) + 3 * block_room(plate);
}

static blocks blocks_in(const kp_plate *plate, double *scratch)
{
    size_t g = KP_LOBE_IN_PLANE * (plate->splines + 1) * stride_of(plate), room = block_room(plate);
    double *first = scratch + 2 * g;
    return (blocks){stride_of(plate), {scratch, scratch + g}, first, first + room, first + 2 * room};
}

/* What one in-plane function of each of an element's splines at one point is multiplied by: w', a' and b of a spline.
 */
typedef struct coupling {
    double slope[KP_LOCAL], lobe_slope[KP_LOCAL], lobe_hoop[KP_LOCAL];
} coupling;

/* The state at one point. */
typedef struct point_state {
    double weight; /* [-] of the quadrature */
    double w, a, b;
} point_state;

static point_state state_at(const kp_lobed *l, size_t e, size_t p)
{
    return (point_state){l->plate->weight[e][p], l->slope[e][p], l->lobe_slope[e][p], l->lobe_hoop[e][p]};
}

static inline __attribute__((always_inline)) void couple_mean(const point_state *s, const kp_lobed_point *at,
                                                              coupling *u)
{
    double by_slope = s->weight * s->w, by_lobe = 0.5 * s->weight * s->a, by_hoop = 0.5 * s->weight * s->b;
    for (size_t j = 0; j < KP_LOCAL; j++) {
        u->slope[j] = by_slope * at->radial[j];
        u->lobe_slope[j] = by_lobe * at->radial[j];
        u->lobe_hoop[j] = by_hoop * at->hoop[j];
    }
}

static inline __attribute__((always_inline)) void couple_first(const point_state *s, double nu, double n,
                                                               const kp_lobed_point *at, coupling *u, coupling *v)
{
    double shear = 0.5 * (1 - nu), w = s->weight * s->w, a = s->weight * s->a, b = s->weight * s->b;
    for (size_t j = 0; j < KP_LOCAL; j++) {
        double over = n * at->over[j], turn = shear * at->shear[j];
        u->slope[j] = at->radial[j] * a + shear * over * b;
        u->lobe_slope[j] = at->radial[j] * w;
        u->lobe_hoop[j] = shear * over * w;
        v->slope[j] = nu * over * a - turn * b;
        v->lobe_slope[j] = nu * over * w;
        v->lobe_hoop[j] = -turn * w;
    }
}

static inline __attribute__((always_inline)) void couple_second(const point_state *s, double nu, double m,
                                                                const kp_lobed_point *at, coupling *u, coupling *v)
{
    double shear = 0.5 * (1 - nu), a = 0.5 * s->weight * s->a, b = 0.5 * s->weight * s->b;
    for (size_t j = 0; j < KP_LOCAL; j++) {
        double over = m * at->over[j], turn = shear * at->shear[j];
        u->lobe_slope[j] = at->radial[j] * a + shear * over * b;
        u->lobe_hoop[j] = -at->hoop[j] * b + shear * over * a;
        v->lobe_slope[j] = nu * over * a - turn * b;
        v->lobe_hoop[j] = -over * b - turn * a;
    }
}

/* Adds an element's couplings, one a point, to rows of G: of each spline j, columns of w and of a. n: of the hoop. */
static inline __attribute__((always_inline)) void add_rows(const coupling c[KP_GAUSS], const kp_lobed_point *at,
                                                           bool with_mean, double n, size_t row_step, size_t stride,
                                                           double *by_w, double *by_a)
{
    for (size_t j = 0; j < KP_LOCAL; j++) {
        double mean[KP_LOCAL] = {0}, lobe[KP_LOCAL] = {0};
        for (size_t p = 0; p < KP_GAUSS; p++) {
            double slope = c[p].lobe_slope[j], hoop = n * c[p].lobe_hoop[j];
            for (size_t i = 0; i < KP_LOCAL; i++) {
                lobe[i] += slope * at[p].slope[i] + hoop * at[p].over[i];
            }
            for (size_t i = 0; with_mean && i < KP_LOCAL; i++) {
                mean[i] += c[p].slope[j] * at[p].slope[i];
            }
        }
        for (size_t i = 0; i < KP_LOCAL; i++) {
            by_a[j * row_step * stride + i] += lobe[i];
        }
        for (size_t i = 0; with_mean && i < KP_LOCAL; i++) {
            by_w[j * row_step * stride + i] += mean[i];
        }
    }
}

/* Fills G of harmonic 0, n or 2n (0, 1 or 2). */
static void make_coupling(const kp_lobed *l, int harmonic, const blocks *k)
{
    const kp_plate *plate = l->plate;
    size_t step = harmonic == 0 ? 1 : KP_LOBE_IN_PLANE, stride = k->stride;
    double n = l->lobes, nu = plate->nu;
    for (size_t f = 0; f < 2; f++) {
        memset(k->g[f], 0, step * plate->splines * stride * sizeof *k->g[f]);
    }
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        const kp_lobed_point *at = &l->point[e * KP_GAUSS];
        double *by_w = k->g[0] + step * e * stride + e, *by_a = k->g[1] + step * e * stride + e;
        coupling u[KP_GAUSS], v[KP_GAUSS];
        for (size_t p = 0; p < KP_GAUSS; p++) {
            point_state s = state_at(l, e, p);
            if (harmonic == 0) {
                couple_mean(&s, &at[p], &u[p]);
            } else if (harmonic == 1) {
                couple_first(&s, nu, n, &at[p], &u[p], &v[p]);
            } else {
                couple_second(&s, nu, 2 * n, &at[p], &u[p], &v[p]);
            }
        }
        add_rows(u, at, harmonic < 2, n, step, stride, by_w, by_a);
        if (harmonic > 0) {
            add_rows(v, at, harmonic < 2, n, step, stride, by_w + stride, by_a + stride);
        }
    }
}

/* to -= scale left' right, of columns from a multiple of KP_BATCH on; lower: only what is not above the diagonal. */
static void subtract_products(size_t rows, size_t per_spline, size_t stride, double scale, const double *left,
                              const double *right, bool lower, double *to)
{
    for (size_t i = 0; i < stride; i += KP_BATCH) {
        for (size_t j = 0; j < (lower ? i + 1 : stride); j += KP_BATCH) {
            /* Both columns are zero in the rows before the later one's first spline. */
            size_t later = i > j ? i : j, first = later < KP_LOCAL ? 0 : (later - (KP_LOCAL - 1)) * per_spline;
            double product[KP_BATCH][KP_BATCH];
            if (first >= rows) {
                continue;
            }
            kp_batch_multiply(rows - first, stride, left + first * stride + i, right + first * stride + j, product);
            for (size_t a = 0; a < KP_BATCH; a++) {
                for (size_t b = 0; b < KP_BATCH; b++) {
                    to[(i + a) * stride + j + b] -= scale * product[a][b];
                }
            }
        }
    }
}

/* Blocks -= scale G' M^-1 G. */
static void eliminate(const kp_lobed *l, int harmonic, const double *factor, size_t width, const blocks *k)
{
    size_t n = l->plate->splines, per_spline = harmonic == 0 ? 1 : KP_LOBE_IN_PLANE, rows = per_spline * n;
    size_t started[KP_LOBE_IN_PLANE * KP_MAX_SPLINES];
    double scale = harmonic == 0 ? l->plate->membrane : 0.5 * l->plate->membrane;
    for (size_t i = 0; i < rows; i++) {
        size_t begun = i / per_spline + KP_LOCAL;
        started[i] = begun < n ? begun : n;
    }
    kp_batch_forward(rows, width, factor, started, k->stride, k->g[1]);
    subtract_products(rows, per_spline, k->stride, scale, k->g[1], k->g[1], true, k->aa);
    if (harmonic < 2) {
        kp_batch_forward(rows, width, factor, started, k->stride, k->g[0]);
        subtract_products(rows, per_spline, k->stride, scale, k->g[0], k->g[0], true, k->ww);
        subtract_products(rows, per_spline, k->stride, scale, k->g[1], k->g[0], false, k->aw);
    }
}

/* The second derivatives at one point, in-plane fields fixed, over the weight: by (w', a', b). */
typedef struct point_tangent {
    double ww, wa, wb, aa, ab, bb;
} point_tangent;

static inline __attribute__((always_inline)) point_tangent tangent_at(const kp_lobed *l, size_t e, size_t p)
{
    double nu = l->plate->nu, shear = 0.5 * (1 - nu);
    double w = l->slope[e][p], a = l->lobe_slope[e][p], b = l->lobe_hoop[e][p];
    double r0 = l->stress[KP_R0][e][p], t0 = l->stress[KP_T0][e][p], r1 = l->stress[KP_R1][e][p];
    double g1 = l->stress[KP_G1][e][p], r2 = l->stress[KP_R2][e][p], t2 = l->stress[KP_T2][e][p];
    double g2 = l->stress[KP_G2][e][p];
    return (point_tangent){
        .ww = r0 + w * w + 0.5 * (a * a + shear * b * b),
        .wa = 0.5 * r1 + w * a,
        .wb = -0.5 * g1 + 0.5 * (nu + shear) * w * b,
        .aa = 0.5 * r0 + 0.25 * r2 + 0.375 * a * a + 0.5 * w * w + 0.125 * shear * b * b,
        .ab = -0.25 * g2 + 0.125 * (nu + shear) * a * b,
        .bb = 0.5 * t0 - 0.25 * t2 + 0.375 * b * b + 0.5 * shear * w * w + 0.125 * shear * a * a,
    };
}

static void add_points(const kp_lobed *l, const blocks *k)
{
    const kp_plate *plate = l->plate;
    double n = l->lobes;
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        size_t corner = e * k->stride + e;
        for (size_t p = 0; p < KP_GAUSS; p++) {
            const kp_lobed_point *at = &l->point[e * KP_GAUSS + p];
            point_tangent t = tangent_at(l, e, p);
            double c = plate->membrane * plate->weight[e][p];
            for (size_t i = 0; i < KP_LOCAL; i++) {
                double slope = c * at->slope[i], hoop = c * n * at->over[i];
                double mean = t.ww * slope, from = t.wa * slope + t.wb * hoop;
                double to_slope = t.aa * slope + t.ab * hoop, to_hoop = n * (t.ab * slope + t.bb * hoop);
                double *ww = k->ww + corner + i * k->stride, *aw = k->aw + corner + i * k->stride;
                double *aa = k->aa + corner + i * k->stride;
                for (size_t j = 0; j < KP_LOCAL; j++) {
                    ww[j] += mean * at->slope[j];
                    aw[j] += from * at->slope[j];
                    aa[j] += to_slope * at->slope[j] + to_hoop * at->over[j];
                }
            }
        }
    }
}

/* The bending matrices fill the lower triangles of w w and a a, all else is zero. */
static void set_bending(const kp_lobed *l, const blocks *k)
{
    size_t n = l->plate->splines;
    memset(k->ww, 0, 3 * block_room(l->plate) * sizeof *k->ww);
    for (size_t i = 0; i < n; i++) {
        const double *mean = l->plate->bending_matrix + i * KP_FIELD_ROW, *lobe = l->bend + i * KP_FIELD_ROW;
        for (size_t j = 0; j < KP_FIELD_ROW && i + j < n; j++) {
            k->ww[(i + j) * k->stride + i] = mean[j];
            k->aa[(i + j) * k->stride + i] = lobe[j];
        }
    }
}

/* Spline by spline, w before a; the lower triangle. */
static void interleave(const kp_plate *plate, const blocks *k, size_t stride, double *tangent)
{
    for (size_t i = 0; i < plate->splines; i++) {
        double *w = tangent + KP_PAIR * i * stride, *a = w + stride;
        const double *ww = k->ww + i * k->stride, *aw = k->aw + i * k->stride, *aa = k->aa + i * k->stride;
        for (size_t j = 0; j <= i; j++) {
            w[KP_PAIR * j] = ww[j];
            w[KP_PAIR * j + 1] = k->aw[j * k->stride + i];
            a[KP_PAIR * j] = aw[j];
            a[KP_PAIR * j + 1] = aa[j];
        }
    }
}

void kp_lobed_tangent(const kp_lobed *l, double *scratch, size_t tangent_stride, double *tangent)
{
    const kp_plate *plate = l->plate;
    blocks k = blocks_in(plate, scratch);
    size_t row = k.stride * sizeof *scratch;
    set_bending(l, &k);
    add_points(l, &k);

    /* Harmonic 0; a clamp that sticks holds its first unknown. */
    make_coupling(l, 0, &k);
    bool sticks = plate->sticks && plate->slip > 0;
    for (size_t f = 0; f < 2 && (sticks || (plate->fixed_first & KP_FIX_RADIAL)); f++) {
        memset(k.g[f], 0, row);
    }
    eliminate(l, 0, sticks ? plate->slip_factor : plate->radial_factor, KP_FIELD_WIDTH, &k);

    /* Harmonics n and 2n, whose energies count half. */
    bool held = !plate->ring && ((plate->fixed_first & KP_FIX_RADIAL) || plate->slip > 0);
    for (int harmonic = 1; harmonic <= 2; harmonic++) {
        make_coupling(l, harmonic, &k);
        for (size_t f = 0; f < 2; f++) {
            memset(k.g[f], 0, held ? row : 0);
            memset(k.g[f] + k.stride, 0, plate->ring ? 0 : row);
        }
        eliminate(l, harmonic, l->factor[harmonic - 1], KP_LOBE_IN_PLANE_WIDTH, &k);
    }
    interleave(plate, &k, tangent_stride, tangent);
}
