/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Directions of the trade (common practice, no source), each on the curves of the example dampers in stacks/. The gas
   is charged far above what any van gets, so that cavitation stays out of the comparison in compression. */
#include "van.h"

#include "kneepoint/file.h"

#include <math.h>
#include <stdio.h>

/* Below every knee of these dampers, amid the mid range, at the top of the summary's high range. */
static const double LOW = 0.010, MID = 0.40, HIGH = 1.05; /* [m/s] */

static kp_damper_data read_stack(const char *name)
{
    char path[512];
    snprintf(path, sizeof path, "%s/stacks/%s", KP_SOURCE_DIR, name);
    kp_damper_data data;
    kp_messages messages = {0};
    kp_error error = {0};
    cr_assert_eq(kp_file_read_damper(path, NULL, 0, &data, &messages, &error), KP_OK, "%s", error.message);
    kp_messages_free(&messages);
    data.has_maximum_charge = false;
    data.gas.charge_pressure = 9e6;
    return data;
}

static kp_damper_data baseline(int i)
{
    return read_stack(i ? "van-rear-digressive.yaml" : "van-rear-linear.yaml");
}

static const char *baseline_name(int i)
{
    return i ? "digressive" : "linear";
}

static double force(const kp_damper_data *data, kp_direction direction, double speed)
{
    return van_force(data, direction == KP_COMPRESSION ? speed : -speed);
}

/* Change of force from a to b at a speed [-]. */
static double change(const kp_damper_data *a, const kp_damper_data *b, kp_direction direction, double speed)
{
    return force(b, direction, speed) / force(a, direction, speed) - 1;
}

/* Plugging bleed ports firms low speed most and, in per cent, leaves high speed nearly alone. */
Test(directions, plugging_bleed_firms_low_speed_most)
{
    for (int i = 0; i < 4; i++) {
        kp_damper_data open = baseline(i / 2), plugged = open;
        kp_direction direction = (kp_direction)(i % 2);
        plugged.bleeds[0].plugged++;
        cr_assert(plugged.bleeds[0].plugged < plugged.bleeds[0].ports);
        double low = change(&open, &plugged, direction, LOW), mid = change(&open, &plugged, direction, MID),
               high = change(&open, &plugged, direction, HIGH);
        printf("one more bleed plugged, %s, %s: %+.1f %% low, %+.1f %% mid, %+.1f %% high\n", baseline_name(i / 2),
               kp_direction_name(direction), 100 * low, 100 * mid, 100 * high);
        cr_assert(low > mid && mid > high && high > 0);
        cr_assert(low > 0.25 && high < 0.06 && low > 5 * high);
    }
}

/* Thicker or more shims firm mid speed, and high speed until the port chokes. */
Test(directions, thicker_or_more_shims_firm_mid_speed)
{
    for (int i = 0; i < 8; i++) {
        kp_damper_data soft = baseline(i / 4), stiff = soft;
        kp_direction direction = (kp_direction)(i % 2);
        kp_valve_data *v = &stiff.valves[direction];
        if (i / 2 % 2) {
            v->lines[0].thickness *= 1.25;
        } else {
            v->lines[0].count++;
        }
        double mid = change(&soft, &stiff, direction, MID), high = change(&soft, &stiff, direction, HIGH);
        /* the port a twentieth of its size: it takes nearly all of the drop at high speed */
        v->port_area = soft.valves[direction].port_area /= 20;
        double choked = change(&soft, &stiff, direction, HIGH);
        printf("%s, %s, %s: %+.1f %% mid, %+.1f %% high, %+.1f %% high behind a choked port\n",
               i / 2 % 2 ? "thicker face shims" : "one more face shim", baseline_name(i / 4),
               kp_direction_name(direction), 100 * mid, 100 * high, 100 * choked);
        cr_assert(mid > 0.05 && high > 0.05);
        cr_assert(choked > 0 && choked < 0.25 * high);
    }
}

/* At equal mid-speed force a dished piston is firmer low and flatter high than a flat one. The flat one's face shims
   are made as thick as that takes. */
Test(directions, dish_is_firmer_low_and_flatter_high)
{
    for (int i = 0; i < 2; i++) {
        kp_direction direction = (kp_direction)i;
        kp_damper_data dished = baseline(1), flat = dished;
        flat.valves[direction].dish = 0;
        double wanted = force(&dished, direction, MID), thin = 0.1e-3, thick = 1.5e-3;
        for (int k = 0; k < 40; k++) {
            double t = flat.valves[direction].lines[0].thickness = 0.5 * (thin + thick);
            *(force(&flat, direction, MID) < wanted ? &thin : &thick) = t;
        }
        cr_assert(fabs(force(&flat, direction, MID) / wanted - 1) <= 1e-6);
        double low = change(&flat, &dished, direction, 0.05), rise = force(&dished, direction, HIGH) - wanted,
               flat_rise = force(&flat, direction, HIGH) - wanted;
        printf(
            "dished against flat (face shims %.3f mm), %s: %+.0f %% at 0.05 m/s, from mid to high %.0f N against %.0f "
            "N\n",
            1e3 * thin, kp_direction_name(direction), 100 * low, rise, flat_rise);
        /* flatter by clearly more than the tables' interpolation, 0.1 % of force */
        cr_assert(low > 0.2 && rise < 0.98 * flat_rise);
    }
}

/* Hotter oil softens low speed, and low speed more than high. */
Test(directions, hot_oil_softens_low_speed)
{
    for (int i = 0; i < 4; i++) {
        kp_damper_data cold = baseline(i / 2), hot = cold;
        kp_direction direction = (kp_direction)(i % 2);
        cold.oil_temperature = 293.15;
        hot.oil_temperature = 363.15;
        double low = change(&cold, &hot, direction, LOW), high = change(&cold, &hot, direction, HIGH);
        printf("20 to 90 degC, %s, %s: %+.1f %% low, %+.1f %% high\n", baseline_name(i / 2),
               kp_direction_name(direction), 100 * low, 100 * high);
        cr_assert(low < -0.25 && high > -0.08 && high < 0);
    }
}
