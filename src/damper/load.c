/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The load that a flow Q leaves on a lifted disc, as the pressure p_e that alone would open it as far:

       p_e = p - R/A_e
       p   = P - (1 - s) h Q^2                        pressure inside the land
       R   = A_land (p - p_land) + edge + suction     ring of force at the land, towards the seat

   P, p_land, edge and suction are those of src/flow/curtain.c. The stack was solved with p falling over the land with
   the logarithm of the radius; only p_land of it does, and A_land (p - p_land) takes the rest off. h Q^2 is the exit
   velocity head of the port, of which the share s loads the disc (0.5, as computed; an input, 0 to 1).

   A_e is the area by which a ring of force compares with the pressure on this stack (kp_lift_table_ring_area); of a
   rigid plate it is the area that the pressure acts on. The table has it against pressure alone; with a ring the stack
   is stressed more, and the area at the geometric mean of p and p_e is the better one. p is not known yet: the area at
   p_e gives a first p, from the quadratic parts.

   Suction stops where the land's oil reaches vapour pressure, taken as 0 absolute: suction <= p_back x (area of the
   land), p_back the pressure of the chamber that the oil leaves into. In compression it falls as the drop rises, down
   to where air comes out of the oil.

   All parts go with Q^2 or Q, so that p_e = a Q^2 + b Q. Of a and b at least 0.1 of what P has is left (assumed, never
   met within the range of the computed runs): beyond, the disc would be sucked shut, and the model ends there. */
#include "damper/damper_internal.h"

#include <math.h>

static const double LEAST_SHARE = 0.1; /* [-] of P that loads the disc */
static const double ROUNDING = 0.03;   /* [-] width of the smooth passage to it */

/* The parts against p_e. */
typedef struct parts {
    kp_sloped pressure, linear; /* P = pressure Q^2 + linear Q */
    kp_sloped land, edge, suction;
    kp_sloped inside; /* p = inside Q^2 + linear Q */
} parts;

static parts parts_of(const kp_valve *valve, const kp_curtain_loss *loss, double opening_slope)
{
    parts p = {
        .pressure = {loss->pressure.quadratic, loss->pressure.quadratic_slope * opening_slope},
        .linear = {loss->pressure.linear, loss->pressure.linear_slope * opening_slope},
        .land = {loss->land.linear, loss->land.linear_slope * opening_slope},
        .edge = {loss->edge.quadratic, loss->edge.quadratic_slope * opening_slope},
        .suction = {loss->suction.quadratic, loss->suction.quadratic_slope * opening_slope},
    };
    p.inside = kp_less(p.pressure, kp_constant((1 - valve->head_share) * valve->velocity_head));
    return p;
}

/* Not less than the least share of `whole`. */
static kp_sloped at_least(kp_sloped part, kp_sloped whole)
{
    kp_sloped share = kp_smooth_max(kp_quotient(part, whole), kp_constant(LEAST_SHARE), ROUNDING);
    return kp_product(share, whole);
}

/* a above, with or without the suction; per_area = 1/A_e. */
static kp_sloped quadratic_part(const kp_valve *valve, const parts *p, kp_sloped per_area, bool sucks)
{
    kp_sloped kept = kp_less(kp_constant(1), kp_times(valve->land_area, per_area));
    kp_sloped ring = sucks ? kp_sum(p->edge, p->suction) : p->edge;
    return at_least(kp_less(kp_product(p->inside, kept), kp_product(ring, per_area)), p->pressure);
}

/* b above. */
static kp_sloped linear_part(const kp_valve *valve, const parts *p, kp_sloped per_area)
{
    kp_sloped lost = kp_times(valve->land_area, kp_product(kp_less(p->linear, p->land), per_area));
    return at_least(kp_less(p->linear, lost), p->linear);
}

/* 1/A_e; 0 where the land's ring is not known to move the disc. */
static kp_sloped ring_compliance(const kp_valve *valve, const parts *p, double disc_pressure)
{
    kp_sloped area = {0, 0};
    area.value = kp_lift_table_ring_area(valve->lift, disc_pressure, &area.slope);
    if (!(area.value > 0)) {
        return kp_constant(valve->plate_area > 0 ? 1 / valve->plate_area : 0);
    }

    /* p/p_e by the area at p_e; then the area at the mean of both. */
    kp_sloped share = kp_quotient(quadratic_part(valve, p, kp_quotient(kp_constant(1), area), true), p->pressure);
    double mean = disc_pressure / sqrt(share.value);
    area.value = kp_lift_table_ring_area(valve->lift, mean, &area.slope);
    area.slope *= mean / disc_pressure - 0.5 * mean / share.value * share.slope;
    return kp_quotient(kp_constant(1), area);
}

/* Positive root of a Q^2 + b Q = right, with its slope. */
static kp_flow root(kp_sloped a, kp_sloped b, kp_sloped right)
{
    kp_resistance r = {a.value, b.value, a.slope, b.slope};
    double by_parts;
    kp_flow flow = kp_resistance_flow(&r, right.value, &by_parts);
    flow.slope = flow.slope * right.slope + by_parts;
    return flow;
}

kp_flow kp_valve_flow(const kp_valve *valve, const kp_curtain_loss *loss, const kp_lift *lift, double disc_pressure)
{
    parts p = parts_of(valve, loss, lift->opening_slope);
    kp_sloped per_area = ring_compliance(valve, &p, disc_pressure), load = {disc_pressure, 1};
    kp_sloped b = linear_part(valve, &p, per_area);
    kp_flow free = root(quadratic_part(valve, &p, per_area, true), b, load);

    /* The suction, and what the chamber's pressure allows. */
    const kp_back_pressure *back = &valve->back;
    kp_sloped through = kp_sum(p.pressure, kp_constant(valve->port_loss - valve->velocity_head));
    double drop = (through.value * free.flow + p.linear.value) * free.flow;
    double pressure = fmax(back->falls ? back->pressure - drop : back->pressure, back->least);
    if (p.suction.value * free.flow * free.flow <= pressure * valve->suction_area) {
        return free;
    }

    /* At the limit. Where the pressure falls, the larger suction of the two gives the larger flow. */
    kp_sloped a = quadratic_part(valve, &p, per_area, false), reach = kp_times(valve->suction_area, per_area);
    kp_sloped most = kp_sum(load, kp_times(back->pressure, reach)), least = kp_sum(load, kp_times(back->least, reach));
    kp_flow limited = root(a, b, back->falls ? least : most);
    if (back->falls) {
        kp_flow falling = root(kp_sum(a, kp_product(reach, through)), kp_sum(b, kp_product(reach, p.linear)), most);
        limited = falling.flow > limited.flow ? falling : limited;
    }
    return limited.flow < free.flow ? limited : free;
}
