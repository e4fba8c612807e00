/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A figure as data, and the pipe that draws it. */
#ifndef KNEEPOINT_DRAW_H
#define KNEEPOINT_DRAW_H

#include "kneepoint/base.h"

KP_BEGIN_DECLARATIONS

/** Line styles. Styles 0 to KP_STYLE_COUNT - 1 differ in colour, dash and mark, so that a reader can tell them apart
    without colour. KP_STYLE_CROSS and KP_STYLE_RING are black marks that warn of a point. The KP_HEAT_COUNT styles from
    KP_STYLE_HEAT on fill areas of a section, from a low value (dark) to a high one (light), in steps that look even to
    the eye and in grey; a plot in a terminal leaves them out. The KP_SHADE_COUNT styles from KP_STYLE_SHADE on do the
    same, in finer steps, for a view from above. */
enum {
    KP_STYLE_COUNT = 7,
    KP_STYLE_CROSS = 7,
    KP_STYLE_RING = 8,
    KP_STYLE_HEAT = 9,
    KP_HEAT_COUNT = 5,
    KP_STYLE_SHADE = KP_STYLE_HEAT + KP_HEAT_COUNT,
    KP_SHADE_COUNT = 10,
    KP_STYLE_LAST = KP_STYLE_SHADE + KP_SHADE_COUNT - 1
};

/** One line, row of points or area of a panel. */
typedef struct kp_series {
    char label[192];
    size_t count;
    double *x, *y; /* [count] in display units; a NAN breaks the line */
    double *base;  /* [count] NULL for a line; otherwise the area between base and y is filled */
    int style;     /* 0 to KP_STYLE_LAST; series of the same style share colour and dash */
    bool marks;    /* points instead of a line */
    bool in_key;   /* listed in the key */
} kp_series;

/** A label of a point in a section. Labels stand in a column to the right of the drawing, each with a line to its
    point. */
enum { KP_PANEL_LABELS = 24 };
typedef struct kp_panel_label {
    char text[96];
    double x, y; /* of the point, in display units */
} kp_panel_label;

/** One diagram with its own axes, or one section. */
typedef struct kp_panel {
    char x_label[96], y_label[96]; /* with their units */
    char title[160];
    double weight; /* [-] share of the figure's height relative to the other panels; kp_figure_begin sets 1 */
    bool section;  /* a drawing to scale: x and y are lengths, and heights are enlarged by a whole number that is the
                      same in all sections of the figure; areas have an outline, style 0 is light and 1 dark */
    /* [-] sections just before this panel that it stands beside, as a round drawing to scale seen from above; 0: not
       such a view. x is then the angle [rad], clockwise from the top, and y and base are radii. It takes no height
       (weight 0), needs sections whose labels leave a column free, and is left out in a terminal. */
    size_t beside;
    double shade_max; /* of a view from above: value at the top of its scale of shades, which begins at 0; x_label
                         names the scale */
    size_t label_count;
    kp_panel_label labels[KP_PANEL_LABELS]; /* of a section, or of a view from above */
    size_t series_count, series_capacity;
    kp_series *series;
} kp_panel;

/** A whole figure. Panels stand one above another and have the same width; panels with the same x label also have the
    same x range. The caller writes labels, titles and the note straight into the figure. */
typedef struct kp_figure {
    char title[192], note[512];
    size_t panel_count;
    kp_panel *panels;
} kp_figure;

/** Makes an empty figure.
    Given: title, which is copied and cut to fit; panels >= 1.
    Returned: the figure, to be freed with kp_figure_free; unchanged on error.
    Errors: KP_OUT_OF_RANGE without a panel; KP_NO_MEMORY. */
KP_API kp_status kp_figure_begin(kp_figure *figure, const char *title, size_t panels, kp_error *error);
/** Appends a line or, with marks, separate points.
    Given: panel, counted from 0; label, which is copied and cut to fit; x and y [count], which are copied and may hold
    NAN; style 0 to KP_STYLE_LAST.
    Returned: the figure with one more series; on error with the same series as before.
    Errors: KP_OUT_OF_RANGE for a panel or a style that does not exist; KP_NO_MEMORY. */
KP_API kp_status kp_figure_add(kp_figure *figure, size_t panel, const char *label, size_t count, const double *x,
                               const double *y, int style, bool marks, bool in_key, kp_error *error);
/** Appends an area between base and y. Styles differ in colour and hatching; style 0 is a plain light fill, for a band
    behind a line. A plot in a terminal shows the two edges of the area.
    Given: as for kp_figure_add; base [count] is copied too.
    Returned: as for kp_figure_add.
    Errors: as for kp_figure_add. */
KP_API kp_status kp_figure_add_area(kp_figure *figure, size_t panel, const char *label, size_t count, const double *x,
                                    const double *base, const double *y, int style, bool in_key, kp_error *error);
/** Labels a point of a section or of a view from above; there the text stands outward of the point. Where the column
   has no room for all labels, some in between are left out and the first and the last are kept. Given: panel, counted
   from 0; text, which is copied and cut to fit; x and y of the point, in display units. Labels are given from the
   lowest to the highest. Returned: the figure with one more label; unchanged on error. Errors: KP_OUT_OF_RANGE for a
   panel that does not exist or already has KP_PANEL_LABELS labels. */
KP_API kp_status kp_figure_label(kp_figure *figure, size_t panel, const char *text, double x, double y,
                                 kp_error *error);
/** Frees the panels and series of a figure.
    Given: a figure made by kp_figure_begin or set to zero, or NULL.
    Returned: the figure, set to zero. */
KP_API void kp_figure_free(kp_figure *figure);

/* The functions that draw start a gnuplot process. The calling program must ignore SIGPIPE, because a gnuplot that dies
   would otherwise end it. */

/** Draws into a file. The picture is written to a temporary file beside path and renamed, so that an older picture
    stays when drawing fails.
    Given: path, whose ending (.svg, .png or .pdf) decides the format.
    Errors: KP_USAGE for another ending; KP_SYSTEM when gnuplot is missing or fails, the folder does not exist, path is
    not a plain file, or the disk is full; KP_NO_MEMORY. */
KP_API kp_status kp_figure_draw(const kp_figure *figure, const char *path, kp_error *error);
/** Given: a path; the file need not exist. Returned: true when path ends in .svg, .png or .pdf. */
KP_API bool kp_figure_path_is_drawable(const char *path);
/** Draws with characters, for a terminal.
    Given: columns >= 20, lines >= 10.
    Returned: the text, to be freed by the caller with free; unchanged on error.
    Errors: KP_OUT_OF_RANGE for a smaller page; KP_SYSTEM when gnuplot is missing or fails; KP_NO_MEMORY. */
KP_API kp_status kp_figure_text(const kp_figure *figure, int columns, int lines, char **text, kp_error *error);
/** Draws in a window that stays open when the program ends. Call it only where there is a display.
    Returned: opened, false with KP_OK when this gnuplot has no window terminal; unchanged on error.
    Errors: KP_SYSTEM when gnuplot is missing or fails; KP_NO_MEMORY. */
KP_API kp_status kp_figure_window(const kp_figure *figure, bool *opened, kp_error *error);

KP_END_DECLARATIONS

#endif
