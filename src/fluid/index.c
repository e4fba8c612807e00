/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Viscosity index by ASTM D2270, grades by ISO 3448, and a few generic oils by grade.

   With U the kinematic viscosity at 40 degC and Y that at 100 degC, both in mm2/s, and L, H functions of Y:
       U >= H:  VI = 100 (L - U)/(L - H)                                          (procedure A)
       U <  H:  VI = 100 + (10^N - 1)/0.00715,   N = log(H/U)/log Y               (procedure B)
   The two meet at U = H. L and H are the piecewise quadratics that the standard prints for computing: their
   coefficients are from memory. What backs them: the pieces join within 0.3 %, and at the three points whose L and H
   were read (the standard's tables as restated, not the standard itself) they give these within 0.02 % (tests/fluid).
   The piece above 70 mm2/s was read in the same restatement. */
#include "kneepoint/fluid.h"

#include <math.h>

static const double MM2 = 1e-6;      /* [m2/s] */
static const double Y_MIN = 2.0;     /* [mm2/s] below it the index is not defined */
static const double Y_MAX = 500.0;   /* [mm2/s] far beyond any damper's oil; ends the inversion */
static const double INDEX_MAX = 400; /* [-] no oil thins less */

typedef struct piece {
    double from, to;   /* [mm2/s] */
    double l[3], h[3]; /* a Y^2 + b Y + c */
} piece;

static const piece pieces[] = {
    {2.0, 3.8, {1.14673, 1.7576, -0.109}, {0.84155, 1.5521, -0.077}},
    {3.8, 4.4, {3.38095, -15.4952, 33.196}, {0.78571, 1.7929, -0.183}},
    {4.4, 5.0, {2.5000, -7.2143, 13.812}, {0.82143, 1.5679, 0.119}},
    {5.0, 6.4, {0.10100, 16.6350, -45.469}, {0.04985, 9.1613, -18.557}},
    {6.4, 7.0, {3.35714, -23.5643, 78.466}, {0.22619, 7.7369, -16.656}},
    {7.0, 7.7, {0.01191, 21.4750, -72.870}, {0.79762, -0.7321, 14.610}},
    {7.7, 9.0, {0.41858, 16.1558, -56.040}, {0.05794, 10.5156, -28.240}},
    {9.0, 12, {0.88779, 7.5527, -16.600}, {0.26665, 6.7015, -10.810}},
    {12, 15, {0.76720, 10.7972, -38.180}, {0.20073, 8.4658, -22.490}},
    {15, 18, {0.97305, 5.3135, -2.200}, {0.28889, 5.9741, -4.930}},
    {18, 22, {0.97256, 5.2500, -0.980}, {0.24504, 7.4160, -16.730}},
    {22, 28, {0.91413, 7.4759, -21.820}, {0.20323, 9.1267, -34.230}},
    {28, 40, {0.87031, 9.7157, -50.770}, {0.18411, 10.1015, -46.750}},
    {40, 55, {0.84703, 12.6752, -133.310}, {0.17029, 11.4866, -80.620}},
    {55, 70, {0.85921, 11.1009, -83.190}, {0.17130, 11.3680, -76.940}},
    {70, INFINITY, {0.8353, 14.67, -216}, {0.1684, 11.85, -97}},
};

void kp_viscosity_index_bounds(double viscosity_100, double *l, double *h)
{
    double y = viscosity_100 / MM2;
    size_t i = 0;
    while (y >= pieces[i].to) {
        i++;
    }
    const piece *p = &pieces[i];
    *l = (p->l[0] * y + p->l[1]) * y + p->l[2];
    *h = (p->h[0] * y + p->h[1]) * y + p->h[2];
}

static double index_of(double u, double y)
{
    double l, h;
    kp_viscosity_index_bounds(y * MM2, &l, &h);
    if (u >= h) {
        return 100 * (l - u) / (l - h);
    }
    return 100 + (pow(10, log(h / u) / log(y)) - 1) / 0.00715;
}

kp_status kp_viscosity_index(double viscosity_40, double viscosity_100, double *index, kp_error *error)
{
    double u = viscosity_40 / MM2, y = viscosity_100 / MM2;
    if (!(y >= Y_MIN && y <= Y_MAX && u > y) || !isfinite(u)) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "viscosity index of %g mm2/s at 40 degC and %g mm2/s at 100 degC: it is defined from %g "
                            "mm2/s at 100 degC on, and more than that at 40 degC",
                            u, y, Y_MIN);
    }

    *index = index_of(u, y);
    return KP_OK;
}

/* The index rises with Y at a given U but for the pieces' joints, which are steps of less than 0.3 %: bisection meets
   one of the sides there. */
kp_status kp_viscosity_from_index(double viscosity_40, double index, double *viscosity_100, kp_error *error)
{
    /* Bracket for Y: the index must lie between those of its two ends. */
    double u = viscosity_40 / MM2, low = Y_MIN, high = fmin(u, Y_MAX);

    if (!(u > Y_MIN) || !isfinite(u) || !(index <= INDEX_MAX) || !(index_of(u, low) <= index) ||
        !(index_of(u, high) >= index)) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "viscosity index %g with %g mm2/s at 40 degC: no viscosity of %g mm2/s or more at 100 degC "
                            "has it (below that the index is not defined); give the viscosity at two temperatures",
                            index, u, Y_MIN);
    }

    for (int i = 0; i < 60; i++) { /* halves to below a double's rounding */
        double middle = 0.5 * (low + high);
        if (index_of(u, middle) <= index) {
            low = middle;
        } else {
            high = middle;
        }
    }

    *viscosity_100 = 0.5 * (low + high) * MM2;
    return KP_OK;
}

/* Grades: read, ISO 3448 as restated. Index and density of the generic oil: assumed, what light hydraulic oils of the
   grade are commonly like (common practice, no source); a data sheet of the oil in use takes their place. */
static const kp_oil_grade grades[] = {
    {2, 1.98e-6, 2.2e-6, 2.42e-6, 0, 800},   {3, 2.88e-6, 3.2e-6, 3.52e-6, 0, 810},
    {5, 4.14e-6, 4.6e-6, 5.06e-6, 0, 825},   {7, 6.12e-6, 6.8e-6, 7.48e-6, 150, 835},
    {10, 9.00e-6, 10e-6, 11.0e-6, 150, 845}, {15, 13.5e-6, 15e-6, 16.5e-6, 150, 850},
    {22, 19.8e-6, 22e-6, 24.2e-6, 150, 855}, {32, 28.8e-6, 32e-6, 35.2e-6, 130, 865},
    {46, 41.4e-6, 46e-6, 50.6e-6, 110, 870}, {68, 61.2e-6, 68e-6, 74.8e-6, 100, 875},
    {100, 90e-6, 100e-6, 110e-6, 100, 880},
};

const kp_oil_grade *kp_oil_grades(size_t *count)
{
    *count = sizeof grades / sizeof grades[0];
    return grades;
}

const kp_oil_grade *kp_oil_grade_find(int grade)
{
    for (size_t i = 0; i < sizeof grades / sizeof grades[0]; i++) {
        if (grades[i].grade == grade) {
            return &grades[i];
        }
    }
    return NULL;
}
