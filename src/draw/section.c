/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Panels that are a drawing to scale: one length across, heights a whole number of times as large, the same in all of
    them, and words in a column at the right, each with a line to what it names. The frame is set in pixels, so that
    the number of times is true on paper. */
#include "draw/draw_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double LEFT = 0.095, RIGHT = 0.97; /* [-] of the canvas, as the other panels have it */
static const double TITLE_ROOM = 36.0;          /* [px] above the frame                          */
static const double KEY_ROOM = 24.0;            /* [px] more for each line of a key there         */
static const double KEY_COLUMNS = 4.0;          /* [-]  of a key, at the least                    */
static const double TICS_ROOM = 40.0;           /* [px] below the frame                          */
static const double LABEL_ROOM = 28.0;          /* [px] more where the axis is named              */
static const double WORDS = 0.33;               /* [-]  share of the frame's width for the column of words */
static const double TERMINAL_WORDS = 0.46;      /* [-]  the same in a terminal                      */
static const double WORDS_APART = 19.0;         /* [px] between two lines of words                */
static const double SIDE_ROOM = 0.02;           /* [-]  of the drawing's width, left of it        */
static const double HEAD_ROOM = 0.06;           /* [-]  of its height, above and below together   */
/* [-] How many times heights may be drawn. */
static const double times[] = {200, 150, 100, 80, 60, 50, 40, 30, 25, 20, 15, 12, 10, 8, 6, 5, 4, 3, 2, 1};

typedef struct kp_extent {
    double x_from, x_to, y_from, y_to;
    bool words; /* some panel has labels */
} kp_extent;

static void take(kp_extent *extent, double x, double y)
{
    if (isfinite(x) && isfinite(y)) {
        extent->x_from = fmin(extent->x_from, x);
        extent->x_to = fmax(extent->x_to, x);
        extent->y_from = fmin(extent->y_from, y);
        extent->y_to = fmax(extent->y_to, y);
    }
}

/* All drawings of the figure together: they are to be compared. */
static kp_extent extent_of(const kp_figure *figure)
{
    kp_extent extent = {INFINITY, -INFINITY, INFINITY, -INFINITY, false};
    for (size_t p = 0; p < figure->panel_count; p++) {
        const kp_panel *panel = &figure->panels[p];
        for (size_t s = 0; panel->section && s < panel->series_count; s++) {
            const kp_series *series = &panel->series[s];
            for (size_t i = 0; i < series->count; i++) {
                take(&extent, series->x[i], series->y[i]);
                take(&extent, series->x[i], series->base != NULL ? series->base[i] : series->y[i]);
            }
        }
        extent.words = extent.words || (panel->section && panel->label_count > 0);
    }
    if (!(extent.x_from < extent.x_to && extent.y_from < extent.y_to)) {
        extent = (kp_extent){0.0, 1.0, 0.0, 1.0, extent.words};
    }
    return extent;
}

static bool names_its_axis(const kp_figure *figure, size_t index)
{
    return index + 1 == figure->panel_count ||
           strcmp(figure->panels[index + 1].x_label, figure->panels[index].x_label) != 0;
}

/* Lines of the key: it stands in columns. */
static double key_lines(const kp_panel *panel)
{
    size_t listed = 0;
    for (size_t s = 0; s < panel->series_count; s++) {
        listed += panel->series[s].in_key ? 1 : 0;
    }
    return ceil((double)listed / KEY_COLUMNS);
}

static double room_above(const kp_panel *panel)
{
    return TITLE_ROOM + KEY_ROOM * key_lines(panel);
}

static double room_below(const kp_figure *figure, size_t index)
{
    return TICS_ROOM + (names_its_axis(figure, index) ? LABEL_ROOM : 0.0);
}

/* Height of a panel's frame [px]. unit: height of a panel of weight 1. */
static double frame_height(const kp_figure *figure, size_t index, double unit)
{
    const kp_panel *panel = &figure->panels[index];
    return panel->weight * unit - room_above(panel) - room_below(figure, index);
}

double kp_section_times(const kp_figure *figure, const kp_canvas *canvas, double unit)
{
    kp_extent extent = extent_of(figure);
    double least = INFINITY; /* [px] */
    for (size_t p = 0; p < figure->panel_count; p++) {
        least = figure->panels[p].section ? fmin(least, frame_height(figure, p, unit)) : least;
    }
    double width = (RIGHT - LEFT) * canvas->width * (extent.words ? 1.0 - WORDS : 1.0);
    double pixels = width / ((extent.x_to - extent.x_from) * (1.0 + SIDE_ROOM)); /* per unit across */
    double height = (extent.y_to - extent.y_from) * (1.0 + HEAD_ROOM) * pixels;  /* [px] at one time */
    size_t last = sizeof times / sizeof times[0] - 1;
    for (size_t i = 0; i < last; i++) {
        if (height * times[i] <= least) {
            return times[i];
        }
    }
    return times[last];
}

/* Words from bottom to top as they were given, pushed apart, kept inside the frame. Where they do not all fit, some are
 * left out. */
static size_t place_words(const kp_panel *panel, double from, double to, double apart,
                          kp_panel_label labels[KP_PANEL_LABELS], double at[KP_PANEL_LABELS])
{
    size_t fits = (size_t)fmax(1.0, floor((to - from) / apart));
    size_t count = panel->label_count;
    memcpy(labels, panel->labels, count * sizeof *labels);
    if (count > fits) { /* evenly, first and last among them */
        for (size_t i = 0; i < fits; i++) {
            labels[i] = labels[fits == 1 ? 0 : i * (count - 1) / (fits - 1)];
        }
        count = fits;
    }
    for (size_t i = 0; i < count; i++) {
        double least = i == 0 ? from + 0.5 * apart : at[i - 1] + apart;
        at[i] = fmax(labels[i].y, least);
    }
    for (size_t i = count; i-- > 0;) {
        double most = i + 1 == count ? to - 0.5 * apart : at[i + 1] - apart;
        at[i] = fmin(at[i], most);
    }
    return count;
}

static void add_place(kp_draw_text *script, double x, double y)
{
    kp_draw_text_number(script, x);
    kp_draw_text_add(script, ",");
    kp_draw_text_number(script, y);
}

static void write_words(kp_draw_text *script, const kp_panel *panel, kp_extent frame, double column, double apart,
                        bool dumb)
{
    kp_panel_label labels[KP_PANEL_LABELS];
    double at[KP_PANEL_LABELS];
    size_t count = place_words(panel, frame.y_from, frame.y_to, apart, labels, at);
    double gap = (dumb ? 0.03 : 0.012) * (frame.x_to - frame.x_from);
    for (size_t i = 0; i < count; i++) {
        kp_draw_text_add(script, "set label %zu ", i + 100);
        kp_draw_text_quoted(script, labels[i].text);
        kp_draw_text_add(script, " noenhanced at ");
        add_place(script, column + gap, at[i]);
        kp_draw_text_add(script, " left\n");
        if (!dumb) {
            kp_draw_text_add(script, "set arrow %zu from ", i + 100);
            add_place(script, labels[i].x, labels[i].y);
            kp_draw_text_add(script, " to ");
            add_place(script, column + 0.5 * gap, at[i]);
            kp_draw_text_add(script, " nohead front lw 0.8 lc rgb '#606060'\n");
        }
    }
}

static void write_axis(kp_draw_text *script, const char *axis, double from, double to)
{
    kp_draw_text_add(script, "set %srange [", axis);
    kp_draw_text_number(script, from);
    kp_draw_text_add(script, ":");
    kp_draw_text_number(script, to);
    kp_draw_text_add(script, "]\n");
}

/* Key in one row at the top of the panel, the title between it and the frame. */
static void write_heading(kp_draw_text *script, const kp_panel *panel, const kp_canvas *canvas, double top,
                          double how_often)
{
    char title[sizeof panel->title + 48];
    snprintf(title, sizeof title, "%s; heights drawn %.0f times", panel->title, how_often);
    kp_draw_text_add(script, "unset title\nset label 99 ");
    kp_draw_text_quoted(script, title);
    kp_draw_text_add(script, " noenhanced at screen 0.5, screen ");
    kp_draw_text_number(script, top - (room_above(panel) - 0.5 * TITLE_ROOM) / canvas->height);
    kp_draw_text_add(script, " center\n");
    if (key_lines(panel) > 0.0) {
        kp_draw_text_add(script, "set key at screen ");
        kp_draw_text_number(script, LEFT);
        kp_draw_text_add(script, ", screen ");
        kp_draw_text_number(script, top - 2.0 / canvas->height);
        kp_draw_text_add(script, " left top Left reverse noenhanced horizontal maxrows 1 samplen 3.5\n");
    } else {
        kp_draw_text_add(script, "unset key\n");
    }
}

void kp_section_write(kp_draw_text *script, const kp_figure *figure, size_t index, const kp_canvas *canvas, double top,
                      double unit)
{
    const kp_panel *panel = &figure->panels[index];
    bool dumb = canvas->kind == KP_CANVAS_DUMB;
    kp_extent extent = extent_of(figure);
    double side = SIDE_ROOM * (extent.x_to - extent.x_from);
    double column = extent.x_to; /* where the words begin */
    kp_extent frame = extent;
    frame.x_from -= side;
    frame.x_to =
        extent.words ? frame.x_from + (column - frame.x_from) / (1.0 - (dumb ? TERMINAL_WORDS : WORDS)) : column;
    double apart;
    if (dumb) { /* characters cannot be true to scale */
        double lines = fmax(2.0, panel->weight * unit - 7.0);
        double spare = 0.5 * HEAD_ROOM * (extent.y_to - extent.y_from);
        frame.y_from -= spare;
        frame.y_to += spare;
        apart = (frame.y_to - frame.y_from) / lines;
    } else {
        double pixels = (RIGHT - LEFT) * canvas->width / (frame.x_to - frame.x_from); /* per unit across */
        double per_unit = kp_section_times(figure, canvas, unit) * pixels;            /* and upward     */
        double height = frame_height(figure, index, unit);
        double slack = height / per_unit - (extent.y_to - extent.y_from);
        frame.y_from -= 0.5 * slack;
        frame.y_to = frame.y_from + height / per_unit;
        apart = WORDS_APART / per_unit;
        kp_draw_text_add(script, "set tmargin at screen ");
        kp_draw_text_number(script, top - room_above(panel) / canvas->height);
        kp_draw_text_add(script, "\nset bmargin at screen ");
        kp_draw_text_number(script, top - (room_above(panel) + height) / canvas->height);
        kp_draw_text_add(script, "\n");
        write_heading(script, panel, canvas, top, kp_section_times(figure, canvas, unit));
    }
    write_axis(script, "x", frame.x_from, frame.x_to);
    write_axis(script, "y", frame.y_from, frame.y_to);
    write_words(script, panel, frame, column, apart, dumb);
}
