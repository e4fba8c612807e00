/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The gnuplot commands of one panel: ranges, key and line styles.
    The ranges are computed here because gnuplot complains about a line that is empty or flat, and a complaint counts as
    a failure. */
#include "draw/draw_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double RANGE_ROOM = 0.05;   /* [-] free room above and below the lines, as a share of the range     */
static const double NEAR_ZERO = 0.3;     /* [-] a range that starts below this share of its end starts at 0      */
static const double MIN_RANGE = 1e-6;    /* [-] of the largest value; gnuplot cannot label a shorter axis        */
static const size_t MARKS_ON_A_LINE = 8; /* [-] enough marks to show a line's style without hiding its shape     */
static const double SINGLE_POINT = 2.2;  /* [-] size of a single point, over that of a mark on a line            */
static const double SECTION_POINT = 1.5; /* [-] the same in a section, where many points stand close together    */

typedef struct kp_range {
    double from, to;
} kp_range;

static bool series_has_points(const kp_series *series)
{
    for (size_t i = 0; i < series->count; i++) {
        if (isfinite(series->x[i]) && isfinite(series->y[i])) {
            return true;
        }
    }
    return false;
}

/* ---- ranges ---------------------------------------------------------------------------------------------------- */

/* Extends the range to the values whose partner, the other coordinate of the point, is finite too. */
static void range_extend(kp_range *range, const double *values, const double *partner, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (isfinite(values[i]) && isfinite(partner[i])) {
            range->from = fmin(range->from, values[i]);
            range->to = fmax(range->to, values[i]);
        }
    }
}

/* The range to draw, which is never empty: 0 to 1 without points, and some room around a single value. */
static kp_range range_with_room(kp_range range, double room)
{
    if (!(range.from <= range.to)) {
        return (kp_range){0.0, 1.0};
    }

    double min_length = fmax(fabs(range.from), fabs(range.to)) * MIN_RANGE;
    if (range.to - range.from <= min_length) {
        double half = range.to != 0.0 ? 0.1 * fabs(range.to) : 1.0;
        return (kp_range){range.from - half, range.to + half};
    }

    /* An end near zero becomes zero. */
    double spare = room * (range.to - range.from);
    if (range.from >= 0.0 && range.from <= NEAR_ZERO * range.to) {
        return (kp_range){0.0, range.to + spare};
    }
    if (range.to <= 0.0 && range.to >= NEAR_ZERO * range.from) {
        return (kp_range){range.from - spare, 0.0};
    }
    return (kp_range){range.from - spare, range.to + spare};
}

static kp_range y_range_of(const kp_panel *panel)
{
    kp_range range = {INFINITY, -INFINITY};

    for (size_t s = 0; s < panel->series_count; s++) {
        range_extend(&range, panel->series[s].y, panel->series[s].x, panel->series[s].count);
        if (panel->series[s].base != NULL) {
            range_extend(&range, panel->series[s].base, panel->series[s].x, panel->series[s].count);
        }
    }
    return range_with_room(range, RANGE_ROOM);
}

/* Range over all panels with the same x label, so that a reader can compare them one below another. */
static kp_range x_range_of(const kp_figure *figure, const kp_panel *panel)
{
    kp_range range = {INFINITY, -INFINITY};

    for (size_t p = 0; p < figure->panel_count; p++) {
        const kp_panel *other = &figure->panels[p];
        if (strcmp(other->x_label, panel->x_label) != 0) {
            continue;
        }

        for (size_t s = 0; s < other->series_count; s++) {
            range_extend(&range, other->series[s].x, other->series[s].y, other->series[s].count);
        }
    }

    return range_with_room(range, 0.0);
}

/* ---- key and styles -------------------------------------------------------------------------------------------- */

/* Writes the key, which stands above the frame so that it cannot hide a curve. */
static void write_key(kp_draw_text *script, const kp_panel *panel, kp_canvas_kind kind)
{
    /* Only series with points to draw have an entry. */
    size_t longest = 0;
    size_t listed = 0;
    for (size_t s = 0; s < panel->series_count; s++) {
        if (panel->series[s].in_key && series_has_points(&panel->series[s])) {
            size_t length = strlen(panel->series[s].label);
            longest = length > longest ? length : longest;
            listed++;
        }
    }

    if (listed == 0) {
        kp_draw_text_add(script, "unset key\n");
        return;
    }

    /* Long labels stand one below another. */
    bool column = longest > kp_canvas_scale_of(kind).key_letters;
    kp_draw_text_add(script, "set key above left Left reverse noenhanced %s samplen %s\n",
                     column ? "vertical maxrows 12" : "horizontal", kind == KP_CANVAS_DUMB ? "2" : "3.5");
}

/* Point type of a series in a terminal. There gnuplot marks lines with *, #, $ and so on, and points with A, B, C; an X
   or O warns of a point. */
static int terminal_mark(int style)
{
    return style == KP_STYLE_CROSS ? 24 : style == KP_STYLE_RING ? 15 : style + 1;
}

/* Writes "with lines ..." or "with points ..." of a series. point: size of a point, over that of a mark on a line. */
static void write_style(kp_draw_text *script, const kp_series *series, kp_canvas_kind kind, double point)
{
    const kp_line_style *style = kp_line_style_of(series->style);
    const double mark = kp_canvas_scale_of(kind).mark;

    if (kind == KP_CANVAS_DUMB) {
        if (series->marks) {
            kp_draw_text_add(script, "with points pt %d ", terminal_mark(series->style));
        } else {
            kp_draw_text_add(script, "with lines lt %d ", series->style + 1);
        }
        return;
    }

    /* A line has few marks, so that its shape stays visible. */
    if (series->marks) {
        kp_draw_text_add(script, "with points pt %d lw 2 lc rgb '%s' ps ", style->mark, style->colour);
        kp_draw_text_number(script, point * mark);
    } else {
        size_t interval = series->count / MARKS_ON_A_LINE;
        kp_draw_text_add(script, "with linespoints dt %s pt %d pi %zu lw 2.2 lc rgb '%s' ps ", style->dash, style->mark,
                         interval > 0 ? interval : 1, style->colour);
        kp_draw_text_number(script, mark);
    }

    kp_draw_text_add(script, " ");
}

/* Writes "using ... with ..." of an area. It is filled; in a terminal its two edges are drawn with one letter. */
static void write_area(kp_draw_text *script, const kp_series *series, size_t panel, size_t s, kp_canvas_kind kind)
{
    const kp_line_style *style = kp_line_style_of(series->style);
    if (kind == KP_CANVAS_DUMB) {
        kp_draw_text_add(script,
                         "using 1:3 with lines lt %d notitle, \\\n     $panel%zu_line%zu using 1:2 "
                         "with lines lt %d ",
                         series->style + 1, panel, s, series->style + 1);
        return;
    }

    kp_draw_text_add(script, "using 1:3:2 with filledcurves fs %s lc rgb '%s' ", style->fill, style->colour);
}

/* Writes "using ... with ..." of a part in a section, in greys that differ in print. */
static void write_solid(kp_draw_text *script, const kp_series *series, kp_canvas_kind kind)
{
    if (kind == KP_CANVAS_DUMB) {
        kp_draw_text_add(script, "using 1:2 with lines lt %d ", series->style + 1);
    } else if (series->style >= KP_STYLE_HEAT) {
        kp_draw_text_add(script, "using 1:2 with filledcurves closed fc rgb '%s' fs solid 1.0 noborder ",
                         kp_line_style_of(series->style)->colour);
    } else {
        kp_draw_text_add(script,
                         "using 1:2 with filledcurves closed fc rgb '%s' fs solid 1.0 border lc rgb '#202020' lw 0.8 ",
                         series->style == 0 ? "#e9eef2" : "#a8a8a8");
    }
}

/* ---- the panel ------------------------------------------------------------------------------------------------- */

/* Writes the part of the plot command that draws one series. */
static void write_series(kp_draw_text *script, const kp_panel *panel, size_t index, size_t s, kp_canvas_kind kind)
{
    const kp_series *series = &panel->series[s];

    if (series->base != NULL && panel->section) {
        write_solid(script, series, kind);
    } else if (series->base != NULL) {
        write_area(script, series, index, s, kind);
    } else {
        kp_draw_text_add(script, "using 1:2 ");
        write_style(script, series, kind, panel->section ? SECTION_POINT : SINGLE_POINT);
    }

    if (series->in_key) {
        kp_draw_text_add(script, "title ");
        kp_draw_text_quoted(script, series->label);
    } else {
        kp_draw_text_add(script, "notitle");
    }
}

/* Writes the plot command. Areas come first and marks last, so that nothing hides a mark. */
static void write_plot_command(kp_draw_text *script, const kp_panel *panel, size_t index, kp_canvas_kind kind)
{
    enum { AREAS, LINES, MARKS, LAYER_COUNT };
    const char *separator = "plot ";

    for (size_t i = 0; i < LAYER_COUNT * panel->series_count; i++) {
        size_t layer = i / panel->series_count;
        size_t s = i % panel->series_count;

        if (kind == KP_CANVAS_DUMB && layer == AREAS) {
            s = panel->series_count - 1 -
                s; /* the letter of the lower area then marks the edge it shares with the next */
        }

        /* Skip what belongs to another layer or cannot be drawn. */
        const kp_series *series = &panel->series[s];
        size_t own_layer = series->base != NULL ? AREAS : series->marks ? MARKS : LINES;
        bool left_out = kind == KP_CANVAS_DUMB && series->style >= KP_STYLE_HEAT;
        if (own_layer != layer || !series_has_points(series) || left_out) {
            continue;
        }

        kp_draw_text_add(script, "%s$panel%zu_line%zu ", separator, index, s);
        separator = ", \\\n     ";
        write_series(script, panel, index, s, kind);
    }

    /* gnuplot needs at least one thing to plot. */
    if (strcmp(separator, "plot ") == 0) {
        kp_draw_text_add(script, "plot 1e30 notitle"); /* outside the range: an empty frame */
    }
    kp_draw_text_add(script, "\n");
}

/* Writes title and axis labels. A terminal has no upright letters, so the y label stands above its axis. */
static void write_labels(kp_draw_text *script, const kp_figure *figure, size_t index, bool dumb)
{
    const kp_panel *panel = &figure->panels[index];
    char title[sizeof panel->title + 48];
    snprintf(title, sizeof title, "%s", panel->title);

    if (panel->section && dumb) {
        size_t used = strlen(title);
        snprintf(title + used, sizeof title - used, "; not to scale here");
    }

    /* Only the lowest of several panels with one x axis names it. */
    kp_draw_text_add(script, "set title ");
    kp_draw_text_quoted(script, title);
    kp_draw_text_add(script, " noenhanced\nset xlabel ");
    kp_draw_text_quoted(script, kp_panel_names_x_axis(figure, index) ? panel->x_label : "");
    kp_draw_text_add(script, " noenhanced\nset ylabel ");
    kp_draw_text_quoted(script, dumb ? "" : panel->y_label);
    kp_draw_text_add(script, " noenhanced\n");

    /* A terminal puts the y label into the title. */
    if (dumb) {
        char heading[sizeof title + sizeof panel->y_label + 8];
        snprintf(heading, sizeof heading, "%s%s%s", panel->y_label, title[0] != '\0' ? "; " : "", title);
        kp_draw_text_add(script, "set title ");
        kp_draw_text_quoted(script, heading);
        kp_draw_text_add(script, " noenhanced\n");
    }
}

void kp_panel_write(kp_draw_text *script, const kp_figure *figure, size_t index, const kp_canvas *canvas,
                    kp_placement placement)
{
    const kp_panel *panel = &figure->panels[index];
    bool dumb = canvas->kind == KP_CANVAS_DUMB;

    write_labels(script, figure, index, dumb);
    /* A section in a picture places its key itself. */
    if (!panel->section || dumb) {
        write_key(script, panel, canvas->kind);
    }

    if (panel->section) {
        kp_section_write(script, figure, index, canvas, placement);
    } else {
        kp_range x = x_range_of(figure, panel);
        kp_range y = y_range_of(panel);
        kp_draw_text_range(script, "x", x.from, x.to);
        kp_draw_text_range(script, "y", y.from, y.to);
    }
    write_plot_command(script, panel, index, canvas->kind);
}
