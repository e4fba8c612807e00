/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "manual_page.h"

#include <stdlib.h>
#include <string.h>

enum { COLUMNS = 80, FIRST_SIZE = 16384 };

static void add(kp_page *page, const char *text, size_t length)
{
    if (page->used + length + 1 > page->size) {
        size_t size = page->size == 0 ? FIRST_SIZE : 2 * page->size;
        while (size < page->used + length + 1) {
            size *= 2;
        }
        char *larger = realloc(page->text, size);
        if (larger == NULL) {
            page->failed = true;
            return;
        }
        page->text = larger;
        page->size = size;
    }
    memcpy(page->text + page->used, text, length);
    page->used += length;
    page->text[page->used] = '\0';
}

void kp_page_raw(kp_page *page, const char *format, ...)
{
    char line[2000];
    va_list arguments;
    va_start(arguments, format);
    size_t length = kp_text_format(line, sizeof line, format, arguments);
    va_end(arguments);
    add(page, line, length);
}

/** Text for man: hyphens that can be copied, backslashes, and no control line. */
static void add_escaped(kp_page *page, const char *text)
{
    if (*text == '.' || *text == '\'') {
        add(page, "\\&", 2);
    }
    for (; *text != '\0'; text++) {
        if (*text == '-') {
            add(page, "\\-", 2);
        } else if (*text == '\\') {
            add(page, "\\e", 2);
        } else {
            add(page, text, 1);
        }
    }
}

/** Words of a text in lines of at most COLUMNS, each indented; column: where the first one begins. */
static void add_wrapped(kp_page *page, const char *text, size_t indent, size_t column)
{
    while (*text != '\0') {
        size_t length = strcspn(text, " ");
        if (column > indent && column + 1 + length > COLUMNS) {
            kp_page_raw(page, "\n%*s", (int)indent, "");
            column = indent;
        } else if (column > indent) {
            add(page, " ", 1);
            column++;
        }
        add(page, text, length);
        column += length;
        text += length;
        text += strspn(text, " ");
    }
    add(page, "\n", 1);
}

void kp_page_section(kp_page *page, const char *title)
{
    if (page->man) {
        kp_page_raw(page, ".SH ");
        add_escaped(page, title);
        add(page, "\n", 1);
    } else {
        kp_page_raw(page, "%s%s\n", page->used == 0 ? "" : "\n", title);
    }
}

void kp_page_block(kp_page *page, const char *title, const char *about)
{
    if (page->man) {
        kp_page_raw(page, ".SS ");
        add_escaped(page, title);
        add(page, "\n", 1);
        add_escaped(page, about);
        add(page, "\n", 1);
    } else {
        kp_page_raw(page, "\n%s\n  ", title);
        add_wrapped(page, about, 2, 2);
    }
}

void kp_page_paragraph(kp_page *page, const char *text)
{
    if (page->man) {
        kp_page_raw(page, ".PP\n");
        add_escaped(page, text);
        add(page, "\n", 1);
    } else {
        kp_page_raw(page, "  ");
        add_wrapped(page, text, 2, 2);
    }
}

void kp_page_term(kp_page *page, const char *term, const char *text)
{
    if (page->man) {
        kp_page_raw(page, ".TP\n.B ");
        add_escaped(page, term);
        add(page, "\n", 1);
        add_escaped(page, text);
        add(page, "\n", 1);
    } else {
        kp_page_raw(page, "\n  %s\n      ", term);
        add_wrapped(page, text, 6, 6);
    }
}

void kp_page_note(kp_page *page, const char *label, const char *text)
{
    if (page->man) {
        kp_page_raw(page, ".br\n");
        add_escaped(page, label);
        kp_page_raw(page, " ");
        add_escaped(page, text);
        add(page, "\n", 1);
    } else {
        kp_page_raw(page, "      %s", label);
        add_wrapped(page, text, 8, 6 + strlen(label));
    }
}

void kp_page_literal(kp_page *page, const char *label, const char *text)
{
    if (page->man) {
        kp_page_raw(page, ".br\n.nf\n%s%s", label, label[0] == '\0' ? "" : " ");
        add_escaped(page, text);
        kp_page_raw(page, "\n.fi\n");
    } else {
        kp_page_raw(page, "      %s%s%s\n", label, label[0] == '\0' ? "" : " ", text);
    }
}
