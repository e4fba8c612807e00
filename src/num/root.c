/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Roots of one unknown: GSL's Brent for a bracketed root, and a safeguarded Newton on logarithms for a rising one. */
#include "num/num.h"

#include <float.h>
#include <math.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>

/* Both searches halve their interval at worst every other step, so 200 steps pass the 53 bits of a double over any
   range of exponents met here; more means the function is not what it was said to be. */
enum { STEPS_MOST = 200 };

void kp_num_begin(void)
{
    gsl_set_error_handler_off();
}

/* ---- Brent --------------------------------------------------------------------------------------------- */

static double call(double x, void *params)
{
    const gsl_function *user = params;
    return user->function(x, user->params);
}

static kp_status brent(gsl_root_fsolver *solver, gsl_function *f, double low, double high, double x_absolute,
                       double x_relative, double *root, kp_error *error)
{
    int code = gsl_root_fsolver_set(solver, f, low, high);
    for (int step = 0; code == GSL_SUCCESS && step < STEPS_MOST; step++) {
        code = gsl_root_fsolver_iterate(solver);
        if (code != GSL_SUCCESS) {
            break;
        }
        double lower = gsl_root_fsolver_x_lower(solver), upper = gsl_root_fsolver_x_upper(solver);
        if (gsl_root_test_interval(lower, upper, x_absolute, x_relative) == GSL_SUCCESS) {
            *root = gsl_root_fsolver_root(solver);
            return KP_OK;
        }
    }
    if (code != GSL_SUCCESS) {
        return kp_error_set(error, code == GSL_EBADFUNC ? KP_NOT_FINITE : KP_NO_SOLUTION,
                            "root search between %g and %g: %s", low, high, gsl_strerror(code));
    }
    return kp_error_set(error, KP_NO_SOLUTION, "root search between %g and %g: not found in %d steps", low, high,
                        (int)STEPS_MOST);
}

kp_status kp_root_bracketed(kp_function f, void *context, double low, double high, double x_absolute, double x_relative,
                            double *root, kp_error *error)
{
    double f_low = f(low, context), f_high = f(high, context);
    if (!isfinite(f_low) || !isfinite(f_high)) {
        return kp_error_set(error, KP_NOT_FINITE, "root search: f(%g) = %g, f(%g) = %g", low, f_low, high, f_high);
    }
    /* An end that is a root is the answer; GSL would go on and halve towards it. */
    if (f_low == 0 || f_high == 0) {
        *root = f_low == 0 ? low : high;
        return KP_OK;
    }
    if (!(low < high) || (f_low > 0) == (f_high > 0)) {
        return kp_error_set(error, KP_OUT_OF_RANGE,
                            "root search: f(%g) = %g and f(%g) = %g do not enclose a root (opposite signs needed)", low,
                            f_low, high, f_high);
    }
    gsl_root_fsolver *solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    if (!solver) {
        return kp_error_set(error, KP_NO_MEMORY, "root search: no memory");
    }
    gsl_function user = {f, context};
    gsl_function wrapped = {call, &user};
    kp_status status = brent(solver, &wrapped, low, high, x_absolute, x_relative, root, error);
    gsl_root_fsolver_free(solver);
    return status;
}

/* ---- rising function --------------------------------------------------------------------------------------

   With x = e^s and f = e^g, g(s) is a straight line for a power law, and every resistance met here is one over wide
   stretches: f ~ x^(1/2) turbulent, x laminar, x^(3/2) a plate lifting. So Newton on g(s) = ln target,

       ln x_new = ln x + (ln target - ln f) f/(x f'),

   takes few steps from anywhere. Where f is still 0 (a stack below cracking) or the step leaves the bracket, the
   bracket is split: geometrically while its ends are far apart, else arithmetically. It is also split whenever the last
   step did not halve |ln f - ln target|; so each step halves either that or the bracket, which bounds their number. */

typedef struct bracket {
    double low, high; /* f(low) < target <= f(high) once high has been looked at */
} bracket;

/* Ends this far apart are split by their geometric mean. */
static const double FAR_APART = 4.0; /* [-] ratio */
/* Where the geometric mean has no lower end to work with: this share of the upper end. */
static const double FIRST_SHARE = 1e-3; /* [-] */

static double split(bracket b)
{
    if (b.low <= 0) {
        return b.high * FIRST_SHARE;
    }
    if (b.high > FAR_APART * b.low) {
        return b.low * sqrt(b.high / b.low);
    }
    return b.low + 0.5 * (b.high - b.low);
}

static double newton_on_logs(double x, double value, double slope, double target)
{
    if (!(value > 0) || !(slope > 0)) {
        return 0; /* not inside any bracket: asks for a split */
    }
    return x * exp(log(target / value) * value / (x * slope));
}

kp_status kp_root_rising(kp_rising_function f, void *context, double target, double start, double low, double high,
                         double relative, double *root, kp_error *error)
{
    if (!(target > 0) || !isfinite(target) || !(low >= 0) || !(high > low) || !isfinite(high)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "root search: target %g (> 0 needed) between %g and %g", target,
                            low, high);
    }
    bracket b = {low, high};
    double last_miss = HUGE_VAL; /* [-] |ln(f/target)| of the step before */
    bool high_seen = false;      /* f(high) is only worked out when the search pushes against it */
    double x = start > low && start < high ? start : split(b);
    for (int step = 0; step < STEPS_MOST; step++) {
        double value, slope;
        kp_status status = f(x, context, &value, &slope, error);
        if (status != KP_OK) {
            return status;
        }
        if (!isfinite(value) || !isfinite(slope)) {
            return kp_error_set(error, KP_NOT_FINITE, "root search: f(%g) = %g with slope %g", x, value, slope);
        }
        if (fabs(value - target) <= relative * target) {
            *root = x;
            return KP_OK;
        }
        if (value < target) {
            if (x >= high) {
                return kp_error_set(error, KP_OUT_OF_RANGE, "root search: f(%g) = %g stays below the target %g", high,
                                    value, target);
            }
            b.low = x;
        } else {
            b.high = x;
            high_seen = true;
        }
        double next = newton_on_logs(x, value, slope, target);
        if (fabs(next - x) <= DBL_EPSILON * x) {
            *root = x; /* the step is below what a double can say: x is as good as it gets */
            return KP_OK;
        }
        double miss = value > 0 ? fabs(log(value / target)) : HUGE_VAL;
        bool slow = !(miss <= 0.5 * last_miss) && last_miss < HUGE_VAL;
        last_miss = miss;
        if (!high_seen && next >= high) {
            next = high;
        } else if (slow || !(next > b.low && next < b.high)) {
            next = split(b);
        }
        /* No double number lies between the ends: the same. */
        if (next <= b.low || (next >= b.high && high_seen)) {
            *root = x;
            return KP_OK;
        }
        x = next;
    }
    return kp_error_set(error, KP_NO_SOLUTION, "root search for %g between %g and %g: not found in %d steps", target,
                        b.low, b.high, (int)STEPS_MOST);
}
