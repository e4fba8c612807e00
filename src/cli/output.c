/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Collects what a run says, prints it in the format asked for, and draws. */
#include "cli/output.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

enum {
    TERMINAL_COLUMNS = 80,  /* when nobody says how wide it is */
    WIDEST_TEXT_PLOT = 160, /* wider than that, the eye does not follow */
    NARROWEST_TEXT_PLOT = 40,
    LINE_LETTERS = 100, /* of running text */
    FIRST_PANEL_LINES = 24,
    FURTHER_PANEL_LINES = 14
};

void kp_lines_add(kp_lines *lines, const char *format, ...)
{
    char text[4096];
    if (lines->count == lines->capacity) {
        size_t capacity = lines->capacity == 0 ? 16 : 2 * lines->capacity;
        char **grown = realloc(lines->items, capacity * sizeof *grown);
        if (grown == NULL) {
            lines->failed = true;
            return;
        }
        lines->items = grown;
        lines->capacity = capacity;
    }
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    char *copy = malloc(strlen(text) + 1);
    if (copy == NULL) {
        lines->failed = true;
        return;
    }
    memcpy(copy, text, strlen(text) + 1);
    lines->items[lines->count++] = copy;
}

void kp_lines_free(kp_lines *lines)
{
    for (size_t i = 0; i < lines->count; i++) {
        free(lines->items[i]);
    }
    free(lines->items);
    memset(lines, 0, sizeof *lines);
}

kp_status kp_output_begin(kp_output *output, const kp_options *options, kp_error *error)
{
    memset(output, 0, sizeof *output);
    output->options = options;
    return kp_table_begin(&output->data, error);
}

void kp_output_free(kp_output *output)
{
    kp_lines_free(&output->top);
    kp_lines_free(&output->foot);
    kp_lines_free(&output->warnings);
    for (size_t i = 0; i < output->section_count; i++) {
        kp_lines_free(&output->sections[i].heading);
        kp_table_free(&output->sections[i].table);
    }
    kp_table_free(&output->data);
    cJSON_Delete(output->extra);
    kp_figure_free(&output->figure);
}

kp_section *kp_output_section(kp_output *output, const char *heading)
{
    if (output->section_count == KP_MAX_SECTIONS) {
        return NULL;
    }
    kp_section *section = &output->sections[output->section_count];
    if (kp_table_begin(&section->table, NULL) != KP_OK) {
        return NULL;
    }
    output->section_count++;
    kp_lines_add(&section->heading, "%s", heading);
    return section;
}

/* Colour and weight only where a person looks at a terminal and has not said no (no-color.org, from memory: NO_COLOR
   set and not empty). */
static bool wants_emphasis(bool to_stderr)
{
    const char *no = getenv("NO_COLOR");
    const char *terminal = getenv("TERM");
    bool refused = (no != NULL && no[0] != '\0') || (terminal != NULL && strcmp(terminal, "dumb") == 0);
    return !refused && terminal != NULL && isatty(to_stderr ? STDERR_FILENO : STDOUT_FILENO) == 1;
}

const char *kp_bold(bool to_stderr)
{
    return wants_emphasis(to_stderr) ? "\033[1m" : "";
}

const char *kp_plain(bool to_stderr)
{
    return wants_emphasis(to_stderr) ? "\033[0m" : "";
}

/* A number stays with its unit, and a shim's outside with its thickness. */
static bool may_break(const char *line, size_t at)
{
    bool behind_number = at > 0 && line[at - 1] >= '0' && line[at - 1] <= '9';
    bool in_shim = at > 1 && line[at - 1] == 'x' && line[at - 2] == ' ';
    bool before_word = (line[at + 1] >= 'a' && line[at + 1] <= 'z') || (line[at + 1] >= 'A' && line[at + 1] <= 'Z') ||
                       line[at + 1] == '%';
    return line[at] == ' ' && !in_shim && !(behind_number && before_word);
}

/* Words of one line, broken at blanks so that none is cut at the edge of a terminal. What goes on is indented as far
   as the words of an item ("   - ...") are. */
static void print_wrapped(const char *line, size_t width)
{
    size_t indent = strspn(line, " -");
    indent = indent > 8 ? 8 : indent;
    size_t margin = 0;
    while (strlen(line) + margin > width) {
        size_t at = width - margin;
        size_t least = margin == 0 ? indent : 0;
        while (at > least && !may_break(line, at)) {
            at--;
        }
        if (at <= least) {
            break; /* a path or the like: longer than a line, left whole */
        }
        printf("%*s%.*s\n", (int)margin, "", (int)at, line);
        line += at + 1;
        margin = indent;
    }
    printf("%*s%s\n", (int)margin, "", line);
}

static int terminal_columns(void)
{
    struct winsize size;
    double columns = 0.0;
    const char *said = getenv("COLUMNS");
    if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0) {
        return size.ws_col < 20 ? 20 : size.ws_col;
    }
    if (said != NULL && kp_number_read(said, &columns) && columns >= 20.0 && columns <= 1000.0) {
        return (int)columns;
    }
    return TERMINAL_COLUMNS;
}

static void print_lines(const kp_lines *lines)
{
    /* the same text for every pipe and file; a narrow terminal gets shorter lines */
    size_t width = LINE_LETTERS;
    if (isatty(STDOUT_FILENO) == 1 && terminal_columns() < LINE_LETTERS) {
        width = (size_t)terminal_columns();
    }
    for (size_t i = 0; i < lines->count; i++) {
        print_wrapped(lines->items[i], width);
    }
}

static kp_status print_for_people(const kp_output *output, kp_error *error)
{
    bool failed = output->top.failed || output->foot.failed || output->warnings.failed;
    for (size_t i = 0; i < output->section_count; i++) {
        failed = failed || output->sections[i].heading.failed;
    }
    if (failed) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out while the answer was written");
    }
    print_lines(&output->top);
    for (size_t i = 0; i < output->section_count; i++) {
        printf("\n");
        print_lines(&output->sections[i].heading);
        kp_table_print(&output->sections[i].table, output->options->units);
    }
    if (output->foot.count > 0) {
        printf("\n");
        print_lines(&output->foot);
    }
    return KP_OK;
}

static kp_status plot_in_terminal(const kp_output *output, kp_error *error)
{
    int columns = terminal_columns();
    columns = columns > WIDEST_TEXT_PLOT ? WIDEST_TEXT_PLOT : columns;
    columns = columns < NARROWEST_TEXT_PLOT ? NARROWEST_TEXT_PLOT : columns;
    int lines = FIRST_PANEL_LINES + FURTHER_PANEL_LINES * ((int)output->figure.panel_count - 1);
    char *text;
    kp_status status = kp_figure_text(&output->figure, columns, lines, &text, error);
    if (status == KP_OK) {
        printf("\n%s", text);
        free(text);
    }
    return status;
}

bool kp_has_display(void)
{
    const char *x11 = getenv("DISPLAY");
    const char *wayland = getenv("WAYLAND_DISPLAY");
    return (x11 != NULL && x11[0] != '\0') || (wayland != NULL && wayland[0] != '\0');
}

static kp_status plot(const kp_output *output, kp_error *error)
{
    if (output->options->plot_file != NULL) {
        kp_status status = kp_figure_draw(&output->figure, output->options->plot_file, error);
        if (status == KP_OK && output->options->format == KP_FORMAT_TABLE) {
            printf("\nPlot: %s\n", output->options->plot_file);
        }
        return status;
    }
    bool opened = false;
    if (kp_has_display()) {
        kp_status status = kp_figure_window(&output->figure, &opened, error);
        if (status != KP_OK || opened) {
            return status;
        }
    }
    if (output->options->format != KP_FORMAT_TABLE) {
        return kp_error_set(error, KP_SYSTEM, "this gnuplot can open no window: name a file behind --plot");
    }
    return plot_in_terminal(output, error);
}

kp_status kp_output_print(kp_output *output, kp_error *error)
{
    kp_status status = KP_OK;
    switch (output->options->format) {
    case KP_FORMAT_CSV:
        kp_table_print_csv(&output->data);
        break;
    case KP_FORMAT_JSON:
        status = kp_output_print_json(output, error);
        break;
    case KP_FORMAT_TABLE:
        status = print_for_people(output, error);
        break;
    }
    if (status == KP_OK && output->options->plot && output->figure.panel_count > 0) {
        status = plot(output, error);
    }
    return status;
}
