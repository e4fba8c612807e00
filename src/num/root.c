/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Roots of one unknown: GSL's Brent for a bracketed root, and a safeguarded Newton on logarithms for a rising one. */
#include "num/num.h"

#include "gsl_guard.h"

#include <float.h>
#include <math.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>
#include <gsl/gsl_version.h>

/* Both searches halve their interval at worst every other step, so 200 steps pass the 53 bits of a double over any
   range of exponents met here. More means that the function is not continuous, or does not rise. */
enum { MAX_STEPS = 200 };

/* ---- Brent --------------------------------------------------------------------------------------------- */

static double call(double x, void *params)
{
    const gsl_function *user = params;
    return user->function(x, user->params);
}

/* Between kp_gsl_enter and kp_gsl_leave: every failure comes back as a code. */
static kp_status brent(gsl_root_fsolver *solver, gsl_function *f, double low, double high, double x_absolute,
                       double x_relative, double *root, kp_error *error)
{
    /* Ends when the code is no success, at the tolerance, or after too many steps. */
    int code = gsl_root_fsolver_set(solver, f, low, high);
    for (int step = 0; code == GSL_SUCCESS && step < MAX_STEPS; step++) {
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
                        (int)MAX_STEPS);
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

    /* GSL passes its parameters as a pointer to data, which must not hold a function: so through a gsl_function. */
    gsl_function user = {f, context};
    gsl_function wrapped = {call, &user};

    kp_gsl_enter();
    gsl_root_fsolver *solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    kp_status status = solver != NULL ? brent(solver, &wrapped, low, high, x_absolute, x_relative, root, error)
                                      : kp_error_set(error, KP_NO_MEMORY, "root search: no memory");
    gsl_root_fsolver_free(solver); /* accepts NULL */
    kp_gsl_leave();

    return status;
}

/* ---- rising function --------------------------------------------------------------------------------------

   With x = e^s and f = e^g, g(s) is a straight line for a power law, and every resistance met here is one over wide
   ranges: f ~ x^(1/2) turbulent, x laminar, x^(3/2) a plate lifting. So Newton on g(s) = ln target,

       ln x_new = ln x + (ln target - ln f) f/(x f'),

   takes few steps from anywhere. Where f is still 0 (a stack below cracking) or the step leaves the bracket, the
   bracket is split: geometrically while its ends are far apart, else arithmetically. It is also split whenever the last
   step did not halve |ln f - ln target|; so each step halves either that or the bracket, which bounds their number.
   GSL's derivative solvers (Newton, Steffenson) keep no bracket, so they do not serve here. */

typedef struct bracket {
    double low, high; /* f(low) < target <= f(high) once high has been evaluated */
    bool high_seen;   /* f(high) is evaluated only when the search pushes against it */
    double last_miss; /* [-] |ln(f/target)| of the step before */
} bracket;

/* Ends this far apart are split by their geometric mean. */
static const double FAR_APART = 4.0; /* [-] ratio */
/* With a lower end of 0 there is no geometric mean: the split is at this fraction of the upper end. */
static const double FIRST_FRACTION = 1e-3; /* [-] */

static double split(const bracket *b)
{
    if (b->low <= 0) {
        return b->high * FIRST_FRACTION;
    }
    if (b->high > FAR_APART * b->low) {
        return b->low * sqrt(b->high / b->low);
    }
    return b->low + 0.5 * (b->high - b->low);
}

static double newton_on_logs(double x, double value, double slope, double target)
{
    if (!(value > 0) || !(slope > 0)) {
        return 0; /* not inside any bracket: asks for a split */
    }
    return x * exp(log(target / value) * value / (x * slope));
}

/* The next point, from the Newton step `newton` at x or a split. false: no double lies between the ends of the
   bracket, and x is the root. */
static bool next_point(bracket *b, double newton, double value, double target, double high, double *x)
{
    double miss = value > 0 ? fabs(log(value / target)) : HUGE_VAL;
    bool slow = !(miss <= 0.5 * b->last_miss) && b->last_miss < HUGE_VAL;
    b->last_miss = miss;

    /* Push to the upper end once, take the Newton step, or split. */
    double next = newton;
    if (!b->high_seen && next >= high) {
        next = high;
    } else if (slow || !(next > b->low && next < b->high)) {
        next = split(b);
    }

    if (next <= b->low || (next >= b->high && b->high_seen)) {
        return false;
    }

    *x = next;
    return true;
}

kp_status kp_root_rising(kp_rising_function f, void *context, double target, double start, double low, double high,
                         double relative, double *root, kp_error *error)
{
    if (!(target > 0) || !isfinite(target) || !(low >= 0) || !(high > low) || !isfinite(high)) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "root search: target %g (> 0 needed) between %g and %g", target,
                            low, high);
    }

    bracket b = {.low = low, .high = high, .last_miss = HUGE_VAL};
    double x = start > low && start < high ? start : split(&b);
    for (int step = 0; step < MAX_STEPS; step++) {
        /* f at x; done when it meets the target. */
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

        /* Shrink the bracket to the side that holds the root. */
        if (value < target) {
            if (x >= high) {
                return kp_error_set(error, KP_OUT_OF_RANGE, "root search: f(%g) = %g stays below the target %g", high,
                                    value, target);
            }
            b.low = x;
        } else {
            b.high = x;
            b.high_seen = true;
        }

        /* A Newton step below the spacing of doubles, or no double left between the ends: x cannot be improved. */
        double newton = newton_on_logs(x, value, slope, target);
        if (fabs(newton - x) <= DBL_EPSILON * x || !next_point(&b, newton, value, target, high, &x)) {
            *root = x;
            return KP_OK;
        }
    }
    return kp_error_set(error, KP_NO_SOLUTION, "root search for %g between %g and %g: not found in %d steps", target,
                        b.low, b.high, (int)MAX_STEPS);
}

const char *kp_num_gsl_version(void)
{
    return gsl_version;
}
