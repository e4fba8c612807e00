/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Inside the draw room: growing text, the gnuplot script, the gnuplot process. */
#ifndef KP_DRAW_INTERNAL_H
#define KP_DRAW_INTERNAL_H

#include "kneepoint/draw.h"

/** Text that grows; once memory ran out it stays failed and takes nothing more. Zero it before use. */
typedef struct kp_draw_text {
    char *data; /* NUL at the end once something was added */
    size_t length, capacity;
    bool failed;
} kp_draw_text;
void kp_draw_text_add(kp_draw_text *text, const char *format, ...) KP_PRINTF(2, 3);
void kp_draw_text_bytes(kp_draw_text *text, const char *bytes, size_t count);
void kp_draw_text_number(kp_draw_text *text, double value);
/** 'text' for gnuplot: single quotes doubled, control characters and broken UTF-8 replaced. */
void kp_draw_text_quoted(kp_draw_text *text, const char *words);
void kp_draw_text_free(kp_draw_text *text);

typedef enum kp_canvas_kind {
    KP_CANVAS_SVG,
    KP_CANVAS_PNG,
    KP_CANVAS_PDF,
    KP_CANVAS_DUMB,
    KP_CANVAS_WINDOW
} kp_canvas_kind;

/** What is drawn on. */
typedef struct kp_canvas {
    kp_canvas_kind kind;
    double width, height;    /* pixels; characters and lines for KP_CANVAS_DUMB */
    const char *window_name; /* gnuplot's terminal, KP_CANVAS_WINDOW only */
} kp_canvas;

/** A canvas of the usual width, as tall as the panels want it. */
kp_canvas kp_canvas_for(const kp_figure *figure, kp_canvas_kind kind);
/** The whole gnuplot script of a figure. */
void kp_script_write(kp_draw_text *script, const kp_figure *figure, const kp_canvas *canvas);

/** section.c: how many times as large heights are drawn. unit: height of a panel of weight 1 [px]. */
double kp_section_times(const kp_figure *figure, const kp_canvas *canvas, double unit);
/** section.c: frame, ranges and words of a panel that is a section. top: of the panel, as a share of the canvas; unit:
    height of a panel of weight 1 [px, or lines of a terminal]. */
void kp_section_write(kp_draw_text *script, const kp_figure *figure, size_t index, const kp_canvas *canvas, double top,
                      double unit);

/** One line style: gnuplot's words for colour, dash and mark. */
typedef struct kp_line_style {
    const char *colour; /* #rrggbb */
    const char *dash;   /* gnuplot dashtype */
    int mark;           /* gnuplot pointtype */
    const char *fill;   /* gnuplot fillstyle of an area */
} kp_line_style;
const kp_line_style *kp_line_style_of(int style);

/** Where gnuplot's standard output goes. */
typedef struct kp_gnuplot_output {
    int file;           /* open descriptor, or -1 for none of these: it goes to `text` */
    kp_draw_text *text; /* NULL: to nowhere (a window) */
} kp_gnuplot_output;
/** Runs `gnuplot -d` on the script and waits for it.
    Errors: KP_SYSTEM: not there, died, ended with a complaint, took longer than its time. */
kp_status kp_gnuplot_run(const kp_draw_text *script, kp_gnuplot_output output, kp_error *error);

#endif
