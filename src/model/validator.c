/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What every part of the validation uses: recording a finding, and the two commonest tests of a number. */
#include "validator.h"

#include <math.h>
#include <stdio.h>

KP_PRINTF(4, 0)
static void record(kp_validator *validator, bool fault, const char *path, const char *format, va_list arguments)
{
    if (validator->status != KP_OK) {
        return;
    }
    char whole[sizeof((kp_finding *)0)->path];
    char text[sizeof((kp_finding *)0)->text];
    snprintf(whole, sizeof whole, "%s%s", validator->prefix, path);
    kp_text_format(text, sizeof text, format, arguments);
    validator->status = kp_findings_add(validator->findings, fault, whole, validator->error, "%s", text);
}

void kp_validator_fault(kp_validator *validator, const char *path, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    record(validator, true, path, format, arguments);
    va_end(arguments);
}

void kp_validator_warning(kp_validator *validator, const char *path, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    record(validator, false, path, format, arguments);
    va_end(arguments);
}

bool kp_validator_positive_size(kp_validator *validator, const char *path, const char *what, double size)
{
    if (size > 0.0 && isfinite(size)) {
        return true;
    }
    kp_validator_fault(validator, path, "%s %g mm must be larger than 0", what, KP_MM(size));
    return false;
}

bool kp_validator_between(kp_validator *validator, const char *path, const char *what, double number, double from,
                          double to)
{
    if (number >= from && number <= to) {
        return true;
    }
    kp_validator_fault(validator, path, "%s %g is outside %g to %g", what, number, from, to);
    return false;
}
