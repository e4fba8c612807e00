/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Memory that runs out at any moment of a reading: the answer is KP_NO_MEMORY, nothing leaks, nothing was taken.
    The linker sends the rooms' own malloc, calloc and realloc here (--wrap); those inside libyaml, a shared
   library, stay as they are. A plain program, as Criterion allocates too. */
#include "kneepoint/file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *old, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *old, size_t size);

static long calls, fail_at = -1;
static bool failed;

static bool fails_now(void)
{
    bool now = calls == fail_at;
    calls++;
    failed = failed || now;
    return now;
}

void *__wrap_malloc(size_t size)
{
    return fails_now() ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size)
{
    return fails_now() ? NULL : __real_calloc(count, size);
}

void *__wrap_realloc(void *old, size_t size)
{
    return fails_now() ? NULL : __real_realloc(old, size);
}

static int failures;

/** One reading with allocation number n failing. Returns whether it was reached. */
static bool read_failing_at(const char *path, const char *const *settings, size_t count, long n, kp_status otherwise)
{
    static kp_damper_data damper, before;
    memset(&damper, 0x5A, sizeof damper);
    before = damper;
    kp_error error = {0};
    kp_messages messages = {0};
    calls = 0;
    failed = false;
    fail_at = n;
    kp_status status = kp_file_read_damper(path, settings, count, &damper, &messages, &error);
    fail_at = -1;
    kp_messages_free(&messages);
    kp_status expected = failed ? KP_NO_MEMORY : otherwise;
    bool unchanged = memcmp(&damper, &before, sizeof damper) == 0;

    if (status != expected || (status != KP_OK && (!unchanged || error.status != status))) {
        fprintf(stderr, "%s, allocation %ld: %s, not %s%s: %s\n", path, n, kp_status_text(status),
                kp_status_text(expected), unchanged ? "" : ", output changed", error.message);
        failures++;
    }

    return failed;
}

int main(void)
{
    static const char *const good[] = {
        "piston.compression.dish=0.41 mm",
        "piston.bleed[0].plugged=4",
        "piston.compression.stop={outside: 40 mm, gap: 2 mm}",
        "friction=none",
        "materials={bronze: {young: 110 GPa, poisson: 0.34, yield: 510 MPa}}",
        "piston.rebound.backing={profile: [{diameter: 22 mm, gap: 0.3 mm}]}",
        "piston.rebound.stack=['2 of 54 x 0.3 mm, slots 4 x 2 x 3 mm, material bronze']"};
    static const char *const bad[] = {"piston.compression.dosh=0.41 mm",
                                      "piston.bleed[0].plugged=9",
                                      "piston.compression.stack=[12 x 40 x 0.2]",
                                      "gas.charge=14 bar",
                                      "body.rod=70 mm",
                                      "oil.grade=15"};
    static const char path[] = KP_SOURCE_DIR "/stacks/van-rear-digressive-firmer.yaml";
    long n = 0, m = 0;
    while (read_failing_at(path, good, sizeof good / sizeof good[0], n, KP_OK)) {
        n++;
    }
    while (read_failing_at(path, bad, sizeof bad / sizeof bad[0], m, KP_BAD_INPUT)) {
        m++;
    }
    printf("%ld + %ld allocations failed one by one, %d failures\n", n, m, failures);
    return n > 3 && m > 3 && failures == 0 ? 0 : 1;
}
