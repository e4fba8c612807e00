#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""`explain` from outside: the newcomer's question in its first lines, sensitivities against runs of `curve`, lessons."""
import re
import sys

sys.dont_write_bytecode = True
from program import LINEAR, SOURCE, document, expect, finish, folder, near, refused, rows, run  # noqa: E402

DIGRESSIVE = str(SOURCE / "stacks" / "van-rear-digressive.yaml")

# "Why is this firm at low speed, and what would soften it?" within ten lines, in words.
head = "\n".join(run("explain", DIGRESSIVE).stdout.split("\n")[:10])
for words in ("firm at low speed because", "0.80 mm", "4 open bleed ports of 1.9 mm", "What would soften it",
              "one taken out", "0.065 m/s"):
    expect(words in head.replace("\n", " "), f"`{words}` is not in the first ten lines:\n{head}")
expect(len(re.findall(r"- .*: -\d+ %", head)) >= 2, f"fewer than two softer changes:\n{head}")

# The shares sum to the whole, in what is printed in full.
answer = document("explain", DIGRESSIVE)
for row in answer["shares"]:
    for kind in ("flow", "drop", "power"):
        total = sum(value for key, value in row.items() if key.endswith(f"_{kind}_share"))
        near(total, 1.0, 1e-12, f"{kind} shares at {row['speed_m_s']}")

# Without shim 3, by `explain` and by `curve` on the stack without it.
LEFT = "piston.compression.stack=[2 of 56 x 0.20 mm, 2 of 34 x 0.25 mm, 3 of 30 x 0.25 mm]"
speeds = answer["speeds"]
columns = answer["columns"]
index = [i for i, part in enumerate(columns["part"])
         if part == "compression shim 3 (40 x 0.20 mm)" and columns["change"][i] == "taken out"][0]
for name in ("low", "mid", "high"):
    speed = repr(speeds[f"{name}_m_s"])
    asked = ("curve", DIGRESSIVE, "--speeds", speed, "--limits", "0.13,0.52,1.05")
    full = rows(*asked)[0]["hydraulic_force_N"]
    without = rows(*asked, "--set", LEFT)[0]
    near(columns[f"change_{name}_N"][index], without["hydraulic_force_N"] - full, 1e-12, f"shim 3 at {name}")

expect(run("explain", DIGRESSIVE, "--threads", 1).stdout == run("explain", DIGRESSIVE, "--threads", 3).stdout,
       "threads change the answer")
for topic in ("bleed", "dish", "crossover", "taper", "thickness", "charge", "temperature", "clamp"):
    done = run("explain", LINEAR, "--lesson", topic, "--direction", "rebound")
    expect(done.returncode == 0, f"lesson {topic}: {done.stderr}")
    for words in (f"Lesson: {topic}", "Look for:", "Why:", "Question:", "Answer:", "(as in the file)"):
        expect(words in done.stdout, f"lesson {topic}: no `{words}`")
expect("nitrogen" in run("explain", LINEAR, "--lesson", "charge").stdout, "no caution with the lesson on charge")

# Stress as colour: dark for little, light for much, and only when asked for. Lift from above has these colours too, but
# no yield in its key.
with folder() as drawn:
    for extra, coloured in (("--stress",), True), ((), False):
        path = f"{drawn}/stack.svg"
        done = run("lift", DIGRESSIVE, "--pressures", "2,8bar", "--plot", path, *extra)
        expect(done.returncode == 0, done.stderr)
        picture = open(path, encoding="utf-8").read().lower()
        has = any(c in picture for c in ("#fde725", "rgb(253, 231,  37)")) and \
            any(c in picture for c in ("#440154", "rgb( 68,   1,  84)")) and "over 80 %" in picture
        expect(has == coloured, f"stress {'not ' if coloured else ''}drawn with {extra}")

refused(2, "bleed, dish", "explain", DIGRESSIVE, "--lesson", "gravity")
refused(2, "whole number from 1 to 64", "explain", DIGRESSIVE, "--threads", "0")
refused(2, "needs a value", "explain", DIGRESSIVE, "--lesson")
refused(3, "", "explain", "no-such-file.yaml")
refused(1, "single shim", "explain", DIGRESSIVE, "--lesson", "crossover", "--set",
        "piston.compression.stack=[1 of 56 x 0.40 mm]")
finish()
