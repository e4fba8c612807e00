/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A figure as data, and the pipe that draws it. */
#ifndef KNEEPOINT_DRAW_H
#define KNEEPOINT_DRAW_H

#include "kneepoint/base.h"

/** Line styles 0 .. KP_STYLE_COUNT - 1 differ in colour, dash and mark, so that they are told apart without colour.
    KP_STYLE_CROSS and KP_STYLE_RING are black marks for points that are not to be driven. From KP_STYLE_HEAT on come
    KP_HEAT_COUNT fills of areas in a section, from little (dark) to much (light), even steps to the eye and in grey; a
    terminal leaves them out. */
enum {
    KP_STYLE_COUNT = 7,
    KP_STYLE_CROSS = 7,
    KP_STYLE_RING = 8,
    KP_STYLE_HEAT = 9,
    KP_HEAT_COUNT = 5,
    KP_STYLE_LAST = KP_STYLE_HEAT + KP_HEAT_COUNT - 1
};

typedef struct kp_series {
    char label[192];
    size_t count;
    double *x, *y; /* [count] already in display units; NAN breaks the line */
    double *base;  /* [count] NULL for a line; else the area from base to y is filled */
    int style;     /* which of the figure's line styles; series of one style share colour and dash */
    bool marks;    /* points instead of a line */
    bool in_key;   /* listed in the key */
} kp_series;

/** Words that name a place of a drawing; they stand in a column at its right, with a line to the place. */
enum { KP_PANEL_LABELS = 24 };
typedef struct kp_panel_label {
    char text[96];
    double x, y;
} kp_panel_label;

typedef struct kp_panel {
    char x_label[96], y_label[96]; /* with their units */
    char title[160];
    double weight; /* [-] share of the height against the other panels; 1 from kp_figure_begin */
    bool section;  /* a drawing to scale: x is a length, y one that is drawn a whole number of times as large, the same
                      in all such panels; areas have an outline, style 0 is light and 1 dark */
    size_t label_count;
    kp_panel_label labels[KP_PANEL_LABELS]; /* of a section */
    size_t series_count, series_capacity;
    kp_series *series;
} kp_panel;

/** Panels stand one above another and share the width; panels of one x label share its range as well. */
typedef struct kp_figure {
    char title[192], note[384];
    size_t panel_count;
    kp_panel *panels;
} kp_figure;

/** Given: panels >= 1. The caller then writes labels, titles and the note straight into the figure. */
kp_status kp_figure_begin(kp_figure *figure, const char *title, size_t panels, kp_error *error);
/** Appends a line or, with marks, single points. x, y [count] are copied; y may hold NAN.
    Errors: KP_OUT_OF_RANGE for a panel or style that is not there; KP_NO_MEMORY. */
kp_status kp_figure_add(kp_figure *figure, size_t panel, const char *label, size_t count, const double *x,
                        const double *y, int style, bool marks, bool in_key, kp_error *error);
/** Appends an area between base and y, both [count]. Styles differ in colour and hatching; style 0 is a plain light
    fill, as for a band behind a line. A terminal shows its two edges. Errors: as kp_figure_add. */
kp_status kp_figure_add_area(kp_figure *figure, size_t panel, const char *label, size_t count, const double *x,
                             const double *base, const double *y, int style, bool in_key, kp_error *error);
/** Names a place of a panel that is a section; to be called from the lowest words to the highest. Words that do not
    fit below one another are left out, first and last last. Errors: KP_OUT_OF_RANGE for a panel that is not there or
   has KP_PANEL_LABELS already. */
kp_status kp_figure_label(kp_figure *figure, size_t panel, const char *text, double x, double y, kp_error *error);
void kp_figure_free(kp_figure *figure);

/* Drawing starts a gnuplot process. The program that calls must ignore SIGPIPE (a gnuplot that dies would end it). */

/** Draws into a file. path: its ending (.svg .png .pdf) says the kind. Written beside and renamed, so that a picture
    that is already there stays when drawing fails.
    Errors: KP_USAGE for another ending; KP_SYSTEM with a sentence (gnuplot missing, it failed, folder not there, disk
    full). */
kp_status kp_figure_draw(const kp_figure *figure, const char *path, kp_error *error);
/** True when path ends in .svg, .png or .pdf. */
bool kp_figure_path_is_drawable(const char *path);
/** Draws with characters, for a terminal. Given: columns, lines >= 20 and 10. Returned: text for the caller to free. */
kp_status kp_figure_text(const kp_figure *figure, int columns, int lines, char **text, kp_error *error);
/** Draws in a window that stays when the program ends. opened comes back false, with KP_OK, when this gnuplot knows no
    window. Call it only where there is a display. */
kp_status kp_figure_window(const kp_figure *figure, bool *opened, kp_error *error);

#endif
