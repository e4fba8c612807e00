/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Views from above: a round part to scale, in the column that the sections beside it leave free, with its scale of
    shades below it. The frame is placed in pixels, so that a circle stays round. */
#include "draw/draw_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double TITLE_ROOM = 36.0; /* [px] above the drawing, as above a section                     */
static const double SIDE_ROOM = 56.0;  /* [px] left and right of the disc, for labels                    */
static const double LABEL_ROOM = 24.0; /* [px] above and below the disc, for labels                      */
static const double SCALE_ROOM = 62.0; /* [px] below the drawing: the scale of shades and its words      */
static const double BAR = 14.0;        /* [px] height of the scale                                       */
static const double GAP = 8.0;         /* [px] between the sections and the white ground of the view     */
static const double LABEL_OUT = 1.06;  /* [-]  radius at which a label stands, over that of its point    */
static const double UPRIGHT = 0.2;     /* [-]  a label whose direction is nearer to the vertical than this is centred */

/* The point of an angle and a radius: clockwise from the top. */
static void write_polar(kp_draw_text *script, double angle, double radius)
{
    kp_draw_text_number(script, radius * sin(angle));
    kp_draw_text_add(script, " ");
    kp_draw_text_number(script, radius * cos(angle));
    kp_draw_text_add(script, "\n");
}

void kp_above_write_points(kp_draw_text *script, const kp_series *series)
{
    /* Along y, and for an area back along base to the first point. */
    size_t n = series->count;
    for (size_t i = 0; i < n; i++) {
        if (isfinite(series->x[i]) && isfinite(series->y[i])) {
            write_polar(script, series->x[i], series->y[i]);
        } else {
            kp_draw_text_add(script, "NaN NaN\n");
        }
    }

    for (size_t i = n; series->base != NULL && i > 0; i--) {
        write_polar(script, series->x[i - 1], series->base[i - 1]);
    }
    if (series->base != NULL && n > 0) {
        write_polar(script, series->x[0], series->y[0]);
    }
}

/** The view's place on the canvas [px] from its lower left corner. */
typedef struct kp_view_frame {
    double left, right, top, bottom; /* the whole view                    */
    double x, y, radius;             /* middle and radius of the disc     */
    double extent;                   /* the largest radius, display units */
} kp_view_frame;

static kp_view_frame frame_of(const kp_figure *figure, size_t index, const kp_canvas *canvas, kp_placement placement)
{
    const kp_panel *panel = &figure->panels[index];
    kp_view_frame frame = {.left = kp_section_column_from() * canvas->width + GAP,
                           .right = kp_section_column_to() * canvas->width,
                           .top = placement.top * canvas->height};

    /* As high as the sections beside it. */
    frame.bottom = frame.top;
    for (size_t i = index - (panel->beside < index ? panel->beside : index); i < index; i++) {
        frame.bottom -= figure->panels[i].weight * placement.unit;
    }

    for (size_t s = 0; s < panel->series_count; s++) {
        for (size_t i = 0; i < panel->series[s].count; i++) {
            frame.extent = fmax(frame.extent, panel->series[s].y[i]); /* fmax ignores NAN */
        }
    }
    frame.extent = frame.extent > 0.0 ? frame.extent : 1.0;

    /* The largest disc that fits, in the middle of the room below the title. */
    double high = frame.top - frame.bottom - TITLE_ROOM - SCALE_ROOM;
    double wide = frame.right - frame.left;
    frame.radius = fmax(10.0, fmin(0.5 * wide - SIDE_ROOM, 0.5 * high - LABEL_ROOM));
    frame.x = 0.5 * (frame.left + frame.right);
    frame.y = frame.top - TITLE_ROOM - LABEL_ROOM - frame.radius;
    return frame;
}

/* "screen X, screen Y" of a point in pixels. */
static void write_screen(kp_draw_text *script, const kp_canvas *canvas, double x, double y)
{
    kp_draw_text_add(script, "screen ");
    kp_draw_text_number(script, x / canvas->width);
    kp_draw_text_add(script, ", screen ");
    kp_draw_text_number(script, y / canvas->height);
}

static void write_text(kp_draw_text *script, const kp_canvas *canvas, size_t number, const char *text, double x,
                       double y)
{
    kp_draw_text_add(script, "set label %zu ", number);
    kp_draw_text_quoted(script, text);
    kp_draw_text_add(script, " noenhanced at ");
    write_screen(script, canvas, x, y);
    kp_draw_text_add(script, " center\n");
}

/* Writes the scale of shades: a bar, numbers at its ends and its middle, and what they mean. */
static void write_scale(kp_draw_text *script, const kp_panel *panel, const kp_canvas *canvas, kp_view_frame frame)
{
    double from = frame.x - frame.radius, step = 2.0 * frame.radius / KP_SHADE_COUNT;
    double top = frame.y - frame.radius - LABEL_ROOM;

    for (int i = 0; i < KP_SHADE_COUNT; i++) {
        kp_draw_text_add(script, "set object %d rectangle from ", i + 2);
        write_screen(script, canvas, from + i * step, top - BAR);
        kp_draw_text_add(script, " to ");
        write_screen(script, canvas, from + (i + 1) * step, top);
        kp_draw_text_add(script, " front fc rgb '%s' fs solid 1.0 noborder\n",
                         kp_line_style_of(KP_STYLE_SHADE + i)->colour);
    }

    for (size_t i = 0; i <= 2; i++) {
        char number[32];
        snprintf(number, sizeof number, "%.3g", 0.5 * (double)i * panel->shade_max);
        write_text(script, canvas, 50 + i, number, from + (double)i * frame.radius, top - BAR - 11.0);
    }
    write_text(script, canvas, 53, panel->x_label, frame.x, top - BAR - 30.0);
}

/* Writes the labels outward of their points. */
static void write_labels(kp_draw_text *script, const kp_panel *panel)
{
    for (size_t i = 0; i < panel->label_count; i++) {
        const kp_panel_label *label = &panel->labels[i];
        double across = sin(label->x);
        kp_draw_text_add(script, "set label %zu ", i + 100);
        kp_draw_text_quoted(script, label->text);
        kp_draw_text_add(script, " noenhanced front at ");
        kp_draw_text_number(script, LABEL_OUT * label->y * across);
        kp_draw_text_add(script, ",");
        kp_draw_text_number(script, LABEL_OUT * label->y * cos(label->x) * (fabs(across) < UPRIGHT ? LABEL_OUT : 1.0));
        kp_draw_text_add(script, " %s\n", fabs(across) < UPRIGHT ? "center" : across > 0.0 ? "left" : "right");
    }
}

/* Writes the plot command. A line is white with dark edges, so that it shows on any shade. */
static void write_plot(kp_draw_text *script, const kp_panel *panel, size_t index)
{
    const char *separator = "plot ";
    for (size_t s = 0; s < panel->series_count; s++) {
        const kp_series *series = &panel->series[s];
        if (series->base != NULL) {
            const char *colour = series->style == 0   ? "#e9eef2"
                                 : series->style == 1 ? "#a8a8a8"
                                                      : kp_line_style_of(series->style)->colour;
            kp_draw_text_add(script,
                             "%s$panel%zu_line%zu using 1:2 with filledcurves closed fc rgb '%s' fs solid 1.0 "
                             "noborder notitle",
                             separator, index, s, colour);
        } else {
            const char *dash = kp_line_style_of(series->style)->dash;
            kp_draw_text_add(script,
                             "%s$panel%zu_line%zu using 1:2 with lines lw 3 lc rgb '#202020' notitle, \\\n"
                             "     $panel%zu_line%zu using 1:2 with lines dt %s lw 1.5 lc rgb '#ffffff' notitle",
                             separator, index, s, index, s, dash);
        }
        separator = ", \\\n     ";
    }
    kp_draw_text_add(script, "%s\n", panel->series_count == 0 ? "plot 1e30 notitle" : "");
}

void kp_above_write(kp_draw_text *script, const kp_figure *figure, size_t index, const kp_canvas *canvas,
                    kp_placement placement)
{
    const kp_panel *panel = &figure->panels[index];
    kp_view_frame frame = frame_of(figure, index, canvas, placement);
    double radius = frame.radius;

    /* White ground over the grid of the sections; no axes. */
    kp_draw_text_add(script, "set object 1 rectangle from ");
    write_screen(script, canvas, frame.left, frame.bottom + 2.0);
    kp_draw_text_add(script, " to ");
    write_screen(script, canvas, canvas->width, frame.top);
    kp_draw_text_add(script, " behind fc rgb '#ffffff' fs solid 1.0 noborder\n"
                             "unset border\nunset xtics\nunset ytics\nunset grid\nunset xzeroaxis\nunset key\n"
                             "unset title\nset xlabel ''\nset ylabel ''\n");

    /* A square frame of the disc. */
    const char *const names[] = {"lmargin", "rmargin", "bmargin", "tmargin"};
    const double sides[] = {(frame.x - radius) / canvas->width, (frame.x + radius) / canvas->width,
                            (frame.y - radius) / canvas->height, (frame.y + radius) / canvas->height};
    for (size_t i = 0; i < 4; i++) {
        kp_draw_text_add(script, "set %s at screen ", names[i]);
        kp_draw_text_number(script, sides[i]);
        kp_draw_text_add(script, "\n");
    }
    kp_draw_text_range(script, "x", -frame.extent, frame.extent);
    kp_draw_text_range(script, "y", -frame.extent, frame.extent);

    write_text(script, canvas, 99, panel->title, frame.x, frame.top - 0.5 * TITLE_ROOM);
    write_labels(script, panel);
    write_scale(script, panel, canvas, frame);
    write_plot(script, panel, index);
}
