/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report.h"

#include <stdlib.h>
#include <string.h>

KP_PRINTF(5, 0)
static void add(kp_report *report, bool fault, kp_place place, const char *path, const char *format, va_list arguments)
{
    report->fault_count += fault ? 1 : 0;

    /* Beyond the limit messages are only counted. */
    if (report->count == KP_REPORT_MAX) {
        report->left_out++;
        return;
    }

    char text[sizeof((kp_message *)0)->text];
    size_t length = kp_text_format(text, sizeof text, format, arguments);

    /* The arena keeps both texts until the report is published. */
    const char *kept_path = kp_arena_text(report->arena, path, strlen(path));
    const char *kept_text = kp_arena_text(report->arena, text, length);

    if (kept_path == NULL || kept_text == NULL) {
        return; /* the arena remembers that memory ran out, and the reading ends with that */
    }

    report->items[report->count] = (kp_report_item){place, fault, kept_path, kept_text, report->count};
    report->count++;
}

void kp_report_fault(kp_report *report, kp_place place, const char *path, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add(report, true, place, path, format, arguments);
    va_end(arguments);
}

void kp_report_warning(kp_report *report, kp_place place, const char *path, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add(report, false, place, path, format, arguments);
    va_end(arguments);
}

/** Is the shorter path the beginning of the longer one, ending at a step? */
static bool lies_within(const char *path, const char *parent)
{
    size_t length = strlen(parent);
    return length > 0 && strncmp(path, parent, length) == 0 &&
           (path[length] == '\0' || path[length] == '.' || path[length] == '[');
}

bool kp_report_covers(const kp_report *report, const char *path)
{
    for (size_t i = 0; i < report->count; i++) {
        const kp_report_item *item = &report->items[i];
        if (item->fault && (lies_within(path, item->path) || lies_within(item->path, path))) {
            return true;
        }
    }
    return false;
}

static int compare_sizes(size_t a, size_t b)
{
    return (a > b) - (a < b);
}

static int compare_items(const void *left, const void *right)
{
    const kp_report_item *a = left, *b = right;

    /* By file, then by place in it; messages of one place stay in the order in which they came. */
    if (a->place.order != b->place.order) {
        return a->place.order < b->place.order ? -1 : 1;
    }
    if (a->place.line != b->place.line) {
        return compare_sizes(a->place.line, b->place.line);
    }
    if (a->place.column != b->place.column) {
        return compare_sizes(a->place.column, b->place.column);
    }

    return compare_sizes(a->sequence, b->sequence);
}

/** "stacks/trial.yaml:14:9: piston.compression.dish: ..." or "--set piston.compression.dish: ...". */
static void write_message(const kp_report_item *item, kp_message *out)
{
    const kp_place *place = &item->place;
    out->fault = item->fault;

    if (place->line > 0) {
        kp_text_print(out->text, sizeof out->text, "%s:%zu:%zu: %s%s%s", place->file, place->line, place->column,
                      item->path, item->path[0] == '\0' ? "" : ": ", item->text);
        kp_text_defuse(out->text);
        return;
    }

    /* A setting's place is its key already: name the path only where it says more. */
    static const char set[] = "--set ";
    bool same = strncmp(place->file, set, sizeof set - 1) == 0 && strcmp(place->file + sizeof set - 1, item->path) == 0;

    bool show_path = item->path[0] != '\0' && !same;
    kp_text_print(out->text, sizeof out->text, "%s: %s%s%s", place->file, show_path ? item->path : "",
                  show_path ? ": " : "", item->text);
    kp_text_defuse(out->text);
}

/** A new last message; NULL, and error set, when memory ran out. */
static kp_message *append(kp_messages *messages, kp_error *error)
{
    if (messages->count == messages->capacity) {
        size_t capacity = messages->capacity == 0 ? 8 : 2 * messages->capacity;
        kp_message *items = realloc(messages->items, capacity * sizeof *items);
        if (items == NULL) {
            kp_error_set(error, KP_NO_MEMORY, "memory ran out while messages were collected");
            return NULL;
        }

        messages->items = items;
        messages->capacity = capacity;
    }

    return &messages->items[messages->count++];
}

kp_status kp_report_publish(kp_report *report, kp_messages *messages, kp_error *error)
{
    qsort(report->items, report->count, sizeof report->items[0], compare_items);

    /* The first fault is also the error. */
    bool first = true;

    for (size_t i = 0; i < report->count; i++) {
        kp_message *message = append(messages, error);
        if (message == NULL) {
            return KP_NO_MEMORY;
        }

        write_message(&report->items[i], message);
        if (message->fault && first) {
            first = false;
            kp_error_set(error, KP_BAD_INPUT, "%s", message->text);
        }
    }

    /* One message for all that found no room. */
    if (report->left_out > 0) {
        kp_message *message = append(messages, error);
        if (message == NULL) {
            return KP_NO_MEMORY;
        }

        message->fault = report->fault_count > 0;
        kp_text_print(message->text, sizeof message->text, "%zu further messages are left out", report->left_out);
    }

    return report->fault_count > 0 ? KP_BAD_INPUT : KP_OK;
}

void kp_messages_free(kp_messages *messages)
{
    free(messages->items);
    *messages = (kp_messages){0};
}
