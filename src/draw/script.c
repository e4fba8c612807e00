/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The gnuplot script of a figure.
    Every text that may come from a file stands in single quotes with `noenhanced` (in double quotes gnuplot runs what
    stands between backticks); every number is data in a datablock, written with a point in every locale. Ranges are
    worked out here: gnuplot complains about a line that is empty or flat, and a complaint counts as a failure. */
#include "draw/draw_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double PICTURE_WIDTH = 1200.0;     /* [px] the width the pictures are looked at */
static const double PANEL_HEIGHT = 520.0;       /* [px] of a panel of weight 1 standing alone */
static const double LATER_PANEL_HEIGHT = 330.0; /* [px] what every further panel of weight 1 adds */
static const double TITLE_STRIP = 52.0;         /* [px] */
static const double NOTE_LINE = 22.0;           /* [px] */
static const size_t NOTE_LINE_LETTERS = 150;    /* [-]  what fits across PICTURE_WIDTH at the note's size */
static const double RANGE_ROOM = 0.05;          /* [-]  free room above and below the lines, as a share of the range */
static const double NEAR_ZERO = 0.3;            /* [-]  a range that starts below this share of its end starts at 0 */
static const size_t MARKS_ON_A_LINE = 8;        /* [-]  marks that tell a line's style without hiding its shape */

/** What differs between the kinds of canvas. gnuplot takes font sizes as pixels in SVG and as points elsewhere, and
    draws the same mark larger in SVG; these numbers make the pictures look alike. */
typedef struct kp_scale {
    int text, title, note; /* font sizes */
    double mark;           /* mark size on a line; a single point is larger */
    size_t key_letters;    /* labels longer than this stand one under another */
} kp_scale;

static const kp_scale scales[] = {
    [KP_CANVAS_SVG] = {16, 21, 14, 0.45, 70},   [KP_CANVAS_PNG] = {13, 17, 11, 0.7, 70},
    [KP_CANVAS_PDF] = {10, 13, 8, 0.45, 70},    [KP_CANVAS_DUMB] = {0, 0, 0, 0.0, 22},
    [KP_CANVAS_WINDOW] = {12, 16, 10, 0.7, 70},
};
static const double SINGLE_POINT = 2.2; /* [-] how much larger a single point is than a mark on a line */
static const double DRAWN_POINT = 1.5;  /* [-] the same in a drawing, where many stand close */

typedef struct kp_range {
    double from, to;
} kp_range;

kp_canvas kp_canvas_for(const kp_figure *figure, kp_canvas_kind kind)
{
    double height = TITLE_STRIP + PANEL_HEIGHT + 2.0 * NOTE_LINE;
    for (size_t i = 1; i < figure->panel_count; i++) {
        height += LATER_PANEL_HEIGHT * figure->panels[i].weight;
    }
    return (kp_canvas){.kind = kind, .width = PICTURE_WIDTH, .height = height};
}

static void write_terminal(kp_draw_text *script, const kp_canvas *canvas)
{
    int font = scales[canvas->kind].text;
    int width = (int)canvas->width;
    int height = (int)canvas->height;
    const double pixels_per_cm = 1200.0 / 25.0; /* the PDF is the same picture, 25 cm wide */
    switch (canvas->kind) {
    case KP_CANVAS_SVG:
        kp_draw_text_add(script,
                         "set terminal svg noenhanced size %d,%d dynamic font 'sans-serif,%d' background rgb 'white'\n",
                         width, height, font);
        break;
    case KP_CANVAS_PNG:
        kp_draw_text_add(script,
                         "set terminal pngcairo noenhanced size %d,%d font 'sans-serif,13' background rgb 'white'\n",
                         width, height);
        break;
    case KP_CANVAS_PDF:
        kp_draw_text_add(script, "set terminal pdfcairo noenhanced size ");
        kp_draw_text_number(script, canvas->width / pixels_per_cm);
        kp_draw_text_add(script, "cm,");
        kp_draw_text_number(script, canvas->height / pixels_per_cm);
        kp_draw_text_add(script, "cm font 'sans-serif,%d' background rgb 'white'\n", font);
        break;
    case KP_CANVAS_DUMB:
        kp_draw_text_add(script, "set terminal dumb noenhanced mono size %d,%d\n", width, height);
        break;
    case KP_CANVAS_WINDOW:
        kp_draw_text_add(script, "set terminal %s noenhanced persist size %d,%d font 'sans-serif,%d'\n",
                         canvas->window_name, width, height, font);
        break;
    }
    kp_draw_text_add(script, "set encoding utf8\n");
}

static bool series_has_points(const kp_series *series)
{
    for (size_t i = 0; i < series->count; i++) {
        if (isfinite(series->x[i]) && isfinite(series->y[i])) {
            return true;
        }
    }
    return false;
}

/* An area of a drawing as a closed line: outward along y, back along base. */
static void write_outline(kp_draw_text *script, const kp_series *series)
{
    size_t n = series->count;
    for (size_t i = 0; n > 0 && i <= 2 * n; i++) {
        bool back = i >= n && i < 2 * n;
        size_t at = i < n ? i : back ? 2 * n - 1 - i : 0;
        kp_draw_text_number(script, series->x[at]);
        kp_draw_text_add(script, " ");
        kp_draw_text_number(script, back ? series->base[at] : series->y[at]);
        kp_draw_text_add(script, "\n");
    }
}

static void write_data(kp_draw_text *script, const kp_figure *figure)
{
    for (size_t p = 0; p < figure->panel_count; p++) {
        for (size_t s = 0; s < figure->panels[p].series_count; s++) {
            const kp_series *series = &figure->panels[p].series[s];
            kp_draw_text_add(script, "$panel%zu_line%zu << END_OF_DATA\n", p, s);
            bool outline = figure->panels[p].section && series->base != NULL;
            if (outline) {
                write_outline(script, series);
            }
            for (size_t i = 0; !outline && i < series->count; i++) {
                if (isfinite(series->x[i]) && isfinite(series->y[i])) {
                    kp_draw_text_number(script, series->x[i]);
                    kp_draw_text_add(script, " ");
                    kp_draw_text_number(script, series->y[i]);
                    if (series->base != NULL) {
                        kp_draw_text_add(script, " ");
                        kp_draw_text_number(script, series->base[i]);
                    }
                    kp_draw_text_add(script, "\n");
                } else {
                    kp_draw_text_add(script, "NaN NaN NaN\n"); /* breaks the line */
                }
            }
            kp_draw_text_add(script, "END_OF_DATA\n");
        }
    }
}

static void range_take(kp_range *range, const double *values, const double *partner, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (isfinite(values[i]) && isfinite(partner[i])) {
            range->from = fmin(range->from, values[i]);
            range->to = fmax(range->to, values[i]);
        }
    }
}

/* Never empty: 0 to 1 without points, some room around a single value. */
static kp_range range_settle(kp_range range, double room)
{
    if (!(range.from <= range.to)) {
        return (kp_range){0.0, 1.0};
    }
    double least = fmax(fabs(range.from), fabs(range.to)) * 1e-6; /* [-] below this gnuplot cannot label the axis */
    if (range.to - range.from <= least) {
        double half = range.to != 0.0 ? 0.1 * fabs(range.to) : 1.0;
        return (kp_range){range.from - half, range.to + half};
    }
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
        range_take(&range, panel->series[s].y, panel->series[s].x, panel->series[s].count);
        if (panel->series[s].base != NULL) {
            range_take(&range, panel->series[s].base, panel->series[s].x, panel->series[s].count);
        }
    }
    return range_settle(range, RANGE_ROOM);
}

/* Over all panels with the same x label, so that they can be read one under another. */
static kp_range x_range_of(const kp_figure *figure, const kp_panel *panel)
{
    kp_range range = {INFINITY, -INFINITY};
    for (size_t p = 0; p < figure->panel_count; p++) {
        const kp_panel *other = &figure->panels[p];
        if (strcmp(other->x_label, panel->x_label) != 0) {
            continue;
        }
        for (size_t s = 0; s < other->series_count; s++) {
            range_take(&range, other->series[s].x, other->series[s].y, other->series[s].count);
        }
    }
    return range_settle(range, 0.0);
}

static void write_range(kp_draw_text *script, const char *axis, kp_range range)
{
    kp_draw_text_add(script, "set %srange [", axis);
    kp_draw_text_number(script, range.from);
    kp_draw_text_add(script, ":");
    kp_draw_text_number(script, range.to);
    kp_draw_text_add(script, "]\n");
}

static void write_looks(kp_draw_text *script, bool dumb)
{
    kp_draw_text_add(script, "set border 3\nset tics nomirror out\nset key noenhanced\nset style data lines\n");
    if (dumb) {
        kp_draw_text_add(script, "set lmargin 10\nset rmargin 2\nset xzeroaxis\n");
        return;
    }
    kp_draw_text_add(script, "set lmargin at screen 0.095\nset rmargin at screen 0.97\n"
                             "set border 3 lc rgb '#404040' lw 1\n"
                             "set grid lt 1 lc rgb '#dddddd' lw 0.7\n"
                             "set xzeroaxis lt 1 lc rgb '#404040' lw 1\n");
}

/* The key stands above the panel, outside its frame, so that it can never cover a curve. */
static void write_key(kp_draw_text *script, const kp_panel *panel, kp_canvas_kind kind)
{
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
    bool column = longest > scales[kind].key_letters;
    kp_draw_text_add(script, "set key above left Left reverse noenhanced %s samplen %s\n",
                     column ? "vertical maxrows 12" : "horizontal", kind == KP_CANVAS_DUMB ? "2" : "3.5");
}

/* "with lines ..." of one series. */
static void write_style(kp_draw_text *script, const kp_series *series, kp_canvas_kind kind, double point)
{
    const kp_line_style *style = kp_line_style_of(series->style);
    if (kind == KP_CANVAS_DUMB) {
        /* lines are told apart by *, #, $ ..., points by A, B, C ...; X and O are the warnings */
        if (series->marks) {
            kp_draw_text_add(script, "with points pt %d ",
                             series->style == KP_STYLE_CROSS  ? 24
                             : series->style == KP_STYLE_RING ? 15
                                                              : series->style + 1);
        } else {
            kp_draw_text_add(script, "with lines lt %d ", series->style + 1);
        }
        return;
    }
    if (series->marks) {
        kp_draw_text_add(script, "with points pt %d lw 2 lc rgb '%s' ps ", style->mark, style->colour);
        kp_draw_text_number(script, point * scales[kind].mark);
    } else {
        size_t apart = series->count / MARKS_ON_A_LINE;
        kp_draw_text_add(script, "with linespoints dt %s pt %d pi %zu lw 2.2 lc rgb '%s' ps ", style->dash, style->mark,
                         apart > 0 ? apart : 1, style->colour);
        kp_draw_text_number(script, scales[kind].mark);
    }
    kp_draw_text_add(script, " ");
}

/* "using ... with ..." of an area: filled, or in a terminal its two edges in one letter. */
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

/* "using ... with ..." of a part in a drawing: grey enough to be told apart in print. */
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

/* Areas first and marks last: the key has the same order, and nothing hides a mark. */
static void write_plot_command(kp_draw_text *script, const kp_panel *panel, size_t index, kp_canvas_kind kind)
{
    const char *separator = "plot ";
    enum { AREAS, LINES, MARKS, TURNS };
    for (size_t turn = 0; turn < TURNS * panel->series_count; turn++) {
        size_t s = turn % panel->series_count;
        if (kind == KP_CANVAS_DUMB && turn / panel->series_count == AREAS) {
            s = panel->series_count - 1 - s; /* of areas stacked up, the lower one's letter marks the common edge */
        }
        const kp_series *series = &panel->series[s];
        size_t its_turn = series->base != NULL ? AREAS : series->marks ? MARKS : LINES;
        bool left_out = kind == KP_CANVAS_DUMB && series->style >= KP_STYLE_HEAT;
        if (its_turn != turn / panel->series_count || !series_has_points(series) || left_out) {
            continue;
        }
        kp_draw_text_add(script, "%s$panel%zu_line%zu ", separator, index, s);
        separator = ", \\\n     ";
        if (series->base != NULL && panel->section) {
            write_solid(script, series, kind);
        } else if (series->base != NULL) {
            write_area(script, series, index, s, kind);
        } else {
            kp_draw_text_add(script, "using 1:2 ");
            write_style(script, series, kind, panel->section ? DRAWN_POINT : SINGLE_POINT);
        }
        if (series->in_key) {
            kp_draw_text_add(script, "title ");
            kp_draw_text_quoted(script, series->label);
        } else {
            kp_draw_text_add(script, "notitle");
        }
    }
    if (strcmp(separator, "plot ") == 0) {
        kp_draw_text_add(script, "plot 1e30 notitle"); /* outside the range: an empty frame, no complaint */
    }
    kp_draw_text_add(script, "\n");
}

/* Where to break a line of at most `letters` bytes: at the last space that fits, else in front of a whole character. */
static size_t line_break(const char *words, size_t letters)
{
    size_t length = strlen(words);
    if (length <= letters) {
        return length;
    }
    for (size_t i = letters; i > letters / 2; i--) {
        if (words[i] == ' ') {
            return i;
        }
    }
    while (letters > 1 && ((unsigned char)words[letters] & 0xC0) == 0x80) {
        letters--;
    }
    return letters;
}

static size_t note_line_count(const char *note, size_t letters)
{
    size_t lines = 0;
    while (*note != '\0') {
        note += line_break(note, letters);
        note += *note == ' ';
        lines++;
    }
    return lines;
}

static void write_font(kp_draw_text *script, int size)
{
    if (size > 0) {
        kp_draw_text_add(script, " font ',%d' tc rgb '#303030'", size);
    }
}

/* Title on top, note at the foot; labels of the first panel, placed on the whole canvas. */
static void write_title_and_note(kp_draw_text *script, const kp_figure *figure, const kp_canvas *canvas, size_t letters,
                                 double line_height)
{
    bool dumb = canvas->kind == KP_CANVAS_DUMB;
    if (figure->title[0] != '\0') {
        kp_draw_text_add(script, "set label 1 ");
        kp_draw_text_quoted(script, figure->title);
        kp_draw_text_add(script, " noenhanced at screen 0.5, screen ");
        kp_draw_text_number(script, dumb ? 1.0 - 0.5 * line_height : 1.0 - 0.5 * TITLE_STRIP / canvas->height);
        kp_draw_text_add(script, " center");
        write_font(script, scales[canvas->kind].title);
        kp_draw_text_add(script, "\n");
    }
    const char *note = figure->note;
    size_t lines = note_line_count(note, letters);
    for (size_t i = 0; i < lines; i++) {
        size_t length = line_break(note, letters);
        char line[sizeof figure->note];
        snprintf(line, sizeof line, "%.*s", (int)length, note);
        note += length;
        note += *note == ' ';
        kp_draw_text_add(script, "set label %zu ", i + 2);
        kp_draw_text_quoted(script, line);
        kp_draw_text_add(script, " noenhanced at screen 0.01, screen ");
        kp_draw_text_number(script, line_height * ((double)(lines - i) - 0.5));
        kp_draw_text_add(script, " left");
        write_font(script, scales[canvas->kind].note);
        kp_draw_text_add(script, "\n");
    }
}

/* top: of the panel, as a share of the canvas; unit: height of a panel of weight 1, in pixels or lines. */
static void write_panel(kp_draw_text *script, const kp_figure *figure, size_t index, const kp_canvas *canvas,
                        double top, double unit)
{
    kp_canvas_kind kind = canvas->kind;
    bool dumb = kind == KP_CANVAS_DUMB;
    const kp_panel *panel = &figure->panels[index];
    bool label_below =
        index + 1 == figure->panel_count || strcmp(figure->panels[index + 1].x_label, panel->x_label) != 0;
    char title[sizeof panel->title + 48];
    snprintf(title, sizeof title, "%s", panel->title);
    if (panel->section && dumb) {
        size_t used = strlen(title);
        snprintf(title + used, sizeof title - used, "; not to scale here");
    }
    kp_draw_text_add(script, "set title ");
    kp_draw_text_quoted(script, title);
    kp_draw_text_add(script, " noenhanced\nset xlabel ");
    kp_draw_text_quoted(script, label_below ? panel->x_label : "");
    kp_draw_text_add(script, " noenhanced\nset ylabel ");
    kp_draw_text_quoted(script, dumb ? "" : panel->y_label);
    kp_draw_text_add(script, " noenhanced\n");
    if (dumb) {
        /* A terminal has no upright letters: the quantity stands above its axis. */
        kp_draw_text_add(script, "set title ");
        char heading[sizeof title + sizeof panel->y_label + 8];
        snprintf(heading, sizeof heading, "%s%s%s", panel->y_label, title[0] != '\0' ? "; " : "", title);
        kp_draw_text_quoted(script, heading);
        kp_draw_text_add(script, " noenhanced\n");
    }
    if (!panel->section || dumb) {
        write_key(script, panel, kind);
    }
    if (panel->section) {
        kp_section_write(script, figure, index, canvas, top, unit);
    } else {
        write_range(script, "x", x_range_of(figure, panel));
        write_range(script, "y", y_range_of(panel));
    }
    write_plot_command(script, panel, index, kind);
}

void kp_script_write(kp_draw_text *script, const kp_figure *figure, const kp_canvas *canvas)
{
    bool dumb = canvas->kind == KP_CANVAS_DUMB;
    size_t letters = dumb ? (size_t)canvas->width - 2 : NOTE_LINE_LETTERS;
    double line_height = dumb ? 1.0 / canvas->height : NOTE_LINE / canvas->height; /* [-] share of the canvas */
    double foot = line_height * (double)note_line_count(figure->note, letters);
    double head = figure->title[0] == '\0' ? 0.0 : dumb ? line_height : TITLE_STRIP / canvas->height;
    double weights = 0.0;
    for (size_t p = 0; p < figure->panel_count; p++) {
        weights += figure->panels[p].weight;
    }

    write_terminal(script, canvas);
    write_data(script, figure);
    write_looks(script, dumb);
    write_title_and_note(script, figure, canvas, letters, line_height);
    kp_draw_text_add(script, "set multiplot\n");
    double top = 1.0 - head;
    for (size_t p = 0; p < figure->panel_count; p++) {
        double height = (1.0 - head - foot) * figure->panels[p].weight / weights;
        kp_draw_text_add(script, "set origin 0,");
        kp_draw_text_number(script, top - height);
        kp_draw_text_add(script, "\nset size 1,");
        kp_draw_text_number(script, height);
        kp_draw_text_add(script, "\n");
        write_panel(script, figure, p, canvas, top, (1.0 - head - foot) / weights * canvas->height);
        kp_draw_text_add(script, "unset label\nunset arrow\nset tmargin -1\nset bmargin -1\n");
        top -= height;
    }
    kp_draw_text_add(script, "unset multiplot\n");
}
