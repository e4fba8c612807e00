/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sheet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { NAME_WIDTH = 34, GAP = 2 };

static int width_of(const sheet_column *column)
{
    enum { MIN_WIDTH = 8 };
    int heading = (int)strlen(column->heading);
    return GAP + (heading > MIN_WIDTH ? heading : MIN_WIDTH);
}

void sheet_begin(sheet *s)
{
    s->rows = 0;
    if (s->json) {
        printf(",\n  \"%s\": [", s->key);
        return;
    }
    printf("\n%s\n%-*s", s->title, NAME_WIDTH, "");
    for (size_t i = 0; i < s->column_count; i++) {
        if (s->columns[i].scale != 0)
            printf("%*s", width_of(&s->columns[i]), s->columns[i].heading);
    }
    printf("\n");
}

void sheet_row(sheet *s, const char *name, const double *values)
{
    if (s->json)
        printf("%s\n    {\"case\": \"%s\"", s->rows > 0 ? "," : "", name);
    else
        printf("  %-*s", NAME_WIDTH - 2, name);
    for (size_t i = 0; i < s->column_count; i++) {
        const sheet_column *column = &s->columns[i];
        if (s->json && isfinite(values[i]))
            printf(", \"%s\": %.9g", column->key, values[i]);
        else if (s->json)
            printf(", \"%s\": null", column->key);
        else if (column->scale != 0 && isfinite(values[i]))
            printf("%*.*f", width_of(column), column->decimals, column->scale * values[i]);
        else if (column->scale != 0)
            printf("%*s", width_of(column), "-");
    }
    printf(s->json ? "}" : "\n");
    fflush(stdout);
    s->rows++;
}

void sheet_end(sheet *s, const char *note)
{
    if (s->json)
        printf("\n  ]");
    else if (note)
        printf("  %s\n", note);
}
