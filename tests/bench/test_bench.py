#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks that reports of the benchmark can be read and compared: test_bench.py BENCH. No speed is asserted."""
import json
import pathlib
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
BENCH = sys.argv[1]


def run(*command, status=0):
    done = subprocess.run(command, capture_output=True, text=True, timeout=200)
    assert done.returncode == status, (command, done.returncode, done.stderr)
    return done.stdout


text = run(BENCH, "--json", "decks")
report = json.loads(text)
decks = {row["case"]: row for row in report["decks"]}
assert sorted(decks) == ["dish", "pair", "single", "taper", "xover"], decks
for row in decks.values():
    assert row["seconds"] > 0 and abs(row["ratio"] * row["seconds"] / row["elements_seconds"] - 1) < 1e-6, row
    assert abs(row["yardsticks"] * report["yardstick"][0]["seconds"] / row["seconds"] - 1) < 1e-6, row

people = run(BENCH, "decks")
assert all(name in people for name in decks) and "yardstick" in people

with tempfile.TemporaryDirectory() as folder:
    old, new = (pathlib.Path(folder) / name for name in ("old.json", "new.json"))
    old.write_text(text, encoding="utf-8")
    report["decks"][0]["seconds"] *= 1.371
    report["decks"].pop()
    new.write_text(json.dumps(report), encoding="utf-8")
    lines = run(sys.executable, str(HERE / "compare.py"), str(old), str(new)).splitlines()
    changed = [line for line in lines if line.startswith("decks: " + report["decks"][0]["case"] + " ")]
    assert len(changed) == 1 and "1.371" in changed[0].split(), lines
    assert lines[-1] == "only in the old: decks: " + json.loads(text)["decks"][-1]["case"], lines

run(BENCH, "no-such-part", status=2)
run(BENCH, "--work", "no-such-work", "0", "1", status=1)
