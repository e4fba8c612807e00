/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Fuzz target of the file reader. The input is records parted by byte 0x1E: the file named, the file that anything
   else names (`based on`), then settings. Run by replay.c in the normal tests; with libFuzzer:
        clang -g -O1 -fsanitize=fuzzer,address,undefined -D_POSIX_C_SOURCE=200809L -Iinclude -Isrc \
            tests/fuzz/fuzz_damper.c src/{base,num,fluid,disc,flow,model,file}/?*.c -lyaml -lgsl -lgslcblas -lm
        ./a.out -max_len=8192 some/folder tests/fuzz/corpus */
#include "file/file_internal.h"
#include "fuzz.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { RECORDS_MAX = 6, SETTING_SIZE = 400, BASES_MAX = 4 };
static const char RECORD_END = 0x1E;

typedef struct record {
    const char *bytes;
    size_t size;
} record;

typedef struct input {
    size_t count;
    record records[RECORDS_MAX];
    int opened; /* [-] files opened under another name, each with a name of its own: a loop that the chain must end */
} input;

static void demand(bool truth, const char *what)
{
    if (!truth) {
        fprintf(stderr, "fuzz_damper: %s\n", what);
        abort();
    }
}

static kp_status open_record(void *context, kp_arena *arena, const char *path, kp_bytes *out, kp_error *error)
{
    input *in = context;
    size_t which = strcmp(path, "f") == 0 ? 0 : 1;
    if (which >= in->count) {
        return kp_error_set(error, KP_BAD_INPUT, "cannot be opened");
    }
    in->opened++;
    out->size = in->records[which].size;
    out->bytes = kp_arena_text(arena, in->records[which].bytes, out->size);
    /* a few names of one file, so that both the loop and the limit of the chain are met */
    out->identity = kp_arena_print(arena, "%zu/%d", which, in->opened < BASES_MAX ? 0 : in->opened);
    return out->bytes == NULL || out->identity == NULL ? kp_error_set(error, KP_NO_MEMORY, "memory ran out") : KP_OK;
}

static input split(const char *data, size_t size)
{
    input in = {0};
    while (in.count < RECORDS_MAX) {
        const char *end = in.count + 1 < RECORDS_MAX ? memchr(data, RECORD_END, size) : NULL;
        size_t length = end == NULL ? size : (size_t)(end - data);
        in.records[in.count++] = (record){data, length};
        if (end == NULL) {
            break;
        }
        data = end + 1;
        size -= length + 1;
    }
    return in;
}

/** A damper that was taken: finite numbers, and no fault when validated again. */
static void check_damper(const kp_damper_data *d)
{
    const double numbers[] = {d->bore,
                              d->rod,
                              d->stroke,
                              d->position,
                              d->friction,
                              d->oil.viscosity_1,
                              d->oil.viscosity_2,
                              d->oil.density,
                              d->gas.charge_pressure,
                              d->gas.volume,
                              d->valves[0].dish,
                              d->valves[1].land_outer,
                              d->valves[0].lines[0].thickness};
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        demand(isfinite(numbers[i]), "a number that is not finite was taken");
    }

    kp_findings found = {0};
    demand(kp_damper_validate(d, &found, NULL) == KP_OK, "a damper could not be validated twice");
    demand(kp_findings_fault_count(&found) == 0, "a damper with a fault was taken");
    kp_findings_free(&found);
}

static void check_messages(const kp_messages *messages, kp_status status)
{
    size_t faults = 0;
    for (size_t i = 0; i < messages->count; i++) {
        const char *text = messages->items[i].text;
        demand(memchr(text, '\0', sizeof messages->items[i].text) != NULL, "a message has no end");
        demand(text[0] != '\0', "an empty message");
        for (const char *c = text; *c != '\0'; c++) {
            demand((unsigned char)*c >= 0x20U && *c != 0x7F, "a control character in a message");
        }
        faults += messages->items[i].fault ? 1 : 0;
    }
    demand((faults > 0) == (status == KP_BAD_INPUT), "faults and status do not agree");
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static kp_damper_data damper, before;
    input in = split((const char *)data, size);
    char settings[RECORDS_MAX][SETTING_SIZE];
    const char *pointers[RECORDS_MAX];
    size_t count = 0;

    for (size_t i = 2; i < in.count; i++) {
        size_t length = in.records[i].size < SETTING_SIZE - 1 ? in.records[i].size : SETTING_SIZE - 1;
        memcpy(settings[count], in.records[i].bytes, length);
        settings[count][length] = '\0';
        pointers[count] = settings[count];
        count++;
    }

    memset(&damper, 0x5A, sizeof damper);
    before = damper;
    kp_error error = {0};
    kp_messages messages = {0};
    kp_status status = kp_file_read_damper_from(open_record, &in, "f", pointers, count, &damper, &messages, &error);
    demand(status == KP_OK || status == KP_BAD_INPUT, "a status that no input may cause");
    check_messages(&messages, status);

    if (status == KP_OK) {
        check_damper(&damper);
    } else {
        demand(memcmp(&damper, &before, sizeof damper) == 0, "the output was changed by a bad file");
        demand(error.status == KP_BAD_INPUT && error.message[0] != '\0', "no error for a bad file");
    }

    kp_messages_free(&messages);
    return 0;
}
