/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Setting a stack up: checks, merging, scaling, mesh, load, contacts. */
#include "stack_internal.h"

#include "kneepoint/num.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Elements across the largest shim when the caller does not say. Measured
   against twice as many: see tests/disc/test_convergence.c. */
enum { ELEMENTS_DEFAULT = 12, ELEMENTS_MOST = 400 };
/* Element at the clamp against the mean one, and the part of the span over
 * which it grows. [-] */
#define CLAMP_REFINEMENT 0.35
#define CLAMP_REACH 0.5
/* Breakpoints nearer to each other than this part of an element are one. [-] A
 * disc's own edge is never moved. */
#define BREAKPOINT_CROWD 0.3

static const double two_pi = 6.28318530717958647693;

static kp_status check_disc(const kp_stack *stack, size_t i, kp_error *error) {
  const kp_disc *disc = &stack->discs[i];
  const kp_material *m = &disc->material;
  if (!(disc->thickness > 0) || !isfinite(disc->thickness) || disc->count < 1 ||
      !(disc->outer_radius > 0) || !isfinite(disc->outer_radius)) {
    return kp_error_set(error, KP_OUT_OF_RANGE,
                        "stack line %zu: %d of radius %g m, thickness %g m: "
                        "all must be positive",
                        i + 1, disc->count, disc->outer_radius,
                        disc->thickness);
  }
  if (disc->hole_radius < 0 || !(disc->hole_radius < disc->outer_radius) ||
      disc->slot_count < 0 ||
      (disc->slot_count > 0 &&
       !(disc->slot_width > 0 && disc->slot_inner > 0 &&
         disc->slot_inner < disc->outer_radius &&
         disc->slot_count * disc->slot_width < two_pi * disc->slot_inner))) {
    return kp_error_set(error, KP_OUT_OF_RANGE,
                        "stack line %zu: hole radius %g m must be inside its "
                        "edge at %g m, and %d slots of %g m in "
                        "to radius %g m must leave some shim between them",
                        i + 1, disc->hole_radius, disc->outer_radius,
                        disc->slot_count, disc->slot_width, disc->slot_inner);
  }
  if (!(m->young > 0) || !isfinite(m->young) || !(m->poisson >= 0) ||
      m->poisson > 0.49) {
    return kp_error_set(error, KP_OUT_OF_RANGE,
                        "stack line %zu: Young's modulus %g Pa must be "
                        "positive and Poisson's ratio %g 0 to 0.49",
                        i + 1, m->young, m->poisson);
  }
  return KP_OK;
}

/* Stop or backing washer, and what a sliding grip needs. */
static kp_status check_above(const kp_stack *s, kp_error *error) {
  bool stop = s->stop_count <= KP_STOP_POINTS;
  for (size_t i = 0; stop && i < s->stop_count; i++) {
    stop =
        s->stop_radius[i] > (i > 0 ? s->stop_radius[i - 1] : s->clamp_radius) &&
        s->stop_gap[i] >= 0 && isfinite(s->stop_radius[i]) &&
        isfinite(s->stop_gap[i]);
  }
  if (!stop) {
    return kp_error_set(error, KP_OUT_OF_RANGE,
                        "stack: lift stop or backing washer: at most %d "
                        "points, radii rising from the clamp, %g m, "
                        "and gaps not negative",
                        KP_STOP_POINTS, s->clamp_radius);
  }
  if (!(s->nut_load >= 0 && isfinite(s->nut_load) && s->nut_friction >= 0 &&
        s->nut_friction < 2)) {
    return kp_error_set(error, KP_OUT_OF_RANGE,
                        "stack: clamp load %g N must not be negative and its "
                        "friction coefficient %g 0 to 2",
                        s->nut_load, s->nut_friction);
  }
  return KP_OK;
}

static kp_status check_stack(const kp_stack *s, kp_error *error) {
  if (s->disc_count < 1) {
    return kp_error_set(error, KP_OUT_OF_RANGE, "stack: it has no shim");
  }
  for (size_t i = 0; i < s->disc_count; i++) {
    kp_status status = check_disc(s, i, error);
    if (status != KP_OK) {
      return status;
    }
  }
  double face = s->discs[0].outer_radius;
  bool ordered = s->clamp_radius > 0 && s->port_inner_radius > 0 &&
                 s->land_inner_radius > s->port_inner_radius &&
                 s->land_outer_radius >= s->land_inner_radius &&
                 s->land_outer_radius <= face && s->clamp_radius < face;
  if (!ordered) {
    return kp_error_set(error, KP_OUT_OF_RANGE,
                        "stack: radii clamp %g, port %g, land %g to %g, face "
                        "shim %g m: need 0 < port < land inner "
                        "<= land outer <= face shim, and 0 < clamp < face shim",
                        s->clamp_radius, s->port_inner_radius,
                        s->land_inner_radius, s->land_outer_radius, face);
  }
  if (!(s->load_coverage > 0 && s->load_coverage <= 1) || !isfinite(s->dish)) {
    return kp_error_set(
        error, KP_OUT_OF_RANGE,
        "stack: load coverage %g must be above 0 and at most 1, dish %g m "
        "finite",
        s->load_coverage, s->dish);
  }
  return check_above(s, error);
}

static bool same_plate(const kp_disc *a, const kp_disc *b) {
  return a->outer_radius == b->outer_radius && a->thickness == b->thickness &&
         a->material.young == b->material.young &&
         a->material.poisson == b->material.poisson &&
         a->hole_radius == b->hole_radius && a->slot_count == b->slot_count &&
         a->slot_width == b->slot_width && a->slot_inner == b->slot_inner;
}

/* Where each line is clamped [m]: from the washer toward the piston, each shim
   holds the one before it out to its own edge or to where it is held itself. A
   shim that ends inside that edge is a spacer (its own edge clamps on); one
   whose hole lies outside is a loose ring and clamps nothing. Returns false for
   a face shim that is either. */
typedef enum kp_part { PART_PLATE, PART_SPACER, PART_RING } kp_part;

static bool find_clamps(const kp_stack *s, double *clamp, kp_part *part) {
  double held = s->clamp_radius;
  for (size_t i = s->disc_count; i-- > 0;) {
    const kp_disc *disc = &s->discs[i];
    clamp[i] = held;
    if (disc->hole_radius > held) {
      part[i] = PART_RING;
    } else if (disc->outer_radius <= held) {
      part[i] = PART_SPACER;
      held = disc->outer_radius;
    } else {
      part[i] = PART_PLATE;
    }
  }
  return part[0] == PART_PLATE && clamp[0] <= s->port_inner_radius;
}

static void start_plate(kp_stack_workspace *ws, kp_plate *plate,
                        const kp_disc *disc, double clamp, kp_part part) {
  bool ring = part == PART_RING;
  plate->inner = (ring ? disc->hole_radius : clamp) / ws->length;
  plate->outer = disc->outer_radius / ws->length;
  plate->bottom = ws->pack;
  plate->ring = ring;
  plate->nu = disc->material.poisson;
  plate->young = disc->material.young / ws->modulus;
  plate->one_thickness = disc->thickness / ws->height;
  plate->slot_count = disc->slot_count;
  plate->slot_width = disc->slot_width / ws->length;
  plate->slot_inner = disc->slot_inner / ws->length;
  plate->fixed_first = ring ? 0 : KP_FIX_LIFT | KP_FIX_SLOPE;
  if (!ring && ws->stack.grip == KP_GRIP_HELD) {
    plate->fixed_first |= KP_FIX_STRETCH;
  }
}

/* The elastic ring under the clamp, and its friction: N_r = k u there, k = (E
   t/r_c)/[(r_c^2+r_h^2)/(r_c^2-r_h^2) - nu] (Lame's thick ring, plane stress:
   from memory). Both faces of the pack rub with the nut's load; the shims share
   that. */
static kp_status set_grip(kp_stack_workspace *ws, kp_plate *plate, size_t line,
                          int clamped, kp_error *error) {
  const kp_disc *disc = &ws->discs[line];
  double outer = plate->inner * ws->length;
  double hole = disc->hole_radius;
  if (plate->ring || ws->stack.grip == KP_GRIP_HELD) {
    return KP_OK;
  }
  if (!(hole > 0 && hole < outer)) {
    return kp_error_set(error, KP_OUT_OF_RANGE,
                        "stack line %zu: a sliding grip needs the shim's hole: "
                        "radius %g m must be above 0 and "
                        "below the clamp, %g m",
                        line + 1, hole, outer);
  }
  double ratio = (outer * outer + hole * hole) / (outer * outer - hole * hole);
  plate->grip = (1 - plate->nu * plate->nu) / (ratio - plate->nu);
  double share = 2 * ws->stack.nut_friction * ws->stack.nut_load * disc->count /
                 (two_pi * clamped);
  plate->slip =
      share * ws->length / (ws->modulus * pow(ws->height, 3)) / plate->membrane;
  return KP_OK;
}

static void add_to_plate(kp_stack_workspace *ws, kp_plate *plate,
                         const kp_disc *disc) {
  double t = disc->thickness / ws->height;
  double nu = disc->material.poisson;
  plate->thickness += disc->count * t;
  plate->membrane += disc->count * plate->young * t / (1 - nu * nu);
  plate->bending +=
      disc->count * plate->young * t * t * t / (12 * (1 - nu * nu));
}

/* Neighbours alike deflect together exactly: one plate with their stiffness
 * added. */
static kp_status merge(kp_stack_workspace *ws, const double *clamp,
                       const kp_part *part, kp_error *error) {
  int clamped = 0;
  size_t n = ws->stack.disc_count;
  for (size_t i = 0; i < n; i++) {
    clamped += part[i] == PART_PLATE ? ws->discs[i].count : 0;
  }
  for (size_t i = 0; i < n; i++) {
    const kp_disc *disc = &ws->discs[i];
    double height = disc->count * disc->thickness / ws->height;
    if (part[i] == PART_SPACER) {
      ws->plate_of[i] = KP_NO_PLATE;
    } else {
      bool joins = i > 0 && part[i] != PART_RING && part[i - 1] == part[i] &&
                   same_plate(disc, disc - 1);
      if (!joins) {
        start_plate(ws, &ws->plates[ws->plate_count++], disc, clamp[i],
                    part[i]);
      }
      ws->plate_of[i] = ws->plate_count - 1;
      add_to_plate(ws, &ws->plates[ws->plate_count - 1], disc);
    }
    ws->pack += part[i] == PART_RING ? 0 : height;
  }
  for (size_t i = 0; i < n; i++) {
    if (ws->plate_of[i] != KP_NO_PLATE) {
      kp_status status =
          set_grip(ws, &ws->plates[ws->plate_of[i]], i, clamped, error);
      if (status != KP_OK) {
        return status;
      }
    }
  }
  return KP_OK;
}

static kp_status classify(kp_stack_workspace *ws, kp_error *error) {
  size_t n = ws->stack.disc_count;
  ws->plates = calloc(n, sizeof *ws->plates);
  ws->plate_of = calloc(n, sizeof *ws->plate_of);
  double *clamp = calloc(n, sizeof *clamp);
  kp_part *part = calloc(n, sizeof *part);
  kp_status status = KP_OK;
  if (!ws->plates || !ws->plate_of || !clamp || !part) {
    status =
        kp_error_set(error, KP_NO_MEMORY, "stack: no memory for %zu shims", n);
  } else if (!find_clamps(&ws->stack, clamp, part)) {
    status = kp_error_set(error, KP_OUT_OF_RANGE,
                          "stack: the face shim, radius %g m, must be clamped "
                          "inside the port: its clamp is at %g m, "
                          "the port begins at %g m",
                          ws->discs[0].outer_radius, clamp[0],
                          ws->stack.port_inner_radius);
  } else {
    status = merge(ws, clamp, part, error);
  }
  free(clamp);
  free(part);
  return status;
}

static int descending(const void *a, const void *b) {
  double x = *(const double *)a;
  double y = *(const double *)b;
  return (x < y) - (x > y);
}

/* Breakpoints of the whole stack, ascending: clamp, every tip, land and port
 * radii that do not crowd those. */
static size_t breakpoints_of(const kp_stack_workspace *ws,
                             const kp_mesh_rule *rule, double *at) {
  double wish[KP_MAX_NODES];
  size_t wishes = 0;
  for (size_t i = 0; i < ws->plate_count && wishes + 5 < KP_MAX_NODES; i++) {
    wish[wishes++] = ws->plates[i].outer;
    if (ws->plates[i].ring) {
      wish[wishes++] = ws->plates[i].inner;
    }
  }
  qsort(wish, wishes, sizeof *wish, descending);
  wish[wishes++] = ws->stack.land_inner_radius / ws->length;
  wish[wishes++] = ws->stack.land_outer_radius / ws->length;
  wish[wishes++] = ws->stack.port_inner_radius / ws->length;
  size_t count = 0;
  at[count++] = rule->clamp;
  for (size_t k = 0; k < wishes; k++) {
    bool crowded = false;
    for (size_t i = 0; i < count; i++) {
      crowded = crowded || fabs(wish[k] - at[i]) <
                               BREAKPOINT_CROWD * kp_mesh_size(rule, wish[k]);
    }
    if (!crowded && wish[k] > rule->clamp && count < KP_MAX_NODES / 2) {
      at[count++] = wish[k];
    }
  }
  for (size_t i = 1; i < count;
       i++) { /* insertion sort: few and nearly sorted */
    for (size_t k = i; k > 0 && at[k] < at[k - 1]; k--) {
      double swap = at[k];
      at[k] = at[k - 1];
      at[k - 1] = swap;
    }
  }
  return count;
}

/* The plate's own nodes: its inner edge, the common breakpoints inside it, and
 * its outer edge. */
static size_t nodes_of(const kp_mesh_rule *rule, size_t count, const double *at,
                       double inner, double outer, double *nodes) {
  double own[KP_MAX_NODES];
  size_t n = 0;
  own[n++] = inner;
  for (size_t i = 0; i < count && at[i] < outer; i++) {
    double crowd = BREAKPOINT_CROWD * kp_mesh_size(rule, at[i]);
    if (at[i] - inner >= crowd && outer - at[i] >= crowd) {
      own[n++] = at[i];
    }
  }
  own[n++] = outer;
  return kp_mesh_nodes(rule, n, own, KP_MAX_NODES, nodes);
}

/* Doubles that a plate of some nodes needs; the same walk lays the arrays out
 * when base is given. */
static size_t lay_out(kp_plate *p, double *base) {
  size_t n = p->nodes;
  size_t points = (n - 1) * KP_GAUSS;
  size_t used = 0;
#define TAKE(field, amount)                                                    \
  do {                                                                         \
    if (base) {                                                                \
      field = (void *)(base + used);                                           \
    }                                                                          \
    used += (amount);                                                          \
  } while (0)
  TAKE(p->rho, n);
  TAKE(p->weight, points);
  TAKE(p->slope_shape, 4 * points);
  TAKE(p->stretch_shape, 4 * points);
  TAKE(p->bend, 2 * n * KP_FIELD_ROW);
  TAKE(p->stretch, 2 * n * KP_FIELD_ROW);
  TAKE(p->stretch_factor, 2 * n * KP_FIELD_ROW);
  TAKE(p->slip_factor, 2 * n * KP_FIELD_ROW);
  TAKE(p->state, 4 * n);
  TAKE(p->start, 4 * n);
  TAKE(p->trial, 4 * n);
  TAKE(p->force, 4 * n);
  TAKE(p->step, 4 * n);
  TAKE(p->load, 4 * n);
  TAKE(p->factor, 4 * n * KP_JOINT_ROW);
#undef TAKE
  p->points = points;
  return used;
}

static double pressure_profile(const kp_stack *s, double r) {
  if (r <= s->land_inner_radius) {
    return 1;
  }
  return log(s->land_outer_radius / r) /
         log(s->land_outer_radius / s->land_inner_radius);
}

/* Gauss-Legendre, six points: Abramowitz and Stegun, table 25.4 (from memory,
 * checked by a test). */
static const double load_place[6] = {
    -0.93246951420315202781, -0.66120938646626451366, -0.23861918608319690863,
    0.23861918608319690863,  0.66120938646626451366,  0.93246951420315202781};
static const double load_weight[6] = {
    0.17132449237917034504, 0.36076157304813860757, 0.46791393457269104739,
    0.46791393457269104739, 0.36076157304813860757, 0.17132449237917034504};

/* Adds the work of unit pressure between two radii [rho] in one element's
 * reach. */
static void load_piece(kp_stack_workspace *ws, double from, double to) {
  kp_plate *face = &ws->plates[0];
  for (size_t g = 0; g < 6; g++) {
    double rho = 0.5 * (from + to) + 0.5 * (to - from) * load_place[g];
    double n[4];
    size_t element = kp_plate_shape(face, rho, n, NULL, NULL);
    double work = 0.5 * (to - from) * load_weight[g] * rho *
                  pressure_profile(&ws->stack, rho * ws->length);
    double *at = face->load + KP_NODE_DOFS * element;
    at[0] += work * n[0];
    at[1] += work * n[1];
    at[4] += work * n[2];
    at[5] += work * n[3];
  }
}

static void make_load(kp_stack_workspace *ws, double line_load) {
  kp_plate *face = &ws->plates[0];
  if (line_load != 0) {
    face->load[KP_NODE_DOFS * (face->nodes - 1)] =
        line_load / ws->length * face->outer;
    return;
  }
  double cut[3] = {ws->stack.port_inner_radius / ws->length,
                   ws->stack.land_inner_radius / ws->length,
                   ws->stack.land_outer_radius / ws->length};
  for (size_t e = 0; e + 1 < face->nodes; e++) {
    for (size_t k = 0; k < 2; k++) {
      double from = fmax(face->rho[e], cut[k]);
      double to = fmin(face->rho[e + 1], cut[k + 1]);
      if (to > from) {
        load_piece(ws, from, to);
      }
    }
  }
}

/* Room for L^-1 of every contact's columns. */
static kp_status give_forward(kp_stack_workspace *ws, kp_error *error) {
  size_t total = 0;
  for (int pass = 0; pass < 2; pass++) {
    size_t used = 0;
    for (size_t g = 0; g < ws->gap_count; g++) {
      for (size_t k = 0; k < 2; k++) {
        kp_side *side = &ws->gaps[g].side[k];
        if (side->plate < 0) {
          continue;
        }
        if (pass == 1) {
          side->forward = ws->forward + used;
        }
        used += KP_NODE_DOFS * ws->plates[side->plate].nodes;
      }
    }
    total = used;
    if (pass == 0) {
      ws->forward = malloc(total * sizeof *ws->forward);
      if (!ws->forward) {
        return kp_error_set(error, KP_NO_MEMORY,
                            "stack: no memory for its contacts");
      }
    }
  }
  return KP_OK;
}

static kp_status make_plates(kp_stack_workspace *ws, const kp_mesh_rule *rule,
                             kp_error *error) {
  double at[KP_MAX_NODES];
  double nodes[KP_MAX_NODES];
  size_t breakpoints = breakpoints_of(ws, rule, at);
  size_t total = 0;
  for (size_t i = 0; i < ws->plate_count; i++) {
    ws->plates[i].nodes = nodes_of(rule, breakpoints, at, ws->plates[i].inner,
                                   ws->plates[i].outer, nodes);
    total += lay_out(&ws->plates[i], NULL);
  }
  ws->arena = calloc(total, sizeof(double));
  if (!ws->arena) {
    return kp_error_set(error, KP_NO_MEMORY, "stack: no memory for %zu plates",
                        ws->plate_count);
  }
  double *base = ws->arena;
  for (size_t i = 0; i < ws->plate_count; i++) {
    kp_plate *plate = &ws->plates[i];
    base += lay_out(plate, base);
    nodes_of(rule, breakpoints, at, plate->inner, plate->outer, nodes);
    memcpy(plate->rho, nodes, plate->nodes * sizeof *nodes);
    kp_plate_prepare(plate);
  }
  size_t count = kp_mesh_nodes(rule, breakpoints, at, KP_MAX_NODES, nodes);
  kp_status status = kp_contact_build(ws, rule, count, nodes, error);
  return status == KP_OK ? give_forward(ws, error) : status;
}

static kp_status build(kp_stack_workspace *ws, const kp_stack_options *options,
                       kp_error *error) {
  ws->height = ws->discs[0].thickness;
  ws->modulus = ws->discs[0].material.young;
  for (size_t i = 0; i < ws->stack.disc_count; i++) {
    ws->length = fmax(ws->length, ws->discs[i].outer_radius);
  }
  kp_status status = classify(ws, error);
  if (status != KP_OK) {
    return status;
  }
  int elements =
      options && options->elements > 0 ? options->elements : ELEMENTS_DEFAULT;
  elements = elements < ELEMENTS_MOST ? elements : ELEMENTS_MOST;
  kp_mesh_rule rule = {0};
  for (size_t i = 0; i < ws->plate_count; i++) {
    rule.clamp =
        ws->plates[i].ring ? rule.clamp : fmax(rule.clamp, ws->plates[i].inner);
  }
  rule.span = 1 - rule.clamp;
  rule.reach = CLAMP_REACH * rule.span;
  rule.coarsest = 1.25 * rule.span / elements;
  rule.finest = CLAMP_REFINEMENT * rule.span / elements;
  status = make_plates(ws, &rule, error);
  if (status != KP_OK) {
    return status;
  }
  make_load(ws, options ? options->line_load : 0);
  ws->seat_base =
      KP_NODE_DOFS * kp_plate_shape(&ws->plates[0],
                                    ws->stack.land_inner_radius / ws->length,
                                    ws->seat_shape, NULL, NULL);
  return kp_programme_begin(&ws->programme, ws->gap_count, error);
}

kp_status kp_stack_begin(const kp_stack *stack, const kp_stack_options *options,
                         kp_stack_workspace **out, kp_error *error) {
  kp_status status = check_stack(stack, error);
  if (status != KP_OK) {
    return status;
  }
  kp_stack_workspace *ws = calloc(1, sizeof *ws);
  kp_disc *discs = malloc(stack->disc_count * sizeof *discs);
  if (!ws || !discs) {
    free(ws);
    free(discs);
    return kp_error_set(error, KP_NO_MEMORY, "stack: no memory for %zu shims",
                        stack->disc_count);
  }
  memcpy(discs, stack->discs, stack->disc_count * sizeof *discs);
  ws->stack = *stack;
  ws->discs = discs;
  ws->stack.discs = discs;
  status = build(ws, options, error);
  if (status != KP_OK) {
    kp_stack_free(ws);
    return status;
  }
  *out = ws;
  return KP_OK;
}

void kp_stack_free(kp_stack_workspace *ws) {
  if (!ws) {
    return;
  }
  kp_programme_free(&ws->programme);
  free(ws->arena);
  free(ws->forward);
  free(ws->gaps);
  free(ws->plates);
  free(ws->plate_of);
  free(ws->discs);
  free(ws);
}
