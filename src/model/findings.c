/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The list of faults and warnings. */
#include "kneepoint/model.h"

#include <stdio.h>
#include <stdlib.h>

enum { FIRST_FINDINGS = 8 /* [-] most files have fewer; doubled when they run out */ };

void kp_findings_free(kp_findings *findings)
{
    free(findings->items);
    *findings = (kp_findings){0};
}

kp_status kp_findings_add(kp_findings *findings, bool fault, const char *path, kp_error *error, const char *format, ...)
{
    if (findings->count == findings->capacity) {
        size_t capacity = findings->capacity == 0 ? FIRST_FINDINGS : 2 * findings->capacity;
        kp_finding *items = realloc(findings->items, capacity * sizeof *items);
        if (items == NULL) {
            return kp_error_set(error, KP_NO_MEMORY, "memory ran out while the damper was validated");
        }
        findings->items = items;
        findings->capacity = capacity;
    }

    /* The texts are cut to the room that they have. */
    kp_finding *finding = &findings->items[findings->count];
    finding->fault = fault;
    snprintf(finding->path, sizeof finding->path, "%s", path);

    va_list arguments;
    va_start(arguments, format);
    kp_text_format(finding->text, sizeof finding->text, format, arguments);
    va_end(arguments);

    findings->count++;
    return KP_OK;
}

size_t kp_findings_fault_count(const kp_findings *findings)
{
    size_t faults = 0;
    for (size_t i = 0; i < findings->count; i++) {
        faults += findings->items[i].fault ? 1 : 0;
    }
    return faults;
}
