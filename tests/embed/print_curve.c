/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reads a damper file and prints its curve: print_curve FILE */
#include <kneepoint/kneepoint.h>

#include <stdio.h>
#include <stdlib.h>

int main(int argument_count, char **arguments)
{
    kp_error error = {0};
    kp_messages messages = {0};
    kp_damper *damper = NULL;
    kp_damper_data *data = malloc(sizeof *data);
    if (data == NULL || argument_count != 2) {
        return EXIT_FAILURE;
    }

    kp_status status = kp_file_read_damper(arguments[1], NULL, 0, data, &messages, &error);
    if (status == KP_OK) {
        status = kp_damper_begin(data, 1.0, &damper, &error);
    }
    for (int i = -4; status == KP_OK && i <= 4; i++) {
        kp_curve_point point;
        if (i != 0 && (status = kp_curve_at(damper, 0.25 * i, &point, &error)) == KP_OK) {
            printf("%+.2f m/s %+8.1f N\n", point.speed, point.force);
        }
    }
    if (status != KP_OK) {
        fprintf(stderr, "%s\n", error.message);
    }

    kp_damper_free(damper);
    kp_messages_free(&messages);
    free(data);
    return kp_status_exit(status);
}
