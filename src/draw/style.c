/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Line styles and sizes.
    Colours: the palette of Okabe and Ito, "Color Universal Design" (2008), from memory: eight colours that people with
    any common form of colour blindness can tell apart. Yellow is left out, because it is too pale for a line on white,
    and black is the last style. Dash, mark and hatching differ as well, for grey prints and terminals. */
#include "draw/draw_internal.h"

static const kp_line_style line_styles[KP_STYLE_LAST + 1] = {
    {"#0072B2", "1", 7, "transparent solid 0.22"},          /* blue, unbroken, full circle            */
    {"#D55E00", "(14,6)", 5, "transparent pattern 4"},      /* vermilion, dashed, full square         */
    {"#009E73", "(3,4)", 9, "transparent pattern 5"},       /* bluish green, dotted, full triangle    */
    {"#CC79A7", "(14,5,3,5)", 13, "transparent pattern 2"}, /* reddish purple, dash-dot, full diamond */
    {"#E69F00", "(24,6)", 6, "transparent pattern 6"},      /* orange, long dashes, ring              */
    {"#56B4E9", "(8,4)", 4, "transparent pattern 7"},       /* sky blue, short dashes, open square    */
    {"#000000", "(14,4,3,4,3,4)", 8, "transparent pattern 1"},
    {"#000000", "1", 2, "empty"}, /* cross; black differs from all colours above */
    {"#000000", "1", 6, "empty"}, /* ring */
    /* Five colours in even steps of lightness, from the colour map viridis by N. Smith and S. van der Walt (2015, CC0),
       from memory. */
    {"#440154", "1", 7, "solid 1.0"},
    {"#3b528b", "1", 7, "solid 1.0"},
    {"#21918c", "1", 7, "solid 1.0"},
    {"#5ec962", "1", 7, "solid 1.0"},
    {"#fde725", "1", 7, "solid 1.0"},
    /* Ten of the same map. */
    {"#440154", "1", 7, "solid 1.0"},
    {"#482878", "1", 7, "solid 1.0"},
    {"#3e4a89", "1", 7, "solid 1.0"},
    {"#31688e", "1", 7, "solid 1.0"},
    {"#26828e", "1", 7, "solid 1.0"},
    {"#1f9e89", "1", 7, "solid 1.0"},
    {"#35b779", "1", 7, "solid 1.0"},
    {"#6dcd59", "1", 7, "solid 1.0"},
    {"#b4de2c", "1", 7, "solid 1.0"},
    {"#fde725", "1", 7, "solid 1.0"},
};

/* gnuplot takes font sizes in pixels for SVG and in points elsewhere, and draws the same mark larger in SVG. With these
   sizes the formats look alike. */
static const kp_canvas_scale scales[] = {
    [KP_CANVAS_SVG] = {16, 21, 14, 0.45, 70},   [KP_CANVAS_PNG] = {13, 17, 11, 0.7, 70},
    [KP_CANVAS_PDF] = {10, 13, 8, 0.45, 70},    [KP_CANVAS_DUMB] = {0, 0, 0, 0.0, 22},
    [KP_CANVAS_WINDOW] = {12, 16, 10, 0.7, 70},
};

kp_canvas_scale kp_canvas_scale_of(kp_canvas_kind kind)
{
    return scales[kind];
}

const kp_line_style *kp_line_style_of(int style)
{
    return &line_styles[style < 0 || style > KP_STYLE_LAST ? KP_STYLE_CROSS : style];
}
