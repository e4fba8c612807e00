/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A host with a GSL error handler of its own feeds a root search a lift that is not a number: an error comes back, and
   the handler was not called and is still the host's. host_handler FILE */
#include <kneepoint/kneepoint.h>

#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static int calls;

static void count_call(const char *reason, const char *file, int line, int code)
{
    (void)reason, (void)file, (void)line, (void)code;
    calls++;
}

int main(int argument_count, char **arguments)
{
    kp_error error = {0};
    kp_messages messages = {0};
    kp_lift_sensitivity rows[KP_LIFT_SENSITIVITIES];
    kp_damper_data *data = malloc(sizeof *data);
    if (data == NULL || argument_count != 2) {
        return EXIT_FAILURE;
    }

    gsl_set_error_handler(count_call);
    if (kp_file_read_damper(arguments[1], NULL, 0, data, &messages, &error) != KP_OK) {
        return EXIT_FAILURE;
    }
    kp_status status = kp_lift_sensitivities(data, KP_COMPRESSION, (double)NAN, rows, &error);
    bool kept = gsl_set_error_handler(NULL) == count_call;
    printf("status %d, handler %s, called %d times: %s\n", status, kept ? "kept" : "lost", calls, error.message);

    kp_messages_free(&messages);
    free(data);
    return status != KP_OK && kept && calls == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
