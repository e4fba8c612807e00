/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Slips of one who has never seen YAML: a decimal comma, a bullet, a blank left out behind the colon, what a word
    processor puts in. Each gets a message that names the cause and the line as it should be typed. */
#ifndef KP_FILE_SLIPS_H
#define KP_FILE_SLIPS_H

#include "report.h"

/* ---- slips_text.c: one text ----------------------------------------------------------------------------------- */

typedef enum kp_slip {
    KP_SLIP_NONE,
    KP_SLIP_SPACE,  /* a no-break or thin space */
    KP_SLIP_QUOTES, /* typographic quotation marks */
    KP_SLIP_MINUS,  /* a dash for a minus */
    KP_SLIP_COMMA,  /* 0,25 mm */
    KP_SLIP_BULLET, /* a list line that does not begin with a hyphen and a blank */
    KP_SLIP_COLON   /* dish:0.3 mm, or dish 0.3 mm */
} kp_slip;

/** The cause in words. */
const char *kp_slip_cause(kp_slip slip);
/** Mends the signs of a value or key: spaces, quotes, minus, comma.
    Returned: the first slip met, and through *mended the text without any, in the arena; NULL when memory ran out. */
kp_slip kp_slip_mend_signs(kp_arena *arena, const char *text, const char **mended);
/** Length [bytes] of a bullet at the start of a text, with the blank behind it; a hyphen without its blank counts where
    a digit follows. 0: none. */
size_t kp_slip_bullet(const char *text);
/** Does the text say `dish:0.3 mm` with a key of damper files? Returned: the place of the colon, or NULL. */
const char *kp_slip_colon(const char *text);
/** Looks for the slip behind an error of YAML, in the lines up to the one where it shows, and reports it. A bullet is
    mended in all lines that have it.
    Returned: the text with it mended, in the arena, so that the rest can be read; NULL when there is none. */
const char *kp_slip_mend_text(kp_arena *arena, kp_report *report, kp_place start, const char *bytes, size_t size,
                              size_t last_line);

/* ---- slips.c: the tree ---------------------------------------------------------------------------------------- */

/** Reports every slip in the tree of one file and mends it, so that everything else is still read. Keys in capitals
    become the table's, without a message. */
void kp_slips_mend(kp_arena *arena, kp_report *report, kp_node *root);

#endif
