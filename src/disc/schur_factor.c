/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Cholesky factor L of the Schur complement S, by position in the active set.

   Contacts couple only through a plate that they share: ordered by plate and radius S is block-banded, and L keeps
   within its envelope. The contacts that a programme starts with are ordered so (the banded ones): L stands by columns,
   as far as they reach. Those that join on the way come behind them as rows of their own, which couple with all before;
   there are few, and the next programme orders them in. Such a row is L^-1 times the contact's couplings, which the
   step toward it needs anyhow. One that leaves takes its row and column along; the rest of L changes by its column v,
   L L' + v v', by a rotation a column (Golub and Van Loan, Matrix Computations, section 6.5, from memory: stable, as
   something is added). */
#include "stack_internal.h"

#include "kneepoint/num.h"

#include <math.h>
#include <string.h>

/* Contacts that may have joined before all are ordered anew. */
enum { JOINED_MOST = 24 };

/* Column of a banded position: reciprocal diagonal, then the entries below; row of one that joined: entries before,
   then the reciprocal diagonal. */
static double *line_of(const kp_programme *p, size_t position)
{
    return p->factor + p->place[position] * p->most;
}

/* First position that touches each plate. */
static void find_first(kp_stack_workspace *ws)
{
    kp_programme *p = &ws->programme;
    for (size_t i = 0; i < ws->plate_count; i++) {
        p->first_of[i] = p->count;
    }
    for (size_t i = p->count; i-- > 0;) {
        for (size_t k = 0; k < 2; k++) {
            int plate = ws->gaps[p->active[i]].side[k].plate;
            if (plate >= 0) {
                p->first_of[plate] = i;
            }
        }
    }
}

/* Row `row` of L into the columns: those before it see it as far as the contacts couple. */
static void put_row(kp_programme *p, size_t row, size_t first, const double *entries)
{
    for (size_t j = first; j < row; j++) {
        double *column = line_of(p, j);
        for (size_t k = p->reach[j] + 1; k < row - j; k++) {
            column[k] = 0;
        }
        column[row - j] = entries[j];
        p->reach[j] = row - j;
    }
    p->reach[row] = 0;
}

size_t kp_schur_factor(kp_stack_workspace *ws, size_t from)
{
    kp_programme *p = &ws->programme;
    find_first(ws);
    for (size_t j = 0; j < from; j++) {
        p->reach[j] = j + p->reach[j] < from ? p->reach[j] : from - 1 - j;
    }
    for (size_t i = from; i < p->count; i++) {
        const double *si = p->coupling + p->slot_of[p->active[i]] * p->most;
        size_t first = i;
        for (size_t k = 0; k < 2; k++) {
            int plate = ws->gaps[p->active[i]].side[k].plate;
            first = plate >= 0 && p->first_of[plate] < first ? p->first_of[plate] : first;
        }
        double *x = p->row;
        for (size_t j = first; j < i; j++) {
            x[j] = si[p->slot_of[p->active[j]]];
        }
        double before = si[p->slot_of[p->active[i]]];
        double pivot = before;
        for (size_t j = first; j < i; j++) {
            const double *column = line_of(p, j);
            size_t reach = j + p->reach[j] < i ? p->reach[j] : i - 1 - j;
            double entry = x[j] * column[0];
            x[j] = entry;
            pivot -= entry * entry;
            kp_beside_subtract(reach, entry, column + 1, x + j + 1);
        }
        if (!(pivot > KP_DEPENDENT * before)) {
            return i;
        }
        put_row(p, i, first, x);
        line_of(p, i)[0] = 1 / sqrt(pivot);
    }
    p->banded = p->count;
    return p->count;
}

bool kp_schur_is_long(const kp_programme *p)
{
    return p->count - p->banded > JOINED_MOST;
}

void kp_schur_forward(const kp_programme *p, double *b)
{
    for (size_t i = 0; i < p->banded; i++) {
        const double *column = line_of(p, i);
        double x = b[i] * column[0];
        b[i] = x;
        kp_beside_subtract(p->reach[i], x, column + 1, b + i + 1);
    }
    for (size_t i = p->banded; i < p->count; i++) {
        const double *row = line_of(p, i);
        b[i] = (b[i] - kp_beside_dot(i, row, b)) * row[i];
    }
}

void kp_schur_backward(const kp_programme *p, double *b)
{
    for (size_t i = p->count; i-- > p->banded;) {
        const double *row = line_of(p, i);
        b[i] *= row[i];
        kp_beside_subtract(i, b[i], row, b);
    }
    for (size_t i = p->banded; i-- > 0;) {
        const double *column = line_of(p, i);
        b[i] = (b[i] - kp_beside_dot(p->reach[i], column + 1, b + i + 1)) * column[0];
    }
}

void kp_schur_solve(const kp_programme *p, double *b)
{
    kp_schur_forward(p, b);
    kp_schur_backward(p, b);
}

void kp_schur_join(kp_programme *p, const double *before, double pivot)
{
    double *row = line_of(p, p->count);
    memcpy(row, before, p->count * sizeof *row);
    row[p->count] = 1 / sqrt(pivot);
}

/* Takes position `gone` out of the lines and puts its column into v, by the positions that are left. */
static void take_out(kp_programme *p, size_t gone, double *v)
{
    memset(v, 0, p->count * sizeof *v);
    if (gone < p->banded) {
        memcpy(v + gone, line_of(p, gone) + 1, p->reach[gone] * sizeof *v);
    }
    for (size_t j = 0; j < gone && j < p->banded; j++) {
        size_t at = gone - j;
        if (p->reach[j] >= at) {
            double *column = line_of(p, j);
            memmove(column + at, column + at + 1, (p->reach[j] - at) * sizeof *column);
            p->reach[j]--;
        }
    }
    for (size_t i = p->banded > gone + 1 ? p->banded : gone + 1; i < p->count; i++) {
        double *row = line_of(p, i);
        v[i - 1] = row[gone];
        memmove(row + gone, row + gone + 1, (i - gone) * sizeof *row);
    }
    size_t place = p->place[gone];
    memmove(p->place + gone, p->place + gone + 1, (p->count - 1 - gone) * sizeof *p->place);
    p->place[p->count - 1] = place;
    if (gone < p->banded) {
        memmove(p->reach + gone, p->reach + gone + 1, (p->banded - 1 - gone) * sizeof *p->reach);
        p->banded--;
    }
}

/* What adding v v' does at one column: its own entry, and those below with v's. */
typedef struct rotation {
    double share, stretch, shrink; /* [-] v/L, r/L, L/r */
} rotation;

static rotation rotate_diagonal(double *reciprocal, double v)
{
    double share = v * *reciprocal;
    double stretch = sqrt(1 + share * share);
    *reciprocal /= stretch;
    return (rotation){share, stretch, 1 / stretch};
}

static void rotate(rotation r, double *entry, double *v)
{
    *entry = (*entry + r.share * *v) * r.shrink;
    *v = r.stretch * *v - r.share * *entry;
}

void kp_schur_leave(kp_programme *p, size_t gone)
{
    double *v = p->row;
    take_out(p, gone, v);
    size_t left = p->count - 1;
    for (size_t j = gone; j < left; j++) {
        if (v[j] == 0) {
            continue;
        }
        double *line = line_of(p, j);
        bool banded = j < p->banded;
        rotation r = rotate_diagonal(banded ? line : line + j, v[j]);
        for (size_t k = 1; banded && k <= p->reach[j]; k++) {
            rotate(r, line + k, v + j + k);
        }
        for (size_t i = banded ? p->banded : j + 1; i < left; i++) {
            rotate(r, line_of(p, i) + j, v + i);
        }
    }
}
