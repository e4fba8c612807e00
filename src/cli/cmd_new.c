/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `new`: prints a damper file to start from. */
#include "cli/commands.h"

#include <stdio.h>
#include <stdlib.h>

kp_status kp_cmd_new(kp_options *options, kp_error *error)
{
    char *text = malloc(KP_STARTER_SIZE);
    if (text == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out");
    }

    /* In the units of the bore, unless others are asked for. */
    kp_starter starter = options->starter;
    starter.units = options->request.has_units ? options->request.units : starter.units;
    kp_status status = kp_starter_write(&starter, text, error);
    if (status == KP_OK) {
        printf("%s", text);
    }
    free(text);
    return status;
}
