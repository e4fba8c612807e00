/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Matrices of a plate for shapes w cos n theta, u cos n theta, v sin n theta: bending by w, stretching by u and v. */
#include "num/num.h"
#include "plate/plate.h"

#include <string.h>

enum { IN_PLANE = KP_LOBE_IN_PLANE, IN_PLANE_WIDTH = KP_LOBE_IN_PLANE_WIDTH, IN_PLANE_ROW = KP_LOBE_IN_PLANE_ROW };

void kp_lobe_over(const kp_plate *plate, kp_element *over)
{
    double nu = plate->nu;
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        for (size_t i = 0; i < KP_LOCAL; i++) {
            for (size_t p = 0; p < KP_GAUSS; p++) {
                double hoop = plate->hoop_shape[e].at[i][p], radial = plate->radial_shape[e].at[i][p];
                over[e].at[i][p] = (hoop - nu * radial) / (1 - nu * nu);
            }
        }
    }
}

/* Second derivatives of an element's four splines of W, which run straight in it. */
static void second_derivatives(const kp_plate *plate, size_t e, const double place[KP_GAUSS], kp_element *second)
{
    for (size_t i = 0; i < KP_LOCAL; i++) {
        double left = i < 3 ? plate->lift_nodal[e].curvature[i] : 0;
        double right = i > 0 ? plate->lift_nodal[e + 1].curvature[i - 1] : 0;
        for (size_t p = 0; p < KP_GAUSS; p++) {
            second->at[i][p] = left + 0.5 * (1 + place[p]) * (right - left);
        }
    }
}

static void add_bending(const kp_plate *plate, const kp_element *over_shape, size_t e, const double place[KP_GAUSS],
                        double *bend)
{
    kp_element second;
    double nu = plate->nu, h = plate->rho[e + 1] - plate->rho[e];
    size_t power = KP_LOBE_BENDING_ROOM(plate->splines);
    second_derivatives(plate, e, place, &second);
    for (size_t p = 0; p < KP_GAUSS; p++) {
        double r = plate->rho[e] + 0.5 * (1 + place[p]) * h, weight = plate->bending * plate->weight[e][p];
        double turn[KP_LOCAL], over[KP_LOCAL];
        for (size_t i = 0; i < KP_LOCAL; i++) {
            turn[i] = plate->slope_shape[e].at[i][p] / r;
            over[i] = over_shape[e].at[i][p] / r;
        }
        for (size_t i = 0; i < KP_LOCAL; i++) {
            for (size_t j = i; j < KP_LOCAL; j++) {
                double si = second.at[i][p], sj = second.at[j][p];
                double *at = bend + (e + i) * KP_FIELD_ROW + j - i;
                at[0] += weight * (si * sj + turn[i] * turn[j] + nu * (si * turn[j] + turn[i] * sj));
                at[power] += weight * (2 * (1 - nu) * (turn[i] - over[i]) * (turn[j] - over[j]) -
                                       (turn[i] * over[j] + over[i] * turn[j]) - nu * (si * over[j] + over[i] * sj));
                at[2 * power] += weight * over[i] * over[j];
            }
        }
    }
}

void kp_lobe_bending(const kp_plate *plate, const kp_element *over, double *bend)
{
    double place[KP_GAUSS], gauss_weight[KP_GAUSS];
    kp_plate_gauss(place, gauss_weight);
    memset(bend, 0, KP_LOBE_POWERS * KP_LOBE_BENDING_ROOM(plate->splines) * sizeof *bend);
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        add_bending(plate, over, e, place, bend);
    }
}

/* Strains of a unit of u's and v's splines at one point: radial u' and 0, hoop u/rho and n v/rho, shear -n u/rho and
   v' - v/rho. */
static void add_in_plane(const kp_plate *plate, const kp_element *over_shape, size_t e, double n, double membrane,
                         double *band)
{
    double nu = plate->nu;
    for (size_t p = 0; p < KP_GAUSS; p++) {
        double weight = membrane * plate->weight[e][p];
        double radial[KP_LOCAL][IN_PLANE], hoop[KP_LOCAL][IN_PLANE], shear[KP_LOCAL][IN_PLANE];
        for (size_t i = 0; i < KP_LOCAL; i++) {
            double over = over_shape[e].at[i][p], first = plate->radial_shape[e].at[i][p] - nu * over;
            radial[i][0] = first;
            radial[i][1] = 0;
            hoop[i][0] = over;
            hoop[i][1] = n * over;
            shear[i][0] = -n * over;
            shear[i][1] = first - over;
        }
        for (size_t i = 0; i < KP_LOCAL; i++) {
            for (size_t a = 0; a < IN_PLANE; a++) {
                double *row = band + (IN_PLANE * (e + i) + a) * IN_PLANE_ROW;
                for (size_t j = i; j < KP_LOCAL; j++) {
                    for (size_t b = i == j ? a : 0; b < IN_PLANE; b++) {
                        row[IN_PLANE * (j - i) + b - a] +=
                            weight * (radial[i][a] * radial[j][b] + hoop[i][a] * hoop[j][b] +
                                      nu * (radial[i][a] * hoop[j][b] + hoop[i][a] * radial[j][b]) +
                                      0.5 * (1 - nu) * shear[i][a] * shear[j][b]);
                    }
                }
            }
        }
    }
}

void kp_lobe_in_plane_factor(const kp_plate *plate, const kp_element *over, double lobes, double membrane, bool held,
                             double *band)
{
    memset(band, 0, KP_LOBE_IN_PLANE_ROOM(plate->splines) * sizeof *band);
    for (size_t e = 0; e + 1 < plate->nodes; e++) {
        add_in_plane(plate, over, e, lobes, membrane, band);
    }
    if (held) {
        kp_band_fix(band, IN_PLANE_WIDTH, 0);
    } else {
        band[0] += membrane * plate->grip;
    }
    if (!plate->ring) {
        kp_band_fix(band, IN_PLANE_WIDTH, 1); /* a clamp does not let the shim turn about the axis */
    }
    kp_banded_factor(IN_PLANE * plate->splines, IN_PLANE_WIDTH, band); /* positive: strains resist u and v */
}
