/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The figure as data: its panels and series. */
#include "draw/draw_internal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

kp_status kp_figure_begin(kp_figure *figure, const char *title, size_t panels, kp_error *error)
{
    if (panels < 1) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "a figure needs at least one panel, not %zu", panels);
    }

    kp_panel *made = calloc(panels, sizeof *made);
    if (made == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "no memory for a figure of %zu panels", panels);
    }

    /* Panels of equal height, until the caller says otherwise. */
    for (size_t i = 0; i < panels; i++) {
        made[i].weight = 1.0;
    }

    memset(figure, 0, sizeof *figure);
    snprintf(figure->title, sizeof figure->title, "%s", title);
    figure->panel_count = panels;
    figure->panels = made;
    return KP_OK;
}

/* The next free series of the panel, not yet counted; NULL when memory ran out. */
static kp_series *next_series(kp_panel *panel)
{
    if (panel->series_count == panel->series_capacity) {
        size_t capacity = panel->series_capacity == 0 ? 8 : 2 * panel->series_capacity;
        kp_series *grown = realloc(panel->series, capacity * sizeof *grown);
        if (grown == NULL) {
            return NULL;
        }
        panel->series = grown;
        panel->series_capacity = capacity;
    }
    return &panel->series[panel->series_count];
}

/* Appends a series with a copy of its numbers. base: NULL for a line. */
static kp_status add(kp_figure *figure, size_t panel, const char *label, size_t count, const double *x, const double *y,
                     const double *base, int style, kp_series **out, kp_error *error)
{
    if (panel >= figure->panel_count) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "panel %zu: the figure has %zu", panel + 1, figure->panel_count);
    }
    if (style < 0 || style > KP_STYLE_LAST) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "line style %d is outside 0 to %d", style, KP_STYLE_LAST);
    }

    /* One block holds x, y and base, so that one free releases all three. */
    kp_series *series = next_series(&figure->panels[panel]);
    double *copy = malloc((count > 0 ? count : 1) * 3 * sizeof *copy);
    if (series == NULL || copy == NULL) {
        free(copy);
        return kp_error_set(error, KP_NO_MEMORY, "no memory for a line of %zu points", count);
    }

    memset(series, 0, sizeof *series);
    snprintf(series->label, sizeof series->label, "%s", label);
    series->count = count;

    series->x = copy;
    series->y = copy + count;
    if (count > 0) {
        memcpy(series->x, x, count * sizeof *x);
        memcpy(series->y, y, count * sizeof *y);
    }
    if (base != NULL) {
        series->base = copy + 2 * count;
        memcpy(series->base, base, count * sizeof *base);
    }
    series->style = style;

    figure->panels[panel].series_count++;
    *out = series;
    return KP_OK;
}

kp_status kp_figure_add(kp_figure *figure, size_t panel, const char *label, size_t count, const double *x,
                        const double *y, int style, bool marks, bool in_key, kp_error *error)
{
    kp_series *series = NULL;
    kp_status status = add(figure, panel, label, count, x, y, NULL, style, &series, error);
    if (status == KP_OK && series != NULL) {
        series->marks = marks;
        series->in_key = in_key;
    }
    return status;
}

kp_status kp_figure_add_area(kp_figure *figure, size_t panel, const char *label, size_t count, const double *x,
                             const double *base, const double *y, int style, bool in_key, kp_error *error)
{
    kp_series *series = NULL;
    kp_status status = add(figure, panel, label, count, x, y, base, style, &series, error);
    if (status == KP_OK && series != NULL) {
        series->in_key = in_key;
    }
    return status;
}

kp_status kp_figure_label(kp_figure *figure, size_t panel, const char *text, double x, double y, kp_error *error)
{
    if (panel >= figure->panel_count || figure->panels[panel].label_count == KP_PANEL_LABELS) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "panel %zu of %zu: no room for another of %d labels", panel + 1,
                            figure->panel_count, KP_PANEL_LABELS);
    }
    kp_panel_label *label = &figure->panels[panel].labels[figure->panels[panel].label_count++];

    snprintf(label->text, sizeof label->text, "%s", text);
    label->x = x;
    label->y = y;
    return KP_OK;
}

bool kp_panel_names_x_axis(const kp_figure *figure, size_t index)
{
    size_t next = index + 1;
    while (next < figure->panel_count && figure->panels[next].beside > 0) {
        next++;
    }
    return next == figure->panel_count || strcmp(figure->panels[next].x_label, figure->panels[index].x_label) != 0;
}

void kp_figure_free(kp_figure *figure)
{
    if (figure == NULL) {
        return;
    }

    for (size_t i = 0; i < figure->panel_count; i++) {
        for (size_t j = 0; j < figure->panels[i].series_count; j++) {
            free(figure->panels[i].series[j].x); /* the block also holds y and base */
        }
        free(figure->panels[i].series);
    }
    free(figure->panels);

    memset(figure, 0, sizeof *figure);
}
