/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "num/num.h"

#include <criterion/criterion.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>
#include <math.h>
#include <stdatomic.h>

/* ---- Brent ------------------------------------------------------------------------------------------------- */

static double cosine_line(double x, void *context)
{
    (void)context;
    return cos(x) - x;
}

static double scaled_cubic(double x, void *context)
{
    double c = *(double *)context;
    return x * x * x - c;
}

static double not_a_number_inside(double x, void *context)
{
    (void)context;
    return x < 0.4 ? -1.0 : (x > 0.6 ? 1.0 : NAN);
}

static double without_root(double x, void *context)
{
    (void)context;
    return x * x + 2.385e5;
}

static double line_from_low_end(double x, void *context)
{
    (void)context;
    return x - 0.7319;
}

Test(root, brent_finds_known_roots)
{
    kp_error error = {0};
    double root = 0, c = 2.385e5;
    cr_assert_eq(kp_root_bracketed(cosine_line, NULL, 0, 1.3, 0, 1e-14, &root, &error), KP_OK);
    cr_assert(fabs(root - 0.73908513321516064) <= 1e-14); /* the Dottie number, any table */
    cr_assert_eq(kp_root_bracketed(scaled_cubic, &c, -7, 913, 0, 1e-14, &root, &error), KP_OK);
    cr_assert(fabs(root - cbrt(c)) <= 2e-14 * cbrt(c));
    cr_assert_eq(kp_root_bracketed(line_from_low_end, NULL, 0.7319, 4, 0, 1e-14, &root, &error), KP_OK);
    cr_assert_eq(root, 0.7319);
}

Test(root, brent_refuses_with_its_outputs_unchanged)
{
    kp_error error = {0};
    double root = 17.25;
    cr_assert_eq(kp_root_bracketed(without_root, NULL, -3, 5, 0, 1e-12, &root, &error), KP_OUT_OF_RANGE);
    cr_assert(error.message[0] != '\0');
    cr_assert_eq(kp_root_bracketed(cosine_line, NULL, 1.3, 0, 0, 1e-12, &root, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_root_bracketed(not_a_number_inside, NULL, 0.3, 0.7, 0, 1e-12, &root, &error), KP_NOT_FINITE);
    cr_assert_eq(kp_root_bracketed(not_a_number_inside, NULL, 0.5, 0.7, 0, 1e-12, &root, &error), KP_NOT_FINITE);
    cr_assert_eq(root, 17.25);
}

/* ---- a host with an error handler of its own ------------------------------------------------------------------- */

static atomic_int handled;

static void host_handler(const char *reason, const char *file, int line, int code)
{
    (void)reason, (void)file, (void)line, (void)code;
    handled++;
}

/* A not-a-number inside the bracket, an unbracketed root, and a root that is found. */
static kp_status three_searches(size_t index, void *workspace, void *context, kp_error *error)
{
    (void)workspace, (void)context;
    double root = 17.25;
    bool right = kp_root_bracketed(not_a_number_inside, NULL, 0.3, 0.7, 0, 1e-12, &root, error) == KP_NOT_FINITE &&
                 kp_root_bracketed(without_root, NULL, -3, 5, 0, 1e-12, &root, error) == KP_OUT_OF_RANGE &&
                 root == 17.25 && kp_root_bracketed(cosine_line, NULL, 0, 1.3, 0, 1e-14, &root, error) == KP_OK &&
                 fabs(root - 0.73908513321516064) <= 1e-14;
    return right ? KP_OK : kp_error_set(error, KP_NO_SOLUTION, "piece %zu ended with root %.17g", index, root);
}

static gsl_error_handler_t *handler_now(void)
{
    gsl_error_handler_t *now = gsl_set_error_handler(NULL);
    gsl_set_error_handler(now);
    return now;
}

/* What a host does to be told of its own errors in GSL: a search that is not bracketed. */
static int provoke(void)
{
    gsl_root_fsolver *solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    gsl_function none = {without_root, NULL};
    int before = handled;
    gsl_root_fsolver_set(solver, &none, -3, 5);
    gsl_root_fsolver_free(solver);
    return handled - before;
}

Test(root, a_host_keeps_its_gsl_error_handler)
{
    gsl_set_error_handler(host_handler);
    cr_assert_eq(provoke(), 1, "the handler counts");

    handled = 0;
    kp_error error = {0};
    cr_assert_eq(three_searches(0, NULL, NULL, &error), KP_OK, "%s", error.message);
    kp_pool pool = {.threads = 4};
    cr_assert_eq(kp_pool_run(&pool, 20000, three_searches, NULL, NULL, &error), KP_OK, "%s", error.message);

    cr_assert_eq(handled, 0, "our searches called the host's handler %d times", handled);
    cr_assert(handler_now() == host_handler);
    cr_assert_eq(provoke(), 1, "the handler still counts");

    /* GSL's default handler, which would end the process, is put back as well. */
    gsl_set_error_handler(NULL);
    cr_assert_eq(three_searches(0, NULL, NULL, &error), KP_OK, "%s", error.message);
    cr_assert(handler_now() == NULL);
}

static double sets_a_handler(double x, void *context)
{
    (void)context;
    gsl_set_error_handler(host_handler);
    return cos(x) - x;
}

Test(root, a_handler_that_the_host_sets_during_a_search_stays)
{
    kp_error error = {0};
    double root = 0;
    gsl_set_error_handler(NULL);
    cr_assert_eq(kp_root_bracketed(sets_a_handler, NULL, 0, 1.3, 0, 1e-14, &root, &error), KP_OK);
    cr_assert(handler_now() == host_handler);
}

/* ---- rising functions -------------------------------------------------------------------------------------- */

typedef struct rising {
    double coefficient, power, threshold;
    int calls;
    double last;
} rising;

/* c (x - t)^n beyond t, 0 before it. */
static kp_status shifted_power(double x, void *context, double *value, double *slope, kp_error *error)
{
    (void)error;
    rising *r = context;
    r->calls++;
    r->last = x;
    double over = x - r->threshold;
    *value = over > 0 ? r->coefficient * pow(over, r->power) : 0;
    *slope = over > 0 ? r->coefficient * r->power * pow(over, r->power - 1) : 0;
    return KP_OK;
}

static kp_status fails(double x, void *context, double *value, double *slope, kp_error *error)
{
    (void)context;
    *value = *slope = NAN;
    return x > 2 ? KP_OK : kp_error_set(error, KP_NO_SOLUTION, "cannot at %g", x);
}

Test(root, rising_is_quick_on_powers_and_safe_beyond_a_threshold)
{
    kp_error error = {0};
    const double powers[] = {0.5, 1, 1.5, 3}, thresholds[] = {0, 2.17e5, 9.993e6};
    int max_power = 0, max_shifted = 0;
    for (int p = 0; p < 4; p++) {
        for (int t = 0; t < 3; t++) {
            for (double part = 1e-9; part < 1; part *= 7.3) {
                double wanted = thresholds[t] + part * 1.3e7, root = 0;
                rising r = {.coefficient = 3.1e-9, .power = powers[p], .threshold = thresholds[t]};
                double target = r.coefficient * pow(wanted - r.threshold, r.power);
                kp_status status =
                    kp_root_rising(shifted_power, &r, target, 3e5, thresholds[t], 2.9e7, 1e-13, &root, &error);
                cr_assert_eq(status, KP_OK, "power %g threshold %g part %g: %s", r.power, r.threshold, part,
                             error.message);
                /* to the tolerance on f, or to the last bits of x where x is all threshold */
                double allowed = 1e-12 * (wanted - r.threshold) + 4e-16 * wanted;
                cr_assert(fabs(root - wanted) <= allowed, "power %g threshold %g: %.17g for %.17g", r.power,
                          r.threshold, root, wanted);
                cr_assert_eq(root, r.last, "the root must be the last point looked at");
                if (t == 0) {
                    max_power = r.calls > max_power ? r.calls : max_power;
                } else {
                    max_shifted = r.calls > max_shifted ? r.calls : max_shifted;
                }
            }
        }
    }
    cr_log_info("rising: at most %d calls on a power, %d beyond a threshold", max_power, max_shifted);
    cr_assert(max_power <= 4, "a power law is a straight line to it: %d calls", max_power);
    cr_assert(max_shifted <= 100, "%d calls", max_shifted);
}

Test(root, rising_refuses_with_its_outputs_unchanged)
{
    kp_error error = {0};
    double root = 17.25;
    rising r = {.coefficient = 2, .power = 1};
    cr_assert_eq(kp_root_rising(shifted_power, &r, 30, 1, 0, 14, 1e-13, &root, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_root_rising(shifted_power, &r, 0, 1, 0, 14, 1e-13, &root, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_root_rising(shifted_power, &r, NAN, 1, 0, 14, 1e-13, &root, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_root_rising(shifted_power, &r, 3, 1, 5, 4, 1e-13, &root, &error), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_root_rising(fails, NULL, 3, 1, 0, 14, 1e-13, &root, &error), KP_NO_SOLUTION);
    cr_assert_str_eq(error.message, "cannot at 1");
    cr_assert_eq(kp_root_rising(fails, NULL, 3, 7, 0, 14, 1e-13, &root, &error), KP_NOT_FINITE);
    cr_assert_eq(root, 17.25);
}
