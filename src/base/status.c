/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Statuses and the error record. */
#include "kneepoint/base.h"

#include <string.h>

const char *kp_status_text(kp_status status)
{
    static const char *const texts[] = {
#define KP_X(name, exit_status, text) text,
        KP_STATUS_LIST(KP_X)
#undef KP_X
    };
    if ((int)status < 0 || status >= KP_STATUS_COUNT) {
        return "unknown status";
    }
    return texts[status];
}

int kp_status_exit(kp_status status)
{
    static const int exits[] = {
#define KP_X(name, exit_status, text) exit_status,
        KP_STATUS_LIST(KP_X)
#undef KP_X
    };
    const int system_failure = 5; /* a status outside the list is a defect of the program, not of the input */
    if ((int)status < 0 || status >= KP_STATUS_COUNT) {
        return system_failure;
    }
    return exits[status];
}

kp_status kp_error_set(kp_error *error, kp_status status, const char *format, ...)
{
    if (error != NULL) {
        error->status = status;
        va_list arguments;
        va_start(arguments, format);
        kp_text_format(error->message, sizeof error->message, format, arguments);
        va_end(arguments);
    }
    return status;
}

kp_status kp_error_prefix(kp_error *error, const char *format, ...)
{
    if (error == NULL) {
        return KP_OK;
    }

    char old[sizeof error->message];
    memcpy(old, error->message, sizeof old);
    old[sizeof old - 1] = '\0';

    /* The new text takes the place of the old. */
    va_list arguments;
    va_start(arguments, format);
    size_t used = kp_text_format(error->message, sizeof error->message, format, arguments);
    va_end(arguments);

    /* The old message follows, cut at a whole UTF-8 character where it does not fit. */
    size_t room = sizeof error->message - used - 1;
    size_t length = strlen(old);
    if (length > room) {
        length = room;
        while (length > 0 && ((unsigned char)old[length] & 0xC0U) == 0x80U) {
            length--;
        }
    }

    memcpy(error->message + used, old, length);
    error->message[used + length] = '\0';
    return error->status;
}
