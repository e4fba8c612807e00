/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The gnuplot script of a figure: terminal, data, title, note and the place of each panel.
    Every text that may come from a file is written in single quotes with `noenhanced`, because in double quotes gnuplot
    runs what stands between backticks. Every number is written with a decimal point in every locale. */
#include "draw/draw_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double PICTURE_WIDTH = 1200.0;     /* [px]    width at which the pictures are viewed                */
static const double PDF_WIDTH = 25.0;           /* [cm]    width of the same picture as PDF                      */
static const double PANEL_HEIGHT = 520.0;       /* [px]    height of a single panel of weight 1                  */
static const double LATER_PANEL_HEIGHT = 330.0; /* [px]    height that each further panel of weight 1 adds       */
static const double TITLE_STRIP = 52.0;         /* [px]    height of the title                                   */
static const double NOTE_LINE = 22.0;           /* [px]    height of one line of the note                        */
static const size_t NOTE_LINE_LETTERS = 150;    /* [bytes] what fits across PICTURE_WIDTH at the note's font size */

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
    int font = kp_canvas_scale_of(canvas->kind).text;
    int width = (int)canvas->width;
    int height = (int)canvas->height;
    const double pixels_per_cm = PICTURE_WIDTH / PDF_WIDTH;

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

/* Writes an area of a section as a closed line: outward along y, back along base, and to the first point again. */
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

/* Writes a series as rows of x, y and, for an area, base. A point that is not finite breaks the line. */
static void write_points(kp_draw_text *script, const kp_series *series)
{
    for (size_t i = 0; i < series->count; i++) {
        if (!isfinite(series->x[i]) || !isfinite(series->y[i])) {
            kp_draw_text_add(script, "NaN NaN NaN\n");
            continue;
        }

        kp_draw_text_number(script, series->x[i]);
        kp_draw_text_add(script, " ");
        kp_draw_text_number(script, series->y[i]);

        if (series->base != NULL) {
            kp_draw_text_add(script, " ");
            kp_draw_text_number(script, series->base[i]);
        }

        kp_draw_text_add(script, "\n");
    }
}

/* Writes one named block of data for each series. */
static void write_data(kp_draw_text *script, const kp_figure *figure)
{
    for (size_t p = 0; p < figure->panel_count; p++) {
        for (size_t s = 0; s < figure->panels[p].series_count; s++) {
            const kp_series *series = &figure->panels[p].series[s];

            kp_draw_text_add(script, "$panel%zu_line%zu << END_OF_DATA\n", p, s);
            if (figure->panels[p].beside > 0) {
                kp_above_write_points(script, series);
            } else if (figure->panels[p].section && series->base != NULL) {
                write_outline(script, series);
            } else {
                write_points(script, series);
            }

            kp_draw_text_add(script, "END_OF_DATA\n");
        }
    }
}

/* Writes what all panels share: frame, grid, margins, lines through zero. */
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

/* Where to break the first line off, in bytes, when a line holds at most letters of them: at the last space that fits,
   otherwise in front of a whole UTF-8 character. */
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

    /* No space in the second half of the line: break in front of a whole character. */
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

/* Writes title and note as labels placed on the whole canvas. They are drawn with the first panel. line_height: share
   of the canvas. */
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
        write_font(script, kp_canvas_scale_of(canvas->kind).title);
        kp_draw_text_add(script, "\n");
    }

    /* The note stands at the foot, its last line lowest. */
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
        write_font(script, kp_canvas_scale_of(canvas->kind).note);
        kp_draw_text_add(script, "\n");
    }
}

/* Writes a view from above beside the sections before it, of which the last ends at the placement's top, and restores
   what it changes for the panels that follow. */
static void write_view(kp_draw_text *script, const kp_figure *figure, size_t index, const kp_canvas *canvas,
                       kp_placement placement)
{
    size_t beside = figure->panels[index].beside;
    for (size_t i = index - (beside < index ? beside : index); i < index; i++) {
        placement.top += figure->panels[i].weight * placement.unit / canvas->height;
    }
    kp_above_write(script, figure, index, canvas, placement);
    kp_draw_text_add(script, "unset label\nunset object\nset tmargin -1\nset bmargin -1\nset xtics nomirror out\n"
                             "set ytics nomirror out\n");
    write_looks(script, false);
}

void kp_script_write(kp_draw_text *script, const kp_figure *figure, const kp_canvas *canvas)
{
    bool dumb = canvas->kind == KP_CANVAS_DUMB;
    size_t letters = dumb ? (size_t)canvas->width - 2 : NOTE_LINE_LETTERS;
    double line_height = dumb ? 1.0 / canvas->height : NOTE_LINE / canvas->height; /* [-] share of the canvas */

    /* Shares of the canvas: title at the top, note at the foot, panels between them. */
    double foot = line_height * (double)note_line_count(figure->note, letters);
    double head = figure->title[0] == '\0' ? 0.0 : dumb ? line_height : TITLE_STRIP / canvas->height;

    double weights = 0.0;
    for (size_t p = 0; p < figure->panel_count; p++) {
        weights += figure->panels[p].weight;
    }

    /* Data and looks hold for all panels; title and note are drawn with the first one. */
    write_terminal(script, canvas);
    write_data(script, figure);
    write_looks(script, dumb);
    write_title_and_note(script, figure, canvas, letters, line_height);

    /* The panels share the height between title and note by their weights. */
    kp_draw_text_add(script, "set multiplot\n");

    double top = 1.0 - head;
    double unit = (1.0 - head - foot) / weights * canvas->height;
    for (size_t p = 0; p < figure->panel_count; p++) {
        if (figure->panels[p].beside > 0) {
            if (!dumb) {
                write_view(script, figure, p, canvas, (kp_placement){top, unit});
            }
            continue;
        }
        double height = (1.0 - head - foot) * figure->panels[p].weight / weights;
        kp_draw_text_add(script, "set origin 0,");
        kp_draw_text_number(script, top - height);
        kp_draw_text_add(script, "\nset size 1,");
        kp_draw_text_number(script, height);
        kp_draw_text_add(script, "\n");

        kp_panel_write(script, figure, p, canvas, (kp_placement){top, unit});
        kp_draw_text_add(script, "unset label\nunset arrow\nset tmargin -1\nset bmargin -1\n");
        top -= height;
    }

    kp_draw_text_add(script, "unset multiplot\n");
}
