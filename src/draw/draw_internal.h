/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Shared inside the draw room: text that grows, the gnuplot script, the gnuplot process. */
#ifndef KP_DRAW_INTERNAL_H
#define KP_DRAW_INTERNAL_H

#include "kneepoint/draw.h"

/* ---- text.c ---------------------------------------------------------------------------------------------------- */

/** Text that grows. When memory runs out, failed is set and later additions do nothing. Set it to zero before use. */
typedef struct kp_draw_text {
    char *data; /* NUL-terminated once something was added */
    size_t length, capacity;
    bool failed;
} kp_draw_text;
/** Appends a formatted phrase of at most 511 bytes; a longer one sets failed. */
void kp_draw_text_add(kp_draw_text *text, const char *format, ...) KP_PRINTF(2, 3);
void kp_draw_text_bytes(kp_draw_text *text, const char *bytes, size_t count);
/** Appends a number with a decimal point, whatever the locale. */
void kp_draw_text_number(kp_draw_text *text, double value);
/** Appends words as a gnuplot string in single quotes: quotes are doubled, characters that steer a terminal or a
    reader (kp_text_character) become blanks, and broken UTF-8 becomes question marks. */
void kp_draw_text_quoted(kp_draw_text *text, const char *words);
/** Appends "set xrange [from:to]" and a line end. axis: "x" or "y". */
void kp_draw_text_range(kp_draw_text *text, const char *axis, double from, double to);
void kp_draw_text_free(kp_draw_text *text);

/* ---- style.c --------------------------------------------------------------------------------------------------- */

typedef enum kp_canvas_kind {
    KP_CANVAS_SVG,
    KP_CANVAS_PNG,
    KP_CANVAS_PDF,
    KP_CANVAS_DUMB, /* characters in a terminal; gnuplot calls this terminal "dumb" */
    KP_CANVAS_WINDOW
} kp_canvas_kind;

/** Font and mark sizes on one kind of canvas. */
typedef struct kp_canvas_scale {
    int text, title, note; /* font sizes in gnuplot's unit for this canvas; 0 without fonts */
    double mark;           /* [-] mark size on a line                                       */
    size_t key_letters;    /* [bytes] the key becomes a column when a label is longer       */
} kp_canvas_scale;
kp_canvas_scale kp_canvas_scale_of(kp_canvas_kind kind);

/** One line style, in gnuplot's terms. */
typedef struct kp_line_style {
    const char *colour; /* #rrggbb            */
    const char *dash;   /* dashtype           */
    int mark;           /* pointtype          */
    const char *fill;   /* fillstyle of areas */
} kp_line_style;
/** Returned: the style; KP_STYLE_CROSS for a number outside 0 to KP_STYLE_LAST. */
const kp_line_style *kp_line_style_of(int style);

/* ---- script.c, panel.c, section.c, above.c --------------------------------------------------------------------- */

/** What a figure is drawn on. */
typedef struct kp_canvas {
    kp_canvas_kind kind;
    double width, height;    /* [px], or characters and lines for KP_CANVAS_DUMB */
    const char *window_name; /* gnuplot's terminal, for KP_CANVAS_WINDOW only    */
} kp_canvas;

/** Where one panel stands on the canvas. */
typedef struct kp_placement {
    double top;  /* [-]  its upper end, as a share of the canvas height, from below */
    double unit; /* [px or lines] height of a panel of weight 1                     */
} kp_placement;

/** Returned: a canvas of the usual width, as tall as the panels need. */
kp_canvas kp_canvas_for(const kp_figure *figure, kp_canvas_kind kind);
/** Writes the whole gnuplot script of a figure. */
void kp_script_write(kp_draw_text *script, const kp_figure *figure, const kp_canvas *canvas);
/** Writes the commands of one panel, up to and including "plot". */
void kp_panel_write(kp_draw_text *script, const kp_figure *figure, size_t index, const kp_canvas *canvas,
                    kp_placement placement);
/** Writes frame, ranges and labels of a section. */
void kp_section_write(kp_draw_text *script, const kp_figure *figure, size_t index, const kp_canvas *canvas,
                      kp_placement placement);
/** Returned: where the column of labels of the sections begins and ends [-], as shares of the canvas width. */
double kp_section_column_from(void);
double kp_section_column_to(void);
/** Writes a view from above: frame, scale of shades, labels, and the plot command.
    Given: placement of the first section that it stands beside. */
void kp_above_write(kp_draw_text *script, const kp_figure *figure, size_t index, const kp_canvas *canvas,
                    kp_placement placement);
/** Writes the points of a series of a view from above, an area as a closed outline. */
void kp_above_write_points(kp_draw_text *script, const kp_series *series);

/* ---- figure.c -------------------------------------------------------------------------------------------------- */

/** Returned: true for the lowest of neighbouring panels with one x label. It names the axis for all of them. Views from
    above stand beside panels, not between them. */
bool kp_panel_names_x_axis(const kp_figure *figure, size_t index);

/* ---- process.c ------------------------------------------------------------------------------------------------- */

#define KP_GNUPLOT_TIME_LIMIT 60.0 /* [s] for gnuplot, which usually takes 0.2 s */
/** Runs `gnuplot -d` on the script and waits for it to end.
    Given:    time_limit [s], after which gnuplot is stopped; output, which takes what gnuplot prints, any bytes. NULL:
              a window, whose output is discarded
    Errors:   KP_SYSTEM when gnuplot is missing, dies, reports an error, or exceeds its time limit; KP_NO_MEMORY */
kp_status kp_gnuplot_run(const kp_draw_text *script, double time_limit, kp_draw_text *output, kp_error *error);

#endif
