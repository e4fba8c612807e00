/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Quadrature rules, from GSL's tables. */
#include "num/num.h"

#include "gsl_guard.h"

#include <gsl/gsl_integration.h>

kp_status kp_gauss_legendre(size_t n, double *points, double *weights, kp_error *error)
{
    if (n < 1 || n > KP_GAUSS_MAX_POINTS) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "Gauss-Legendre rule: %zu points, 1 to %d are possible", n,
                            (int)KP_GAUSS_MAX_POINTS);
    }

    kp_gsl_enter();
    gsl_integration_glfixed_table *table = gsl_integration_glfixed_table_alloc(n);
    for (size_t i = 0; table != NULL && i < n; i++) {
        gsl_integration_glfixed_point(-1, 1, i, &points[i], &weights[i], table);
    }
    kp_gsl_leave();

    if (table == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "Gauss-Legendre rule: no memory");
    }
    gsl_integration_glfixed_table_free(table);
    return KP_OK;
}
