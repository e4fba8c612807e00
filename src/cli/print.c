/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Prints a report in the format asked for, and draws; says errors and warnings. */
#include "cli/print.h"

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
    FURTHER_PANEL_LINES = 14,
    MESSAGE_TEXT = 2048 /* [bytes] longer than any message or warning */
};

/* Colour and weight only on a terminal whose user has not refused them (the NO_COLOR convention, from memory: set and
   not empty). */
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

static int terminal_columns(void)
{
    struct winsize size;
    double columns = 0.0;

    const char *said = getenv("COLUMNS");

    /* The terminal itself, then the environment, then the usual width. */
    if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0) {
        return size.ws_col < 20 ? 20 : size.ws_col;
    }

    if (said != NULL && kp_number_read(said, &columns) && columns >= 20.0 && columns <= 1000.0) {
        return (int)columns;
    }

    return TERMINAL_COLUMNS;
}

/* Names, paths and settings come from outside: nothing in them may steer the terminal. */
static void print_for_people(kp_lines *page)
{
    const char *bold = kp_bold(false);
    const char *plain = kp_plain(false);
    for (size_t i = 0; i < page->count; i++) {
        kp_line *line = &page->items[i];
        kp_text_defuse(line->text);
        printf("%s%s%s\n", line->heading ? bold : "", line->text, line->heading ? plain : "");
    }
}

static kp_status print_page(const kp_report *report, kp_error *error)
{
    /* the same text for every pipe and file; a narrow terminal gets shorter lines */
    size_t width = LINE_LETTERS;
    if (isatty(STDOUT_FILENO) == 1 && terminal_columns() < LINE_LETTERS) {
        width = (size_t)terminal_columns();
    }

    /* It is laid out whole before a line is printed. */
    kp_lines page = {0};
    kp_report_text(report, width, &page);

    kp_status status = KP_OK;
    if (page.failed) {
        status = kp_error_set(error, KP_NO_MEMORY, "memory ran out while the answer was written");
    } else {
        print_for_people(&page);
    }

    kp_lines_free(&page);
    return status;
}

/* A text that the room report made, or its failure. */
static kp_status print_text(char *text, const char *ending, const kp_error *error)
{
    if (text == NULL) {
        return error->status;
    }

    /* Line by line: a failed write leaves something in the buffer, from which the end of main learns why it failed. */
    for (const char *line = text; *line != '\0';) {
        size_t length = strcspn(line, "\n");
        length += line[length] == '\n' ? 1 : 0;
        fwrite(line, 1, length, stdout);
        line += length;
    }

    printf("%s", ending);
    free(text);
    return KP_OK;
}

static kp_status plot_in_terminal(const kp_report *report, kp_error *error)
{
    int columns = terminal_columns();

    columns = columns > WIDEST_TEXT_PLOT ? WIDEST_TEXT_PLOT : columns;
    columns = columns < NARROWEST_TEXT_PLOT ? NARROWEST_TEXT_PLOT : columns;

    /* The height grows with the number of panels, each at the same scale. */
    int lines = FIRST_PANEL_LINES + FURTHER_PANEL_LINES * ((int)report->figure.panel_count - 1);
    char *text;

    kp_status status = kp_figure_text(&report->figure, columns, lines, &text, error);
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

static kp_status plot(const kp_report *report, const kp_options *options, kp_error *error)
{
    if (options->plot_file != NULL) {
        kp_status status = kp_figure_draw(&report->figure, options->plot_file, error);
        if (status == KP_OK && options->format == KP_FORMAT_TABLE) {
            char shown[MESSAGE_TEXT];
            kp_text_print(shown, sizeof shown, "%s", options->plot_file);
            kp_text_defuse(shown);
            printf("\nPlot: %s\n", shown);
        }
        return status;
    }

    /* A window where there is one, else letters in the terminal. */
    bool opened = false;

    if (kp_has_display()) {
        kp_status status = kp_figure_window(&report->figure, &opened, error);
        if (status != KP_OK || opened) {
            return status;
        }
    }

    if (options->format != KP_FORMAT_TABLE) {
        return kp_error_set(error, KP_SYSTEM, "this gnuplot can open no window: name a file behind --plot");
    }

    return plot_in_terminal(report, error);
}

kp_status kp_print_report(const kp_report *report, const kp_options *options, kp_error *error)
{
    kp_status status = kp_report_status(report, error);
    if (status != KP_OK) {
        return status;
    }

    switch (options->format) {
    case KP_FORMAT_CSV:
        status = print_text(kp_report_csv(report, error), "", error);
        break;
    case KP_FORMAT_JSON:
        status = print_text(kp_report_json(report, error), "\n", error);
        break;
    case KP_FORMAT_TABLE:
        status = print_page(report, error);
        break;
    }

    if (status == KP_OK && options->plot && report->figure.panel_count > 0) {
        status = plot(report, options, error);
    }

    return status;
}

void kp_print_message(const char *message)
{
    char text[MESSAGE_TEXT];
    kp_text_print(text, sizeof text, "%s", message);
    kp_text_defuse(text);
    fprintf(stderr, "%s\n", text);
}

void kp_print_error(const char *command, const char *message)
{
    fprintf(stderr, "%skneepoint%s%s:%s ", kp_bold(true), command != NULL ? " " : "", command != NULL ? command : "",
            kp_plain(true));
    kp_print_message(message);
}

void kp_print_warnings(kp_report *report)
{
    for (; report->warnings_said < report->warnings.count; report->warnings_said++) {
        fprintf(stderr, "%swarning:%s ", kp_bold(true), kp_plain(true));
        kp_print_message(report->warnings.items[report->warnings_said].text);
    }
}
