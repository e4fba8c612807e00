/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tree.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { BLOCK_SIZE = 16 * 1024 /* [bytes] one block holds a whole usual file */ };

typedef struct kp_arena_block {
    struct kp_arena_block *next;
    size_t used, size;
    max_align_t memory[];
} kp_arena_block;

static kp_arena_block *new_block(kp_arena *arena, size_t size)
{
    kp_arena_block *block = malloc(sizeof *block + size);
    if (block == NULL) {
        return NULL;
    }

    block->next = arena->blocks;
    block->used = 0;
    block->size = size;
    arena->blocks = block;
    return block;
}

void *kp_arena_get(kp_arena *arena, size_t size)
{
    const size_t grain = sizeof(max_align_t);
    if (size > SIZE_MAX / 2) {
        arena->failed = true;
        return NULL;
    }

    /* Rounded up, so that every piece is aligned for any type. */
    size = (size + grain - 1) / grain * grain;

    kp_arena_block *block = arena->blocks;

    if (block == NULL || block->size - block->used < size) {
        block = new_block(arena, size > BLOCK_SIZE ? size : BLOCK_SIZE);
    }

    if (block == NULL) {
        arena->failed = true;
        return NULL;
    }

    /* The next free bytes of the newest block, zeroed. */
    char *memory = (char *)block->memory + block->used;
    block->used += size;
    memset(memory, 0, size);
    return memory;
}

char *kp_arena_text(kp_arena *arena, const char *text, size_t length)
{
    char *copy = kp_arena_get(arena, length + 1);
    if (copy != NULL) {
        memcpy(copy, text, length);
    }
    return copy;
}

char *kp_arena_print(kp_arena *arena, const char *format, ...)
{
    char buffer[1024]; /* paths and places: a longer one is cut, at a whole character */
    va_list arguments;
    va_start(arguments, format);
    size_t length = kp_text_format(buffer, sizeof buffer, format, arguments);
    va_end(arguments);
    return kp_arena_text(arena, buffer, length);
}

void kp_arena_free(kp_arena *arena)
{
    while (arena->blocks != NULL) {
        kp_arena_block *next = arena->blocks->next;
        free(arena->blocks);
        arena->blocks = next;
    }
    *arena = (kp_arena){0};
}
