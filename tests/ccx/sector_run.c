/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs ccx on the deck of a sector and reads deck.frd: for each step a block of displacements and one of stresses, a
   line a node, in fixed columns. */
#include "run.h"
#include "sector.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { NODE_COLUMNS = 13, VALUE_COLUMNS = 12, VALUES = 6 };

/* What is wanted of one step: the lift at each lattice angle of the land, the stress at crest and valley. */
typedef struct reading {
    const sector_mesh *mesh;
    double lift[2 * SECTOR_GRID]; /* [mm] from where the clamp was at first */
    double crest, valley;         /* [MPa] von Mises */
    size_t found;
} reading;

static size_t last_angle(const sector_mesh *m)
{
    return 2 * (m->angle_count - 1);
}

static double von_mises(const double s[VALUES])
{
    double normal = pow(s[0] - s[1], 2) + pow(s[1] - s[2], 2) + pow(s[2] - s[0], 2);
    return sqrt(0.5 * normal + 3 * (s[3] * s[3] + s[4] * s[4] + s[5] * s[5]));
}

static void take_lift(reading *out, size_t node, const double *u)
{
    for (size_t j = 0; j <= last_angle(out->mesh); j++) {
        if (node == sector_node(out->mesh, 0, 2 * out->mesh->land, j, 0)) {
            out->lift[j] = u[2];
            out->found++;
        }
    }
}

static void take_stress(reading *out, size_t node, const double *stress)
{
    const sector_mesh *m = out->mesh;
    if (node == sector_node(m, 0, 2 * m->stress, 0, 0)) {
        out->crest = von_mises(stress);
        out->found++;
    } else if (node == sector_node(m, 0, 2 * m->stress, last_angle(m), 0)) {
        out->valley = von_mises(stress);
        out->found++;
    }
}

/* " -1", the node in ten columns, up to six values in twelve each. Returned: number of values. */
static size_t read_line(const char *line, size_t *node, double values[VALUES])
{
    char field[VALUE_COLUMNS + 1] = "";
    size_t length = strcspn(line, "\r\n"), count = 0;
    if (strncmp(line, " -1", 3) != 0 || length < NODE_COLUMNS)
        return 0;
    memcpy(field, line + 3, NODE_COLUMNS - 3);
    *node = strtoul(field, NULL, 10);
    for (; count < VALUES && NODE_COLUMNS + (count + 1) * VALUE_COLUMNS <= length; count++) {
        memcpy(field, line + NODE_COLUMNS + count * VALUE_COLUMNS, VALUE_COLUMNS);
        field[VALUE_COLUMNS] = '\0';
        values[count] = strtod(field, NULL);
    }
    return count;
}

/* Simpson's rule over each element round the sector; negative values count as 0 where open is asked for. [mm] */
static double mean_lift(const reading *at, double less, bool open)
{
    const sector_mesh *m = at->mesh;
    double sum = 0;
    for (size_t j = 0; j + 1 < m->angle_count; j++) {
        double part = 0;
        for (size_t k = 0; k < 3; k++) {
            double lift = at->lift[2 * j + k] - less;
            part += (k == 1 ? 4 : 1) * (open ? fmax(0, lift) : lift) / 6;
        }
        sum += part * (m->angle[j + 1] - m->angle[j]);
    }
    return sum / m->angle[m->angle_count - 1];
}

static sector_result result_of(const reading *at)
{
    const sector_mesh *m = at->mesh;
    double dish = m->stack->dish > 0 ? 1e3 * m->stack->dish : 0; /* [mm] that the clamp was lowered by */
    return (sector_result){.mean = 1e-3 * (mean_lift(at, 0, false) + dish),
                           .crest = 1e-3 * (at->lift[0] + dish),
                           .valley = 1e-3 * (at->lift[last_angle(m)] + dish),
                           .opening = 1e-3 * mean_lift(at, dish > 0 ? 0 : 1e3 * m->stack->dish, true),
                           .stress_crest = 1e6 * at->crest,
                           .stress_valley = 1e6 * at->valley};
}

static void read_results(const run_folder *folder, const sector_mesh *m, size_t loads, sector_result *results)
{
    char path[2 * RUN_PATH], line[256];
    reading at = {.mesh = m};
    size_t skipped = m->stack->dish > 0 ? 1 : 0, step = 0;
    enum { NOTHING, LIFT, STRESS } block = NOTHING;
    run_path(folder, "deck.frd", path);
    FILE *file = fopen(path, "r");
    while (file && fgets(line, sizeof line, file)) {
        size_t node = 0;
        double values[VALUES] = {0};
        if (strstr(line, " -4  DISP"))
            block = LIFT;
        else if (strstr(line, " -4  STRESS"))
            block = STRESS;
        else if (strncmp(line, " -3", 3) == 0 && block == STRESS) { /* the step ends with its stresses */
            if (step >= skipped && step < skipped + loads && at.found == last_angle(m) + 3)
                results[step - skipped] = result_of(&at);
            else if (step >= skipped)
                run_give_up(folder, "ccx did not give all lifts and stresses");
            step++;
            at.found = 0;
            block = NOTHING;
        } else if (block == LIFT && read_line(line, &node, values) == 3)
            take_lift(&at, node, values);
        else if (block == STRESS && read_line(line, &node, values) == VALUES)
            take_stress(&at, node, values);
    }
    if (file)
        fclose(file);
    if (step != skipped + loads)
        run_give_up(folder, "ccx did not give all steps");
}

elements_seconds sector_solve(const kp_stack *stack, const sector_options *options, size_t loads,
                              const double *pressures, sector_result *results)
{
    run_folder at;
    sector_mesh *m = malloc(sizeof *m);
    FILE *file = run_begin(&at);
    if (!m)
        run_give_up(&at, "no memory for a mesh");
    sector_mesh_make(m, stack, options);
    sector_write(file, m, loads, pressures);
    if (ferror(file) | fclose(file))
        run_give_up(&at, "the deck cannot be written");
    elements_seconds seconds = run_ccx(&at);
    read_results(&at, m, loads, results);
    run_end(&at);
    free(m);
    return seconds;
}
