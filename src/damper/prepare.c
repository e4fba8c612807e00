/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From a damper's data to the branches of its circuits. */
#include "damper/damper_internal.h"

#include <math.h>

/* [-] Coefficient of a check valve's seat and of its curtain: assumed, as for ports (src/model/defaults.c). That the
   flow takes something off the load on its plate is left out. */
static const double CHECK_DISCHARGE = 0.70;
/* [-] Coefficient of slots in a face shim where the file gives none for the curtain: assumed, as for ports. */
static const double SLOT_DISCHARGE = 0.70;

static bool flows_in(kp_flows flows, kp_direction direction)
{
    return flows != (direction == KP_COMPRESSION ? KP_FLOWS_REBOUND : KP_FLOWS_COMPRESSION);
}

/* Gives a table to the damper, which frees it. */
static kp_status keep_table(kp_damper *damper, kp_lift_table *table, kp_error *error)
{
    if (damper->spring_count == KP_MAX_SPRINGS) {
        kp_lift_table_free(table);
        return kp_error_set(error, KP_OUT_OF_RANGE, "more than %d check valves", (int)KP_MAX_SPRINGS);
    }
    damper->springs[damper->spring_count++] = table;
    return KP_OK;
}

static kp_status make_check(kp_damper *damper, const kp_check_data *check, double far, const kp_flow_oil *oil,
                            kp_valve *out, kp_error *error)
{
    double area = KP_PI / 4 * check->seat * check->seat;
    /* Lift against pressure as a table, which the damper frees. */
    kp_lift_table *table;
    kp_status status = kp_spring_table(&check->plate, area, far, &table, error);
    if (status == KP_OK) {
        status = keep_table(damper, table, error);
    }

    if (status != KP_OK) {
        return kp_error_prefix(error, "check valve: ");
    }

    /* The seat's bore is a port in series with the curtain under the plate. */
    kp_port seat = {.area = area, .discharge = CHECK_DISCHARGE};
    *out = (kp_valve){.lift = table,
                      .cracking = kp_spring_cracking(&check->plate, area),
                      .curtain = {.perimeter = KP_PI * check->seat,
                                  .land_inner = check->seat / 2,
                                  .land_outer = check->seat / 2,
                                  .port_area = area,
                                  .discharge = CHECK_DISCHARGE,
                                  .discharge_scale = 1},
                      .port_loss = kp_port_resistance(&seat, oil).quadratic};
    return KP_OK;
}

/* Open ports, jetted ones among them, and those behind a check valve. */
static kp_status add_bleeds(kp_damper *damper, kp_circuit *circuit, const kp_bleed *bleeds, size_t count,
                            kp_direction direction, kp_error *error)
{
    for (size_t i = 0; i < count; i++) {
        const kp_bleed *b = &bleeds[i];
        int open = b->ports - b->plugged, plain = open - b->jetted;
        if (open <= 0 || !flows_in(b->flows, direction)) {
            continue;
        }

        bool chamfered = b->entry == KP_ENTRY_CHAMFERED;
        kp_orifice ports = {.count = plain, .diameter = b->diameter, .length = b->length, .chamfered = chamfered};
        kp_orifice jets = {.count = b->jetted,
                           .diameter = b->jet,
                           .length = b->has_jet_length ? b->jet_length : b->length,
                           .chamfered = chamfered};

        /* Behind a check valve both kinds share its drop. */
        if (b->has_check) {
            kp_checked *checked = &circuit->checked[circuit->checked_count];
            kp_status status =
                make_check(damper, &b->check, KP_SPRING_CHECK_FAR, &circuit->oil, &checked->valve, error);
            if (status != KP_OK) {
                return status;
            }
            checked->ports = ports;
            checked->jets = jets;
            circuit->checked_count++;
            continue;
        }

        /* Otherwise each kind is in parallel with the valve. */
        if (plain > 0) {
            circuit->orifices[circuit->orifice_count++] = ports;
        }
        if (b->jetted > 0) {
            circuit->orifices[circuit->orifice_count++] = jets;
        }
    }

    return KP_OK;
}

static void add_adjuster(kp_circuit *circuit, const kp_adjuster_data *adjuster, kp_direction direction)
{
    double area = kp_adjuster_area(adjuster, adjuster->clicks);
    if (area > 0 && flows_in(adjuster->flows, direction)) {
        /* The jet of a sharp opening contracts less as the needle leaves the bore; above 0.9 of the bore the
           coefficient is held. */
        double share = fmin(sqrt(area / (KP_PI / 4 * adjuster->seat * adjuster->seat)), 0.9);
        double discharge = adjuster->has_discharge ? adjuster->discharge : kp_contraction(share);
        /* ring of the seat's circumference, width area/(pi seat), twice that across */
        circuit->needles[circuit->needle_count++] = (kp_needle){
            .area = area, .hydraulic_diameter = 2 * area / (KP_PI * adjuster->seat), .discharge = discharge};
    }
}

/* Slots of a face shim, cut in from its edge over the land: channels of the shim's thickness, open both ways. The
   One shim's thickness counts: slots of further shims rarely lie over each other. Side walls are left out (a slot is
   wide compared with the shim's thickness), and so is what the slots add to the curtain once the shim has lifted. */
static void add_slots(kp_circuit *circuit, const kp_valve_data *valve)
{
    const kp_shim_line *face = &valve->lines[0];
    if (valve->has_plate || valve->line_count == 0 || face->slot_count <= 0 ||
        kp_valve_slot_inner(valve, face) >= valve->land_inner) {
        return;
    }

    kp_slot slots = {.width = face->slot_count * face->slot_width,
                     .height = face->thickness,
                     .land_width = 0.5 * valve->land_inner * log(valve->land_outer / valve->land_inner),
                     .discharge = valve->has_curtain_discharge ? valve->curtain_discharge : SLOT_DISCHARGE};
    circuit->slotted[circuit->slotted_count++] = kp_slot_resistance(&slots, &circuit->oil);
}

kp_status kp_circuit_prepare_piston(kp_damper *damper, kp_direction direction, const kp_flow_oil *oil, kp_error *error)
{
    const kp_damper_data *data = &damper->data;
    kp_circuit *circuit = &damper->circuits[direction];
    *circuit = (kp_circuit){
        .oil = *oil,
        .valve = kp_valve_make(
            &data->valves[direction], data->bore, oil, damper->tables[direction],
            (kp_back_pressure){damper->gas_pressure, direction == KP_COMPRESSION, data->release_pressure}),
        .leak = {.diameter = data->bore,
                 .clearance = data->leak.clearance,
                 .length = data->leak.clearance > 0 ? data->leak.length : 1, /* tight: no flow over any length */
                 .eccentricity = data->leak.eccentricity},
    };

    if (data->has_adjuster) {
        add_adjuster(circuit, &data->adjuster, direction);
    }

    /* Slots of either face shim are open in both directions. */
    add_slots(circuit, &data->valves[KP_COMPRESSION]);
    add_slots(circuit, &data->valves[KP_REBOUND]);
    return add_bleeds(damper, circuit, data->bleeds, data->bleed_count, direction, error);
}

static kp_status prepare_valve(kp_damper *damper, kp_direction direction, kp_circuit *circuit, kp_error *error)
{
    const kp_damper_data *data = &damper->data;
    const kp_reservoir_data *r = &data->reservoir;
    if (direction == KP_COMPRESSION && r->has_valve) {
        double bore = r->has_bore ? r->bore : data->bore;
        circuit->valve =
            kp_valve_make(&data->valves[KP_RESERVOIR_VALVE], bore, &circuit->oil, damper->tables[KP_RESERVOIR_VALVE],
                          (kp_back_pressure){.pressure = damper->gas_pressure});
        return KP_OK;
    }

    if (direction == KP_REBOUND && r->has_return) {
        return make_check(damper, &r->return_check, KP_SPRING_FAR, &circuit->oil, &circuit->valve, error);
    }

    /* Nothing there: a valve that never opens. */
    kp_lift_table *table;
    kp_status status = kp_closed_table(&table, error);
    if (status == KP_OK) {
        status = keep_table(damper, table, error);
    }

    circuit->valve = (kp_valve){.lift = table, .cracking = INFINITY, .curtain = {.perimeter = 1}};
    return status;
}

kp_status kp_reservoir_path_prepare(kp_damper *damper, kp_direction direction, const kp_flow_oil *oil, kp_error *error)
{
    const kp_reservoir_data *r = &damper->data.reservoir;
    kp_reservoir_path *path = &damper->reservoir_paths[direction];
    *path = (kp_reservoir_path){.oil = *oil};
    if (!r->given) {
        return KP_OK;
    }

    /* Valve, bleed and adjuster in parallel, the hose in series with them. */
    path->has_hose = r->has_hose;
    path->hose = (kp_hose){.length = r->hose.length, .bore = r->hose.bore};

    /* Without valve, bleed and adjuster the oil goes straight from body to hose. */
    path->has_circuit = r->has_valve || r->bleed_count > 0 || r->has_adjuster;
    if (!path->has_circuit) {
        return KP_OK;
    }

    path->circuit = (kp_circuit){.oil = *oil, .leak = {.diameter = 1, .length = 1}};
    kp_status status = prepare_valve(damper, direction, &path->circuit, error);
    if (status == KP_OK) {
        status = add_bleeds(damper, &path->circuit, r->bleeds, r->bleed_count, direction, error);
    }
    if (status == KP_OK && r->has_valve) {
        add_slots(&path->circuit, &damper->data.valves[KP_RESERVOIR_VALVE]);
    }
    if (status == KP_OK && r->has_adjuster) {
        add_adjuster(&path->circuit, &r->adjuster, direction);
    }

    return status == KP_OK ? status : kp_error_prefix(error, "reservoir: ");
}
