/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A page of a manual that grows: plain text of at most 80 columns, or the macros of man. */
#ifndef KP_FILE_MANUAL_PAGE_H
#define KP_FILE_MANUAL_PAGE_H

#include "kneepoint/base.h"

typedef struct kp_page {
    bool man; /* else plain text */
    bool failed;
    char *text; /* the caller frees it */
    size_t used, size;
} kp_page;

/** Lines as they are, without escaping. */
void kp_page_raw(kp_page *page, const char *format, ...) KP_PRINTF(2, 3);
/** Heading of a section, in capitals. */
void kp_page_section(kp_page *page, const char *title);
/** Heading of a block of keys, with a sentence below it. */
void kp_page_block(kp_page *page, const char *title, const char *about);
/** A paragraph. */
void kp_page_paragraph(kp_page *page, const char *text);
/** A key, and what stands behind it. */
void kp_page_term(kp_page *page, const char *term, const char *text);
/** A further line of the key: "Measure:" and the rest. */
void kp_page_note(kp_page *page, const char *label, const char *text);
/** A line that may be typed, behind a label: not wrapped. */
void kp_page_literal(kp_page *page, const char *label, const char *text);

#endif
