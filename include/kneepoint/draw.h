/* SPDX-License-Identifier: GPL-3.0-or-later */
/** A figure as data, and the pipe that draws it. */
#ifndef KNEEPOINT_DRAW_H
#define KNEEPOINT_DRAW_H

#include "kneepoint/base.h"

typedef struct kp_series {
    char label[128];
    size_t count;
    double *x, *y; /* [count] already in display units; NAN breaks the line */
    int style;     /* which of the figure's line styles; series of one style share colour and dash */
    bool marks;    /* points instead of a line */
    bool in_key;   /* listed in the key */
} kp_series;

typedef struct kp_panel {
    char x_label[96], y_label[96]; /* with their units */
    char title[160];
    size_t series_count, series_capacity;
    kp_series *series;
} kp_panel;

/** Panels stand one above another and share the width. */
typedef struct kp_figure {
    char title[160], note[256];
    size_t panel_count;
    kp_panel *panels;
} kp_figure;

kp_status kp_figure_begin(kp_figure *figure, const char *title, size_t panels, kp_error *error);
kp_status kp_figure_add(kp_figure *figure, size_t panel, const char *label, size_t count, const double *x,
                        const double *y, int style, bool marks, bool in_key, kp_error *error);
void kp_figure_free(kp_figure *figure);

/** Where a figure goes. */
typedef enum kp_target { KP_TARGET_FILE, KP_TARGET_WINDOW, KP_TARGET_TERMINAL } kp_target;

/** Draws by a gnuplot process. path: KP_TARGET_FILE only, its ending (.svg .png .pdf) says the kind; written beside
    and renamed. Errors: KP_SYSTEM with a sentence (gnuplot missing, it failed, disk full). */
kp_status kp_figure_draw(const kp_figure *figure, kp_target target, const char *path, kp_error *error);

#endif
