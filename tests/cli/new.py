#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""`new`: whatever is asked for, the file that it prints passes `check` and gives a curve that can be believed.

    new.py PROGRAM

Believable means: the oil's force resists at every speed and grows with it, and the drop at half a metre a second is one
that dampers have, 0.5 to 30 bar. That the numbers suit a damper that exists is not tested: they are typical sizes.
"""
import os
import pathlib
import random
import re

from program import expect, finish, folder, refused, rows, run

SEED = 20260915
CASES = 500 if os.environ.get("KP_FULL") else 100


def options(choose):
    """Random options, in mm or inches, some left out; all inside the stated ranges."""
    inch = choose.random() < 0.5
    bore = choose.uniform(20.5, 119.0)

    def size(value):
        if not inch:
            return choose.choice([f"{value:.1f}mm", f"{value:.2f} mm", f"{value / 10:.3f}cm"])
        return choose.choice([f"{value / 25.4:.3f}in", f'{value / 25.4:.2f}"', f"{value / 25.4 * 1000:.0f} thou"])

    made = []
    if choose.random() < 0.9:
        made += ["--bore", size(bore)]
    else:
        bore = 63.5
    if choose.random() < 0.8:
        made += ["--shaft", size(bore * choose.uniform(0.22, 0.68))]
    if choose.random() < 0.7:
        made += ["--stroke", size(choose.uniform(22.0, 590.0))]
    if choose.random() < 0.8:
        made += ["--piston", choose.choice(["digressive", "linear"])]
    made += ["--reservoir"] if choose.random() < 0.5 else []
    made += ["--units", choose.choice(["metric", "inch"])] if choose.random() < 0.3 else []
    return made


def check_one(path, asked):
    done = run("new", *asked)
    expect(done.returncode == 0 and done.stderr == "", f"new {asked}: {done.returncode} {done.stderr}")
    path.write_text(done.stdout, encoding="utf-8")

    checked = run("check", path)
    expect(checked.returncode == 0 and "0 warnings" in checked.stdout, f"new {asked}: {checked.stdout} {checked.stderr}")

    points = rows("curve", path, "--speeds", "0.052,0.131,0.262,0.524,1.047")
    for direction, sign in (("compression", 1), ("rebound", -1)):
        force = [sign * row["hydraulic_force_N"] for row in points if row["direction"] == direction]
        drop = [row["piston_drop_Pa"] for row in points if row["direction"] == direction and row["speed_m_s"] == 0.524]
        expect(len(force) == 5 and all(a < b for a, b in zip([0.0] + force, force)), f"new {asked}: {direction} {force}")
        expect(len(drop) == 1 and 0.5e5 <= drop[0] <= 30e5, f"new {asked}: {direction} drop {drop}")


def check_random():
    choose = random.Random(SEED)
    with folder() as here:
        for _ in range(CASES):
            check_one(pathlib.Path(here) / "mine.yaml", options(choose))


def check_words():
    """Each key has its unit, its standing, and above it how to measure it."""
    text = run("new", "--bore", '2-1/2"', "--shaft", "7/8 in", "--reservoir").stdout
    lines = text.splitlines()
    expect('  bore: 2-1/2"' in text and "  rod: 7/8 in " in text and text.count("# as given") == 2, "sizes as typed")
    keys = [number for number, line in enumerate(lines) if re.search(r"# (assumed.*|as given)$", line)]
    expect(len(keys) > 50, f"{len(keys)} keys with their standing")
    for number in keys:
        expect(lines[number - 1].lstrip().startswith("# ") and lines[number - 1].endswith("."),
               f"how to measure {lines[number]!r}: {lines[number - 1]!r}")
    for word in ("calipers", "feeler gauge", "drill shank", "Weigh"):
        expect(word in text, f"{word} in what `new` prints")
    expect(" mm" not in text.replace("by 1 mm", "") and "cm3" not in text, "inches alone")
    expect(re.search(r"\bin\b|psi|thou", run("new").stdout.replace("goes in", "").replace("in its", "").replace(
        "fully in", "").replace("given in", "").split("leak:")[1].split("land:")[0]) is None, "millimetres alone")


def check_refusals():
    for asked, words in ((["--bore", "5"], "unit is missing"), (["--bore", "5mm"], "outside 20 to 120 mm"),
                         (["--bore", "50mm", "--shaft", "49mm"], "outside 0.2 to 0.7 of the bore"),
                         (["--stroke", "1m"], "outside 20 to 600 mm"), (["--piston", "round"], "digressive or linear"),
                         (["file.yaml"], "one file too many"), (["--bore"], "needs a value"),
                         (["--speeds", "1"], "unknown option `--speeds`")):
        refused(3 if "outside" in words else 2, words, "new", *asked)


check_random()
check_words()
check_refusals()
finish()
