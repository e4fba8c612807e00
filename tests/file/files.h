/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Files that only exist in memory, and reading them as the program would. */
#ifndef KP_TESTS_FILE_FILES_H
#define KP_TESTS_FILE_FILES_H

#include "file/file_internal.h"

#include <stdio.h>
#include <string.h>

typedef struct memory_file {
    const char *name, *bytes;
    size_t size; /* 0: bytes is a text */
} memory_file;

/** A file system: closed by an entry without a name. */
static kp_status open_in_memory(void *context, kp_arena *arena, const char *path, kp_bytes *out, kp_error *error)
{
    for (const memory_file *file = context; file->name != NULL; file++) {
        if (strcmp(file->name, path) == 0) {
            out->size = file->size > 0 ? file->size : strlen(file->bytes);
            out->bytes = kp_arena_text(arena, file->bytes, out->size);
            out->identity = kp_arena_text(arena, path, strlen(path));
            return out->bytes == NULL || out->identity == NULL ? kp_error_set(error, KP_NO_MEMORY, "memory ran out")
                                                               : KP_OK;
        }
    }
    return kp_error_set(error, KP_BAD_INPUT, "cannot be opened: No such file or directory");
}

/* A whole damper, its numbers invented; line numbers are those of its lines, from 1. */
enum { LINES = 32 };
static const char *const sound_lines[LINES] = {
    /*  1 */ "format: 1",
    /*  2 */ "name: Invented for a test",
    /*  3 */ "body:   {bore: 63.5 mm, rod: 22 mm, stroke: 250 mm}",
    /*  4 */ "oil:    {viscosity: {40 degC: 15 mm2/s, 100 degC: 3.8 mm2/s}, density: 860 kg/m3}",
    /*  5 */ "gas:    {charge: 14 bar gauge at 20 degC, maximum charge: 20 bar gauge, volume: 350 cm3}",
    /*  6 */ "friction: 60 N",
    /*  7 */ "piston:",
    /*  8 */ "  bleed:",
    /*  9 */ "    - {ports: 4, plugged: 2, diameter: 1.5 mm, length: 9 mm}",
    /* 10 */ "  compression:",
    /* 11 */ "    port:  {area: 240 mm2, inner: 20 mm}",
    /* 12 */ "    land:  {inner: 33 mm, outer: 35 mm}",
    /* 13 */ "    load coverage: 100 %",
    /* 14 */ "    curtain coverage: 75 %",
    /* 15 */ "    dish: 0.25 mm",
    /* 16 */ "    clamp: {washer: 16 mm, grip: held}",
    /* 17 */ "    stack:",
    /* 18 */ "      - 3 of 40 x 0.20 mm",
    /* 19 */ "      - 1 of 22 x 0.10 mm      # crossover",
    /* 20 */ "      - 1 of 38 x 0.20 mm",
    /* 21 */ "  rebound:",
    /* 22 */ "    port:",
    /* 23 */ "      area: 180 mm2",
    /* 24 */ "      inner: 20 mm",
    /* 25 */ "    land:  {inner: 33 mm, outer: 33 mm}",
    /* 26 */ "    clamp: {washer: 16 mm}",
    /* 27 */ "    stop:",
    /* 28 */ "      outside: 30 mm",
    /* 29 */ "      gap: 1.5 mm",
    /* 30 */ "    stack:",
    /* 31 */ "      - 2 of 1.575 in x 8 mil",
    /* 32 */ "      - 2 of 36 x 0.25 mm",
};

/** The sound file with one line replaced (0: none; a replacement may hold line ends). */
static void write_sound(char *out, size_t size, size_t line, const char *replacement)
{
    size_t used = 0;
    for (size_t i = 0; i < LINES; i++) {
        const char *text = i + 1 == line ? replacement : sound_lines[i];
        used += (size_t)snprintf(out + used, size - used, "%s\n", text);
    }
}

#endif
