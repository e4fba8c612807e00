/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The mean shape of a plate that has folded into lobes.

   Where the round plate compresses the hoop, the lobes give way: the hoop's force hardly rises any more, while bending
   and the radial pull stay as they are. So the membrane of a folded plate is taken as orthotropic, its hoop softened at
   every radius where the hoop was compressed at the onset:

       N_t = N_0 x^a,   x = e/N_0,   e = N_t/beta,

   N_0 the hoop's force at the onset, e what the hoop would carry unrelaxed, beta the ratio of the stiffnesses; the
   coupling follows with nu beta. With s = e_t + nu e_r that is N_t = A h(s), N_r = A [nu h(s) + (1 - nu^2) e_r] and

       s/s_0 = (x - nu^2 x^a)/(1 - nu^2),   h = s_0 x^a,

   which has the energy density A [H(s) + (1 - nu^2) e_r^2/2] with H' = h: convex, so that the radial displacement stays
   the one of least energy. It gives the mean round the circle, not crests and valleys.

   a = 0.10 (computed: fitted at 40 x 0.20 mm to three-dimensional finite elements with CalculiX 2.20 up to six times
   the onset load; seven other shims and stacks held at the clamp then agree within 2 %, one that slides in it within
   4.5 %). */
#include "num/num.h"
#include "plate/plate.h"

#include <math.h>
#include <string.h>

static const double ROOT_SOLVED = 1e-15; /* [-] rounding                                                     */
static const double EXPONENT = 0.10;     /* [-] a above                                             */
static const double SOLVED = 1e-14;      /* [-] of the largest radial displacement: rounding          */
static const double NEAR = 1e-6;         /* [-] steps this small need no guard                            */
static const double OVERSHOOT = 0.5;     /* [-] push against a step that is left, of the push along it      */
enum { NEWTON_MAX = 60, ROOT_MAX = 40, CUTS_MAX = 4 };

kp_relaxed kp_fold_relax(double strain, double onset, double nu)
{
    if (!(onset < 0 && strain < onset)) {
        return (kp_relaxed){0};
    }
    double n2 = nu * nu, y = strain / onset;

    /* z = x^a of y, so that x is a power of z, by Newton's method from the x that the nearly straight y(x) gives. */
    double z = pow(fmax(1, y * (1 - n2) + n2), EXPONENT), x = 1;
    for (int i = 0; i < ROOT_MAX; i++) {
        double z2 = z * z, z4 = z2 * z2, z8 = z4 * z4;
        x = z8 * z2;
        double step = ((x - n2 * z) - y * (1 - n2)) / (z8 * z / EXPONENT - n2);
        z = fmax(1, z - step);
        if (fabs(step) <= ROOT_SOLVED * z) {
            break;
        }
    }

    double slope = EXPONENT * z / x * (1 - n2) / (1 - n2 * EXPONENT * z / x);
    double carried = (x * z / (1 + EXPONENT) - 0.5 * n2 * z * z) / (1 - n2);
    double from = (1 / (1 + EXPONENT) - 0.5 * n2) / (1 - n2);
    return (kp_relaxed){
        .less = onset * z - strain,
        .slope = slope - 1,
        .energy = onset * onset * (carried - from - 0.5 * (y * y - 1)),
    };
}

static void take_fields(const kp_plate *plate, const double *q, double *w, double *u)
{
    for (size_t i = 0; i < plate->splines; i++) {
        w[i] = q[KP_PAIR * i];
        u[i] = q[KP_PAIR * i + 1];
    }
}

/* e_t + nu e_r at all points. */
static void hoop_strain(const kp_plate *plate, const double *u, double (*slope)[KP_GAUSS], double (*hoop)[KP_GAUSS])
{
    kp_element_values(plate->nodes - 1, plate->hoop_shape, u, hoop);
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            hoop[e][p] += 0.5 * plate->nu * slope[e][p] * slope[e][p];
        }
    }
}

void kp_plate_fold_from(kp_plate *plate, const double *state)
{
    double w[KP_MAX_SPLINES], u[KP_MAX_SPLINES], slope[KP_MAX_NODES][KP_GAUSS];
    memcpy(plate->onset, state, plate->unknowns * sizeof *state);
    take_fields(plate, state, w, u);
    kp_element_values(plate->nodes - 1, plate->slope_shape, w, slope);
    hoop_strain(plate, u, slope, plate->onset_hoop);
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            plate->onset_hoop[e][p] = fmin(0, plate->onset_hoop[e][p]);
        }
    }
}

double kp_fold_strain(const kp_plate *plate, const double *w, const double *u, double (*slope)[KP_GAUSS],
                      double (*tension)[KP_GAUSS], double (*relaxation)[KP_GAUSS])
{
    double hoop[KP_MAX_NODES][KP_GAUSS], nu = plate->nu, sum = 0;
    kp_element_values(plate->nodes - 1, plate->slope_shape, w, slope);
    kp_element_values(plate->nodes - 1, plate->radial_shape, u, tension);
    hoop_strain(plate, u, slope, hoop);
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            double t = tension[e][p] + 0.5 * slope[e][p] * slope[e][p];
            double e_t = (hoop[e][p] - nu * t) / (1 - nu * nu);
            kp_relaxed r = kp_fold_relax(hoop[e][p], plate->onset_hoop[e][p], nu);
            sum += plate->weight[e][p] * (t * t + (1 - nu * nu) * e_t * e_t + 2 * r.energy);
            tension[e][p] = t + nu * r.less;
            if (relaxation) {
                relaxation[e][p] = r.slope;
            }
        }
    }
    return sum + (plate->fixed_first & KP_FIX_RADIAL ? 0 : plate->grip * u[0] * u[0]) + plate->slip * fabs(u[0]);
}

/* What relaxation adds to the gradient (less its sign) and takes from the matrix of U. band may be NULL. */
static void relax(const kp_plate *plate, double (*slope)[KP_GAUSS], const double *u, double *gradient, double *band)
{
    double hoop[KP_MAX_NODES][KP_GAUSS], stiffness[KP_MAX_NODES][KP_GAUSS];
    hoop_strain(plate, u, slope, hoop);
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            kp_relaxed r = kp_fold_relax(hoop[e][p], plate->onset_hoop[e][p], plate->nu);
            hoop[e][p] = plate->weight[e][p] * r.less;
            stiffness[e][p] = plate->weight[e][p] * r.slope;
        }
    }
    kp_element_loads(plate->nodes - 1, plate->hoop_shape, (const double(*)[KP_GAUSS])hoop, gradient);
    kp_element_square(plate->nodes - 1, plate->hoop_shape, (const double(*)[KP_GAUSS])stiffness, band);
}

/* y += K u of the unrelaxed membrane. */
static void add_membrane(const kp_plate *plate, const double *u, double *y)
{
    for (size_t i = 0; i < plate->splines; i++) {
        const double *row = plate->membrane_matrix + i * KP_FIELD_ROW;
        y[i] += row[0] * u[i];
        for (size_t k = 1; k <= KP_FIELD_WIDTH && i + k < plate->splines; k++) {
            y[i] += row[k] * u[i + k];
            y[i + k] += row[k] * u[i];
        }
    }
}

/* What pushes U: load less the gradient of the relaxed membrane's energy, nothing on what is held; the energy's matrix
   of second derivatives; and what pushes the first coefficient, held or not. */
static double push_on(const kp_plate *plate, double (*slope)[KP_GAUSS], const double *load, bool hold_first,
                      const double *u, double *push, double *band)
{
    size_t n = plate->splines;
    memset(push, 0, n * sizeof *push);
    memcpy(band, plate->membrane_matrix, n * KP_FIELD_ROW * sizeof *band);
    relax(plate, slope, u, push, band);
    add_membrane(plate, u, push);
    for (size_t i = 0; i < n; i++) {
        push[i] = load[i] - push[i];
    }
    double first = push[0];
    if (hold_first) {
        push[0] = 0;
        kp_band_fix(band, KP_FIELD_WIDTH, 0);
    }
    if (plate->fixed_last & KP_FIX_RADIAL) {
        push[n - 1] = 0;
        kp_band_fix(band, KP_FIELD_WIDTH, n - 1);
    }
    return first;
}

/* Least of the relaxed membrane's energy in U less load.U, its first and last coefficient held at 0 where asked, by
   Newton's method. The energy is convex with a kink in its second derivative, so a step that overshoots is cut back to
   where the push along it is gone. Returns the force that holds the first. */
static double solve(const kp_plate *plate, double (*slope)[KP_GAUSS], const double *load, bool hold_first, double *u)
{
    size_t n = plate->splines;
    double push[KP_MAX_SPLINES + KP_LOCAL], step[KP_MAX_SPLINES + KP_LOCAL], from[KP_MAX_SPLINES];
    double band[(KP_MAX_SPLINES + KP_LOCAL) * KP_FIELD_ROW];
    u[0] = hold_first ? 0 : u[0];
    u[n - 1] = plate->fixed_last & KP_FIX_RADIAL ? 0 : u[n - 1];
    double held = push_on(plate, slope, load, hold_first, u, push, band);
    for (int k = 0; k < NEWTON_MAX; k++) {
        memcpy(step, push, n * sizeof *step);
        memcpy(from, u, n * sizeof *from);
        kp_banded_factor(n, KP_FIELD_WIDTH, band);
        kp_banded_forward(n, KP_FIELD_WIDTH, band, 0, step);
        kp_banded_backward(n, KP_FIELD_WIDTH, band, step);

        double size = 0, change = 0, part = 1, before = kp_batch_dot(n, push, step);
        for (size_t i = 0; i < n; i++) {
            u[i] = from[i] + step[i];
            size = fmax(size, fabs(u[i]));
            change = fmax(change, fabs(step[i]));
        }
        if (change <= SOLVED * size) {
            break;
        }
        held = push_on(plate, slope, load, hold_first, u, push, band);
        for (int cut = 0; cut < CUTS_MAX && change > NEAR * size; cut++) {
            double after = kp_batch_dot(n, push, step);
            if (after >= -OVERSHOOT * before) {
                break;
            }
            part *= before / (before - after);
            for (size_t i = 0; i < n; i++) {
                u[i] = from[i] + part * step[i];
            }
            held = push_on(plate, slope, load, hold_first, u, push, band);
        }
    }
    return held;
}

void kp_fold_condense(kp_plate *plate, const double *w, double *u)
{
    double slope[KP_MAX_NODES][KP_GAUSS], push[KP_MAX_NODES][KP_GAUSS], load[KP_MAX_SPLINES + KP_LOCAL];
    memset(load, 0, plate->splines * sizeof *load);
    kp_element_values(plate->nodes - 1, plate->slope_shape, w, slope);
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            push[e][p] = -0.5 * plate->weight[e][p] * slope[e][p] * slope[e][p];
        }
    }
    kp_element_loads(plate->nodes - 1, plate->radial_shape, (const double(*)[KP_GAUSS])push, load);

    plate->sticks = false;
    if (plate->slip > 0) {
        double pull = solve(plate, slope, load, true, u);
        if (fabs(pull) <= plate->slip) {
            plate->sticks = true;
            return;
        }
        load[0] -= copysign(plate->slip, pull);
    }
    solve(plate, slope, load, plate->fixed_first & KP_FIX_RADIAL, u);
}

void kp_fold_assemble(kp_plate *plate)
{
    double along[KP_MAX_NODES][KP_GAUSS], across[KP_MAX_NODES][KP_GAUSS], both[KP_MAX_NODES][KP_GAUSS];
    double band[(KP_MAX_SPLINES + KP_LOCAL) * KP_FIELD_ROW];
    double nu = plate->nu;
    memset(band, 0, (plate->splines + KP_LOCAL) * KP_FIELD_ROW * sizeof *band);
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t p = 0; p < KP_GAUSS; p++) {
            double taken = plate->membrane * plate->weight[e][p] * plate->relaxation[e][p];
            double turn = nu * plate->slope[e][p];
            along[e][p] = taken * turn * turn;
            across[e][p] = taken * turn;
            both[e][p] = taken;
        }
    }
    kp_element_band(plate->nodes - 1, plate->slope_shape, plate->hoop_shape, (const double(*)[KP_GAUSS])along,
                    (const double(*)[KP_GAUSS])across, plate->factor);
    kp_element_square(plate->nodes - 1, plate->hoop_shape, (const double(*)[KP_GAUSS])both, band);
    for (size_t i = 0; i < plate->splines; i++) {
        double *row = plate->factor + (KP_PAIR * i + 1) * KP_JOINT_ROW;
        for (size_t k = 0; k <= KP_FIELD_WIDTH && i + k < plate->splines; k++) {
            row[KP_PAIR * k] += band[i * KP_FIELD_ROW + k];
        }
    }
}
