#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The manual of damper files: every example in it is run, and its page for man is clean.

    manual.py PROGRAM PAGE

Each example is laid over a file that is made of the manual's own examples of what a file needs.
"""
import pathlib
import re
import shutil
import subprocess
import sys

from program import expect, finish, folder, run

# What must be set beside a key, because the two belong together or exclude each other.
BESIDE = {
    "oil.grade": ["oil.viscosity=none"],
    "oil.viscosity index": ["oil.viscosity=none", "oil.grade=ISO VG 15"],
    "gas.divider": ["gas.volume=none"],
    "piston.compression.plate": ["piston.compression.stack=none", "piston.compression.clamp=none"],
    "reservoir.valve": ["reservoir.return check={seat: 14 mm, preload: 2 N, rate: 1 N/mm, lift: 2 mm}"],
    "piston.bleed[0].jetted": ["piston.bleed[0].jet=1 mm"],
    "piston.bleed[0].check": ["piston.bleed[0].flows=rebound"],
    "piston.bleed[0].jet": ["piston.bleed[0].jetted=2"],
    "piston.compression.port.ports": ["piston.compression.port.share=60 %"],
    "piston.compression.port.share": ["piston.compression.port.ports=8"],
    "piston.adjuster.areas": ["piston.adjuster.area per click=none"],
    "piston.adjuster.closed area": ["piston.adjuster.area per click=0.3 mm2"],
    "piston.compression.clamp.friction": ["piston.compression.clamp.grip=sliding", "piston.compression.clamp.hole=12 mm",
                                          "piston.compression.clamp.nut load=9 kN"],
}


def read_manual(text):
    """{path: value} of the examples, and the lines of the trial."""
    block, term, examples = "", "", {}
    for line in text.splitlines():
        if re.fullmatch(r"[a-z].*", line):
            block = line + "."
        elif re.fullmatch(r"  [a-z].*", line) and block is not None:
            term = line.strip()
        found = re.fullmatch(r"      Example: (.+)", line)
        if found:
            expect(found[1].startswith(term + ": "), f"the example of {block}{term}: {line}")
            examples[(block + term).replace(".NAME", ".bronze")] = found[1][len(term) + 2:]
    return examples, [line.strip() for line in text.split("A TRIAL\n")[1].splitlines() if re.match(r"      \S", line)]


def settings_for(path, examples):
    """The blocks around the key first, each as its own example, then the key."""
    made = []
    steps = path.split(".")
    for i in range(1, len(steps)):
        around = ".".join(steps[:i])
        key = re.sub(r"\[0\]$", "", around)
        if key in examples:
            made += [f"{key}={examples[key]}"]
            made += BESIDE.get(key, [])
    made += BESIDE.get(path, [])
    return made + [f"{path}={examples[path]}"]


def check_examples(examples, here):
    needed = ("format", "name", "body", "oil", "gas", "piston")
    base = here / "base.yaml"
    base.write_text("".join(f"{key}: {examples[key]}\n" for key in needed) + "friction: 60 N\n", encoding="utf-8")
    expect(run("check", base).returncode == 0, "the file made of what is needed")
    for path in examples:
        if path == "based on":
            continue
        arguments = [word for setting in settings_for(path, examples) for word in ("--set", setting)]
        done = run("check", base, *arguments)
        expect(done.returncode in (0, 1) and "no fault" in done.stdout, f"{path}: {arguments}: {done.stderr}{done.stdout}")


def check_trial(lines, examples, here):
    (here / "van-rear.yaml").write_text((here / "base.yaml").read_text(encoding="utf-8"), encoding="utf-8")
    expect(any(line.startswith("based on: van-rear.yaml") for line in lines), f"the trial: {lines}")
    (here / "trial.yaml").write_text("\n".join(lines) + "\n", encoding="utf-8")
    done = run("compare", here / "van-rear.yaml", here / "trial.yaml")
    expect(done.returncode == 0 and "1 of 56 x 0.20 mm added" in done.stdout, f"the trial: {done.stderr}{done.stdout[:500]}")


def check_page(page, text):
    source = pathlib.Path(page).read_text(encoding="utf-8")
    expect(source.startswith(".TH KNEEPOINT 5 ") and source.count("\n.TP\n") == text.count("Example: "), "keys in the page")
    if shutil.which("mandoc") is not None:
        done = subprocess.run(["mandoc", "-Tlint", "-Wwarning", page], capture_output=True, text=True, check=False)
        expect(done.stdout == "", f"mandoc: {done.stdout}")
    if shutil.which("groff") is not None:
        for name in (page, str(pathlib.Path(__file__).resolve().parents[2] / "src" / "cli" / "kneepoint.1")):
            done = subprocess.run(["groff", "-ww", "-man", "-Tascii", name], capture_output=True, text=True, check=False)
            expect(done.returncode == 0 and done.stderr == "", f"groff {name}: {done.stderr}")
            expect(len(done.stdout) > 5000, f"groff {name} set nothing")


def check_text(text):
    wide = [line for line in text.splitlines() if len(line) > 80 and "Example: " not in line and "{" not in line]
    expect(wide == [], f"lines of more than 80 columns: {wide}")
    expect(text.count("Example: ") > 100, "an example of every key")
    folder_named = re.search(r"Examples and a JSON Schema for editors: (\S+)", text)
    expect(folder_named is not None and folder_named[1] in run("help").stdout, "where the examples are")
    defaults = re.findall(r"Left out: ([0-9.e-]+)(?: \S+)*, (?:assumed|read)", text)
    expect(len(defaults) >= 8, f"defaults with their standing: {defaults}")


manual = run("help", "file")
expect(manual.returncode == 0 and manual.stderr == "", "help file")
found, trial = read_manual(manual.stdout)
with folder() as name:
    check_examples(found, pathlib.Path(name))
    check_trial(trial, found, pathlib.Path(name))
check_page(sys.argv[2], manual.stdout)
check_text(manual.stdout)
finish()
