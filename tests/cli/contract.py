#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the commands print when all is well: the output contract of the design, column by column.

    contract.py PROGRAM
"""
import math
import re

from program import FIRMER, INCH, LINEAR, RESERVOIR, VAN, document, expect, finish, folder, near, rows, run

CURVE = ["direction", "speed_m_s", "force_N", "damping_force_N", "gas_force_N", "piston_drop_Pa", "disc_pressure_Pa", "bleed_flow_m3_s",
         "leak_flow_m3_s", "valve_flow_m3_s", "seat_lift_m", "peak_stress_Pa", "cavitation_margin_Pa"]
LIFT = ["pressure_Pa", "seat_lift_m", "seat_lift_crest_m", "seat_lift_valley_m", "opening_m", "opening_max_m", "lobes",
        "edge_lift_m", "round_edge_lift_m", "small_deflection_edge_lift_m", "peak_stress_Pa",
        "cracking_pressure_Pa"]
BORE, ROD = 63.5e-3, 22e-3  # [m] of every van file
DRIVEN = math.pi / 4 * (BORE ** 2 - ROD ** 2)  # [m2]
# [-] what summing a dozen rounded doubles may lose
ROUNDING = 1e-12
# [-] interpolated table against direct solve (the design's bar)
TABLE = 1e-3


def check_curve():
    got = rows("curve", VAN, "--speeds", "0.05,0.1,0.25")
    expect(list(got[0])[:len(CURVE)] == CURVE, f"columns of curve: {list(got[0])}")
    expect([row["direction"] for row in got] == ["compression"] * 3 + ["rebound"] * 3, "both directions, one by one")
    expect([row["speed_m_s"] for row in got] == [0.05, 0.1, 0.25] * 2, "speeds as asked for, without sign")
    for row in got:
        near(row["damping_force_N"], row["friction_force_N"] + row["hydraulic_force_N"], ROUNDING, f"damping: {row}")
        near(row["force_N"], row["damping_force_N"] + row["gas_force_N"], 1e-9, f"the whole force: {row}")
    for row in got:
        what = f"{row['direction']} at {row['speed_m_s']} m/s"
        flows = sum(row[f"{path}_flow_m3_s"] for path in ("bleed", "leak", "valve", "void"))
        near(flows, row["speed_m_s"] * DRIVEN, ROUNDING, f"{what}: flows sum to speed x area")
        near(row["gas_force_N"] + row["friction_force_N"] + row["hydraulic_force_N"], row["force_N"], 1e-9,
             f"{what}: parts sum to the force")
        sign = 1 if row["direction"] == "compression" else -1
        near(sign * row["hydraulic_force_N"], row["piston_drop_Pa"] * DRIVEN, ROUNDING, f"{what}: drop x area")
        expect(row["note"] == "" and row["past_yield"] == 0 and row["cavitates"] == 0, f"{what}: nothing to flag")


def check_speed_lists():
    plain = run("curve", VAN, "--speeds", "0.052,0.131,0.262", "--format", "csv").stdout
    for same in ("52,131,262mm/s", "52mm/s,131mm/s,262mm/s", "0.052 m/s, 0.131 m/s, 0.262 m/s", "52,131,262 mm/s"):
        near_lines = run("curve", VAN, "--speeds", same, "--format", "csv").stdout
        expect(len(near_lines.splitlines()) == len(plain.splitlines()), f"--speeds {same}")
        for one, other in zip(plain.splitlines()[1:], near_lines.splitlines()[1:]):
            near(float(one.split(",")[2]), float(other.split(",")[2]), 1e-9, f"--speeds {same}")
    got = [row["speed_m_s"] for row in rows("curve", VAN, "--speeds", "0.9,0.1..0.5:5") if row["direction"] == "rebound"]
    expect(len(got) == 6 and all(abs(a - b) < 1e-12 for a, b in zip(got, [0.9, 0.1, 0.2, 0.3, 0.4, 0.5])),
           f"a range, and the order asked for: {got}")
    got = [row["speed_m_s"] for row in rows("curve", VAN, "--speeds", "2..10in/s:3")][:3]
    expect(all(abs(a - b * 0.0254) < 1e-12 for a, b in zip(got, [2, 6, 10])), f"a range in in/s: {got}")
    usual = [row["speed_m_s"] for row in rows("curve", VAN)][:6]
    expect(usual == [0.052, 0.131, 0.262, 0.393, 0.524, 1.047], f"the usual speeds: {usual}")


def check_json_against_csv():
    """Both carry every double exactly; units asked for change neither."""
    for command in (["curve", VAN], ["lift", VAN, "--discs"], ["lift", VAN, "--profile", "--pressures", "1,3bar"],
                    ["lift", VAN, "--sensitivity"], ["compare", LINEAR, VAN, FIRMER]):
        table = rows(*command, "--units", "inch")
        whole = document(*command)
        columns = whole["columns"]
        expect(whole["program"] == "kneepoint" and re.fullmatch(r"\d+\.\d+\.\d+", whole["version"]) is not None,
               f"{command[0]}: program and version")
        expect(whole["input"] == (command[1] if command[0] != "compare" else command[1:]), f"{command[0]}: input")
        expect(whole["warnings"] == [], f"{command[0]}: {whole['warnings']}")
        expect(whole["standing"] == "uncalibrated estimate", f"{command[0]}: standing")
        expect(list(columns) == list(table[0]), f"{command[0]}: {list(columns)} against {list(table[0])}")
        for name, values in columns.items():
            wanted = [row[name] for row in table]
            expect([("" if value is None else value) for value in values] == wanted, f"{command[0]}: column {name}")


def check_summary():
    whole = document("curve", VAN, "--limits", "0.1,0.4,0.9")
    summary = whole["summary"]
    expect(summary["limits"] == {"low_m_s": 0.1, "high_m_s": 0.4, "top_m_s": 0.9}, f"limits: {summary['limits']}")
    at = {row["direction"] + str(row["speed_m_s"]): row for row in rows("curve", VAN, "--speeds", "0.1,0.4,0.9")}
    for direction, sign in (("compression", 1), ("rebound", -1)):
        part = summary[direction]
        force = [sign * at[direction + speed]["hydraulic_force_N"] for speed in ("0.1", "0.4", "0.9")]
        near(part["mid_slope_N_s_m"], (force[1] - force[0]) / 0.3, 1e-9, f"{direction}: mid slope")
        near(part["high_slope_N_s_m"], (force[2] - force[1]) / 0.5, 1e-9, f"{direction}: high slope")
        near(part["shape_index"], math.log(force[2] / force[0]) / math.log(9), 1e-9, f"{direction}: shape index")
        expect(part["shape_from_m_s"] == 0.1 and part["shape_to_m_s"] == 0.9, f"{direction}: its range")
        expect(part["shape"] == ("digressive" if part["shape_index"] < 0.75 else "slightly digressive"
                                 if part["shape_index"] < 0.9 else "linear"), f"{direction}: its name")
        expect(0 < part["knee_speed_m_s"] < 0.1, f"{direction}: knee {part['knee_speed_m_s']}")


def check_what_force_means():
    """The first line, the first column of force and the plot: damping, or with --with-gas the whole."""
    point = {row["direction"]: row for row in rows("curve", VAN, "--speeds", "0.524")}
    for option, key in (((), "damping_force_N"), (("--with-gas",), "force_N")):
        with folder() as here:
            text = run("curve", VAN, "--speeds", "0.524", *option, "--plot", f"{here}/a.svg").stdout
            drawn = open(f"{here}/a.svg", encoding="utf-8").read()
        shown = {direction: f"{abs(row[key]):.0f} N" for direction, row in point.items()}
        expect(f"{shown['compression']} in compression, {shown['rebound']} in rebound" in text.splitlines()[0], text)
        signed = [line.split()[1] for line in text.splitlines() if line.split()[:1] == ["0.524"]]
        expect(signed == [f"{point[d][key]:.0f}" for d in ("compression", "rebound")], f"{option}: {signed}")
        expect(("damping force [N]" in drawn) == (not option), f"{option}: the plot's axis")
    data = rows("curve", VAN, "--speeds", "0.524", "--with-gas")
    expect(data == list(point.values()), "--with-gas changes nothing in the data")


def check_low_pressure():
    """A cartridge open to the air, and a base valve, which is the reservoir's object under another name."""
    for row in rows("curve", VAN, "--set", "gas=open"):
        expect(row["gas_force_N"] == 0 and row["force_N"] == row["damping_force_N"], f"open: {row}")
    text = run("curve", VAN, "--set", "gas=open").stdout.replace("\n", " ")
    expect("Gas open to the air" in text and "Left out: foaming" in text, text)
    warned = run("curve", VAN, "--set", "gas=open").stderr
    expect("taken as 0.3 bar absolute, an assumption" in warned, warned)
    given = run("curve", VAN, "--set", "gas=open", "--set", "oil.release pressure=0.2 bar absolute")
    expect(given.returncode == 0 and "assumption for a damper open" not in given.stderr, given.stderr)
    compared = run("compare", VAN, VAN, "--set", "gas=open").stdout
    expect("no difference in the parts" in compared, compared)
    with folder() as here:
        plain = open(RESERVOIR, encoding="utf-8").read().replace("based on: ", "based on: " + RESERVOIR[:RESERVOIR.rindex("/") + 1])
        expect(plain.count("\nreservoir:") == 1, "the reservoir's key is there once")
        path = f"{here}/base-valve.yaml"
        with open(path, "w", encoding="utf-8") as file:
            file.write(plain.replace("\nreservoir:", "\nbase valve:"))
        expect(rows("curve", path) == rows("curve", RESERVOIR), "the same object")
        with open(path, "w", encoding="utf-8") as file:
            file.write(plain.replace("\nreservoir:", "\nBase Valve:"))
        expect(rows("curve", path) == rows("curve", RESERVOIR), "in capitals")
        expect(rows("curve", path, "--set", "Base_Valve.adjuster.clicks=2", "--set", "gas=Open") ==
               rows("curve", RESERVOIR, "--set", "reservoir.adjuster.clicks=2", "--set", "gas=open"), "set in capitals")
        expect(rows("curve", path, "--set", "base valve.adjuster.clicks=2") ==
               rows("curve", RESERVOIR, "--set", "reservoir.adjuster.clicks=2"), "set by either name")
        trial = f"{here}/trial.yaml"
        with open(trial, "w", encoding="utf-8") as file:
            file.write(f"based on: {RESERVOIR}\nbase valve: {{adjuster: {{clicks: 2}}}}\ngas: open\n")
        laid = run("curve", trial)
        expect(laid.returncode == 0 and "Gas open" in laid.stdout, laid.stderr)


def check_lift():
    pressures = [0.0, 2e4, 1e5, 4.5e5]
    got = rows("lift", VAN, "--direction", "compression", "--pressures", "0MPa,0.02MPa,0.1MPa,0.45MPa")
    expect(list(got[0])[:len(LIFT)] == LIFT, f"columns of lift: {list(got[0])}")
    expect(all(abs(row["pressure_Pa"] - p) <= 1e-9 * p for row, p in zip(got, pressures)), "pressures as asked for")
    cracking = got[0]["cracking_pressure_Pa"]
    expect(2e4 < cracking < 1e5, f"cracks at {cracking} Pa")
    dish = 0.4e-3
    for row in got:
        below = row["pressure_Pa"] < cracking
        expect((row["opening_m"] == 0) == below, f"opening at {row['pressure_Pa']} Pa: {row['opening_m']}")
        near(row["seat_lift_m"], dish + row["opening_m"], 1e-6, f"seat lift at {row['pressure_Pa']} Pa")
        folded = row["lobes"] > 0
        middle = (row["seat_lift_crest_m"] + row["seat_lift_valley_m"]) / 2
        near(middle, row["seat_lift_m"], 1e-12, f"crest and valley about the mean: {row}")
        expect(row["lobes"] in (0, 2, 3, 4, 5, 6, 7), f"lobes: {row['lobes']}")
        expect((row["edge_lift_m"] > row["round_edge_lift_m"] * 1.001) == folded,
               f"a folded stack lifts more, a round one the same: {row}")
        expect(row["edge_lift_m"] > row["seat_lift_m"], "the edge is further out than the seat")
    expect(got[0]["peak_stress_Pa"] > 1e8, f"a dished seat bends the shims at rest: {got[0]['peak_stress_Pa']} Pa")
    free = rows("lift", VAN, "--free", "--pressures", "0,0.02,0.1,0.45MPa")
    expect(free[0]["seat_lift_m"] == free[0]["edge_lift_m"] == free[0]["peak_stress_Pa"] == 0, "nothing bends at rest")
    after = rows("lift", VAN, "--free", "--pressures", "20,0bar", "--discs")[1]
    expect(all(value == 0 for name, value in after.items() if name.endswith("edge_lift_m")), f"a true 0: {after}")
    flat = rows("lift", LINEAR, "--pressures", "0,1,10,100bar")[0]
    expect(flat["seat_lift_m"] == flat["opening_m"] == flat["edge_lift_m"] == 0, f"a flat stack at rest: {flat}")
    expect(0 < free[1]["seat_lift_m"] < dish, f"free lift below cracking: {free[1]['seat_lift_m']}")
    near(free[3]["seat_lift_m"], got[3]["seat_lift_m"], 1e-9, "beyond cracking the seat does nothing")
    at_cracking = rows("lift", VAN, "--free", "--pressures", f"{cracking:.17g}Pa")[0]
    near(at_cracking["seat_lift_m"], dish, 1e-6, "at cracking the free stack lifts by the dish")
    turned = rows("lift", VAN, "--pressures", "4.5,1bar")
    near(turned[0]["edge_lift_m"], got[3]["edge_lift_m"], 1e-9, "the order of pressures changes nothing")
    ratio = free[3]["small_deflection_edge_lift_m"] / free[1]["small_deflection_edge_lift_m"]
    near(ratio, 0.45 / 0.02, 1e-12, "the handbook's answer is a straight line")
    discs = rows("lift", VAN, "--discs", "--pressures", "1bar")[0]
    expect(all(discs[f"disc{i}_edge_lift_m"] == discs["edge_lift_m"] for i in (1, 2, 3, 4)), "shims of one line")
    expect(discs["disc4_edge_lift_m"] > discs["disc5_edge_lift_m"] > discs["disc6_edge_lift_m"] > 0, "a taper")
    expect("disc7_edge_lift_m" not in discs and "disc6_peak_stress_Pa" in discs, "six shims")
    expect(max(discs[f"disc{i}_peak_stress_Pa"] for i in range(1, 7)) == discs["peak_stress_Pa"], "peak of the peaks")


def check_lift_of_every_shim():
    """--discs and --profile tell the same story as the plain rows, and as each other."""
    first, second = rows("lift", VAN, "--discs", "--pressures", "0.4,3bar")
    for row in (first, second):
        for disc in range(1, 7):
            mean, alternating, use = (row[f"disc{disc}_{name}"] for name in ("mean_stress_Pa", "alternating_stress_Pa",
                                                                            "fatigue_use"))
            near(alternating / 550e6 + max(mean, 0) / 1700e6, use, 1e-9, f"disc {disc}: Goodman's line")
        expect(max(row[f"disc{disc}_fatigue_use"] for disc in range(1, 7)) == row["fatigue_use"], "use of uses")
    expect(first["opening_m"] == 0 and first["fatigue_use"] > 0.1, f"a dished seat strains the shims at rest: {first}")
    at_rest = rows("lift", VAN, "--discs", "--pressures", "0bar")[0]
    expect(at_rest["disc1_alternating_stress_Pa"] < 1 and at_rest["disc1_mean_stress_Pa"] > 1e8, f"no cycle at rest: {at_rest}")
    profile = rows("lift", VAN, "--profile", "--pressures", "0.4,3bar")
    expect(list(profile[0]) == ["pressure_Pa", "disc", "count", "radius_m", "lift_m", "piston_side_radial_stress_Pa",
                                "piston_side_hoop_stress_Pa", "far_side_radial_stress_Pa", "far_side_hoop_stress_Pa"],
           f"columns of lift --profile: {list(profile[0])}")
    expect(len(profile) == 2 * 3 * 49 and {row["disc"] for row in profile} == {1, 5, 6}, "three lines, 49 radii each")
    for row, wanted in ((first, 0.4e5), (second, 3e5)):
        for disc, count in ((1, 4), (5, 1), (6, 1)):
            along = [point for point in profile if abs(point["pressure_Pa"] - wanted) < 1 and point["disc"] == disc]
            what = f"disc {disc} at {wanted} Pa"
            expect(all(point["count"] == count for point in along), f"{what}: {count} alike")
            radii = [point["radius_m"] for point in along]
            expect(radii == sorted(radii) and abs(radii[0] - 9e-3) < 1e-12, f"{what}: from the clamp outward")
            expect(along[0]["lift_m"] == 0 and along[-1]["lift_m"] == row[f"disc{disc}_edge_lift_m"], f"{what}: its ends")
            most = max(math.sqrt(point[f"{side}_radial_stress_Pa"] ** 2 + point[f"{side}_hoop_stress_Pa"] ** 2 -
                                 point[f"{side}_radial_stress_Pa"] * point[f"{side}_hoop_stress_Pa"])
                       for point in along for side in ("piston_side", "far_side"))
            # the peak is sought at the solver's own radii, which these need not hit
            near(most, row[f"disc{disc}_peak_stress_Pa"], 0.02, f"{what}: von Mises along it against its peak")
    held = [point for point in profile if point["disc"] == 1 and point["pressure_Pa"] < 1e5 and point["radius_m"] >= 26e-3]
    expect(min(point["lift_m"] for point in held) > 0.4e-3 - 1e-9, "below cracking the seat holds the face shim up")
    text = run("lift", VAN, "--pressures", "3bar").stdout
    expect("Goodman's line" in text and "Guidance only" in text, "fatigue is said to be guidance")


def check_fatigue_words():
    """Beyond the line and below yield: in words, in lift and curve; past yield the worse word stands alone."""
    for row in rows("lift", LINEAR, "--pressures", "1..30bar:30") + rows("curve", LINEAR, "--speeds", "0.1..2.5:25"):
        tires = row["fatigue_use"] >= 1 and row["past_yield"] == 0
        expect(tires <= ("would tire" in row["note"]), f"{row['note']} with use {row['fatigue_use']}")
        expect(row["fatigue_use"] >= 1 or "would tire" not in row["note"], f"{row['note']} with {row['fatigue_use']}")
    notes = [row["note"] for row in rows("lift", LINEAR, "--pressures", "1..30bar:30")]
    expect(any("would tire" in note for note in notes) and "" in notes, f"both kinds were met: {notes}")
    quiet = ["--set", "materials={spring steel: {young: 206 GPa, poisson: 0.3, yield: 1500 MPa}}"]
    got = rows("lift", LINEAR, "--pressures", "1..30bar:30", *quiet)
    expect(all(row["fatigue_use"] == "" and "tire" not in row["note"] for row in got), "no strengths, no word")


def check_sensitivities():
    """Every sensitivity is the pressure of a stack that opens just so far: set the same by hand and see."""
    set_to = {"as in the file": [],
              "grip sliding instead of held (hole 11.0 mm)": ["clamp.grip=sliding"],
              "clamp 1.0 mm larger": ["clamp.washer=19 mm"], "clamp 1.0 mm smaller": ["clamp.washer=17 mm"],
              "land 1.0 mm larger": ["land={inner: 53 mm, outer: 54 mm}"],
              "land 1.0 mm smaller": ["land={inner: 51 mm, outer: 52 mm}"],
              "every shim 0.008 mm thicker": ["stack=[4 of 56 x 0.208 mm, 1 of 42 x 0.208 mm, 1 of 30 x 0.208 mm]"],
              "every shim 0.008 mm thinner": ["stack=[4 of 56 x 0.192 mm, 1 of 42 x 0.192 mm, 1 of 30 x 0.192 mm]"]}
    hole = ["--set", "piston.compression.clamp.hole=11 mm"]
    for lift, option in ((0.4e-3, "--sensitivity"), (0.23e-3, "--sensitivity=0.23mm")):
        got = rows("lift", VAN, option, *hole)
        expect([row["sensitivity"] for row in got] == list(set_to), f"sensitivities: {[row['sensitivity'] for row in got]}")
        for row in got:
            settings = [word for setting in set_to[row["sensitivity"]] for word in ("--set", f"piston.compression.{setting}")]
            same = rows("lift", VAN, "--pressures", f"{row['pressure_Pa']:.17g}Pa", *hole, *settings)[0]
            near(same["opening_m"], lift, 1e-7, f"{row['sensitivity']} at {row['pressure_Pa']} Pa")
            near(row["change_percent"], 100 * (row["pressure_Pa"] / got[0]["pressure_Pa"] - 1), 1e-9, row["sensitivity"])
        change = {row["sensitivity"]: row["change_percent"] for row in got}
        expect(change["clamp 1.0 mm larger"] > 1 and change["land 1.0 mm larger"] < -1 and
               change["every shim 0.008 mm thicker"] > 1, f"the way they must go: {change}")
    text = run("lift", LINEAR, "--sensitivity").stdout
    expect("assumed" in text and "opens the seat by 0.400 mm" in text, f"what was assumed: {text}")
    tight = rows("lift", VAN, "--sensitivity", "--set", "piston.compression.land={inner: 52 mm, outer: 55.5 mm}")
    lost = [row for row in tight if row["sensitivity"] == "land 1.0 mm larger"][0]
    expect(lost["pressure_Pa"] == "" and lost["note"].startswith("impossible"), f"the land outside the face shim: {lost}")


def check_specialities():
    """What is special in a stack moves its lift the way a workshop expects."""
    def edge(*settings):
        options = [word for setting in settings for word in ("--set", f"piston.compression.{setting}")]
        return rows("lift", LINEAR, "--pressures", "3bar", *options)[0]["edge_lift_m"]
    plain = edge()
    stack = "stack=[{}]"
    same = ["2 of 52 x 0.2 mm", "1 of 44 x 0.2 mm", "1 of 34 x 0.2 mm"]
    base = edge(stack.format(", ".join(same)))
    sliding = edge("clamp={grip: sliding, hole: 12 mm}")
    gripped = edge("clamp={grip: sliding, hole: 12 mm, nut load: 1 kN}")
    expect(plain < gripped < sliding, f"held, with some friction, sliding: {plain}, {gripped}, {sliding}")
    near(edge("clamp={grip: sliding, hole: 12 mm, nut load: 1000 kN}"), plain, 1e-6, "friction enough is a held grip")
    slotted = edge(stack.format(", ".join(['"2 of 52 x 0.2 mm, slots 8 x 2 x 12 mm"', *same[1:]])))
    expect(slotted > base, f"slots soften: {slotted}, {base}")
    bronze = edge(stack.format(", ".join(['"2 of 52 x 0.2 mm, material spring steel"', *same[1:]])))
    expect(bronze == base, "spring steel by name is spring steel")
    soft = rows("lift", LINEAR, "--pressures", "3bar", "--set",
                "materials={spring steel: {young: 103 GPa, poisson: 0.3, yield: 1500 MPa}}")[0]["edge_lift_m"]
    stiff = rows("lift", LINEAR, "--pressures", "6bar")[0]["edge_lift_m"]
    near(soft, stiff, 1e-9, "half the modulus at half the pressure")
    ring = edge(stack.format(", ".join([same[0], '"1 of 50 x 0.05 mm, hole 46 mm"', '1 of 52 x 0.2 mm', *same[1:]])))
    without = edge(stack.format(", ".join([same[0], '1 of 52 x 0.2 mm', *same[1:]])))
    expect(ring != without, "a loose ring counts")
    press = ["--set", 'piston.compression.stack=["2 of 52 x 0.2 mm", "1 of 51 x 0.1 mm, hole 47 mm", 2 of 50 x 0.2 mm]']
    pressed = rows("lift", LINEAR, "--pressures", "0,0.02,0.1,3bar", *press)
    cracking = pressed[0]["cracking_pressure_Pa"]
    expect(1e3 < cracking < 1e5, f"a ring presses the stack on a flat seat: cracks at {cracking} Pa")
    for row in pressed:
        expect((row["opening_m"] == 0) == (row["pressure_Pa"] < cracking) and row["seat_lift_m"] > -1e-9, f"{row}")
    free = rows("lift", LINEAR, "--free", "--pressures", f"0,{cracking:.17g}Pa", *press)
    expect(free[0]["seat_lift_m"] < -1e-6, f"without the seat it hangs below: {free[0]}")
    expect(abs(free[1]["seat_lift_m"]) < 1e-9, f"at cracking it has come up to the seat: {free[1]}")
    expect(free[0]["small_deflection_edge_lift_m"] == "", "a preloaded stack has no straight line from zero")
    points = [row for row in rows("curve", LINEAR, "--speeds", "0.05,0.3", *press) if row["direction"] == "compression"]
    again = rows("lift", LINEAR, "--pressures", ",".join(f"{row['disc_pressure_Pa']:.17g}Pa" for row in points), *press)
    for point, row in zip(points, again):
        near(point["opening_m"], row["opening_m"], TABLE, "the curve reads the same of a preloaded stack")
    spacer = edge(stack.format(", ".join([*same, "1 of 18 x 0.3 mm"])))
    expect(spacer > base, f"a last shim smaller than the washer clamps further in: {spacer}, {base}")
    flat = edge("backing={profile: [{diameter: 20 mm, gap: 0 mm}, {diameter: 34 mm, gap: 0 mm}]}")
    bevel = edge("backing={profile: [{diameter: 20 mm, gap: 0 mm}, {diameter: 34 mm, gap: 0.1 mm}]}")
    expect(flat < bevel < plain, f"a flat backing washer, a bevelled one, none: {flat}, {bevel}, {plain}")
    one = edge("stop={outside: 34 mm, gap: 0.2 mm}")
    near(edge("backing={profile: [{diameter: 34 mm, gap: 0.2 mm}]}"), one, 1e-12, "a stop is a profile of one point")
    floats = rows("lift", LINEAR, "--pressures", "0,1bar", "--set", "piston.compression.dish=-0.1 mm")
    expect(floats[0]["cracking_pressure_Pa"] == 0, "a float never cracks")
    near(floats[0]["opening_m"], 0.1e-3, 1e-9, "a float stands open by its gap")
    near(floats[1]["opening_m"], floats[1]["seat_lift_m"] + 0.1e-3, 1e-12, "and opens from there")


def check_lift_against_curve():
    """The curve reads a table; lift solves at that pressure."""
    for direction in ("compression", "rebound"):
        points = [row for row in rows("curve", VAN) if row["direction"] == direction]
        pressures = ",".join(f"{row['disc_pressure_Pa']:.17g}Pa" for row in points)
        for point, row in zip(points, rows("lift", VAN, "--direction", direction, "--pressures", pressures)):
            # what makes force; edge lift and stress are only shown, and read from slopes of neighbours
            for name in ("seat_lift_m", "opening_m"):
                near(point[name], row[name], TABLE, f"{direction} at {point['speed_m_s']} m/s: {name}")


def check_compare():
    first, second = rows("curve", LINEAR), rows("curve", FIRMER)
    both = rows("compare", LINEAR, FIRMER)
    expect(list(both[0]) == ["direction", "speed_m_s", "force1_N", "damping1_N", "force2_N", "damping2_N", "change2_N",
                             "change2_percent", "note"], f"columns of compare: {list(both[0])}")
    for one, other, row in zip(first, second, both):
        sign = 1 if one["direction"] == "compression" else -1
        damping = [sign * (part["force_N"] - part["gas_force_N"]) for part in (one, other)]
        expect(row["force1_N"] == one["force_N"] and row["force2_N"] == other["force_N"], "forces as in curve")
        near(row["change2_N"], damping[1] - damping[0], 1e-9, "change of the damping force")
        near(row["change2_percent"], 100 * (damping[1] / damping[0] - 1), 1e-9, "change in per cent")
    text = run("compare", VAN, FIRMER).stdout
    expect("2 more bleed ports of 1.6 mm plugged (3 open before, 1 after); these flow both ways" in text, text[:400])
    expect("firmer in compression" in text.splitlines()[0], text.splitlines()[0])
    expect("no difference in the parts" in run("compare", VAN, VAN).stdout, "a file against itself")
    parts = document("compare", VAN, FIRMER)["differences"]
    expect(len(parts) == 1 and len(parts[0]["parts"]) == 1 and parts[0]["file"] == FIRMER, f"in JSON: {parts}")
    three = rows("compare", VAN, FIRMER, LINEAR)
    expect("change3_percent" in three[0] and "change1_N" not in three[0], "three files")


def check_flags():
    """A value past yield or a cavitating point never looks like a normal one, in any format."""
    thin = ["--set", "piston.compression.stack=[1 of 56 x 0.10 mm]"]
    table = run("curve", VAN, *thin)
    expect(table.returncode == 0 and table.stdout.startswith("NOT SOUND: a shim would set or break. Damping "), f"verdict: {table.stdout[:200]}")
    marked = [line for line in table.stdout.splitlines() if line.startswith("!")]
    expect(marked and all("shim 1 would set or break" in line for line in marked), f"marks: {marked}")
    expect("warning:" in table.stderr and "would set or break" in table.stderr, table.stderr)
    for row in rows("curve", VAN, *thin):
        expect((row["past_yield"] == 1) == ("shim 1 would set or break" in row["note"]), f"note: {row}")
    whole = document("curve", VAN, *thin)
    expect(1 in whole["columns"]["past_yield"] and len(whole["warnings"]) == 1, f"JSON: {whole['warnings']}")
    expect(whole["summary"]["compression"]["yield_speed_m_s"] > 0, "JSON: where")
    flat = ["--set", "gas.charge=6 bar gauge at 20 degC", "--set", "piston.compression.stack=[8 of 56 x 0.30 mm]",
            "--set", "piston.bleed=none"]
    got = [row for row in rows("curve", VAN, *flat, "--speeds", "0.05..1:12") if row["direction"] == "compression"]
    expect(any(row["cavitates"] for row in got) and not all(row["cavitates"] for row in got), "cavitates from a speed on")
    for row in got:
        expect((row["cavitates"] == 1) == ("cavitates" in row["note"]) == (row["cavitation_margin_Pa"] <= 1e-6),
               f"margin {row['cavitation_margin_Pa']} Pa, note `{row['note']}`")
        flows = sum(row[f"{path}_flow_m3_s"] for path in ("bleed", "leak", "valve", "void"))
        near(flows, row["speed_m_s"] * DRIVEN, ROUNDING, "flows sum at a cavitating point too")
    table = run("curve", VAN, *flat)
    expect(table.stdout.startswith("NOT SOUND: it cavitates. Damping "), f"verdict: {table.stdout[:200]}")
    for line in table.stdout.splitlines():
        if line.startswith(("high-speed slope", "shape index")):
            expect("! cavitates" in line, f"a slope of a cavitating range: {line}")
    warning = " ".join(document("curve", VAN, *flat)["warnings"])
    expect("cavitates from" in warning and "dry nitrogen only" in warning and "maker's limit" in warning, warning)
    # the file's maximum bounds what is advised; without one only the shortfall is stated
    bound = " ".join(document("curve", VAN, *flat, "--set", "gas.maximum charge=7 bar gauge")["warnings"])
    expect("no charge within the file's maximum" in bound and "charge of" not in bound, bound)
    silent = " ".join(document("curve", VAN, *flat, "--set", "gas.maximum charge=none")["warnings"])
    expect("is missing at the top speed" in silent and "no charge is advised" in silent, silent)
    for arguments in (["lift", VAN, "--pressures", "20bar"], ["lift", VAN, "--discs", "--pressures", "20bar"]):
        lines = [line for line in run(*arguments).stdout.splitlines() if re.match(r"!?\s+20\.00", line)]
        expect(lines and all(line.startswith("!") and "would set or break" in line for line in lines), f"{lines}")


def check_people():
    text = run("curve", VAN).stdout
    expect(text.splitlines()[0].startswith("Damping ") and " at 0.524 m/s; gas force, " in text, text.splitlines()[0])
    for words in ("Uncalibrated estimate", "gauge", "absolute", "rod pushed in 125 mm of 250 mm", "oil 40 degC", "knee",
                  "up to 0.130 m/s", "0.520 m/s to 1.050 m/s", "dry nitrogen only", "licensed practice"):
        expect(words in " ".join(text.split()), f"`{words}` is not in the table of curve")
    inch = run("curve", INCH, "--units", "inch").stdout
    for words in ("in/s", "lbf", "psi gauge", "degF"):
        expect(words in inch, f"`{words}` is not in the table in inches")
    expect(" bar" not in inch and " mm" not in inch and " N " not in inch, "no metric unit among inches")
    expect("\033" not in text, "no colour in a pipe")
    expect(not [line for line in text.splitlines() if line != line.rstrip()], "no blanks at line ends")
    expect(run("curve", VAN).stdout == text, "the same bytes again")


def check_families():
    """A family is its members, each run by itself; an adjuster's place moves both directions unless a check stands in it."""
    for option, column, values, settings in (
            ("--temperature", "temperature_K", "20,60degC", ["temperature=20 degC", "temperature=60 degC"]),
            ("--charge", "charge_Pa", "10,14bar gauge", ["gas.charge=10 bar gauge at 20 degC",
                                                          "gas.charge=14 bar gauge at 20 degC"])):
        family = rows("curve", RESERVOIR, option, values, "--speeds", "0.05,0.4")
        members = sorted({row[column] for row in family})
        expect(len(members) == 2, f"{option}: {members}")
        for member, setting in zip(members, settings):
            alone = rows("curve", RESERVOIR, "--set", setting, "--speeds", "0.05,0.4")
            mine = [row for row in family if row[column] == member]
            expect(len(mine) == len(alone) == 4, f"{option}: {len(mine)} rows")
            for a, b in zip(mine, alone):
                near(a["force_N"], b["force_N"], 1e-9, f"{option} {member}")
    sweep = rows("curve", RESERVOIR, "--clicks-sweep", "rebound", "--speeds", "0.1")
    for direction in ("compression", "rebound"):
        forces = [abs(row["hydraulic_force_N"]) for row in sweep if row["direction"] == direction]
        expect(len(forces) == 6 and forces == sorted(forces, reverse=True), f"{direction} softens: {forces}")
    now = rows("curve", RESERVOIR, "--clicks", "rebound=20,compression=0", "--speeds", "0.1")
    same = rows("curve", RESERVOIR, "--set", "piston.adjuster.clicks=20", "--set", "reservoir.adjuster.clicks=0",
                "--speeds", "0.1")
    expect(now == same, "--clicks is the file's clicks")
    text = run("curve", RESERVOIR).stdout
    expect("Rebound adjuster at 8 of 20 clicks" in text and "open both" in text, "the cross-talk is said")
    family = run("curve", RESERVOIR, "--charge", "10,14 bar gauge").stdout
    expect("dry nitrogen only, never air or oxygen" in family, "the caution stands beside a charge")
    answer = document("curve", RESERVOIR, "--temperature", "20,120")
    expect(answer["family"] == "temperature" and len(answer["members"]) == 2, "JSON names the family")
    expect(any("outside the oil's range, -30 to 110 degC" in word for word in answer["warnings"]), "the range is warned of")
    for row in rows("curve", RESERVOIR):
        near(row["hydraulic_force_N"] * (1 if row["direction"] == "compression" else -1) * row["speed_m_s"],
             row["piston_drop_Pa"] * (row["bleed_flow_m3_s"] + row["leak_flow_m3_s"] + row["valve_flow_m3_s"]) +
             row["reservoir_drop_Pa"] * row["reservoir_flow_m3_s"], 1e-9, "power in is power spent")


def check_check():
    good = run("check", VAN, LINEAR, INCH)
    expect(good.returncode == 0 and good.stdout.count("no fault") == 3, f"{good.returncode}: {good.stdout}")
    warned = run("check", VAN, "--set", "friction=none")
    expect(warned.returncode == 0 and "- warning: " in warned.stdout and "friction" in warned.stdout,
           f"{warned.returncode}: {warned.stdout}")
    expect(warned.stderr == "", f"the findings are the answer: {warned.stderr}")
    bad = run("check", VAN, "--set", "piston.compression.stack=[1 of 56 x 0.10 mm]")
    expect(bad.returncode == 1 and "NOT SOUND" in bad.stdout and "- risk: " in bad.stdout, f"{bad.returncode}: {bad.stdout}")
    whole = run("check", VAN, "--set", "piston.compression.stack=[1 of 56 x 0.10 mm]", "--format", "json")
    expect(whole.returncode == 1 and '"sound":\tfalse' in whole.stdout and '"risk"' in whole.stdout, whole.stdout)
    slow = run("check", VAN, "--set", "piston.compression.stack=[1 of 56 x 0.10 mm]", "--speeds", "0.01", "--limits",
               "0.005,0.01,0.02")
    expect(slow.returncode == 0, f"sound at the speeds asked for: {slow.stdout}")


def check_help():
    for arguments in (["--help"], ["-h"], ["help"], ["--version"], ["help", "lift"]):
        done = run(*arguments)
        expect(done.returncode == 0 and done.stdout != "" and done.stderr == "", f"{arguments}: {done}")
    top = run("--help").stdout
    for command in ("check", "lift", "curve", "compare"):
        expect(f"  {command} " in top, f"--help names {command}")
        text = run(command, "--help").stdout
        expect(text == run("help", command).stdout == run(command, VAN, "-h").stdout, f"three ways to help on {command}")
        for option in ("--set", "--format", "--units"):
            expect(option in text, f"{command} --help names {option}")
    expect("--discs" not in run("curve", "--help").stdout, "only the options a command takes")


def check_plots():
    with folder() as here:
        for command in (["curve", VAN], ["lift", VAN], ["compare", VAN, LINEAR]):
            for ending in ("svg", "png", "pdf"):
                plain = run(*command, "--format", "csv").stdout
                done = run(*command, "--format", "csv", "--plot", f"a.{ending}", cwd=here)
                expect(done.returncode == 0 and done.stdout == plain, f"{command[0]} --plot a.{ending}: {done.stderr}")
            done = run(*command, "--plot=b.svg", cwd=here)
            expect(done.returncode == 0 and done.stdout.rstrip().endswith("Plot: b.svg"), f"{command[0]} --plot=b.svg")
            done = run(command[0], "--plot", *command[1:], cwd=here)
            expect(done.returncode == 0 and "****" in done.stdout, f"{command[0]} --plot in a terminal: {done.stderr}")
        up = run("curve", VAN, "--plot", "up.svg", "--rebound-up", cwd=here)
        picture = open(f"{here}/up.svg", encoding="utf-8").read()
        expect(up.returncode == 0 and "rebound up, compression down" in picture, "turned over, and said so")
        usual = open(f"{here}/b.svg", encoding="utf-8").read()
        expect("compression up, rebound down" in usual and "[m/s]" in usual and "[N]" in usual, "axes with units")
        run("curve", VAN, "--plot", "inch.svg", "--units", "inch", cwd=here)
        inch = open(f"{here}/inch.svg", encoding="utf-8").read()
        expect("[in/s]" in inch and "[lbf]" in inch and "[in]" in inch, "axes in inches")


check_curve()
check_speed_lists()
check_json_against_csv()
check_what_force_means()
check_low_pressure()
check_summary()
check_lift()
check_lift_of_every_shim()
check_fatigue_words()
check_sensitivities()
check_specialities()
check_lift_against_curve()
check_compare()
check_flags()
check_people()
check_families()
check_check()
check_help()
check_plots()
finish()
