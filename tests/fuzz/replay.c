/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Replays a corpus through the fuzz target, without libFuzzer: every file as it is, then changed at random in a few
    ways (seeded, so the same every time), so that the normal tests fuzz a little too.
        replay FOLDER CHANGES    CHANGES per file; KP_FULL=1 in the environment makes it a hundred times as many */
#include "fuzz.h"

#include <dirent.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FILES_MAX = 500, FILE_SIZE_MAX = 64 * 1024, FULL = 100 };

typedef struct sample {
    char name[256];
    uint8_t *bytes;
    size_t size;
} sample;

static sample samples[FILES_MAX];
static size_t sample_count;
static uint64_t state = 20240612; /* the seed */

/** splitmix64 (Steele, Lea and Flood 2014: from memory). */
static uint64_t next_random(void)
{
    uint64_t z = (state += 0x9E3779B97F4A7C15ULL);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31);
}

static size_t below(size_t n)
{
    return (size_t)(next_random() % n);
}

static int compare_names(const void *a, const void *b)
{
    return strcmp(((const sample *)a)->name, ((const sample *)b)->name);
}

static bool read_sample(const char *folder, const char *name)
{
    char path[1024];
    sample *to = &samples[sample_count];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "rb");

    if (file == NULL || sample_count == FILES_MAX) {
        return false;
    }

    to->bytes = malloc(FILE_SIZE_MAX);
    to->size = to->bytes == NULL ? 0 : fread(to->bytes, 1, FILE_SIZE_MAX, file);
    snprintf(to->name, sizeof to->name, "%s", name);
    bool good = to->bytes != NULL && !ferror(file);
    fclose(file);
    sample_count += good ? 1 : 0;
    return good;
}

/** One to four changes: a byte, a cut, a piece doubled, a piece of another file put in, a token that hurts. */
static size_t change(uint8_t *bytes, size_t size)
{
    static const char *const tokens[] = {"none", "&a ",  "*a",  "!!x ",     "<<: ",    "\x1E",  "[",  "{",
                                         ": ",   "- ",   "\n",  "\t",       "0x1",     "nan",   "-",  "1e9",
                                         "%",    " of ", " x ", "\"",       "mm",      "gauge", "\0", "\xFF",
                                         "\xC3", "#",    "...", "based on", "+/- 1 mm"};
    for (size_t changes = 1 + below(4); changes > 0; changes--) {
        size_t at = size == 0 ? 0 : below(size + 1);
        size_t kind = below(5);
        if (kind == 0 && size > 0 && at < size) {
            bytes[at] = (uint8_t)next_random();
        } else if (kind == 1 && size > 0) {
            size_t length = below(size - at + 1);
            memmove(bytes + at, bytes + at + length, size - at - length);
            size -= length;
        } else {
            const sample *other = &samples[below(sample_count)];
            size_t from = other->size == 0 ? 0 : below(other->size);
            size_t token = below(sizeof tokens / sizeof tokens[0]);
            const uint8_t *piece = kind == 2 ? other->bytes + from : (const uint8_t *)tokens[token];
            size_t length = kind == 2 ? below(other->size - from + 1) : strlen(tokens[token]);
            length += kind != 2 && length == 0 ? 1 : 0; /* the NUL */
            if (size + length <= FILE_SIZE_MAX) {
                uint8_t copy[FILE_SIZE_MAX];
                memcpy(copy, piece, length);
                memmove(bytes + at + length, bytes + at, size - at);
                memcpy(bytes + at, copy, length);
                size += length;
            }
        }
    }

    return size;
}

int main(int count, char **arguments)
{
    if (count != 3) {
        fprintf(stderr, "usage: replay FOLDER CHANGES\n");
        return 2;
    }

    DIR *folder = opendir(arguments[1]);
    if (folder == NULL) {
        perror(arguments[1]);
        return 3;
    }

    for (struct dirent *entry = readdir(folder); entry != NULL; entry = readdir(folder)) {
        if (entry->d_name[0] != '.' && !read_sample(arguments[1], entry->d_name)) {
            fprintf(stderr, "%s could not be read\n", entry->d_name);
            return 3;
        }
    }

    closedir(folder);
    qsort(samples, sample_count, sizeof samples[0], compare_names); /* folders have no order of their own */
    long changes = atol(arguments[2]) * (getenv("KP_FULL") != NULL ? FULL : 1);

    for (size_t i = 0; i < sample_count; i++) {
        LLVMFuzzerTestOneInput(samples[i].bytes, samples[i].size);
    }

    static uint8_t bytes[FILE_SIZE_MAX];
    for (size_t i = 0; i < sample_count; i++) {
        for (long j = 0; j < changes; j++) {
            memcpy(bytes, samples[i].bytes, samples[i].size);
            size_t size = change(bytes, samples[i].size);
            LLVMFuzzerTestOneInput(bytes, size);
        }
    }

    printf("%zu files, %ld changes of each, seed 20240612: no finding\n", sample_count, changes);
    for (size_t i = 0; i < sample_count; i++) {
        free(samples[i].bytes);
    }

    return sample_count > 0 ? 0 : 1; /* an empty corpus tests nothing */
}
