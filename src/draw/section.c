/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Panels that are a drawing to scale. Heights are enlarged by a whole number, the same in all sections of a figure.
    Labels stand in a column on the right, each with a line to its point. The frame is placed in pixels so that the
    enlargement holds in the picture. */
#include "draw/draw_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double LEFT = 0.095, RIGHT = 0.97;   /* [-]  sides of the frame, as a share of the canvas; other panels
                                                             have the same                                         */
static const double TITLE_ROOM = 36.0;            /* [px] above the frame                                       */
static const double KEY_ROOM = 24.0;              /* [px] added above the frame for each line of the key        */
static const double KEY_COLUMNS = 4.0;            /* [-]  min number of columns of the key                      */
static const double TICS_ROOM = 40.0;             /* [px] below the frame                                       */
static const double X_LABEL_ROOM = 28.0;          /* [px] added below the frame where the axis has a label      */
static const double LABEL_COLUMN = 0.33;          /* [-]  width of the column of labels, as a share of the frame */
static const double TERMINAL_LABEL_COLUMN = 0.46; /* [-]  the same in a terminal                                */
static const double LABEL_SPACING = 19.0;         /* [px] from one line of labels to the next                   */
static const double SIDE_ROOM = 0.02;             /* [-]  free room left of the drawing, as a share of its width */
static const double HEAD_ROOM = 0.06;             /* [-]  above and below together, as a share of its height    */
/* [-] Enlargements of the height to choose from. */
static const double enlargements[] = {200, 150, 100, 80, 60, 50, 40, 30, 25, 20, 15, 12, 10, 8, 6, 5, 4, 3, 2, 1};

double kp_section_column_from(void)
{
    return LEFT + (RIGHT - LEFT) * (1.0 - LABEL_COLUMN);
}

double kp_section_column_to(void)
{
    return RIGHT;
}

typedef struct kp_extent {
    double x_from, x_to, y_from, y_to;
    bool has_labels; /* in at least one section */
} kp_extent;

static void extend(kp_extent *extent, double x, double y)
{
    if (isfinite(x) && isfinite(y)) {
        extent->x_from = fmin(extent->x_from, x);
        extent->x_to = fmax(extent->x_to, x);
        extent->y_from = fmin(extent->y_from, y);
        extent->y_to = fmax(extent->y_to, y);
    }
}

/* Extent of all sections of the figure together, so that they can be compared. */
static kp_extent extent_of(const kp_figure *figure)
{
    kp_extent extent = {INFINITY, -INFINITY, INFINITY, -INFINITY, false};

    for (size_t p = 0; p < figure->panel_count; p++) {
        const kp_panel *panel = &figure->panels[p];
        for (size_t s = 0; panel->section && s < panel->series_count; s++) {
            const kp_series *series = &panel->series[s];
            for (size_t i = 0; i < series->count; i++) {
                extend(&extent, series->x[i], series->y[i]);
                extend(&extent, series->x[i], series->base != NULL ? series->base[i] : series->y[i]);
            }
        }
        extent.has_labels = extent.has_labels || (panel->section && panel->label_count > 0);
    }

    /* Without an area the sections need some extent all the same. */
    if (!(extent.x_from < extent.x_to && extent.y_from < extent.y_to)) {
        extent = (kp_extent){0.0, 1.0, 0.0, 1.0, extent.has_labels};
    }

    return extent;
}

/* Number of lines of the key, whose entries stand in columns. */
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
    return TICS_ROOM + (kp_panel_names_x_axis(figure, index) ? X_LABEL_ROOM : 0.0);
}

/* Height of a panel's frame [px]. unit: height of a panel of weight 1 [px]. */
static double frame_height(const kp_figure *figure, size_t index, double unit)
{
    const kp_panel *panel = &figure->panels[index];
    return panel->weight * unit - room_above(panel) - room_below(figure, index);
}

/* The largest enlargement at which the drawing fits into every section. unit: height of a panel of weight 1 [px]. */
static double enlargement_of(const kp_figure *figure, const kp_canvas *canvas, double unit)
{
    /* The lowest of the sections limits the height. */
    kp_extent extent = extent_of(figure);
    double min_height = INFINITY; /* [px] */
    for (size_t p = 0; p < figure->panel_count; p++) {
        min_height = figure->panels[p].section ? fmin(min_height, frame_height(figure, p, unit)) : min_height;
    }

    /* Pixels of the drawing without its column of labels. */
    double width = (RIGHT - LEFT) * canvas->width * (extent.has_labels ? 1.0 - LABEL_COLUMN : 1.0);
    double pixels = width / ((extent.x_to - extent.x_from) * (1.0 + SIDE_ROOM)); /* per unit of length */
    double height = (extent.y_to - extent.y_from) * (1.0 + HEAD_ROOM) * pixels;  /* [px] without enlargement */

    /* The largest of the usual factors that fits. */
    size_t last = sizeof enlargements / sizeof enlargements[0] - 1;
    for (size_t i = 0; i < last; i++) {
        if (height * enlargements[i] <= min_height) {
            return enlargements[i];
        }
    }
    return enlargements[last];
}

/* Heights of the labels, from the lowest to the highest: at their points where possible, moved apart and kept inside
   the frame. Where they do not all fit, some are left out. Returned: number of labels placed. */
static size_t place_labels(const kp_panel *panel, double from, double to, double spacing,
                           kp_panel_label labels[KP_PANEL_LABELS], double at[KP_PANEL_LABELS])
{
    size_t fits = (size_t)fmax(1.0, floor((to - from) / spacing));
    size_t count = panel->label_count;
    memcpy(labels, panel->labels, count * sizeof *labels);

    /* Choose evenly spaced labels, the first and the last among them. */
    if (count > fits) {
        for (size_t i = 0; i < fits; i++) {
            labels[i] = labels[fits == 1 ? 0 : i * (count - 1) / (fits - 1)];
        }
        count = fits;
    }

    /* Upward each label stays above the one before, then downward each stays below the next and the frame's top. */
    for (size_t i = 0; i < count; i++) {
        double min = i == 0 ? from + 0.5 * spacing : at[i - 1] + spacing;
        at[i] = fmax(labels[i].y, min);
    }

    for (size_t i = count; i-- > 0;) {
        double max = i + 1 == count ? to - 0.5 * spacing : at[i + 1] - spacing;
        at[i] = fmin(at[i], max);
    }

    return count;
}

static void add_point(kp_draw_text *script, double x, double y)
{
    kp_draw_text_number(script, x);
    kp_draw_text_add(script, ",");
    kp_draw_text_number(script, y);
}

/* Writes the labels and the lines to their points. column: x where the column of labels begins; spacing: along y. */
static void write_labels(kp_draw_text *script, const kp_panel *panel, kp_extent frame, double column, double spacing,
                         bool dumb)
{
    kp_panel_label labels[KP_PANEL_LABELS];
    double at[KP_PANEL_LABELS];
    size_t count = place_labels(panel, frame.y_from, frame.y_to, spacing, labels, at);

    /* Each line ends in the gap between the drawing and the labels. */
    double gap = (dumb ? 0.03 : 0.012) * (frame.x_to - frame.x_from);

    for (size_t i = 0; i < count; i++) {
        kp_draw_text_add(script, "set label %zu ", i + 100);
        kp_draw_text_quoted(script, labels[i].text);
        kp_draw_text_add(script, " noenhanced at ");
        add_point(script, column + gap, at[i]);
        kp_draw_text_add(script, " left\n");

        if (!dumb) {
            kp_draw_text_add(script, "set arrow %zu from ", i + 100);
            add_point(script, labels[i].x, labels[i].y);
            kp_draw_text_add(script, " to ");
            add_point(script, column + 0.5 * gap, at[i]);
            kp_draw_text_add(script, " nohead front lw 0.8 lc rgb '#606060'\n");
        }
    }
}

static bool has_view_beside(const kp_figure *figure)
{
    bool has = false;
    for (size_t p = 0; p < figure->panel_count; p++) {
        has = has || figure->panels[p].beside > 0;
    }
    return has;
}

/* Writes the key, in one row at the top of the panel, and the title between the key and the frame; in the middle of the
   drawing where a view from above stands in the column of labels of some section. */
static void write_heading(kp_draw_text *script, const kp_figure *figure, const kp_panel *panel, const kp_canvas *canvas,
                          double top, double enlargement)
{
    char title[sizeof panel->title + 48];

    snprintf(title, sizeof title, "%s; heights drawn %.0f times", panel->title, enlargement);

    kp_draw_text_add(script, "unset title\nset label 99 ");
    kp_draw_text_quoted(script, title);
    kp_draw_text_add(script, " noenhanced at screen ");
    kp_draw_text_number(script, has_view_beside(figure) ? 0.5 * (LEFT + kp_section_column_from()) : 0.5);
    kp_draw_text_add(script, ", screen ");
    kp_draw_text_number(script, top - (room_above(panel) - 0.5 * TITLE_ROOM) / canvas->height);
    kp_draw_text_add(script, " center\n");

    /* The key in one row at the panel's top edge. */
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

/* Frame of a section in a terminal, where characters cannot be to scale. Returned: spacing of the labels along y. */
static double place_terminal_frame(kp_extent *frame, const kp_panel *panel, double unit)
{
    const double other_lines = 7.0; /* [lines] of the panel: title, key, axis */
    double lines = fmax(2.0, panel->weight * unit - other_lines);
    double spare = 0.5 * HEAD_ROOM * (frame->y_to - frame->y_from);

    frame->y_from -= spare;
    frame->y_to += spare;
    return (frame->y_to - frame->y_from) / lines;
}

/* Frame of a section in a picture, to scale, and its heading. Returned: spacing of the labels along y. */
static double place_frame(kp_draw_text *script, kp_extent *frame, const kp_figure *figure, size_t index,
                          const kp_canvas *canvas, kp_placement placement)
{
    const kp_panel *panel = &figure->panels[index];
    double enlargement = enlargement_of(figure, canvas, placement.unit);
    double pixels = (RIGHT - LEFT) * canvas->width / (frame->x_to - frame->x_from); /* per unit along x */
    double per_unit = enlargement * pixels;                                         /* [px] along y     */
    double height = frame_height(figure, index, placement.unit);

    /* The frame has the height of the panel; what the drawing leaves free is divided above and below it. */
    double slack = height / per_unit - (frame->y_to - frame->y_from);
    frame->y_from -= 0.5 * slack;
    frame->y_to = frame->y_from + height / per_unit;

    kp_draw_text_add(script, "set tmargin at screen ");
    kp_draw_text_number(script, placement.top - room_above(panel) / canvas->height);
    kp_draw_text_add(script, "\nset bmargin at screen ");
    kp_draw_text_number(script, placement.top - (room_above(panel) + height) / canvas->height);
    kp_draw_text_add(script, "\n");

    write_heading(script, figure, panel, canvas, placement.top, enlargement);
    return LABEL_SPACING / per_unit;
}

void kp_section_write(kp_draw_text *script, const kp_figure *figure, size_t index, const kp_canvas *canvas,
                      kp_placement placement)
{
    const kp_panel *panel = &figure->panels[index];
    bool dumb = canvas->kind == KP_CANVAS_DUMB;
    kp_extent frame = extent_of(figure);

    /* Across: free room on the left, the drawing, and the column of labels. */
    double column = frame.x_to;
    frame.x_from -= SIDE_ROOM * (frame.x_to - frame.x_from);
    if (frame.has_labels) {
        double share = dumb ? TERMINAL_LABEL_COLUMN : LABEL_COLUMN;
        frame.x_to = frame.x_from + (column - frame.x_from) / (1.0 - share);
    }

    double spacing = dumb ? place_terminal_frame(&frame, panel, placement.unit)
                          : place_frame(script, &frame, figure, index, canvas, placement);

    /* The ranges fill the frame exactly, so that gnuplot does not change the scale. */
    kp_draw_text_range(script, "x", frame.x_from, frame.x_to);
    kp_draw_text_range(script, "y", frame.y_from, frame.y_to);
    write_labels(script, panel, frame, column, spacing, dumb);
}
